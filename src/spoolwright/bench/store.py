"""An opened build, shared by every page on it: the sheets as read, edits on disk at once, undo, and who is told.

Files on disk are the truth. What is read is kept until a file changes; an edit is made on what stands on disk and is
there when ``edit`` returns, so a killed server loses nothing. Two pages that edit the same value are told of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Literal

from spoolwright.errors import BadInput
from spoolwright.findings import check as checking
from spoolwright.findings.model import Finding
from spoolwright.sheet import Fault, Sheet, SheetFaults, edits, load, typed
from spoolwright.sheet.claims import SHEET_FILE
from spoolwright.sheet.edits import Edit, Overtaken

Kind = Literal["taken", "same", "refused", "doubted", "elsewhere"]


@dataclass(frozen=True)
class Loaded:
    """A sheet as it stands on disk: the sheet, or None with every fault; texts by file, for who saw what."""

    sheet: Sheet | None
    faults: tuple[Fault, ...]
    texts: dict[str, str]


@dataclass(frozen=True)
class Outcome:
    """What became of an edit: taken, or why not in one sentence, with texts to offer."""

    kind: Kind
    said: str = ""
    offers: tuple[str, ...] = ()


@dataclass
class Store:
    """One build. ``listeners`` are called after every change of the sheet or of a run."""

    folder: Path
    listeners: list[Callable[[], None]] = field(default_factory=list)
    done: list[Edit] = field(default_factory=list)
    undone: list[Edit] = field(default_factory=list)
    saved_at: datetime | None = None
    _loaded: dict[str | None, Loaded] = field(default_factory=dict)
    _checked: dict[str, list[Finding]] = field(default_factory=dict)
    _stamps: dict[Path, tuple[int, int]] = field(default_factory=dict)

    def loaded(self, variant: str | None = None) -> Loaded:
        """The sheet with a variant over it, read again where a file changed. Never raises for what stands in it."""
        self.look()
        if variant not in self._loaded:
            self._loaded[variant] = _load(self.folder, variant)
        return self._loaded[variant]

    def variants(self) -> list[str]:
        """Names of the variants in the build's folder."""
        return sorted(path.stem for path in (self.folder / "variants").glob("*.toml"))

    def findings(self, variant: str | None = None) -> list[Finding]:
        """The findings that need no run; empty where the sheet has faults. Takes a while when the sheet is new."""
        sheet = self.loaded(variant).sheet
        if sheet is None:
            return []
        if sheet.digest not in self._checked:
            self._checked = dict(list(self._checked.items())[-8:]) | {sheet.digest: checking.check(sheet)}
        return self._checked[sheet.digest]

    def look(self) -> bool:
        """Whether a file of the build changed since the last look; what was read is then forgotten."""
        now = _stamps(self.folder)
        if now == self._stamps:
            return False
        self._stamps = now
        self._loaded.clear()
        return True

    def forget(self, listener: Callable[[], None]) -> None:
        """Tell this page no more."""
        if listener in self.listeners:
            self.listeners.remove(listener)

    def tell(self) -> None:
        """Tell every page that something changed."""
        for listener in list(self.listeners):
            listener()

    def edit(self, variant: str | None, path: str, text: str, seen: str, keep: bool = False) -> Outcome:
        """Judge ``text`` for ``path`` and save it; ``seen`` is the text its maker saw there.

        ``keep`` saves what is doubted. An empty text takes the value away where the sheet allows it.
        """
        now = self.loaded(variant)
        there = "" if now.sheet is None else typed.text_at(now.sheet, path)
        if now.sheet is not None and there != seen and there != text:
            return Outcome("elsewhere", f"Changed elsewhere: it now says {there or 'nothing'}. Yours is {text}.")
        if text.strip() == there and not (now.sheet and now.sheet.is_assumed(path)):
            return Outcome("same")
        judged = typed.judge(now.sheet, self.folder, variant, path, text)
        if judged.refused:
            return Outcome("refused", judged.refused, judged.offers)
        if judged.doubt and not keep:
            return Outcome("doubted", judged.doubt, judged.offers)
        return self._write(now, path, text.strip())

    def _write(self, now: Loaded, path: str, text: str) -> Outcome:
        file = edits.file_of(now.sheet, path)
        try:
            before = edits.standing(now.texts.get(file, ""), path)
            made = edits.make(self.folder, file, path, typed.raw_of(path, text) if text else None, before)
        except Overtaken as trouble:
            said = f"Changed elsewhere: it now says {edits.said(trouble.theirs)}. Yours is {text}."
            self.look()
            return Outcome("elsewhere", said)
        except (BadInput, ValueError) as trouble:
            return Outcome("refused", str(trouble))
        self.done.append(made)
        self.undone.clear()
        return self._saved()

    def _saved(self) -> Outcome:
        self.saved_at = datetime.now()
        self.look()
        self.tell()
        return Outcome("taken")

    def undo(self) -> Outcome:
        """Take the last edit back; refused in a sentence where its value was changed since."""
        return self._again(self.done, self.undone, undo=True)

    def redo(self) -> Outcome:
        """Make the edit last undone again."""
        return self._again(self.undone, self.done, undo=False)

    def _again(self, taken: list[Edit], given: list[Edit], undo: bool) -> Outcome:
        if not taken:
            return Outcome("same", "There is nothing to undo." if undo else "There is nothing to do again.")
        edit = taken[-1]
        try:
            edits.redo(self.folder, edit.back if undo else edit)
        except Overtaken as trouble:
            return Outcome("elsewhere", f"{edit.path} was changed since, to {edits.said(trouble.theirs)}; it stays so.")
        except BadInput as trouble:
            return Outcome("refused", str(trouble))
        given.append(taken.pop())
        return self._saved()


def _load(folder: Path, variant: str | None) -> Loaded:
    texts = {}
    for name in (SHEET_FILE, *([f"variants/{variant}.toml"] if variant else [])):
        try:
            texts[name] = (folder / name).read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError):
            texts[name] = ""
    try:
        return Loaded(load(folder, variant), (), texts)
    except SheetFaults as trouble:
        return Loaded(None, trouble.faults, texts)
    except BadInput as trouble:
        return Loaded(None, (Fault(SHEET_FILE, 0, "", str(trouble)),), texts)


def _stamps(folder: Path) -> dict[Path, tuple[int, int]]:
    files = [folder / SHEET_FILE, *folder.glob("variants/*.toml"), *folder.glob("tables/*.csv")]
    found = {}
    for path in files:
        try:
            stat = path.stat()
        except OSError:
            continue
        found[path] = (stat.st_mtime_ns, stat.st_size)
    return found
