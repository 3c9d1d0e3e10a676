"""Set-up for matching tests: an engine whose demand is written by hand, and the demo build's machines."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import log

import numpy as np

from spoolwright.boost import balance as b
from spoolwright.boost.rows import N_COOLER, Floats
from spoolwright.engine.turbo import Turbo, turbo
from spoolwright.match.candidates import Candidate, own
from spoolwright.sheet import demo_folder, load

OUTSIDE, T_OUTSIDE = 100e3, 295.0
P2, T2 = 160e3, 350.0
NO_COOLER = np.ones(N_COOLER)


@lru_cache
def wren_turbo() -> Turbo:
    made = turbo(load(demo_folder("wren")))
    assert made is not None
    return made


@lru_cache
def wren_own() -> Candidate:
    return own(load(demo_folder("wren")))


def demand_row(rpm: float, swept: float = 1.6e-3, filling: float = 0.9, lam_afr: float = 11.7) -> Floats:
    """A four-stroke of constant filling at its charge state; exhaust pressure takes a tenth for each unit of p3/p2."""
    q = np.zeros(b.N_DEMAND)
    q[b.Q_FLOW] = log(filling * swept * rpm / 120.0 * P2 / (287.05 * T2))
    q[b.Q_PRESSURE], q[b.Q_BACK], q[b.Q_WARMTH] = 1.0, -0.1, -0.7
    q[b.Q_P_REF], q[b.Q_X_REF], q[b.Q_T_REF] = P2, 1.0, T2
    q[b.Q_T3] = 1000.0 + 0.04 * rpm
    q[b.Q_T3_WARMTH] = 0.3
    q[b.Q_FUEL] = 1.0 / lam_afr
    q[[b.Q_PULSE_FLOW, b.Q_PULSE_POWER, b.Q_PULSE_GATE]] = 1.0
    return q


def plain_way(count: float = 1.0, p: float = OUTSIDE) -> Floats:
    """A way without losses or heat: outside air in, turbine into the open."""
    way = np.zeros(b.N_WAY)
    way[b.Y_P], way[b.Y_T], way[b.Y_T_INLET] = p, T_OUTSIDE, T_OUTSIDE
    way[b.Y_R], way[b.Y_CP] = 287.05287, 1004.685
    way[b.Y_R3], way[b.Y_CP3] = 290.0, 1240.0
    way[b.Y_COUNT], way[b.Y_SHAFT] = count, 0.95
    way[b.Y_GATE_OPEN_AIR] = 1.0
    way[b.Y_SIGNAL_OPEN], way[b.Y_SIGNAL_CLOSE] = b.SIGNAL_COMPRESSOR, b.SIGNAL_OPEN_AIR
    return way


def lossy_way(p: float = OUTSIDE) -> Floats:
    """The same with the losses of an inlet, a charge pipe with a warm wall, and a tail."""
    way = plain_way(p=p)
    way[b.Y_INLET], way[b.Y_COLD], way[b.Y_TAIL] = 2.0e5, 3.0e5, 2.5e5
    way[b.Y_COLD_SHARE], way[b.Y_COLD_WALL] = 0.15, 333.0
    return way


@dataclass(frozen=True)
class Rig:
    """One candidate on one engine."""

    way: Floats
    candidate: Candidate

    def held(self, q: Floats, p2: float = P2) -> b.State:
        c = self.candidate.compressor
        return b.balance(q, self.way, c.sizes, c.lines, self.candidate.turbine, NO_COOLER, p2, True, 0.0)[0]

    def shut(self, q: Floats, p2_most: float = 3e5, area: float = 0.0) -> b.State:
        c = self.candidate.compressor
        return b.fixed_gate(q, self.way, c.sizes, c.lines, self.candidate.turbine, NO_COOLER, area, p2_most, 12)
