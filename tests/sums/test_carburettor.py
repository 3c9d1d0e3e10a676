"""Sums of the topic carburettor: limits, inverses, faults and questions."""

from __future__ import annotations

import pytest
from asked import ask, questions

from spoolwright.errors import BadInput
from spoolwright.sums.evaluate import evaluate

HAT = {"mass_flow": "31.5 lb/min", "hat_boost": "13 psi", "barometer": "98.0 kPa", "hat_temperature": "60 degC"}


# ----------------------------------------------------------------------------- air side
def test_carburettor_flow__free_air_is_told_apart() -> None:
    answer = ask("carburettor_flow", **HAT, rated_flow="390 cfm @ 1.5 inHg")
    assert answer.results["free_air_flow"] > 1.5 * answer.results["volume_flow"]
    assert "not what it sees" in questions(answer)


def test_carburettor_flow__rating_that_gives_the_rated_drop() -> None:
    first = ask("carburettor_flow", **HAT, rated_flow="390 cfm @ 1.5 inHg").results
    again = ask(
        "carburettor_flow", **HAT, rated_flow=f"{first['rating_for_same_drop']!r} m3/s", rated_depression="1.5 inHg"
    )
    assert again.results["drop"] == pytest.approx(1.5 * 3386.389, rel=1e-9)


def test_carburettor_flow__two_share_the_flow() -> None:
    one = ask("carburettor_flow", **HAT, rated_flow="390 cfm @ 1.5 inHg").results["drop"]
    two = ask("carburettor_flow", **HAT, rated_flow="390 cfm @ 1.5 inHg", carburettors="2").results["drop"]
    assert two == pytest.approx(one / 4.0)


def test_carburettor_flow__condition_and_input_must_agree() -> None:
    with pytest.raises(BadInput, match="keep one of them"):
        ask("carburettor_flow", **HAT, rated_flow="390 cfm @ 1.5 inHg", rated_depression="3.0 inHg")
    with pytest.raises(BadInput, match="rated_depression is missing"):
        ask("carburettor_flow", **HAT, rated_flow="390 cfm")


def test_carburettor_flow__hat_pressure_must_be_given() -> None:
    rest = {k: v for k, v in HAT.items() if k != "hat_boost"}
    with pytest.raises(BadInput, match="hat_boost or hat_pressure"):
        ask("carburettor_flow", **rest, rated_flow="390 cfm @ 1.5 inHg")


def test_carburettor_flow__gauge_written_as_absolute_is_questioned() -> None:
    rest = {k: v for k, v in HAT.items() if k not in ("hat_boost", "barometer")}
    answer = ask("carburettor_flow", **rest, hat_pressure="13 psi", rated_flow="390 cfm @ 1.5 inHg")
    assert "boost gauge" in questions(answer)


def test_carburettor_size__agrees_with_the_drop() -> None:
    size = ask(
        "carburettor_size",
        displacement="2150 cc",
        speed="6500 rpm",
        volumetric_efficiency="94 %",
        density="1.962 kg/m3",
        drop="1.0 inHg",
        rated_depression="1.5 inHg",
    ).results
    flow = f"{size['volume_flow'] * 1.962!r} kg/s"
    state = {"hat_pressure": f"{1.962 * 287.05287 * 300!r} Pa", "hat_temperature": "300 K"}
    seen = ask(
        "carburettor_flow", mass_flow=flow, **state, rated_flow=f"{size['rating']!r} m3/s", rated_depression="1.5 inHg"
    )
    assert seen.results["drop"] == pytest.approx(3386.389, rel=1e-9)


def test_venturi__diameter_and_depression_agree() -> None:
    state = {"mass_flow": "0.1 kg/s", "pressure": "101 kPa", "temperature": "20 degC"}
    sized = ask("venturi_diameter", **state, throat_speed="110 m/s").results
    back = ask("venturi_depression", **state, diameter=f"{sized['diameter']!r} m", discharge="100 %").results
    assert back["depression"] == pytest.approx(sized["depression"], rel=1e-6)
    assert back["throat_speed"] == pytest.approx(110.0, rel=1e-6)


def test_venturi__choking_is_refused_with_the_ceiling() -> None:
    state = {"pressure": "101 kPa", "temperature": "20 degC"}
    ceiling = ask("venturi_ceiling", **state, diameter="25 mm").results["mass_flow"]
    just = ask(
        "venturi_depression", **state, diameter="25 mm", discharge="100 %", mass_flow=f"{0.999 * ceiling!r} kg/s"
    )
    assert just.results["throat_mach"] == pytest.approx(1.0, abs=0.05)
    with pytest.raises(BadInput, match="chokes"):
        ask("venturi_depression", **state, diameter="25 mm", discharge="100 %", mass_flow=f"{1.001 * ceiling!r} kg/s")
    with pytest.raises(BadInput, match="speed of sound"):
        ask("venturi_diameter", **state, mass_flow="0.1 kg/s", throat_speed="320 m/s")


# ----------------------------------------------------------------------------- jets
def test_jet__diameter_and_flow_are_inverses() -> None:
    state = {"fuel_density": "0.745 kg/L", "discharge": "70 %", "depression": "5.5 kPa", "lip": "4 mm", "jets": "2"}
    size = ask("jet_diameter", fuel_flow="40 kg/h", **state).results["diameter"]
    assert ask("jet_flow", jet=f"{size!r} m", **state).results["fuel_flow"] == pytest.approx(40 / 3600)


def test_jet__lip_higher_than_the_pull() -> None:
    with pytest.raises(BadInput, match="lip"):
        ask("jet_flow", jet="1.2 mm", fuel_density="0.745 kg/L", discharge="70 %", depression="0.05 kPa", lip="10 mm")


def test_jet_change__lambda_gives_the_same_as_ratios() -> None:
    by_ratio = ask("jet_change", jet="0.072 in", afr_measured="12.7", afr_wanted="11.6").results["jet_wanted"]
    by_lambda = ask("jet_change", jet="1.8288 mm", lambda_measured="12.7 AFR @ 14.7", lambda_wanted="11.6 AFR @ 14.7")
    assert by_lambda.results["jet_wanted"] == pytest.approx(by_ratio)


def test_jet_change__power_circuit_keeps_its_share() -> None:
    plain = ask("jet_change", jet="1.8 mm", afr_measured="12.7", afr_wanted="11.6").results
    with_circuit = ask(
        "jet_change", jet="1.8 mm", afr_measured="12.7", afr_wanted="11.6", power_circuit="0.8 mm"
    ).results
    total_before, total_after = 1.8**2 + 0.8**2, (with_circuit["jet_wanted"] * 1e3) ** 2 + 0.8**2
    assert total_after / total_before == pytest.approx(12.7 / 11.6)
    assert with_circuit["jet_wanted"] > plain["jet_wanted"]


@pytest.mark.parametrize(
    ("inputs", "message"),
    [
        ({"afr_measured": "12.7"}, "afr_wanted"),
        ({"afr_measured": "12.7", "lambda_wanted": "0.8 lambda"}, "same terms"),
        ({"afr_measured": "12.7", "afr_wanted": "11.6", "lambda_measured": "0.9 lambda"}, "say the same thing"),
        ({"lambda_measured": "12.7 AFR", "lambda_wanted": "0.8 lambda"}, "means nothing without its fuel"),
    ],
)
def test_jet_change__fault(inputs: dict[str, str], message: str) -> None:
    with pytest.raises(BadInput, match=message):
        evaluate("jet_change", {"jet": "1.85 mm", **inputs})


def test_jet_change__leaner_and_large_steps_are_questioned() -> None:
    assert "leans" in questions(ask("jet_change", jet="1.85 mm", afr_measured="11.0", afr_wanted="11.6"))
    assert "big step" in questions(ask("jet_change", jet="1.85 mm", afr_measured="15.5", afr_wanted="11.6"))
    assert "looks like lambda" in questions(ask("jet_change", jet="1.85 mm", afr_measured="0.9", afr_wanted="0.8"))


def test_jet_for_density__thin_air_is_richer() -> None:
    up = ask(
        "jet_for_density",
        pressure="101.3 kPa",
        temperature="15 degC",
        pressure_now="83.5 kPa",
        temperature_now="15 degC",
        jet="1.85 mm",
        afr="12.5",
    ).results
    assert up["afr_now"] == pytest.approx(12.5 * (83.5 / 101.3) ** 0.5)
    assert up["jet_for_same"] == pytest.approx(1.85e-3 * (83.5 / 101.3) ** 0.25)


def test_jet_for_fuel__the_same_fuel_keeps_the_jet() -> None:
    same = ask(
        "jet_for_fuel",
        jet="1.85 mm",
        stoichiometric="14.7",
        fuel_density="0.745 kg/L",
        stoichiometric_new="14.7",
        fuel_density_new="0.745 kg/L",
    ).results
    assert same["jet_new"] == pytest.approx(1.85e-3)
    assert same["volume_ratio"] == pytest.approx(1.0)


def test_jets_together__two_equal_in_line_halve_the_pull_on_each() -> None:
    assert ask("jets_together", diameters="1.0 mm; 1.0 mm", arranged="in line").results["one_jet"] == pytest.approx(
        1e-3 * 0.5**0.25
    )
    assert ask("jets_together", diameters="3 mm; 4 mm").results["one_jet"] == pytest.approx(5e-3)


# ----------------------------------------------------------------------------- bowl
def test_bowl_reference__small_errors_count_where_the_pull_is_small() -> None:
    hurt = ask("bowl_reference", error="-2 kPa", depression="6 kPa", afr="11.6")
    assert hurt.results["afr_found"] == pytest.approx(11.6 / (4 / 6) ** 0.5)
    assert "leans" in questions(hurt)
    by_pressures = ask("bowl_reference", bowl_pressure="88 kPa", hat_pressure="90 kPa", depression="6 kPa", afr="11.6")
    assert by_pressures.results["afr_found"] == pytest.approx(hurt.results["afr_found"])


def test_bowl_reference__bowl_left_at_outside_air() -> None:
    with pytest.raises(BadInput, match="no fuel flows"):
        ask("bowl_reference", bowl_pressure="0 kPa", hat_pressure="90 kPa", depression="6 kPa")


def test_needle_seat__boost_in_the_bowl_is_taken_off() -> None:
    over = ask(
        "needle_seat", seat="2.5 mm", line_pressure="20.5 psi", bowl_pressure="14 psi", fuel_density="0.745 kg/L"
    )
    plain = ask("needle_seat", seat="2.5 mm", fuel_pressure="6.5 psi", fuel_density="0.745 kg/L")
    assert over.results["fuel_flow"] == pytest.approx(plain.results["fuel_flow"])
    with pytest.raises(BadInput, match="no fuel enters"):
        ask("needle_seat", seat="2.5 mm", line_pressure="6.5 psi", bowl_pressure="14 psi", fuel_density="0.745 kg/L")
    with pytest.raises(BadInput, match="bowl_pressure beside it"):
        ask("needle_seat", seat="2.5 mm", line_pressure="6.5 psi", fuel_density="0.745 kg/L")


def test_needle_seat__small_lift_limits() -> None:
    state = {"seat": "2.5 mm", "fuel_pressure": "6.5 psi", "fuel_density": "0.745 kg/L"}
    wide = ask("needle_seat", **state, needle_lift="2 mm").results
    small = ask("needle_seat", **state, needle_lift="0.3 mm").results
    assert wide["area"] == pytest.approx(3.141592653589793 / 4 * 2.5e-3**2)
    assert small["area"] == pytest.approx(3.141592653589793 * 2.5e-3 * 0.3e-3)


def test_bowl_time__mass_balance() -> None:
    state = {"bowl_volume": "120 cc", "fuel_density": "0.75 kg/L"}
    short = ask("bowl_time", **state, demand="72 kg/h", supply="36 kg/h").results
    assert short["time"] == pytest.approx(0.09 / 0.01)
    enough = ask("bowl_time", **state, demand="72 kg/h", supply="80 kg/h")
    assert enough.results["time"] is None
    assert "does not empty" in questions(enough)


def test_float_holds__sinking_float() -> None:
    state = {"float_volume": "5 cc", "fuel_density": "0.745 kg/L", "float_arm": "30 mm", "needle_arm": "9 mm"}
    with pytest.raises(BadInput, match="sinks"):
        ask("float_holds", **state, float_mass="5 g", immersed="70 %", seat="2.5 mm")


# ----------------------------------------------------------------------------- figures by hand
def test_jet_for_fuel__flows_the_fuel_mass_wanted() -> None:
    """Through the jet sum itself: at the same pull the new jet passes the new fuel's mass."""
    pull = {"discharge": "70 %", "depression": "5.5 kPa"}
    new = ask(
        "jet_for_fuel",
        jet="1.85 mm",
        stoichiometric="14.7",
        fuel_density="0.745 kg/L",
        stoichiometric_new="9.8",
        fuel_density_new="0.785 kg/L",
    ).results
    old_flow = ask("jet_flow", jet="1.85 mm", fuel_density="0.745 kg/L", **pull).results
    new_flow = ask("jet_flow", jet=f"{new['jet_new']!r} m", fuel_density="0.785 kg/L", **pull).results
    assert new_flow["fuel_flow"] / old_flow["fuel_flow"] == pytest.approx(14.7 / 9.8)
    assert new_flow["fuel_volume_flow"] / old_flow["fuel_volume_flow"] == pytest.approx(new["volume_ratio"])


def test_float_level__tilt_by_hand() -> None:
    """Half a g tilts the level by 1 in 2: 20 mm from the middle it stands 10 mm higher, 73 Pa of petrol."""
    r = ask(
        "float_level",
        level_change="0 mm",
        fuel_density="0.745 kg/L",
        depression="2 kPa",
        acceleration="0.5 gn",
        distance="20 mm",
    ).results
    assert r["level_at_jet"] == pytest.approx(0.010)
    assert r["head"] == pytest.approx(73.06, rel=1e-3)
    assert r["fuel_factor"] == pytest.approx((2073.06 / 2000) ** 0.5, rel=1e-5)


def test_float_holds__by_hand() -> None:
    """10.43 g of fuel pushed aside less 5 g lift 0.0533 N; arms 30 to 9 mm make it 0.1775 N."""
    r = ask(
        "float_holds",
        float_volume="20 cc",
        float_mass="5 g",
        immersed="70 %",
        fuel_density="0.745 kg/L",
        float_arm="30 mm",
        needle_arm="9 mm",
        seat="2.5 mm",
    ).results
    assert r["needle_force"] == pytest.approx((0.7 * 14.9e-3 - 5e-3) * 9.80665 * 30 / 9)
    assert r["pressure_held"] == pytest.approx(r["needle_force"] / 4.9087e-6, rel=1e-4)


def test_hat_force__shared_by_the_screws() -> None:
    r = ask("hat_force", boost="100 kPa", area="200 cm2", screws="4").results
    assert (r["force"], r["force_per_screw"]) == pytest.approx((2000.0, 500.0))


def test_bowl_time__flows_by_volume_are_the_same_fuel() -> None:
    state = {"bowl_volume": "4 in3", "fuel_density": "0.75 kg/L"}
    by_volume = ask("bowl_time", **state, demand_volume="100 L/h", supply_volume="80 L/h").results
    by_mass = ask("bowl_time", **state, demand="75 kg/h", supply="60 kg/h").results
    assert by_volume["time"] == pytest.approx(by_mass["time"])
    assert by_volume["time"] == pytest.approx(4 * 0.0254**3 / (20e-3 / 3600))
    seat = {"seat": "2.5 mm", "fuel_pressure": "6 psi", "fuel_density": "0.75 kg/L"}
    margin = ask("needle_seat", **seat, demand_volume="100 L/h").results["margin"]
    assert margin == pytest.approx(ask("needle_seat", **seat, demand="75 kg/h").results["margin"])
    with pytest.raises(BadInput, match="say the same thing"):
        ask("bowl_time", **state, demand="75 kg/h", demand_volume="100 L/h", supply="60 kg/h")


def test_jet_change__ratio_may_be_written_as_afr() -> None:
    plain = ask("jet_change", jet="1.85 mm", afr_measured="12.7", afr_wanted="11.6:1").results
    worded = ask("jet_change", jet="185 hundredths", afr_measured="12.7 AFR", afr_wanted="11.6 to 1").results
    assert worded["jet_wanted"] == pytest.approx(plain["jet_wanted"])
