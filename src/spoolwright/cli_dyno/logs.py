"""``dyno read`` and ``dyno reduce``: from a log as it came to torque over speed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from spoolwright.cli_dyno.options import (
    AirWords,
    AsJson,
    Author,
    BoostControl,
    ChartFormat,
    Charts,
    CorrectedBy,
    DelayOf,
    Density,
    Display,
    Inertia,
    LogFile,
    NoKeep,
    Ratio,
    Rig,
    RunDown,
    StandsAt,
    Step,
    check_step,
    confirmed_columns,
    draw,
    moment,
    named_author,
    pairs,
)


def read(
    file: LogFile,
    out: Annotated[Path | None, typer.Option("--out", help="Write the cleaned table (.csv or .parquet).")] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--column", help="Confirm a column: NAME=ROLE [unit]; remembered beside the log. May be repeated."
        ),
    ] = None,
    into: Annotated[
        Path | None, typer.Option("--into", help="Keep the log as it came in this build's pulls folder.", metavar="DIR")
    ] = None,
    made: Annotated[str | None, typer.Option("--made", help="With --into: when it was made, 2024-05-04T16:20.")] = None,
    author: Author = None,
    as_json: AsJson = False,
) -> None:
    """Read a log in whatever dialect it is, and list every repair.

    Columns are recognised by name, unit and range; what is guessed is shown and can be confirmed. Nothing is dropped,
    filled, re-ordered or scaled without a line in the report.

    Example: spoolwright dyno read pulls/evening.csv --out clean.csv
    """
    from spoolwright.cli import print_json
    from spoolwright.dyno import read_log
    from spoolwright.dyno.readers import report

    when = moment(made)
    if into is not None:
        author = named_author(author, "a log that is kept")
    log = read_log(file, confirmed=confirmed_columns(column) if column else None)
    if out is not None:
        report.write_clean(log, out)
    kept = None
    if into is not None:
        from spoolwright.dyno.settings import keep

        kept = keep(log, into, author or "", when)
    if as_json:
        print_json({**report.as_json(log), "kept": str(kept) if kept else None})
        return
    for line in report.lines_for_people(log):
        typer.echo(line)
    if out is not None:
        typer.echo(f"The cleaned table is in {out}.")
    if kept is not None:
        typer.echo(f"The log is kept as it came in {kept}.")


def _rig_words(**given: Any) -> dict[str, Any]:
    more = pairs("--rig", given.pop("rig"), "bandwidth=0.8 Hz")
    delays = pairs("--delay", given.pop("delay"), "afr=0.35 s")
    words = {name: value for name, value in given.items() if value is not None} | more
    return words | ({"delays": delays} if delays else {})


def _reduced(file: Path, rig: dict[str, Any], air: list[str] | None, boost_control: str | None, keep: bool) -> Any:
    from spoolwright.dyno import read_log
    from spoolwright.dyno.reduce import with_words

    words = pairs("--air", air, "temperature=24 degC")
    if boost_control is not None:
        words["boost_control"] = boost_control
    return with_words(read_log(file), rig, words, keep)


def reduce(
    file: LogFile,
    inertia: Inertia = None,
    ratio: Ratio = None,
    run_down: RunDown = None,
    stands_at: StandsAt = None,
    corrected_by: CorrectedBy = None,
    fuel_density: Density = None,
    afr_stoichiometric: Display = None,
    delay: DelayOf = None,
    rig: Rig = None,
    air: AirWords = None,
    boost_control: BoostControl = None,
    step: Step = 250.0,
    charts: Charts = None,
    chart_format: ChartFormat = "png",
    no_keep: NoKeep = False,
    as_json: AsJson = False,
) -> None:
    """Cut out the pulls, put late channels in step, give torque over speed with its band. Observed, never corrected.

    What is stated of rig and air is kept in the small .toml beside the log and used by the other commands.

    Example: spoolwright dyno reduce evening.csv --inertia "85 kg m2 ± 1 %" --run-down after --air "temperature=24 degC"
    """
    from spoolwright.cli import print_json
    from spoolwright.dyno import plain

    words = _rig_words(
        inertia=inertia, ratio=ratio, run_down=run_down, stands_at=stands_at, corrected_by=corrected_by,
        fuel_density=fuel_density, afr_stoichiometric=afr_stoichiometric, delay=delay, rig=rig,
    )  # fmt: skip
    done = _reduced(file, words, air, boost_control, not no_keep)
    check_step(step)
    written: list[Path] = []
    if charts is not None:
        from spoolwright.charts import of_dyno

        written = draw([of_dyno.pulls(done.pulls)], charts, chart_format)
    if as_json:
        print_json({**plain.reduction(done, step), "written": [str(p) for p in written]})
    else:
        from spoolwright import terminal_dyno

        terminal_dyno.print_reduction(done, step, written)
