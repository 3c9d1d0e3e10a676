"""The duct gas as nine plain numbers, ready for the loops.

A mixture property is linear in the mass fractions of fuel vapour and burned gas; air is the rest.
Plain floats pass between compiled functions for nothing, arrays drawn from tuples do not.
"""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

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


def mixing(gas: DuctGas) -> Mixing:
    """Mixing of the three species of the duct gas. Plain Python: kernels take the numbers."""

    def line(x: NDArray[np.float64]) -> tuple[float, float, float]:
        air = float(x[AIR])
        return air, float(x[FUEL_VAPOUR]) - air, float(x[BURNED]) - air

    return Mixing(*line(gas.R), *line(gas.a), *line(gas.b))


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
