"""Accounts for every line and every plain cell of a raw log against what the reader says it did. Own means only."""

from __future__ import annotations

import csv
import io
import itertools
import re
from collections import Counter, defaultdict

PLAIN = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
# What the report may say of a whole column, so that its cells need not follow one conversion.
WHOLE_COLUMN = ("no role", "other decimal sign read")


def raw_lines(data: bytes, encoding: str) -> list[str]:
    """Lines as an editor shows them, by the encoding the report names; marks and zero bytes it names too."""
    text = data.decode(encoding.split(" ")[0], errors="replace")
    for odd in ("\ufeff", "\x00", "\x1a"):
        text = text.replace(odd, "")
    lines = re.split(r"\r\n|\r|\n", text)
    return lines[:-1] if lines and not lines[-1] else lines


def unexplained_lines(data: bytes, log) -> list[str]:
    """Lines that are nothing, or two things at once."""
    d = log.dialect
    if d.long_form or "sideways" in log.flag_names or "channels_not_together" in log.flag_names:
        return []  # rows are no lines there
    counted: Counter[int] = Counter()
    left_out = [line for line, reason in log.dropped if reason != "footer"]
    for kind in (d.header_lines, d.unit_lines, d.preamble_lines, d.repeated_header_lines, d.remark_lines,
                 d.footer_lines, d.blank_lines, d.joined_lines, [int(n) for n in log.row_lines], left_out):  # fmt: skip
        counted.update(kind)
    every = range(1, len(raw_lines(data, d.encoding)) + 1)
    return [f"line {n} is {counted[n]} things" for n in every if counted[n] != 1]


def unexplained_cells(data: bytes, log) -> list[str]:
    """Plain numbers that neither follow their column's one conversion nor have a line in the report."""
    d = log.dialect
    if d.long_form or "sideways" in log.flag_names or "channels_not_together" in log.flag_names or d.joined_lines:
        return []
    if "columns_reordered" in log.flag_names or d.delimiter == "blanks":
        return []
    said: set[tuple[int, str]] = set()
    everywhere: set[str] = set()
    lines_said: set[int] = set()
    for r in log.repairs:
        if r.what in WHOLE_COLUMN and r.column:
            everywhere.add(r.column)
        if r.line is None:
            everywhere.add(r.column or "")
            continue
        for n in range(r.line, (r.last_line or r.line) + 1):
            said.add((n, r.column)) if r.column else lines_said.add(n)
    lines, out = raw_lines(data, d.encoding), []
    pairs: dict[int, list[tuple[int, float, float | None]]] = defaultdict(list)
    for row, number in enumerate(int(n) for n in log.row_lines):
        cells = next(csv.reader(io.StringIO(lines[number - 1]), delimiter=d.delimiter, skipinitialspace=True), [])
        if len(cells) < len(log.columns) or lines[number - 1].count('"') % 2:
            continue
        for column in log.columns:
            cell = cells[column.index].strip() if column.index < len(cells) else ""
            value = log.table[column.field][row]
            if PLAIN.fullmatch(cell) and not isinstance(value, str) and ("," not in cell or d.decimal == ","):
                pairs[column.index].append((number, float(cell.replace(",", ".")), value))
    for column in log.columns:
        told = {n for n, name in said if name == column.name} | lines_said
        known = [(x, y) for n, x, y in pairs[column.index] if y is not None and n not in told]
        two = "below 0" in column.unit_in_file  # one unit above zero, another below
        above = _line([(x, y) for x, y in known if x >= 0.0 or not two])
        below = _line([(x, y) for x, y in known if x < 0.0]) if two else above
        for n, x, y in pairs[column.index]:
            line = above if x >= 0.0 else below
            follows = y is not None and (line is None or abs(line[0] * x + line[1] - y) <= 1e-6 * max(abs(y), 1.0))
            if not (follows or n in told or column.name in everywhere):
                out.append(f'line {n}, "{column.name}": {x:g} became {y}')
    return out


def _line(points: list[tuple[float, float]]) -> tuple[float, float] | None:
    """Slope and offset that most of the points share; None where fewer than three points tell."""
    distinct = sorted(set(points))
    if len(distinct) < 3:
        return None
    votes: Counter[tuple[float, float]] = Counter()
    for (x0, y0), (x1, y1) in itertools.pairwise(distinct):
        if x1 > x0:
            a = (y1 - y0) / (x1 - x0)
            votes[round(a, 5), round(y0 - a * x0, 3)] += 1
    (a, b), count = max(votes.items(), key=lambda vote: vote[1], default=((0.0, 0.0), 0))
    if count < 2:
        return None
    fitting = [(x, y) for x, y in distinct if abs(a * x + b - y) <= 1e-2 * max(abs(y), 1.0)]
    (x0, y0), (x1, y1) = fitting[0], fitting[-1]
    a = (y1 - y0) / (x1 - x0)
    return a, y0 - a * x0
