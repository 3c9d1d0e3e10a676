"""The surrogate's steady points against the same engine marched in time with its real shaft, and the load step."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from boosted import TURBO_FOUR
from builds import FOUR, sheet_of

from spoolwright.engine.boosting import release
from spoolwright.engine.march import march
from spoolwright.engine.parts import H_PASSAGE, H_SPEED_SQUARED, K_SPEED, TIME
from spoolwright.engine.pull import Point, Pull, pull
from spoolwright.engine.run import own_copy
from spoolwright.engine.spool import Moment, spool, threshold_speed, time_to
from spoolwright.errors import BadInput
from spoolwright.sheet import load
from spoolwright.sheet.demo import demo_folder


def marched(point: Point, rpm: float, inertia: float, seconds: float, nudge: float) -> tuple[float, float, float]:
    """Shaft speed [rad/s], compressor outlet pressure [Pa] and trapped charge [kg], means of the last cycles.

    The steady point is pushed off by ``nudge`` of its shaft speed and left to itself: shaft, gate and gas move.
    """
    assert point.cycle is not None
    engine = own_copy(point.cycle.engine)
    release(engine.machines, inertia)
    engine.machines.shaft[:, H_PASSAGE] = 0.0  # the map at once, as the steady point has it
    engine.machines.shaft[:, H_SPEED_SQUARED] *= (1.0 + nudge) ** 2
    outlet = engine.machines.compressor_at[0, 1]
    rows, total = [], 0.0
    for tally, lasted in march(engine, lambda: rpm * pi / 30.0):
        total += lasted
        speed = tally.compressor[0, K_SPEED] / lasted
        rows.append((speed, tally.p_mean[outlet] / lasted, tally.valve_mass[:4].sum()))
        if total > seconds:
            break
    return tuple(np.mean(rows[-4:], axis=0))  # type: ignore[return-value]


@pytest.mark.slow
@pytest.mark.parametrize(("rpm", "nudge"), [(3000.0, 0.02), (5500.0, -0.02)])
def test_surrogate__is_where_the_real_shaft_comes_to_rest(rpm: float, nudge: float) -> None:
    """Within 0.1 %, though the shaft was pushed off by 2 %: the held speed is the answer, not a start it stays near."""
    sheet = load(demo_folder("wren"))
    point = pull(sheet, [rpm]).points[0]
    assert point.cycle is not None
    time = point.cycle.tally.numbers[TIME]
    outlet = point.cycle.engine.machines.compressor_at[0, 1]
    steady = (
        point.columns["turbo_speed_rpm"] * pi / 30.0,
        point.cycle.tally.p_mean[outlet] / time,
        point.cycle.tally.valve_mass[:4].sum(),
    )
    free = marched(point, rpm, 2.1e-5, 2.0, nudge)
    assert free == pytest.approx(steady, rel=1e-3)


@pytest.mark.slow
def test_surrogate__with_the_gate_shut_too() -> None:
    """A gate that never opens feeds every error back: the harder case. A third of the inertia settles in time."""
    sheet = sheet_of(TURBO_FOUR, "wastegate.preload=2000 N", "turbine.throat_area=1200 mm2")
    point = pull(sheet, [4500.0]).points[0]
    assert point.columns["converged"], point.trouble
    assert point.columns["wastegate_opening"] == 0.0
    assert point.columns["shaft_closure"] < 5e-4
    free = marched(point, 4500.0, 1.0e-5, 4.0, 0.01)
    assert free[0] == pytest.approx(point.columns["turbo_speed_rpm"] * pi / 30.0, rel=1e-3)


@pytest.mark.slow
def test_load_step__heavier_shaft_is_slower_and_both_come_to_the_steady_boost() -> None:
    light = spool(load(demo_folder("wren")), 3500.0)
    heavy = spool(load(demo_folder("wren"), sets=("charge.shaft_inertia=6.3e-5 kg m2",)), 3500.0)
    assert light.trouble == heavy.trouble == ""
    assert light.target_boost_kPa == pytest.approx(heavy.target_boost_kPa, rel=2e-3)
    assert light.time_to_90_s is not None
    assert heavy.time_to_90_s is not None
    # Three times the inertia: the filling of the pipes does not slow down with it, so less than three times the time.
    assert 1.5 < heavy.time_to_90_s / light.time_to_90_s < 3.0
    assert 0.1 < light.time_to_90_s < 3.0
    last = light.moments[-1]
    assert last.boost_kPa == pytest.approx(light.target_boost_kPa, rel=6e-3)
    assert light.start_boost_kPa is not None
    assert light.start_boost_kPa < 0.0  # a throttle nearly shut: suction
    assert np.all(np.diff([m.turbo_speed_rpm for m in light.moments]) > 0.0)


@pytest.mark.slow
def test_free_acceleration__the_engine_gathers_speed_by_its_torque() -> None:
    made = spool(load(demo_folder("wren")), 3000.0, inertia=2.0, seconds=1.0)
    first, last = made.moments[0], made.moments[-1]
    assert last.speed_rpm > first.speed_rpm
    # Momentum: J d omega = integral of torque dt, cycle by cycle.
    gained = 0.0
    for moment in made.moments[:-1]:
        gained += moment.torque_Nm * 120.0 / moment.speed_rpm
    assert 2.0 * (last.speed_rpm - first.speed_rpm) * pi / 30.0 == pytest.approx(gained, rel=1e-3)


def test_time_to__lies_straight_between_cycles() -> None:
    rows = [Moment(t, 3000.0, boost, 5e4, 0.0, 0.0, 0.0) for t, boost in ((0.1, 0.0), (0.2, 10.0), (0.3, 50.0))]
    assert time_to(rows, -50.0, 30.0) == pytest.approx(0.25)
    assert time_to(rows, -50.0, 5.0) == pytest.approx(0.15)
    assert time_to(rows, -50.0, -25.0) == pytest.approx(0.05)
    assert time_to(rows, -50.0, 60.0) is None
    assert time_to(rows, 45.0, 40.0) == pytest.approx(0.275)  # it sank first: reached where it is passed upwards


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"opening": 0.9}, "opening of 90 % before the step is outside 0.5 to 50 %"),
        ({"inertia": 0.0}, "inertia of 0 kg m2 at the crank is outside 0.001 to 1000"),
        ({"seconds": 0.0}, "a time of 0 s to watch is outside 0.1 to 60 s"),
    ],
)
def test_spool__refuses_what_is_no_load_step(options: dict[str, float], said: str) -> None:
    with pytest.raises(BadInput, match="outside") as fault:
        spool(load(demo_folder("wren")), 3000.0, **options)  # type: ignore[arg-type]
    assert said in str(fault.value)


def test_spool__needs_a_turbo() -> None:
    with pytest.raises(BadInput, match="trial has no turbocharger, so there is no boost to wait for"):
        spool(sheet_of(FOUR), 3000.0)


def test_threshold__lies_where_half_of_the_highest_boost_is_reached() -> None:
    def made(*boost: float) -> Pull:
        rows = [{"speed_rpm": 1000.0 * (n + 1), "boost_kPa": b, "converged": True} for n, b in enumerate(boost)]
        return Pull("x", None, "", [Point(row) for row in rows], (), None)  # type: ignore[arg-type]

    assert threshold_speed(made(10.0, 20.0, 60.0, 50.0)) == pytest.approx(2250.0)  # 30 of 60
    assert threshold_speed(made(10.0, 20.0, 60.0, 50.0), 54.0) == pytest.approx(2850.0)
    assert threshold_speed(made(10.0, 20.0, 60.0, 50.0), 70.0) is None
    assert threshold_speed(made(50.0, 60.0)) == 1000.0
    assert threshold_speed(made(1.0, 3.0)) is None
