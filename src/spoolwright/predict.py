"""The job "predict": a sheet made ready for a pull, the pull run and judged, its tables and charts written.

The one place that terminal and pages call for it. Heavy packages are imported when they are needed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spoolwright.engine.speeds import check_speeds, read_speeds, usual_speeds
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet, load

if TYPE_CHECKING:
    from spoolwright.engine.pull import Point, Pull
    from spoolwright.findings.model import Finding

__all__ = [
    "DEMO_SPEEDS",
    "SHEET",
    "Done",
    "Files",
    "against",
    "demo_files",
    "judge",
    "other_sheet",
    "report",
    "run",
    "runnable",
    "speeds_of",
    "write",
]

DEMO_SPEEDS = (2000.0, 3000.0, 4000.0, 5000.0, 6000.0)  # rpm
DEMO_TRACE = 4000.0
CHART_FORMATS = ("png", "svg", "pdf")


@dataclass(frozen=True)
class Done:
    """A pull, and whether it was cancelled before all its speeds were done."""

    pull: Pull
    cancelled: bool


@dataclass(frozen=True)
class Files:
    """What to write besides: folder and format of charts, speed [rpm] of one traced cycle, tables."""

    charts: Path | None = None
    chart_format: str = "png"
    trace: float | None = None
    csv: Path | None = None
    parquet: Path | None = None

    def check(self) -> None:
        """Refuse before the run what could not be written after it. Raises BadInput."""
        if self.chart_format not in CHART_FORMATS:
            raise BadInput(f'--chart-format "{self.chart_format}" is not one of {", ".join(CHART_FORMATS)}')
        if self.trace is not None and self.charts is None:
            raise BadInput("--trace needs a folder for what it draws; add for example --charts charts")
        if self.charts is not None and self.charts.exists() and not self.charts.is_dir():
            raise BadInput(f"--charts {self.charts}: a file stands there; name a folder")
        for option, file in (("--csv", self.csv), ("--parquet", self.parquet)):
            if file is not None and not file.parent.is_dir():
                raise BadInput(f"{option} {file}: there is no folder {file.parent}; make it first")
            if file is not None and file.is_dir():
                raise BadInput(f"{option} {file}: a folder stands there; name a file")


def demo_files(folder: Path) -> Files:
    """What the demo writes: charts, one traced cycle and the table, in the build's results. Makes that folder."""
    results = folder / "results"
    results.mkdir(exist_ok=True)
    return Files(charts=results, trace=DEMO_TRACE, csv=results / "pull.csv")


def speeds_of(sheet: Sheet, text: str | None, trace: float | None = None) -> list[float]:
    """The speeds [rpm] of a pull: as asked for, else the sheet's usual ones; the traced one among them."""
    speeds = read_speeds(text) if text is not None else usual_speeds(sheet)
    if trace is not None:
        check_speeds([trace])
        speeds = sorted({*speeds, trace})
    return speeds


def runnable(folder: Path, variant: str | None, sets: Sequence[str], turbo_off: bool) -> Sheet:
    """The sheet as a pull can run it. Raises BadInput for a turbo taken off where none is."""
    sheet = load(folder, variant, sets)
    boosted = sheet.has("charge.compressor") or sheet.has("turbine")
    if turbo_off and not boosted:
        raise BadInput(f"{sheet.name} has no turbocharger; leave --turbo-off away")
    if not turbo_off:
        return sheet
    from spoolwright.engine.assemble import turbo_off as taken_off

    return load(folder, variant, (*sets, *taken_off(sheet)))


SHEET = "sheet"  # the name of the sheet without a variant, where a variant could be named


def other_sheet(folder: Path, variant: str | None, against: str, sets: Sequence[str], turbo_off: bool) -> Sheet:
    """The sheet of the run that ``variant`` is held against. Raises BadInput where it is the same."""
    other = None if against == SHEET else against
    if other == variant:
        raise BadInput(f"--against {against}: that is the run itself; name another variant, or {SHEET} for none")
    return runnable(folder, other, sets, turbo_off)


def run(
    sheet: Sheet,
    speeds_rpm: Sequence[float],
    workers: int | None,
    ready: Callable[[], None],
    progress: Callable[[Point], None],
    cancelled: Callable[[], bool],
) -> Done:
    """Run the pull; see ``engine.pull.pull``. ``ready`` is called when compiling begins, else when it is over."""
    from spoolwright.engine.compiling import loop_beside
    from spoolwright.engine.pull import pull

    with loop_beside(cancelled) as beside:
        if beside is not None:
            ready()
            ready = beside.wait
        done = pull(sheet, speeds_rpm, workers=workers, ready=ready, progress=progress, cancelled=cancelled)
    return Done(done, len(done.points) < len(done.asked))


def judge(pull: Pull, sheet: Sheet) -> list[Finding]:
    """The findings of a pull."""
    from spoolwright.findings import pull as judging

    return judging.judge(pull, sheet)


def report(pull: Pull, sheet: Sheet, findings: Sequence[Finding], cancelled: bool) -> dict[str, Any]:
    """A pull as plain data; see ``findings.pull.report``."""
    from spoolwright.findings import pull as judging

    return judging.report(pull, sheet, findings, cancelled)


def against(this: Pull, sheet: Sheet, other: Pull, other_sheet: Sheet) -> dict[str, Any]:
    """The run held against, as plain data: its own report, the values that differ, and both speed by speed."""
    from spoolwright.findings import changed

    rows = changed.side_by_side(other, this)
    return report(other, other_sheet, judge(other, other_sheet), False) | {
        "changed": [asdict(one) for one in changed.values(other_sheet, sheet)],
        "side_by_side": [
            {"speed_rpm": speed}
            | {
                name: {"against": pair.before, "this": pair.after, "difference": pair.difference}
                for name, pair in pairs.items()
            }
            for speed, pairs in rows
        ],
    }


def write(files: Files, pull: Pull, sheet: Sheet) -> list[Path]:
    """Write tables and charts of what was done; the files. Raises BadInput where one cannot be written."""
    written: list[Path] = []
    if not pull.points:
        return written
    try:
        if files.csv is not None or files.parquet is not None:
            from spoolwright.engine.table import table

            rows = table(pull)
            if files.csv is not None:
                rows.write_csv(files.csv)
                written.append(files.csv)
            if files.parquet is not None:
                rows.write_parquet(files.parquet)
                written.append(files.parquet)
        if files.charts is not None:
            written += _draw(files, files.charts, pull, sheet)
    except OSError as trouble:
        raise BadInput(f"{trouble.filename or 'a file'} cannot be written ({trouble.strerror or trouble})") from None
    return written


def _draw(files: Files, folder: Path, pull: Pull, sheet: Sheet) -> list[Path]:
    from spoolwright.charts import of_boost, of_map, of_pull
    from spoolwright.charts.of_cycle import charts_of_cycle
    from spoolwright.charts.paper import draw_all

    written = draw_all([*of_pull.charts(pull, sheet), *of_boost.charts(pull, sheet)], folder, files.chart_format)
    written += draw_all(of_map.chart_of(pull, sheet), folder, files.chart_format)
    if files.trace is None:
        return written
    point = next((p for p in pull.points if abs(p.columns["speed_rpm"] - files.trace) < 1e-6), None)
    if point is None or point.cycle is None or not point.columns["converged"]:
        return written
    from spoolwright.engine.table import trace_table
    from spoolwright.engine.trace import trace

    cycle = trace(pull.model, point.cycle)
    drawn = charts_of_cycle(cycle, pull.model.site.p, -point.columns["spark_deg_btdc"])
    written += draw_all(drawn, folder, files.chart_format)
    file = folder / f"cycle-{files.trace:.0f}-rpm.csv"
    trace_table(cycle).write_csv(file)
    return [*written, file]
