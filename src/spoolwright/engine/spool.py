"""How fast boost comes: the throttle opened at one engine speed, or while the engine accelerates an inertia.

The engine first runs steadily at a small throttle opening. Then the throttle is opened between two cycles (a foot
takes 50 to 100 ms more; common practice, no source), shafts turn with their real inertia, the compressors' flow is a
momentum state, gates move with their lag and cooler cores soak heat. Times are read off cycle means, straight
between them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field, replace
from math import pi
from typing import Any

import numpy as np

from spoolwright.boost.rows import G_MAX_LIFT
from spoolwright.engine.assemble import Model, assemble
from spoolwright.engine.boosting import release
from spoolwright.engine.march import march
from spoolwright.engine.mixtures import Mixtures
from spoolwright.engine.parts import H_FLOW, K_BACK, K_MASS, K_SPEED, S_P, TIME, Engine, Tally
from spoolwright.engine.pull import Point, Pull, mean_pressures, point_at, tried
from spoolwright.engine.run import Cycle, own_copy
from spoolwright.engine.sparks import Spark, spark_of
from spoolwright.engine.speeds import SLOWEST, check_speeds
from spoolwright.errors import BadInput
from spoolwright.flow.rows import E_RATIO_IN, E_RATIO_OUT, J_THROAT_AB, J_THROAT_BA, L_AREA
from spoolwright.sheet import Sheet

OPENING = 0.05  # share of the throttle's opening from which it is opened
SHARE = 0.9  # of the target boost, the usual measure
LEAST_TARGET = 5.0  # kPa; below it there is no boost to wait for
LONGEST = 8.0  # s
SETTLED = 0.995  # of the target, at which watching ends


@dataclass(frozen=True)
class Moment:
    """One cycle: end time [s], engine speed [rpm], boost [kPa], shaft speed of the first turbo [rpm], torque [N m]."""

    time_s: float
    speed_rpm: float
    boost_kPa: float
    turbo_speed_rpm: float
    torque_Nm: float
    wastegate_opening: float | None
    reverse_flow_time: float


@dataclass
class Spool:
    """A load step: boost of the steady point aimed at, and the time from opening to 90 % of it (None: not reached)."""

    build: str
    variant: str | None
    speed_rpm: float
    opening: float
    inertia: float | None  # kg m2 the engine accelerates; None: held at its speed
    target_boost_kPa: float
    start_boost_kPa: float | None
    time_to_90_s: float | None
    moments: list[Moment] = field(default_factory=list)
    steady: Point | None = None
    trouble: str = ""


def spool(
    sheet: Sheet,
    rpm: float,
    *,
    opening: float = OPENING,
    inertia: float | None = None,
    seconds: float = LONGEST,
    ready: Callable[[], None] = lambda: None,
    progress: Callable[[Moment], None] = lambda _: None,
    cancelled: Callable[[], bool] = lambda: False,
) -> Spool:
    """Open the throttle at a speed [rpm] and watch the boost come.

    opening : share of the throttle's area before the step; inertia : kg m2 at the crank that the engine accelerates
    without other load, or None for a speed that a dyno holds; seconds : longest time watched.
    The target is the boost of the steady point at ``rpm``, also where the engine accelerates. Raises BadInput for an
    engine without a turbo and numbers that are no load step.
    """
    _check(sheet, rpm, opening, inertia, seconds)
    mixtures = Mixtures(sheet)
    spark = spark_of(sheet, mixtures.p_outside)
    mixtures.first(rpm)
    ready()
    full = point_at(mixtures, rpm, spark, None, cancelled, 0)
    target = full.columns["boost_kPa"]
    made = Spool(sheet.name, sheet.variant, rpm, opening, inertia, target, None, None, [], full, full.trouble)
    if full.cycle is None or not full.columns["converged"] or cancelled():
        made.trouble = made.trouble or "cancelled"
        return made
    if target < LEAST_TARGET:
        made.trouble = f"the engine makes {target:.1f} kPa of boost at {rpm:.0f} rpm: there is no boost to wait for"
        return made
    model = mixtures.with_lam(full.columns["lambda"])
    before = tried(assemble(sheet, model.lam, opening=opening), rpm, spark, None, cancelled, 0)
    if before.cycle is None or cancelled():
        made.trouble = before.trouble or "cancelled"
        return made
    made.start_boost_kPa = before.columns["boost_kPa"]
    for moment in _moments(model, before.cycle, spark, rpm, inertia, sheet.value("charge.shaft_inertia")):
        made.moments.append(moment)
        progress(moment)
        if cancelled():
            made.trouble = "cancelled"
            break
        fast = inertia is not None and moment.speed_rpm * pi / 30.0 > sheet.value("limits.max_speed")
        if moment.time_s > seconds or moment.boost_kPa >= SETTLED * target or fast:
            break
    made.time_to_90_s = time_to(made.moments, made.start_boost_kPa, SHARE * target)
    return made


def _check(sheet: Sheet, rpm: float, opening: float, inertia: float | None, seconds: float) -> None:
    check_speeds([rpm])
    if not sheet.has("charge"):
        raise BadInput(f"{sheet.name} has no turbocharger, so there is no boost to wait for")
    if not 0.005 <= opening <= 0.5:
        raise BadInput(
            f"the throttle's opening of {100 * opening:.3g} % before the step is outside 0.5 to 50 %; write for "
            "example 5 %"
        )
    if inertia is not None and not 1e-3 <= inertia <= 1e3:
        raise BadInput(f"the inertia of {inertia:g} kg m2 at the crank is outside 0.001 to 1000 kg m2; check its unit")
    if not 0.1 <= seconds <= 60.0:
        raise BadInput(f"a time of {seconds:g} s to watch is outside 0.1 to 60 s")


def _moments(
    model: Model, before: Cycle, spark: Spark, rpm: float, inertia: float | None, shaft_inertia: float
) -> Iterator[Moment]:
    """The cycles after the throttle has opened, without end."""
    engine = own_copy(before.engine)
    open_throttle(engine, model.engine)
    set_free(engine, before.tally, shaft_inertia)
    turning = [rpm * pi / 30.0]  # rad/s, read anew for each cycle
    time, p_outside = 0.0, model.site.p
    timing = spark.begin(engine, turning[0], before.engine, model.intake_ends, p_outside)
    for n, (tally, lasted) in enumerate(march(engine, lambda: turning[0])):
        omega = turning[0]
        imep, fmep = mean_pressures(model, engine, tally, omega)
        torque = (imep - fmep) * model.swept / (4.0 * pi)
        gates = tally.lift / lasted / np.maximum(engine.machines.gate[:, G_MAX_LIFT], 1e-12)
        yield Moment(
            time_s=time + 0.5 * lasted,
            speed_rpm=omega * 30.0 / pi,
            boost_kPa=(float(tally.end[model.intake_ends, S_P].mean()) / lasted - p_outside) / 1e3,
            turbo_speed_rpm=float(tally.compressor[0, K_SPEED]) / lasted * 30.0 / pi,
            torque_Nm=torque,
            wastegate_opening=float(gates.max()) if len(gates) else None,
            reverse_flow_time=float(tally.compressor[:, K_BACK].max()) / lasted,
        )
        timing.settle(engine, tally, n + 1)
        time += lasted
        if inertia is not None:
            turning[0] = max(omega + torque / inertia * lasted, SLOWEST * pi / 30.0)


def open_throttle(engine: Engine, full: Engine) -> None:
    """Give ``engine`` the openings of the same engine with its throttle open; valves and gates set their own."""
    engine.net.ends[:, [E_RATIO_OUT, E_RATIO_IN]] = full.net.ends[:, [E_RATIO_OUT, E_RATIO_IN]]
    engine.net.joins[:, [J_THROAT_AB, J_THROAT_BA]] = full.net.joins[:, [J_THROAT_AB, J_THROAT_BA]]
    engine.net.links[:, L_AREA] = full.net.links[:, L_AREA]


def set_free(engine: Engine, tally: Tally, shaft_inertia: float) -> None:
    """Let shafts, gates and flow move on from the steady cycle whose sums stand in ``tally``."""
    x = engine.machines
    release(x, shaft_inertia)
    x.shaft[:, H_FLOW] = tally.compressor[:, K_MASS] / tally.numbers[TIME]


def time_to(moments: list[Moment], start: float, wanted: float) -> float | None:
    """Time [s] at which boost [kPa] first reaches ``wanted``, straight between cycles; None where it does not."""
    time, boost = 0.0, start
    for moment in moments:
        if moment.boost_kPa >= wanted:
            if boost >= wanted:
                return time
            return time + (wanted - boost) / (moment.boost_kPa - boost) * (moment.time_s - time)
        time, boost = moment.time_s, moment.boost_kPa
    return None


def cautions(made: Spool, sheet: Sheet) -> tuple[str, ...]:
    """What the reader of a load step must know of it, one sentence each."""
    said = []
    if made.moments and made.time_to_90_s is None and not made.trouble:
        most = max(made.moments, key=lambda moment: moment.boost_kPa)
        said.append(
            f"90 % of {made.target_boost_kPa:.0f} kPa was not reached in {made.moments[-1].time_s:.1f} s; most was "
            f"{most.boost_kPa:.0f} kPa at {most.time_s:.1f} s."
        )
    back = [moment for moment in made.moments if moment.reverse_flow_time > 0.0]
    if back:
        worst = max(back, key=lambda moment: moment.reverse_flow_time)
        said.append(
            f"The compressor surges on the way up: from {back[0].time_s:.2f} to {back[-1].time_s:.2f} s its gas runs "
            f"backwards, up to {100 * worst.reverse_flow_time:.0f} % of a cycle."
        )
    limit = sheet.maybe("charge.compressor.speed_limit")
    fastest = max((moment.turbo_speed_rpm for moment in made.moments), default=0.0)
    if limit is not None and fastest * pi / 30.0 > limit:
        said.append(f"The shaft passes its limit of {limit * 30.0 / pi:.0f} rpm: {fastest:.0f} rpm.")
    return tuple(said)


def report(made: Spool, sheet: Sheet) -> dict[str, Any]:
    """A load step as plain data; SI but for rpm and kPa, which their names tell."""
    told = asdict(replace(made, steady=None, moments=[]))
    del told["steady"]
    return told | {"moments": [asdict(moment) for moment in made.moments], "cautions": list(cautions(made, sheet))}


def threshold_speed(pull: Pull, wanted_kPa: float | None = None) -> float | None:
    """Lowest engine speed [rpm] at which full-load boost reaches ``wanted_kPa``, or half of the pull's highest.

    Straight between points. None where no point has it; the first speed where that has it already.
    """
    points = [p for p in pull.points if p.columns["converged"] and p.columns["boost_kPa"] is not None]
    highest = max((p.columns["boost_kPa"] for p in points), default=0.0)
    if highest < LEAST_TARGET:
        return None
    wanted, before = 0.5 * highest if wanted_kPa is None else wanted_kPa, None
    for point in points:
        boost, speed = point.columns["boost_kPa"], point.columns["speed_rpm"]
        if boost >= wanted:
            if before is None:
                return float(speed)
            return float(before[1] + (wanted - before[0]) / (boost - before[0]) * (speed - before[1]))
        before = boost, speed
    return None
