"""The ``dyno`` commands. Like the rest of the command line they read options, call one function and print."""

from __future__ import annotations

import typer

from spoolwright.cli_dyno.builds import fit, plan
from spoolwright.cli_dyno.logs import read, reduce
from spoolwright.cli_dyno.pulls import compare, correct, diagnose

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Dyno day: read logs as they come, reduce, correct, compare, diagnose, fit, plan.",
)
for command in (read, reduce, correct, compare, diagnose, fit, plan):
    app.command()(command)
