"""Charts on paper: a described chart drawn by Matplotlib into PNG, SVG or PDF.

Lines bear their names; where a name may stand is tried at many places along its line, and the one that covers least
is taken. A limit is an edge with hatching on the forbidden side.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from textwrap import fill
from typing import Any

import matplotlib
import numpy as np
from matplotlib import font_manager
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter, NullLocator

from spoolwright.charts.describe import Axis, Chart, Limit, Quantity, Series
from spoolwright.charts.naming import name_everything
from spoolwright.errors import BadInput

FORMATS = ("png", "svg", "pdf")
SIZE = (7.4, 4.7)  # inches
DPI = 160

PAPER, INK, INK2, RULE, GRID = "#FFFFFF", "#13211C", "#54625C", "#74867D", "#DDE4DF"
STOP, OPEN = "#A60F35", "#F1E2C4"
COLOURS: dict[Quantity, str] = {
    "torque": INK,
    "power": "#8E4A74",
    "pressure": "#0A5A8C",
    "temperature": "#B03A06",
    "air": "#0A5A8C",
    "knock": INK,
    "mixture": "#0C6450",
    "spark": INK,
    "flow": "#0A5A8C",
    "second": "#54625C",
}
PATTERNS: dict[str, Any] = {
    "solid": "solid",
    "dashed": (0, (6, 2.2)),
    "dotted": (0, (1.2, 1.8)),
    "chain": (0, (7, 2, 1.2, 2)),
}
FONTS = ("Segoe UI", "Helvetica Neue", "Noto Sans", "Liberation Sans", "Arial", "DejaVu Sans")
TITLE, TEXT, LABEL, TICK = 13.0, 9.5, 9.5, 9.0


def draw(chart: Chart, path: Path) -> Path:
    """Draw ``chart`` into the file ``path``; its ending says the format. Raises BadInput for another ending."""
    kind = path.suffix.lstrip(".").lower()
    if kind not in FORMATS:
        raise BadInput(f'{path}: charts are written as {", ".join(FORMATS)}, not as "{kind}"')
    with matplotlib.rc_context(_settings()):
        figure = _figure(chart)
        try:
            # No date inside, so that the same chart gives the same file.
            figure.savefig(path, format=kind, dpi=DPI, metadata=_metadata(chart, kind))
        except OSError as trouble:
            raise BadInput(f"{path}: the chart cannot be written there ({trouble.strerror})") from None
    return path


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


def _settings() -> Any:
    there = {font.name for font in font_manager.fontManager.ttflist}
    return {
        "font.family": [name for name in FONTS if name in there],
        "font.size": TEXT,
        "text.color": INK,
        "axes.edgecolor": RULE,
        "axes.labelcolor": INK2,
        "xtick.color": RULE,
        "ytick.color": RULE,
        "xtick.labelcolor": INK2,
        "ytick.labelcolor": INK2,
        "hatch.color": STOP,
        "hatch.linewidth": 0.7,
        "svg.fonttype": "none",
        "svg.hashsalt": "spoolwright",
        "pdf.fonttype": 42,
    }


def _figure(chart: Chart) -> Figure:
    figure = Figure(figsize=SIZE, facecolor=PAPER)
    FigureCanvasAgg(figure)
    left, right = 0.085, (0.915 if chart.right is not None else 0.965)
    words = fill(chart.sentence, 105)
    lines = words.count("\n")
    top = 0.80 - 0.04 * lines
    axes = figure.add_axes((left, 0.125, right - left, top - 0.125))
    figure.text(0.02, 0.965, chart.title, fontsize=TITLE, fontweight="bold", va="top")
    figure.text(0.02, 0.895, words, fontsize=TEXT, color=INK2, va="top", linespacing=1.3)
    if chart.note:
        figure.text(0.02, 0.02, chart.note, fontsize=TICK, color=INK2)
    other = axes.twinx() if chart.right is not None else None
    sides = {"left": axes, "right": other}
    _ruled(axes, chart)
    for band in chart.bands:
        sides[band.side].axhspan(band.low, band.high, color=OPEN, lw=0, zorder=0.5)  # type: ignore[union-attr]
    for series in chart.series:
        _line(sides[series.side], series)
    for limit in chart.limits:
        _limit(sides[limit.side], limit)
    for mark in chart.marks:
        axes.axvline(mark.x, color=RULE, lw=0.75, ls=PATTERNS["chain"], zorder=1)
    if other is not None and chart.right is not None:
        _right_side(other, chart.right)
    figure.draw_without_rendering()
    name_everything(figure, chart, sides, COLOURS)
    return figure


def _ruled(axes: Any, chart: Chart) -> None:
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.set_axisbelow(True)
    axes.grid(True, color=GRID, lw=0.7)
    _scale(axes.xaxis, axes.set_xscale, axes.set_xlim, chart.x)
    _scale(axes.yaxis, axes.set_yscale, axes.set_ylim, chart.left)
    axes.tick_params(length=3, labelsize=TICK)
    unit = f", {chart.x.unit}" if chart.x.unit else ""
    axes.set_xlabel(f"{chart.x.title}{unit}", fontsize=TEXT, labelpad=5)
    axes.annotate(
        _head(chart.left), (0, 1), (-2, 7), xycoords="axes fraction", textcoords="offset points", ha="left", color=INK2
    )


def _right_side(axes: Any, scale: Axis) -> None:
    for side in ("top", "left", "bottom"):
        axes.spines[side].set_visible(False)
    axes.spines["right"].set_color(RULE)
    _scale(axes.yaxis, axes.set_yscale, axes.set_ylim, scale)
    axes.tick_params(length=3, labelsize=TICK)
    axes.annotate(
        _head(scale), (1, 1), (2, 7), xycoords="axes fraction", textcoords="offset points", ha="right", color=INK2
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


def _line(axes: Any, series: Series) -> None:
    y = [np.nan if v is None else v for v in series.y]
    style = PATTERNS[series.line]
    colour = COLOURS[series.quantity]
    axes.plot(series.x, y, color=colour, lw=1.9, ls=style, zorder=3, solid_capstyle="round")
    if series.dots:
        axes.plot(series.x, y, color=colour, lw=0, marker="o", ms=3.2, zorder=3.1)


def _limit(axes: Any, limit: Limit) -> None:
    low, high = axes.get_ylim()
    deep = 0.045 * (high - low) * (1.0 if limit.forbidden == "above" else -1.0)
    axes.axhline(limit.value, color=STOP, lw=1.3, zorder=2.5)
    axes.fill_between(
        [0, 1],
        limit.value,
        limit.value + deep,
        transform=axes.get_yaxis_transform(),
        facecolor="none",
        edgecolor=STOP,
        hatch="////",
        lw=0,
        zorder=2,
    )
    if not low <= limit.value + deep <= high:
        axes.set_ylim(min(low, limit.value + deep), max(high, limit.value + deep))
