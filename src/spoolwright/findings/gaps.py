"""Findings of the piston rings: end gap of each ring in each cylinder, and what heat leaves of it."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright.findings.asking import Given, ask, at, reading, taken, told
from spoolwright.findings.blueprint import cylinders
from spoolwright.findings.judging import Item, Limit, Question, judge, missing, nature, own, unit_at
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer
from spoolwright.units import Quantity

BUTT = "Rings that butt seize the piston. A gap a little wide costs nearly nothing."
# How much hotter than the bench ring and bore run where nothing was measured.
RING_RISE, BORE_RISE = "150 K", "100 K"


def ring_gaps(sheet: Sheet) -> Iterator[Finding]:
    """End gap of each ring in each cylinder against the band `low` to `high`, or the gap its factor asks for."""
    rings = sheet.names("strength.rings")
    if not rings:
        yield missing(
            "ring gaps",
            "No ring gap is on the sheet; under boost a gap that is too small seizes the piston.",
            "strength.rings",
            caution=BUTT,
            change_first="Measure the gap of each ring square in its own bore.",
        )
    for name in rings:
        yield from _ring(sheet, name)


def _ring(sheet: Sheet, name: str) -> Iterator[Finding]:
    here = f"strength.rings.{name}"
    answers = [_factor(sheet, here, i) for i in range(1, sheet.cylinder_count + 1)]
    low, high = own(sheet, f"{here}.low"), own(sheet, f"{here}.high")
    if low is None and sheet.has(f"{here}.gap_factor"):
        wanted = ask(sheet, "ring_gap", 1, factor=at(sheet, f"{here}.gap_factor"))
        low = Limit(
            wanted.results["gap"],
            told(wanted, "gap"),
            f"your own gap factor, {sheet.where(here + '.gap_factor')}",
            True,
        )
    if low is None:
        yield missing(
            f"{name} ring gap",
            f"Nothing says how small the gap may be; give {here}.low or {here}.gap_factor.",
            f"{here}.low",
            caution=BUTT,
        )
        return
    judged = [
        Item(label, q.value, (q.minus, q.plus), f"{here}.gap")
        for label, q in zip(cylinders(sheet), _gaps(sheet, here), strict=True)
    ]
    tight = min(answers, key=lambda a: a.results["least_factor"])
    note = f"The tightest is {told(tight, 'least_factor', 2)} of the bore."
    question = Question(
        f"{name} ring gap",
        "length",
        unit_at(sheet, f"{here}.gap", "mm"),
        low,
        high,
        caution=BUTT,
        change_first="Measure again with the ring square in the bore (a crooked ring reads wide), then file.",
        sound_note=note,
    )
    yield from judge(question, judged, tight)


def _gaps(sheet: Sheet, here: str) -> tuple[Quantity, ...]:
    gaps = sheet.quantities(f"{here}.gap")
    return gaps if len(gaps) == sheet.cylinder_count else gaps * sheet.cylinder_count


def _gap(sheet: Sheet, here: str, cylinder: int) -> Given:
    return reading(sheet, f"{here}.gap", _gaps(sheet, here)[cylinder - 1])


def _factor(sheet: Sheet, here: str, cylinder: int) -> Answer:
    return ask(sheet, "ring_gap_factor", cylinder, gap=_gap(sheet, here, cylinder))


def ring_gaps_hot(sheet: Sheet) -> Iterator[Finding]:
    """What heat leaves of each ring's smallest gap; the ring must not butt."""
    rings = sheet.names("strength.rings")
    if not rings:
        return
    barrel = _barrel(sheet)
    if barrel is None:
        yield missing(
            "ring gaps, hot",
            "What heat leaves of the gaps needs the barrel's metal: give hole_expansion of the piston's clearance "
            '(cast iron "11e-6 1/K", light alloy "22e-6 1/K").',
            "strength.clearances",
            caution=BUTT,
        )
        return
    for name in rings:
        here = f"strength.rings.{name}"
        gaps = [q.value for q in _gaps(sheet, here)]
        tight = gaps.index(min(gaps)) + 1
        answer = ask(
            sheet,
            "ring_gap_hot",
            tight,
            gap=_gap(sheet, here, tight),
            barrel=barrel,
            ring_rise=taken(RING_RISE),
            bore_rise=taken(BORE_RISE),
        )
        question = Question(
            f"{name} ring gap, hot",
            "length",
            unit_at(sheet, f"{here}.gap", "mm"),
            nature("0 mm", "length", "the ring's ends meet"),
            caution=BUTT,
            note=f"Ring {RING_RISE} and bore {BORE_RISE} above the bench are common practice, no source.",
            change_first="File the gap; ring_gap_needed tells how far.",
        )
        yield from judge(question, [Item("", answer.results["gap_left"], where=f"{here}.gap")], answer)


def _barrel(sheet: Sheet) -> Given | None:
    for name in sheet.names("strength.clearances"):
        path = f"strength.clearances.{name}.hole_expansion"
        if "piston" in name and sheet.has(path):
            return at(sheet, path)
    return None


JUDGES = {"ring gaps": ring_gaps, "ring gaps, hot": ring_gaps_hot}
