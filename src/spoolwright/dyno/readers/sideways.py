"""A table on its side: one channel a line, its samples to the right. It is turned, and that is said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spoolwright.dyno.log import Flag, Repair
from spoolwright.dyno.readers.layout import Field, Table
from spoolwright.dyno.readers.names import role_by_name
from spoolwright.dyno.readers.quantities import read_unit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_MOST_CHANNELS = 300
_LEAST_SAMPLES = 4


def lies_on_its_side(table: Table) -> int:
    """How many leading columns hold names and units of channels; 0 where the table stands upright."""
    rows = table.lines.size
    if not 2 <= rows <= _MOST_CHANNELS or len(table.fields) < rows + 1:
        return 0
    names = _texts(table.fields[0], rows)
    if len(names) < rows:
        return 0
    known = sum(role_by_name(name) is not None for name in names)
    if known < max(2, 0.4 * rows):
        return 0
    second = _texts(table.fields[1], rows)
    units = bool(second) and sum(read_unit(c) is not None for c in second) >= 0.6 * len(second)
    lead = 2 if units else 1
    samples = table.fields[lead:]
    upright = sum(role_by_name(f.name) is not None for f in samples)
    return lead if len(samples) >= _LEAST_SAMPLES and upright <= 1 else 0


def _texts(column: Field, rows: int) -> list[str]:
    return [c for row in range(rows) if (c := column.odd.get(row, "").strip())]


def turn(table: Table, lead: int) -> Table:
    """The table upright: one field a line of the file."""
    import numpy as np

    rows, samples = table.lines.size, table.fields[lead:]
    values: NDArray[np.float64] = np.array([f.values() for f in samples])
    blanks = [set(f.blanks().tolist()) for f in samples]
    fields = []
    for row in range(rows):
        name = table.fields[0].odd[row].strip()
        unit = table.fields[1].odd.get(row, "").strip() if lead == 2 else ""
        field = Field(name, unit, row, [np.ascontiguousarray(values[:, row])], signs=samples[0].signs)
        field.odd = {k: f.odd[row] for k, f in enumerate(samples) if row in f.odd}
        field.blank = [np.flatnonzero([row in blank for blank in blanks])]
        field.lines = np.full(len(samples), table.lines[row], dtype=np.int64)
        fields.append(field)
    first = int(table.lines[0])
    table.repairs.append(
        Repair(first, None, "table turned", f"{rows} lines", f"{len(samples)} rows",
               "it lay on its side: one channel a line", int(table.lines[-1]), rows)
    )  # fmt: skip
    table.flags.append(Flag("sideways", "one channel a line; turned into one column a channel", first))
    table.fields, table.headed = fields, True
    table.lines = np.full(len(samples), first, dtype=np.int64)
    return table
