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
from spoolwright.cylinder.changes import close_valves, set_one_zone
from spoolwright.cylinder.outlet import energy_residual
from spoolwright.cylinder.rows import Cylinders
from spoolwright.cylinder.steps import advance_closed
from spoolwright.cylinder.views import mean_temperature
from spoolwright.errors import OutsideRange
from spoolwright.kernel import kernel

Array = NDArray[np.float64]

# Columns of a trace, one row per output step
TRACE = ("theta", "V", "p", "T_unburned", "T_burned", "burned", "entrained", "knock", "heat", "heat_unburned")
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
    left = s[r.ENERGY] + s[r.CREVICE_ENERGY]
    closure = s[r.E_CLOSED] - left - s[r.WORK_CLOSED] - s[r.Q_CLOSED] - energy_residual(c, k)
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
    row[7], row[8], row[9] = s[r.KNOCK], s[r.Q_CLOSED], s[r.Q_UNBURNED]


NO_TRACE = np.zeros((1, N_TRACE))


def trap(c: Cylinders, k: int, theta: float, p: float, T: float, phi: float, residual: float = 0.0) -> None:
    """Fill cylinder k at ``theta`` [deg] with fresh mixture and residual at p [Pa], T [K] and shut its valves.

    phi : float [-], equivalence ratio of the fresh mixture and of the residual; 0 for air alone
    residual : float, mass fraction of burned gas, 0 to 1

    Raises
    ------
    OutsideRange : phi (other than 0) or the state lies outside what the gas tables hold.
    """
    afr = float(c.design[k, r.AIR_FUEL_STOICHIOMETRIC])
    fuel = phi / (phi + afr)
    table_phi = phi if phi > 0.0 else 1.0
    fresh = 1.0 - residual
    status = set_one_zone(c, k, theta, p, T, fresh * (1.0 - fuel), fresh * fuel, residual, table_phi)
    if status == r.OK:
        status = close_valves(c, k)
    if status != r.OK:
        raise OutsideRange(
            f"cylinder {k + 1}: no gas state at {1e-5 * p:g} bar, {T:g} K with equivalence ratio {phi:g}; "
            f"the tables hold {c.table.phi[0]:g} to {c.table.phi[-1]:g}, 250 to 3600 K, 0.1 to 400 bar."
        )
