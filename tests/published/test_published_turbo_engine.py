"""A published turbocharged engine (data/engine.csv, E40 to E43; a public road-test technical page, seen): a
water-cooled V6 of 2.8 L with charge cooler, 350 N m from 2000 to 4500 rpm at "boost to 1.6 bar absolute".

What is published: bore, stroke, torque with its span of speeds, the highest manifold pressure, the cylinder pressure
the heads are made for. The rest is assumed here once, from the class of engine alone:

- ratio 9.0, 98 RON: usual for a charged petrol engine of that boost on that fuel; disc chamber, plug in the middle
  (four valves); heads 33 and 29 mm (0.37 and 0.33 of the bore, usual for four), lift 9 mm, touring cam of 216 deg at
  1 mm without overlap; ports that flow as unworked ones (the tool's own assumption);
- lambda 0.85: between best power (0.9) and what holds the turbine inlet below about 950 degC;
- spark searched for best torque, held where the knock integral reaches 0.6 (where knock begins by the tool's own
  band): such engines run at the edge of knock;
- charge at 45 degC: 1.6 bar at 72 % efficiency from 20 degC gives 79 degC (formula of row T01); a cooler of 65 %
  against outside air leaves 41 degC, the plenum warms it a little;
- charge held at 1.62 bar before the throttle, so that the manifold stands at the stated 1.6 bar;
- drive pressure over boost (gauge) 1.0 at the foot of the plateau, 1.3 in its middle, 1.75 at its end: common
  practice, no source, says near 1 good, 1.5 common, 2 for a small turbine; turbines that reach this boost at 2000 rpm
  are small;
- runners 42 x 300 mm from a 4 L plenum.

Spread of the published torque: 4 % (rel_tol of the row). The target of 8 % covers it and the unknown parts. How much
hangs on the drive pressure, at 3000 rpm: 1.0 gives 8.7 % more, 1.3 gives 1.9 % more than published.

What does not come out, and is marked so: at 4500 rpm the model makes 9.9 % more. The page says "to 1.6 bar", the
most, and a torque that stays level while any such engine fills better with speed is held level by less boost at the
end of the plateau; how much less is not published. The assumed runners are tuned near 4500 rpm.
"""

from __future__ import annotations

import csv
from math import pi
from pathlib import Path

import pytest
from builds import sheet_of, turbo_six

from spoolwright.engine.imposed import Held, held_run
from spoolwright.engine.pull import Point

TARGET = 0.08
ROWS = {row["id"]: row for row in csv.DictReader((Path(__file__).parent / "data" / "engine.csv").open())}
OUTSIDE, BEFORE_THROTTLE, CHARGE = 101.325e3, 162e3, 318.15  # Pa, Pa, K
DRIVE = {2000.0: 1.0, 3000.0: 1.3, 4500.0: 1.75}

pytestmark = pytest.mark.slow


def published(id: str) -> float:
    return float(ROWS[id]["value"])


@pytest.fixture(scope="module")
def points() -> dict[float, Point]:
    sheet = sheet_of(turbo_six(89.0, 74.8))
    made = {}
    for rpm, drive in DRIVE.items():
        p_turbine = OUTSIDE + drive * (160e3 - OUTSIDE)
        made[rpm] = held_run(sheet, [rpm], Held(BEFORE_THROTTLE, CHARGE, p_turbine))[0]
    return made


def test_rows__displacement_torque_and_mean_pressure_say_the_same() -> None:
    swept = 6 * pi / 4 * 0.089**2 * 0.0748
    assert swept * 1e6 == pytest.approx(published("E40"), rel=float(ROWS["E40"]["rel_tol"]))
    assert 4 * pi * published("E41") / swept / 1e5 == pytest.approx(published("E42"), rel=2e-3)


@pytest.mark.parametrize(
    "rpm",
    [
        2000.0,
        3000.0,
        pytest.param(4500.0, marks=pytest.mark.xfail(strict=True, reason="less than the most boost there")),
    ],
)
def test_mean_pressure__at_the_stated_manifold_pressure(rpm: float, points: dict[float, Point]) -> None:
    columns = points[rpm].columns
    assert points[rpm].trouble == ""
    assert columns["manifold_pressure_kPa"] == pytest.approx(160.0, rel=0.015)
    assert columns["bmep_kPa"] / 100.0 == pytest.approx(published("E42"), rel=TARGET)


def test_peak_pressure__stays_within_what_the_heads_are_made_for(points: dict[float, Point]) -> None:
    """At the edge of knock the mean cycle reaches 70 to 100 % of the published 85 bar; a maker leaves cyclic
    variation its share, so above 100 % or below 60 % would be the wrong size."""
    highest = max(point.columns["peak_pressure_MPa"] for point in points.values()) * 10.0
    assert 0.6 * published("E43") < highest < published("E43")
