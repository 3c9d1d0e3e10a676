"""SI values as text and numbers in a unit, and what a user may have meant where a value is implausible."""

from __future__ import annotations

from spoolwright.units.numbers import significant
from spoolwright.units.quantities import Quantity, resolve
from spoolwright.units.tables import KINDS


def convert(value: float, kind: str, unit: str) -> float:
    """SI ``value`` of ``kind`` expressed in ``unit``."""
    if kind == "mixture":
        return {"lambda": value, "phi": 1.0 / value}[unit]
    if kind == "money" or unit in ("", "1", ":1"):
        return value
    _, factor, offset = resolve(unit, kind)
    return value / factor - offset


def to_si(number: float, kind: str, unit: str) -> float:
    """``number`` in ``unit`` as an SI value of ``kind``."""
    if kind == "mixture":
        return {"lambda": number, "phi": 1.0 / number}[unit]
    if kind == "money" or unit in ("", "1", ":1"):
        return number
    _, factor, offset = resolve(unit, kind)
    return (number + offset) * factor


def show(value: float, kind: str, unit: str | None = None, digits: int = 4) -> str:
    """SI ``value`` as text in ``unit`` (the kind's usual one when not given)."""
    want = KINDS[kind]
    unit = unit or want.usual
    number = significant(convert(value, kind, unit), digits)
    if unit in ("1", ""):
        return number
    if unit == ":1":
        return f"{number}:1"
    return f"{number} {unit}"


def likely_slips(quantity: Quantity, low: float, high: float) -> list[str]:
    """What the user may have meant where ``quantity`` lies outside ``low..high`` (SI): units, then sign and decimals.

    Returns phrases such as '3.642 in (92.51 mm) fits'.
    """
    want = KINDS[quantity.kind]
    phrases = []
    for unit in want.units:
        if unit == quantity.unit or quantity.kind in ("money", "mixture"):
            continue
        value = to_si(quantity.number, quantity.kind, unit)
        if low <= value <= high:
            phrases.append(
                f"{significant(quantity.number)} {unit} ({show(value, quantity.kind, quantity.unit or None)}) fits"
            )
    if not phrases and low <= -quantity.value <= high:
        phrases.append(f"with the other sign, {significant(-quantity.number)} {quantity.unit}, it fits")
    if not phrases and quantity.kind != "temperature":
        for shift, words in (
            (0.1, "one place left"),
            (10.0, "one place right"),
            (0.01, "two places left"),
            (100.0, "two places right"),
        ):
            if low <= quantity.value * shift <= high:
                phrases.append(
                    f"with the decimal point {words}, {significant(quantity.number * shift)} {quantity.unit}, it fits"
                )
                break
    return phrases[:3]
