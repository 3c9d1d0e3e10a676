"""The ``dyno`` commands. Like the rest of the command line they read options, call one function and print."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spoolwright.errors import BadInput

app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Dyno day: read logs as they come.")


def _confirmed(pairs: list[str]) -> dict[str | int, str | None]:
    """``CHT=head_temp_1 [degF]`` and ``4=afr``; ``AN 3=`` says that nobody can tell."""
    confirmed: dict[str | int, str | None] = {}
    for pair in pairs:
        name, equals, role = pair.partition("=")
        if not equals or not name.strip():
            raise BadInput(f'--column "{pair}" is not NAME=ROLE; write for example --column "CHT=head_temp_1 [degF]"')
        key: str | int = int(name) if name.strip().isdigit() else name.strip()
        confirmed[key] = role.strip() or None
    return confirmed


@app.command("read")
def read(
    file: Annotated[Path, typer.Argument(help="The log as it came; it is never changed.", metavar="FILE")],
    out: Annotated[Path | None, typer.Option("--out", help="Write the cleaned table (.csv or .parquet).")] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--column", help="Confirm a column: NAME=ROLE [unit]; remembered beside the log. May be repeated."
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print plain data.")] = False,
) -> None:
    """Read a log in whatever dialect it is, and list every repair.

    Columns are recognised by name, unit and range; what is guessed is shown and can be confirmed. Nothing is dropped,
    filled, re-ordered or scaled without a line in the report.

    Example: spoolwright dyno read pulls/evening.csv --out clean.csv
    """
    from spoolwright.cli import print_json
    from spoolwright.dyno import read_log
    from spoolwright.dyno.readers import report

    log = read_log(file, confirmed=_confirmed(column) if column else None)
    if out is not None:
        report.write_clean(log, out)
    if as_json:
        print_json(report.as_json(log))
        return
    for line in report.lines_for_people(log):
        typer.echo(line)
    if out is not None:
        typer.echo(f"The cleaned table is in {out}.")
