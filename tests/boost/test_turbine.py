"""Turbine kernels: limits, slopes, energy, conservation of sign, twin entry."""

from __future__ import annotations

import numpy as np
import pytest
from machines import CP_HOT, R_HOT, turbine

from spoolwright.boost.rows import T_BEST_RATIO, T_DIAMETER, T_EFFICIENCY, T_HEAT_LOSS
from spoolwright.boost.turbine import nozzle_area, spouting_energy, turbine_efficiency, turbine_flow
from spoolwright.boost.turbine_fit import entries
from spoolwright.flow.nozzle import nozzle_flux

ROW = turbine()
T3, P4, OUTSIDE = 1100.0, 103e3, 295.0


def flow(ratio: float, omega: float = 10000.0, row: np.ndarray = ROW) -> tuple[float, float, float]:
    return turbine_flow(row, omega, ratio * P4, T3, R_HOT, CP_HOT, P4, OUTSIDE)


def test_flow__none_without_a_pressure_difference() -> None:
    for omega in (0.0, 500.0, 15000.0):
        assert flow(1.0, omega) == (0.0, 0.0, 0.0)
        assert flow(0.8, omega) == (0.0, 0.0, 0.0)


def test_flow__rises_with_pressure_and_falls_with_speed() -> None:
    m = np.array([flow(r)[0] for r in np.linspace(1.0, 4.0, 301)])
    assert np.all(np.diff(m) >= 0.0)
    assert np.all(np.diff(m[m > 0.0]) > 0.0)
    at_speed = [flow(1.6, w)[0] for w in np.linspace(0.0, 16000.0, 33)]
    assert np.all(np.diff(at_speed) < 0.0)


def test_flow__starts_without_a_jump_in_slope() -> None:
    """At rest it starts at ratio 1, in rotation above it; there flow and slope are zero."""
    for omega in (0.0, 10000.0):
        ratio = np.linspace(1.0, 1.6, 60001)
        m = np.array([flow(r, omega)[0] for r in ratio])
        start = int(np.flatnonzero(m > 0.0)[0])
        slope = np.diff(m) / np.diff(ratio)
        assert slope[start] < 0.03 * slope.max()
        assert np.abs(np.diff(slope)).max() < 0.06 * slope.max()


def test_work__is_the_parabola_of_the_speed_ratio() -> None:
    for ratio in (1.2, 1.8, 3.0):
        ideal = spouting_energy(ratio * P4, T3, R_HOT, CP_HOT, P4)
        for omega in (2000.0, 9000.0, 14000.0):
            _, work, _ = flow(ratio, omega)
            s = 0.5 * omega * ROW[T_DIAMETER] / np.sqrt(2.0 * ideal) / ROW[T_BEST_RATIO]
            eta = ROW[T_EFFICIENCY] * (2.0 * s - s * s)
            if work:
                assert work / ideal == pytest.approx(eta, rel=1e-12)
                assert turbine_efficiency(ROW, omega, ratio * P4, T3, R_HOT, CP_HOT, P4) == pytest.approx(eta)


def test_work__greatest_at_the_best_speed_ratio_and_nothing_at_rest() -> None:
    ideal = spouting_energy(2.0 * P4, T3, R_HOT, CP_HOT, P4)
    best = ROW[T_BEST_RATIO] * np.sqrt(2.0 * ideal) * 2.0 / ROW[T_DIAMETER]
    assert flow(2.0, best)[1] == pytest.approx(ROW[T_EFFICIENCY] * ideal, rel=1e-12)
    assert flow(2.0, 0.0)[1] == 0.0


def test_work__overrun_brakes() -> None:
    """A wheel faster than twice the best speed ratio gives power to the gas."""
    row = ROW.copy()
    row[2] = 0.0  # capacity unmoved by speed, so that gas still flows
    assert flow(1.05, 15000.0, row)[1] < 0.0


def test_heat_loss__is_taken_before_the_wheel() -> None:
    row = ROW.copy()
    row[T_HEAT_LOSS] = 0.05
    m, work, heat = flow(1.8, 10000.0, row)
    assert heat == pytest.approx(0.05 * CP_HOT * (T3 - OUTSIDE))
    cold = turbine_flow(ROW, 10000.0, 1.8 * P4, T3 - heat / CP_HOT, R_HOT, CP_HOT, P4, OUTSIDE)
    assert (m, work) == pytest.approx(cold[:2], rel=1e-12)


def test_gas_behind__never_colder_than_the_ideal_expansion() -> None:
    for ratio in np.linspace(1.05, 4.0, 30):
        for omega in np.linspace(0.0, 16000.0, 17):
            _, work, _ = flow(ratio, omega)
            assert work <= spouting_energy(ratio * P4, T3, R_HOT, CP_HOT, P4)


def test_twin_entry__equal_pressures_add_up_to_the_single_one() -> None:
    rows = entries(ROW, 2)
    single = flow(1.7)
    halves = [flow(1.7, row=row) for row in rows]
    assert sum(h[0] for h in halves) == pytest.approx(single[0], rel=1e-14)
    assert sum(h[0] * h[1] for h in halves) == pytest.approx(single[0] * single[1], rel=1e-14)


def test_nozzle_area__passes_the_same_flow() -> None:
    for ratio in (1.1, 1.9, 3.0):
        m, _, _ = flow(ratio)
        area = nozzle_area(m, ratio * P4, T3, R_HOT, CP_HOT, P4)
        assert area * nozzle_flux(ratio * P4, T3, R_HOT, CP_HOT, P4) == pytest.approx(m, rel=1e-14)
    assert nozzle_area(0.0, P4, T3, R_HOT, CP_HOT, P4) == 0.0
