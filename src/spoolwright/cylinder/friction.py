"""Rubbing friction of the whole engine (Chen and Flynn, SAE 650733, 1965) and driven accessories.

The form is the paper's; its four constants vary between engines and between the books that quote them.
Those given here are the usual ones, from memory. Not valid for a cold engine.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from spoolwright.errors import BadInput, OutsideRange
from spoolwright.kernel import kernel


class ChenFlynn(NamedTuple):
    """Constants of fmep = constant + peak p_max + speed Sp + speed_squared Sp^2."""

    constant: float = 0.4e5  # Pa
    peak: float = 0.005  # Pa/Pa
    speed: float = 0.09e5  # Pa s/m
    speed_squared: float = 0.0009e5  # Pa s2/m2


class PowerCurve(NamedTuple):
    """Power an accessory takes against its own or the crank's speed."""

    omega: np.ndarray  # rad/s, rising
    power: np.ndarray  # W


@kernel
def chen_flynn(c: ChenFlynn, p_max: float, mean_piston_speed: float) -> float:
    """Friction mean effective pressure [Pa].

    c : ChenFlynn; p_max : float [Pa], peak cylinder pressure; mean_piston_speed : float [m/s]
    """
    return c.constant + c.peak * p_max + (c.speed + c.speed_squared * mean_piston_speed) * mean_piston_speed


def power_curve(name: str, omega: list[float], power: list[float]) -> PowerCurve:
    """Check and keep the power curve of the accessory ``name``.

    omega : floats [rad/s], rising; power : floats [W], not negative

    Raises
    ------
    BadInput : fewer than two points, speeds that do not rise, or negative power.
    """
    w, q = np.asarray(omega, float), np.asarray(power, float)
    if w.size < 2 or w.size != q.size:
        raise BadInput(
            f"{name}: the power curve needs at least two pairs of speed and power, found {w.size} and {q.size}."
        )
    if not np.all(np.diff(w) > 0.0):
        k = int(np.argmin(np.diff(w))) + 1
        raise BadInput(f"{name}: speeds must rise from point to point; point {k + 1} does not, sort the table.")
    if not np.all(q >= 0.0):
        raise BadInput(f"{name}: power must not be negative, point {int(np.argmin(q)) + 1} is {q.min():g} W.")
    return PowerCurve(w, q)


def accessory_power(name: str, curve: PowerCurve, omega: float) -> float:
    """Power the accessory takes at ``omega`` [rad/s], linear between points [W].

    Raises
    ------
    OutsideRange : the speed lies outside the curve.
    """
    low, high = float(curve.omega[0]), float(curve.omega[-1])
    if not low <= omega <= high:
        raise OutsideRange(
            f"{name}: {omega:.0f} rad/s lies outside its power curve, {low:.0f} to {high:.0f} rad/s; "
            "add points to the curve."
        )
    return float(np.interp(omega, curve.omega, curve.power))
