"""Sums of the spark: traps told apart, faults in words, limits, round trips."""

from __future__ import annotations

import math

import pytest
from asked import ask, questions, value
from scipy.special import jnp_zeros

from spoolwright.errors import BadInput

RETARD = {
    "base_advance": "28 deg",
    "boost": "0; 5; 10; 14 psi",
    "rate": "1.1 deg/psi",
    "start": "2 psi",
    "cap": "12 deg",
}


def test_boost_retard__start_and_stop_left_out_is_told_apart() -> None:
    assert "it would be 12.6 deg" in questions(ask("boost_retard", **RETARD))  # the well-known wrong answer


def test_boost_retard__nothing_taken_out_in_vacuum() -> None:
    answer = ask("boost_retard", **{**RETARD, "boost": "10 inHg vacuum"})
    assert answer.results["advance"] == [28.0]


def test_boost_retard__little_left_is_questioned() -> None:
    assert "less than 8 deg" in questions(
        ask("boost_retard", base_advance="28 deg", boost="20 psi", rate="1.1 deg/psi")
    )


def test_boost_retard__negative_rate_is_refused() -> None:
    with pytest.raises(BadInput, match="positive numbers"):
        ask("boost_retard", base_advance="28 deg", boost="10 psi", rate="-1 deg/psi")


def test_latency__found_again_from_strobe_readings() -> None:
    real = ask(
        "timing_latency", set_advance="28 deg", set_speed="1000 rpm", latency="55 us", speed="1500; 3000; 6000 rpm"
    )
    readings = "; ".join(f"{n} rpm: {a} deg" for n, a in zip((1500, 3000, 6000), real.results["advance"], strict=True))
    found = ask("latency_from_strobe", readings=readings)
    assert value(found, "latency", "us") == pytest.approx(55.0)
    assert value(found, "static_advance") == pytest.approx(value(real, "static_advance"))
    assert "drifts by" in questions(real)


def test_latency__a_curve_is_not_taken_for_latency_in_silence() -> None:
    curve = ask(
        "latency_from_strobe", readings="1000 rpm: 10 deg; 2000 rpm: 22 deg; 3000 rpm: 28 deg; 6000 rpm: 28 deg"
    )
    assert "do not lie on one line" in questions(curve)


def test_scatter__distributor_counts_double() -> None:
    answer = ask("timing_scatter", crank_sources="0.6 deg", distributor_sources="0.4 deg", speed="6000 rpm")
    assert value(answer, "scatter") == pytest.approx(1.0)  # 0.6 and 0.8 at right angles
    assert value(answer, "worst") == pytest.approx(1.4)
    with pytest.raises(BadInput, match="at least one source"):
        ask("timing_scatter", speed="6000 rpm")


def test_angle_and_time__are_inverse() -> None:
    angle = value(ask("time_to_angle", time="3.6 ms", speed="7000 rpm"), "crank_angle")
    assert value(ask("angle_to_time", crank_angle=f"{angle} deg", speed="7000 rpm"), "time", "ms") == pytest.approx(3.6)


def test_trigger_wheel__error_of_even_acceleration_by_integration() -> None:
    answer = ask("trigger_wheel", teeth="36", speed="6000 rpm", acceleration="3000", look_ahead="60 deg")
    w, alpha = 200 * math.pi, 100 * math.pi
    # The last tooth, with the speed now w: solve its time, predict the wait, turn that long.
    tooth = math.radians(10)
    behind = (w - math.sqrt(w * w - 2 * alpha * tooth)) / alpha
    wait = math.radians(60) / (tooth / behind)
    late = math.degrees(w * wait + 0.5 * alpha * wait**2) - 60
    assert value(answer, "angle_error") == pytest.approx(late, rel=2e-3)


def test_knock_frequency__modes_are_zeros_of_bessel_derivatives() -> None:
    answer = ask("knock_frequency", bore="92.5 mm")
    for result, zero in (
        ("first", jnp_zeros(1, 1)[0]),
        ("second", jnp_zeros(2, 1)[0]),
        ("first_ring", jnp_zeros(0, 1)[0]),
    ):
        assert value(answer, result) == pytest.approx(zero * 950 / (math.pi * 0.0925), rel=1e-4)
    assert value(answer, "first", "kHz") == pytest.approx(6.0, abs=0.05)  # textbook figure for this bore


# ----------------------------------------------------------------------------- coil
def test_coil__dwell_and_current_are_inverse() -> None:
    coil = {"inductance": "4.2 mH", "resistance": "0.75 ohm", "voltage": "13.2 V"}
    dwell = value(ask("coil_dwell", **coil, current="7 A"), "dwell", "ms")
    assert value(ask("coil_current", **coil, dwell=f"{dwell} ms"), "current") == pytest.approx(7.0)


def test_coil__heat_and_field_take_all_of_the_supply() -> None:
    answer = ask("coil_current", inductance="4.2 mH", resistance="0.75 ohm", voltage="13.2 V", dwell="4 ms")
    steps = 20000
    dt, current, heat = 4e-3 / steps, 0.0, 0.0
    for _ in range(steps):  # plain small steps in time as the slow twin
        middle = current + 0.5 * dt * (13.2 - 0.75 * current) / 4.2e-3
        heat += 0.75 * middle**2 * dt
        current += dt * (13.2 - 0.75 * middle) / 4.2e-3
    assert value(answer, "current") == pytest.approx(current, rel=1e-6)
    assert value(answer, "heat") == pytest.approx(heat, rel=1e-5)


def test_coil__a_current_the_loop_cannot_carry_is_refused() -> None:
    with pytest.raises(BadInput, match=r"at most 4\.80 A"):
        ask("coil_dwell", inductance="4.2 mH", resistance="2.5 ohm", voltage="12 V", current="7 A")


def test_coil__speed_for_full_current_leaves_just_that_current() -> None:
    coil = {
        "inductance": "4.2 mH", "resistance": "0.75 ohm", "voltage": "13.2 V", "arrangement": "single coil",
        "cylinders": "4", "current_wanted": "7 A",
    }  # fmt: skip
    top = value(ask("coil_current_left", **coil, speed="7500 rpm"), "speed_for_full_current", "rpm")
    assert value(ask("coil_current_left", **coil, speed=f"{top} rpm"), "current") == pytest.approx(7.0)
    with pytest.raises(BadInput, match="no dwell is left"):
        ask("coil_current_left", **coil, speed="7500 rpm", spark_time="4 ms")


@pytest.mark.parametrize(
    ("arrangement", "period"), [("wasted spark", 8.0), ("coil per plug", 16.0), ("single coil", 4.0)]
)
def test_dwell_share__period_of_each_arrangement(arrangement: str, period: float) -> None:
    answer = ask("dwell_share", dwell="2 ms", speed="7500 rpm", arrangement=arrangement, cylinders="4")
    assert value(answer, "period", "ms") == pytest.approx(period)


# ----------------------------------------------------------------------------- breakdown
def test_plug_voltage__grows_with_gap_and_pressure() -> None:
    small = value(ask("plug_voltage", gap="0.6 mm", pressure="10 bar"), "voltage")
    assert value(ask("plug_voltage", gap="0.9 mm", pressure="10 bar"), "voltage") > small
    assert value(ask("plug_voltage", gap="0.6 mm", pressure="14 bar"), "voltage") > small


def test_gap_for_voltage__is_the_inverse_of_plug_voltage() -> None:
    state = {"pressure": "14 bar", "temperature": "330 degC"}
    answer = ask("gap_for_voltage", available="30 kV", reserve="30 %", gap="0.8 mm", **state)
    gap = value(answer, "largest_gap", "mm")
    assert value(ask("plug_voltage", gap=f"{gap} mm", **state), "voltage", "kV") == pytest.approx(21.0)
    stands = value(answer, "pressure_for_gap", "bar")
    back = ask("plug_voltage", gap="0.8 mm", pressure=f"{stands} bar", temperature="330 degC")
    assert value(back, "voltage", "kV") == pytest.approx(21.0)


def test_paschen__least_voltage_is_a_minimum() -> None:
    least = value(ask("paschen_voltage", gap="1 mm"), "least_voltage")
    at = value(ask("paschen_voltage", gap="1 mm"), "pressure_gap_at_least")
    near = [
        value(ask("paschen_voltage", gap=f"{at * f * 10} mm", pressure="1 torr"), "voltage") for f in (0.8, 1.0, 1.25)
    ]
    assert near[1] == pytest.approx(least, rel=1e-9)
    assert min(near[0], near[2]) > near[1]
    with pytest.raises(BadInput, match="left of the Paschen curve"):
        ask("paschen_voltage", gap="0.01 mm", pressure="1 kPa")


def test_coil_margin__short_coil_is_said() -> None:
    assert "misfires under boost" in questions(ask("coil_voltage_margin", needed="30 kV", available="25 kV"))


def test_spark_conditions__at_top_dead_centre_the_whole_ratio_counts() -> None:
    answer = ask(
        "spark_conditions", p_intake="1 bar", charge_temperature="60 degC", compression_ratio="8", advance="0 deg"
    )
    assert value(answer, "volume_ratio") == pytest.approx(8.0)
    assert value(answer, "pressure", "bar") == pytest.approx(8.0**1.32)
