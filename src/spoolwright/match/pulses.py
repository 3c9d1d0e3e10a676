"""What the demand of held states leaves out, measured with the build's own turbo run in full at the demand's speeds.

Exhaust pulses: flow and work of the turbine and flow of the gate over what their maps give at the cycle's means.
Charge side: air drawn and exhaust temperature over the demand's at the same means, for the waves of the charge pipes.
Ranking takes these for every candidate: they belong to the engine, its firing order and its pipes more than to the
wheels, so the own turbo is a fair stand-in. A finalist run in full has its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from spoolwright.boost import balance as b
from spoolwright.boost.cooler import cooler_loss
from spoolwright.boost.rows import Floats
from spoolwright.engine.pull import Point, Pull, pull
from spoolwright.engine.readings import Readings, read
from spoolwright.match.demand import Demand
from spoolwright.sheet import Sheet

LOW, HIGH = 0.5, 2.5  # factors outside are no pulses but a point that stands near nothing


def with_pulses(
    demand: Demand,
    sheet: Sheet,
    way: Floats,
    cooler: Floats,
    workers: int | None = None,
    cancelled: Callable[[], bool] = lambda: False,
) -> Demand:
    """The demand with the factors at its speeds; its ``pulses`` says how many points they rest on.

    Speeds at which the own turbo does not settle take their neighbours' factors; none at all changes nothing.
    """
    made = pull(sheet, [float(n) for n in demand.rpm], workers=workers, cancelled=cancelled)
    return corrected(demand, made, way, cooler)


def corrected(demand: Demand, made: Pull, way: Floats, cooler: Floats) -> Demand:
    """The demand with the factors of a full pull at its speeds."""
    known: list[int] = []
    factors: list[list[float]] = []
    at = {float(n): k for k, n in enumerate(demand.rpm)}
    for point in made.points:
        k = at[float(point.columns["speed_rpm"])]
        found = _of(made, point, demand.rows[k], way, cooler)
        if found is not None:
            known.append(k)
            factors.append(found)
    if not known:
        return demand
    rows, seen = demand.rows.copy(), np.array(factors)
    spread = [np.interp(demand.rpm, demand.rpm[known], seen[:, c]) for c in range(seen.shape[1])]
    rows[:, b.Q_PULSE_FLOW], rows[:, b.Q_PULSE_POWER], rows[:, b.Q_PULSE_GATE] = spread[:3]
    rows[:, b.Q_FLOW] += np.log(spread[3])
    rows[:, b.Q_T3] += spread[4]
    return replace(demand, rows=rows, pulses=len(known))


def _of(made: Pull, point: Point, row: Floats, way: Floats, cooler: Floats) -> list[float] | None:
    """Turbine flow, turbine work, gate flow, air drawn over the algebra's; exhaust temperature less its [K]."""
    if point.cycle is None or not point.columns["converged"]:
        return None
    r = read(point.cycle.engine, point.cycle.tally, made.model.machinery)
    weight = r.turbine_flow / max(float(r.turbine_flow.sum()), 1e-9)
    gate = float(r.means.k_gate.mean()) if len(r.way_flow) and r.way_flow.min() > 1e-4 else 1.0
    p3, T3 = float(weight @ r.means.p3), float(weight @ r.means.T3)
    T2, air = float(point.columns["charge_temperature_K"]), float(point.columns["air_flow_kg_s"])
    p2 = _before_device(r, way, cooler, T2)
    drawn = air / float(b.air_demand(row, p2, T2, p3))
    found = [float(weight @ r.means.k_flow), float(weight @ r.means.k_power), gate, drawn]
    if not all(LOW <= k <= HIGH for k in found):
        return None
    return [*found, T3 - float(b.exhaust_temperature(row, p2, T2, p3))]


def _before_device(r: Readings, way: Floats, cooler: Floats, T2: float) -> float:
    """Mean pressure [Pa] before carburettor or throttle: the compressor's less the losses of pipes and cooler."""
    p, m = r.means.p2, r.means.m_drawn
    p -= float(way[b.Y_HOT] * m * m * way[b.Y_R] * T2 / p)
    if way[b.Y_COOLER] > 0.0:
        p -= float(cooler_loss(cooler, m, p / (way[b.Y_R] * T2)))
    return p - float(way[b.Y_COLD] * m * m * way[b.Y_R] * T2 / p)
