"""Saving a sheet: changed values only, atomically, never over somebody else's change.

Comments, order and layout of the file stay. A save writes a new file beside the old one, forces it to
disk and renames it, so that at any moment the old or the new whole is there. Before that the file on
disk is compared with the one that was read; where it differs nothing is written and the difference
is shown. Two processes that save at once are kept apart by a lock on the folder where the system has
such locks (not on Windows).
"""

from __future__ import annotations

import contextlib
import difflib
import hashlib
import os
import re
import tempfile
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from spoolwright.errors import BadInput, SaveConflict
from spoolwright.sheet import files
from spoolwright.sheet.claims import SHEET_FILE, path_steps
from spoolwright.sheet.faults import shown
from spoolwright.sheet.lookup import field


@dataclass(frozen=True)
class Document:
    """A file of a build as it was read: its bytes and their hash."""

    path: Path
    data: bytes

    @property
    def text(self) -> str:
        """The file's text."""
        return files.decode(self.data, self.path.name)

    @property
    def hash(self) -> str:
        """Hash of the file's bytes."""
        return hashlib.sha256(self.data).hexdigest()


def open_document(folder: str | Path, name: str = SHEET_FILE) -> Document:
    """The file ``name`` of the build in ``folder``, to be changed and saved. Raises BadInput."""
    path = files.inside(Path(folder), name)
    if path is None:
        raise BadInput(f"{shown(name)} does not lie in the build's folder")
    return Document(path, files.read_bytes(path, name))


def save(document: Document, changes: Mapping[str, Any]) -> Document:
    """Write ``changes`` (path: text as typed, list, or None to take the field away) into the file; gives it as saved.

    The values are not judged here: a sheet with a fault may be saved and mended later.
    Raises SaveConflict where the file changed on disk since it was read, BadInput where a path is none of the sheet.
    """
    text = changed(document.text, changes, document.path.name)
    data = text.encode()
    if document.data.startswith(b"\xef\xbb\xbf"):
        data = b"\xef\xbb\xbf" + data
    if data != document.data:
        replace_file(document.path, data, expected=document.data)
    return Document(document.path, data)


def changed(text: str, changes: Mapping[str, Any], name: str = SHEET_FILE) -> str:
    """``text`` with ``changes`` made; comments, order and line ends kept. Raises BadInput."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        wanted = tomllib.loads(text)
        tree = tomlkit.parse(text)
        for path, value in changes.items():
            field(path)
            steps = path_steps(path)
            _put(wanted, steps, value)
            _put(tree, steps, value)
        new = tomlkit.dumps(tree)
        if tomllib.loads(new) != wanted:
            raise ValueError("the text would not say what was meant")
    except (ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError, TOMLKitError) as trouble:
        reason = str(trouble).splitlines()[0] if str(trouble) else type(trouble).__name__
        raise BadInput(f"{name}: the change cannot be written into this file ({reason}); edit it by hand") from None
    return new


def _put(tree: Any, steps: list[str], value: Any) -> None:
    """Set (or with None remove) the value at ``steps`` in nested tables, lists and values by cylinder."""
    *way, last = steps
    for depth, step in enumerate(way):
        following = steps[depth + 1]
        if isinstance(tree, list):
            tree = tree[_place(tree, step)]
            continue
        if step not in tree:
            if value is None:
                return
            tree[step] = _inline() if following.isdigit() else _table()
        elif following.isdigit() and not isinstance(tree[step], (list, dict)):
            held = tree[step]
            tree[step] = _inline()
            tree[step]["others"] = held.unwrap() if hasattr(held, "unwrap") else held
        tree = tree[step]
    if isinstance(tree, list):
        if value is None:
            raise ValueError("one value of a list cannot be taken away; write the whole list")
        tree[_place(tree, last)] = value
    elif value is None:
        tree.pop(last, None)
    else:
        tree[last] = value


def _place(values: list[Any], step: str) -> int:
    if not step.isdigit() or not 1 <= int(step) <= len(values):
        raise ValueError(f"{step} is no place of a list of {len(values)}")
    return int(step) - 1


def _inline() -> Any:
    import tomlkit

    return tomlkit.inline_table()


def _table() -> Any:
    import tomlkit

    return tomlkit.table()


def replace_file(path: Path, data: bytes, expected: bytes | None) -> None:
    """Put ``data`` in place of the file at once; ``expected`` is what must still stand there (None: nothing).

    Raises SaveConflict with the difference where something else stands there, BadInput where it cannot be written.
    """
    try:
        with _alone(path.parent):
            _check(path, expected)
            _swap(path, data)
    except OSError as trouble:
        raise BadInput(f"{path.name}: it cannot be written ({trouble.strerror or type(trouble).__name__})") from None


def _check(path: Path, expected: bytes | None) -> None:
    there = path.read_bytes() if path.exists() else None
    if there == expected:
        return
    before = (expected or b"").decode("utf-8", "replace").splitlines(keepends=True)
    now = (there or b"").decode("utf-8", "replace").splitlines(keepends=True)
    difference = "".join(difflib.unified_diff(before, now, f"{path.name} as you opened it", f"{path.name} on disk"))
    raise SaveConflict(
        f"{path.name} was changed by somebody else since it was read; nothing was written. Look at the difference, "
        "read the file again and make your change once more",
        difference,
    )


def _swap(path: Path, data: bytes) -> None:
    handle, beside = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".new", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        with contextlib.suppress(OSError):
            os.chmod(beside, path.stat().st_mode & 0o777 if path.exists() else 0o644)
        os.replace(beside, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(beside)
        raise
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Force a folder's entries to disk where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Keep other savers of this folder out meanwhile; the lock ends with the process."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


_LEFT = re.compile(r"\..+\.[a-z0-9_]+\.new")


def sweep(folder: Path) -> list[str]:
    """Remove what killed saves left beside the files of ``folder``; gives the names removed."""
    gone = []
    for path in folder.iterdir():
        if _LEFT.fullmatch(path.name) and path.is_file():
            path.unlink(missing_ok=True)
            gone.append(path.name)
    return gone
