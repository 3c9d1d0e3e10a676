"""Time and angle of the spark: latency, strobe, jitter and scatter, marks on a pulley, trigger wheel.

Kinematics: one revolution is 360 degrees, a delay t at engine speed w turns into w*t.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums.registry import Input, Output, register

SPEED = Input("rotational_speed", "engine speed", "200 rpm", "15000 rpm")
SPEEDS = Input("rotational_speed", "engine speeds", "200 rpm", "15000 rpm", many=True)
ADVANCE = Input("event_angle", "spark angle before TDC", "-10 deg", "60 deg", reference="BTDC", sheet="spark.advance")


def turned(speed: float, time: float) -> float:
    """Crank degrees turned in ``time`` [s] at ``speed`` [rad/s]."""
    return math.degrees(speed * time)


def _latency_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = []
    if given["latency"] > 0.5e-3:
        questions.append("a latency above 0.5 ms is long: microseconds written as milliseconds?")
    worst = max(abs(lost) for lost in results["retard"])
    if worst > 1.0:
        questions.append(
            f"timing drifts by {worst:.1f} deg between the strobe and full speed: set it at high speed, or add "
            "the lost angle back; a strobe lamp may have a delay of its own"
        )
    return questions


@register(
    "spark",
    "Timing that drifts with speed: latency and jitter",
    inputs={
        "set_advance": ADVANCE,
        "set_speed": Input("rotational_speed", "speed it was set at with the strobe", "200 rpm", "10000 rpm"),
        "latency": Input("time", "fixed delay of pickup and box", "0 us", "1 ms", sheet="spark.latency"),
        "speed": Input(
            "rotational_speed", "speeds to know it at", "200 rpm", "15000 rpm", many=True, sheet="limits.max_speed"
        ),
        "jitter": Input("time", "scatter of the pickup, plus or minus", "0 us", "500 us", "0 us"),
    },
    outputs={
        "advance": Output("event_angle", "deg", "real advance BTDC at each speed"),
        "retard": Output("angle", "deg", "lost since the speed it was set at"),
        "jitter_angle": Output("angle", "deg", "scatter at each speed, plus or minus"),
        "static_advance": Output("event_angle", "deg", "angle of the trigger itself, as if without delay"),
    },
    formula="""
    advance = set_advance - 360 deg * latency * (speed - set_speed)
    jitter_angle = 360 deg * speed * jitter
    static_advance = set_advance + 360 deg * set_speed * latency
    """,
    source="kinematics: 6 degrees per rpm and second",
    slips=("timing set at idle on a system with latency", "the strobe's own delay taken for the engine's"),
    question=_latency_question,
    example='--set-advance "28 deg" --set-speed "1000 rpm" --latency "55 us" --speed "4000; 7000 rpm" --jitter "30 us"',
)
def timing_latency(
    set_advance: float, set_speed: float, latency: float, speed: list[float], jitter: float
) -> dict[str, Any]:
    """Advance [deg BTDC] at each speed [rad/s] with a fixed delay [s]."""
    lost = [turned(one - set_speed, latency) for one in speed]
    return {
        "advance": [set_advance - one for one in lost],
        "retard": lost,
        "jitter_angle": [turned(one, jitter) for one in speed],
        "static_advance": set_advance + turned(set_speed, latency),
    }


@register(
    "spark",
    "Latency from strobe readings at several speeds",
    inputs={
        "readings": Input("curve", "speed: advance read", curve=("rotational_speed", "event_angle")),
    },
    outputs={
        "latency": Output("time", "us", "fixed delay that fits the readings (negative: it advances)"),
        "static_advance": Output("event_angle", "deg", "angle at no speed"),
        "largest_residual": Output("angle", "deg", "worst reading against the line"),
    },
    formula="readings fitted by: advance = static_advance - 360 deg * speed * latency",
    source="straight line by least squares",
    validity="locked timing: an advance curve would be taken for latency",
    slips=("a mechanical or mapped curve still in action", "strobe with a delay of its own"),
    question=lambda given, results: (
        ["the readings do not lie on one line (over 1 deg): a curve, a slipping mark or scatter?"]
        if results["largest_residual"] > 1.0
        else []
    ),
    example='--readings "1000 rpm: 28 deg; 3000 rpm: 27.3 deg; 6000 rpm: 26.4 deg"',
)
def latency_from_strobe(readings: list[tuple[float, float]]) -> dict[str, float]:
    """Delay [s] and static angle [deg] from (speed [rad/s], advance [deg]) pairs."""
    n = len(readings)
    mean_w = sum(w for w, _ in readings) / n
    mean_a = sum(a for _, a in readings) / n
    slope = sum((w - mean_w) * (a - mean_a) for w, a in readings) / sum((w - mean_w) ** 2 for w, _ in readings)
    start = mean_a - slope * mean_w
    return {
        "latency": -math.radians(slope),
        "static_advance": start,
        "largest_residual": max(abs(a - start - slope * w) for w, a in readings),
    }


@register(
    "spark",
    "Timing scatter from all sources together",
    inputs={
        "crank_sources": Input(
            "angle", "scatter of sources on the crank, each plus or minus", "0 deg", "10 deg", "", many=True
        ),
        "distributor_sources": Input(
            "angle", "scatter at the distributor shaft, in its own degrees", "0 deg", "10 deg", "", many=True
        ),
        "time_sources": Input("time", "scatter in time, each plus or minus", "0 us", "1 ms", "", many=True),
        "speed": SPEED,
    },
    outputs={
        "scatter": Output("angle", "deg", "root sum of squares, crank degrees, plus or minus"),
        "worst": Output("angle", "deg", "all at their ends together"),
        "from_crank": Output("angle", "deg", "share of the crank sources"),
        "from_distributor": Output("angle", "deg", "share of the distributor, doubled"),
        "from_time": Output("angle", "deg", "share of the scatter in time"),
    },
    formula="""
    scatter = sqrt(from_crank^2 + from_distributor^2 + from_time^2)
    from_distributor = 2 * sqrt(sum of squares), since it turns half as fast
    """,
    source="independent errors add by squares (any statistics text); a distributor turns at half crank speed",
    validity="independent sources, all stated in the same sense (one sigma, or limits)",
    slips=("distributor degrees counted as crank degrees",),
    example='--crank-sources "0.2; 0.3 deg" --distributor-sources "1 deg" --time-sources "30 us" --speed "6000 rpm"',
)
def timing_scatter(
    crank_sources: list[float] | None,
    distributor_sources: list[float] | None,
    time_sources: list[float] | None,
    speed: float,
) -> dict[str, float]:
    """Scatter [deg crank] from angles [deg] and times [s] at speed [rad/s]."""
    groups = {
        "from_crank": list(crank_sources or []),
        "from_distributor": [2.0 * one for one in distributor_sources or []],
        "from_time": [turned(speed, one) for one in time_sources or []],
    }
    if not any(groups.values()):
        raise ValueError("give at least one source of scatter")
    each = {name: math.sqrt(sum(one * one for one in group)) for name, group in groups.items()}
    return {
        "scatter": math.sqrt(sum(one * one for one in each.values())),
        "worst": sum(abs(one) for group in groups.values() for one in group),
        **each,
    }


@register(
    "spark",
    "Time to crank angle: delay, jitter, dwell in degrees",
    inputs={"time": Input("time", "the time", "1 us", "50 ms"), "speed": SPEED},
    outputs={
        "crank_angle": Output("angle", "deg", "degrees of the crank"),
        "distributor_angle": Output("angle", "deg", "degrees of the distributor or cam"),
    },
    formula="""
    crank_angle = 360 deg * speed * time
    distributor_angle = crank_angle / 2
    """,
    source="kinematics: 6 degrees per rpm and second",
    slips=("distributor degrees read as crank degrees",),
    example='--time "3.6 ms" --speed "7000 rpm"',
)
def time_to_angle(time: float, speed: float) -> dict[str, float]:
    """Angles [deg] turned in a time [s] at speed [rad/s]."""
    angle = turned(speed, time)
    return {"crank_angle": angle, "distributor_angle": 0.5 * angle}


@register(
    "spark",
    "Crank angle to time",
    inputs={"crank_angle": Input("angle", "degrees of the crank", "0.01 deg", "720 deg"), "speed": SPEED},
    outputs={"time": Output("time", "ms", "time it takes", ("us",))},
    formula="time = crank_angle / (360 deg * speed)",
    source="kinematics",
    example='--crank-angle "60 deg" --speed "6000 rpm"',
)
def angle_to_time(crank_angle: float, speed: float) -> dict[str, float]:
    """Time [s] of an angle [deg] at speed [rad/s]."""
    if speed <= 0.0:
        raise ValueError("the speed must be above zero")
    return {"time": math.radians(crank_angle) / speed}


@register(
    "spark",
    "One degree on a pulley or damper",
    inputs={
        "diameter": Input("length", "diameter where the mark is", "60 mm", "450 mm"),
        "angle": Input("angle", "angle to mark", "-60 deg", "60 deg", "1 deg"),
    },
    outputs={
        "one_degree": Output("length", "mm", "length of one degree along the rim", ("in",)),
        "along_rim": Output("length", "mm", "length of the angle along the rim (tape)", ("in",)),
        "straight": Output("length", "mm", "straight across with dividers", ("in",)),
    },
    formula="""
    one_degree = pi * diameter / 360
    along_rim = one_degree * angle
    straight = diameter * sin(angle / 2)
    """,
    source="plain geometry",
    slips=("radius for diameter", "tape laid over the belt groove instead of the marked rim"),
    example='--diameter "178 mm" --angle "28 deg"',
)
def degree_on_pulley(diameter: float, angle: float) -> dict[str, float]:
    """Lengths [m] of an angle [deg] on a rim."""
    one = math.pi * diameter / 360.0
    return {
        "one_degree": one,
        "along_rim": one * angle,
        "straight": diameter * math.sin(math.radians(angle) / 2.0),
    }


@register(
    "spark",
    "Trigger wheel: angle and time of a tooth, error while the engine accelerates",
    inputs={
        "teeth": Input("count", "teeth with the missing ones counted", "1", "360"),
        "missing": Input("count", "missing teeth", "0", "4", "0"),
        "speed": SPEED,
        "acceleration": Input("number", "change of engine speed, rpm per second", "0", "20000", "0"),
        "look_ahead": Input("angle", "angle between the last tooth seen and the spark", "0 deg", "360 deg", ""),
    },
    outputs={
        "tooth_angle": Output("angle", "deg", "crank degrees of a tooth"),
        "tooth_time": Output("time", "us", "time of a tooth"),
        "tooth_frequency": Output("frequency", "Hz", "teeth a second"),
        "angle_error": Output("angle", "deg", "spark late by this while speed rises evenly"),
    },
    formula="""
    tooth_angle = 360 / teeth
    angle_error = acceleration * (time of a tooth + time ahead) * time ahead / 2
    """,
    source="kinematics: the box takes the last tooth's mean speed as constant",
    example='--teeth 36 --missing 1 --speed "7000 rpm" --acceleration 1500',
)
def trigger_wheel(
    teeth: float, missing: float, speed: float, acceleration: float, look_ahead: float | None
) -> dict[str, float]:
    """Angles [deg] and times [s] of a trigger wheel; acceleration in rpm per second."""
    if teeth < 1.0 or missing >= teeth or speed <= 0.0:
        raise ValueError("teeth, missing teeth and speed do not fit together")
    tooth = 360.0 / teeth
    ahead = math.radians(tooth if look_ahead is None else look_ahead) / speed
    behind = math.radians(tooth) / speed
    alpha = acceleration * math.pi / 30.0
    # With even acceleration the mean speed of the last tooth is that of its middle: behind/2 ago.
    return {
        "tooth_angle": tooth,
        "tooth_time": behind,
        "tooth_frequency": teeth * speed / (2.0 * math.pi),
        "angle_error": math.degrees(0.5 * alpha * ahead * (ahead + behind)),
    }
