"""How charts on paper look: colours, fonts, line widths, sizes; one look in colour, one in ink alone for the book."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from spoolwright.charts.describe import Quantity

_MM: Final = 72.0 / 25.4  # points


@dataclass(frozen=True)
class Look:
    """Colours as CSS colours, ``size`` in inches, everything else in points; ``titled``: title and sentence inside."""

    size: tuple[float, float]
    titled: bool
    fonts: tuple[str, ...]
    colours: Mapping[Quantity, str]
    paper: str
    ink: str
    ink2: str
    rule: str
    grid: str
    stop: str
    doubt: str
    open: str
    title: float
    text: float
    tick: float
    name: float
    thin: float
    edge: float
    thick: float
    dot: float


_INK, _INK2 = "#13211C", "#54625C"
COLOUR: Final = Look(
    size=(7.4, 4.7),
    titled=True,
    fonts=("Segoe UI", "Helvetica Neue", "Noto Sans", "Liberation Sans", "Arial", "DejaVu Sans"),
    colours={
        "torque": _INK,
        "power": "#8E4A74",
        "pressure": "#0A5A8C",
        "temperature": "#B03A06",
        "air": "#0A5A8C",
        "knock": _INK,
        "mixture": "#0C6450",
        "spark": _INK,
        "flow": "#0A5A8C",
        "second": _INK2,
    },
    paper="#FFFFFF",
    ink=_INK,
    ink2=_INK2,
    rule="#74867D",
    grid="#DDE4DF",
    stop="#A60F35",
    doubt="#7A4D00",
    open="#F1E2C4",
    title=13.0,
    text=9.5,
    tick=9.0,
    name=9.5,
    thin=0.7,
    edge=1.3,
    thick=1.9,
    dot=3.2,
)
# For a printed sheet: black alone, lines 0.1, 0.18, 0.3 and 0.37 mm, a serif that Matplotlib carries itself.
INK_ALONE: Final = Look(
    size=(3.3, 2.4),
    titled=False,
    fonts=("STIXGeneral", "DejaVu Serif"),
    colours=dict.fromkeys(COLOUR.colours, "black"),
    paper="none",
    ink="black",
    ink2="black",
    rule="black",
    grid="#B8B8B8",
    stop="black",
    doubt="black",
    open="#EDEDED",
    title=10.0,
    text=8.0,
    tick=8.0,
    name=8.0,
    thin=0.1 * _MM,
    edge=0.3 * _MM,
    thick=0.37 * _MM,
    dot=2.2,
)
