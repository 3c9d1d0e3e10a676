"""Values of a sheet as words for a book: what stands at a field, a section as facts."""

from __future__ import annotations

import re
from collections.abc import Iterator

from spoolwright.book.content import Beside, Block, Cell, Facts, Part
from spoolwright.book.in_units import printed
from spoolwright.sheet import Sheet
from spoolwright.sheet.model import Entry
from spoolwright.sheet.tables import Table

_LEFT_OUT = ("schema", "name", "note", "invented", "use")
_NUMBER = re.compile(r"([-−+]?[\d.,]+(?:e[-+]?\d+)?)\s*(.*)$")


def shown(entry: Entry) -> str:
    """What stands at a field, in one line."""
    content = entry.content
    if entry.field.numeric:
        return printed(_together([q.text for q in (entry.quantities[:1] if entry.one else entry.quantities)]))
    if isinstance(content, Table):
        rows = len(next(iter(content.columns.values()), ()))
        return f"{content.file}, {rows} rows"
    if isinstance(content, bool):
        return "yes" if content else "no"
    if isinstance(content, tuple):
        parts = [", ".join(map(str, one)) if isinstance(one, tuple) else str(one) for one in content]
        return (" | " if any(isinstance(one, tuple) for one in content) else ", ").join(parts)
    text = str(content)
    return text.replace("_", " ") if entry.field.kind in ("choice", "place") else text


def _together(texts: list[str]) -> str:
    """ "52.1 cc", "51.8 cc" as "52.1, 51.8 cc" where all end alike."""
    if len(set(texts)) == 1:
        return texts[0]
    found = [_NUMBER.match(text) for text in texts]
    tails = {m[2] for m in found if m}
    if all(found) and len(tails) == 1:
        return f"{', '.join(m[1] for m in found if m)} {tails.pop()}".rstrip()
    return ", ".join(texts)


def value(sheet: Sheet, path: str) -> Cell | None:
    """The value at ``path`` with its mark; None where none is given."""
    entry = sheet.entries.get(path)
    return None if entry is None else Cell(shown(entry), "a" if entry.assumed else "")


def facts(sheet: Sheet, rows: list[tuple[str, str]]) -> Facts:
    """Name and value of each (name, path) that is given; "not given" stays out."""
    found = [(name, value(sheet, path)) for name, path in rows]
    return Facts(tuple((name, cell) for name, cell in found if cell is not None))


def sections(sheet: Sheet) -> Iterator[Part]:
    """The whole sheet, a part for each of its sections in their order; without what belongs to the hand over."""
    by_top: dict[str, dict[str, list[Entry]]] = {}
    for path, entry in sheet.entries.items():
        section = path.rpartition(".")[0]
        top = section.partition(".")[0]
        if path not in _LEFT_OUT and top != "handover":
            by_top.setdefault(top, {}).setdefault(section, []).append(entry)
    for top, inner in by_top.items():
        rows: list[Row] = []
        for section, entries in inner.items():
            words = section.replace("_", " ").split(".")[1:]
            rows += [(", ".join(words), None)] if words else []
            rows += [(_label(e.path), Cell(shown(e), "a" if e.assumed else "")) for e in entries]
        yield Part(_title(top), (_side_by_side(rows),))


Row = tuple[str, Cell | None]  # a name and its value; without one, the heading of what follows
_HEADING = 2.2  # rows a heading takes


def _side_by_side(rows: list[Row]) -> Beside:
    """Rows in two stacks of about one height; no heading ends a stack."""
    half = sum(_HEADING if cell is None else 1.0 for _, cell in rows) / 2.0
    tall, at = 0.0, 0
    while at < len(rows) and tall < half:
        tall += _HEADING if rows[at][1] is None else 1.0
        at += 1
    for near in (0, -1, 1, -2, 2):  # rather at a heading than two rows off it
        if 0 < at + near < len(rows) and rows[at + near][1] is None:
            at += near
            break
    while at > 1 and rows[at - 1][1] is None:
        at -= 1
    return Beside(tuple(_stack(rows[:at])), tuple(_stack(rows[at:])))


def _stack(rows: list[Row]) -> Iterator[Block]:
    title, held = "", []
    for name, cell in [*rows, ("", None)]:
        if cell is not None:
            held.append((name, cell))
            continue
        if held:
            yield Part(title, (Facts(tuple(held)),)) if title else Facts(tuple(held))
        title, held = name, []


def _label(path: str) -> str:
    return path.rpartition(".")[2].replace("_", " ")


def _title(section: str) -> str:
    return section.replace("_", " ").capitalize()
