"""The command line. Commands read options, call one function of the job, and print; they compute nothing.

Heavy packages are imported inside the commands, so that ``--help`` stays quick.
Exit status: 0 done, 1 a ``stop`` finding with ``--strict``, 2 bad input, 3 did not converge.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from spoolwright import __version__, cli_bench, cli_book, cli_boost, cli_dyno
from spoolwright.errors import BadInput, NoConvergence, SpoolwrightError

app = typer.Typer(
    name="spoolwright",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Plan, predict, tune and hand over a turbocharged spark-ignition engine.",
)

AsJson = Annotated[bool, typer.Option("--json", help="Print plain data with SI values.")]
BuildDir = Annotated[Path, typer.Argument(help="The folder that holds build.toml.", metavar="DIR")]
Variant = Annotated[str | None, typer.Option("--variant", help="A variant of the build (a file in variants/).")]
Sets = Annotated[list[str] | None, typer.Option("--set", help="Change one value: path=value. May be repeated.")]
Strict = Annotated[bool, typer.Option("--strict", help="Exit with status 1 when a finding says stop.")]


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"spoolwright {__version__}")
        raise typer.Exit


@app.callback()
def _top(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    pass


def print_json(data: Any) -> None:
    """Plain data to standard output."""
    typer.echo(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="Where to put it.", metavar="DIR")] = Path("demo"),
    no_pull: Annotated[bool, typer.Option("--no-pull", help="Only copy and check; do not run the engine.")] = False,
    as_json: AsJson = False,
) -> None:
    """Copy the demo build wren, check it, run it, and write charts and the book into DIR/results.

    Example: spoolwright demo demo
    """
    from spoolwright.sheet import template

    made = template.new(folder, like="wren")
    if not as_json:
        typer.echo(f"The demo build wren stands in {made}; all its data are invented.\n")
    if no_pull:
        _check(made, None, (), False, False, as_json)
        return
    from spoolwright import predict

    checked = _checked(made) if as_json else {}
    if not as_json:
        _check(made, None, (), False, False, False)
        typer.echo("\nNow the run.")
    sheet = predict.runnable(made, None, (), turbo_off=False)
    done = _pull(sheet, predict.DEMO_SPEEDS)
    findings = predict.judge(done.pull, sheet)
    written = predict.write(predict.demo_files(made), done.pull, sheet)
    if not done.cancelled:
        from spoolwright.book.make import write_after_pull

        book = write_after_pull(made, sheet, predict.report(done.pull, sheet, findings, False))
        written += [book.pdf, book.html]
    if as_json:
        print_json({**checked, "pull": predict.report(done.pull, sheet, findings, done.cancelled)})
    else:
        from spoolwright import terminal_pull

        terminal_pull.print_pull(
            done.pull, sheet, findings, every=False, working=False, cancelled=done.cancelled, written=written
        )
    _leave(done, False)


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(help="The folder to make.", metavar="DIR")],
    like: Annotated[str | None, typer.Option("--like", help="Start from a demo build: wren, heron or plover.")] = None,
    as_json: AsJson = False,
) -> None:
    """Start a build: a folder with a commented build.toml.

    Example: spoolwright new mine --like wren
    """
    from spoolwright.sheet import template

    made = template.new(folder, like)
    if as_json:
        print_json({"build": made.name, "folder": str(made), "like": like})
    else:
        typer.echo(f"{made / 'build.toml'} is yours to fill in. Then: spoolwright check {made}")


@app.command()
def check(
    folder: BuildDir,
    variant: Variant = None,
    sets: Sets = None,
    working: Annotated[
        bool, typer.Option("--working", help="Open each finding into formula, numbers, source.")
    ] = False,
    strict: Strict = False,
    as_json: AsJson = False,
) -> None:
    """Check a build: faults of the sheet, then findings that need no run, worst first.

    Example: spoolwright check mine --variant hill --set cylinders.deck="1.0 mm"
    """
    _check(folder, variant, sets or (), working, strict, as_json)


def _checked(folder: Path) -> dict[str, Any]:
    from spoolwright.findings import check as judging
    from spoolwright.sheet import load

    sheet = load(folder)
    return judging.report(sheet, judging.check(sheet))


def _check(folder: Path, variant: str | None, sets: Sequence[str], working: bool, strict: bool, as_json: bool) -> None:
    from spoolwright.findings import check as judging
    from spoolwright.sheet import load

    sheet = load(folder, variant, sets)
    findings = judging.check(sheet)
    if as_json:
        print_json(judging.report(sheet, findings))
    else:
        from spoolwright import terminal

        terminal.print_check(sheet, findings, working)
    if strict and any(one.verdict == "stop" for one in findings):
        raise typer.Exit(1)


@app.command()
def pull(
    folder: BuildDir,
    rpm: Annotated[
        str | None,
        typer.Option("--rpm", help="Speeds: first:last:step or a list; else up to limits.max_speed.", metavar="SPEEDS"),
    ] = None,
    variant: Variant = None,
    against: Annotated[
        str | None,
        typer.Option("--against", help='Run this variant too, and hold both side by side; "sheet" for none.'),
    ] = None,
    sets: Sets = None,
    turbo_off: Annotated[bool, typer.Option("--turbo-off", help="Run the engine with its turbo taken off.")] = False,
    every: Annotated[bool, typer.Option("--all", help="Show every column, speeds side by side.")] = False,
    working: Annotated[bool, typer.Option("--working", help="Open each finding; list everything assumed.")] = False,
    charts: Annotated[
        Path | None, typer.Option("--charts", help="Draw charts into this folder.", metavar="DIR")
    ] = None,
    chart_format: Annotated[str, typer.Option("--chart-format", help="png, svg or pdf.")] = "png",
    trace: Annotated[
        float | None,
        typer.Option("--trace", help="With --charts: also charts and table of one cycle at this speed.", metavar="RPM"),
    ] = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="Write the table as CSV.", metavar="FILE")] = None,
    parquet: Annotated[
        Path | None, typer.Option("--parquet", help="Write the table as Parquet.", metavar="FILE")
    ] = None,
    workers: Annotated[
        int | None, typer.Option("--workers", min=1, help="Threads to use; else one for each core.")
    ] = None,
    strict: Strict = False,
    as_json: AsJson = False,
) -> None:
    """Run a full-load pull: torque, power, filling, pressures, temperatures and knock over speed, with findings.

    Exit status 3 tells that a speed did not settle, 130 that the pull was cancelled (Ctrl-C).

    Example: spoolwright pull mine --rpm 2000:6000:500 --csv pull.csv --charts charts
    """
    from spoolwright import predict

    files = predict.Files(charts, chart_format, trace, csv, parquet)
    files.check()
    sheet = predict.runnable(folder, variant, sets or (), turbo_off)
    other = predict.other_sheet(folder, variant, against, sets or (), turbo_off) if against is not None else None
    speeds = predict.speeds_of(sheet, rpm, trace)
    done = _pull(sheet, speeds, workers)
    held = None if other is None or done.cancelled else _pull(other, speeds, workers)
    findings = predict.judge(done.pull, sheet)
    written = predict.write(files, done.pull, sheet)
    if not (done.cancelled or turbo_off or sets):
        _keep(folder, sheet, predict.report(done.pull, sheet, findings, False))
    if as_json:
        told = predict.report(done.pull, sheet, findings, done.cancelled)
        if held is not None and other is not None:
            told["against"] = predict.against(done.pull, sheet, held.pull, other)
        print_json(told)
    else:
        from spoolwright import terminal_pull

        terminal_pull.print_pull(
            done.pull, sheet, findings, every=every, working=working, cancelled=done.cancelled, written=written
        )
        if held is not None and other is not None:
            terminal_pull.print_against(done.pull, sheet, held.pull, other)
    if held is not None:
        _leave(held, False)
    _leave(done, strict and any(one.verdict == "stop" for one in findings))


def _keep(folder: Path, sheet: Any, report: Any) -> None:
    """Keep a whole pull with its build, for the book and the bench; a folder that cannot be written is only told of."""
    from spoolwright.book.run import keep_fuller

    try:
        keep_fuller(folder, sheet, report)
    except BadInput as trouble:
        typer.echo(f"The run is not kept with the build: {trouble}", err=True)


def _pull(sheet: Any, speeds: Sequence[float], workers: int | None = None) -> Any:
    from spoolwright import predict, terminal_pull
    from spoolwright.engine.compiling import is_compiled

    progress = terminal_pull.Progress(len(speeds), is_compiled())
    with terminal_pull.cancel_on_interrupt() as asked, progress.bar:
        return predict.run(sheet, speeds, workers, progress.ready, progress.done, asked.is_set)


def _leave(done: Any, stopped: bool) -> None:
    """Leave with the status that says how a pull went, worst first."""
    if done.cancelled:
        raise typer.Exit(130)
    if any(not point.columns["converged"] for point in done.pull.points):
        raise typer.Exit(3)
    if stopped:
        raise typer.Exit(1)


@app.command("sum", context_settings={"allow_extra_args": True, "ignore_unknown_options": True})
def sum_command(
    context: typer.Context,
    name: Annotated[str | None, typer.Argument(help="The sum; without it all are listed.")] = None,
    source: Annotated[Path | None, typer.Option("--from", help="Fill inputs from this build.", metavar="DIR")] = None,
    variant: Variant = None,
    cylinder: Annotated[
        int | None, typer.Option("--cylinder", help="With --from: the cylinder whose values fill the sum.")
    ] = None,
    sets: Sets = None,
    explain: Annotated[bool, typer.Option("--explain", help="Show inputs, ranges, formula and source only.")] = False,
    as_json: AsJson = False,
) -> None:
    """List the sums, or do one, with its working.

    Inputs are written as options or as name=value; several values of one input are separated by ";". With --from, what
    is not written is taken from the build; write --name none to leave one out.

    Example: spoolwright sum compression_ratio --bore "92.5 mm" --stroke "80 mm" --chamber "56.5 cc" --deck "45 thou"
    """
    from spoolwright import terminal
    from spoolwright.sums import evaluate

    if name is None:
        from spoolwright.sums.registry import TOPICS, all_sums

        sums = all_sums()
        if as_json:
            print_json([{"sum": s.name, "topic": s.topic, "title": s.title} for s in sums.values()])
        else:
            terminal.print_sums(sums, TOPICS)
        return
    which = evaluate.find(name)
    given = _inputs(context.args)
    if explain or (not given and source is None):
        if as_json:
            print_json(evaluate.describe(which))
        else:
            terminal.print_explanation(which)
        return
    filled: dict[str, str] = {}
    if source is not None:
        from spoolwright.sheet import load
        from spoolwright.sums.fill import LEAVE_OUT, fill

        values, filled = fill(which, load(source, variant, sets or ()), given, cylinder)
        given = {**values, **{key: value for key, value in given.items() if value != LEAVE_OUT}}
    answer = evaluate.evaluate(which.name, given, filled)
    if as_json:
        print_json(evaluate.as_json(answer))
    else:
        terminal.print_answer(answer)


def _inputs(words: list[str]) -> dict[str, Any]:
    """``--bore "92.5 mm"``, ``--bore="92.5 mm"`` and ``bore="92.5 mm"``; a repeated name makes a list."""
    from spoolwright.errors import BadInput

    given: dict[str, Any] = {}
    at = 0
    while at < len(words):
        word = words[at]
        at += 1
        key, equals, value = word.lstrip("-").partition("=")
        if not equals:
            if not word.startswith("--") or at >= len(words):
                raise BadInput(f'"{word}" is not an input; write --name "value" or name="value"')
            value = words[at]
            at += 1
        if word.startswith("--input"):
            key, equals, value = value.partition("=")
            if not equals:
                raise BadInput(f'"--input {key}" has no value; write --input {key or "bore"}="92.5 mm"')
        key = key.replace("-", "_")
        if key in given:
            before = given[key]
            given[key] = [*before, value] if isinstance(before, list) else [before, value]
        else:
            given[key] = value
    return given


app.add_typer(cli_dyno.app, name="dyno")
app.command()(cli_boost.match)
app.command()(cli_boost.spool)
app.command()(cli_book.book)
app.command()(cli_book.crate)
app.command()(cli_bench.bench)


def main() -> None:
    """Entry point: one sentence on standard error instead of a traceback, and the exit status."""
    try:
        app(standalone_mode=True)
    except NoConvergence as trouble:
        _complain(str(trouble), 3)
    except SpoolwrightError as trouble:
        _complain(str(trouble), 2)
    except BrokenPipeError:
        sys.exit(0)


def _complain(message: str, status: int) -> None:
    if "--json" in sys.argv:
        print_json({"faults": message.splitlines()})
    for line in message.splitlines():
        typer.echo(line, err=True)
    sys.exit(status)
