"""Behaviour of the sums of motion and work: exact slider-crank, energy, limits, inverses."""

from __future__ import annotations

import math

import pytest
from asked import results

from spoolwright.errors import BadInput
from spoolwright.sums.evaluate import evaluate
from spoolwright.sums.slider_crank import piston_curvature, piston_rate, piston_travel

R, L = 0.040, 0.137


@pytest.mark.parametrize("offset", [0.0, 1.5e-3, -1.0e-3])
@pytest.mark.parametrize("angle", [-170.0, -33.0, 0.0, 12.5, 75.0, 180.0, 300.0])
def test_slider_crank__derivatives_are_those_of_the_travel(angle: float, offset: float) -> None:
    h = 1e-3  # deg

    def travel(a: float) -> float:
        return piston_travel(a, R, L, offset)

    first = (travel(angle + h) - travel(angle - h)) / math.radians(2 * h)
    assert piston_rate(angle, R, L, offset) == pytest.approx(first, abs=1e-9)
    slope = (piston_rate(angle + h, R, L, offset) - piston_rate(angle - h, R, L, offset)) / math.radians(2 * h)
    assert piston_curvature(angle, R, L, offset) == pytest.approx(slope, abs=1e-8)


@pytest.mark.parametrize("offset", [0.0, 1.5e-3, -1.0e-3])
def test_slider_crank__is_that_of_the_cylinder_kernel(offset: float) -> None:
    """The same closed form stands as a compiled kernel; here the two are held together."""
    kinematics = pytest.importorskip("spoolwright.cylinder.kinematics")
    for angle in range(-360, 361, 15):
        a = float(angle)
        assert piston_travel(a, R, L, offset) == pytest.approx(
            kinematics.piston_travel(a, R, L, offset), rel=1e-12, abs=1e-15
        )
        assert piston_rate(a, R, L, offset) == pytest.approx(
            kinematics.piston_travel_rate(a, R, L, offset), rel=1e-11, abs=1e-15
        )
        assert piston_curvature(a, R, L, offset) == pytest.approx(
            kinematics.piston_travel_curvature(a, R, L, offset), rel=1e-11, abs=1e-15
        )


def test_slider_crank__long_rod_is_a_cosine() -> None:
    assert piston_travel(50.0, R, 1e6, 0.0) == pytest.approx(R * (1 - math.cos(math.radians(50.0))), rel=1e-6)


def test_piston_motion__acceleration_at_tdc_is_the_two_term_value() -> None:
    given = {"stroke": "80 mm", "rod_length": "137 mm", "speed": "7000 rpm"}
    exact = results("piston_motion", **given, angle="0 deg")["acceleration"]
    series = results("piston_motion_series", **given, angle="0 deg")["acceleration"]
    assert exact == pytest.approx(series, rel=1e-12)
    # away from the dead centre they part, by less than 2 % of the peak
    exact = results("piston_motion", **given, angle="60 deg")["acceleration"]
    series = results("piston_motion_series", **given, angle="60 deg")["acceleration"]
    assert 1e-4 < abs(exact - series) / 27769.0 < 0.02


def test_pin_offset__counts_towards_the_wall_that_carries_the_expansion_stroke() -> None:
    """Drawn out in coordinates: the crank pin goes to +x after top centre, the gas then presses the piston to -x.

    A pin line at x = -e is an offset e towards that wall; the top is where crank and rod lie in one line.
    """
    r, rod, e = 0.040, 0.137, 0.002
    upright_to_top = -math.asin(e / (rod + r))
    top = math.sqrt((rod + r) ** 2 - e**2)
    crank = {"stroke": "80 mm", "rod_length": "137 mm", "pin_offset": "2 mm"}
    for angle in (15.0, 60.0, 150.0, -60.0):
        turned = math.radians(angle) + upright_to_top
        across, up = r * math.sin(turned), r * math.cos(turned)
        pin = up + math.sqrt(rod**2 - (across + e) ** 2)
        got = results("piston_motion", **crank, angle=f"{angle} deg", speed="1000 rpm")["travel"]
        assert got == pytest.approx(top - pin, abs=1e-12)
    # the rod pushes the piston away from the crank pin, to -x, and leans more with the offset
    given = {"bore": "92 mm", "reciprocating_mass": "0.5 kg", "gas_pressure": "40 bar", "speed": "1000 rpm"}
    thrusts = [
        results("piston_forces", **crank | given | {"pin_offset": f"{x} mm"}, angle="40 deg")["side_thrust"]
        for x in (-2, 0, 2)
    ]
    assert 0.0 < thrusts[0] < thrusts[1] < thrusts[2]


def test_piston_motion__before_tdc_turns_the_sign() -> None:
    given = {"stroke": "80 mm", "rod_length": "137 mm", "speed": "7000 rpm"}
    before = results("piston_motion", **given, angle="20 deg BTDC")
    after = results("piston_motion", **given, angle="20 deg ATDC")
    assert before["travel"] == pytest.approx(after["travel"], rel=1e-12)
    assert before["velocity"] == pytest.approx(-after["velocity"], rel=1e-12)


def test_piston_motion__volume_at_the_dead_centres() -> None:
    given = {
        "stroke": "80 mm",
        "rod_length": "137 mm",
        "speed": "1000 rpm",
        "bore": "92.5 mm",
        "compression_ratio": "9",
    }
    top, bottom = (results("piston_motion", **given, angle=a)["volume"] for a in ("0 deg", "180 deg"))
    assert bottom / top == pytest.approx(9.0, rel=1e-12)


@pytest.mark.parametrize("offset", ["0 mm", "2 mm", "-2 mm"])
def test_angle_for_travel__undoes_the_travel(offset: str) -> None:
    crank = {"stroke": "80 mm", "rod_length": "137 mm", "pin_offset": offset}
    for angle in (5.0, 40.0, 120.0):
        travel = results("piston_motion", **crank, angle=f"{angle} deg", speed="1000 rpm")["travel"]
        got = results("angle_for_travel", **crank, travel=f"{travel * 1e9:.6f} nm")
        assert got["angle"] == pytest.approx(angle, abs=1e-4)
        there = results("piston_motion", **crank, angle=f"{got['angle_before']:.9f} deg BTDC", speed="1000 rpm")
        assert there["travel"] == pytest.approx(travel, rel=1e-6)
    with pytest.raises(BadInput, match="between zero and the stroke"):
        evaluate("angle_for_travel", {**crank, "travel": "90 mm"})


def test_peak_piston_speed__is_the_greatest() -> None:
    got = results("peak_piston_speed", stroke="80 mm", rod_length="137 mm", speed="7000 rpm")
    omega = 7000 * math.pi / 30
    scanned = max(omega * piston_rate(a / 10, R, L, 0.0) for a in range(1800))
    assert got["peak_speed"] == pytest.approx(scanned, rel=1e-5)


def test_crank_that_cannot_turn__is_said() -> None:
    with pytest.raises(BadInput, match="the crank cannot turn"):
        evaluate("piston_motion", {"stroke": "80 mm", "rod_length": "39 mm", "angle": "10 deg", "speed": "1000 rpm"})
    with pytest.raises(BadInput, match="the crank cannot turn"):
        evaluate(
            "inertia_load",
            {"stroke": "80 mm", "rod_length": "39 mm", "reciprocating_mass": "500 g", "speed": "1000 rpm"},
        )


def test_piston_forces__torque_is_the_work_of_the_piston() -> None:
    """Torque times crank speed equals piston force times piston speed: nothing is lost in the linkage."""
    given = {"bore": "92.5 mm", "stroke": "80 mm", "rod_length": "137 mm", "pin_offset": "1 mm", "speed": "5500 rpm"}
    for angle in ("14 deg ATDC", "90 deg", "200 deg", "30 deg BTDC"):
        forces = results("piston_forces", **given, reciprocating_mass="520 g", angle=angle, gas_pressure="30 bar")
        moving = results("piston_motion", **{k: v for k, v in given.items() if k != "bore"}, angle=angle)
        omega = 5500 * math.pi / 30
        assert forces["torque"] * omega == pytest.approx(forces["piston_force"] * moving["velocity"], rel=1e-9)
        whole = math.hypot(forces["tangential_force"], forces["radial_force"])
        assert whole == pytest.approx(abs(forces["rod_force"]), rel=1e-12)


def test_piston_forces__inertia_alone_at_tdc_is_inertia_load() -> None:
    crank = {"stroke": "80 mm", "rod_length": "137 mm", "reciprocating_mass": "520 g", "speed": "7000 rpm"}
    pulled = results("piston_forces", **crank, bore="92.5 mm", angle="0 deg", gas_pressure="0 bar")["rod_force"]
    assert pulled == pytest.approx(-results("inertia_load", **crank)["inertia_force"], rel=1e-12)


def test_speed_for_piston_speed__undoes_mean_piston_speed() -> None:
    speed = results("speed_for_piston_speed", stroke="80 mm", mean_piston_speed="21 m/s")["speed"]
    assert results("mean_piston_speed", stroke="80 mm", speed=f"{speed} rad/s")["mean_piston_speed"] == pytest.approx(
        21.0
    )


def test_torque_power_speed__any_two_give_the_third() -> None:
    whole = {"torque": "200 N m", "speed": "5000 rpm", "power": f"{200 * 5000 * math.pi / 30:.9f} W"}
    for missing in whole:
        got = results("torque_power_speed", **{k: v for k, v in whole.items() if k != missing})
        assert got["torque_at"] == pytest.approx(200.0)
        assert got["speed_at"] == pytest.approx(5000 * math.pi / 30)
        assert got["power_at"] == pytest.approx(104719.755, rel=1e-7)
    with pytest.raises(BadInput, match="exactly two"):
        evaluate("torque_power_speed", whole)


def test_torque_power_speed__the_trade_constants() -> None:
    """hp = lbf ft * rpm / 5252 and kW = N m * rpm / 9549, rounded as the trade writes them."""
    got = results("torque_power_speed", torque="300 lbf ft", speed="5252 rpm")
    assert got["power_at"] / 745.69987 == pytest.approx(300.0, rel=1e-4)
    got = results("torque_power_speed", torque="100 N m", speed="9549 rpm")
    assert got["power_at"] == pytest.approx(100e3, rel=1e-4)


def test_mean_pressure__from_torque_and_from_power_agree() -> None:
    by_torque = results("mean_effective_pressure", torque="200 N m", displacement="1.6 L")
    by_power = results("mean_effective_pressure", power="104.7197551 kW", speed="5000 rpm", displacement="1.6 L")
    assert by_torque["mean_pressure"] == pytest.approx(by_power["mean_pressure"], rel=1e-8)
    two = results("mean_effective_pressure", torque="200 N m", displacement="1.6 L", strokes="2")
    assert two["mean_pressure"] == pytest.approx(by_torque["mean_pressure"] / 2)
    with pytest.raises(BadInput, match="4 or 2"):
        evaluate("mean_effective_pressure", {"torque": "200 N m", "displacement": "1.6 L", "strokes": "3"})
    with pytest.raises(BadInput, match="give torque"):
        evaluate("mean_effective_pressure", {"displacement": "1.6 L"})


def test_torque_from_mean_pressure__undoes_it() -> None:
    p = results("mean_effective_pressure", torque="200 N m", displacement="1.6 L")["mean_pressure"]
    got = results("torque_from_mean_pressure", mean_pressure=f"{p:.9f} Pa", displacement="1.6 L", speed="5000 rpm")
    assert got["torque"] == pytest.approx(200.0)
    assert got["power"] == pytest.approx(104719.755, rel=1e-7)


def test_mean_pressure__one_cylinders_displacement_is_asked_about() -> None:
    answer = evaluate("mean_effective_pressure", {"torque": "200 N m", "displacement": "400 cc"})
    assert any("displacement" in q for q in answer.questions)


def test_mechanical_efficiency__pairs_must_agree() -> None:
    pressures = {"brake_mean_pressure": "9 bar", "friction_mean_pressure": "1 bar"}
    assert results("mechanical_efficiency", **pressures)["mechanical_efficiency"] == pytest.approx(0.9)
    with pytest.raises(BadInput, match="different efficiencies"):
        evaluate("mechanical_efficiency", {**pressures, "brake_power": "90 kW", "friction_power": "20 kW"})
    with pytest.raises(BadInput, match="give brake and friction"):
        evaluate("mechanical_efficiency", {"brake_mean_pressure": "9 bar"})


def test_bobweight__two_rods_on_a_pin_of_a_90_degree_vee() -> None:
    got = results(
        "bobweight", piston_mass="400 g", small_end_mass="100 g", big_end_mass="300 g", bearing_mass="50 g",
        rods_on_pin="2",
    )  # fmt: skip
    # 2*(300 + 50) + 0.5*2*(400 + 100)
    assert got["bobweight"] == pytest.approx(1.2)
