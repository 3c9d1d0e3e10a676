"""Cells that are no plain numbers: resolved one by one, each with a line in the report.

After this a column is numeric (values, nan where missing), a written clock, or text.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from spoolwright.dyno.log import Repair
from spoolwright.dyno.readers.cells import HUGE, NO_VALUE, SENTINELS, is_missing, parse, unwrap
from spoolwright.dyno.readers.clock import is_clock, is_dated
from spoolwright.dyno.readers.layout import Field
from spoolwright.dyno.readers.quantities import read_unit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_LONG_RUN = 20
_MANY = 100  # empty cells of a channel that share one line of the report
_MARKS = frozenset({"*", "**", "***", "!", "x", "X"})
_WHY = {
    "thousands": ("thousands mark taken out", "a mark between groups of three digits"),
    "sign": ("sign put in front", "the sign stands behind the number or as brackets around it"),
    "unit": ("unit taken off", "the unit stands behind the number"),
    "decimal": ("other decimal sign read", "this cell has another decimal sign than its column"),
    "number": ("blanks or quotes taken off", "the number is written with blanks, quotes or another minus sign"),
}


@dataclass(slots=True)
class Channel:
    """A column after its cells are understood. ``kind``: numeric, clock, text, empty."""

    field: Field
    kind: str
    values: NDArray[np.float64]
    texts: dict[int, str] = dataclasses.field(default_factory=dict)
    missing: int = 0
    words: int = 0
    unit_behind: str = ""


def resolve(column: Field, rows: int) -> Channel:
    """Kind of the column; which of its odd cells are numbers, words for missing, or text."""
    values = column.values()
    odd = column.odd
    filled = [c for c in _some(odd.values(), 400) if not is_missing(c)]
    blank = int(column.blanks().size)
    plain = rows - len(odd) - blank - column.absent
    marks = [c.strip() for c in _some(odd.values(), 400)]
    if plain <= 0 and marks and set(marks) <= _MARKS and 2 * len(marks) < rows:
        return Channel(column, "text", values, as_texts(column, values))
    if plain <= 0 and not filled and all(is_missing(c) for c in odd.values()):
        return Channel(column, "empty", values, missing=len(odd) + blank)
    if filled:
        clocks = sum(is_clock(c) or is_dated(c) for c in filled)
        share_plain = plain / max(plain + len(odd) + blank, 1)
        if clocks >= 0.5 * len(filled) and (":" in "".join(filled[:5]) or is_dated(filled[0])) and share_plain < 0.9:
            return Channel(column, "clock", values, dict(odd))
        numbers = sum(parse(c, column.signs).value == parse(c, column.signs).value for c in filled)
        ratio = numbers / len(filled)
        if plain < 0.5 * (plain + len(odd) * len(filled) / max(len(filled), 1)) and ratio < 0.5 and plain < len(filled):
            return Channel(column, "text", values, as_texts(column, values))
    return Channel(column, "numeric", values)


def as_texts(column: Field, values: NDArray[np.float64]) -> dict[int, str]:
    """Cells of a column of words; the few plain numbers among them are words too."""
    import numpy as np

    texts = {int(row): f"{values[row]:.15g}" for row in np.flatnonzero(np.isfinite(values))}
    return texts | {row: cell.strip() for row, cell in column.odd.items() if cell.strip()}


def _some(cells: Iterable[str], most: int) -> list[str]:
    """At most ``most`` filled cells."""
    out = []
    for cell in cells:
        if cell.strip():
            out.append(cell)
            if len(out) >= most:
                break
    return out


def fill_numbers(channel: Channel, lines: NDArray[np.int64], name: str, repairs: list[Repair]) -> None:
    """Read the odd cells of a numeric channel into its values; what is no number becomes missing and is listed."""
    import numpy as np

    column, values = channel.field, channel.values
    where = column.lines if column.lines is not None else lines
    kinds: dict[str, list[tuple[int, str, float]]] = {}
    units: dict[str, int] = {}
    gone: list[tuple[int, str, str]] = []
    if column.odd and not values.flags.writeable:
        values = channel.values = values.copy()
    for row, cell in column.odd.items():
        parsed = parse(cell, column.signs)
        if parsed.value == parsed.value and abs(parsed.value) < HUGE:
            values[row] = parsed.value
            kinds.setdefault(parsed.what, []).append((row, cell, parsed.value))
            if parsed.what == "unit":
                units[parsed.unit] = units.get(parsed.unit, 0) + 1
            continue
        text = unwrap(cell)
        if parsed.what == "missing" or text.lower() in NO_VALUE:
            why = "a spelling of no value"
        else:
            why = "a word in a column of numbers"
            channel.words += 1
        gone.append((row, text, why))
    huge = np.flatnonzero(np.abs(values) >= HUGE)
    codes = np.flatnonzero(np.isin(values, sorted(SENTINELS))) if _may_hold(values) else huge[:0]
    for row in [*huge.tolist(), *codes.tolist()]:
        if not values.flags.writeable:
            values = channel.values = values.copy()
        gone.append((row, f"{values[row]:g}", "a code for no value"))
        values[row] = np.nan
    channel.missing = len(gone) + int(column.blanks().size)
    gone.sort()
    _list_missing(gone, where, name, repairs)
    list_blanks(column.blanks(), where, name, repairs)
    for what, cells in kinds.items():
        action, why = _WHY[what]
        before = ", ".join(c.strip() for _, c, _ in cells[:3]) + (", ..." if len(cells) > 3 else "")
        after = ", ".join(f"{v:g}" for _, _, v in cells[:3]) + (", ..." if len(cells) > 3 else "")
        picked = [int(where[r]) for r, _, _ in cells]
        repairs.append(Repair(min(picked), name, action, before, after, why, max(picked), len(cells)))
    if units:
        channel.unit_behind = max(units, key=lambda u: units[u])
        _mixed_units(channel, kinds["unit"], where, name, repairs)


def _may_hold(values: NDArray[np.float64]) -> bool:
    import numpy as np

    return bool(values.size) and float(np.nanmin(values, initial=0.0)) <= -999.0


def _list_missing(gone: list[tuple[int, str, str]], where: NDArray[np.int64], name: str, repairs: list[Repair]) -> None:
    """One line a missing cell; only long runs of the same word in rows that follow each other share a line."""
    i = 0
    while i < len(gone):
        j = i
        while j + 1 < len(gone) and gone[j + 1][0] == gone[j][0] + 1 and gone[j + 1][1:] == gone[i][1:]:
            j += 1
        run = gone[i : j + 1]
        for first, last, count in [(run[0], run[-1], len(run))] if len(run) > _LONG_RUN else [(g, g, 1) for g in run]:
            line, last_line = int(where[first[0]]), int(where[last[0]])
            repairs.append(Repair(line, name, "no value", first[1], "", first[2], last_line, count))
        i = j + 1


def list_blanks(blanks: NDArray[np.int64], where: NDArray[np.int64], name: str, repairs: list[Repair]) -> None:
    """Empty cells: one line each or a run; where they are many, one line for all with their number."""
    if blanks.size > _MANY:
        why = "empty cells between these lines; the channel is logged more slowly or stopped"
        repairs.append(
            Repair(int(where[blanks[0]]), name, "no value", "", "", why, int(where[blanks[-1]]), int(blanks.size))
        )
    else:
        _list_missing([(int(row), "", "empty cell") for row in blanks], where, name, repairs)


def _mixed_units(
    channel: Channel, cells: list[tuple[int, str, float]], where: NDArray[np.int64], name: str, repairs: list[Repair]
) -> None:
    """Cells whose own unit differs from the column's usual one are brought to it."""
    from spoolwright.dyno.readers.quantities import conversion

    usual = read_unit(channel.unit_behind)
    if usual is None or not usual.registry:
        return
    for row, cell, value in cells:
        own = read_unit(parse(cell, channel.field.signs).unit)
        if own is None or own.name == usual.name or own.dimension != usual.dimension:
            continue
        a, b = conversion(own.registry, own.dimension)
        c, d = conversion(usual.registry, usual.dimension)
        channel.values[row] = a * (value + b) / c - d
        repairs.append(
            Repair(
                int(where[row]),
                name,
                "unit converted",
                cell.strip(),
                f"{channel.values[row]:g} {usual.name}",
                "this cell has its own unit",
            )
        )
