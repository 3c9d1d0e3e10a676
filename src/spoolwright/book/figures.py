"""Charts as figures of a book: brought into the reader's units and drawn in ink alone."""

from __future__ import annotations

import re
from dataclasses import replace

from spoolwright import units
from spoolwright.book.content import Figure
from spoolwright.book.in_units import Choice, printed, text_in, wanted
from spoolwright.charts.describe import Axis, Chart, Side, axis, paired_axes

# The serif of the book first; a page without it takes the reader's.
FONT = "Libertinus Serif, Times New Roman, serif"
_SET = {"°C": "degC", "°F": "degF"}


def figure(chart: Chart, width: float, height: float) -> Figure:
    """``chart`` drawn ``width`` by ``height`` millimetres."""
    from spoolwright.charts.paper import svg

    drawn = _in_book_type(svg(chart, width, height))
    return Figure(chart.name, chart.title, drawn, width, height, chart.sentence, chart.note)


def _in_book_type(svg: str) -> str:
    """The drawing with its words in the book's own type and without a heading of its own for file viewers."""
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    return re.sub(r"'(?:STIXGeneral|DejaVu Serif)'(?:, '(?:STIXGeneral|DejaVu Serif)')*(?:, serif)?", FONT, svg)


def chart_in(chart: Chart, choice: Choice) -> Chart:
    """``chart`` in the reader's units: axes, lines, limits and its sentence."""
    left, right = _target(chart.left, choice), _target(chart.right, choice)
    limits = tuple(replace(one, name=printed(one.name, choice)) for one in chart.limits)
    turned = replace(chart, limits=limits, sentence=text_in(chart.sentence, choice), note=text_in(chart.note, choice))
    if left is not None:
        turned = _turned(turned, "left", *left)
    if right is not None:
        turned = _turned(turned, "right", *right)
    if (left or right) and turned.right is not None:
        pair = paired_axes(turned.left, turned.right)
        turned = replace(turned, left=pair[0], right=pair[1])
    return turned


def _target(scale: Axis | None, choice: Choice) -> tuple[str, str, str] | None:
    """Kind, unit as drawn and unit wanted for an axis; None where it stays."""
    if scale is None:
        return None
    for told in (scale.unit, scale.unit.partition(",")[0], scale.unit.partition(" ")[0]):
        unit = _SET.get(told, told)
        to = wanted(unit, choice)
        if to is not None:
            return to[0], unit, to[1]
    return None


def _turned(chart: Chart, side: Side, kind: str, unit: str, target: str) -> Chart:
    def turn(value: float) -> float:
        return units.convert(units.to_si(value, kind, unit), kind, target)

    def number(value: float | None) -> float | None:
        return None if value is None else turn(value)

    old = chart.left if side == "left" else chart.right
    assert old is not None
    series = tuple(replace(one, y=tuple(number(y) for y in one.y)) if one.side == side else one for one in chart.series)
    limits = tuple(replace(one, value=turn(one.value)) if one.side == side else one for one in chart.limits)
    bands = tuple(
        replace(one, low=turn(one.low), high=turn(one.high)) if one.side == side else one for one in chart.bands
    )
    known = [y for one in series if one.side == side for y in one.y if y is not None]
    known += [one.value for one in limits if one.side == side]
    said = {unit: name for name, unit in _SET.items()}
    told = old.unit.replace(said.get(unit, unit), said.get(target, target), 1)
    new = axis(old.title, told, known, zero=old.low == 0.0)
    held = replace(chart, series=series, limits=limits, bands=bands)
    return replace(held, left=new) if side == "left" else replace(held, right=new)
