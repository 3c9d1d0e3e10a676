"""Where in a log the engine pulls."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from spoolwright.dyno.slopes import differentiate
from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from spoolwright.dyno.log import Log

SHORT_HOLE: Final = 0.25  # s; a slope at 1 Hz bandwidth runs across it; common practice, no source


@dataclass(frozen=True, slots=True)
class Pull:
    """Rows ``first`` to ``stop`` (exclusive) of the log's table that are one pull."""

    segment: int
    first: int
    stop: int
    speed_from: float
    speed_to: float


def find_pulls(log: Log, least_rise: float = 1.25) -> list[Pull]:
    """Stretches where the engine pulls: speed climbs by at least ``least_rise`` times, throttle open if known.

    The roller's speed stands in where the log has none of the engine. A pull never crosses a restart or a gap.
    Raises BadInput where the log has no time or no speed.
    """
    roles = {c.role: c.field for c in log.columns if c.role and log.table[c.field].dtype.is_numeric()}
    speed = "engine_speed" if "engine_speed" in roles else "roller_speed"
    if "time" not in roles or speed not in roles:
        raise BadInput(
            f"{log.file.name}: pulls are found by time and engine speed; say which columns they are with --column"
        )
    t = log.table[roles["time"]].cast(float).to_numpy()
    rpm = log.table[roles[speed]].cast(float).to_numpy()
    throttle = log.table[roles["throttle"]].cast(float).to_numpy() if "throttle" in roles else None
    found: list[Pull] = []
    for segment in log.segments:
        for lo, hi in _unbroken(t, rpm, segment.first_row, segment.first_row + segment.rows, segment.step):
            found += [
                Pull(segment.index, lo + a, lo + b, rpm[lo + a], rpm[lo + b - 1])
                for a, b in _climbs(t[lo:hi], rpm[lo:hi], None if throttle is None else throttle[lo:hi], least_rise)
            ]
    return found


def _unbroken(
    t: NDArray[np.float64], x: NDArray[np.float64], first: int, stop: int, step: float | None
) -> list[tuple[int, int]]:
    """Runs of rows without a missing value and without a hole in time longer than a few lost samples."""
    good = np.isfinite(t[first:stop]) & np.isfinite(x[first:stop])
    breaks = [first]
    limit = max(1.6 * step, min(4.0 * step, SHORT_HOLE)) if step else math.inf
    apart = (np.diff(t[first:stop]) > limit) | ~(good[1:] & good[:-1])
    breaks += [*(np.flatnonzero(apart) + first + 1).tolist(), stop]
    return [(a, b) for a, b in itertools.pairwise(breaks) if b - a >= 10 and good[a - first : b - first].all()]


def _climbs(
    t: NDArray[np.float64], rpm: NDArray[np.float64], throttle: NDArray[np.float64] | None, least_rise: float
) -> list[tuple[int, int]]:
    step = float(np.median(np.diff(t)))
    bandwidth = min(1.0, 0.2 / step)
    if bandwidth * (t[-1] - t[0]) < 0.6:
        return []
    slope = differentiate(t, rpm, bandwidth).slope
    limit = 0.15 * float(np.quantile(slope, 0.95))
    if limit <= 0.0:
        return []
    climbing = slope > limit
    if throttle is not None and np.isfinite(throttle).any() and np.nanmax(throttle) > 50.0:
        climbing &= ~(throttle < 0.9 * np.nanmax(throttle))
    edges = np.flatnonzero(np.diff(np.concatenate([[0], climbing.astype(np.int8), [0]])))
    runs = list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
    return [(a, b) for a, b in runs if b - a >= 10 and rpm[b - 1] >= least_rise * rpm[a] > 0.0]
