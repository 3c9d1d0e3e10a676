"""Lines to a table: what is header, data, remark, footer; every line of the file gets exactly one of these.

Cells that are plain numbers become floats at once, in chunks, so that long files stay small; every other cell is kept
as written in ``odd`` until the columns are understood.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from spoolwright.dyno.log import Dialect, Flag, Repair
from spoolwright.dyno.readers.cells import (
    PLAIN_SIGNS,
    Signs,
    column_signs,
    floats,
    is_value,
    settle_signs,
)  # fmt: skip
from spoolwright.dyno.readers.clock import parts
from spoolwright.dyno.readers.delimiter import BLANKS, Shape, cut, is_remark
from spoolwright.dyno.readers.headers import Header, find_header, header_cells
from spoolwright.dyno.readers.names import role_by_name
from spoolwright.dyno.readers.pattern import Pattern
from spoolwright.errors import BadLog

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_END: Final = re.compile(r"(?i)\b(end|ende|fin|fine|eof|total|rows|samples|checksum|crc|stop|written|saved|closed)\b")
_CHUNK: Final = 20000
_SAMPLE: Final = 120
_NUMBER_START: Final = frozenset("0123456789+-.−")


@dataclass(slots=True)
class Field:
    """One column while reading: name, unit text, values, signs.

    Values are nan where ``odd`` holds the text of the cell, where the cell is empty (``blank``, rows), and where the
    line had no such cell (``absent``, a count).
    """

    name: str
    unit_text: str
    index: int
    pieces: list[NDArray[np.float64]] = field(default_factory=list)
    odd: dict[int, str] = field(default_factory=dict)
    blank: list[NDArray[np.int64]] = field(default_factory=list)
    signs: Signs = PLAIN_SIGNS
    absent: int = 0
    unit_changes: list[tuple[int, int, str]] = field(default_factory=list)
    lines: NDArray[np.int64] | None = None

    def values(self) -> NDArray[np.float64]:
        import numpy as np

        if len(self.pieces) != 1:
            self.pieces = [np.concatenate(self.pieces) if self.pieces else np.empty(0)]
        return self.pieces[0]

    def blanks(self) -> NDArray[np.int64]:
        """Rows whose cell is empty, rising."""
        import numpy as np

        if len(self.blank) != 1:
            self.blank = [np.concatenate(self.blank) if self.blank else np.empty(0, dtype=np.int64)]
        return self.blank[0]


@dataclass(slots=True)
class Table:
    """Everything the layout tells: columns, the line of each row, and all other lines by kind."""

    fields: list[Field]
    lines: NDArray[np.int64]
    dialect: Dialect
    preamble: list[tuple[int, str]] = field(default_factory=list)
    remarks: list[tuple[int, int, str]] = field(default_factory=list)
    footer: list[tuple[int, str]] = field(default_factory=list)
    dropped: list[tuple[int, str]] = field(default_factory=list)
    repairs: list[Repair] = field(default_factory=list)
    flags: list[Flag] = field(default_factory=list)
    headed: bool = True


class _Reader:
    """State while the lines go by: the rows waiting for the next flush, the block of columns in force."""

    def __init__(self, lines: Sequence[str], shape: Shape, pattern: Pattern, open_end: bool) -> None:
        self.open_end = open_end
        self.lines, self.delimiter, self.pattern = lines, shape.delimiter, pattern
        self.rows: list[list[str]] = []
        self.row_lines: list[int] = []
        self.flushed = 0
        self.dialect = Dialect(delimiter={BLANKS: "blanks"}.get(shape.delimiter, shape.delimiter))
        self.fields: list[Field] = []
        self.targets: list[int] = []
        self.signs_known = False
        self.loose: list[tuple[int, int, str]] = []
        self.dropped: list[tuple[int, str]] = []
        self.repairs: list[Repair] = []
        self.flags: list[Flag] = []
        self.line_of_row: list[NDArray[np.int64]] = []
        self.known: set[str] | None = None
        self.last_filled = len(lines) - 1
        while self.last_filled > 0 and not lines[self.last_filled].strip():
            self.last_filled -= 1

    # ------------------------------------------------------------------ the walk
    def read(self) -> Table:
        import numpy as np

        first = self._first_row()
        header = find_header(self.lines, first, self.delimiter, self.pattern.width)
        self.header = header
        self._start(header, first)
        i, n = first, len(self.lines)
        lines, delimiter, width, lead, second = (
            self.lines,
            self.delimiter,
            self.pattern.width,
            self.pattern.lead,
            self.pattern.second,
        )
        while i < n:
            line = lines[i]
            simple = '"' not in line
            cells = line.split(delimiter) if simple and delimiter not in " |" else self.pattern.cells(line)
            if (
                len(cells) == width
                and (simple or line.count('"') % 2 == 0)
                and (mark := cells[lead].lstrip()[:1]) in _NUMBER_START
                and mark
                and cells[second].lstrip()[:1] in _NUMBER_START
            ):
                self._keep(i, cells)
            else:
                i += self._odd_line(i, line, cells)
                width, lead, second = self.pattern.width, self.pattern.lead, self.pattern.second
            i += 1
        if self.open_end and self.row_lines and self.row_lines[-1] == len(lines):
            self._doubt_last_cell()
        self._flush()
        self._settle_loose()
        if not self.line_of_row:
            raise BadLog("no row of numbers found; a log has one row a sample")
        table = Table(
            self.fields,
            np.concatenate(self.line_of_row),
            self.dialect,
            [],
            [],
            [],
            self.dropped,
            self.repairs,
            self.flags,
        )
        table.headed = bool(header.name_lines)
        self._hand_over(table, first)
        return table

    def _first_row(self) -> int:
        for i, line in enumerate(self.lines):
            if is_remark(line):
                continue
            cells = self.pattern.cells(line)
            if len(cells) > self.pattern.width + 1 or not self.pattern.is_row([c.strip() for c in cells], full=True):
                continue
            if not self._numbers_columns(i, cells):
                return i
        raise BadLog("no row of numbers found; a log has one row a sample and the same columns in each")

    def _numbers_columns(self, at: int, cells: Sequence[str]) -> bool:
        """A row 1, 2, 3, ... above the names only counts the columns."""
        row = [c.strip() for c in cells]
        if row not in ([str(k) for k in range(len(row))], [str(k + 1) for k in range(len(row))]):
            return False
        below = next((line for line in self.lines[at + 1 : at + 4] if line.strip()), "")
        return not self.pattern.is_row([c.strip() for c in self.pattern.cells(below)], full=True)

    def _start(self, header: Header, first: int) -> None:
        self.dialect.header_lines, self.dialect.unit_lines = header.name_lines, header.unit_lines
        self.dialect.first_data_line = first + 1
        self.fields = [Field(n, u, i) for i, (n, u) in enumerate(zip(header.names, header.units, strict=True))]
        self.targets = list(range(self.pattern.width))
        known = {*header.name_lines, *header.unit_lines}
        for number, line in enumerate(self.lines[:first], 1):
            if number in known:
                continue
            if not line.strip(" \t,;|\"'"):
                self.dialect.blank_lines.append(number)
            else:
                self.dialect.preamble_lines.append(number)

    def _keep(self, at: int, cells: list[str]) -> None:
        self.rows.append(cells)
        self.row_lines.append(at + 1)
        if len(self.rows) >= _CHUNK:
            self._flush()

    def _odd_line(self, at: int, line: str, cells: list[str]) -> int:
        """Deal with a line that is no plain row; returns how many further lines it took up."""
        number = at + 1
        if not line.strip(" \t,;|\"'"):
            self.dialect.blank_lines.append(number)
            return 0
        if is_remark(line) and not self._same_header(at):
            self.loose.append((number, self._next_row(), line.strip()))
            return 0
        if line.count('"') % 2:
            taken = self._join(at, line)
            if taken:
                return taken
        repeated = self._repeated_header(at)
        if repeated is not None:
            return repeated
        stripped = [c.strip() for c in cells]
        if self.pattern.is_row(stripped, full=False):
            self._row(at, stripped, cells)
        else:
            self.loose.append((number, self._next_row(), line.strip()))
        return 0

    def _doubt_last_cell(self) -> None:
        """A file that stops inside its last number: fewer places than every row above it has."""
        above = [r[-1].strip() for r in self.rows[-21:-1] if len(r) == self.pattern.width]
        last = self.rows[-1][-1].strip() if len(self.rows[-1]) == self.pattern.width else ""
        if len(above) < 5 or not last or self.pattern.width - 1 not in self.pattern.numeric:
            return
        places = {len(re.split(r"[.,]", c)[1]) if re.search(r"[.,]", c) else 0 for c in above}
        mine = len(re.split(r"[.,]", last)[1]) if re.search(r"[.,]", last) else 0
        shorter = len(places) == 1 and mine < min(places)
        if shorter or (places == {0} and len(last) < min(map(len, above)) and not self._lines_up_last()):
            self.rows[-1] = [*self.rows[-1][:-1], ""]
            number = self.row_lines[-1]
            self._ragged(number, last, "", "the file stops inside this number; it is left out")
            self.flags.append(Flag("cut_off_line", "the file stops inside its last number", number))

    def _lines_up_last(self) -> bool:
        try:
            a, b = float(self.rows[-1][-1]), float(self.rows[-2][-1])
        except (ValueError, IndexError):
            return True
        return abs(a - b) <= 0.3 * max(abs(a), abs(b)) + 1.0

    def _next_row(self) -> int:
        return self.flushed + len(self.rows)

    def _join(self, at: int, line: str) -> int:
        """A quoted remark that runs over line ends: joined where that makes one whole row."""
        text = line
        for more in range(1, 8):
            if at + more >= len(self.lines):
                return 0
            text += "\n" + self.lines[at + more]
            if text.count('"') % 2 == 0:
                cells = _cut_joined(text, self.delimiter)
                if len(cells) == self.pattern.width and self.pattern.is_row([c.strip() for c in cells], full=True):
                    self._keep(at, [c.replace("\n", " ") if i in self.pattern.soft else c for i, c in enumerate(cells)])
                    self.dialect.joined_lines.extend(range(at + 2, at + more + 2))
                    self.repairs.append(
                        Repair(
                            at + 1,
                            None,
                            "lines joined",
                            f"{more + 1} lines",
                            "one row",
                            "a quoted remark runs over line ends",
                            at + 1 + more,
                        )
                    )
                    return more
                return 0
        return 0

    # ------------------------------------------------------------------ headers in the middle
    def _known_cells(self) -> set[str]:
        if self.known is not None:
            return self.known
        known = set()
        for number in (*self.dialect.header_lines, *self.dialect.unit_lines):
            known |= {
                c.strip().lower()
                for c in header_cells(self.lines[number - 1], self.delimiter, self.pattern.width)
                if c.strip()
            }
        self.known = known
        return known

    def _same_header(self, at: int) -> bool:
        if not self.dialect.header_lines:
            return False
        cells = [
            c.strip().lower() for c in header_cells(self.lines[at], self.delimiter, self.pattern.width) if c.strip()
        ]
        if len(cells) < 2:
            return False
        known = self._known_cells()
        return sum(c in known for c in cells) >= 0.6 * len(cells)

    def _repeated_header(self, at: int) -> int | None:
        """A header again: the same names, perhaps in another order or with others beside them."""
        if not self._same_header(at):
            return None
        last = at
        while last + 1 < len(self.lines) and last - at < 4 and self._same_header(last + 1):
            last += 1
        stop = last + 1
        following = self.lines[stop] if stop < len(self.lines) else ""
        width = len(cut(following, self.delimiter)) if following.strip() else self.pattern.width
        header = find_header(self.lines[:stop], stop, self.delimiter, width if width > 1 else self.pattern.width)
        mine = set(range(at + 1, stop + 1))
        if not set(header.name_lines) <= mine or not header.name_lines:
            header = Header(list(self.header.names), list(self.header.units))
        self.dialect.repeated_header_lines.extend(sorted(mine))
        self.repairs.append(
            Repair(
                at + 1, None, "header again", self.lines[at].strip()[:120], "", "a header is no sample", stop, stop - at
            )
        )
        if not any(f.name == "repeated_header" for f in self.flags):
            self.flags.append(Flag("repeated_header", "the header stands again between the rows", at + 1))
        if header.name_lines and (header.names != self.header.names or header.units != self.header.units):
            self._new_block(at, header)
        return last - at

    def _new_block(self, at: int, header: Header) -> None:
        self._flush()
        free: dict[str, list[int]] = {}
        for i, f in enumerate(self.fields):
            free.setdefault(f.name.lower(), []).append(i)
        targets = []
        for name, unit in zip(header.names, header.units, strict=True):
            places = free.get(name.lower())
            if places:
                target = places.pop(0)
            else:
                target = len(self.fields)
                added = Field(name, unit, target)
                added.signs = Signs(self.dialect.decimal, None, False)
                self._blank_fill(added, self.flushed)
                self.fields.append(added)
                self.repairs.append(
                    Repair(at + 1, name, "column added", "", name, "the second header has a column the first has not")
                )
            targets.append(target)
            if unit.strip().lower() != self.fields[target].unit_text.strip().lower():
                self.fields[target].unit_changes.append((self.flushed, -1, unit))
            elif self.fields[target].unit_changes:
                self.fields[target].unit_changes.append((self.flushed, -1, self.fields[target].unit_text))
        if targets != self.targets:
            before = ", ".join(self.fields[t].name for t in self.targets)
            after = ", ".join(self.fields[t].name for t in targets)
            self.repairs.append(
                Repair(at + 1, None, "columns in another order", after[:200], before[:200], "put back by their names")
            )
            self.flags.append(Flag("columns_reordered", "below this line the columns stand in another order", at + 1))
        lead_target, second_target = self.targets[self.pattern.lead], self.targets[self.pattern.second]
        self.targets, self.pattern.width = targets, len(targets)
        self.pattern.numeric = [
            i
            for i, t in enumerate(targets)
            if t in {self.targets[k] for k in self.pattern.numeric if k < len(self.targets)}
        ] or list(range(self.pattern.width))
        self.pattern.lead = targets.index(lead_target) if lead_target in targets else 0
        self.pattern.second = targets.index(second_target) if second_target in targets else self.pattern.lead
        self.pattern.soft = {i for i in range(self.pattern.width) if i not in self.pattern.numeric}
        self.pattern.spans = []

    def _blank_fill(self, column: Field, rows: int) -> None:
        import numpy as np

        column.pieces.append(np.full(rows, np.nan))
        column.absent += rows

    # ------------------------------------------------------------------ rows that are too short or too long
    def _row(self, at: int, cells: list[str], raw: Sequence[str]) -> None:
        number, width = at + 1, self.pattern.width
        while len(cells) > width and not cells[-1]:
            cells.pop()
        if len(cells) == width:
            self._keep(at, cells)
            return
        before = f"{len(cells)} cells"
        if len(cells) > width:
            if width - 1 in self.pattern.soft and not any(is_value(c) for c in cells[width - 1 :] if c):
                joined = self.delimiter.join(raw[width - 1 :]).strip()
                self._keep(at, [*cells[: width - 1], joined])
                self._ragged(number, before, f"{width} cells", "the separator stands inside the remark")
            elif self._lines_up(cells[:width]):
                self._keep(at, cells[:width])
                extra = self.delimiter.join(cells[width:])
                self._ragged(number, extra, "", "more cells than columns; what is beyond the last column is left out")
            else:
                self._drop(number, "ragged: more cells than columns and they do not line up")
            return
        if all(i in self.pattern.soft for i in range(len(cells), width)):
            self._keep(at, cells + [""] * (width - len(cells)))
            return
        if at >= self.last_filled:
            self._drop(number, "cut off: the last line is not complete")
            self.flags.append(Flag("cut_off_line", "the last line is cut off and left out", number))
        elif self._lines_up(cells):
            # Where a line was cut the last number may be cut too, so it is not trusted.
            kept = [*cells[:-1], ""] if not self.lines[at].rstrip().endswith(self.delimiter) else cells
            self._keep(at, kept + [""] * (width - len(kept)))
            self._ragged(
                number,
                self.lines[at].strip(),
                f"{len(kept) - 1} cells kept",
                "a short line; its last value may be cut and is left out",
            )
        else:
            self._drop(number, "ragged: fewer cells than columns and they do not line up")

    def _ragged(self, number: int, before: str, after: str, why: str) -> None:
        self.repairs.append(Repair(number, None, "ragged line", before, after, why))
        if not any(f.name == "ragged_lines" for f in self.flags):
            self.flags.append(Flag("ragged_lines", "a line has more or fewer cells than the header", number))

    def _drop(self, number: int, reason: str) -> None:
        self.dropped.append((number, reason))
        self.repairs.append(Repair(number, None, "line left out", self.lines[number - 1].strip()[:300], "", reason))
        if reason.startswith("ragged") and not any(f.name == "ragged_lines" for f in self.flags):
            self.flags.append(Flag("ragged_lines", "a line has more or fewer cells than the header", number))

    def _lines_up(self, cells: Sequence[str]) -> bool:
        """Whether each value is near the one above it, so that no cell in the middle is lost."""
        if not self.rows:
            return False
        far = compared = 0
        for i in self.pattern.numeric:
            if i >= len(cells) or i >= len(self.rows[-1]):
                continue
            try:
                a = float(cells[i].replace(",", "."))
                b = float(self.rows[-1][i].replace(",", "."))
            except ValueError:
                continue
            compared += 1
            far += abs(a - b) > 0.3 * max(abs(a), abs(b)) + 1.0
        return compared > 0 and far <= 0.34 * compared

    # ------------------------------------------------------------------ storing
    def _settle(self) -> None:
        """Decimal and thousands signs from the first rows and from some throughout the file."""
        sample = [list(r) for r in self.rows[:_SAMPLE]]
        step = max(1, len(self.lines) // 200)
        for line in self.lines[::step] if len(self.lines) > _SAMPLE else []:
            cells = cut(line, self.delimiter)
            if len(cells) == self.pattern.width and is_value(cells[self.pattern.lead]):
                sample.append(cells)
        columns = list(zip(*sample, strict=True))
        votes = [
            column_signs([c for c in column if ":" not in c]) if i in self.pattern.numeric else None
            for i, column in enumerate(columns)
        ]
        # A written date or time ("14.03.2031", "1:58.250") says nothing about decimals.
        for i, column in enumerate(columns):
            if any(parts(c) or c.count(".") == 2 or re.search(r"\d-\d+-", c) for c in column[:10]):
                votes[i] = None
        ungrouped = any(re.fullmatch(r"[+-]?\d{4,}", c.strip()) for i in self.pattern.numeric for c in columns[i])
        settled, decimal, thousands = settle_signs(votes, self.delimiter, ungrouped, self._speed_mark(votes))
        self.dialect.decimal, self.dialect.thousands = decimal, thousands
        for i, signs in enumerate(settled):
            self.fields[self.targets[i]].signs = signs
        self.signs_known = True

    def _speed_mark(self, votes: Sequence[Signs | None]) -> str:
        """The mark in whole turns a minute ("2.499"), which is no decimal sign there; "" where none stands."""
        for i, signs in enumerate(votes):
            column = self.fields[self.targets[i]]
            if not signs or not signs.thousands or "1000" in column.name + column.unit_text:
                continue
            if role_by_name(column.name, column.unit_text) in ("engine_speed", "roller_speed", "turbo_speed"):
                return signs.thousands
        return ""

    def _flush(self) -> None:
        import numpy as np

        if not self.rows:
            return
        if not self.signs_known:
            self._settle()
        base, count = self.flushed, len(self.rows)
        filled = set(self.targets)
        for position, cells in enumerate(zip(*self.rows, strict=True)):
            column = self.fields[self.targets[position]]
            values, odd, blank = floats(cells, column.signs.decimal)
            column.pieces.append(values)
            if blank:
                column.blank.append(base + np.asarray(blank, dtype=np.int64))
            for at in odd:
                column.odd[base + at] = cells[at]
        for i, column in enumerate(self.fields):
            if i not in filled:
                self._blank_fill(column, count)
        self.line_of_row.append(np.asarray(self.row_lines, dtype=np.int64))
        self.flushed += count
        self.rows, self.row_lines = [], []

    # ------------------------------------------------------------------ remarks and footer
    def _settle_loose(self) -> None:
        total = self.flushed
        self.remark_rows = [x for x in self.loose if x[1] < total]
        marks = {x[2][:2] for x in self.remark_rows}
        below = [x for x in self.loose if x[1] >= total]
        # Below the last row: a remark where it is marked like the remarks above and does not announce the end.
        self.remark_rows += [x for x in below if is_remark(x[2]) and x[2][:2] in marks and not _END.search(x[2])]
        self.footer_rows = [x for x in below if x not in self.remark_rows]
        self.dialect.remark_lines = [x[0] for x in self.remark_rows]
        self.dialect.footer_lines = [x[0] for x in self.footer_rows]

    def _hand_over(self, table: Table, first: int) -> None:
        table.preamble = [(n, self.lines[n - 1]) for n in self.dialect.preamble_lines]
        table.remarks = self.remark_rows
        table.footer = [(n, text) for n, _, text in self.footer_rows]
        if self.remark_rows:
            table.flags.append(
                Flag("remarks_kept", "lines between the rows are kept as remarks", self.remark_rows[0][0])
            )
            for n, row, text in self.remark_rows:
                table.repairs.append(
                    Repair(n, None, "remark kept", text[:300], f"before row {row}", "no sample, but somebody wrote it")
                )
        if table.footer:
            table.flags.append(Flag("footer_dropped", "lines below the last row are no samples", table.footer[0][0]))
            for n, text in table.footer:
                table.repairs.append(Repair(n, None, "footer left out", text[:300], "", "no sample"))
                table.dropped.append((n, "footer"))


def _cut_joined(text: str, delimiter: str) -> list[str]:
    import csv
    import io

    if delimiter == BLANKS:
        return []
    try:
        rows = list(csv.reader(io.StringIO(text), delimiter=delimiter, skipinitialspace=True))
    except csv.Error:
        return []
    return rows[0] if len(rows) == 1 else []


def lay_out(lines: Sequence[str], shape: Shape, sample: Sequence[str], open_end: bool = False) -> Table:
    """Table of the lines; raises BadLog where no line is a row of numbers. ``open_end``: the last line has no end."""
    pattern = Pattern(shape.delimiter, shape.width)
    if not pattern.learn(sample):
        raise BadLog("no column of numbers found; a log has one row a sample")
    return _Reader(lines, shape, pattern, open_end).read()


def sample_lines(lines: Sequence[str]) -> list[str]:
    """Some lines of the beginning, the middle and the end, without the blank ones."""
    n = len(lines)
    picked = list(lines[:300])
    if n > 300:
        step = max(1, (n - 300) // 150)
        picked += lines[300::step][:160]
    return [line for line in picked if line.strip()]
