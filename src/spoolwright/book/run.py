"""The predicted pull of a book: kept with the build under the digest of its sheet, to be run once."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spoolwright.errors import BadInput
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet, files
from spoolwright.sheet.saving import replace_file

if TYPE_CHECKING:
    from spoolwright.engine.pull import Pull

RESULTS = "results"
_LARGEST = 50_000_000


@dataclass(frozen=True)
class Run:
    """A pull as it was reported: points by column, findings, what it rests on."""

    report: Mapping[str, Any]

    @property
    def digest(self) -> str:
        """Digest of the sheet that ran."""
        return str(self.report["digest"])

    @property
    def version(self) -> str:
        """Version of the program that ran it."""
        return str(self.report["program_version"])

    @property
    def points(self) -> list[dict[str, Any]]:
        """The points, worst and best alike, in order of speed."""
        return list(self.report["points"])

    @property
    def sets(self) -> list[str]:
        """What was set for the run beyond the sheet."""
        return list(self.report.get("set", ()))

    @property
    def findings(self) -> list[Finding]:
        """Its findings."""
        known = {one.name for one in fields(Finding)}
        return [Finding(**{k: v for k, v in one.items() if k in known}) for one in self.report["findings"]]

    @property
    def cancelled(self) -> bool:
        """Whether it ended before all its speeds were done."""
        return bool(self.report.get("cancelled"))


def name_of(sheet: Sheet) -> str:
    """File name of a kept run of this sheet."""
    return f"pull-{sheet.variant or 'sheet'}-{sheet.digest[:12]}.json"


def keep(folder: Path, sheet: Sheet, report: Mapping[str, Any]) -> Path:
    """Keep the report of a whole pull of ``sheet`` in the build's results. Raises BadInput where it cannot."""
    target = folder / RESULTS / name_of(sheet)
    try:
        target.parent.mkdir(exist_ok=True)
        there = target.read_bytes() if target.exists() else None
    except OSError as trouble:
        raise BadInput(f"{target}: it cannot be written ({trouble.strerror})") from None
    replace_file(target, json.dumps(report, ensure_ascii=False, allow_nan=False).encode(), expected=there)
    return target


def keep_fuller(folder: Path, sheet: Sheet, report: Mapping[str, Any]) -> Path | None:
    """Keep the report of a whole pull unless one of the same inputs with more speeds is kept already.

    None where it is not kept. Raises BadInput where it cannot be written.
    """
    there = kept(folder, sheet)
    if there is not None and len(there.points) > len(report["points"]):
        return None
    return keep(folder, sheet, report)


def kept(folder: Path, sheet: Sheet) -> Run | None:
    """The kept run whose inputs have the hash of ``sheet``; None where there is none that can be read."""
    path = folder / RESULTS / name_of(sheet)
    if not path.is_file():
        return None
    try:
        report = json.loads(files.read_bytes(path, path.name, _LARGEST))
        run = Run(report)
        whole = run.digest == sheet.digest and not run.cancelled and _reads(run)
    except (BadInput, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
    return run if whole else None


def _reads(run: Run) -> bool:
    return (
        all("speed_rpm" in p and "converged" in p for p in run.points) and bool(run.points) and run.findings is not None
    )


def as_pull(run: Run, sheet: Sheet) -> Pull:
    """The run as a pull for charts: points with their columns, without cycles and model."""
    from spoolwright.engine.columns import COLUMNS
    from spoolwright.engine.pull import Point, Pull

    points = [
        Point({name: p.get(name) for name in COLUMNS}, None, str(p.get("trouble", "")), p.get("cylinders", {}))
        for p in run.points
    ]
    assumed: Sequence[Any] = run.report.get("assumed", ())
    rows = tuple((str(a["path"]), str(a["value"]), str(a["reason"])) for a in assumed)
    model: Any = None  # charts read columns only
    return Pull(sheet.name, sheet.variant, run.digest, points, rows, model)
