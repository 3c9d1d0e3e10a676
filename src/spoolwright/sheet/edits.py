"""One edit of one value of a sheet: made on what stands on disk, never over somebody else's, and undone again.

An edit says what its maker saw. It is made on the file as it stands now; where the value at its path is no longer
what was seen, nothing is written and both are told. Other values that changed meanwhile are kept as they stand.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from spoolwright.errors import BadInput, SaveConflict
from spoolwright.sheet.claims import SHEET_FILE, path_steps
from spoolwright.sheet.model import Sheet
from spoolwright.sheet.saving import open_document, save

_TRIES = 5  # a file that changes this often between reading and writing is being fought over


class Overtaken(BadInput):
    """The value was changed elsewhere since it was seen; ``mine`` and ``theirs`` are raw values (None: none stands)."""

    def __init__(self, path: str, mine: Any, theirs: Any) -> None:
        super().__init__(f"{path} was changed elsewhere to {said(theirs)} meanwhile; yours is {said(mine)}")
        self.path, self.mine, self.theirs = path, mine, theirs


@dataclass(frozen=True)
class Edit:
    """A change of one field as written: the file, the whole field's raw value before and after (None: none stood)."""

    file: str
    path: str
    before: Any
    after: Any

    @property
    def back(self) -> Edit:
        """The edit that undoes this one."""
        return Edit(self.file, self.path, self.after, self.before)


def said(raw: Any) -> str:
    """A raw value in words."""
    if raw is None:
        return "nothing"
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, list):
        return ", ".join(said(one) for one in raw)
    if isinstance(raw, dict):
        return ", ".join(f"{key} {said(one)}" for key, one in raw.items())
    return str(raw)


def standing(text: str, path: str) -> Any:
    """The raw value at ``path`` in the text of a sheet; None where none stands.

    A place of a list or table by cylinder falls back on what stands for all.
    """
    found: Any = tomllib.loads(text)
    for step in path_steps(path):
        if isinstance(found, list):
            at = int(step) if step.isdigit() else 0
            found = found[at - 1] if 1 <= at <= len(found) else None
        elif isinstance(found, dict):
            found = found.get(step, found.get("others") if step.isdigit() else None)
        elif not step.isdigit():
            return None
    return found


def file_of(sheet: Sheet | None, path: str) -> str:
    """The file in which the field at ``path`` stands; the sheet's own file where it stands nowhere."""
    entry = None if sheet is None else sheet.entries.get(_plain(path))
    if entry is None or entry.assumed or entry.claim is None or not entry.claim.file.endswith(".toml"):
        return SHEET_FILE
    return entry.claim.file


def _plain(path: str) -> str:
    return re.sub(r"\[\d+\]", "", path)


def make(folder: Path, file: str, path: str, value: Any, seen: Any) -> Edit:
    """Write ``value`` at ``path`` where still ``seen`` stands there; the edit made.

    Raises Overtaken where something else stands there, BadInput where the file cannot be written.
    """
    return _write(folder, file, path, value, seen)


def redo(folder: Path, edit: Edit) -> Edit:
    """Make an edit (or, with ``edit.back``, its undoing) once more, on the same condition."""
    return _write(folder, edit.file, edit.path, edit.after, edit.before)


def _write(folder: Path, file: str, path: str, value: Any, seen: Any) -> Edit:
    for _ in range(_TRIES):
        document = open_document(folder, file)
        there = standing(document.text, path)
        if there != seen and there != value:
            raise Overtaken(path, value, there)
        field = _plain(path)
        before = standing(document.text, field)
        try:
            saved = save(document, {path: _inline(value)})
        except SaveConflict:
            continue
        return Edit(file, field, before, standing(saved.text, field))
    raise BadInput(f"{file}: it keeps changing while it is being saved; nothing was written")


def _inline(value: Any) -> Any:
    """A table by cylinder stays on its line."""
    if not isinstance(value, dict):
        return value
    import tomlkit

    table = tomlkit.inline_table()
    table.update(value)
    return table
