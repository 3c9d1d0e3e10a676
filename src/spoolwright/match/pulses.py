"""What the demand of held states leaves out, measured with turbos run in full at the demand's speeds.

Exhaust pulses: flow and work of the turbine and flow of the gate over what their maps give at the cycle's means.
Charge side: air drawn, exhaust temperature and mean pressure over the demand's at the same means, for the waves of the
pipes.
They belong to the engine, its firing order and its pipes; but a larger turbine lets each pulse run off sooner, so its
work at the same mean pressure is more. So the build's own turbo is run at all the demand's speeds, and once more at a
few with a turbine of another size: ranking follows the factors over the turbine's area, as powers of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import log

import numpy as np

from spoolwright.boost import balance as b
from spoolwright.boost.cooler import cooler_loss
from spoolwright.boost.rows import T_AREA, Floats
from spoolwright.engine.pull import Point, Pull, pull
from spoolwright.engine.readings import Readings, read
from spoolwright.engine.turbo import Turbo
from spoolwright.match.demand import BY_AREA, FACTORS, Demand
from spoolwright.sheet import Sheet

OTHER = 1.5  # area of the second turbine over the build's own, or its inverse
AGAIN = 3  # speeds at which it is run


def with_pulses(
    demand: Demand,
    sheet: Sheet,
    parts: Turbo,
    way: Floats,
    cooler: Floats,
    larger: bool,
    workers: int | None = None,
    cancelled: Callable[[], bool] = lambda: False,
) -> tuple[Demand, Floats]:
    """The demand with the factors at its speeds, and the way with inlet and tail as the same runs measured them.

    The demand's ``pulses`` says how many points it rests on. parts: the build's own turbo; larger: whether the second
    turbine is the larger one (else the smaller). Speeds at which a turbo does not settle take their neighbours'
    factors; none at all changes nothing.
    """
    made = pull(sheet, [float(n) for n in demand.rpm], workers=workers, cancelled=cancelled)
    way = measured_way(way, made)
    first, at_own = corrected(demand, made, way, cooler)
    if not at_own or cancelled():
        return first, way
    turbine = parts.turbine.copy()
    turbine[:, T_AREA] *= OTHER if larger else 1.0 / OTHER
    few = demand.rpm[np.unique(np.linspace(0, len(demand.rpm) - 1, AGAIN).astype(int))]
    machines = replace(parts, turbine=turbine)
    again = pull(sheet, [float(n) for n in few], workers=workers, cancelled=cancelled, machines=machines)
    at_other = _factors(demand, again, way, cooler)
    ratio = log(float(turbine[:, T_AREA].sum() / parts.turbine[:, T_AREA].sum()))
    known = [k for k in at_other if k in at_own]
    area = float(parts.turbine[:, T_AREA].sum())
    if not known:
        return replace(first, pulse_area=area), way
    n = len(BY_AREA)
    found = np.array([np.log(np.array(at_other[k][:n]) / np.array(at_own[k][:n])) / ratio for k in known])
    slopes = np.array([np.interp(demand.rpm, demand.rpm[known], each) for each in found.T]).T
    return replace(first, pulses=len(at_own) + len(at_other), pulse_area=area, pulse_slopes=slopes), way


def measured_way(way: Floats, made: Pull) -> Floats:
    """The way with the losses of inlet and tail that a full pull shows at its settled point of most flow.

    Their flow swings, and their pipes taper; both make them lose more than the estimate of ``way``.
    """
    settled = [point for point in made.points if point.cycle is not None and point.columns["converged"]]
    if not settled:
        return way
    most = max(settled, key=lambda point: point.columns["air_flow_kg_s"])
    assert most.cycle is not None
    r, out = read(most.cycle.engine, most.cycle.tally, made.model.machinery), way.copy()
    weight = r.turbine_flow / max(float(r.turbine_flow.sum()), 1e-9)
    p, m = float(way[b.Y_P]), r.means.m_drawn
    p4, T3 = float(weight @ r.means.p4), float(weight @ r.means.T3)
    in_tail = float(r.turbine_flow.sum()) if way[b.Y_GATE_OPEN_AIR] > 0.0 else r.means.m_exhaust
    out[b.Y_INLET] = max(p - r.means.p1, 0.0) * p / (m * m * way[b.Y_R] * way[b.Y_T_INLET])
    out[b.Y_TAIL] = max(p4 - p, 0.0) * p4 / (in_tail * in_tail * way[b.Y_R3] * (T3 - 100.0))
    return out


def corrected(demand: Demand, made: Pull, way: Floats, cooler: Floats) -> tuple[Demand, dict[int, list[float]]]:
    """The demand with the factors of a full pull at its speeds, and those factors by speed."""
    found = _factors(demand, made, way, cooler)
    if not found:
        return demand, found
    known, rows, seen = list(found), demand.rows.copy(), np.array(list(found.values()))
    spread = [np.interp(demand.rpm, demand.rpm[known], seen[:, c]) for c in range(seen.shape[1])]
    rows[:, b.Q_PULSE_FLOW], rows[:, b.Q_PULSE_POWER], rows[:, b.Q_PULSE_GATE] = spread[:3]
    rows[:, b.Q_FLOW] += np.log(spread[3])
    rows[:, b.Q_T3] += spread[4]
    bmep = demand.bmep.copy()
    bmep[:, 0] += spread[5]
    return replace(demand, rows=rows, bmep=bmep, pulses=len(known)), found


def _factors(demand: Demand, made: Pull, way: Floats, cooler: Floats) -> dict[int, list[float]]:
    """What a full pull is over the algebra, by index of its speeds: see ``_of``."""
    at = {float(n): k for k, n in enumerate(demand.rpm)}
    found: dict[int, list[float]] = {}
    for point in made.points:
        k = at[float(point.columns["speed_rpm"])]
        factors = _of(made, point, demand, k, way, cooler)
        if factors is not None:
            found[k] = factors
    return found


def _of(made: Pull, point: Point, demand: Demand, k: int, way: Floats, cooler: Floats) -> list[float] | None:
    """Turbine flow, turbine work, gate flow, air drawn over the algebra's at the same means; then exhaust temperature
    [K] and brake mean pressure [Pa] less the algebra's. None where the point did not settle or stands near nothing."""
    if point.cycle is None or not point.columns["converged"]:
        return None
    r, row = read(point.cycle.engine, point.cycle.tally, made.model.machinery), demand.rows[k]
    weight = r.turbine_flow / max(float(r.turbine_flow.sum()), 1e-9)
    gate = float(r.means.k_gate.mean()) if len(r.way_flow) and r.way_flow.min() > 1e-4 else 1.0
    p3, T3 = float(weight @ r.means.p3), float(weight @ r.means.T3)
    T2, air = float(point.columns["charge_temperature_K"]), float(point.columns["air_flow_kg_s"])
    p2 = charge_pressure(r, way, cooler, T2)
    drawn = air / float(b.air_demand(row, p2, T2, p3))
    ratios = [float(weight @ r.means.k_flow), float(weight @ r.means.k_power), gate, drawn]
    if not all(FACTORS[0] <= each <= FACTORS[1] for each in ratios):
        return None
    warmer = T3 - float(b.exhaust_temperature(row, p2, T2, p3))
    stronger = 1e3 * float(point.columns["bmep_kPa"]) - float(demand.mean_pressure(p2, T2, p3)[k])
    return [*ratios, warmer, stronger]


def charge_pressure(r: Readings, way: Floats, cooler: Floats, T2: float) -> float:
    """Mean pressure [Pa] before carburettor or throttle: the compressor's less the losses of pipes and cooler."""
    p, m = r.means.p2, r.means.m_drawn
    p -= float(way[b.Y_HOT] * m * m * way[b.Y_R] * T2 / p)
    if way[b.Y_COOLER] > 0.0:
        p -= float(cooler_loss(cooler, m, p / (way[b.Y_R] * T2)))
    return p - float(way[b.Y_COLD] * m * m * way[b.Y_R] * T2 / p)
