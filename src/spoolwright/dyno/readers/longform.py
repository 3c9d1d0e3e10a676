"""Long form: one channel a row (time, channel, value, perhaps unit), turned into one column a channel."""

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


def _texts(column: Field, rows: int) -> float:
    return sum(1 for c in column.odd.values() if c.strip()) / max(rows, 1)


def find_channels(table: Table) -> tuple[int, int, int, int | None] | None:
    """(time, channel, value, unit) positions where the table is in long form, else None."""
    rows = table.lines.size
    if not 3 <= len(table.fields) <= 8 or rows < 4:
        return None
    texts = [i for i, f in enumerate(table.fields) if _texts(f, rows) > 0.9]
    for i in texts:
        names = {c.strip() for c in table.fields[i].odd.values() if c.strip()}
        if not 2 <= len(names) <= min(_MOST_CHANNELS, rows // 2):
            continue
        known = sum(role_by_name(name) is not None for name in names)
        if known < max(2, 0.4 * len(names)):
            continue
        unit = next((k for k in texts if k != i and _units_only(table.fields[k])), None)
        rest = [k for k in range(len(table.fields)) if k not in (i, unit)]
        clock = next((k for k in rest if role_by_name(table.fields[k].name) == "time"), rest[0] if rest else None)
        numbers = [
            k for k in rest if k != clock and table.fields[k].values().size and _texts(table.fields[k], rows) < 0.6
        ]
        if clock is None or not numbers:
            continue
        value = next(
            (k for k in numbers if "val" in table.fields[k].name.lower() or "wert" in table.fields[k].name.lower()),
            numbers[0],
        )
        return clock, i, value, unit
    return None


def _units_only(column: Field) -> bool:
    cells = {c.strip() for c in column.odd.values()}
    return bool(cells) and sum(read_unit(c) is not None or not c for c in cells) >= 0.6 * len(cells)


def widen(table: Table, clock: int, channel: int, value: int, unit: int | None) -> Table:
    """The same readings with one column a channel. Rows are made in the order their times first appear."""
    import numpy as np

    rows = table.lines.size
    time, names, values = table.fields[clock], table.fields[channel], table.fields[value]
    stamps: NDArray[np.float64] = time.values()
    readings = values.values()
    order: dict[tuple[object, int], int] = {}
    seen: dict[tuple[object, str], int] = {}
    columns: dict[str, Field] = {}
    places: dict[str, list[tuple[int, int]]] = {}
    first_line: list[int] = []
    row_time: list[int] = []
    repeats: list[int] = []
    previous: tuple[object, str, object] | None = None
    for row in range(rows):
        name = names.odd.get(row, "").strip()
        if not name:
            repeats.append(row)
            table.dropped.append((int(table.lines[row]), "no channel name in the line"))
            table.repairs.append(
                Repair(int(table.lines[row]), None, "line left out", "", "", "no channel name in the line")
            )
            continue
        key: object = time.odd.get(row, stamps[row]) if row in time.odd else float(stamps[row])
        number = float(readings[row])
        now = (key, name, values.odd.get(row, number if number == number else None))
        if now == previous:
            table.dropped.append((int(table.lines[row]), "duplicate"))
            table.repairs.append(
                Repair(int(table.lines[row]), name, "repeated line left out", str(now[2]), "", "the same line twice")
            )
            if not any(f.name == "duplicate_rows" for f in table.flags):
                table.flags.append(Flag("duplicate_rows", "a line stands twice", int(table.lines[row])))
            continue
        previous = now
        turn = seen.get((key, name), 0)
        seen[key, name] = turn + 1
        place = order.get((key, turn))
        if place is None:
            place = order[key, turn] = len(first_line)
            first_line.append(int(table.lines[row]))
            row_time.append(row)
        if name not in columns:
            text = table.fields[unit].odd.get(row, "").strip() if unit is not None else ""
            columns[name] = Field(name, text, len(columns) + 1, signs=values.signs)
        places.setdefault(name, []).append((place, row))
    count = len(first_line)
    picked = np.asarray(row_time, dtype=np.int64)
    wide_time = Field(time.name, time.unit_text, 0, [stamps[picked]], signs=time.signs)
    wide_time.odd = {place: time.odd[row] for place, row in enumerate(row_time) if row in time.odd}
    wide_time.blank = [np.flatnonzero(np.isin(picked, time.blanks()))]
    for name, found in places.items():
        column = columns[name]
        to, source = (np.asarray(x, dtype=np.int64) for x in zip(*found, strict=True))
        filled = np.full(count, np.nan)
        filled[to] = readings[source]
        column.pieces = [filled]
        column.odd = {place: values.odd[row] for place, row in found if row in values.odd}
        column.blank = [np.sort(to[np.isin(source, values.blanks())])]
        column.absent = count - len(found)
        column.lines = np.asarray(first_line, dtype=np.int64)
        column.lines[to] = table.lines[source]
    table.dialect.long_form = True
    table.fields = [wide_time, *columns.values()]
    table.lines = np.asarray(first_line, dtype=np.int64)
    table.flags.append(
        Flag("long_form", "one channel a row; turned into one column a channel", table.dialect.first_data_line)
    )
    table.repairs.append(
        Repair(
            table.dialect.first_data_line,
            names.name,
            "long form turned",
            f"{rows} lines",
            f"{count} rows",
            "one column a channel",
        )
    )
    if count and sum(c.absent for c in columns.values()) > 0.2 * count * len(columns):
        table.flags.append(
            Flag("channels_not_together", "channels were not taken at the same moments; rows have holes")
        )
    return table
