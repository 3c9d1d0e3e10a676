"""Findings of boost control: wastegate spring, hose off, hat, relief valve."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from spoolwright import units
from spoolwright.findings.asking import PRACTICE, Given, ask, at, carried, quantity, taken
from spoolwright.findings.judging import Item, Limit, Question, item, judge, missing, nature, own, unit_at
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer

GATE = (
    "A gate that does not open overboosts the engine in a second: prove it on the bench with air before the first pull."
)
HAT = "A backfire in a full hat gives several times the boost: a relief path, and no face over it."
# Drive pressure over boost, gauge: near 1 is good, 1.5 common, 2 a small turbine.
RATIOS = ("1", "1.5", "2")


def _crack(sheet: Sheet, ratio: str) -> Answer:
    """Cracking boost at a drive pressure over boost, which is left out where exhaust pushes neither way."""
    pushes = sheet.choice("wastegate.exhaust_pushes")
    exhaust = None if pushes == "neither" else taken(ratio, f"drive pressure over boost, {PRACTICE}")
    side = Given("open" if pushes == "neither" else pushes, f"{sheet.name}, {sheet.where('wastegate.exhaust_pushes')}")
    name = "flap_crack" if sheet.has("wastegate.lever_valve") else "wastegate_crack"
    return ask(sheet, name, exhaust_ratio=exhaust, exhaust_pushes=side)


def wastegate(sheet: Sheet) -> Iterator[Finding]:
    """Boost at which the gate cracks, with and without exhaust force, against `limits.max_boost`."""
    if not sheet.has("charge"):
        return
    if not sheet.has("wastegate"):
        yield Finding(
            "wastegate",
            "watch",
            "There is a turbocharger and no wastegate: only the size of the turbine holds boost.",
            "wastegate",
            resting_on=PRACTICE,
            caution=GATE,
            change_first="Describe the gate, or prove boost at top speed.",
        )
        return
    if sheet.choice("wastegate.opening_signal") == "open_air":
        yield Finding(
            "wastegate",
            "stop",
            "Its opening side sees outside air, so boost never opens it.",
            "wastegate.opening_signal",
            resting_on="force balance",
            caution=GATE,
            change_first="Lead compressor_outlet or hat to the opening side.",
        )
        return
    pushes = sheet.choice("wastegate.exhaust_pushes")
    limit, unit = own(sheet, "limits.max_boost"), unit_at(sheet, "limits.max_boost", "kPa")
    answers = {ratio: _crack(sheet, ratio) for ratio in RATIOS}

    def boost(answer: Answer, name: str = "cracking_boost") -> str:
        return units.show(answer.results[name], "pressure_gauge", unit, 3)

    note = "Exhaust force was left out, as you say."
    if pushes != "neither":
        counted = ", ".join(boost(answers[ratio]) for ratio in RATIOS)
        bare = boost(answers["1"], "cracking_boost_without_exhaust")
        note = f"With the spring alone {bare}; with drive pressure 1, 1.5 and 2 times boost {counted}."
    # The highest boost the gate may need before it opens: little exhaust pressure, or much where it pushes shut.
    worst = answers["2" if pushes == "shut" else "1"]
    judged = item(worst, "cracking_boost_without_exhaust" if pushes == "neither" else "cracking_boost")
    question = Question(
        "wastegate cracks",
        "pressure_gauge",
        unit,
        high=limit,
        digits=3,
        note=note,
        caution=GATE,
        change_first="A softer spring or less preload; wastegate_spring tells which.",
    )
    yield from judge(question, [replace(judged, where="wastegate.spring_rate")], worst)
    yield from _open(sheet, unit, limit)


def _open(sheet: Sheet, unit: str, limit: Limit | None) -> Iterator[Finding]:
    """Boost that holds the gate at its stop: the spring's rate adds to the cracking boost."""
    if sheet.has("wastegate.lever_valve"):
        return  # the sum counts a valve on the diaphragm's own stem
    pushes = sheet.choice("wastegate.exhaust_pushes")
    rate = at(sheet, "wastegate.spring_rate") if sheet.has("wastegate.preload") else None
    answer = ask(
        sheet,
        "wastegate_lift",
        lift=at(sheet, "wastegate.max_lift"),
        rate_open=rate,
        exhaust_ratio=None if pushes == "neither" else taken("1.5", f"drive pressure over boost, {PRACTICE}"),
        exhaust_pushes=Given(
            "open" if pushes == "neither" else pushes, f"{sheet.name}, {sheet.where('wastegate.exhaust_pushes')}"
        ),
    )
    soft = None if limit is None else Limit(limit.value, limit.text, limit.resting_on, False)
    rise = units.show(answer.results["boost_rise"], "pressure_difference", unit, 3)
    question = Question(
        "wastegate fully open",
        "pressure_gauge",
        unit,
        high=soft,
        digits=3,
        caution=GATE,
        note=f"The spring adds {rise} from cracking to full lift.",
        change_first="A softer spring with more preload rises less.",
    )
    yield from judge(question, [item(answer, "opening_boost", where="wastegate.max_lift")], answer)


def hose_off(sheet: Sheet) -> Iterator[Finding]:
    """What opens the gate when the boost hose comes off, and the boost by then, against `limits.max_boost`."""
    if not sheet.has("charge") or not sheet.has("wastegate"):
        return
    pushes, unit = sheet.choice("wastegate.exhaust_pushes"), unit_at(sheet, "limits.max_boost", "kPa")
    side = Given("open" if pushes == "neither" else pushes, f"{sheet.name}, {sheet.where('wastegate.exhaust_pushes')}")
    lever = _lever(sheet)
    answer = ask(
        sheet,
        "boost_hose_off",
        exhaust_pushes=side,
        lever_ratio=lever,
        exhaust_ratio=taken("1.5", f"drive pressure over boost, {PRACTICE}"),
    )
    boost, limit = answer.results["boost_then"], own(sheet, "limits.max_boost")
    what = "Nothing on this sheet stops it: a cut of fuel or spark on manifold pressure does."
    remedy = "Fit a cut on manifold pressure; clamp and tie the hose."
    if pushes == "neither" or boost is None:
        yield Finding(
            "boost hose off",
            "watch",
            f"Without its hose the gate never opens. {what}",
            "wastegate.exhaust_pushes",
            working=_text(answer),
            sum=answer.sum.name,
            resting_on="force balance",
            caution=GATE,
            change_first=remedy,
        )
        return
    soft = None if limit is None else Limit(limit.value, limit.text, limit.resting_on, False)
    alone = units.show(answer.results["exhaust_to_open"], "pressure_gauge", unit, 3)
    question = Question(
        "boost hose off",
        "pressure_gauge",
        unit,
        high=soft,
        digits=3,
        caution=GATE,
        change_first=remedy,
        note=f"Then only the exhaust opens the gate, at {alone} before the turbine. {what}",
    )
    yield from judge(question, [Item("", boost, where="wastegate.exhaust_pushes")], answer)


def _text(answer: Answer) -> str:
    return f"{answer.sum.title}\n{answer.working}\nSource: {answer.sum.source}"


def _lever(sheet: Sheet) -> Given | None:
    if not sheet.has("wastegate.lever_valve"):
        return None
    return carried(_crack(sheet, "1"), "lever_ratio")


def hat(sheet: Sheet) -> Iterator[Finding]:
    """Pressure the hat was tested to against `limits.max_boost`; twice it is wanted for a backfire."""
    if not sheet.has("charge.hat"):
        return
    if not sheet.has("charge.hat.bursting_pressure"):
        yield missing(
            "hat", "The pressure the hat was tested to is not given.", "charge.hat.bursting_pressure", caution=HAT
        )
        return
    boost, tested = sheet.quantity("limits.max_boost"), sheet.quantity("charge.hat.bursting_pressure")
    twice = quantity(2.0 * boost.value, "pressure_gauge", boost.unit)
    low = Limit(twice.value, twice.text, f"twice limits.max_boost for a backfire: {PRACTICE}", False)
    if tested.value <= boost.value:
        low = nature(boost.text, "pressure_gauge", "it bursts at the boost you allow")
    question = Question(
        "hat",
        "pressure_gauge",
        tested.unit,
        low,
        caution=HAT,
        note=f"Tested pressure; boost may reach {boost.text}.",
        change_first="A stronger lid, more clamps, and a relief valve.",
    )
    yield from judge(question, [Item("", tested.value, (tested.minus, tested.plus), "charge.hat.bursting_pressure")])


def relief(sheet: Sheet) -> Iterator[Finding]:
    """Whether a valve lets charge air out when the throttle shuts."""
    if sheet.has("charge") and not sheet.has("charge.blow_off"):
        yield Finding(
            "relief valve",
            "watch",
            "Nothing lets charge air out when the throttle shuts: the compressor surges.",
            "charge.blow_off",
            resting_on=PRACTICE,
            change_first="Fit one close to the throttle.",
        )


JUDGES = {"wastegate": wastegate, "boost hose off": hose_off, "hat": hat, "relief valve": relief}
