"""Tables side by side: several columns of time, each the clock of the columns that follow it.

A logger that takes its channels at different rates may write one block a rate. The blocks are laid onto one clock that
holds every time once; where a channel was not read, its cell stays empty. Nothing is interpolated.
A second column that tells the same time in another way (milliseconds, time of day) is no clock of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from spoolwright.dyno.log import Flag, Repair
from spoolwright.dyno.readers.clock import parts, scale
from spoolwright.dyno.readers.layout import Field, Table
from spoolwright.dyno.readers.names import role_by_name, split_unit
from spoolwright.dyno.readers.quantities import read_unit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_LEAST_ROWS = 4
_SAME_RATE = 0.02  # difference of two clocks' rates that is still one clock; common practice, no source
_RATES = (1.0, 1e-3, 1e3, 1e-6, 1e6, 60.0, 1 / 60.0, 86400.0, 1 / 86400.0)  # one clock in two units


@dataclass(slots=True)
class Block:
    """A clock and the columns that follow it, by their places; ``stamps`` [unit of the first clock], nan where none."""

    clock: int
    channels: list[int]
    stamps: NDArray[np.float64]


def find_blocks(table: Table) -> list[Block]:
    """The blocks of the table; [] where all columns share one clock."""
    import numpy as np

    clocks = [i for i, f in enumerate(table.fields) if role_by_name(f.name, f.unit_text) == "time"]
    if len(clocks) < 2 or clocks[0] != 0 or table.lines.size < _LEAST_ROWS:
        return []
    bounds = [*clocks, len(table.fields)]
    blocks = []
    for clock, stop in zip(clocks, bounds[1:], strict=True):
        stamps = _stamps(table.fields[clock], table.fields[0])
        good = stamps[np.isfinite(stamps)]
        if stop == clock + 1 or good.size < 2 or (np.diff(good) < 0.0).any():
            return []
        blocks.append(Block(clock, list(range(clock + 1, stop)), stamps))
    own = any(_differs(blocks[0].stamps, b.stamps) for b in blocks[1:])
    return blocks if own else []


def _stamps(column: Field, first: Field) -> NDArray[np.float64]:
    """Times of a clock in the unit of the first one; nan where the cell holds no time."""
    stamps = column.values().copy()
    for row, cell in column.odd.items():
        found = parts(cell)
        if found is not None:
            stamps[row] = found[0]
    mine, others = (read_unit(split_unit(f.name)[1] or f.unit_text) for f in (column, first))
    if mine and others and mine.name != others.name and "clock" not in (mine.registry, others.registry):
        stamps *= scale(others.name) / scale(mine.name)
    return stamps


def _differs(a: NDArray[np.float64], b: NDArray[np.float64]) -> bool:
    """Whether ``b`` is a clock of its own: it ends earlier or later, or runs at another rate over the rows."""
    import numpy as np

    good = np.isfinite(a) & np.isfinite(b)
    if good.sum() < 2:
        return True
    if abs(int(np.isfinite(a).sum()) - int(np.isfinite(b).sum())) > 0.02 * a.size:
        return True
    x, y = a[good], b[good]
    spans = float(x[-1] - x[0]), float(y[-1] - y[0])
    if min(spans) <= 0.0:
        return max(spans) > 0.0
    rate = spans[1] / spans[0]
    return min(abs(rate / r - 1.0) for r in _RATES) > _SAME_RATE


def onto_one_clock(table: Table, blocks: list[Block]) -> Table:
    """The same readings with one row a time; the columns of time after the first are gone, which is said."""
    import numpy as np

    for block in blocks:
        _leave_out_untimed(table, block)
    times = np.unique(np.concatenate([b.stamps[np.isfinite(b.stamps)] for b in blocks]))
    first = table.fields[0]
    lines = np.zeros(times.size, dtype=np.int64)
    channels: list[Field] = []
    for block in blocks:
        rows = np.flatnonzero(np.isfinite(block.stamps))
        places = np.searchsorted(times, block.stamps[rows])
        _say_doubled(table, block, rows, places)
        places, kept = np.unique(places, return_index=True)  # of two readings at one time the first stays
        rows = rows[kept]
        lines[places] = np.where(lines[places] == 0, table.lines[rows], lines[places])
        channels += [_spread(table, table.fields[i], rows, places, times.size) for i in block.channels]
    for field in channels:
        own = field.lines
        field.lines = lines.copy() if own is None else np.where(own > 0, own, lines)
    clock = Field(first.name, first.unit_text, 0, [times], signs=first.signs)
    if any(parts(c) is not None for c in first.odd.values()):
        clock.unit_text = "s"
    line = table.dialect.first_data_line
    table.repairs.append(
        Repair(line, first.name, "blocks laid onto one clock", f"{len(blocks)} clocks",
               f"{times.size} rows", "a column of time is the clock of the columns behind it; nothing is interpolated")
    )  # fmt: skip
    for block in blocks[1:]:
        name = table.fields[block.clock].name
        table.repairs.append(
            Repair(
                line,
                name,
                "clock taken up",
                f"{int(np.isfinite(block.stamps).sum())} times",
                first.name,
                "its times are in the one clock",
            )
        )
    table.flags.append(Flag("channels_not_together", "channels were not taken at the same moments; rows have holes"))
    table.fields, table.lines = [clock, *channels], lines
    for i, field in enumerate(table.fields):
        field.index = i
    return table


def _spread(table: Table, column: Field, rows: NDArray[np.int64], places: NDArray[np.int64], count: int) -> Field:
    """``column`` with its cells at their places on the one clock."""
    import numpy as np

    out = Field(column.name, column.unit_text, 0, signs=column.signs, unit_changes=column.unit_changes)
    filled = np.full(count, np.nan)
    filled[places] = column.values()[rows]
    out.pieces = [filled]
    out.odd = {int(p): column.odd[int(r)] for r, p in zip(rows, places, strict=True) if int(r) in column.odd}
    out.blank = [places[np.isin(rows, column.blanks())]]
    out.absent = count - places.size
    out.lines = np.zeros(count, dtype=np.int64)
    out.lines[places] = table.lines[rows]
    return out


def _leave_out_untimed(table: Table, block: Block) -> None:
    """Cells of a block whose clock is empty in their line: listed, since no time can be given to them."""
    import numpy as np

    for row in np.flatnonzero(~np.isfinite(block.stamps)).tolist():
        for i in block.channels:
            column = table.fields[i]
            cell = _as_written(column, row)
            if cell:
                table.repairs.append(
                    Repair(int(table.lines[row]), column.name, "no value", cell, "", "its own clock is empty here")
                )


def _say_doubled(table: Table, block: Block, rows: NDArray[np.int64], places: NDArray[np.int64]) -> None:
    import numpy as np

    for at in (np.flatnonzero(np.diff(places) == 0) + 1).tolist():
        line = int(table.lines[rows[at]])
        for i in block.channels:
            column = table.fields[i]
            cell = _as_written(column, int(rows[at]))
            why = "the same time twice in its own clock"
            table.repairs.append(Repair(line, column.name, "second reading left out", cell, "", why))


def _as_written(column: Field, row: int) -> str:
    """The cell as text, near enough for the report; "" where it is empty."""
    if row in column.odd:
        return column.odd[row].strip()
    value = float(column.values()[row])
    return "" if value != value else f"{value:g}"
