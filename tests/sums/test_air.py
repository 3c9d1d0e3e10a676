"""Sums of the topic air: limits, faults, questions, agreement between sums and with general libraries."""

from __future__ import annotations

import fluids
import pytest
from asked import ask, questions
from hypothesis import given
from hypothesis import strategies as st

from spoolwright.errors import BadInput
from spoolwright.sums.air_orifices import flow_function
from spoolwright.sums.evaluate import evaluate

ENGINE = {"bore": "92.5 mm", "stroke": "80 mm", "cylinders": "4"}
DEMAND = {**ENGINE, "speed": "6500 rpm", "volumetric_efficiency": "94 %", "manifold_temperature": "145 F"}


# ----------------------------------------------------------------------------- pressures
def test_absolute_pressure__vacuum_in_inches_is_below_outside() -> None:
    answer = ask("absolute_pressure", gauge="18 inHg vac", barometer="29.92 inHg")
    assert answer.results["absolute"] == pytest.approx((29.92 - 18.0) * 3386.389, rel=1e-6)


def test_combined_gauge__psi_above_and_inches_below() -> None:
    above = ask("combined_gauge", reading="10", barometer="100 kPa").results
    below = ask("combined_gauge", reading="-10", barometer="100 kPa").results
    assert above["absolute"] == pytest.approx(100e3 + 68947.573, rel=1e-6)
    assert below["absolute"] == pytest.approx(100e3 - 33863.89, rel=1e-6)


def test_gauge_pressure__is_the_inverse() -> None:
    there = ask("absolute_pressure", gauge="13 psi", barometer="27.4 inHg").results["absolute"]
    back = ask("gauge_pressure", absolute=f"{there!r} Pa", barometer="27.4 inHg").results
    assert back["gauge"] == pytest.approx(13 * 6894.757, rel=1e-6)
    assert back["vacuum"] == pytest.approx(-back["gauge"])


@pytest.mark.parametrize(
    ("inputs", "message"),
    [
        ({"gauge": "10 psi"}, "barometer or altitude"),
        ({"gauge": "10 psi", "barometer": "98 kPa", "altitude": "200 m"}, "both are given"),
        ({"gauge": "-120 kPa", "barometer": "98 kPa"}, "vacuum too deep"),
        ({"gauge": "24.7 psia", "barometer": "98 kPa"}, "absolute pressure stands where gauge"),
    ],
)
def test_absolute_pressure__fault(inputs: dict[str, str], message: str) -> None:
    with pytest.raises(BadInput, match=message):
        evaluate("absolute_pressure", inputs)


def test_pressure_ratio__below_one_is_questioned() -> None:
    answer = ask("pressure_ratio", manifold_pressure="13 psi", barometer="98 kPa")
    assert "written as boost" in questions(answer) or "write it as boost" in questions(answer)
    assert "below 1" in questions(answer)


def test_pressure_ratio__altitude_stands_in_for_the_barometer() -> None:
    by_height = ask("pressure_ratio", boost="10 psi", altitude="1600 m").results["pressure_ratio"]
    at_sea = ask("pressure_ratio", boost="10 psi", altitude="0 m").results["pressure_ratio"]
    assert by_height > at_sea + 0.13  # 68.9/83.5 against 68.9/101.3


def test_boost_elsewhere__same_height_changes_nothing() -> None:
    same = ask("boost_elsewhere", boost="12 psi", altitude="500 m", altitude_there="500 m").results
    assert same["boost_same_absolute"] == pytest.approx(12 * 6894.757, rel=1e-6)
    assert same["pressure_kept"] == pytest.approx(1.0)
    with pytest.raises(BadInput, match="barometer_there or altitude_there"):
        ask("boost_elsewhere", boost="12 psi", altitude="500 m")


# ----------------------------------------------------------------------------- weather
def test_humid_air__from_dew_point_and_from_humidity_agree() -> None:
    first = ask("humid_air", temperature="31 degC", barometer="95.8 kPa", relative_humidity="48 %").results
    dew = f"{first['dew_point_found']!r} K"
    second = ask("humid_air", temperature="31 degC", barometer="95.8 kPa", dew_point=dew).results
    for key in ("vapour_pressure", "density", "humidity_ratio"):
        assert second[key] == pytest.approx(first[key], rel=1e-6)


@pytest.mark.parametrize(
    ("inputs", "message"),
    [
        ({"relative_humidity": "48"}, 'write "48 %"'),
        ({"relative_humidity": "148 %"}, "outside 0 to 100 %"),
        ({"relative_humidity": "48 %", "dew_point": "10 degC"}, "exactly one"),
        ({"dew_point": "40 degC"}, "above the air temperature"),
    ],
)
def test_humid_air__fault(inputs: dict[str, str], message: str) -> None:
    with pytest.raises(BadInput, match=message):
        evaluate("humid_air", {"temperature": "20 degC", "barometer": "100 kPa", **inputs})


def test_station_pressure__goes_and_comes_back() -> None:
    here = ask("station_pressure", altitude="1600 m", sea_level_pressure="30.05 inHg").results["station"]
    back = ask("station_pressure", altitude="1600 m", station_pressure=f"{here!r} Pa").results["sea_level"]
    assert back == pytest.approx(30.05 * 3386.389, rel=1e-9)
    # On the standard day it is the standard atmosphere.
    plain = ask("station_pressure", altitude="1600 m", sea_level_pressure="101.325 kPa").results["station"]
    assert plain == pytest.approx(ask("standard_day", altitude="1600 m").results["pressure"], rel=1e-9)


def test_station_pressure__reduced_figure_taken_for_station_is_questioned() -> None:
    assert "already the sea-level one" in questions(
        ask("station_pressure", altitude="1600 m", station_pressure="1013 mbar")
    )


def test_density_altitude__standard_day_gives_its_own_height() -> None:
    day = ask("standard_day", altitude="1500 m", counted="geopotential").results
    found = ask("density_altitude", temperature=f"{day['temperature']} K", barometer=f"{day['pressure']} Pa").results
    assert found["pressure_altitude"] == pytest.approx(1500.0, abs=0.1)
    assert found["density_altitude"] == pytest.approx(1500.0, abs=8.0)  # real-gas density differs by 4e-4


# ----------------------------------------------------------------------------- demand and power
def test_air_demand__altitude_and_trap() -> None:
    answer = ask("air_demand", **DEMAND, boost="13 psi", barometer="27.4 inHg")
    assert "14.7 psi assumed" in questions(answer)
    assert answer.results["mass_flow_by_habit"] > 1.04 * answer.results["mass_flow"]


def test_volumetric_efficiency__is_the_inverse_of_the_demand() -> None:
    state = {"boost": "13 psi", "barometer": "27.4 inHg"}
    flow = ask("air_demand", **DEMAND, **state).results["mass_flow"]
    rest = {k: v for k, v in DEMAND.items() if k != "volumetric_efficiency"}
    found = ask(
        "volumetric_efficiency", mass_flow=f"{flow!r} kg/s", **rest, **state, outside_temperature="86 F"
    ).results
    assert found["volumetric_efficiency"] == pytest.approx(0.94, rel=1e-9)
    assert found["against_outside"] > 1.5


def test_manifold_pressure_for_flow__is_the_inverse_of_the_demand() -> None:
    flow = ask("air_demand", **DEMAND, boost="13 psi", barometer="27.4 inHg").results["mass_flow"]
    found = ask("manifold_pressure_for_flow", mass_flow=f"{flow!r} kg/s", **DEMAND, barometer="27.4 inHg").results
    assert found["boost_needed"] == pytest.approx(13 * 6894.757, rel=1e-6)


def test_boost_for_power__puts_the_steps_together() -> None:
    answer = ask(
        "boost_for_power",
        power="300 hp",
        consumption="0.58 lb/hp-hr",
        mixture="0.79 lambda",
        stoichiometric_ratio="14.7",
        **DEMAND,
        barometer="97 kPa",
        filter_pull="1.5 kPa",
        loss="7 kPa",
    )
    flow = ask("air_for_power", power="300 hp", consumption="0.58 lb/hp-hr", air_fuel_ratio=str(0.79 * 14.7)).results
    assert answer.results["mass_flow"] == pytest.approx(flow["mass_flow"])
    total = answer.results["manifold_absolute"]
    assert answer.results["pressure_ratio"] == pytest.approx((total + 7e3) / 95.5e3)
    assert answer.results["boost_needed"] == pytest.approx(total - 97e3)


@pytest.mark.parametrize(
    ("inputs", "message"),
    [
        ({}, "displacement, or bore and stroke"),
        ({**ENGINE, "displacement": "2.1 L"}, "leave one of the two out"),
        ({"displacement": "2150"}, "has no unit"),
    ],
)
def test_air_volume__fault(inputs: dict[str, str], message: str) -> None:
    with pytest.raises(BadInput, match=message):
        evaluate("air_volume", {"speed": "6000 rpm", **inputs})


def test_air_for_power__fuel_of_another_kind_is_questioned() -> None:
    assert "same fuel" in questions(
        ask("air_for_power", power="200 hp", consumption="1.2 lb/hp-hr", air_fuel_ratio="12")
    )


# ----------------------------------------------------------------------------- reference states
def test_corrected_flow__comes_back_from_the_map() -> None:
    state = {"inlet_temperature": "86 F", "inlet_pressure": "90.4 kPa", "reference": "545 R 28.4 inHg"}
    plotted = ask("corrected_flow", mass_flow="0.2 kg/s", **state).results["corrected_flow"]
    assert ask("flow_from_map", corrected=f"{plotted!r} kg/s", **state).results["mass_flow"] == pytest.approx(0.2)


def test_between_references__agrees_with_plotting_twice() -> None:
    state = {"mass_flow": "0.2 kg/s", "inlet_temperature": "300 K", "inlet_pressure": "95 kPa"}
    first = ask("corrected_flow", **state, reference="545 R 28.4 inHg").results["corrected_flow"]
    second = ask("corrected_flow", **state, reference="298 K 100 kPa").results["corrected_flow"]
    moved = ask("between_references", corrected=f"{first!r} kg/s", reference="545 R 28.4 inHg", wanted="298 K 100 kPa")
    assert moved.results["corrected_wanted"] == pytest.approx(second, rel=1e-12)


def test_corrected_flow__at_the_reference_is_the_flow() -> None:
    state = {"inlet_temperature": "288.15 K", "inlet_pressure": "101.325 kPa", "reference": "288.15 K 101.325 kPa"}
    found = ask("corrected_flow", mass_flow="0.2 kg/s", **state).results
    assert found["corrected_flow"] == pytest.approx(0.2)
    assert found["corrected_volume_flow"] == pytest.approx(0.2 / 1.225, rel=1e-5)


@pytest.mark.parametrize(
    ("inputs", "message"),
    [
        ({"inlet_pressure": "95 kPa"}, "reference is open"),
        ({"inlet_pressure": "95 kPa", "reference": "298 K 100 kPa", "reference_pressure": "1 bar"}, "leave one out"),
        ({"inlet_pressure": "95 kPa", "filter_pull": "1 kPa", "reference": "298 K 100 kPa"}, "leave barometer"),
    ],
)
def test_corrected_flow__fault(inputs: dict[str, str], message: str) -> None:
    with pytest.raises(BadInput, match=message):
        evaluate("corrected_flow", {"mass_flow": "0.2 kg/s", "inlet_temperature": "25 degC", **inputs})


def test_standard_flow__three_ways_agree() -> None:
    place = {"temperature": "60 degC", "gauge": "13 psi", "barometer": "98.0 kPa"}
    by_mass = ask("standard_flow", mass_flow="31.5 lb/min", **place).results
    by_actual = ask("standard_flow", actual=f"{by_mass['actual_flow']!r} m3/s", **place).results
    by_standard = ask("standard_flow", standard=f"{by_mass['standard_flow']!r} m3/s", **place).results
    for key, value in by_mass.items():
        assert by_actual[key] == pytest.approx(value), key
        assert by_standard[key] == pytest.approx(value), key


def test_standard_flow__standard_cfm_is_refused_where_a_volume_is_due() -> None:
    with pytest.raises(BadInput, match="mass in disguise"):
        ask("standard_flow", actual="400 scfm", temperature="60 degC", pressure="190 kPa")
    assert ask("standard_flow", mass_flow="400 scfm @ 1.225 kg/m3", temperature="15 degC", pressure="1 atm").results[
        "actual_flow"
    ] == pytest.approx(400 * 0.3048**3 / 60, rel=1e-4)


# ----------------------------------------------------------------------------- holes
@given(ratio=st.floats(0.05, 0.999), gamma=st.floats(1.2, 1.66))
def test_flow_function__agrees_with_fluids(ratio: float, gamma: float) -> None:
    critical = fluids.P_critical_flow(1.0, gamma)
    assert ask(
        "orifice_flow",
        diameter="10 mm",
        discharge="1",
        upstream="200 kPa",
        temperature="300 K",
        downstream="1 bar",
        gamma=repr(gamma),
    ).results["critical_ratio"] == pytest.approx(critical, rel=1e-9)
    # A nozzle's Mach number from the library's isentropic relation, then continuity.
    x = max(ratio, critical)
    mach2 = 2 / (gamma - 1) * (x ** ((1 - gamma) / gamma) - 1)
    by_mach = (gamma * mach2) ** 0.5 * (1 + (gamma - 1) / 2 * mach2) ** (-(gamma + 1) / (2 * (gamma - 1)))
    assert flow_function(ratio, gamma) == pytest.approx(by_mach, rel=1e-9)


def test_orifice_for_flow__is_the_inverse() -> None:
    state = {"discharge": "62 %", "upstream": "180 kPa", "temperature": "320 K", "downstream": "101 kPa"}
    flow = ask("orifice_flow", diameter="3 mm", **state).results["mass_flow"]
    assert ask("orifice_for_flow", mass_flow=f"{flow!r} kg/s", **state).results["diameter"] == pytest.approx(3e-3)


def test_orifice_flow__choking_is_said_and_backflow_refused() -> None:
    state = {"diameter": "3 mm", "discharge": "62 %", "temperature": "320 K"}
    assert "choked" in questions(ask("orifice_flow", **state, upstream="300 kPa", downstream="100 kPa"))
    with pytest.raises(BadInput, match="backwards"):
        ask("orifice_flow", **state, upstream="100 kPa", downstream="120 kPa")


def test_bench_flow__condition_stands_for_the_depression() -> None:
    joined = ask("bench_flow", flow="350 cfm @ 3.0 inHg", wanted_depression="1.5 inHg").results
    apart = ask("bench_flow", flow="350 cfm", depression="3.0 inHg", wanted_depression="1.5 inHg").results
    assert joined == apart
    # The square-root law takes too much off: compressible flow lies above it on the way down.
    assert joined["compressible_flow"] > joined["flow_found"]


def test_bench_flow__mercury_for_water_is_questioned() -> None:
    assert "mercury" in questions(ask("bench_flow", flow="350 cfm @ 28 inHg", wanted_depression="10 inH2O"))


def test_loss_scaled__rises_with_flow_squared_and_falls_with_density() -> None:
    first = ask("loss_scaled", loss="1 psi", flow="20 lb/min", wanted_flow="30 lb/min").results["factor"]
    assert first == pytest.approx(2.25)
    dense = ask("loss_scaled", loss="1 psi", flow="20 lb/min", wanted_flow="20 lb/min", wanted_pressure="202.65 kPa")
    assert dense.results["factor"] == pytest.approx(0.5)


# ----------------------------------------------------------------------------- figures by hand
def test_boost_elsewhere__figures_by_hand() -> None:
    """60 kPa over 100 kPa outside, then 80 kPa outside: 160 kPa absolute, 80 kPa gauge, ratio 1.6 means 48 kPa."""
    r = ask("boost_elsewhere", boost="60 kPa", barometer="100 kPa", barometer_there="80 kPa").results
    assert r["absolute"] == pytest.approx(160e3)
    assert r["boost_same_absolute"] == pytest.approx(80e3)
    assert r["absolute_same_gauge"] == pytest.approx(140e3)
    assert r["boost_same_ratio"] == pytest.approx(48e3)
    assert (r["ratio"], r["ratio_same_gauge"], r["ratio_same_absolute"]) == pytest.approx((1.6, 1.75, 2.0))


def test_humid_air__oxygen_follows_the_dry_pressure() -> None:
    r = ask("humid_air", temperature="35 degC", barometer="95 kPa", relative_humidity="60 %").results
    assert r["oxygen_kept"] == pytest.approx(r["dry_pressure"] / 95e3)
    assert 0.96 < r["oxygen_kept"] < 0.97  # 3.4 kPa of 95 kPa is steam


def test_air_for_power__standard_cfm_by_hand() -> None:
    """1.5 cfm of 1.225 kg/m3 a minute is 0.0520 kg; at 12:1 and 0.55 lb/hp-hr a hp takes 0.0499 kg a minute."""
    r = ask("air_for_power", power="100 hp", consumption="0.55 lb/hp-hr", air_fuel_ratio="12").results
    minute = 0.55 * 0.45359237 * 12 / 60
    cfm = 0.3048**3 * 1.225
    per_watt = minute / cfm * 0.3048**3 / 60 / 745.69987
    assert r["standard_flow_per_power"] == pytest.approx(per_watt, rel=1e-6)


def test_effective_area__flows_the_same_through_an_orifice() -> None:
    area = ask("effective_area", flow="180 cfm @ 28 inH2O", area="950 mm2").results
    back = ask(
        "orifice_flow",
        area=f"{area['effective_area']!r} m2",
        discharge="1",
        upstream="101.325 kPa",
        temperature="15 degC",
        drop="28 inH2O",
    ).results
    assert back["upstream_flow"] == pytest.approx(180 * 0.3048**3 / 60, rel=1e-9)
    assert area["flow_coefficient"] == pytest.approx(area["effective_area"] / 950e-6)


def test_port_power__goes_with_density_and_cylinders() -> None:
    one = ask("port_power", flow="160 cfm @ 28 inH2O").results["power"]
    assert one == pytest.approx(0.257 * 160 * 745.69987, rel=1e-6)
    four = ask("port_power", flow="160 cfm @ 28 inH2O", cylinders="4", density_ratio="1.7").results["power"]
    assert four == pytest.approx(4 * 1.7 * one)
