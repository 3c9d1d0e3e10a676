"""The sheet as read: values by path, in SI, with the text as typed beside them.

Data only; what one does with a sheet stands elsewhere. Paths are those of the file, cylinders and
list places counted from 1: ``cylinders.chamber[3]``, ``valves.intake.lash[2][1]``.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from spoolwright.errors import BadInput
from spoolwright.sheet.claims import Claim
from spoolwright.sheet.faults import NotGiven, closest
from spoolwright.sheet.fields import Field
from spoolwright.sheet.tables import Table
from spoolwright.units import Quantity

_INDEX = re.compile(r"\[(\d{1,4})\]")


@dataclass(frozen=True)
class Entry:
    """One field as read.

    Numeric fields: ``quantities`` as typed and ``si`` (event angles as crank angle), one for each
    element of ``shape`` (() one value, (n,) by cylinder or as listed, (n, m) by cylinder and valve);
    ``one`` tells that a single value was written for all. Other kinds: ``content``.
    """

    path: str
    field: Field
    quantities: tuple[Quantity, ...] = ()
    si: tuple[float, ...] = ()
    shape: tuple[int, ...] = ()
    one: bool = True
    content: object = None
    assumed: bool = False
    claim: Claim | None = None

    def element(self, index: tuple[int, ...]) -> int | None:
        """Position of ``index`` (from 1) in ``si``; None where there is no such element."""
        if len(index) > len(self.shape) or any(not 1 <= i <= n for i, n in zip(index, self.shape, strict=False)):
            return None
        at = 0
        for i, n in zip(index, self.shape, strict=False):
            at = at * n + i - 1
        rest = self.shape[len(index) :]
        span = 1
        for n in rest:
            span *= n
        first = at * span
        return first if len(set(self.si[first : first + span])) == 1 else None


@dataclass(frozen=True, slots=True)
class Assumed:
    """A value the builder did not give: where, what was taken, why it may be."""

    path: str
    text: str
    reason: str


@dataclass(frozen=True)
class Sheet:
    """A build sheet that has passed its checks."""

    folder: Path
    variant: str | None
    entries: Mapping[str, Entry]
    sections: Mapping[str, tuple[str, ...]]  # path of each section there; names inside where it is a named one
    sets: tuple[str, ...] = ()
    upgraded_from: int | None = None

    @property
    def name(self) -> str:
        """The build's name."""
        return str(self.entries["name"].content)

    @property
    def cylinder_count(self) -> int:
        """Number of cylinders."""
        return int(self.value("cylinders.count"))

    @cached_property
    def variants(self) -> tuple[str, ...]:
        """Names of the variants in the build's folder."""
        return tuple(sorted(p.stem for p in (self.folder / "variants").glob("*.toml")))

    @cached_property
    def assumed(self) -> tuple[Assumed, ...]:
        """Every value taken because none was given."""
        return tuple(Assumed(e.path, e.field.assumed, e.field.reason) for e in self.entries.values() if e.assumed)

    def is_assumed(self, path: str) -> bool:
        """Whether the value at ``path`` was assumed."""
        return self._entry(path)[0].assumed

    def has(self, path: str) -> bool:
        """Whether the field or section is there (given or assumed)."""
        return _INDEX.sub("", path) in self.entries or path in self.sections

    def names(self, path: str) -> tuple[str, ...]:
        """The builder's names in a section of named pieces, in the order of the gas; empty where there are none."""
        return self.sections.get(path, ())

    def where(self, path: str) -> str:
        """File and line of a field, or "assumed"."""
        entry = self._entry(path)[0]
        claim = entry.claim
        if claim is None or entry.assumed:
            return "assumed"
        return f"{claim.file}:{claim.line}" if claim.line else claim.file

    def value(self, path: str) -> float:
        """The SI value at ``path``. Raises NotGiven where there is none, BadInput where it differs by cylinder."""
        entry, at = self._number(path)
        return entry.si[at]

    def maybe(self, path: str) -> float | None:
        """:meth:`value`, None where none is given."""
        return self.value(path) if self.has(path) else None

    def values(self, path: str) -> tuple[float, ...]:
        """All SI values: one for each cylinder (and valve), or as listed."""
        return self._numbers(path).si

    def quantity(self, path: str) -> Quantity:
        """The value at ``path`` as typed, with spread and condition."""
        entry, at = self._number(path)
        return entry.quantities[at]

    def maybe_quantity(self, path: str) -> Quantity | None:
        """:meth:`quantity`, None where none is given."""
        return self.quantity(path) if self.has(path) else None

    def quantities(self, path: str) -> tuple[Quantity, ...]:
        """All values as typed, in the order of :meth:`values`."""
        return self._numbers(path).quantities

    def text(self, path: str) -> str:
        """The words at ``path``; a choice likewise."""
        return str(self._entry(path)[0].content)

    choice = text

    def maybe_text(self, path: str) -> str | None:
        """:meth:`text`, None where none is given."""
        return self.text(path) if self.has(path) else None

    def flag(self, path: str, default: bool) -> bool:
        """True or false as written; ``default`` where nothing is."""
        return bool(self._entry(path)[0].content) if self.has(path) else default

    def numbers(self, path: str) -> tuple[int, ...]:
        """A list of cylinder numbers; empty where none is given."""
        return self._entry(path)[0].content if self.has(path) else ()  # type: ignore[return-value]

    def groups(self, path: str) -> tuple[tuple[int, ...], ...]:
        """Lists of cylinder numbers; empty where none are given."""
        return self._entry(path)[0].content if self.has(path) else ()  # type: ignore[return-value]

    def table(self, path: str) -> Table:
        """The table the field at ``path`` names."""
        content = self._entry(path)[0].content
        if not isinstance(content, Table):
            raise BadInput(f"{path} is not a table")
        return content

    def maybe_table(self, path: str) -> Table | None:
        """:meth:`table`, None where none is given."""
        return self.table(path) if self.has(path) else None

    @cached_property
    def digest(self) -> str:
        """Hash of everything a result can depend on: values, spreads, conditions, tables; not of words and layout."""
        content = {path: _canonical(e) for path, e in sorted(self.entries.items()) if not e.field.remark}
        order = {path: names for path, names in self.sections.items() if not self._is_remark(path)}
        text = json.dumps([content, order], separators=(",", ":"), sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()

    def _is_remark(self, section: str) -> bool:
        """Whether everything written below ``section`` is words for people."""
        below = [e.field.remark for path, e in self.entries.items() if path.startswith(section + ".")]
        return bool(below) and all(below)

    def _entry(self, path: str) -> tuple[Entry, tuple[int, ...]]:
        plain = _INDEX.sub("", path)
        entry = self.entries.get(plain)
        if entry is None:
            raise NotGiven(f"{path}: the sheet of {self.folder.name} does not give it{closest(plain, self.entries)}")
        return entry, tuple(int(i) for i in _INDEX.findall(path))

    def _numbers(self, path: str) -> Entry:
        entry, _ = self._entry(path)
        if not entry.field.numeric:
            raise BadInput(f"{path} is not a quantity but {entry.field.kind}")
        return entry

    def _number(self, path: str) -> tuple[Entry, int]:
        entry, index = self._entry(path)
        self._numbers(path)
        at = entry.element(index)
        if at is None:
            size = " by ".join(str(n) for n in entry.shape) or "one"
            raise BadInput(
                f"{path}: {size} values stand there and no single one answers; ask for {_INDEX.sub('', path)}[1]"
            )
        return entry, at


def _canonical(entry: Entry) -> object:
    if entry.field.numeric:
        return [
            [_digits(v), _digits(q.minus), _digits(q.plus), [_digits(c.value) for c in q.condition]]
            for v, q in zip(entry.si, entry.quantities, strict=True)
        ]
    if isinstance(entry.content, Table):
        table = entry.content
        columns = {name: [_digits(x) for x in column] for name, column in table.columns.items()}
        return [columns, {name: _digits(q.value) for name, q in table.conditions.items()}]
    return entry.content


def _digits(value: float) -> str:
    """Twelve digits: "86.0 mm" and "8.60 cm" are the same value though their last bits differ."""
    return f"{value:.12g}"
