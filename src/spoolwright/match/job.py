"""The job "match": demand of a build, candidates ranked, spring, gate and carburettor for the one on top.

The one place that terminal and pages call for it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from spoolwright.boost import balance as b
from spoolwright.boost.compressor_roots import choke_flow, surge_flow
from spoolwright.boost.cooler import cooler_outlet_temperature
from spoolwright.boost.operating_line import L_P3
from spoolwright.boost.rows import G_DIAPHRAGM, G_PRELOAD, Floats
from spoolwright.engine.charge import site
from spoolwright.engine.imposed import Held, held_model
from spoolwright.engine.speeds import usual_speeds
from spoolwright.engine.turbo import Turbo, turbo
from spoolwright.errors import BadInput
from spoolwright.match.candidates import Candidate, all_candidates, own
from spoolwright.match.carburettor import CarburettorNeed, carburettor_need
from spoolwright.match.demand import Cancelled, Demand, measure
from spoolwright.match.finalists import Finalist, run_finalist
from spoolwright.match.pulses import with_pulses
from spoolwright.match.rank import Ranked, Wish, most_boost, rank
from spoolwright.match.spring import GateNeed, Machines, SpringLine, gate_need, preload_for, springs
from spoolwright.match.way import cooler_of, way_of
from spoolwright.sheet import Sheet

KNOTS = 6  # speeds at which the engine is run
LARGER = 0.8  # flow wanted over the build's own turbo's, above which its pulses are also measured on a larger turbine
LINE_POINTS = 25  # speeds at which a candidate's line is drawn
GUESS_EFFICIENCY = 0.70  # of a compressor not chosen yet, for the charge temperature of the engine's runs


@dataclass(frozen=True)
class Asked:
    """What the user asks: gauge boost [Pa], speeds [rpm], where it shall be held from [rpm], candidates."""

    boost: float | None = None
    speeds_rpm: tuple[float, ...] = ()
    by_rpm: float | None = None
    folder: Path | None = None
    generic: bool = True


@dataclass(frozen=True)
class Match:
    """The answer. ``demand`` stands at the line's speeds; springs, gate and carburettor are those of the first ranked.

    boost_from says where the wanted boost comes from; spring_trouble why no spring holds it; finalists are those of
    the first candidates that were run in full.
    """

    sheet: Sheet
    turbo: Turbo
    wish: Wish
    boost_from: str
    demand: Demand
    way: Floats
    ranked: list[Ranked]
    springs: list[SpringLine]
    spring_trouble: str
    gate: GateNeed | None
    carburettor: CarburettorNeed | None
    finalists: list[Finalist] = field(default_factory=list)

    @property
    def best(self) -> Ranked:
        """The candidate on top."""
        return self.ranked[0]


def match(
    sheet: Sheet,
    asked: Asked,
    *,
    workers: int | None = None,
    ready: Callable[[], None] = lambda: None,
    progress: Callable[[int, int], None] = lambda done, all: None,
    cancelled: Callable[[], bool] = lambda: False,
) -> Match:
    """Match a turbocharger to the sheet's engine.

    ready is called when the sheet and the candidates have been read, before the engine runs; progress with engine runs
    done and all. Raises BadInput for a sheet without a turbocharger to start from, candidates that cannot be read, a
    boost that no candidate gives; NoConvergence where the engine does not run.
    """
    base = own(sheet)
    parts = turbo(sheet)
    assert parts is not None  # own() found it
    boost, boost_from = _wanted(sheet, asked, parts)
    speeds = sorted(asked.speeds_rpm) or usual_speeds(sheet)
    knots = _knots(speeds)
    p_out = site(sheet).p
    wish = _wish(boost, asked, speeds[-1])
    first = held_model(sheet, knots[-1], Held(p_out + boost, 330.0, p_out + boost))[0]
    flow = _guessed_flow(first.swept, knots[-1], p_out + boost)
    way, cooler = way_of(sheet, first, parts, flow), cooler_of(parts)
    T2 = _guessed_temperature(way, cooler, flow, p_out + boost)
    flow_ratio = _flow_ratio(base, way, flow, boost)
    candidates = all_candidates(sheet, asked.folder, flow_ratio, asked.generic, base)
    _possible(candidates, way, boost)
    ready()
    measured = measure(sheet, knots, p_out + boost, T2, workers=workers, progress=progress, cancelled=cancelled)
    measured, way = with_pulses(measured, sheet, parts, way, cooler, flow_ratio > LARGER, workers, cancelled)
    if cancelled():
        raise Cancelled("cancelled before the turbo's pulses were known; nothing was ranked")
    grid = np.array(speeds) if asked.speeds_rpm else np.linspace(speeds[0], speeds[-1], LINE_POINTS)
    demand = measured.at(grid)
    ranked = rank(demand, way, cooler, candidates, wish, workers or os.cpu_count() or 1)
    _reached(ranked, boost)
    return _with_parts(sheet, parts, wish, boost_from, demand, way, cooler, ranked)


def run_finalists(
    match: Match,
    count: int,
    *,
    workers: int | None = None,
    cancelled: Callable[[], bool] = lambda: False,
) -> Match:
    """The same match with full pulls of the first ``count`` candidates, each with a spring for the wanted boost."""
    rpm, cooler = match.demand.rpm, cooler_of(match.turbo)
    speeds = rpm[np.unique(np.linspace(0, len(rpm) - 1, KNOTS).astype(int))]
    done: list[Finalist] = []
    for ranked in match.ranked[:count]:
        machines = Machines(match.demand, match.way, cooler, ranked.candidate)
        done.append(
            run_finalist(
                match.sheet, match.turbo, machines, ranked, match.wish, speeds, workers=workers, cancelled=cancelled
            )
        )
        if cancelled():
            break
    return replace(match, finalists=done)


def _with_parts(
    sheet: Sheet,
    parts: Turbo,
    wish: Wish,
    boost_from: str,
    demand: Demand,
    way: Floats,
    cooler: Floats,
    ranked: list[Ranked],
) -> Match:
    best = ranked[0]
    lines: list[SpringLine] = []
    trouble, need = "", None
    if parts.gate is None:
        trouble = "the sheet has no [wastegate]: no spring to choose"
    elif best.threshold is not None:
        machines = Machines(demand, way, cooler, best.candidate)
        lines = springs(machines, parts.gate, wish.boost, best.threshold)
        need = gate_need(machines, parts.gate, wish.boost)
        there = np.flatnonzero(demand.rpm >= best.threshold)
        try:
            preload_for(machines, parts.gate, wish.boost, int(there[len(there) // 2]))
        except BadInput as why:
            trouble = str(why)
    carburettor = None if best.threshold is None else carburettor_need(sheet, demand.rpm, best.line, way)
    return Match(sheet, parts, wish, boost_from, demand, way, ranked, lines, trouble, need, carburettor)


def _wanted(sheet: Sheet, asked: Asked, parts: Turbo) -> tuple[float, str]:
    if asked.boost is not None:
        if not 2e3 <= asked.boost <= 5e5:
            raise BadInput(
                f"--boost: {asked.boost / 1e3:.4g} kPa above outside air is no boost to match for; write for example "
                '"0.7 bar" or "10 psi"'
            )
        return asked.boost, "as asked"
    if parts.gate is not None and parts.gate[G_PRELOAD] > 0.0:
        return float(parts.gate[G_PRELOAD] / parts.gate[G_DIAPHRAGM]), "the label of the build's gate spring"
    most = sheet.maybe("limits.max_boost")
    if most is not None:
        return most, "limits.max_boost"
    raise BadInput('no boost is wanted yet: add for example --boost "0.7 bar"')


def _knots(speeds: Sequence[float]) -> list[float]:
    if len(speeds) <= KNOTS:
        return list(speeds)
    return [float(x) for x in np.linspace(speeds[0], speeds[-1], KNOTS)]


def _wish(boost: float, asked: Asked, top: float) -> Wish:
    by = asked.by_rpm or 0.5 * top
    return Wish(boost, (by, by + 0.3 * top))


def _guessed_flow(swept: float, rpm: float, p2: float) -> float:
    """Air [kg/s] of an engine of ``swept`` [m3] that fills by nine tenths at 330 K."""
    return 0.9 * swept * rpm / 120.0 * p2 / (287.05 * 330.0)


def _guessed_temperature(way: Floats, cooler: Floats, flow: float, p2: float) -> float:
    """Charge temperature [K] behind a compressor of GUESS_EFFICIENCY and this build's pipes and cooler."""
    k = way[b.Y_R] / way[b.Y_CP]
    T = way[b.Y_T_INLET] * (1.0 + ((p2 / way[b.Y_P]) ** k - 1.0) / GUESS_EFFICIENCY)
    T += way[b.Y_HOT_SHARE] * (way[b.Y_HOT_WALL] - T)
    if way[b.Y_COOLER] > 0.0:
        T = cooler_outlet_temperature(cooler, flow, T, way[b.Y_COOLANT])
    return float(T + way[b.Y_COLD_SHARE] * (way[b.Y_COLD_WALL] - T))


def _flow_ratio(base: Candidate, way: Floats, flow: float, boost: float) -> float:
    """Flow of one turbo over what the build's own compressor is made for: three quarters from surge to choke there."""
    sizes, lines = base.compressor
    p1, T1, R, cp = (float(way[k]) for k in (b.Y_P, b.Y_T_INLET, b.Y_R, b.Y_CP))
    least, _ = surge_flow(sizes, lines, p1, T1, R, cp, p1 + boost, base.speed_limit)
    omega = base.speed_limit * min(1.0, (boost / max(most_boost([base], way), 1.0)) ** 0.5)
    most = choke_flow(sizes, lines, omega, p1, T1, R, cp)
    return float(np.clip(flow / way[b.Y_COUNT] / (least + 0.75 * max(most - least, 0.1 * least)), 0.05, 20.0))


def _possible(candidates: Sequence[Candidate], way: Floats, boost: float) -> None:
    most = most_boost(candidates, way)
    if boost > most:
        raise BadInput(
            f"no candidate's compressor gives {boost / 1e3:.0f} kPa of boost: within their speed limits "
            f"{most / 1e3:.0f} kPa is the most; ask for less, or add candidates made for more"
        )


def _reached(ranked: Sequence[Ranked], boost: float) -> None:
    if all(np.isnan(one.line[:, L_P3]).any() for one in ranked):
        raise BadInput(
            f"no candidate gives {boost / 1e3:.0f} kPa at this engine's flow; ask for less boost, or add larger ones"
        )
