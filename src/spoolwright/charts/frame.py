"""The frame of a chart on paper: title and sentence, the place of the axes, their grid, ticks and heads."""

from __future__ import annotations

from textwrap import fill
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter, NullLocator

from spoolwright.charts.describe import Axis
from spoolwright.charts.look import Look

Place = tuple[float, float, float, float]  # left, bottom, width, height as shares of the figure


def titled(figure: Figure, look: Look, title: str, sentence: str, note: str = "", right: bool = False) -> Place:
    """Write title, sentence and note; the place left for the axes. right : room for an axis on that side."""
    left, end = 0.085, (0.915 if right else 0.965)
    words = fill(sentence, 105)
    top = 0.80 - 0.04 * words.count("\n")
    figure.text(0.02, 0.965, title, fontsize=look.title, fontweight="bold", va="top")
    figure.text(0.02, 0.895, words, fontsize=look.text, color=look.ink2, va="top", linespacing=1.3)
    if note:
        figure.text(0.02, 0.02, note, fontsize=look.tick, color=look.ink2)
    return left, 0.125, end - left, top - 0.125


def bare(look: Look, right: bool = False) -> Place:
    """The place of the axes in a figure without title: room for ticks and heads in points."""
    width, height = (72.0 * side for side in look.size)
    left, end = 3.4 * look.tick / width, (3.4 if right else 1.2) * look.tick / width
    low, top = 3.9 * look.tick / height, 2.2 * look.tick / height
    return left, low, 1.0 - left - end, 1.0 - low - top


def ruled(axes: Any, x: Axis, left: Axis, look: Look) -> None:
    """Grid, ticks and heads of the lower and the left axis."""
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.set_axisbelow(True)
    axes.grid(True, color=look.grid, lw=look.thin)
    set_axis(axes.xaxis, axes.set_xscale, axes.set_xlim, x)
    set_axis(axes.yaxis, axes.set_yscale, axes.set_ylim, left)
    axes.tick_params(length=3, labelsize=look.tick)
    unit = f", {x.unit}" if x.unit else ""
    axes.set_xlabel(f"{x.title}{unit}", fontsize=look.text, labelpad=look.tick / 2)
    axes.annotate(
        head(left),
        (0, 1),
        (-2, 7),
        xycoords="axes fraction",
        textcoords="offset points",
        ha="left",
        color=look.ink2,
    )


def head(scale: Axis) -> str:
    """What stands at the head of an axis: its title, and its unit where that says more."""
    return f"{scale.title}, {scale.unit}" if scale.unit and scale.unit != scale.title else scale.title


def set_axis(which: Any, set_scale: Any, set_range: Any, scale: Axis) -> None:
    """Range, ticks and numbers of one axis of the figure."""
    if scale.logarithmic:
        set_scale("log")
        which.set_major_locator(FixedLocator(_log_ticks(scale)))
        which.set_minor_locator(NullLocator())
        which.set_minor_formatter(NullFormatter())
    else:
        which.set_major_locator(FixedLocator(scale.ticks))
    which.set_major_formatter(FuncFormatter(lambda value, _: figures(value)))
    set_range(scale.low, scale.high)


def _log_ticks(scale: Axis) -> list[float]:
    powers = range(int(np.floor(np.log10(scale.low))), int(np.ceil(np.log10(scale.high))) + 1)
    return [m * 10.0**e for e in powers for m in (1, 2, 5) if scale.low <= m * 10.0**e <= scale.high]


def figures(value: float) -> str:
    """A tick's number: true minus, narrow space between thousands."""
    return f"{value:,.10g}".replace(",", "\u202f").replace("-", "\u2212")
