"""The air's way in: site, intake, charge (compressor, cooler, pipes, hat)."""

from __future__ import annotations

from spoolwright.sheet.fields import Column, Section, assume, choice, may, must, table
from spoolwright.sheet.sections.ducts import duct

SITE = Section(
    "air around the engine, by which everything is predicted",
    {
        "altitude": may("distance", "height above sea; the barometer follows from it when none is given", "250 m", "-50 m..3500 m", "-450 m..9000 m"),
        "barometer": may("pressure_absolute", "station pressure of the day, not reduced to sea level", "98.2 kPa", "65 kPa..105 kPa", "30 kPa..110 kPa"),
        "temperature": must("temperature", "outside air", "22 degC", "-15 degC..45 degC", "-60 degC..65 degC"),
        "humidity": assume("share", "relative humidity", "50 %", "a middling day; it moves torque by less than 1 %", "5 %..100 %", "0 %..100 %"),
        "bay_temperature": may("temperature", "air in the engine bay, where pipes and carburettor stand", "45 degC", "0 degC..110 degC", "-60 degC..300 degC"),
    },
    must=True,
)  # fmt: skip

_WARM = "intake side, warmed by the engine bay; not measured"
INTAKE = Section(
    "from the air inlet to the intake valves",
    {
        "inlet_rise": assume("temperature_difference", "warming of the air before the inlet, above outside air", "0 K", "the inlet was taken to breathe outside air", "0 K..40 K", "-20 K..150 K"),
        "filter_loss": may("pressure_difference", "loss of the air filter at a stated air flow", "1.0 kPa @ 0.12 kg/s", "0 kPa..6 kPa", "0 kPa..50 kPa", condition="mass_flow"),
        "mouth": choice("shape of the first pipe's open end", "plain", "flanged", "bell", need="may"),
        "ducts": Section(
            "pipes from the air inlet to the compressor; without one to the throttle or plenum; in the order of the gas",
            duct(wall="40 degC", wall_reason=_WARM, example="400 mm", bore_example="60 mm"), named=True, name_example="inlet_hose",
        ),
        "throttle": Section(
            "throttle body of an engine without a carburettor (a carburettor has its own)",
            {
                "diameter": must("length", "bore at the plate", "60 mm", "20 mm..110 mm", "5 mm..300 mm"),
                "shaft_diameter": may("length", "plate's shaft", "8 mm", "4 mm..15 mm", "1 mm..50 mm"),
                "opening": assume("share", "opening, share of the bore's area", "100 %", "full load", "1 %..100 %", "0 %..100 %"),
                "discharge_coefficient": assume("number", "of the open bore", "0.90", "open plate and shaft in the bore; not measured", "0.6..0.98", "0.1..1"),
                "place": choice("where it stands", "before_plenum", "each_runner", need="may"),
            },
        ),
        "plenums": Section(
            "volumes that feed the runners",
            {
                "volume": must("volume", "inside volume without the runners", "1.8 L", "0.2 L..12 L", "5 cc..200 L"),
                "cylinders": may("cylinders", "cylinders it feeds; all when not given", "[1, 2, 3, 4]"),
                "wall_temperature": assume("temperature", "mean wall temperature at full load", "45 degC", _WARM),
            },
            named=True, name_example="main",
        ),
        "runners": Section(
            "pipe from plenum, carburettor or throttle to the head, one for each cylinder (or siamesed pair)",
            {
                **duct("cylinder", wall="60 degC", wall_reason=_WARM, length="30 mm..800 mm", example="180 mm", bore="18 mm..60 mm", bore_example="34 mm"),
                "mouth": choice("shape of the runner's open end in the plenum", "plain", "flanged", "bell", need="may"),
            },
        ),
        "ports": Section(
            "ports in the head, from the flange to the valve seat",
            {
                **duct("cylinder", wall="110 degC", wall_reason="cast head at full load; not measured", length="25 mm..200 mm", example="85 mm", bore="16 mm..60 mm", bore_example="34 mm"),
            },
            must=True,
        ),
        "siamese": may("groups", "cylinders that share one port and runner", "[[1, 2], [3, 4]]"),
    },
    must=True,
)  # fmt: skip

_COMPRESSOR_MAP = {
    "speed": Column("rotational_speed", "corrected shaft speed of the line"),
    "flow": Column("mass_flow", "corrected flow"),
    "pressure_ratio": Column("ratio", "outlet over inlet total pressure"),
    "efficiency": Column("share", "isentropic, total to total"),
}
CHARGE = Section(
    "compressor, cooler and pipes up to the carburettor or throttle",
    {
        "turbos": assume("count", "equal turbochargers side by side", "1", "one was named", "1..2", "1..2"),
        "compressor": Section(
            "the compressor of each turbocharger: a map, or sizes for an estimate",
            {
                "map": table("measured map; its reference air must be stated beside it", "tables/compressor.csv", _COMPRESSOR_MAP, rising="flow", within="speed"),
                "map_temperature": may("temperature", "temperature the map's flow and speed are corrected to", "288.15 K", "270 K..320 K", "200 K..400 K"),
                "map_pressure": may("pressure_absolute", "pressure the map's flow is corrected to", "101.325 kPa", "90 kPa..105 kPa", "50 kPa..120 kPa"),
                "wheel_inlet": may("length", "wheel diameter at the inlet (inducer)", "38 mm", "20 mm..90 mm", "5 mm..300 mm"),
                "wheel_outlet": must("length", "wheel diameter at the outlet (exducer); tip speed follows from it", "52 mm", "30 mm..120 mm", "10 mm..400 mm"),
                "inlet_diameter": may("length", "bore of the inlet flange", "50 mm", "25 mm..120 mm", "5 mm..300 mm"),
                "outlet_diameter": may("length", "bore of the outlet flange", "42 mm", "20 mm..90 mm", "5 mm..300 mm"),
                "passage_length": may("length", "length of the gas passage through wheel and housing; decides how surge starts", "0.35 m", "0.1 m..1 m", "10 mm..5 m"),
                "passage_area": may("area", "mean area of that passage", "900 mm2", "200 mm2..4000 mm2", "10 mm2..0.1 m2"),
                "speed_limit": must("rotational_speed", "highest shaft speed the wheel may run; burst lies above it", "150000 rpm", "60000 rpm..300000 rpm", "5000 rpm..600000 rpm", safety=True),
            },
            must=True,
        ),
        "shaft_inertia": must("inertia", "wheels and shaft together, one turbocharger", "2.4e-5 kg m2", "2e-6 kg m2..4e-4 kg m2", "1e-8 kg m2..0.1 kg m2"),
        "shaft_efficiency": assume("share", "share of turbine power that reaches the compressor", "95 %", "journal bearings; common practice, no source", "85 %..99 %", "30 %..100 %"),
        "pipes": Section(
            "pipes from the compressor to the carburettor hat, throttle or plenum, in the order of the gas",
            duct(wall="50 degC", wall_reason="pipe in the engine bay; not measured", example="500 mm", bore_example="45 mm"), named=True, name_example="cross_pipe",
        ),
        "cooler": Section(
            "charge cooler",
            {
                "after": may("place", "name of the pipe it follows; straight after the compressor when not given", "hot_pipe"),
                "kind": choice("what carries the heat away", "air", "water", "ice_water"),
                "effectiveness": may("share", "of the cooler at full load, one value", "68 %", "40 %..92 %", "0 %..100 %"),
                "effectiveness_table": table("effectiveness over charge flow", "tables/cooler.csv", {"flow": Column("mass_flow", "charge air"), "effectiveness": Column("share", "(inlet - outlet)/(inlet - coolant) temperature")}, rising="flow"),
                "coolant_temperature": may("temperature", "air or water entering the cooler; outside air when not given", "30 degC", "-10 degC..60 degC", "-60 degC..120 degC"),
                "loss": must("pressure_difference", "charge pressure loss at a stated flow", "5 kPa @ 0.15 kg/s", "0.5 kPa..20 kPa", "0 kPa..200 kPa", condition="mass_flow"),
                "core_mass": may("mass", "metal that soaks heat on a short burst", "4.2 kg", "0.5 kg..20 kg", "0.01 kg..500 kg"),
                "core_heat_capacity": assume("heat_capacity", "specific heat of that metal", "900 J/(kg K)", "aluminium; handbook figure", "380 J/(kg K)..1000 J/(kg K)", "100 J/(kg K)..5000 J/(kg K)"),
                "volume": must("volume", "charge volume with its end boxes", "3.0 L", "0.5 L..12 L", "0.01 L..200 L"),
            },
        ),
        "hat": Section(
            "hat or box that feeds boost on to the carburettor",
            {
                "volume": must("volume", "inside volume", "0.9 L", "0.2 L..8 L", "0.01 L..100 L"),
                "loss": assume("number", "loss at its inlet in dynamic heads", "1.0", "one dynamic head is lost where a pipe opens into a box (Borda-Carnot)", "0.2..3", "0..50"),
                "wall_temperature": assume("temperature", "mean wall temperature at full load", "50 degC", "in the engine bay; not measured"),
                "bursting_pressure": may("pressure_gauge", "pressure its lid and clamps were tested to", "3 bar", "1 bar..6 bar", "0 bar..100 bar"),
            },
        ),
        "blow_off": Section(
            "valve that lets charge air out when the throttle shuts",
            {
                "opens_at": must("pressure_difference", "charge pressure over manifold pressure at which it opens", "35 kPa", "10 kPa..100 kPa", "0 kPa..500 kPa"),
                "diameter": must("length", "port", "25 mm", "12 mm..50 mm", "3 mm..150 mm"),
                "vents_to": choice("where the air goes", "open_air", "compressor_inlet"),
            },
        ),
    },
)  # fmt: skip
