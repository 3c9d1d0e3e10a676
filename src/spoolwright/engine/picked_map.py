"""A compressor map clicked off a picture: two clicks an axis, speed lines, islands of efficiency; a table out of it.

The picture may be scaled and turned, its axes are straight and linear. Between islands the efficiency is linear over
the triangles of the clicked points; a point of a speed line outside the outermost island takes that island's value and
is counted, so that nobody takes it for read off.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sheet import files
from spoolwright.sheet.saving import replace_file

Floats = NDArray[np.float64]
Pixel = tuple[float, float]  # right, down
LEAST_APART = 8.0  # px between the two clicks of an axis
LEAST_POINTS = 2  # of a speed line


@dataclass(frozen=True)
class Mark:
    """One click on an axis: where, and the value there."""

    pixel: Pixel
    value: float


@dataclass(frozen=True)
class Axes:
    """Flow axis by two marks, pressure ratio axis by two marks."""

    flow: tuple[Mark, Mark]
    ratio: tuple[Mark, Mark]

    def __post_init__(self) -> None:
        for name, (a, b) in (("flow", self.flow), ("pressure ratio", self.ratio)):
            if float(np.hypot(b.pixel[0] - a.pixel[0], b.pixel[1] - a.pixel[1])) < LEAST_APART:
                raise BadInput(f"the two clicks on the {name} axis lie too close; take places far apart")
            if a.value == b.value:
                raise BadInput(f"both clicks on the {name} axis say {a.value:g}; they need different values")
        if abs(float(np.linalg.det(self._ways()))) < 1e-3 * float(np.prod(np.linalg.norm(self._ways(), axis=0))):
            raise BadInput("the two axes run the same way; click one along the flow, one along the pressure ratio")

    def _ways(self) -> Floats:
        """Columns: one step of each axis in px."""
        return np.array([[b.pixel[k] - a.pixel[k] for a, b in (self.flow, self.ratio)] for k in (0, 1)], dtype=float)

    def data(self, pixel: Pixel) -> tuple[float, float]:
        """Flow and pressure ratio at a place of the picture."""
        said = []
        for n, (a, b) in enumerate((self.flow, self.ratio)):
            steps = np.linalg.solve(self._ways(), [pixel[0] - a.pixel[0], pixel[1] - a.pixel[1]])
            said.append(a.value + float(steps[n]) * (b.value - a.value))
        return said[0], said[1]

    def pixel(self, flow: float, ratio: float) -> Pixel:
        """The place of the picture at which a flow and a pressure ratio stand."""
        origin = np.array(self.flow[0].pixel, dtype=float)
        at_origin = self.data(self.flow[0].pixel)
        steps = [
            (value - start) / (b.value - a.value)
            for value, start, (a, b) in zip((flow, ratio), at_origin, (self.flow, self.ratio), strict=True)
        ]
        x, y = origin + self._ways() @ np.array(steps)
        return float(x), float(y)


@dataclass
class Picked:
    """What was clicked: axes, the flow's unit, speed lines [rpm] and islands [share], all in px."""

    axes: Axes
    flow_unit: str
    lines: dict[float, list[Pixel]] = field(default_factory=dict)
    islands: dict[float, list[Pixel]] = field(default_factory=dict)


@dataclass(frozen=True)
class Row:
    """One row of the table: speed [rpm], flow in the picture's unit, pressure ratio, efficiency, whether outside."""

    speed_rpm: float
    flow: float
    ratio: float
    efficiency: float
    outside: bool


def rows(picked: Picked) -> list[Row]:
    """The table, each speed line by rising flow. Raises BadInput where lines or islands are missing or cross."""
    try:
        units.resolve(picked.flow_unit, "mass_flow")
    except BadInput:
        raise BadInput(f'"{picked.flow_unit}" is no unit of a mass flow; write for example kg/s or lb/min') from None
    lines = {speed: pixels for speed, pixels in sorted(picked.lines.items()) if pixels}
    if len(lines) < 2:
        raise BadInput("a map needs at least two speed lines; click the points of one more")
    islands = {share: pixels for share, pixels in picked.islands.items() if len(pixels) > 2}
    if not islands:
        raise BadInput("no island of efficiency is clicked yet; click at least one, three points or more")
    at = _efficiency(picked.axes, islands)
    found = []
    for speed, pixels in lines.items():
        if len(pixels) < LEAST_POINTS:
            raise BadInput(f"the line of {speed:.0f} rpm has {len(pixels)} point; click at least {LEAST_POINTS}")
        points = sorted(picked.axes.data(pixel) for pixel in pixels)
        for flow, ratio in points:
            if flow <= 0.0 or ratio <= 0.0:
                raise BadInput(
                    f"a point of the {speed:.0f} rpm line lies at flow {flow:.3g}, ratio {ratio:.3g}: look at the axes"
                )
            efficiency, outside = at(flow, ratio)
            found.append(Row(speed, flow, ratio, efficiency, outside))
    return found


def _efficiency(axes: Axes, islands: dict[float, list[Pixel]]) -> Callable[[float, float], tuple[float, bool]]:
    """A function of flow and ratio that gives efficiency and whether the place is outside the islands."""
    from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator

    places = np.array([axes.data(pixel) for pixels in islands.values() for pixel in pixels])
    shares = np.array([share for share, pixels in islands.items() for _ in pixels])
    span = np.maximum(np.ptp(places, axis=0), 1e-12)
    inside, nearest = (made(places / span, shares) for made in (LinearNDInterpolator, NearestNDInterpolator))

    def at(flow: float, ratio: float) -> tuple[float, bool]:
        value = float(inside(flow / span[0], ratio / span[1]))
        if np.isfinite(value):
            return value, False
        return float(nearest(flow / span[0], ratio / span[1])), True

    return at


def text(picked: Picked, source: str) -> str:
    """The table as csv, its origin in remarks."""
    table = rows(picked)
    outside = sum(row.outside for row in table)
    head = [f"# Clicked off a picture: {' '.join(source.split())[:120]}"]
    if outside:
        head.append(
            f"# {outside} of {len(table)} points lie outside the clicked islands and take the nearest one's efficiency."
        )
    head.append(f"speed [rpm],flow [{picked.flow_unit}],pressure_ratio,efficiency")
    body = [f"{row.speed_rpm:.0f},{row.flow:.5g},{row.ratio:.4f},{row.efficiency:.3f}" for row in table]
    return "\n".join([*head, *body]) + "\n"


def save(folder: Path, name: str, picked: Picked, source: str) -> str:
    """Write the table into the build's tables; gives its name in the sheet. Raises BadInput rather than overwrite."""
    if not name or any(c not in "abcdefghijklmnopqrstuvwxyz0123456789_-" for c in name.lower()):
        raise BadInput(f'"{name[:40]}" is no name for a table; use letters, digits, - and _')
    told = f"tables/{name}.csv"
    path = files.inside(folder, told)
    if path is None:
        raise BadInput(f"{told} does not lie in the build's folder")
    written = text(picked, source).encode()
    path.parent.mkdir(exist_ok=True)
    before = path.read_bytes() if path.exists() else None
    if before is not None and not before.startswith(b"# Clicked off a picture"):
        raise BadInput(f"{told} is there already and was not clicked off a picture; take another name")
    replace_file(path, written, expected=before)
    return told
