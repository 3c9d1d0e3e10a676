"""When the mixture is lit: a locked angle, a table over speed and manifold pressure, or the angle searched.

A table is read, and boost retard taken out, at the manifold pressure of the cycle before: the mean at the intake ports.

A search runs the closed cycle of each cylinder again from the state in which its valves shut, finds best torque, and
holds back where the knock integral would pass the limit. One distributor serves all: the spark is the mean of the
cylinders' best angles, or the latest that any cylinder's knock limit allows.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.lift import ANGLES
from spoolwright.cylinder.search import Trapped, best_torque_spark, knock_limited_spark
from spoolwright.engine.charge import scattered
from spoolwright.engine.parts import S_P, TIME, V_CYLINDER, V_INTAKE, Engine, Tally
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet

SEARCH_EVERY = 4  # cycles between searches: the charge must answer the last one first
CONTENT = 0.3  # deg; a search that moves the spark less has settled
TABLE_CONTENT = 0.05  # deg; the same for an angle read from a table
FIRST_ADVANCE = 25.0  # deg; where a search begins without a sheet's angle


@dataclass(frozen=True)
class Retard:
    """Advance taken out for boost: ``rate`` [deg/Pa] above ``start`` [Pa gauge], at most ``limit`` [deg]."""

    rate: float
    start: float
    limit: float

    def at(self, boost: float) -> float:
        """Degrees taken out at ``boost`` [Pa gauge]."""
        return min(max(self.rate * (boost - self.start), 0.0), self.limit)


@dataclass(frozen=True)
class Spark:
    """What sets the spark: ``locked`` [deg before], ``table`` (speed, pressure, advance), or ``limit`` of a search."""

    locked: float | None = None
    table: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]] | None = None
    limit: float | None = None
    retard: Retard | None = None
    p_outside: float = 1e5

    def advance(self, omega: float, p_manifold: float) -> float:
        """Advance [deg before] that a locked angle or a table gives at crank speed [rad/s] and manifold pressure."""
        if self.table is not None:
            set_to = scattered(*self.table, omega, p_manifold)
        else:
            set_to = self.locked if self.locked is not None else FIRST_ADVANCE
        return set_to - (self.retard.at(p_manifold - self.p_outside) if self.retard is not None else 0.0)

    def begin(
        self, engine: Engine, omega: float, neighbour: Engine | None, intake_ends: list[int], p_manifold: float
    ) -> Timing:
        """Set the first angle at crank speed omega [rad/s] and say how to go on.

        intake_ends : duct ends whose mean pressure is the manifold's; p_manifold [Pa] : first guess of it.
        """
        if self.limit is not None and neighbour is not None:
            advance = -float(neighbour.cylinders.design[0, r.SPARK])
        else:
            advance = self.advance(omega, p_manifold)
        engine.cylinders.design[:, r.SPARK] = -advance
        return Timing(self, omega, intake_ends)


@dataclass
class Timing:
    """The spark of one point while its cycles settle."""

    spark: Spark
    omega: float
    intake_ends: list[int]
    best: float | None = None
    _at_rest: bool = False

    def settle(self, engine: Engine, tally: Tally, n: int) -> bool:
        """After cycle n: read the table or search again where it is due; whether the angle has come to rest."""
        if self.spark.limit is None:
            p_manifold = float(tally.end[self.intake_ends, S_P].mean() / tally.numbers[TIME])
            wanted = -self.spark.advance(self.omega, p_manifold)
            moved = abs(wanted - float(engine.cylinders.design[0, r.SPARK]))
            engine.cylinders.design[:, r.SPARK] = wanted
            return moved < TABLE_CONTENT
        if n < 3 or (n - 3) % SEARCH_EVERY:
            return self.best is not None and self._at_rest
        spark, self.best = search(engine, tally, self.omega, self.spark.limit)
        moved = abs(spark - float(engine.cylinders.design[0, r.SPARK]))
        self._at_rest = moved < CONTENT
        if not self._at_rest:
            engine.cylinders.design[:, r.SPARK] = spark
        return self._at_rest


def exhaust_opening(engine: Engine, k: int) -> float:
    """Angle [deg of cylinder k] at which its first exhaust valve opens after firing."""
    index = engine.valves.rows
    rows = np.flatnonzero((index[:, V_CYLINDER] == k) & (index[:, V_INTAKE] == 0))
    opened = (engine.valves.area_out[rows] > 0.0).any(axis=0) & (ANGLES > 30.0)
    return float(ANGLES[np.argmax(opened)]) if opened.any() else 180.0


def search(engine: Engine, tally: Tally, omega: float, limit: float) -> tuple[float, float]:
    """Spark [deg, after is positive] for all cylinders, and the best-torque advance [deg before].

    Works on the states of valve closing kept in ``tally.closed``; the running states are put back.
    """
    c = engine.cylinders
    best, held = [], []
    for k in range(len(engine.phase)):
        now, spark = c.state[k].copy(), float(c.design[k, r.SPARK])
        c.state[k] = tally.closed[k]
        trapped = Trapped(c, k, exhaust_opening(engine, k), omega)
        torque = best_torque_spark(trapped, spark)
        limited = knock_limited_spark(trapped, torque, limit)
        best.append(torque.spark)
        held.append(limited.spark if limited is not torque else torque.spark)
        c.state[k], c.design[k, r.SPARK] = now, spark
    common = float(np.mean(best))
    knocking = [h for h, b in zip(held, best, strict=True) if h > b]
    return max([common, *knocking]), -common


def spark_of(sheet: Sheet, p_outside: float) -> Spark:
    """What the sheet says sets the spark; p_outside [Pa]. Raises BadInput where the angle itself is missing."""
    how = sheet.choice("spark.timing")
    if how == "searched":
        limit = sheet.maybe("spark.knock_limit") or sheet.maybe("limits.max_knock_integral")
        if limit is None:
            raise BadInput("spark.knock_limit: a searched spark needs the knock integral it may reach")
        return Spark(sheet.maybe("spark.advance"), limit=limit, p_outside=p_outside)
    rate = sheet.maybe("spark.boost_retard")
    retard = None
    if rate is not None:
        most = sheet.maybe("spark.retard_limit")
        retard = Retard(rate, sheet.value("spark.retard_from"), inf if most is None else most)
    if how == "table":
        table = sheet.maybe_table("spark.advance_table")
        if table is None:
            raise BadInput("spark.advance_table: timing comes from a table, but none is named")
        speed, pressure, advance = (np.array(table.columns[n]) for n in ("speed", "manifold_pressure", "advance"))
        return Spark(table=(speed, pressure, advance), retard=retard, p_outside=p_outside)
    locked = sheet.maybe("spark.advance")
    if locked is None:
        raise BadInput('spark.advance: the spark is locked but no angle is given; write for example "26 deg BTDC"')
    return Spark(locked=locked, retard=retard, p_outside=p_outside)
