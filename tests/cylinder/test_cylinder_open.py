"""The open part: balances, no jump at the valves, burning through the opening."""

from __future__ import annotations

import numpy as np
import pytest
from cylinder_setup import CLOSING, OPENING, chamber, cylinders, fuel_energy, omega

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.changes import close_valves, merge_zones, open_valves, set_one_zone, start_tally
from spoolwright.cylinder.closed import NO_TRACE, closed_cycle, trap
from spoolwright.cylinder.evaporation import charge_cooling, liquid_deficit
from spoolwright.cylinder.outlet import energy_residual, isentropic_exponent, outlet_state
from spoolwright.cylinder.rows import Cylinders
from spoolwright.cylinder.steps import advance_closed, advance_open
from spoolwright.gas.unburned import charge, charge_gamma, charge_h_cp

OMEGA = omega(3000.0)


def opened(spark: float = -25.0, phi: float = 1.1) -> Cylinders:
    """A cylinder that has burned and whose exhaust valve begins to open."""
    c = cylinders()
    trap(c, 0, CLOSING, 1.05e5, 355.0, phi, 0.06)
    assert closed_cycle(c, 0, OPENING, OMEGA, spark, NO_TRACE).status == r.OK
    return c


def test_opening__no_jump_after_a_complete_burn() -> None:
    c = opened()
    p, T = c.state[0, r.P], c.state[0, r.T_BURNED]
    assert open_valves(c, 0) == r.OK
    assert c.state[0, r.MODE] == r.ONE_ZONE
    assert c.state[0, r.P] == pytest.approx(p, rel=1e-9)
    assert c.state[0, r.T_UNBURNED] == pytest.approx(T, rel=1e-9)
    assert c.state[0, r.Y_RESIDUAL] == 1.0


def test_closing__temperature_moves_by_less_than_a_tenth_of_a_kelvin() -> None:
    """Residual changes from the table to its frozen polynomial; energy and mass do not change."""
    for residual in (0.02, 0.08, 0.2):
        c = cylinders()
        afr = c.design[0, r.AIR_FUEL_STOICHIOMETRIC]
        fuel = (1.0 - residual) * 1.1 / (1.1 + afr)
        assert set_one_zone(c, 0, CLOSING, 1.05e5, 360.0, 1.0 - residual - fuel, fuel, residual, 1.1) == r.OK
        energy = c.state[0, r.ENERGY]
        assert close_valves(c, 0) == r.OK
        assert c.state[0, r.ENERGY] == energy
        assert abs(c.state[0, r.T_UNBURNED] - 360.0) < 0.1
        assert c.state[0, r.PHI] == pytest.approx(1.1, rel=1e-12)


def blow_down(c: Cylinders, degrees: float, step: float, rate: float = 0.03) -> tuple[float, float]:
    """Let ``rate`` [kg/s] out for so many degrees; mass and enthalpy that left."""
    dt = step * np.pi / 180.0 / OMEGA
    left = energy = 0.0
    for _ in range(round(degrees / step)):
        _, _, _, _, h, y_fuel, y_burned = outlet_state(c, 0, 0.5 * dt)
        dm = rate * dt
        status = advance_open(c, 0, step, OMEGA, -dm * (1.0 - y_fuel - y_burned), -dm * y_fuel, -dm * y_burned, -dm * h)
        assert status == r.OK
        left += dm
        energy += dm * h
    return left, energy


def test_open_part__mass_and_energy_closed() -> None:
    c = opened()
    open_valves(c, 0)
    start_tally(c, 0)
    mass, energy = c.state[0, r.MASS], c.state[0, r.ENERGY]
    left, enthalpy = blow_down(c, 60.0, 0.25)
    s = c.state[0]
    assert s[r.MASS] == pytest.approx(mass - left, rel=1e-13)
    heat = s[r.Q_HEAD] + s[r.Q_PISTON] + s[r.Q_LINER]
    assert abs(energy - enthalpy - heat - s[r.WORK] - s[r.ENERGY]) < 1e-9 * abs(energy)
    assert abs(energy_residual(c, 0)) < 1e-9 * abs(energy)
    assert heat > 0.0


def test_open_part__adiabatic_outflow_leaves_the_entropy_alone() -> None:
    """p / rho^gamma of what stays is constant when gas leaves without heat (closed form, frozen air)."""
    c = cylinders(model="none", heat_multiplier=0.0)
    assert set_one_zone(c, 0, 120.0, 5e5, 400.0, 1.0, 0.0, 0.0, 1.0) == r.OK
    s = c.state[0]
    p, T = s[r.P], s[r.T_UNBURNED]
    gamma = charge_gamma(charge(c.species, 1.0, 0.0, 0.0), 375.0)
    blow_down(c, 40.0, 0.05, rate=0.035)
    assert s[r.P] < 0.8 * p
    assert s[r.T_UNBURNED] / T == pytest.approx((s[r.P] / p) ** (1.0 - 1.0 / gamma), rel=1e-3)


def test_filling__an_evacuated_cylinder_is_heated_by_gamma() -> None:
    """Filling from a reservoir at rest: T rises towards gamma times the reservoir's (textbook limit)."""
    c = cylinders([chamber(7.8)], model="none", heat_multiplier=0.0)
    assert set_one_zone(c, 0, 179.0, 0.02e5, 300.0, 1.0, 0.0, 0.0, 1.0) == r.OK
    air = charge(c.species, 1.0, 0.0, 0.0)
    h, cp = charge_h_cp(air, 300.0)
    for _ in range(400):
        assert advance_open(c, 0, 0.005, OMEGA, 2e-6, 0.0, 0.0, 2e-6 * h) == r.OK
    ratio = c.state[0, r.T_UNBURNED] / 300.0
    assert 0.97 * cp / (cp - air.R) < ratio < cp / (cp - air.R)


def test_flame__goes_on_burning_through_the_opening() -> None:
    c = opened(spark=45.0)
    s = c.state[0]
    assert 0.05 < s[r.BURNED_MASS] / s[r.MASS] < 0.95
    p, T_u, T_b = s[r.P], s[r.T_UNBURNED], s[r.T_BURNED]
    assert open_valves(c, 0) == r.OK
    assert (s[r.P], s[r.T_UNBURNED], s[r.T_BURNED]) == (p, T_u, T_b)
    unburned = s[r.MASS] - s[r.BURNED_MASS]
    share = s[r.BURNED_MASS] / s[r.MASS]
    blow_down(c, 20.0, 0.25)
    assert s[r.BURNED_MASS] / s[r.MASS] > share + 0.02
    assert s[r.MASS] - s[r.BURNED_MASS] < unburned
    energy, mass = s[r.ENERGY], s[r.MASS]
    assert merge_zones(c, 0) == r.OK
    assert s[r.MODE] == r.ONE_ZONE
    assert (s[r.ENERGY], s[r.MASS]) == (energy, mass)
    assert 0.0 < s[r.Y_FUEL] < 0.07
    assert abs(energy_residual(c, 0)) < 1e-9 * abs(energy)


def test_outflow_with_a_flame__takes_both_zones_in_proportion() -> None:
    """With burning and heat switched off the shares stay and each zone only expands: its entropy is untouched."""
    c = opened(spark=45.0)
    open_valves(c, 0)
    s = c.state[0]
    c.design[0, r.BURN_MODEL], c.design[0, r.HEAT_MULTIPLIER] = r.NO_BURN, 0.0
    share, entropy, p, T_u = s[r.BURNED_MASS] / s[r.MASS], s[r.S_UNBURNED], s[r.P], s[r.T_UNBURNED]
    front = s[r.ENTRAINED_MASS] / s[r.MASS]
    mass = s[r.MASS]
    left, _ = blow_down(c, 15.0, 0.25)
    assert s[r.MASS] == pytest.approx(mass - left, rel=1e-13)
    assert s[r.MASS] < 0.96 * mass
    assert s[r.BURNED_MASS] / s[r.MASS] == pytest.approx(share, rel=1e-12)
    assert s[r.ENTRAINED_MASS] / s[r.MASS] == pytest.approx(front, rel=1e-12)
    assert s[r.S_UNBURNED] == entropy
    gamma = 1.34  # of the unburned mixture near 700 K, within 0.02
    assert s[r.T_UNBURNED] / T_u == pytest.approx((s[r.P] / p) ** (1.0 - 1.0 / gamma), rel=0.02)


def test_outlet__enthalpy_and_exponent_of_frozen_air() -> None:
    c = cylinders(model="none", heat_multiplier=0.0)
    assert set_one_zone(c, 0, 150.0, 2e5, 500.0, 1.0, 0.0, 0.0, 1.0) == r.OK
    air = charge(c.species, 1.0, 0.0, 0.0)
    h, cp = charge_h_cp(air, 500.0)
    p, T, R, cp_out, h_out, y_fuel, y_burned = outlet_state(c, 0, 0.0)
    assert (p, T, y_fuel, y_burned) == pytest.approx((2e5, 500.0, 0.0, 0.0))
    assert (R, cp_out, h_out) == pytest.approx((air.R, cp, h), rel=1e-9)
    assert isentropic_exponent(c, 0, 1.0, 0.0, 500.0) == pytest.approx(cp / (cp - air.R), rel=1e-9)


def test_closed_part__two_cylinders_do_not_touch_each_other() -> None:
    one, two = cylinders(), cylinders([chamber(), chamber()])
    for c, k in ((one, 0), (two, 1)):
        trap(c, k, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
        assert advance_closed(c, k, 240.0, OMEGA) == r.OK
    assert np.array_equal(one.state[0], two.state[1])
    assert np.all(two.state[0] == 0.0)


def test_closed_part__cutting_the_span_changes_little() -> None:
    """Advanced in the uneven pieces of a flow solver the cycle stays the same within the step's own error."""
    whole, pieces = cylinders(), cylinders()
    rng = np.random.default_rng(3)
    cuts = np.diff(np.concatenate([[CLOSING], np.sort(rng.uniform(CLOSING, OPENING, 700)), [OPENING]]))
    for c, spans in ((whole, [240.0]), (pieces, cuts)):
        trap(c, 0, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
        for span in spans:
            assert advance_closed(c, 0, float(span), OMEGA) == r.OK
    assert pieces.state[0, r.WORK_CLOSED] == pytest.approx(whole.state[0, r.WORK_CLOSED], rel=5e-4)
    assert pieces.state[0, r.P_MAX] == pytest.approx(whole.state[0, r.P_MAX], rel=3e-3)
    assert pieces.state[0, r.KNOCK_85] == pytest.approx(whole.state[0, r.KNOCK_85], rel=3e-3)


def test_phi__of_cylinder_counts_residual_as_burned_mixture() -> None:
    """Fresh at 1.1 with residual of 1.1 is 1.1; with residual of another mixture it lies between."""
    c = cylinders()
    trap(c, 0, CLOSING, 1.05e5, 355.0, 1.1, 0.1)
    assert c.state[0, r.PHI] == pytest.approx(1.1, rel=1e-12)
    assert c.state[0, r.PHI_FRESH] == pytest.approx(1.1, rel=1e-12)
    afr = c.design[0, r.AIR_FUEL_STOICHIOMETRIC]
    fuel = 0.9 * 1.1 / (1.1 + afr)
    set_one_zone(c, 0, CLOSING, 1.05e5, 355.0, 0.9 - fuel, fuel, 0.1, 0.8)
    close_valves(c, 0)
    assert 1.05 < c.state[0, r.PHI] < 1.1
    assert fuel_energy(c) > 0.0


def test_evaporation__cooling_by_hand() -> None:
    """Methanol at stoichiometric, all evaporated: 1/7.46 x 1.169 MJ/kg / 1.1 kJ/(kg K) = 142 K."""
    assert charge_cooling(1.0 / 7.46, 1.0, 1.169e6, 1100.0) == pytest.approx(142.5, abs=0.5)
    assert liquid_deficit(2e-6, 0.25, 350e3) == pytest.approx(0.75 * 0.7)
