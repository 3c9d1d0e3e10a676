"""Charts on paper: a described chart drawn by Matplotlib into PNG, SVG or PDF.

Lines bear their names; where a name may stand is tried at many places along its line, and the one that covers least
is taken. A limit is an edge with hatching on the forbidden side.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from io import StringIO
from pathlib import Path
from textwrap import fill
from typing import Any

import matplotlib
import numpy as np
from matplotlib import font_manager
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter, NullLocator

from spoolwright.charts.describe import Axis, Chart, Limit, Ribbon, Series
from spoolwright.charts.look import COLOUR, INK_ALONE, Look
from spoolwright.charts.naming import name_everything
from spoolwright.errors import BadInput

FORMATS = ("png", "svg", "pdf")
DPI = 160
PATTERNS: dict[str, Any] = {
    "solid": "solid",
    "dashed": (0, (6, 2.2)),
    "dotted": (0, (1.2, 1.8)),
    "chain": (0, (7, 2, 1.2, 2)),
}


def draw(chart: Chart, path: Path) -> Path:
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


def svg(chart: Chart, width: float, height: float, look: Look = INK_ALONE) -> str:
    """``chart`` as SVG text, ``width`` by ``height`` millimetres; title and sentence are left to the page around it."""
    written = StringIO()
    with matplotlib.rc_context(_settings(look)):
        sized = replace(look, size=(width / 25.4, height / 25.4))
        _figure(chart, sized).savefig(written, format="svg", metadata=_metadata(chart, "svg"))
    return written.getvalue()


def draw_all(charts: Iterable[Chart], folder: Path, kind: str = "png") -> list[Path]:
    """Draw each chart into ``folder``, which is made where it is missing."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as trouble:
        raise BadInput(f"{folder}: charts cannot be written there ({trouble.strerror})") from None
    return [draw(chart, folder / f"{chart.name}.{kind}") for chart in charts]


def _metadata(chart: Chart, kind: str) -> dict[str, Any]:
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


def _figure(chart: Chart, look: Look) -> Figure:
    figure = Figure(figsize=look.size, facecolor=look.paper)
    FigureCanvasAgg(figure)
    axes = figure.add_axes(_titled(figure, chart, look) if look.titled else _bare(chart, look))
    other = axes.twinx() if chart.right is not None else None
    sides = {"left": axes, "right": other}
    _ruled(axes, chart, look)
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


def _titled(figure: Figure, chart: Chart, look: Look) -> tuple[float, float, float, float]:
    """Write title, sentence and note; the place left for the axes."""
    left, right = 0.085, (0.915 if chart.right is not None else 0.965)
    words = fill(chart.sentence, 105)
    top = 0.80 - 0.04 * words.count("\n")
    figure.text(0.02, 0.965, chart.title, fontsize=look.title, fontweight="bold", va="top")
    figure.text(0.02, 0.895, words, fontsize=look.text, color=look.ink2, va="top", linespacing=1.3)
    if chart.note:
        figure.text(0.02, 0.02, chart.note, fontsize=look.tick, color=look.ink2)
    return left, 0.125, right - left, top - 0.125


def _bare(chart: Chart, look: Look) -> tuple[float, float, float, float]:
    """The place of the axes in a figure without title: room for ticks and heads in points."""
    width, height = (72.0 * side for side in look.size)
    left, right = 3.4 * look.tick / width, (3.4 if chart.right is not None else 1.2) * look.tick / width
    low, top = 3.9 * look.tick / height, 2.2 * look.tick / height
    return left, low, 1.0 - left - right, 1.0 - low - top


def _ruled(axes: Any, chart: Chart, look: Look) -> None:
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.set_axisbelow(True)
    axes.grid(True, color=look.grid, lw=look.thin)
    _scale(axes.xaxis, axes.set_xscale, axes.set_xlim, chart.x)
    _scale(axes.yaxis, axes.set_yscale, axes.set_ylim, chart.left)
    axes.tick_params(length=3, labelsize=look.tick)
    unit = f", {chart.x.unit}" if chart.x.unit else ""
    axes.set_xlabel(f"{chart.x.title}{unit}", fontsize=look.text, labelpad=look.tick / 2)
    axes.annotate(
        _head(chart.left),
        (0, 1),
        (-2, 7),
        xycoords="axes fraction",
        textcoords="offset points",
        ha="left",
        color=look.ink2,
    )


def _right_side(axes: Any, scale: Axis, look: Look) -> None:
    for side in ("top", "left", "bottom"):
        axes.spines[side].set_visible(False)
    axes.spines["right"].set_color(look.rule)
    _scale(axes.yaxis, axes.set_yscale, axes.set_ylim, scale)
    axes.tick_params(length=3, labelsize=look.tick)
    axes.annotate(
        _head(scale), (1, 1), (2, 7), xycoords="axes fraction", textcoords="offset points", ha="right", color=look.ink2
    )


def _head(scale: Axis) -> str:
    return f"{scale.title}, {scale.unit}" if scale.unit and scale.unit != scale.title else scale.title


def _scale(which: Any, set_scale: Any, set_range: Any, scale: Axis) -> None:
    if scale.logarithmic:
        set_scale("log")
        which.set_major_locator(FixedLocator(_log_ticks(scale)))
        which.set_minor_locator(NullLocator())
        which.set_minor_formatter(NullFormatter())
    else:
        which.set_major_locator(FixedLocator(scale.ticks))
    which.set_major_formatter(FuncFormatter(lambda value, _: _figures(value)))
    set_range(scale.low, scale.high)


def _log_ticks(scale: Axis) -> list[float]:
    powers = range(int(np.floor(np.log10(scale.low))), int(np.ceil(np.log10(scale.high))) + 1)
    return [m * 10.0**e for e in powers for m in (1, 2, 5) if scale.low <= m * 10.0**e <= scale.high]


def _figures(value: float) -> str:
    """A tick's number: true minus, narrow space between thousands."""
    return f"{value:,.10g}".replace(",", "\u202f").replace("-", "\u2212")


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
