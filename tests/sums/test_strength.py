"""Behaviour of the sums of strength."""

from __future__ import annotations

import math

import pytest
from asked import asks, results

from spoolwright.errors import BadInput
from spoolwright.sums.evaluate import evaluate

DISC = {"outer_diameter": "300 mm", "speed": "9000 rpm", "density": "2700 kg/m3", "poisson_ratio": "0.33"}


def test_disc__the_smallest_bore_doubles_the_stress() -> None:
    solid = results("disc_stress", **DISC)["peak_hoop_stress"]
    pinhole = results("disc_stress", **DISC, inner_diameter="0.001 mm")["peak_hoop_stress"]
    assert pinhole == pytest.approx(2 * solid, rel=1e-6)


def test_disc__thin_rim_is_the_ring() -> None:
    rim = results("disc_stress", **DISC, inner_diameter="299.99 mm")
    ring = results("ring_stress", mean_diameter="299.995 mm", speed="9000 rpm", density="2700 kg/m3")
    assert rim["mean_hoop_stress"] == pytest.approx(ring["hoop_stress"], rel=1e-6)
    assert rim["peak_hoop_stress"] == pytest.approx(ring["hoop_stress"], rel=1e-4)


def test_disc__mean_hoop_stress_balances_the_half_disc() -> None:
    """The two cut faces of a half disc hold its centrifugal pull: integrated in rings."""
    a, b, omega, steps = 0.0125, 0.150, 9000 * math.pi / 30, 4000
    dr = (b - a) / steps
    pull = sum(2 * 2700 * omega**2 * (a + (n + 0.5) * dr) ** 2 * dr for n in range(steps))  # per thickness
    got = results("disc_stress", **DISC, inner_diameter="25 mm")
    assert got["mean_hoop_stress"] == pytest.approx(pull / (2 * (b - a)), rel=1e-6)


def test_disc__bore_beyond_the_rim_is_a_fault() -> None:
    with pytest.raises(BadInput, match="smaller than the outside"):
        evaluate("disc_stress", {**DISC, "inner_diameter": "310 mm"})


def test_ring__speed_allowed_gives_the_stress() -> None:
    got = results("ring_stress", mean_diameter="280 mm", speed="7000 rpm", allowed_stress="100 MPa")
    there = results("ring_stress", mean_diameter="280 mm", speed=f"{got['speed_allowed']} rad/s")
    assert there["hoop_stress"] == pytest.approx(100e6, rel=1e-9)


BURST = {"outer_diameter": "300 mm", "inner_diameter": "25 mm", "tensile_strength": "240 MPa"}


def test_burst__at_burst_speed_the_stress_is_the_strength() -> None:
    got = results("burst_margin", **BURST, speed="11700 rpm", weld_factor="60 %")
    there = results("burst_margin", **BURST, speed=f"{got['burst_speed']} rad/s", over_speed="0 %", weld_factor="60 %")
    assert there["stress_margin"] == pytest.approx(1.0, rel=1e-9)
    assert there["mean_hoop_stress"] == pytest.approx(240e6 * 0.85 * 0.6, rel=1e-9)


def test_burst__weld_knocks_down_by_its_root() -> None:
    plain = results("burst_margin", **BURST, speed="11700 rpm")["speed_margin"]
    welded = results("burst_margin", **BURST, speed="11700 rpm", weld_factor="50 %")["speed_margin"]
    assert welded == pytest.approx(plain * math.sqrt(0.5), rel=1e-12)


def test_burst__thin_margin_is_said_with_a_caution() -> None:
    answer = evaluate("burst_margin", {**BURST, "speed": "17000 rpm", "weld_factor": "60 %"})
    assert asks(answer, "thin")
    assert asks(evaluate("burst_margin", {**BURST, "speed": "22000 rpm", "weld_factor": "60 %"}), "bursts below")
    assert "Stand out of its plane" in answer.sum.caution


def test_burst__blades_need_their_sizes() -> None:
    with pytest.raises(BadInput, match="blade_diameter"):
        evaluate("burst_margin", {**BURST, "speed": "11700 rpm", "blade_mass": "200 g"})
    sizes = {"blade_diameter": "260 mm", "thickness": "4 mm"}
    with_blades = results("burst_margin", **BURST, speed="11700 rpm", blade_mass="200 g", **sizes)
    assert with_blades["speed_margin"] < results("burst_margin", **BURST, speed="11700 rpm")["speed_margin"]


def test_disc_inertia__ring_limit() -> None:
    got = results("disc_inertia", outer_diameter="200 mm", inner_diameter="199.99 mm", thickness="10 mm")
    assert got["inertia"] == pytest.approx(got["mass"] * 0.1**2, rel=1e-3)


def test_head__opening_pressure_has_no_clamp_left() -> None:
    stud = {"bore": "92.5 mm", "clamp_per_stud": "24 kN", "studs": "4", "joint_constant": "0.2"}
    opening = results("head_clamp", **stud, peak_pressure="85 bar")["opening_pressure"]
    there = evaluate("head_clamp", {**stud, "peak_pressure": f"{opening + 1.0} Pa"})
    assert there.results["clamp_left"] == pytest.approx(0.0, abs=0.1)
    assert there.results["margin"] == pytest.approx(1.0, rel=1e-6)
    assert asks(there, "joint opens")


def test_head__band_of_the_peak_pressure_goes_through() -> None:
    answer = evaluate("head_clamp", {"bore": "86 mm", "peak_pressure": "100 bar ± 20"})
    assert answer.bands["gas_force"] == pytest.approx((0.2 * 58088.0,) * 2, rel=1e-4)


def test_rod_bolt__parting_speed_has_margin_one() -> None:
    rod = {"stroke": "80 mm", "rod_length": "137 mm", "reciprocating_mass": "520 g", "big_end_mass": "260 g",
           "clamp_load": "29.7 kN"}  # fmt: skip
    got = results("rod_bolt_load", **rod, speed="7000 rpm")
    there = results("rod_bolt_load", **rod, speed=f"{got['parting_speed']} rad/s")
    assert there["margin"] == pytest.approx(1.0, rel=1e-9)
    assert asks(evaluate("rod_bolt_load", {**rod, "speed": "13000 rpm"}), "cap parts")


def test_rod_bolt__load_of_the_worked_case_on_two_bolts() -> None:
    """The pull of the worked case, 14.4401 kN, and the big end turning at 40 mm; half of it on each bolt."""
    got = results(
        "rod_bolt_load", stroke="80 mm", rod_length="137 mm", reciprocating_mass="520 g", big_end_mass="260 g",
        speed="7000 rpm", clamp_load="29.7 kN",
    )  # fmt: skip
    cap = 14440.1 + 0.260 * (7000 * math.pi / 30) ** 2 * 0.040
    assert got["cap_load"] == pytest.approx(cap, rel=1e-4)
    assert got["bolt_load"] == pytest.approx(cap / 2, rel=1e-4)
    assert got["margin"] == pytest.approx(29700.0 / (cap / 2), rel=1e-4)


def test_peak_pressure__is_a_band() -> None:
    got = results("peak_pressure_band", manifold_pressure="100 kPa absolute", compression_ratio="9")
    assert got["unfired_pressure"] == pytest.approx(18.1803e5, rel=1e-4)
    assert got["low"] < got["high"]
    with pytest.raises(BadInput, match="gauge pressure stands where absolute"):
        evaluate("peak_pressure_band", {"manifold_pressure": "12 psig", "compression_ratio": "8"})


def test_bearing__groove_takes_width() -> None:
    plain = results("bearing_pressure", load="40 kN", width="20 mm", diameter="50 mm")["pressure"]
    grooved = results("bearing_pressure", load="40 kN", width="20 mm", diameter="50 mm", groove="4 mm")["pressure"]
    assert grooved == pytest.approx(plain * 20 / 16)
    with pytest.raises(BadInput, match="as wide as the shell"):
        evaluate("bearing_pressure", {"load": "40 kN", "width": "10 mm", "diameter": "50 mm", "groove": "10 mm"})


def test_rod_and_pin__plain_definitions() -> None:
    rod = results("rod_stress", area="200 mm2", pull="20 kN", push="60 kN", strength="900 MPa")
    assert rod["swing"] == pytest.approx(200e6)
    assert rod["margin"] == pytest.approx(3.0)
    pin = results("pin_load", load="50 kN", outer_diameter="20 mm", eye_width="25 mm", boss_width="12.5 mm")
    assert pin["eye_pressure"] == pytest.approx(100e6)
    assert pin["boss_pressure"] == pytest.approx(100e6)
