"""Pressure and temperature along the gas path: outside air at both ends, what the columns say between them."""

from __future__ import annotations

import pytest

from spoolwright.charts.gas_path import at, stations
from spoolwright.engine.pull import Pull, pull
from spoolwright.engine.stations import along
from spoolwright.sheet import load
from spoolwright.sheet.demo import demo_folder

pytestmark = pytest.mark.slow
PLOVER = load(demo_folder("plover"))


@pytest.fixture(scope="module")
def run() -> Pull:
    return pull(PLOVER, [4000.0], workers=1)


def test_sections__stand_in_the_order_of_the_gas(run: Pull) -> None:
    cycle = run.points[0].cycle
    assert cycle is not None
    assert [one.path for one in along(run.model, cycle, PLOVER)] == [
        "intake.ducts.trumpet", "intake.runners", "intake.ports",
        "exhaust.ports", "exhaust.primaries", "exhaust.tail.tail_pipe",
    ]  # fmt: skip


def test_ends__meet_outside_air(run: Pull) -> None:
    """Air enters at the sheet's 20 °C and 101.325 kPa; at the mouth it has sped up, so its static state lies a little
    below: at Mach 0.2 by 2.8 % in pressure and 0.8 % in temperature (isentropic flow, ratio of heats 1.4)."""
    cycle = run.points[0].cycle
    assert cycle is not None
    first, *_, last = along(run.model, cycle, PLOVER)
    assert 0.96 * 101325.0 < first.enters.p < 101325.0
    assert pytest.approx(293.15, rel=0.02) == first.enters.T
    assert last.leaves.p == pytest.approx(101325.0, rel=0.04)


def test_between__what_the_columns_say(run: Pull) -> None:
    point = run.points[0]
    assert point.cycle is not None
    found = {one.path: one for one in along(run.model, point.cycle, PLOVER)}
    assert pytest.approx(point.columns["exhaust_temperature_K"], rel=1e-6) == found["exhaust.ports"].enters.T
    assert pytest.approx(point.columns["primary_temperature_K"], rel=1e-6) == found["exhaust.primaries"].leaves.T
    assert found["intake.ports"].leaves.p / 1e3 == pytest.approx(point.columns["manifold_pressure_kPa"], rel=1e-6)
    # The exhaust only cools on its way out.
    hot = [t for path in ("exhaust.ports", "exhaust.primaries") for t in (found[path].enters.T, found[path].leaves.T)]
    assert hot == sorted(hot, reverse=True)


def test_picture__has_a_column_for_each_station_and_none_for_what_is_not_there(run: Pull) -> None:
    columns = stations(PLOVER)
    assert [one.key for one in columns] == ["inlet", "device", "runners", "ports", "cylinder", "primaries", "tail"]
    path = at(run, run.points[0], PLOVER, columns)
    assert path is not None
    for curve in (path.p_intake, path.p_exhaust, path.T_intake, path.T_exhaust):
        places = [x for x, _ in curve]
        assert places == sorted(places)
    assert path.p_intake[-1][0] == 4.0
    assert path.p_exhaust[0][0] == 5.0
    boosted = [one.key for one in stations(load(demo_folder("heron")))]
    assert boosted[:5] == ["inlet", "compressor", "charge", "cooler", "device"]
    assert boosted[-2:] == ["turbine", "tail"]
