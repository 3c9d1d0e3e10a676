"""Strength and blueprint: studs, masses, clearances, rings, journals; and the builder's limits."""

from __future__ import annotations

from spoolwright.sheet.fields import Field, Section, assume, may, must


def _bolts(count: str, what: str) -> dict[str, Field | Section]:
    return {
        "count": must("count", what, count, "2..10", "1..60"),
        "diameter": must("length", "nominal thread diameter", "10 mm", "5 mm..16 mm", "1 mm..100 mm"),
        "pitch": must("thread_pitch", "of the thread", "1.5 mm", "0.5 mm..2 mm", "0.1 mm..20 mm"),
        "shank_diameter": may("length", "of a reduced shank", "8.5 mm", "3 mm..16 mm", "0.5 mm..100 mm"),
        "length": must("length", "between the faces that clamp", "160 mm", "20 mm..350 mm", "2 mm..3 m"),
        "preload": may("force", "clamp force of one, known", "28 kN", "3 kN..90 kN", "10 N..5 MN", safety=True),
        "stretch": may("length", "lengthening when tightened", "0.24 mm", "0.02 mm..0.6 mm", "0.001 mm..50 mm", safety=True),
        "torque": may("torque", "tightening torque", "42 N m", "5 N m..160 N m", "0.1 N m..20000 N m", safety=True),
        "torque_factor": may("number", "torque over preload times diameter", "0.16", "0.1..0.25", "0.02..1"),
        "modulus": assume("stress", "Young's modulus", "205 GPa", "steel; handbook figure", "100 GPa..215 GPa", "1 GPa..1000 GPa"),
        "expansion": assume("expansion", "thermal", "11.5e-6 1/K", "steel; handbook figure", "8e-6 1/K..18e-6 1/K", "0 1/K..100e-6 1/K"),
        "yield_strength": may("stress", "proof or yield strength", "900 MPa", "500 MPa..1600 MPa", "10 MPa..5 GPa", safety=True),
    }  # fmt: skip


_GIVE_BAND = "the builder's own limit"
STRENGTH = Section(
    "bolts, masses, journals, and measured clearances against the builder's bands",
    {
        "studs": Section("cylinder head studs of one cylinder", {
            **_bolts("4", "studs that clamp one head or one cylinder"),
            "clamped_expansion": may("expansion", "thermal, of barrel and head between the faces", "21e-6 1/K", "10e-6 1/K..24e-6 1/K", "0 1/K..100e-6 1/K"),
            "clamped_stiffness": may("stiffness", "of the clamped parts for one stud", "900 kN/mm", "50 N/mm..5e6 N/mm", "1 N/mm..1e9 N/mm"),
            "sealing_diameter": may("length", "over which cylinder pressure acts in the joint", "90 mm", "35 mm..160 mm", "5 mm..1000 mm"),
        }),
        "rod_bolts": Section("bolts of one connecting rod", _bolts("2", "bolts of one rod")),
        "piston_mass": may("mass", "piston with rings and clips", "310 g", "80 g..1500 g", "2 g..50 kg", per="cylinder"),
        "pin_mass": may("mass", "piston pin", "95 g", "15 g..500 g", "0.5 g..20 kg", per="cylinder"),
        "rod_mass": may("mass", "whole connecting rod with shells", "560 g", "120 g..2500 g", "2 g..100 kg", per="cylinder"),
        "rod_small_end_mass": may("mass", "the rod's reciprocating share, weighed", "165 g", "30 g..800 g", "0.5 g..50 kg", per="cylinder"),
        "pin_diameter": may("length", "piston pin", "20 mm", "10 mm..35 mm", "2 mm..200 mm"),
        "pin_length": may("length", "bearing length of the pin in the rod", "24 mm", "10 mm..50 mm", "2 mm..300 mm"),
        "rod_journal_diameter": may("length", "crank pin", "46 mm", "20 mm..80 mm", "3 mm..500 mm"),
        "rod_journal_width": may("length", "bearing width of the crank pin", "20 mm", "10 mm..45 mm", "2 mm..300 mm"),
        "main_journal_diameter": may("length", "main journal", "54 mm", "20 mm..90 mm", "3 mm..600 mm"),
        "main_journal_width": may("length", "bearing width of the main journal", "22 mm", "10 mm..60 mm", "2 mm..400 mm"),
        "flywheel_inertia": may("inertia", "engine and flywheel, at the crank", "0.14 kg m2", "0.005 kg m2..0.6 kg m2", "1e-5 kg m2..100 kg m2"),
        "rings": Section(
            "piston rings by name, with their measured end gaps",
            {
                "gap": must("length", "end gap in the bore, ring square", "0.40 mm", "0.1 mm..1.2 mm", "0 mm..20 mm", per="cylinder", safety=True),
                "gap_factor": may("number", "gap aimed at, per unit of bore", "0.0045", "0.003..0.008", "0.0005..0.05"),
                "low": may("length", f"smallest gap allowed; {_GIVE_BAND}", "0.35 mm", "0.1 mm..1.2 mm", "0 mm..20 mm", safety=True),
                "high": may("length", f"largest gap allowed; {_GIVE_BAND}", "0.50 mm", "0.1 mm..1.5 mm", "0 mm..20 mm"),
            },
            named=True, name_example="top",
        ),
        "clearances": Section(
            "measured clearances by name (bearings, piston to bore, end play, valve guides), each with its band",
            {
                "measured": must("length", "as measured; several readings as a list", '["0.051 mm", "0.048 mm"]', "0 mm..0.6 mm", "-1 mm..20 mm", per="list", safety=True),
                "low": must("length", f"smallest allowed; {_GIVE_BAND}", "0.040 mm", "0 mm..0.5 mm", "-1 mm..20 mm", safety=True),
                "high": must("length", f"largest allowed; {_GIVE_BAND}", "0.070 mm", "0.005 mm..0.6 mm", "-1 mm..20 mm", safety=True),
                "diameter": may("length", "of the joint, for its change with heat", "54 mm", "4 mm..150 mm", "0.5 mm..2 m"),
                "measured_at": assume("temperature", "temperature of the parts when measured", "20 degC", "workshop", "5 degC..35 degC", "-40 degC..200 degC"),
                "hole_expansion": may("expansion", "thermal, of the outer part", "22e-6 1/K", "8e-6 1/K..27e-6 1/K", "0 1/K..100e-6 1/K"),
                "shaft_expansion": may("expansion", "thermal, of the inner part", "11.5e-6 1/K", "8e-6 1/K..24e-6 1/K", "0 1/K..100e-6 1/K"),
                "hole_running": may("temperature", "outer part, running", "110 degC", "60 degC..250 degC"),
                "shaft_running": may("temperature", "inner part, running", "120 degC", "60 degC..350 degC"),
                "tool": may("text", "what it was measured with", "bore gauge and micrometer", remark=True),
            },
            named=True, name_example="main_bearing",
        ),
    },
)  # fmt: skip

LIMITS = Section(
    "the builder's own limits; findings and stop lists hold against them",
    {
        "max_speed": must("rotational_speed", "highest engine speed", "6200 rpm", "2500 rpm..12000 rpm", "200 rpm..30000 rpm", safety=True),
        "max_head_temperature": must("temperature", "head metal at the plug (water: at its hottest measured place)", "230 degC", "120 degC..300 degC", "50 degC..600 degC", safety=True),
        "max_oil_temperature": may("temperature", "sump oil", "130 degC", "100 degC..150 degC", "50 degC..400 degC", safety=True),
        "min_oil_pressure": may("pressure_gauge", "hot, at a stated speed", "3 bar @ 4000 rpm", "0.5 bar..6 bar", "0 bar..50 bar", condition="rotational_speed", safety=True),
        "max_exhaust_temperature": must("temperature", "exhaust gas before the turbine, or in the primaries", "870 degC", "650 degC..1000 degC", "200 degC..1500 degC", safety=True),
        "max_charge_temperature": may("temperature", "charge air in the manifold", "80 degC", "40 degC..130 degC", "0 degC..400 degC", safety=True),
        "max_knock_integral": must("number", "knock integral not to pass", "0.90", "0.5..1.1", "0.05..5", safety=True),
        "max_boost": may("pressure_gauge", "manifold pressure above outside air", "0.75 bar", "0.2 bar..2.5 bar", "0 bar..10 bar", safety=True),
        "max_cylinder_pressure": may("pressure_absolute", "peak", "80 bar", "30 bar..150 bar", "10 bar..500 bar", safety=True),
        "max_piston_speed": may("speed", "mean", "18 m/s", "8 m/s..26 m/s", "1 m/s..60 m/s", safety=True),
        "min_ratio": may("ratio", "lowest compression ratio any cylinder may have", "7.2:1", "5:1..14:1", "1.5:1..40:1"),
        "max_ratio": may("ratio", "highest compression ratio any cylinder may have", "7.8:1", "5:1..15:1", "1.5:1..40:1", safety=True),
        "max_ratio_spread": may("number", "highest less lowest compression ratio", "0.15", "0.05..0.5", "0..10"),
        "min_squish": may("length", "gap between piston flat and head flat, cold", "0.9 mm", "0.6 mm..1.5 mm", "0 mm..50 mm", safety=True),
        "max_squish": may("length", "gap beyond which squish does nothing", "1.3 mm", "0.8 mm..3 mm", "0 mm..50 mm"),
        "min_intake_to_piston": may("length", "valve to piston, intake", "2.0 mm", "1 mm..3 mm", "0 mm..50 mm", safety=True),
        "min_exhaust_to_piston": may("length", "valve to piston, exhaust", "2.5 mm", "1.2 mm..3.5 mm", "0 mm..50 mm", safety=True),
        "leanest_mixture": may("mixture", "leanest allowed at full load", "0.85 lambda", "0.7 lambda..1.05 lambda", "0.3 lambda..3 lambda", safety=True),
        "joint_safety": may("number", "clamp load over the load that opens the head joint", "1.5", "1.2..3", "0.1..50", safety=True),
        "fan_safety": may("number", "strength over stress of the fan at the highest speed", "3", "2..8", "0.1..100", safety=True),
        "full_load_time": may("time", "how long full load must be held in use", "90 s", "5 s..3600 s", "0.1 s..1e7 s"),
    },
    must=True,
)  # fmt: skip
