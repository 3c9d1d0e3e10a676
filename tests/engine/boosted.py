"""Turbocharged builds written from a few numbers, for tests; machines estimated from sizes, nothing measured."""

from __future__ import annotations

from builds import FOUR, Doc, changed

TURBO_FOUR: Doc = changed(
    FOUR,
    name="turbo trial",
    fuel={"grade": "petrol 98 RON", "mixture": "0.82 lambda", "evaporated": "40 %"},
    cylinders__chamber="66 cc",
    charge={
        "shaft_inertia": "3.0e-5 kg m2",
        "compressor": {
            "wheel_inlet": "42 mm",
            "wheel_outlet": "58 mm",
            "inlet_diameter": "55 mm",
            "outlet_diameter": "45 mm",
            "speed_limit": "165000 rpm",
        },
        "pipes": {"charge_pipe": {"length": "800 mm", "diameter": "50 mm"}},
    },
    turbine={
        "wheel_inlet": "52 mm",
        "wheel_outlet": "45 mm",
        "throat_area": "620 mm2",
        "entries": 1,
        "peak_efficiency": "68 %",
        "volute_volume": "0.35 L",
        "outlet_diameter": "52 mm",
    },
    wastegate={
        "kind": "poppet",
        "valve_diameter": "32 mm",
        "port_diameter": "29 mm",
        "max_lift": "9 mm",
        "diaphragm_diameter": "60 mm",
        "spring_rate": "10 N/mm",
        "preload": "170 N",
        "exhaust_pushes": "open",
        "opening_signal": "compressor_outlet",
        "takes_from": "main",
        "returns_to": "tail",
    },
    exhaust__primaries={"length": "350 mm", "diameter": "36 mm"},
    exhaust__collectors={
        "main": {
            "cylinders": [1, 2, 3, 4],
            "leads_to": "turbine",
            "volume": "0.3 L",
            "length": "100 mm",
            "diameter": "45 mm",
        }
    },
    limits__max_boost="1.0 bar",
)

# A pair of smaller turbos on a six in line, three cylinders each, one cooler, two tails.
TWIN_SIX: Doc = changed(
    TURBO_FOUR,
    name="twin six",
    cylinders__count=6,
    cylinders__firing_order=[1, 5, 3, 6, 2, 4],
    intake__plenums={"main": {"volume": "4 L"}},
    intake__throttle={"diameter": "72 mm", "shaft_diameter": "10 mm", "place": "before_plenum"},
    intake__ducts={"inlet": {"length": "500 mm", "diameter": "80 mm"}},
    charge__turbos=2,
    charge__pipes={
        "hot_pipe": {"length": "500 mm", "diameter": "62 mm"},
        "cold_pipe": {"length": "600 mm", "diameter": "65 mm"},
    },
    charge__cooler={
        "after": "hot_pipe",
        "kind": "air",
        "effectiveness": "70 %",
        "loss": "6 kPa @ 0.25 kg/s",
        "volume": "6 L",
    },
    charge__compressor={"wheel_inlet": "38 mm", "wheel_outlet": "51 mm", "speed_limit": "180000 rpm"},
    charge__shaft_inertia="2.0e-5 kg m2",
    turbine__wheel_inlet="45 mm",
    turbine__wheel_outlet="39 mm",
    turbine__throat_area="480 mm2",
    turbine__volute_volume="0.25 L",
    turbine__outlet_diameter="45 mm",
    wastegate__count=2,
    wastegate__takes_from="turbine",
    wastegate__valve_diameter="24 mm",
    wastegate__port_diameter="22 mm",
    wastegate__max_lift="7 mm",
    exhaust__collectors={
        "front": {"cylinders": [1, 2, 3], "leads_to": "turbine_1", "length": "60 mm", "diameter": "40 mm"},
        "rear": {"cylinders": [4, 5, 6], "leads_to": "turbine_2", "length": "60 mm", "diameter": "40 mm"},
    },
    exhaust__tails=2,
)

# The four with a carburettor: blown through behind the compressor, or drawn through before it.
BLOWN_THROUGH: Doc = changed(
    TURBO_FOUR,
    name="carburettor trial",
    injection=None,
    intake__throttle=None,
    carburettor={
        "serves": "plenum",
        "position": "after_compressor",
        "rated_flow": "300 cfm @ 1.5 inHg",
        "barrels": 2,
        "throttle_diameter": "40 mm",
        "venturi_diameter": "34 mm",
        "main_jet": "1.6 mm",
        "bowl_reference": "open_air",
        "bowl_volume": "55 cc",
        "float": "solid",
        "needle_seat": "2.5 mm",
    },
)
DRAWN_THROUGH: Doc = changed(BLOWN_THROUGH, name="drawn trial", carburettor__position="before_compressor")
