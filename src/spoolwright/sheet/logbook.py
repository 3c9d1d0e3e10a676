"""The logbook of a build: one line of JSON an entry, only ever added to.

An entry goes to disk in one write behind everything already there; a line that a crash cut short is
left as it is, reported, and the next entry begins on a line of its own.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from spoolwright.errors import BadInput
from spoolwright.sheet import files
from spoolwright.sheet.faults import Fault, closest, shown
from spoolwright.sheet.saving import sync_folder

LOGBOOK_FILE: Final = "logbook.jsonl"
KINDS: Final = ("measurement", "change", "run-in step", "pull", "sign-off", "note")
_LARGEST = 200_000_000


@dataclass(frozen=True)
class Entry:
    """One entry: when (ISO 8601 with offset), who, which kind, in words, and details by name."""

    time: str
    author: str
    kind: str
    text: str
    details: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Logbook:
    """All entries in order, and what could not be read."""

    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]


def append(folder: str | Path, kind: str, text: str, author: str, at: datetime | None = None, **details: Any) -> Entry:
    """Add one entry. ``at`` carries its offset from UTC (now when not given); details are what JSON can hold.

    Raises BadInput for an unknown kind, missing words or author, a time without offset, or a disk that refuses.
    """
    if kind not in KINDS:
        raise BadInput(f"{shown(kind)} is not a kind of entry{closest(kind, KINDS)}; kinds are {', '.join(KINDS)}")
    if not text.strip() or not author.strip():
        raise BadInput("an entry needs its words and its author")
    when = at or datetime.now().astimezone()
    if when.tzinfo is None:
        raise BadInput("the time of an entry needs its offset from UTC, for example 2024-05-04T16:20:00+02:00")
    entry = Entry(when.isoformat(timespec="seconds"), author.strip(), kind, text.strip(), details)
    try:
        line = json.dumps(_record(entry), ensure_ascii=False, allow_nan=False)
    except (TypeError, ValueError):
        raise BadInput("the details of an entry are text, numbers, lists and tables only") from None
    _write(Path(folder) / LOGBOOK_FILE, line + "\n")
    return entry


def _record(entry: Entry) -> dict[str, Any]:
    record = {"time": entry.time, "author": entry.author, "kind": entry.kind, "text": entry.text}
    return record | ({"details": dict(entry.details)} if entry.details else {})


def _write(path: Path, line: str) -> None:
    try:
        fresh = not path.exists()
        handle = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o644)
        try:
            size = os.fstat(handle).st_size
            if size:
                os.lseek(handle, size - 1, os.SEEK_SET)
                if os.read(handle, 1) != b"\n":
                    line = "\n" + line  # a crash cut the last line short; begin a new one
            os.write(handle, line.encode())
            os.fsync(handle)
        finally:
            os.close(handle)
        if fresh:
            sync_folder(path.parent)
    except OSError as trouble:
        raise BadInput(f"{path.name}: it cannot be written ({trouble.strerror or type(trouble).__name__})") from None


def read(folder: str | Path) -> Logbook:
    """Every entry of the build's logbook; lines that are no entries are reported, none is dropped in silence."""
    path = Path(folder) / LOGBOOK_FILE
    if not path.exists():
        return Logbook((), ())
    rows = files.read_bytes(path, LOGBOOK_FILE, _LARGEST).split(b"\n")
    entries: list[Entry] = []
    faults: list[Fault] = []
    for number, row in enumerate(rows, 1):
        if not row.strip():
            continue
        entry = _entry(row)
        if entry is not None:
            entries.append(entry)
            continue
        cut = number == len(rows)
        why = "this last line was cut short, perhaps by a crash" if cut else "this line is not an entry"
        faults.append(Fault(LOGBOOK_FILE, number, "", f"{why}: {shown(row.decode('utf-8', 'replace'))}"))
    return Logbook(tuple(entries), tuple(faults))


def _entry(row: bytes) -> Entry | None:
    try:
        record = json.loads(row.decode())
        entry = Entry(record["time"], record["author"], record["kind"], record["text"], record.get("details", {}))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
    words = (entry.time, entry.author, entry.kind, entry.text)
    return entry if all(isinstance(w, str) for w in words) and isinstance(entry.details, dict) else None
