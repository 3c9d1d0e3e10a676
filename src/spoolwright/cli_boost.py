"""The turbocharger's commands. Like the rest of the command line they read options, call one function and print."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spoolwright.errors import BadInput

BuildDir = Annotated[Path, typer.Argument(help="The folder that holds build.toml.", metavar="DIR")]


def match(
    folder: BuildDir,
    boost: Annotated[
        str | None,
        typer.Option("--boost", help='Gauge boost wanted, for example "10 psi"; else the gate spring\'s label.'),
    ] = None,
    rpm: Annotated[
        str | None,
        typer.Option("--rpm", help="Speeds: first:last:step or a list; else up to limits.max_speed.", metavar="SPEEDS"),
    ] = None,
    by: Annotated[
        float | None, typer.Option("--by", help="Speed by which the boost shall be held.", metavar="RPM")
    ] = None,
    candidates: Annotated[
        Path | None,
        typer.Option("--candidates", help="Folder of candidate files; else DIR/candidates.", metavar="FOLDER"),
    ] = None,
    generic: Annotated[
        bool, typer.Option("--generic/--no-generic", help="Also try the build's turbo scaled to other sizes.")
    ] = True,
    altitude: Annotated[
        str | None, typer.Option("--altitude", help="Height above sea instead of the sheet's, for example 1600 m.")
    ] = None,
    top: Annotated[int, typer.Option("--top", help="How many to show.", min=1)] = 8,
    full: Annotated[int, typer.Option("--full", help="How many of the best to run in full.", min=0)] = 0,
    variant: Annotated[
        str | None, typer.Option("--variant", help="A variant of the build (a file in variants/).")
    ] = None,
    sets: Annotated[
        list[str] | None, typer.Option("--set", help="Change one value: path=value. May be repeated.")
    ] = None,
    workers: Annotated[
        int | None, typer.Option("--workers", min=1, help="Threads to use; else one for each core.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print plain data with SI values.")] = False,
) -> None:
    """Rank turbochargers for this engine; choose gate spring and size; check the carburettor.

    The engine is run for its demand at the boost wanted; compressors and turbines are then compared by surge and choke,
    efficiency, drive pressure, shaft speed and the speed from which they hold the boost. A candidate file is written
    like a variant, with [charge.compressor], [turbine] or both.

    Example: spoolwright match mine --boost "10 psi" --candidates mine/candidates
    """
    from spoolwright.cli import print_json
    from spoolwright.engine.compiling import is_compiled
    from spoolwright.engine.speeds import read_speeds
    from spoolwright.match.demand import Cancelled
    from spoolwright.match.job import Asked, run_finalists
    from spoolwright.match.job import match as matched
    from spoolwright.match.report import report
    from spoolwright.sheet import load
    from spoolwright.terminal_match import Progress, print_match
    from spoolwright.terminal_pull import cancel_on_interrupt

    over = [f"site.altitude={altitude}", "site.barometer=none"] if altitude is not None else []
    sheet = load(folder, variant, (*(sets or ()), *over))
    speeds = tuple(read_speeds(rpm)) if rpm is not None else ()
    asked = Asked(_pressure(boost), speeds, by, candidates, generic)
    progress = Progress(is_compiled())
    with cancel_on_interrupt() as stop, progress.bar:
        try:
            found = matched(
                sheet, asked, workers=workers, ready=progress.ready, progress=progress.run, cancelled=stop.is_set
            )
        except Cancelled as told:
            typer.echo(str(told), err=True)
            raise typer.Exit(130) from None
        if full:
            found = run_finalists(found, full, workers=workers, cancelled=stop.is_set)
    if as_json:
        print_json(report(found, top))
    else:
        print_match(found, top)


def spool(
    folder: BuildDir,
    rpm: Annotated[float, typer.Option("--rpm", help="Engine speed at which the throttle opens.", metavar="RPM")],
    opening: Annotated[
        str, typer.Option("--from", help="Throttle opening before the step, as a share of its area.", metavar="SHARE")
    ] = "5 %",
    inertia: Annotated[
        str | None,
        typer.Option("--inertia", help='What the engine accelerates, at the crank: "2 kg m2"; else its speed is held.'),
    ] = None,
    seconds: Annotated[float, typer.Option("--seconds", help="Longest time watched.")] = 8.0,
    variant: Annotated[
        str | None, typer.Option("--variant", help="A variant of the build (a file in variants/).")
    ] = None,
    sets: Annotated[
        list[str] | None, typer.Option("--set", help="Change one value: path=value. May be repeated.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print plain data with SI values.")] = False,
) -> None:
    """Open the throttle and watch boost come: the time to 90 % of the boost of the steady point.

    Shafts turn with their inertia, gates move with their lag, and the compressor's gas is free to surge.
    Exit status 3 tells that no steady point was found to begin from or to aim at, 130 that it was cancelled (Ctrl-C).

    Example: spoolwright spool mine --rpm 3000
    """
    from spoolwright.cli import print_json
    from spoolwright.engine.compiling import is_compiled
    from spoolwright.engine.spool import report
    from spoolwright.engine.spool import spool as watched
    from spoolwright.sheet import load
    from spoolwright.terminal_pull import cancel_on_interrupt
    from spoolwright.terminal_spool import Progress, print_spool

    sheet = load(folder, variant, tuple(sets or ()))
    share = _read("--from", opening, "share")
    turned = None if inertia is None else _read("--inertia", inertia, "inertia")
    progress = Progress(is_compiled())
    with cancel_on_interrupt() as stop, progress.bar:
        made = watched(
            sheet, rpm, opening=share, inertia=turned, seconds=seconds,
            ready=progress.ready, progress=progress.moment, cancelled=stop.is_set,
        )  # fmt: skip
    if as_json:
        print_json(report(made, sheet))
    else:
        print_spool(made, sheet)
    if stop.is_set():
        raise typer.Exit(130)
    if made.target_boost_kPa is None or (made.start_boost_kPa is None and made.trouble):
        raise typer.Exit(3)


def _read(option: str, text: str, quantity: str) -> float:
    """A number with its unit in SI from what was typed."""
    from spoolwright import units

    try:
        return units.read(text, quantity).value
    except BadInput as trouble:
        raise BadInput(f"{option}: {trouble}") from None


def _pressure(text: str | None) -> float | None:
    """Gauge pressure [Pa] from what was typed."""
    return None if text is None else _read("--boost", text, "pressure_gauge")
