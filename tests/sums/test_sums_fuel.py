"""Sums of fuel: traps told apart, faults in words, limits, round trips."""

from __future__ import annotations

import CoolProp.CoolProp as coolprop
import fluids
import pytest
from asked import ask, questions, value

from spoolwright.errors import BadInput

PUMP = {
    "base_pressure": "6.5 psi",
    "boost": "14 psi",
    "line_loss": "2 psi",
    "curve": "0 psi: 62 gal/h; 10 psi: 54 gal/h; 20 psi: 43 gal/h; 30 psi: 29 gal/h",
    "voltage": "12.8 V",
    "density": "6.2 lb/gal",
    "power": "290 hp",
    "consumption": "0.62 lb/hp-hr",
}


# ----------------------------------------------------------------------------- pump, regulator, injectors
def test_pump__curve_read_at_base_pressure_is_told_apart() -> None:
    answer = ask("pump_under_boost", **PUMP)
    assert value(answer, "margin_at_base_pressure", "%") == pytest.approx(
        95.8621, abs=0.01
    )  # the well-known wrong answer
    assert "boost and losses belong" in questions(answer)


def test_pump__short_of_the_need_is_said() -> None:
    answer = ask("pump_under_boost", **{**PUMP, "power": "420 hp"})
    assert value(answer, "margin") < 0.0
    assert "lean late in the pull" in questions(answer)


def test_pump__outside_its_curve_is_refused() -> None:
    with pytest.raises(BadInput, match=r"outside its curve of 0\.0 psi to 30\.0 psi"):
        ask("pump_under_boost", **{**PUMP, "boost": "25 psi"})


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"power": "", "consumption": ""}, "give power or fuel_needed"),
        ({"consumption": ""}, "power needs consumption"),
        ({"fuel_needed": "180 lb/h"}, "say the same thing"),
        ({"curve": ""}, "give curve or mass_curve"),
    ],
)
def test_pump__open_or_double_inputs_are_named(change: dict[str, str], sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        ask("pump_under_boost", **{**PUMP, **change})


def test_pump__curve_by_mass_is_the_same_pump() -> None:
    by_mass = {
        **PUMP,
        "curve": "",
        "mass_curve": "0 psi: 384.4 lb/h; 10 psi: 334.8 lb/h; 20 psi: 266.6 lb/h; 30 psi: 179.8 lb/h",
    }
    assert value(ask("pump_under_boost", **by_mass), "margin") == pytest.approx(
        value(ask("pump_under_boost", **PUMP), "margin"), rel=1e-9
    )


def test_pump__unreferenced_regulator_lowers_the_pressure_it_works_against() -> None:
    answer = ask("pump_under_boost", **{**PUMP, "regulator_rise": "0"})
    assert value(answer, "pump_pressure", "psi") == pytest.approx(8.5)


def test_pump_voltage__wire_against_its_resistance() -> None:
    wire = ask("pump_voltage", supply_voltage="13.8 V", current="12 A", wire_area="2.5 mm2", wire_length="9 m")
    plain = ask("pump_voltage", supply_voltage="13.8 V", current="12 A", resistance="63 mohm")
    assert value(wire, "pump_voltage", "V") == pytest.approx(value(plain, "pump_voltage", "V"), rel=1e-9)


@pytest.mark.parametrize(("bore", "flow"), [("8 mm", "200 L/h"), ("12 mm", "20 L/h")])
def test_line_loss__against_a_fluids_library(bore: str, flow: str) -> None:
    answer = ask("fuel_line_loss", bore=bore, length="4 m", volume_flow=flow)
    diameter, velocity = float(bore.split()[0]) / 1000, value(answer, "velocity")
    reynolds = fluids.Reynolds(V=velocity, D=diameter, rho=745.0, mu=0.5e-3)
    method = "Blasius" if reynolds > 2300 else "laminar"
    factor = 0.3164 * reynolds**-0.25 if method == "Blasius" else fluids.friction_laminar(reynolds)
    if method == "Blasius":
        assert factor == pytest.approx(fluids.friction.Blasius(reynolds), rel=1e-3)
    drop = fluids.dP_from_K(K=factor * 4.0 / diameter, rho=745.0, V=velocity)
    assert value(answer, "drop", "Pa") == pytest.approx(drop, rel=1e-9)


@pytest.mark.parametrize(
    ("at_boost", "word"), [("20.5 psi", ""), ("17 psi", "less than 1:1"), ("24 psi", "more than 1:1")]
)
def test_regulator__rise_is_judged(at_boost: str, word: str) -> None:
    answer = ask("regulator_rise", pressure_no_boost="6.5 psi", pressure_at_boost=at_boost, boost="14 psi")
    assert (word in questions(answer)) if word else not answer.questions


def test_injector__boost_above_rail_pressure_leaves_no_flow() -> None:
    answer = ask(
        "injector_size",
        power="300 hp",
        consumption="0.6 lb/hp-hr",
        injectors="4",
        pressure_across="3 bar",
        boost="3.2 bar",
    )
    assert value(answer, "flow_lost_unreferenced") == 1.0
    assert "no pressure across" in questions(answer)


def test_injector__size_and_duty_agree() -> None:
    need = {"power": "300 hp", "consumption": "0.6 lb/hp-hr", "injectors": "4", "pressure_across": "4 bar"}
    rating = value(ask("injector_size", **need, duty="80 %"), "rating", "cc/min")
    duty = ask("injector_duty", **need, rating=f"{rating} cc/min @ 3 bar", speed="6500 rpm")
    assert value(duty, "duty", "%") == pytest.approx(80.0, rel=1e-9)
    batch = ask(
        "injector_duty", **need, rating=f"{rating} cc/min", speed="6500 rpm", dead_time="1 ms", pulses_per_cycle="2"
    )
    assert value(batch, "duty", "%") == pytest.approx(80.0 + 2 * 0.001 / (120 / 6500) * 100, rel=1e-9)
    assert "85 %" in questions(batch)


def test_injector_at_pressure__grows_with_the_root() -> None:
    answer = ask("injector_at_pressure", rating="440 cc/min @ 3 bar", pressure_across="12 bar")
    assert value(answer, "flow", "cc/min") == pytest.approx(880.0)


# ----------------------------------------------------------------------------- mixture
def test_gauge__reads_the_same_lambda_back() -> None:
    answer = ask("gauge_afr", gauge_reading="11.466:1", stoichiometric_ratio="14.1:1")
    assert value(answer, "lambda") == pytest.approx(0.78)
    assert "which of the two is the target" in questions(answer)


def test_gauge__free_air_is_questioned() -> None:
    assert "free air" in questions(ask("gauge_afr", gauge_reading="20.9", fuel="E10"))


def test_mixture__afr_of_another_fuel_is_questioned() -> None:
    assert "does the air-fuel ratio belong" in questions(
        ask("mixture_conversion", air_fuel_ratio="14.7:1", stoichiometric_ratio="6.4")
    )


def test_mixture_correction__kinds_may_not_be_mixed() -> None:
    with pytest.raises(BadInput, match="one value is lambda"):
        ask("mixture_correction", measured="0.86", wanted="11.6")


def test_atoms__nothing_to_burn_is_refused() -> None:
    with pytest.raises(BadInput, match="nothing to burn"):
        ask("stoichiometric_ratio_from_atoms", carbon="1", hydrogen="0", oxygen="2")


# ----------------------------------------------------------------------------- blends, evaporation
def test_blend__shares_above_the_whole_are_refused() -> None:
    with pytest.raises(BadInput, match="shares sum to 130"):
        ask("fuel_blend", ethanol="85 %", methanol="45 %")


def test_blend__by_mass_and_by_volume_meet() -> None:
    volume = ask("fuel_blend", base="isooctane", ethanol="30 %")
    mass = ask("fuel_blend_by_mass", base="isooctane", ethanol=f"{value(volume, 'alcohol_mass_share')}")
    for result in ("stoichiometric_ratio", "heating_value", "density"):
        assert value(mass, result) == pytest.approx(value(volume, result), rel=1e-9)
    assert value(mass, "alcohol_volume_share") == pytest.approx(0.30, rel=1e-9)


def test_blend_to_target__balance_of_alcohol() -> None:
    answer = ask("blend_to_target", in_tank="20 L", share_in_tank="10 %", share_added="85 %", target_share="30 %")
    add = value(answer, "add", "L")
    assert (20 * 0.10 + add * 0.85) / (20 + add) == pytest.approx(0.30)
    with pytest.raises(BadInput, match="does not lie between"):
        ask("blend_to_target", in_tank="20 L", share_in_tank="10 %", share_added="85 %", target_share="90 %")


def test_water_methanol__mass_and_volume_share_are_inverse() -> None:
    by_volume = ask("water_methanol_mix", total="5 L", volume_share="50 %")
    by_mass = ask("water_methanol_mix", total="5 L", mass_share=f"{value(by_volume, 'alcohol_share_by_mass')}")
    assert value(by_mass, "alcohol_volume", "L") == pytest.approx(2.5)


def test_evaporation__nothing_evaporated_cools_nothing() -> None:
    answer = ask(
        "evaporation_cooling",
        charge_temperature="80 degC",
        fuel="methanol",
        mixture="0.8 lambda",
        share_evaporated="0 %",
    )
    assert value(answer, "cooling") == pytest.approx(0.0, abs=1e-6)
    cold = ask("evaporation_cooling", charge_temperature="25 degC", fuel="methanol", mixture="1 lambda")
    assert "saturation" in questions(cold)


@pytest.mark.parametrize(
    ("fuel", "fluid"), [("methanol", "Methanol"), ("ethanol", "Ethanol"), ("heptane", "n-Heptane")]
)
def test_evaporation_limit__against_a_property_library(fuel: str, fluid: str) -> None:
    for pressure in ("80 kPa", "180 kPa"):
        answer = ask("evaporation_limit", fuel=fuel, mixture="0.8 lambda", pressure=pressure)
        boiling = coolprop.PropsSI("T", "P", value(answer, "vapour_pressure"), "Q", 1, fluid)
        assert value(answer, "temperature") == pytest.approx(boiling, abs=0.6)  # fit of a common table: 0.6 K


# ----------------------------------------------------------------------------- power and runs
def test_power_from_fuel_flow__is_the_inverse_of_fuel_for_power() -> None:
    need = ask("fuel_for_power", power="290 hp", consumption="0.62 lb/hp-hr", density="0.745 kg/L")
    back = ask(
        "power_from_fuel_flow",
        fuel_volume_flow=f"{value(need, 'fuel_volume_flow', 'L/h')} L/h",
        consumption="0.62 lb/hp-hr",
    )
    assert value(back, "power", "hp") == pytest.approx(290.0)


def test_consumption__heat_in_over_power_out() -> None:
    answer = ask("fuel_consumption", power="100 kW", fuel_flow="30 kg/h", fuel="petrol 95 RON")
    assert value(answer, "consumption", "g/kWh") == pytest.approx(300.0)
    assert value(answer, "efficiency") == pytest.approx(100e3 / (30 / 3600 * 43.44e6))
    assert "not that of a piston engine" in questions(
        ask("fuel_consumption", power="100 kW", fuel_flow="3 kg/h", fuel="petrol 95 RON")
    )


def test_fuel_for_run__distance_and_time_agree() -> None:
    base = {"power": "150 kW", "consumption": "350 g/kWh", "runs": "4"}
    by_time = ask("fuel_for_run", **base, duration="90 s")
    by_way = ask("fuel_for_run", **base, distance="2.5 km", mean_speed="100 km/h")
    assert value(by_way, "fuel_mass") == pytest.approx(value(by_time, "fuel_mass"))
    assert value(by_time, "fuel_mass") == pytest.approx(4 * 150 * 0.350 * 90 / 3600)


def test_energy_cost__money_for_each_kwh() -> None:
    answer = ask("fuel_energy_cost", fuel="E85", price="11.0 EUR", price_volume="10 L")
    assert answer.results["price_per_litre"] == (pytest.approx(1.10), "EUR")
    each, currency = answer.results["price_per_kwh"]
    assert each * value(answer, "energy_per_litre", "kWh") == pytest.approx(1.10)
    assert currency == "EUR"
