"""Which sign stands between the columns, and cutting a line into cells.

Each candidate cuts a sample of lines; the one that leaves most lines with the same number of cells, and those cells
looking like values, wins. A decimal comma therefore never passes for a separator, nor the colon in a time.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from typing import Final, NamedTuple

from spoolwright.dyno.readers.cells import DEVICE_WORDS, is_missing, is_value

BLANKS: Final = " "
COMMA_BLANK: Final = ", "  # between numbers that hold a decimal comma themselves
_CANDIDATES: Final = ("\t", ";", "|", COMMA_BLANK, ",", BLANKS)
_COMMENT: Final = re.compile(r"\s*(?://|#|\*|!|;;|%|--\s|REM\b|rem\b)")
_FIRST_CELL: Final = re.compile(r"([^,;\t|]*)([,;\t|]?)(.*)", re.DOTALL)
_QUOTED_PART: Final = re.compile(r'"((?:[^"]|"")*)"|(\S+)')
MOST_COLUMNS: Final = 4000
LONGEST_LINE: Final = 2**20


class Shape(NamedTuple):
    """Separator, cells in a line of data, share of the sampled lines that fit."""

    delimiter: str
    width: int
    quality: float


def is_remark(line: str) -> bool:
    """Whether a line is marked as a remark. "#N/A," and "***;" begin a row whose first cell holds no value."""
    if not _COMMENT.match(line):
        return False
    cell, separator, _ = _FIRST_CELL.match(line).groups()  # type: ignore[union-attr]  # matches any line
    return not (separator and is_missing(cell))


def cut(line: str, delimiter: str) -> list[str]:
    """Cells of a line. Quotes are taken off; a quote that never closes is a character like any other."""
    if delimiter == BLANKS:
        if '"' in line:
            return [a.replace('""', '"') if a or not b else b for a, b in _QUOTED_PART.findall(line)]
        return line.split()
    if delimiter == "|" and line.strip().startswith("|") and line.strip().endswith("|") and len(line.strip()) > 1:
        line = line.strip()[1:-1]
    if '"' not in line:
        return line.split(delimiter)
    if line.count('"') % 2:
        return [c[1:] if c[:1] == '"' else c for c in line.split(delimiter)]
    try:
        cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
    except (csv.Error, StopIteration):
        return line.split(delimiter)
    return cells


def choose(lines: Sequence[str]) -> Shape | None:
    """The separator of the sampled lines; None where no candidate makes at least two columns."""
    lines = [line for line in lines if line.strip() and not is_remark(line)]
    lines = lines[:40] + lines[40 :: max(1, len(lines) // 30)]
    best: Shape | None = None
    best_score = 0.0
    for delimiter in _CANDIDATES:
        if delimiter != BLANKS and not any(delimiter in line for line in lines):
            continue
        if delimiter == COMMA_BLANK and not _decimal_commas(lines):
            continue
        shape, score = _score(lines, delimiter)
        # Earlier candidates win near ties: a comma rarely separates where tabs do too.
        if shape is not None and score > best_score + 0.03:
            best, best_score = shape, score
    return best


def _decimal_commas(lines: Sequence[str]) -> bool:
    """Whether commas stand inside numbers and comma with blank between them, in nearly every line without quotes."""
    rows = [line for line in lines if any(c.isdigit() for c in line)]
    held = sum(bool(re.search(r"\d,\d", line)) and ", " in line and '"' not in line for line in rows)
    return bool(rows) and held >= 0.8 * len(rows)


def _score(lines: Sequence[str], delimiter: str) -> tuple[Shape | None, float]:
    widths: Counter[int] = Counter()
    purity: dict[int, float] = {}
    for line in lines:
        cells = cut(line, delimiter)
        if len(cells) < 2:
            continue
        values = missing = empty = 0
        for cell in cells:
            cell = cell.strip()
            if not cell:
                empty += 1
            elif is_value(cell) and not (delimiter == BLANKS and cell[-1] in ",;|"):
                values += 1
            elif is_missing(cell) or cell.lower() in DEVICE_WORDS:
                missing += 1
        filled = len(cells) - empty
        if values >= 1 and values + missing >= 0.5 * filled:
            width = len(cells)
            widths[width] += 1
            purity[width] = purity.get(width, 0.0) + (values + 0.5 * missing) / max(filled, 1)
    if not widths:
        return None, 0.0
    width = max(widths, key=lambda w: (widths[w], w))
    count = widths[width]
    quality = count / max(len(lines), 1)
    score = quality * (purity[width] / count) + 0.02 * min(width, 10) / 10
    return Shape(delimiter, width, quality), score
