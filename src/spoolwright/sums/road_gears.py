"""Gears: road speed and engine speed in each, and where to shift. Plain geometry."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

from spoolwright.sums.curves import between
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.road_strip import ROAD
from spoolwright.sums.road_tyre import TYRE, Tyre, free_and_rolling

FINAL = Input("ratio", "final drive ratio (times any drop gear)", "0.5", "12", sheet="drive.final_drive")
GEAR = Input("ratio", "gear ratio", "0.3", "8")
_SPEED = Input("rotational_speed", "engine speed", "300 rpm", "15000 rpm")


@register(
    "road",
    "Speed in a gear, and engine speed after the shift",
    inputs={
        "speed": _SPEED,
        "gear": GEAR,
        "next_gear": Input("ratio", "ratio of the gear shifted to", "0.3", "8", ""),
        "final": FINAL,
        **TYRE,
        "slip": Input("share", "tyre or converter slip", "0 %", "15 %", "0 %", part=True),
    },
    outputs={
        "road_speed": Output("speed", "km/h", "road speed", ("mph", "m/s")),
        "speed_after_shift": Output("rotational_speed", "rpm", "engine speed after the shift"),
        "drop": Output("rotational_speed", "rpm", "engine speed lost in the shift"),
        "free_diameter": Output("length", "mm", "tyre without load", ("in",)),
        "rolling_circumference": Output("length", "m", "way of one turn"),
        "speed_per_1000_rpm": Output("speed", "km/h", "road speed for each 1000 rpm", ("mph",)),
    },
    formula="""
    road_speed = speed * rolling_circumference / (gear * final) * (1 - slip)
    speed_after_shift = speed * next_gear / gear
    """,
    source="plain geometry; the rule mph = rpm * tyre in / (gear * final * 336) is the same",
    slips=("free diameter in the 336 rule reads 3 to 4 % high",),
    question=lambda given, results: (
        [f"next_gear {given['next_gear']:.4g} is a lower gear than {given['gear']:.4g}: a shift down, which over-revs?"]
        if given["next_gear"] is not None and given["next_gear"] > given["gear"]
        else []
    ),
    caution=ROAD,
    example='--speed "6500 rpm" --gear 1.26 --next-gear 0.89 --final 4.12 --marking "195/65R15"',
)
def gear_speed(
    speed: float, gear: float, next_gear: float | None, final: float, tyre: Tyre, slip: float
) -> dict[str, float | None]:
    """Road speed [m/s] in a gear at engine speed [rad/s] and engine speed after a shift."""
    if min(gear, final) <= 0.0 or (next_gear is not None and next_gear <= 0.0):
        raise ValueError("ratios must be above zero")
    free, rolling = free_and_rolling(tyre)
    way = rolling / (2.0 * math.pi) / (gear * final) * (1.0 - slip)  # m for each radian of the crank
    after = None if next_gear is None else speed * next_gear / gear
    return {
        "road_speed": speed * way,
        "speed_after_shift": after,
        "drop": None if after is None else speed - after,
        "free_diameter": free,
        "rolling_circumference": rolling,
        "speed_per_1000_rpm": way * 1000.0 * math.pi / 30.0,
    }


@register(
    "road",
    "All gears: speeds at a shift speed and engine speed after each shift",
    inputs={
        "speed": Input("rotational_speed", "engine speed at the shift", "500 rpm", "15000 rpm"),
        "gears": Input("ratio", "gear ratios from first up", "0.3", "8", many=True, sheet="drive.gears"),
        "final": FINAL,
        **TYRE,
    },
    outputs={
        "road_speeds": Output("speed", "km/h", "road speed in each gear", ("mph",)),
        "speeds_after_shift": Output("rotational_speed", "rpm", "engine speed after each upshift"),
        "steps": Output("ratio", "1", "ratio over the next one"),
        "spread": Output("ratio", "1", "first over last"),
    },
    formula="""
    road_speeds = speed * rolling_circumference / (2*pi * gears * final)
    speeds_after_shift = speed * next gear / gear
    """,
    source="plain geometry",
    caution=ROAD,
    example='--speed "6500 rpm" --gears "3.78; 2.06; 1.26; 0.89" --final 4.12 --marking "195/65R15"',
)
def gear_table(speed: float, gears: list[float], final: float, tyre: Tyre) -> dict[str, Any]:
    """Road speeds [m/s] of all gears at engine speed [rad/s]."""
    if min(*gears, final) <= 0.0:
        raise ValueError("ratios must be above zero")
    _, rolling = free_and_rolling(tyre)
    return {
        "road_speeds": [speed * rolling / (2.0 * math.pi) / (g * final) for g in gears],
        "speeds_after_shift": [speed * b / a for a, b in pairwise(gears)],
        "steps": [a / b for a, b in pairwise(gears)],
        "spread": gears[0] / gears[-1],
    }


@register(
    "road",
    "Engine speed at a road speed, and the ratio for it",
    inputs={
        "road_speed": Input("speed", "road speed", "3 km/h", "500 km/h"),
        "gear": Input("ratio", "gear ratio; or give speed to learn the ratio", "0.3", "8", ""),
        "final": FINAL,
        "speed": Input("rotational_speed", "engine speed wanted", "300 rpm", "15000 rpm", ""),
        **TYRE,
    },
    outputs={
        "engine_speed": Output("rotational_speed", "rpm", "engine speed"),
        "gear_needed": Output("ratio", "1", "gear ratio"),
        "overall": Output("ratio", "1", "gear times final"),
        "final_needed": Output("ratio", "1", "final drive for that engine speed in this gear (where both are given)"),
    },
    formula="""
    engine_speed = road_speed * gear * final / rolling_circumference
    gear_needed = speed * rolling_circumference / (road_speed * final)
    """,
    source="plain geometry",
    example='--road-speed "145 km/h" --gear 1.26 --final 4.12 --marking "195/65R15"',
)
def engine_speed_in_gear(
    road_speed: float, gear: float | None, final: float, speed: float | None, tyre: Tyre
) -> dict[str, float | None]:
    """Engine speed [rad/s] at a road speed [m/s], or the gear for an engine speed."""
    if road_speed <= 0.0 or final <= 0.0:
        raise ValueError("road speed and final drive must be above zero")
    if gear is None and speed is None:
        raise ValueError("give gear or speed")
    _, rolling = free_and_rolling(tyre)
    wheel = road_speed / rolling * 2.0 * math.pi
    final_needed = speed / wheel / gear if gear and speed else None
    if gear is None:
        assert speed is not None
        gear = speed / wheel / final
    return {
        "engine_speed": wheel * gear * final,
        "gear_needed": gear,
        "overall": gear * final,
        "final_needed": final_needed,
    }


@register(
    "road",
    "Best shift point from a torque curve",
    inputs={
        "torque": Input("curve", "engine speed: torque", curve=("rotational_speed", "torque")),
        "gear": GEAR,
        "next_gear": Input("ratio", "ratio of the gear shifted to", "0.3", "8"),
        "limit": Input("rotational_speed", "highest speed allowed", "1000 rpm", "15000 rpm", sheet="limits.max_speed"),
    },
    outputs={
        "shift_speed": Output("rotational_speed", "rpm", "shift here"),
        "speed_after_shift": Output("rotational_speed", "rpm", "engine speed after it"),
        "wheel_torque_ratio": Output("ratio", "1", "torque at the wheels after over before, at that point"),
        "at_the_limit": Output("number", "1", "1 where the limit decides, 0 where the curves cross before it"),
    },
    formula="shift where torque(N) * gear = torque(N * next_gear / gear) * next_gear, else at limit",
    source="equal pull at the wheels before and after the shift",
    validity="steady curve: boost that must build again after the shift moves the point up",
    slips=("shifting at peak power", "torque taken beyond the measured curve"),
    caution=ROAD,
    example='--torque "2500 rpm: 190 N m; 4000 rpm: 297 N m; 5000 rpm: 319 N m; 6000 rpm: 297 N m; 7000 rpm: 235 N m" '
    '--gear 1.26 --next-gear 0.89 --limit "7000 rpm"',
)
def best_shift_point(
    torque: list[tuple[float, float]], gear: float, next_gear: float, limit: float
) -> dict[str, float]:
    """Engine speed [rad/s] at which the next gear pulls as well. Raises ValueError outside the torque curve."""
    if not 0.0 < next_gear < gear:
        raise ValueError("the next gear must have the smaller ratio, both above zero")
    top = min(limit, torque[-1][0])
    step = next_gear / gear

    def gain(speed: float) -> float:
        before, after = between(torque, speed), between(torque, speed * step)
        if before is None or after is None:
            raise ValueError("the torque curve does not reach down to the speed after the shift; measure it lower")
        return after * step - before

    low = torque[0][0] / step
    if low >= top:
        raise ValueError("the torque curve does not reach down to the speed after the shift; measure it lower")
    if gain(top) < 0.0:
        shift, decided = top, 1.0
    else:
        n = 2000
        speeds = [low + (top - low) * i / n for i in range(n + 1)]
        last_loss = max((i for i in range(n + 1) if gain(speeds[i]) < 0.0), default=-1)
        shift, decided = speeds[min(last_loss + 1, n)], 0.0
    before, after = between(torque, shift), between(torque, shift * step)
    assert before is not None
    assert after is not None
    return {
        "shift_speed": shift,
        "speed_after_shift": shift * step,
        "wheel_torque_ratio": after * step / before,
        "at_the_limit": decided,
    }
