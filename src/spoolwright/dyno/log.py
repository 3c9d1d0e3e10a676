"""What reading a log gives: plain data, no behaviour.

A :class:`Log` holds the cleaned table in the wanted units and everything that was done to get there.
Lines are counted from 1 as an editor shows them, columns and segments from 0.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    import polars as pl
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Repair:
    """One thing done to the file; ``line`` to ``last_line`` holds ``count`` cells or lines of one kind."""

    line: int | None
    column: str | None
    what: str
    before: str
    after: str
    why: str
    last_line: int | None = None
    count: int = 1


@dataclass(slots=True)
class Column:
    """One column of the file: what it is, in which unit, how sure that is."""

    index: int
    name: str
    role: str | None
    unit_in_file: str
    unit: str
    field: str
    reason: str
    guessed_unit: str = ""
    confirmed: bool = False
    reference: str = ""
    missing: int = 0
    suspect: int = 0
    converted: bool = True
    question: str = ""


@dataclass(frozen=True, slots=True)
class Segment:
    """One unbroken run of the clock. Times in s, None where the log has no clock."""

    index: int
    first_row: int
    rows: int
    time_first: float | None
    time_last: float | None
    step: float | None


@dataclass(frozen=True, slots=True)
class Gap:
    """A hole in the clock: nothing may be differentiated or drawn across it."""

    segment: int
    after: float
    before: float
    samples_lost: int


@dataclass(frozen=True, slots=True)
class Flag:
    """Something the reader has to report: a name for machines, a sentence for people."""

    name: str
    sentence: str
    line: int | None = None
    column: str | None = None


@dataclass(frozen=True, slots=True)
class Remark:
    """A line between the rows that somebody or something wrote; ``row`` is the row that follows it."""

    line: int
    row: int
    text: str


@dataclass(slots=True)
class Dialect:
    """How the text was laid out."""

    encoding: str = "utf-8"
    byte_order_mark: bool = False
    delimiter: str = ","
    decimal: str = "."
    thousands: str | None = None
    line_ends: str = "LF"
    quoted: bool = False
    long_form: bool = False
    fast: bool = False
    header_lines: list[int] = field(default_factory=list)
    unit_lines: list[int] = field(default_factory=list)
    preamble_lines: list[int] = field(default_factory=list)
    repeated_header_lines: list[int] = field(default_factory=list)
    remark_lines: list[int] = field(default_factory=list)
    footer_lines: list[int] = field(default_factory=list)
    blank_lines: list[int] = field(default_factory=list)
    joined_lines: list[int] = field(default_factory=list)
    first_data_line: int | None = None
    empty_trailing_column: bool = False


@dataclass(slots=True)
class Log:
    """A log as read. ``table`` has one row a sample: ``segment``, then one column a channel, in the wanted units.

    ``row_lines`` gives the line each row came from. ``suspect_values`` counts cells a dead sensor wrote, by role.
    """

    file: Path
    sha256: str
    dialect: Dialect
    columns: list[Column]
    segments: list[Segment]
    repairs: list[Repair]
    rows: int
    table: pl.DataFrame
    flags: list[Flag]
    particulars: list[tuple[int, str, str]]
    meta: dict[str, Any] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)
    dropped: list[tuple[int, str]] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    rows_in_file: int = 0
    missing_cells: int = 0
    suspect_cells: dict[str, int] = field(default_factory=dict)
    observations: list[str] = field(default_factory=list)
    row_lines: NDArray[np.int64] | None = None

    @property
    def flag_names(self) -> list[str]:
        """The names of the flags, each once, in the order found."""
        return list(dict.fromkeys(flag.name for flag in self.flags))

    def column(self, role: str) -> Column | None:
        """The column that plays ``role``, or None."""
        return next((c for c in self.columns if c.role == role), None)
