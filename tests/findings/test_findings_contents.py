"""What a finding carries: numbers, limit and its origin, margin, working, caution, remedy; slips and unusual values."""

from __future__ import annotations

import math
import shutil
from pathlib import Path

import pytest
from judged import found, judged

from spoolwright.findings.asking import PRACTICE
from spoolwright.findings.check import check, report
from spoolwright.findings.model import ORDER, by_urgency
from spoolwright.sheet import load
from spoolwright.sheet.demo import demo_folder
from spoolwright.sums.evaluate import evaluate
from spoolwright.sums.registry import all_sums

BUILDS = [("wren", None), ("wren", "lane"), ("wren", "hill"), ("wren", "leaky"), ("heron", None), ("plover", None)]


def test_ratio__is_the_geometry_of_the_parts() -> None:
    """By hand for one cylinder of wren: 86.00 bore, 69 stroke, 51.8 + 4.0 + 0.5 cc, 0.90 deck."""
    area = math.pi / 4 * 8.6**2
    clearance = 51.8 + 4.0 + 0.5 + area * 0.09
    one = found("compression ratio, cylinder 2", "wren", "limits.max_ratio=7.3:1")
    assert one.value == pytest.approx((area * 6.9 + clearance) / clearance, rel=1e-9)


def test_piston_speed__is_twice_the_stroke_times_the_turns() -> None:
    assert found("mean piston speed", "wren").value == pytest.approx(2 * 0.069 * 100.0)


def test_fan_burst__follows_speed_squared() -> None:
    slow, fast = (found("fan burst", "wren", f"limits.max_speed={n} rpm") for n in (3000, 6000))
    assert slow.value == pytest.approx(4.0 * fast.value, rel=1e-9)  # type: ignore[operator]


def test_hose_off__is_the_force_balance() -> None:
    """130.5 N of spring on a 30 mm valve, drive pressure 1.5 times boost."""
    opens = 130.5 / (math.pi / 4 * 0.030**2)
    assert found("boost hose off", "wren").value == pytest.approx(opens / 1.5, rel=1e-6)


def test_working__shows_the_users_numbers_and_where_they_stand() -> None:
    one = found("compression ratio", "wren")
    for text in ("51.8 cc ± 0.4", "build.toml:", "69.0 mm", "clearance_volume = chamber", "Source: plain geometry"):
        assert text in one.working
    assert one.sum == "compression_ratio_of_cylinders"


def test_working__names_what_was_taken() -> None:
    assert PRACTICE in found("fuel pump margin", "wren").working
    assert "95 %" in found("fuel pump margin", "wren").working


def test_working_of_a_chain__shows_every_step() -> None:
    working = found("head studs", "wren").working
    for title in ("Torque for a clamp load", "Gauge pressure", "Head joint"):
        assert title in working


def test_long_curve__is_cut_in_the_working() -> None:
    working = found("intake valve to piston", "wren").working
    assert "points from -45 deg" in working
    assert max(len(line) for line in working.splitlines()) < 900


def test_own_limit__names_its_line_and_a_habit_says_so() -> None:
    own = found("mean piston speed", "wren")
    sheet = load(demo_folder("wren"))
    assert own.resting_on == f"your own limit, {sheet.where('limits.max_piston_speed')}"
    assert found("turbo drain", "wren").resting_on == PRACTICE


def test_margin__is_the_share_of_the_limit_that_is_left() -> None:
    one = found("mean piston speed", "wren")
    assert one.margin == pytest.approx((15.0 - 13.8) / 15.0)
    past = found("mean piston speed", "wren", "limits.max_piston_speed=12 m/s")
    assert past.margin == pytest.approx((12.0 - 13.8) / 12.0)


def test_sound_row__stands_for_its_tightest_value() -> None:
    """7.514 is nearer to 7.7 than 7.44 is to 7.2, as a share of the limit."""
    one = found("compression ratio", "wren")
    assert (one.where, one.limit_shown) == ("cylinders.chamber[2]", "7.7:1")


def test_gate_that_exhaust_pushes_shut__needs_more_boost_than_its_spring() -> None:
    """130.5 N over the diaphragm's area less twice the valve's: 55 mm and 30 mm."""
    one = found("wastegate cracks", "wren", "wastegate.exhaust_pushes=shut", "limits.max_boost=2 bar")
    area = math.pi / 4 * (0.055**2 - 2.0 * 0.030**2)
    assert one.value == pytest.approx(130.5 / area, rel=1e-6)


def test_units__are_those_of_the_limit() -> None:
    one = found("mean piston speed", "wren", "limits.max_piston_speed=3000 ft/min")
    assert "2717 ft/min; allowed at most 3000 ft/min" in one.sentence
    assert "thou" in found("squish, cold, cylinders 1, 2, 3 and 4", "wren", "cylinders.deck=25 thou").sentence


def test_barely_past__is_told_with_digits_that_differ() -> None:
    one = found("mean piston speed", "wren", "limits.max_piston_speed=13.79999 m/s")
    assert one.verdict == "stop"
    assert "13.8 m/s is above your limit of 13.8 m/s" not in one.sentence


def test_remedy__brings_the_ratio_back_to_the_limit() -> None:
    """The spacer that the finding names, put under the barrel, meets the limit."""
    one = found("compression ratio, cylinder 3", "wren", 'cylinders.chamber=["52 cc", "52 cc", "49 cc", "52 cc"]')
    assert "Open the chamber or dish by" in one.change_first
    room = float(one.change_first.split("by ")[1].split(" cc")[0])
    given = {"bore": "86.02 mm", "stroke": "69 mm", "dish": "4.0 cc", "deck": "0.94 mm", "crevice": "0.5 cc"}
    after = evaluate("compression_ratio", {**given, "chamber": f"{49 + room} cc"}).results["compression_ratio"]
    assert after == pytest.approx(7.7, abs=0.02)


@pytest.mark.parametrize(("build", "variant"), BUILDS)
def test_every_finding__is_complete(build: str, variant: str | None) -> None:
    sheet = load(demo_folder(build), variant)
    for one in check(sheet):
        assert one.sentence.endswith("."), one
        assert one.where, one
        assert one.verdict in ORDER
        if one.verdict in ("stop", "watch"):
            assert one.change_first, one.subject
            assert one.resting_on, one.subject
        if one.sum:
            assert one.sum in all_sums()
            assert "Source: " in one.working


@pytest.mark.parametrize(("build", "variant"), BUILDS)
def test_habit_of_the_trade__never_stops(build: str, variant: str | None) -> None:
    for sets in ((), ("limits.max_speed=11000 rpm",)):
        for one in check(load(demo_folder(build), variant, sets)):
            assert not (one.verdict == "stop" and PRACTICE in one.resting_on), one


def test_order__is_worst_first() -> None:
    verdicts = [ORDER.index(one.verdict) for one in judged("wren", "limits.max_speed=9000 rpm")]
    assert verdicts == sorted(verdicts)
    assert verdicts[0] == 0


def test_order_within_a_verdict__what_can_hurt_first_then_the_smallest_margin() -> None:
    ordered = by_urgency(judged("wren", "limits.max_speed=9000 rpm"))
    for verdict in ORDER:
        keys = [(not f.caution, 1e9 if f.margin is None else f.margin) for f in ordered if f.verdict == verdict]
        assert keys == sorted(keys)
    assert len({key[0] for key in keys}) == 1  # what is sound has no caution
    assert {bool(one.caution) for one in ordered if one.verdict == "stop"} == {True, False}


def test_decimal_point__in_a_row_is_asked_for() -> None:
    one = found("likely slip", "wren", 'strength.rings.top.gap=["0.40 mm", "4.2 mm", "0.40 mm", "0.41 mm"]')
    assert one.verdict == "watch"
    assert one.where == "strength.rings.top.gap"
    assert "decimal point" in one.sentence


def test_decimal_point__like_values_are_not_asked_for() -> None:
    assert not [one for one in judged("wren") if one.subject == "likely slip"]


def test_unusual_value__names_the_likely_slip() -> None:
    one = found("unusual value", "wren", "carburettor.needle_seat=0.9 mm")
    assert (one.verdict, one.where) == ("watch", "carburettor.needle_seat")
    assert "below the usual 1.2 mm" in one.sentence


def test_unusual_value__none_in_the_demos() -> None:
    for build, variant in BUILDS:
        every = check(load(demo_folder(build), variant))
        assert not [one.sentence for one in every if one.subject == "unusual value"]


def test_drop_measured_off_top_dead_centre__is_brought_there() -> None:
    """With the piston already down at 10 deg the measured drop is larger by its travel."""
    at_top = found("intake valve to piston", "wren")
    later = found("intake valve to piston", "wren", "valves.intake.drop_at=10 deg")
    r, rod = 34.5, 128.0
    angle = math.radians(10.0)
    travel = r + rod - r * math.cos(angle) - math.sqrt(rod**2 - (r * math.sin(angle)) ** 2)
    lean = math.cos(math.radians(14.0))
    assert at_top.value - later.value == pytest.approx(travel * lean * 1e-3, rel=1e-3)  # type: ignore[operator]


def test_lift_measured_at_the_cam__is_multiplied_by_the_rocker() -> None:
    plain = found("intake valve to piston", "wren")
    cam = found(
        "intake valve to piston", "wren", "valves.intake.lift_measured_at=cam", "valves.intake.rocker_ratio=1.2"
    )
    assert cam.value < plain.value  # type: ignore[operator]


def test_report__is_plain_data_with_the_assumed() -> None:
    sheet = load(demo_folder("plover"))
    data = report(sheet, check(sheet))
    assert set(data) == {"build", "variant", "set", "digest", "assumed", "findings"}
    assert {"path": "spark.latency", "value": "40 us"}.items() <= next(
        a for a in data["assumed"] if a["path"] == "spark.latency"
    ).items()
    assert {"subject", "verdict", "sentence", "where", "value", "limit", "margin", "working", "sum", "resting_on",
            "caution", "change_first", "kind", "shown", "limit_shown"} == set(data["findings"][0])  # fmt: skip


def test_mixture_table__leanest_is_judged_and_richest_sizes_the_supply(tmp_path: Path) -> None:
    """At the highest manifold pressure the lean end is a risk to the engine, the rich end to the pump."""
    folder = tmp_path / "heron"
    shutil.copytree(demo_folder("heron"), folder)
    rows = "2000,100,0.95\n2000,220,0.78\n6000,100,0.95\n6000,220,0.86\n"
    (folder / "tables" / "mixture.csv").write_text(f"speed [rpm],manifold_pressure [kPa],lambda\n{rows}")
    told = {one.subject: one for one in check(load(folder))}
    assert told["mixture at full load"].value == pytest.approx(0.86)
    assert "mixture = 0.78 lambda" in told["fuel pump margin"].working
