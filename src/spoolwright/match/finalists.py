"""A finalist of a match: run in full with a spring of its own, judged by the same yardstick, held against the algebra.

The gate gets the spring that holds the wanted boost in mid range by the algebra where one does, else the build's own.
The full pull is laid out as the ranking's line, so that ``rank.judge`` judges both alike. The algebra is asked again
for the points with that spring, so that what differs is the algebra and not the gate.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import pi

import numpy as np

from spoolwright.boost import balance as b
from spoolwright.boost import operating_line as o
from spoolwright.boost.rows import G_PRELOAD, Floats
from spoolwright.engine.pull import Point, Pull, pull
from spoolwright.engine.readings import read
from spoolwright.engine.turbo import Turbo
from spoolwright.errors import BadInput
from spoolwright.match.pulses import charge_pressure
from spoolwright.match.rank import Ranked, Wish, judge
from spoolwright.match.spring import Machines, preload_for
from spoolwright.sheet import Sheet

P2_MOST = 4.0  # times outside air, up to which the algebra looks for what a spring gives
NOT_THERE = -1e9  # spare gas where the boost is not there: counted short up to the next speed that was run
COMPARED = ("charge pressure", "air", "drive pressure", "shaft speed", "torque")


@dataclass(frozen=True)
class Apart:
    """The algebra over the full run at one speed [rpm], same spring: ratio less one of each of COMPARED."""

    rpm: float
    gate_open: bool
    values: Mapping[str, float]


@dataclass(frozen=True)
class Finalist:
    """A candidate run in full.

    preload [N] of its spring, None without a gate; charge: mean pressure [Pa] before carburettor or throttle at each
    point of the pull, nan where it did not settle; judged: its margins by the full run, None where nothing settled.
    """

    ranked: Ranked
    preload: float | None
    pull: Pull
    charge: Floats
    judged: Ranked | None
    apart: tuple[Apart, ...]

    def most_apart(self, name: str, gate_open: bool) -> Apart | None:
        """Where the algebra is furthest off in one of COMPARED, with the gate open or shut; None where never so."""
        there = [one for one in self.apart if one.gate_open is gate_open]
        return max(there, key=lambda one: abs(one.values[name]), default=None)


def run_finalist(
    sheet: Sheet,
    parts: Turbo,
    machines: Machines,
    ranked: Ranked,
    wish: Wish,
    speeds_rpm: Floats,
    *,
    workers: int | None = None,
    cancelled: Callable[[], bool] = lambda: False,
) -> Finalist:
    """The candidate of ``machines`` in the engine's own cycles at these speeds [rpm]; parts: the build's own turbo."""
    one = ranked.candidate
    gate, preload = parts.gate, None
    if gate is not None:
        preload = _preload(machines, gate, wish, ranked)
        gate = gate.copy()
        gate[G_PRELOAD] = preload
    turbo = replace(
        parts,
        compressor=one.compressor,
        turbine=one.turbine,
        shaft_efficiency=one.shaft_efficiency,
        speed_limit=one.speed_limit,
        gate=gate,
    )
    made = pull(
        one.sheet or sheet, [float(n) for n in speeds_rpm], machines=turbo, workers=workers, cancelled=cancelled
    )
    charge = np.array([_charge(made, point, machines) for point in made.points])
    return Finalist(
        ranked,
        preload,
        made,
        charge,
        _judged(made, charge, machines, ranked, wish),
        _apart(made, charge, machines, gate),
    )


def _preload(machines: Machines, gate: Floats, wish: Wish, ranked: Ranked) -> float:
    there = np.flatnonzero(ranked.rpm >= (ranked.threshold or np.inf))
    if len(there):
        try:
            return preload_for(machines, gate, wish.boost, int(there[len(there) // 2]))
        except BadInput:
            pass
    return float(gate[G_PRELOAD])


def _charge(made: Pull, point: Point, machines: Machines) -> float:
    if point.cycle is None or not point.columns["converged"]:
        return float("nan")
    r = read(point.cycle.engine, point.cycle.tally, made.model.machinery)
    T2 = float(point.columns["charge_temperature_K"])
    return charge_pressure(r, machines.way, machines.cooler, T2)


def _holds(point: Point, charge: float, wanted: float) -> bool:
    """Whether boost is there: the gate open, or without a gate the wanted pressure reached."""
    opening = point.columns["wastegate_opening"]
    return charge >= wanted if opening is None else opening > 0.0


def _judged(made: Pull, charge: Floats, machines: Machines, ranked: Ranked, wish: Wish) -> Ranked | None:
    settled = [k for k, p in enumerate(charge) if np.isfinite(p)]
    if not settled:
        return None
    outside = float(machines.way[b.Y_P])
    line = np.zeros((len(settled), o.N_OPERATING))
    for row, k in zip(line, settled, strict=True):
        point = made.points[k]
        c = point.columns
        there = _holds(point, float(charge[k]), outside + wish.boost)
        row[o.L_REACHED], row[o.L_SPARE] = float(there), 0.0 if there else NOT_THERE
        row[o.L_P1], row[o.L_P_OUT] = 1.0, c["pressure_ratio"]  # only their ratio is asked for
        row[o.L_P2], row[o.L_T2], row[o.L_AIR] = charge[k], c["charge_temperature_K"], c["air_flow_kg_s"]
        row[o.L_OMEGA] = c["turbo_speed_rpm"] * pi / 30.0
        row[o.L_EFFICIENCY], row[o.L_SURGE], row[o.L_CHOKE] = (
            c[name] or 0.0 for name in ("compressor_efficiency", "surge_margin", "choke_margin")
        )
        row[o.L_P3] = 1e3 * c["turbine_inlet_pressure_kPa"]
    rpm = np.array([made.points[k].columns["speed_rpm"] for k in settled])
    judged = judge(machines.demand.at(rpm), machines.way, ranked.candidate, line, wish)
    return replace(judged, torque=np.array([made.points[k].columns["torque_Nm"] for k in settled]))


def _apart(made: Pull, charge: Floats, machines: Machines, gate: Floats | None) -> tuple[Apart, ...]:
    """The algebra with this gate against each settled point; nothing without a gate."""
    if gate is None:
        return ()
    most, found = P2_MOST * float(machines.way[b.Y_P]), []
    for point, p2 in zip(made.points, charge, strict=True):
        if not np.isfinite(p2):
            continue
        c = point.columns
        rpm = np.array([float(c["speed_rpm"])])
        at = replace(machines, demand=machines.demand.at(rpm))
        state, _ = at.on_spring(0, gate, most)
        if state.status != b.HELD:
            continue
        torque = float(at.demand.torque(*(np.array([v]) for v in (state.p2, state.T2, state.p3)))[0])
        told = (state.p2, state.air, state.p3, state.omega, torque)
        full = (
            p2,
            c["air_flow_kg_s"],
            1e3 * c["turbine_inlet_pressure_kPa"],
            c["turbo_speed_rpm"] * pi / 30.0,
            c["torque_Nm"],
        )
        values = {name: float(a / f - 1.0) for name, a, f in zip(COMPARED, told, full, strict=True)}
        found.append(Apart(float(rpm[0]), c["wastegate_opening"] > 0.0, values))
    return tuple(found)
