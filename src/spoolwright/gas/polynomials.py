"""Mass-based polynomial coefficients of air, fuel vapour and frozen mixtures, for the kernels.

Layout of one gas: array (2, 7) = (below, above 1000 K) x (c0..c4, h constant, s constant) in J, kg,
K, so that a mixture is the mass-weighted sum:
cp = c0 + c1 T + c2 T^2 + c3 T^3 + c4 T^4, h = c0 T + c1 T^2/2 + ... + c5,
s0 = c0 ln T + c1 T + c2 T^2/2 + ... + c6 (at one bar, entropy of mixing left out: it is constant
while the composition is).

The two published sets of a species meet at 1000 K only to about 1e-6; the constants of the upper
set are shifted here so that h and s0 are continuous to round-off.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import log

import numpy as np
from numpy.typing import NDArray

from spoolwright.constants import GAS_CONSTANT
from spoolwright.gas.air import HumidAir
from spoolwright.gas.fuels import Fuel
from spoolwright.gas.species import SPECIES, T_DATUM, T_MIDDLE, molar_mass

Coefficients = NDArray[np.float64]  # (2, 7)


def of_species(name: str) -> Coefficients:
    """Coefficients [J, kg, K] of one pure species, (2, 7)."""
    species = SPECIES[name]
    R = GAS_CONSTANT / molar_mass(species.atoms)
    return joined(R * np.array([species.low, species.high]))


def joined(c: Coefficients) -> Coefficients:
    """``c`` with the upper constants shifted so that h and s0 are continuous at 1000 K."""
    out = c.copy()
    T = T_MIDDLE
    out[1, 5] += enthalpy(c[0], T) - enthalpy(c[1], T)
    out[1, 6] += entropy(c[0], T) - entropy(c[1], T)
    return out


def enthalpy(c: NDArray[np.float64], T: float) -> float:
    """h [J/kg] from one row (7,) of coefficients at T [K]."""
    powers = np.array([T, T**2 / 2, T**3 / 3, T**4 / 4, T**5 / 5])
    return float(c[:5] @ powers + c[5])


def entropy(c: NDArray[np.float64], T: float) -> float:
    """s0 [J/(kg K)] at one bar from one row (7,) of coefficients at T [K]."""
    powers = np.array([log(T), T, T**2 / 2, T**3 / 3, T**4 / 4])
    return float(c[:5] @ powers + c[6])


def of_mixture(mole_fractions: Iterable[tuple[str, float]]) -> tuple[Coefficients, float]:
    """Coefficients (2, 7) and R [J/(kg K)] of a mixture given by mole."""
    parts = [(name, x) for name, x in mole_fractions]
    M = sum(x * molar_mass(SPECIES[name].atoms) for name, x in parts) / sum(x for _, x in parts)
    total = sum(x for _, x in parts)
    c = np.zeros((2, 7))
    for name, x in parts:
        c += of_species(name) * (x / total * molar_mass(SPECIES[name].atoms) / M)
    return c, GAS_CONSTANT / M


def of_air(air: HumidAir) -> tuple[Coefficients, float]:
    """Coefficients (2, 7) and R [J/(kg K)] of moist air."""
    return of_mixture(air.mole_fractions)


def of_fuel_vapour(fuel: Fuel) -> tuple[Coefficients, float]:
    """Coefficients (2, 7) and R [J/(kg K)] of the fuel's vapour as a pseudo-species.

    Heat capacity and entropy per kilogram are those of the surrogate ``fuel.vapour``; the enthalpy
    constant puts h(298.15 K) on ``fuel.formation_enthalpy``, so that the stated heating value is
    what burning releases.
    """
    c = np.zeros((2, 7))
    share = sum(y for _, y in fuel.vapour)
    for name, y in fuel.vapour:
        c += of_species(name) * (y / share)
    c[:, 5] += fuel.formation_enthalpy - enthalpy(c[0], T_DATUM)
    return c, GAS_CONSTANT / fuel.M
