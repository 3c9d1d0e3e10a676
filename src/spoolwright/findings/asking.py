"""Ask the sums on behalf of a finding: inputs from the sheet, from another sum, or taken and said so.

Findings hold no formula: every number in them comes out of a sum, with its working.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from spoolwright import units
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer, evaluate, find
from spoolwright.sums.fill import fill
from spoolwright.units import Quantity

PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Given:
    """A value for a sum and where it came from, as the working shows it."""

    value: Any
    origin: str


def at(sheet: Sheet, path: str) -> Given:
    """The one value that stands at ``path`` of the sheet."""
    return Given(sheet.quantity(path), f"{sheet.name}, {place(sheet, path)}")


def reading(sheet: Sheet, path: str, one: Quantity | None = None) -> Given:
    """One of several readings at ``path``; the first where none is named."""
    return Given(one or sheet.quantities(path)[0], f"{sheet.name}, {place(sheet, path)}")


def place(sheet: Sheet, path: str) -> str:
    """File and line of a field; its path where it was assumed."""
    return f"{path} assumed" if sheet.is_assumed(path) else sheet.where(path)


def taken(value: str, why: str = PRACTICE) -> Given:
    """A value taken because the sheet does not say it."""
    return Given(value, f"taken: {why}")


def carried(answer: Answer, name: str, index: int | None = None) -> Given:
    """A result of one sum as the input of another, with its band."""
    out, value, band = answer.sum.outputs[name], answer.results[name], answer.bands.get(name, (0.0, 0.0))
    if index is not None:
        value = value[index]
        band = band[index] if isinstance(band, list) else (0.0, 0.0)
    below, above = band if isinstance(band, tuple) else (0.0, 0.0)
    return Given(quantity(value, out.kind, out.unit, below, above), f"from {answer.sum.name}")


def quantity(value: float, kind: str, unit: str, below: float = 0.0, above: float = 0.0) -> Quantity:
    """An SI value as a quantity in ``unit``."""
    text = units.show(value, kind, unit)
    return Quantity(kind, value, text, unit, units.convert(value, kind, unit), below, above)


def ask(sheet: Sheet, name: str, cylinder: int | None = None, **given: Given | None) -> Answer:
    """The sum ``name`` with ``given``, everything else that it finds in the sheet. Raises BadInput."""
    which = find(name)
    said = {key: one for key, one in given.items() if one is not None}
    values, filled = fill(which, sheet, {key: one.value for key, one in said.items()}, cylinder)
    values |= {key: one.value for key, one in said.items()}
    origins = filled | {key: one.origin for key, one in said.items()}
    return evaluate(name, values, origins)


def boost(sheet: Sheet) -> Given:
    """The highest boost the builder allows; none without a compressor."""
    return at(sheet, "limits.max_boost") if sheet.has("limits.max_boost") else taken("0 kPa", "no compressor")


def charge_temperature(sheet: Sheet) -> Given:
    """The warmest charge the builder allows, else outside air."""
    limit = "limits.max_charge_temperature"
    return at(sheet, limit if sheet.has(limit) else "site.temperature")


def altitude(sheet: Sheet) -> Given | None:
    """Sea level where neither barometer nor altitude is given."""
    known = sheet.has("site.barometer") or sheet.has("site.altitude")
    return None if known else taken("0 m", "neither barometer nor altitude is given")


def told(answer: Answer, name: str, digits: int = 3, unit: str = "") -> str:
    """A result for a sentence: without its band, in ``unit`` where one is wanted."""
    out = answer.sum.outputs[name]
    return units.show(answer.results[name], out.kind, unit or out.unit, digits)


def workings(*answers: Answer) -> str:
    """The workings of these sums below each other, each with its title and source."""
    return "\n\n".join(f"{a.sum.title}\n{a.working}\nSource: {a.sum.source}" for a in answers)
