"""Faults of a sheet: where, what was written, what is allowed, how to mend it; all of them at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

from spoolwright.errors import BadInput

_SHOWN = 60


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault. ``line`` is 0 where a file has no line for it."""

    file: str
    line: int
    path: str
    message: str

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else self.file
        return f"{where}  {self.path}: {self.message}" if self.path else f"{where}  {self.message}"


class SheetFaults(BadInput):
    """Everything that is wrong with a sheet; ``unchecked`` tells that checks across fields still wait."""

    def __init__(self, faults: Iterable[Fault], unchecked: bool = False) -> None:
        self.faults = tuple(sorted(faults, key=lambda f: (f.file != "build.toml", f.file, f.line)))
        self.unchecked = unchecked
        lines = [str(fault) for fault in self.faults]
        if unchecked:
            lines.append("Checks across fields run once these are mended.")
        super().__init__("\n".join(lines))


class NotGiven(BadInput):
    """A value was asked for that the sheet does not hold."""


def shown(raw: object) -> str:
    """What the user wrote, in quotes and cut to a readable length."""
    text = str(raw)
    text = text if len(text) <= _SHOWN else text[:_SHOWN] + "..."
    return '"' + text.replace("\n", " ") + '"'


def closest(word: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """' (did you mean "x"?)' or nothing."""
    near = get_close_matches(word[:80], list(known), n=1, cutoff=cutoff)
    return f' (did you mean "{near[0]}"?)' if near else ""
