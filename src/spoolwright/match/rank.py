"""Candidates ranked by the widest of their tightest margins along the operating line.

Each margin is put on one scale: 0 at the hard end, 1 at what is wished, beyond 1 better. A candidate counts as much as
its worst one; of equals the one with the better compressor efficiency along the line comes first. So no weights are
chosen for the builder, and one good figure never hides a bad one. The hard ends and wishes are common practice, no
source; each can be given.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from math import pi
from typing import Literal

import numpy as np

from spoolwright.boost import balance as b
from spoolwright.boost import operating_line as o
from spoolwright.boost.compressor_roots import surge_point
from spoolwright.boost.rows import Floats
from spoolwright.match.candidates import Candidate
from spoolwright.match.demand import Demand

Verdict = Literal["sound", "watch", "stop"]
LEAST_RATIO = 1.15  # pressure ratio below which nobody asks for the margin to surge


@dataclass(frozen=True)
class Wish:
    """What is wanted: gauge boost [Pa] and the bounds; every pair is (hard end, wished).

    by_rpm : speed by which the boost shall be held, and the speed beyond which it is of no use [rpm].
    """

    boost: float
    by_rpm: tuple[float, float]
    surge: tuple[float, float] = (0.0, 0.10)
    choke: tuple[float, float] = (0.0, 0.10)
    shaft: tuple[float, float] = (0.0, 0.03)
    drive: tuple[float, float] = (2.5, 1.5)
    efficiency: tuple[float, float] = (0.55, 0.65)


@dataclass(frozen=True)
class Margin:
    """One margin of a candidate: value in its own terms, where it is tightest [rpm], place on the common scale."""

    name: str
    value: float
    rpm: float
    score: float
    sentence: str


@dataclass(frozen=True)
class Ranked:
    """A candidate with its line (n, columns of ``boost.operating_line``) and margins; ``tightest`` rules."""

    candidate: Candidate
    rpm: Floats
    line: Floats
    margins: tuple[Margin, ...]
    threshold: float | None  # rpm from which the boost is held; None never
    efficiency: float
    drive: float  # gauge drive pressure over gauge boost, greatest where the boost is held
    torque: Floats = field(default_factory=lambda: np.zeros(0))

    @property
    def tightest(self) -> Margin:
        """The margin that decides."""
        return min(self.margins, key=lambda m: m.score)

    @property
    def score(self) -> float:
        """Place on the common scale: below 0 stop, below 1 watch."""
        return self.tightest.score

    @property
    def verdict(self) -> Verdict:
        """In words."""
        return "stop" if self.score < 0.0 else ("watch" if self.score < 1.0 else "sound")


def operating_line(demand: Demand, way: Floats, cooler: Floats, candidate: Candidate) -> Floats:
    """The candidate's line at the demand's speeds and wanted charge pressure (n, N_OPERATING)."""
    line = np.zeros((len(demand.rpm), o.N_OPERATING))
    mine = way.copy()
    mine[b.Y_SHAFT] = candidate.shaft_efficiency
    o.operating_line(
        demand.for_turbine(candidate.turbine_area).rows,
        mine,
        candidate.compressor.sizes,
        candidate.compressor.lines,
        candidate.turbine,
        cooler,
        demand.p2,
        line,
    )
    return line


def rank(
    demand: Demand,
    way: Floats,
    cooler: Floats,
    candidates: Sequence[Candidate],
    wish: Wish,
    workers: int = 1,
    progress: Callable[[int, int], None] = lambda done, all: None,
) -> list[Ranked]:
    """All candidates, best first; the order they came in makes no difference."""

    def one(candidate: Candidate) -> Ranked:
        return judge(demand, way, candidate, operating_line(demand, way, cooler, candidate), wish)

    if workers > 1 and len(candidates) > 1:
        with ThreadPoolExecutor(max_workers=workers) as pool:  # the kernel lets the interpreter go
            made = list(pool.map(one, candidates))
    else:
        made = [one(candidate) for candidate in candidates]
    progress(len(made), len(made))
    return sorted(made, key=lambda r: (-round(min(r.score, 3.0), 6), -round(r.efficiency, 6), r.candidate.name))


def judge(demand: Demand, way: Floats, candidate: Candidate, line: Floats, wish: Wish) -> Ranked:
    """One candidate's margins from its line."""
    rpm, outside = demand.rpm, float(way[b.Y_P])
    impossible = np.isnan(line[:, o.L_P3])
    if impossible.any():
        margins: tuple[Margin, ...] = (_no_pressure(candidate, line, rpm, impossible),)
        return Ranked(candidate, rpm, line, margins, None, 0.0, float("nan"))
    held = line[:, o.L_REACHED] > 0.0
    ratio = line[:, o.L_P_OUT] / line[:, o.L_P1]
    surge = np.where(ratio >= LEAST_RATIO, line[:, o.L_SURGE], np.inf)
    shaft = 1.0 - line[:, o.L_OMEGA] / candidate.speed_limit
    gauge = np.maximum(line[:, o.L_P2] - outside, 1.0)
    drive = np.where(held, (line[:, o.L_P3] - outside) / gauge, -np.inf)
    threshold = threshold_speed(rpm, line)
    made = [
        _margin("surge", surge, rpm, np.argmin, wish.surge, lambda v: f"surge {100 * v:.0f} %"),
        _margin("choke", line[:, o.L_CHOKE], rpm, np.argmin, wish.choke, lambda v: f"choke {100 * v:.0f} %"),
        _margin("shaft speed", shaft, rpm, np.argmin, wish.shaft, _of_limit),
        _threshold(threshold, line, outside, wish),
    ]
    efficiency = 0.0
    if held.any():
        made.append(_margin("drive pressure", drive, rpm, np.argmax, wish.drive, lambda v: f"drive {v:.2f} of boost"))
        weight = line[held, o.L_AIR]
        efficiency = float((line[held, o.L_EFFICIENCY] * weight).sum() / weight.sum())
        share = _score(efficiency, wish.efficiency)
        told = f"efficiency {100 * efficiency:.0f} % along the line"
        made.append(Margin("efficiency", efficiency, float(rpm[held][0]), share, told))
    most = float(drive[held].max()) if held.any() else float("nan")
    torque = demand.torque(line[:, o.L_P2], line[:, o.L_T2], line[:, o.L_P3])
    return Ranked(candidate, rpm, line, tuple(made), threshold, efficiency, most, torque)


def threshold_speed(rpm: Floats, line: Floats) -> float | None:
    """Lowest speed [rpm] from which the boost is held without a break to the last speed; None: not held there.

    Between two speeds of the line the spare gas is taken as linear. At or below the first speed: the first speed.
    """
    spare = np.nan_to_num(line[:, o.L_SPARE], nan=-1.0)
    short = np.flatnonzero(spare < 0.0)
    if len(short) == 0:
        return float(rpm[0])
    last = int(short[-1])
    if last == len(rpm) - 1:
        return None
    share = -spare[last] / (spare[last + 1] - spare[last])
    return float(rpm[last] + share * (rpm[last + 1] - rpm[last]))


def most_boost(candidates: Sequence[Candidate], way: Floats) -> float:
    """Greatest gauge pressure [Pa] any of the compressors gives at its speed limit, at surge, before losses."""
    best = 0.0
    for one in candidates:
        sizes, lines = one.compressor
        p1, T1, R, cp = (float(way[k]) for k in (b.Y_P, b.Y_T_INLET, b.Y_R, b.Y_CP))
        best = max(best, float(surge_point(sizes, lines, one.speed_limit, p1, T1, R, cp)[1]) - p1)
    return best


def _score(value: float, bounds: tuple[float, float]) -> float:
    hard, wished = bounds
    return (value - hard) / (wished - hard)


def _margin(
    name: str,
    values: Floats,
    rpm: Floats,
    worst: Callable[[Floats], np.intp],
    bounds: tuple[float, float],
    told: Callable[[float], str],
) -> Margin:
    k = int(worst(values))
    value = float(values[k])
    return Margin(name, value, float(rpm[k]), _score(value, bounds), f"{told(value)} at {rpm[k]:.0f} rpm")


def _of_limit(margin: float) -> str:
    return f"shaft speed {100 * margin:.0f} % below its limit" if margin >= 0.0 else f"overspeed {-100 * margin:.0f} %"


def _threshold(threshold: float | None, line: Floats, outside: float, wish: Wish) -> Margin:
    if threshold is None:
        best = float(line[:, o.L_P2].max() - outside)
        told = f"boost never held: {best / 1e3:.0f} kPa at most"
        return Margin("threshold", float("nan"), float("nan"), -1.0, told)
    wished, useless = wish.by_rpm
    told = f"boost held from {threshold:.0f} rpm"
    return Margin("threshold", threshold, threshold, _score(threshold, (useless, wished)), told)


def _no_pressure(candidate: Candidate, line: Floats, rpm: Floats, impossible: np.ndarray) -> Margin:
    k = int(np.flatnonzero(impossible)[0])
    if line[k, o.L_STATUS] == b.NO_SPEED:
        over = f"{candidate.speed_limit * 30 / pi:.0f} rpm"
        told = f"compressor gives no such pressure at {rpm[k]:.0f} rpm, even far above its limit of {over}"
        return Margin("shaft speed", float("nan"), float(rpm[k]), -2.0, told)
    return Margin("turbine", float("nan"), float(rpm[k]), -2.0, f"turbine far too small at {rpm[k]:.0f} rpm")
