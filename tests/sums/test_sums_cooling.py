"""Sums of cooling: laws against slow twins and a heat transfer library, traps, faults."""

from __future__ import annotations

import pytest
from asked import ask, questions, value
from ht import fin_efficiency_Kern_Kraus

from spoolwright.errors import BadInput

FAN = {"test_speed": "8000 rpm", "test_flow": "1350 cfm", "test_pressure": "8 inH2O", "test_power": "7.1 hp"}
PULLEYS = {"crank_pulley": "178 mm", "fan_pulley": "99 mm", "engine_speed": "6500 rpm"}


def test_pulley__the_cubed_power_is_said() -> None:
    answer = ask("fan_pulley_change", **FAN, **PULLEYS, new_crank_pulley="191 mm")
    assert "24 % more power for 7 % more air" in questions(answer)
    assert value(answer, "power", "hp") / value(answer, "power_before", "hp") == pytest.approx((191 / 178) ** 3)


def test_pulley__same_pulleys_change_nothing() -> None:
    answer = ask("fan_pulley_change", **FAN, **PULLEYS)
    assert value(answer, "speed_after") == value(answer, "speed_before")
    assert not answer.questions


def test_pulley__a_fast_rim_is_questioned() -> None:
    answer = ask("fan_pulley_change", **FAN, **PULLEYS, new_crank_pulley="230 mm", wheel_diameter="165 mm")
    assert "was this wheel made for it" in questions(answer)
    assert "burst" in answer.sum.caution


def test_fan__thin_air_moves_less_mass_at_less_power() -> None:
    high = ask("fan_at_speed", **FAN, speed="8000 rpm", density="0.96 kg/m3", test_density="1.2 kg/m3")
    assert value(high, "flow", "cfm") == pytest.approx(1350)
    assert value(high, "mass_flow_ratio") == pytest.approx(0.8)
    assert value(high, "power", "hp") == pytest.approx(0.8 * 7.1)


def test_fan_and_system__curve_and_parabola_meet_at_one_point() -> None:
    flows = [i / 200 for i in range(390)]
    curve = "; ".join(f"{q} m3/s: {1500 - 400 * q * q} Pa" for q in flows)
    system = {"system_flow": "1 m3/s", "system_pressure": "500 Pa"}
    measured = ask("fan_system_curve", fan=curve, **system)
    parabola = ask(
        "fan_system_parabola", shut_off_pressure="1500 Pa", fan_flow="1 m3/s", fan_pressure="1100 Pa", **system
    )
    assert value(measured, "flow") == pytest.approx(value(parabola, "flow"), rel=1e-4)
    faster = ask("fan_system_curve", fan=curve, speed_ratio="1.2", **system)
    assert value(faster, "flow") == pytest.approx(1.2 * value(measured, "flow"), rel=1e-9)


def test_fan_and_system__outside_the_curve_is_refused() -> None:
    with pytest.raises(BadInput, match="do not meet inside the measured curve"):
        ask(
            "fan_system_curve",
            fan="0 cfm: 9 inH2O; 800 cfm: 8.5 inH2O",
            system_flow="1350 cfm",
            system_pressure="2 inH2O",
        )


def test_shroud__shares_sum_and_sealing_is_offered() -> None:
    answer = ask(
        "shroud_leak", cooling_areas="52; 52; 50; 52 cm2", leak_areas="18; 9 cm2", total_flow="1350 cfm",
        cooling_coefficient="0.62",
    )  # fmt: skip
    assert sum(answer.results["flow_each"]) + sum(answer.results["leak_each"]) == pytest.approx(
        1350 * 0.0254**3 * 1728 / 60
    )
    assert value(answer, "leak_share") == pytest.approx(27 / 233)  # equal coefficients: areas alone
    assert value(answer, "power_ratio_by_speed") == pytest.approx((233 / 206) ** 3)
    assert "seal first?" in questions(answer)
    assert value(answer, "worst_share") == pytest.approx(50 / 51.5)


# ----------------------------------------------------------------------------- fins
@pytest.mark.parametrize("coefficient", [10, 80, 400])
@pytest.mark.parametrize(("root", "length", "thickness"), [(100, 29, 2), (25, 15, 1), (60, 40, 0.5)])
def test_annular_fin__against_a_heat_transfer_library(
    root: float, length: float, thickness: float, coefficient: float
) -> None:
    answer = ask(
        "fin_annular", root_diameter=f"{root} mm", length=f"{length} mm", thickness=f"{thickness} mm",
        conductivity="160 W/(m K)", coefficient=f"{coefficient} W/(m2 K)", root_temperature="200 degC",
        air_temperature="30 degC",
    )  # fmt: skip
    tip = (root + 2 * length + thickness) / 1000  # the library takes the tip as it stands
    exact = fin_efficiency_Kern_Kraus(Do=root / 1000, D_fin=tip, t_fin=thickness / 1000, k_fin=160, h=coefficient)
    assert value(answer, "efficiency") == pytest.approx(exact, rel=1e-9)


def test_annular_fin__on_a_large_root_is_a_straight_fin() -> None:
    fin = {
        "length": "30 mm", "thickness": "2 mm", "conductivity": "160 W/(m K)", "coefficient": "80 W/(m2 K)",
        "root_temperature": "200 degC", "air_temperature": "30 degC",
    }  # fmt: skip
    straight = value(ask("fin_straight", **fin), "efficiency")
    assert value(ask("fin_annular", root_diameter="60 m", **fin), "efficiency") == pytest.approx(straight, rel=1e-3)


def test_finned_cylinder__no_fins_is_the_plain_one() -> None:
    rest = {
        "height": "150 mm", "root_diameter": "50 mm", "thickness": "6 mm", "length": "20 mm",
        "conductivity": "186 W/(m K)", "coefficient": "50 W/(m2 K)", "root_temperature": "500 K",
        "air_temperature": "300 K",
    }  # fmt: skip
    none = ask("finned_cylinder", **rest, fins="0")
    assert value(none, "heat") == pytest.approx(value(none, "heat_without_fins"))
    with pytest.raises(BadInput, match="do not fit"):
        ask("finned_cylinder", **rest, fins="26")


# ----------------------------------------------------------------------------- heat and time
def test_air__needed_and_rise_are_inverse() -> None:
    need = ask("cooling_air_needed", heat="25 kW", temperature_rise="60 K")
    rise = ask(
        "cooling_air_rise", heat="25 kW", mass_flow=f"{value(need, 'mass_flow')} kg/s", inlet_temperature="28 degC"
    )
    assert value(rise, "temperature_rise") == pytest.approx(60.0)
    back = ask(
        "cooling_air_rise",
        mass_flow=f"{value(need, 'mass_flow')} kg/s",
        inlet_temperature="28 degC",
        outlet_temperature="88 degC",
    )
    assert value(back, "heat", "kW") == pytest.approx(25.0)


def test_seconds_to_limit__against_small_steps() -> None:
    answer = ask("seconds_to_limit", mass="14 kg", heat_in="9 kW", start="150 degC", limit="205 degC", conductance="40")
    T, t, dt = 150.0, 0.0, 0.01
    while T < 205.0:
        T += dt * (9000 - 40 * (T - 30)) / (14 * 900)
        t += dt
    assert value(answer, "time") == pytest.approx(t, rel=1e-3)
    steady = ask(
        "seconds_to_limit",
        mass="14 kg",
        heat_in="9 kW",
        start="150 degC",
        limit="205 degC",
        steady_temperature="255 degC",
    )
    assert value(steady, "time") == pytest.approx(value(answer, "time"))


def test_seconds_to_limit__settling_below_has_no_time() -> None:
    answer = ask("seconds_to_limit", mass="14 kg", heat_in="5 kW", start="150 degC", limit="205 degC", conductance="40")
    assert answer.results["time"] is None
    assert value(answer, "settles_at", "degC") == pytest.approx(155.0)


def test_seconds_to_cool__back_along_the_same_curve() -> None:
    answer = ask("seconds_to_cool", mass="14 kg", conductance="40", start="205 degC", wanted="120 degC")
    assert value(answer, "time") == pytest.approx(315 * 0.665, rel=1e-3)  # ln(175 / 90) = 0.665
    with pytest.raises(BadInput, match="must lie below the start"):
        ask("seconds_to_cool", mass="14 kg", conductance="40", start="100 degC", wanted="120 degC")


def test_heat__both_ends_of_the_rule_stand_beside_it() -> None:
    answer = ask("heat_to_cooling_air", power="150 kW")
    assert value(answer, "heat_low") < value(answer, "heat") < value(answer, "heat_high")
    assert "memory" in answer.sum.source
