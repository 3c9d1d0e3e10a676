"""Rows put in order, dead sensors taken out, segments cut: the understood columns become the log's table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from spoolwright.dyno.log import Column, Flag, Gap, Log, Remark, Repair, Segment
from spoolwright.dyno.readers import sensors
from spoolwright.dyno.readers.layout import Table
from spoolwright.dyno.readers.meaning import Understood
from spoolwright.dyno.readers.order import Order, arrange
from spoolwright.dyno.readers.source import Source

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def order_rows(parts: list[Understood], table: Table) -> Order:
    import numpy as np

    clock = next((p for p in parts if p.column.role == "time" and p.values is not None), None)
    if clock is None or clock.values is None:
        table.flags.append(Flag("no_time", "no column is a clock; rows are taken in the order of the file"))
        order = Order(np.arange(table.lines.size), np.zeros(table.lines.size, dtype=np.int64))
        order.steps = [None]
        return order
    if not clock.values.flags.writeable:
        clock.values = clock.values.copy()
    original = clock.values.copy()

    def same(a: int, b: int) -> bool:
        for p in parts:
            if p.values is not None:
                x, y = p.values[a], p.values[b]
                if not (x == y or (x != x and y != y)):
                    return False
            elif p.texts.get(a, "") != p.texts.get(b, ""):
                return False
        return True

    order = arrange(clock.values, same)
    _report_order(order, clock, original, parts, table)
    return order


def _report_order(
    order: Order, clock: Understood, original: NDArray[np.float64], parts: list[Understood], table: Table
) -> None:
    lines, name, repairs, flags = table.lines, clock.column.name, table.repairs, table.flags
    for row in order.restarts:
        sentence = f"the clock starts again at {original[row]:g} s: a separate run"
        flags.append(Flag("time_restarts", sentence, int(lines[row]), name))
        repairs.append(
            Repair(
                int(lines[row]),
                name,
                "new segment",
                f"{original[row - 1]:g}",
                f"{original[row]:g}",
                "the clock starts again; never joined",
            )
        )
    for row in order.moved:
        repairs.append(
            Repair(
                int(lines[row]),
                name,
                "row moved",
                f"{original[row]:g} s",
                "",
                "it stood behind a later time; put where its time belongs",
            )
        )
    for row in order.bad_stamps:
        clock.column.missing += 1
        repairs.append(
            Repair(
                int(lines[row]),
                name,
                "no value",
                f"{original[row]:g}",
                "",
                "this time fits neither here nor nearby; the row keeps its place",
            )
        )
    if order.moved or order.bad_stamps:
        first = min(order.moved + order.bad_stamps)
        flags.append(Flag("time_not_monotonic", "the clock runs backwards for a row", int(lines[first]), name))
    for a, b in order.repeats:
        repairs.append(
            Repair(int(lines[b]), None, "repeated row left out", f"line {lines[a]}", "", "the same row twice")
        )
        table.dropped.append((int(lines[b]), f"duplicate of line {lines[a]}"))
    if order.repeats:
        flags.append(Flag("duplicate_rows", "a row stands twice", int(lines[order.repeats[0][1]])))
    for a, b in order.conflicts:
        differ = []
        for p in parts:
            if p.values is not None:
                x, y = p.values[a], p.values[b]
                if not (x == y or (x != x and y != y)):
                    differ.append(f"{p.column.field} {x:g} or {y:g}")
            elif p.texts.get(a, "") != p.texts.get(b, ""):
                differ.append(f'{p.column.field} "{p.texts.get(a, "")}" or "{p.texts.get(b, "")}"')
        said = f"at {original[b]:g} s lines {lines[a]} and {lines[b]} differ: {', '.join(differ)}"
        repairs.append(
            Repair(
                int(lines[b]),
                name,
                "second reading left out",
                said,
                f"line {lines[a]} kept",
                "one time, two readings; nobody can tell which is right",
            )
        )
        table.dropped.append((int(lines[b]), f"conflicts with line {lines[a]}: {', '.join(differ)}"))
        flags.append(Flag("conflicting_rows", said, int(lines[b]), name))
    if order.coarse:
        flags.append(
            Flag("coarse_time", "many rows carry the same time; the clock is coarser than the sampling", None, name)
        )
    for segment, after, before, lost in order.gaps:
        sentence = f"segment {segment}: nothing between {after:g} s and {before:g} s, {lost} samples lost"
        flags.append(Flag("gap", sentence, None, name))


def assemble(source: Source, table: Table, parts: list[Understood], order: Order) -> Log:
    import numpy as np
    import polars as pl

    straight = order.rows.size == table.lines.size and not order.moved and bool(np.all(np.diff(order.rows) == 1))
    data: dict[str, NDArray[np.float64]] = {}
    for p in parts:
        if p.values is not None:
            data[p.column.field] = p.values if straight else p.values[order.rows]
    roles = {
        p.column.field: p.column for p in parts if p.column.role and p.column.converted and p.column.role != "time"
    }
    quanta = {p.column.field: _quantum(p) for p in parts if p.column.field in roles and p.values is not None}
    found = sensors.examine({k: v for k, v in data.items() if k in roles}, order.segment, quanta)
    suspects = _apply_suspects(found, data, roles, table, order)
    series = [pl.Series("segment", order.segment)]
    for p in parts:
        if p.values is not None:
            series.append(pl.Series(p.column.field, data[p.column.field], nan_to_null=True))
        else:
            if p.channel.kind == "empty" and p.column.unit != "text":
                series.append(pl.Series(p.column.field, [None] * int(order.rows.size), dtype=pl.Float64))
                continue
            texts = [p.texts.get(int(r)) for r in order.rows] if p.texts else [None] * int(order.rows.size)
            series.append(pl.Series(p.column.field, texts, dtype=pl.Utf8))
    clock = next((p.column.field for p in parts if p.column.role == "time" and p.values is not None), None)
    segments = _segments(order, data.get(clock) if clock else None)
    place = {int(r): i for i, r in enumerate(order.rows)} if table.remarks else {}
    remarks = [Remark(line, place.get(row, int(order.rows.size)), text) for line, row, text in table.remarks]
    dropped = sorted(table.dropped)
    gaps = [Gap(*g) for g in order.gaps]
    log = Log(
        source.path,
        source.sha256,
        table.dialect,
        [p.column for p in parts],
        segments,
        table.repairs,
        int(order.rows.size),
        pl.DataFrame(series),
        table.flags,
        [],
        remarks=remarks,
        dropped=dropped,
        gaps=gaps,
    )
    ragged = sum(1 for _, reason in table.dropped if reason.startswith(("cut", "ragged")))
    log.rows_in_file = int(table.lines.size) + ragged
    log.suspect_cells = suspects
    log.missing_cells = sum(p.column.missing for p in parts if p.channel.kind != "text")
    return log


def _quantum(part: Understood) -> float:
    """The last place a channel was written with, in the wanted unit (from its first rows)."""
    import numpy as np

    raw = part.channel.values[:500]
    good = np.flatnonzero(np.isfinite(raw))
    if good.size < 2 or part.values is None:
        return 0.0
    x, y = raw[good], part.values[:500][good]
    low, high = int(np.argmin(x)), int(np.argmax(x))
    slope = abs((y[high] - y[low]) / (x[high] - x[low])) if x[high] > x[low] else 1.0
    for digits in range(6):
        shifted = x * 10.0**digits
        if np.all(np.abs(shifted - np.round(shifted)) < 1e-6 * np.maximum(1.0, np.abs(shifted))):
            return float(slope * 10.0**-digits)
    return 0.0


def _apply_suspects(
    found: list[sensors.Suspect],
    data: dict[str, NDArray[np.float64]],
    roles: Mapping[str, Column],
    table: Table,
    order: Order,
) -> dict[str, int]:
    import numpy as np

    counts: dict[str, int] = {}
    for suspect in found:
        column, x = roles[suspect.role], data[suspect.role]
        at = np.flatnonzero(suspect.cells)
        counts[suspect.role] = counts.get(suspect.role, 0) + int(at.size)
        column.suspect += int(at.size)
        file_lines = table.lines[order.rows[at]]
        table.flags.append(Flag(suspect.flag, suspect.sentence, int(file_lines[0]), column.name))
        if suspect.blank:
            x = data[suspect.role] = x.copy()
            breaks = np.flatnonzero(np.diff(at) > 1)
            for a, b in zip(np.append(0, breaks + 1), np.append(breaks, at.size - 1), strict=True):
                table.repairs.append(
                    Repair(
                        int(file_lines[a : b + 1].min()),
                        column.name,
                        "dead sensor left out",
                        f"{x[at[a]]:g} {column.unit}",
                        "",
                        suspect.sentence,
                        int(file_lines[a : b + 1].max()),
                        int(b - a + 1),
                    )
                )
            x[at] = np.nan
        else:
            table.repairs.append(
                Repair(
                    int(file_lines[0]),
                    column.name,
                    "marked, kept",
                    f"{x[at[0]]:g} {column.unit}",
                    f"{x[at[0]]:g} {column.unit}",
                    suspect.sentence,
                    int(file_lines[-1]),
                    int(at.size),
                )
            )
    return counts


def _segments(order: Order, t: NDArray[np.float64] | None) -> list[Segment]:
    import numpy as np

    count = int(order.segment.max()) + 1 if order.segment.size else 0
    edges = np.searchsorted(order.segment, np.arange(count + 1))
    out = []
    for i in range(count):
        lo, hi = int(edges[i]), int(edges[i + 1])
        first = last = None
        if t is not None:
            good = t[lo:hi][np.isfinite(t[lo:hi])]
            first, last = (float(good[0]), float(good[-1])) if good.size else (None, None)
        step = order.steps[i] if i < len(order.steps) else None
        out.append(Segment(i, lo, hi - lo, first, last, round(step, 9) if step is not None else None))
    return out
