"""The engine proper: cylinders, valves."""

from __future__ import annotations

from spoolwright.sheet.fields import Column, Field, Section, assume, choice, may, must, table

CYLINDERS = Section(
    "bores, crank, chambers; what was measured on each cylinder stands as a list or a table by cylinder number",
    {
        "layout": choice("how they stand", "line", "vee", "flat", "single"),
        "count": must("count", "number of cylinders", "4", "1..16", "1..16"),
        "bank_angle": may("angle", "angle between the banks of a vee", "60 deg", "15 deg..180 deg", "1 deg..359 deg"),
        "banks": may("groups", "cylinder numbers of each bank", "[[1, 2], [3, 4]]"),
        "firing_order": must("cylinders", "cylinder numbers in the order they fire", "[1, 3, 4, 2]"),
        "firing_intervals": may("angle", "crank angle from each firing to the next, in firing order; equal when not given", '["180 deg", "180 deg", "180 deg", "180 deg"]', "30 deg..720 deg", "0 deg..720 deg", per="list"),
        "bore": must("length", "cylinder bore", "86.0 mm", "35 mm..150 mm", "5 mm..500 mm", per="cylinder"),
        "stroke": must("length", "piston stroke", "69.0 mm", "30 mm..180 mm", "5 mm..1000 mm"),
        "rod_length": must("length", "connecting rod, centre to centre", "128 mm", "60 mm..350 mm", "10 mm..4000 mm"),
        "pin_offset": assume("length", "piston pin off the cylinder axis, positive towards the major thrust side", "0 mm", "a pin in the middle", "-2 mm..2 mm", "-50 mm..50 mm"),
        "compression_height": may("length", "pin centre to piston flat", "38 mm", "18 mm..80 mm", "2 mm..400 mm"),
        "chamber": must("volume", "chamber in the head with the plug in, measured", "52.1 cc ± 0.3", "8 cc..200 cc", "0.5 cc..3 L", per="cylinder"),
        "dish": must("volume", "hollow in the crown (+) or dome (-), valve pockets included; 0 cc for a flat crown", "6.0 cc", "-60 cc..80 cc", "-1 L..2 L", per="cylinder"),
        "deck": must("length", "piston flat below the barrel top at top dead centre (+) or proud (-)", "0.60 mm", "-2 mm..6 mm", "-50 mm..80 mm", per="cylinder", safety=True),
        "gasket_thickness": must("length", "head gasket, crushed; 0 mm where there is none", "1.1 mm", "0 mm..4 mm", "0 mm..50 mm", safety=True),
        "gasket_bore": may("length", "bore of the gasket; the cylinder bore when not given", "87 mm", "35 mm..155 mm", "5 mm..1000 mm"),
        "spacer": assume("length", "ring or shim under the barrel; already part of the measured deck", "0 mm", "none was named", "0 mm..6 mm", "0 mm..50 mm"),
        "crevice": assume("volume", "top land and plug thread", "0.5 cc", "usual size for these bores; not measured", "0 cc..3 cc", "0 cc..500 cc"),
        "ratio_wanted": may("ratio", "compression ratio aimed at", "7.5:1", "5:1..15:1", "1.5:1..40:1"),
        "chamber_shape": choice("shape the flame grows in", "disc", "wedge", "measured"),
        "roof_angle": may("angle", "of a wedge or pent roof against the flat", "15 deg", "0 deg..35 deg", "0 deg..80 deg"),
        "squish_area": assume("share", "share of the bore where crown and head come close", "0 %", "a chamber as wide as the bore", "0 %..60 %", "0 %..95 %"),
        "chamber_section": table(
            "measured chamber: open area at each height above the head's flat", "tables/chamber.csv",
            {"height": Column("length", "above the head face"), "area": Column("area", "cut through the chamber there")}, rising="height",
        ),
        "plugs": Section(
            "spark plugs of one cylinder, one or two",
            {
                "across": must("length", "off the cylinder axis, towards the intake valve (+)", "12 mm", "-50 mm..50 mm", "-500 mm..500 mm"),
                "along": assume("length", "off the cylinder axis, at right angles to that", "0 mm", "on the line of the valves", "-50 mm..50 mm", "-500 mm..500 mm"),
                "height": assume("length", "of the gap above the head's flat face", "6 mm", "not measured", "-5 mm..40 mm", "-50 mm..300 mm"),
            },
            must=True, named=True, name_example="main",
        ),
        "friction": Section(
            "mean friction pressure by the form of Chen and Flynn",
            {
                "constant": assume("pressure_difference", "part that is always there", "40 kPa", "Chen and Flynn's form; constant from memory", "10 kPa..100 kPa", "0 kPa..1 MPa"),
                "peak_pressure_part": assume("number", "for each unit of peak cylinder pressure", "0.005", "Chen and Flynn's form; constant from memory", "0.002..0.01", "0..0.1"),
                "speed_part": assume("pressure_difference", "at a mean piston speed of 10 m/s, in proportion to it", "90 kPa", "Chen and Flynn's form; constant from memory", "10 kPa..200 kPa", "0 kPa..2 MPa"),
                "speed_squared_part": assume("pressure_difference", "at a mean piston speed of 10 m/s, with its square", "9 kPa", "Chen and Flynn's form; constant from memory", "0 kPa..100 kPa", "0 kPa..2 MPa"),
            },
            always=True,
        ),
        "walls": Section(
            "wall temperatures at full load where measured; else they follow from cooling",
            {
                "head": may("temperature", "chamber wall", "210 degC", "120 degC..320 degC"),
                "crown": may("temperature", "piston crown", "250 degC", "150 degC..380 degC"),
                "barrel": may("temperature", "upper barrel or liner", "160 degC", "90 degC..250 degC"),
            },
        ),
    },
    must=True,
)  # fmt: skip


def _valve(side: str, opens: str, closes: str, head: str, seat: str, throat: str) -> dict[str, Field | Section]:
    lift = {"angle": Column("angle", "crank angle after top dead centre of the gas exchange, negative before"),
            "lift": Column("length", "lift there")}  # fmt: skip
    flow = {
        "lift": Column("length", "valve lift on the bench"),
        "flow": Column("volume_flow", "in the usual direction at the depression stated behind @", condition="pressure_difference"),
        "flow_back": Column("volume_flow", "against the usual direction", False, "pressure_difference"),
    }  # fmt: skip
    return {
        "count": must("count", f"{side} valves of one cylinder", "1", "1..3", "1..4"),
        "head_diameter": must("length", "valve head", head, "15 mm..60 mm", "3 mm..400 mm"),
        "seat_diameter": may("length", "inner edge of the seat; the throat's when not given", seat, "13 mm..57 mm", "3 mm..400 mm"),
        "throat_diameter": must("length", "narrowest bore below the seat", throat, "12 mm..55 mm", "2 mm..400 mm"),
        "stem_diameter": may("length", "stem", "7 mm", "4 mm..12 mm", "1 mm..60 mm"),
        "seat_angle": assume("angle", "of the seat against the head's flat", "45 deg", "the usual seat", "30 deg..46 deg", "0 deg..75 deg"),
        "lift_table": table("lift over crank angle, in place of events; angles from top dead centre of the gas exchange", f"tables/{side}_lift.csv", lift, rising="angle"),
        "lift_measured_at": choice("where the lift table or lift was measured; at the cam the rocker ratio multiplies it", "valve", "cam", need="may"),
        "opens": may("event_angle", "opening at the check lift", opens, "", "-90 deg..150 deg", event=f"{side} opens", per="valve"),
        "closes": may("event_angle", "closing at the check lift", closes, "", "-90 deg..150 deg", event=f"{side} closes", per="valve"),
        "check_lift": may("length", "lift at which the events were read", "1.0 mm", "0.1 mm..1.5 mm", "0.01 mm..20 mm"),
        "max_lift": may("length", "greatest lift, lash taken off", "9.5 mm", "4 mm..16 mm", "0.5 mm..150 mm", per="valve"),
        "lash": must("length", "clearance cold at the valve; 0 mm with hydraulic followers", "0.15 mm", "0 mm..0.6 mm", "0 mm..5 mm", per="valve", safety=True),
        "rocker_ratio": assume("ratio", "valve lift over cam lift", "1", "lift was taken as measured at the valve", "0.9:1..1.8:1", "0.2:1..5:1"),
        "flow_table": table("flow bench, one valve: flow at each lift with the depression stated", f"tables/{side}_flow.csv", flow, rising="lift"),
        "flow_bench_temperature": may("temperature", "bench air", "20 degC", "0 degC..40 degC"),
        "drop": may("length", "how far the valve may go before it meets the piston, measured", "11.2 mm", "4 mm..25 mm", "0 mm..400 mm", per="valve", safety=True),
        "drop_at": may("angle", "crank angle after top dead centre at which the drop was measured", "0 deg", "-30 deg..30 deg", "-180 deg..180 deg"),
        "spring_seat_force": may("force", "spring on the seat", "320 N", "80 N..900 N", "1 N..20000 N", per="valve"),
        "spring_rate": may("stiffness", "of all springs of one valve", "32 N/mm", "10 N/mm..120 N/mm", "0.1 N/mm..5000 N/mm"),
        "moving_mass": may("mass", "valve, retainer, half the spring, follower and rocker reduced to the valve", "120 g", "40 g..400 g", "1 g..20 kg"),
    }  # fmt: skip


VALVES = Section(
    "valves, cams, flow; what was measured on each valve stands as a list by cylinder (with a list by valve inside)",
    {
        "intake": Section("intake side", _valve("intake", "14 deg BTDC", "50 deg ABDC", "36 mm", "34 mm", "32 mm"), must=True),
        "exhaust": Section("exhaust side", _valve("exhaust", "50 deg BBDC", "14 deg ATDC", "32 mm", "30 mm", "28 mm"), must=True),
    },
    must=True,
)  # fmt: skip
