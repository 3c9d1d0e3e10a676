"""Sums of the topic boost: limits, inverses, faults, questions, agreement with general libraries."""

from __future__ import annotations

import math

import fluids
import ht
import pytest
from asked import ask, questions
from hypothesis import given, settings
from hypothesis import strategies as st

from spoolwright.errors import BadInput
from spoolwright.sums.boost_cooler import effectiveness_of, ntu_for
from spoolwright.sums.evaluate import evaluate

SPRING = {"spring_rate": "9.8 N/mm", "free_length": "58 mm", "installed_length": "41 mm"}
GATE = {**SPRING, "diaphragm_diameter": "62 mm", "valve_diameter": "38 mm"}
PSI = 6894.757293168361


# ----------------------------------------------------------------------------- compressor and turbine
@settings(max_examples=50)
@given(ratio=st.floats(1.1, 4.0), eta=st.floats(0.5, 0.84), start=st.floats(260.0, 330.0))
def test_compressor_outlet__agrees_with_fluids(ratio: float, eta: float, start: float) -> None:
    theirs = fluids.isentropic_T_rise_compression(start, 1e5, ratio * 1e5, 1.4, eta=eta)
    ours = ask("compressor_outlet", inlet_temperature=f"{start!r} K", pressure_ratio=repr(ratio), efficiency=repr(eta))
    assert ours.results["outlet_temperature"] == pytest.approx(theirs, rel=1e-9)


def test_compressor_efficiency__is_the_inverse() -> None:
    out = ask("compressor_outlet", inlet_temperature="25 degC", pressure_ratio="2.2", efficiency="71 %").results
    hot = f"{out['outlet_temperature']!r} K"
    back = ask("compressor_efficiency", inlet_temperature="25 degC", outlet_temperature=hot, pressure_ratio="2.2")
    assert back.results["efficiency"] == pytest.approx(0.71)


def test_compressor_power__molar_work() -> None:
    """fluids 1.3.1, isentropic_work_compression, documentation example: 10416.876986384 J/mol."""
    cp_molar = 1.4 / 0.4 * 8.31446261815324
    answer = ask(
        "compressor_power",
        mass_flow="1 kg/s",
        inlet_temperature="300 K",
        pressure_ratio="10",
        efficiency="78 %",
        heat_capacity=f"{cp_molar / 0.0289654!r} J/(kg K)",
    )
    assert answer.results["work"] * 0.0289654 == pytest.approx(10416.876986384, rel=1e-5)


@pytest.mark.parametrize(
    ("name", "inputs", "message"),
    [
        ("compressor_outlet", {"inlet_temperature": "30 degC", "pressure_ratio": "2", "efficiency": "72"}, "72 %"),
        ("compressor_outlet", {"inlet_temperature": "30 degC", "efficiency": "72 %"}, "give pressure_ratio"),
        (
            "compressor_outlet",
            {"inlet_temperature": "30 degC", "efficiency": "72 %", "inlet_pressure": "98 kPa"},
            "needs outlet_pressure",
        ),
        (
            "compressor_efficiency",
            {"inlet_temperature": "118 degC", "outlet_temperature": "25 degC", "pressure_ratio": "2"},
            "which probe",
        ),
        (
            "turbine_outlet",
            {"inlet_temperature": "850 degC", "before": "1.0 bar", "behind": "1.6 bar", "efficiency": "65 %"},
            "above 1",
        ),
        (
            "turbine_balance",
            {
                "compressor_power": "200 kW",
                "mass_flow": "0.2 kg/s",
                "inlet_temperature": "900 degC",
                "efficiency": "65 %",
            },
            "at any expansion",
        ),
    ],
)
def test_machine__fault(name: str, inputs: dict[str, str], message: str) -> None:
    with pytest.raises(BadInput, match=message):
        evaluate(name, inputs)


def test_compressor_efficiency__too_good_to_be_true_is_questioned() -> None:
    answer = ask(
        "compressor_efficiency", inlet_temperature="25 degC", outlet_temperature="90 degC", pressure_ratio="2.1"
    )
    assert "probe" in questions(answer)


def test_turbine_balance__power_of_the_turbine_is_the_compressors() -> None:
    gas = {"mass_flow": "0.21 kg/s", "inlet_temperature": "900 degC", "efficiency": "66 %", "bypass": "20 %"}
    ratio = ask("turbine_balance", compressor_power="17 kW", **gas, behind="106 kPa").results
    back = ask("turbine_power", **gas, expansion_ratio=repr(ratio["expansion_ratio"])).results
    assert back["shaft_power"] == pytest.approx(17e3, rel=1e-9)
    assert ratio["drive_pressure"] == pytest.approx(106e3 * ratio["expansion_ratio"])


def test_bypass_share__closes_the_balance() -> None:
    state = {"inlet_temperature": "900 degC", "before": "210 kPa", "behind": "108 kPa", "efficiency": "65 %"}
    share = ask("bypass_share", compressor_power="18 kW", mass_flow="0.22 kg/s", **state).results
    power = ask("turbine_power", mass_flow=f"{share['turbine_flow']!r} kg/s", **state).results["shaft_power"]
    assert power == pytest.approx(18e3, rel=1e-9)
    assert share["turbine_flow"] + share["bypass_flow"] == pytest.approx(0.22)
    none = ask("bypass_share", compressor_power="40 kW", mass_flow="0.22 kg/s", **state)
    assert none.results["gate_diameter"] is None
    assert "no bypass is needed" in questions(none)


# ----------------------------------------------------------------------------- cooler
THEIRS = {
    "counterflow": "counterflow",
    "parallel": "parallel",
    "crossflow": "crossflow",
    "crossflow, larger flow mixed": "crossflow, mixed Cmax",
    "crossflow, smaller flow mixed": "crossflow, mixed Cmin",
}


@pytest.mark.parametrize("arrangement", THEIRS)
@pytest.mark.parametrize("capacity_ratio", [0.05, 0.3, 0.7, 0.95, 1.0])
@pytest.mark.parametrize("ntu", [0.1, 0.8, 2.5, 6.0])
def test_effectiveness__agrees_with_ht(arrangement: str, capacity_ratio: float, ntu: float) -> None:
    theirs = ht.effectiveness_from_NTU(NTU=ntu, Cr=capacity_ratio, subtype=THEIRS[arrangement])
    assert effectiveness_of(ntu, capacity_ratio, arrangement) == pytest.approx(theirs, rel=1e-7)
    assert ntu_for(theirs, capacity_ratio, arrangement) == pytest.approx(ntu, rel=1e-4)


def test_cooler_rating__heat_is_the_same_on_both_sides() -> None:
    r = ask(
        "cooler_rating",
        heat_transfer="80 W/(m2 K)",
        area="2.5 m2",
        hot_flow="0.2 kg/s",
        cold_flow="0.6 kg/s",
        hot_in="130 degC",
        cold_in="32 degC",
    ).results
    assert r["heat"] == pytest.approx(0.6 * 1005.0 * (r["cold_out"] - 305.15))
    assert r["heat"] == pytest.approx(0.2 * 1004.7 * (403.15 - r["hot_out"]), rel=1e-4)


def test_charge_path__without_cooler_is_the_compressor() -> None:
    state = {"inlet_temperature": "30 degC", "pressure_ratio": "2.1", "efficiency": "72 %"}
    bare = ask("charge_path", **state, inlet_pressure="98.5 kPa")
    alone = ask("compressor_outlet", **state).results
    assert bare.results["after_cooler"] == pytest.approx(alone["outlet_temperature"])
    assert bare.results["density_ratio"] == pytest.approx(alone["density_ratio"])
    assert "knock" in questions(bare)


def test_cooler_effectiveness__nothing_to_cool() -> None:
    with pytest.raises(BadInput, match="nothing to cool"):
        ask("cooler_effectiveness", charge_in="30 degC", charge_out="28 degC", coolant="32 degC")


# ----------------------------------------------------------------------------- wastegate
def test_wastegate_crack__without_exhaust_pressure_asks_for_it() -> None:
    answer = ask("wastegate_crack", **GATE)
    assert answer.results["cracking_boost"] is None
    assert answer.results["cracking_boost_without_exhaust"] == pytest.approx(8.00355 * PSI, rel=1e-5)
    assert "exhaust_ratio" in questions(answer)


def test_wastegate_crack__label_preload_and_lengths_agree() -> None:
    by_length = ask("wastegate_crack", **GATE, exhaust_ratio="1.4").results["cracking_boost"]
    rest = {"diaphragm_diameter": "62 mm", "valve_diameter": "38 mm", "exhaust_ratio": "1.4"}
    assert ask("wastegate_crack", preload="166.6 N", **rest).results["cracking_boost"] == pytest.approx(by_length)
    label = f"{166.6 / (math.pi / 4 * 0.062**2)!r} Pa"
    assert ask("wastegate_crack", label=label, **rest).results["cracking_boost"] == pytest.approx(by_length)


def test_wastegate_crack__balance_with_signal_on_both_sides() -> None:
    """Forces reckoned by hand at the boost found: opening = closing."""
    found = ask(
        "wastegate_crack", **GATE, exhaust_ratio="1.2", spring_side_share="30 %", back_pressure="8 kPa"
    ).results["cracking_boost"]
    area, valve = math.pi / 4 * 0.062**2, math.pi / 4 * 0.038**2
    opening = found * area + 1.2 * found * valve
    closing = 166.6 + 0.30 * found * area + 8e3 * valve
    assert opening == pytest.approx(closing, rel=1e-9)


def test_wastegate_crack__exhaust_that_pushes_shut_raises_boost_or_never_opens() -> None:
    shut = ask("wastegate_crack", **GATE, exhaust_ratio="1.4", exhaust_pushes="shut").results
    assert shut["cracking_boost"] > shut["cracking_boost_without_exhaust"]
    with pytest.raises(BadInput, match="never opens"):
        ask("wastegate_crack", **GATE, exhaust_ratio="2.8", exhaust_pushes="shut")
    with pytest.raises(BadInput, match="never opens"):
        ask("wastegate_crack", **GATE, exhaust_ratio="0", spring_side_share="100 %")


@pytest.mark.parametrize(
    ("inputs", "message"),
    [
        ({**GATE, "preload": "100 N"}, "say the same thing"),
        ({"diaphragm_diameter": "62 mm", "valve_diameter": "38 mm"}, "give preload"),
        ({**GATE, "installed_length": "60 mm"}, "swapped"),
        ({**GATE, "exhaust_ratio": "1.4", "exhaust_pressure": "90 kPa"}, "only one"),
        ({"preload": "100 N", "shim": "2 mm", "diaphragm_diameter": "62 mm", "valve_diameter": "38 mm"}, "shim counts"),
    ],
)
def test_wastegate_crack__fault(inputs: dict[str, str], message: str) -> None:
    with pytest.raises(BadInput, match=message):
        evaluate("wastegate_crack", inputs)


def test_wastegate_spring__gives_the_boost_back() -> None:
    rest = {"diaphragm_diameter": "62 mm", "valve_diameter": "38 mm", "exhaust_ratio": "1.4"}
    need = ask("wastegate_spring", target="8 psi", **rest, **SPRING).results
    crack = ask("wastegate_crack", **GATE, exhaust_ratio="1.4", shim=f"{need['shim_to_add']!r} m").results
    assert crack["cracking_boost"] == pytest.approx(8 * PSI, rel=1e-9)


def test_flap_crack__lever_of_one_is_the_plain_gate() -> None:
    flap = {**GATE, "flap_diameter": "38 mm", "flap_arm": "20 mm", "rod_arm": "20 mm", "exhaust_ratio": "1.4"}
    del flap["valve_diameter"]
    assert ask("flap_crack", **flap).results["cracking_boost"] == pytest.approx(36163.7, rel=1e-5)
    longer = ask("flap_crack", **{**flap, "rod_arm": "40 mm"}).results
    assert longer["lever_ratio"] == pytest.approx(0.5)
    assert longer["cracking_boost"] > 36163.7


def test_spring_stack__short_spring_does_not_count() -> None:
    both = ask("spring_stack", spring_rates="4 N/mm; 6 N/mm", free_lengths="60 mm; 38 mm", installed_length="41 mm")
    assert both.results["preload"] == pytest.approx(4e3 * 0.019)
    assert both.results["rate"] == pytest.approx(4e3)


def test_boost_hose_off__exhaust_alone_or_never() -> None:
    alone = ask("boost_hose_off", **SPRING, valve_diameter="38 mm", exhaust_ratio="1.4", boost_possible="80 kPa")
    valve = math.pi / 4 * 0.038**2
    assert alone.results["exhaust_to_open"] == pytest.approx(166.6 / valve)
    assert alone.results["boost_then"] == pytest.approx(166.6 / valve / 1.4)
    assert "never opens" in questions(alone)
    shut = ask("boost_hose_off", **SPRING, valve_diameter="38 mm", exhaust_pushes="shut")
    assert shut.results["exhaust_to_open"] is None
    assert "nothing opens" in questions(shut)


def test_bleed__size_and_boost_are_inverses_and_small_signals_follow_the_square_law() -> None:
    hole = ask(
        "bleed_size", cracking_pressure="7 psi", target="11 psi", restrictor="1.5 mm", barometer="98 kPa"
    ).results
    back = ask(
        "bleed_boost", cracking_pressure="7 psi", restrictor="1.5 mm", bleed=f"{hole['bleed']!r} m", barometer="98 kPa"
    )
    assert back.results["boost"] == pytest.approx(11 * PSI, rel=1e-7)
    tiny = ask(
        "bleed_boost", cracking_pressure="0.3 kPa", restrictor="1.5 mm", bleed="1.2 mm", barometer="98 kPa"
    ).results
    assert tiny["boost"] == pytest.approx(tiny["square_law_boost"], rel=3e-3)
    none = ask(
        "bleed_boost", cracking_pressure="7 psi", restrictor="1.5 mm", bleed="0.001 mm", barometer="98 kPa"
    ).results
    assert none["boost_gain"] == pytest.approx(1.0, abs=1e-6)


# ----------------------------------------------------------------------------- shaft and margins
def test_map_margin__reads_the_line_and_refuses_to_go_beyond() -> None:
    line = "1.5: 0.05 kg/s; 2.0: 0.08 kg/s; 2.5: 0.11 kg/s"
    found = ask("map_margin", corrected_flow="0.10 kg/s", pressure_ratio="2.25", surge_line=line).results
    assert found["surge_flow"] == pytest.approx(0.095)
    with pytest.raises(BadInput, match="outside the surge line"):
        ask("map_margin", corrected_flow="0.10 kg/s", pressure_ratio="2.8", surge_line=line)
    left = ask("map_margin", corrected_flow="0.07 kg/s", pressure_ratio="2.0", surge_line=line)
    assert "left of the surge line" in questions(left)


def test_tip_speed__beyond_any_wheel_is_questioned() -> None:
    assert "beyond usual" in questions(ask("tip_speed", diameter="104 mm", speed="150000 rpm"))


def test_turbo_spin_up__without_surplus() -> None:
    with pytest.raises(BadInput, match="surplus"):
        ask("turbo_spin_up", inertia="5e-5 kg m2", from_speed="20000 rpm", to_speed="90000 rpm", net_power="0 kW")


# ----------------------------------------------------------------------------- figures by hand
def test_boost_hose_off__forces_balance_with_a_signal_left_on_the_spring_side() -> None:
    r = ask(
        "boost_hose_off",
        **SPRING,
        diaphragm_diameter="40 mm",
        valve_diameter="42 mm",
        exhaust_ratio="1.5",
        back_pressure="6 kPa",
        spring_side_share="50 %",
    ).results
    area, valve = math.pi / 4 * 0.040**2, math.pi / 4 * 0.042**2
    opening = (r["exhaust_to_open"] - 6e3) * valve
    closing = 166.6 + 0.5 * r["boost_then"] * area
    assert opening == pytest.approx(closing, rel=1e-9)
    assert r["exhaust_to_open"] == pytest.approx(1.5 * r["boost_then"])


def test_spring_preload__shim_adds() -> None:
    assert ask("spring_preload", **SPRING, shim="2 mm").results["preload"] == pytest.approx(9.8 * 19)


def test_tip_speed__by_hand() -> None:
    """52 mm at 150000 rpm is 2500 turns a second of 163.36 mm."""
    r = ask("tip_speed", diameter="52 mm", speed="150000 rpm", inlet_temperature="25 degC").results
    assert r["tip_speed"] == pytest.approx(2500 * math.pi * 0.052)
    assert r["tip_mach"] == pytest.approx(r["tip_speed"] / 346.1, rel=1e-3)  # sound at 25 degC


def test_tip_speed_for_rise__shaft_speed_turns_that_tip() -> None:
    r = ask("tip_speed_for_rise", temperature_rise="110 K", slip="75 %", diameter="52 mm").results
    back = ask("tip_speed", diameter="52 mm", speed=f"{r['shaft_speed']!r} rad/s").results["tip_speed"]
    assert back == pytest.approx(r["tip_speed"])


def test_drive_ratio__gauge_and_absolute_by_hand() -> None:
    r = ask("drive_ratio", boost="100 kPa", drive_pressure="150 kPa", barometer="100 kPa").results
    assert (r["gauge_ratio"], r["absolute_ratio"], r["difference"]) == pytest.approx((1.5, 1.25, 50e3))
    assert "twice the boost" in questions(
        ask("drive_ratio", boost="10 psi", drive_pressure="25 psi", barometer="98 kPa")
    )


def test_fill_time__mass_balance() -> None:
    r = ask("fill_time", volume="10 L", pressure_rise="100 kPa", temperature="300 K", surplus_flow="0.05 kg/s").results
    assert r["air"] == pytest.approx(1000 / (287.05287 * 300))
    assert r["time"] == pytest.approx(r["air"] / 0.05)


def test_cooler_rating__effectiveness_on_the_charge_when_the_cooling_air_is_the_smaller_flow() -> None:
    r = ask(
        "cooler_rating",
        heat_transfer="80 W/(m2 K)",
        area="2.5 m2",
        hot_flow="0.3 kg/s",
        cold_flow="0.1 kg/s",
        hot_in="130 degC",
        cold_in="32 degC",
    ).results
    assert r["effectiveness_on_hot"] == pytest.approx((403.15 - r["hot_out"]) / 98.0)
    assert r["effectiveness"] > r["effectiveness_on_hot"]
