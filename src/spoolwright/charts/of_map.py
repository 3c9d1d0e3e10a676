"""A compressor map with operating lines on it: speed lines, islands of efficiency, surge, the margins that are left.

Corrected flow and pressure ratio at the map's reference state, as the map was made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from contourpy import contour_generator

from spoolwright.charts.describe import Axis, axis
from spoolwright.engine.map_picture import CompressorMapPicture, SpeedLine, map_of
from spoolwright.engine.pull import Pull
from spoolwright.findings.pull_reading import rpm_of, settled
from spoolwright.sheet import Sheet

Points = tuple[tuple[float, float], ...]  # corrected flow [kg/s], pressure ratio
ISLAND_STEP = 0.02  # of efficiency between islands near the top
ISLANDS = 6  # drawn at most
LINES = 8  # speed lines drawn at most
SURGE_HATCH = 0.05  # of the flow axis, forbidden side of the surge line
NAMED = 5  # engine speeds written along an operating line
APART = 0.06  # of the flow axis between two of them


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve on the map with its name."""

    name: str
    points: Points


@dataclass(frozen=True, slots=True)
class Margin:
    """What is left at one engine speed: from a point of the operating line to the map's edge, in words."""

    words: str
    at: tuple[float, float]
    edge: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Operating:
    """An operating line: engine speeds [rpm] with their points; thin for another variant."""

    name: str
    speeds_rpm: tuple[float, ...]
    points: Points
    thin: bool = False


@dataclass(frozen=True, slots=True)
class MapChart:
    """Everything a renderer needs."""

    name: str
    title: str
    sentence: str
    x: Axis
    y: Axis
    lines: tuple[Curve, ...]
    islands: tuple[Curve, ...]
    surge: Points
    choke: Points
    operating: tuple[Operating, ...]
    margins: tuple[Margin, ...]
    reference: str
    estimated: bool


def operating_line(pull: Pull, name: str = "", thin: bool = False) -> Operating:
    """The operating line of a boosted pull; empty where it has none."""
    points = [p for p in settled(pull) if p.columns.get("corrected_flow_kg_s") is not None]
    return Operating(
        name,
        tuple(rpm_of(p) for p in points),
        tuple((p.columns["corrected_flow_kg_s"], p.columns["pressure_ratio"]) for p in points),
        thin,
    )


def margins_of(pull: Pull) -> tuple[Margin, ...]:
    """The tightest margins to surge and to choke of a pull, by the definitions of its columns."""
    points = [p for p in settled(pull) if p.columns.get("corrected_flow_kg_s") is not None]
    found = []
    for column, name, sign in (("surge_margin", "surge", -1.0), ("choke_margin", "choke", 1.0)):
        known = [p for p in points if p.columns.get(column) is not None]
        if not known:
            continue
        tight = min(known, key=lambda p: p.columns[column])
        flow, ratio, left = (tight.columns[c] for c in ("corrected_flow_kg_s", "pressure_ratio", column))
        words = f"{name} {100.0 * left:.0f} % at {rpm_of(tight):.0f}"
        found.append(Margin(words, (flow, ratio), (flow * (1.0 + sign * left), ratio)))
    return tuple(found)


def map_chart(
    picture: CompressorMapPicture, operating: Sequence[Operating] = (), margins: Sequence[Margin] = (), title: str = ""
) -> MapChart:
    """The chart of a map with these lines and margins on it."""
    lines = _some([_curve(f"{line.speed_rpm:,.0f}".replace(",", "\u202f"), line) for line in picture.lines], LINES)
    surge, choke = (tuple((float(x), float(y)) for x, y in edge) for edge in (picture.surge, picture.choke))
    on_it = [point for one in operating for point in one.points]
    shown = [point for line in lines for point in line.points] + on_it
    reference = f"{picture.T:.0f} K, {picture.p / 1e3:.0f} kPa"
    ends = [m.edge for m in margins]
    return MapChart(
        "compressor-map",
        title or "Compressor map",
        _sentence(picture, margins, reference),
        axis("corrected air flow", f"kg/s at {reference}", [0.0, *(x for x, _ in [*shown, *ends])]),
        axis("pressure ratio", "pressure ratio", [1.0, *(y for _, y in shown)]),
        tuple(lines),
        tuple(_islands(picture)),
        tuple(point for point in surge if point[1] >= 1.0),
        tuple(point for point in choke if point[1] >= 1.0),
        tuple(operating),
        tuple(margins),
        reference,
        picture.estimated,
    )


def _sentence(picture: CompressorMapPicture, margins: Sequence[Margin], reference: str) -> str:
    told = ", ".join(one.words + " rpm" for one in margins)
    first = f"Least margins: {told}. " if told else ""
    if picture.estimated:
        return f"{first}The map is estimated from wheel sizes; no verdict on a few per cent rests on it."
    error = "" if picture.error is None else f"{len(picture.lines)} measured speed lines. "
    return f"{first}{error}Flow is corrected to {reference}."


def _curve(name: str, line: SpeedLine) -> Curve:
    pairs = zip(line.flow, line.pressure_ratio, strict=True)
    return Curve(name, tuple((float(x), float(y)) for x, y in pairs if y >= 1.0))


def _some(curves: list[Curve], most: int) -> list[Curve]:
    step = max((len(curves) + most - 1) // most, 1)
    return [one for one in curves[::-1][::step][::-1] if len(one.points) > 1]


def _islands(picture: CompressorMapPicture) -> list[Curve]:
    """Contours of efficiency over the fine lines, from the best downwards."""
    flow, ratio, efficiency = (
        np.array([getattr(line, name) for line in picture.fine], dtype=float)
        for name in ("flow", "pressure_ratio", "efficiency")
    )
    efficiency = np.where(ratio >= 1.0, efficiency, np.nan)
    contours = contour_generator(flow, ratio, np.ma.masked_invalid(efficiency))
    top = float(np.nanmax(efficiency))
    first = np.floor(top / ISLAND_STEP - 0.2) * ISLAND_STEP
    levels = [first - ISLAND_STEP * step for step in (0, 1, 2, 4, 7, 11)][:ISLANDS]
    found = []
    for level in levels:
        pieces = [np.asarray(piece) for piece in contours.lines(float(level))]
        pieces = [piece for piece in pieces if len(piece) > 2]
        found += [
            Curve(f"{100.0 * level:.0f} %" if n == 0 else "", tuple((float(x), float(y)) for x, y in piece))
            for n, piece in enumerate(sorted(pieces, key=len, reverse=True))
        ]
    return found


def named_points(one: Operating, chart: MapChart) -> list[int]:
    """Which points of an operating line are marked and named: some NAMED, not too close, the last always."""
    if not one.points:
        return []
    apart = APART * (chart.x.high - chart.x.low)
    step = max((len(one.points) - 1) // (NAMED - 1), 1)
    chosen: list[int] = []
    for n in sorted({*range(0, len(one.points), step), len(one.points) - 1}, reverse=True):
        if all(abs(one.points[n][0] - one.points[m][0]) >= apart for m in chosen):
            chosen.append(n)
    return sorted(chosen)


def rows(chart: MapChart) -> list[list[str]]:
    """The operating lines as a table."""
    head = ["line", "speed [rpm]", f"corrected flow [{chart.x.unit}]", "pressure ratio"]
    body = [
        [one.name, f"{rpm:.10g}", f"{x:.6g}", f"{y:.5g}"]
        for one in chart.operating
        for rpm, (x, y) in zip(one.speeds_rpm, one.points, strict=True)
    ]
    return [head, *body]


def chart_of(pull: Pull, sheet: Sheet) -> list[MapChart]:
    """The sheet's map with this pull's line and margins on it; empty without a turbo or a settled point."""
    line = operating_line(pull)
    seen = map_of(sheet) if line.points else None
    return [] if seen is None else [map_chart(seen, [line], margins_of(pull))]
