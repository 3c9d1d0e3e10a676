"""Charts on a page: a described chart as plain data for Plotly, the same description that paper draws from.

Colours are names of the page's style variables (``var(--ink)``); the page puts the values of its theme in. Lines bear
their names; a limit is an edge with hatching on the forbidden side; what was before is drawn thin in the same colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from spoolwright.charts.describe import Axis, Chart, Limit, Quantity, Ribbon, Series, Side
from spoolwright.charts.page_names import Label, Room, Taken, place_names

COLOURS: dict[Quantity, str] = {
    "torque": "--ink",
    "power": "--w",
    "pressure": "--p",
    "temperature": "--t",
    "air": "--p",
    "knock": "--ink",
    "mixture": "--sound",
    "spark": "--ink",
    "flow": "--p",
    "second": "--ink3",
}
DASHES = {"solid": "solid", "dashed": "dash", "dotted": "dot", "chain": "dashdot", "points": "solid"}
ROOM = Room(width=388.0, height=172.0)  # px of the plot as names are placed; the page may stretch it
THIN, THICK = 1.1, 2.0
HATCH_DEPTH = 0.05  # of the axis
OPEN = {"size": 6.5, "symbol": "circle-open", "line": {"width": 1.3}}  # a measured point
FAINT = {"pressure": "var(--pband)", "temperature": "var(--tband)"}  # shades behind lines; all others: --band
PEAKED = ("torque", "power")  # quantities whose highest point is marked


def figure(chart: Chart, behind: Chart | None = None, behind_name: str = "") -> dict[str, Any]:
    """Data and layout for Plotly. ``behind``: the same chart of another run, drawn thin and named."""
    traces = [_trace(one, THIN, chart) for one in _matching(chart, behind)]
    traces += [_trace(one, THICK, chart) for one in chart.series]
    ribbons = [trace for one in chart.ribbons for trace in _ribbon(one)]
    hatches = [_hatch(chart, limit) for limit in chart.limits]
    edges = [_edge(chart, limit) for limit in chart.limits]
    notes = _names(chart, behind, behind_name) + _heads(chart)
    peaks = [_peak(chart, one) for one in _peaked(chart) if not chart.x.logarithmic]
    return {
        "data": [*ribbons, *hatches, *edges, *traces, *(dot for dot, _ in peaks)],
        "layout": _layout(chart, [*notes, *(note for _, note in peaks)]),
        "slider": chart.x.unit == "rpm",
    }


def _peaked(chart: Chart) -> list[Series]:
    """Lines whose highest point is marked; measured points only where no line of their quantity is drawn."""
    lines = {one.quantity for one in chart.series if one.line != "points"}
    return [
        one for one in chart.series if one.quantity in PEAKED and (one.line != "points" or one.quantity not in lines)
    ]


def readings(chart: Chart) -> dict[str, Any]:
    """Places along x and, for each, what all lines say there, in words."""
    places = sorted({x for one in chart.series for x in one.x})
    return {"x": places, "lines": [_reading(chart, x) for x in places]}


def rows(chart: Chart) -> list[list[str]]:
    """The chart as a table: a head, then a row for each place along x."""
    unit = f" [{chart.x.unit}]" if chart.x.unit else ""
    sides = {"left": chart.left, "right": chart.right or chart.left}
    head = [chart.x.title + unit]
    head += [one.name + (f" [{sides[one.side].unit}]" if sides[one.side].unit else "") for one in chart.series]
    places = sorted({x for one in chart.series for x in one.x})
    table = [head]
    for x in places:
        values = [dict(zip(one.x, one.y, strict=True)).get(x) for one in chart.series]
        table.append([f"{x:.10g}", *("" if v is None else f"{v:.8g}" for v in values)])
    return table


def _reading(chart: Chart, x: float) -> str:
    said = []
    for one in chart.series:
        value = dict(zip(one.x, one.y, strict=True)).get(x)
        axis = chart.right if one.side == "right" and chart.right else chart.left
        if value is not None:
            unit = "" if axis.unit == one.name else axis.unit
            said.append(f"{one.name} {value:.4g} {unit}".rstrip())
    return f"{figures(x)} {chart.x.unit}: {', '.join(said) or 'no value'}"


def figures(value: float) -> str:
    """A tick's number: true minus, narrow space between thousands."""
    return f"{value:,.10g}".replace(",", "\u202f").replace("-", "\u2212")


def _matching(chart: Chart, behind: Chart | None) -> list[Series]:
    """The lines of ``behind`` that the chart has too; a second opinion on a line is left out."""
    if behind is None:
        return []
    names = {one.name for one in chart.series if one.quantity != "second"}
    return [one for one in behind.series if one.name in names]


def _pattern(one: Series, chart: Chart) -> str:
    """Colour tells quantities apart; a pattern is used only between lines of one quantity, or for a second opinion."""
    alike = sum(other.quantity == one.quantity for other in chart.series)
    return DASHES[one.line] if alike > 1 or one.quantity == "second" else "solid"


def _trace(one: Series, weight: float, chart: Chart) -> dict[str, Any]:
    thin = weight == THIN
    colour = f"var({COLOURS[one.quantity]})"
    return {
        "type": "scatter",
        "mode": "markers" if one.line == "points" else "lines+markers" if one.dots and not thin else "lines",
        "marker": OPEN | {"color": colour} if one.line == "points" else {"size": 4.5, "color": colour},
        "x": list(one.x),
        "y": list(one.y),
        "yaxis": "y2" if one.side == "right" else "y",
        "line": {"color": colour, "width": weight, "dash": _pattern(one, chart), "shape": "linear"},
        "connectgaps": False,
        "hoverinfo": "none" if not thin else "skip",
        "name": one.name,
        "showlegend": False,
    }


def _ribbon(one: Ribbon) -> list[dict[str, Any]]:
    """Lower edge, then the upper one shaded down to it; both in the faint colour of the line they belong to."""
    shared = {
        "type": "scatter",
        "mode": "lines",
        "x": list(one.x),
        "yaxis": "y2" if one.side == "right" else "y",
        "line": {"width": 0},
        "hoverinfo": "skip",
        "showlegend": False,
        "connectgaps": False,
    }
    shade = {"fill": "tonexty", "fillcolor": FAINT.get(one.quantity, "var(--band)")}
    return [{**shared, "y": list(one.low)}, {**shared, **shade, "y": list(one.high), "name": one.name}]


def _axis_of(chart: Chart, side: str) -> Axis:
    return chart.right if side == "right" and chart.right is not None else chart.left


def _range(chart: Chart, side: str) -> tuple[float, float]:
    """The axis' range, wide enough for the hatching of its limits."""
    axis = _axis_of(chart, side)
    low, high = axis.low, axis.high
    deep = HATCH_DEPTH * (high - low)
    for limit in chart.limits:
        if limit.side == side:
            low, high = min(low, limit.value - deep), max(high, limit.value + deep)
    return low, high


def _hatch(chart: Chart, limit: Limit) -> dict[str, Any]:
    low, high = _range(chart, limit.side)
    beyond = limit.value + (1.0 if limit.forbidden == "above" else -1.0) * HATCH_DEPTH * (high - low)
    x0, x1 = chart.x.low, chart.x.high
    return {
        "type": "scatter",
        "mode": "lines",
        "x": [x0, x1, x1, x0, x0],
        "y": [limit.value, limit.value, beyond, beyond, limit.value],
        "yaxis": "y2" if limit.side == "right" else "y",
        "line": {"width": 0},
        "fill": "toself",
        "fillcolor": "rgba(0,0,0,0)",
        "fillpattern": {"shape": "/", "fgcolor": "var(--stop)", "bgcolor": "rgba(0,0,0,0)", "size": 5, "solidity": 0.2},
        "hoverinfo": "skip",
        "showlegend": False,
    }


def _edge(chart: Chart, limit: Limit) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "x": [chart.x.low, chart.x.high],
        "y": [limit.value, limit.value],
        "yaxis": "y2" if limit.side == "right" else "y",
        "line": {"color": "var(--stop)", "width": 1.25},
        "hoverinfo": "skip",
        "showlegend": False,
    }


def _peak(chart: Chart, one: Series) -> tuple[dict[str, Any], dict[str, Any]]:
    """An open dot at the highest point of a line, and its words."""
    value, x = max(((y, x) for x, y in zip(one.x, one.y, strict=True) if y is not None), default=(0.0, 0.0))
    axis = _axis_of(chart, one.side)
    colour = f"var({COLOURS[one.quantity]})"
    side = "y2" if one.side == "right" else "y"
    dot = {
        "type": "scatter",
        "mode": "markers",
        "x": [x],
        "y": [value],
        "yaxis": side,
        "marker": {"size": 8, "color": "var(--sheet)", "line": {"color": colour, "width": 1.6}},
        "hoverinfo": "skip",
        "showlegend": False,
    }
    digits = 0 if one.quantity == "torque" else 1
    text = f"<b>{value:.{digits}f} {axis.unit} at {figures(x)}</b>"
    ha, va, dx, dy = _peak_place(chart, x, value, one.side)
    return dot, note_at(text, x, value, side, ha, va, colour, dx, dy)


def _peak_place(chart: Chart, x: float, value: float, side: Side) -> tuple[str, str, float, float]:
    """How the words of a highest point stand to it: inside the plot at its edges, under it where it is at the top."""
    low, high = _range(chart, side)
    across = (x - chart.x.low) / ((chart.x.high - chart.x.low) or 1.0)
    ha, dx = ("left", 6.0) if across < 0.2 else ("right", -6.0) if across > 0.8 else ("center", 0.0)
    top = (value - low) / ((high - low) or 1.0) > 0.88
    return (ha, "top", dx, -8.0) if top else (ha, "bottom", dx, 7.0)


def note_at(
    text: str, x: float, y: float, side: str, ha: str, va: str, colour: str, dx: float = 0.0, dy: float = 0.0
) -> dict[str, Any]:
    """Words at a point of the data."""
    return {
        "text": text,
        "x": x,
        "y": y,
        "xref": "x",
        "yref": side,
        "xanchor": ha,
        "yanchor": va,
        "xshift": dx,
        "yshift": dy,
        "showarrow": False,
        "font": {"color": colour, "size": 12},
        "bgcolor": "var(--sheet)",
        "borderpad": 0,
        "opacity": 0.92,
    }


def _names(chart: Chart, behind: Chart | None, behind_name: str) -> list[dict[str, Any]]:
    """The names of lines, limits, bands and marks, each where it covers least."""
    labels = [
        Label(one.name, "line", one.x, one.y, one.side, f"var({COLOURS[one.quantity]})", bold=True)
        for one in chart.series
    ]
    thin = _matching(chart, behind)
    if thin and behind_name:
        one = thin[0]
        labels.append(Label(behind_name, "line", one.x, one.y, one.side, f"var({COLOURS[one.quantity]})"))
    ends = (chart.x.low, chart.x.high)
    for limit in chart.limits:
        inward: Literal["above", "below"] = "below" if limit.forbidden == "above" else "above"
        labels.append(
            Label(
                limit.name.replace(" degC", " °C"), inward, ends, (limit.value, limit.value), limit.side, "var(--stop)"
            )
        )
    labels += [
        Label(band.name, "below", ends, (band.high, band.high), band.side, "var(--watch)") for band in chart.bands
    ]
    height = _range(chart, "left")
    labels += [Label(mark.name, "line", (mark.x, mark.x), height, "left", "var(--ink2)") for mark in chart.marks]
    crowd = [(one.x, one.y, one.side) for one in [*chart.series, *thin]]
    ranges = {side: _range(chart, side) for side in ("left", "right")}
    placed = place_names(labels, crowd, (chart.x.low, chart.x.high), ranges, ROOM, _peaks_taken(chart))
    return [
        note_at(
            f"<b>{spot.label.text}</b>" if spot.label.bold else spot.label.text,
            spot.x,
            spot.y,
            "y2" if spot.label.side == "right" else "y",
            spot.ha,
            spot.va,
            spot.label.colour,
            spot.dx,
            spot.dy,
        )
        for spot in placed
    ]


def _peaks_taken(chart: Chart) -> list[Taken]:
    """Where the words of the highest points stand: x, y, side, width in px."""
    taken: list[Taken] = []
    for one in _peaked(chart):
        known = [(y, x) for x, y in zip(one.x, one.y, strict=True) if y is not None]
        if known:
            value, x = max(known)
            ha, va, dx, _ = _peak_place(chart, x, value, one.side)
            shift = {"left": 55.0, "right": -55.0}.get(ha, 0.0) + dx
            taken.append((x, value, one.side, 110.0, shift, va == "top"))
    return taken


def _heads(chart: Chart) -> list[dict[str, Any]]:
    """What each axis shows, at its head."""

    def head(axis: Axis, x: float, anchor: str, colour: str) -> dict[str, Any]:
        text = axis.unit or axis.title
        return {
            "text": text,
            "x": x,
            "y": 1.0,
            "xref": "paper",
            "yref": "paper",
            "xanchor": anchor,
            "yanchor": "bottom",
            "yshift": 5,
            "showarrow": False,
            "font": {"color": colour, "size": 12},
        }

    right = [] if chart.right is None else [head(chart.right, 1.0, "center", _side_colour(chart, "right"))]
    unit = {**head(chart.left, 0.0, "center", _side_colour(chart, "left"))}
    if len(unit["text"]) > 6:
        unit["xanchor"] = "left"
        unit["xshift"] = -40
    foot = {
        "text": chart.x.unit or chart.x.title,
        "x": 1.0,
        "y": 0.0,
        "xref": "paper",
        "yref": "paper",
        "xanchor": "right",
        "yanchor": "top",
        "yshift": -19,
        "showarrow": False,
        "font": {"color": "var(--ink3)", "size": 12},
    }
    return [unit, *right, foot]


def _side_colour(chart: Chart, side: str) -> str:
    """An axis takes its lines' colour where two axes must be told apart."""
    if chart.right is None:
        return "var(--ink3)"
    quantities = {one.quantity for one in chart.series if one.side == side}
    return f"var({COLOURS[next(iter(quantities))]})" if len(quantities) == 1 else "var(--ink3)"


def scale_of(axis: Axis, low: float, high: float, colour: str) -> dict[str, Any]:
    """An axis as Plotly takes it."""
    scale: dict[str, Any] = {
        "range": [low, high],
        "showgrid": True,
        "gridcolor": "var(--grid)",
        "gridwidth": 1,
        "zeroline": False,
        "showline": False,
        "ticks": "outside",
        "ticklen": 3,
        "tickcolor": "var(--rule2)",
        "tickfont": {"color": colour, "size": 11.5},
        "automargin": False,
    }
    if axis.logarithmic:
        from math import log10

        return scale | {"type": "log", "range": [log10(low), log10(high)]}
    return scale | {"tickvals": list(axis.ticks), "ticktext": [figures(tick) for tick in axis.ticks]}


def _layout(chart: Chart, notes: Sequence[dict[str, Any]]) -> dict[str, Any]:
    low, high = _range(chart, "left")
    layout: dict[str, Any] = {
        "margin": {"l": 46, "r": 46 if chart.right is not None else 16, "t": 26, "b": 36, "pad": 0},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": "var(--sans)", "size": 12, "color": "var(--ink)"},
        "xaxis": scale_of(chart.x, chart.x.low, chart.x.high, "var(--ink3)")
        | {"showline": True, "linecolor": "var(--rule2)", "showgrid": chart.x.unit != "rpm"},
        "yaxis": scale_of(chart.left, low, high, "var(--ink3)"),
        "annotations": list(notes),
        "shapes": _shapes(chart),
        "hovermode": "x",
        "hoverdistance": 60,
        "dragmode": "zoom",
        "uirevision": chart.name,
        "showlegend": False,
    }
    if chart.right is not None:
        low, high = _range(chart, "right")
        layout["yaxis2"] = scale_of(chart.right, low, high, _side_colour(chart, "right")) | {
            "overlaying": "y",
            "side": "right",
            "showgrid": False,
        }
    return layout


def _shapes(chart: Chart) -> list[dict[str, Any]]:
    bands = [
        {
            "type": "rect",
            "xref": "paper",
            "x0": 0,
            "x1": 1,
            "yref": "y2" if band.side == "right" else "y",
            "y0": band.low,
            "y1": band.high,
            "fillcolor": "var(--watch-bg)",
            "line": {"width": 0},
            "layer": "below",
        }
        for band in chart.bands
    ]
    marks = [
        {
            "type": "line",
            "xref": "x",
            "x0": mark.x,
            "x1": mark.x,
            "yref": "paper",
            "y0": 0,
            "y1": 1,
            "line": {"color": "var(--rule2)", "width": 0.75, "dash": "dashdot"},
            "layer": "below",
        }
        for mark in chart.marks
    ]
    return bands + marks
