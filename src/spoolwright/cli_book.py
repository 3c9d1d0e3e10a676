"""The commands of the hand over: ``book`` and ``crate``. They read options, call one function and print."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from spoolwright.crate.manifest import Manifest
    from spoolwright.sheet import Sheet

AsJson = Annotated[bool, typer.Option("--json", help="Print plain data.")]


def book(
    folder: Annotated[Path, typer.Argument(help="The folder that holds build.toml.", metavar="DIR")],
    variant: Annotated[str | None, typer.Option("--variant", help="A variant of the build.")] = None,
    paper: Annotated[str, typer.Option("--paper", help="a4 or letter.")] = "a4",
    units: Annotated[str, typer.Option("--units", help="typed (as on the sheet), metric or us.")] = "typed",
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder to write into; else DIR/results.", metavar="FOLDER")
    ] = None,
    no_pull: Annotated[
        bool, typer.Option("--no-pull", help="Do not run the engine; take a kept pull of these inputs or none.")
    ] = False,
    workers: Annotated[
        int | None, typer.Option("--workers", min=1, help="Threads to use; else one for each core.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Write the build book as PDF and as one HTML file: what was built, set, measured, computed, and what is missing.

    A pull of the same inputs is kept in DIR/results and not run again.

    Example: spoolwright book mine --paper letter --units us
    """
    from spoolwright.book import make
    from spoolwright.book.in_units import CHOICES

    for option, word, allowed in (("--paper", paper, make.PAPERS), ("--units", units, CHOICES)):
        if word not in allowed:
            raise BadInput(f'{option} "{word}" is not one of {", ".join(allowed)}')
    options = make.Options(variant, paper, units, not no_pull)  # type: ignore[arg-type]
    build = make.gather(folder, options, lambda sheet: _pull(sheet, workers))
    made = make.of_build(build, options)
    written = make.write(made, out or folder / "results")
    if as_json:
        from spoolwright.cli import print_json

        print_json(
            {
                "build": made.build,
                "variant": variant,
                "digest": made.digest,
                "program_version": made.version,
                "pdf": str(written.pdf),
                "html": str(written.html),
                "sheets": written.sheets,
                "paper": paper,
                "units": units,
                "gaps": [{"kind": one.kind, "what": one.what, "fill": one.fill} for one in build.gaps],
            }
        )
        return
    typer.echo(f"{written.pdf}: {written.sheets} sheets.")
    typer.echo(f"{written.html}: the same as one page.")


def _pull(sheet: Sheet, workers: int | None) -> tuple[Any, bool]:
    """Run the usual pull of a sheet with progress on standard error."""
    from spoolwright import predict, terminal_pull
    from spoolwright.engine.compiling import is_compiled

    speeds = predict.speeds_of(sheet, None)
    progress = terminal_pull.Progress(len(speeds), is_compiled())
    with terminal_pull.cancel_on_interrupt() as asked, progress.bar:
        done = predict.run(sheet, speeds, workers, progress.ready, progress.done, asked.is_set)
    return done.pull, done.cancelled


def crate(
    folder: Annotated[
        Path | None, typer.Argument(help="The build to pack, or with --open the new folder.", metavar="DIR")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="The crate to write; else DIR.crate.zip beside it.", metavar="FILE")
    ] = None,
    opened: Annotated[
        Path | None, typer.Option("--open", help="Open this crate into the new folder DIR.", metavar="FILE")
    ] = None,
    look_at: Annotated[
        Path | None, typer.Option("--look", help="Only compare this crate with its own list.", metavar="FILE")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Pack a build into one archive with the hash of every file, or open one.

    A crate opens only whole and unchanged, into a new folder; then the checks are run again and compared with what they
    said when it was packed. Tell the receiver the crate's hash by another way: a list can be changed with its files.

    Example: spoolwright crate mine --out mine.crate.zip
    """
    if opened is not None and look_at is not None:
        raise BadInput("--open and --look are two jobs; name one of them")
    if look_at is not None:
        _look(look_at, as_json)
    elif folder is None:
        raise BadInput("name the build's folder, for example: spoolwright crate mine")
    elif opened is not None:
        _open(opened, folder, as_json)
    else:
        _pack(folder, out, as_json)


def _told(manifest: Manifest) -> dict[str, Any]:
    size = sum(one.size for one in manifest.files.values())
    return {
        "build": manifest.build,
        "program_version": manifest.version,
        "hash": manifest.hash,
        "files": len(manifest.files),
        "bytes": size,
        "checks": {name or "the sheet": dict(told) for name, told in manifest.checks.items()},
    }


def _pack(folder: Path, out: Path | None, as_json: bool) -> None:
    from spoolwright.crate.pack import pack

    packed = pack(folder, out)
    if as_json:
        from spoolwright.cli import print_json

        print_json({"crate": str(packed.file), **_told(packed.manifest), "left_out": list(packed.left_out)})
        return
    typer.echo(f"{packed.file}: {len(packed.manifest.files)} files.")
    for name in packed.left_out:
        typer.echo(f"left out: {name}")
    typer.echo(f"hash {packed.manifest.hash}")
    typer.echo(f"To open it: spoolwright crate NEW-FOLDER --open {packed.file.name}")


def _look(file: Path, as_json: bool) -> None:
    from spoolwright.crate.unpack import look

    seen = look(file)
    if as_json:
        from spoolwright.cli import print_json

        troubles = [{"file": one.file, "what": one.what} for one in seen.troubles]
        print_json({"crate": str(file), **_told(seen.manifest), "troubles": troubles})
    elif not seen.troubles:
        typer.echo(f"{file}: {seen.manifest.build}, {len(seen.manifest.files)} files, each as it was packed.")
        typer.echo(f"hash {seen.manifest.hash}")
    else:
        for one in seen.troubles:
            typer.echo(str(one), err=True)
    if seen.troubles:
        raise typer.Exit(2)


def _open(file: Path, folder: Path, as_json: bool) -> None:
    from spoolwright.crate.unpack import unpack

    done = unpack(file, folder)
    if as_json:
        from spoolwright.cli import print_json

        print_json({"folder": str(folder), **_told(done.manifest), "differences": list(done.differences)})
        return
    typer.echo(f"{folder}: {done.manifest.build}, {len(done.manifest.files)} files, each as it was packed.")
    typer.echo(f"hash {done.manifest.hash}")
    for told in done.differences:
        typer.echo(told, err=True)
    if not done.differences:
        typer.echo("Its checks say what they said when it was packed.")
