"""The lines above the data: particulars, one or two rows of names, a row of units above or below them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from spoolwright.dyno.readers.cells import is_value, unwrap
from spoolwright.dyno.readers.delimiter import BLANKS, cut
from spoolwright.dyno.readers.names import role_by_name
from spoolwright.dyno.readers.quantities import COUNTS, read_unit
from spoolwright.dyno.readers.words import listed

_COMMENT_MARK = re.compile(r"^\s*(?://+|#+|%+|;+|\*+|!)\s*")
_RULE = re.compile(r"[-=_+*~.:|\s]{3,}")
_TYPE: Final = listed(
    """float double int integer number numeric real long string text bool f4 f8 i4 f32 f64 float32 float64 single"""
)


@dataclass(slots=True)
class Header:
    """Names and units of the columns and the 1-based lines they stand in."""

    names: list[str]
    units: list[str]
    name_lines: list[int] = field(default_factory=list)
    unit_lines: list[int] = field(default_factory=list)
    other_lines: list[int] = field(default_factory=list)


def header_cells(line: str, delimiter: str, width: int) -> list[str]:
    """Cells of a line that may be a header; names of two words between blanks are kept whole where they can be."""
    bare = _COMMENT_MARK.sub("", line)
    # "# Time, RPM" is a commented header; "#, RPM" has a column named #, "%; rpm" one in per cent.
    alone = delimiter != BLANKS and _COMMENT_MARK.fullmatch(line.split(delimiter)[0])
    marked = not alone and not bare.startswith(delimiter) and not line.lstrip().startswith(delimiter)
    line = bare if marked or delimiter == BLANKS else line
    if delimiter == BLANKS:
        cells = cut(line, BLANKS)
        if len(cells) != width:
            wide = [c for c in re.split(r"\s{2,}|\t", line.strip()) if c]
            if len(wide) == width:
                return wide
            glued = re.findall(r"[^\s\[({]+(?:\s*[\[({][^\])}]*[\])}])?", line)
            if len(glued) == width:
                return [g.strip() for g in glued]
        return cells
    return [unwrap(c) for c in cut(line, delimiter)]


def _is_unit_row(cells: Sequence[str]) -> bool:
    filled = [c for c in cells if c.strip()]
    if not filled:
        return False
    bracketed = sum(c.strip()[:1] in "[(" and c.strip()[-1:] in "])" for c in filled)
    known = sum(read_unit(c) is not None or c.strip().lower() in COUNTS for c in filled)
    share = (known + 0.0) / len(filled)
    return share >= 0.6 or bracketed >= 0.8 * len(filled)


def _unit_score(cells: Sequence[str]) -> int:
    """Cells that are units less cells that name a channel."""
    filled = [c for c in cells if c.strip()]
    return sum(read_unit(c) is not None for c in filled) - sum(role_by_name(c) is not None for c in filled)


def find_header(lines: Sequence[str], first: int, delimiter: str, width: int) -> Header:
    """Header above line index ``first`` (0-based): looks upward past blank lines, at most six rows."""
    rows: list[tuple[int, list[str]]] = []
    others: list[int] = []
    at = first - 1
    blanks = 0
    while at >= 0 and len(rows) < 5 and first - at < 12:
        line = lines[at]
        if not line.strip(" \t,;|\"'"):
            blanks += 1
            if blanks > 2 or (rows and any(not _is_unit_row(c) for _, c in rows)):
                break
            at -= 1
            continue
        if _RULE.fullmatch(line.replace(delimiter, " ").strip() or "x"):
            others.append(at + 1)
            at -= 1
            continue
        cells = header_cells(line, delimiter, width)
        if not _header_like(cells, width, first - at, delimiter):
            break
        counted = [c.strip() for c in cells] in ([str(k) for k in range(width)], [str(k + 1) for k in range(width)])
        if counted or all(c.strip().lower() in _TYPE for c in cells if c.strip()):
            others.append(at + 1)
        else:
            rows.append((at + 1, cells))
        at -= 1
    return _build(rows, others, width)


def _header_like(cells: list[str], width: int, distance: int, delimiter: str) -> bool:
    filled = [c for c in cells if c.strip()]
    if len(filled) < max(2, round(0.4 * width)) or len(cells) > width + max(2, width // 3):
        return False
    if len(cells) < width - 1 and not (delimiter == BLANKS and len(cells) >= 0.5 * width):
        return False
    if width <= 4 and len(cells) < width - (1 if distance == 1 and width > 3 else 0):
        return False
    values = [c for c in filled if is_value(c) and read_unit(c) is None and not (c.strip().isdigit() and int(c) <= 16)]
    return len(values) <= 0.2 * len(filled)


def _build(rows: list[tuple[int, list[str]]], others: list[int], width: int) -> Header:
    """``rows`` come nearest first."""
    units: tuple[int, list[str]] | None = None
    names: list[tuple[int, list[str]]] = []
    # Names may be units too ("RPM", "Lambda"): of two rows that could be units, the less telling one is the names.
    both = len(rows) > 1 and _is_unit_row(rows[0][1]) and _is_unit_row(rows[1][1])
    named = rows[0][0] if both and _unit_score(rows[1][1]) > _unit_score(rows[0][1]) else None
    for number, cells in rows:
        if units is None and number != named and _is_unit_row(cells) and len(names) <= 1:
            units = (number, cells)
        elif len(names) < 2:
            if names and not _upper_row(cells, names[0][1], width):
                break
            names.append((number, cells))
        else:
            break
    if not names and units is not None:
        names, units = [units], None
    unit_cells = _pad(units[1], width) if units else [""] * width
    header = Header([""] * width, [c.strip() for c in unit_cells], other_lines=others)
    if units:
        header.unit_lines = [units[0]]
    if not names:
        return header
    header.name_lines = sorted(n for n, _ in names)
    lower = _pad(names[0][1], width)
    if len(names) == 2:
        upper = _carry(_pad(names[1][1], width), lower)
        header.names = [" ".join(p for p in (u.strip(), n.strip()) if p) for u, n in zip(upper, lower, strict=True)]
    else:
        header.names = [c.strip() for c in lower]
    return header


def _upper_row(cells: list[str], lower: list[str], width: int) -> bool:
    """Whether ``cells`` is a first row of names above ``lower`` rather than a line of particulars."""
    if not width - 1 <= len(cells) <= width + 1 and len(cells) < 3:
        return False
    filled = [c.strip() for c in cells if c.strip()]
    if any(c.endswith(":") for c in filled):
        return False
    return len(cells) >= width - 1 and (width > 3 or len(set(filled)) < len(filled) or len(filled) < len(cells))


def _carry(upper: list[str], lower: list[str]) -> list[str]:
    """A group name written once above several columns is carried to the right over names that say nothing alone."""
    out = list(upper)
    for i in range(1, len(out)):
        if (
            not out[i].strip()
            and out[i - 1].strip()
            and (lower[i].strip().isdigit() or len(lower[i].strip()) <= 2)
            and lower[i].strip()
        ):
            out[i] = out[i - 1]
    return out


def _pad(cells: Sequence[str], width: int) -> list[str]:
    cells = list(cells)[:width]
    return cells + [""] * (width - len(cells))
