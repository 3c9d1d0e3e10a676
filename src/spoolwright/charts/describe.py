"""A chart as data: what is drawn, in which unit, against which limit. Nothing here imports plotting.

Colour follows the quantity, the line's pattern tells lines of one chart apart, and every line bears its name, so
that colour is never the only sign. A ``Limit`` forbids one side; a ``Band`` is a stretch in which a verdict is open.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10
from typing import Literal

Quantity = Literal["torque", "power", "pressure", "temperature", "air", "knock", "mixture", "spark", "flow", "second"]
Line = Literal["solid", "dashed", "dotted", "chain", "points"]  # "points": measured, no line between them
Side = Literal["left", "right"]
Numbers = tuple[float | None, ...]

MOST_STEPS, LEAST_STEPS = 7, 4


@dataclass(frozen=True, slots=True)
class Axis:
    """Range and ticks of one axis; ``unit`` stands at its head. ``ticks`` empty on a logarithmic axis."""

    title: str
    unit: str
    low: float
    high: float
    ticks: tuple[float, ...] = ()
    logarithmic: bool = False


@dataclass(frozen=True, slots=True)
class Series:
    """One line: its name, points (None is a gap), the quantity it shows, and against which side it is read."""

    name: str
    x: tuple[float, ...]
    y: Numbers
    quantity: Quantity
    line: Line = "solid"
    side: Side = "left"
    dots: bool = False  # a dot at each point, where few were computed


@dataclass(frozen=True, slots=True)
class Limit:
    """A level that may not be passed: ``forbidden`` is the side beyond it."""

    name: str
    value: float
    forbidden: Literal["above", "below"] = "above"
    side: Side = "left"


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch between two levels, named."""

    name: str
    low: float
    high: float
    side: Side = "left"


@dataclass(frozen=True, slots=True)
class Ribbon:
    """A band along x between two curves: where a value lies with its uncertainty. None is a gap."""

    name: str
    x: tuple[float, ...]
    low: Numbers
    high: Numbers
    quantity: Quantity
    side: Side = "left"


@dataclass(frozen=True, slots=True)
class Mark:
    """A named place on the x axis."""

    name: str
    x: float


@dataclass(frozen=True, slots=True)
class Chart:
    """Everything a renderer needs. ``sentence`` says in words what the chart shows."""

    name: str
    title: str
    sentence: str
    x: Axis
    left: Axis
    series: tuple[Series, ...]
    right: Axis | None = None
    limits: tuple[Limit, ...] = ()
    bands: tuple[Band, ...] = ()
    marks: tuple[Mark, ...] = ()
    ribbons: tuple[Ribbon, ...] = ()
    note: str = ""


def nice_step(span: float, steps: int) -> float:
    """The round step (1, 2, 2.5, 5 times a power of ten) that covers ``span`` in at most ``steps`` steps."""
    raw = span / steps
    power = 10.0 ** floor(log10(raw))
    return next(f * power for f in (1.0, 2.0, 2.5, 5.0, 10.0) if f * power >= raw * (1.0 - 1e-9))


def axis(title: str, unit: str, values: Sequence[float], *, zero: bool = False, steps: int = MOST_STEPS) -> Axis:
    """A linear axis with round ticks that covers ``values``; from zero where ``zero``."""
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    low = min(low, 0.0) if zero else low
    if high - low < 1e-9 * max(abs(high), 1e-30):
        pad = 0.1 * abs(high) or 1.0
        low, high = low - pad, high + pad
    step = nice_step(high - low, steps)
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    return Axis(title, unit, first * step, last * step, tuple(i * step for i in range(first, last + 1)))


def exact_axis(title: str, unit: str, low: float, high: float, step: float) -> Axis:
    """A linear axis from ``low`` to ``high`` with a tick at every multiple of ``step`` between them."""
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return Axis(title, unit, low, high, tuple(i * step for i in range(first, last + 1)))


def log_axis(title: str, unit: str, values: Sequence[float]) -> Axis:
    """A logarithmic axis around positive ``values``."""
    return Axis(title, unit, 0.85 * min(values), 1.2 * max(values), logarithmic=True)


def paired_axes(left: Axis, right: Axis) -> tuple[Axis, Axis]:
    """Both axes with the same number of steps, so that one grid serves both. Upper ends move, lower ends stay."""

    def steps(one: Axis) -> int:
        return len(one.ticks) - 1

    count = max(steps(left), steps(right), LEAST_STEPS)

    def stretched(one: Axis) -> Axis:
        step = nice_step(one.high - one.low, count)
        first = floor(one.low / step + 1e-9)
        while first * step + count * step < one.high - 1e-9 * step:
            step = nice_step(1.01 * count * step, count)
            first = floor(one.low / step + 1e-9)
        ticks = tuple((first + i) * step for i in range(count + 1))
        return Axis(one.title, one.unit, ticks[0], ticks[-1], ticks)

    return stretched(left), stretched(right)
