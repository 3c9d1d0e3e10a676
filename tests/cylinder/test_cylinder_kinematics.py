"""Slider-crank: closed forms, derivatives, offset, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from spoolwright.cylinder import kinematics as kin
from spoolwright.errors import BadInput

CRANKS = [(0.0375, 0.120, 0.0), (0.043, 0.172, 0.0008), (0.045, 0.110, -0.012)]


@pytest.mark.parametrize("crank", CRANKS)
def test_travel__ends_of_stroke(crank: tuple[float, float, float]) -> None:
    a, rod, offset = crank
    theta = np.linspace(-360.0, 360.0, 72001)
    travel = kin.piston_travel(theta, *crank)
    top, bottom = np.sqrt((rod + a) ** 2 - offset**2), np.sqrt((rod - a) ** 2 - offset**2)
    assert kin.piston_travel(0.0, *crank) == pytest.approx(0.0, abs=1e-15)
    assert travel.min() > -1e-12
    assert travel.max() == pytest.approx(top - bottom, abs=1e-10)
    assert kin.piston_stroke(*crank) == pytest.approx(top - bottom, abs=1e-14)


@pytest.mark.parametrize("crank", CRANKS)
def test_travel__rod_keeps_its_length(crank: tuple[float, float, float]) -> None:
    """The distance from crank pin to gudgeon pin is the rod's, at every angle."""
    a, rod, offset = crank
    theta = np.linspace(-360.0, 360.0, 145)
    angle = np.radians(theta) + kin.crank_angle_at_top(*crank)
    height = np.sqrt((rod + a) ** 2 - offset**2) - kin.piston_travel(theta, *crank)
    assert np.hypot(a * np.sin(angle) + offset, height - a * np.cos(angle)) == pytest.approx(rod, abs=1e-14)


@pytest.mark.parametrize("crank", CRANKS)
def test_derivatives__against_differences(crank: tuple[float, float, float]) -> None:
    theta, d = np.linspace(-350.0, 350.0, 97), 1e-2
    rate = (kin.piston_travel(theta + d, *crank) - kin.piston_travel(theta - d, *crank)) / (2.0 * np.radians(d))
    bend = (kin.piston_travel_rate(theta + d, *crank) - kin.piston_travel_rate(theta - d, *crank)) / (
        2.0 * np.radians(d)
    )
    assert kin.piston_travel_rate(theta, *crank) == pytest.approx(rate, abs=1e-9)
    assert kin.piston_travel_curvature(theta, *crank) == pytest.approx(bend, abs=1e-9)


def test_offset__towards_the_thrust_side_tilts_the_rod_more_on_expansion() -> None:
    """The rod's lean on the expansion stroke, from the pin line to the crank pin, grows with the offset."""
    a, rod, offset = 0.0375, 0.120, 0.001
    leans = [a * np.sin(np.radians(60.0) + kin.crank_angle_at_top(a, rod, x)) + x for x in (-offset, 0.0, offset)]
    assert leans == sorted(leans)
    # first order in the offset d: travel grows by d r sin(t) (1/l - (1 + r cos(t) / l) / (l + r)) or a little more
    more = kin.piston_travel(60.0, a, rod, offset) - kin.piston_travel(60.0, a, rod, -offset)
    assert 5e-5 < more < 1e-4


def test_volume__two_forms_of_the_rod() -> None:
    """A very long rod gives the pure sine motion."""
    theta = np.linspace(0.0, 360.0, 37)
    volume = kin.cylinder_volume(theta, 0.1, 0.04, 4000.0, 0.0, 5e-5)
    sine = 5e-5 + 0.25 * np.pi * 0.01 * 0.04 * (1.0 - np.cos(np.radians(theta)))
    assert volume == pytest.approx(sine, rel=1e-5)
    rate = kin.volume_rate(90.0, 0.1, 0.04, 4000.0, 0.0)
    assert rate == pytest.approx(0.25 * np.pi * 0.01 * 0.04, rel=1e-5)


@pytest.mark.parametrize(
    ("crank", "words"),
    [((0.04, 0.035, 0.0), "too short"), ((0.04, 0.05, 0.02), "too short"), ((0.0, 0.1, 0.0), "not a stroke")],
)
def test_check_crank__refused(crank: tuple[float, float, float], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        kin.check_crank(*crank)
