"""The gas's way out: exhaust pipes, turbine, wastegate."""

from __future__ import annotations

from spoolwright.sheet.fields import Column, Section, assume, choice, may, must, table
from spoolwright.sheet.sections.ducts import duct

_HOT = "exhaust pipe at full load; not measured"
EXHAUST = Section(
    "ports, primaries, collectors, tail",
    {
        "ports": Section(
            "ports in the head, from the seat to the flange",
            {
                **duct("cylinder", wall="250 degC", wall_reason="cast head at full load; not measured", length="20 mm..180 mm", example="60 mm", bore="15 mm..60 mm", bore_example="32 mm"),
            },
            must=True,
        ),
        "primaries": Section(
            "pipe of each cylinder from the head to its collector, the turbine or the open",
            duct("cylinder", wall="550 degC", wall_reason=_HOT, length="50 mm..1000 mm", example="350 mm", bore="18 mm..60 mm", bore_example="35 mm"),
            must=True,
        ),
        "siamese": may("groups", "cylinders that share one exhaust port and primary", "[[2, 3]]"),
        "collectors": Section(
            "where pipes join, and the pipe behind the join; a collector may lead to another (4-2-1)",
            {
                "cylinders": may("cylinders", "cylinders whose primaries join here", "[1, 2, 3, 4]"),
                "leads_to": must("place", "another collector by name, `turbine`, `turbine_entry_1`, `turbine_2`, `turbine_2_entry_1` or `tail`", "turbine"),
                "volume": may("volume", "of the join where it is a box or log, without the pipes", "0.3 L", "0.02 L..3 L", "0.5 cc..50 L"),
                **duct(wall="600 degC", wall_reason=_HOT, length="20 mm..1500 mm", example="120 mm", bore="22 mm..110 mm", bore_example="42 mm"),
            },
            named=True, name_example="main",
        ),
        "tail": Section(
            "pipes behind the turbine (or behind the last collector) to the open, in the order of the gas",
            {
                **duct(wall="350 degC", wall_reason=_HOT, length="50 mm..4000 mm", example="700 mm", bore="25 mm..120 mm", bore_example="60 mm"),
                "silencer_volume": may("volume", "of a silencer at the end of this piece", "6 L", "0.5 L..30 L", "0.01 L..500 L"),
            },
            named=True, name_example="down_pipe",
        ),
        "tails": assume("count", "equal tails side by side", "1", "one was named", "1..2", "1..16"),
    },
    must=True,
)  # fmt: skip

_TURBINE_MAP = {
    "speed": Column("rotational_speed", "corrected shaft speed of the line"),
    "expansion_ratio": Column("ratio", "inlet total over outlet static pressure"),
    "flow": Column("mass_flow", "corrected flow, all entries"),
    "efficiency": Column("share", "total to static, bearing loss taken out"),
}
TURBINE = Section(
    "the turbine of each turbocharger: a map, or sizes for an estimate",
    {
        "map": table("measured map; its reference gas state must be stated beside it", "tables/turbine.csv", _TURBINE_MAP, rising="expansion_ratio", within="speed"),
        "map_temperature": may("temperature", "temperature the map's flow and speed are corrected to", "873 K", "273 K..1000 K", "200 K..1500 K"),
        "map_pressure": may("pressure_absolute", "pressure the map's flow is corrected to", "101.325 kPa", "90 kPa..105 kPa", "50 kPa..120 kPa"),
        "wheel_inlet": must("length", "wheel diameter at the inlet", "47 mm", "25 mm..110 mm", "8 mm..400 mm"),
        "wheel_outlet": may("length", "wheel diameter at the outlet", "41 mm", "20 mm..100 mm", "5 mm..400 mm"),
        "area_over_radius": may("length", "A/R of the housing: throat area over the radius of its centre", "0.48 in", "0.2 in..1.4 in", "0.01 in..10 in"),
        "throat_area": may("area", "of the housing, all entries", "900 mm2", "200 mm2..4000 mm2", "10 mm2..0.1 m2"),
        "entries": must("count", "1 single, 2 twin entry", "1", "1..2", "1..2"),
        "peak_efficiency": may("share", "best, total to static; needed where there is no map", "68 %", "55 %..80 %", "5 %..100 %"),
        "best_speed_ratio": assume("number", "blade speed over spouting speed at the best efficiency", "0.66", "radial turbines in general; from memory", "0.55..0.75", "0.2..1.2"),
        "volute_volume": assume("volume", "gas volume of the housing", "0.25 L", "small housings in general; not measured", "0.05 L..2 L", "1 cc..50 L"),
        "heat_loss": assume("share", "heat lost in the housing, of the gas's heat above outside air", "4 %", "not measured; bare iron loses more, a blanket saves about half", "0 %..15 %", "0 %..60 %"),
        "outlet_diameter": may("length", "bore behind the wheel", "48 mm", "25 mm..110 mm", "5 mm..400 mm"),
    },
)  # fmt: skip

WASTEGATE = Section(
    "what lets exhaust gas pass the turbine",
    {
        "kind": choice("what closes it", "poppet", "flap"),
        "count": assume("count", "equal gates", "1", "one was named", "1..2", "1..2"),
        "valve_diameter": must("length", "head or flap, where exhaust pressure acts", "30 mm", "12 mm..60 mm", "3 mm..200 mm"),
        "port_diameter": must("length", "hole it closes", "26 mm", "10 mm..58 mm", "2 mm..200 mm"),
        "max_lift": must("length", "stop of the valve (of the flap's middle)", "8 mm", "3 mm..20 mm", "0.5 mm..100 mm"),
        "diaphragm_diameter": must("length", "effective diameter of the diaphragm or piston", "60 mm", "25 mm..110 mm", "5 mm..300 mm"),
        "spring_rate": must("stiffness", "at the diaphragm", "12 N/mm", "1 N/mm..80 N/mm", "0.05 N/mm..2000 N/mm"),
        "preload": may("force", "spring force at the diaphragm with the valve shut; or give both lengths", "170 N", "10 N..900 N", "0 N..20000 N"),
        "spring_free_length": may("length", "of the spring out of the can", "62 mm", "15 mm..150 mm", "5 mm..600 mm"),
        "spring_installed_length": may("length", "with the valve shut", "48 mm", "10 mm..140 mm", "3 mm..600 mm"),
        "lever_valve": may("length", "from the pivot to the valve or flap; without a lever leave both arms out", "22 mm", "5 mm..60 mm", "0.1 mm..500 mm"),
        "lever_diaphragm": may("length", "from the pivot to the rod", "26 mm", "5 mm..60 mm", "0.1 mm..500 mm"),
        "exhaust_pushes": choice("which way exhaust pressure moves the valve", "open", "shut", "neither", safety=True),
        "opening_signal": choice("pressure on the diaphragm's opening side", "compressor_outlet", "hat", "plenum", "open_air", safety=True),
        "closing_signal": choice("pressure on the spring side", "open_air", "compressor_outlet", "hat", "plenum", need="assumed", assumed="open_air", reason="no second hose was named"),
        "bleed": assume("share", "share of the opening signal that a bleed or solenoid lets off", "0 %", "spring only", "0 %..70 %", "0 %..100 %"),
        "takes_from": must("place", "collector it branches from, or `turbine` for one in the housing", "main"),
        "returns_to": choice("where its gas goes", "tail", "open_air"),
        "discharge_coefficient": assume("number", "of valve and port", "0.70", "poppet in a bent branch; not measured", "0.5..0.85", "0.1..1"),
        "lag": assume("time", "delay of the diaphragm and its hose", "20 ms", "short hose; not measured", "5 ms..150 ms", "0 ms..5 s"),
        "pipe": Section(
            "branch from the collector to the gate and its own pipe behind it",
            duct(wall="500 degC", wall_reason=_HOT, length="20 mm..1500 mm", example="150 mm", bore="15 mm..70 mm", bore_example="32 mm"),
        ),
    },
)  # fmt: skip
