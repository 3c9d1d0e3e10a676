"""The stop list and the do-not list of a build, from its own limits and from what stands on its sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from spoolwright.dyno import stops
from spoolwright.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Stop:
    """One line of the stop list: what is watched and at what one stops; ``missing`` where the sheet gives no limit."""

    what: str
    when: str
    path: str = ""
    missing: bool = False


def stop_list(sheet: Sheet) -> list[Stop]:
    """What ends a run at once: limits of the sheet, those it lacks listed as missing, and one line for the signs."""
    found = [
        Stop(one.watched, "no limit given" if one.missing else f"{one.side} {one.limit}", one.path, one.missing)
        for one in stops.stop_list(sheet)
        if one.path
    ]
    found.append(Stop("knock, any; a hiss at a head; oil smoke", "lift off"))
    return found


def do_not(sheet: Sheet) -> list[str]:
    """What must not be done with this engine, each from what stands on its sheet."""
    return list(_from_sheet(sheet))


def _from_sheet(sheet: Sheet) -> Iterator[str]:
    if sheet.has("fuel.grade"):
        yield f"Do not run it on less than {sheet.text('fuel.grade')}."
    if sheet.has("limits.full_load_time"):
        yield f"Do not hold full load longer than {sheet.quantity('limits.full_load_time').text} from cold heads."
    if sheet.has("wastegate") and sheet.choice("wastegate.opening_signal") != "open_air":
        yield "Do not run it with the gate's hose off or pinched: nothing then holds the boost down."
    if sheet.has("cooling.leaks"):
        joints = ", ".join(name.replace("_", " ") for name in sheet.names("cooling.leaks"))
        yield f"Do not run it with a shroud joint open ({joints})."
    if sheet.has("limits.max_speed"):
        yield f"Do not turn it above {sheet.quantity('limits.max_speed').text}, missed gears included."
    if sheet.has("spark.advance"):
        most = sheet.quantity("spark.advance").text
        yield f"Do not set more spark than {most} without a run that shows the knock margin."
