"""Sums of the road: tyre, gears, shift point, forces, clutch.

Plain geometry and Newton's law. Strip times are in ``road_strip``.
"""

from __future__ import annotations

import math
import re
from itertools import pairwise
from typing import Any

from spoolwright.constants import STANDARD_GRAVITY
from spoolwright.sums import road_strip  # noqa: F401 - it registers the rest of this topic
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.curves import between
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.road_strip import MASS, ROAD
from spoolwright.units import to_si

_TYRE = {
    "marking": Input("text", 'tyre marking, for example "195/65R15"', default="", unit="195/65R15"),
    "width": Input("length", "section width, with aspect and rim; or give marking", "100 mm", "400 mm", ""),
    "aspect": Input("share", "height over width", "20 %", "100 %", ""),
    "rim": Input("length", "rim diameter", "8 in", "24 in", ""),
    "diameter": Input("length", "free diameter as measured; or give marking", "300 mm", "1200 mm", ""),
    "rolling_circumference": Input("length", "measured over a turn under load; or give marking", "0.9 m", "3.8 m", ""),
    "rolling_share": Input("share", "rolling over free circumference", "92 %", "100 %", "96.5 %"),
}
_FINAL = Input("ratio", "final drive ratio (times any drop gear)", "0.5", "12", sheet="drive.final_drive")
_GEAR = Input("ratio", "gear ratio", "0.3", "8")
_SPEED = Input("rotational_speed", "engine speed", "300 rpm", "15000 rpm")


# ----------------------------------------------------------------------------- tyre
_MARKING = re.compile(
    r"(?i)\s*(?:P|LT)?\s*(\d{3})\s*/\s*(\d{2,3})\s*[- ]?\s*Z?[RDB]?F?\s*[- ]?\s*(\d{1,2}(?:\.\d)?)\b.*"
)
_INCHES = re.compile(r"(?i)\s*(\d{2}(?:\.\d+)?)\s*x\s*\d{1,2}(?:\.\d+)?\s*-?\s*R?\s*\d{1,2}\b.*")
_NO_ASPECT = re.compile(r"(?i)\s*(\d{3})\s*[- ]?\s*S?R\s*[- ]?\s*(\d{1,2})\b.*")


def free_diameter_of(marking: str) -> float:
    """Free diameter [m] of a tyre marking; "155SR13" counts as 80 %, "26x8.5-15" as inches."""
    found = _MARKING.fullmatch(marking)
    if found:
        return to_si(float(found[3]), "length", "in") + 2.0 * float(found[1]) / 1000.0 * float(found[2]) / 100.0
    found = _NO_ASPECT.fullmatch(marking)
    if found:
        return to_si(float(found[2]), "length", "in") + 2.0 * float(found[1]) / 1000.0 * 0.80
    found = _INCHES.fullmatch(marking)
    if found:
        return to_si(float(found[1]), "length", "in")
    raise ValueError(f'"{marking}" is no tyre marking read here; write "195/65R15", or give width, aspect and rim')


def tyre(
    marking: str | None,
    width: float | None,
    aspect: float | None,
    rim: float | None,
    diameter: float | None,
    rolling_circumference: float | None,
    rolling_share: float,
) -> tuple[float, float]:
    """Free diameter [m] and rolling circumference [m] from whichever way the tyre is stated."""
    which = one_of(marking=marking, width=width, diameter=diameter, rolling_circumference=rolling_circumference)
    if rolling_share <= 0.0:
        raise ValueError("the rolling share must be above zero")
    if which == "rolling_circumference":
        assert rolling_circumference is not None
        return rolling_circumference / (math.pi * rolling_share), rolling_circumference
    if which == "marking":
        assert marking is not None
        free = free_diameter_of(marking)
    elif which == "diameter":
        assert diameter is not None
        free = diameter
    else:
        if width is None or aspect is None or rim is None:
            raise ValueError("width needs aspect and rim beside it")
        free = rim + 2.0 * width * aspect
    if free <= 0.0:
        raise ValueError("the tyre must have a size above zero")
    return free, math.pi * free * rolling_share


@register(
    "road",
    "Tyre: diameter and rolling circumference from the marking",
    inputs=_TYRE,
    outputs={
        "free_diameter": Output("length", "mm", "diameter without load", ("in",)),
        "rolling_circumference": Output("length", "m", "way of one turn", ("in",)),
        "rolling_radius": Output("length", "mm", "circumference over 2 pi"),
        "turns_per_distance": Output("number", "1", "turns for each kilometre"),
    },
    formula="""
    free_diameter = rim + 2 * width * aspect
    rolling_circumference = pi * free_diameter * rolling_share
    """,
    source="plain geometry; 96 to 97 % rolling for radial tyres is common practice, no source",
    slips=("free circumference taken as rolling", "growth with speed left out: drag tyres grow by several per cent"),
    example='--marking "195/65R15"',
)
def tyre_size(
    marking: str | None,
    width: float | None,
    aspect: float | None,
    rim: float | None,
    diameter: float | None,
    rolling_circumference: float | None,
    rolling_share: float,
) -> dict[str, float]:
    """Free diameter and rolling circumference [m] of a tyre."""
    free, rolling = tyre(marking, width, aspect, rim, diameter, rolling_circumference, rolling_share)
    return {
        "free_diameter": free,
        "rolling_circumference": rolling,
        "rolling_radius": rolling / (2.0 * math.pi),
        "turns_per_distance": 1000.0 / rolling,
    }


# ----------------------------------------------------------------------------- gears
@register(
    "road",
    "Speed in a gear, and engine speed after the shift",
    inputs={
        "speed": _SPEED,
        "gear": _GEAR,
        "next_gear": Input("ratio", "ratio of the gear shifted to", "0.3", "8", ""),
        "final": _FINAL,
        **_TYRE,
        "slip": Input("share", "tyre or converter slip", "0 %", "15 %", "0 %"),
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
    speed: float,
    gear: float,
    next_gear: float | None,
    final: float,
    marking: str | None,
    width: float | None,
    aspect: float | None,
    rim: float | None,
    diameter: float | None,
    rolling_circumference: float | None,
    rolling_share: float,
    slip: float,
) -> dict[str, float | None]:
    """Road speed [m/s] in a gear at engine speed [rad/s] and engine speed after a shift."""
    if min(gear, final) <= 0.0 or (next_gear is not None and next_gear <= 0.0):
        raise ValueError("ratios must be above zero")
    free, rolling = tyre(marking, width, aspect, rim, diameter, rolling_circumference, rolling_share)
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
        "final": _FINAL,
        **_TYRE,
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
def gear_table(
    speed: float,
    gears: list[float],
    final: float,
    marking: str | None,
    width: float | None,
    aspect: float | None,
    rim: float | None,
    diameter: float | None,
    rolling_circumference: float | None,
    rolling_share: float,
) -> dict[str, Any]:
    """Road speeds [m/s] of all gears at engine speed [rad/s]."""
    if min(*gears, final) <= 0.0:
        raise ValueError("ratios must be above zero")
    _, rolling = tyre(marking, width, aspect, rim, diameter, rolling_circumference, rolling_share)
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
        "final": _FINAL,
        "speed": Input("rotational_speed", "engine speed wanted", "300 rpm", "15000 rpm", ""),
        **_TYRE,
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
    road_speed: float,
    gear: float | None,
    final: float,
    speed: float | None,
    marking: str | None,
    width: float | None,
    aspect: float | None,
    rim: float | None,
    diameter: float | None,
    rolling_circumference: float | None,
    rolling_share: float,
) -> dict[str, float | None]:
    """Engine speed [rad/s] at a road speed [m/s], or the gear for an engine speed."""
    if road_speed <= 0.0 or final <= 0.0:
        raise ValueError("road speed and final drive must be above zero")
    if gear is None and speed is None:
        raise ValueError("give gear or speed")
    _, rolling = tyre(marking, width, aspect, rim, diameter, rolling_circumference, rolling_share)
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
        "gear": _GEAR,
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


# ----------------------------------------------------------------------------- forces
@register(
    "road",
    "Pull at the wheels and acceleration in a gear",
    inputs={
        "torque": Input("torque", "engine torque", "1 N m", "3000 N m"),
        "gear": _GEAR,
        "final": _FINAL,
        "efficiency": Input("share", "gearbox and axle", "70 %", "99 %", "88 %"),
        **_TYRE,
        "mass": MASS,
        "wheel_inertia": Input("inertia", "all wheels and shafts", "0 kg m2", "20 kg m2", "0 kg m2"),
        "engine_inertia": Input("inertia", "engine, clutch, flywheel", "0 kg m2", "2 kg m2", "0 kg m2"),
        "resistance": Input("force", "rolling, air and slope together", "0 N", "10000 N", "0 N"),
    },
    outputs={
        "wheel_torque": Output("torque", "N m", "torque at the driven axle", ("lbf ft",)),
        "pull": Output("force", "N", "force at the tyres", ("lbf",)),
        "acceleration": Output("acceleration", "m/s2", "acceleration, turning masses counted", ("gn",)),
        "equivalent_mass": Output("mass", "kg", "mass with the turning parts", ("lb",)),
    },
    formula="""
    pull = torque * gear * final * efficiency / rolling radius
    equivalent_mass = mass + (wheel_inertia + engine_inertia * (gear * final)^2) / rolling radius^2
    acceleration = (pull - resistance) / equivalent_mass
    """,
    source="Newton's second law",
    slips=("free radius for rolling radius", "engine inertia forgotten in low gears"),
    question=lambda given, results: (
        ["more than 1 g: have the tyres that much grip, or is it limited by slip?"]
        if results["acceleration"] > STANDARD_GRAVITY
        else []
    ),
    caution=ROAD,
    example='--torque "319 N m" --gear 2.06 --final 4.12 --marking "195/65R15" --mass "2050 lb"',
)
def pull_in_gear(
    torque: float,
    gear: float,
    final: float,
    efficiency: float,
    marking: str | None,
    width: float | None,
    aspect: float | None,
    rim: float | None,
    diameter: float | None,
    rolling_circumference: float | None,
    rolling_share: float,
    mass: float,
    wheel_inertia: float,
    engine_inertia: float,
    resistance: float,
) -> dict[str, float]:
    """Force [N] and acceleration [m/s2] from engine torque [N m]."""
    if min(gear, final, mass) <= 0.0:
        raise ValueError("ratios and mass must be above zero")
    _, rolling = tyre(marking, width, aspect, rim, diameter, rolling_circumference, rolling_share)
    radius, overall = rolling / (2.0 * math.pi), gear * final
    wheel = torque * overall * efficiency
    equivalent = mass + (wheel_inertia + engine_inertia * overall**2) / radius**2
    return {
        "wheel_torque": wheel,
        "pull": wheel / radius,
        "acceleration": (wheel / radius - resistance) / equivalent,
        "equivalent_mass": equivalent,
    }


@register(
    "road",
    "Force and power to hold a speed: rolling, air, slope",
    inputs={
        "mass": MASS,
        "road_speed": Input("speed", "road speed", "0 km/h", "500 km/h"),
        "grade": Input("share", "slope, rise over run", "-40 %", "60 %", "0 %"),
        "rolling_resistance": Input("number", "rolling resistance coefficient", "0.006", "0.05", "0.014"),
        "drag_area": Input("area", "drag coefficient times frontal area", "0.2 m2", "3 m2", "0.7 m2"),
        "density": Input("density", "air density", "0.8 kg/m3", "1.4 kg/m3", "1.2 kg/m3"),
        "efficiency": Input("share", "gearbox and axle", "70 %", "99 %", "88 %"),
        "acceleration": Input("acceleration", "acceleration wanted on top", "0 m/s2", "15 m/s2", "0 m/s2"),
    },
    outputs={
        "climbing": Output("force", "N", "slope", ("lbf",)),
        "rolling": Output("force", "N", "rolling"),
        "air": Output("force", "N", "air"),
        "inertia": Output("force", "N", "acceleration"),
        "total": Output("force", "N", "all of it at the tyres", ("lbf",)),
        "wheel_power": Output("power", "kW", "power at the wheels", ("hp",)),
        "engine_power": Output("power", "kW", "power at the engine", ("hp", "PS")),
    },
    formula="""
    climbing = mass * g * sin(atan(grade))
    rolling = rolling_resistance * mass * g * cos(atan(grade))
    air = density / 2 * drag_area * road_speed^2
    engine_power = total * road_speed / efficiency
    """,
    source="Newton's second law; drag by definition",
    slips=("slope in degrees written as per cent", "climbing at sea-level air density"),
    example='--mass "2050 lb" --road-speed "140 km/h" --grade "8 %"',
)
def road_load(
    mass: float,
    road_speed: float,
    grade: float,
    rolling_resistance: float,
    drag_area: float,
    density: float,
    efficiency: float,
    acceleration: float,
) -> dict[str, float]:
    """Forces [N] and powers [W] to hold a road speed [m/s] on a slope."""
    if not 0.0 < efficiency <= 1.0:
        raise ValueError("the efficiency lies between 0 and 100 %")
    angle = math.atan(grade)
    climbing = mass * STANDARD_GRAVITY * math.sin(angle)
    rolling = rolling_resistance * mass * STANDARD_GRAVITY * math.cos(angle)
    drag = 0.5 * density * drag_area * road_speed**2
    total = climbing + rolling + drag + mass * acceleration
    return {
        "climbing": climbing,
        "rolling": rolling,
        "air": drag,
        "inertia": mass * acceleration,
        "total": total,
        "wheel_power": total * road_speed,
        "engine_power": total * road_speed / efficiency,
    }


@register(
    "road",
    "Torque a clutch can hold",
    inputs={
        "friction": Input("number", "friction coefficient", "0.1", "0.6", "0.3"),
        "clamp": Input("force", "clamp force along the axle", "50 N", "30000 N"),
        "mean_radius": Input("length", "mean radius of the lining", "15 mm", "250 mm"),
        "faces": Input("count", "rubbing faces: 2 for one plate, 1 for a cone", "1", "20", "2"),
        "half_angle": Input("angle", "half angle of a cone; 90 deg for plates", "5 deg", "90 deg", "90 deg"),
        "torque": Input("torque", "engine torque, to see the margin", "1 N m", "3000 N m", ""),
    },
    outputs={
        "capacity": Output("torque", "N m", "torque it can hold", ("lbf ft",)),
        "margin": Output("share", "%", "capacity over torque, less one"),
    },
    formula="""
    capacity = friction * clamp * mean_radius * faces / sin(half_angle)
    margin = capacity / torque - 1
    """,
    source="Theory of Machines text, Ex. 10.34, p. 316 (cone); even wear",
    validity="cold lining, hot ones lose a third (from memory); 30 to 50 % of margin is common practice, no source",
    example='--clamp "6500 N" --mean-radius "85 mm" --torque "319 N m"',
)
def clutch_torque(
    friction: float, clamp: float, mean_radius: float, faces: float, half_angle: float, torque: float | None
) -> dict[str, float | None]:
    """Torque capacity [N m] of a plate or cone clutch."""
    if not 0.0 < half_angle <= 90.0:
        raise ValueError("the half angle lies between 0 and 90 degrees")
    capacity = friction * clamp * mean_radius * faces / math.sin(math.radians(half_angle))
    return {"capacity": capacity, "margin": None if not torque else capacity / torque - 1.0}
