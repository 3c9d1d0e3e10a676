"""From claims to entries: every value read with its unit, counted and held against what is possible."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from itertools import product
from pathlib import Path
from typing import Any

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sheet import tables
from spoolwright.sheet.claims import SHEET_FILE, Claim, Claims, Source
from spoolwright.sheet.faults import Fault, closest, shown
from spoolwright.sheet.fields import Field, Section
from spoolwright.sheet.model import Entry
from spoolwright.sheet.sections import SHEET
from spoolwright.units import Quantity

_ASSUMED = Source("assumed")
_LONGEST_LIST = 64
_LONGEST_TEXT = 4000
# Crank angle of the dead centre an event is counted from, degrees from firing top dead centre.
_EVENTS = {
    "intake opens": (-360.0, "TDC"), "intake closes": (-180.0, "BDC"),
    "exhaust opens": (180.0, "BDC"), "exhaust closes": (360.0, "TDC"), "advance": (0.0, "TDC"),
}  # fmt: skip


class Reader:
    """Reads the claims of one sheet; ``entries`` and ``faults`` fill as it goes."""

    def __init__(self, claims: Claims, folder: Path) -> None:
        self.claims, self.folder = claims, folder
        self.entries: dict[str, Entry] = {}
        self.sections: dict[str, tuple[str, ...]] = {}
        self.faults: list[Fault] = list(claims.faults)
        self._counts: dict[str, int | None] = {}

    def read(self) -> None:
        """Read everything."""
        self._section(SHEET, "", Claim(None, Source(SHEET_FILE), ()))

    # ------------------------------------------------------------------ sections
    def _section(self, section: Section, path: str, place: Claim) -> None:
        for name, part in section.parts.items():
            here = f"{path}.{name}" if path else name
            if isinstance(part, Field):
                self._field(part, here, place)
            elif here not in self.claims.sections and part.always:
                self._pieces(part, here, place)
            elif here not in self.claims.sections:
                if part.must:
                    first = next(iter(part.parts), "")
                    self._fault(
                        place,
                        here,
                        f"this section is missing ({part.meaning}); write [{here}] with {first} and its other fields",
                    )
            else:
                self._pieces(part, here, self.claims.sections[here])

    def _pieces(self, section: Section, path: str, place: Claim) -> None:
        if not section.named:
            self.sections[path] = ()
            self._section(section, path, place)
            return
        depth = path.count(".") + 1
        names = [p for p in self.claims.sections if p.startswith(path + ".") and p.count(".") == depth]
        self.sections[path] = tuple(p.rpartition(".")[2] for p in names)
        if section.must and not names:
            self._fault(place, path, f"no piece is named; write [{path}.{section.name_example}] and its fields")
        for one in names:
            self.sections[one] = ()
            self._section(Section(section.meaning, section.parts), one, self.claims.sections[one])

    # ------------------------------------------------------------------ fields
    def _field(self, spec: Field, path: str, place: Claim) -> None:
        claim = self.claims.by_path.get(path)
        elements = self.claims.elements.get(path, {})
        if claim is None and not elements:
            if spec.need == "must":
                sample = f"{path.rpartition('.')[2]} = {_written(spec)}"
                self._fault(
                    place, path, f"it is missing and must be given ({spec.meaning}); write for example {sample}"
                )
                return
            if spec.need == "may":
                return
            claim = Claim(spec.assumed, _ASSUMED, ())
        before = len(self.faults)
        if spec.numeric:
            entry = self._quantities(spec, path, claim, elements)
        else:
            assert claim is not None
            content = self._content(spec, path, claim)
            entry = None if content is None else Entry(path, spec, content=content)
        if entry is None or len(self.faults) > before:
            return
        first = claim or next(iter(elements.values()))
        self.entries[path] = replace(entry, assumed=first.source is _ASSUMED, claim=first)

    def _fault(self, place: Claim, path: str, message: str) -> None:
        self.faults.append(Fault(place.file, place.line, path, message))

    # ------------------------------------------------------------------ quantities
    def _quantities(
        self, spec: Field, path: str, claim: Claim | None, elements: dict[tuple[int, ...], Claim]
    ) -> Entry | None:
        if claim is not None and not spec.per and not elements and not isinstance(claim.raw, list):
            return self._single(spec, path, claim)
        shape = self._shape(spec, path, claim)
        if shape is None:
            if spec.per == "list":
                first = next(iter(elements.values()))
                self._fault(first, path, f"there is no list yet in which to set one place; write {_written(spec)}")
            return None  # without the number of cylinders or valves, which is a fault of its own
        cells: dict[tuple[int, ...], tuple[Quantity, float]] = {}
        one = not elements
        if claim is not None:
            one = one and not isinstance(claim.raw, list)
            self._fill(spec, path, claim, claim.raw, (), shape, cells)
        for index, element in elements.items():
            if len(index) > len(shape) or any(not 1 <= i <= n for i, n in zip(index, shape, strict=False)):
                size = " by ".join(str(n) for n in shape) or "one value"
                self._fault(element, path + _index(index), f"there is no such place; it has {size}")
                continue
            self._fill(spec, path, element, element.raw, index, shape, cells)
        places = list(product(*(range(1, n + 1) for n in shape)))
        missing = [p for p in places if p not in cells]
        if missing:
            if claim is None or not isinstance(claim.raw, list):
                for_whom = claim or next(iter(elements.values()))
                if not any(f.path.startswith(path) for f in self.faults):
                    self._fault(
                        for_whom,
                        path + _index(missing[0]),
                        "no value is given for it; add it, or others = for all the rest",
                    )
            return None
        return Entry(path, spec, tuple(cells[p][0] for p in places), tuple(cells[p][1] for p in places), shape, one)

    def _single(self, spec: Field, path: str, claim: Claim) -> Entry | None:
        try:
            quantity, si = _value(claim.raw, spec)
        except BadInput as trouble:
            self._fault(claim, path, str(trouble))
            return None
        return Entry(path, spec, (quantity,), (si,))

    def _shape(self, spec: Field, path: str, claim: Claim | None) -> tuple[int, ...] | None:
        if spec.per == "list":
            if claim is None:
                return None
            return (len(claim.raw) if isinstance(claim.raw, list) else 1,)
        if not spec.per:
            return ()
        cylinders = self._count("cylinders.count")
        if cylinders is None:
            return None
        if spec.per == "cylinder":
            return (cylinders,)
        valves = self._count(path.rpartition(".")[0] + ".count")
        return None if valves is None else (cylinders, valves)

    def _count(self, path: str) -> int | None:
        """A count other fields hang on, read ahead of its turn; None where it cannot be used."""
        if path not in self._counts:
            claim = self.claims.by_path.get(path)
            value = None
            if claim is not None:
                try:
                    number = _quantity(claim.raw, "count").value
                    value = int(number) if number == int(number) and 1 <= number <= 16 else None
                except BadInput:
                    value = None
            self._counts[path] = value
        return self._counts[path]

    def _fill(
        self, spec: Field, path: str, claim: Claim, raw: Any, index: tuple[int, ...], shape: tuple[int, ...],
        cells: dict[tuple[int, ...], tuple[Quantity, float]],
    ) -> None:  # fmt: skip
        depth = len(index)
        if isinstance(raw, list):
            if depth == len(shape):
                self._fault(
                    claim,
                    path + _index(index),
                    f"a list stands where one value belongs; write for example {_written(spec)}",
                )
                return
            want = shape[depth]
            if len(raw) > _LONGEST_LIST or not raw:
                self._fault(
                    claim,
                    path + _index(index),
                    f"{len(raw)} values stand in this list; 1 to {_LONGEST_LIST} can be read",
                )
                return
            if len(raw) != want:
                what = "cylinders" if depth == 0 else "valves of the cylinder"
                self._fault(
                    claim,
                    path + _index(index),
                    f"{len(raw)} values stand for {want} {what}; give one for each, or one for all",
                )
                return
            for number, one in enumerate(raw, 1):
                self._fill(spec, path, claim, one, (*index, number), shape, cells)
            return
        try:
            read = _value(raw, spec)
        except BadInput as trouble:
            self._fault(claim, path + _index(index), str(trouble))
            return
        for rest in product(*(range(1, n + 1) for n in shape[depth:])):
            cells[index + rest] = read

    # ------------------------------------------------------------------ other kinds
    def _content(self, spec: Field, path: str, claim: Claim) -> object | None:
        try:
            if spec.kind == "table":
                return self._table(spec, path, claim)
            return _PLAIN[spec.kind](claim.raw, spec)
        except BadInput as trouble:
            self._fault(claim, path, str(trouble))
            return None

    def _table(self, spec: Field, path: str, claim: Claim) -> tables.Table | None:
        name = _text(claim.raw, spec)
        found: list[Fault] = []
        table = tables.read(self.folder, name, spec, found)
        if table is None and len(found) == 1 and not found[0].line:
            self._fault(claim, path, f"{shown(name)}: {found[0].message}")
        else:
            self.faults += found
        return table


def _index(index: tuple[int, ...]) -> str:
    return "".join(f"[{i}]" for i in index)


def _written(spec: Field) -> str:
    bare = spec.kind in ("flag", "cylinders", "groups") or spec.example.startswith("[")
    return spec.example if bare else f'"{spec.example}"'


def _quantity(raw: object, kind: str) -> Quantity:
    """:func:`units.read`, with every other trouble turned into one sentence."""
    if isinstance(raw, int) and abs(raw) > 10**15:
        raise BadInput(f"{shown(raw)} is beyond any number that can be meant")
    if not isinstance(raw, (str, int, float)):
        raise BadInput(f"{shown(raw)} is not a quantity; write text with a unit")
    try:
        return units.read(raw, kind)
    except (ValueError, OverflowError, ZeroDivisionError, KeyError, IndexError, AssertionError):
        raise BadInput(f"{shown(raw)} cannot be read as {kind.replace('_', ' ')}") from None


def _value(raw: object, spec: Field) -> tuple[Quantity, float]:
    if isinstance(raw, str):
        return _cached_value(raw, spec)
    if not isinstance(raw, (int, float)) or isinstance(raw, bool):
        raise BadInput(f"{shown(raw)} is not a quantity; write for example {_written(spec)}")
    return _checked(_quantity(raw, spec.kind), spec)


@lru_cache(maxsize=8192)
def _read_text(raw: str, kind: str) -> Quantity:
    return _quantity(raw, kind)


def _cached_value(raw: str, spec: Field) -> tuple[Quantity, float]:
    return _checked(_read_text(raw, spec.kind), spec)


def _checked(quantity: Quantity, spec: Field) -> tuple[Quantity, float]:
    low, high = spec.possible_si
    if not low <= quantity.value <= high:
        raise BadInput(_outside(quantity, spec, low, high))
    if spec.kind == "count" and quantity.value != int(quantity.value):
        raise BadInput(f"{shown(quantity.text)} is not a whole number")
    if spec.condition:
        _check_condition(quantity, spec)
    return quantity, _crank_angle(quantity, spec) if spec.event else quantity.value


def _outside(quantity: Quantity, spec: Field, low: float, high: float) -> str:
    unit = _unit_of(spec)
    bounds = [_shown_bound(x, spec.kind, unit) for x in (low, high)]
    if high == float("inf"):
        allowed = f"is below {bounds[0]}"
    else:
        allowed = f"is outside {bounds[0]}..{bounds[1]}"
    likely = units.likely_slips(quantity, *spec.plausible_si) if spec.plausible_si else []
    hint = f" (perhaps: {likely[0]})" if likely else ""
    return f"{shown(quantity.text)} {allowed}{hint}; write for example {_written(spec)}"


def _unit_of(spec: Field) -> str | None:
    sample = re.sub(r"[\[\]\"]", "", spec.example).split(",")[0]
    try:
        return units.parse(sample, spec.kind).unit
    except BadInput:
        return None


def _shown_bound(value: float, kind: str, unit: str | None) -> str:
    try:
        return units.show(value, kind, unit)
    except (BadInput, KeyError, ZeroDivisionError):
        return units.show(value, kind)


def _check_condition(quantity: Quantity, spec: Field) -> None:
    wanted = units.KINDS[spec.condition]
    if not any(units.KINDS[c.kind].dims == wanted.dims and c.value > 0.0 for c in quantity.condition):
        what = wanted.name.replace("_", " ")
        raise BadInput(f"{shown(quantity.text)} does not say at what {what}; write for example {_written(spec)}")


def _crank_angle(quantity: Quantity, spec: Field) -> float:
    """Degrees from firing top dead centre; for "advance" degrees before it."""
    base, centre = _EVENTS[spec.event]
    reference = quantity.reference
    if not reference.endswith(centre):
        word = "top" if centre == "TDC" else "bottom"
        raise BadInput(
            f"{shown(quantity.text)} is counted from {word} dead centre here; write for example {_written(spec)}"
        )
    sign = -1.0 if reference.startswith("B") else 1.0
    return -sign * quantity.value if spec.event == "advance" else base + sign * quantity.value


def _text(raw: object, spec: Field) -> str:
    if not isinstance(raw, str) or not raw.strip():
        raise BadInput(f"{shown(raw)} is not text; write for example {_written(spec)}")
    if len(raw) > _LONGEST_TEXT:
        raise BadInput(f"{len(raw)} characters are too many (at most {_LONGEST_TEXT})")
    return raw.strip()


def _choice(raw: object, spec: Field) -> str:
    if isinstance(raw, str) and raw in spec.choices:
        return raw
    hint = closest(raw, spec.choices) if isinstance(raw, str) else ""
    raise BadInput(f"{shown(raw)} is not one of {', '.join(spec.choices)}{hint}")


def _flag(raw: object, spec: Field) -> bool:
    if isinstance(raw, bool):
        return raw
    if isinstance(raw, str) and raw in ("true", "false"):
        return raw == "true"
    raise BadInput(f"{shown(raw)} is neither true nor false; write it without quotes")


def _whole_numbers(raw: object, spec: Field) -> tuple[int, ...]:
    if not isinstance(raw, list) or not 1 <= len(raw) <= 16:
        raise BadInput(f"{shown(raw)} is not a list of cylinder numbers; write for example {_written(spec)}")
    if any(isinstance(n, bool) or not isinstance(n, int) or not 1 <= n <= 16 for n in raw):
        raise BadInput(f"{shown(raw)}: cylinders are numbered from 1 to 16; write for example {_written(spec)}")
    if len(set(raw)) != len(raw):
        raise BadInput(f"{shown(raw)} names a cylinder twice")
    return tuple(raw)


def _groups(raw: object, spec: Field) -> tuple[tuple[int, ...], ...]:
    if not isinstance(raw, list) or not 1 <= len(raw) <= 16:
        raise BadInput(f"{shown(raw)} is not a list of lists; write for example {_written(spec)}")
    groups = tuple(_whole_numbers(one, spec) for one in raw)
    numbers = [n for group in groups for n in group]
    if len(set(numbers)) != len(numbers):
        raise BadInput(f"{shown(raw)} names a cylinder twice")
    return groups


_PLAIN: dict[str, Callable[[Any, Field], object]] = {
    "text": _text, "place": _text, "choice": _choice, "flag": _flag, "cylinders": _whole_numbers, "groups": _groups,
}  # fmt: skip
