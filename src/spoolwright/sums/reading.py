"""Reading the inputs of sums: text as a user wrote it to quantities, lists, curves, words."""

from __future__ import annotations

import difflib
import re
from dataclasses import replace
from itertools import pairwise
from typing import Any

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sums.doubts import plausible_range
from spoolwright.sums.registry import Input
from spoolwright.units import KINDS, Quantity

Curve = tuple[tuple[Quantity, Quantity], ...]


def read_input(key: str, spec: Input, value: Any) -> Any:
    """The input ``key`` as ``spec`` wants it: a Quantity, a tuple of them, a curve, a word. Raises BadInput."""
    if spec.kind == "choice":
        return _choice(key, spec, str(value))
    if spec.kind == "curve":
        return _curve(key, spec, value)
    if spec.kind == "text":
        return tuple(str(item) for item in _split(value)) if spec.many else str(value).strip()
    if spec.many:
        items = _split(value)
        return tuple(read_one(f"{key}[{n}]", spec, item) for n, item in enumerate(items, start=1))
    if isinstance(value, (list, tuple)):
        raise BadInput(f"{key} takes one value, {len(value)} were given")
    return read_one(key, spec, value)


def read_one(key: str, spec: Input, value: Any) -> Quantity:
    """One value of the input ``key``. Raises BadInput with the words and units that would fit."""
    quantity = _read_value(key, spec, value)
    if spec.kind == "share":
        _refuse_impossible_share(key, spec, quantity, isinstance(value, str))
    return quantity


def _refuse_impossible_share(key: str, spec: Input, share: Quantity, typed: bool) -> None:
    """ "96" typed for 96 % is 9600 %; where no such share is usual it is refused, as is more than all of a whole."""
    _, high = plausible_range(spec)
    if typed and share.unit == "1" and high is not None and share.number >= 1.0 and share.value > high:
        raise BadInput(
            f'{key}: "{share.text}" without a unit is {units.show(share.value, "share")}, above {spec.high}, the usual '
            f'limit for {spec.meaning}; write "{share.text} %" if that is meant'
        )
    if spec.part and not 0.0 <= share.value <= 1.0:
        raise BadInput(f'{key} ({spec.meaning}): "{share.text}" is not possible; it lies between 0 and 100 %')


def _read_value(key: str, spec: Input, value: Any) -> Quantity:
    if isinstance(value, Quantity) and value.kind != spec.kind:
        value = value.text
    if isinstance(value, Quantity):
        return _in_sense(key, spec, value)
    word = value.strip().lower() if isinstance(value, str) else ""
    if word in spec.named:
        return replace(units.read(spec.named[word], spec.kind), text=f"{word} ({spec.named[word]})")
    try:
        return _in_sense(key, spec, units.read(value, spec.kind))
    except BadInput as fault:
        if spec.kind == "exchange_rate":
            raise BadInput(
                f'{key}: "{value}" is not a bare number; write for example "0.858": {spec.meaning}'
            ) from None
        raise BadInput(f"{key}: {fault}{_known_words(spec, word)}{_fitting_units(spec, value)}") from None


def _known_words(spec: Input, word: str) -> str:
    if not spec.named:
        return ""
    near = difflib.get_close_matches(word, spec.named, n=1)
    return f'; did you mean "{near[0]}"?' if near else f"; or one of: {', '.join(spec.named)}"


def _in_sense(key: str, spec: Input, angle: Quantity) -> Quantity:
    """``angle`` as written, in the sense the input counts in; "12 deg BBDC" is -12 deg ABDC.

    The value follows from what was written: a sheet counts its events from firing top dead centre.
    """
    if not spec.reference or not angle.reference:
        return angle
    if angle.reference[1:] != spec.reference[1:]:
        raise BadInput(f'"{angle.text}" is needed against the other dead centre; write it in degrees {spec.reference}')
    plain = units.to_si(angle.number, angle.kind, angle.unit)
    if angle.reference == spec.reference:
        return replace(angle, value=plain)
    return replace(angle, value=-plain, minus=angle.plus, plus=angle.minus)


def _fitting_units(spec: Input, value: Any) -> str:
    """For a bare number: which units would make it plausible."""
    low, high = plausible_range(spec)
    try:
        number = units.read_number(str(value))
    except BadInput:
        return ""
    if low is None or high is None or KINDS[spec.kind].bare or spec.kind in ("mixture", "money"):
        return ""  # their readers say themselves what a number may mean
    usual = KINDS[spec.kind].usual
    fitting = [
        f"{units.significant(number)} {unit} ({units.show(units.to_si(number, spec.kind, unit), spec.kind, usual)})"
        for unit in KINDS[spec.kind].units
        if low <= units.to_si(number, spec.kind, unit) <= high
    ]
    if not fitting:
        return f"; no unit makes it plausible as {spec.meaning}"
    shown = f"{units.significant(number)} {usual}"
    not_possible = "" if fitting[0].startswith(f"{shown} (") else f"; {shown} is not plausible here"
    return f"{not_possible}; {', '.join(fitting[:2])} would fit"


_BETWEEN = re.compile(r"\s*(?:;|,\s|\n|\band\b)\s*")  # a comma without blank behind it may be a decimal sign
_PLAIN_NUMBER = re.compile(r"\s*[-+]?[\d.,/ ]+(?:[eE][-+]?\d+)?\s*")
_UNITLESS = re.compile(_PLAIN_NUMBER.pattern + r"(?:[±+][-+±/\d.,\s]*)?")  # with its spread, where it has one


def _split(value: Any) -> list[Any]:
    if isinstance(value, (list, tuple)):
        parts = [part for item in value for part in (_split(item) if isinstance(item, str) else [item])]
    elif isinstance(value, str):
        parts = [part.strip() for part in _BETWEEN.split(value) if part.strip()]
    else:
        return [value]
    # "55.8; 56.9; 57.4 cc": one unit behind the last value serves all.
    if len(parts) > 1 and isinstance(parts[-1], str):
        number = _PLAIN_NUMBER.match(parts[-1])
        tail = re.search(r"[A-Za-zµ°%\"'].*$", parts[-1][number.end() :]) if number else None
        if tail:
            parts = [f"{p} {tail[0]}" if isinstance(p, str) and _UNITLESS.fullmatch(p) else p for p in parts]
    return parts


def _choice(key: str, spec: Input, text: str) -> str:
    lowered = {c.lower(): c for c in spec.choices}
    word = text.strip().lower()
    word = spec.named.get(word, word).lower()
    if word in lowered:
        return lowered[word]
    near = difflib.get_close_matches(word, lowered, n=1)
    hint = f' (did you mean "{lowered[near[0]]}"?)' if near else ""
    raise BadInput(f'{key}: "{text}" is not one of {", ".join(spec.choices)}{hint}')


def _curve(key: str, spec: Input, value: Any) -> Curve:
    items = _split(value)
    points = []
    for n, item in enumerate(items, start=1):
        pair = item if isinstance(item, (list, tuple)) else re.split(r"\s*(?::|->|=)\s*", str(item), maxsplit=1)
        if len(pair) != 2:
            raise BadInput(
                f'{key}[{n}]: "{item}" is not a pair; write for example "10 psi: 54 gal/h; 20 psi: 43 gal/h"'
            )
        try:
            points.append((units.read(pair[0], spec.curve[0]), units.read(pair[1], spec.curve[1])))
        except BadInput as fault:
            raise BadInput(f"{key}[{n}]: {fault}") from None
    if len(points) < 2:
        raise BadInput(f"{key} needs at least two points, {len(points)} given")
    for before, after in pairwise(points):
        if after[0].value <= before[0].value:
            raise BadInput(f'{key}: the first column must rise; "{after[0].text}" comes after "{before[0].text}"')
    return tuple(points)


def plain_value(value: Any) -> Any:
    """What the sum's function takes for an input as read: SI floats, lists and pairs of them, money, words."""
    if isinstance(value, Quantity):
        return (value.value, value.unit) if value.kind == "money" else value.value
    if isinstance(value, tuple):
        return [plain_value(v) if isinstance(v, (Quantity, str)) else (v[0].value, v[1].value) for v in value]
    return value


def example_of(spec: Input) -> str:
    """What a user could write for the input."""
    if spec.kind == "choice":
        return f'"{spec.choices[0]}"'
    if spec.kind == "curve":
        return '"10 psi: 54 gal/h; 20 psi: 43 gal/h"'
    if spec.kind == "text":
        return f'"{spec.unit}"'
    return f'"{spec.low}"' if spec.low else f'"1.0 {KINDS[spec.kind].usual}"'
