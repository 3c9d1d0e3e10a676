"""What somebody typed for one value, judged before it is saved: refused, doubted with an offer, or taken.

Refused is what cannot be read or cannot be meant; doubted what can be read but looks like a slip: outside the
plausible, far from the other cylinders, or at odds with another value of the sheet. Nothing is changed here.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sheet.faults import SheetFaults
from spoolwright.sheet.fields import Field
from spoolwright.sheet.loading import load
from spoolwright.sheet.lookup import field
from spoolwright.sheet.model import Sheet
from spoolwright.units import Quantity

FAR = 4.0  # times; a cylinder further from its neighbours' median than this is asked back


@dataclass(frozen=True)
class Typed:
    """The judgement: ``refused`` or ``doubt`` in one sentence (both empty: taken), likely texts to offer instead."""

    text: str
    refused: str = ""
    doubt: str = ""
    offers: tuple[str, ...] = ()


def raw_of(path: str, text: str) -> Any:
    """What is written into the file for ``text``: a flag as flag, a list as list, everything else as text."""
    spec = field(path)
    text = text.strip()
    if spec.kind == "flag" and text in ("true", "false"):
        return text == "true"
    if spec.kind == "count" and re.fullmatch(r"\d{1,4}", text):
        return int(text)
    if spec.kind == "cylinders" and re.fullmatch(r"[\[\]\d,\s]+", text):
        return [int(one) for one in re.findall(r"\d+", text)]
    return text


def text_at(sheet: Sheet, path: str) -> str:
    """The value at ``path`` as typed; empty where none stands."""
    if not sheet.has(path):
        return ""
    spec = field(path)
    if spec.numeric:
        try:
            return sheet.quantity(path).text
        except BadInput:
            return ", ".join(one.text for one in sheet.quantities(path))
    entry = sheet.entries[re.sub(r"\[\d+\]", "", path)]
    if spec.kind == "flag":
        return "true" if entry.content else "false"
    if spec.kind == "table":
        return str(getattr(entry.content, "file", ""))
    if spec.kind == "cylinders":
        return ", ".join(str(n) for n in sheet.numbers(path))
    if spec.kind == "groups":
        return "; ".join(", ".join(str(n) for n in group) for group in sheet.groups(path))
    return sheet.text(path)


def converted(sheet: Sheet, path: str) -> str:
    """The value in its kind's usual unit where it was typed in another; empty otherwise."""
    if not sheet.has(path) or not field(path).numeric:
        return ""
    try:
        said = sheet.quantity(path)
    except BadInput:
        return ""
    return _usual(said)


def _usual(said: Quantity) -> str:
    usual = units.KINDS[said.kind].usual
    if said.kind in ("money", "mixture", "number", "count") or not said.unit or said.unit == usual:
        return ""
    return units.show(said.value, said.kind, usual)


def judge(sheet: Sheet | None, folder: Any, variant: str | None, path: str, text: str) -> Typed:
    """Judge ``text`` for the value at ``path``; ``sheet`` is the sheet as it stands, None where it has faults."""
    spec = field(path)
    text = text.strip()
    if not text:
        if spec.need == "must":
            return Typed(text, refused=f"This value must be given: {spec.meaning}. Write for example {spec.example}.")
        return Typed(text)
    said: Quantity | None = None
    if spec.numeric:
        try:
            said = units.read(text, spec.kind)
        except BadInput as trouble:
            return Typed(text, refused=_sentence(str(trouble)))
    mine, others = _faults(sheet, folder, variant, path, raw_of(path, text))
    if mine:
        return Typed(text, refused=mine, offers=_offers(sheet, spec, path, said))
    if others:
        return Typed(text, doubt=others)
    if said is None:
        return Typed(text)
    doubt = _unlike(sheet, path, said) or _implausible(spec, said)
    return Typed(text, doubt=doubt, offers=_offers(sheet, spec, path, said) if doubt else ())


def _sentence(message: str) -> str:
    words = " ".join(message.split())
    words = words[:1].upper() + words[1:]
    return words if words.endswith((".", "?")) else words + "."


def _faults(sheet: Sheet | None, folder: Any, variant: str | None, path: str, raw: Any) -> tuple[str, str]:
    """What the whole sheet says with the value in it: faults of the field itself, and faults it brings elsewhere."""
    written = raw if isinstance(raw, str) else str(raw).lower() if isinstance(raw, bool) else str(raw)
    try:
        load(folder, variant, (f"{path}={_quoted(written) if isinstance(raw, str) else written}",))
    except SheetFaults as trouble:
        own = [one for one in trouble.faults if one.path == path or one.file == "--set"]
        if own:
            return _sentence(own[0].message), ""
        if sheet is None:  # it has faults anyhow
            return "", ""
        return "", " ".join(f"{one.path}: {_sentence(one.message)}" for one in trouble.faults[:2])
    except BadInput as trouble:
        return _sentence(str(trouble)), ""
    return "", ""


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ") + '"'


def _neighbours(sheet: Sheet | None, path: str) -> list[Quantity]:
    """The other cylinders' values of a value by cylinder."""
    place = re.fullmatch(r"(.+)\[(\d+)\]", path)
    if sheet is None or place is None or not sheet.has(place[1]) or not field(path).numeric:
        return []
    said = sheet.quantities(place[1])
    return [one for n, one in enumerate(said, start=1) if n != int(place[2])]


def _unlike(sheet: Sheet | None, path: str, said: Quantity) -> str:
    others = [one.value for one in _neighbours(sheet, path)]
    middle = median(others) if others else 0.0
    if middle <= 0.0 or said.value <= 0.0 or 1.0 / FAR < said.value / middle < FAR:
        return ""
    unit = said.unit or None
    low, high = (units.show(v, said.kind, unit) for v in (min(others), max(others)))
    among = low if low == high else f"{low} to {high}"
    times = said.value / middle
    how = f"{times:.0f} times" if times > 1.0 else f"a {1.0 / times:.0f}th of"
    return f"{said.text} is {how} its neighbours ({among}). A slipped decimal point, or another unit?"


def _implausible(spec: Field, said: Quantity) -> str:
    if spec.plausible_si is None:
        return ""
    low, high = spec.plausible_si
    if low <= said.value <= high:
        return ""
    likely = units.likely_slips(said, low, high)
    hint = f" Perhaps: {likely[0]}." if likely else ""
    return f"{said.text} is outside the usual {spec.plausible.replace('..', ' to ')}.{hint}"


def _offers(sheet: Sheet | None, spec: Field, path: str, said: Quantity | None) -> tuple[str, ...]:
    """Texts that would fit: the same number in another unit, or with its decimal point moved."""
    if said is None:
        return ()
    others = [one.value for one in _neighbours(sheet, path)]
    if others and min(others) > 0.0:
        low, high = 0.8 * min(others), 1.25 * max(others)
    elif spec.plausible_si is not None:
        low, high = spec.plausible_si
    else:
        return ()
    if said.unit == "" or said.kind in ("money", "mixture") or low <= said.value <= high:
        return ()
    return tuple(_fitting(said, low, high))[:2]


def _fitting(said: Quantity, low: float, high: float) -> Sequence[str]:
    number = units.significant(said.number, 6)
    in_units = [
        f"{number} {unit}"
        for unit in units.KINDS[said.kind].units
        if unit != said.unit and low <= units.to_si(said.number, said.kind, unit) <= high
    ]
    moved = [
        f"{units.significant(said.number * shift, 6)} {said.unit}"
        for shift in (0.1, 10.0, 0.01, 100.0)
        if low <= units.to_si(said.number * shift, said.kind, said.unit) <= high
    ]
    return moved + in_units


def text_in(texts: Any, path: str) -> str:
    """The value at ``path`` as it stands in files that do not make a sheet (text by file name); the last file wins."""
    from spoolwright.sheet.edits import said, standing

    found: Any = None
    for text in texts.values():
        try:
            there = standing(text, path)
        except ValueError:
            continue
        found = there if there is not None else found
    return "" if found is None else said(found)
