"""The closed cycle alone: from inlet closing to exhaust opening, and what it gives.

The same steps as in the engine's time loop (``steps``), run over a frozen trapped state: for the spark
search, cyclic variation and checks. Pressure is that of the closed part only; imep in a result is work of
the closed part per swept volume, without the pumping of the open part.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.outlet import energy_residual
from spoolwright.cylinder.rows import Cylinders
from spoolwright.cylinder.steps import advance_closed
from spoolwright.cylinder.views import mean_temperature
from spoolwright.kernel import kernel

Array = NDArray[np.float64]

# Columns of a trace, one row per output step
TRACE = ("theta", "V", "p", "T_unburned", "T_burned", "burned", "entrained", "knock", "heat", "T_mean")
N_TRACE = len(TRACE)


class ClosedCycle(NamedTuple):
    """One closed cycle. Angles [deg] are ``rows.NEVER`` (999) where the event did not come."""

    status: int
    work: float  # J, by the gas
    heat: float  # J, into the walls
    p_max: float  # Pa
    angle_p_max: float
    angle_02: float
    angle_10: float
    angle_50: float
    angle_90: float
    burned: float  # mass fraction at the end
    knock: float  # integral at 85 % burned
    knock_angle: float  # where the integral reaches the limit
    knock_unburned: float  # mass fraction of end gas left there
    p_end: float  # Pa, at exhaust opening
    T_end: float  # K
    closure: float  # J, energy not accounted for


@kernel
def closed_cycle(c: Cylinders, k: int, theta_end: float, omega: float, spark: float, trace: Array) -> ClosedCycle:
    """Run cylinder k from its state (just closed) to ``theta_end`` [deg]; a ClosedCycle.

    omega : float [rad/s]; spark : float [deg]
    trace : array (n, N_TRACE), n >= 1; filled with n evenly spaced rows when n > 1, first at the start.
        The inner steps then end on those rows. The state of k is left at the end of the run.
    """
    s = c.state[k]
    c.design[k, r.SPARK] = spark
    energy = s[r.ENERGY]
    n = max(trace.shape[0] - 1, 1)
    step = (theta_end - s[r.THETA]) / n
    status = r.OK
    if trace.shape[0] > 1:
        _note(s, trace[0])
    for i in range(n):
        status = advance_closed(c, k, step, omega)
        if status != r.OK:
            break
        if trace.shape[0] > 1:
            _note(s, trace[i + 1])
    closure = energy - s[r.ENERGY] - s[r.WORK_CLOSED] - s[r.Q_CLOSED] - energy_residual(c, k)
    return ClosedCycle(
        status, s[r.WORK_CLOSED], s[r.Q_CLOSED], s[r.P_MAX], s[r.ANGLE_P_MAX],
        s[r.ANGLE_02], s[r.ANGLE_10], s[r.ANGLE_50], s[r.ANGLE_90], s[r.BURNED_MASS] / s[r.MASS],
        s[r.KNOCK_85], s[r.KNOCK_ANGLE], s[r.KNOCK_UNBURNED], s[r.P], mean_temperature(s), closure,
    )  # fmt: skip


@kernel
def _note(s: Array, row: Array) -> None:
    row[0], row[1], row[2] = s[r.THETA], s[r.VOLUME], s[r.P]
    row[3], row[4] = s[r.T_UNBURNED], s[r.T_BURNED]
    row[5], row[6] = s[r.BURNED_MASS] / s[r.MASS], s[r.ENTRAINED_MASS] / s[r.MASS]
    row[7], row[8], row[9] = s[r.KNOCK], s[r.Q_CLOSED], mean_temperature(s)


NO_TRACE = np.zeros((1, N_TRACE))
