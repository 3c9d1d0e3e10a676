"""Behaviour of the sums of the valve gear."""

from __future__ import annotations

import math
from typing import Any

import pytest
from asked import asks, results

from spoolwright.errors import BadInput
from spoolwright.sums import slider_crank, valve_springs, valves
from spoolwright.sums.evaluate import evaluate

CRANK = {"stroke": "80 mm", "rod_length": "137 mm"}
R, L = 0.040, 0.137


def table(shape: Any, first: int, last: int, step: int = 2) -> str:
    return "; ".join(f"{a} deg: {shape(a) * 1e3:.9f} mm" for a in range(first, last + 1, step))


def parabola(angle: float) -> float:
    """Lift [m] that rises through TDC: 1.8 mm there."""
    return 1.8e-3 + 0.09e-3 * angle + 0.0004e-3 * angle**2


def test_valve_to_piston__against_a_fine_scan() -> None:
    lean = math.cos(math.radians(12.0))

    def gap(a: float, shift: float) -> float:
        return 4.6e-3 + slider_crank.piston_travel(a, R, L, 0.0) * lean - parabola(a + shift)

    got = results("valve_to_piston", **CRANK, lift=table(parabola, -60, 60), drop="4.6 mm", lean="12 deg")
    for key, shift in (("least_gap", 0.0), ("advanced_gap", 5.0), ("retarded_gap", -5.0)):
        scanned = min(gap(n / 100.0, shift) for n in range(-5000, 5001))
        # chords of a table every 2 deg lie above the parabola by at most 0.0004*1^2 um
        assert got[key] == pytest.approx(scanned, abs=1e-6)
    assert got["gap_at_tdc"] == pytest.approx(2.8e-3)
    assert got["advanced_gap"] < got["least_gap"] < got["retarded_gap"]
    assert got["at_angle"] > 0.0


def test_valve_to_piston__exhaust_is_the_mirror() -> None:
    intake = results("valve_to_piston", **CRANK, lift=table(parabola, -40, 40), drop="4.6 mm")
    mirror = results(
        "valve_to_piston", **CRANK, lift=table(lambda a: parabola(-a), -40, 40), drop="4.6 mm", valve="exhaust"
    )
    assert mirror["least_gap"] == pytest.approx(intake["least_gap"], rel=1e-9)
    assert mirror["at_angle"] == pytest.approx(-intake["at_angle"], abs=1e-9)
    assert mirror["retarded_gap"] == pytest.approx(intake["advanced_gap"], rel=1e-9)


def test_valve_to_piston__lash_and_allowance() -> None:
    given = {**CRANK, "lift": table(parabola, -40, 40), "drop": "4.6 mm"}
    plain = results("valve_to_piston", **given)["least_gap"]
    assert results("valve_to_piston", **given, lash="0.2 mm")["least_gap"] == pytest.approx(plain + 0.2e-3, abs=1e-9)
    assert results("valve_to_piston", **given, allowance="0.3 mm")["least_gap"] == pytest.approx(plain - 0.3e-3)


def test_valve_to_piston__contact_and_thin_gap_are_said() -> None:
    given = {**CRANK, "lift": table(parabola, -40, 40)}
    assert asks(evaluate("valve_to_piston", {**given, "drop": "2.0 mm"}), "meets the piston")
    assert asks(evaluate("valve_to_piston", {**given, "drop": "4.0 mm"}), "2.03 mm usual for the intake")
    assert asks(
        evaluate("valve_to_piston", {**given, "drop": "4.0 mm", "valve": "exhaust"}), "2.54 mm usual for the exhaust"
    )


def test_valve_to_piston__least_gap_at_the_end_of_the_table_is_said() -> None:
    answer = evaluate(
        "valve_to_piston", {**CRANK, "lift": table(parabola, -4, 4, 1), "drop": "4.6 mm", "cam_shift": "2 deg"}
    )
    assert asks(answer, "end of the lift table")


def test_valve_to_piston__table_without_tdc_is_a_fault() -> None:
    with pytest.raises(BadInput, match="does not reach 0 deg"):
        evaluate("valve_to_piston", {**CRANK, "lift": "10 deg: 1 mm; 20 deg: 2 mm", "drop": "5 mm"})


def test_valve_gap__at_one_angle_is_that_of_the_table() -> None:
    whole = results("valve_to_piston", **CRANK, lift=table(parabola, -60, 60), drop="4.6 mm", lean="12 deg")
    at = whole["at_angle"]
    lift = valves.lift_at([(a, parabola(a)) for a in range(-60, 61, 2)], at)
    one = results(
        "valve_gap_at_angle", **CRANK, lift=f"{lift * 1e9:.6f} nm", angle=f"{at} deg ATDC", drop="4.6 mm", lean="12 deg"
    )
    assert one["gap"] == pytest.approx(whole["least_gap"], rel=1e-8)


def test_seat_force__exhaust_with_pressure_in_the_cylinder() -> None:
    area = math.pi / 4 * (0.034**2 - 0.008**2)
    got = results(
        "valve_seat_force", seat_force="280 N", valve_diameter="34 mm", stem_diameter="8 mm", port_pressure="150 kPa",
        cylinder_pressure="30 kPa",
    )  # fmt: skip
    assert got["pressure_force"] == pytest.approx(120e3 * area)
    assert got["net_force"] == pytest.approx(280 - 120e3 * area)
    zero = results(
        "valve_seat_force", seat_force="280 N", valve_diameter="34 mm", stem_diameter="8 mm",
        port_pressure=f"{got['opening_pressure']:.6f} Pa", cylinder_pressure="30 kPa",
    )  # fmt: skip
    assert zero["net_force"] == pytest.approx(0.0, abs=1e-6)


def test_seat_force__lifted_off_is_said() -> None:
    given = {"seat_force": "200 N", "valve_diameter": "40 mm", "port_pressure": "200 kPa"}
    assert asks(evaluate("valve_seat_force", given), "lifts the valve")
    with pytest.raises(BadInput, match="absolute pressure stands where gauge"):
        evaluate("valve_seat_force", {**given, "port_pressure": "200 kPa absolute"})


def test_spring__rate_forces_and_free_length_agree() -> None:
    rate = results("spring_rate", load_1="310 N", height_1="40 mm", load_2="720 N", height_2="30 mm")
    assert rate["rate"] == pytest.approx(41e3)
    by_free = results("spring_forces", rate="41 N/mm", installed_height="38 mm", lift="10 mm",
                      free_length=f"{rate['free_length'] * 1e9:.6f} nm")  # fmt: skip
    by_load = results("spring_forces", rate="41 N/mm", installed_height="38 mm", lift="10 mm", known_load="310 N",
                      known_height="40 mm")  # fmt: skip
    assert by_free["seat_force"] == pytest.approx(392.0)
    assert by_load == pytest.approx(by_free)
    with pytest.raises(BadInput, match="give free_length"):
        evaluate("spring_forces", {"rate": "41 N/mm", "installed_height": "38 mm", "lift": "10 mm"})


def test_spring__loads_and_heights_mixed_up() -> None:
    with pytest.raises(BadInput, match="shorter spring"):
        evaluate("spring_rate", {"load_1": "720 N", "height_1": "40 mm", "load_2": "310 N", "height_2": "30 mm"})


def test_spring_travel__thin_gaps_are_said() -> None:
    answer = evaluate(
        "spring_travel",
        {"installed_height": "38 mm", "solid_height": "27 mm", "lift": "10.5 mm", "retainer_to_seal": "11 mm"},
    )
    assert answer.results["coil_gap"] == pytest.approx(0.5e-3)
    assert asks(answer, "coil bind")
    assert asks(answer, "retainer to seal")


def test_spring_shim__from_the_shelf() -> None:
    got = results(
        "spring_shim", measured_height="40.6; 40.0; 40.9 mm", wanted_height="40 mm", shelf="0.25; 0.5; 1.0 mm"
    )
    assert got["shim"] == pytest.approx([0.5e-3, 0.0, 1.0e-3])
    with pytest.raises(BadInput, match="shorter than wanted"):
        evaluate("spring_shim", {"measured_height": "39.5 mm", "wanted_height": "40 mm"})


def test_curvature__is_exact_for_a_parabola_on_uneven_points() -> None:
    points = [(x, 3.0 + 2.0 * x - 0.7 * x**2) for x in (-4.0, -1.5, 0.3, 2.0, 5.0)]
    assert valve_springs.curvature(points) == pytest.approx(-1.4, rel=1e-12)


def test_valve_float__of_a_parabolic_nose_in_closed_form() -> None:
    """y = y0 - c a^2: deceleration 2 c w^2, spring force weakest on the lowest point looked at."""
    c = 1.4e-6  # m/deg2
    nose = "; ".join(f"{a} deg: {(9.8e-3 - c * a * a) * 1e3:.9f} mm" for a in range(-40, 41, 10))
    got = results("valve_float", lift=nose, effective_mass="200 g", seat_force="300 N", rate="40 N/mm")
    lowest = 9.8e-3 - c * 20.0**2  # five-point windows reach to two points from the ends
    force = 300 + 40e3 * lowest
    expected = math.sqrt(force / (0.2 * 2 * c * math.degrees(1.0) ** 2))
    assert got["float_speed"] == pytest.approx(expected, rel=1e-9)
    assert got["at_lift"] == pytest.approx(lowest, rel=1e-9)
    cam = results("valve_float", lift=nose, degrees="cam", effective_mass="200 g", seat_force="300 N", rate="40 N/mm")
    assert cam["float_speed"] == pytest.approx(2 * expected, rel=1e-9)


NOSE = "-40 deg: 7.6 mm; -20 deg: 9.3 mm; 0 deg: 9.8 mm; 20 deg: 9.3 mm; 40 deg: 7.6 mm"


def test_valve_float__boost_lowers_it() -> None:
    given = {"lift": NOSE, "effective_mass": "200 g", "seat_force": "300 N", "rate": "40 N/mm"}
    free = results("valve_float", **given)["float_speed"]
    boosted = results("valve_float", **given, pressure_force="126 N")
    assert boosted["float_speed"] == pytest.approx(free * math.sqrt(1 - 126 / (300 + 40 * 9.8)), rel=1e-9)
    assert asks(evaluate("valve_float", {**given, "engine_speed": "5800 rpm"}), "less than 10 %")


def test_valve_float__bad_tables() -> None:
    rest = {"effective_mass": "200 g", "seat_force": "300 N", "rate": "40 N/mm"}
    with pytest.raises(BadInput, match="five points"):
        evaluate("valve_float", {**rest, "lift": "0 deg: 9 mm; 10 deg: 8 mm"})
    with pytest.raises(BadInput, match="no nose"):
        evaluate(
            "valve_float", {**rest, "lift": "0 deg: 0 mm; 10 deg: 1 mm; 20 deg: 4 mm; 30 deg: 9 mm; 40 deg: 16 mm"}
        )


def test_valve_gear_mass__cam_side_counts_by_the_ratio_squared() -> None:
    got = results("valve_gear_mass", valve="100 g", spring="90 g", cam_side="98 g", rocker_ratio="1.4")
    assert got["effective_mass"] == pytest.approx(0.1 + 0.03 + 0.098 / 1.96)


def test_rocker_lift__any_two_give_the_third() -> None:
    assert results("rocker_lift", cam_lift="7 mm", rocker_ratio="1.4", lash="0.2 mm")["lift"] == pytest.approx(9.6e-3)
    assert results("rocker_lift", valve_lift="9.6 mm", rocker_ratio="1.4", lash="0.2 mm")["cam"] == pytest.approx(7e-3)
    assert results("rocker_lift", valve_lift="9.6 mm", cam_lift="7 mm", lash="0.2 mm")["ratio"] == pytest.approx(1.4)
    with pytest.raises(BadInput, match="exactly two"):
        evaluate("rocker_lift", {"cam_lift": "7 mm"})


def test_lash__one_metal_at_one_heat_only_scales_the_difference() -> None:
    got = results(
        "lash_hot", lash="0.2 mm", valve_length="100 mm", valve="steel", valve_rise="100 K", head_length="100 mm",
        head="steel", head_rise="100 K", stack_length="250 mm", stack="steel", stack_rise="80 K",
        pushrod_length="250 mm", pushrod="steel", pushrod_rise="80 K", rocker_ratio="1.3",
    )  # fmt: skip
    assert got["lash_hot"] == pytest.approx(0.2e-3, rel=1e-9)


def test_curtain__equals_the_throat_at_a_quarter_diameter() -> None:
    got = results("curtain_area", valve_diameter="36 mm", lift="9 mm")
    assert got["curtain_area"] == pytest.approx(got["throat_area"], rel=1e-12)
    assert got["equal_lift"] == pytest.approx(9e-3)
    flat = results("curtain_area", valve_diameter="36 mm", lift="1 mm", seat_angle="0.0001 deg")
    assert flat["seat_area"] == pytest.approx(flat["curtain_area"], rel=1e-6)


def test_cam__events_and_timing_undo_each_other() -> None:
    events = results("cam_events", intake_duration="264 deg", exhaust_duration="258 deg", lobe_separation="110 deg",
                     intake_centreline="106 deg")  # fmt: skip
    names = ("intake_opening", "intake_closing", "exhaust_opening", "exhaust_closing")
    timing = results("cam_timing", **{name: f"{events[name]:.9f} deg" for name in names})
    assert timing["intake_duration"] == pytest.approx(264.0)
    assert timing["exhaust_duration"] == pytest.approx(258.0)
    assert timing["lobe_separation"] == pytest.approx(110.0)
    assert timing["intake_centreline"] == pytest.approx(106.0)
    assert timing["cam_advance"] == pytest.approx(4.0)
    assert timing["overlap"] == pytest.approx(events["overlap"])
