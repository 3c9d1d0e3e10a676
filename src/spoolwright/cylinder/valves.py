"""Effective flow area of a port's valves over the crank angle, for both directions.

Lift (``lift``) and discharge (``discharge``) are folded into one table per direction, so the running
program only interpolates.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoolwright.cylinder.discharge import Discharge
from spoolwright.cylinder.lift import N_ANGLES, SPACING, Lift
from spoolwright.errors import BadInput
from spoolwright.kernel import kernel

Array = NDArray[np.float64]


class ValveAreas(NamedTuple):
    """Effective area [m2] of the valves of one port at ``lift.ANGLES``; forward is the way the port works."""

    forward: Array
    reverse: Array


def seat_area(lift: ArrayLike, diameter: float, seat_inner: float, stem: float, seat_angle: float = 45.0) -> Array:
    """Smallest geometric opening [m2] of a poppet valve at ``lift`` [m].

    diameter : float [m] of the head; seat_inner : float [m], inner seat (throat) diameter;
    stem : float [m]; seat_angle : float [deg]. Three stages: right frustum, slanted frustum, annulus of
    the throat less the stem (Heywood, Internal Combustion Engine Fundamentals, section 6.3; from memory).
    """
    y = np.asarray(lift, float)
    beta = np.radians(seat_angle)
    w = 0.5 * (diameter - seat_inner)  # seat width, projected
    d_mean = diameter - w
    first = np.pi * y * np.cos(beta) * (diameter - 2.0 * w + 0.5 * y * np.sin(2.0 * beta))
    second = np.pi * d_mean * np.sqrt((y - w * np.tan(beta)) ** 2 + w * w)
    third = 0.25 * np.pi * (seat_inner**2 - stem**2)
    small = y < w / (np.sin(beta) * np.cos(beta))
    return np.minimum(np.where(small, first, second), third)


def effective_areas(name: str, lift: Lift, discharge: Discharge, diameter: float, count: int = 1) -> ValveAreas:
    """Cd pi D L of ``count`` equal valves over the crank angle, both directions.

    Raises
    ------
    BadInput : the valve lifts beyond the bench table.
    """
    x = lift.lift / diameter
    last = float(discharge.lift_per_diameter[-1])
    if x.max() > last * 1.02:
        raise BadInput(
            f"{name}: the valve lifts {1e3 * lift.lift.max():.3g} mm but the bench table ends at "
            f"{1e3 * last * diameter:.3g} mm; measure up to the full lift."
        )
    curtain = count * np.pi * diameter * lift.lift
    nodes = discharge.lift_per_diameter
    return ValveAreas(
        curtain * np.interp(x, nodes, discharge.forward), curtain * np.interp(x, nodes, discharge.reverse)
    )


@kernel
def area_at(table: Array, theta: float) -> float:
    """Linear reading of a table over ``ANGLES`` (lift or effective area) at ``theta`` [deg], any turn."""
    x = (theta + 360.0) % 720.0 / SPACING
    i = min(int(x), N_ANGLES - 2)
    w = x - i
    return table[i] + w * (table[i + 1] - table[i])
