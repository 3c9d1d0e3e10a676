"""A described chart as plain data for the page: its numbers, names, limits, and colours by name only."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import Any

import pytest
from pulls import point, pull_of, sheet_of

from spoolwright.charts import on_page
from spoolwright.charts.describe import Chart, Limit, Series, axis
from spoolwright.charts.of_column import column_chart, filled
from spoolwright.charts.of_pull import charts
from spoolwright.charts.page_names import Label, Room, place_names


def _chart(name: str = "torque-power") -> Chart:
    sheet = sheet_of()
    lost = point(3000, "did not settle", torque_Nm=999.0)
    pull = pull_of(sheet, point(2000, torque_Nm=120.0, power_kW=25.1), lost, point(4000, torque_Nm=90.0))
    return next(one for one in charts(pull, sheet) if one.name == name)


def _lines(figure: dict[str, Any]) -> list[dict[str, Any]]:
    return [one for one in figure["data"] if one.get("name")]


def test_lines__carry_the_charts_numbers_with_gaps_left_open() -> None:
    chart = _chart()
    drawn = {one["name"]: one for one in _lines(on_page.figure(chart))}
    assert drawn["torque"]["y"] == [120.0, None, 90.0]
    assert drawn["torque"]["connectgaps"] is False
    assert drawn["power"]["yaxis"] == "y2"


def test_every_line_limit_and_band__bears_its_name() -> None:
    for name in ("torque-power", "knock-integral", "exhaust-temperature", "peak-pressure"):
        chart = _chart(name)
        words = " ".join(note["text"] for note in on_page.figure(chart)["layout"]["annotations"])
        for one in (*chart.series, *chart.limits, *chart.bands):
            assert one.name.replace(" degC", " °C") in words, (name, one.name)


def test_a_limit__is_hatched_on_the_forbidden_side_only() -> None:
    chart = replace(_chart("peak-pressure"), limits=(Limit("top", 50.0), Limit("foot", 10.0, "below")))
    hatches = [one for one in on_page.figure(chart)["data"] if one.get("fillpattern")]
    above, below = hatches
    assert min(above["y"]) == 50.0
    assert max(below["y"]) == 10.0
    low, high = on_page.figure(chart)["layout"]["yaxis"]["range"]
    assert all(low <= y <= high for one in hatches for y in one["y"])


def test_colours__are_names_of_the_look() -> None:
    text = json.dumps(on_page.figure(_chart("knock-integral"), _chart("knock-integral"), "lane"))
    assert not re.search(r"#[0-9A-Fa-f]{6}", text)
    assert "var(--stop)" in text


def test_another_run__is_drawn_thin_in_the_same_colour() -> None:
    chart = _chart()
    lines = [one for one in _lines(on_page.figure(chart, chart, "lane")) if one["name"] == "torque"]
    thin, thick = sorted(lines, key=lambda one: one["line"]["width"])
    assert thin["line"]["width"] < thick["line"]["width"]
    assert thin["line"]["color"] == thick["line"]["color"]


def test_readings_and_rows__say_the_same_numbers() -> None:
    chart = _chart()
    told = on_page.readings(chart)
    assert told["x"] == [2000.0, 3000.0, 4000.0]
    assert "torque 120 N m" in told["lines"][0]
    assert told["lines"][1].endswith("no value")
    head, first, gap, _ = on_page.rows(chart)
    assert head == ["engine speed [rpm]", "torque [N m]", "power [kW]"]
    assert first == ["2000", "120", "25.1"]
    assert gap == ["3000", "", ""]


def test_names__keep_off_lines_and_each_other() -> None:
    flat = Series("flat", (0.0, 1.0, 2.0), (5.0, 5.0, 5.0), "torque")
    labels = [Label(name, "line", flat.x, flat.y, "left", "ink") for name in ("first name", "second name")]
    room = Room(400.0, 200.0)
    ranges = {"left": (0.0, 10.0), "right": (0.0, 1.0)}
    spots = place_names(labels, [(flat.x, flat.y, "left")], (0.0, 2.0), ranges, room)

    def box(spot: Any) -> tuple[float, float, float, float]:
        x, y, wide = spot.x / 2.0 * 400.0 + spot.dx, spot.y / 10.0 * 200.0 + spot.dy, len(spot.label.text) * 6.3
        x0 = x - {"left": 0.0, "center": 0.5, "right": 1.0}[spot.ha] * wide
        y0 = y - (14.0 if spot.va == "top" else 0.0)
        return x0, y0, x0 + wide, y0 + 14.0

    a, b = map(box, spots)
    for x0, y0, x1, y1 in (a, b):
        assert x0 >= 0.0
        assert x1 <= 400.0
        assert not y0 < 100.0 < y1  # the line stands at 100 px
    assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_any_filled_column__makes_a_chart_in_its_unit() -> None:
    sheet = sheet_of()
    pull = pull_of(sheet, point(2000), point(3000), point(4000, primary_temperature_K=1100.0))
    names = filled(pull)
    assert "torque_Nm" in names
    assert "speed_rpm" not in names
    assert "turbo_speed_rpm" not in names
    chart = column_chart(pull, "primary_temperature_K")
    assert chart.left.unit == "°C"
    assert max(v for v in chart.series[0].y if v is not None) == pytest.approx(1100.0 - 273.15)


def test_axes__hold_what_is_drawn() -> None:
    for name in ("torque-power", "knock-integral"):
        figure = on_page.figure(_chart(name))
        ranges = {"y": figure["layout"]["yaxis"]["range"], "y2": figure["layout"].get("yaxis2", {}).get("range")}
        for one in _lines(figure):
            low, high = ranges[one["yaxis"]]
            assert all(low <= v <= high for v in one["y"] if v is not None)


def test_axis__of_one_value_still_has_a_width() -> None:
    one = axis("torque", "N m", [5.0])
    assert one.high > one.low
