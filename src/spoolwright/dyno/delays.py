"""Channels that come late: how much, by cross-correlation, and putting them back in step."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray


def channel_delay(
    t: NDArray[np.float64], channel: NDArray[np.float64], reference: NDArray[np.float64], longest: float = 1.5
) -> tuple[float, float]:
    """(delay [s], correlation -1..1) by which ``channel`` follows ``reference``, by cross-correlation of their changes.

    The delay is that of the strongest correlation of either sign within 0..``longest``, between samples by a parabola.
    Raises BadInput for a record shorter than four times ``longest`` or a channel that does not change.
    """
    t = np.asarray(t, dtype=np.float64)
    good = np.isfinite(t) & np.isfinite(channel) & np.isfinite(reference)
    if good.sum() < 20:
        raise BadInput("a delay needs at least 20 samples with both channels")
    step = float(np.median(np.diff(t[good])))
    most = round(longest / step)
    grid = np.arange(t[good][0], t[good][-1] + 0.5 * step, step)
    if grid.size < 3 * most or most < 2:
        raise BadInput(f"a delay up to {longest:g} s needs a record of {3 * longest:g} s or more and 2 samples in it")
    half = max(2, round(0.15 / step))
    a = _changes(np.interp(grid, t[good], reference[good]), half)
    b = _changes(np.interp(grid, t[good], channel[good]), half)
    scores = np.array([_correlation(a[: a.size - k], b[k:]) for k in range(most + 1)])
    best = int(np.argmax(np.abs(scores)))
    shift = 0.0
    if 0 < best < most:
        y0, y1, y2 = np.abs(scores[best - 1 : best + 2])
        bend = y0 - 2.0 * y1 + y2
        shift = 0.5 * (y0 - y2) / bend if bend < 0.0 else 0.0
    return float((best + shift) * step), float(scores[best])


def _changes(x: NDArray[np.float64], half: int) -> NDArray[np.float64]:
    """Slope by a straight line through 2 half + 1 samples: what moves counts, where a channel stands does not."""
    k = np.arange(-half, half + 1, dtype=np.float64)
    return np.convolve(x, k[::-1] / float(k @ k), mode="valid")


def _correlation(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    a, b = a - a.mean(), b - b.mean()
    size = math.sqrt(float(a @ a) * float(b @ b))
    if size == 0.0:
        raise BadInput("a delay cannot be found from a channel that does not change")
    return float(a @ b) / size


def remove_delay(t: NDArray[np.float64], channel: NDArray[np.float64], delay: float) -> NDArray[np.float64]:
    """``channel`` moved ``delay`` [s] earlier; nan at the end, where what belongs there was never logged."""
    good = np.isfinite(t) & np.isfinite(channel)
    moved = np.interp(t + delay, t[good], channel[good], right=np.nan)
    return np.where(np.isfinite(t), moved, np.nan)
