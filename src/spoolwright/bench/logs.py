"""The logs of a page: those kept with the build and one just dropped; read, reduced, held against the kept run.

A dropped log stands in a folder of its own until it is kept, with what was confirmed of it in the small file beside
it. Everything here may take a second and is called in a thread of its own.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from spoolwright.book import run as runs
from spoolwright.dyno.against import Against, against
from spoolwright.dyno.causes import Diagnosis
from spoolwright.dyno.diagnose import diagnose
from spoolwright.dyno.limits import limits_of
from spoolwright.dyno.log import Log
from spoolwright.dyno.measured import Measured, Reduction
from spoolwright.dyno.readers import memory
from spoolwright.dyno.readers.reading import read_bytes, read_log
from spoolwright.dyno.reduce import with_words
from spoolwright.dyno.settings import PULLS, keep
from spoolwright.errors import BadInput, SpoolwrightError
from spoolwright.sheet import Sheet

Words = Mapping[str, str]


@dataclass(frozen=True)
class Seen:
    """A log as it was read, and what could be made of it; a trouble says in one sentence what is missing."""

    path: Path
    data: bytes
    log: Log
    fresh: bool
    rig: Words
    air: Words
    done: Reduction | None = None
    trouble: str = ""

    @property
    def pulls(self) -> tuple[Measured, ...]:
        """Its pulls that tell a torque."""
        return () if self.done is None else tuple(one for one in self.done.pulls if one.has_torque)


@dataclass(frozen=True)
class Judged:
    """Chosen pulls against the kept run, or why not in a sentence; what they tell of faults."""

    pulls: tuple[Measured, ...]
    against: Against | None
    why_not: str
    diagnosis: Diagnosis | None


@dataclass
class Logs:
    """The logs of the build in ``folder``, and the dropped one."""

    folder: Path
    aside: tempfile.TemporaryDirectory[str] = field(default_factory=tempfile.TemporaryDirectory)

    def kept(self) -> list[str]:
        """Names of the logs kept with the build, last first."""
        files = (self.folder / PULLS).glob("*")
        return sorted((f.name for f in files if f.is_file() and _is_log(f.name)), reverse=True)

    def drop(self, name: str, data: bytes) -> Seen:
        """Set a log aside and read it. Raises BadInput or BadLog in one sentence for what is none."""
        if not _is_log(name):
            raise BadInput(f"{name}: a log is a text table such as .csv or .txt; .toml files hold what was confirmed")
        here = Path(self.aside.name) / name
        try:
            read_bytes(data, here)
        except SpoolwrightError as trouble:
            raise BadInput(str(trouble).replace(str(here), name)) from None
        for words in (self.folder / PULLS).glob("*.*.toml"):  # so that a known logger is known again
            if not (here.parent / words.name).exists() and words.name != f"{name}.toml":
                shutil.copyfile(words, here.parent / words.name)
        memory.memory_path(here).unlink(missing_ok=True)
        here.write_bytes(data)
        return self.read(name)

    def path(self, name: str) -> Path:
        """Where a log stands: set aside, or kept."""
        aside = Path(self.aside.name) / name
        return aside if aside.is_file() else self.folder / PULLS / name

    def read(self, name: str, confirmed: Mapping[int, Mapping[str, str | None]] | None = None) -> Seen:
        """Read a log by name; ``confirmed`` columns are remembered beside it."""
        path = self.path(name)
        log = read_log(path, confirmed)
        words = memory.sections(path, "rig", "air")
        rig = {k: str(v) for k, v in words["rig"].items() if k != "delays"}
        air = {k: str(v) for k, v in words["air"].items()}
        fresh = path.parent == Path(self.aside.name)
        data = path.read_bytes()
        try:
            return Seen(path, data, log, fresh, rig, air, with_words(log, {}, {}))
        except SpoolwrightError as trouble:
            return Seen(path, data, log, fresh, rig, air, None, str(trouble))

    def state(self, seen: Seen, rig: Words, air: Words) -> Seen:
        """Say how the log was measured; remembered beside it. Raises BadInput for a word that cannot be."""
        from spoolwright.dyno.rig import read_air, read_rig

        rig_now = {k: v.strip() for k, v in {**seen.rig, **rig}.items() if v.strip()}
        air_now = {k: v.strip() for k, v in {**seen.air, **air}.items() if v.strip()}
        read_rig(rig_now)
        read_air(air_now)
        gone = {k: None for k in {**seen.rig, **rig} if k not in rig_now}
        gone_air = {k: None for k in {**seen.air, **air} if k not in air_now}
        memory.remember(seen.log, {"rig": {**rig_now, **gone}, "air": {**air_now, **gone_air}})
        return self.read(seen.path.name)

    def keep(self, seen: Seen, author: str) -> Seen:
        """Keep a dropped log with the build and in its logbook. Raises BadInput where it cannot."""
        if not author.strip():
            raise BadInput("Write your name: the logbook says who kept a log.")
        keep(seen.log, self.folder, author)
        seen.path.unlink(missing_ok=True)
        memory.memory_path(seen.path).unlink(missing_ok=True)
        return self.read(seen.path.name)

    def judge(self, seen: Seen, chosen: frozenset[int], sheet: Sheet) -> Judged:
        """The pulls with these numbers against the kept run of ``sheet``, and the diagnosis of all."""
        pulls = tuple(one for one in seen.pulls if one.number in chosen)
        diagnosis = diagnose(seen.done.pulls, limits_of(sheet)) if seen.done is not None else None
        if not pulls:
            return Judged(pulls, None, "No pull is chosen." if seen.pulls else "", diagnosis)
        run = runs.kept(self.folder, sheet)
        if run is None:
            return Judged(pulls, None, "No run of this sheet is kept: press Run under Predict.", diagnosis)
        points = [(float(p["speed_rpm"]), float(p["torque_Nm"])) for p in run.points if p["converged"]]
        try:
            held = against(pulls, [p[0] for p in points], [p[1] for p in points], sheet)
        except BadInput as trouble:
            return Judged(pulls, None, str(trouble), diagnosis)
        return Judged(pulls, held, "", diagnosis)


def _is_log(name: str) -> bool:
    return not (name.startswith(".") or name.endswith((".toml", ".new")))
