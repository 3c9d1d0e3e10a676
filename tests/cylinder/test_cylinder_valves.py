"""Lift, discharge and areas: cam end conditions, tables read back, bench at two depressions, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from spoolwright.cylinder.discharge import Bench, assumed_discharge, discharge_from_bench
from spoolwright.cylinder.lift import ANGLES, cam_shape, lift_from_events, lift_from_table
from spoolwright.cylinder.valves import area_at, effective_areas, seat_area
from spoolwright.errors import BadInput

CFM = 0.028316846592 / 60.0  # m3/s; international foot, exact
INCH_WATER = 249.08891  # Pa, conventional


def test_cam__lift_velocity_acceleration_and_jerk_end_at_zero() -> None:
    assert cam_shape(0.0) == 1.0
    assert cam_shape(1.0) == pytest.approx(0.0, abs=1e-12)
    assert cam_shape(1.5) == pytest.approx(0.0, abs=1e-12)
    # four conditions at the end: what is left near it goes with the fourth power of the distance
    near, far = cam_shape(1.0 - 0.01), cam_shape(1.0 - 0.02)
    assert 14.0 < far / near < 17.0
    # the same from the coefficients: derivatives of 1 + sum C x^n at 1
    p, q, s = 8.0, 14.0, 20.0
    c2 = -p * q * s / ((p - 2.0) * (q - 2.0) * (s - 2.0))
    cp = 2.0 * q * s / ((p - 2.0) * (q - p) * (s - p))
    cq = -2.0 * p * s / ((q - 2.0) * (q - p) * (s - q))
    cs = 2.0 * p * q / ((s - 2.0) * (s - p) * (s - q))
    n, c = np.array([2.0, p, q, s]), np.array([c2, cp, cq, cs])
    assert 1.0 + c.sum() == pytest.approx(0.0, abs=1e-12)
    assert (n * c).sum() == pytest.approx(0.0, abs=1e-12)
    assert (n * (n - 1.0) * c).sum() == pytest.approx(0.0, abs=1e-10)
    assert (n * (n - 1.0) * (n - 2.0) * c).sum() == pytest.approx(0.0, abs=1e-9)
    grid = np.linspace(0.0, 1.0, 101)
    assert cam_shape(grid) == pytest.approx(1.0 + (c * grid[:, None] ** n).sum(axis=1), abs=1e-12)
    assert np.all(np.diff(cam_shape(np.linspace(0.0, 1.0, 201))) < 0.0)


def test_events__opens_and_closes_where_asked() -> None:
    lift = lift_from_events("intake", 340.0, 600.0, 0.009, 0.033)
    assert lift.lift.max() == pytest.approx(0.009)
    assert ANGLES[np.argmax(lift.lift)] == pytest.approx(470.0 - 720.0)
    # the ramp is so flat that the valve stands within 1 micrometre of its seat for some degrees
    assert 340.0 <= lift.opens < 348.0
    assert -128.0 < lift.closes <= -120.0


def test_events__stated_at_a_lift() -> None:
    lift = lift_from_events("intake", 350.0, 580.0, 0.010, 0.036, lift_at_events=1.27e-3)
    assert area_at(lift.lift, 350.0) == pytest.approx(1.27e-3, rel=2e-3)
    assert area_at(lift.lift, 580.0) == pytest.approx(1.27e-3, rel=2e-3)


def test_lash__shortens_and_lowers() -> None:
    tight, loose = (lift_from_events("intake", 340.0, 600.0, 0.009, 0.033, lash=x) for x in (0.0, 0.2e-3))
    assert loose.lift.max() == pytest.approx(0.0088)
    assert loose.opens > tight.opens + 3.0
    assert loose.closes < tight.closes - 3.0
    inside = loose.lift > 0.0
    assert loose.lift[inside] == pytest.approx(tight.lift[inside] - 0.2e-3, abs=1e-12)


def test_table__reads_back_what_was_measured() -> None:
    angle = np.arange(340.0, 601.0, 10.0)
    y = 0.009 * cam_shape((angle - 470.0) / 130.0)
    lift = lift_from_table("intake", angle, y, 0.033)
    assert [area_at(lift.lift, a) for a in angle] == pytest.approx(list(y), abs=1e-6)
    exact = 0.009 * cam_shape(((ANGLES - 470.0 + 360.0) % 720.0 - 360.0) / 130.0)
    assert np.abs(lift.lift - exact).max() < 1.5e-4
    assert area_at(lift.lift, 0.0) == 0.0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda a, y: (a[::-1], y), "must rise"),
        (lambda a, y: (np.delete(a, [9, 10]), np.delete(y, [9, 10])), "hole"),
        (lambda a, y: (a, np.where(a == 400.0, np.nan, y)), "fill the hole"),
        (lambda a, y: (a, 1000.0 * y), "check value and unit"),
        (lambda a, y: (a, y - 0.001), "negative"),
        (lambda a, y: (a[:-12], y[:-12]), "until the valve is shut"),
        (lambda a, y: (a[:3], y[:3]), "at least 8 pairs"),
        (lambda a, y: (3.0 * a, y), "span|hole"),
    ],
)
def test_table__refused(change: object, words: str) -> None:
    angle = np.arange(340.0, 601.0, 10.0)
    y = 0.009 * cam_shape((angle - 470.0) / 130.0)
    with pytest.raises(BadInput, match=words) as fault:
        lift_from_table("heads[1].intake", *change(angle, y), 0.033)  # type: ignore[operator]
    assert "heads[1].intake" in str(fault.value)
    assert str(fault.value).count("\n") == 0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((340.0, 340.0, 0.009, 0.033), "would stay open for 0 degrees"),
        ((340.0, 960.0, 0.009, 0.033), "60 to 500"),
        ((340.0, 600.0, 0.095, 0.033), "does not go with a valve"),
        ((340.0, 600.0, -0.009, 0.033), "does not go with a valve"),
        ((340.0, 600.0, 0.009, 33.0), "outside 0..200 mm"),
        ((340.0, 600.0, 0.009, 0.033, 0.01), "lash"),
        ((340.0, 600.0, 0.009, 0.033, 0.0, 0.009), "below the full lift"),
        ((340.0, 750.0, 0.009, 0.033, 0.0, 0.0085), "never"),
    ],
)
def test_events__refused(arguments: tuple[float, ...], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        lift_from_events("intake", *arguments)


def test_bench__same_port_at_two_depressions() -> None:
    """Flow goes with the root of the depression at small drops, the coefficient stays (closed form)."""
    lift = np.array([1.0, 3.0, 5.0, 7.0, 9.0]) * 1e-3
    flow = np.array([12.0, 36.0, 57.0, 72.0, 80.0]) * CFM
    high = discharge_from_bench("intake", 0.036, Bench(lift, flow, 28.0 * INCH_WATER))
    flow = flow * np.sqrt(1.5 / 28.0)
    low = discharge_from_bench("intake", 0.036, Bench(lift, flow, 1.5 * INCH_WATER))
    # first term of the nozzle law's expansion: compressible flow is 3/4 dp / (gamma p) smaller
    rise = 0.75 * 28.0 * INCH_WATER / (1.4 * 101325.0)
    assert high.forward / low.forward == pytest.approx(1.0 + rise, rel=3e-3)
    # incompressible limit by hand: Cd = Q / (A sqrt(2 dp / rho))
    rho = 101325.0 / (287.05 * 293.15)
    by_hand = flow / (np.pi * 0.036 * lift * np.sqrt(2.0 * 1.5 * INCH_WATER / rho))
    assert low.forward == pytest.approx(by_hand, rel=2e-3)


def test_bench__two_valves_and_reverse() -> None:
    lift = np.array([1.0, 3.0, 5.0, 7.0, 9.0]) * 1e-3
    flow = np.array([12.0, 36.0, 57.0, 72.0, 80.0]) * CFM
    one = discharge_from_bench("intake", 0.030, Bench(lift, flow, 10.0 * INCH_WATER))
    pair = discharge_from_bench("intake", 0.030, Bench(lift, 2.0 * flow, 10.0 * INCH_WATER), count=2)
    assert pair.forward == pytest.approx(one.forward)
    both = discharge_from_bench(
        "intake", 0.030, Bench(lift, flow, 10.0 * INCH_WATER), Bench(lift, 0.9 * flow, 10.0 * INCH_WATER)
    )
    assert both.reverse == pytest.approx(0.9 * both.forward)
    cam = lift_from_events("intake", 340.0, 600.0, 0.009, 0.030)
    areas = effective_areas("intake", cam, both, 0.030, count=2)
    k = int(np.argmax(cam.lift))
    assert areas.forward[k] == pytest.approx(2.0 * np.pi * 0.030 * 0.009 * both.forward[-1], rel=1e-9)
    assert areas.reverse[k] == pytest.approx(0.9 * areas.forward[k])


@pytest.mark.parametrize(
    ("lift", "flow", "depression", "words"),
    [
        ([0.001, 0.003, 0.005], [12.0, 36.0, 57.0], 2490.0, "times the flow of an ideal"),  # cfm for m3/s
        ([1.0, 3.0, 5.0], [0.006, 0.017, 0.027], 2490.0, "unit of lift"),
        ([0.001, 0.003, 0.005], [0.006, 0.017, 0.027], 10.0, "check its unit"),
        ([0.001, 0.003, 0.005], [6e-6, 1.7e-5, 2.7e-5], 2490.0, "check the units"),
        ([0.003, 0.001, 0.005], [0.006, 0.017, 0.027], 2490.0, "sort them"),
        ([0.001, 0.003], [0.006, 0.017], 2490.0, "at least 3"),
        ([0.001, 0.003, 0.005], [0.006, np.nan, 0.027], 2490.0, "empty field"),
        ([0.001, 0.003, 0.005], [0.006, -0.017, 0.027], 2490.0, "positive"),
    ],
)
def test_bench__refused(lift: list[float], flow: list[float], depression: float, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        discharge_from_bench("intake", 0.036, Bench(lift, flow, depression))


def test_areas__lift_beyond_the_bench_refused() -> None:
    bench = discharge_from_bench("intake", 0.036, Bench([0.001, 0.003, 0.006], [0.004, 0.012, 0.02], 2490.0))
    cam = lift_from_events("intake", 340.0, 600.0, 0.009, 0.036)
    with pytest.raises(BadInput, match="bench table ends at 6 mm"):
        effective_areas("intake", cam, bench, 0.036)


def test_assumed_discharge__plausible_at_the_ends() -> None:
    for kind in ("intake", "exhaust"):
        d = assumed_discharge(kind)
        # effective area over head area never falls with lift and stays well below one
        share = 4.0 * d.lift_per_diameter * d.forward
        assert np.all(np.diff(share) > -1e-12)
        assert share.max() < 0.65
    with pytest.raises(BadInput, match="intake or exhaust"):
        assumed_discharge("transfer")


def test_seat_area__three_stages_join() -> None:
    """Small lift: the frustum pi d L cos(45); large lift: the throat less the stem; no jumps between."""
    lift = np.linspace(0.0, 0.012, 2401)
    area = seat_area(lift, 0.036, 0.032, 0.007)
    assert area[20] == pytest.approx(np.pi * lift[20] * np.cos(np.pi / 4.0) * (0.032 + 0.5 * lift[20]), rel=1e-12)
    assert area[-1] == pytest.approx(0.25 * np.pi * (0.032**2 - 0.007**2))
    assert np.abs(np.diff(area)).max() < 1e-6
    assert np.all(np.diff(area) > -1e-15)
