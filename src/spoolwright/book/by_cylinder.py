"""What was measured on each cylinder, a row a measure: the readings, the band they belong in, the verdict on them.

Readings, bands and tools come from the sheet and the logbook, verdicts from the findings that rest on the row.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from spoolwright import units
from spoolwright.book.record import last_measurement, spoken
from spoolwright.findings.model import ORDER, Finding
from spoolwright.sheet import Sheet
from spoolwright.sheet.logbook import Logbook
from spoolwright.units import Quantity

GROUPS = (
    ("Barrels and pistons", ("cylinders.bore", "cylinders.deck", "cylinders.dish")),
    ("Rings", ("strength.rings",)),
    ("Heads and valves", ("cylinders.chamber", "valves")),
    ("Clearances", ("strength.clearances",)),
    ("Masses", ("strength",)),
)
_PLACE = re.compile(r"\[(\d+)\]")
_OF_VALVES = ("lash", "drop", "spring_seat_force")


@dataclass(frozen=True, slots=True)
class Row:
    """One measure. ``quantities`` has one for each column (a cylinder, or a reading where ``of`` says so).

    ``low`` and ``high`` are the builder's band, ``findings`` the judgements that rest on the row, worst first.
    """

    path: str
    name: str
    group: str
    of: str  # "cylinder" or "reading"
    quantities: tuple[Quantity, ...]
    how: str
    meaning: str
    low: Quantity | None
    high: Quantity | None
    findings: tuple[Finding, ...]

    def place(self, column: int) -> str:
        """The path of one column's value, counted from 1."""
        return self.path if len(self.quantities) == 1 else f"{self.path}[{column}]"

    @property
    def spread(self) -> str:
        """Largest less smallest reading, in the unit of the first."""
        values = [one.value for one in self.quantities]
        first = self.quantities[0]
        if len(values) < 2:
            return ""
        return units.show(max(values) - min(values), first.kind, first.unit or None, 2)

    def about(self, column: int) -> tuple[Finding, ...]:
        """The judgements on one column: those that name it, and those that name no column at all."""
        return tuple(one for one in self.findings if _column(one) in (0, column))


def _column(finding: Finding) -> int:
    """The column a judgement names, 0 where it speaks of the whole row. A sound one's place is only its tightest."""
    if finding.verdict == "sound":
        return 0
    named = re.search(r"(?:cylinder|reading) (\d+)$", finding.subject)
    found = named or _PLACE.search(finding.where)
    return int(found[1]) if found else 0


def rows(sheet: Sheet, book: Logbook, findings: Sequence[Finding]) -> list[Row]:
    """Every measure of the sheet that is taken by cylinder or as readings, in the order of the job."""
    found = []
    for path, entry in sheet.entries.items():
        spec = entry.field
        if not spec.numeric or entry.assumed or not _measured(path, spec.per):
            continue
        of = "reading" if path.startswith("strength.clearances.") else "cylinder"
        if of == "cylinder" and not entry.one and len(entry.quantities) != sheet.cylinder_count:
            continue  # several valves in each cylinder: a list in each place
        found.append(_row(sheet, book, findings, path, of))
    order = [name for name, _ in GROUPS]
    return sorted(found, key=lambda row: order.index(row.group))


def _measured(path: str, per: str) -> bool:
    if path.startswith("valves."):
        return per == "valve" and path.rpartition(".")[2] in _OF_VALVES
    if path.startswith("strength.clearances."):
        return path.endswith(".measured")
    return per == "cylinder" and path.startswith(("cylinders.", "strength."))


def _row(sheet: Sheet, book: Logbook, findings: Sequence[Finding], path: str, of: str) -> Row:
    entry = sheet.entries[path]
    here = path.rpartition(".")[0]
    banded = path.startswith(("strength.rings.", "strength.clearances."))
    low, high = (sheet.maybe_quantity(f"{here}.{end}") if banded else None for end in ("low", "high"))
    quantities = entry.quantities
    if of == "cylinder" and entry.one:
        quantities = quantities[:1] * sheet.cylinder_count
    about = [one for one in findings if _PLACE.sub("", one.where) == path]
    about.sort(key=lambda one: ORDER.index(one.verdict))
    group = next(name for name, starts in GROUPS if path.startswith(starts))
    tool = sheet.maybe_text(f"{here}.tool") or "" if of == "reading" else ""
    how = _how(book, path) or tool or ("one value for all" if entry.one and sheet.cylinder_count > 1 else "")
    return Row(path, spoken(path), group, of, tuple(quantities), how, entry.field.meaning, low, high, tuple(about))


def _how(book: Logbook, path: str) -> str:
    entry = last_measurement(book, path)
    if entry is None:
        return ""
    said = (str(entry.details.get(name, "")) for name in ("tool", "temperature"))
    return ", ".join(one for one in (*said, entry.time[:10]) if one)
