"""Findings of a boosted pull about boost and what holds it: limit, creep and droop, spring, hose off."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright import units
from spoolwright.engine.pull import Point, Pull
from spoolwright.findings import boost
from spoolwright.findings.asking import PRACTICE, Given, ask, workings
from spoolwright.findings.judging import Question, own, unit_at
from spoolwright.findings.model import Finding, Verdict
from spoolwright.findings.pull_reading import BOOST_MODEL as MODEL
from spoolwright.findings.pull_reading import highest, judged, known, rpm_of, run_working, spans
from spoolwright.sheet import Sheet

OPENING = 0.02  # of the lift: from here the gate counts as open
STOP = 0.98  # of the lift: the gate stands at its stop
CREEP = "10 kPa"  # rise of boost from where the gate opens to the top; more is creep
DROOP = 0.15  # share of its peak that boost loses towards the top
GATE = boost.GATE


def most_boost(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Highest boost of the pull against `limits.max_boost`."""
    path, limit = "limits.max_boost", own(sheet, "limits.max_boost")
    if not known(pull, "boost_kPa") or limit is None:
        return
    point = highest(pull, "boost_kPa")
    assert point is not None
    past = spans(pull, lambda p: 1e3 * p.columns["boost_kPa"] > limit.value)
    q = Question(
        "boost",
        "pressure_gauge",
        unit_at(sheet, path, "kPa"),
        high=limit,
        digits=3,
        note=f"Highest at {rpm_of(point):.0f} rpm, mean of the cycle." + (f" Past it {past}." if past else ""),
        caution=GATE,
        change_first="A softer spring, or a larger gate where it stands at its stop.",
    )
    working = run_working(
        "Boost", point, MODEL, "boost", "boost_kPa", "pressure_ratio", "wastegate_opening", "drive_pressure_ratio"
    )
    yield from judged(q, 1e3 * point.columns["boost_kPa"], path, working)


def boost_over_speed(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Creep, droop and the gate: where it opens, whether it reaches its stop, what it lets by."""
    if not sheet.has("wastegate"):
        return
    points = known(pull, "wastegate_opening")
    if not points:
        return
    open_ones = [p for p in points if p.columns["wastegate_opening"] > OPENING]
    unit = unit_at(sheet, "limits.max_boost", "kPa")
    if not open_ones:
        top = max(points, key=lambda p: p.columns["boost_kPa"])
        reached = units.show(1e3 * top.columns["boost_kPa"], "pressure_gauge", unit, 3)
        yield Finding(
            "boost over speed",
            "watch",
            f"The gate stays shut: {reached} at most, at {rpm_of(top):.0f} rpm. Only the turbine's size holds boost.",
            "wastegate",
            resting_on="force balance",
            caution=GATE,
            change_first="A softer spring, a smaller housing, or accept it as it is.",
        )
        return
    yield _creep(pull, sheet, open_ones, unit)


def _creep(pull: Pull, sheet: Sheet, open_ones: list[Point], unit: str) -> Finding:
    first, last = open_ones[0], open_ones[-1]
    peak = max(open_ones, key=lambda p: p.columns["boost_kPa"])
    rise = 1e3 * (last.columns["boost_kPa"] - first.columns["boost_kPa"])
    lost = 1.0 - last.columns["boost_kPa"] / peak.columns["boost_kPa"]
    allowed = units.read(CREEP, "pressure_difference").value
    at_stop = spans(pull, lambda p: (p.columns["wastegate_opening"] or 0.0) >= STOP)
    share = max((p.columns["wastegate_flow_share"] or 0.0) for p in open_ones)
    verdict: Verdict = "sound"
    told = (
        f"The gate is open from {rpm_of(first):.0f} rpm and lets by {100 * share:.0f} % of the gas at most; "
        f"from there boost goes from {units.show(1e3 * first.columns['boost_kPa'], 'pressure_gauge', unit, 3)} to "
        f"{units.show(1e3 * last.columns['boost_kPa'], 'pressure_gauge', unit, 3)} at {rpm_of(last):.0f} rpm."
    )
    change = ""
    if at_stop:
        verdict, change = "watch", "A larger gate, or one that takes the gas straight on."
        told += f" It stands at its stop {at_stop}: there boost is no longer held."
    elif rise > allowed:
        verdict, change = "watch", "A larger port, a softer spring with more preload, a better place for the branch."
        told += f" More than {CREEP} of rise is creep ({PRACTICE})."
    elif lost > DROOP:
        verdict, change = "watch", "A larger housing or freer tail: back pressure pushes the gate open."
        told += f" It loses {100 * lost:.0f} % of its peak towards the top."
    working = run_working(
        "Boost over speed", last, MODEL, "boost", "boost_kPa", "wastegate_opening", "wastegate_flow_share",
        "turbine_inlet_pressure_kPa", "drive_pressure_ratio",
    )  # fmt: skip
    return Finding(
        "boost over speed",
        verdict,
        told,
        "wastegate.max_lift" if at_stop else "wastegate.spring_rate",
        "pressure_difference",
        rise,
        units.show(rise, "pressure_difference", unit, 3),
        allowed,
        CREEP,
        working=working,
        resting_on=PRACTICE,
        caution=GATE if verdict == "watch" else "",
        change_first=change,
    )


def spring(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Spring against boost and exhaust where the gate opens: cracking boost with the run's own drive pressure."""
    if not sheet.has("wastegate"):
        return
    point = next((p for p in known(pull, "wastegate_opening") if p.columns["wastegate_opening"] > OPENING), None)
    if point is None or point.columns["drive_pressure_ratio"] is None:
        return
    pushes = sheet.choice("wastegate.exhaust_pushes")
    ratio = None if pushes == "neither" else f"{point.columns['drive_pressure_ratio']:.3g}"
    given = None if ratio is None else Given(ratio, f"the run at {rpm_of(point):.0f} rpm")
    side = Given("open" if pushes == "neither" else pushes, f"{sheet.name}, {sheet.where('wastegate.exhaust_pushes')}")
    name = "flap_crack" if sheet.has("wastegate.lever_valve") else "wastegate_crack"
    answer = ask(sheet, name, exhaust_ratio=given, exhaust_pushes=side)
    unit = unit_at(sheet, "limits.max_boost", "kPa")
    alone = units.show(answer.results["cracking_boost_without_exhaust"], "pressure_gauge", unit, 3)
    told = f"The spring alone holds {alone}."
    cracks = answer.results["cracking_boost"]
    if cracks is not None:
        told = (
            f"The spring alone holds {alone}; with {ratio} times boost before the turbine, as the run has it at "
            f"{rpm_of(point):.0f} rpm, the gate cracks at {units.show(cracks, 'pressure_gauge', unit, 3)}."
        )
    yield Finding(
        "spring force",
        "sound",
        told,
        "wastegate.spring_rate",
        "pressure_gauge",
        cracks if cracks is not None else answer.results["cracking_boost_without_exhaust"],
        working=workings(answer),
        sum=answer.sum.name,
        resting_on="force balance",
    )


def hose_off(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """What opens the gate when the hose is off, from the sheet, as `check` judges it."""
    yield from boost.hose_off(sheet)
