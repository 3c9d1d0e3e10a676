"""Mixture and fuel as a builder states them: inputs and steps that sums of air, fuel and exhaust share."""

from __future__ import annotations

from typing import NamedTuple

from spoolwright.gas import fuels
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.registry import Input

NAMED_FUEL = Input("choice", "the fuel", choices=tuple(fuels.GRADES), sheet="fuel.grade")
FUEL = Input("choice", "the fuel; or give its figure", choices=tuple(fuels.GRADES), default="", sheet="fuel.grade")
STOICHIOMETRIC = Input("ratio", "stoichiometric air-fuel ratio of the fuel; or give the fuel", "3", "16", "")
MIXTURE_INPUTS = {
    "air_fuel_ratio": Input("ratio", "true air-fuel ratio by mass; or give mixture", "3", "20", ""),
    "mixture": Input("mixture", "lambda, with the fuel; or give air_fuel_ratio", "0.5 lambda", "1.5 lambda", ""),
    "fuel": FUEL,
    "stoichiometric_ratio": STOICHIOMETRIC,
}


def stoichiometric_of(fuel: str | None, stoichiometric_ratio: float | None) -> float:
    """Stoichiometric ratio [1] of a named fuel or as stated; exactly one is to be given."""
    if one_of(fuel=fuel, stoichiometric_ratio=stoichiometric_ratio) == "fuel":
        assert fuel is not None
        return fuels.stoichiometric_ratio(fuels.grade(fuel))
    assert stoichiometric_ratio is not None
    if stoichiometric_ratio <= 0.0:
        raise ValueError("a stoichiometric ratio is above zero, for example 14.7")
    return stoichiometric_ratio


class Mixture(NamedTuple):
    """A mixture: its air-fuel ratio by mass [1], or lambda [1] with the fuel or its stoichiometric ratio [1]."""

    air_fuel_ratio: float | None
    mixture: float | None
    fuel: str | None
    stoichiometric_ratio: float | None

    def by_mass(self) -> float:
        """Air-fuel ratio by mass [1]. Raises ValueError when it is stated twice, not at all, or not above zero."""
        if one_of(air_fuel_ratio=self.air_fuel_ratio, mixture=self.mixture) == "mixture":
            assert self.mixture is not None
            ratio = self.mixture * stoichiometric_of(self.fuel, self.stoichiometric_ratio)
        else:
            assert self.air_fuel_ratio is not None
            ratio = self.air_fuel_ratio
        if ratio <= 0.0:
            raise ValueError("the air-fuel ratio must be above zero")
        return ratio
