"""Charts of one cycle from a made-up trace whose answers are known: a pressure hump at each cylinder's top centre."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from spoolwright.charts.of_cycle import charts_of_cycle, duct_pressure, pressure_angle, pressure_volume, valve_flow
from spoolwright.charts.paper import draw_all
from spoolwright.engine.table import trace_table
from spoolwright.engine.trace import Probe, Trace

PHASE = np.array([0.0, 360.0])


def _own(k: int, theta: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
    return (theta - PHASE[k] + 360.0) % 720.0 - 360.0


@pytest.fixture
def trace() -> Trace:
    theta = np.arange(-360.0, 360.0, 0.5)
    own = [_own(k, theta) for k in (0, 1)]
    p = np.array([1e5 + (50e5 + k * 10e5) * np.exp(-(((a - 10.0) / 20.0) ** 2)) for k, a in enumerate(own)])
    V = np.array([60e-6 + 200e-6 * (1.0 - np.cos(np.radians(a))) for a in own])
    # Intake open from 350 to 580, that is to -140, exhaust from 130 to 380; each gives 0.05 kg/s.
    into = [np.where((a >= 350.0) | (a <= -140.0), 0.05, 0.0) for a in own]
    out = [np.where((a >= 130.0), -0.05, 0.0) for a in own]
    valves = np.array([[0, 0, 0, 1], [0, 0, 0, 0], [1, 0, 0, 1], [1, 0, 0, 0]])
    flow = np.array([into[0], out[0], into[1], out[1]])
    probes = (Probe("intake port, at the valve", "intake.ports[1]", np.full(len(theta), 99e3), np.zeros(len(theta))),)
    return Trace(3000.0, theta, p, np.full_like(p, 900.0), V, flow, valves, PHASE, probes)


def test_pressure_over_angle__peaks_in_the_cylinder_s_own_angle(trace: Trace) -> None:
    for k, top in ((0, 51.0), (1, 61.0)):
        line = pressure_angle(trace, spark=-24.0, k=k).series[0]
        assert max(line.y) == pytest.approx(top)  # type: ignore[type-var]
        assert line.x[int(np.argmax(line.y))] == pytest.approx(10.0)  # type: ignore[arg-type]
        assert list(line.x) == sorted(line.x)


def test_spark__is_marked_where_it_is(trace: Trace) -> None:
    marks = {mark.name: mark.x for mark in pressure_angle(trace, spark=-24.0).marks}
    assert marks == {"top centre": 0.0, "spark 24.0° before": -24.0}


def test_pressure_over_volume__is_logarithmic_and_holds_the_whole_cycle(trace: Trace) -> None:
    chart = pressure_volume(trace)
    assert chart.x.logarithmic
    assert chart.left.logarithmic
    volumes = [v for line in chart.series for v in line.x]
    assert min(volumes) == pytest.approx(60.0)
    assert max(volumes) == pytest.approx(460.0)
    assert sum(len(line.x) for line in chart.series) == len(trace.theta)


def test_valve_flow__runs_over_the_gas_exchange_with_gaps_where_shut(trace: Trace) -> None:
    exhaust, intake = valve_flow(trace).series
    flowing = [x for x, y in zip(intake.x, intake.y, strict=True) if y is not None]
    assert (min(flowing), max(flowing)) == (350.0, 580.0)
    assert {y for y in intake.y if y is not None} == {50.0}  # g/s
    assert {y for y in exhaust.y if y is not None} == {50.0}  # out is positive
    assert min(x for x, y in zip(exhaust.x, exhaust.y, strict=True) if y is not None) == 130.0


def test_duct_pressure__is_counted_from_outside_air(trace: Trace) -> None:
    line = duct_pressure(trace, outside=101e3).series[0]
    assert set(line.y) == {-2.0}


def test_all_of_a_cycle__are_drawn(trace: Trace, tmp_path: Path) -> None:
    files = draw_all(charts_of_cycle(trace, 101e3, -24.0), tmp_path / "charts")
    assert [file.name for file in files] == [
        "pressure-volume-3000-rpm.png",
        "pressure-angle-3000-rpm.png",
        "valve-flow-3000-rpm.png",
        "duct-pressure-3000-rpm.png",
    ]
    assert all(file.stat().st_size > 10_000 for file in files)


def test_trace_table__has_a_row_a_step_and_units_in_its_names(trace: Trace) -> None:
    rows = trace_table(trace)
    assert rows.height == len(trace.theta)
    assert rows["cylinder_2_pressure_Pa"].max() == pytest.approx(61e5)
    hottest = rows["cylinder_2_pressure_Pa"].arg_max()
    assert rows["cylinder_2_angle_deg"][hottest] == pytest.approx(10.0)
    assert rows["cylinder_1_intake_flow_kg_s"].max() == 0.05
