"""Sums of the crank's motion: piston position, speed and acceleration, rod ratio.

The slider-crank is exact, with pin offset (``slider_crank``). Loads, torque and mean pressures register when this file
is imported.
"""

from __future__ import annotations

import math
from dataclasses import replace

from spoolwright.sums import motion_loads, work  # noqa: F401  they register the rest of this topic
from spoolwright.sums.measures import ANGLE, BORE, PIN_OFFSET, ROD_LENGTH, SPEED, STROKE
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.slider_crank import crank, piston_curvature, piston_rate, piston_travel


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
    _, side, _ = crank(angle, r, rod_length, pin_offset)
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
