"""Cooling and oil."""

from __future__ import annotations

from spoolwright.sheet.fields import Column, Field, Section, assume, choice, may, must, table

_FAN = {
    "flow": Column("volume_flow", "air moved"),
    "pressure": Column("pressure_difference", "static pressure rise"),
    "power": Column("power", "shaft power", False),
}


def _fins(example_count: str, diameter: str) -> dict[str, Field | Section]:
    return {
        "count": must("count", "fins", example_count, "3..30", "1..200"),
        "spacing": must("length", "clear gap between fins", "5.0 mm", "2 mm..12 mm", "0.2 mm..100 mm"),
        "thickness": must("length", "mean thickness of a fin", "2.0 mm", "0.6 mm..4 mm", "0.05 mm..50 mm"),
        "width": must("length", "from root to tip", "24 mm", "6 mm..60 mm", "0.5 mm..400 mm"),
        "root_diameter": must("length", "over which the fins stand", diameter, "40 mm..220 mm", "5 mm..1500 mm"),
        "conductivity": assume("conductivity", "of the fin's metal", "150 W/(m K)", "cast light alloy; handbook figure", "40 W/(m K)..210 W/(m K)", "5 W/(m K)..450 W/(m K)"),
        "metal_mass": may("mass", "metal of one cylinder that heats up with it", "2.4 kg", "0.3 kg..12 kg", "0.01 kg..500 kg"),
    }  # fmt: skip


COOLING = Section(
    "what carries the heat away",
    {
        "medium": choice("air or water", "air", "water"),
        "fan": Section(
            "cooling fan",
            {
                "curve": table("measured curve at one speed and air density", "tables/fan.csv", _FAN, need="must", rising="flow"),
                "curve_speed": must("rotational_speed", "fan speed of the curve", "4000 rpm", "800 rpm..12000 rpm", "50 rpm..100000 rpm"),
                "curve_density": must("density", "air density of the curve", "1.20 kg/m3", "0.9 kg/m3..1.3 kg/m3", "0.2 kg/m3..3 kg/m3"),
                "crank_pulley": must("length", "effective diameter", "150 mm", "40 mm..300 mm", "5 mm..2000 mm"),
                "fan_pulley": must("length", "effective diameter", "110 mm", "40 mm..300 mm", "5 mm..2000 mm"),
                "belt_slip": assume("share", "loss of speed in the belt", "2 %", "vee belt in good order; common practice, no source", "0 %..5 %", "0 %..50 %"),
                "efficiency": may("share", "of the fan where the curve has no power", "45 %", "25 %..80 %", "1 %..100 %"),
                "diameter": must("length", "over the blades or rim", "260 mm", "100 mm..500 mm", "20 mm..3000 mm", safety=True),
                "hub_bore": may("length", "bore of the hub", "25 mm", "8 mm..80 mm", "1 mm..500 mm"),
                "material_density": may("density", "of rim and hub", "7850 kg/m3", "1100 kg/m3..7900 kg/m3", "500 kg/m3..20000 kg/m3"),
                "material_strength": may("stress", "yield strength of rim or hub", "230 MPa", "40 MPa..600 MPa", "1 MPa..3 GPa", safety=True),
                "weld_factor": may("share", "share of strength left at a weld; 100 % where there is none", "60 %", "40 %..100 %", "5 %..100 %", safety=True),
            },
        ),
        "outlet_loss": may("pressure_difference", "loss of the warm air's way out at a stated flow", "120 Pa @ 0.5 m3/s", "0 Pa..1000 Pa", "0 Pa..20 kPa", condition="volume_flow"),
        "recirculation": assume("temperature_difference", "warming of the fan's inlet air by its own hot air", "0 K", "the inlet was taken to breathe outside air", "0 K..25 K", "0 K..150 K"),
        "leaks": Section(
            "ways by which cooling air leaves the shroud without passing fins",
            {
                "area": must("area", "open area", "600 mm2", "0 mm2..20000 mm2", "0 mm2..1 m2"),
                "discharge_coefficient": assume("number", "of the gap", "0.62", "sharp-edged opening; handbook figure", "0.5..0.9", "0.1..1"),
            },
            named=True, name_example="front_seal",
        ),
        "head_fins": Section("fins of one head", _fins("9", "110 mm")),
        "barrel_fins": Section("fins of one barrel", _fins("11", "100 mm")),
        "oil_cooler_path": Section(
            "oil cooler in the cooling air",
            {
                "loss": must("pressure_difference", "air loss at a stated flow", "300 Pa @ 0.10 m3/s", "20 Pa..2000 Pa", "0 Pa..50 kPa", condition="volume_flow"),
                "series": may("flag", "true where its warm air goes on to the fins", "false"),
            },
        ),
        "air_shares": may("share", "share of the fins' air each cylinder gets, where measured; equal when not given", '["26 %", "25 %", "25 %", "24 %"]', "5 %..100 %", "0 %..100 %", per="cylinder"),
        "coolant_temperature": may("temperature", "water leaving the head, at full load", "88 degC", "60 degC..115 degC", "0 degC..180 degC"),
        "coolant_flow": may("volume_flow", "water pump", "110 L/min", "10 L/min..300 L/min", "0.1 L/min..5000 L/min"),
        "coolant_pressure": may("pressure_gauge", "of the cap", "1.1 bar", "0 bar..2 bar", "0 bar..10 bar"),
    },
    must=True,
)  # fmt: skip

OIL = Section(
    "lubrication and the turbocharger's oil",
    {
        "grade": may("text", "as on the can", "15W-50 mineral"),
        "viscosity_40": may("kinematic_viscosity", "at 40 degC", "130 cSt", "30 cSt..300 cSt", "1 cSt..5000 cSt"),
        "viscosity_100": may("kinematic_viscosity", "at 100 degC", "18 cSt", "5 cSt..30 cSt", "0.5 cSt..500 cSt"),
        "density": assume("density", "at 15 degC", "875 kg/m3", "mineral engine oil; handbook figure", "830 kg/m3..920 kg/m3", "600 kg/m3..1200 kg/m3"),
        "temperature": may("temperature", "in the sump at full load", "110 degC", "70 degC..140 degC"),
        "pressure_hot": may("pressure_gauge", "measured hot at a stated speed", "4.2 bar @ 4000 rpm", "1 bar..8 bar", "0 bar..50 bar", condition="rotational_speed"),
        "capacity": may("volume", "with filter and cooler", "4.5 L", "0.5 L..15 L", "0.01 L..300 L"),
        "cooler_effectiveness": may("share", "of the oil cooler", "45 %", "10 %..80 %", "0 %..100 %"),
        "cooler_flow": may("volume_flow", "oil through the cooler", "12 L/min", "2 L/min..40 L/min", "0.05 L/min..1000 L/min"),
        "turbo_restrictor": may("length", "bore of the restrictor in the turbocharger's feed", "1.5 mm", "0.5 mm..3 mm", "0.1 mm..20 mm"),
        "turbo_bearing": choice("what the shaft runs in", "journal", "ball", need="may"),
        "drain_diameter": may("length", "inside diameter of the turbocharger's drain", "16 mm", "8 mm..28 mm", "2 mm..100 mm"),
        "drain_drop": may("length", "height the drain falls to the oil level", "180 mm", "20 mm..600 mm", "-500 mm..5 m"),
        "drain_length": may("length", "of the drain", "320 mm", "50 mm..1200 mm", "10 mm..10 m"),
        "drain_above_level": may("flag", "whether the drain enters above the oil level", "true"),
    },
)  # fmt: skip
