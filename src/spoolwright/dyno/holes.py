"""Channels that were not read in every row: reducing takes the rows in which speed and torque are known.

A logger may take its channels at different rates, or lose a cell now and then. The slowest of the channels that torque
is made of sets the rows; the others of them are read between their own neighbouring samples by straight lines, and so
are channels that were logged more slowly. The log itself keeps its holes; what was done here is said in the notes.
A hole longer than two and a half of a channel's own steps stays a hole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from spoolwright.dyno.log import Log, Segment

OWN_STEPS: Final = 2.5  # of a channel's own steps between samples that a straight line may span; common practice
SLOW: Final = 0.7  # share of rows with a value below which a channel counts as logged more slowly


def without_holes(log: Log, needed: Sequence[str]) -> tuple[Log, list[str]]:
    """(the log with only the rows in which ``needed`` roles are known, what was done).

    The log itself where nothing is missing.
    """
    columns = {c.role: c for c in log.columns if c.role and log.table[c.field].dtype.is_numeric()}
    if "time" not in columns:
        return log, []
    x = {role: log.table[c.field].cast(float).to_numpy() for role, c in columns.items()}
    t = x["time"]
    whole = [role for role in needed if role in x]
    slow = [r for r in x if r != "time" and r not in whole and 0 < np.isfinite(x[r]).sum() < SLOW * t.size]
    if np.isfinite(t).all() and all(np.isfinite(x[r]).all() for r in whole) and not slow:
        return log, []
    base = min(whole, key=lambda role: int(np.isfinite(x[role] + t).sum()), default="time")
    rows = np.flatnonzero(np.isfinite(x[base] + t))
    segment = log.table["segment"].to_numpy()
    notes, table = [], log.table[rows]
    for role in [*(r for r in whole if r != base), *slow]:
        filled, own = _between(t, x[role], segment, rows)
        drawn = int((np.isfinite(filled) & ~np.isfinite(x[role][rows])).sum())
        if drawn:
            notes.append(
                f'"{columns[role].name}" has a value every {own:.3g} s; in {drawn} rows it was read between its own '
                "neighbours by a straight line, for reducing only"
            )
            table = table.with_columns(**{columns[role].field: filled}).fill_nan(None)
    left = log.rows - rows.size
    if left:
        notes.append(f"{left} of {log.rows} rows have no {base.replace('_', ' ')} and are not used for the torque")
    lines = None if log.row_lines is None else log.row_lines[rows]
    thinned = replace(log, table=table, rows=int(rows.size), row_lines=lines, segments=_segments(log, rows, t))
    return thinned, notes


def _between(
    t: NDArray[np.float64], x: NDArray[np.float64], segment: NDArray[np.int64], rows: NDArray[np.int64]
) -> tuple[NDArray[np.float64], float]:
    """``x`` at ``rows``, between its own samples by straight lines that span no long hole; and its usual step [s]."""
    out, steps = x[rows].copy(), []
    for part in np.unique(segment):
        own = np.flatnonzero((segment == part) & np.isfinite(x + t))
        mine = np.flatnonzero(segment[rows] == part)
        if own.size < 2 or mine.size == 0:
            continue
        step = float(np.median(np.diff(t[own])))
        steps.append(step)
        at = t[rows[mine]]
        behind = np.clip(np.searchsorted(t[own], at, side="right") - 1, 0, own.size - 2)
        near = (t[own][behind + 1] - t[own][behind] <= OWN_STEPS * step) & (at >= t[own][0]) & (at <= t[own][-1])
        drawn = np.interp(at, t[own], x[own])
        gaps = ~np.isfinite(out[mine])
        out[mine[gaps & near]] = drawn[gaps & near]
    return out, float(np.median(steps)) if steps else 0.0


def _segments(log: Log, rows: NDArray[np.int64], t: NDArray[np.float64]) -> list[Segment]:
    """The segments by the rows that stay."""
    out = []
    for part in log.segments:
        first, stop = np.searchsorted(rows, [part.first_row, part.first_row + part.rows])
        times = t[rows[first:stop]]
        step = float(np.median(np.diff(times))) if times.size > 1 else part.step
        out.append(replace(part, first_row=int(first), rows=int(stop - first), step=step))
    return out
