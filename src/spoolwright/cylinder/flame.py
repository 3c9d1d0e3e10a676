"""Turbulent flame by entrainment and burn-up, and the turbulence that drives it.

    dm_e/dt = rho_u A_f (u_e + S),   dm_b/dt = rho_u A_f S + (m_e - m_b) / tau
    u_e = u' (1 - exp(-r_f / l)),    tau = c_tau lambda / S,   lambda = l sqrt(15 nu / (u' l))

Blizard and Keck (SAE 740191, 1974) for the two equations; Tabaczynski, Ferguson and Radhakrishnan
(SAE 770647, 1977) for burn-up over the Taylor microscale lambda. Turbulence at the spark goes with the
mean piston speed and the chamber height, then follows rapid distortion: u' ~ rho^(1/3), l ~ rho^(-1/3)
(from memory). No squish, swirl or intake-jet model: those sit in the calibrated c_u.

The constants of ``FlameConstants`` were fitted for this program to known trends of burn duration with
speed, mixture, residual and pressure; no pressure trace stands behind them. Calibrate them if you have one.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from spoolwright.kernel import kernel


class FlameConstants(NamedTuple):
    """The fitted constants of the flame; all may be calibrated."""

    c_u: float = 1.6  # -, entrainment velocity scale per mean piston speed at the spark
    c_tau: float = 5.0  # -, burn-up time per lambda / S
    seed_share: float = 5e-4  # -, mass share burned by the spark; ten times more moves the burn about 4 degrees
    length_share: float = 0.2  # -, integral length per mean chamber height at the spark (from memory)
    burn_factor: float = 1.0  # -, on both rates; the handle for cyclic variation and for studies


@kernel
def kinematic_viscosity(T: float, rho: float) -> float:
    """Kinematic viscosity of the unburned gas [m2/s]: 1.716e-5 Pa s (T/273 K)^0.7 / rho (air, power law)."""
    return 1.716e-5 * np.exp(0.7 * np.log(T / 273.0)) / rho


@kernel
def turbulence(u_spark: float, length_spark: float, rho_spark: float, rho: float) -> tuple[float, float]:
    """Turbulence velocity [m/s] and integral length [m] after compression from rho_spark to rho."""
    squeeze = np.exp(np.log(rho / rho_spark) / 3.0)
    return u_spark * squeeze, length_spark / squeeze


@kernel
def flame_rates(
    rho_u: float,
    flame_area: float,
    flame_radius: float,
    u_turbulent: float,
    length: float,
    nu: float,
    s_laminar: float,
    mass_behind_front: float,
    c_tau: float,
) -> tuple[float, float, float]:
    """Burned and entrained mass rates [kg/s] and the burn-up time [s].

    rho_u : float [kg/m3]; flame_area : float [m2]; flame_radius : float [m]; u_turbulent : float [m/s];
    length : float [m], integral length; nu : float [m2/s]; s_laminar : float [m/s];
    mass_behind_front : float [kg], entrained and not yet burned; c_tau : float [-]
    """
    u_entrain = u_turbulent * -np.expm1(-flame_radius / length)
    taylor = length * np.sqrt(15.0 * nu / (u_turbulent * length))
    tau = c_tau * taylor / s_laminar
    front = rho_u * flame_area * s_laminar
    return front + mass_behind_front / tau, front + rho_u * flame_area * u_entrain, tau
