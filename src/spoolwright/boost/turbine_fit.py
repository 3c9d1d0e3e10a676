"""Turbine from a measured table, or from the sizes of wheel and housing.

Table: A, c, k of the swallowing curve and eta_m, s_o of the efficiency by least squares over all points
(equations: ``turbine``). Corrected flow and speed mean: at the reference gas state; the rig's gas is taken as hot air.
Sizes: throat of the housing and outlet of the wheel as two nozzles in series; such a turbine is estimated.
"""

from __future__ import annotations

from math import hypot, pi
from typing import NamedTuple

import numpy as np
from scipy.optimize import least_squares

from spoolwright.boost.compressor_fit import Reference
from spoolwright.boost.rows import (
    N_TURBINE,
    T_AREA,
    T_BEST_RATIO,
    T_DIAMETER,
    T_EFFICIENCY,
    T_EXPONENT,
    T_HEAT_LOSS,
    T_PUMPING,
    T_SPEED_LIMIT,
    Floats,
)
from spoolwright.boost.turbine import Y_SOFT
from spoolwright.constants import R_AIR

# Hot air of a gas stand near 870 K; the fit hardly feels it, as both sides of the similarity use it (from memory).
CP_RIG = 1110.0  # J/(kg K)
PUMPING, EXPONENT = 0.9, 0.9  # of a turbine without a table; usual size, from memory
# From sizes, all from memory: discharge of throat and wheel, open share of the wheel's outlet circle between hub and
# blades at their angle, and the curve's area over that of a nozzle with the same choked flow.
DISCHARGE, OPEN_SHARE, CURVE_SHARE = 0.95, 0.55, 0.86
OUTLET_SHARE = 0.87  # wheel outlet over inlet diameter where it is not known


class TurbinePoints(NamedTuple):
    """Measured points at the reference state: speed [rad/s], p03/p4 [-], flow [kg/s] of all entries, efficiency [-]."""

    speed: Floats
    expansion_ratio: Floats
    flow: Floats
    efficiency: Floats


class TurbineError(NamedTuple):
    """Relative errors of the fit over the table's points: rms and greatest of flow and of efficiency."""

    flow_rms: float
    flow_most: float
    efficiency_rms: float
    efficiency_most: float


class TurbineFit(NamedTuple):
    row: Floats
    error: TurbineError


def _flow_shape(points: TurbinePoints, diameter: float, T: float, pumping: float, exponent: float) -> Floats:
    U = 0.5 * points.speed * diameter
    lx = np.log(points.expansion_ratio) - CP_RIG / R_AIR * np.log1p(pumping * U**2 / (2.0 * CP_RIG * T))
    y = np.maximum(1.0 - np.exp(-exponent * lx), 1e-9)
    return y**2 / (y + Y_SOFT) ** 1.5


def fit_turbine(points: TurbinePoints, diameter: float, reference: Reference) -> TurbineFit:
    """Row of a turbine, all entries together, from its table; diameter [m] of the wheel at the inlet."""
    per_area = reference.p / np.sqrt(R_AIR * reference.T)

    def miss(v: Floats) -> Floats:
        return v[0] * per_area * _flow_shape(points, diameter, reference.T, v[1], v[2]) / points.flow - 1.0

    area = float(np.max(points.flow)) / per_area
    found = least_squares(
        miss, [area, PUMPING, EXPONENT], bounds=([0.0, 0.0, 0.15], [np.inf, 2.5, 4.0]), x_scale=[area, 1.0, 1.0]
    )
    s = speed_ratio(points, diameter, reference)

    def off(v: Floats) -> Floats:
        return v[0] * (s / v[1]) * (2.0 - s / v[1]) / points.efficiency - 1.0

    eta = least_squares(
        off, [float(np.max(points.efficiency)), 0.66], bounds=([0.01, 0.3], [1.0, 1.2]), loss="soft_l1", f_scale=0.03
    )
    row = turbine_row(diameter, found.x[0], found.x[1], found.x[2], eta.x[0], eta.x[1])
    flow_error, efficiency_error = miss(found.x), off(eta.x)
    return TurbineFit(
        row,
        TurbineError(
            float(np.sqrt(np.mean(flow_error**2))),
            float(np.abs(flow_error).max()),
            float(np.sqrt(np.mean(efficiency_error**2))),
            float(np.abs(efficiency_error).max()),
        ),
    )


def speed_ratio(points: TurbinePoints, diameter: float, reference: Reference) -> Floats:
    """Blade speed over spouting speed [-] of each point."""
    c0 = np.sqrt(2.0 * CP_RIG * reference.T * (1.0 - np.asarray(points.expansion_ratio) ** (-R_AIR / CP_RIG)))
    return np.asarray(0.5 * points.speed * diameter / c0)


def turbine_row(
    diameter: float, area: float, pumping: float, exponent: float, efficiency: float, best_ratio: float
) -> Floats:
    """One turbine's row; heat loss and speed limit are the caller's to set."""
    row = np.zeros(N_TURBINE)
    row[T_DIAMETER], row[T_AREA], row[T_PUMPING], row[T_EXPONENT] = diameter, area, pumping, exponent
    row[T_EFFICIENCY], row[T_BEST_RATIO] = efficiency, best_ratio
    row[T_HEAT_LOSS] = row[T_SPEED_LIMIT] = 0.0
    return row


def series_area(throat: float, wheel_outlet: float) -> float:
    """Effective nozzle area [m2] of housing throat [m2] and wheel outlet diameter [m] one after the other."""
    wheel = OPEN_SHARE * 0.25 * pi * wheel_outlet**2
    return DISCHARGE * throat * wheel / hypot(throat, wheel)


def estimate_turbine(
    wheel_inlet: float, wheel_outlet: float, throat: float, efficiency: float, best_ratio: float
) -> Floats:
    """Row of a turbine nobody measured.

    Diameters [m]; throat of all entries [m2]; best efficiency [-] and the speed ratio where it lies.
    """
    area = CURVE_SHARE * series_area(throat, wheel_outlet)
    return turbine_row(wheel_inlet, area, PUMPING, EXPONENT, efficiency, best_ratio)


def entries(row: Floats, count: int) -> Floats:
    """Rows (count, N_TURBINE) of a turbine with ``count`` equal entries on one wheel."""
    rows = np.tile(row, (count, 1))
    rows[:, T_AREA] /= count
    return rows
