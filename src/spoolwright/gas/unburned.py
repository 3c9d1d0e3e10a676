"""The unburned charge: one polynomial for the whole mixture of air, fuel vapour and residual gas.

Model: ideal gas of frozen composition; NASA polynomials (see ``polynomials``) weighted by mass, so a
look-up costs the same whatever the mixture holds. Residual gas is burned gas frozen at 1700 K.
Enthalpy counts from the elements at 298.15 K: the same datum as the burned tables.

Limits: 200 to 3000 K; no reaction in the unburned charge; no liquid.
"""

from __future__ import annotations

from math import log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoolwright.gas.air import HumidAir
from spoolwright.gas.fuels import Fuel
from spoolwright.gas.polynomials import Coefficients, of_air, of_fuel_vapour
from spoolwright.kernel import kernel

AIR, FUEL, BURNED = 0, 1, 2  # rows of everything that lists the three species

OK, NO_CONVERGENCE = 0, 1  # status of the inverse functions

T_MIDDLE = 1000.0  # K, where the two coefficient sets meet
T_LOWEST, T_HIGHEST = 150.0, 5000.0  # K, search range of the inverse functions
MOST_PASSES = 40


class ChargeSpecies(NamedTuple):
    """Coefficients of the three species of a charge: c (3, 2, 7) [J, kg, K], R (3,) [J/(kg K)]."""

    c: NDArray[np.float64]
    R: NDArray[np.float64]


class Charge(NamedTuple):
    """One mixture: c (2, 7) [J, kg, K] below and above 1000 K, gas constant R [J/(kg K)]."""

    c: NDArray[np.float64]
    R: float


def charge_species(fuel: Fuel, air: HumidAir, burned: tuple[Coefficients, float]) -> ChargeSpecies:
    """The three species for ``fuel``, moist ``air`` and ``burned`` = (coefficients, R) of frozen residual."""
    rows = [of_air(air), of_fuel_vapour(fuel), burned]
    return ChargeSpecies(np.ascontiguousarray([c for c, _ in rows]), np.array([R for _, R in rows]))


@kernel
def charge(species: ChargeSpecies, y_air: float, y_fuel: float, y_burned: float) -> Charge:
    """Charge of the mass fractions y_air + y_fuel + y_burned = 1 (allocates 14 numbers)."""
    c = y_air * species.c[0] + y_fuel * species.c[1] + y_burned * species.c[2]
    R = y_air * species.R[0] + y_fuel * species.R[1] + y_burned * species.R[2]
    return Charge(c, R)


@kernel
def charge_h_cp(gas: Charge, T: float) -> tuple[float, float]:
    """Enthalpy h [J/kg] and heat capacity cp [J/(kg K)] at T [K]."""
    k = 0 if T <= T_MIDDLE else 1
    c0, c1, c2, c3, c4 = gas.c[k, 0], gas.c[k, 1], gas.c[k, 2], gas.c[k, 3], gas.c[k, 4]
    h = gas.c[k, 5] + T * (c0 + T * (c1 / 2.0 + T * (c2 / 3.0 + T * (c3 / 4.0 + T * (c4 / 5.0)))))
    cp = c0 + T * (c1 + T * (c2 + T * (c3 + T * c4)))
    return h, cp


@kernel
def charge_u(gas: Charge, T: float) -> float:
    """Internal energy u [J/kg] at T [K], formation included."""
    h, _ = charge_h_cp(gas, T)
    return h - gas.R * T


@kernel
def charge_u_cv(gas: Charge, T: float) -> tuple[float, float]:
    """Internal energy u [J/kg] and cv [J/(kg K)] at T [K]."""
    h, cp = charge_h_cp(gas, T)
    return h - gas.R * T, cp - gas.R


@kernel
def charge_gamma(gas: Charge, T: float) -> float:
    """Ratio of heat capacities at T [K]."""
    _, cp = charge_h_cp(gas, T)
    return cp / (cp - gas.R)


@kernel
def charge_s0_cp(gas: Charge, T: float) -> tuple[float, float]:
    """Entropy s0 [J/(kg K)] at one bar and cp [J/(kg K)] at T [K]; s = s0 - R ln(p / 1 bar)."""
    k = 0 if T <= T_MIDDLE else 1
    c0, c1, c2, c3, c4 = gas.c[k, 0], gas.c[k, 1], gas.c[k, 2], gas.c[k, 3], gas.c[k, 4]
    s0 = gas.c[k, 6] + c0 * log(T) + T * (c1 + T * (c2 / 2.0 + T * (c3 / 3.0 + T * (c4 / 4.0))))
    cp = c0 + T * (c1 + T * (c2 + T * (c3 + T * c4)))
    return s0, cp


@kernel
def charge_T_from_u(gas: Charge, u: float, T_start: float) -> tuple[float, int]:
    """T [K] with internal energy u [J/kg], started at T_start [K]; returns (T, status).

    Newton, kept inside 150..5000 K; u rises strictly with T, so the root is unique.
    """
    T = min(max(T_start, T_LOWEST), T_HIGHEST)
    for _ in range(MOST_PASSES):
        value, cv = charge_u_cv(gas, T)
        step = (u - value) / cv
        T = min(max(T + step, T_LOWEST), T_HIGHEST)
        if abs(step) < 1e-9 * T:
            return T, OK
    return T, NO_CONVERGENCE


@kernel
def charge_T_from_s0(gas: Charge, s0: float, T_start: float) -> tuple[float, int]:
    """T [K] with entropy s0 [J/(kg K)] at one bar, started at T_start [K]; returns (T, status).

    Newton in ln T, in which s0 is nearly a straight line. For a state of entropy s at pressure p
    give s0 = s + R ln(p / 1 bar).
    """
    T = min(max(T_start, T_LOWEST), T_HIGHEST)
    for _ in range(MOST_PASSES):
        value, cp = charge_s0_cp(gas, T)
        step = min(max((s0 - value) / cp, -0.5), 0.5)
        T = min(max(T * np.exp(step), T_LOWEST), T_HIGHEST)
        if abs(step) < 1e-9:
            return T, OK
    return T, NO_CONVERGENCE
