"""Sums of the dyno: boosted engines, traps, faults, energy balances, statistics against a library."""

from __future__ import annotations

import math

import pytest
from asked import ask, questions, value
from scipy import stats

from spoolwright.errors import BadInput

DAY = {"air_temperature": "31 degC", "barometer": "95.8 kPa", "humidity": "48 %"}
ONE = {"observed_power": "247 hp", "standard": "SAE J1349 2004", **DAY}


# ----------------------------------------------------------------------------- boosted engines
def test_correction__observed_stands_first() -> None:
    for name, given in (
        ("power_correction", ONE),
        ("power_correction_by_every_code", {"observed_power": "247 hp", **DAY}),
    ):
        assert next(iter(ask(name, **given).results)) == "observed_power"


def test_correction__absolute_boost_leaves_the_pressure_part_out_and_says_so() -> None:
    answer = ask("power_correction", **ONE, boost_control="absolute")
    assert "the pressure part of the factor does not apply" in questions(answer)
    assert "choose with pressure_part" in questions(answer)
    assert value(answer, "factor") == value(answer, "temperature_factor")
    assert value(answer, "factor") == pytest.approx(1.176 * math.sqrt(304.15 / 298.15) - 0.176)
    assert value(answer, "observed_power", "hp") == pytest.approx(247.0)


def test_correction__absolute_boost_with_the_pressure_part_chosen() -> None:
    answer = ask("power_correction", **ONE, boost_control="absolute", pressure_part="applied")
    assert value(answer, "factor") == value(answer, "code_factor") == pytest.approx(1.0797, abs=2e-4)
    assert "does not apply" in questions(answer)


def test_correction__every_code_without_pressure_part_for_absolute_boost() -> None:
    given = {"observed_power": "247 hp", "air_temperature": "25 degC", "humidity": "0 %", "boost_control": "absolute"}
    low, high = (ask("power_correction_by_every_code", **given, barometer=p) for p in ("80 kPa", "101 kPa"))
    for name in low.results:
        if name.startswith("factor_"):
            assert value(low, name) == pytest.approx(value(high, name))


def test_correction__boost_not_stated_is_asked() -> None:
    assert "how is boost held?" in questions(ask("power_correction", **ONE))
    assert "how is boost held?" not in questions(ask("power_correction", **ONE, boost_control="none"))


def test_correction__gauge_boost_gives_the_two_ends() -> None:
    answer = ask("power_correction", **ONE, boost_control="gauge")
    assert f"{value(answer, 'temperature_factor'):.4f}" in questions(answer)
    assert f"{value(answer, 'code_factor'):.4f}" in questions(answer)


# ----------------------------------------------------------------------------- windows and weather
def test_correction__outside_the_window_is_flagged() -> None:
    answer = ask("power_correction", **{**ONE, "standard": "ISO 1585"}, boost_control="none")
    assert value(answer, "within_window") == 0.0
    assert "outside the 0.93 to 1.07" in questions(answer)
    mild = ask("power_correction", **{**ONE, "barometer": "99 kPa"}, boost_control="none")
    assert value(mild, "within_window") == 1.0
    assert not mild.questions


def test_correction__barometer_reduced_to_sea_level_is_questioned() -> None:
    answer = ask("power_correction", **{**ONE, "barometer": "1013 mbar"}, altitude="1600 m", boost_control="none")
    assert "reduced to sea level" in questions(answer)
    station = ask("power_correction", **{**ONE, "barometer": "83.5 kPa"}, altitude="1600 m", boost_control="none")
    assert "reduced to sea level" not in questions(station)


def test_correction__moisture_stated_three_ways_agrees() -> None:
    rest = {"observed_power": "100 hp", "standard": "ISO 1585", "air_temperature": "30 degC", "barometer": "99 kPa"}
    by_humidity = ask("power_correction", **rest, humidity="50 %")
    water = 99e3 - value(by_humidity, "dry_pressure")
    by_pressure = ask("power_correction", **rest, vapour_pressure=f"{water} Pa")
    by_dew = ask("power_correction", **rest, dew_point="18.44 degC")  # psychrometric tables: 30 degC, 50 % -> 18.4 degC
    assert value(by_pressure, "factor") == pytest.approx(value(by_humidity, "factor"), rel=1e-12)
    assert value(by_dew, "factor") == pytest.approx(value(by_humidity, "factor"), rel=1e-4)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"humidity": ""}, "give one of humidity, dew_point or vapour_pressure"),
        ({"dew_point": "10 degC"}, "give one of humidity"),
        ({"humidity": "48"}, 'write "48 %"'),
        ({"observed_power": ""}, "give observed_power, observed_torque or both"),
        ({"barometer": "14 psig"}, "absolute pressure is needed"),
        ({"standard": "SAE J1350"}, "did you mean"),
    ],
)
def test_correction__faults_in_words(change: dict[str, str], sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        ask("power_correction", **{**ONE, **change})


def test_correction__din_uses_the_wet_barometer_and_sae_the_dry() -> None:
    rest = {"observed_power": "100 hp", "air_temperature": "35 degC", "barometer": "99 kPa"}
    for standard, moves in (("DIN 70020", False), ("SAE J1349 1990", True), ("ISO 1585", True), ("SAE J607", True)):
        dry, wet = (
            value(ask("power_correction", **rest, standard=standard, humidity=h), "factor") for h in ("0 %", "90 %")
        )
        assert (wet > dry) is moves


def test_between_codes__back_again() -> None:
    there = ask("power_between_codes", power="280 hp", by="SAE J607", into="ISO 1585", **DAY)
    back = ask(
        "power_between_codes", power=f"{value(there, 'power_wanted', 'hp')} hp", by="ISO 1585", into="SAE J607", **DAY
    )
    assert value(back, "power_wanted", "hp") == pytest.approx(280.0)


# ----------------------------------------------------------------------------- rig
def test_inertia__engine_torque_by_the_ratio_of_speeds() -> None:
    answer = ask(
        "torque_by_inertia", inertia="85 kg m2", speed_before="800 rpm", speed_after="860 rpm", time="0.5 s",
        drum_speed="830 rpm", engine_speed="5000 rpm",
    )  # fmt: skip
    alpha = 60 * math.pi / 30 / 0.5
    assert value(answer, "engine_torque", "N m") == pytest.approx(85 * alpha * 830 / 5000)
    assert value(answer, "power") == pytest.approx(value(answer, "engine_torque") * 5000 * math.pi / 30)


def test_inertia__open_inputs_are_named() -> None:
    with pytest.raises(BadInput, match="speed_before, speed_after and time"):
        ask("torque_by_inertia", inertia="85 kg m2")
    with pytest.raises(BadInput, match="speed_before needs speed_after and time"):
        ask("torque_by_inertia", inertia="85 kg m2", speed_before="800 rpm")


def test_run_down__energy_is_power_times_time() -> None:
    answer = ask("run_down_loss", inertia="85 kg m2", speed_before="1200 rpm", speed_after="1000 rpm", time="21 s")
    assert value(answer, "energy_lost") == pytest.approx(value(answer, "loss_power") * 21)
    with pytest.raises(BadInput, match="gets slower"):
        ask("run_down_loss", inertia="85 kg m2", speed_before="1000 rpm", speed_after="1200 rpm", time="21 s")


def test_wheel_to_flywheel__a_fixed_share_is_questioned() -> None:
    assert "not how losses go" in questions(ask("wheel_to_flywheel", wheel_power="200 hp", loss_share="15 %"))
    assert not ask("wheel_to_flywheel", wheel_power="205 hp", run_down_power="31 hp").questions


def test_roller__force_and_speed_give_the_same_power() -> None:
    answer = ask("roller_conversion", drum_diameter="650 mm", road_speed="120 km/h", force="2500 N")
    assert value(answer, "power") == pytest.approx(2500 * 120 / 3.6)
    assert value(answer, "torque") == pytest.approx(2500 * 0.325)


def test_drum_inertia__thin_shell_and_solid_disc() -> None:
    shell = ask("drum_inertia", outer_diameter="600 mm", inner_diameter="599.9 mm", length="1 m")
    assert value(shell, "inertia") == pytest.approx(value(shell, "mass") * 0.3**2, rel=1e-3)
    solid = ask("drum_inertia", outer_diameter="600 mm", length="1 m")
    assert value(solid, "inertia") == pytest.approx(0.5 * value(solid, "mass") * 0.3**2)
    gyrating = ask("drum_inertia", mass="13.5 kg", gyration="150 mm")
    assert value(gyrating, "inertia") == pytest.approx(0.30375)  # Theory of Machines text, Ex. 10.34


def test_brake__kilograms_are_not_newtons() -> None:
    by_mass = ask("brake_torque", mass="32.5 kg", arm="716 mm", speed="5000 rpm")
    by_force = ask("brake_torque", force="32.5 kgf", arm="716 mm", speed="5000 rpm")
    assert value(by_mass, "torque") == pytest.approx(value(by_force, "torque"))


# ----------------------------------------------------------------------------- repeats
def test_repeats__against_a_statistics_library() -> None:
    pulls = [247.0, 249.5, 246.0, 248.0]
    answer = ask("repeat_spread", pulls="247; 249.5; 246; 248 hp")
    low, high = stats.t.interval(0.95, 3, loc=sum(pulls) / 4, scale=stats.sem(pulls))
    assert value(answer, "band_of_mean") == pytest.approx((high - low) / 2)
    assert value(answer, "smallest_change") == pytest.approx((high - low) / 2 * math.sqrt(2))


def test_change__against_a_statistics_library() -> None:
    before, after = [247.0, 249.5, 246.0], [254.0, 252.0, 255.5, 251.0]
    answer = ask("change_against_spread", before="247; 249.5; 246 hp", after="254; 252; 255.5; 251 hp")
    test = stats.ttest_ind(after, before)
    low, high = test.confidence_interval(0.95)
    assert value(answer, "confidence_of_change") == pytest.approx(1.0 - test.pvalue)
    assert value(answer, "band") == pytest.approx((high - low) / 2)
    assert value(answer, "counts") == 1.0


def test_change__smaller_than_the_spread_is_said() -> None:
    answer = ask("change_against_spread", before="247; 252; 243", after="249; 246; 253")
    assert value(answer, "counts") == 0.0
    assert "smaller than the repeat spread" in questions(answer)


def test_repeats__mixed_units_and_single_pulls_are_refused() -> None:
    with pytest.raises(BadInput, match="in one unit"):
        ask("repeat_spread", pulls="247 hp; 184 kW")
    with pytest.raises(BadInput, match="two pulls at least"):
        ask("repeat_spread", pulls="247 hp")
    assert "more than 2 %" in questions(ask("repeat_spread", pulls="240; 250; 255 hp"))
