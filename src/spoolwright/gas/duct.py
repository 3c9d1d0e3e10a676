"""The gas of ducts and volumes: three species with heat capacity linear in temperature.

Model: ideal mixture of AIR, FUEL (vapour) and BURNED (frozen at the engine's equivalence ratio),
internal energy e_k(T) = e0_k + a_k T + b_k T^2/2. So T follows from the sensible part in closed
form, and the offsets e0_k (formation) put every species on the same datum as cylinder and tables:
what passes a valve carries its absolute energy.

Fit: least squares of the true u(T), weighted by 1/cv, so the residual is a temperature; over
250..1400 K for air and burned gas, over 250..1000 K for fuel vapour, which does not live hotter in a
duct. ``DuctFit.worst`` states the largest. Limits: no dissociation, no liquid; above the fitted range
the linear cv is an extrapolation.
"""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoolwright.gas.polynomials import Coefficients
from spoolwright.gas.unburned import AIR, BURNED, FUEL, Charge, ChargeSpecies, charge_u_cv
from spoolwright.kernel import kernel

__all__ = ["AIR", "BURNED", "FUEL", "DuctFit", "DuctGas", "duct_gas"]

FIT_T = ((250.0, 1400.0), (250.0, 1000.0), (250.0, 1400.0))  # K, range of the fit: AIR, FUEL, BURNED


class DuctGas(NamedTuple):
    """Per species k: R[k], a[k] [J/(kg K)], b[k] [J/(kg K2)], e0[k] [J/kg], arrays (3,)."""

    R: NDArray[np.float64]
    a: NDArray[np.float64]
    b: NDArray[np.float64]
    e0: NDArray[np.float64]


class DuctFit(NamedTuple):
    """A DuctGas and, per species, the largest error of u over the fitted range as a temperature [K]."""

    gas: DuctGas
    worst: NDArray[np.float64]


def duct_gas(species: ChargeSpecies) -> DuctFit:
    """Fit the three species of ``species`` (the charge's own, so that datum and air agree)."""
    rows = [_fit(species.c[k], float(species.R[k]), *FIT_T[k]) for k in range(3)]
    a, b, e0, worst = (np.array(column) for column in zip(*rows, strict=True))
    return DuctFit(DuctGas(species.R.copy(), a, b, e0), worst)


def _fit(c: Coefficients, R: float, T_low: float, T_high: float) -> tuple[float, float, float, float]:
    T = np.linspace(T_low, T_high, 231)
    u, cv = np.array([charge_u_cv(Charge(c, R), t) for t in T]).T
    basis = np.stack([np.ones_like(T), T, 0.5 * T * T], axis=1)
    e0, a, b = np.linalg.lstsq(basis / cv[:, None], u / cv, rcond=None)[0]
    worst = np.abs((basis @ np.array([e0, a, b]) - u) / cv).max()
    return float(a), float(b), float(e0), float(worst)


@kernel
def duct_mixture(gas: DuctGas, y_air: float, y_fuel: float, y_burned: float) -> tuple[float, float, float, float]:
    """R, a, b, e0 of the mass fractions (sum 1)."""
    R = y_air * gas.R[0] + y_fuel * gas.R[1] + y_burned * gas.R[2]
    a = y_air * gas.a[0] + y_fuel * gas.a[1] + y_burned * gas.a[2]
    b = y_air * gas.b[0] + y_fuel * gas.b[1] + y_burned * gas.b[2]
    e0 = y_air * gas.e0[0] + y_fuel * gas.e0[1] + y_burned * gas.e0[2]
    return R, a, b, e0


@kernel
def T_from_sensible(a: float, b: float, e: float) -> float:
    """T [K] with a T + b T^2/2 = e [J/kg]; written without cancellation, right for b = 0 too."""
    return 2.0 * e / (a + sqrt(a * a + 2.0 * b * e))


@kernel
def sensible(a: float, b: float, T: float) -> float:
    """Sensible internal energy a T + b T^2/2 [J/kg]."""
    return T * (a + 0.5 * b * T)


@kernel
def duct_e(gas: DuctGas, y_air: float, y_fuel: float, y_burned: float, T: float) -> float:
    """Absolute internal energy [J/kg], formation included."""
    _, a, b, e0 = duct_mixture(gas, y_air, y_fuel, y_burned)
    return e0 + sensible(a, b, T)


@kernel
def duct_h(gas: DuctGas, y_air: float, y_fuel: float, y_burned: float, T: float) -> float:
    """Absolute enthalpy [J/kg]."""
    R, a, b, e0 = duct_mixture(gas, y_air, y_fuel, y_burned)
    return e0 + sensible(a, b, T) + R * T


@kernel
def duct_T(gas: DuctGas, y_air: float, y_fuel: float, y_burned: float, e: float) -> float:
    """T [K] from the absolute internal energy e [J/kg]; closed form, one square root."""
    _, a, b, e0 = duct_mixture(gas, y_air, y_fuel, y_burned)
    return T_from_sensible(a, b, e - e0)


@kernel
def duct_cp(gas: DuctGas, y_air: float, y_fuel: float, y_burned: float, T: float) -> float:
    """Heat capacity at constant pressure [J/(kg K)]."""
    R, a, b, _ = duct_mixture(gas, y_air, y_fuel, y_burned)
    return a + b * T + R


@kernel
def duct_gamma(R: float, a: float, b: float, T: float) -> float:
    """Ratio of heat capacities from the mixture's R, a, b."""
    return 1.0 + R / (a + b * T)


@kernel
def duct_sound_speed(R: float, a: float, b: float, T: float) -> float:
    """Speed of sound [m/s] from the mixture's R, a, b."""
    return sqrt(duct_gamma(R, a, b, T) * R * T)
