"""Tables of a build: csv files with the unit in the header, such as ``lift [mm],flow [cfm @ 28 inH2O]``.

Comma, semicolon or tab between cells; point or comma decimals (a comma as decimal needs another
separator); lines beginning with # are remarks. Values come out in SI.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sheet import files
from spoolwright.sheet.faults import Fault, closest, shown
from spoolwright.sheet.fields import Column, Field

_HEAD = re.compile(r"(?P<name>[^\[\]]+?)\s*(?:\[(?P<unit>[^\[\]]*)\])?\s*$")
_MOST_ROWS = 20_000
_MAY_BE_NEGATIVE = frozenset({"angle", "number", "share", "temperature", "pressure_gauge", "distance"})


@dataclass(frozen=True)
class Table:
    """Columns by name as SI floats; ``conditions`` holds what stood behind "@" in a column's head."""

    file: str
    columns: Mapping[str, tuple[float, ...]]
    conditions: Mapping[str, units.Quantity] = field(default_factory=dict)
    row_lines: tuple[int, ...] = ()

    def __len__(self) -> int:
        return len(self.row_lines)

    def lines(self, by: str) -> dict[float, dict[str, tuple[float, ...]]]:
        """The other columns for each value of column ``by``, in the order of the file."""
        groups: dict[float, list[int]] = {}
        for row, value in enumerate(self.columns[by]):
            groups.setdefault(value, []).append(row)
        return {
            value: {name: tuple(column[r] for r in rows) for name, column in self.columns.items() if name != by}
            for value, rows in groups.items()
        }


def read(folder: Path, name: str, spec: Field, faults: list[Fault]) -> Table | None:
    """The table in file ``name``; None with its faults added where it cannot be used."""
    path = files.inside(folder, name)
    if path is None:
        faults.append(
            Fault(
                shown(name).strip('"'),
                0,
                "",
                "a table lies in the build's folder; write for example " + f'"{spec.example}"',
            )
        )
        return None
    try:
        text = files.decode(files.read_bytes(path, name), name)
    except BadInput as trouble:
        faults.append(_told(name, str(trouble)))
        return None
    return parse(text, name, spec, faults)


def _told(name: str, sentence: str) -> Fault:
    """A fault from a sentence that begins with the file's name."""
    match = re.match(r":(\d+)  ", sentence[len(name) :]) if sentence.startswith(name) else None
    if match:
        return Fault(name, int(match[1]), "", sentence[len(name) + match.end() :])
    return Fault(name, 0, "", sentence.removeprefix(name).lstrip(": "))


def parse(text: str, name: str, spec: Field, faults: list[Fault]) -> Table | None:
    """The table in ``text``; None with its faults added where it cannot be used."""
    before = len(faults)
    rows = _rows(text, name, faults)
    if rows is None:
        return None
    (head_line, head), *body = rows
    columns, conditions = _head(head, head_line, name, spec, faults)
    if len(faults) > before:
        return None
    if not body:
        faults.append(Fault(name, head_line, "", "the table has a head but no rows"))
        return None
    values = _cells(body, head, columns, name, faults)
    if len(faults) > before:
        return None
    table = Table(
        name, {c.name: tuple(v) for c, v in zip(columns, values, strict=True)}, conditions, tuple(n for n, _ in body)
    )
    _order(table, spec, faults)
    return table if len(faults) == before else None


def _rows(text: str, name: str, faults: list[Fault]) -> list[tuple[int, list[str]]] | None:
    kept = [
        (n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip() and not line.lstrip().startswith("#")
    ]
    if not kept:
        faults.append(Fault(name, 0, "", "the table is empty; its first row names the columns with their units"))
        return None
    if len(kept) > _MOST_ROWS:
        faults.append(Fault(name, 0, "", f"{len(kept)} rows are too many (at most {_MOST_ROWS}); is it a log?"))
        return None
    head = kept[0][1]
    mark = ";" if ";" in head else "\t" if "\t" in head else ","
    rows = []
    for number, line in kept:
        try:
            cells = next(csv.reader([line], delimiter=mark))
        except (csv.Error, StopIteration):
            faults.append(Fault(name, number, "", f"{shown(line)} is not a row of a csv table"))
            return None
        rows.append((number, [cell.strip() for cell in cells]))
    return rows


@dataclass(frozen=True)
class _Head:
    name: str
    spec: Column
    unit: str
    factor: float
    offset: float


def _head(
    cells: list[str], line: int, name: str, spec: Field, faults: list[Fault]
) -> tuple[list[_Head], dict[str, units.Quantity]]:
    columns: list[_Head] = []
    conditions: dict[str, units.Quantity] = {}
    named = set()
    for cell in cells:
        match = _HEAD.match(cell)
        title = match["name"].strip().lower().replace(" ", "_") if match else cell
        named.add(title)
        column = spec.columns.get(title)
        if column is None or match is None:
            known = ", ".join(spec.columns)
            faults.append(
                Fault(
                    name,
                    line,
                    "",
                    f"column {shown(cell)} is not known here{closest(title, spec.columns)}; columns are {known}",
                )
            )
            continue
        if any(title == c.name for c in columns):
            faults.append(Fault(name, line, "", f"column {shown(title)} stands twice; keep one"))
            continue
        try:
            columns.append(_column(title, column, match["unit"], conditions))
        except BadInput as trouble:
            faults.append(Fault(name, line, title, str(trouble)))
    for title, column in spec.columns.items():
        if column.must and title not in named:
            faults.append(
                Fault(
                    name, line, "", f'column "{title} [{units.KINDS[column.kind].usual}]" is missing ({column.meaning})'
                )
            )
    return columns, conditions


def _column(title: str, column: Column, unit_text: str | None, conditions: dict[str, units.Quantity]) -> _Head:
    unit, *behind = [part.strip() for part in (unit_text or "").split("@")]
    kind = units.KINDS[column.kind]
    if not unit:
        if not kind.bare:
            raise BadInput(f'no unit is named; write for example "{title} [{kind.usual}]"')
        factor, offset = 1.0, 0.0
    else:
        word = re.sub(r"(?i)\s*\b(absolute|abs|gauge)\b\.?$", "", unit) if column.kind.startswith("pressure") else unit
        said = unit[len(word) :].strip().lower()
        if (said.startswith("abs") and column.kind == "pressure_gauge") or (
            said == "gauge" and column.kind != "pressure_gauge"
        ):
            raise BadInput(f'"{unit}": this column is {column.kind.replace("_", " ")}; convert it and change the head')
        _, factor, offset = units.resolve(word, column.kind, behind)
    if behind:
        conditions[title] = units.parse_any(behind[0])
    if column.condition:
        wanted = units.KINDS[column.condition]
        stated = conditions.get(title)
        if stated is None:
            sample = f'"{title} [{kind.us} @ 28 inH2O]"'
            raise BadInput(f"the head does not say at what {wanted.name.replace('_', ' ')}; write for example {sample}")
        if units.KINDS[stated.kind].dims != wanted.dims or stated.value <= 0.0:
            raise BadInput(
                f'"{stated.text}" is not a {wanted.name.replace("_", " ")} above zero; write for example "@ 28 inH2O"'
            )
    return _Head(title, column, unit, factor, offset)


def _cells(
    body: list[tuple[int, list[str]]], head: list[str], columns: list[_Head], name: str, faults: list[Fault]
) -> list[list[float]]:
    values: list[list[float]] = [[] for _ in columns]
    for line, cells in body:
        while len(cells) > len(head) and not cells[-1]:
            cells.pop()  # a separator at the end of the line
        if len(cells) != len(head):
            what = f"{len(cells)} cells stand under {len(head)} columns"
            faults.append(Fault(name, line, "", f"{what}; a decimal comma needs semicolons between cells"))
            return values
        for column, cell, store in zip(columns, cells, values, strict=True):
            try:
                number = float(cell) if "_" not in cell else math.nan
            except ValueError:
                number = _careful(cell)
            value = (number + column.offset) * column.factor
            if not math.isfinite(value):
                faults.append(Fault(name, line, column.name, f"{shown(cell)} is not a number; write for example 1.25"))
            elif value < 0.0 and column.spec.kind not in _MAY_BE_NEGATIVE:
                faults.append(Fault(name, line, column.name, f"{shown(cell)} is below zero; check the sign"))
            store.append(value)
        if len(faults) > 50:
            return values
    return values


def _careful(cell: str) -> float:
    try:
        return units.read_number(cell)
    except (BadInput, ValueError, OverflowError, ZeroDivisionError):
        return math.nan


def _order(table: Table, spec: Field, faults: list[Fault]) -> None:
    if not spec.rising:
        return
    column = table.columns[spec.rising]
    group = table.columns[spec.within] if spec.within else (0.0,) * len(column)
    for (a, b), (ga, gb), line in zip(pairwise(column), pairwise(group), table.row_lines[1:], strict=True):
        if ga == gb and not b > a:
            word = "stands twice" if a == b else "falls back"
            within = f" within one {spec.within.replace('_', ' ')}" if spec.within else ""
            faults.append(
                Fault(
                    table.file,
                    line,
                    spec.rising,
                    f"it {word} here; rows must rise in {spec.rising.replace('_', ' ')}{within}",
                )
            )
            return
    if spec.within:
        _lines_whole(table, spec, faults)
    elif len(column) < 2:
        faults.append(Fault(table.file, table.row_lines[0], "", "one row is no curve; give at least two"))


def _lines_whole(table: Table, spec: Field, faults: list[Fault]) -> None:
    """Rows of one line must stand together, two at least, and there must be two lines."""
    seen: dict[float, int] = {}
    previous = math.nan
    for value, line in zip(table.columns[spec.within], table.row_lines, strict=True):
        if value != previous and value in seen:
            faults.append(
                Fault(table.file, line, spec.within, "rows of this line stand apart; keep the rows of a line together")
            )
            return
        seen[value] = seen.get(value, 0) + 1
        previous = value
    if len(seen) < 2:
        faults.append(Fault(table.file, table.row_lines[0], spec.within, "one line is no map; give at least two"))
    elif min(seen.values()) < 2:
        faults.append(Fault(table.file, 0, spec.within, "a line of one point is no line; give at least two points"))
