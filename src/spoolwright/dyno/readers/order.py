"""Rows in time: restarts, rows out of order, repeats, two readings at one time, holes.

The clock is judged only by itself: it starts again, it slips for a few rows, a stamp is wrong. Rows are never joined
across a restart, and a row is moved only where it fills the hole it left.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_LOCAL = 12  # rows a late row may be late


@dataclass(slots=True)
class Order:
    """``rows``: kept rows in their new order. ``segment`` of each. The rest says what was done, by file row."""

    rows: NDArray[np.int64]
    segment: NDArray[np.int64]
    moved: list[int] = field(default_factory=list)
    restarts: list[int] = field(default_factory=list)
    repeats: list[tuple[int, int]] = field(default_factory=list)
    conflicts: list[tuple[int, int]] = field(default_factory=list)
    bad_stamps: list[int] = field(default_factory=list)
    coarse: bool = False
    gaps: list[tuple[int, float, float, int]] = field(default_factory=list)
    steps: list[float | None] = field(default_factory=list)


def arrange(t: NDArray[np.float64], same: object = None) -> Order:
    """Order rows by their times ``t`` (s, nan where a row has none).

    ``same(a, b)`` tells whether two rows hold the same cells.
    """
    import numpy as np

    n = t.size
    order = Order(np.arange(n), np.zeros(n, dtype=np.int64))
    if not np.isfinite(t).any():
        order.steps = [None]
        return order
    steady = bool(np.isfinite(t).all()) and bool(np.all(np.diff(t) > 0.0))
    if not steady:
        starts = _restarts(t, order)
        bounds = [0, *starts, n]
        order.segment = np.repeat(np.arange(len(bounds) - 1), np.diff(bounds))
        order.restarts = starts
        kept = [_tidy(t, lo, hi, order, same) for lo, hi in itertools.pairwise(bounds)]
        order.rows = np.concatenate(kept) if kept else order.rows
        order.segment = order.segment[order.rows]
    _find_gaps(t, order)
    return order


def _restarts(t: NDArray[np.float64], order: Order) -> list[int]:
    """Rows where the clock starts again, as against a row or two out of place."""
    import numpy as np

    good = np.flatnonzero(np.isfinite(t))
    x = t[good]
    steps = np.diff(x)
    rising = steps[steps > 0.0]
    step = float(np.median(rising)) if rising.size else 0.0
    starts: list[int] = []
    begin = 0
    for at in (np.flatnonzero(steps < 0.0) + 1).tolist():
        if at <= begin:
            continue
        before = x[begin:at]
        high = float(before.max())
        if x[at] >= high:
            continue
        ahead = x[at : at + _LOCAL + 1]
        returns = np.flatnonzero(ahead > high)
        drop = high - float(x[at])
        if returns.size and _runs_again(ahead[: returns[0]], before, step):
            starts.append(int(good[at]))
            begin = at
            continue
        # The clock comes back within a few rows: those rows are late or their stamps are wrong, no restart.
        if returns.size and (returns[0] <= 2 or drop <= 4.0 * step * (returns[0] + 1)):
            continue
        if (
            at >= begin + 2
            and x[at - 1] == high
            and high - float(before[-2]) > 50.0 * max(step, 1e-9)
            and x[at] >= before[-2]
        ):
            continue  # one stamp far ahead; the clock goes on where it was
        if drop <= 1.5 * step and at == x.size - 1:
            continue
        starts.append(int(good[at]))
        begin = at
    return starts


def _runs_again(ahead: NDArray[np.float64], before: NDArray[np.float64], step: float) -> bool:
    """True where the rows count the same times again from the start: a short run, then a restart."""
    import numpy as np

    if ahead.size < min(3, before.size) or ahead[0] > before[0] + 0.5 * step:
        return False
    nearest = np.abs(ahead[:, None] - before[None, :]).min(axis=1)
    return bool((nearest <= 0.25 * step).mean() > 0.7)


def _tidy(t: NDArray[np.float64], lo: int, hi: int, order: Order, same: object) -> NDArray[np.int64]:
    """Rows lo..hi of one segment: late rows put where they belong, repeats taken out."""
    import numpy as np

    rows = np.arange(lo, hi)
    x = t[lo:hi]
    good = np.isfinite(x)
    if not good.any():
        return rows
    xs, rs = x[good], rows[good]
    steps = np.diff(xs)
    step = float(np.median(steps[steps > 0.0])) if (steps > 0.0).any() else 0.0
    order.coarse = order.coarse or bool(xs.size > 8 and (steps == 0.0).mean() > 0.3)
    if (steps < 0.0).any():
        _wrong_stamps(t, rs, xs, step, order)
        keep = np.isfinite(t[rs])
        loose = rs[~keep]
        rs, xs = rs[keep], t[rs[keep]]
        position = np.argsort(xs, kind="stable")
        ahead = np.maximum.accumulate(xs)
        order.moved.extend(int(r) for r in rs[xs < ahead])
        rs, xs = rs[position], xs[position]
        if loose.size or not good.all():
            rs = _slot_in(rs, np.sort(np.concatenate([loose, rows[~good]])))
    elif not good.all():
        rs = rows
    if order.coarse:
        return rs
    return _without_repeats(t, rs, order, same)


def _slot_in(rs: NDArray[np.int64], loose: NDArray[np.int64]) -> NDArray[np.int64]:
    """Rows without a usable time stay behind the row they followed."""
    import numpy as np

    merged = list(rs)
    where = {int(r): i for i, r in enumerate(merged)}
    for row in loose:
        at = where.get(int(row) - 1, len(merged) - 1) + 1
        merged.insert(at, row)
        where = {int(r): i for i, r in enumerate(merged)} if len(loose) < 200 else where | {int(row): at}
    return np.asarray(merged, dtype=np.int64)


def _wrong_stamps(
    t: NDArray[np.float64], rs: NDArray[np.int64], xs: NDArray[np.float64], step: float, order: Order
) -> None:
    """Stamps that fit neither where they stand nor anywhere near lose their time (t becomes nan), not their row."""
    import numpy as np

    limit = max(_LOCAL * step, 1e-12)
    for i in range(xs.size):
        left = xs[i - 1] if i else xs[min(1, xs.size - 1)]
        right = xs[i + 1] if i + 1 < xs.size else left
        if i and not np.isfinite(t[rs[i - 1]]):
            left = xs[i - 2] if i > 1 else right
        if right >= left and (
            xs[i] < left - limit or (xs[i] > right + limit and right >= left and right - left <= limit)
        ):
            t[rs[i]] = np.nan
            order.bad_stamps.append(int(rs[i]))


def _without_repeats(t: NDArray[np.float64], rs: NDArray[np.int64], order: Order, same: object) -> NDArray[np.int64]:
    import numpy as np

    x = t[rs]
    twice = np.flatnonzero(np.diff(x) == 0.0) + 1
    if twice.size == 0:
        return rs
    out = np.zeros(rs.size, dtype=bool)
    for at in twice:
        first = at - 1
        while first > 0 and out[first]:
            first -= 1
        a, b = int(rs[first]), int(rs[at])
        if callable(same) and same(a, b):
            order.repeats.append((a, b))
        else:
            order.conflicts.append((a, b))
        out[at] = True
    return rs[~out]


def _find_gaps(t: NDArray[np.float64], order: Order) -> None:
    """Sample step of each segment and the holes in it."""
    import numpy as np

    count = int(order.segment.max()) + 1 if order.segment.size else 1
    edges = np.searchsorted(order.segment, np.arange(count + 1))
    for segment in range(count):
        x = t[order.rows[edges[segment] : edges[segment + 1]]]
        x = x[np.isfinite(x)]
        steps = np.diff(x)
        rising = steps[steps > 0.0]
        if rising.size == 0:
            order.steps.append(None)
            continue
        step = float(np.median(rising))
        order.steps.append(step)
        if order.coarse or rising.size < 4:
            continue
        low, usual = np.quantile(rising, [0.1, 0.8])
        # A steady clock shows one lost sample; a shaky one only a real hole.
        limit = 1.6 * step if usual - low < 0.25 * step else max(3.0 * step, 2.0 * float(usual))
        for at in np.flatnonzero(steps > limit):
            lost = max(1, round(float(steps[at]) / step) - 1)
            order.gaps.append((segment, float(x[at]), float(x[at + 1]), lost))
