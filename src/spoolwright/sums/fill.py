"""Fill the inputs of a sum from a build, each with the place it came from.

``Input.sheet`` says where a value stands in the sheet:

- ``cylinders.bore``: a field;
- ``strength.piston_mass + strength.pin_mass``, ``cylinders.count * injection.injectors_per_cylinder``: fields together;
- ``valves.intake.lift_table:angle,lift``: two columns of a table, for a curve;
- ``wastegate.spring_rate if wastegate.spring_free_length``, ``site.altitude unless site.barometer``: only where
  the other field is, or is not, given.

What the sheet does not give stays open; nothing is invented here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet
from spoolwright.sheet.lookup import field as sheet_field
from spoolwright.sums.registry import Input, Sum

LEAVE_OUT = "none"  # a word in place of a value: take nothing from the build either
_TABLE_UNITS = {"volume_flow": "L/min"}
_CONDITION = re.compile(r"^(?P<what>.+?)(?:\s+(?P<word>if|unless)\s+(?P<other>\S+))?$")


def fill(
    which: Sum, sheet: Sheet, given: Mapping[str, Any], cylinder: int | None = None
) -> tuple[dict[str, Any], dict[str, str]]:
    """Inputs of ``which`` that ``sheet`` holds and ``given`` does not name.

    Parameters
    ----------
    cylinder : int, optional
        Which cylinder's value fills an input that takes one value where the sheet has one for each.

    Returns
    -------
    values : dict
        As typed in the sheet: text, a list of texts, or pairs for a curve.
    filled : dict
        For each of them where it came from: ``wren, build.toml:14``.

    Raises
    ------
    BadInput
        Where an input takes one value, the sheet has several and no cylinder is named.
    """
    values: dict[str, Any] = {}
    filled: dict[str, str] = {}
    for key, spec in which.inputs.items():
        if not spec.sheet or key in given:
            continue
        path = spec.sheet
        if given.get("valve") == "exhaust":
            path = path.replace("valves.intake.", "valves.exhaust.")
        found = _take(sheet, key, spec, path, cylinder)
        if found is not None:
            values[key], places = found
            filled[key] = f"{sheet.name}, {places}"
    return values, filled


def paths(written: str) -> list[str]:
    """The field paths that an ``Input.sheet`` names."""
    match = _CONDITION.match(written)
    assert match is not None
    fields = re.split(r" [+*] ", match["what"].partition(":")[0])
    return [*fields, match["other"]] if match["other"] else fields


def _take(sheet: Sheet, key: str, spec: Input, written: str, cylinder: int | None) -> tuple[Any, str] | None:
    match = _CONDITION.match(written)
    assert match is not None
    if match["word"] and sheet.has(match["other"]) != (match["word"] == "if"):
        return None
    what, _, columns = match["what"].partition(":")
    fields = re.split(r" [+*] ", what)
    if not all(sheet.has(path) for path in fields):
        return None
    places = " and ".join(dict.fromkeys(_place(sheet, path) for path in fields))
    if columns:
        return curve(sheet, what, columns), places
    if not sheet_field(fields[0]).numeric:
        return sheet.text(fields[0]), places
    if len(fields) > 1:
        return _together(sheet, key, spec, fields, " * " in what, cylinder), places
    return _texts(sheet, key, spec, what, cylinder), places


def _place(sheet: Sheet, path: str) -> str:
    return f"{path} assumed" if sheet.is_assumed(path) else sheet.where(path)


def _texts(sheet: Sheet, key: str, spec: Input, path: str, cylinder: int | None) -> Any:
    """What was typed: one text, or one for each cylinder where the sum takes many."""
    quantities = sheet.quantities(path)
    texts = [q.text for q in quantities]
    if len(set(texts)) == 1:
        return texts[0]
    if spec.many:
        return texts
    if cylinder is None:
        raise BadInput(
            f'{key}: {path} has several values ({", ".join(texts)}); say which with --cylinder, or write --{key} "..."'
        )
    return _of_cylinder(sheet, key, path, cylinder)


def _of_cylinder(sheet: Sheet, key: str, path: str, cylinder: int) -> str:
    if not 1 <= cylinder <= sheet.cylinder_count:
        raise BadInput(f"--cylinder {cylinder}: {sheet.name} has cylinders 1 to {sheet.cylinder_count}")
    try:
        return sheet.quantity(f"{path}[{cylinder}]").text
    except BadInput:
        raise BadInput(f'{key}: {path} has several values for cylinder {cylinder}; write --{key} "..."') from None


def _together(sheet: Sheet, key: str, spec: Input, fields: list[str], times: bool, cylinder: int | None) -> str:
    """Sum or product of several fields, as text in the unit of the first."""
    parts = [units.read(_texts(sheet, key, spec, path, cylinder), sheet_field(path).kind) for path in fields]
    value = math.prod(p.value for p in parts) if times else sum(p.value for p in parts)
    return units.show(value, spec.kind, None if times else parts[0].unit, 6)


def curve(sheet: Sheet, path: str, columns: str) -> list[tuple[str, str]]:
    """Pairs of text from two columns ("angle,lift") of the table at ``path``."""
    table, described = sheet.table(path), sheet_field(path).columns
    shown = []
    for name in columns.split(","):
        kind = described[name].kind
        shown.append([units.show(x, kind, _TABLE_UNITS.get(kind), 7) for x in table.columns[name]])
    return list(zip(*shown, strict=True))
