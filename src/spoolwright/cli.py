"""The command line. Commands read options, call one function of the job, and print; they compute nothing.

Heavy packages are imported inside the commands, so that ``--help`` stays quick.
Exit status: 0 done, 1 a ``stop`` finding with ``--strict``, 2 bad input, 3 did not converge.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from spoolwright import __version__
from spoolwright.errors import NoConvergence, SpoolwrightError

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


@app.command("sum", context_settings={"allow_extra_args": True, "ignore_unknown_options": True})
def sum_command(
    context: typer.Context,
    name: Annotated[str | None, typer.Argument(help="The sum; without it all are listed.")] = None,
    source: Annotated[Path | None, typer.Option("--from", help="Fill inputs from this build.", metavar="DIR")] = None,
    variant: Variant = None,
    explain: Annotated[bool, typer.Option("--explain", help="Show inputs, ranges, formula and source only.")] = False,
    as_json: AsJson = False,
) -> None:
    """List the sums, or do one, with its working.

    Inputs are written as options or as name=value; several values of one input are separated by ";".

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
        from spoolwright.sums.fill import fill

        values, filled = fill(which, load(source, variant=variant), given)
        given = {**values, **given}
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
