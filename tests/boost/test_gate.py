"""Wastegate, cooler, blow-off valve: balances, limits, slopes."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from machines import gate

from spoolwright.boost.blow_off import blow_off_area
from spoolwright.boost.build import blow_off_row, cooler_row, effectiveness_over_flow
from spoolwright.boost.cooler import (
    cooler_core_temperature,
    cooler_effectiveness,
    cooler_loss,
    cooler_outlet_temperature,
    cooler_soak,
)
from spoolwright.boost.gate import gate_area, gate_force, gate_lift, lift_at_force
from spoolwright.sums.boost_control import opening_boost
from spoolwright.sums.boost_springs import Exhaust, Signal

OUT = 98e3


def test_gate__shut_below_the_spring_and_at_its_stop_far_above() -> None:
    row = gate()
    assert gate_lift(row, OUT, OUT, OUT, OUT, OUT) == 0.0
    assert gate_lift(row, OUT + 40e3, OUT, OUT, OUT + 20e3, OUT) == 0.0
    assert gate_lift(row, OUT + 200e3, OUT, OUT, OUT + 200e3, OUT) == pytest.approx(0.008)


@pytest.mark.parametrize(("pushes", "side"), [("open", 1.0), ("shut", -1.0), ("neither", 0.0)])
def test_gate__forces_balance_in_between(pushes: str, side: float) -> None:
    row = gate(exhaust_pushes=pushes, preload=140.0, max_lift=0.02)
    boost, close, drive, back = 72e3, 5e3, 60e3, 8e3
    x = gate_lift(row, OUT + boost, OUT + close, OUT, OUT + drive, OUT + back)
    assert 0.0 < x < 0.02
    pressed = pi / 4.0 * (0.060**2 * (boost - close) + side * 0.028**2 * (drive - back))
    assert pressed == pytest.approx(140.0 + 8000.0 * x, rel=1e-12)


def test_flap__lever_counts_for_force_and_travel() -> None:
    row = gate(lever=0.8, exhaust_pushes="open")
    force = gate_force(row, OUT + 50e3, OUT, OUT, OUT + 90e3, OUT)
    assert force == pytest.approx(pi / 4.0 * (0.060**2 * 50e3 + 0.8 * 0.028**2 * 90e3) - 170.0)
    assert lift_at_force(row, 10.0) == pytest.approx(0.8 * 10.0 / 8000.0)


def test_bleed__lets_off_its_share_and_a_lost_hose_all() -> None:
    with_bleed = gate_force(gate(bleed=0.25), OUT + 80e3, OUT, OUT, OUT, OUT)
    assert with_bleed == pytest.approx(gate_force(gate(), OUT + 60e3, OUT, OUT, OUT, OUT))
    hose_off = gate_force(gate(bleed=1.0), OUT + 300e3, OUT, OUT, OUT + 100e3, OUT)
    assert hose_off == pytest.approx(pi / 4.0 * 0.028**2 * 100e3 - 170.0)


def test_gate_area__curtain_at_first_port_in_the_end() -> None:
    row = gate(discharge=0.7, count=2)
    assert gate_area(row, 0.0) == 0.0
    assert gate_area(row, 1e-5) == pytest.approx(2 * 0.7 * pi * 0.026 * 1e-5, rel=1e-4)
    assert gate_area(row, 1.0) == pytest.approx(2 * 0.7 * pi / 4.0 * 0.026**2, rel=1e-3)
    area = np.array([gate_area(row, x) for x in np.linspace(0.0, 0.02, 200)])
    assert np.all(np.diff(area) > 0.0)
    assert np.all(np.diff(area, n=2) < 0.0)


COOLER = cooler_row([0.02, 0.1, 0.2], [0.92, 0.80, 0.69], 6e3, 0.2, 2.0, 5000.0)


def test_cooler__goes_through_its_table_and_holds_outside() -> None:
    for flow, share in ((0.0, 0.92), (0.02, 0.92), (0.1, 0.80), (0.2, 0.69), (0.5, 0.69)):
        assert cooler_effectiveness(COOLER, flow) == pytest.approx(share, abs=2e-3)
    assert cooler_effectiveness(COOLER, -0.1) == cooler_effectiveness(COOLER, 0.1)


def test_cooler__effectiveness_has_one_slope() -> None:
    flow = np.linspace(0.0, 0.25, 25001)
    eps = np.array([cooler_effectiveness(COOLER, m) for m in flow])
    slope = np.diff(eps) / np.diff(flow)
    assert np.abs(np.diff(slope)).max() < 0.02 * np.abs(slope).max()
    assert np.all(slope <= 1e-9)


def test_cooler__loss_follows_flow_squared_over_density() -> None:
    assert cooler_loss(COOLER, 0.2, 2.0) == pytest.approx(6e3)
    assert cooler_loss(COOLER, 0.1, 1.0) == pytest.approx(3e3)
    assert cooler_loss(COOLER, -0.1, 1.0) == pytest.approx(-3e3)


def test_soak__core_at_rest_gives_the_steady_effectiveness() -> None:
    for flow in (0.05, 0.1, 0.2):
        core = cooler_core_temperature(COOLER, flow, 400.0, 300.0)
        out, to_core, to_coolant = cooler_soak(COOLER, flow, 400.0, core, 300.0, 1005.0)
        assert out == pytest.approx(cooler_outlet_temperature(COOLER, flow, 400.0, 300.0), rel=1e-12)
        assert to_core == pytest.approx(to_coolant, rel=1e-9)
        assert 300.0 < core < 400.0


def test_soak__cold_core_cools_more_hot_core_warms() -> None:
    steady = cooler_outlet_temperature(COOLER, 0.1, 400.0, 300.0)
    assert cooler_soak(COOLER, 0.1, 400.0, 300.0, 300.0, 1005.0)[0] < steady
    assert cooler_soak(COOLER, 0.1, 310.0, 380.0, 300.0, 1005.0)[0] > 310.0


def test_soak__core_at_a_standing_charge_cools_to_the_coolant() -> None:
    _, to_core, to_coolant = cooler_soak(COOLER, 0.0, 400.0, 350.0, 300.0, 1005.0)
    assert to_core == 0.0
    assert to_coolant > 0.0


def test_soak__energy_closes_from_cold_to_steady() -> None:
    """Charge gives what core and coolant take, and the core ends at its steady temperature."""
    core, flow, dt, given, taken = 300.0, 0.15, 0.05, 0.0, 0.0
    for _ in range(4000):
        _, to_core, to_coolant = cooler_soak(COOLER, flow, 400.0, core, 300.0, 1005.0)
        core += (to_core - to_coolant) * dt / 5000.0
        given += to_core * dt
        taken += to_coolant * dt
    assert core == pytest.approx(cooler_core_temperature(COOLER, flow, 400.0, 300.0), abs=1e-6)
    assert given - taken == pytest.approx(5000.0 * (core - 300.0), rel=1e-9)


def test_effectiveness_of_one_value__meets_it_and_falls_with_flow() -> None:
    flow, share = effectiveness_over_flow(0.68, 0.15)
    assert np.interp(0.15, flow, share) == pytest.approx(0.68)
    assert np.all(np.diff(share) < 0.0)
    # Twice the flow: NTU by 2^-0.2.
    assert share[-1] == pytest.approx(1.0 - 0.32 ** (2.0**-0.2))


def test_blow_off__shut_below_open_above_without_a_kink() -> None:
    valve = blow_off_row(40e3, 0.025)
    assert blow_off_area(valve, OUT + 40e3, OUT) == 0.0
    assert blow_off_area(valve, OUT, OUT + 100e3) == 0.0
    assert blow_off_area(valve, OUT + 90e3, OUT) == pytest.approx(0.6 * pi / 4.0 * 0.025**2)
    p = np.linspace(30e3, 70e3, 4001)
    area = np.array([blow_off_area(valve, OUT + q, OUT) for q in p])
    slope = np.diff(area)
    assert np.abs(np.diff(slope)).max() < 0.01 * slope.max()


@pytest.mark.parametrize("pushes", ["open", "shut"])
def test_gate__same_balance_as_the_sums(pushes: str) -> None:
    """The sum asks for the boost, the kernel for the lift; drive pressure 1.4 times boost."""
    force, ratio, back = 170.0, 1.4, 6e3
    boost = opening_boost(
        force + 8000.0 * 0.003,
        pi / 4 * 0.06**2,
        pi / 4 * 0.028**2,
        Exhaust(ratio, None, pushes, back),
        Signal(spring_side_share=0.0, spring_side_pressure=4e3),
    )
    row = gate(exhaust_pushes=pushes)
    lift = gate_lift(row, OUT + boost, OUT + 4e3, OUT, OUT + ratio * boost, OUT + back)
    assert lift == pytest.approx(0.003, rel=1e-9)
