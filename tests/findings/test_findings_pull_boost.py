"""What a boosted pull is judged to be, from hand-made points; no engine is run."""

from __future__ import annotations

from typing import Any

import pytest
from pulls import point, pull_of, sheet_of

from spoolwright.engine.charge import site
from spoolwright.engine.pull import Point
from spoolwright.findings.model import Finding
from spoolwright.findings.pull import judge

BOOSTED: dict[str, Any] = {
    "boost_kPa": 52.0,
    "pressure_ratio": 1.58,
    "corrected_flow_kg_s": 0.08,
    "compressor_efficiency": 0.73,
    "compressor_outlet_temperature_K": 355.0,
    "charge_temperature_K": 350.0,
    "compressor_power_kW": 5.0,
    "turbo_speed_rpm": 104000.0,
    "tip_speed_m_s": 277.7,
    "surge_margin": 0.45,
    "surge_side_time": 0.0,
    "choke_margin": 0.30,
    "turbine_inlet_pressure_kPa": 165.0,
    "turbine_inlet_temperature_K": 1080.0,
    "expansion_ratio": 1.6,
    "drive_pressure_ratio": 1.2,
    "turbine_power_kW": 5.3,
    "turbine_efficiency": 0.66,
    "blade_speed_ratio": 0.6,
    "wastegate_opening": 0.3,
    "wastegate_flow_share": 0.2,
    "shaft_closure": 1e-4,
}
SUBJECTS = (
    "boost", "boost over speed", "spring force", "boost hose off", "surge", "choke", "turbo speed",
    "drive pressure over boost", "turbine inlet temperature", "charge temperature", "shaft balance", "compressor map",
)  # fmt: skip


def boosted(speed: float, **columns: Any) -> Point:
    return point(speed, **(BOOSTED | columns))


def found(subject: str, *points: Point, sets: tuple[str, ...] = (), build: str = "wren") -> Finding:
    sheet = sheet_of(build, *sets)
    mine = [one for one in judge(pull_of(sheet, *points), sheet) if one.subject == subject]
    assert len(mine) == 1, (subject, mine)
    return mine[0]


def steady(**columns: Any) -> tuple[Point, ...]:
    """Three speeds, the middle one with these columns."""
    return boosted(3000), boosted(4000, **columns), boosted(5000)


def test_every_subject__sound_on_a_sound_pull() -> None:
    sheet = sheet_of("wren")
    mine = {one.subject: one for one in judge(pull_of(sheet, *steady()), sheet)}
    for subject in SUBJECTS:
        one = mine[subject]
        if subject != "boost hose off":  # told on every sheet without a cut
            assert (subject, one.verdict) == (subject, "sound")
            assert one.working
            assert one.change_first == ""


def test_every_subject__silent_without_a_turbocharger() -> None:
    sheet = sheet_of("plover")
    mine = {one.subject for one in judge(pull_of(sheet, point(3000)), sheet)}
    assert not mine & set(SUBJECTS)


@pytest.mark.parametrize(
    ("column", "value", "subject", "verdict", "words"),
    [
        ("boost_kPa", 75.0, "boost", "stop", "0.75 bar is above your limit of 0.70 bar. Highest at 4000 rpm"),
        ("surge_margin", -0.05, "surge", "stop", "At 4000 rpm the mean flow is 5 % left of the surge line."),
        ("surge_margin", 0.06, "surge", "watch", "At 4000 rpm the flow is only 6 % right of the surge line."),
        ("surge_side_time", 0.15, "surge", "watch", "45 % right of the surge line at least, at 3000 rpm; pulses bring"),
        ("choke_margin", 0.03, "choke", "watch", "3 % is below the usual 5 %. Least at 4000 rpm."),
        ("turbo_speed_rpm", 185000.0, "turbo speed", "stop", "185000 rpm is above your limit of 180000 rpm."),
        ("turbo_speed_rpm", 176000.0, "turbo speed", "watch", "176000 rpm is close to your limit of 180000 rpm."),
        ("drive_pressure_ratio", 2.3, "drive pressure over boost", "watch", "2.3 is above the usual 2."),
        ("turbine_inlet_temperature_K", 1273.15, "turbine inlet temperature", "stop", "1000 degC is above your limit"),
        ("charge_temperature_K", 373.15, "charge temperature", "stop", "100 degC is above your limit of 95 degC."),
        ("shaft_closure", 0.01, "shaft balance", "watch", "At 4000 rpm turbine and compressor power differ by 1 %"),
    ],
)
def test_verdict__by_one_column(column: str, value: float, subject: str, verdict: str, words: str) -> None:
    one = found(subject, *steady(**{column: value}))
    assert one.verdict == verdict
    assert one.sentence.startswith(words)
    assert one.change_first
    assert f"{column} = " in one.working


def test_charge_temperature__usual_limit_where_none_is_set() -> None:
    one = found("charge temperature", *steady(charge_temperature_K=360.0), sets=("limits.max_charge_temperature=none",))
    assert one.verdict == "watch"
    assert "the usual 80 degC" in one.sentence


def test_drive_pressure__off_boost_is_left_out() -> None:
    points = (boosted(2000, boost_kPa=3.0, drive_pressure_ratio=9.0), boosted(4000))
    assert found("drive pressure over boost", *points).value == pytest.approx(1.2)


def test_boost_over_speed__creep() -> None:
    points = (boosted(2000, wastegate_opening=0.0, boost_kPa=30.0), boosted(3000), boosted(5000, boost_kPa=66.0))
    one = found("boost over speed", *points)
    assert one.verdict == "watch"
    assert "The gate is open from 3000 rpm" in one.sentence
    assert one.value == pytest.approx(14e3)
    assert "creep" in one.sentence


def test_boost_over_speed__gate_at_its_stop() -> None:
    one = found("boost over speed", boosted(3000), boosted(5000, wastegate_opening=1.0))
    assert one.verdict == "watch"
    assert "It stands at its stop at 5000 rpm: there boost is no longer held." in one.sentence
    assert one.where == "wastegate.max_lift"


def test_boost_over_speed__droop() -> None:
    one = found("boost over speed", boosted(3000), boosted(4000, boost_kPa=55.0), boosted(6000, boost_kPa=40.0))
    assert one.verdict == "watch"
    assert "It loses 27 % of its peak towards the top." in one.sentence


def test_boost_over_speed__gate_never_opens() -> None:
    one = found("boost over speed", *(boosted(n, wastegate_opening=0.0) for n in (3000, 4000)))
    assert one.verdict == "watch"
    assert one.sentence.startswith("The gate stays shut: 0.52 bar at most")


def test_spring_force__counts_the_run_s_own_drive_pressure() -> None:
    """130.5 N over a 55 mm diaphragm and, at 1.2 times boost, a 30 mm valve: 130.5 / (2.376e-3 + 1.2 * 7.07e-4) Pa."""
    one = found("spring force", *steady())
    assert one.value == pytest.approx(130.5 / (2.37583e-3 + 1.2 * 7.06858e-4), rel=1e-4)
    assert "with 1.2 times boost before the turbine, as the run has it at 3000 rpm" in one.sentence


def test_compressor_map__beyond_its_fastest_line() -> None:
    one = found("compressor map", *steady(tip_speed_m_s=490.0))
    assert one.verdict == "watch"
    assert "the wheel is beyond the map's fastest line" in one.sentence


def test_compressor_map__estimated_is_told() -> None:
    sets = ("charge.compressor.map=none", "turbine.map=none", 'turbine.peak_efficiency="68 %"')
    one = found("compressor map", *steady(), sets=sets)
    assert one.verdict == "watch"
    assert "estimated from its wheel" in one.sentence
    assert "estimated from throat and wheel" in one.sentence


def test_compressor_map__unusual_reference_state_is_told() -> None:
    one = found("compressor map", *steady(), sets=("charge.compressor.map_temperature=290 K",))
    assert one.verdict == "watch"
    assert "none that maps are usually printed at" in one.sentence


def test_unsettled_points__are_left_out() -> None:
    one = found("boost", boosted(3000), point(4000, trouble="did not settle", **(BOOSTED | {"boost_kPa": 200.0})))
    assert one.verdict == "sound"


@pytest.mark.parametrize(
    ("margin", "back", "verdict", "words"),
    [
        (0.30, None, "watch", "surge side for 15 % of the cycle at 4000 rpm."),
        (0.30, 0.0, "sound", "does not run backwards there"),
        (0.30, 0.4, "watch", "runs backwards there for 40 % of the time: the engine's own pulses do that"),
        (0.05, 0.0, "watch", "does not run backwards there"),
        (0.05, 0.4, "watch", "runs backwards there for 40 % of the time: it surges"),
        (-0.1, 0.0, "stop", "left of the surge line"),
    ],
)
def test_surge__tells_what_became_of_the_gas_let_free(
    margin: float, back: float | None, verdict: str, words: str
) -> None:
    one = found("surge", *steady(surge_margin=margin, surge_side_time=0.15, reverse_flow_time=back))
    assert one.verdict == verdict
    assert words in one.sentence


def test_filling__of_a_boosted_engine_is_judged_by_the_air_in_its_manifold() -> None:
    """1.88 of outside air at 2.0 times its pressure and 1.1 times its temperature is 1.88 / 2.0 * 1.1 = 1.034."""
    air = site(sheet_of("wren"))
    manifold = {"manifold_pressure_kPa": 2.0 * air.p / 1e3, "manifold_temperature_K": 1.1 * air.T}
    points = [boosted(n, volumetric_efficiency=1.88, **manifold) for n in (3000, 4000)]
    one = found("volumetric efficiency", *points)
    assert one.verdict == "sound"
    assert "188 to 188 % of outside air" in one.sentence
    assert "103 to 103 % of the air in the manifold" in one.sentence
    odd = found("volumetric efficiency", *(boosted(n, volumetric_efficiency=2.6, **manifold) for n in (3000, 4000)))
    assert odd.verdict == "watch"


def test_exhaust_temperature__before_a_turbine_is_told_once() -> None:
    sheet = sheet_of("wren")
    told = [one.subject for one in judge(pull_of(sheet, *steady(primary_temperature_K=1300.0)), sheet)]
    assert "turbine inlet temperature" in told
    assert "exhaust temperature" not in told
