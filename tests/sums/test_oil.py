"""Behaviour of the sums of oil."""

from __future__ import annotations

import math

import pytest
from asked import asks, results

from spoolwright.errors import BadInput
from spoolwright.sums.evaluate import evaluate

FEED = {"upstream_pressure": "60 psi", "downstream_pressure": "22 psi", "density": "835 kg/m3"}


def test_restrictor__flow_size_and_drop_undo_each_other() -> None:
    flow = results("restrictor_flow", diameter="1.2 mm", **FEED)["flow"]
    assert results("restrictor_for_flow", flow=f"{flow} m3/s", **FEED)["diameter"] == pytest.approx(1.2e-3, rel=1e-9)
    left = results(
        "restrictor_drop", diameter="1.2 mm", flow=f"{flow} m3/s", upstream_pressure="60 psi", density="835 kg/m3"
    )
    assert left["downstream_pressure"] == pytest.approx(22 * 6894.757, rel=1e-6)


def test_restrictor__thick_oil_is_asked_about() -> None:
    thin = evaluate("restrictor_flow", {**FEED, "diameter": "1.0 mm", "viscosity": "6 cP"})
    thick = evaluate("restrictor_flow", {**FEED, "diameter": "1.0 mm", "viscosity": "400 cP"})
    assert not thin.questions
    assert asks(thick, "Reynolds number", "too thick")


def test_restrictor__no_pressure_after_it_is_asked_about() -> None:
    given = {k: v for k, v in FEED.items() if k != "downstream_pressure"}
    assert asks(evaluate("restrictor_flow", {**given, "diameter": "1.0 mm"}), "back pressure")


def test_restrictor__pressure_must_fall() -> None:
    with pytest.raises(BadInput, match="above that before"):
        evaluate("restrictor_flow", {**FEED, "downstream_pressure": "70 psi", "diameter": "1 mm"})
    with pytest.raises(BadInput, match="more pressure than there is"):
        evaluate(
            "restrictor_drop",
            {"diameter": "0.5 mm", "flow": "5 L/min", "upstream_pressure": "60 psi", "density": "835 kg/m3"},
        )


def test_drain__laminar_is_half_of_hagen_poiseuille() -> None:
    got = results("drain_flow", diameter="12 mm", slope="45 deg", viscosity="200 cSt")
    full = math.pi * 0.012**4 * 9.80665 * math.sin(math.radians(45)) / (128 * 200e-6)
    assert got["half_full_flow"] == pytest.approx(full / 2, rel=1e-9)
    assert got["full_flow"] == pytest.approx(full, rel=1e-9)


def test_drain__turbulent_against_a_friction_library() -> None:
    """Gravity along the slope equals wall friction with the Blasius factor of the fluids library."""
    from fluids.friction import Blasius

    got = results("drain_flow", diameter="20 mm", slope="60 deg", viscosity="6 cSt")
    assert got["reynolds"] > 4000.0
    head = Blasius(got["reynolds"]) / 0.020 * got["velocity"] ** 2 / 2
    assert head == pytest.approx(9.80665 * math.sin(math.radians(60)), rel=2e-3)  # 0.3164 against 0.316


def test_drain__flat_frothy_and_small_are_asked_about() -> None:
    answer = evaluate("drain_flow", {"diameter": "8 mm", "slope": "10 deg", "viscosity": "80 cSt", "feed": "2 L/min"})
    assert asks(answer, "flat drain")
    assert asks(answer, "froth, up to half")
    assert asks(answer, "times the feed")
    with pytest.raises(BadInput, match="above 0 and up to 90"):
        evaluate("drain_flow", {"diameter": "8 mm", "slope": "0 deg", "viscosity": "80 cSt"})


def test_viscosity__gives_back_its_two_points() -> None:
    oil = {"viscosity_1": "92 cSt", "viscosity_2": "14 cSt", "density": "840 kg/m3"}
    for temperature, expected in (("40 degC", 92e-6), ("100 degC", 14e-6)):
        got = results("oil_viscosity", **oil, temperature=temperature)
        assert got["viscosity"] == pytest.approx(expected, rel=1e-9)
        assert got["dynamic_viscosity"] == pytest.approx(expected * 840, rel=1e-9)
    assert 14e-6 < results("oil_viscosity", **oil, temperature="80 degC")["viscosity"] < 92e-6


def test_viscosity__points_mixed_up() -> None:
    with pytest.raises(BadInput, match="thinner when warmer"):
        evaluate("oil_viscosity", {"viscosity_1": "14 cSt", "viscosity_2": "92 cSt", "temperature": "80 degC"})


def test_bearing_rule__odd_bearing_is_named() -> None:
    answer = evaluate("bearing_clearance_rule", {"journal": "55 mm", "measured": "0.055; 0.060; 0.110 mm"})
    assert asks(answer, "bearing 3")
    assert not asks(answer, "bearing 1:")


def test_bearing_leak__cube_of_the_clearance() -> None:
    rest = {"journal": "55 mm", "land": "9 mm", "pressure": "4 bar", "viscosity": "9 cP"}
    tight = results("bearing_leak", **rest, clearance="0.05 mm")["flow"]
    wide = results("bearing_leak", **rest, clearance="0.10 mm")["flow"]
    assert wide == pytest.approx(8 * tight, rel=1e-12)
    assert results("bearing_leak", **rest, clearance="0.05 mm", eccentricity="1")["flow"] == pytest.approx(2.5 * tight)


def test_bearing_friction__is_wall_shear_times_area_times_radius() -> None:
    got = results(
        "bearing_friction", journal="50 mm", width="20 mm", clearance="0.05 mm", viscosity="10 cP", speed="6000 rpm"
    )
    shear = 0.010 * (6000 * math.pi / 30 * 0.025) / 0.025e-3
    assert got["torque"] == pytest.approx(shear * math.pi * 0.050 * 0.020 * 0.025, rel=1e-12)


def test_oil_heat__any_two_give_the_third() -> None:
    heat = results("oil_heat", flow="25 L/min", rise="14 K")["heat_carried"]
    assert results("oil_heat", heat=f"{heat} W", rise="14 K")["flow_needed"] == pytest.approx(25e-3 / 60)
    assert results("oil_heat", heat=f"{heat} W", flow="25 L/min")["temperature_rise"] == pytest.approx(14.0)
    with pytest.raises(BadInput, match="exactly two"):
        evaluate("oil_heat", {"heat": "5 kW"})


def test_oil_pressure__rule_and_trend() -> None:
    low = evaluate("oil_pressure_rule", {"speed": "6000 rpm", "measured": "45 psi"})
    assert low.results["least_pressure"] == pytest.approx(60 * 6894.757, rel=1e-6)
    assert asks(low, "0.75 of the rule")
    trend = results(
        "oil_pressure_trend", pressure="60 psi", clearance_then="0.05 mm", clearance_now="0.05 mm",
        viscosity_then="20 cSt", viscosity_now="10 cSt",
    )  # fmt: skip
    assert trend["pressure_ratio"] == pytest.approx(0.5)


def test_oil_pump__short_is_said() -> None:
    answer = evaluate("oil_pump_delivery", {"displacement": "16 cc", "speed": "1000 rpm", "demand": "14 L/min"})
    assert answer.results["delivery"] == pytest.approx(16e-6 * 1000 / 60 * 0.5 * 0.85)
    assert asks(answer, "pump is short")
