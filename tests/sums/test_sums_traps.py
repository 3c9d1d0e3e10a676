"""Usual slips that must be questioned or told plainly, never answered in silence, never with a traceback."""

from __future__ import annotations

import pytest
from tests.sums.asked import ask, questions, value

from spoolwright.errors import BadInput


def told(name: str, /, **given: str) -> str:
    with pytest.raises(BadInput) as caught:
        ask(name, **given)
    return str(caught.value)


# ----------------------------------------------------------------------------- reading
def test_bare_mixture__is_told_what_to_write() -> None:
    said = told("jet_change", jet="1.85 mm", lambda_measured="0.88", lambda_wanted="0.78 lambda")
    assert '"0.88 lambda"' in said
    assert said.startswith("lambda_measured: ")


def test_exchange_rate__written_as_an_equation_is_told_which_way_round() -> None:
    said = told("landed_cost", goods="6400 USD", fees="80 GBP", exchange_rate="1 USD = 0.79 GBP")
    assert "bare number" in said
    assert "one unit of the goods' currency" in said


def test_decimal_slip__accuses_only_the_odd_one_of_three() -> None:
    answer = ask("compression_ratio_of_cylinders", bore="74 mm", stroke="66.2 mm", chamber="27.1 cc; 276 cc; 26.6 cc")
    accused = [q for q in answer.questions if q.endswith("decimal point?")]
    assert [q.split(":")[0] for q in accused] == ["chamber[2]"]


def test_percent_forgotten__is_offered_where_the_sum_refuses() -> None:
    said = told(
        "injector_size", power="300 hp", consumption="0.6 lb/hp-hr", injectors="4", pressure_across="3 bar", duty="85"
    )
    assert 'duty: "85" without a unit is 8500 %, above 95 %' in said
    assert 'write "85 %"' in said


@pytest.mark.parametrize(
    ("name", "given", "key", "wrong"),
    [
        ("gear_speed", {"speed": "6500 rpm", "gear": "1.26", "final": "4.12", "marking": "195/65R15"}, "slip", "120 %"),
        ("oil_pump_delivery", {"chamber": "12 cc", "speed": "6000 rpm"}, "efficiency", "104 %"),
        (
            "blend_to_target",
            {"in_tank": "20 L", "share_in_tank": "10 %", "target_share": "30 %"},
            "share_added",
            "850 %",
        ),
        ("burst_margin", {}, "weld_factor", "-10 %"),
    ],
)
def test_part_of_a_whole__more_than_all_or_less_than_nothing_is_refused(
    name: str, given: dict[str, str], key: str, wrong: str
) -> None:
    said = told(name, **given, **{key: wrong})
    assert f'"{wrong}" is not possible; it lies between 0 and 100 %' in said


def test_share_above_its_usual_limit__is_questioned_where_a_unit_is_written() -> None:
    flow = {"displacement": "2150 cc", "speed": "6500 rpm"}
    assert "above 130 %" in questions(ask("air_volume", **flow, volumetric_efficiency="140 %"))
    assert not questions(ask("air_volume", **flow, volumetric_efficiency="1.05"))
    assert 'write "94 %"' in told("air_volume", **flow, volumetric_efficiency="94")


def test_open_alternative__is_told_without_talk_of_no_answer() -> None:
    said = told("pressure_ratio", boost="15 psi")
    assert "barometer or altitude" in said
    assert "no answer" not in said


# ----------------------------------------------------------------------------- gauge and absolute
def test_outlet_pressure__off_a_boost_gauge_is_questioned() -> None:
    given = {"inlet_temperature": "25 degC", "inlet_pressure": "98 kPa", "efficiency": "70 %"}
    assert "boost gauge" in questions(ask("compressor_outlet", outlet_pressure="1.0 bar", **given))
    assert "boost gauge" in questions(ask("compressor_power", outlet_pressure="1.0 bar", mass_flow="0.2 kg/s", **given))
    assert not questions(ask("compressor_outlet", outlet_pressure="1.9 bar", **given))


def test_manifold_pressure__hardly_above_the_barometer_is_questioned() -> None:
    day = {"barometer": "30.1 inHg", "filter_pull": "2 kPa"}
    assert "boost gauge" in questions(ask("pressure_ratio", manifold_pressure="15 psi", **day))
    assert "boost gauge" not in questions(ask("pressure_ratio", manifold_pressure="28 psi", **day))


def test_peak_pressure__from_a_gauge_reading_is_questioned() -> None:
    assert "boost gauge" in questions(ask("peak_pressure_band", manifold_pressure="12 psi", compression_ratio="8"))
    assert not questions(ask("peak_pressure_band", manifold_pressure="185 kPa", compression_ratio="8"))


def test_spark_conditions__from_a_gauge_reading_is_questioned() -> None:
    given = {"charge_temperature": "90 degC", "compression_ratio": "8", "advance": "22 deg BTDC"}
    assert "boost gauge" in questions(ask("spark_conditions", p_intake="12 psi", **given))
    assert not questions(ask("spark_conditions", p_intake="185 kPa", **given))


# ----------------------------------------------------------------------------- swapped or unused
def test_charge_cooler__that_warms_is_questioned() -> None:
    assert "warms" in questions(ask("charge_cooler", charge_in="40 degC", coolant="60 degC", effectiveness="75 %"))


def test_shift_to_a_lower_gear__is_questioned() -> None:
    given = {"marking": "195/65R15", "gear": "1.26", "final": "4.12", "speed": "6500 rpm"}
    assert "over-revs" in questions(ask("gear_speed", next_gear="1.9", **given))
    assert not questions(ask("gear_speed", next_gear="0.89", **given))


def test_exchange_rate__that_changes_nothing_is_questioned() -> None:
    given = {"goods": "6400 USD", "freight": "520 USD", "exchange_rate": "0.79"}
    assert "not used" in questions(ask("landed_cost", **given))
    assert "not used" not in questions(ask("landed_cost", pay_currency="GBP", **given))


def test_rate_without_percent__offers_its_own_figure() -> None:
    assert 'tax_rate: "20" without a unit is 2000 %' in told("landed_cost", goods="1000 EUR", tax_rate="20")
    assert "tax_rate of 200 %: was 2 % meant" in questions(ask("landed_cost", goods="1000 EUR", tax_rate="200 %"))


# ----------------------------------------------------------------------------- two turbos, and finding a sum
def test_corrected_flow__of_two_turbos_is_that_of_each() -> None:
    answer = ask(
        "corrected_flow",
        mass_flow="42 lb/min",
        inlet_temperature="560 degR",
        inlet_pressure="27.4 inHg",
        reference="545 R 28.4 inHg",
        compressors="2",
    )
    # Half of 42 lb/min, by hand: 21 * sqrt(560/545) * 28.4/27.4.
    assert value(answer, "corrected_flow", "lb/min") == pytest.approx(22.0639, rel=1e-4)


def test_unknown_name__is_looked_for_in_the_titles() -> None:
    with pytest.raises(BadInput, match="retard"):
        ask("how_much_timing_retard")
    with pytest.raises(BadInput, match="drive_ratio"):
        ask("drive pressure")
    with pytest.raises(BadInput, match='called "bov"; `spoolwright sum`'):
        ask("bov")


# ----------------------------------------------------------------------------- no answer
def test_root_of_a_negative__is_told_without_a_traceback() -> None:
    assert "no real answer" in told("sound_speed", temperature="20 degC", gamma="-1")


def test_air_demand__of_no_filling_is_nothing_not_a_traceback() -> None:
    given = {"displacement": "2 L", "speed": "6000 rpm", "manifold_temperature": "50 degC", "boost": "1 bar"}
    assert value(ask("air_demand", volumetric_efficiency="0 %", barometer="98 kPa", **given), "mass_flow") == 0.0
