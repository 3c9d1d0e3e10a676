"""Builds written from a few numbers, for tests: a dictionary in the sheet's own words becomes a sheet.

Nothing here is a real engine; every size is a plain assumption.
"""

from __future__ import annotations

from copy import deepcopy
from pathlib import Path
from typing import Any

import tomlkit

from spoolwright.sheet import Sheet
from spoolwright.sheet.loading import read_texts

Doc = dict[str, Any]

SINGLE: Doc = {
    "schema": "spoolwright build 2",
    "name": "trial",
    "site": {"barometer": "101.325 kPa", "temperature": "20 degC", "humidity": "40 %"},
    "fuel": {"grade": "petrol 98 RON", "mixture": "0.90 lambda", "evaporated": "40 %"},
    "cylinders": {
        "layout": "single",
        "count": 1,
        "firing_order": [1],
        "bore": "86 mm",
        "stroke": "80 mm",
        "rod_length": "136 mm",
        "chamber": "50 cc",
        "dish": "0 cc",
        "deck": "0.8 mm",
        "gasket_thickness": "1.0 mm",
        "crevice": "0 cc",
        "chamber_shape": "disc",
        "plugs": {"main": {"across": "15 mm"}},
    },
    "valves": {
        "intake": {
            "count": 1,
            "head_diameter": "38 mm",
            "throat_diameter": "33 mm",
            "opens": "4 deg BTDC",
            "closes": "40 deg ABDC",
            "check_lift": "1.0 mm",
            "max_lift": "9.5 mm",
            "lash": "0.15 mm",
        },
        "exhaust": {
            "count": 1,
            "head_diameter": "33 mm",
            "throat_diameter": "28.5 mm",
            "opens": "42 deg BBDC",
            "closes": "4 deg ATDC",
            "check_lift": "1.0 mm",
            "max_lift": "9.0 mm",
            "lash": "0.20 mm",
        },
    },
    "intake": {
        "mouth": "bell",
        "throttle": {"diameter": "44 mm", "shaft_diameter": "7 mm", "place": "each_runner"},
        "runners": {"length": "250 mm", "diameter": "38 mm"},
        "ports": {"length": "80 mm", "diameter": "36 mm", "diameter_end": "33 mm"},
    },
    "injection": {"rated_flow": "260 cc/min @ 3.0 bar", "position": "port", "duty_limit": "85 %"},
    "exhaust": {
        "ports": {"length": "70 mm", "diameter": "29 mm", "diameter_end": "34 mm"},
        "primaries": {"length": "600 mm", "diameter": "36 mm"},
        "tail": {"pipe": {"length": "600 mm", "diameter": "42 mm"}},
    },
    "spark": {"timing": "locked", "advance": "24 deg BTDC", "plug": {"gap": "0.7 mm"}},
    "cooling": {"medium": "water", "coolant_temperature": "85 degC"},
    "limits": {
        "max_speed": "7000 rpm",
        "max_knock_integral": "0.9",
        "max_head_temperature": "230 degC",
        "max_exhaust_temperature": "900 degC",
    },
}


def changed(doc: Doc, **at: Any) -> Doc:
    """A copy with values laid in; ``cylinders__bore="90 mm"`` is the path cylinders.bore. None takes it away."""
    made = deepcopy(doc)
    for path, value in at.items():
        *parts, last = path.split("__")
        place = made
        for part in parts:
            place = place.setdefault(part, {})
        if value is None:
            place.pop(last, None)
        else:
            place[last] = value
    return made


def sheet_of(doc: Doc, *sets: str) -> Sheet:
    """The sheet of a dictionary that names no table files."""
    return read_texts(Path(), tomlkit.dumps(doc), sets=sets)


def chamber_for_ratio(
    bore_mm: float, stroke_mm: float, ratio: float, deck_mm: float = 0.0, crevice_cc: float = 0.0
) -> str:
    """Chamber volume that gives the static ``ratio`` with a flat crown and no other pockets than the crevice."""
    area = 0.25 * 3.141592653589793 * (0.1 * bore_mm) ** 2  # cm2
    return f"{area * 0.1 * stroke_mm / (ratio - 1.0) - area * 0.1 * deck_mm - crevice_cc:.6f} cc"


FOUR: Doc = changed(
    SINGLE,
    cylinders__layout="line",
    cylinders__count=4,
    cylinders__firing_order=[1, 3, 4, 2],
    intake__throttle={"diameter": "60 mm", "shaft_diameter": "9 mm", "place": "before_plenum"},
    intake__ducts={"inlet": {"length": "400 mm", "diameter": "65 mm"}},
    intake__plenums={"main": {"volume": "3 L"}},
    intake__runners={"length": "280 mm", "diameter": "38 mm"},
    exhaust__collectors={
        "main": {"cylinders": [1, 2, 3, 4], "leads_to": "tail", "length": "120 mm", "diameter": "50 mm"}
    },
    exhaust__tail={"pipe": {"length": "1200 mm", "diameter": "52 mm", "silencer_volume": "8 L"}},
)


def turbo_six(bore_mm: float, stroke_mm: float) -> Doc:
    """A water-cooled V6 between charge cooler and turbines; what is assumed of it is argued in tests/published."""
    valve = {"count": 2, "check_lift": "1.0 mm", "max_lift": "9.0 mm", "lash": "0.15 mm"}
    side = {"leads_to": "tail", "length": "100 mm", "diameter": "44 mm"}
    return changed(
        FOUR,
        fuel={"grade": "petrol 98 RON", "mixture": "0.85 lambda", "evaporated": "30 %"},
        cylinders__layout="vee",
        cylinders__count=6,
        cylinders__bank_angle="90 deg",
        cylinders__banks=[[1, 2, 3], [4, 5, 6]],
        cylinders__firing_order=[1, 4, 3, 6, 2, 5],
        cylinders__bore=f"{bore_mm} mm",
        cylinders__stroke=f"{stroke_mm} mm",
        cylinders__rod_length="135 mm",
        cylinders__deck="0 mm",
        cylinders__gasket_thickness="0 mm",
        cylinders__chamber=chamber_for_ratio(bore_mm, stroke_mm, 9.0),
        cylinders__plugs={"main": {"across": "0 mm"}},
        valves__intake=valve
        | {"head_diameter": "33 mm", "throat_diameter": "29 mm", "opens": "0 deg BTDC", "closes": "36 deg ABDC"},
        valves__exhaust=valve
        | {"head_diameter": "29 mm", "throat_diameter": "25.5 mm", "opens": "36 deg BBDC", "closes": "0 deg ATDC"},
        intake__mouth=None,
        intake__ducts=None,
        intake__throttle={"diameter": "75 mm", "shaft_diameter": "9 mm", "place": "before_plenum"},
        intake__plenums={"main": {"volume": "4 L"}},
        intake__runners={"length": "300 mm", "diameter": "42 mm"},
        intake__ports={"length": "90 mm", "diameter": "42 mm", "diameter_end": "41 mm"},
        exhaust__ports={"length": "80 mm", "diameter": "36 mm"},
        exhaust__primaries={"length": "200 mm", "diameter": "36 mm"},
        exhaust__collectors={
            "left": side | {"cylinders": [1, 2, 3]},
            "right": side | {"cylinders": [4, 5, 6]},
        },
        exhaust__tail=None,
        spark={"timing": "searched", "knock_limit": "0.6", "plug": {"gap": "0.7 mm"}},
    )


def flat_four(bore_mm: float, ratio: float, ron: int) -> Doc:
    """An air-cooled flat four of 66 mm stroke; what is assumed of it is argued in tests/published."""
    valve = {"count": 1, "check_lift": "1.0 mm", "max_lift": "9.0 mm", "lash": "0.15 mm"}
    side = {"leads_to": "box", "length": "100 mm", "diameter": "42 mm"}
    return changed(
        FOUR,
        fuel={
            "grade": "petrol 98 RON",
            "ron": f"{ron}",
            "mon": f"{ron - 9}",
            "mixture": "0.88 lambda",
            "evaporated": "40 %",
        },
        cylinders__layout="flat",
        cylinders__firing_order=[1, 4, 3, 2],
        cylinders__bore=f"{bore_mm} mm",
        cylinders__stroke="66 mm",
        cylinders__rod_length="131 mm",
        cylinders__deck="0 mm",
        cylinders__gasket_thickness="0 mm",
        cylinders__crevice="0.5 cc",
        cylinders__chamber=chamber_for_ratio(bore_mm, 66.0, ratio, crevice_cc=0.5),
        cylinders__plugs={"main": {"across": "18 mm"}},
        valves__intake=valve
        | {"head_diameter": "39 mm", "throat_diameter": "34 mm", "opens": "0 deg BTDC", "closes": "36 deg ABDC"},
        valves__exhaust=valve
        | {"head_diameter": "33 mm", "throat_diameter": "29 mm", "opens": "38 deg BBDC", "closes": "0 deg ATDC"},
        intake__filter_loss="1.5 kPa @ 0.07 kg/s",
        intake__inlet_rise="8 K",
        intake__throttle={"diameter": "45 mm", "shaft_diameter": "8 mm", "place": "before_plenum"},
        intake__ducts={"inlet": {"length": "400 mm", "diameter": "55 mm"}},
        intake__plenums={"main": {"volume": "2 L"}},
        intake__runners={"length": "350 mm", "diameter": "34 mm", "bends": "90 deg", "wall_temperature": "60 degC"},
        intake__ports={"length": "90 mm", "diameter": "34 mm", "bends": "45 deg", "wall_temperature": "120 degC"},
        exhaust__ports={
            "length": "90 mm",
            "diameter": "30 mm",
            "diameter_end": "34 mm",
            "bends": "60 deg",
            "wall_temperature": "250 degC",
        },
        exhaust__primaries={
            "length": "600 mm",
            "diameter": "36 mm",
            "bends": "180 deg",
            "wall_temperature": "450 degC",
        },
        exhaust__collectors={
            "left": side | {"cylinders": [1, 2]},
            "right": side | {"cylinders": [3, 4]},
            "box": {"leads_to": "tail", "volume": "10 L", "length": "200 mm", "diameter": "38 mm"},
        },
        exhaust__tail={"pipe": {"length": "300 mm", "diameter": "38 mm"}},
        spark__advance="27 deg BTDC",
        cooling={"medium": "air"},
        drive={
            "gears": ["3.5", "1.0"],
            "final_drive": "4.4",
            "tyre_diameter": "620 mm",
            "mass": "900 kg",
            "accessories": {
                "fan": {"power": "3.0 kW @ 4600 rpm", "exponent": "2"},
                "alternator": {"power": "0.5 kW @ 4900 rpm", "exponent": "0"},
            },
        },
    )
