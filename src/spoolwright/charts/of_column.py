"""Any column of a pull over engine speed as a chart of its own."""

from __future__ import annotations

from spoolwright.charts.describe import Chart, Quantity, Series, axis
from spoolwright.constants import ZERO_CELSIUS
from spoolwright.engine.columns import COLUMNS
from spoolwright.engine.pull import Pull
from spoolwright.findings.pull_reading import settled

FEW = 40
_QUANTITIES: dict[str, Quantity] = {
    "kPa": "pressure",
    "MPa": "pressure",
    "K": "temperature",
    "kg/s": "flow",
    "kW": "power",
    "deg": "spark",
}


def filled(pull: Pull) -> list[str]:
    """Names of the columns that have a value at two speeds or more, engine speed and truth values left out."""
    points = settled(pull)
    return [
        name
        for name, column in COLUMNS.items()
        if column.unit and name != "speed_rpm" and sum(one.columns.get(name) is not None for one in points) > 1
    ]


def column_chart(pull: Pull, name: str) -> Chart:
    """Column ``name`` over speed; temperatures in °C. It must be one of :func:`filled`."""
    column = COLUMNS[name]
    shift = ZERO_CELSIUS if column.unit == "K" else 0.0
    unit = {"K": "°C", "1": ""}.get(column.unit, column.unit)
    speeds = tuple(point.columns["speed_rpm"] for point in pull.points)
    values = tuple(
        None if not p.columns["converged"] or p.columns[name] is None else p.columns[name] - shift for p in pull.points
    )
    known = [(v, x) for v, x in zip(values, speeds, strict=True) if v is not None]
    most, at = max(known)
    title = column.title[:1].upper() + column.title[1:]
    sentence = f"{column.meaning[:1].upper()}{column.meaning[1:]}. Highest {most:.{column.digits}f} {unit}".rstrip()
    return Chart(
        f"column-{name.replace('_', '-')}",
        title,
        f"{sentence} at {at:.0f} rpm.",
        axis("engine speed", "rpm", list(speeds)),
        axis(column.title, unit, [v for v, _ in known]),
        (Series(column.title, speeds, values, _QUANTITIES.get(column.unit, "knock"), dots=len(speeds) <= FEW),),
    )
