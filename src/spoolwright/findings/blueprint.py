"""Findings of the measured parts: compression ratio by cylinder, its spread, squish."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from spoolwright import units
from spoolwright.findings.asking import Given, ask, at, taken
from spoolwright.findings.judging import (
    Item,
    Limit,
    Question,
    item,
    items,
    judge,
    missing,
    nature,
    own,
    practice,
    unit_at,
)
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer

KNOCK = "A ratio too high for the fuel knocks, and knock under boost breaks pistons within seconds."
SQUISH = "Rods stretch and play closes at speed: a piston that meets the head ends the engine."


def cylinders(sheet: Sheet) -> list[str]:
    """Labels of the cylinders; one empty label for a single."""
    n = sheet.cylinder_count
    return [""] if n == 1 else [f"cylinder {i}" for i in range(1, n + 1)]


def ratios(sheet: Sheet) -> Answer:
    """The ratio of each cylinder; one value for all stands for every one of them."""
    each = {f: sheet.quantities(f"cylinders.{f}") for f in ("bore", "chamber", "dish", "deck")}
    n = sheet.cylinder_count
    listed = {f: [q.text for q in qs] if len(qs) == n else [qs[0].text] * n for f, qs in each.items()}
    given = {f: Given(texts, f"{sheet.name}, {sheet.where(f'cylinders.{f}')}") for f, texts in listed.items()}
    return ask(sheet, "compression_ratio_of_cylinders", None, **given)


def compression_ratio(sheet: Sheet) -> Iterator[Finding]:
    """Static ratio of each cylinder against `limits.min_ratio` and `limits.max_ratio`."""
    answer = ratios(sheet)
    low, high = own(sheet, "limits.min_ratio"), own(sheet, "limits.max_ratio")
    judged = items(answer, "compression_ratio", cylinders(sheet), "cylinders.chamber")
    ruling = int(answer.results["ruling_cylinder"])
    highest = units.show(answer.results["highest"], "ratio", ":1")
    if high is None:
        yield missing(
            "compression ratio",
            f"{highest}{_in(sheet, ruling)} is the highest; limits.max_ratio is not given, so nothing says whether the "
            "fuel stands it.",
            "limits.max_ratio",
            shown=highest,
            change_first="Set limits.max_ratio from fuel, boost, charge temperature, timing and head temperature.",
        )
    if low is None and high is None:
        return
    rule = f"Cylinder {ruling} has the highest and decides the knock margin." if sheet.cylinder_count > 1 else ""
    question = Question("compression ratio", "ratio", ":1", low, high, sound_note=rule, caution=KNOCK)
    judged = [replace(one, change_first=_remedy(sheet, n, one, low, high)) for n, one in enumerate(judged, start=1)]
    yield from judge(question, judged, answer)


def _in(sheet: Sheet, cylinder: int) -> str:
    return f" in cylinder {cylinder}" if sheet.cylinder_count > 1 else ""


def _remedy(sheet: Sheet, cylinder: int, one: Item, low: Limit | None, high: Limit | None) -> str:
    """What to add or cut to come back to the limit."""
    for limit, past in ((high, high and one.value > high.value), (low, low and one.value < low.value)):
        if limit is not None and past:
            answer = ask(sheet, "spacer_for_ratio", cylinder, target_ratio=taken(limit.text, limit.resting_on))
            spacer, unit = answer.results["spacer"], unit_at(sheet, "cylinders.deck", "mm")
            text = units.show(abs(spacer), "length", unit, 2)
            room = units.show(abs(answer.results["clearance_needed"] - _clearance(sheet, cylinder)), "volume", "cc", 2)
            if spacer > 0.0:
                return f"Open the chamber or dish by {room}, or add {text} under the barrel (squish then grows)."
            return f"Take {text} off the barrel if squish allows, or {room} out of chamber or dish."
    return "Measure chamber, dish and deck three times more; the mean of several is nearer."


def _clearance(sheet: Sheet, cylinder: int) -> float:
    return float(ask(sheet, "compression_ratio", cylinder).results["clearance_volume"])


def ratio_spread(sheet: Sheet) -> Iterator[Finding]:
    """Highest less lowest ratio against `limits.max_ratio_spread`, else against 0.2."""
    if sheet.cylinder_count == 1:
        return
    answer = ratios(sheet)
    limit = own(sheet, "limits.max_ratio_spread") or practice("0.2", "number")
    removed = [units.show(v if v > 1e-9 else 0.0, "volume", "cc", 2) for v in answer.results["metal_to_remove"]]
    question = Question(
        "ratio spread",
        "number",
        "1",
        high=limit,
        digits=2,
        change_first=f"Open the chambers by {', '.join(removed)} (cylinder 1 up) to bring all to the lowest ratio.",
    )
    # The spread of each measurement is counted where it belongs: in the ratios themselves.
    yield from judge(question, [Item("", answer.results["spread"], where="cylinders.chamber")], answer)


def ratio_wanted(sheet: Sheet) -> Iterator[Finding]:
    """The highest ratio against the one aimed at in `cylinders.ratio_wanted`."""
    if not sheet.has("cylinders.ratio_wanted"):
        return
    answer = ratios(sheet)
    ruling = int(answer.results["ruling_cylinder"])
    spacer = ask(sheet, "spacer_for_ratio", ruling, target_ratio=at(sheet, "cylinders.ratio_wanted"))
    wanted = sheet.quantity("cylinders.ratio_wanted")
    reach = (own(sheet, "limits.max_ratio_spread") or practice("0.2", "number")).value
    off = answer.results["highest"] - wanted.value
    needed = spacer.results["spacer"]
    way = units.show(abs(needed), "length", unit_at(sheet, "cylinders.deck", "mm"), 2)
    change = f"{'Add' if needed > 0 else 'Take off'} {way} under the barrel of cylinder {ruling}, or work the chamber."
    got = units.show(answer.results["highest"], "ratio", ":1")
    question = Question(
        "ratio aimed at",
        "ratio",
        ":1",
        low=Limit(wanted.value - reach, wanted.text, "the ratio you aim at", False),
        high=Limit(wanted.value + reach, wanted.text, "the ratio you aim at", False),
    )
    close = abs(off) <= reach
    (found,) = judge(question, [Item("", answer.results["highest"], where="cylinders.ratio_wanted")], answer, spacer)
    told = f"{got}{_in(sheet, ruling)} against {wanted.text} aimed at{'' if close else f', {abs(off):.2g} off'}."
    yield replace(found, sentence=told, limit=wanted.value, change_first="" if close else change)


def squish(sheet: Sheet) -> Iterator[Finding]:
    """Cold squish of each cylinder against `limits.min_squish` and `limits.max_squish`, else 0.9 to 1.2 mm."""
    n = sheet.cylinder_count
    answers = [ask(sheet, "squish_cold", i) for i in range(1, n + 1)]
    labels, unit = cylinders(sheet), unit_at(sheet, "cylinders.deck", "mm")
    low = own(sheet, "limits.min_squish") or practice("0.9 mm", "length")
    high = own(sheet, "limits.max_squish", firm=False) or practice("1.2 mm", "length")
    judged = [
        item(a, "squish", label, f"cylinders.deck[{i}]" if n > 1 else "cylinders.deck")
        for i, (label, a) in enumerate(zip(labels, answers, strict=True), start=1)
    ]
    if any(one.value <= 0.0 for one in judged):
        low = nature("0 mm", "length", "the piston meets the head")
    question = Question(
        "squish, cold",
        "length",
        unit,
        low,
        high,
        caution=SQUISH,
        change_first="Set the gap with spacer or gasket, then bring the ratio back with dish or chamber.",
    )
    yield from judge(question, judged, answers[0])


JUDGES = {
    "compression ratio": compression_ratio,
    "ratio spread": ratio_spread,
    "ratio aimed at": ratio_wanted,
    "squish, cold": squish,
}
