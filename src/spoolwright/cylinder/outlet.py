"""What the flow and the energy balance see of one cylinder."""

from __future__ import annotations

import numpy as np

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.rows import Cylinders
from spoolwright.cylinder.views import burned_cut, mean_temperature, unburned_charge
from spoolwright.cylinder.zones import mixture
from spoolwright.gas.burned import burned
from spoolwright.gas.unburned import charge_u_cv
from spoolwright.kernel import kernel


@kernel
def isentropic_exponent(c: Cylinders, k: int, y_air: float, y_fuel: float, T: float) -> float:
    """(dln p / dln rho)_s [-] of cylinder k's gas as one zone at its pressure and T."""
    _, R, u_T, R_T, u_p, R_p = mixture(
        c.species, burned_cut(c, k), y_air, y_fuel, 1.0 - y_air - y_fuel, np.log(c.state[k, r.P]), T
    )
    alpha = 1.0 / T + R_T / R
    beta = R_p / R - 1.0
    dT_dlnp = -(u_p + R * T * beta) / (u_T + R * T * alpha)
    return -1.0 / (alpha * dT_dlnp + beta)


@kernel
def outlet_state(c: Cylinders, k: int, ahead: float) -> tuple[float, float, float, float, float, float, float]:
    """What the flow sees in cylinder k, ``ahead`` [s] after the last step (half its own step).

    Returns p [Pa], T [K], R, cp [J/(kg K)], absolute enthalpy h [J/kg], mass fractions of fuel and of burned gas.
    h = (E + p V) / m holds for one zone and for two; cp is the one that gives the isentropic exponent, so
    that cp / (cp - R) serves a nozzle.
    """
    s = c.state[k]
    x = s[r.BURNED_MASS] / s[r.MASS]
    T = mean_temperature(s)
    h = (s[r.ENERGY] + s[r.P] * s[r.VOLUME]) / s[r.MASS]
    R = s[r.P] * s[r.VOLUME] / (s[r.MASS] * T)
    y_fuel = s[r.Y_FUEL] * (1.0 - x)
    y_air = s[r.Y_AIR] * (1.0 - x)
    gamma = isentropic_exponent(c, k, y_air, y_fuel, T)
    cp = gamma * R / (gamma - 1.0)
    dT = ahead * s[r.T_RATE]
    return s[r.P] + ahead * s[r.P_RATE], T + dT, R, cp, h + cp * dT, y_fuel, 1.0 - y_air - y_fuel


@kernel
def energy_residual(c: Cylinders, k: int) -> float:
    """Internal energy of the solved state less the stored one [J]: what the Newton solves left over."""
    s = c.state[k]
    if s[r.MODE] == r.UNBURNED:
        u, _ = charge_u_cv(unburned_charge(c, k), s[r.T_UNBURNED])
        return s[r.MASS] * u - s[r.ENERGY]
    if s[r.MODE] == r.BURNING:
        total = 0.0
        if s[r.BURNED_MASS] < s[r.MASS]:
            u, _ = charge_u_cv(unburned_charge(c, k), s[r.T_UNBURNED])
            total += (s[r.MASS] - s[r.BURNED_MASS]) * u
        u_b, _, _, _, _, _ = burned(burned_cut(c, k), np.log(s[r.P]), s[r.T_BURNED])
        return total + s[r.BURNED_MASS] * u_b - s[r.ENERGY]
    u, _, _, _, _, _ = mixture(
        c.species, burned_cut(c, k), s[r.Y_AIR], s[r.Y_FUEL], s[r.Y_RESIDUAL], np.log(s[r.P]), s[r.T_UNBURNED]
    )
    return s[r.MASS] * u - s[r.ENERGY]
