"""A published air-cooled flat four in three variants (data/engine.csv, factory technical data, seen).

What is published: bore, stroke, ratio, octane, power and torque with their speeds, full spark advance. Cam, valves,
ports, pipes and mixture are not. They are assumed here once, for all variants and from the class of engine alone:

- valve heads 39 and 33 mm: 0.43 and 0.37 of the 90 mm bore, usual for two valves in one plane; lift 9 mm, a quarter
  of the head; ports that flow as unworked ones (the tool's own assumption);
- cam 216 and 218 deg at 1 mm with no overlap there: a touring cam, for power is reached at 10.8 m/s of piston speed;
- lambda 0.88, the usual full-load mixture; 40 % of the fuel evaporates before the cylinder;
- spark 27 deg before top centre, the published full advance of variant A, at every point;
- disc chamber with the plug 18 mm off the axis: 0.4 of the bore radius, beside the valves;
- runners 34 mm wide and 350 mm long from a 2 L plenum behind a 45 mm throttle, air 8 K above outside;
- primaries 36 x 600 mm, two and two into a 10 L box and a 38 mm tail, the plain silencer of such a car;
- fan 3.0 kW at 4600 rpm: the published 0.8 m3/s against 1.7 kPa at 45 % (assumed); alternator 0.5 kW.
  Power by DIN 70020 is with fan, generator, filter and silencer, at 20 degC and 1013 mbar.

Spread of the published figures themselves: 5 % (the tolerance DIN 70020 grants a series engine against its stated
power; the rel_tol of the rows). The target of 8 % covers that and the unknown parts.

- crevice 0.5 cm3, the tool's own assumption; no blow-by, which is worth 1 to 2 % of any engine's fuel (from memory).

A comes out 1 % high at both speeds, B 7 and 5 %, C 2 % at its speed of most power. What does not, and is marked so:

- Loss of torque from A to B: the factory states 8.2 % at the same speed and 0.9 less ratio. Ideal fuel-air cycles lose
  4.1 % of imep (1 - r^(1 - gamma) at gamma 1.27), and measured engines about 3 % for each unit of ratio (common
  practice). The model loses 3.2 %. Twice that cannot come from the ratio; variant B must differ by more than its
  pistons (mixture, spark or cam).
- Mean pressure of variant C at 3400 rpm, 14 % high. It states its torque peak above A's 2700 rpm, with 10 % less mean
  pressure than A: a quieter intake or cam that the one assumed set does not know. The assumed pipes are tuned near
  3400 rpm.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from builds import flat_four, sheet_of

from spoolwright.engine.pull import Pull, pull

TARGET = 0.08
ROWS = {row["id"]: row for row in csv.DictReader((Path(__file__).parent / "data" / "engine.csv").open())}
VARIANTS = {
    "a": (90.0, 8.2, 98, 2700.0, 4900.0),
    "b": (90.0, 7.3, 91, 2700.0, 5000.0),
    "c": (93.0, 7.3, 91, 3400.0, 4800.0),
}
UNKNOWN = "the published variant differs by more than bore and ratio; see the head of this file"

pytestmark = pytest.mark.slow


def published(id: str) -> float:
    return float(ROWS[id]["value"])


@pytest.fixture(scope="module")
def pulls() -> dict[str, Pull]:
    """Each variant at its speeds of most torque and most power, and A at 3500 rpm."""
    made = {}
    for name, (bore, ratio, ron, *speeds) in VARIANTS.items():
        made[name] = pull(sheet_of(flat_four(bore, ratio, ron)), speeds)
    return made


def test_size__and_piston_speed(pulls: dict[str, Pull]) -> None:
    assert pulls["a"].model.swept * 1e6 == pytest.approx(published("E01"), rel=float(ROWS["E01"]["rel_tol"]))
    assert pulls["c"].model.swept * 1e6 == pytest.approx(published("E02"), rel=float(ROWS["E02"]["rel_tol"]))
    speed = pulls["a"].points[-1].columns["piston_speed_m_s"]
    assert speed == pytest.approx(published("E03"), rel=float(ROWS["E03"]["rel_tol"]))


@pytest.mark.parametrize("id", ["E1a", "E1b", "E1c"])
def test_rows__power_and_mean_pressure_say_the_same(id: str, pulls: dict[str, Pull]) -> None:
    """Published power (PS = 735.49875 W) gives the row of mean pressure, with our swept volume."""
    v = id[-1]
    mean = published(id) * 735.49875 / (pulls[v].model.swept * VARIANTS[v][4] / 120.0)
    assert mean / 1e5 == pytest.approx(published(f"E3{v}"), rel=2e-3)


@pytest.mark.parametrize(
    ("id", "at"),
    [
        ("E4a", 0),
        ("E3a", 1),
        ("E4b", 0),
        ("E3b", 1),
        pytest.param("E4c", 0, marks=pytest.mark.xfail(strict=True, reason=UNKNOWN)),
        ("E3c", 1),
    ],
)
def test_mean_pressure(id: str, at: int, pulls: dict[str, Pull]) -> None:
    point = pulls[id[-1]].points[at]
    assert point.trouble == ""
    assert point.columns["bmep_kPa"] / 100.0 == pytest.approx(published(id), rel=TARGET)


@pytest.mark.xfail(strict=True, reason=UNKNOWN)
def test_ratio__torque_lost(pulls: dict[str, Pull]) -> None:
    a, b = (pulls[v].points[0].columns["torque_Nm"] for v in "ab")
    assert 1.0 - b / a == pytest.approx(published("E5"), abs=0.02)


def test_ratio__torque_lost_as_ideal_cycles_and_measured_engines_say(pulls: dict[str, Pull]) -> None:
    """Indicated loss from 8.2 to 7.3: ideal fuel-air cycles 4.1 %; a real engine, which loses less heat at the lower
    ratio, 2.7 % (3 % a unit, common practice). Within 1 point of the span."""
    a, b = (pulls[v].points[0].columns["imep_kPa"] for v in "ab")
    assert 0.017 < 1.0 - b / a < 0.05


def test_fall__from_most_torque_to_most_power(pulls: dict[str, Pull]) -> None:
    """The shape of A's curve: mean pressure falls by 13.4 % to the power speed; within 5 points."""
    torque, power = (point.columns["bmep_kPa"] for point in pulls["a"].points)
    assert power / torque == pytest.approx(published("E3a") / published("E4a"), abs=0.05)


def test_spark__the_published_advance_is_near_best_torque() -> None:
    """Variant A at 3500 rpm: the searched angle is the factory's full advance within its row's tolerance, and the
    factory's angle costs less than 1 % of torque."""
    doc = flat_four(90.0, 8.2, 98)
    locked = pull(sheet_of(doc), [3500.0]).points[0].columns
    sets = ("spark.timing=searched", "spark.knock_limit=3")
    best = pull(sheet_of(doc, *sets), [3500.0]).points[0].columns
    assert locked["torque_Nm"] / best["torque_Nm"] == pytest.approx(1.0, abs=0.01)
    assert best["spark_deg_btdc"] == pytest.approx(published("E7"), rel=float(ROWS["E7"]["rel_tol"]))
