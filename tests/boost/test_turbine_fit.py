"""Fit of a turbine map: known numbers recovered, another family with noise; estimates from sizes."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from machines import turbine

from spoolwright.boost.compressor_fit import Reference
from spoolwright.boost.rows import T_AREA, T_BEST_RATIO, T_EFFICIENCY, T_EXPONENT, T_PUMPING
from spoolwright.boost.turbine import turbine_flow
from spoolwright.boost.turbine_fit import (
    CP_RIG,
    TurbinePoints,
    estimate_turbine,
    fit_turbine,
    series_area,
    speed_ratio,
)
from spoolwright.constants import R_AIR

REFERENCE = Reference(873.0, 101.325e3)
DIAMETER = 0.047


def grid() -> tuple[np.ndarray, np.ndarray]:
    speed = np.repeat(np.linspace(5000.0, 12000.0, 5), 6)
    c0 = 0.5 * speed * DIAMETER / np.tile(np.linspace(0.50, 0.85, 6), 5)
    return speed, (1.0 - c0**2 / (2.0 * CP_RIG * REFERENCE.T)) ** (-CP_RIG / R_AIR)


def points_of(row: np.ndarray) -> TurbinePoints:
    """Table that the kernel itself would be measured to have, at the reference inlet state."""
    speed, ratio = grid()
    flow, eta = [], []
    for w, r in zip(speed, ratio, strict=True):
        m, work, _ = turbine_flow(row, w, REFERENCE.p, REFERENCE.T, R_AIR, CP_RIG, REFERENCE.p / r, 300.0)
        flow.append(m)
        eta.append(work / (CP_RIG * REFERENCE.T * (1.0 - r ** (-R_AIR / CP_RIG))))
    return TurbinePoints(speed, ratio, np.array(flow), np.array(eta))


def test_fit__known_numbers_come_back() -> None:
    row = turbine()
    fit = fit_turbine(points_of(row), DIAMETER, REFERENCE)
    for column in (T_AREA, T_PUMPING, T_EXPONENT, T_EFFICIENCY, T_BEST_RATIO):
        assert fit.row[column] == pytest.approx(row[column], rel=1e-4)
    assert max(fit.error) < 1e-5


def test_fit__two_nozzles_in_series_with_noise() -> None:
    """Another family: stator and rotor as nozzles in series behind a rotor head; 2 % noise, stated error 4 % rms."""
    speed, ratio = grid()
    random = np.random.default_rng(5)
    U = 0.5 * speed * DIAMETER
    head = (1.0 + 0.5 * U**2 / (CP_RIG * REFERENCE.T)) ** (CP_RIG / R_AIR)
    across = np.sqrt(np.maximum(ratio / head, 1.001))  # half of the expansion in the stator
    k = CP_RIG / (CP_RIG - R_AIR)
    flux = np.sqrt(2.0 * k / (k - 1.0) * (across ** (-2.0 / k) - across ** (-(k + 1.0) / k)))
    flow = 7e-4 * REFERENCE.p / np.sqrt(R_AIR * REFERENCE.T) * flux
    s = U / np.sqrt(2.0 * CP_RIG * REFERENCE.T * (1.0 - ratio ** (-R_AIR / CP_RIG)))
    eta = 0.72 - 1.3 * (s - 0.67) ** 2 + 0.4 * (s - 0.67) ** 3
    scatter = 1.0 + 0.02 * random.standard_normal((2, len(speed)))
    fit = fit_turbine(TurbinePoints(speed, ratio, flow * scatter[0], eta * scatter[1]), DIAMETER, REFERENCE)
    assert fit.error.flow_rms < 0.04
    assert fit.error.efficiency_rms < 0.04
    assert fit.row[T_BEST_RATIO] == pytest.approx(0.67, abs=0.04)


def test_speed_ratio__definition() -> None:
    points = TurbinePoints(np.array([8000.0]), np.array([2.0]), np.array([0.05]), np.array([0.7]))
    c0 = np.sqrt(2.0 * CP_RIG * REFERENCE.T * (1.0 - 2.0 ** (-R_AIR / CP_RIG)))
    assert speed_ratio(points, DIAMETER, REFERENCE)[0] == pytest.approx(0.5 * 8000.0 * DIAMETER / c0)


def test_series_area__limits() -> None:
    """A wide wheel leaves the throat, a wide throat the wheel; both discharge coefficients alike."""
    wheel = 0.25 * pi * 0.04**2
    assert series_area(1e-6, 0.04) == pytest.approx(0.95e-6, rel=1e-5)
    assert series_area(1.0, 0.04) == pytest.approx(0.95 * 0.55 * wheel, rel=1e-5)
    assert series_area(4e-4, 0.04) < min(4e-4, wheel)


def test_estimate__larger_throat_passes_more() -> None:
    small, large = (estimate_turbine(0.047, 0.041, a, 0.68, 0.66) for a in (5e-4, 7e-4))
    one, two = (turbine_flow(row, 9000.0, 2e5, 1100.0, R_AIR, CP_RIG, 1e5, 300.0)[0] for row in (small, large))
    assert one < two < 1.4 * one
