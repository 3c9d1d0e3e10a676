"""The gas path as a picture: pressure and temperature along the way, and the cut section under it, one SVG.

Diameters are drawn to one scale, boxes as cubes of their volume; lengths are not to scale. Colours are the look's
variables, so the picture follows the theme by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

from spoolwright.bench import svg
from spoolwright.bench.marks import LOOKS
from spoolwright.bench.strip_parts import cut
from spoolwright.charts.describe import Axis, axis
from spoolwright.charts.gas_path import Along, Curve, Label, Station
from spoolwright.findings.model import Verdict

WIDTH, LEFT, RIGHT = 1392.0, 60.0, 12.0
P_TOP, P_FOOT = 30.0, 132.0
T_TOP, T_FOOT = 166.0, 250.0
CUT_TOP, CUT_FOOT, CUT_MID = 288.0, 448.0, 366.0
HEIGHT = 454.0
STEPS = 3


@dataclass(frozen=True)
class Scales:
    """Axes that hold for the whole pull, so that nothing jumps with the slider."""

    p: Axis
    T_intake: Axis
    T_exhaust: Axis


@dataclass(frozen=True)
class Balloon:
    """A lettered finding at a station."""

    letter: str
    verdict: Verdict
    station: int


def scales(paths: Sequence[Along]) -> Scales:
    """The axes that hold every speed of a run."""
    p = [y for one in paths for curve in (one.p_intake, one.p_exhaust) for _, y in curve]
    cold = [y for one in paths for _, y in one.T_intake]
    hot = [y for one in paths for _, y in one.T_exhaust]
    return Scales(
        axis("pressure", "kPa", p, steps=STEPS),
        axis("temperature", "°C", [*cold, 0.0], steps=STEPS),
        axis("temperature", "°C", hot or [0.0, 1.0], steps=STEPS),
    )


def column_width(count: int) -> float:
    """Width of one column."""
    return (WIDTH - LEFT - RIGHT) / max(count, 1)


def picture(
    columns: Sequence[Station],
    path: Along | None,
    held: Scales | None,
    balloons: Sequence[Balloon] = (),
    lit: int | None = None,
) -> str:
    """The whole figure as SVG; without a run only the cut section stands."""
    width = column_width(len(columns))
    parts = [_ground(len(columns), width, lit)]
    edge = next((n for n, one in enumerate(columns) if one.side == "cylinder"), len(columns))
    if path is not None and held is not None:
        parts += [
            _pressures(path, held, width, edge),
            _temperatures(path, held, width, edge),
            _cylinder(path, width, edge),
        ]
    else:
        parts.append(
            f'<text class="f3" x="{WIDTH / 2:.0f}" y="{(P_TOP + T_FOOT) / 2:.0f}" text-anchor="middle">no run yet: '
            "pressure and temperature along the way stand here</text>"
        )
    parts += cut(columns, width, LEFT, CUT_MID, CUT_TOP, CUT_FOOT, dict(path.notes) if path else {})
    parts += [_balloon(one, width, n) for n, one in enumerate(balloons)]
    said = (
        f"Gas path at {path.speed_rpm:.0f} rpm: pressure, temperature and section" if path else "Gas path, no run yet"
    )
    return (
        f'<svg class="strip" role="img" aria-label="{escape(said)}" viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" '
        f'width="100%" fill="none">{"".join(parts)}</svg>'
    )


def _ground(count: int, width: float, lit: int | None) -> str:
    shade = ""
    if lit is not None:
        shade = (
            f'<rect x="{LEFT + lit * width:.1f}" y="0" width="{width:.1f}" height="{HEIGHT:.0f}" fill="var(--well)"/>'
        )
    lines = "".join(f'<path class="gr" d="M{LEFT + n * width:.1f},0V{HEIGHT:.0f}"/>' for n in range(count + 1))
    return shade + lines


def _y(value: float, scale: Axis, top: float, foot: float) -> float:
    return foot - (value - scale.low) / ((scale.high - scale.low) or 1.0) * (foot - top)


def _points(curve: Curve, scale: Axis, top: float, foot: float, width: float) -> list[tuple[float, float]]:
    return [(LEFT + x * width, _y(value, scale, top, foot)) for x, value in curve]


def _line(points: Sequence[tuple[float, float]], look: str) -> str:
    return f'<path class="ln {look}" d="M{" ".join(f"{x:.1f},{y:.1f}" for x, y in points)}"/>' if points else ""


def _ticks(scale: Axis, top: float, foot: float, x0: float, x1: float, at: float, anchor: str = "end") -> str:
    out = ""
    for tick in scale.ticks:
        y = _y(tick, scale, top, foot)
        out += f'<path class="gr" d="M{x0:.1f},{y:.1f}H{x1:.1f}"/>'
        out += f'<text class="tk" x="{at:.1f}" y="{y + 4:.1f}" text-anchor="{anchor}">{tick:.10g}</text>'
    return out


def _pressures(path: Along, held: Scales, width: float, edge: int) -> str:
    right = LEFT + width * _count(width)
    out = _ticks(held.p, P_TOP, P_FOOT, LEFT, right, LEFT - 6)
    out += svg.text("un fp", LEFT - 6, P_TOP - 14, "kPa abs.", "end")
    base = _y(path.outside_kPa, held.p, P_TOP, P_FOOT)
    for curve in (path.p_intake, path.p_exhaust):
        points = _points(curve, held.p, P_TOP, P_FOOT, width)
        if points:
            body = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
            out += f'<path class="pb" d="M{points[0][0]:.1f},{base:.1f} {body} {points[-1][0]:.1f},{base:.1f}Z"/>'
            out += _line(points, "p")
    out += svg.path("thin", "M", LEFT, base, "H", right, stroke_dasharray="1.5 3")
    out += svg.text("halo f3", right - 4, base + 13, f"outside {path.outside_kPa:.1f}", "end")
    return out + _labels([one for one in path.labels if one.quantity == "p"], held.p, P_TOP, P_FOOT, width, "fp")


def _count(width: float) -> int:
    return round((WIDTH - LEFT - RIGHT) / width)


def _temperatures(path: Along, held: Scales, width: float, edge: int) -> str:
    turn = LEFT + edge * width
    right = LEFT + width * _count(width)
    out = _ticks(held.T_intake, T_TOP, T_FOOT, LEFT, turn, LEFT - 6)
    out += svg.text("un ft", LEFT - 6, T_TOP - 12, "°C", "end")
    out += _ticks(held.T_exhaust, T_TOP, T_FOOT, turn + width, right, turn + width - 6)
    out += svg.text("un ft", turn + width - 6, T_TOP - 12, "°C", "end")
    out += _line(_points(path.T_intake, held.T_intake, T_TOP, T_FOOT, width), "tt")
    out += _line(_points(path.T_exhaust, held.T_exhaust, T_TOP, T_FOOT, width), "tt")
    cold = [one for one in path.labels if one.quantity == "T" and one.side == "intake"]
    hot = [one for one in path.labels if one.quantity == "T" and one.side == "exhaust"]
    out += _labels(cold, held.T_intake, T_TOP, T_FOOT, width, "ft")
    return out + _labels(hot, held.T_exhaust, T_TOP, T_FOOT, width, "ft")


def _labels(labels: Sequence[Label], scale: Axis, top: float, foot: float, width: float, look: str) -> str:
    out = ""
    for one in labels:
        x, y = LEFT + one.x * width, _y(one.value, scale, top, foot)
        above = y - 7 if y - 18 > top - 14 else y + 16
        out += f'<text class="halo {look}" x="{x:.1f}" y="{above:.1f}">{escape(one.text)}</text>'
    return out


def _cylinder(path: Along, width: float, edge: int) -> str:
    x = LEFT + edge * width
    out = f'<rect x="{x:.1f}" y="0" width="{width:.1f}" height="{P_FOOT + 4:.0f}" fill="var(--well)"/>'
    for n, text in enumerate(path.cylinder):
        look = "fp" if n < 2 else "f2"
        out += f'<text class="{look}" x="{x + 8:.1f}" y="{22 + 19 * n}">{escape(text)}</text>'
    return out


def _balloon(one: Balloon, width: float, order: int) -> str:
    look = LOOKS[one.verdict]
    fill = {"stop": "var(--stop)", "watch": "var(--watch-bg)"}.get(look, "var(--sheet)")
    ink = {"stop": "var(--on-stop)", "watch": "var(--watch)", "none": "var(--none)"}.get(look, "var(--ink)")
    edge = {"stop": "var(--stop)", "watch": "var(--watch)", "none": "var(--none)"}.get(look, "var(--ink)")
    x = LEFT + (one.station + 0.72 - 0.2 * (order % 2)) * width
    y = CUT_TOP + 6
    to_x, to_y = LEFT + (one.station + 0.5) * width, CUT_MID - 10
    dash = {"stroke_dasharray": "2.6 2"} if look == "none" else {}
    return (
        svg.path("", "M", x, y + 9, "L", to_x, to_y, stroke=edge)
        + svg.circle(to_x, to_y, 1.8, fill=edge)
        + svg.circle(x, y, 9, fill=fill, stroke=edge, stroke_width="1.3", **dash)
        + svg.text("ltr", x, y + 4, one.letter, "middle", style=f"fill:{ink}")
    )


def standing(n: int, columns: Sequence[Station], path: Along | None, held: Scales | None) -> str:
    """One station's piece of the standing pressure profile, for a narrow screen: any height, 100 units each way."""
    if path is None or held is None or columns[n].side == "cylinder":
        return ""
    curve = path.p_intake if columns[n].side == "intake" else path.p_exhaust
    scale = held.p

    def place(value: float) -> float:
        return 12.0 + 76.0 * (value - scale.low) / ((scale.high - scale.low) or 1.0)

    points = [(place(_value_at(curve, n + step / 10.0)), 10.0 * step) for step in range(11)]
    base = place(path.outside_kPa)
    line = [number for point in points for number in point]
    fixed = "non-scaling-stroke"
    return (
        '<svg class="standing" viewBox="0 0 100 100" preserveAspectRatio="none" aria-hidden="true">'
        + svg.path("", "M", base, 0.0, *line, base, 100.0, "Z", fill="var(--pband)")
        + svg.path("thin", "M", base, 0.0, "V", 100.0, stroke_dasharray="1.5 3", vector_effect=fixed)
        + svg.path("", "M", *line, fill="none", stroke="var(--p)", stroke_width="2.5", vector_effect=fixed)
        + "</svg>"
    )


def _value_at(curve: Curve, x: float) -> float:
    """The drawn line's height at a place, for a drawing turned by a quarter."""
    for (x0, y0), (x1, y1) in pairwise(curve):
        if x0 <= x <= x1:
            return y0 + (y1 - y0) * (x - x0) / ((x1 - x0) or 1.0)
    return curve[0][1] if x < curve[0][0] else curve[-1][1]
