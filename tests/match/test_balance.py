"""The steady balance: closed by its own machines, told again by the sums of the trade, and its trends."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from matching import NO_COOLER, OUTSIDE, P2, T_OUTSIDE, Rig, demand_row, lossy_way, plain_way, wren_own, wren_turbo

from spoolwright.boost import balance as b
from spoolwright.boost import spring_balance as s
from spoolwright.boost.compressor import compressor_head
from spoolwright.boost.gate import gate_area
from spoolwright.boost.rows import (
    G_DIAPHRAGM,
    G_MAX_LIFT,
    G_PORT,
    G_PRELOAD,
    G_RATE,
    T_HEAT_LOSS,
    Floats,
)
from spoolwright.boost.turbine import turbine_efficiency, turbine_flow
from spoolwright.match.candidates import scaled
from spoolwright.sums.boost_compressor import compressor_outlet
from spoolwright.sums.boost_control import wastegate_lift
from spoolwright.sums.boost_gas import PressureRatio
from spoolwright.sums.boost_springs import Diaphragm, Exhaust, Signal, Spring
from spoolwright.sums.boost_turbine import turbine_balance

RPM = 4000.0


@pytest.fixture
def rig() -> Rig:
    return Rig(lossy_way(), wren_own())


def on_spring(rig: Rig, q: Floats, gate: Floats) -> tuple[b.State, float]:
    c = rig.candidate.compressor
    return s.on_spring(q, rig.way, c.sizes, c.lines, rig.candidate.turbine, NO_COOLER, gate, 4e5, 12)


def sprung(preload: float, **at: float) -> Floats:
    gate = wren_turbo().gate
    assert gate is not None
    gate = gate.copy()
    gate[G_PRELOAD] = preload
    for column, value in at.items():
        gate[{"port": G_PORT, "rate": G_RATE, "lift": G_MAX_LIFT}[column]] = value
    return gate


def test_held__machines_at_its_state_give_its_flows_and_powers(rig: Rig) -> None:
    q = demand_row(RPM)
    st, way, c = rig.held(q), rig.way, rig.candidate.compressor
    assert st.status == b.HELD
    p_out, work, _ = compressor_head(c.sizes, c.lines, st.omega, st.air, st.p1, st.T1, way[b.Y_R], way[b.Y_CP])
    assert p_out == pytest.approx(st.p_out, rel=1e-6)
    assert st.air * work == pytest.approx(st.power, rel=1e-6)
    flow, given, _ = turbine_flow(
        rig.candidate.turbine[0], st.omega, st.p3, st.T3, way[b.Y_R3], way[b.Y_CP3], st.p4, T_OUTSIDE
    )
    assert way[b.Y_SHAFT] * flow * given == pytest.approx(st.power, rel=1e-5)
    assert st.turbine + st.bypass == pytest.approx(st.air * (1.0 + q[b.Q_FUEL]), rel=1e-9)
    assert st.air == pytest.approx(b.air_demand(q, P2, st.T2, st.p3), rel=1e-5)


def test_losses__by_hand(rig: Rig) -> None:
    """dp = K m^2 R T / p of the inlet; the charge pipe's is added; its wall brings 15 % of the way to 333 K."""
    st, way = rig.held(demand_row(RPM)), rig.way
    assert OUTSIDE - st.p1 == pytest.approx(2.0e5 * st.air**2 * 287.05287 * T_OUTSIDE / OUTSIDE, rel=1e-9)
    assert st.p_out - P2 == pytest.approx(3.0e5 * st.air**2 * 287.05287 * st.T2 / P2, rel=1e-5)
    brought = st.T_out + 0.15 * (333.0 - st.T_out)
    assert brought == pytest.approx(st.T2, abs=1e-3)
    density = st.p4 / (way[b.Y_R3] * (st.T3 - 100.0))
    assert st.p4 - OUTSIDE == pytest.approx(2.5e5 * st.turbine**2 / density, rel=1e-4)


def test_held__compressor_and_turbine_by_the_sums(rig: Rig) -> None:
    """Outlet temperature from the line's efficiency, expansion from the power balance (closed forms of the sums)."""
    st, way = rig.held(demand_row(RPM)), rig.way
    ideal = T_OUTSIDE * ((st.p_out / st.p1) ** (287.05287 / 1004.685) - 1.0)
    eta = st.air * way[b.Y_CP] * ideal / st.power
    assert 0.5 < eta < 0.8
    out = compressor_outlet(T_OUTSIDE, PressureRatio(None, st.p1, st.p_out), eta, 1004.685 / (1004.685 - 287.05287))
    assert st.T_out == pytest.approx(out["outlet_temperature"], abs=0.01)
    turbine = rig.candidate.turbine[0]
    T_wheel = st.T3 - turbine[T_HEAT_LOSS] * (st.T3 - T_OUTSIDE)
    eta_t = turbine_efficiency(turbine, st.omega, st.p3, T_wheel, 290.0, 1240.0, st.p4)
    found = turbine_balance(st.power, st.turbine, T_wheel, eta_t, 0.95, 1240.0 / 950.0, 1240.0, 0.0, None)
    assert st.p3 / st.p4 == pytest.approx(found["expansion_ratio"], rel=1e-4)


def test_threshold__shut_gate_meets_held_boost(rig: Rig) -> None:
    """At the speed where no gas is over, the shut gate comes to rest at just the held pressure."""
    low, high = 800.0, 4000.0
    for _ in range(40):
        rpm = 0.5 * (low + high)
        low, high = (low, rpm) if rig.held(demand_row(rpm)).bypass > 0.0 else (rpm, high)
    shut = rig.shut(demand_row(high))
    assert shut.status == b.HELD
    assert shut.p2 == pytest.approx(P2, rel=2e-3)
    assert shut.p3 == pytest.approx(rig.held(demand_row(high)).p3, rel=2e-3)


def test_spring__rests_where_the_sum_puts_it(rig: Rig) -> None:
    """The boost the sum gives for this lift, drive pressure and spring is the one found (signal: compressor outlet)."""
    gate = sprung(120.0)
    st, lift = on_spring(rig, demand_row(RPM), gate)
    assert 0.0 < lift < gate[G_MAX_LIFT]
    told = wastegate_lift(
        Spring(120.0, None, None, None, None, shim=0.0),
        float(gate[G_RATE]),
        lift,
        Diaphragm(None, float(gate[G_DIAPHRAGM])),
        0.030,
        Exhaust(None, st.p3 - OUTSIDE, "open", back_pressure=0.0),
        Signal(0.0, 0.0),
    )
    assert st.p_out - OUTSIDE == pytest.approx(told["opening_boost"], rel=1e-3)
    flux = b.gate_flow(1.0, rig.way, st.p3, st.T3, st.p4)
    assert gate_area(gate, lift) * flux == pytest.approx(st.bypass, rel=5e-3)


def test_spring__stiffer_holds_more_by_force_over_area_less_exhaust(rig: Rig) -> None:
    """30 N more on 23.8 cm2 is 12.6 kPa without exhaust; drive pressure on the valve (0.30 of the diaphragm) and its
    rise take part of it."""
    q = demand_row(RPM)
    soft, hard = on_spring(rig, q, sprung(100.0))[0], on_spring(rig, q, sprung(130.0))[0]
    gate = sprung(100.0)
    plain = 30.0 / float(gate[G_DIAPHRAGM])
    assert 0.5 * plain < hard.p_out - soft.p_out < plain
    exhaust = (hard.p3 - soft.p3) * 0.25 * pi * 0.030**2 / float(gate[G_DIAPHRAGM])
    lift = float(gate[G_RATE] / gate[G_DIAPHRAGM])
    moved = on_spring(rig, q, sprung(130.0))[1] - on_spring(rig, q, sprung(100.0))[1]
    assert hard.p_out - soft.p_out == pytest.approx(plain - exhaust + lift * moved, rel=5e-3)


def test_gate__too_small_creeps_and_larger_creeps_less(rig: Rig) -> None:
    boost = {}
    for port in (0.016, 0.020, 0.026):
        gate = sprung(100.0, port=port)
        low, high = (on_spring(rig, demand_row(rpm), gate) for rpm in (3000.0, 6000.0))
        boost[port] = high[0].p2 - low[0].p2
        if port == 0.016:
            assert high[1] == pytest.approx(gate[G_MAX_LIFT])
            assert gate_area(gate, high[1]) * b.gate_flow(1.0, rig.way, high[0].p3, high[0].T3, high[0].p4) == (
                pytest.approx(high[0].bypass, rel=1e-3)
            )
    assert boost[0.016] > 1.5 * boost[0.020] > 1.5 * boost[0.026] > 0.0


def test_housing__smaller_spools_earlier_and_drives_harder() -> None:
    base = wren_own()
    small, large = (Rig(lossy_way(), scaled(base, base.wheel, k * base.turbine_area)) for k in (0.8, 1.3))
    q = demand_row(1600.0)
    assert small.held(q).bypass > large.held(q).bypass
    q = demand_row(RPM)
    assert small.held(q).p3 > large.held(q).p3
    assert small.held(q).omega == pytest.approx(large.held(q).omega, rel=0.02)  # the compressor's affair


def test_altitude__same_gauge_boost_wants_more_shaft_speed() -> None:
    low, high = Rig(lossy_way(), wren_own()), Rig(lossy_way(p=83.5e3), wren_own())
    down, up = low.held(demand_row(RPM), OUTSIDE + 50e3), high.held(demand_row(RPM), 83.5e3 + 50e3)
    assert up.omega > 1.04 * down.omega
    assert up.p_out / up.p1 > down.p_out / down.p1


def test_two_turbos__of_half_the_flow_are_one_of_the_whole() -> None:
    """Similar machines: two wheels of 1/sqrt 2 with half the housing each stand where the one stands, sqrt 2 faster."""
    base = wren_own()
    one = Rig(plain_way(), base)
    two = Rig(plain_way(2.0), scaled(base, base.wheel / sqrt(2.0), base.turbine_area / 2.0))
    q = demand_row(RPM)
    a, c = one.held(q), two.held(q)
    for name in ("air", "T2", "p3", "T3", "turbine", "bypass"):
        assert getattr(c, name) == pytest.approx(getattr(a, name), rel=1e-6), name
    assert c.omega == pytest.approx(sqrt(2.0) * a.omega, rel=1e-6)
    assert 2.0 * c.power == pytest.approx(a.power, rel=1e-6)
    low = demand_row(1200.0)
    assert two.shut(low).p2 == pytest.approx(one.shut(low).p2, rel=1e-5)


def test_fuel_before_the_compressor__is_work_too() -> None:
    q = demand_row(RPM)
    dry, wet = plain_way(), plain_way()
    wet[b.Y_PREMIXED] = 1.0
    a, c = Rig(dry, wren_own()).held(q), Rig(wet, wren_own()).held(q)
    assert c.power / a.power == pytest.approx(1.0 + q[b.Q_FUEL], abs=0.03)


def test_too_much__says_which_machine_fails(rig: Rig) -> None:
    assert rig.held(demand_row(RPM), 9e5).status == b.NO_SPEED
    base = wren_own()
    strangled = Rig(lossy_way(), scaled(base, base.wheel, 0.002 * base.turbine_area))
    assert strangled.held(demand_row(RPM)).status == b.NO_POWER
    assert rig.shut(demand_row(5000.0), p2_most=1.3e5).status == b.BEYOND
    large = Rig(lossy_way(), scaled(base, base.wheel, 30.0 * base.turbine_area))
    assert large.shut(demand_row(900.0)).status == b.TOO_LITTLE
    assert np.isinf(s.gate_opening(sprung(100.0), 1.0))
