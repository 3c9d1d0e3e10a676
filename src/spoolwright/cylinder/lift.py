"""Valve lift over crank angle, from a measured table or from the events through a smooth cam.

Either way the result is the lift at the valve with the lash taken off, at even angles over one cycle. Bad
tables are refused when they are read. No float, bounce or flexing of the valve train.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoolwright.errors import BadInput

Array = NDArray[np.float64]

SPACING = 0.5  # deg between nodes of lift and area; linear between costs 1e-4 mm at most
N_ANGLES = int(720 / SPACING) + 1
ANGLES = np.linspace(-360.0, 360.0, N_ANGLES)

MOST_LIFT_PER_DIAMETER = 0.6  # beyond this the numbers are in the wrong unit or belong to another valve
NEGLIGIBLE_LIFT = 1e-6  # m, counts as shut
CAM_POWERS = (8.0, 14.0, 20.0)  # fullness of usual street cams; common practice, no source


class Lift(NamedTuple):
    """Valve lift [m] at ``ANGLES``, lash taken off, and the angles [deg] at which it opens and shuts."""

    lift: Array
    opens: float
    closes: float


def cam_shape(x: ArrayLike, powers: tuple[float, float, float] = CAM_POWERS) -> Array:
    """Polynomial cam 1 + C2 x^2 + Cp x^p + Cq x^q + Cr x^r on -1..1, zero outside.

    Lift, velocity and acceleration vanish at the ends together (jerk too), so all three are continuous with
    the base circle. Coefficients of the 2-p-q-r polynomial as in cam design books (from memory; a test
    checks the end conditions).
    """
    p, q, s = powers
    c2 = -p * q * s / ((p - 2.0) * (q - 2.0) * (s - 2.0))
    cp = 2.0 * q * s / ((p - 2.0) * (q - p) * (s - p))
    cq = -2.0 * p * s / ((q - 2.0) * (q - p) * (s - q))
    cs = 2.0 * p * q / ((s - 2.0) * (s - p) * (s - q))
    a = np.minimum(np.abs(np.asarray(x, float)), 1.0)
    return np.asarray(1.0 + c2 * a**2 + cp * a**p + cq * a**q + cs * a**s)


def check_full_lift(name: str, full_lift: float, diameter: float) -> None:
    """Refuse a full lift [m] that a valve of this head diameter [m] cannot have (BadInput)."""
    if not 0.0 < diameter < 0.2:
        raise BadInput(f"{name}: valve diameter {1e3 * diameter:g} mm is outside 0..200 mm; check value and unit.")
    if not 0.0 < full_lift <= MOST_LIFT_PER_DIAMETER * diameter:
        raise BadInput(
            f"{name}: full lift {1e3 * full_lift:g} mm does not go with a valve of {1e3 * diameter:g} mm; it must be "
            f"above 0 and at most {1e3 * MOST_LIFT_PER_DIAMETER * diameter:.3g} mm, check value and unit."
        )


def _finish(name: str, lift: Array, lash: float) -> Lift:
    if not 0.0 <= lash < lift.max():
        raise BadInput(
            f"{name}: lash {1e3 * lash:g} mm must be 0 or more and below the full lift {1e3 * lift.max():g} mm."
        )
    net = np.where(lift - lash > NEGLIGIBLE_LIFT, lift - lash, 0.0)
    open_at = net > 0.0
    if open_at.all():
        raise BadInput(f"{name}: the valve never closes; the lift must fall to the lash somewhere in the cycle.")
    rise = np.flatnonzero(open_at[1:] & ~open_at[:-1])
    fall = np.flatnonzero(~open_at[1:] & open_at[:-1])
    if open_at[0] != open_at[-1] or len(rise) != 1 or len(fall) != 1:
        raise BadInput(
            f"{name}: the valve opens {max(len(rise), len(fall))} times in one cycle; one lift hump is allowed."
        )
    return Lift(net, float(ANGLES[rise[0]]), float(ANGLES[fall[0] + 1]))


def lift_from_events(
    name: str,
    opens: float,
    closes: float,
    full_lift: float,
    diameter: float,
    lash: float = 0.0,
    lift_at_events: float = 0.0,
    powers: tuple[float, float, float] = CAM_POWERS,
) -> Lift:
    """Lift from cam events.

    opens, closes : float [deg from firing top dead centre, any turn]; full_lift : float [m] at the valve
        with no lash; lash : float [m] at the valve; lift_at_events : float [m], the lift at which the
        events are stated (0 for the ends of the ramp, 1.27 mm for the 0.050 inch figures)

    Raises
    ------
    BadInput : events that do not leave the valve open for 60 to 500 degrees, a lift larger than the valve
        allows, lash or event lift above the full lift.
    """
    check_full_lift(name, full_lift, diameter)
    if not 0.0 <= lift_at_events < full_lift:
        raise BadInput(
            f"{name}: the events are stated at {1e3 * lift_at_events:g} mm, which must be 0 or more and below the "
            f"full lift {1e3 * full_lift:g} mm."
        )
    duration = (closes - opens) % 720.0
    if not 60.0 <= duration <= 500.0:
        raise BadInput(
            f"{name}: from opening at {opens:g} to closing at {closes:g} degrees the valve would stay open for "
            f"{duration:g} degrees; 60 to 500 is allowed, count both from firing top dead centre."
        )
    edge = 1.0
    if lift_at_events > 0.0:
        from scipy.optimize import brentq

        edge = brentq(lambda x: float(cam_shape(x, powers)) * full_lift - lift_at_events, 0.0, 1.0)
    half = 0.5 * duration / edge
    if half >= 360.0:
        raise BadInput(f"{name}: these events at {1e3 * lift_at_events:g} mm lift would never let the valve close.")
    from_middle = (ANGLES - (opens + 0.5 * duration) + 360.0) % 720.0 - 360.0
    return _finish(name, full_lift * cam_shape(from_middle / half, powers), lash)


def lift_from_table(name: str, angle: ArrayLike, lift: ArrayLike, diameter: float, lash: float = 0.0) -> Lift:
    """Lift measured at the valve: angle [deg from firing top dead centre, rising, any turn], lift [m].

    Between points a monotone cubic, zero outside the table.

    Raises
    ------
    BadInput : fewer than 8 points, holes, angles that do not rise or span more than one cycle, steps wider than
        15 degrees, negative lift, ends that are not shut, a lift larger than the valve allows.
    """
    from scipy.interpolate import PchipInterpolator

    a, y = np.asarray(angle, float), np.asarray(lift, float)
    if a.ndim != 1 or a.shape != y.shape or a.size < 8:
        raise BadInput(f"{name}: the lift table has {a.size} angles and {y.size} lifts; give at least 8 pairs.")
    bad = ~(np.isfinite(a) & np.isfinite(y))
    if bad.any():
        raise BadInput(
            f"{name}: point {int(np.argmax(bad)) + 1} of the lift table is empty or not a number; fill the hole."
        )
    step = np.diff(a)
    if not np.all(step > 0.0):
        k = int(np.argmin(step)) + 1
        raise BadInput(
            f"{name}: angles of the lift table must rise; point {k + 1} ({a[k]:g} deg) does not lie after "
            f"{a[k - 1]:g} deg."
        )
    if a[-1] - a[0] > 720.0:
        raise BadInput(f"{name}: the lift table spans {a[-1] - a[0]:g} degrees; one cycle has 720, use crank degrees.")
    if step.max() > 15.0:
        k = int(np.argmax(step))
        raise BadInput(
            f"{name}: the lift table has a hole of {step[k]:g} degrees after {a[k]:g} deg; "
            "measure at least every 15 degrees."
        )
    if y.min() < 0.0:
        raise BadInput(f"{name}: lift at {a[int(np.argmin(y))]:g} deg is negative; lift counts from the seat.")
    check_full_lift(name, float(y.max()), diameter)
    if max(y[0], y[-1]) > max(lash, 0.02 * y.max()):
        raise BadInput(
            f"{name}: the lift table begins at {1e3 * y[0]:.3g} mm and ends at {1e3 * y[-1]:.3g} mm; "
            "measure on until the valve is shut."
        )
    at = a[0] + (ANGLES - a[0]) % 720.0
    inside = at <= a[-1]
    full = np.where(inside, PchipInterpolator(a, y)(np.where(inside, at, a[0])), 0.0)
    return _finish(name, np.asarray(full, float), lash)
