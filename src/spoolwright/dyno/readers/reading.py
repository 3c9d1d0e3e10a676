"""Reading a log from file to table: the other modules of this folder in their order."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spoolwright.dyno.log import Column, Flag, Log, Repair
from spoolwright.dyno.readers import fast, longform, memory, side_by_side, sideways
from spoolwright.dyno.readers.assemble import assemble, order_rows
from spoolwright.dyno.readers.delimiter import LONGEST_LINE, MOST_COLUMNS, choose
from spoolwright.dyno.readers.encoding import decode, split_lines
from spoolwright.dyno.readers.layout import Table, lay_out, sample_lines
from spoolwright.dyno.readers.meaning import (
    Understood,
    clock_column,
    codes_for_missing,
    columns_of,
    convert,
    display_name,
    unit_words,
)  # fmt: skip
from spoolwright.dyno.readers.names import Meaning
from spoolwright.dyno.readers.observations import observe
from spoolwright.dyno.readers.particulars import read_particulars
from spoolwright.dyno.readers.quantities import possible, wanted_unit
from spoolwright.dyno.readers.resolve import Channel, as_texts, fill_numbers, resolve
from spoolwright.dyno.readers.source import Source, check_text, digest, load
from spoolwright.errors import BadLog

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def read_log(path: Path | str, confirmed: Mapping[Any, Any] | None = None) -> Log:
    """Read any text log.

    ``confirmed`` states what columns are, as ``{"CHT 1": "head_temp_1 [degF]", 4: {"role": "afr"}}``; it is remembered
    in a .toml beside the log. Raises BadLog with one sentence for what is no log, BadInput for a wrong role or unit.
    """
    log = read_source(load(Path(path)), confirmed)
    if confirmed:
        memory.remember(log)
    return log


def read_bytes(data: bytes, path: Path | str, confirmed: Mapping[Any, Any] | None = None) -> Log:
    """Read a log that is in memory already (an upload); ``path`` says where it stands or will stand. Writes nothing."""
    check_text(Path(path), data)
    return read_source(Source(Path(path), data), confirmed)


def read_source(source: Source, confirmed: Mapping[Any, Any] | None = None) -> Log:
    """:func:`read_log` without the file system."""
    path = source.path
    try:
        quick = fast.read(source.data)
        if quick is not None:
            table, source.sha256 = quick
        else:
            source.sha256 = digest(source.data)
            table = _read_carefully(source)
        log = _understand(source, table, confirmed)
    except BadLog as fault:
        text = str(fault)
        raise BadLog(text if text.startswith(str(path)) else f"{path}: {text}") from None
    except MemoryError:
        raise BadLog(f"{path}: too large for the memory of this machine; cut it into single runs") from None
    return log


def _read_carefully(source: Source) -> Table:
    text = decode(source.data)
    source.data = b""
    lines, ends = split_lines(text.text)
    open_end = not text.text.endswith(("\n", "\r"))
    longest = max(map(len, lines), default=0)
    if longest > LONGEST_LINE:
        raise BadLog(f"a line of {longest} characters; this is no table of samples")
    sample = sample_lines(lines)
    shape = choose(sample)
    if shape is None:
        raise BadLog("no table found: no separator (comma, semicolon, tab, bar, blanks) makes columns of numbers")
    if shape.width > MOST_COLUMNS:
        raise BadLog(f"{shape.width} columns; this is no log (at most {MOST_COLUMNS})")
    table = lay_out(lines, shape, sample, open_end)
    d = table.dialect
    d.encoding, d.byte_order_mark, d.line_ends = text.encoding, text.byte_order_mark, ends
    d.quoted = '"' in lines[(d.first_data_line or 1) - 1]
    table.repairs[:0] = text.repairs
    names = {"zero bytes taken out": "zero_bytes", "undecodable bytes": "undecodable_bytes"}
    for repair in text.repairs:
        if repair.what in names:
            table.flags.append(Flag(names[repair.what], f"{repair.what}: {repair.count}", repair.line))
    if not text.is_utf8:
        table.flags.append(Flag("not_utf8", f"the text is {text.encoding}", 1))
    if ends == "mixed":
        table.flags.append(Flag("mixed_line_ends", "lines end in more than one way"))
    return _upright(table)


def _upright(table: Table) -> Table:
    """One row a sample and one column a channel, where the file was laid out in another way."""
    found = longform.find_channels(table)
    if found:
        return longform.widen(table, *found)
    lead = sideways.lies_on_its_side(table)
    if lead:
        table = sideways.turn(table, lead)
    blocks = side_by_side.find_blocks(table)
    return side_by_side.onto_one_clock(table, blocks) if blocks else table


def _understand(source: Source, table: Table, confirmed: Mapping[Any, Any] | None) -> Log:
    import numpy as np

    repairs, d = table.repairs, table.dialect
    header_line = d.header_lines[-1] if d.header_lines else None
    _drop_empty_columns(table, header_line)
    rows = int(table.lines.size)
    names = [display_name(f.name) or f"column {i + 1}" for i, f in enumerate(table.fields)]
    _check_names(names, table, header_line)
    channels = []
    for column, name in zip(table.fields, names, strict=True):
        channel = resolve(column, rows)
        if channel.kind == "numeric":
            fill_numbers(channel, table.lines, name, repairs)
        elif channel.kind == "empty" and channel.missing:
            why, lines = "no cell of this column holds a value", table.lines
            repairs.append(Repair(int(lines[0]), name, "no value", "", "", why, int(lines[-1]), channel.missing))
        channels.append(channel)
    known, source_name = memory.recall(source.path, names)
    if source_name == memory.memory_path(source.path).name:
        kept = memory.hash_kept(source.path)
        if kept and kept != source.sha256:
            words = f"the log is not the one that was confirmed (sha256 {kept[:16]} then, {source.sha256[:16]} now)"
            table.flags.append(Flag("changed_since_confirmed", words))
    if confirmed:
        known, source_name = {**known, **memory.settle(confirmed, names)}, "by you"
    meanings, _ = columns_of(
        channels, names, [c.field.unit_text or c.unit_behind for c in channels], known, source_name
    )
    parts = [
        _column(i, name, channel, meaning, table, header_line, i in known)
        for i, (name, channel, meaning) in enumerate(zip(names, channels, meanings, strict=True))
    ]
    _name_fields(parts)
    order = order_rows(parts, table)
    log = assemble(source, table, parts, order)
    _flag_columns(log, channels, names, parts)
    log.particulars, log.meta = read_particulars(table.preamble)
    log.observations = observe(log)
    log.row_lines = np.asarray(table.lines)[order.rows]
    return log


def _drop_empty_columns(table: Table, header_line: int | None) -> None:
    """Columns without a name and without a filled cell: a separator at the end of every line, or two in a row."""
    kept = []
    for i, column in enumerate(table.fields):
        empty = not column.name.strip() and column.blanks().size + column.absent >= table.lines.size
        if empty and len(table.fields) > 2:
            last = i == len(table.fields) - 1
            table.dialect.empty_trailing_column = table.dialect.empty_trailing_column or last
            why = "a separator at the end of every line" if last else "neither a name nor a value in it"
            table.repairs.append(Repair(header_line, f"column {i + 1}", "empty column left out", "", "", why))
        else:
            kept.append(column)
    table.fields = kept


def _check_names(names: list[str], table: Table, header_line: int | None) -> None:
    if not table.headed:
        table.flags.append(Flag("no_header", "no names above the columns; say what they are"))
        _check_comma(table)
    twice = sorted({n for n in names if names.count(n) > 1}, key=names.index)
    for name in twice:
        count = names.count(name)
        table.flags.append(Flag("duplicate_names", f'"{name}" stands over {count} columns', header_line, name))
        table.repairs.append(
            Repair(header_line, name, "names told apart", name, f"{count} roles", "the same name over several columns")
        )


def _check_comma(table: Table) -> None:
    """A line of fewer names above the rows: the separator is the decimal sign too, and nobody can cut such rows."""
    if table.dialect.delimiter != "," or not table.preamble:
        return
    line, text = table.preamble[-1]
    names = [c.strip() for c in text.split(",")]
    if 2 <= len(names) < len(table.fields) and all(names) and not any(c[:1].isdigit() for c in names):
        words = (
            f"line {line} names {len(names)} columns, the rows have {len(table.fields)} cells: the comma seems to be "
            "the decimal sign as well as the separator; export again with semicolons, tabs or quotes"
        )
        table.flags.append(Flag("comma_twice", words, line))


def _column(
    index: int, name: str, channel: Channel, meaning: Meaning, table: Table, header_line: int | None, sure: bool
) -> Understood:
    repairs, flags = table.repairs, table.flags
    column = Column(index, name, meaning.role, "", "", "", meaning.reason, question=meaning.question, confirmed=sure)
    values, guessed = None, meaning.guessed
    if meaning.role == "time" and channel.kind in ("numeric", "clock"):
        values, written, guessed = clock_column(channel, meaning, name, table.lines, header_line, repairs, flags)
        column.unit = "s"
        column.unit_in_file = unit_words(meaning, "numeric", guessed) if guessed else written
        column.question = meaning.question
    elif channel.kind == "numeric":
        _unit_changes(channel, meaning, name, repairs)
        values, column.unit, column.converted = convert(channel, meaning, name, header_line, repairs)
        if meaning.role and column.converted:
            values = _codes(values, channel, meaning.role, name, table)
    else:
        column.unit = "text" if channel.kind != "empty" or meaning.role is None else wanted_unit(meaning.role)
    if not column.unit_in_file:
        column.unit_in_file = unit_words(meaning, channel.kind, guessed)
    column.guessed_unit = guessed
    column.reference = meaning.unit.reference if meaning.unit else ""
    if meaning.role in ("boost_gauge", "manifold_abs"):
        column.reference = "gauge" if meaning.role == "boost_gauge" else "absolute"
    for note in meaning.notes:
        column.reason += f"; {note}"
    if meaning.role is None:
        repairs.append(
            Repair(header_line, name, "no role", name, "", f"{meaning.reason}; not in the clean table until confirmed")
        )
    elif guessed:
        repairs.append(Repair(header_line, name, "unit guessed", "", guessed, meaning.guess_why or "by its range"))
        flags.append(Flag("units_missing", f'"{name}" has no unit; {guessed} fits', header_line, name))
        if column.unit == "counts":
            _say_unconverted(column, meaning, name, header_line, flags)
    elif not column.converted and channel.kind == "numeric":
        _say_unconverted(column, meaning, name, header_line, flags)
    if channel.kind == "text" or meaning.role in ("marker", "remark", "date"):
        channel.missing = 0
    column.missing = channel.missing
    texts = channel.texts
    if channel.kind == "clock" and values is None:  # clocks that are no time: words, plain numbers among them too
        texts = as_texts(channel.field, channel.values)
    return Understood(channel, column, values, texts if values is None else {})


def _say_unconverted(column: Column, meaning: Meaning, name: str, header_line: int | None, flags: list[Flag]) -> None:
    if column.unit == "counts":
        flags.append(Flag("counts_not_units", f'"{name}" holds counts of a converter, no units', header_line, name))
        column.question = column.question or f'what do the counts of "{name}" mean: which value at which two counts?'
    elif meaning.unit is not None and meaning.unit.dimension == "volume_flow":
        column.question = column.question or f'"{name}" is a volume flow; what is the density of the fuel?'
    elif meaning.unit is None:
        flags.append(Flag("units_missing", f'"{name}" has no unit, and its range does not tell', header_line, name))
        column.question = column.question or f'in which unit is "{name}"?'
    else:
        column.question = (
            column.question or f'"{name}" is in {column.unit}; how is it brought to {wanted_unit(column.role or "")}?'
        )


def _unit_changes(channel: Channel, meaning: Meaning, name: str, repairs: list[Repair]) -> None:
    """A second header with another unit for the same name: those rows are brought to the first unit."""
    from spoolwright.dyno.readers.quantities import conversion, read_unit

    changes = channel.field.unit_changes
    if not changes or meaning.unit is None:
        return
    bounds = [c[0] for c in changes] + [channel.values.size]
    for (first, _, text), stop in zip(changes, bounds[1:], strict=True):
        unit = read_unit(text)
        if (
            unit is None
            or unit.dimension != meaning.unit.dimension
            or unit.registry == meaning.unit.registry
            or not unit.registry
        ):
            continue
        a, b = conversion(unit.registry, unit.dimension)
        c, d = conversion(meaning.unit.registry, meaning.unit.dimension)
        if not channel.values.flags.writeable:
            channel.values = channel.values.copy()
        channel.values[first:stop] = a * (channel.values[first:stop] + b) / c - d
        repairs.append(
            Repair(
                None,
                name,
                "unit converted",
                unit.name,
                meaning.unit.name,
                f"rows {first} to {stop - 1} stand under another unit",
            )
        )


def _codes(values: NDArray[np.float64], channel: Channel, role: str, name: str, table: Table) -> NDArray[np.float64]:
    rows = codes_for_missing(values, channel.values, role)
    if rows.size == 0:
        return values
    values = values.copy()
    where = channel.field.lines if channel.field.lines is not None else table.lines
    for row in rows:
        before = f"{channel.values[row]:g}"
        table.repairs.append(
            Repair(
                int(where[row]),
                name,
                "no value",
                before,
                "",
                f"a code for no value: no {role} is so high",
                int(where[row]),
            )
        )
        values[row] = float("nan")
    channel.missing += int(rows.size)
    return values


def _name_fields(parts: list[Understood]) -> None:
    taken = {"segment"}
    for part in parts:
        wish = part.column.role or part.column.name
        name, n = wish, 2
        while name in taken:
            name, n = f"{wish} ({n})", n + 1
        taken.add(name)
        part.column.field = name


def _flag_columns(log: Log, channels: list[Channel], names: list[str], parts: list[Understood]) -> None:
    for channel, name in zip(channels, names, strict=True):
        if channel.words:
            log.flags.append(
                Flag(
                    "text_in_number_column",
                    f'{channel.words} words in "{name}" count as missing in their cell',
                    None,
                    name,
                )
            )
    if log.missing_cells:
        log.flags.append(Flag("missing_cells", f"{log.missing_cells} cells hold no value"))
    if any(r.what == "sign put in front" for r in log.repairs):
        log.flags.append(Flag("trailing_sign", "signs stand behind the numbers"))
    for part in parts:
        column = part.column
        if column.role and part.channel.kind == "numeric" and "x1000" in column.unit_in_file:
            log.flags.append(Flag("scaled_speed", f'"{column.name}" counts thousands of rpm', None, column.name))
        limits = possible(column.role) if column.role and column.converted else None
        if limits is None or part.values is None:
            continue
        low, high = log.table[column.field].min(), log.table[column.field].max()
        if isinstance(low, float) and isinstance(high, float) and (low < limits[0] or high > limits[1]):
            sentence = (
                f"{column.role} goes from {low:g} to {high:g} {column.unit}; {limits[0]:g} to {limits[1]:g} is possible"
            )
            log.flags.append(Flag("implausible_values", sentence + "; check the unit or the sensor", None, column.name))
            column.question = column.question or f'is "{column.name}" really in {column.unit_in_file}?'
