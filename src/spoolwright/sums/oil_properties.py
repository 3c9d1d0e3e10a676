"""What oil is: its density and viscosity as inputs, and the viscosity at a temperature."""

from __future__ import annotations

import math
from dataclasses import replace

from spoolwright.sums.registry import Input, Output, register

# The sheet states oil at 15 degC; hot oil is some 6 % lighter, so nothing is filled in here.
OIL_DENSITY = Input("density", "oil, at its temperature", "700 kg/m3", "950 kg/m3")
VISCOSITY = Input("viscosity", "dynamic viscosity at its temperature", "2 cP", "2000 cP")
KINEMATIC = Input("kinematic_viscosity", "kinematic viscosity", "1.5 cSt", "3000 cSt")


@register(
    "oil",
    "Oil viscosity at a temperature, from two points",
    inputs={
        "viscosity_1": replace(
            KINEMATIC, meaning="kinematic viscosity at the first temperature", sheet="oil.viscosity_40"
        ),
        "temperature_1": Input("temperature", "first temperature", "-30 degC", "150 degC", "40 degC"),
        "viscosity_2": replace(
            KINEMATIC, meaning="kinematic viscosity at the second temperature", sheet="oil.viscosity_100"
        ),
        "temperature_2": Input("temperature", "second temperature", "-30 degC", "150 degC", "100 degC"),
        "temperature": Input("temperature", "temperature asked for", "-30 degC", "200 degC"),
        "density": replace(OIL_DENSITY, default=""),
    },
    outputs={
        "viscosity": Output("kinematic_viscosity", "cSt", "kinematic viscosity there"),
        "dynamic_viscosity": Output("viscosity", "cP", "dynamic viscosity there, where the density is given"),
    },
    formula="log10(log10(viscosity + 0.7)) = A - B*log10(temperature), viscosity in cSt, temperature in K",
    source="ASTM D341 (Walther equation)",
    validity="Above 2 cSt. Oils with polymer are thinner under shear than this says.",
    slips=("dynamic viscosity in cP put in for cSt",),
    example='--viscosity-1 "32 cSt" --viscosity-2 "5.4 cSt" --temperature "80 degC"',
)
def oil_viscosity(
    viscosity_1: float,
    temperature_1: float,
    viscosity_2: float,
    temperature_2: float,
    temperature: float,
    density: float | None,
) -> dict[str, float | None]:
    """Viscosities [m2/s], [Pa s] or None. Raises ValueError unless the warmer oil is thinner."""
    if (viscosity_1 - viscosity_2) * (temperature_1 - temperature_2) >= 0.0:
        raise ValueError("oil is thinner when warmer; are the two points paired right?")
    if min(viscosity_1, viscosity_2) < 0.4e-6:
        raise ValueError("the equation holds for oils, not below about 0.4 cSt")

    def stretched(nu: float) -> float:
        return math.log10(math.log10(nu * 1e6 + 0.7))

    b = (stretched(viscosity_1) - stretched(viscosity_2)) / math.log10(temperature_2 / temperature_1)
    a = stretched(viscosity_1) + b * math.log10(temperature_1)
    nu = (10.0 ** (10.0 ** (a - b * math.log10(temperature))) - 0.7) * 1e-6
    return {"viscosity": nu, "dynamic_viscosity": None if density is None else nu * density}
