"""Flame tables: totals, small spheres, volume as the integral of the front, columns against arcs."""

from __future__ import annotations

import numpy as np
import pytest

from spoolwright.cylinder import geometry as geo
from spoolwright.errors import BadInput

LAYOUTS = [(0.0, False), (0.5, False), (0.8, False), (0.5, True)]


@pytest.mark.parametrize(("offset", "twin"), LAYOUTS)
def test_disc__whole_chamber_wetted(offset: float, twin: bool) -> None:
    table = geo.disc_flame_table(offset, twin)
    end = table[:, -1]
    assert end[:, geo.HEAD] == pytest.approx(np.pi, rel=1e-4)
    assert end[:, geo.PISTON] == pytest.approx(np.pi, rel=1e-4)
    assert end[:, geo.LINER] == pytest.approx(2.0 * np.pi * geo.HEIGHTS, rel=2e-3)
    assert np.all(end[:, geo.FLAME] == 0.0)
    assert np.all(table >= 0.0)


@pytest.mark.parametrize(("offset", "twin"), LAYOUTS)
def test_disc__front_sweeps_the_chamber(offset: float, twin: bool) -> None:
    """The integral of the front over the radius is the chamber's volume."""
    table = np.zeros((geo.N_HEIGHTS, geo.N_ENCLOSED, geo.N_AREAS))
    error = np.zeros(geo.N_HEIGHTS)
    geo._disc_table(offset, twin, geo.HEIGHTS, 640, table, error)
    assert np.abs(error).max() < 2e-3
    assert np.sqrt(np.mean(error**2)) < 1e-3


def test_disc__small_flame_is_a_hemisphere() -> None:
    """Area 2 pi r^2 and volume 2/3 pi r^3 as long as neither piston nor liner is touched."""
    table = geo.disc_flame_table(0.5)
    h = 0.4
    for radius in (0.1, 0.2, 0.35):
        q = (2.0 / 3.0 * np.pi * radius**3 / (np.pi * h)) ** (1.0 / 3.0)
        area, head, piston, liner = geo.flame_areas(table, np.log(h), q)
        assert area == pytest.approx(2.0 * np.pi * radius**2, rel=5e-3)
        assert head == pytest.approx(np.pi * radius**2, rel=5e-3)
        assert piston == 0.0
        assert liner == 0.0


def test_disc__twin_front_is_twice_one_until_they_meet() -> None:
    one, two = geo.disc_flame_table(0.5), geo.disc_flame_table(0.5, twin=True)
    h, radius = 0.4, 0.3
    v = 2.0 / 3.0 * np.pi * radius**3 / (np.pi * h)
    single = geo.flame_areas(one, np.log(h), v ** (1.0 / 3.0))[0]
    assert geo.flame_areas(two, np.log(h), (2.0 * v) ** (1.0 / 3.0))[0] == pytest.approx(2.0 * single, rel=5e-3)


def test_columns__a_disc_as_a_measured_chamber() -> None:
    """The column method on a flat roof gives the arcs' tables: front within 0.5 % of the bore area, walls 0.1 %."""
    flat = np.zeros((9, 9))
    usable = geo.HEIGHTS > 0.08
    for plugs, arcs in (
        ([(0.5, 0.0)], geo.disc_flame_table(0.5)),
        ([(0.5, 0.0), (-0.5, 0.0)], geo.disc_flame_table(0.5, twin=True)),
    ):
        difference = (geo.chamber_flame_table(flat, plugs) - arcs)[usable & (geo.HEIGHTS < 2.5)]
        rms = np.sqrt(np.mean(difference**2, axis=(0, 1))) / np.pi
        assert rms[geo.FLAME] < 0.005
        assert np.all(rms[geo.HEAD :] < 1e-3)


def test_columns__wedge_volume_and_roof() -> None:
    """A wedge from 0 to 0.6 bore radii: mean height 0.3, roof area the slope's."""
    x = np.linspace(-1.0, 1.0, 41)
    roof = np.repeat((0.3 * (1.0 + x))[:, None], 41, axis=1)
    columns = geo.chamber_columns(roof)
    assert columns[:, 2] @ columns[:, 3] == pytest.approx(0.3 * np.pi, rel=1e-3)
    assert columns[:, 4].sum() == pytest.approx(np.pi * np.sqrt(1.0 + 0.3**2), rel=1e-6)
    table = geo.chamber_flame_table(roof, [(0.5, 0.0)])
    deep = geo.HEIGHTS > 0.32
    assert table[deep, -1, geo.HEAD] == pytest.approx(np.pi * np.sqrt(1.0 + 0.3**2), rel=1e-3)
    assert table[deep, -1, geo.PISTON] == pytest.approx(np.pi, rel=1e-3)
    assert table[deep, -1, geo.LINER] == pytest.approx(2.0 * np.pi * (geo.HEIGHTS[deep] - 0.3), rel=1e-3)


def test_wedge__plug_in_the_deep_end_burns_faster() -> None:
    """Front area at equal enclosed volume is larger where the chamber is deep."""
    x = np.linspace(-1.0, 1.0, 41)
    roof = np.repeat((0.3 * (1.0 + x))[:, None], 41, axis=1)
    deep, shallow = (geo.chamber_flame_table(roof, [(at, 0.0)]) for at in (0.6, -0.6))
    assert geo.flame_areas(deep, np.log(0.4), 0.6)[0] > 1.1 * geo.flame_areas(shallow, np.log(0.4), 0.6)[0]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: geo.disc_flame_table(1.2), "inside the bore"),
        (lambda: geo.chamber_flame_table(np.zeros((9, 9)), [(0.9, 0.9)]), "inside the circle"),
        (lambda: geo.chamber_flame_table(np.zeros((9, 9)), []), "one or two"),
        (lambda: geo.chamber_flame_table(np.zeros((9, 4)), [(0.0, 0.0)]), "square grid"),
        (lambda: geo.chamber_flame_table(np.full((9, 9), -0.1), [(0.0, 0.0)]), "upwards from the deck"),
    ],
)
def test_bad_chamber__refused(call: object, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        call()  # type: ignore[operator]
