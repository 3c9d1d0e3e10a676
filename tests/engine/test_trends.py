"""Which way engines answer: each statement is common knowledge of the trade, and a test."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from builds import SINGLE, Doc, chamber_for_ratio, changed, sheet_of

from spoolwright.engine.pull import pull

pytestmark = pytest.mark.slow
SEARCHED = ("spark.timing=searched", "spark.knock_limit=3")


def point(doc: Doc, rpm: float, *sets: str) -> dict[str, Any]:
    found = pull(sheet_of(doc, *sets), [rpm]).points[0]
    assert found.trouble == ""
    return found.columns


def peak_speed(doc: Doc, speeds: np.ndarray) -> float:
    """Speed [rpm] of most torque, by the parabola through the highest point and its neighbours."""
    torque = pull(sheet_of(doc), list(speeds)).column("torque_Nm")
    i = min(max(int(np.argmax(torque)), 1), len(speeds) - 2)
    assert max(torque) > 1.01 * min(torque)
    a, b, _ = np.polyfit(speeds[i - 1 : i + 2], torque[i - 1 : i + 2], 2)
    return float(-b / (2.0 * a)) if a < 0.0 else float(speeds[int(np.argmax(torque))])


def test_mixture__near_lambda_0_9_burns_fastest_and_wants_least_spark() -> None:
    """Against a mixture a third too rich and one too lean. The published burning velocities have a flat top at
    engine pressures, so that lambda 0.75 to 0.9 differ by less than a degree."""
    rich, best, lean = (point(SINGLE, 3000.0, *SEARCHED, f"fuel.mixture={x} lambda") for x in (0.62, 0.87, 1.15))
    assert best["burn_10_90_deg"] < rich["burn_10_90_deg"]
    assert best["burn_10_90_deg"] < lean["burn_10_90_deg"]
    assert best["spark_deg_btdc"] < rich["spark_deg_btdc"] - 0.5
    assert best["spark_deg_btdc"] < lean["spark_deg_btdc"] - 1.0


def test_second_plug__retards_best_torque() -> None:
    one = point(SINGLE, 3000.0, *SEARCHED)
    pair = {"near": {"across": "20 mm"}, "far": {"across": "-20 mm"}}
    two = point(changed(SINGLE, cylinders__plugs=pair), 3000.0, *SEARCHED)
    assert two["burn_10_90_deg"] < one["burn_10_90_deg"] - 1.0
    assert two["spark_deg_btdc"] < one["spark_deg_btdc"] - 3.0


def test_residual__advances_best_torque() -> None:
    """A throttle shut far enough traps more burned gas, which burns slower."""
    free = point(SINGLE, 2500.0, *SEARCHED)
    shut = point(SINGLE, 2500.0, *SEARCHED, "intake.throttle.opening=1 %")
    assert shut["residual"] > free["residual"] + 0.03
    assert shut["spark_deg_btdc"] > free["spark_deg_btdc"] + 3.0


def test_runner__longer_moves_the_torque_peak_down() -> None:
    """With a short exhaust, so that the intake alone tunes."""
    speeds = np.arange(2500.0, 5501.0, 500.0)
    plain = changed(SINGLE, exhaust__primaries__length="150 mm", exhaust__tail=None)
    short, long = (peak_speed(changed(plain, intake__runners__length=f"{x} mm"), speeds) for x in (150, 700))
    assert long < short - 500.0


def test_intake_closing__later_moves_the_torque_peak_up() -> None:
    speeds = np.arange(2500.0, 6501.0, 500.0)
    early, late = (peak_speed(changed(SINGLE, valves__intake__closes=f"{x} deg ABDC"), speeds) for x in (15, 65))
    assert late > early + 300.0


def test_ratio__raises_efficiency_and_knock() -> None:
    low, high = (
        point(changed(SINGLE, cylinders__chamber=chamber_for_ratio(86.0, 80.0, x, 1.8)), 3000.0, *SEARCHED)
        for x in (7.5, 10.5)
    )
    assert high["imep_kPa"] / high["fuel_flow_kg_s"] > 1.03 * low["imep_kPa"] / low["fuel_flow_kg_s"]
    assert high["knock_integral"] > 1.15 * low["knock_integral"]
    assert high["exhaust_temperature_K"] < low["exhaust_temperature_K"] - 20.0


def test_altitude__lowers_torque_as_density() -> None:
    """Work goes with the air drawn, and that with density: at 79.5 kPa (2000 m) 21.5 % less, within 2 points."""
    low = point(SINGLE, 3000.0)
    high = point(SINGLE, 3000.0, "site.barometer=79.5 kPa")
    assert high["air_flow_kg_s"] / low["air_flow_kg_s"] == pytest.approx(79.5 / 101.325, abs=0.02)
    assert high["imep_kPa"] / low["imep_kPa"] == pytest.approx(79.5 / 101.325, abs=0.02)
    assert high["torque_Nm"] < low["torque_Nm"] * 0.80
    assert high["volumetric_efficiency"] == pytest.approx(low["volumetric_efficiency"], abs=0.02)
