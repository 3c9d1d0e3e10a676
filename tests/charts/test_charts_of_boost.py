"""The charts of a boosted pull: pressures over outside air, the wheel's limit, margins; none without a turbo."""

from __future__ import annotations

import re
from math import pi
from pathlib import Path

import pytest
from pulls import point, pull_of, sheet_of

from spoolwright.charts import paper
from spoolwright.charts.of_boost import charts
from spoolwright.charts.of_map import chart_of, map_chart, margins_of, operating_line
from spoolwright.engine.map_picture import map_of
from spoolwright.engine.pull import Pull

BOOST = {
    "boost_kPa": 60.0,
    "turbine_inlet_pressure_kPa": 178.2,
    "turbo_speed_rpm": 120000.0,
    "surge_margin": 0.30,
    "choke_margin": 0.50,
    "wastegate_opening": 0.4,
    "wastegate_flow_share": 0.2,
    "drive_pressure_ratio": 1.2,
    "corrected_flow_kg_s": 0.08,
    "pressure_ratio": 1.7,
    "turbine_inlet_temperature_K": 1100.0,
    "turbine_efficiency": 0.68,
}


def _pull() -> Pull:
    tight = {"surge_margin": 0.10, "corrected_flow_kg_s": 0.05, "pressure_ratio": 1.6}
    return pull_of(sheet_of(), point(2000, **(BOOST | tight)), point(3000, **BOOST), point(4000, **BOOST))


def test_charts__none_without_a_turbo() -> None:
    assert charts(pull_of(sheet_of(), point(2000), point(3000)), sheet_of()) == []


def test_drive_pressure__stands_over_outside_air() -> None:
    """The sheet's barometer is 98.2 kPa, so 178.2 kPa absolute is 80 kPa above it."""
    chart = charts(_pull(), sheet_of())[0]
    drive = next(one for one in chart.series if one.name == "drive pressure")
    assert drive.y == pytest.approx((80.0, 80.0, 80.0), abs=1e-9)
    assert [limit.value for limit in chart.limits] == pytest.approx([70.0])  # limits.max_boost is 0.70 bar


def test_turbo_speed__is_held_against_the_wheels_limit() -> None:
    chart = charts(_pull(), sheet_of())[1]
    assert chart.series[0].y == pytest.approx((120.0,) * 3)
    assert chart.limits[0].value == pytest.approx(180.0)  # 180000 rpm in the sheet
    assert sheet_of().value("charge.compressor.speed_limit") == pytest.approx(180000.0 * pi / 30.0)


def test_margins_on_the_map__end_where_their_columns_say() -> None:
    """surge_margin is (flow - surge flow)/flow: 0.05 kg/s with 0.10 left meets surge at 0.045 kg/s."""
    surge, choke = margins_of(_pull())
    assert surge.at == (0.05, 1.6)
    assert surge.edge == pytest.approx((0.045, 1.6))
    assert surge.words == "surge 10 % at 2000"
    assert choke.edge[0] == pytest.approx(choke.at[0] * 1.5)


def test_map__has_its_lines_islands_and_the_run_on_it() -> None:
    picture = map_of(sheet_of())
    assert picture is not None
    chart = map_chart(picture, [operating_line(_pull())], margins_of(_pull()))
    assert chart.operating[0].points == ((0.05, 1.6), (0.08, 1.7), (0.08, 1.7))
    assert len(chart.lines) == len(set(picture.measured[:, 0]))  # type: ignore[index]
    levels = [float(one.name.removesuffix(" %")) for one in chart.islands if one.name]
    assert levels == sorted(levels, reverse=True)
    assert levels[0] <= 100.0 * max(float(line.efficiency.max()) for line in picture.fine)
    for one in (*chart.lines, *chart.operating):
        assert all(chart.x.low <= x <= chart.x.high and chart.y.low <= y <= chart.y.high for x, y in one.points)
    assert chart.reference == "298 K, 100 kPa"  # the map's own, not the day's air


def test_islands__hold_the_efficiency_they_name() -> None:
    """Along each contour the fitted efficiency is the contour's own, read back from the nearest points of the lines."""
    import numpy as np
    from scipy.interpolate import LinearNDInterpolator

    picture = map_of(sheet_of())
    assert picture is not None
    chart = map_chart(picture)
    places = np.concatenate([np.column_stack([line.flow, line.pressure_ratio]) for line in picture.fine])
    shares = np.concatenate([line.efficiency for line in picture.fine])
    span = np.ptp(places, axis=0)
    back = LinearNDInterpolator(places / span, shares)
    for one in chart.islands[:2]:
        at = np.array(one.points)[3:-3:7] / span
        assert back(at) == pytest.approx(float(one.name.removesuffix(" %")) / 100.0, abs=0.004)


def test_turbine__in_degrees_against_the_sheets_limit() -> None:
    chart = next(one for one in charts(_pull(), sheet_of()) if one.name == "turbine")
    assert chart.series[0].y == pytest.approx((826.85,) * 3)  # 1100 K
    assert chart.series[1].y == pytest.approx((68.0,) * 3)
    limit = sheet_of().value("limits.max_exhaust_temperature") - 273.15
    assert [one.value for one in chart.limits] == pytest.approx([limit])


@pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
def test_map_on_paper__has_every_name_on_it(tmp_path: Path, kind: str) -> None:
    chart = chart_of(_pull(), sheet_of())[0]
    file = paper.draw(chart, tmp_path / f"map.{kind}")
    assert file.stat().st_size > 10_000
    if kind == "svg":
        text = file.read_text(encoding="utf-8")
        named = [one.name for one in (*chart.lines, *chart.islands) if one.name]
        for words in (chart.title, *named, *(one.words for one in chart.margins), "surge", "2\u202f000"):
            assert words in text, words


def test_map_in_ink_alone__is_black(tmp_path: Path) -> None:
    text = paper.svg(chart_of(_pull(), sheet_of())[0], 84.0, 60.0)
    colours = set(re.findall(r"(?:stroke|fill): (#[0-9a-f]{6})", text.lower()))
    assert all(c[1:3] == c[3:5] == c[5:7] for c in colours), colours


def test_chart_of__none_without_a_turbo() -> None:
    assert chart_of(pull_of(sheet_of(), point(2000), point(3000)), sheet_of()) == []
