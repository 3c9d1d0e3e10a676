"""Hold numbers against limits: verdict, margin and sentence.

A limit is *firm* when the builder set it or nature does; passing it is a ``stop``. A habit of the trade is
not firm and gives a ``watch`` at most. A number whose spread reaches past a firm limit is a ``watch``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from spoolwright import units
from spoolwright.findings.asking import PRACTICE, place, workings
from spoolwright.findings.model import Finding, Verdict
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer
from spoolwright.sums.registry import Output
from spoolwright.sums.working import with_band

Band = tuple[float, float]
_UNSHOWN = ("AFR", "scfm")  # units that need more than the value to be converted back


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit in SI, as the user reads it, with what it rests on."""

    value: float
    text: str
    resting_on: str
    firm: bool
    unit: str = ""


def own(sheet: Sheet, path: str, firm: bool = True) -> Limit | None:
    """The builder's own limit at ``path``; None where none is given."""
    said = sheet.maybe_quantity(path)
    if said is None:
        return None
    unit = "" if said.unit in _UNSHOWN else said.unit
    return Limit(said.value, said.text.partition("@")[0].strip(), f"your own limit, {place(sheet, path)}", firm, unit)


def practice(text: str, kind: str, resting_on: str = PRACTICE) -> Limit:
    """A habit of the trade as a limit."""
    said = units.read(text, kind)
    return Limit(said.value, text, resting_on, False, said.unit)


def nature(text: str, kind: str, why: str) -> Limit:
    """A limit that nobody can pass."""
    said = units.read(text, kind)
    return Limit(said.value, text, why, True, said.unit)


@dataclass(frozen=True, slots=True)
class Item:
    """One judged number: whose it is, SI value, what it may be off by, where it stands."""

    label: str
    value: float
    band: Band = (0.0, 0.0)
    where: str = ""
    change_first: str = ""


def item(answer: Answer, name: str, label: str = "", where: str = "", change_first: str = "") -> Item:
    """Result ``name`` of a sum as an item."""
    band = answer.bands.get(name, (0.0, 0.0))
    return Item(label, answer.results[name], band if isinstance(band, tuple) else (0.0, 0.0), where, change_first)


def items(answer: Answer, name: str, labels: Sequence[str], where: str = "") -> list[Item]:
    """A list result of a sum, an item each; ``where`` gets the place in square brackets."""
    values, bands = answer.results[name], answer.bands.get(name)
    pairs = bands if isinstance(bands, list) else [(0.0, 0.0)] * len(values)
    many = len(values) > 1
    return [
        Item(label, value, band, f"{where}[{n}]" if many else where)
        for n, (label, value, band) in enumerate(zip(labels, values, pairs, strict=True), start=1)
    ]


@dataclass(frozen=True, slots=True)
class Question:
    """What is judged and how it is told."""

    subject: str
    kind: str
    unit: str
    low: Limit | None = None
    high: Limit | None = None
    near: float = 0.0  # share of a limit within which a sound number is worth a watch
    note: str = ""  # a further sentence
    sound_note: str = ""  # one for what is sound
    digits: int = 4
    caution: str = ""
    change_first: str = ""
    plural: str = "cylinders"

    def show(self, value: float, band: Band = (0.0, 0.0)) -> str:
        worth = max(band) > 0.002 * abs(value)  # a band that no measuring tells apart is not shown
        return with_band(value, band if worth else (0.0, 0.0), Output(self.kind, self.unit, ""), self.digits)


def judge(question: Question, judged: Sequence[Item], *answers: Answer) -> list[Finding]:
    """A finding for each number that is not sound, and one for all that are."""
    told = [(_verdict(question, one), one) for one in judged]
    sound = [one for (verdict, _), one in told if verdict == "sound"]
    alike: dict[tuple[Verdict, Limit | None, str, str], list[Item]] = {}
    for (verdict, limit), one in told:
        if verdict != "sound":
            alike.setdefault((verdict, limit, question.show(one.value, one.band), one.change_first), []).append(one)
    found = [
        _finding(question, verdict, replace(ones[0], label=_labels(ones)), limit, answers)
        for (verdict, limit, _, _), ones in alike.items()
    ]
    if sound:
        tightest = min(sound, key=lambda one: _margin(question, one)[0])
        found.append(_together(question, sound, tightest, answers))
    return found


def _labels(ones: Sequence[Item]) -> str:
    """ "cylinder 1", or "cylinders 1, 2 and 4" for those that stand alike."""
    if len(ones) == 1:
        return ones[0].label
    noun = ones[0].label.rpartition(" ")[0]
    ends = [one.label.rpartition(" ")[2] for one in ones]
    if any(one.label.rpartition(" ")[0] != noun for one in ones):
        return ", ".join(one.label for one in ones)
    return f"{noun}s {', '.join(ends[:-1])} and {ends[-1]}"


def _verdict(q: Question, one: Item) -> tuple[Verdict, Limit | None]:
    if q.high is not None and one.value > q.high.value:
        return ("stop" if q.high.firm else "watch"), q.high
    if q.low is not None and one.value < q.low.value:
        return ("stop" if q.low.firm else "watch"), q.low
    for limit, sign, reach in ((q.high, 1.0, one.band[1]), (q.low, -1.0, one.band[0])):
        if limit is None:
            continue
        left = sign * (limit.value - one.value)
        if left < reach or left < q.near * abs(limit.value):
            return "watch", limit
    return "sound", None


def _margin(q: Question, one: Item) -> tuple[float, Limit | None]:
    margins = [
        (sign * (limit.value - one.value) / abs(limit.value or 1.0), limit)
        for limit, sign in ((q.high, 1.0), (q.low, -1.0))
        if limit is not None
    ]
    return min(margins, key=lambda pair: pair[0]) if margins else (float("inf"), None)


def _allowed(q: Question) -> str:
    limits = [limit for limit in (q.low, q.high) if limit is not None]
    word = "allowed" if any(limit.firm or "your own" in limit.resting_on for limit in limits) else "usual"
    if len(limits) == 2:
        return f"{word} {limits[0].text} to {limits[1].text}"
    return f"{word} at {'least' if limits[0] is q.low else 'most'} {limits[0].text}" if limits else ""


def _owner(limit: Limit) -> str:
    if not limit.firm and "your own" not in limit.resting_on:
        return "the usual"
    return "your limit of" if "your own" in limit.resting_on else "the limit of"


def _finding(q: Question, verdict: Verdict, one: Item, limit: Limit | None, answers: Iterable[Answer]) -> Finding:
    assert limit is not None
    upper = limit is q.high
    past = one.value > limit.value if upper else one.value < limit.value
    shown = q.show(one.value, one.band)
    for digits in range(q.digits, 9):  # "1.0 is above 1.0" tells nobody anything
        shown = replace(q, digits=digits).show(one.value, one.band)
        if not past or replace(q, digits=digits).show(one.value) != replace(q, digits=digits).show(limit.value):
            break
    side = "above" if upper else "below"
    if past:
        told = f"{shown} is {side} {_owner(limit)} {limit.text}"
    elif (one.band[1] if upper else one.band[0]) > abs(limit.value - one.value):
        told = f"{shown} may lie {side} {_owner(limit)} {limit.text}, by what the measuring may be off"
    else:
        told = f"{shown} is close to {_owner(limit)} {limit.text}"
    return _made(q, verdict, told, one, limit, answers, one.label)


def _together(q: Question, sound: Sequence[Item], tightest: Item, answers: Iterable[Answer]) -> Finding:
    lowest, highest = min(sound, key=lambda i: i.value), max(sound, key=lambda i: i.value)
    if len(sound) > 1 and q.show(lowest.value) != q.show(highest.value):
        unit = q.show(0.0).removeprefix("0")
        told = f"{q.show(lowest.value).removesuffix(unit)} to {q.show(highest.value)} over {len(sound)} {q.plural}"
    else:
        told = q.show(tightest.value, tightest.band)
    allowed = _allowed(q)
    limit = _margin(q, tightest)[1]
    return _made(q, "sound", f"{told}; {allowed}" if allowed else told, tightest, limit, answers, "")


def _made(
    q: Question, verdict: Verdict, told: str, one: Item, limit: Limit | None, answers: Iterable[Answer], label: str
) -> Finding:
    answers = list(answers)
    sound = verdict == "sound"
    note = " ".join(text for text in (q.note, q.sound_note if sound else "") if text)
    sentence = f"{told}. {note}" if note else f"{told}."
    return Finding(
        subject=f"{q.subject}, {label}" if label else q.subject,
        verdict=verdict,
        sentence=sentence,
        where=one.where,
        kind=q.kind,
        value=one.value,
        shown=q.show(one.value, one.band),
        limit=limit.value if limit else None,
        limit_shown=limit.text if limit else "",
        margin=None if limit is None else _margin(q, one)[0],
        working=workings(*answers),
        sum=answers[-1].sum.name if answers else "",
        resting_on=limit.resting_on if limit else "",
        caution="" if sound else q.caution,
        change_first="" if sound else (one.change_first or q.change_first),
    )


def missing(
    subject: str, sentence: str, where: str, caution: str = "", change_first: str = "", shown: str = ""
) -> Finding:
    """A judgement that waits for a value."""
    return Finding(subject, "not measured", sentence, where, caution=caution, change_first=change_first, shown=shown)


def unit_at(sheet: Sheet, path: str, fallback: str) -> str:
    """The unit the builder wrote at ``path``; ``fallback`` where nothing or something odd stands there."""
    if not sheet.has(path):
        return fallback
    unit = sheet.quantities(path)[0].unit
    return unit if unit and unit not in _UNSHOWN else fallback
