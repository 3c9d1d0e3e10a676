"""Sums of evaporating fuel: how far it can cool the charge, and where it stays liquid.

Energy balance with NASA enthalpies of ``spoolwright.gas.species``; saturation by the Antoine equation for fuels of one
boiling point. Walls and the time evaporation takes are left out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.constants import STANDARD_ATMOSPHERE, ZERO_CELSIUS
from spoolwright.errors import BadInput
from spoolwright.gas import fuels
from spoolwright.gas.air import DRY_AIR
from spoolwright.gas.species import molar_enthalpy
from spoolwright.sums.mixtures import NAMED_FUEL
from spoolwright.sums.registry import Input, Output, register


def _enthalpy_of_air(T: float) -> float:
    total = sum(x * molar_enthalpy(name, T) for name, x in DRY_AIR.mole_fractions if x > 0.0)
    return total / DRY_AIR.M


def _enthalpy_of_vapour(fuel: fuels.Fuel, T: float) -> float:
    return sum(y * molar_enthalpy(name, T) / fuels.GRADES[name].M for name, y in fuel.vapour)


def _evaporation_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["charge_after"] < ZERO_CELSIUS + 5.0:
        return [
            "by energy alone the charge would fall near or below freezing: saturation stops it earlier and ice "
            "may form; see `evaporation_limit` and give the share that really evaporates before the valve"
        ]
    return []


@register(
    "fuel",
    "Charge cooling by evaporating fuel",
    inputs={
        "charge_temperature": Input("temperature", "charge before the fuel", "0 degC", "200 degC"),
        "fuel": NAMED_FUEL,
        "mixture": Input("mixture", "mixture", "0.5 lambda", "1.5 lambda"),
        "share_evaporated": Input("share", "share that evaporates in the air", "0 %", "100 %", "100 %"),
    },
    outputs={
        "charge_after": Output("temperature", "degC", "temperature of air and vapour", ("degF",)),
        "cooling": Output("temperature_difference", "K", "drop of temperature", ("degF",)),
        "fuel_air_ratio": Output("number", "1", "fuel over air by mass"),
        "density_gain": Output("share", "%", "gain of density at the same pressure, room taken by vapour not counted"),
    },
    formula="""
    fuel_air_ratio = 1 / (mixture * stoichiometric ratio)
    cooling from: heat given up by air and vapour = share_evaporated * fuel_air_ratio * latent heat
    charge_after = charge_temperature - cooling
    """,
    source="energy balance with NASA TM-4513 enthalpies; latent heat at 25 degC as listed by `fuel_properties`",
    validity="no heat from walls; energy only, saturation may stop it earlier; fuel enters at charge temperature",
    slips=("all of the fuel counted: much of it evaporates on walls and cools them, not the charge",),
    question=_evaporation_question,
    example='--charge-temperature "80 degC" --fuel E10 --mixture "0.78 lambda" --share-evaporated "60 %"',
)
def evaporation_cooling(
    charge_temperature: float, fuel: str, mixture: float, share_evaporated: float
) -> dict[str, float]:
    """Temperatures [K] after ``share_evaporated`` [1] of the fuel has evaporated in the air."""
    if not 0.0 <= share_evaporated <= 1.0:
        raise ValueError("the share that evaporates lies between 0 and 100 %")
    which = fuels.grade(fuel)
    ratio = 1.0 / (mixture * fuels.stoichiometric_ratio(which))
    vapour = share_evaporated * ratio

    def heat_left(T: float) -> float:
        given_up = _enthalpy_of_air(charge_temperature) - _enthalpy_of_air(T)
        given_up += vapour * (_enthalpy_of_vapour(which, charge_temperature) - _enthalpy_of_vapour(which, T))
        return given_up - vapour * which.latent_heat

    low, high = 40.0, charge_temperature
    if heat_left(low) < 0.0:
        raise ValueError("that much fuel cannot evaporate in this air at all")
    while high - low > 1e-7:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if heat_left(middle) > 0.0 else (low, middle)
    return {
        "charge_after": high,
        "cooling": charge_temperature - high,
        "fuel_air_ratio": ratio,
        "density_gain": charge_temperature / high - 1.0,
    }


# Antoine constants, log10(p / mmHg) = A - B / (C + t / degC), from memory of common tables; the test
# holds them against a property library. Range in degC.
_ANTOINE = {
    "methanol": (8.08097, 1582.271, 239.726, -10.0, 85.0),
    "ethanol": (8.20417, 1642.89, 230.300, -10.0, 80.0),
    "heptane": (6.89677, 1264.90, 216.544, -10.0, 99.0),
}


@register(
    "fuel",
    "Temperature at which a mixture is just all vapour",
    inputs={
        "fuel": Input("choice", "the fuel, one boiling point", choices=tuple(_ANTOINE)),
        "mixture": Input("mixture", "mixture", "0.5 lambda", "2 lambda"),
        "pressure": Input("pressure_absolute", "pressure of the charge", "50 kPa", "400 kPa", "101.325 kPa"),
    },
    outputs={
        "temperature": Output("temperature", "degC", "below this some fuel stays liquid", ("degF",)),
        "vapour_pressure": Output("pressure_absolute", "kPa", "partial pressure of the fuel, all evaporated"),
        "vapour_share": Output("share", "%", "share of the vapour by mole"),
    },
    formula="""
    vapour_share = moles of vapour / (moles of vapour + moles of air)
    vapour_pressure = vapour_share * pressure
    temperature = B / (A - log10(vapour_pressure)) - C
    """,
    source="Antoine equation, constants from memory, checked against a property library; ideal mixing",
    validity="pure fuels with one boiling point; petrol boils over 35 to 200 degC and has no such temperature",
    example='--fuel methanol --mixture "1 lambda"',
)
def evaporation_limit(fuel: str, mixture: float, pressure: float) -> dict[str, float]:
    """Saturation temperature [K] of the fuel vapour in a mixture at ``pressure`` [Pa]."""
    which = fuels.grade(fuel)
    fuel_moles = 1.0 / which.M
    air_moles = mixture * fuels.stoichiometric_ratio(which) / DRY_AIR.M
    share = fuel_moles / (fuel_moles + air_moles)
    a, b, c, low, high = _ANTOINE[fuel]
    t = b / (a - math.log10(share * pressure * 760.0 / STANDARD_ATMOSPHERE)) - c
    if not low <= t <= high:
        raise BadInput(
            f"evaporation_limit: {t:.0f} degC is outside {low:g} to {high:g} degC of the vapour pressure fit"
        )
    return {"temperature": t + ZERO_CELSIUS, "vapour_pressure": share * pressure, "vapour_share": share}
