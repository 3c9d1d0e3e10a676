"""Radial turbine: swallowing capacity and power, for one entry.

    X = (p03/p4) / (1 + c U^2 / (2 cp T03))^(gamma/(gamma-1)),  y = 1 - X^-k
    m = A p03 / sqrt(R T03) y^2 / (y + y_soft)^1.5               0 for X <= 1
    eta = eta_m (2 s/s_o - (s/s_o)^2),  s = U/c0                 c0 spouting speed of p03 -> p4
    work per kg = eta c0^2/2 = eta_m (c0 U/s_o - U^2 / (2 s_o^2))

The wheel's own head (c U^2) lowers the capacity with speed. y^2/(y + y_soft)^1.5 is the root of y with its
vertical start taken off, so flow and slope are both zero at X = 1. In the torque form of the last line nothing
is divided by the spouting speed: the work is finite at no pressure difference and negative (windage) in over-run.
The parabola over U/c0 is the textbook shape (Watson and Janota, Turbocharging the Internal Combustion
Engine, 1982); c, k, A, eta_m, s_o come from a fit or from sizes.

A twin-entry turbine is two such rows on one shaft, each with its own share of the area. With equal pressures they add
up to the single one; the mixing loss of unequal admission is left out. Limits: quasi-steady, no flow back.
"""

from __future__ import annotations

from math import exp, log, sqrt

from spoolwright.boost.rows import (
    T_AREA,
    T_BEST_RATIO,
    T_DIAMETER,
    T_EFFICIENCY,
    T_EXPONENT,
    T_HEAT_LOSS,
    T_PUMPING,
    Floats,
)
from spoolwright.flow.nozzle import nozzle_flux
from spoolwright.kernel import kernel

Y_SOFT = 0.0025


@kernel
def spouting_energy(p3: float, T3: float, R: float, cp: float, p4: float) -> float:
    """c0^2/2 [J/kg]: ideal work of the gas from p3, T3 (total) to p4 (static); 0 for p3 <= p4."""
    if p3 <= p4:
        return 0.0
    return cp * T3 * (1.0 - exp(-R / cp * log(p3 / p4)))


@kernel
def swallowing(row: Floats, U: float, ratio: float, T3: float, R: float, cp: float) -> float:
    """Flow over A p03/sqrt(R T03) [-] at expansion ratio p03/p4."""
    z = 1.0 + row[T_PUMPING] * U * U / (2.0 * cp * T3)
    lx = log(ratio) - cp / R * log(z)
    if lx <= 0.0:
        return 0.0
    y = 1.0 - exp(-row[T_EXPONENT] * lx)
    return y * y / ((y + Y_SOFT) * sqrt(y + Y_SOFT))


@kernel
def turbine_flow(
    row: Floats, omega: float, p3: float, T3: float, R: float, cp: float, p4: float, T_outside: float
) -> tuple[float, float, float]:
    """Flow through one entry and what each kilogram gives up.

    row : float array (N_TURBINE,); omega : shaft speed [rad/s]; p3 [Pa], T3 [K], R, cp [J/(kg K)] : gas before
    the housing, total; p4 [Pa] : static behind the wheel; T_outside [K] : air around the housing

    Returns (mdot [kg/s] >= 0, work [J/kg] given to the wheel, negative in over-run, heat [J/kg] lost by the
    housing before the wheel). The gas behind has the enthalpy h3 - work - heat. Bearing loss is not in it.
    """
    if p3 <= p4:
        return 0.0, 0.0, 0.0
    heat = row[T_HEAT_LOSS] * cp * (T3 - T_outside)
    T_wheel = T3 - heat / cp
    U = 0.5 * omega * row[T_DIAMETER]
    flow = swallowing(row, U, p3 / p4, T_wheel, R, cp)
    if flow <= 0.0:
        return 0.0, 0.0, 0.0
    c0 = sqrt(2.0 * spouting_energy(p3, T_wheel, R, cp, p4))
    best = row[T_BEST_RATIO]
    work = row[T_EFFICIENCY] * (c0 * U / best - 0.5 * U * U / (best * best))
    return row[T_AREA] * p3 / sqrt(R * T_wheel) * flow, work, heat


@kernel
def nozzle_area(mdot: float, p3: float, T3: float, R: float, cp: float, p4: float) -> float:
    """Area [m2] of the plain nozzle that passes mdot from the same state: the turbine as a duct end sees it."""
    flux = nozzle_flux(p3, T3, R, cp, p4)
    return mdot / flux if flux > 0.0 else 0.0


@kernel
def turbine_efficiency(row: Floats, omega: float, p3: float, T3: float, R: float, cp: float, p4: float) -> float:
    """Efficiency, total to static [-], over the gas at the wheel; 0 without a pressure difference."""
    c0 = sqrt(2.0 * spouting_energy(p3, T3, R, cp, p4))
    if c0 <= 0.0:
        return 0.0
    s = 0.5 * omega * row[T_DIAMETER] / c0 / row[T_BEST_RATIO]
    return row[T_EFFICIENCY] * s * (2.0 - s)
