"""The record of a build: what was measured with what and when, what changed, who signed, and what is missing.

Everything comes from the sheet, the logbook and the findings. A logbook entry of the kind "measurement" names in its
details the ``path`` it belongs to and may name ``tool`` and ``temperature``; one of the kind "sign-off" names ``what``
was signed; a "change" names ``what``, ``from``, ``to``, ``why``; a "run-in step" may name ``minutes``; a "pull" its
``file``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet
from spoolwright.sheet.logbook import Entry, Logbook
from spoolwright.units import Quantity

# What a hand over is signed for, in order.
SIGNED_FOR: Final = ("built", "checked", "received")
_INDEX = re.compile(r"\[\d+\]")
_NUMBER = re.compile(r"[-−+]?[\d.,]+(?:e[-+]?\d+)?")


@dataclass(frozen=True, slots=True)
class Measure:
    """One measured thing: a value for each of ``labels``, or one for all; tool, day and author where written down."""

    path: str
    name: str
    quantities: tuple[Quantity, ...]
    alike: bool  # one value was written for all
    tool: str
    day: str
    author: str
    low: Quantity | None = None
    high: Quantity | None = None

    @property
    def unit(self) -> str:
        """The unit all values share; empty where they differ."""
        units = {q.unit for q in self.quantities}
        return units.pop() if len(units) == 1 else ""

    @property
    def spread(self) -> str:
        """What the measuring may be off by, as written; empty where it was not stated."""
        parts = {q.text.partition("±")[2].strip() for q in self.quantities if "±" in q.text}
        return f"± {parts.pop()}" if len(parts) == 1 else "differs" if parts else ""

    def number(self, at: int) -> str:
        """The value without its unit and spread, with both where units differ."""
        text = self.quantities[at].text
        found = _NUMBER.match(text)
        return found[0] if self.unit and found else text


def spoken(path: str) -> str:
    """ "strength.rings.top.gap" as words: "top ring gap"; "valves.intake.drop": "intake valve drop"."""
    steps = _INDEX.sub("", path).replace("_", " ").split(".")
    match steps:
        case ["strength", "rings", ring, what]:
            return f"{ring} ring {what}"
        case ["strength", "clearances", name, _]:
            return name
        case ["valves", side, what]:
            return f"{side} valve {what}"
        case ["cylinders", *rest]:
            return " ".join(rest)
        case [_, *rest] if rest:
            return " ".join(rest)
    return " ".join(steps)


def measures(sheet: Sheet, book: Logbook) -> list[Measure]:
    """What is measured by cylinder: bores, decks, chambers, rings, drops, masses, as far as they are given."""
    found = []
    for path, entry in sheet.entries.items():
        spec = entry.field
        if spec.numeric and spec.per == "cylinder" and not entry.assumed and _is_part(path):
            ring = path.rpartition(".")[0] if path.startswith("strength.rings.") else ""
            low, high = (_maybe(sheet, f"{ring}.{end}") if ring else None for end in ("low", "high"))
            found.append(_measure(path, entry.quantities, entry.one, book, low, high))
    return found


def _is_part(path: str) -> bool:
    return path.startswith(("cylinders.", "strength."))


def clearances(sheet: Sheet, book: Logbook) -> list[Measure]:
    """Measured clearances with their bands; the tool from the logbook, else from the sheet."""
    found = []
    for name in sheet.names("strength.clearances"):
        here = f"strength.clearances.{name}"
        one = _measure(
            f"{here}.measured",
            sheet.quantities(f"{here}.measured"),
            False,
            book,
            sheet.quantity(f"{here}.low"),
            sheet.quantity(f"{here}.high"),
            sheet.maybe_text(f"{here}.tool") or "",
        )
        found.append(one)
    return found


def _maybe(sheet: Sheet, path: str) -> Quantity | None:
    return sheet.maybe_quantity(path)


def _measure(
    path: str,
    quantities: Sequence[Quantity],
    alike: bool,
    book: Logbook,
    low: Quantity | None,
    high: Quantity | None,
    tool: str = "",
) -> Measure:
    entry = last_measurement(book, path)
    said = "" if entry is None else str(entry.details.get("tool", ""))
    return Measure(
        path,
        spoken(path),
        tuple(quantities[:1] if alike else quantities),
        alike,
        said or tool,
        "" if entry is None else entry.time[:10],
        "" if entry is None else entry.author,
        low,
        high,
    )


def last_measurement(book: Logbook, path: str) -> Entry | None:
    """The last logbook entry that measured ``path`` or one of its places."""
    plain = _INDEX.sub("", path)
    mine = [
        entry
        for entry in book.entries
        if entry.kind == "measurement" and _INDEX.sub("", str(entry.details.get("path", ""))) == plain
    ]
    return mine[-1] if mine else None


def entries(book: Logbook, *kinds: str) -> list[Entry]:
    """Entries of these kinds, in order."""
    return [entry for entry in book.entries if entry.kind in kinds]


def signatures(book: Logbook) -> dict[str, Entry | None]:
    """For each thing a hand over is signed for the last sign-off, None where nobody signed."""
    found: dict[str, Entry | None] = dict.fromkeys(SIGNED_FOR)
    for entry in entries(book, "sign-off"):
        what = str(entry.details.get("what", "")).strip().lower()
        for name in SIGNED_FOR:
            if what == name or (not what and re.search(rf"\b{name}\b", entry.text.lower())):
                found[name] = entry
    return found


# ----------------------------------------------------------------------------- gaps
GapKind = Literal["never measured", "no tool or day", "measured once", "no record", "never signed", "not said"]


@dataclass(frozen=True, slots=True)
class Gap:
    """Something the record does not hold: which kind, what, and what fills it."""

    kind: GapKind
    what: str
    fill: str = ""
    where: str = ""


def gaps(sheet: Sheet, book: Logbook, findings: Sequence[Finding], has_run: bool, has_pulls: bool) -> list[Gap]:
    """What the record lacks, the gravest first: never measured, without tool or day, without record, never signed."""
    found = [Gap("never measured", f.subject, _first(f), f.where) for f in findings if f.verdict == "not measured"]
    each = [*measures(sheet, book), *clearances(sheet, book)]
    bare = [one.name for one in each if not (one.tool and one.day)]
    if bare:
        found.append(
            Gap(
                "no tool or day", _named(bare), "Enter each measurement in the logbook with path, tool and temperature."
            )
        )
    once = [one.name for one in each if one.alike and sheet.cylinder_count > 1 and one.path.startswith("cylinders.")]
    if once:
        found.append(Gap("measured once", _named(once), "Measure each cylinder; the worst decides."))
    found += _unrecorded(sheet, book, has_run, has_pulls)
    found += [
        Gap("never signed", name, f"Sign it in the logbook (what = {name}).")
        for name, entry in signatures(book).items()
        if entry is None
    ]
    return found


def _unrecorded(sheet: Sheet, book: Logbook, has_run: bool, has_pulls: bool) -> list[Gap]:
    found = []
    for kind, what, fill in (
        ("run-in step", "run-in", "Enter each step with what was seen; there is no agreed method, only what was done."),
        ("change", "changes", "Enter what was changed, from what, to what, why."),
    ):
        if not entries(book, kind):
            found.append(Gap("no record", what, fill))
    if not has_run:
        found.append(Gap("no record", "predicted curves", "Run a pull of this sheet."))
    if not has_pulls:
        found.append(Gap("no record", "measured curves", "Keep the pulls as they came in pulls/."))
    for path, what in (
        ("handover.mass", "weight and size of the engine"),
        ("handover.goods", "price and rates for the landed cost"),
        ("handover.spares", "spares"),
        ("handover.service", "first service"),
    ):
        if not sheet.has(path):
            found.append(Gap("not said", what, f"Give {path.rpartition('.')[0] if path.count('.') > 1 else path}."))
    return found


def _first(finding: Finding) -> str:
    return finding.change_first or finding.sentence


def _named(names: Sequence[str]) -> str:
    return ", ".join(names)
