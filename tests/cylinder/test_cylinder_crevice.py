"""The crevice: mass by the ideal gas law at wall temperature, energy kept, pressure and work lost."""

from __future__ import annotations

import pytest
from cylinder_setup import CLOSING, chamber, cylinders, fuel_energy, omega, run

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.changes import open_valves, set_one_zone
from spoolwright.cylinder.closed import trap
from spoolwright.cylinder.crevice import WORTH_MOVING, held_energy
from spoolwright.cylinder.records import note_burn
from spoolwright.cylinder.rows import Cylinders
from spoolwright.cylinder.steps import advance_closed, advance_open
from spoolwright.errors import BadInput

CREVICE = 0.5e-6  # m3
R_GAS = 8.31446  # J/(mol K)


def held(c: Cylinders) -> float:
    s = c.state[0]
    return float(s[r.CREVICE_AIR] + s[r.CREVICE_FUEL] + s[r.CREVICE_BURNED])


def motored(crevice: float, step: float) -> Cylinders:
    c = cylinders([chamber(crevice=crevice)], model="none", step=step)
    trap(c, 0, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
    return c


def test_filling__takes_what_an_isothermal_volume_takes() -> None:
    """By hand: dm = dp V / (R T), T the mean of crown and liner (440 K), R of air, fuel and a little burned gas."""
    c = motored(CREVICE, 0.25)
    s = c.state[0]
    for _ in range(4):
        assert advance_closed(c, 0, 0.25, omega(3000.0)) == r.OK
    first, p_first = held(c), float(s[r.P])
    R = float(c.charge_R[0])
    assert abs(R_GAS / R - 0.0297) < 0.001  # kg/mol: air 0.02897 with one part in 14 of petrol
    while s[r.THETA] < -1.0:
        assert advance_closed(c, 0, 0.25, omega(3000.0)) == r.OK
    dm = (s[r.P] - p_first) * CREVICE / (R * 0.5 * (470.0 + 410.0))
    assert s[r.P] > 9e5
    assert held(c) - first == pytest.approx(dm, rel=2e-4)


@pytest.mark.parametrize("model", ["none", "flame", "wiebe", "instant"])
@pytest.mark.parametrize("crevice", [0.0, 0.3e-6, 1.0e-6, 12.0e-6])
def test_mass_and_energy__stay_the_same_in_sum(model: str, crevice: float) -> None:
    c = cylinders([chamber(crevice=crevice)], model=model)
    trap(c, 0, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
    before = held(c) + float(c.state[0, r.MASS])
    o = run(c, 3000.0, -20.0)
    assert o.status == r.OK
    assert held(c) + float(c.state[0, r.MASS]) == pytest.approx(before, rel=1e-13)
    assert abs(o.closure) < 1e-10 * fuel_energy(c)


def test_atoms__are_kept_through_the_burn() -> None:
    """Fuel bound in fresh and burned gas together, in cylinder and crevice: kept from closing to opening."""
    c = cylinders([chamber(crevice=1.0e-6)])
    trap(c, 0, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
    s, afr = c.state[0], float(c.design[0, r.AIR_FUEL_STOICHIOMETRIC])
    bound = float(s[r.PHI]) / (afr + float(s[r.PHI]))

    def fuel() -> float:
        m_u = s[r.MASS] - s[r.BURNED_MASS]
        fresh = m_u * s[r.Y_FUEL] + s[r.CREVICE_FUEL]
        return float(fresh + bound * (m_u * s[r.Y_RESIDUAL] + s[r.BURNED_MASS] + s[r.CREVICE_BURNED]))

    before = fuel()
    run(c, 3000.0, -20.0)
    assert s[r.BURNED_MASS] == s[r.MASS]
    assert fuel() == pytest.approx(before, rel=1e-9)


def test_fired__loses_pressure_and_work_by_what_it_hides() -> None:
    """0.5 cm3 at 38 bar and 440 K hides p V / (R T) = 15 mg of the charge's 0.5 g; the peak falls about as much."""
    plain, tight = (run(cylinders([chamber(crevice=v)]), 3000.0, -25.0) for v in (0.0, CREVICE))
    c = cylinders([chamber(crevice=CREVICE)])
    run(c, 3000.0, -25.0)
    hidden = tight.p_max * CREVICE / (float(c.charge_R[0]) * 440.0) / float(c.state[0, r.MASS_CLOSED])
    assert 0.02 < hidden < 0.05
    assert 0.6 * hidden < 1.0 - tight.p_max / plain.p_max < 1.6 * hidden
    assert 0.3 * hidden < 1.0 - tight.work / plain.work < hidden
    assert tight.heat > plain.heat


def test_open__crevice_follows_and_energy_is_kept() -> None:
    """A shut cylinder driven through the open-valve step: energy falls by work and wall heat alone."""
    c = cylinders([chamber(crevice=CREVICE)], model="none")
    assert set_one_zone(c, 0, 40.0, 6.0e5, 1500.0, 0.02, 0.002, 0.978, 1.1) == r.OK
    s = c.state[0]
    energy = s[r.ENERGY] + s[r.CREVICE_ENERGY]
    mass = s[r.MASS] + held(c)
    for _ in range(800):
        assert advance_open(c, 0, 0.1, omega(3000.0), 0.0, 0.0, 0.0, 0.0) == r.OK
    spent = s[r.WORK] + s[r.Q_HEAD] + s[r.Q_PISTON] + s[r.Q_LINER]
    assert s[r.ENERGY] + s[r.CREVICE_ENERGY] + spent == pytest.approx(energy, abs=1e-10 * abs(energy))
    assert s[r.MASS] + held(c) == pytest.approx(mass, rel=1e-13)
    pV = sum(s[i] * R for i, R in zip(range(r.CREVICE_AIR, r.CREVICE_BURNED + 1), c.species.R, strict=True)) * 440.0
    assert pV / (s[r.P] * CREVICE) == pytest.approx(1.0, abs=3.0 * WORTH_MOVING)
    assert s[r.CREVICE_ENERGY] == pytest.approx(held_energy(c.species, s, 440.0), rel=1e-12)


def test_burn__hardly_depends_on_the_step() -> None:
    """A crevice of first order would move work by 1e-3 between these steps."""
    coarse, fine = (
        run(cylinders([chamber(crevice=CREVICE)], step=a, step_burning=b), 3000.0, -25.0)
        for a, b in ((1.0, 0.5), (0.1, 0.05))
    )
    assert coarse.work == pytest.approx(fine.work, rel=2e-4)
    assert coarse.p_max == pytest.approx(fine.p_max, rel=2e-3)


def test_returning_gas__burns_in_hot_gas_and_stays_fresh_in_cold() -> None:
    """After opening, what comes out of the crevice below 1400 K leaves as fuel; above it as burned gas."""
    for T, fresh in ((1600.0, False), (1000.0, True)):
        c = cylinders([chamber(crevice=CREVICE)], model="none")
        trap(c, 0, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
        s = c.state[0]
        mixture = s[r.CREVICE_AIR : r.CREVICE_ENERGY].copy() * 4.0
        assert open_valves(c, 0) == r.OK
        assert set_one_zone(c, 0, 150.0, 3.0e5, T, 0.0, 0.0, 1.0, 1.1) == r.OK
        s[r.CREVICE_AIR : r.CREVICE_ENERGY] = mixture
        s[r.CREVICE_ENERGY] = held_energy(c.species, s, 440.0)
        assert advance_open(c, 0, 0.1, omega(3000.0), 0.0, 0.0, 0.0, 0.0) == r.OK
        assert bool(s[r.Y_FUEL] > 0.0) == fresh


def test_bad_crevice__is_told_in_one_sentence() -> None:
    for volume in (-1e-7, 2e-5):
        with pytest.raises(BadInput, match=r"crevice.*fifth of the clearance volume"):
            cylinders([chamber(crevice=volume)])


def test_marks__one_passed_between_two_steps_is_not_lost() -> None:
    """A crevice that takes unburned gas between the steps carries the burned share from 0.4995 past 0.5 to 0.5001."""
    c = cylinders([chamber(crevice=CREVICE)])
    s = c.state[0]
    s[r.MASS] = 1.0
    for i in (r.ANGLE_02, r.ANGLE_10, r.ANGLE_50, r.ANGLE_90):
        s[i] = r.NEVER
    for share, before, theta in ((0.4995, 0.47, 8.0), (0.53, 0.5001, 8.5), (0.56, 0.53, 9.0)):
        s[r.BURNED_MASS], s[r.THETA] = share, theta
        note_burn(s, before, 0.5)
    assert s[r.ANGLE_50] == 8.0
    assert s[r.ANGLE_90] == r.NEVER


def test_marks__lie_where_the_share_falls_inside_the_step() -> None:
    c = cylinders()
    s = c.state[0]
    s[r.MASS], s[r.BURNED_MASS], s[r.THETA], s[r.ANGLE_50] = 1.0, 0.52, 8.0, r.NEVER
    note_burn(s, 0.48, 0.5)
    assert s[r.ANGLE_50] == pytest.approx(7.75)
