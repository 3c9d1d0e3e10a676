"""Best-torque and knock-limited spark on a frozen trapped state, by repeating the closed cycle.

Best torque: bracket, then parabolas through the best three points; about six closed cycles. Knock limit:
secant on the logarithm of the integral, from best torque towards late only: far too early a spark also gives
a small integral (the burn is over before top dead centre) and would be a false answer.
Run one or two full cycles afterwards: residual and exhaust temperature move with the spark.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.closed import NO_TRACE, ClosedCycle, closed_cycle
from spoolwright.cylinder.rows import Cylinders

EARLIEST, LATEST = -80.0, 40.0  # deg
CLOSE_ENOUGH = 1.0  # deg; a parabola that moves less than this is taken as the last
MOST_CYCLES = 14


class SparkSearch(NamedTuple):
    """Spark [deg], the closed cycle there, closed cycles it took, and what held it."""

    spark: float
    cycle: ClosedCycle
    cycles: int
    held_by: str  # "torque", "knock" or "range" (no spark in the range is late enough)


class Trapped:
    """The state of cylinder k just after ``close_valves``, to be run again and again.

    c : Cylinders; k : int; theta_end : float [deg], exhaust opening; omega : float [rad/s]
    """

    def __init__(self, c: Cylinders, k: int, theta_end: float, omega: float) -> None:
        self._c, self._k, self._end, self._omega = c, k, theta_end, omega
        self._start = c.state[k].copy()
        self.cycles = 0

    def run(self, spark: float) -> ClosedCycle:
        """The closed cycle with this spark [deg]; the cylinder's state is the trapped one again afterwards."""
        self._c.state[self._k] = self._start
        result = closed_cycle(self._c, self._k, self._end, self._omega, spark, NO_TRACE)
        self._c.state[self._k] = self._start
        self.cycles += 1
        return ClosedCycle(*result)


def best_torque_spark(trapped: Trapped, guess: float = -25.0) -> SparkSearch:
    """Spark of the most closed-part work, started at ``guess`` [deg]."""
    before = trapped.cycles
    known = {a: trapped.run(a) for a in (guess - 6.0, guess, guess + 6.0)}
    best = max(known, key=lambda a: known[a].work)
    while trapped.cycles - before < MOST_CYCLES:
        angles = sorted(known)
        i = angles.index(best)
        if i == 0:
            new = best - 8.0
        elif i == len(angles) - 1:
            new = best + 8.0
        else:
            new = _vertex(angles[i - 1 : i + 2], [known[a].work for a in angles[i - 1 : i + 2]])
        new = min(max(new, EARLIEST), LATEST)
        if min(abs(new - a) for a in known) < 0.02:
            break
        last_move = abs(new - best) if 0 < i < len(angles) - 1 else 1e9
        known[new] = trapped.run(new)
        best = max(known, key=lambda a: known[a].work)
        if last_move < CLOSE_ENOUGH:
            break
    held = "torque" if EARLIEST < best < LATEST else "range"
    return SparkSearch(best, known[best], trapped.cycles - before, held)


def _vertex(x: list[float], y: list[float]) -> float:
    left, right = (y[1] - y[0]) / (x[1] - x[0]), (y[2] - y[1]) / (x[2] - x[1])
    bend = (right - left) / (x[2] - x[0])
    if bend >= 0.0:
        return x[1]
    return min(max(0.5 * (x[0] + x[1]) - 0.5 * left / bend, x[0]), x[2])


def knock_limited_spark(trapped: Trapped, best: SparkSearch, limit: float) -> SparkSearch:
    """Earliest spark, not before best torque, at which the knock integral stays at ``limit`` [-].

    Returns ``best`` itself (its own count of cycles) where that does not knock.
    """
    if best.cycle.knock <= limit:
        return best
    before = trapped.cycles
    low, f_low = best.spark, np.log(best.cycle.knock / limit)
    angle = low + max(3.0, f_low / 0.03)
    while True:
        angle = min(angle, LATEST)
        cycle = trapped.run(angle)
        f = np.log(max(cycle.knock, 1e-9) / limit)
        if f <= 0.0 or angle >= LATEST:
            break
        low, f_low, angle = angle, f, angle + max(3.0, f / 0.04)
    if f > 0.0:
        return SparkSearch(angle, cycle, trapped.cycles - before, "range")
    high, f_high = angle, f
    while trapped.cycles - before < MOST_CYCLES and abs(f) > 2e-4 and high - low > 0.01:
        angle = low + (high - low) * min(max(f_low / (f_low - f_high), 0.02), 0.98)
        cycle = trapped.run(angle)
        f = np.log(max(cycle.knock, 1e-9) / limit)
        if f > 0.0:
            low, f_low = angle, f
        else:
            high, f_high = angle, f
    return SparkSearch(angle, cycle, trapped.cycles - before, "knock")


def spark_search(trapped: Trapped, limit: float, guess: float = -25.0) -> SparkSearch:
    """Best-torque spark, held back to the knock ``limit`` where it must be."""
    return knock_limited_spark(trapped, best_torque_spark(trapped, guess), limit)


def knock_limit(c: Cylinders, k: int) -> float:
    """The knock integral cylinder k may reach [-]."""
    return float(c.design[k, r.KNOCK_LIMIT])
