"""Vehicle and what else the crank drives."""

from __future__ import annotations

from spoolwright.sheet.fields import Column, Section, assume, choice, may, must, table

DRIVE = Section(
    "vehicle, gears, tyres; and accessories on the crank",
    {
        "gears": must("ratio", "gear ratios from first up", '["3.40", "2.05", "1.38", "1.00"]', "0.5:1..5:1", "0.1:1..30:1", per="list"),
        "final_drive": must("ratio", "final drive", "4.10:1", "1:1..8:1", "0.2:1..60:1"),
        "tyre_diameter": must("length", "rolling diameter, loaded", "590 mm", "350 mm..800 mm", "50 mm..3 m"),
        "mass": must("mass", "vehicle with driver and fuel", "420 kg", "150 kg..2500 kg", "5 kg..100 t"),
        "driven_share": may("share", "weight on the driven wheels at rest", "58 %", "30 %..75 %", "1 %..100 %"),
        "driven_axle": choice("which end is driven", "rear", "front", "both", need="may"),
        "wheelbase": may("length", "between the axles", "2.1 m", "1.2 m..3.2 m", "0.1 m..20 m"),
        "height_of_mass": may("length", "centre of mass above the road", "0.38 m", "0.2 m..0.8 m", "0.01 m..5 m"),
        "tyre_grip": may("number", "friction of the driven tyres", "1.1", "0.6..1.8", "0.05..5"),
        "drag_area": may("area", "drag coefficient times frontal area", "0.65 m2", "0.3 m2..1.2 m2", "0.01 m2..50 m2"),
        "rolling_resistance": assume("number", "rolling drag over weight", "0.013", "car tyres on tarmac; handbook figure", "0.008..0.03", "0.0005..0.5"),
        "drive_loss": assume("share", "power lost between crank and wheels", "12 %", "chain or gears with one bevel; common practice, no source", "3 %..22 %", "0 %..90 %"),
        "shift_time": assume("time", "drive interrupted at a shift", "0.35 s", "a practised hand; common practice, no source", "0.03 s..1 s", "0 s..10 s"),
        "hill": table("height of the course over its length", "tables/hill.csv", {"distance": Column("distance", "along the road"), "height": Column("distance", "above the start")}, rising="distance"),
        "accessories": Section(
            "what the crank drives beside the fan (alternator, pumps)",
            {
                "power": must("power", "taken at a stated engine speed", "0.9 kW @ 6000 rpm", "0.05 kW..6 kW", "0 kW..100 kW", condition="rotational_speed"),
                "exponent": assume("number", "power of speed by which it grows", "1", "torque taken as constant", "0..3", "0..4"),
            },
            named=True, name_example="alternator",
        ),
    },
)  # fmt: skip
