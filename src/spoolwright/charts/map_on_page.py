"""A compressor map on a page: plain data for Plotly, colours by the names of the page's style variables."""

from __future__ import annotations

from typing import Any

from spoolwright.charts.of_map import SURGE_HATCH, Curve, MapChart, Margin, Operating, Points, named_points
from spoolwright.charts.on_page import figures, note_at, scale_of


def figure(chart: MapChart) -> dict[str, Any]:
    """Data and layout for Plotly."""
    data = [_hatch(chart), _trace(chart.surge, "var(--stop)", 1.4)]
    data += [_trace(one.points, "var(--ink2)", 1.1) for one in chart.lines]
    data += [_trace(one.points, "var(--rule2)", 0.9) for one in chart.islands]
    data += [trace for one in chart.operating for trace in _operating(one)]
    notes = [_end(one) for one in chart.lines]
    notes += [_island(one) for one in chart.islands if one.name]
    notes += [note for one in chart.operating for note in _speeds(one, chart)]
    data += [_dots(one, chart) for one in chart.operating if not one.thin]
    notes += [note for one in chart.margins for note in _margin(one)]
    notes.append(_surge_name(chart))
    x, y = chart.x, chart.y
    return {
        "data": data,
        "layout": {
            "margin": {"l": 46, "r": 70, "t": 26, "b": 44, "pad": 0},
            "paper_bgcolor": "rgba(0,0,0,0)",
            "plot_bgcolor": "rgba(0,0,0,0)",
            "font": {"family": "var(--sans)", "size": 12, "color": "var(--ink)"},
            "xaxis": scale_of(x, x.low, x.high, "var(--ink3)") | {"showline": True, "linecolor": "var(--rule2)"},
            "yaxis": scale_of(y, y.low, y.high, "var(--ink3)"),
            "annotations": [*(one for one in notes if one), *_heads(chart)],
            "hovermode": "closest",
            "dragmode": "zoom",
            "uirevision": chart.name,
            "showlegend": False,
        },
        "slider": False,
    }


def readings(chart: MapChart) -> dict[str, Any]:
    """Places along the flow axis with what stands there, in words: the operating line, speed by speed."""
    told = [
        (x, f"{figures(rpm)} rpm{f', {one.name}' if one.name else ''}: {x:.4f} kg/s, pressure ratio {y:.2f}")
        for one in chart.operating
        for rpm, (x, y) in zip(one.speeds_rpm, one.points, strict=True)
    ]
    told.sort()
    return {"x": [x for x, _ in told], "lines": [words for _, words in told]}


def _trace(points: Points, colour: str, width: float, dash: str = "solid") -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "x": [x for x, _ in points],
        "y": [y for _, y in points],
        "line": {"color": colour, "width": width, "dash": dash},
        "hoverinfo": "skip",
        "showlegend": False,
    }


def _hatch(chart: MapChart) -> dict[str, Any]:
    """The forbidden side of the surge line."""
    deep = SURGE_HATCH * (chart.x.high - chart.x.low)
    back = [(max(x - deep, chart.x.low), y) for x, y in reversed(chart.surge)]
    return _trace((*chart.surge, *back), "rgba(0,0,0,0)", 0.0) | {
        "fill": "toself",
        "fillcolor": "rgba(0,0,0,0)",
        "fillpattern": {
            "shape": "/",
            "fgcolor": "var(--stop)",
            "bgcolor": "rgba(0,0,0,0)",
            "size": 6,
            "solidity": 0.16,
        },
    }


def _operating(one: Operating) -> list[dict[str, Any]]:
    return [_trace(one.points, "var(--p)", 1.2 if one.thin else 2.5)]


def _dots(one: Operating, chart: MapChart) -> dict[str, Any]:
    points = tuple(one.points[n] for n in named_points(one, chart))
    return _trace(points, "var(--p)", 0.0) | {
        "mode": "markers",
        "marker": {"size": 7, "color": "var(--sheet)", "line": {"color": "var(--p)", "width": 1.6}},
        "hoverinfo": "none",
    }


def _end(curve: Curve) -> dict[str, Any]:
    x, y = curve.points[-1]
    return note_at(curve.name, x, y, "y", "left", "middle", "var(--ink2)", dx=5)


def _island(curve: Curve) -> dict[str, Any]:
    x, y = max(curve.points, key=lambda point: point[1])
    return note_at(curve.name, x, y, "y", "center", "middle", "var(--ink3)")


def _speeds(one: Operating, chart: MapChart) -> list[dict[str, Any]]:
    """Engine speeds along the line; another variant's line bears its name at its end."""
    if not one.points:
        return []
    if one.thin:
        x, y = one.points[-1]
        return [note_at(one.name, x, y, "y", "left", "top", "var(--p)", dx=4, dy=-4)]
    return [
        note_at(f"<b>{figures(one.speeds_rpm[n])}</b>", *one.points[n], "y", "center", "bottom", "var(--p)", dy=8)
        for n in named_points(one, chart)
    ]


def _margin(one: Margin) -> list[dict[str, Any]]:
    """A dimension line from the point to the edge, and its words."""
    (x, y), (to, _) = one.at, one.edge
    arrow = {
        "x": to,
        "y": y,
        "ax": x,
        "ay": y,
        "xref": "x",
        "yref": "y",
        "axref": "x",
        "ayref": "y",
        "text": "",
        "showarrow": True,
        "arrowside": "end+start",
        "arrowhead": 2,
        "arrowsize": 0.9,
        "arrowwidth": 1.1,
        "arrowcolor": "var(--ink)",
    }
    words = note_at(f"<b>{one.words}</b>", (x + to) / 2.0, y, "y", "center", "top", "var(--ink)", dy=-6)
    return [arrow, words]


def _surge_name(chart: MapChart) -> dict[str, Any]:
    if not chart.surge:
        return {}
    x, y = chart.surge[int(0.7 * (len(chart.surge) - 1))]
    return note_at("surge", x, y, "y", "right", "bottom", "var(--stop)", dx=-18)


def _heads(chart: MapChart) -> list[dict[str, Any]]:
    def words(text: str, x: float, y: float, ha: str, va: str, shift: float) -> dict[str, Any]:
        return {
            "text": text,
            "x": x,
            "y": y,
            "xref": "paper",
            "yref": "paper",
            "xanchor": ha,
            "yanchor": va,
            "yshift": shift,
            "showarrow": False,
            "font": {"color": "var(--ink3)", "size": 12},
        }

    head = words("pressure ratio", 0.0, 1.0, "left", "bottom", 6) | {"xshift": -40}
    return [head, words(f"{chart.x.title}, {chart.x.unit}", 1.0, 0.0, "right", "top", -21)]
