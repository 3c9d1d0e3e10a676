"""What a field of the build sheet is: kind, meaning, need, ranges, example.

One description of every field lives in ``spoolwright.sheet.sections``; it serves the check of a
sheet, the reference page, the commented template and forms. Plain frozen records are used instead
of a validation library's models because one field may be a single value, a list or a table by
cylinder or valve number, each element keeps its text as typed beside its SI value, every fault
needs file and line, and reading a sheet must stay quick.

Kinds are those of ``spoolwright.units`` and the few in ``PLAIN``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, Literal

from spoolwright import units
from spoolwright.constants import STANDARD_ATMOSPHERE

PLAIN: Final[dict[str, str]] = {
    "text": "any text",
    "choice": "one of the words named",
    "flag": "true or false",
    "table": "name of a csv file in the build's folder",
    "cylinders": "list of cylinder numbers",
    "groups": "list of lists of cylinder numbers",
    "place": "name of another piece of the sheet",
}
Per = Literal["", "cylinder", "valve", "list"]
Need = Literal["must", "may", "assumed"]

# Kinds that may be negative or zero unless the field says otherwise.
_SIGNED: Final = frozenset({"pressure_gauge", "temperature", "angle", "event_angle", "number", "angle_per_pressure"})
# A value this many times beyond the plausible cannot be meant (unless ``possible`` says otherwise).
_BEYOND: Final = 10.0


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: kind, meaning, whether it must be there, which condition it needs."""

    kind: str
    meaning: str
    must: bool = True
    condition: str = ""


@dataclass(frozen=True)
class Field:
    """One field of the sheet.

    ``plausible`` and ``possible`` are "low..high" as text with units. Outside the possible a value is
    a fault; outside the plausible it is left to findings. ``assumed`` is the value taken when none is
    given, ``reason`` says why it may be. ``safety`` marks what must never be assumed. ``condition``
    is the kind that must follow "@". ``event`` names the dead centre an event angle is counted from.
    """

    kind: str
    meaning: str
    need: Need
    example: str
    plausible: str = ""
    possible: str = ""
    per: Per = ""
    safety: bool = False
    assumed: str = ""
    reason: str = ""
    choices: tuple[str, ...] = ()
    condition: str = ""
    event: str = ""
    columns: Mapping[str, Column] = field(default_factory=dict)
    rising: str = ""  # column that must rise strictly from row to row
    within: str = ""  # column that tells lines apart; ``rising`` then holds within each line
    remark: bool = False  # words for people; not part of the digest

    def __post_init__(self) -> None:
        if self.kind not in units.KINDS and self.kind not in PLAIN:
            raise ValueError(f"unknown kind {self.kind!r}")
        if self.safety and self.need == "assumed":
            raise ValueError(f"{self.meaning}: a safety-relevant value is never assumed")
        if (self.need == "assumed") != bool(self.reason):
            raise ValueError(f"{self.meaning}: an assumed value and only that needs a reason")

    @property
    def numeric(self) -> bool:
        """Whether the value is a quantity."""
        return self.kind in units.KINDS

    @cached_property
    def plausible_si(self) -> tuple[float, float] | None:
        """Plausible range in SI, None where none is stated."""
        return _range(self.plausible, self.kind) if self.plausible else None

    @cached_property
    def possible_si(self) -> tuple[float, float]:
        """Range outside which the value is a fault, in SI."""
        if self.possible:
            return _range(self.possible, self.kind)
        if self.kind == "temperature":
            return 150.0, 3000.0
        low, high = self.plausible_si or (0.0, float("inf"))
        if self.kind in _SIGNED or low < 0.0:
            reach = _BEYOND * max(abs(low), abs(high)) or float("inf")
            floor = -STANDARD_ATMOSPHERE if self.kind == "pressure_gauge" else -reach
            return floor, reach
        return low / _BEYOND, high * _BEYOND if high else float("inf")


def _range(text: str, kind: str) -> tuple[float, float]:
    low, high = text.split("..")
    return units.read(low, kind).value, units.read(high, kind).value


@dataclass(frozen=True)
class Section:
    """A table of the sheet.

    ``named``: its tables bear the builder's own names, in the order of the gas. ``always``: read even
    where it is not written, because all its fields are assumed and none may be so in silence.
    """

    meaning: str
    parts: Mapping[str, Field | Section]
    must: bool = False
    always: bool = False
    named: bool = False
    name_example: str = ""


def must(kind: str, meaning: str, example: str, plausible: str = "", possible: str = "", **more: object) -> Field:
    """A field that must be given."""
    return Field(kind, meaning, "must", example, plausible, possible, **more)  # type: ignore[arg-type]


def may(kind: str, meaning: str, example: str, plausible: str = "", possible: str = "", **more: object) -> Field:
    """A field that may be left out; nothing is taken in its place."""
    return Field(kind, meaning, "may", example, plausible, possible, **more)  # type: ignore[arg-type]


def assume(
    kind: str, meaning: str, value: str, reason: str, plausible: str = "", possible: str = "", **more: object
) -> Field:
    """A field taken as ``value`` for ``reason`` when left out, and listed as assumed."""
    return Field(kind, meaning, "assumed", value, plausible, possible, assumed=value, reason=reason, **more)  # type: ignore[arg-type]


def choice(meaning: str, *words: str, need: Need = "must", **more: object) -> Field:
    """A field that takes one of ``words``; the first is the example."""
    return Field("choice", meaning, need, words[0], choices=words, **more)  # type: ignore[arg-type]


def table(meaning: str, example: str, columns: Mapping[str, Column], need: Need = "may", **more: object) -> Field:
    """A field that names a csv file with these columns."""
    return Field("table", meaning, need, example, columns=columns, **more)  # type: ignore[arg-type]


def walk(section: Section, path: str = "") -> Iterator[tuple[str, Field | Section]]:
    """Every part below ``section`` with its path; named tables show as "<name>"."""
    for name, part in section.parts.items():
        here = f"{path}.{name}" if path else name
        yield here, part
        if isinstance(part, Section):
            yield from walk(part, f"{here}.<name>" if part.named else here)
