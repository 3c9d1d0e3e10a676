"""A pull as its caller meets it: speeds as asked, the same numbers on one core and two, cancelled runs, traces."""

from __future__ import annotations

import numpy as np
import pytest

from spoolwright.engine.pull import Point, Pull, pull
from spoolwright.engine.run import TOLERANCE
from spoolwright.engine.trace import trace
from spoolwright.sheet import load
from spoolwright.sheet.demo import demo_folder

pytestmark = pytest.mark.slow

SPEEDS = [2333.0, 3000.0, 4100.0, 5000.0]
PLOVER = load(demo_folder("plover"))


@pytest.fixture(scope="module")
def alone() -> Pull:
    return pull(PLOVER, SPEEDS, workers=1)


def test_points__stand_at_the_speeds_asked_for(alone: Pull) -> None:
    assert alone.column("speed_rpm") == SPEEDS
    assert alone.asked == tuple(SPEEDS)
    assert all(alone.column("converged"))


def test_two_chains__give_what_one_gives(alone: Pull) -> None:
    """A chain starts from a neighbour; where it starts must not matter beyond what settled means.

    A change of 2e-4 from cycle to cycle that dies away by half each cycle leaves as much again; the searched spark
    rests within 0.3 deg, which at best torque moves torque by far less than 1e-3.
    """
    both = pull(PLOVER, SPEEDS, workers=2)
    for name in ("torque_Nm", "volumetric_efficiency", "air_flow_kg_s"):
        assert both.column(name) == pytest.approx(alone.column(name), rel=10 * TOLERANCE), name


def test_progress__is_told_of_each_point_once(alone: Pull) -> None:
    seen: list[float] = []
    ready: list[bool] = []

    def count(point: Point) -> None:
        seen.append(point.columns["speed_rpm"])

    pull(PLOVER, SPEEDS[:2], workers=1, ready=lambda: ready.append(not seen), progress=count)
    assert seen == SPEEDS[:2]
    assert ready == [True]


def test_cancelled_at_once__leaves_no_point_and_cancelled_later_those_done() -> None:
    assert pull(PLOVER, SPEEDS, cancelled=lambda: True).points == []
    done: list[Point] = []
    some = pull(PLOVER, SPEEDS, workers=1, progress=done.append, cancelled=lambda: len(done) >= 2)
    assert some.column("speed_rpm") == SPEEDS[:2]
    assert all(some.column("converged"))


def test_trace__is_the_point_s_own_cycle_and_leaves_the_point_alone(alone: Pull) -> None:
    point = alone.points[1]
    assert point.cycle is not None
    before = point.cycle.engine.net.U.copy()
    one = trace(alone.model, point.cycle)
    assert np.array_equal(point.cycle.engine.net.U, before)
    angle, order = one.own(0)
    p = one.p[0][order]
    assert (angle[0], angle[-1]) == (pytest.approx(-360.0, abs=1.0), pytest.approx(360.0, abs=1.0))
    assert np.all(np.diff(one.theta) > 0.0)
    assert p.max() / 1e6 == pytest.approx(point.columns["peak_pressure_MPa"], rel=5e-3)
    assert angle[int(np.argmax(p))] == pytest.approx(point.columns["peak_pressure_deg"], abs=1.0)
    # Indicated work from the trace against the cycle's own: the integral of p dV by trapezoids.
    V = one.V[0][order]
    work = float(np.sum(0.5 * (p[1:] + p[:-1]) * np.diff(V)))
    assert work / alone.model.swept / 1e3 == pytest.approx(point.columns["imep_kPa"], rel=5e-3)
    # What went in through the intake valve is what the point counts as air and fuel.
    step = np.diff(one.theta, append=360.0) / 6.0 / one.speed_rpm
    drawn = float(np.sum(one.valve_flow(0, intake=True) * step))
    assert drawn == pytest.approx(point.per_cylinder["charge_kg"][0], rel=2e-3)
    assert [probe.place for probe in one.probes][:2] == ["intake runner, entry", "intake port, at the valve"]
