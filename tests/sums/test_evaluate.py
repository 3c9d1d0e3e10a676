"""How a sum is done: reading what was typed, questions, bands, working."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from asked import asks

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sums.evaluate import as_json, describe, evaluate, find, written

PARTS = {"bore": "92.5 mm", "stroke": "80 mm", "chamber": "56.5 cc", "dish": "6.2 cc", "deck": "45 thou"}


def fault(name: str, given: dict[str, object]) -> str:
    with pytest.raises(BadInput) as caught:
        evaluate(name, given)
    return str(caught.value)


# ----------------------------------------------------------------------------- bare numbers and slips
def test_bare_number__is_refused_with_the_unit_that_fits() -> None:
    said = fault("compression_ratio", {**PARTS, "bore": "3.642", "stroke": "80"})
    bore, stroke = said.splitlines()
    assert bore.startswith("bore: ")
    assert "3.642 mm is not plausible" in bore
    assert "3.642 in (92.51 mm)" in bore
    assert stroke.startswith("stroke: ")
    assert "80 mm" in stroke


def test_bare_number__of_python_is_refused_too() -> None:
    assert "no unit" in fault("compression_ratio", {**PARTS, "bore": 92.5})


def test_bare_number__without_any_fitting_unit_says_so() -> None:
    assert "no unit makes it plausible" in fault("compression_ratio", {**PARTS, "bore": "9e9"})


def test_thou_read_as_mm__is_questioned() -> None:
    answer = evaluate("compression_ratio", {**PARTS, "deck": "45 mm"})
    assert answer.results["compression_ratio"] == pytest.approx(2.475, abs=0.01)  # near 2:1
    assert asks(answer, "deck", "45 thou (1.143 mm) fits")
    assert asks(answer, "unusual")


def test_wrong_sign__is_offered() -> None:
    assert asks(evaluate("compression_ratio", {**PARTS, "chamber": "-56.5 cc", "dish": "80 cc"}), "other sign")


def test_decimal_point__is_offered() -> None:
    assert asks(evaluate("compression_ratio", {**PARTS, "bore": "925 mm"}), "decimal point", "92.5 mm")


def test_decimal_point__in_a_row_of_like_values() -> None:
    answer = evaluate("burette_repeat", {"readings": "56.3; 5.65; 56.5; 56.4 cc"})
    assert asks(answer, "readings[2]", "decimal point?")


def test_wrong_kind_of_unit__is_a_fault_with_the_allowed() -> None:
    said = fault("compression_ratio", {**PARTS, "chamber": "56.5 mm"})
    assert said.startswith("chamber: ")
    assert "cc" in said


# ----------------------------------------------------------------------------- all faults, closest names
def test_faults__all_at_once_a_line_each() -> None:
    lines = fault("compression_ratio", {"bore": "92.5", "stork": "80 mm", "chamber": "x"}).splitlines()
    assert len(lines) == 4
    assert any(line.startswith("compression_ratio has no input") and '"stroke"' in line for line in lines)
    assert any(line.startswith("stroke is missing") and "write for example" in line for line in lines)


def test_unknown_sum__names_the_closest() -> None:
    with pytest.raises(BadInput, match="did you mean"):
        find("ring gaps")
    with pytest.raises(BadInput, match="no sum called"):
        find("")


def test_choice__closest_word() -> None:
    given = {"lift": "0 deg: 1 mm; 10 deg: 2 mm", "drop": "5 mm", "stroke": "80 mm", "rod_length": "137 mm"}
    assert 'did you mean "exhaust"' in fault("valve_to_piston", {**given, "valve": "exaust"})


def test_impossible__is_one_sentence() -> None:
    said = fault("compression_ratio", {**PARTS, "chamber": "8 cc", "dish": "-60 cc"})
    assert "no clearance volume is left" in said
    assert "\n" not in said


def test_division_by_zero__is_a_fault() -> None:
    said = fault("spring_rate", {"load_1": "300 N", "height_1": "40 mm", "load_2": "700 N", "height_2": "40 mm"})
    assert "differ" in said
    assert "no answer" in fault("speed_for_piston_speed", {"stroke": "0 mm", "mean_piston_speed": "20 m/s"})


# ----------------------------------------------------------------------------- lists and curves
@pytest.mark.parametrize(
    "text",
    [
        "55.8; 56.9; 57.4; 56.1 cc",
        "55.8 cc; 56.9 cc; 57.4 cc; 56.1 cc",
        "55.8, 56.9, 57.4 and 56.1 cc",
        "55,8; 56,9; 57,4; 56,1 cc",
        ["55.8", "56.9", "57.4", "56.1 cc"],
        ["55.8 cc", "56.9 cc", "57.4 cc", "56.1 cc"],
        "0.0558; 0.0569; 0.0574; 0.0561 L",
        "55.8; 5.69e1; 57.4; 5.61e1 cc",
        "55.8 ± 0.2; 56.9; 57.4; 56.1 cc",
    ],
)
def test_list__one_unit_behind_the_last_serves_all(text: object) -> None:
    answer = evaluate("burette_repeat", {"readings": text})
    assert answer.results["mean"] == pytest.approx(56.55e-6, rel=1e-12)


def test_list__without_any_unit_names_each() -> None:
    lines = fault("burette_repeat", {"readings": "55.8; 56.9"}).splitlines()
    assert lines[0].startswith("readings[1]: ")


def test_list__for_a_single_input_is_refused() -> None:
    assert "takes one value, 2 were given" in fault("swept_volume", {"bore": ["92 mm", "93 mm"], "stroke": "80 mm"})


def test_list__uneven_lengths_are_named() -> None:
    given = {"bore": "92.5 mm", "stroke": "80 mm", "chamber": "55; 56; 57 cc", "deck": "1.0; 1.1 mm"}
    assert "deck has 2 values where 1 or 3 are needed" in fault("compression_ratio_of_cylinders", given)


CURVE = {"drop": "5 mm", "stroke": "80 mm", "rod_length": "137 mm"}


@pytest.mark.parametrize(
    ("lift", "words"),
    [
        ("0 deg 1 mm; 10 deg 2 mm", "not a pair"),
        ("0 deg: 1 mm", "at least two points"),
        ("10 deg: 1 mm; 0 deg: 2 mm", "must rise"),
        ("0 deg: 1 mm; 0 deg: 2 mm", "must rise"),
        ("0 deg: 1; 10 deg: 2 mm", "lift[1]"),
    ],
)
def test_curve__faults(lift: str, words: str) -> None:
    assert words in fault("valve_to_piston", {**CURVE, "lift": lift})


def test_curve__as_pairs() -> None:
    text = evaluate("valve_to_piston", {**CURVE, "lift": "-10 deg: 1 mm; 0 deg: 1.5 mm; 10 deg: 2.5 mm"})
    pairs = evaluate(
        "valve_to_piston",
        {**CURVE, "lift": [("-10 deg", "1 mm"), ("0 deg", "1.5 mm"), ("10 deg", "2.5 mm")]},
    )
    assert text.results == pairs.results


# ----------------------------------------------------------------------------- words, senses, conditions
def test_named_value__stands_for_its_figure() -> None:
    word = evaluate("length_at_temperature", {"length": "100 mm", "material": "Cast Iron", "temperature": "120 degC"})
    figure = evaluate(
        "length_at_temperature", {"length": "100 mm", "material": "11.4e-6 1/K", "temperature": "120 degC"}
    )
    assert word.results == figure.results
    assert "cast iron (11.4e-6 1/K)" in word.working
    assert describe(word.sum)["inputs"]["material"]["named"]["cast iron"] == "11.4e-6 1/K"


def test_named_value__closest_word() -> None:
    given = {"length": "100 mm", "temperature": "120 degC"}
    assert 'did you mean "cast iron"?' in fault("length_at_temperature", {**given, "material": "cast irn"})
    assert "or one of: steel" in fault("length_at_temperature", {**given, "material": "xyz"})


def test_event_angle__the_other_sense_turns_the_sign() -> None:
    events = {"intake_closing": "60 deg", "exhaust_opening": "60 deg", "exhaust_closing": "20 deg"}
    late = evaluate("cam_timing", {**events, "intake_opening": "10 deg ATDC"})
    early = evaluate("cam_timing", {**events, "intake_opening": "10 deg BTDC"})
    assert late.results["intake_duration"] == pytest.approx(230.0)
    assert early.results["intake_duration"] == pytest.approx(250.0)
    assert late.results["overlap"] == pytest.approx(10.0)


def test_event_angle__of_a_sheet_is_taken_as_written() -> None:
    """A sheet's "60 deg ABDC" carries its value counted from firing top dead centre."""
    sheet = replace(units.read("60 deg ABDC", "event_angle"), value=-120.0)
    given = {"compression_ratio": "8.5", "stroke": "80 mm", "rod_length": "137 mm"}
    plain = evaluate("dynamic_ratio", {**given, "intake_closing": "60 deg ABDC"})
    assert evaluate("dynamic_ratio", {**given, "intake_closing": sheet}).results == plain.results


def test_event_angle__another_dead_centre_is_a_fault() -> None:
    given = {"compression_ratio": "8.5", "stroke": "80 mm", "rod_length": "137 mm", "intake_closing": "60 deg ATDC"}
    assert "the other dead centre" in fault("dynamic_ratio", given)


CLEARANCE = {"inner_diameter": "55 mm", "outer": "magnesium", "inner": "steel", "wanted_at": "20 degC"}


def test_condition__fills_its_input() -> None:
    said = evaluate("clearance_at_temperature", {**CLEARANCE, "clearance": "0.06 mm @ 30 degC"})
    plain = evaluate("clearance_at_temperature", {**CLEARANCE, "clearance": "0.06 mm", "measured_at": "30 degC"})
    assert said.results == plain.results
    # (26.0 - 11.7)e-6 * 55 mm * 10 K, and the clearance's own 0.06 mm * 26e-6 * 10 K, by hand
    assert said.results["change"] == pytest.approx(-(14.3e-6 * 55e-3 + 26e-6 * 0.06e-3) * 10.0, rel=1e-9)


def test_condition__against_its_input_is_a_fault() -> None:
    given = {**CLEARANCE, "clearance": "0.06 mm @ 30 degC", "measured_at": "25 degC"}
    assert "keep one of them" in fault("clearance_at_temperature", given)


def test_condition__nobody_takes_is_questioned() -> None:
    answer = evaluate("swept_volume", {"bore": "92.5 mm @ 25 degC", "stroke": "80 mm"})
    assert asks(answer, "@ 25 degC", "not used")


def test_condition__of_a_wrong_kind_is_a_fault() -> None:
    assert "measured_at" in fault("clearance_at_temperature", {**CLEARANCE, "clearance": "0.06 mm @ 3 bar"})


# ----------------------------------------------------------------------------- bands
def test_band__against_the_closed_form() -> None:
    answer = evaluate("swept_volume", {"bore": "92.5 mm ± 0.05", "stroke": "80 mm ± 0.2"})
    volume = math.pi / 4 * 0.0925**2 * 0.08
    low, high = answer.bands["swept_volume"]
    # relative contributions 2*dB/B and dS/S, combined root-sum-square; the square of dB/B is left over
    expected = volume * math.hypot(2 * 0.05 / 92.5, 0.2 / 80)
    assert low == pytest.approx(expected, rel=1e-3)
    assert high == pytest.approx(expected, rel=1e-3)
    assert "±" in answer.shown("swept_volume")


def test_band__one_sided() -> None:
    answer = evaluate("swept_volume", {"bore": "92.5 mm", "stroke": "80 mm +0.4/-0"})
    low, high = answer.bands["swept_volume"]
    assert low == 0.0
    assert high == pytest.approx(answer.results["swept_volume"] * 0.4 / 80, rel=1e-9)
    assert "+" in answer.shown("swept_volume")
    assert answer.shown("swept_volume").endswith("/-0")


def test_band__falling_result_swaps_the_sides() -> None:
    answer = evaluate("speed_for_piston_speed", {"stroke": "80 mm +0.4/-0", "mean_piston_speed": "20 m/s"})
    low, high = answer.bands["speed"]
    assert high == 0.0
    assert low == pytest.approx(answer.results["speed"] * (1 - 80 / 80.4), rel=1e-9)


def test_band__of_a_list() -> None:
    answer = evaluate("burette_repeat", {"readings": "56.0 ± 0.3; 56.4 ± 0.3; 56.2 ± 0.3 cc"})
    low, high = answer.bands["mean"]
    assert low == pytest.approx(0.3e-6 / math.sqrt(3.0), rel=1e-9)
    assert high == pytest.approx(low, rel=1e-9)


def test_band__each_value_of_a_list_result() -> None:
    answer = evaluate("match_masses", {"masses": "412 ± 0.2; 415 ± 0.1 g"})
    first, second = answer.bands["to_remove"]
    assert first == (0.0, 0.0)  # the lightest stays the lightest
    assert second == pytest.approx((math.hypot(0.2, 0.1) * 1e-3,) * 2, rel=1e-9)
    assert answer.shown("to_remove") == "0 g, 3 g ± 0.22"
    json.dumps(as_json(answer), allow_nan=False)


def test_band__of_a_curve() -> None:
    given = {**CURVE, "lift": "-10 deg: 1 mm; 0 deg: 1.5 ± 0.05 mm; 10 deg: 2.5 mm"}
    assert evaluate("valve_to_piston", given).bands["gap_at_tdc"] == pytest.approx((0.05e-3, 0.05e-3), rel=1e-9)


def test_band__in_percent() -> None:
    answer = evaluate("swept_volume", {"bore": "92.5 mm", "stroke": "80 mm ± 1 %"})
    assert answer.bands["swept_volume"][1] == pytest.approx(0.01 * answer.results["swept_volume"], rel=1e-9)


def test_band__where_the_end_has_no_answer() -> None:
    said = fault("compression_ratio", {**PARTS, "chamber": "56.5 cc ± 90"})
    assert said.startswith("chamber: at the end of its spread")


def test_band__none_without_spread() -> None:
    assert evaluate("compression_ratio", PARTS).bands == {}


# ----------------------------------------------------------------------------- the answer
def test_working__puts_the_numbers_into_the_formula() -> None:
    working = evaluate("swept_volume", {"bore": "92.5 mm", "stroke": "80 mm"}).working
    assert "pi/4 * (92.5 mm)^2 * (80 mm)" in working
    assert "= 537.6 cc" in working


def test_assumed__lists_defaults_only() -> None:
    answer = evaluate("compression_ratio", PARTS)
    assert "gasket_thickness = 0 mm" in answer.assumed
    assert not any(a.startswith(("dish", "gasket_bore")) for a in answer.assumed)
    assert answer.inputs["gasket_bore"] is None
    assert written(answer.inputs["gasket_bore"]) == "not given"


def test_as_json__is_plain_and_si() -> None:
    data = as_json(evaluate("compression_ratio", {**PARTS, "chamber": "56.5 cc ± 0.3"}))
    again = json.loads(json.dumps(data, allow_nan=False))
    assert again["results"]["swept_volume"]["unit"] == "m3"
    assert again["results"]["compression_ratio"]["value"] == pytest.approx(8.63849, abs=0.02)
    assert len(again["results"]["compression_ratio"]["band"]) == 2
    assert again["source"] == "plain geometry"


def test_same_input__same_answer() -> None:
    assert as_json(evaluate("compression_ratio", PARTS)) == as_json(evaluate("compression_ratio", PARTS))
