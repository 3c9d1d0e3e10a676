"""Sums of fins: straight and annular fins, a finned cylinder, a finned barrel on its bare area.

Published models: straight fin with corrected length, annular fin with corrected tip radius by modified Bessel functions
(any heat transfer text; a table value of a public library is in the tests), and the barrel form of NACA Report 488
(1934), from memory, which stands 2 to 3 % above the exact one. One heat transfer coefficient over the whole fin.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums.registry import Input, Output, register

CONDUCTIVITY = Input("conductivity", "of the fin (aluminium alloy 130 to 190, iron 50)", "30 W/(m K)", "240 W/(m K)")
COEFFICIENT = Input("heat_transfer", "from fin to air", "5 W/(m2 K)", "500 W/(m2 K)")
THICKNESS = Input("length", "fin thickness", "0.3 mm", "10 mm")
LENGTH = Input("length", "fin length from root to tip", "3 mm", "150 mm")
SURFACE = Input("temperature", "at the fin root", "40 degC", "300 degC")
AIR = Input("temperature", "cooling air", "-20 degC", "120 degC")
FIN_EFFICIENCY = Output("share", "%", "heat over that of a fin all at root temperature")
FIN_HEAT = Output("power", "W", "heat of all fins", ("kW",))
FIN_AREA = Output("area", "cm2", "surface of one fin, tip counted")
_EFFICIENCY = Input("share", "fin efficiency read elsewhere; worked out when not given", "10 %", "100 %", "", part=True)


def _parameter(coefficient: float, conductivity: float, thickness: float) -> float:
    """m = sqrt(2 h / (k t)) [1/m]."""
    if min(coefficient, conductivity, thickness) <= 0.0:
        raise ValueError("thickness, conductivity and heat transfer must be above zero")
    return math.sqrt(2.0 * coefficient / (conductivity * thickness))


def annular_efficiency(
    root_radius: float, length: float, thickness: float, conductivity: float, coefficient: float
) -> float:
    """Efficiency [1] of an annular fin of even thickness, exact by Bessel functions, tip radius plus half thickness."""
    from scipy.special import ive, kve

    m = _parameter(coefficient, conductivity, thickness)
    a, b = m * root_radius, m * (root_radius + length + 0.5 * thickness)
    # Scaled functions: iv = ive * exp(x), kv = kve * exp(-x), so large fins do not overflow.
    down = math.exp(-2.0 * (b - a))
    top = kve(1, a) * ive(1, b) - ive(1, a) * kve(1, b) * down
    bottom = ive(0, a) * kve(1, b) * down + kve(0, a) * ive(1, b)
    return float(2.0 * a / (b * b - a * a) * top / bottom)


def _efficiency_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["efficiency"] < 0.5:
        return ["below 50 % the outer half of the fin does little: thickness in mm, conductivity of the alloy?"]
    return []


@register(
    "cooling",
    "Straight fin: efficiency and heat",
    inputs={
        "length": LENGTH,
        "thickness": THICKNESS,
        "width": Input("length", "width along the root", "5 mm", "2000 mm", "1 m"),
        "conductivity": CONDUCTIVITY,
        "coefficient": COEFFICIENT,
        "root_temperature": SURFACE,
        "air_temperature": AIR,
        "fins": Input("count", "number of fins", "1", "500", "1"),
    },
    outputs={
        "efficiency": FIN_EFFICIENCY,
        "heat": FIN_HEAT,
        "heat_per_width": Output("number", "1", "heat of one fin for each metre of width, W/m"),
        "area": FIN_AREA,
    },
    formula="""
    m = sqrt(2 * coefficient / (conductivity * thickness)); Lc = length + thickness/2
    efficiency = tanh(m * Lc) / (m * Lc)
    heat = fins * efficiency * coefficient * 2 * Lc * width * (root_temperature - air_temperature)
    """,
    source="Heat Transfer (SI units) text, Ex. 2.8; corrected length",
    question=_efficiency_question,
    example='--length "75 mm" --thickness "3 mm" --conductivity "200 W/(m K)" --coefficient "10 W/(m2 K)" '
    '--root-temperature "300 degC" --air-temperature "50 degC"',
)
def fin_straight(
    length: float,
    thickness: float,
    width: float,
    conductivity: float,
    coefficient: float,
    root_temperature: float,
    air_temperature: float,
    fins: float,
) -> dict[str, float]:
    """Efficiency [1] and heat [W] of straight fins."""
    corrected = length + 0.5 * thickness
    x = _parameter(coefficient, conductivity, thickness) * corrected
    efficiency = math.tanh(x) / x
    area = 2.0 * corrected * width
    each = efficiency * coefficient * area * (root_temperature - air_temperature)
    return {"efficiency": efficiency, "heat": fins * each, "heat_per_width": each / width, "area": area}


@register(
    "cooling",
    "Annular fin: efficiency and heat",
    inputs={
        "root_diameter": Input("length", "diameter at the root", "10 mm", "300 mm"),
        "length": LENGTH,
        "thickness": THICKNESS,
        "conductivity": CONDUCTIVITY,
        "coefficient": COEFFICIENT,
        "root_temperature": SURFACE,
        "air_temperature": AIR,
        "fin_efficiency": _EFFICIENCY,
        "fins": Input("count", "number of fins", "1", "200", "1"),
    },
    outputs={
        "efficiency": FIN_EFFICIENCY,
        "heat": FIN_HEAT,
        "area": FIN_AREA,
    },
    formula="""
    r2 = root_diameter/2 + length + thickness/2; m = sqrt(2 * coefficient / (conductivity * thickness))
    a = m r1; b = m r2
    efficiency = 2 a / (b^2 - a^2) * (K1(a) I1(b) - I1(a) K1(b)) / (I0(a) K1(b) + K0(a) I1(b))
    heat = fins * efficiency * coefficient * 2 * pi * (r2^2 - r1^2) * (root_temperature - air_temperature)
    """,
    source="annular fin by Bessel functions, any heat transfer text; charts in books are read 3 to 6 % low",
    question=_efficiency_question,
    example='--root-diameter "100 mm" --length "30 mm" --thickness "2 mm" --conductivity "160 W/(m K)" '
    '--coefficient "80 W/(m2 K)" --root-temperature "200 degC" --air-temperature "30 degC"',
)
def fin_annular(
    root_diameter: float,
    length: float,
    thickness: float,
    conductivity: float,
    coefficient: float,
    root_temperature: float,
    air_temperature: float,
    fin_efficiency: float | None,
    fins: float,
) -> dict[str, float]:
    """Efficiency [1] and heat [W] of annular fins."""
    r1 = 0.5 * root_diameter
    r2 = r1 + length + 0.5 * thickness
    if r1 <= 0.0 or r2 <= r1:
        raise ValueError("diameter and fin length must be above zero")
    efficiency = fin_efficiency or annular_efficiency(r1, length, thickness, conductivity, coefficient)
    area = 2.0 * math.pi * (r2**2 - r1**2)
    heat = fins * efficiency * coefficient * area * (root_temperature - air_temperature)
    return {"efficiency": efficiency, "heat": heat, "area": area}


@register(
    "cooling",
    "Finned cylinder: heat with fins and without",
    inputs={
        "height": Input("length", "finned height", "20 mm", "400 mm"),
        "root_diameter": Input("length", "outside diameter at the fin roots", "20 mm", "300 mm"),
        "fins": Input("count", "number of fins", "0", "100"),
        "thickness": THICKNESS,
        "length": LENGTH,
        "conductivity": CONDUCTIVITY,
        "coefficient": COEFFICIENT,
        "root_temperature": SURFACE,
        "air_temperature": AIR,
        "fin_efficiency": _EFFICIENCY,
    },
    outputs={
        "heat": Output("power", "W", "heat with fins", ("kW",)),
        "heat_without_fins": Output("power", "W", "heat of the plain cylinder", ("kW",)),
        "gain": Output("ratio", "1", "with over without"),
        "efficiency": Output("share", "%", "efficiency of one fin"),
        "overall_efficiency": Output("share", "%", "heat over that of the whole surface at root temperature"),
    },
    formula="""
    heat = coefficient * (efficiency * finned area + bare area) * (root_temperature - air_temperature)
    heat_without_fins = coefficient * pi * root_diameter * height * (root_temperature - air_temperature)
    """,
    source="Fundamentals of Heat and Mass Transfer text, Ex. 3.10, p. 156 (finned air-cooled motorcycle cylinder)",
    validity="the same coefficient with and without fins: narrow spaces lower it",
    question=_efficiency_question,
    example='--height "150 mm" --root-diameter "50 mm" --fins 5 --thickness "6 mm" --length "20 mm" '
    '--conductivity "186 W/(m K)" --coefficient "50 W/(m2 K)" --root-temperature "500 K" --air-temperature "300 K"',
)
def finned_cylinder(
    height: float,
    root_diameter: float,
    fins: float,
    thickness: float,
    length: float,
    conductivity: float,
    coefficient: float,
    root_temperature: float,
    air_temperature: float,
    fin_efficiency: float | None,
) -> dict[str, float]:
    """Heat [W] of a cylinder with annular fins."""
    between = math.pi * root_diameter * (height - fins * thickness)
    if between < 0.0:
        raise ValueError("so many fins of that thickness do not fit on that height")
    one = fin_annular(
        root_diameter,
        length,
        thickness,
        conductivity,
        coefficient,
        root_temperature,
        air_temperature,
        fin_efficiency,
        1.0,
    )
    rise = root_temperature - air_temperature
    plain = coefficient * math.pi * root_diameter * height * rise
    heat = fins * one["heat"] + coefficient * between * rise
    whole = coefficient * (fins * one["area"] + between) * rise
    return {
        "heat": heat,
        "heat_without_fins": plain,
        "gain": heat / plain if plain else 1.0,
        "efficiency": one["efficiency"],
        "overall_efficiency": heat / whole if whole else 1.0,
    }


@register(
    "cooling",
    "Finned barrel: coefficient on its bare area",
    inputs={
        "root_radius": Input("length", "radius at the fin roots", "10 mm", "150 mm"),
        "thickness": Input("length", "mean fin thickness", "0.5 mm", "6 mm"),
        "space": Input("length", "space between fins", "1 mm", "20 mm"),
        "width": Input("length", "fin width from root to tip", "3 mm", "100 mm"),
        "conductivity": CONDUCTIVITY,
        "coefficient": COEFFICIENT,
    },
    outputs={
        "overall": Output("heat_transfer", "W/(m2 K)", "coefficient on the bare barrel area, NACA form"),
        "overall_exact": Output("heat_transfer", "W/(m2 K)", "the same with the exact annular fin"),
        "gain": Output("ratio", "1", "exact over the plain barrel"),
        "efficiency": Output("share", "%", "efficiency of one fin, exact"),
    },
    formula="""
    a = sqrt(2 * coefficient / (conductivity * thickness)); w = width + thickness/2
    overall = coefficient / (space + thickness) * (2/a * (1 + width/(2 * root_radius)) * tanh(a * w) + space)
    """,
    source="NACA Report 488 (1934) form, from memory, not confirmed; exact form by Bessel functions",
    validity="fins of even thickness, one coefficient over the fin; the NACA form reads 2 to 3 % high",
    question=_efficiency_question,
    example='--root-radius "50 mm" --thickness "2 mm" --space "6 mm" --width "30 mm" --conductivity "160 W/(m K)" '
    '--coefficient "80 W/(m2 K)"',
)
def finned_barrel(
    root_radius: float, thickness: float, space: float, width: float, conductivity: float, coefficient: float
) -> dict[str, float]:
    """Heat transfer coefficient [W/(m2 K)] referred to the barrel's bare area."""
    a = _parameter(coefficient, conductivity, thickness)
    if min(root_radius, width) <= 0.0 or space < 0.0:
        raise ValueError("radius and width must be above zero and the space not below")
    pitch = space + thickness
    tanh = math.tanh(a * (width + 0.5 * thickness))
    naca = coefficient / pitch * (2.0 / a * (1.0 + width / (2.0 * root_radius)) * tanh + space)
    efficiency = annular_efficiency(root_radius, width, thickness, conductivity, coefficient)
    tip = root_radius + width + 0.5 * thickness
    exact = coefficient / pitch * (space + efficiency * (tip**2 - root_radius**2) / root_radius)
    return {"overall": naca, "overall_exact": exact, "gain": exact / coefficient, "efficiency": efficiency}
