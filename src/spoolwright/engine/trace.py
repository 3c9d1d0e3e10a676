"""What happens inside one cycle of a point that has settled: pressures, valve flows, ducts over crank angle.

One more cycle is run from where the point stands, with a row a step; the point itself stays as it was.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from spoolwright.engine.assemble import Model
from spoolwright.engine.parts import STEPS, V_CYLINDER, V_INTAKE
from spoolwright.engine.run import Cycle, own_copy, run_point

Floats = NDArray[np.float64]

SPARE_STEPS = 1.5  # steps fall a little differently from cycle to cycle
# Where ducts are read: section of the sheet, which end, name of the place.
PROBES = (
    ("intake.runners", 0, "intake runner, entry"),
    ("intake.ports", -1, "intake port, at the valve"),
    ("exhaust.ports", 0, "exhaust port, at the valve"),
    ("exhaust.primaries", -1, "exhaust primary, end"),
)


@dataclass(frozen=True)
class Probe:
    """One duct cell: place in words, duct, pressure [Pa] and velocity [m/s, with the gas positive], each (S,)."""

    place: str
    duct: str
    p: Floats
    u: Floats


@dataclass(frozen=True)
class Trace:
    """Rows of one cycle; s = step, k = cylinder, v = valve as in the engine's valve index.

    theta (S,) [deg] engine angle from -360; p [Pa], T [K], V [m3] of the cylinders (K, S); flow (V, S) [kg/s] into
    the cylinder; phase (K,) [deg].
    """

    speed_rpm: float
    theta: Floats
    p: Floats
    T: Floats
    V: Floats
    flow: Floats
    valves: NDArray[np.int64]
    phase: Floats
    probes: tuple[Probe, ...]

    def own(self, k: int) -> tuple[Floats, NDArray[np.int64]]:
        """Angles [deg, rising from -360] of cylinder k (from 0) and the order of the steps that belongs to them."""
        angle = (self.theta - self.phase[k] + 360.0) % 720.0 - 360.0
        order = np.argsort(angle, kind="stable")
        return angle[order], order

    def valve_flow(self, k: int, intake: bool) -> Floats:
        """Flow [kg/s] into cylinder k through its intake or exhaust valves, (S,) in the order of ``theta``."""
        rows = (self.valves[:, V_CYLINDER] == k) & (self.valves[:, V_INTAKE] == int(intake))
        return np.asarray(self.flow[rows].sum(axis=0))


def trace(model: Model, cycle: Cycle) -> Trace:
    """The cycle after ``cycle``, step by step. Raises NoConvergence where a kernel fails."""
    places = _places(model)
    cells = np.array([cell for _, _, cell in places], dtype=np.int64)
    rows = int(SPARE_STEPS * float(cycle.tally.numbers[STEPS])) + 100
    again = run_point(own_copy(cycle.engine), cycle.omega, most_cycles=1, probes=cells, trace_rows=rows)
    data = again.trace.T
    count, valves = len(cycle.engine.phase), cycle.engine.valves.rows
    first_valve = 2 + 3 * count
    first_probe = first_valve + len(valves)
    probes = tuple(
        Probe(place, duct, data[first_probe + 2 * j], data[first_probe + 2 * j + 1])
        for j, (place, duct, _) in enumerate(places)
    )
    return Trace(
        speed_rpm=cycle.omega * 30.0 / pi,
        theta=data[0],
        p=data[2:first_valve:3],
        T=data[3:first_valve:3],
        V=data[4:first_valve:3],
        flow=data[first_valve:first_probe],
        valves=valves,
        phase=cycle.engine.phase,
        probes=probes,
    )


def _places(model: Model) -> list[tuple[str, str, int]]:
    """Place, duct and cell of each probe: the first duct of each section in ``PROBES`` that the engine has."""
    found = []
    for section, end, place in PROBES:
        span = next((s for s in model.spans if s.name.startswith(section)), None)
        if span is not None:
            cell = span.first if end == 0 else span.first + span.cells - 1
            found.append((place, span.name, cell))
    return found
