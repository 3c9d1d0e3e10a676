"""What the charts of a pull hold: its numbers in the chart's units, limits and bands, gaps where nothing settled."""

from __future__ import annotations

import pytest
from pulls import point, pull_of, sheet_of

from spoolwright.charts.describe import Chart
from spoolwright.charts.of_pull import charts
from spoolwright.engine.pull import Pull
from spoolwright.sheet import Sheet


def _charts(pull: Pull, sheet: Sheet) -> dict[str, Chart]:
    return {chart.name: chart for chart in charts(pull, sheet)}


def _pull() -> tuple[Pull, Sheet]:
    sheet = sheet_of()
    lost = point(3000, "did not settle", torque_Nm=999.0)
    return pull_of(sheet, point(2000, torque_Nm=120.0, power_kW=25.1), lost, point(4000)), sheet


def test_charts__are_those_of_the_job() -> None:
    assert set(_charts(*_pull())) == {
        "torque-power",
        "volumetric-efficiency",
        "peak-pressure",
        "knock-integral",
        "spark-mixture",
        "exhaust-temperature",
    }


def test_lines__have_a_gap_where_a_speed_did_not_settle_and_say_so() -> None:
    for chart in _charts(*_pull()).values():
        assert "3000" in chart.note
        for line in chart.series:
            assert line.y[1] is None
            assert None not in (line.y[0], line.y[2])


def test_torque_and_power__are_told_with_their_best_and_share_a_grid() -> None:
    chart = _charts(*_pull())["torque-power"]
    assert chart.right is not None
    assert len(chart.left.ticks) == len(chart.right.ticks)
    assert [line.side for line in chart.series] == ["left", "right"]
    assert chart.sentence.startswith("Most torque 120 N m at 2000 rpm, most power 40.0 kW at 4000 rpm")


def test_knock__shows_the_band_and_the_builder_s_limit() -> None:
    chart = _charts(*_pull())["knock-integral"]
    assert [(band.low, band.high) for band in chart.bands] == [(0.5, 0.7)]
    assert [(limit.value, limit.forbidden) for limit in chart.limits] == [(0.65, "above")]
    assert chart.left.high >= 0.7


def test_limits__are_turned_into_the_chart_s_unit_and_named_as_typed() -> None:
    made = _charts(*_pull())
    pressure, temperature = made["peak-pressure"].limits[0], made["exhaust-temperature"].limits[0]
    assert pressure.value == pytest.approx(75.0)
    assert pressure.name == "your limit 75 bar"
    assert temperature.value == pytest.approx(950.0)
    assert made["peak-pressure"].series[0].y[0] == pytest.approx(45.0)  # 4.5 MPa
    assert made["exhaust-temperature"].series[0].y[0] == pytest.approx(1000.0 - 273.15)


def test_sparks_that_agree__are_one_line_and_two_where_it_is_held_back() -> None:
    sheet = sheet_of()
    same = pull_of(sheet, *(point(n, best_torque_spark_deg_btdc=24.1) for n in (2000, 3000)))
    assert [line.name for line in _charts(same, sheet)["spark-mixture"].series] == ["spark, of best torque", "mixture"]
    held = pull_of(sheet, point(2000, best_torque_spark_deg_btdc=27.0), point(3000, best_torque_spark_deg_btdc=24.0))
    made = _charts(held, sheet)["spark-mixture"]
    assert [line.name for line in made.series] == ["spark", "spark of best torque", "mixture"]
    assert "Held back for knock at 1 of 2 speeds" in made.sentence


def test_lines_of_one_chart__differ_in_pattern_not_in_colour_alone() -> None:
    for chart in _charts(*_pull()).values():
        patterns = [line.line for line in chart.series]
        assert len(set(patterns)) == len(patterns), chart.name


def test_one_point__makes_no_chart() -> None:
    sheet = sheet_of()
    assert charts(pull_of(sheet, point(3000)), sheet) == []
