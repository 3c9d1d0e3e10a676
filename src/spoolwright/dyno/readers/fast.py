"""Clean big files: laid out from the beginning and the end, the body read in one go by Polars.

A body counts as clean when every cell is a plain finite number, every line has all its cells, lines end in one way, and
nothing stands below the last row. Each of these is checked on the whole file, not on a sample; where one fails the
careful path reads the file instead, with the same result but more slowly.
"""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, Final

from spoolwright.dyno.readers.cells import HUGE
from spoolwright.dyno.readers.delimiter import BLANKS, choose
from spoolwright.dyno.readers.encoding import split_lines
from spoolwright.dyno.readers.layout import Table, lay_out
from spoolwright.dyno.readers.source import digest
from spoolwright.errors import BadLog

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WORTH_IT: Final = 2_000_000  # bytes; below this the careful path takes a fraction of a second
_END: Final = 65536


def read(data: bytes) -> tuple[Table, str] | None:
    """(table, sha256) of a clean big file, or None where the careful path has to read it."""
    if len(data) < WORTH_IT or b"\x00" in data[:_END] or data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None
    layout = _ends(data)
    if layout is None:
        return None
    table, header_bytes, lines_above = layout
    digests: list[str] = []
    worker = threading.Thread(target=lambda: digests.append(digest(data)))
    worker.start()
    try:
        columns = _body(data, header_bytes, lines_above, table)
    finally:
        worker.join()
    if columns is None:
        return None
    import numpy as np

    rows = columns[0].size
    for column, values in zip(table.fields, columns, strict=True):
        column.pieces, column.odd, column.blank, column.absent = [values], {}, [], 0
    table.lines = np.arange(lines_above + 1, lines_above + 1 + rows)
    table.dialect.fast = True
    return table, digests[0]


def _ends(data: bytes) -> tuple[Table, int, int] | None:
    """Layout by the first and last pieces of the file: (table, bytes above the data, lines above it)."""
    feeds, carriages = data.count(b"\n"), data.count(b"\r")
    if carriages not in (0, feeds) or (carriages and data.count(b"\r\n") != feeds) or not feeds:
        return None
    head, tail = data[:_END], data[-_END:]
    body = head[3:] if head.startswith(b"\xef\xbb\xbf") else head
    try:
        top = body[: body.rindex(b"\n") + 1].decode("utf-8")
        low = tail[tail.index(b"\n") + 1 :].decode("ascii")
    except (ValueError, UnicodeDecodeError):
        return None
    lines, _ = split_lines(top)
    last, _ = split_lines(low)
    shape = choose(lines[:200])
    if shape is None or shape.delimiter == BLANKS or not last:
        return None
    try:
        table = lay_out(lines, shape, lines[:200])
    except BadLog:
        return None
    d = table.dialect
    first = d.first_data_line or 1
    irregular = d.remark_lines or d.footer_lines or d.repeated_header_lines or table.dropped or d.joined_lines
    if irregular or d.decimal != "." or any(n >= first for n in d.blank_lines) or len(table.fields) != shape.width:
        return None
    if any(f.odd or f.blanks().size or f.signs.thousands for f in table.fields) or any(
        line.count(shape.delimiter) != shape.width - 1 for line in last
    ):
        return None
    d.encoding, d.byte_order_mark = "utf-8", body is not head
    d.line_ends = "CRLF" if carriages else "LF"
    above = len(head) - len(body)
    for _ in range(first - 1):
        above = data.index(b"\n", above) + 1
    return table, above, first - 1


def _body(data: bytes, above: int, lines_above: int, table: Table) -> list[NDArray[np.float64]] | None:
    import polars as pl

    names = [f"c{i}" for i in range(len(table.fields))]
    try:
        frame = pl.read_csv(
            data,
            skip_lines=lines_above,
            has_header=False,
            separator=table.dialect.delimiter,
            quote_char=None,
            schema=dict.fromkeys(names, pl.Float64),
            truncate_ragged_lines=False,
            ignore_errors=False,
        )
    except (pl.exceptions.PolarsError, ValueError):
        return None
    expected = data.count(b"\n", above) + (0 if data.endswith(b"\n") else 1)
    if frame.height != expected or frame.height < 2 or b"_" in data[above : above + _END]:
        return None
    # A sum is not finite where one value is nan or inf; lowest and highest show codes such as 1e30.
    seen = frame.select(
        *(pl.col(n).sum().alias(f"{n}+") for n in names),
        *(pl.col(n).min().alias(f"{n}<") for n in names),
        *(pl.col(n).max().alias(f"{n}>") for n in names),
    ).row(0)
    if sum(frame.null_count().row(0)) or any(v is None or not abs(v) < HUGE for v in seen):
        return None
    return [frame[name].to_numpy() for name in names]
