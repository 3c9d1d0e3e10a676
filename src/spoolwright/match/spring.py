"""Wastegate spring and gate size for a turbocharger on its operating line.

Springs: the boost each holds over speed, by force balance with exhaust on the valve, and the preload that holds what is
wanted. Gate: share of the gas that must pass the turbine, and that the open gate can pass; where the second is less
than the first, boost creeps.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np

from spoolwright.boost import balance as b
from spoolwright.boost import spring_balance as s
from spoolwright.boost.gate import gate_area
from spoolwright.boost.rows import (
    G_COUNT,
    G_DIAPHRAGM,
    G_DISCHARGE,
    G_LEVER,
    G_MAX_LIFT,
    G_PORT,
    G_PRELOAD,
    G_RATE,
    Floats,
)
from spoolwright.errors import BadInput
from spoolwright.match.candidates import Candidate
from spoolwright.match.demand import Demand

LABELS = (0.34e5, 0.48e5, 0.69e5, 0.83e5, 0.97e5, 1.24e5, 1.52e5, 1.79e5, 2.07e5)  # Pa; 5 to 30 psi, usual labels
NEAR = 0.35  # of the wanted boost, within which a labelled spring is worth showing
ROOM = 1.25  # area of the open gate over the most it needs, for a gate that is still in charge
STEPS = 12


@dataclass(frozen=True)
class SpringLine:
    """What one spring does: preload [N], label [Pa gauge], boost [Pa gauge] and share of lift at each speed.

    wanted: it is the one made to hold the wanted boost.
    """

    preload: float
    label: float
    rpm: Floats
    boost: Floats
    lift: Floats
    bypass: Floats
    wanted: bool = False

    @property
    def held(self) -> float | None:
        """First speed [rpm] at which the gate is open; None never."""
        open_ = np.flatnonzero(self.lift > 0.0)
        return float(self.rpm[open_[0]]) if len(open_) else None

    @property
    def rise(self) -> float:
        """Boost [Pa] at the last speed over that where the gate first opens; 0 where it never does."""
        open_ = np.flatnonzero(self.lift > 0.0)
        return float(self.boost[-1] - self.boost[open_[0]]) if len(open_) else 0.0

    @property
    def at_stop(self) -> float | None:
        """First speed [rpm] at which the gate stands at its stop: from there boost creeps."""
        full = np.flatnonzero(self.lift >= 0.999)
        return float(self.rpm[full[0]]) if len(full) else None


@dataclass(frozen=True)
class GateNeed:
    """Bypass over speed at the wanted boost: share needed, share the open gate could pass, and the port for it [m]."""

    rpm: Floats
    needed: Floats
    possible: Floats
    port: float  # least port diameter that keeps ROOM at every speed, this branch pipe kept; inf where the pipe is less
    fitted: float  # port diameter of the sheet


@dataclass(frozen=True)
class Machines:
    """What the balances of one candidate on one build rest on."""

    demand: Demand
    way: Floats
    cooler: Floats
    candidate: Candidate

    def row(self, n: int) -> Floats:
        """The demand at speed n with the pulses this turbine's area makes of it."""
        return np.asarray(self.demand.for_turbine(self.candidate.turbine_area).rows[n])

    def _way(self) -> Floats:
        way = self.way.copy()
        way[b.Y_SHAFT] = self.candidate.shaft_efficiency
        return way

    def on_spring(self, n: int, gate: Floats, p2_most: float) -> tuple[b.State, float]:
        """Point and lift [m] at speed n of the demand with a gate on its spring."""
        c = self.candidate.compressor
        row = self.row(n)
        way, turbine = self._way(), self.candidate.turbine
        return s.on_spring(row, way, c.sizes, c.lines, turbine, self.cooler, gate, p2_most, STEPS)

    def held(self, n: int, p2: float) -> b.State:
        """Point at speed n with p2 [Pa] held."""
        c = self.candidate.compressor
        row = self.row(n)
        return b.balance(row, self._way(), c.sizes, c.lines, self.candidate.turbine, self.cooler, p2, True, 0.0)[0]


def spring_line(machines: Machines, gate: Floats, preload: float, p2_most: float, wanted: bool = False) -> SpringLine:
    """Boost over speed with a spring of ``preload`` [N] and the gate's rate."""
    row = gate.copy()
    row[G_PRELOAD] = preload
    outside = float(machines.way[b.Y_P])
    found = [machines.on_spring(n, row, p2_most) for n in range(len(machines.demand.rpm))]
    gas = np.array([st.turbine + st.bypass for st, _ in found])
    return SpringLine(
        preload,
        preload / row[G_DIAPHRAGM],
        machines.demand.rpm,
        np.array([st.p2 - outside for st, _ in found]),
        np.array([lift / row[G_MAX_LIFT] for _, lift in found]),
        np.array([max(st.bypass, 0.0) for st, _ in found]) / gas,
        wanted,
    )


def preload_for(machines: Machines, gate: Floats, boost: float, n: int) -> float:
    """Spring force [N] with the gate shut that holds ``boost`` [Pa gauge] at speed n.

    Raises BadInput where no spring does: the turbine does not give it there, the gate is too small, or exhaust alone
    holds the gate open.
    """
    row = gate.copy()
    row[G_PRELOAD] = 0.0
    way = machines._way()
    state = machines.held(n, float(way[b.Y_P]) + boost)
    rpm, told = machines.demand.rpm[n], f"{boost / 1e3:.0f} kPa"
    if state.status != b.HELD:
        raise BadInput(f"no spring holds {told} at {rpm:.0f} rpm: the turbine does not give it there")
    lift = float(s.gate_opening(row, s.area_needed(machines.row(n), way, state)))
    if lift > row[G_MAX_LIFT]:
        raise BadInput(f"no spring holds {told} at {rpm:.0f} rpm: the open gate does not pass enough; a larger port")
    force = float(s.opening_force(way, row, state) - row[G_RATE] * lift / row[G_LEVER])
    if force <= 0.0:
        raise BadInput(f"no spring holds {told} at {rpm:.0f} rpm: exhaust alone opens the gate that far")
    return force


def gate_need(machines: Machines, gate: Floats, boost: float) -> GateNeed:
    """Bypass needed and possible at each speed where the boost is there, and the port that would do."""
    way, speeds = machines._way(), range(len(machines.demand.rpm))
    full = float(s.with_pipe(way, gate_area(gate, gate[G_MAX_LIFT])))
    needed, possible, area = [], [], 0.0
    for n in speeds:
        state = machines.held(n, float(way[b.Y_P]) + boost)
        gas = state.turbine + state.bypass
        flux = float(b.gate_flow(1.0, way, state.p3, state.T3, state.p4) * way[b.Y_COUNT])
        flux *= float(machines.demand.rows[n, b.Q_PULSE_GATE])
        needed.append(max(state.bypass, 0.0) / gas)
        possible.append(min(full * flux / gas, 1.0))
        if state.status == b.HELD:
            area = max(area, float(s.area_needed(machines.row(n), way, state)))
    curtain = 4.0 * gate[G_MAX_LIFT] / gate[G_PORT]  # curtain over port area at full lift; kept for the wanted port
    per_port = gate[G_COUNT] * gate[G_DISCHARGE] * curtain / np.sqrt(1.0 + curtain**2)
    port = float(np.sqrt(4.0 / pi * ROOM * area / per_port))
    return GateNeed(machines.demand.rpm, np.array(needed), np.array(possible), port, float(gate[G_PORT]))


def springs(machines: Machines, gate: Floats, boost: float, threshold: float) -> list[SpringLine]:
    """Lines of the build's spring, of one that holds ``boost`` in mid range, and of labelled ones near; by force."""
    rpm = machines.demand.rpm
    there = np.flatnonzero(rpm >= threshold)
    n = int(there[len(there) // 2])
    p2_most = float(machines.way[b.Y_P]) + 2.0 * boost
    fitted = float(gate[G_PRELOAD])
    preloads: dict[float, bool] = {fitted: False}
    try:
        wanted = preload_for(machines, gate, boost, n)
        preloads[wanted] = True
    except BadInput:
        wanted = fitted
    for label in LABELS:
        force = label * float(gate[G_DIAPHRAGM])
        if abs(force / wanted - 1.0) < NEAR and all(abs(force / p - 1.0) > 0.03 for p in preloads):
            preloads[force] = False
    return [spring_line(machines, gate, p, p2_most, mine) for p, mine in sorted(preloads.items())]
