"""Charts on paper: a described chart drawn by Matplotlib into PNG, SVG or PDF.

Lines bear their names; where a name may stand is tried at many places along its line, and the one that covers least
is taken. A limit is an edge with hatching on the forbidden side.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
from matplotlib import font_manager
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from spoolwright.charts.describe import Axis, Chart, Limit, Ribbon, Series
from spoolwright.charts.frame import bare, head, ruled, set_axis, titled
from spoolwright.charts.look import COLOUR, INK_ALONE, Look
from spoolwright.charts.map_on_paper import map_figure
from spoolwright.charts.naming import name_everything
from spoolwright.charts.of_map import MapChart
from spoolwright.errors import BadInput

FORMATS = ("png", "svg", "pdf")
DPI = 160
PATTERNS: dict[str, Any] = {
    "solid": "solid",
    "dashed": (0, (6, 2.2)),
    "dotted": (0, (1.2, 1.8)),
    "chain": (0, (7, 2, 1.2, 2)),
}


def draw(chart: Chart | MapChart, path: Path) -> Path:
    """Draw ``chart`` into the file ``path``; its ending says the format. Raises BadInput for another ending."""
    kind = path.suffix.lstrip(".").lower()
    if kind not in FORMATS:
        raise BadInput(f'{path}: charts are written as {", ".join(FORMATS)}, not as "{kind}"')
    with matplotlib.rc_context(_settings(COLOUR)):
        figure = _figure(chart, COLOUR)
        try:
            # No date inside, so that the same chart gives the same file.
            figure.savefig(path, format=kind, dpi=DPI, metadata=_metadata(chart, kind))
        except OSError as trouble:
            raise BadInput(f"{path}: the chart cannot be written there ({trouble.strerror})") from None
    return path


def svg(chart: Chart | MapChart, width: float, height: float, look: Look = INK_ALONE) -> str:
    """``chart`` as SVG text, ``width`` by ``height`` millimetres; title and sentence are left to the page around it."""
    written = StringIO()
    with matplotlib.rc_context(_settings(look)):
        sized = replace(look, size=(width / 25.4, height / 25.4))
        _figure(chart, sized).savefig(written, format="svg", metadata=_metadata(chart, "svg"))
    return written.getvalue()


def draw_all(charts: Iterable[Chart | MapChart], folder: Path, kind: str = "png") -> list[Path]:
    """Draw each chart into ``folder``, which is made where it is missing."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as trouble:
        raise BadInput(f"{folder}: charts cannot be written there ({trouble.strerror})") from None
    return [draw(chart, folder / f"{chart.name}.{kind}") for chart in charts]


def _metadata(chart: Chart | MapChart, kind: str) -> dict[str, Any]:
    if kind == "png":
        return {"Title": chart.title, "Description": chart.sentence, "Software": "spoolwright"}
    if kind == "svg":
        return {"Title": chart.title, "Description": chart.sentence, "Date": None}
    return {"Title": chart.title, "Subject": chart.sentence, "CreationDate": None}


def _settings(look: Look) -> Any:
    there = {font.name for font in font_manager.fontManager.ttflist}
    return {
        "font.family": [name for name in look.fonts if name in there],
        "font.size": look.text,
        "text.color": look.ink,
        "axes.edgecolor": look.rule,
        "axes.labelcolor": look.ink2,
        "xtick.color": look.rule,
        "ytick.color": look.rule,
        "xtick.labelcolor": look.ink2,
        "ytick.labelcolor": look.ink2,
        "hatch.color": look.stop,
        "hatch.linewidth": look.thin,
        "svg.fonttype": "none",
        "svg.hashsalt": "spoolwright",
        "pdf.fonttype": 42,
    }


def _figure(chart: Chart | MapChart, look: Look) -> Figure:
    figure = map_figure(chart, look) if isinstance(chart, MapChart) else _lines(chart, look)
    FigureCanvasAgg(figure)
    return figure


def _lines(chart: Chart, look: Look) -> Figure:
    figure = Figure(figsize=look.size, facecolor=look.paper)
    FigureCanvasAgg(figure)
    right = chart.right is not None
    place = titled(figure, look, chart.title, chart.sentence, chart.note, right) if look.titled else bare(look, right)
    axes = figure.add_axes(place)
    other = axes.twinx() if chart.right is not None else None
    sides = {"left": axes, "right": other}
    ruled(axes, chart.x, chart.left, look)
    for band in chart.bands:
        sides[band.side].axhspan(band.low, band.high, color=look.open, lw=0, zorder=0.5)  # type: ignore[union-attr]
    for ribbon in chart.ribbons:
        _ribbon(sides[ribbon.side], ribbon, look)
    for series in chart.series:
        _line(sides[series.side], series, look)
    for limit in chart.limits:
        _limit(sides[limit.side], limit, look)
    for mark in chart.marks:
        axes.axvline(mark.x, color=look.rule, lw=look.thin, ls=PATTERNS["chain"], zorder=1)
    if other is not None and chart.right is not None:
        _right_side(other, chart.right, look)
    figure.draw_without_rendering()
    name_everything(figure, chart, sides, look)
    return figure


def _right_side(axes: Any, scale: Axis, look: Look) -> None:
    for side in ("top", "left", "bottom"):
        axes.spines[side].set_visible(False)
    axes.spines["right"].set_color(look.rule)
    set_axis(axes.yaxis, axes.set_yscale, axes.set_ylim, scale)
    axes.tick_params(length=3, labelsize=look.tick)
    axes.annotate(
        head(scale), (1, 1), (2, 7), xycoords="axes fraction", textcoords="offset points", ha="right", color=look.ink2
    )


def _line(axes: Any, series: Series, look: Look) -> None:
    y = [np.nan if v is None else v for v in series.y]
    colour = look.colours[series.quantity]
    if series.line == "points":
        marker = "o" if series.side == "left" else "s"
        axes.plot(
            series.x, y, color=colour, lw=0, marker=marker, ms=1.6 * look.dot, mfc="none", mew=look.edge, zorder=3.2
        )
        return
    style = PATTERNS[series.line]
    axes.plot(series.x, y, color=colour, lw=look.thick, ls=style, zorder=3, solid_capstyle="round")
    if series.dots:
        axes.plot(series.x, y, color=colour, lw=0, marker="o", ms=look.dot, zorder=3.1)


def _ribbon(axes: Any, ribbon: Ribbon, look: Look) -> None:
    low, high = ([np.nan if v is None else v for v in edge] for edge in (ribbon.low, ribbon.high))
    axes.fill_between(ribbon.x, low, high, color=look.colours[ribbon.quantity], alpha=0.16, lw=0, zorder=1.5)


def _limit(axes: Any, limit: Limit, look: Look) -> None:
    low, high = axes.get_ylim()
    deep = 0.045 * (high - low) * (1.0 if limit.forbidden == "above" else -1.0)
    axes.axhline(limit.value, color=look.stop, lw=look.edge, zorder=2.5)
    axes.fill_between(
        [0, 1],
        limit.value,
        limit.value + deep,
        transform=axes.get_yaxis_transform(),
        facecolor="none",
        edgecolor=look.stop,
        hatch="////",
        lw=0,
        zorder=2,
    )
    if not low <= limit.value + deep <= high:
        axes.set_ylim(min(low, limit.value + deep), max(high, limit.value + deep))
