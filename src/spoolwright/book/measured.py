"""Measured pulls of a build for its book: every log kept with it read, reduced, and laid over the predicted curves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from spoolwright.charts.describe import Chart, Series, axis, paired_axes
from spoolwright.errors import SpoolwrightError

if TYPE_CHECKING:
    from spoolwright.dyno.measured import Measured

PULLS = "pulls"
STEP = 250.0  # rpm between the points drawn
MOST_DRAWN = 3  # pulls over one chart; the last ones


@dataclass(frozen=True)
class Kept:
    """One kept log: its name, its pulls, and in a sentence what it shows or why it cannot be reduced."""

    name: str
    pulls: tuple[Measured, ...]
    told: str


def kept(folder: Path) -> list[Kept]:
    """Every log in the build's ``pulls``, in the order of their names."""
    files = sorted(path for path in (folder / PULLS).glob("*") if path.is_file() and path.suffix != ".toml")
    return [_kept(path) for path in files if not path.name.startswith(".")]


def _kept(path: Path) -> Kept:
    from spoolwright.dyno import read_log
    from spoolwright.dyno.reduce import reduce_log

    try:
        done = reduce_log(read_log(path))
    except SpoolwrightError as trouble:
        return Kept(
            path.name, (), f"Cannot be reduced: {' '.join(str(trouble).split()).removeprefix(f'{path.name}: ')}"
        )
    return Kept(path.name, done.pulls, " ".join(_told(one) for one in done.pulls))


def _told(one: Measured) -> str:
    power, torque = one.peak_power(), one.peak_torque()
    return (
        f"Pull {one.number}, {one.place}, {one.corrected_by}: most torque {torque[1]:.0f} N m at {torque[0]:.0f} rpm, "
        f"most power {power[1] / 1e3:.1f} kW at {power[0]:.0f} rpm; {one.method}."
    )


def over(chart: Chart, logs: Sequence[Kept]) -> Chart:
    """The chart of torque and power with the measured pulls as points over it; other charts as they are.

    Only what was observed at the flywheel stands beside a prediction; the rest is told in words.
    """
    if chart.name != "torque-power":
        return chart
    pulls = [one for log in logs for one in log.pulls if one.place == "flywheel" and one.corrected_by == "observed"]
    x: list[float] = []
    torque: list[float | None] = []
    power: list[float | None] = []
    for one in pulls[-MOST_DRAWN:]:
        speeds = one.speeds(STEP)
        x += [float(v) for v in speeds]
        torque += [_number(v) for v in one.over(one.torque, speeds)]
        power += [_number(v / 1e3) for v in one.over(one.power, speeds)]
    if not x:
        return chart
    points = (
        Series("measured", tuple(x), tuple(torque), "torque", "points"),
        Series("measured", tuple(x), tuple(power), "power", "points", side="right"),
    )
    return _fitted(replace(chart, series=(*chart.series, *points)))


def _number(value: float) -> float | None:
    return float(value) if value == value else None


def _fitted(chart: Chart) -> Chart:
    """Axes that hold the added points too."""

    def known(side: str) -> list[float]:
        return [v for one in chart.series if one.side == side for v in one.y if v is not None]

    assert chart.right is not None
    left, right = paired_axes(
        axis(chart.left.title, chart.left.unit, known("left"), zero=True),
        axis(chart.right.title, chart.right.unit, known("right"), zero=True),
    )
    speeds = [x for one in chart.series for x in one.x]
    return replace(chart, left=left, right=right, x=axis(chart.x.title, chart.x.unit, speeds))
