"""What is noted during the closed part: burn angles, knock integral, peak pressure.

Each mark is placed inside the step in which it falls, so that it does not move in jumps of a step.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.knock import BURNED_AT_VERDICT, ignition_rate
from spoolwright.cylinder.zones import P_REFERENCE, charge_T_from_s
from spoolwright.gas.ignition import IgnitionTable
from spoolwright.gas.unburned import Charge
from spoolwright.kernel import kernel

Array = NDArray[np.float64]


@kernel
def clear_records(s: Array) -> None:
    for i in (r.KNOCK, r.KNOCK_RATE, r.KNOCK_85, r.KNOCK_UNBURNED, r.P_MAX, r.T_CORE_MAX, r.Q_CLOSED, r.WORK_CLOSED):
        s[i] = 0.0
    for i in (r.KNOCK_ANGLE, r.ANGLE_02, r.ANGLE_10, r.ANGLE_50, r.ANGLE_90, r.ANGLE_P_MAX):
        s[i] = r.NEVER
    s[r.P_BEFORE] = s[r.P_BEFORE_2] = s[r.STEP_BEFORE] = s[r.Q_UNBURNED] = 0.0


@kernel
def note_burn(s: Array, x_before: float, dtheta: float) -> None:
    """Angles at which given shares have first burned, interpolated inside the step just done (s is after it).

    What the crevices take and give between two steps can carry the share past a mark: then it is where the step began.
    """
    x = s[r.BURNED_MASS] / s[r.MASS]
    for i, share in ((r.ANGLE_02, 0.02), (r.ANGLE_10, 0.10), (r.ANGLE_50, 0.50), (r.ANGLE_90, 0.90)):
        if s[i] >= r.NEVER and x >= share:
            back = (x - share) / (x - x_before) if x_before < share else 1.0
            s[i] = s[r.THETA] - dtheta * back


@kernel
def note_knock(
    s: Array, d: Array, gas: Charge, delay: IgnitionTable, x_before: float, dt: float, dtheta: float
) -> None:
    """Add the step just done to the knock integral (trapezoid) and note where it passes its marks."""
    if x_before >= 1.0:
        return
    x = s[r.BURNED_MASS] / s[r.MASS]
    T = charge_T_from_s(gas, s[r.S_CORE], np.log(s[r.P] / P_REFERENCE), s[r.T_CORE])
    s[r.T_CORE] = T
    s[r.T_CORE_MAX] = max(s[r.T_CORE_MAX], T)
    rate = ignition_rate(delay, d[r.KNOCK_FACTOR], s[r.P], T, s[r.PHI_FRESH], s[r.Y_RESIDUAL])
    before = s[r.KNOCK]
    after = before + 0.5 * dt * (rate + s[r.KNOCK_RATE])
    if before < d[r.KNOCK_LIMIT] <= after:
        w = (d[r.KNOCK_LIMIT] - before) / (after - before)
        s[r.KNOCK_ANGLE] = s[r.THETA] - dtheta * (1.0 - w)
        s[r.KNOCK_UNBURNED] = 1.0 - x_before - w * (x - x_before)
    if x < BURNED_AT_VERDICT:
        s[r.KNOCK_85] = after
    elif x_before < BURNED_AT_VERDICT:
        s[r.KNOCK_85] = before + (after - before) * (BURNED_AT_VERDICT - x_before) / (x - x_before)
    s[r.KNOCK], s[r.KNOCK_RATE] = after, rate


@kernel
def note_peak(s: Array, p: float, dtheta: float, theta: float) -> None:
    """Peak pressure by the parabola through three even steps; by the highest step where they are not even."""
    a, b = s[r.P_BEFORE_2], s[r.P_BEFORE]
    if p > s[r.P_MAX]:
        s[r.P_MAX], s[r.ANGLE_P_MAX] = p, theta
    elif b == s[r.P_MAX] and a > 0.0 and a <= b and abs(dtheta - s[r.STEP_BEFORE]) < 1e-9 * (1.0 + dtheta):
        bend = a - 2.0 * b + p
        if bend < 0.0:
            shift = 0.5 * (a - p) / bend
            s[r.P_MAX] = b - 0.25 * (a - p) * shift
            s[r.ANGLE_P_MAX] = theta - dtheta + shift * dtheta
    s[r.P_BEFORE_2], s[r.P_BEFORE], s[r.STEP_BEFORE] = b, p, dtheta
