"""A compressor map on paper: speed lines, islands of efficiency, the surge line hatched, the operating line and what is
left to the edges. Shaft speeds stand where their lines begin, furthest apart.
"""

from __future__ import annotations

from typing import Any

from matplotlib.figure import Figure

from spoolwright.charts.frame import bare, figures, ruled, titled
from spoolwright.charts.look import Look
from spoolwright.charts.of_map import SURGE_HATCH, MapChart, Margin, Operating, Points, named_points


def map_figure(chart: MapChart, look: Look) -> Figure:
    """The figure of a map, without a canvas."""
    figure = Figure(figsize=look.size, facecolor=look.paper)
    axes = figure.add_axes(titled(figure, look, chart.title, chart.sentence) if look.titled else bare(look))
    ruled(axes, chart.x, chart.y, look)
    _surge(axes, chart, look)
    for island in chart.islands:
        _plot(axes, island.points, look.rule, look.thin, ls="dashed")
        if island.name:
            _word(axes, island.name, max(island.points, key=lambda point: point[1]), look, look.ink2, box=True)
    for line in chart.lines:
        _plot(axes, line.points, look.ink2, look.thin)
        unit = " rpm" if line is chart.lines[-1] else ""
        _word(axes, line.name + unit, line.points[0], look, look.ink2, at=(7, 1.5), ha="left", va="bottom")
    for one in chart.operating:
        _operating(axes, one, chart, look)
    for margin in chart.margins:
        _margin(axes, margin, look)
    return figure


def _plot(axes: Any, points: Points, colour: str, width: float, **how: Any) -> None:
    axes.plot(
        [x for x, _ in points], [y for _, y in points], color=colour, lw=width, zorder=how.pop("zorder", 2), **how
    )


def _word(
    axes: Any,
    text: str,
    point: tuple[float, float],
    look: Look,
    colour: str,
    *,
    at: tuple[float, float] = (0, 0),
    ha: str = "center",
    va: str = "center",
    box: bool = False,
    bold: bool = False,
) -> None:
    """A word at a point of the map, moved by ``at`` points; ``box``: on a patch of paper, clear of the lines."""
    patch = {"facecolor": look.paper, "edgecolor": "none", "pad": 0.8} if box and look.paper != "none" else None
    axes.annotate(
        text,
        point,
        at,
        textcoords="offset points",
        ha=ha,
        va=va,
        color=colour,
        fontsize=look.tick,
        fontweight="bold" if bold else "normal",
        bbox=patch,
        zorder=4,
    )


def _surge(axes: Any, chart: MapChart, look: Look) -> None:
    """The surge line, hatched on its forbidden side."""
    if not chart.surge:
        return
    deep = SURGE_HATCH * (chart.x.high - chart.x.low)
    x, y = ([point[n] for point in chart.surge] for n in (0, 1))
    axes.fill_betweenx(
        y, [max(v - deep, chart.x.low) for v in x], x, facecolor="none", edgecolor=look.stop, hatch="////", lw=0
    )
    _plot(axes, chart.surge, look.stop, look.edge, zorder=2.5)
    _word(axes, "surge", chart.surge[int(0.7 * (len(x) - 1))], look, look.stop, at=(-14, 6), ha="right", box=True)


def _operating(axes: Any, one: Operating, chart: MapChart, look: Look) -> None:
    """The engine on the map, some of its speeds named; another variant's line is thin and bears its name."""
    if not one.points:
        return
    colour = look.colours["pressure"]
    _plot(axes, one.points, colour, look.edge if one.thin else look.thick, zorder=3)
    if one.thin:
        _word(axes, one.name, one.points[-1], look, colour, at=(4, -6), ha="left", box=True)
        return
    for n in named_points(one, chart):
        x, y = one.points[n]
        axes.plot(
            [x], [y], color=colour, lw=0, marker="o", ms=1.4 * look.dot, mfc=look.paper, mew=look.edge, zorder=3.2
        )
        _word(axes, figures(one.speeds_rpm[n]), (x, y), look, colour, at=(0, 5), va="bottom", box=True, bold=True)


def _margin(axes: Any, one: Margin, look: Look) -> None:
    """A dimension line from the point to the edge, and its words."""
    arrow = {"arrowstyle": "<->", "color": look.ink, "lw": look.thin, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", one.edge, one.at, arrowprops=arrow, zorder=3.1)
    side = "left" if one.edge[0] > one.at[0] else "right"  # words run the way the arrow does
    _word(axes, one.words, one.at, look, look.ink, at=(0, -5), ha=side, va="top", box=True)
