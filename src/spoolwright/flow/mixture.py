"""The duct gas as nine plain numbers, ready for the loops.

A mixture property is linear in the mass fractions of fuel vapour and burned gas; air is the rest.
Plain floats pass between compiled functions for nothing, arrays drawn from tuples do not.
"""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

from spoolwright.flow.rows import AIR, BURNED, FUEL_VAPOUR
from spoolwright.gas.duct import DuctGas
from spoolwright.kernel import kernel


class Mixing(NamedTuple):
    """Gas constant R and heat capacity cv = a + b T: value of air, and change to fuel and to burned gas."""

    R: float
    R_fuel: float
    R_burn: float
    a: float
    a_fuel: float
    a_burn: float
    b: float
    b_fuel: float
    b_burn: float


@kernel
def mixing(gas: DuctGas) -> Mixing:
    """Mixing of a gas with arrays R, a, b of the three species (spoolwright.gas.duct.DuctGas)."""
    R, a, b = gas.R, gas.a, gas.b
    return Mixing(
        R[AIR],
        R[FUEL_VAPOUR] - R[AIR],
        R[BURNED] - R[AIR],
        a[AIR],
        a[FUEL_VAPOUR] - a[AIR],
        a[BURNED] - a[AIR],
        b[AIR],
        b[FUEL_VAPOUR] - b[AIR],
        b[BURNED] - b[AIR],
    )


@kernel
def mixture(mix: Mixing, yf: float, yb: float) -> tuple[float, float, float]:
    """R, a, b of the mixture with mass fractions yf of fuel vapour and yb of burned gas."""
    return (
        mix.R + yf * mix.R_fuel + yb * mix.R_burn,
        mix.a + yf * mix.a_fuel + yb * mix.a_burn,
        mix.b + yf * mix.b_fuel + yb * mix.b_burn,
    )


@kernel
def temperature(a: float, b: float, e: int) -> float:
    """T [K] of sensible energy e [J/kg]; free of cancellation, and right for b = 0 too."""
    return 2.0 * e / (a + sqrt(a * a + 2.0 * b * e))
