"""Sums of the topic exhaust: limits, inverses, faults, questions, agreement with general libraries."""

from __future__ import annotations

import math

import fluids
import pytest
from asked import ask, questions
from hypothesis import given, settings
from hypothesis import strategies as st

from spoolwright.errors import BadInput
from spoolwright.sums.exhaust_losses import bend_loss, fanno_length, friction_factor

GAS = {"mass_flow": "0.23 kg/s", "temperature": "750 degC", "gauge": "5 kPa", "barometer": "98 kPa"}


# ----------------------------------------------------------------------------- losses
@settings(max_examples=200)
@given(reynolds=st.floats(5e3, 1e7), roughness=st.floats(0.0, 0.03))
def test_friction_factor__agrees_with_fluids(reynolds: float, roughness: float) -> None:
    theirs = fluids.friction_factor(Re=reynolds, eD=roughness, Method="Clamond")
    assert friction_factor(reynolds, roughness) == pytest.approx(theirs, rel=1e-8)


def test_friction_factor__laminar() -> None:
    assert friction_factor(1000.0, 0.01) == pytest.approx(fluids.friction_factor(Re=1000.0, eD=0.01))


@pytest.mark.parametrize("angle", [15.0, 45.0, 90.0, 180.0])
@pytest.mark.parametrize("radius", [0.75, 1.5, 4.0])
def test_bend_loss__agrees_with_fluids(angle: float, radius: float) -> None:
    theirs = fluids.bend_rounded(Di=0.05, angle=angle, fd=0.021, rc=radius * 0.05, method="Rennels")
    assert bend_loss(angle, radius, 0.021) == pytest.approx(theirs, rel=1e-9)


def test_pipe_loss__straight_pipe_is_darcys() -> None:
    r = ask("pipe_loss", mass_flow="0.1 kg/s", bore="60 mm", length="2 m", temperature="20 degC", barometer="101.3 kPa")
    density = 101.3e3 / (287.05287 * 293.15)
    speed = 0.1 / (density * math.pi / 4 * 0.06**2)
    # Sutherland's viscosity from the library differs in the fourth digit; the friction hardly notices.
    friction = fluids.friction_factor(Re=density * speed * 0.06 / 1.813e-5, eD=0.045 / 60)
    assert r.results["loss"] == pytest.approx(friction * 2 / 0.06 * density * speed**2 / 2, rel=1e-3)


def test_pipe_loss__bends_add_without_counting_their_length_twice() -> None:
    state = {"mass_flow": "0.1 kg/s", "bore": "60 mm", "temperature": "20 degC", "barometer": "101.3 kPa"}
    straight = ask("pipe_loss", **state, length="2 m").results
    with_bend = ask("pipe_loss", **state, length="2 m", bends="1", bend_radius="90 mm").results
    arc = math.pi / 2 * 0.09
    alone = bend_loss(90.0, 1.5, straight["friction"])
    expected = straight["friction"] * (2.0 - arc) / 0.06 + alone
    assert with_bend["total_coefficient"] == pytest.approx(expected, rel=1e-9)
    with pytest.raises(BadInput, match="bend_radius"):
        ask("pipe_loss", **state, length="2 m", bends="1")


@settings(max_examples=50)
@given(mach=st.floats(0.05, 0.95))
def test_fanno__falls_to_zero_at_the_speed_of_sound(mach: float) -> None:
    assert fanno_length(mach, 1.4) > fanno_length(min(1.0, mach + 0.04), 1.4)
    assert fanno_length(1.0, 1.4) == pytest.approx(0.0, abs=1e-15)


def test_fanno__pressure_and_temperature_of_the_tables() -> None:
    """Gas Dynamics and Jet Propulsion, Ex. 3.4, p. 13: p/p* 2.138 and T/T* 1.143 at Mach 0.5."""
    r = ask("friction_choking", mach_start="0.5", bore="20 mm", friction="0.016").results
    assert 1 / r["pressure_ratio"] == pytest.approx(2.138, rel=1e-4)
    assert 1 / r["temperature_ratio"] == pytest.approx(1.143, rel=3e-4)


def test_friction_choking__end_slower_than_start() -> None:
    with pytest.raises(BadInput, match="speeds a slow flow up"):
        ask("friction_choking", mach_start="0.5", mach_end="0.4", bore="20 mm", friction="0.016")


# ----------------------------------------------------------------------------- pipes
def test_pipe_mach__bore_or_outside_and_wall() -> None:
    by_bore = ask("pipe_mach", **GAS, bore="60.5 mm").results["mach"]
    by_outside = ask("pipe_mach", **GAS, outside_diameter="63.5 mm", wall="1.5 mm").results["mach"]
    assert by_bore == pytest.approx(by_outside)
    with pytest.raises(BadInput, match="needs wall"):
        ask("pipe_mach", **GAS, outside_diameter="63.5 mm")
    with pytest.raises(BadInput, match="only one"):
        ask("pipe_mach", **GAS, bore="60.5 mm", outside_diameter="63.5 mm", wall="1.5 mm")


def test_pipe_bore__gives_the_mach_number_back() -> None:
    bore = ask("pipe_bore", **GAS, mach="0.28").results["bore"]
    assert ask("pipe_mach", **GAS, bore=f"{bore!r} m").results["mach"] == pytest.approx(0.28)


def test_pipe_mach__fast_and_choked_are_said() -> None:
    assert "0.25 to 0.30" in questions(ask("pipe_mach", **GAS, bore="60 mm"))
    assert "chokes" in questions(ask("pipe_mach", **GAS, bore="30 mm"))
    assert questions(ask("pipe_mach", **GAS, bore="90 mm")) == ""


def test_exhaust_flow__mass_is_kept() -> None:
    r = ask("exhaust_flow", air_flow="0.24 kg/s", mixture="0.8 lambda", stoichiometric_ratio="14.7").results
    assert r["exhaust_flow"] - r["fuel_flow"] == pytest.approx(0.24)
    assert 0.24 / r["fuel_flow"] == pytest.approx(0.8 * 14.7)


def test_cone__length_and_angle_are_inverses() -> None:
    length = ask("cone", small="50 mm", large="63.5 mm", angle="9 deg").results["length_found"]
    assert ask("cone", small="50 mm", large="63.5 mm", length=f"{length!r} m").results[
        "included_angle"
    ] == pytest.approx(9)
    assert "leaves the wall" in questions(ask("cone", small="50 mm", large="63.5 mm", length="20 mm"))
    with pytest.raises(BadInput, match="larger than the small"):
        ask("cone", small="63.5 mm", large="50 mm", length="80 mm")


# ----------------------------------------------------------------------------- pulses and heat
def test_quarter_wave__end_correction_lowers_the_pitch() -> None:
    state = {"length": "600 mm", "temperature": "450 degC", "bore": "40 mm"}
    plain = ask("quarter_wave", **state).results["frequency_found"]
    corrected = ask("quarter_wave", **state, end="plain").results
    assert corrected["effective_length"] == pytest.approx(0.6 + 0.6133 * 0.02)
    assert corrected["frequency_found"] < plain
    with pytest.raises(BadInput, match="odd harmonics"):
        ask("quarter_wave", **state, harmonic="2")


def test_pulse_length__goes_and_comes_back() -> None:
    state = {"engine_speed": "6500 rpm", "temperature": "650 degC"}
    length = ask("pulse_length", **state, degrees="120 deg").results["length_found"]
    assert ask("pulse_length", **state, length=f"{length!r} m").results["degrees_found"] == pytest.approx(120.0)
    # 120 degrees at 6500 rpm last 3.077 ms, there and back at the speed of sound.
    sound = ask("sound_speed", temperature="650 degC", gamma="1.33").results["sound_speed"]
    assert length == pytest.approx(sound * 120 / (6500 * 6) / 2)


def test_pipe_temperature__long_pipe_reaches_the_outside() -> None:
    state = {"inlet_temperature": "850 degC", "outside_temperature": "60 degC", "bore": "60 mm"}
    long = ask("pipe_temperature", **state, mass_flow="0.01 kg/s", length="6 m", heat_transfer="150 W/(m2 K)").results
    assert long["outlet_temperature"] == pytest.approx(333.15, abs=1e-3)
    short = ask("pipe_temperature", **state, mass_flow="0.23 kg/s", length="1 m", heat_transfer="25 W/(m2 K)").results
    # For a small drop the heat is U A times the temperature difference at the middle.
    middle = 0.5 * (1123.15 + short["outlet_temperature"]) - 333.15
    assert short["heat"] == pytest.approx(25 * math.pi * 0.06 * 1.0 * middle, rel=1e-4)


def test_pipe_growth__joint_without_room_is_said() -> None:
    tight = ask("pipe_growth", length="420 mm", expansion="17.5e-6 1/K", hot_temperature="750 degC", gap="4 mm")
    assert tight.results["growth"] == pytest.approx(0.42 * 17.5e-6 * 730)
    assert "no room left" in questions(tight)


def test_primary_bore__by_hand() -> None:
    """240 degrees at 6000 rpm last 6.667 ms; 500 cc in that time is 75 L/s, at 75 m/s an area of 1000 mm2."""
    r = ask("primary_bore", swept_volume="500 cc", speed="6000 rpm", gas_speed="75 m/s").results
    assert r["area"] == pytest.approx(1000e-6)
    assert r["bore"] == pytest.approx(35.68e-3, rel=1e-3)


def test_sudden_enlargement__loss_in_pascal() -> None:
    r = ask("sudden_enlargement", small="50 mm", large="100 mm", velocity="100 m/s", density="0.4 kg/m3").results
    assert r["loss"] == pytest.approx(0.5625 * 0.5 * 0.4 * 1e4)
