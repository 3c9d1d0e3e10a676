"""Settings in force at each pull, from the build's logbook; keeping a pull in the build.

The sheet says how the build stands now; the logbook's changes say what it was before. A change entry names ``what`` (a
path of the sheet, or words), ``from``, ``to`` and ``why`` in its details; a pull entry names its ``file`` and
``sha256``.
"""

from __future__ import annotations

import contextlib
import hashlib
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from spoolwright.dyno.readers.memory import memory_path
from spoolwright.errors import BadInput
from spoolwright.sheet import field, logbook
from spoolwright.sheet.saving import sync_folder

if TYPE_CHECKING:
    from spoolwright.dyno.log import Log

PULLS: Final = "pulls"


@dataclass(frozen=True, slots=True)
class ChangeMade:
    """One change of the logbook: when, what (a path of the sheet where ``in_sheet``), from, to, why, by whom."""

    time: datetime
    what: str
    before: str
    after: str
    why: str
    author: str
    in_sheet: bool


@dataclass(frozen=True, slots=True)
class Settings:
    """What was in force at one time: ``sets`` ("path=value") bring the present sheet to that state.

    ``before``: changes made by then, last first. ``since``: changes made later. ``known`` tells whether the time of the
    pull is known at all; ``notes`` what could not be taken into account.
    """

    time: datetime | None
    known: bool
    sets: tuple[str, ...]
    before: tuple[ChangeMade, ...]
    since: tuple[ChangeMade, ...]
    notes: tuple[str, ...]


def changes(folder: str | Path) -> list[ChangeMade]:
    """Every change of the build's logbook in order of time."""
    found = []
    for entry in logbook.read(folder).entries:
        if entry.kind != "change":
            continue
        when = _time(entry.time)
        if when is None:
            continue
        details: Mapping[str, Any] = entry.details
        what = str(details.get("what", "")).strip()
        found.append(
            ChangeMade(
                when,
                what or entry.text,
                str(details.get("from", "")).strip(),
                str(details.get("to", "")).strip(),
                str(details.get("why", "")).strip() or entry.text,
                entry.author,
                _is_path(what),
            )
        )
    return sorted(found, key=lambda c: c.time)


def _is_path(what: str) -> bool:
    with contextlib.suppress(BadInput, ValueError):
        return bool(what) and field(what) is not None
    return False


def _time(text: str) -> datetime | None:
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        return None
    return when if when.tzinfo is not None else when.astimezone()


def pull_time(folder: str | Path, file: str, sha256: str) -> datetime | None:
    """When the pull was made, by the logbook's entry for this file (its hash, else its name); None if unknown."""
    best: datetime | None = None
    for entry in logbook.read(folder).entries:
        if entry.kind != "pull":
            continue
        if entry.details.get("sha256") == sha256:
            return _time(str(entry.details.get("made", "")) or entry.time)
        if Path(str(entry.details.get("file", ""))).name == Path(file).name and not entry.details.get("sha256"):
            best = _time(str(entry.details.get("made", "")) or entry.time)
    return best


def in_force(folder: str | Path, when: datetime | None) -> Settings:
    """Settings at ``when``. A value changed later is set back to what it was before the first later change."""
    made = changes(folder)
    if when is None:
        words = ("when the pull was made is not known: the sheet as it stands now was taken",) if made else ()
        return Settings(None, False, (), (), tuple(made), words)
    earlier = [c for c in made if c.time <= when]
    later = [c for c in made if c.time > when]
    sets: dict[str, str] = {}
    notes = []
    for change in later:
        if not change.in_sheet:
            notes.append(f'a later change is in words only and could not be set back: "{change.what}"')
        elif change.what in sets:
            continue
        elif change.before:
            sets[change.what] = change.before
        else:
            notes.append(f"{change.what} was changed later; what it was before is not written")
    texts = tuple(f"{path}={value}" for path, value in sets.items())
    return Settings(when, True, texts, tuple(reversed(earlier)), tuple(later), tuple(notes))


def keep(log: Log, folder: str | Path, author: str, made: datetime | None = None, text: str = "") -> Path:
    """Copy the log as it came into the build's ``pulls`` and enter it in the logbook with its hash; the copy.

    Raises BadInput where another log of that name is there already, or the folder is no build.
    """
    root = Path(folder)
    if not (root / "build.toml").is_file():
        raise BadInput(f"{root}: this is no build (it holds no build.toml)")
    target = root / PULLS / log.file.name
    there = target.exists()
    if there and _digest(target) != log.sha256:
        raise BadInput(f"{target}: another log of this name is kept there already; rename the new one first")
    try:
        if not there:
            target.parent.mkdir(exist_ok=True)
            aside = target.with_name(target.name + ".new")
            shutil.copyfile(log.file, aside)
            if _digest(aside) != log.sha256:
                aside.unlink()
                raise BadInput(f"{log.file}: the file changed while it was copied; read it again")
            aside.replace(target)
            words, its = memory_path(log.file), memory_path(target)
            if words.is_file() and not its.exists():
                shutil.copyfile(words, its)
            sync_folder(target.parent)
    except OSError as fault:
        raise BadInput(f"{target}: cannot be written ({fault.strerror or fault})") from None
    if pull_time(root, log.file.name, log.sha256) is None:
        details = {"file": f"{PULLS}/{log.file.name}", "sha256": log.sha256, "rows": log.rows}
        if made is not None:
            details["made"] = made.isoformat(timespec="seconds")
        logbook.append(root, "pull", text or f"Log {log.file.name} kept as it came", author, None, **details)
    return target


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
