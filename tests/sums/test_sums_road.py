"""Sums of the road: markings, gears, shift point, forces, strip rules."""

from __future__ import annotations

import math

import pytest
from asked import ask, questions, value

from spoolwright.errors import BadInput

TYRE = {"marking": "195/65R15"}
CURVE = "2500 rpm: 190 N m; 4000 rpm: 297 N m; 5000 rpm: 319 N m; 6000 rpm: 270 N m; 7000 rpm: 190 N m"


@pytest.mark.parametrize(
    ("marking", "diameter"),
    [
        ("195/65R15", 634.5),
        ("195/65 R 15 91H", 634.5),
        ("P225/50ZR16", 631.4),
        ("165 SR 15", 645.0),
        ("26x8.5-15", 660.4),
    ],
)
def test_tyre__markings(marking: str, diameter: float) -> None:
    assert value(ask("tyre_size", marking=marking), "free_diameter", "mm") == pytest.approx(diameter)


def test_tyre__stated_four_ways() -> None:
    by_marking = ask("tyre_size", **TYRE)
    for given in (
        {"width": "195 mm", "aspect": "65 %", "rim": "15 in"},
        {"diameter": "634.5 mm"},
        {"rolling_circumference": f"{value(by_marking, 'rolling_circumference')} m"},
    ):
        assert value(ask("tyre_size", **given), "free_diameter", "mm") == pytest.approx(634.5)


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"marking": "large"}, "is no tyre marking read here"),
        ({"width": "195 mm"}, "width needs aspect and rim"),
        ({}, "give marking or width or diameter"),
        ({**TYRE, "diameter": "634 mm"}, "say the same thing"),
    ],
)
def test_tyre__faults_in_words(given: dict[str, str], sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        ask("tyre_size", **given)


def test_gear_speed__the_336_rule() -> None:
    answer = ask("gear_speed", speed="6500 rpm", gear="1.26", final="4.12", diameter="24.98 in", rolling_share="100 %")
    assert value(answer, "road_speed", "mph") == pytest.approx(
        6500 * 24.98 / (1.26 * 4.12 * 336), rel=2e-3
    )  # trade's rule


def test_gears__speed_and_engine_speed_are_inverse() -> None:
    gear = ask("gear_speed", speed="6500 rpm", gear="1.26", final="4.12", **TYRE)
    v = f"{value(gear, 'road_speed')} m/s"
    assert value(
        ask("engine_speed_in_gear", road_speed=v, gear="1.26", final="4.12", **TYRE), "engine_speed", "rpm"
    ) == (pytest.approx(6500))
    needed = ask("engine_speed_in_gear", road_speed=v, speed="6500 rpm", final="4.12", **TYRE)
    assert value(needed, "gear_needed") == pytest.approx(1.26)


def test_gear_table__agrees_with_one_gear() -> None:
    table = ask("gear_table", speed="6500 rpm", gears="3.78; 2.06; 1.26; 0.89", final="4.12", **TYRE)
    third = ask("gear_speed", speed="6500 rpm", gear="1.26", next_gear="0.89", final="4.12", **TYRE)
    assert value(table, "road_speeds", at=2) == pytest.approx(value(third, "road_speed"))
    assert value(table, "speeds_after_shift", at=2) == pytest.approx(value(third, "speed_after_shift"))


def test_shift_point__pull_is_equal_before_and_after() -> None:
    answer = ask("best_shift_point", torque=CURVE, gear="1.26", next_gear="0.89", limit="7000 rpm")
    assert value(answer, "at_the_limit") == 0.0
    assert value(answer, "wheel_torque_ratio") == pytest.approx(1.0, abs=2e-3)
    # by hand: T(N) linear from 270 to 190 over 6000..7000, T(N/1.4157) from 297 to 319 over 4000..5000
    n = value(answer, "shift_speed", "rpm")
    before = 270 - 0.08 * (n - 6000)
    after = (297 + 0.022 * (n * 0.89 / 1.26 - 4000)) * 0.89 / 1.26
    assert before == pytest.approx(after, rel=2e-3)


def test_shift_point__the_limit_decides_and_a_short_curve_is_refused() -> None:
    held = ask("best_shift_point", torque=CURVE, gear="1.26", next_gear="0.89", limit="6200 rpm")
    assert value(held, "shift_speed", "rpm") == pytest.approx(6200)
    assert value(held, "at_the_limit") == 1.0
    with pytest.raises(BadInput, match="does not reach down"):
        ask(
            "best_shift_point",
            torque="5000 rpm: 319 N m; 6000 rpm: 270 N m",
            gear="3.78",
            next_gear="2.06",
            limit="7000 rpm",
        )


def test_pull__turning_masses_slow_low_gears() -> None:
    rest = {"torque": "319 N m", "final": "4.12", **TYRE, "mass": "930 kg"}
    light = ask("pull_in_gear", **rest, gear="3.78")
    heavy = ask("pull_in_gear", **rest, gear="3.78", engine_inertia="0.15 kg m2")
    assert value(heavy, "acceleration") < value(light, "acceleration")
    assert value(light, "acceleration") == pytest.approx(value(light, "pull") / 930)
    assert "grip" in questions(light)


def test_road_load__power_is_force_times_speed() -> None:
    answer = ask("road_load", mass="930 kg", road_speed="140 km/h", grade="8 %", efficiency="100 %")
    assert value(answer, "engine_power") == pytest.approx(value(answer, "total") * 140 / 3.6)
    assert value(answer, "climbing") == pytest.approx(930 * 9.80665 * math.sin(math.atan(0.08)))


# ----------------------------------------------------------------------------- strip
def test_strip__the_rule_is_named_and_other_rules_stand_beside() -> None:
    answer = ask("strip_time", mass="2050 lb", power="265 hp")
    assert "5.825 s and 234 mph" in questions(answer)
    assert value(answer, "time_high") / value(answer, "time_low") == pytest.approx(6.29 / 5.825)


def test_strip__power_back_from_both() -> None:
    run = ask("strip_time", mass="930 kg", power="198 kW", time_constant="6.29", speed_constant="224")
    for given in ({"trap_speed": f"{value(run, 'trap_speed')} m/s"}, {"time": f"{value(run, 'time')} s"}):
        back = ask("power_from_strip", mass="930 kg", time_constant="6.29", speed_constant="224", **given)
        assert value(back, "power", "kW") == pytest.approx(198.0)
    with pytest.raises(BadInput, match="give trap_speed or time"):
        ask("power_from_strip", mass="930 kg")
