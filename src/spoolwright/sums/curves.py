"""Reading a curve that a user measured: linear between its points, never beyond them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise


def between(curve: Sequence[tuple[float, float]], x: float) -> float | None:
    """The curve's value at ``x``, linear between points; None outside. The first column rises."""
    if not curve[0][0] <= x <= curve[-1][0]:
        return None
    for (x0, y0), (x1, y1) in pairwise(curve):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return curve[-1][1]
