"""Pressure and temperatures from volume and internal energy: one zone or two, all by Newton.

Every step of the cylinder ends here: the energy residual holds the implicit half of the piston work,
so a step conserves energy to round-off whatever its length.

    one zone:   m R T = p V,                      m u + p dV/2 = E
    two zones:  m_u R_u T_u + m_b R_b T_b = p V,  m_u u_u + m_b u_b + p dV/2 = E,   s_u given

``E`` in these is the energy left after heat, flow and the explicit half of the work. Status is OK or
NO_SOLUTION (energy or volume that no gas can have).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder.rows import NO_SOLUTION, OK
from spoolwright.gas.burned import BurnedSlice, burned
from spoolwright.gas.unburned import AIR, FUEL, Charge, ChargeSpecies, charge_s0_cp, charge_u_cv
from spoolwright.kernel import kernel

Array = NDArray[np.float64]

P_REFERENCE = 1e5  # Pa, reference of s0
MOST_PASSES = 30
T_LOW, T_HIGH = 60.0, 5500.0  # K, a pass never leaves this


@kernel
def charge_entropy(gas: Charge, T: float, p: float) -> float:
    """Specific entropy of a charge [J/(kg K)] (without mixing terms, constant for a fixed charge)."""
    s0, _ = charge_s0_cp(gas, T)
    return s0 - gas.R * np.log(p / P_REFERENCE)


@kernel
def charge_T_from_s(gas: Charge, s: float, log_p: float, T: float) -> float:
    """T [K] of a charge with entropy s at ln(p / 1 bar) = log_p, started at T."""
    target = s + gas.R * log_p
    for _ in range(MOST_PASSES):
        s0, cp = charge_s0_cp(gas, T)
        d = (target - s0) * T / cp
        T = min(max(T + d, 0.5 * T), 2.0 * T)
        if abs(d) < 1e-4 * T:  # quadratic: what is left is about 1e-9
            break
    return T


@kernel
def solve_charge(gas: Charge, mass: float, V: float, E: float, half_dV: float, T: float) -> tuple[float, float, int]:
    """One frozen mixture: (p, T, status)."""
    work = half_dV * gas.R / V  # p dV/2 per mass and kelvin
    for _ in range(MOST_PASSES):
        u, cv = charge_u_cv(gas, T)
        d = (E / mass - u - work * T) / (cv + work)
        T = min(max(T + d, T_LOW), T_HIGH)
        if abs(d) < 1e-5 * T:  # quadratic, what is left is below 1e-10
            return mass * gas.R * T / V, T, OK
    return mass * gas.R * T / V, T, NO_SOLUTION


@kernel
def mixture(
    species: ChargeSpecies, cut: BurnedSlice, y_air: float, y_fuel: float, y_burned: float, log_p: float, T: float
) -> tuple[float, float, float, float, float, float]:
    """u, R, u_T, R_T, u_lnp, R_lnp of fresh gas (polynomials) and burned gas (table) at one T and p."""
    u = R = u_T = R_T = u_p = R_p = 0.0
    if y_burned > 0.0:
        u, R, u_T, R_T, u_p, R_p = burned(cut, log_p, T)
        u *= y_burned
        R *= y_burned
        u_T *= y_burned
        R_T *= y_burned
        u_p *= y_burned
        R_p *= y_burned
    row = 0 if T <= 1000.0 else 1
    for k in (AIR, FUEL):
        y = y_air if k == AIR else y_fuel
        if y > 0.0:
            c = species.c[k, row]
            h = c[5] + T * (c[0] + T * (c[1] / 2.0 + T * (c[2] / 3.0 + T * (c[3] / 4.0 + T * (c[4] / 5.0)))))
            cp = c[0] + T * (c[1] + T * (c[2] + T * (c[3] + T * c[4])))
            u += y * (h - species.R[k] * T)
            u_T += y * (cp - species.R[k])
            R += y * species.R[k]
    return u, R, u_T, R_T, u_p, R_p


@kernel
def solve_mixture(
    species: ChargeSpecies,
    cut: BurnedSlice,
    y_air: float,
    y_fuel: float,
    y_burned: float,
    mass: float,
    V: float,
    E: float,
    half_dV: float,
    p: float,
    T: float,
) -> tuple[float, float, int]:
    """One zone of fresh and burned gas: (p, T, status); started at p, T."""
    for _ in range(MOST_PASSES):
        u, R, u_T, R_T, u_p, R_p = mixture(species, cut, y_air, y_fuel, y_burned, np.log(p), T)
        gas_law = mass * R * T - p * V
        energy = mass * u + p * half_dV - E
        a11 = mass * T * R_p - p * V
        a12 = mass * (R + T * R_T)
        a21 = mass * u_p + p * half_dV
        a22 = mass * u_T
        det = a11 * a22 - a12 * a21
        d_log_p = min(max((a12 * energy - a22 * gas_law) / det, -0.5), 0.5)
        dT = min(max((a21 * gas_law - a11 * energy) / det, -500.0), 500.0)
        p *= np.exp(d_log_p)
        T = min(max(T + dT, T_LOW), T_HIGH)
        if abs(d_log_p) < 1e-6 and abs(dT) < 1e-6 * T:
            return p, T, OK
    return p, T, NO_SOLUTION


@kernel
def solve_two_zones(
    gas: Charge,
    cut: BurnedSlice,
    m_u: float,
    m_b: float,
    s_u: float,
    V: float,
    E: float,
    half_dV: float,
    p: float,
    T_u: float,
    T_b: float,
    tolerance: float,
) -> tuple[float, float, float, int]:
    """Two zones at one pressure: (p, T_u, T_b, status); started at p, T_u, T_b.

    gas : Charge of the unburned zone; cut : BurnedSlice; tolerance : float, on ln p and on T / 1000 K.
    Unknown ln p and T_b; T_u follows from s_u, dT_u/dlnp = R_u T_u / cp_u. m_u may be 0.
    """
    for _ in range(MOST_PASSES):
        log_p = np.log(p)
        u_u, cv = 0.0, 700.0
        if m_u > 0.0:
            T_u = charge_T_from_s(gas, s_u, log_p - np.log(P_REFERENCE), T_u)
            u_u, cv = charge_u_cv(gas, T_u)
        u_b, R_b, u_T, R_T, u_p, R_p = burned(cut, log_p, T_b)
        gas_law = m_u * gas.R * T_u + m_b * R_b * T_b - p * V
        energy = m_u * u_u + m_b * u_b + p * half_dV - E
        slope = gas.R * T_u / (cv + gas.R)
        a11 = m_u * gas.R * slope + m_b * T_b * R_p - p * V
        a12 = m_b * (R_b + T_b * R_T)
        a21 = m_u * cv * slope + m_b * u_p + p * half_dV
        a22 = m_b * u_T
        det = a11 * a22 - a12 * a21
        d_log_p = min(max((a12 * energy - a22 * gas_law) / det, -0.5), 0.5)
        dT = min(max((a21 * gas_law - a11 * energy) / det, -500.0), 500.0)
        p *= np.exp(d_log_p)
        T_b = min(max(T_b + dT, T_LOW), T_HIGH)
        T_u += slope * d_log_p
        if abs(d_log_p) < tolerance and abs(dT) < 1e3 * tolerance:
            return p, T_u, T_b, OK
    return p, T_u, T_b, NO_SOLUTION
