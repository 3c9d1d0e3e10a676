"""Options that the dyno commands share, and what their words mean."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from datetime import datetime

AsJson = Annotated[bool, typer.Option("--json", help="Print plain data.")]
LogFile = Annotated[Path, typer.Argument(help="The log as it came; it is never changed.", metavar="FILE")]
Build = Annotated[Path, typer.Argument(help="The folder that holds build.toml.", metavar="DIR")]
Pulls = Annotated[list[str], typer.Argument(help="Logs, or single pulls of them (evening.csv#2).", metavar="PULL...")]
Charts = Annotated[Path | None, typer.Option("--charts", help="Draw charts into this folder.", metavar="DIR")]
ChartFormat = Annotated[str, typer.Option("--chart-format", help="png, svg or pdf.")]
Author = Annotated[str | None, typer.Option("--author", help="Who; needed for an entry in the logbook.")]
Variant = Annotated[str | None, typer.Option("--variant", help="A variant of the build (a file in variants/).")]
Sets = Annotated[list[str] | None, typer.Option("--set", help="Change one value: path=value. May be repeated.")]
TurboOff = Annotated[bool, typer.Option("--turbo-off", help="Run the engine with its turbo taken off.")]
Step = Annotated[float, typer.Option("--step", help="Speed between two points.", metavar="RPM")]
AirWords = Annotated[
    list[str] | None,
    typer.Option("--air", help='Air of the day: "temperature=24 degC", "barometer=98.2 kPa", "humidity=48 %".'),
]
BoostControl = Annotated[
    str | None, typer.Option("--boost-control", help="How boost is held: none, gauge, absolute or compensated.")
]
Rig = Annotated[list[str] | None, typer.Option("--rig", help="Anything else of the rig, name=value; see the guide.")]
Inertia = Annotated[str | None, typer.Option("--inertia", help='Of the roller and all with it: "85 kg m2 ± 1 %".')]
Ratio = Annotated[str | None, typer.Option("--ratio", help="Turns of the engine for one of the roller.")]
RunDown = Annotated[
    str | None, typer.Option("--run-down", help='Where the roller coasts, clutch out: "after" a pull, or a segment.')
]
StandsAt = Annotated[str | None, typer.Option("--stands-at", help="Where a torque column holds: flywheel or wheel.")]
CorrectedBy = Annotated[
    str | None, typer.Option("--corrected-by", help='The code a torque column was corrected by, or "observed".')
]
Density = Annotated[str | None, typer.Option("--fuel-density", help='Turns volume flow into mass: "745 kg/m3".')]
Display = Annotated[
    str | None, typer.Option("--afr-stoichiometric", help="The air-fuel ratio a display counts as lambda 1.")
]
DelayOf = Annotated[list[str] | None, typer.Option("--delay", help='A channel\'s delay, stated: "afr=0.35 s".')]
NoKeep = Annotated[bool, typer.Option("--no-keep", help="Do not keep these words beside the log.")]


def pairs(option: str, words: Sequence[str] | None, example: str) -> dict[str, str]:
    """``name=value`` words as a table. Raises BadInput with ``example`` where one is not."""
    found: dict[str, str] = {}
    for word in words or ():
        name, equals, value = word.partition("=")
        if not equals or not name.strip() or not value.strip():
            raise BadInput(f'{option} "{word}" is not name=value; write for example {option} "{example}"')
        found[name.strip().replace("-", "_")] = value.strip()
    return found


def confirmed_columns(pairs: list[str]) -> dict[str | int, str | None]:
    """``CHT=head_temp_1 [degF]`` and ``4=afr``; ``AN 3=`` says that nobody can tell."""
    confirmed: dict[str | int, str | None] = {}
    for pair in pairs:
        name, equals, role = pair.partition("=")
        if not equals or not name.strip():
            raise BadInput(f'--column "{pair}" is not NAME=ROLE; write for example --column "CHT=head_temp_1 [degF]"')
        key: str | int = int(name) if name.strip().isdigit() else name.strip()
        confirmed[key] = role.strip() or None
    return confirmed


def moment(text: str | None) -> datetime | None:
    """Time of a pull, with its offset from UTC; this machine's where none is written."""
    from datetime import datetime

    if text is None:
        return None
    try:
        return datetime.fromisoformat(text).astimezone()
    except ValueError:
        raise BadInput(f'--made "{text}" is no time; write for example --made "2024-05-04T16:20"') from None


def named_author(author: str | None, what: str) -> str:
    """The author, who must be named for an entry in the logbook. Raises BadInput."""
    if not author or not author.strip():
        raise BadInput(f'{what} is entered in the logbook and needs its author: add --author "A. Maker"')
    return author


def check_step(step: float) -> None:
    """Raise BadInput for a speed between two points [rpm] that makes no table."""
    if not 10.0 <= step <= 2000.0:
        raise BadInput(f"--step {step:g} is outside 10 to 2000 rpm")


def draw(made: Sequence[Any], folder: Path, kind: str) -> list[Path]:
    """Draw these charts into ``folder``; the files written. Raises BadInput for a wrong format or folder."""
    from spoolwright.charts.paper import FORMATS, draw_all

    if kind not in FORMATS:
        raise BadInput(f'--chart-format "{kind}" is not one of {", ".join(FORMATS)}')
    if folder.exists() and not folder.is_dir():
        raise BadInput(f"--charts {folder}: a file stands there; name a folder")
    return draw_all(made, folder, kind)
