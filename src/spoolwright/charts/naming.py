"""Where names stand in a chart: many places along each line, limit and band are tried; the one that covers least wins.

All places are pixels of a figure that has been laid out.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from matplotlib.transforms import Bbox
from numpy.typing import NDArray

from spoolwright.charts.describe import Band, Chart, Series
from spoolwright.charts.look import Look

Points = NDArray[np.float64]  # (n, 2) pixels
Spot = tuple[float, float, str, str]  # pixels, horizontal and vertical alignment


def name_everything(figure: Any, chart: Chart, sides: dict[str, Any], look: Look) -> None:
    """Write the names of lines, limits, bands and marks where they cover least."""
    axes = sides["left"]
    frame = axes.get_window_extent()
    curves = [_pixels(sides[s.side], s) for s in chart.series]
    curves += [_level(sides[limit.side], limit.value) for limit in chart.limits]
    taken: list[Bbox] = []
    for mark in chart.marks:
        x = axes.transData.transform((mark.x, axes.get_ylim()[0] if chart.left.logarithmic else chart.left.low))[0]
        spots = [(x + dx, y, ha, "center") for y in _along(frame, 12) for dx, ha in ((5, "left"), (-5, "right"))]
        taken.append(_place(figure, look, mark.name, look.ink2, spots[::-1], curves, taken, frame))
    for limit in chart.limits:
        y = sides[limit.side].transData.transform((chart.x.low, limit.value))[1]
        inward = -1 if limit.forbidden == "above" else 1
        spots = _at_level(frame, y + inward * 4, "top" if inward < 0 else "bottom")
        taken.append(_place(figure, look, limit.name, look.stop, spots, curves, taken, frame))
    for band in chart.bands:
        taken.append(
            _place(figure, look, band.name, look.doubt, _in_band(sides[band.side], band, frame), curves, taken, frame)
        )
    for n, (series, curve) in enumerate(zip(chart.series, curves, strict=False)):
        others = [other for m, other in enumerate(curves) if m != n]
        taken.append(
            _place(
                figure, look, series.name, look.colours[series.quantity], _beside(curve, others), curves, taken, frame
            )
        )


def _pixels(axes: Any, series: Series) -> Points:
    """The line as many points in pixels."""
    points = np.array([(x, y) for x, y in zip(series.x, series.y, strict=True) if y is not None], dtype=float)
    pixels = axes.transData.transform(points)
    if len(pixels) < 2:
        return np.asarray(pixels)
    pieces = [np.linspace(a, b, max(int(np.hypot(*(b - a)) / 4), 2)) for a, b in pairwise(pixels)]
    return np.concatenate(pieces)


def _level(axes: Any, value: float) -> Points:
    frame = axes.get_window_extent()
    y = axes.transData.transform((axes.get_xlim()[0], value))[1]
    return np.array([(x, y) for x in np.arange(frame.x0, frame.x1, 4)])


def _along(frame: Bbox, count: int) -> list[float]:
    return [frame.y0 + frame.height * (i + 0.5) / count for i in range(count)]


def _at_level(frame: Bbox, y: float, va: str) -> list[Spot]:
    return [(frame.x0 + frame.width * share, y, "left", va) for share in np.linspace(0.02, 0.75, 20)]


def _in_band(axes: Any, band: Band, frame: Bbox) -> list[Spot]:
    low, high = (axes.transData.transform((axes.get_xlim()[0], v))[1] for v in (band.low, band.high))
    rows = [(high - 4, "top"), (low + 4, "bottom")]
    return [(frame.x0 + frame.width * share, y, "left", va) for y, va in rows for share in np.linspace(0.02, 0.75, 20)]


def _beside(curve: Points, others: Sequence[Points]) -> list[Spot]:
    """Places along a line, above and below, from its end backwards; first those where no other line is near."""
    spots: list[tuple[int, Spot]] = []
    crowd = np.concatenate(others) if others else np.zeros((0, 2))
    for share in np.linspace(0.97, 0.03, 33):
        x, y = curve[int(share * (len(curve) - 1))]
        near = crowd[np.abs(crowd[:, 0] - x) < 30.0, 1] - y
        for away in (6, 12, 20):
            for up in (True, False):
                room = 26.0 + away
                beside = near if up else -near
                crowded = int(((beside > -4.0) & (beside < room)).any())
                place = (y + away, "bottom") if up else (y - away, "top")
                spots += [(crowded, (x, place[0], ha, place[1])) for ha in ("center", "right", "left")]
    return [spot for _, spot in sorted(spots, key=lambda one: one[0])]


def _place(
    figure: Any,
    look: Look,
    name: str,
    colour: str,
    spots: Sequence[Spot],
    curves: Sequence[Points],
    taken: Sequence[Bbox],
    frame: Bbox,
) -> Bbox:
    """Write ``name`` at the spot that covers least, earlier spots first; the box it takes."""
    text = figure.text(0, 0, name, fontsize=look.name, color=colour, transform=None, zorder=5)
    text.set_bbox({"facecolor": "white", "edgecolor": "none", "alpha": 0.72, "pad": 1.0})
    size = text.get_window_extent(figure.canvas.get_renderer())
    best, least = spots[0], float("inf")
    for rank, spot in enumerate(spots):
        box = _box(spot, size.width, size.height)
        covered = _covered(box, curves, taken, frame)
        if covered + 0.02 * rank < least:
            best, least = spot, covered + 0.02 * rank
        if covered == 0.0:  # no later spot can do better
            break
    x, y, ha, va = best
    text.set_position(figure.transFigure.inverted().transform((x, y)))
    text.set_transform(figure.transFigure)
    text.set_horizontalalignment(ha)
    text.set_verticalalignment(va)
    return _box(best, size.width, size.height)


def _box(spot: Spot, width: float, height: float) -> Bbox:
    x, y, ha, va = spot
    x0 = x - {"left": 0.0, "center": 0.5, "right": 1.0}[ha] * width
    y0 = y - {"bottom": 0.0, "center": 0.5, "top": 1.0}[va] * height
    return Bbox.from_extents(x0, y0, x0 + width, y0 + height)


def _covered(
    box: Bbox,
    curves: Sequence[Points],
    taken: Sequence[Bbox],
    frame: Bbox,
) -> float:
    cost = 0.0
    if box.x0 < frame.x0 + 2 or box.x1 > frame.x1 - 2 or box.y0 < frame.y0 + 2 or box.y1 > frame.y1 - 2:
        cost += 1000.0
    room = box.expanded(1.0, 1.0)
    for curve in curves:
        inside = (
            (curve[:, 0] > room.x0 - 2)
            & (curve[:, 0] < room.x1 + 2)
            & (curve[:, 1] > room.y0 - 2)
            & (curve[:, 1] < room.y1 + 2)
        )
        cost += float(inside.sum())
    for other in taken:
        if Bbox.intersection(room, other) is not None:
            cost += 300.0
    return cost
