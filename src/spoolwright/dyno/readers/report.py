"""The report of a reading: JSON for machines, the clean table for the next program."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from spoolwright.dyno.log import Column, Log, Repair
from spoolwright.errors import BadInput

_SHOWN: Final = 4  # places named of many repairs of one kind; --json lists all


def as_json(log: Log) -> dict[str, Any]:
    """The whole reading as plain data: what was found, what was done, what is to be confirmed."""
    d = log.dialect
    steps = [s.step for s in log.segments if s.step is not None]
    return {
        "file": log.file.name,
        "sha256": log.sha256,
        "dialect": {
            "encoding": d.encoding + (" with byte-order mark" if d.byte_order_mark else ""),
            "delimiter": d.delimiter,
            "decimal": d.decimal,
            "thousands": d.thousands,
            "line_ends": d.line_ends,
            "header_lines": d.header_lines,
            "unit_lines": d.unit_lines,
            "first_data_line": d.first_data_line,
            "preamble_lines": d.preamble_lines,
            "repeated_header_lines": d.repeated_header_lines,
            "remark_lines": d.remark_lines,
            "footer_lines": d.footer_lines,
            "blank_lines": d.blank_lines,
            "joined_lines": d.joined_lines,
            "empty_trailing_column": d.empty_trailing_column,
            "long_form": d.long_form,
        },
        "columns": [_column(c) for c in log.columns],
        "segments": [
            {"rows": s.rows, "time_first": s.time_first, "time_last": s.time_last, "sample_step_s": s.step}
            for s in log.segments
        ],
        "rows": log.rows,
        "rows_in_file": log.rows_in_file,
        "missing_cells": log.missing_cells,
        "suspect_cells": log.suspect_cells,
        "sample_step_s": steps[0] if steps else None,
        "gaps": [
            {"segment": g.segment, "after": g.after, "before": g.before, "samples_lost": g.samples_lost}
            for g in log.gaps
        ],
        "dropped": [{"line": line, "reason": reason} for line, reason in log.dropped],
        "repairs": [
            {
                "line": r.line,
                "last_line": r.last_line,
                "count": r.count,
                "column": r.column,
                "what": r.what,
                "before": r.before,
                "after": r.after,
                "why": r.why,
            }
            for r in log.repairs
        ],
        "flags": log.flag_names,
        "flag_notes": [{"flag": f.name, "line": f.line, "column": f.column, "sentence": f.sentence} for f in log.flags],
        "remarks": [{"line": r.line, "row": r.row, "text": r.text} for r in log.remarks],
        "particulars": [{"line": line, "key": key, "value": value} for line, key, value in log.particulars],
        "meta": log.meta,
        "questions": [{"column": c.index, "name": c.name, "question": c.question} for c in log.columns if c.question],
        "observations": log.observations,
    }


def _column(c: Column) -> dict[str, Any]:
    return {
        "index": c.index,
        "name": c.name,
        "role": c.role,
        "unit_in_file": c.unit_in_file,
        "unit_wanted": c.unit,
        "reference": c.reference or None,
        "guessed_unit": c.guessed_unit or None,
        "confirmed": c.confirmed,
        "reason": c.reason,
        "missing": c.missing,
        "suspect": c.suspect,
        "converted": c.converted,
    }


def heading(column: Column) -> str:
    """Heading of a column in the clean table: ``role [unit]``."""
    return f"{column.role} [{column.unit}]"


def write_clean(log: Log, path: Path | str) -> Path:
    """Write the cleaned table: ``segment``, then one column a role headed ``role [unit]``; CSV or Parquet.

    Columns without a role are not written; they stay in the log's own table and are named in the report.
    """
    import polars as pl

    path = Path(path)
    if path.resolve() == log.file.resolve():
        raise BadInput(f"{path}: this is the log itself, which is never changed; name another file")
    known = [c for c in log.columns if c.role is not None]
    table = log.table.select(pl.col("segment"), *(pl.col(c.field).alias(heading(c)) for c in known))
    ending = path.suffix.lower()
    try:
        if ending == ".parquet":
            table.write_parquet(path)
        elif ending in (".csv", ".txt"):
            table.write_csv(path)
        elif ending == ".tsv":
            table.write_csv(path, separator="\t")
        else:
            raise BadInput(f'{path}: the clean table is written as .csv or .parquet, not "{ending}"')
    except OSError as fault:
        raise BadInput(
            f"{path}: cannot be written ({fault.strerror or fault}); check the folder and the rights"
        ) from None
    return path


def lines_for_people(log: Log) -> list[str]:
    """The report as short lines for a terminal: columns with their reasons, segments, flags, questions, repairs."""
    word = "segment" if len(log.segments) == 1 else "segments"
    out = [f"{log.file.name}: {log.rows} rows in {len(log.segments)} {word}, sha256 {log.sha256[:16]}"]
    for c in log.columns:
        role = c.role or "(nobody can tell)"
        out.append(f'  {c.index:>2} "{c.name}": {role}, {c.unit_in_file} -> {c.unit} ({c.reason})')
    out += [f"  segment {s.index}: {s.rows} rows, {s.time_first} to {s.time_last} s" for s in log.segments]
    asked = [c.question for c in log.columns if c.question]
    # A missing unit is asked about below, with the guess; saying it as a flag too would be the same twice.
    out += [f"  {f.name}: {f.sentence}" for f in log.flags if f.name != "units_missing" or not asked]
    out += [f"  {text}" for text in log.observations]
    out += _repairs_for_people([r for r in log.repairs if not (asked and r.what == "unit guessed")])
    for question, count in Counter(asked).items():
        out.append(f"  to confirm: {question}" + (f" ({count} columns)" if count > 1 else ""))
    if asked:
        out.append('  Confirm once with --column "NAME=ROLE [unit]"; it is remembered beside the log.')
    return out


def _repairs_for_people(repairs: Sequence[Repair]) -> list[str]:
    """A line a repair; many of one kind in one column share a line that names the first few places."""
    kinds: dict[tuple[str | None, str, str], list[Repair]] = {}
    converted: dict[tuple[int | None, str, str, str], list[str]] = {}
    for r in repairs:
        if r.what == "unit converted" and r.column and r.count == 1 and not r.last_line:
            converted.setdefault((r.line, r.before, r.after, r.why), []).append(f'"{r.column}"')
        else:
            kinds.setdefault((r.column, r.what, r.why), []).append(r)
    out = [
        f"  unit converted: {before} -> {after} ({why}) in {', '.join(columns)}"
        for (_, before, after, why), columns in converted.items()
    ]
    for (column, what, why), found in kinds.items():
        of = f', "{column}"' if column else ""
        if len(found) <= _SHOWN + 1:
            out += [f"  {_place(r)}{of}: {what}{_change(r)} ({why})" for r in found]
            continue
        places = ", ".join(_place(r) for r in found[:_SHOWN])
        befores = dict.fromkeys(f'"{r.before}"' for r in found if r.before)
        words = f": {', '.join(list(befores)[:_SHOWN])}" if befores else ""
        out.append(f"  {places} and {len(found) - _SHOWN} more places (--json lists all){of}: {what}{words} ({why})")
    return out


def _place(r: Repair) -> str:
    if r.line is None:
        return "the file"
    return f"line {r.line}" + (f"-{r.last_line}" if r.last_line and r.last_line != r.line else "")


def _change(r: Repair) -> str:
    """What stood there and what stands there now; only what there is to say."""
    many = f", {r.count} cells" if r.count > 1 and r.what == "no value" else ""
    if r.before and r.after:
        return f': "{r.before}" -> "{r.after}"{many}'
    return (f': "{r.before}"' if r.before else f': "{r.after}"' if r.after else "") + many


def raw_lines(data: bytes, log: Log, line: int, around: int = 2) -> list[tuple[int, str]]:
    """The lines about ``line`` as they stand in the file, with their numbers; control characters shown as spaces."""
    encoding = log.dialect.encoding.split(" ")[0]
    try:
        text = data.decode(encoding, errors="replace")
    except LookupError:
        text = data.decode("utf-8", errors="replace")
    rows = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    first, last = max(line - around, 1), min(line + around, len(rows))
    return [(n, "".join(c if c.isprintable() else " " for c in rows[n - 1])) for n in range(first, last + 1)]
