"""What a pull is judged to be, from hand-made points: verdict, words and numbers; no engine is run."""

from __future__ import annotations

import json

import pytest
from pulls import point, pull_of, sheet_of

from spoolwright.engine.columns import COLUMNS
from spoolwright.engine.pull import Point, Pull
from spoolwright.findings.model import ORDER, Finding
from spoolwright.findings.pull import JUDGES, judge, report
from spoolwright.findings.pull_reading import spans

# The names an outside reader of the JSON relies on.
CONTRACT = """
speed_rpm torque_Nm power_kW bmep_kPa volumetric_efficiency air_flow_kg_s fuel_flow_kg_s lambda
manifold_pressure_kPa manifold_temperature_K pressure_ratio corrected_flow_kg_s compressor_efficiency
turbo_speed_rpm surge_margin turbine_inlet_pressure_kPa turbine_inlet_temperature_K wastegate_opening
knock_integral spark_deg_btdc mfb50_deg peak_pressure_MPa peak_pressure_deg head_temperature_K cycles converged
mass_closure energy_closure
"""


def _found(subject: str, *points: Point, build: str = "wren", sets: tuple[str, ...] = ()) -> Finding:
    sheet = sheet_of(build, *sets)
    mine = [one for one in judge(pull_of(sheet, *points), sheet) if one.subject == subject]
    assert len(mine) == 1, (subject, mine)
    return mine[0]


# ----------------------------------------------------------------------------- knock: always against a band
@pytest.mark.parametrize(
    ("integral", "verdict", "words"),
    [
        (0.30, "sound", "0.30 at most, at 3000 rpm; knock begins between 0.50 and 0.70."),
        # 1 octane number of 98 moves the integral by 3.402 / 98 = 3.5 %: 0.49 may be 0.507.
        (0.49, "watch", "0.49 at 3000 rpm may reach the band 0.50 to 0.70 by what the octane number may be off."),
        (0.48, "sound", "0.48 at most"),
        (0.55, "watch", "0.55 at 3000 rpm lies in the band 0.50 to 0.70 in which knock begins."),
        (0.71, "stop", "0.71 at 3000 rpm is above 0.70, from where knock is expected."),
        (0.95, "stop", "0.95 at 3000 rpm is above your limit of 0.90."),
    ],
)
def test_knock__is_held_against_the_band(integral: float, verdict: str, words: str) -> None:
    calm = {"knock_integral": 0.2}
    pull = (point(2000, **calm), point(3000, knock_integral=integral), point(4000, **calm))
    one = _found("knock", *pull, sets=("limits.max_knock_integral=0.90",))
    assert one.verdict == verdict
    assert one.sentence.startswith(words)
    assert "0.50 to 0.70" in one.limit_shown
    assert (one.change_first != "") == (verdict != "sound")
    assert (one.caution != "") == (verdict != "sound")


def test_knock__own_limit_below_the_band_stops_first() -> None:
    one = _found("knock", point(3000, knock_integral=0.45), sets=("limits.max_knock_integral=0.40",))
    assert one.verdict == "stop"
    assert one.sentence.startswith("0.45 at 3000 rpm is above your limit of 0.40.")
    assert "lies above the band" not in one.sentence


def test_knock__own_limit_above_the_band_is_told() -> None:
    one = _found("knock", point(3000), sets=("limits.max_knock_integral=0.90",))
    assert "Your limit of 0.90 lies above the band" in one.sentence


def test_knock__names_cylinder_speeds_and_what_the_search_gave_away() -> None:
    hot = {"knock_integral": [0.40, 0.55, 0.50, 0.45]}
    one = _found(
        "knock",
        point(2000, knock_integral=0.55, cylinders=hot, best_torque_spark_deg_btdc=27.2),
        point(2500, knock_integral=0.52),
        point(3000, knock_integral=0.45),
    )
    assert one.sentence.startswith("0.55 at 2000 rpm in cylinder 2 lies in the band")
    assert "In the band or above it from 2000 to 2500 rpm." in one.sentence
    assert "holds the spark up to 3.2 deg behind best torque" in one.sentence
    assert "knock_integral = 0.55" in one.working
    assert "octane number 98" in one.working


def test_knock__a_searched_spark_is_held_back_by_its_limit_first() -> None:
    one = _found("knock", point(3000, knock_integral=0.6), build="plover")
    assert one.change_first.startswith("Lower spark.knock_limit")


# ----------------------------------------------------------------------------- limits
@pytest.mark.parametrize(
    ("subject", "column", "value", "verdict", "words"),
    [
        # wren: 75 bar, 950 degC, 0.86 lambda
        ("peak cylinder pressure", "peak_pressure_MPa", 4.5, "sound", "45 bar"),
        ("peak cylinder pressure", "peak_pressure_MPa", 6.5, "watch", "65 bar is close to your limit of 75 bar"),
        ("peak cylinder pressure", "peak_pressure_MPa", 7.7, "stop", "77 bar is above your limit of 75 bar"),
        ("exhaust temperature", "primary_temperature_K", 1000.0, "sound", "727 degC"),
        ("exhaust temperature", "primary_temperature_K", 1240.0, "stop", "967 degC is above your limit of 950 degC"),
        ("mixture", "lambda", 0.80, "sound", "0.8 lambda"),
        ("mixture", "lambda", 0.90, "stop", "0.9 lambda is above your limit of 0.86 lambda"),
    ],
)
def test_limit__is_told_with_value_limit_and_place(
    subject: str, column: str, value: float, verdict: str, words: str
) -> None:
    one = _found(subject, point(2000), point(3000, **{column: value}), point(4000))
    assert one.verdict == verdict
    assert one.sentence.startswith(words)
    assert one.where.startswith("limits.")
    assert f"{column} = " in one.working
    assert "model: " in one.working
    if verdict == "stop":
        assert "at 3000 rpm" in one.sentence


def test_limit_not_given__is_not_measured_and_says_the_value() -> None:
    one = _found("peak cylinder pressure", point(3000, peak_pressure_MPa=5.0), build="plover")
    assert one.verdict == "not measured"
    assert "50 bar at 3000 rpm" in one.sentence


def test_piston_speed__is_that_of_the_highest_speed() -> None:
    # Stroke 69 mm at 6600 rpm: 2 * 0.069 * 110 = 15.18 m/s, over wren's 15 m/s.
    one = _found("mean piston speed", point(3000), point(6600))
    assert one.verdict == "stop"
    assert one.sentence.startswith("15.18 m/s is above your limit of 15 m/s")
    assert _found("mean piston speed", point(6000)).verdict == "sound"


def test_speed_past_the_limit__is_a_watch_and_at_it_nothing() -> None:
    assert _found("engine speed", point(6200)).verdict == "watch"
    sheet = sheet_of()
    assert not [f for f in judge(pull_of(sheet, point(6000)), sheet) if f.subject == "engine speed"]


def test_head_temperature__is_not_judged_by_what_was_put_in() -> None:
    assert _found("head temperature", point(3000, head_temperature_K=700.0)).verdict == "not measured"


# ----------------------------------------------------------------------------- charge
def test_charge_between_cylinders__over_five_per_cent_is_a_watch() -> None:
    apart = point(3000, cylinders={"charge_kg": [4.0e-4, 4.4e-4, 4.2e-4, 4.2e-4]})
    one = _found("charge between cylinders", point(2000, cylinders={"charge_kg": [4e-4] * 4}), apart)
    assert one.verdict == "watch"
    assert one.value == pytest.approx(0.4 / 4.2)
    assert "At 3000 rpm cylinder 2 draws most, 1 least" in one.sentence
    assert "cylinder 2: 440.0 mg" in one.working
    close = point(3000, cylinders={"charge_kg": [4.1e-4, 4.2e-4, 4.2e-4, 4.2e-4]})
    assert _found("charge between cylinders", close).verdict == "sound"


def test_charge_between_cylinders__names_what_blows_back() -> None:
    charge = {"charge_kg": [4.0e-4, 4.4e-4, 4.2e-4, 4.2e-4]}
    blown = _found("charge between cylinders", point(3000, cylinders=charge | {"residual": [0.077, 0.034, 0.05, 0.05]}))
    assert "It keeps 7.7 % burned gas against 3.4 %" in blown.sentence
    assert "primaries" in blown.change_first
    drawn = _found("charge between cylinders", point(3000, cylinders=charge | {"residual": [0.045, 0.04, 0.04, 0.04]}))
    assert "burned gas" not in drawn.sentence
    assert "runners" in drawn.change_first


def test_odd_filling_and_residual__point_at_the_inputs() -> None:
    one = _found("volumetric efficiency", point(3000, volumetric_efficiency=1.5))
    assert one.verdict == "watch"
    assert "flow table" in one.change_first
    assert _found("volumetric efficiency", point(3000)).verdict == "sound"
    residual = _found("residual gas", point(3000, residual=0.25))
    assert residual.verdict == "watch"
    assert residual.sentence.startswith("25 % of the charge is burned gas at 3000 rpm")


def test_burn_that_never_gets_half_way__is_told() -> None:
    one = _found("burn", point(2000), point(3000, mfb50_deg=None))
    assert one.verdict == "watch"
    assert one.sentence.endswith("at 3000 rpm.")
    assert _found("burn", point(3000, mfb50_deg=40.0)).value == 40.0


def test_no_torque__is_told() -> None:
    assert "does not turn itself at 6000 rpm" in _found("torque", point(3000), point(6000, torque_Nm=-2.0)).sentence


def test_valve_to_piston__is_as_check_judges_it() -> None:
    sheet = sheet_of("wren", "valves.intake.drop=1.5 mm")
    found = judge(pull_of(sheet, point(3000)), sheet)
    met = [one for one in found if one.subject.startswith("intake valve to piston,")]
    assert met
    assert all(one.verdict == "stop" for one in met)


# ----------------------------------------------------------------------------- points that did not settle
def test_points_that_did_not_settle__are_told_and_judged_by_nothing() -> None:
    sheet = sheet_of()
    lost = point(3000, "did not settle in 80 cycles; last relative changes: work 1e-3", knock_integral=2.0)
    findings = judge(pull_of(sheet, point(2000), lost, point(4000)), sheet)
    told = {one.subject: one for one in findings}
    assert told["convergence at 3000 rpm"].verdict == "not measured"
    assert told["convergence at 3000 rpm"].sentence.startswith("Did not settle in 80 cycles")
    assert told["convergence"].sentence.startswith("2 of 3 speeds settled")
    assert told["knock"].value == 0.30


def test_failed_point_without_numbers__breaks_nothing() -> None:
    sheet = sheet_of()
    failed = Point(
        dict.fromkeys(COLUMNS) | {"speed_rpm": 3000.0, "converged": False}, None, "cylinder 1 found no state"
    )
    findings = judge(pull_of(sheet, failed), sheet)
    assert "convergence at 3000 rpm" in {one.subject for one in findings}
    assert not [one for one in findings if "Cannot be judged" in one.sentence]
    json.dumps(report(pull_of(sheet, failed), sheet, findings), allow_nan=False)


def test_pull_without_points__is_judged_without_a_fault() -> None:
    sheet = sheet_of()
    assert all(one.verdict in ORDER for one in judge(pull_of(sheet, asked=5), sheet))


def test_findings__stand_worst_first() -> None:
    sheet = sheet_of()
    ranks = [ORDER.index(one.verdict) for one in judge(pull_of(sheet, point(3000, knock_integral=0.8)), sheet)]
    assert ranks == sorted(ranks)
    assert ranks[0] == 0


def test_judges__say_what_they_judge() -> None:
    for subject, one in JUDGES.items():
        assert (one.__doc__ or "").split("\n")[0].endswith("."), subject


@pytest.mark.parametrize(
    ("hot", "words"),
    [
        ((), ""),
        ((2000,), "at 2000 rpm"),
        ((2000, 3000), "from 2000 to 3000 rpm"),
        ((2000, 4000, 5000), "at 2000 rpm and from 4000 to 5000 rpm"),
        ((1000, 3000, 5000), "at 1000 rpm, at 3000 rpm and at 5000 rpm"),
    ],
)
def test_spans__name_the_stretches(hot: tuple[int, ...], words: str) -> None:
    pull: Pull = pull_of(sheet_of(), *(point(n) for n in (1000, 2000, 3000, 4000, 5000)))
    assert spans(pull, lambda p: p.columns["speed_rpm"] in hot) == words


# ----------------------------------------------------------------------------- JSON
def test_report__has_the_contract_s_names_and_plain_values() -> None:
    sheet = sheet_of("wren", "spark.advance=22 deg BTDC")
    pull = pull_of(sheet, point(2000), point(3000), asked=4)
    data = json.loads(json.dumps(report(pull, sheet, judge(pull, sheet), cancelled=True), allow_nan=False))
    assert {"build", "variant", "assumed", "points", "findings", "digest", "program_version"} <= set(data)
    assert data["build"] == "wren"
    assert data["variant"] is None
    assert data["set"] == ["spark.advance=22 deg BTDC"]
    assert data["digest"] == sheet.digest
    assert data["cancelled"] is True
    assert len(data["speeds_asked_rpm"]) == 4
    for one in data["points"]:
        assert set(CONTRACT.split()) <= set(one)
        assert one["turbo_speed_rpm"] is None
        assert one["converged"] is True
    assert data["points"][1]["torque_Nm"] == 110.0
    assert {"path", "value", "reason"} == set(data["assumed"][0])
    assert {"subject", "verdict", "sentence", "working"} <= set(data["findings"][0])
