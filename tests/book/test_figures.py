"""Charts of a book in the reader's units: axes, lines, limits and words agree."""

from __future__ import annotations

import pytest

from spoolwright.book.figures import chart_in, figure
from spoolwright.charts.describe import Chart, Limit, Series, axis

PSI = 6.894757  # kPa, NIST SP 811


def _chart(unit: str, values: tuple[float, ...], limit: str) -> Chart:
    speeds = (2000.0, 4000.0, 6000.0)
    return Chart(
        "boost", "Boost", f"Most {values[-1]:.0f} {unit.split()[0].rstrip(',')} at 6000 rpm.",
        axis("engine speed", "rpm", speeds), axis("pressure", unit, values, zero=True),
        (Series("boost", speeds, values, "pressure"),), limits=(Limit(limit, values[1]),),
    )  # fmt: skip


@pytest.mark.parametrize("unit", ["kPa", "kPa above outside air", "kPa, absolute"])
def test_pressures__in_psi(unit: str) -> None:
    told = chart_in(_chart(unit, (30.0, 50.0, 60.0), "your limit 50 kPa"), "us")
    assert told.left.unit == unit.replace("kPa", "psi")
    assert told.series[0].y == pytest.approx([v / PSI for v in (30.0, 50.0, 60.0)], rel=1e-6)
    assert told.limits[0].value == pytest.approx(50.0 / PSI)
    assert told.limits[0].name == "your limit 7.25\u00a0psi"
    assert told.sentence == "Most 8.70 psi at 6000 rpm."
    assert told.left.low <= min(told.series[0].y)  # type: ignore[type-var]
    assert told.left.high >= max(told.series[0].y)  # type: ignore[type-var]


def test_temperatures__in_degrees_fahrenheit() -> None:
    told = chart_in(_chart("°C", (800.0, 880.0, 900.0), "your limit 880 degC"), "us")
    assert told.left.unit == "°F"
    assert told.series[0].y == pytest.approx([1472.0, 1616.0, 1652.0])
    assert told.limits[0].name == "your limit 1616\u00a0°F"
    assert told.sentence == "Most 1652 degF at 6000 rpm."


def test_units_that_stay__stay() -> None:
    chart = _chart("kPa", (30.0, 50.0, 60.0), "your limit 50 kPa")
    for choice in ("typed", "metric"):
        told = chart_in(chart, choice)  # type: ignore[arg-type]
        assert (told.left, told.series, told.sentence) == (chart.left, chart.series, chart.sentence)


def test_figure__is_as_wide_as_asked_and_in_the_books_type() -> None:
    drawn = figure(_chart("kPa", (30.0, 50.0, 60.0), "your limit 50 kPa"), 84.0, 46.0)
    assert drawn.svg.startswith("<svg")
    assert 'width="238.11' in drawn.svg  # points: 84 mm
    assert "Libertinus Serif" in drawn.svg
    assert "STIX" not in drawn.svg
