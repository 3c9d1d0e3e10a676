"""The slider-crank in closed form, with pin offset: what sums of motion, valves, squish and spark share.

Angles count from the piston's own top position. The compiled kernel of the cylinder uses the same closed form; a test
holds the two together.
"""

from __future__ import annotations

import math


def crank(angle: float, radius: float, rod: float, offset: float) -> tuple[float, float, float]:
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
    a, _, upright = crank(angle, radius, rod, offset)
    return math.sqrt((rod + radius) ** 2 - offset**2) - radius * math.cos(a) - upright


def piston_rate(angle: float, radius: float, rod: float, offset: float) -> float:
    """Piston travel per crank angle [m/rad], positive downwards."""
    a, side, upright = crank(angle, radius, rod, offset)
    return radius * (math.sin(a) + math.cos(a) * side / upright)


def piston_curvature(angle: float, radius: float, rod: float, offset: float) -> float:
    """Second derivative of piston travel by crank angle [m/rad2], positive downwards."""
    a, side, upright = crank(angle, radius, rod, offset)
    swing = radius * math.cos(a)
    return swing - radius * math.sin(a) * side / upright + swing**2 * rod**2 / upright**3
