"""Behaviour of the sums of the blueprint: traps, limits, inverses, faults."""

from __future__ import annotations

import math

import pytest
from asked import asks, results

from spoolwright.errors import BadInput
from spoolwright.sums.evaluate import evaluate

PARTS = {"bore": "92.5 mm", "stroke": "80 mm", "chamber": "56.5 cc", "dish": "6.2 cc", "deck": "45 thou"}


# ----------------------------------------------------------------------------- ratio
def test_ratio__dish_left_out_is_asked_about() -> None:
    """The well-known wrong answer 9.376 comes with a question."""
    answer = evaluate("compression_ratio", {k: v for k, v in PARTS.items() if k != "dish"})
    assert answer.results["compression_ratio"] == pytest.approx(9.376, abs=0.001)
    assert asks(answer, "dish is 0 cc")


def test_ratio__dish_with_the_wrong_sign_is_asked_about() -> None:
    """The well-known wrong answer 10.27 comes with a question."""
    answer = evaluate("compression_ratio", {**PARTS, "dish": "-6.2 cc"})
    assert answer.results["compression_ratio"] == pytest.approx(10.272, abs=0.001)
    assert asks(answer, "dome")
    assert not asks(evaluate("compression_ratio", PARTS), "dome")


def test_ratio__gasket_bore_smaller_than_bore() -> None:
    given = {**PARTS, "gasket_bore": "86 mm", "gasket_thickness": "1 mm"}
    assert asks(evaluate("compression_ratio", given), "gasket's bore is smaller")


def test_ratio__gasket_takes_its_own_bore() -> None:
    got = results("compression_ratio", **PARTS, gasket_thickness="1.0 mm", gasket_bore="94 mm")
    assert got["gasket_volume"] == pytest.approx(math.pi / 4 * 0.094**2 * 1e-3, rel=1e-12)


def test_spacer__put_in_gives_the_target() -> None:
    for target in ("7.8", "8.3", "9.4"):
        spacer = evaluate("spacer_for_ratio", {**PARTS, "target_ratio": target}).results["spacer"]
        # 0 decimals lost: the spacer is passed on in micrometres
        there = results("compression_ratio", **PARTS, spacer=f"{spacer * 1e6:.6f} um")
        assert there["compression_ratio"] == pytest.approx(float(target), rel=1e-9)
        assert (spacer < 0.0) == (float(target) > 8.638)


def test_spacer__meeting_flats_and_wide_squish_are_asked_about() -> None:
    assert asks(evaluate("spacer_for_ratio", {**PARTS, "target_ratio": "11"}), "flats would meet")
    assert asks(evaluate("spacer_for_ratio", {**PARTS, "target_ratio": "7.8"}), "squish gap becomes 2.43 mm")


def test_chamber_and_gasket__put_in_give_the_target() -> None:
    needed = evaluate("chamber_for_ratio", {**PARTS, "target_ratio": "7.5"}).results
    by_chamber = results("compression_ratio", **{**PARTS, "chamber": f"{needed['chamber_needed'] * 1e9:.6f} mm3"})
    by_dish = results("compression_ratio", **{**PARTS, "dish": f"{needed['dish_needed'] * 1e9:.6f} mm3"})
    assert by_chamber["compression_ratio"] == pytest.approx(7.5, rel=1e-9)
    assert by_dish["compression_ratio"] == pytest.approx(7.5, rel=1e-9)
    gasket = results("gasket_for_ratio", **PARTS, target_ratio="8.2", gasket_bore="94 mm")["gasket_thickness"]
    by_gasket = results("compression_ratio", **PARTS, gasket_bore="94 mm", gasket_thickness=f"{gasket * 1e6:.6f} um")
    assert by_gasket["compression_ratio"] == pytest.approx(8.2, rel=1e-9)


def test_gasket__none_thin_enough() -> None:
    with pytest.raises(BadInput, match=r"8\.64:1 already"):
        evaluate("gasket_for_ratio", {**PARTS, "target_ratio": "9"})


def test_cylinders__alike_after_the_metal_is_taken_out() -> None:
    given = {"bore": "92.5; 92.7 mm", "stroke": "80 mm", "chamber": "55; 56 cc", "dish": "6 cc", "deck": "1; 1.1 mm"}
    got = evaluate("compression_ratio_of_cylinders", given).results
    opened = "; ".join(f"{v + m * 1e6:.9f}" for v, m in zip((55.0, 56.0), got["metal_to_remove"], strict=True))
    after = evaluate("compression_ratio_of_cylinders", {**given, "chamber": f"{opened} cc"}).results
    assert after["spread"] == pytest.approx(0.0, abs=1e-8)
    assert after["highest"] == pytest.approx(got["lowest"], rel=1e-9)


def test_cylinders__one_chamber_for_all_is_asked_about() -> None:
    given = {"bore": "92.5 mm", "stroke": "80 mm", "chamber": "56 cc", "dish": "6 cc", "deck": "1.0; 1.1 mm"}
    assert asks(evaluate("compression_ratio_of_cylinders", given), "one chamber stands for all")


def test_ratio_from_volumes__undoes_clearance_for_ratio() -> None:
    assert results("clearance_for_ratio", swept_volume="500 cc", compression_ratio="9")[
        "clearance_volume"
    ] == pytest.approx(62.5e-6)
    assert results("ratio_from_volumes", swept_volume="500 cc", clearance_volume="62.5 cc")["compression_ratio"] == 9.0


def test_dynamic_ratio__closing_at_bdc_is_the_static_ratio() -> None:
    got = results("dynamic_ratio", compression_ratio="9", stroke="80 mm", rod_length="137 mm", intake_closing="0 deg")
    assert got["dynamic_ratio"] == pytest.approx(9.0, rel=1e-12)


def test_effective_ratio__is_called_no_limit() -> None:
    answer = evaluate("effective_ratio", {"compression_ratio": "8", "boost": "10 psi", "barometer": "14.5 psi"})
    assert answer.results["effective_ratio"] == pytest.approx(8 * 24.5 / 14.5)
    assert "not use this as a limit" in answer.sum.caution


# ----------------------------------------------------------------------------- squish, rings
SQUISH = {
    "squish": "1.1 mm", "stroke": "80 mm", "rod_length": "137 mm", "crush_height": "38 mm", "speed": "7000 rpm",
    "reciprocating_mass": "520 g", "rod_area": "180 mm2", "barrel": "12e-6 1/K", "crank": "12e-6 1/K",
    "rod": "12e-6 1/K", "piston": "12e-6 1/K",
}  # fmt: skip
EVEN = dict.fromkeys(("barrel_temperature", "crank_temperature", "rod_temperature", "piston_temperature"), "100 degC")


def test_squish__one_metal_at_one_temperature_does_not_move() -> None:
    got = results("squish_at_speed", **SQUISH, **EVEN)
    assert got["inside_growth"] == pytest.approx(got["outside_growth"], rel=1e-12)
    assert got["gap_left"] == pytest.approx(1.1e-3 - got["rod_stretch"], rel=1e-12)


def test_squish__rod_stretch_is_force_over_stiffness() -> None:
    got = results("squish_at_speed", **SQUISH, **EVEN, rod_modulus="207 GPa")
    # pull of the worked case, 14.4401 kN, on a bar of 180 mm2 and 137 mm
    assert got["rod_stretch"] == pytest.approx(14440.1 * 0.137 / (180e-6 * 207e9), rel=1e-4)


def test_squish__play_is_taken_off_whole() -> None:
    without = results("squish_at_speed", **SQUISH, **EVEN)
    with_play = results("squish_at_speed", **SQUISH, **EVEN, play="0.06; 0.01; 0.05 mm")
    assert without["gap_left"] - with_play["gap_left"] == pytest.approx(0.12e-3, rel=1e-9)


def test_squish__contact_is_said() -> None:
    assert asks(evaluate("squish_at_speed", {**SQUISH, **EVEN, "squish": "0.04 mm"}), "meets the head")
    assert asks(evaluate("squish_cold", {"deck": "0.5 mm"}), "0.50 mm is below")


def test_ring_gap_hot__gap_or_factor_not_both() -> None:
    given = {"bore": "92 mm", "ring_rise": "150 K", "barrel": "cast iron"}
    with pytest.raises(BadInput, match="exactly one"):
        evaluate("ring_gap_hot", given)
    with pytest.raises(BadInput, match="exactly one"):
        evaluate("ring_gap_hot", {**given, "gap": "0.4 mm", "factor": "0.005"})


def test_ring_gap_hot__butting_is_said() -> None:
    answer = evaluate("ring_gap_hot", {"bore": "92 mm", "gap": "0.2 mm", "ring_rise": "200 K", "barrel": "cast iron"})
    assert asks(answer, "ends butt")


def test_ring_gap_needed__undoes_ring_gap_hot() -> None:
    heat = {"bore": "92 mm", "ring_rise": "200 K", "bore_rise": "110 K", "barrel": "cast iron"}
    gap = results("ring_gap_needed", **heat, margin="0.15 mm")["gap"]
    assert results("ring_gap_hot", **heat, gap=f"{gap * 1e6:.6f} um")["gap_left"] == pytest.approx(0.15e-3, rel=1e-6)


def test_ring_gap__decimal_slip_in_the_factor() -> None:
    assert asks(evaluate("ring_gap", {"bore": "92.5 mm", "factor": "0.055"}), "decimal point")


def test_ring_tilt__against_the_perimeter_of_the_slanted_section() -> None:
    bore, tilt, steps = 92.5e-3, 5e-3, 20000
    a, b = math.hypot(bore, tilt) / 2, bore / 2
    ellipse = sum(
        math.hypot(a * math.sin(t), b * math.cos(t)) for t in (2 * math.pi * (n + 0.5) / steps for n in range(steps))
    ) * (2 * math.pi / steps)
    got = results("ring_gap_tilt", bore="92.5 mm", tilt="5 mm", gap="0.6 mm")
    assert got["error"] == pytest.approx(ellipse - math.pi * bore, rel=2e-3)


# ----------------------------------------------------------------------------- clearances, fits, shims
def test_clearance__one_metal_scales_with_heat() -> None:
    got = results(
        "clearance_hot", inner_diameter="50 mm", clearance="0.05 mm", outer="steel", inner="steel",
        outer_temperature="120 degC", inner_temperature="120 degC",
    )  # fmt: skip
    assert got["clearance_hot"] == pytest.approx(0.05e-3 * (1 + 11.7e-6 * 100), rel=1e-9)


def test_clearance__seizing_is_said() -> None:
    given = {
        "inner_diameter": "92.4 mm", "clearance": "0.03 mm", "outer": "cast iron", "inner": "piston alloy 2618",
        "outer_temperature": "120 degC", "inner_temperature": "220 degC",
    }  # fmt: skip
    assert asks(evaluate("clearance_hot", given), "seize")


def test_clearance__from_two_sizes() -> None:
    both = {"outer": "steel", "inner": "steel", "outer_temperature": "20 degC", "inner_temperature": "20 degC"}
    got = results("clearance_hot", inner_diameter="55.00 mm", outer_diameter="55.06 mm", **both)
    assert got["clearance_hot"] == pytest.approx(0.06e-3, rel=1e-9)
    with pytest.raises(BadInput, match="exactly one"):
        evaluate("clearance_hot", {"inner_diameter": "55 mm", **both})


def test_press_fit__equal_metals_against_the_combined_formula() -> None:
    """p = E*delta/(2*d^3) * (D^2 - d^2)(d^2 - di^2)/(D^2 - di^2), machine-design texts, for one metal cold."""
    d, outside, inside, delta, modulus = 0.042, 0.062, 0.034, 1e-4, 207e9
    expected = modulus * delta / (2 * d**3) * (outside**2 - d**2) * (d**2 - inside**2) / (outside**2 - inside**2)
    got = results(
        "press_fit", diameter="42 mm", interference="0.1 mm", outer_outside="62 mm", inner_bore="34 mm",
        outer="steel", inner="steel",
    )  # fmt: skip
    assert got["pressure"] == pytest.approx(expected, rel=1e-9)
    assert got["loose_temperature"] is None


def test_press_fit__lets_go_at_its_loose_temperature() -> None:
    given = {
        "diameter": "42 mm", "interference": "0.1 mm", "outer_outside": "62 mm", "inner_bore": "34 mm",
        "outer": "cast aluminium", "inner": "ductile iron", "outer_modulus": "aluminium",
    }  # fmt: skip
    loose = evaluate("press_fit", given).results["loose_temperature"]
    hot = f"{loose + 1.0:.6f} K"
    answer = evaluate("press_fit", {**given, "outer_temperature": hot, "inner_temperature": hot})
    assert answer.results["pressure"] == 0.0
    assert asks(answer, "loose hot")


def test_press_fit__sizes_must_rise() -> None:
    with pytest.raises(BadInput, match="sizes must rise"):
        evaluate("press_fit", {"diameter": "42 mm", "interference": "0.1 mm", "outer_outside": "40 mm",
                               "outer": "steel", "inner": "steel"})  # fmt: skip


def test_assembly_temperature__leaves_the_slip() -> None:
    fit = {"outer": "cast aluminium", "inner": "ductile iron"}
    there = results("assembly_temperature", diameter="42 mm", interference="0.1 mm", **fit)["outer_temperature"]
    left = results("press_fit", diameter="42 mm", interference="0.1 mm", outer_outside="62 mm", **fit,
                   outer_temperature=f"{there:.6f} K")["interference_hot"]  # fmt: skip
    assert left == pytest.approx(-0.05e-3, rel=1e-6)


def test_shim__nearest_on_the_shelf() -> None:
    shelf = "0.24; 0.30; 0.32; 0.34; 0.36 mm"
    got = results("end_play_shim", play="0.42 mm", wanted_play="0.10 mm", shelf=shelf)
    assert got["shim_needed"] == pytest.approx(0.32e-3)
    assert got["shims"] == pytest.approx([0.32e-3])
    assert got["play_left"] == pytest.approx(0.10e-3)


def test_shim__trial_shims_come_out_and_several_go_in() -> None:
    got = results(
        "end_play_shim", play="0.40 mm", trial_shims="0.30; 0.24 mm", shelf="0.24; 0.30; 0.36 mm", shims_to_add="3"
    )
    # 0.94 in all, 0.84 wanted: 0.24 + 0.24 + 0.36 or 0.24 + 0.30 + 0.30, both exact
    assert got["shim_total"] == pytest.approx(0.84e-3)
    assert got["play_left"] == pytest.approx(0.10e-3)


def test_shim__none_fits() -> None:
    with pytest.raises(BadInput, match="no pack of these"):
        evaluate("end_play_shim", {"play": "0.1 mm", "shelf": "0.24; 0.30 mm"})
    answer = evaluate("end_play_shim", {"play": "0.6 mm", "shelf": "0.24; 0.30 mm"})
    assert asks(answer, "outside 0.070 to 0.130 mm")


# ----------------------------------------------------------------------------- bolts
BOLT = {
    "waist_diameter": "0.270 in", "waist_length": "1.10 in", "thread_length": "0.45 in", "thread_area": "0.0581 in2",
    "elastic_modulus": "30e6 psi", "yield_strength": "190 ksi",
}  # fmt: skip


def test_bolt__stretch_and_load_undo_each_other() -> None:
    load = results("bolt_stretch_clamp", stretch="6 thou", **BOLT)["clamp_load"]
    back = results("bolt_stretch_for_clamp", clamp_load=f"{load:.9f} N", **BOLT)
    assert back["stretch"] == pytest.approx(6 * 25.4e-6, rel=1e-9)


def test_bolt__share_of_yield_is_reached() -> None:
    got = results("bolt_stretch_for_clamp", share_of_yield="75 %", **BOLT)
    there = results("bolt_stretch_clamp", stretch=f"{got['stretch'] * 1e9:.6f} nm", **BOLT)
    assert there["share_of_yield"] == pytest.approx(0.75, rel=1e-6)


def test_bolt__past_yield_is_said() -> None:
    assert asks(evaluate("bolt_stretch_clamp", {**BOLT, "stretch": "11 thou"}), "of yield")


def test_bolt__second_section_needs_both_sizes() -> None:
    with pytest.raises(BadInput, match="shank_diameter"):
        evaluate("bolt_stretch_clamp", {**BOLT, "stretch": "6 thou", "shank_length": "10 mm"})


def test_bolt_torque__clamp_falls_with_friction() -> None:
    dry = results("bolt_torque", nominal_diameter="10 mm", torque="50 N m", nut_factor="dry")
    oiled = results("bolt_torque", nominal_diameter="10 mm", torque="50 N m", nut_factor="oiled")
    assert dry["clamp"] == pytest.approx(25e3)
    assert oiled["clamp"] == pytest.approx(50.0 / (0.15 * 0.010))
    assert dry["clamp_low"] < dry["clamp"] < dry["clamp_high"]


def test_thread__unified_pitch_read_as_metric_is_asked_about() -> None:
    assert asks(evaluate("thread_area", {"nominal_diameter": "3/8 in", "pitch": "1/24 in"}), "unified")
    assert not evaluate("thread_area", {"nominal_diameter": "8 mm", "pitch": "1.25 mm"}).questions


def test_joint__opens_past_the_separating_load() -> None:
    joint = {"bolt_stiffness": "500 kN/mm", "joint_stiffness": "1500 kN/mm", "preload": "40 kN"}
    answer = evaluate("bolted_joint", {**joint, "external_load": "60 kN"})
    assert answer.results["bolt_force"] == 60e3
    assert asks(answer, "joint opens")


def test_clamp_hot__one_metal_at_one_temperature_keeps_its_clamp() -> None:
    got = results(
        "clamp_hot", preload="22 kN", length="160 mm", bolt_stiffness="60 kN/mm", joint_stiffness="400 kN/mm",
        stud="steel", parts="steel", stud_rise="90 K", parts_rise="90 K",
    )  # fmt: skip
    assert got["preload_hot"] == pytest.approx(22e3, rel=1e-12)


# ----------------------------------------------------------------------------- readings
def test_dish_from_fill__flat_crown_is_zero() -> None:
    plain = math.pi / 4 * 0.0925**2 * 0.010
    got = results("dish_from_fill", bore="92.5 mm", depth="10 mm", filled=f"{plain * 1e6:.9f} cc")
    assert got["dish"] == pytest.approx(0.0, abs=1e-14)


def test_deck_from_bridge__proud_piston_is_negative() -> None:
    assert results("deck_from_bridge", readings="24.8; 24.9 mm", bridge="25 mm")["deck"] == pytest.approx(-0.15e-3)


def test_leak_down__worst_is_named() -> None:
    answer = evaluate("leak_down", {"supply": "100 psi", "held": "96; 75; 95; 97 psi"})
    assert answer.results["worst_cylinder"] == 2.0
    assert asks(answer, "25%", "open it")
    with pytest.raises(BadInput, match="more than the supply"):
        evaluate("leak_down", {"supply": "100 psi", "held": "105 psi"})


def test_burette__wide_repeat_is_asked_about() -> None:
    assert asks(evaluate("burette_repeat", {"readings": "55.0; 56.4; 55.6 cc"}), "differ by 1.40 cc")


def test_bore_shape__taper_and_roundness() -> None:
    got = results(
        "bore_shape", bore_across="92.53; 92.51; 92.50 mm", bore_along="92.52; 92.52; 92.50 mm", piston="92.43 mm"
    )
    assert got["taper"] == pytest.approx(0.03e-3)
    assert got["out_of_round"] == pytest.approx(0.01e-3)
    assert got["least_clearance"] == pytest.approx(0.07e-3)
