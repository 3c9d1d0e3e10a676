"""The ``bench`` command: reads options and starts the local web app."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spoolwright.errors import BadInput

PORT = 8137


def bench(
    folder: Annotated[Path, typer.Argument(help="A build, or a folder that holds builds.", metavar="DIR")] = Path("."),
    host: Annotated[
        str | None,
        typer.Option(
            "--host", help="Listen here instead of this machine only (0.0.0.0: everywhere); asks for a token."
        ),
    ] = None,
    port: Annotated[int, typer.Option("--port", help="The port; 0 takes any free one.", min=0, max=65535)] = PORT,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open a browser window.")] = False,
) -> None:
    """Open the bench: the local web app on a build or a folder of builds.

    It listens to this machine only. With --host it listens to the network, prints a token with the address and a code
    for a phone's camera.

    Example: spoolwright bench mine
    """
    try:
        from spoolwright.bench.serve import serve
    except ModuleNotFoundError as trouble:
        raise BadInput(
            f"the bench needs the package {trouble.name}; install spoolwright with all it depends on"
        ) from None
    serve(folder, host, port, not no_browser, lambda text: typer.echo(text))
