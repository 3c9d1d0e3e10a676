"""The job "book": gather what a build holds, make the book, write it as PDF and as one HTML file."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Literal

from spoolwright import __version__
from spoolwright.book import measured, sheets
from spoolwright.book import run as runs
from spoolwright.book.build import Build
from spoolwright.book.content import Book
from spoolwright.book.figures import chart_in
from spoolwright.book.in_units import Choice, sheet_in, spelled
from spoolwright.book.measured import Kept
from spoolwright.book.run import Run
from spoolwright.book.sheet_one import as_built
from spoolwright.charts.describe import Chart
from spoolwright.errors import BadInput
from spoolwright.findings.check import check
from spoolwright.findings.model import Finding, by_urgency
from spoolwright.sheet import Sheet, load, logbook

Paper = Literal["a4", "letter"]
PAPERS = ("a4", "letter")


@dataclass(frozen=True)
class Options:
    """How a book is made. ``run``: a pull where none is kept for these inputs."""

    variant: str | None = None
    paper: Paper = "a4"
    units: Choice = "typed"
    run: bool = True
    date: str = ""


Runner = Callable[[Sheet], tuple[Any, bool]]


def book(folder: Path, options: Options, runner: Runner | None = None) -> Book:
    """The content of the book of the build in ``folder``.

    ``runner`` runs a pull of a sheet and gives it with whether it was cancelled; without it no pull is run.
    Raises BadInput for a sheet with faults.
    """
    return of_build(gather(folder, options, runner), options)


def of_build(build: Build, options: Options) -> Book:
    """The content of the book of what was gathered."""
    short = options.paper == "letter"
    chapters = (
        as_built(build, short),
        sheets.gaps(build),
        sheets.measures(build),
        sheets.settings(build),
        sheets.curves(build, short),
        sheets.limits(build),
        sheets.findings(build),
        sheets.workings(build),
        sheets.log(build),
        sheets.service(build),
        sheets.packing(build),
        sheets.sources(build),
    )
    sheet = build.sheet
    units = {"typed": "as typed", "metric": "metric", "us": "US"}[options.units]
    return Book(
        sheet.name,
        sheet.variant or "none",
        build.date,
        sheet.digest,
        __version__,
        options.paper,
        _note(sheet),
        chapters,
        (("units", units),),
    )


def _note(sheet: Sheet) -> str:
    invented = "Demo build, invented data. " if sheet.flag("invented", False) else ""
    return (
        f"{invented}Measured and chosen unmarked, a assumed, c computed. Prints in black alone: solid and dashed lines "
        "predicted, open points measured, hatched: do not go there."
    )


def gather(folder: Path, options: Options, runner: Runner | None = None) -> Build:
    """Everything the chapters draw on."""
    sheet = load(folder, options.variant)
    told = sheet_in(sheet, options.units)
    run, note = _run(folder, sheet, runner if options.run else None)
    found = check(sheet if options.units == "typed" else spelled(sheet))
    if run is not None:
        found = by_urgency([*found, *_new(run.findings, found)])
    logs = measured.kept(folder)
    charts = _charts(run, sheet, logs, options.units)
    return Build(
        told,
        sheet,
        tuple(found),
        run,
        note,
        charts,
        tuple((one.name, one.told) for one in logs),
        logbook.read(folder),
        options.units,
        _files(folder),
        options.date or date.today().isoformat(),
    )


def _new(more: list[Finding], found: list[Finding]) -> list[Finding]:
    """Findings of the pull that the sheet alone did not give; those answer what the sheet alone left open."""
    subjects = {one.subject for one in found}
    return [one for one in more if one.subject not in subjects]


def _run(folder: Path, sheet: Sheet, runner: Runner | None) -> tuple[Run | None, str]:
    """The kept run of this sheet, or a fresh one; what is worth saying of it, or why there is none."""
    kept = runs.kept(folder, sheet)
    if kept is not None:
        return kept, "" if kept.version == __version__ else f"Run by version {kept.version}."
    if runner is None:
        return None, "No pull of these inputs is kept with the build, and none was run."
    from spoolwright import predict

    pull, cancelled = runner(sheet)
    if cancelled:
        return None, "The pull was cancelled before all its speeds were done."
    report = predict.report(pull, sheet, predict.judge(pull, sheet), cancelled)
    runs.keep(folder, sheet, report)
    return Run(report), ""


def _charts(run: Run | None, sheet: Sheet, logs: list[Kept], choice: Choice) -> tuple[Chart, ...]:
    if run is None:
        return ()
    from spoolwright.charts import of_boost, of_pull

    pull = runs.as_pull(run, sheet)
    drawn = [*of_pull.charts(pull, sheet), *of_boost.charts(pull, sheet)]
    return tuple(chart_in(measured.over(one, logs), choice) for one in drawn)


def _files(folder: Path) -> dict[str, str]:
    """Hashes of the files a book rests on."""
    names = ["build.toml", "logbook.jsonl"]
    for place in ("variants", "tables", "pulls"):
        names += sorted(f"{place}/{p.name}" for p in (folder / place).glob("*") if p.is_file())
    return {
        name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in names if (folder / name).is_file()
    }


@dataclass(frozen=True)
class Written:
    """The files of a written book, and how many sheets it has."""

    pdf: Path
    html: Path
    sheets: int


def write(made: Book, folder: Path) -> Written:
    """Write the book as PDF and as one HTML file into ``folder``, which is made where it is missing."""
    from spoolwright.book import to_html, to_pdf
    from spoolwright.sheet.saving import replace_file

    data, count = to_pdf.pdf(made)
    page = to_html.html(made).encode()
    variant = "" if made.variant == "none" else f"-{made.variant}"
    written = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for ending, content in (("pdf", data), ("html", page)):
            target = folder / f"book{variant}.{ending}"
            there = target.read_bytes() if target.exists() else None
            replace_file(target, content, expected=there)
            written.append(target)
    except OSError as trouble:
        raise BadInput(f"{folder}: the book cannot be written there ({trouble.strerror})") from None
    return Written(written[0], written[1], count)


def write_after_pull(folder: Path, sheet: Sheet, report: Mapping[str, Any]) -> Written:
    """Keep a whole pull of ``sheet`` with its build and write the book from it into the build's results."""
    runs.keep(folder, sheet, report)
    return write(book(folder, Options(sheet.variant, run=False)), folder / runs.RESULTS)


__all__ = ["PAPERS", "Options", "Written", "book", "gather", "of_build", "write", "write_after_pull"]
