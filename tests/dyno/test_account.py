"""No silent change: the raw file is read again by other means, and every line and every cell is accounted for."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from collections import defaultdict
from pathlib import Path

import pytest

from spoolwright.dyno import read_log

LOGS = Path(__file__).parent / "logs"
NAMES = sorted(p.stem for p in LOGS.glob("c*.csv"))

# Independent of the reader: what a number in these six files looks like, and wanted units by hand.
TO_WANTED = {
    ("boost_gauge", "bar"): lambda x: 100 * x,
    ("boost_gauge", "psi"): lambda x: 6.894757293 * x,
    ("boost_gauge", "psi above 0, inHg below 0"): lambda x: (6.894757293 if x >= 0 else 3.386389) * x,
    ("oil_pressure", "psi"): lambda x: 6.894757293 * x,
    ("fuel_pressure", "psi"): lambda x: 6.894757293 * x,
    ("time", "ms"): lambda x: x / 1000,
}


def raw_lines(data: bytes) -> list[str]:
    if data.startswith(b"\xff\xfe"):
        text = data.decode("utf-16")
    else:
        text = data.decode("utf-8-sig")
    return re.split(r"\r\n|\r|\n", text)


def number(cell: str, decimal: str) -> float:
    cell = cell.replace(",", "") if decimal == "." else cell.replace(",", ".")
    if ":" in cell:
        minutes, seconds = cell.split(":")
        return 60 * float(minutes) + float(seconds)
    return float(cell)


@pytest.mark.parametrize("name", NAMES)
def test_every_line_is_one_thing(name):
    path = LOGS / f"{name}.csv"
    log = read_log(path)
    d = log.dialect
    data_lines = [int(n) for n in log.row_lines]
    left_out = [line for line, reason in log.dropped if reason != "footer"]
    kinds = [d.header_lines, d.unit_lines, d.preamble_lines, d.repeated_header_lines, d.remark_lines, d.footer_lines,
             d.blank_lines, d.joined_lines, data_lines, left_out]  # fmt: skip
    counted = defaultdict(int)
    for kind in kinds:
        for line in kind:
            counted[line] += 1
    lines = raw_lines(path.read_bytes())
    if not lines[-1]:
        lines.pop()
    assert dict(counted) == dict.fromkeys(range(1, len(lines) + 1), 1)


@pytest.mark.parametrize("name", NAMES)
def test_every_cell_is_accounted_for(name):
    path = LOGS / f"{name}.csv"
    data = path.read_bytes()
    expected = json.loads((LOGS / f"{name}.expected.json").read_text(encoding="utf-8"))
    log = read_log(path)
    assert log.sha256 == hashlib.sha256(data).hexdigest()
    assert path.read_bytes() == data  # the raw file is never changed
    lines = raw_lines(data)
    said = defaultdict(list)
    for r in log.repairs:
        if r.line is not None and r.column is not None:
            for line in range(r.line, (r.last_line or r.line) + 1):
                said[line, r.column].append(r)
    cells = unchanged = 0
    for row, line in enumerate(int(n) for n in log.row_lines):
        raw = next(csv.reader(io.StringIO(lines[line - 1]), delimiter=expected["delimiter"]))
        assert len(raw) - len(log.columns) in (0, 1)
        assert all(not c for c in raw[len(log.columns) :])
        for column, cell in zip(log.columns, raw, strict=False):
            cells += 1
            value = log.table[column.field][row]
            if value is None:
                told = [r for r in said[line, column.name] if r.what in ("no value", "dead sensor left out")]
                assert told or (column.unit == "text" and not cell), (line, column.name, cell)
                continue
            if column.unit == "text":
                assert value == cell
                unchanged += 1
                continue
            want = number(cell, expected["decimal"])
            unit = column.guessed_unit or column.unit_in_file
            if unit == "degF":
                want = (want - 32) / 1.8
            want = TO_WANTED.get((column.role, unit), lambda x: x)(want)
            assert value == pytest.approx(want, rel=1e-6, abs=1e-9), (line, column.name, cell)
            if unit not in (column.unit, "1/min", "m:s", "-", "1"):
                assert any(r.what == "unit converted" and r.column == column.name for r in log.repairs), column.name
            unchanged += 1
    assert cells == log.rows * len(log.columns)
    empty_text = sum(log.table[c.field].null_count() for c in log.columns if c.unit == "text")
    blank = sum(n for role, n in log.suspect_cells.items() if log.table[role].null_count() >= n)
    assert cells - unchanged == log.missing_cells + empty_text + blank


def test_rows_left_out_are_named_with_their_line():
    log = read_log(LOGS / "c5_mixed_ends_duplicate_names.csv")
    named = {r.line for r in log.repairs if r.what in ("repeated row left out", "second reading left out")}
    assert named == {line for line, _ in log.dropped}
    assert log.rows_in_file == log.rows + len(named)
