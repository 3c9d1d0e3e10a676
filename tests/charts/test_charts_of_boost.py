"""The charts of a boosted pull: pressures over outside air, the wheel's limit, margins; none without a turbo."""

from __future__ import annotations

from math import pi

import pytest
from pulls import point, pull_of, sheet_of

from spoolwright.charts.of_boost import charts
from spoolwright.charts.of_map import map_chart, margins_of, operating_line
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
