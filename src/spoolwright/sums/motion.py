"""Sums of the crank: piston speed and acceleration, forces through rod and pin, torque, power, mean pressures.

The slider-crank is exact, with pin offset; angles count from the piston's own top position. The compiled kernel
of the cylinder uses the same closed form; a test holds the two together.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.sums import work  # noqa: F401  registers torque, power and mean pressures
from spoolwright.sums.measures import BORE, PIN_OFFSET, RECIPROCATING_MASS, ROD_LENGTH, SPEED, STROKE
from spoolwright.sums.registry import Input, Output, register

ANGLE = Input("angle", "crank angle after TDC", "-720 deg", "720 deg", reference="ATDC")


# ----------------------------------------------------------------------------- the slider-crank, plain
def _crank(angle: float, radius: float, rod: float, offset: float) -> tuple[float, float, float]:
    """Crank angle from its upright [rad], side of the crank pin from the pin line and height of the rod [m]."""
    if not radius > 0.0:
        raise ValueError("the stroke must be above zero")
    if not rod > radius + abs(offset):
        raise ValueError("the rod is too short for this stroke and pin offset: the crank cannot turn")
    a = math.radians(angle) - math.asin(offset / (rod + radius))
    side = radius * math.sin(a) + offset
    return a, side, math.sqrt(rod**2 - side**2)


def piston_travel(angle: float, radius: float, rod: float, offset: float) -> float:
    """Piston below its top [m] at a crank angle [deg]; crank radius, rod length, pin offset [m]."""
    a, _, upright = _crank(angle, radius, rod, offset)
    return math.sqrt((rod + radius) ** 2 - offset**2) - radius * math.cos(a) - upright


def piston_rate(angle: float, radius: float, rod: float, offset: float) -> float:
    """Piston travel per crank angle [m/rad], positive downwards."""
    a, side, upright = _crank(angle, radius, rod, offset)
    return radius * (math.sin(a) + math.cos(a) * side / upright)


def piston_curvature(angle: float, radius: float, rod: float, offset: float) -> float:
    """Second derivative of piston travel by crank angle [m/rad2], positive downwards."""
    a, side, upright = _crank(angle, radius, rod, offset)
    swing = radius * math.cos(a)
    return swing - radius * math.sin(a) * side / upright + swing**2 * rod**2 / upright**3


# ----------------------------------------------------------------------------- sums
@register(
    "motion",
    "Mean piston speed",
    inputs={"stroke": STROKE, "speed": SPEED},
    outputs={"mean_piston_speed": Output("speed", "m/s", "mean piston speed", ("ft/min",))},
    formula="mean_piston_speed = 2 * stroke * speed / (2*pi)",
    source="definition",
    validity="Usual ceilings: forged street 20 to 22 m/s, race 25 m/s (from memory, common practice).",
    question=lambda given, results: (
        [f"{results['mean_piston_speed']:.1f} m/s is above what race engines run (about 25 m/s)"]
        if results["mean_piston_speed"] > 26.0
        else []
    ),
    example='--stroke "80 mm" --speed "7000 rpm"',
)
def mean_piston_speed(stroke: float, speed: float) -> dict[str, float]:
    """Speed [m/s] from stroke [m] and speed [rad/s]."""
    return {"mean_piston_speed": stroke * speed / math.pi}


@register(
    "motion",
    "Engine speed at a mean piston speed",
    inputs={
        "stroke": STROKE,
        "mean_piston_speed": Input("speed", "mean piston speed allowed", "3 m/s", "30 m/s"),
    },
    outputs={"speed": Output("rotational_speed", "rpm", "engine speed")},
    formula="speed = 2*pi * mean_piston_speed / (2 * stroke)",
    source="definition",
    example='--stroke "80 mm" --mean-piston-speed "21 m/s"',
)
def speed_for_piston_speed(stroke: float, mean_piston_speed: float) -> dict[str, float]:
    """Speed [rad/s]."""
    return {"speed": math.pi * mean_piston_speed / stroke}


@register(
    "motion",
    "Piston travel, speed and acceleration at a crank angle, exact",
    inputs={
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "angle": ANGLE,
        "speed": SPEED,
        "pin_offset": PIN_OFFSET,
        "bore": replace(BORE, default="", meaning="cylinder bore, for the volume"),
        "compression_ratio": Input("ratio", "static ratio, for the volume", "5:1", "16:1", ""),
    },
    outputs={
        "travel": Output("length", "mm", "piston below its top", ("in", "thou")),
        "velocity": Output("speed", "m/s", "piston speed, downwards (+)", ("ft/min",)),
        "acceleration": Output("acceleration", "m/s2", "piston acceleration, downwards (+)", ("gn",)),
        "rod_angle": Output("angle", "deg", "rod from the cylinder's axis"),
        "volume": Output("volume", "cc", "gas volume, where bore and ratio are given", ("in3",)),
    },
    formula="""
    travel = sqrt((L + r)^2 - e^2) - r*cos(a) - sqrt(L^2 - (r*sin(a) + e)^2)
    velocity = w * d(travel)/da
    acceleration = w^2 * d2(travel)/da2
    with r = stroke/2, L = rod_length, e = pin_offset, a = angle - asin(e/(L + r))
    """,
    source="exact slider-crank geometry; standard textbook relation",
    slips=("degrees before TDC given as after",),
    example='--stroke "86 mm" --rod-length "172 mm" --angle "20 deg ATDC" --speed "3000 rpm"',
)
def piston_motion(
    stroke: float,
    rod_length: float,
    angle: float,
    speed: float,
    pin_offset: float,
    bore: float | None,
    compression_ratio: float | None,
) -> dict[str, float | None]:
    """Travel [m], speed [m/s], acceleration [m/s2], rod angle [deg], volume [m3] or None."""
    r = stroke / 2.0
    travel = piston_travel(angle, r, rod_length, pin_offset)
    _, side, _ = _crank(angle, r, rod_length, pin_offset)
    volume = None
    if (bore is None) != (compression_ratio is None):
        raise ValueError("the volume needs both bore and compression_ratio")
    if bore is not None and compression_ratio is not None:
        if compression_ratio <= 1.0:
            raise ValueError("a compression ratio is above 1")
        volume = math.pi / 4.0 * bore**2 * (stroke / (compression_ratio - 1.0) + travel)
    return {
        "travel": travel,
        "velocity": speed * piston_rate(angle, r, rod_length, pin_offset),
        "acceleration": speed**2 * piston_curvature(angle, r, rod_length, pin_offset),
        "rod_angle": math.degrees(math.asin(side / rod_length)),
        "volume": volume,
    }


@register(
    "motion",
    "Crank angle for a piston travel: timing by piston stop or dial gauge",
    inputs={
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "travel": Input("length", "piston below its top", "0 mm", "200 mm"),
        "pin_offset": PIN_OFFSET,
    },
    outputs={
        "angle": Output("angle", "deg", "crank angle after TDC where the piston stands there"),
        "angle_before": Output("angle", "deg", "crank angle before TDC where it stands there as well"),
    },
    formula="travel = piston travel at angle (exact slider-crank, solved by bisection)",
    source="exact slider-crank geometry",
    example='--stroke "80 mm" --rod-length "137 mm" --travel "5.2 mm"',
)
def angle_for_travel(stroke: float, rod_length: float, travel: float, pin_offset: float) -> dict[str, float]:
    """Angles [deg]; travel and lengths [m]. Raises ValueError beyond the stroke."""
    r = stroke / 2.0
    # The bottom lies where crank and rod are folded together; seen from the top position.
    bottom = 180.0 - math.degrees(math.asin(pin_offset / (rod_length - r)) - math.asin(pin_offset / (rod_length + r)))
    if not 0.0 <= travel <= piston_travel(bottom, r, rod_length, pin_offset):
        raise ValueError("the travel must lie between zero and the stroke")

    def solve(low: float, high: float) -> float:  # travel rises from low to high
        for _ in range(80):
            middle = 0.5 * (low + high)
            if piston_travel(middle, r, rod_length, pin_offset) < travel:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)

    return {"angle": solve(0.0, bottom), "angle_before": -solve(0.0, bottom - 360.0)}


@register(
    "motion",
    "Greatest piston speed and where it comes",
    inputs={"stroke": STROKE, "rod_length": ROD_LENGTH, "speed": SPEED, "pin_offset": PIN_OFFSET},
    outputs={
        "angle": Output("angle", "deg", "crank angle after TDC"),
        "peak_speed": Output("speed", "m/s", "greatest piston speed on the way down", ("ft/min",)),
        "over_mean": Output("ratio", "1", "peak over mean piston speed"),
    },
    formula="acceleration at angle = 0 (exact slider-crank, solved by bisection)",
    source="exact slider-crank geometry",
    example='--stroke "80 mm" --rod-length "137 mm" --speed "7000 rpm"',
)
def peak_piston_speed(stroke: float, rod_length: float, speed: float, pin_offset: float) -> dict[str, float]:
    """Angle [deg], speed [m/s]."""
    r = stroke / 2.0
    low, high = 20.0, 120.0  # acceleration falls through zero once between them
    for _ in range(60):
        middle = 0.5 * (low + high)
        if piston_curvature(middle, r, rod_length, pin_offset) > 0.0:
            low = middle
        else:
            high = middle
    angle = 0.5 * (low + high)
    peak = speed * piston_rate(angle, r, rod_length, pin_offset)
    return {
        "angle": angle,
        "peak_speed": peak,
        "over_mean": peak / mean_piston_speed(stroke, speed)["mean_piston_speed"],
    }


@register(
    "motion",
    "Piston speed and acceleration by the two-term series",
    inputs={"stroke": STROKE, "rod_length": ROD_LENGTH, "angle": ANGLE, "speed": SPEED},
    outputs={
        "velocity": Output("speed", "m/s", "piston speed, downwards (+)", ("ft/min",)),
        "acceleration": Output("acceleration", "m/s2", "piston acceleration, downwards (+)", ("gn",)),
        "zero_acceleration_angle": Output("angle", "deg", "crank angle of no acceleration: of the greatest speed"),
        "peak_speed": Output("speed", "m/s", "greatest piston speed", ("ft/min",)),
    },
    formula="""
    velocity = w*r*(sin(angle) + sin(2*angle)/(2*n))
    acceleration = w^2*r*(cos(angle) + cos(2*angle)/n)
    with r = stroke/2, n = rod_length/r
    """,
    source="textbook series, first two terms of the slider-crank",
    validity="Exact in acceleration at TDC and BDC only; elsewhere 1 % off for usual rods. piston_motion is exact.",
    example='--stroke "80 mm" --rod-length "137 mm" --angle "40 deg ATDC" --speed "6000 rpm"',
)
def piston_motion_series(stroke: float, rod_length: float, angle: float, speed: float) -> dict[str, float]:
    """Speed [m/s], acceleration [m/s2], angle [deg]."""
    r = stroke / 2.0
    n = rod_length / r
    if not n > 1.0:
        raise ValueError("the rod is too short for this stroke: the crank cannot turn")

    def velocity(a: float) -> float:
        return speed * r * (math.sin(a) + math.sin(2.0 * a) / (2.0 * n))

    a = math.radians(angle)
    # cos(a) + cos(2a)/n = 0 is a quadratic in cos(a).
    still = math.acos((-n + math.sqrt(n**2 + 8.0)) / 4.0)
    return {
        "velocity": velocity(a),
        "acceleration": speed**2 * r * (math.cos(a) + math.cos(2.0 * a) / n),
        "zero_acceleration_angle": math.degrees(still),
        "peak_speed": velocity(still),
    }


@register(
    "motion",
    "Piston acceleration and inertia force at the dead centres",
    inputs={
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "reciprocating_mass": RECIPROCATING_MASS,
        "speed": SPEED,
    },
    outputs={
        "tdc_acceleration": Output("acceleration", "gn", "acceleration at TDC", ("m/s2",)),
        "inertia_force": Output("force", "kN", "pull on the rod at TDC overlap", ("lbf", "N")),
        "bdc_acceleration": Output("acceleration", "gn", "acceleration at BDC, upwards", ("m/s2",)),
        "bdc_force": Output("force", "kN", "push on the rod at BDC", ("lbf", "N")),
    },
    formula="""
    tdc_acceleration = speed^2 * stroke/2 * (1 + stroke/(2*rod_length))
    inertia_force = reciprocating_mass * tdc_acceleration
    bdc_acceleration = speed^2 * stroke/2 * (1 - stroke/(2*rod_length))
    bdc_force = reciprocating_mass * bdc_acceleration
    """,
    source="slider-crank; exact at the dead centres without pin offset; standard textbook relation",
    validity="At TDC of the gas exchange no gas pressure helps: this pull is what the rod bolts see.",
    slips=("piston weighed without pin and rings", "stroke taken for the crank radius", "speed in rpm for rad/s"),
    caution="A rod bolt that lets go destroys the engine and can hurt. Leave the bolt maker's margin.",
    example='--stroke "80 mm" --rod-length "137 mm" --reciprocating-mass "520 g" --speed "7000 rpm"',
)
def inertia_load(stroke: float, rod_length: float, reciprocating_mass: float, speed: float) -> dict[str, float]:
    """Accelerations [m/s2] and forces [N]."""
    r = stroke / 2.0
    if not rod_length > r:
        raise ValueError("the rod is too short for this stroke: the crank cannot turn")
    top = speed**2 * r * (1.0 + r / rod_length)
    bottom = speed**2 * r * (1.0 - r / rod_length)
    return {
        "tdc_acceleration": top,
        "inertia_force": reciprocating_mass * top,
        "bdc_acceleration": bottom,
        "bdc_force": reciprocating_mass * bottom,
    }


def _forces_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["rod_force"] < 0.0:
        return ["inertia is larger than gas force here: the rod is pulled, not pushed"]
    return []


@register(
    "motion",
    "Forces at a crank angle: piston, side thrust, rod, crank pin, torque",
    inputs={
        "bore": BORE,
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "reciprocating_mass": RECIPROCATING_MASS,
        "angle": ANGLE,
        "gas_pressure": Input(
            "pressure_difference", "gas above the piston less crankcase below it", "-1 bar", "200 bar"
        ),
        "speed": SPEED,
        "pin_offset": PIN_OFFSET,
    },
    outputs={
        "piston_force": Output("force", "kN", "gas less inertia, downwards (+)", ("lbf",)),
        "side_thrust": Output("force", "kN", "piston on the cylinder wall", ("lbf",)),
        "rod_force": Output("force", "kN", "along the rod, push (+)", ("lbf",)),
        "tangential_force": Output("force", "kN", "on the crank pin, in the way of turning", ("lbf",)),
        "radial_force": Output("force", "kN", "on the crank pin, towards the crank axis (+)", ("lbf",)),
        "torque": Output("torque", "N m", "turning moment", ("lbf ft",)),
    },
    formula="""
    piston_force = gas_pressure*pi/4*bore^2 - reciprocating_mass*acceleration
    side_thrust = piston_force * tan(phi)
    rod_force = piston_force / cos(phi)
    tangential_force = rod_force * sin(a + phi)
    radial_force = rod_force * cos(a + phi)
    torque = tangential_force * stroke/2
    with a the crank and phi the rod angle from the cylinder's axis, acceleration exact
    """,
    source="statics of the slider-crank; standard textbook relation",
    validity="No friction, no weight, rod's own swing inertia left out.",
    question=_forces_question,
    example=(
        '--bore "92.5 mm" --stroke "80 mm" --rod-length "137 mm" --reciprocating-mass "520 g" --angle "14 deg ATDC" '
        '--gas-pressure "75 bar" --speed "5500 rpm"'
    ),
)
def piston_forces(
    bore: float,
    stroke: float,
    rod_length: float,
    reciprocating_mass: float,
    angle: float,
    gas_pressure: float,
    speed: float,
    pin_offset: float,
) -> dict[str, float]:
    """Forces [N] and torque [N m]."""
    r = stroke / 2.0
    a, side, upright = _crank(angle, r, rod_length, pin_offset)
    acceleration = speed**2 * piston_curvature(angle, r, rod_length, pin_offset)
    force = gas_pressure * math.pi / 4.0 * bore**2 - reciprocating_mass * acceleration
    phi = math.atan2(side, upright)
    rod = force / math.cos(phi)
    return {
        "piston_force": force,
        "side_thrust": force * math.tan(phi),
        "rod_force": rod,
        "tangential_force": rod * math.sin(a + phi),
        "radial_force": rod * math.cos(a + phi),
        "torque": rod * math.sin(a + phi) * r,
    }


@register(
    "motion",
    "Rod ratio and the rod's steepest angle",
    inputs={"stroke": STROKE, "rod_length": ROD_LENGTH},
    outputs={
        "rod_ratio": Output("ratio", "1", "rod length over stroke"),
        "rod_over_crank": Output("ratio", "1", "rod length over crank radius, the textbook's n"),
        "steepest_angle": Output("angle", "deg", "greatest rod angle from the cylinder's axis"),
    },
    formula="""
    rod_ratio = rod_length / stroke
    rod_over_crank = rod_length / (stroke/2)
    steepest_angle = asin(stroke / (2*rod_length))
    """,
    source="plain geometry",
    slips=("rod over stroke compared with rod over crank radius: a factor of two",),
    example='--stroke "80 mm" --rod-length "137 mm"',
)
def rod_ratio(stroke: float, rod_length: float) -> dict[str, float]:
    """Ratios [1] and angle [deg]."""
    r = stroke / 2.0
    if not rod_length > r:
        raise ValueError("the rod is too short for this stroke: the crank cannot turn")
    return {
        "rod_ratio": rod_length / stroke,
        "rod_over_crank": rod_length / r,
        "steepest_angle": math.degrees(math.asin(r / rod_length)),
    }


def _bobweight_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if not given["balance_factor"] <= 1.0:
        return ["a balance factor is a share of the reciprocating mass and stays at or below 1"]
    return []


@register(
    "motion",
    "Bobweight for balancing a crank pin",
    inputs={
        "piston_mass": Input("mass", "piston, pin, rings and locks of one cylinder", "50 g", "3 kg"),
        "small_end_mass": Input("mass", "rod's small end, weighed level", "20 g", "1 kg"),
        "big_end_mass": Input("mass", "rod's big end with cap and bolts, weighed level", "50 g", "2 kg"),
        "bearing_mass": Input("mass", "shells of one rod", "0 g", "200 g", "0 g"),
        "oil_mass": Input("mass", "oil held in the pin", "0 g", "50 g", "0 g"),
        "rods_on_pin": Input("count", "rods that share the crank pin", "1", "3", "1"),
        "balance_factor": Input("share", "share of the reciprocating mass balanced", "0 %", "100 %", "50 %"),
    },
    outputs={
        "rotating_mass": Output("mass", "g", "turning with the pin", ("lb",)),
        "reciprocating_mass": Output("mass", "g", "going up and down, all rods on the pin", ("lb",)),
        "bobweight": Output("mass", "g", "to clamp on the pin", ("lb",)),
    },
    formula="""
    rotating_mass = rods_on_pin * (big_end_mass + bearing_mass) + oil_mass
    reciprocating_mass = rods_on_pin * (piston_mass + small_end_mass)
    bobweight = rotating_mass + balance_factor * reciprocating_mass
    """,
    source="common practice, no source; 50 % is exact in the first order for a 90 degree vee with two rods on a pin",
    validity="Other vee angles, flat engines with a pin for each rod and singles need the maker's factor.",
    slips=("one rod counted where two share the pin",),
    question=_bobweight_question,
    example=(
        '--piston-mass "410 g" --small-end-mass "150 g" --big-end-mass "380 g" --bearing-mass "40 g" --rods-on-pin 2'
    ),
)
def bobweight(
    piston_mass: float,
    small_end_mass: float,
    big_end_mass: float,
    bearing_mass: float,
    oil_mass: float,
    rods_on_pin: float,
    balance_factor: float,
) -> dict[str, float]:
    """Masses [kg]."""
    rotating = rods_on_pin * (big_end_mass + bearing_mass) + oil_mass
    reciprocating = rods_on_pin * (piston_mass + small_end_mass)
    return {
        "rotating_mass": rotating,
        "reciprocating_mass": reciprocating,
        "bobweight": rotating + balance_factor * reciprocating,
    }
