"""The job "plan": a dyno session on paper and on the phone: run-in steps, pulls in order, stop list, sign-offs.

The stop list holds the build's own limits; one it lacks is named as missing, never filled in. Run-in steps and the
order of pulls are common practice, no source. A step is done when it is signed off in the logbook.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, Literal

from spoolwright import units
from spoolwright.dyno.limits import Limit, limits_of
from spoolwright.dyno.stops import Stop, boosted, stop_list
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet, logbook

Part = Literal["before", "run-in", "pulls", "after"]


@dataclass(frozen=True, slots=True)
class Step:
    """One step: ``number`` by which it is signed off, what to do, what to write down, when it may go on."""

    number: int
    part: Part
    title: str
    do: tuple[str, ...]
    write_down: tuple[str, ...] = ()
    go_on: str = ""
    change: str = ""
    signed: str = ""


@dataclass(frozen=True, slots=True)
class Plan:
    """A session. ``missing``: limits the sheet lacks; ``next`` the number of the first step not signed off, if any."""

    build: str
    variant: str
    boosted: bool
    steps: tuple[Step, ...]
    stops: tuple[Stop, ...]
    channels: tuple[str, ...]
    missing: tuple[str, ...]
    cautions: tuple[str, ...]
    next: int | None


def plan(
    sheet: Sheet,
    changes: Sequence[str] = (),
    repeats: int = 3,
    folder: str | Path | None = None,
    day: date | None = None,
) -> Plan:
    """The session for this build. ``changes``: one change each, in words or as path=value, in the order wanted.

    ``repeats``: like pulls before and after each change. With ``folder`` the logbook's sign-offs are shown:
    run-in steps whenever they were signed, the rest where it was on ``day`` (today when not given).
    Raises BadInput for fewer than two repeats or a change that is two at once.
    """
    if not 2 <= repeats <= 10:
        raise BadInput(f"{repeats} like pulls are asked for; two are the least that show a spread, three are better")
    for change in changes:
        if not change.strip() or any(mark in change for mark in (";", " and ", " + ")):
            raise BadInput(f'"{change}" reads like two changes; name one at a time, so that its effect can be told')
    charged = boosted(sheet)
    stops = stop_list(sheet)
    limits = limits_of(sheet)
    steps = [
        *_before(sheet, charged),
        *_run_in(sheet, limits),
        *_pulls(sheet, limits, charged, changes, repeats),
        _after(),
    ]
    numbered = [replace(step, number=n) for n, step in enumerate(steps, start=1)]
    signed = _signed(folder, sheet, numbered, day or date.today()) if folder is not None else {}
    done = tuple(replace(step, signed=signed.get(step.title, "")) for step in numbered)
    return Plan(
        sheet.name,
        sheet.variant or "",
        charged,
        done,
        tuple(one for one in stops if not one.missing),
        _channels(sheet, charged),
        tuple(f"{one.path}: {one.watched}" for one in stops if one.missing),
        (
            "Nobody beside or behind the rollers; straps and guards checked; exhaust led outside; extinguisher at "
            "hand.",
            "Whoever sees a limit passed calls stop, and the driver lifts without asking.",
            "One change between pulls. A number that looks too good is a number to repeat.",
        ),
        next((s.number for s in done if not s.signed), None),
    )


def sign_off(
    folder: str | Path, made: Plan, number: int, author: str, text: str = "", **measured: Any
) -> logbook.Entry:
    """Enter step ``number`` as done in the build's logbook. Raises BadInput for a number the plan does not have."""
    step = next((s for s in made.steps if s.number == number), None)
    if step is None:
        raise BadInput(f"the plan has steps 1 to {len(made.steps)}, not {number}")
    kind = "run-in step" if step.part == "run-in" else "sign-off"
    words = text.strip() or f"{step.title}: done"
    details = {"step": step.title, "variant": made.variant, **measured}
    return logbook.append(folder, kind, words, author, None, **details)


def _signed(folder: str | Path, sheet: Sheet, steps: Sequence[Step], day: date) -> dict[str, str]:
    titles = {s.title: s.part for s in steps}
    found = {}
    for entry in logbook.read(folder).entries:
        title = str(entry.details.get("step", ""))
        if title not in titles or entry.kind not in ("sign-off", "run-in step"):
            continue
        if entry.details.get("variant", "") != (sheet.variant or ""):
            continue
        if titles[title] == "run-in" or entry.time[:10] == day.isoformat():
            found[title] = f"{entry.author}, {entry.time[:16].replace('T', ' ')}"
    return found


def _speed(sheet: Sheet, share: float) -> int:
    """A share of the highest speed, rounded down to 100 rpm."""
    return int(share * sheet.value("limits.max_speed") * 30.0 / math.pi // 100 * 100)


def _shown(limits: Sequence[Limit], role: str) -> str:
    return next((one.text for one in limits if one.role == role), "your limit (not in the sheet)")


def _step(
    part: Part, title: str, do: Sequence[str], note: Sequence[str] = (), go_on: str = "", change: str = ""
) -> Step:
    return Step(0, part, title, tuple(do), tuple(note), go_on, change)


def _before(sheet: Sheet, charged: bool) -> list[Step]:
    fuel = sheet.maybe_text("fuel.grade") or "the fuel of the sheet"
    fluids = [
        "oil and fuel level, filter, every hose and clip, throttle return, kill switch",
        "leak test of fuel at running pressure, engine not turning",
        f"fuel in the tank is {fuel}, from one can for the whole day",
    ]
    if charged:
        fluids.insert(2, "pressure test of the charge side to the boost meant; gate moves by hand and its hose is on")
    sensors = (
        "engine off: boost 0, manifold equals barometer, heads equal air within 3 K, mixture sensor warm",
        "log every channel of the list for ten seconds and read that log (dyno read)",
    )
    return [
        _step(
            "before", "Safety and fluids", fluids, ("fuel and batch", "oil grade and hours"), "two people have looked"
        ),
        _step(
            "before", "Sensors read right", sensors, ("barometer", "air temperature", "humidity"), "no sensor is dead"
        ),
        _step(
            "before",
            "Timing by strobe",
            ("strobe at idle and without load at half speed: the mark stands and does not wander",),
            ("timing at both speeds",),
            "the timing shown is the timing meant",
        ),
    ]


def _run_in(sheet: Sheet, limits: Sequence[Limit]) -> list[Step]:
    oil, heads = _shown(limits, "oil_pressure"), _shown(limits, "head_temp")
    quiet, half, most = _speed(sheet, 0.4), _speed(sheet, 0.55), _speed(sheet, 0.75)
    return [
        _step(
            "run-in",
            "First start",
            (
                "crank without spark until oil pressure shows; then start",
                f"hold 1800 to {max(quiet, 2000)} rpm without load: 20 minutes for a new cam, else until warm",
            ),
            ("oil pressure cold and warm", "noises"),
            f"oil pressure is right (limit {oil}), no leak, no knock",
        ),
        _step(
            "run-in",
            "Cool down, retighten, first oil",
            ("cold: retighten what your notes say, set lash, change oil and filter, cut the filter open",),
            ("what was in the filter", "lash"),
            "nothing but fine grey in the filter",
        ),
        _step(
            "run-in",
            "Seat the rings",
            (
                f"ten short pulls at half throttle, {quiet} to {half} rpm, each followed by a closed-throttle run-out",
                f"heads stay 40 K below their limit ({heads}); pause when they do not",
            ),
            ("head temperatures", "crankcase pressure"),
            "crankcase pressure has fallen and stays",
        ),
        _step(
            "run-in",
            "Load in steps",
            (f"half, then three quarters of load at {half} and {most} rpm, 20 s each; read mixture and heads at each",),
            ("mixture", "heads", "oil temperature"),
            "mixture is what is meant at every step",
        ),
        _step(
            "run-in",
            "Leak-down after run-in",
            ("leak-down warm on every cylinder, plugs read",),
            ("leak-down by cylinder",),
            "cylinders within a few per cent of each other",
        ),
    ]


def _pulls(sheet: Sheet, limits: Sequence[Limit], charged: bool, changes: Sequence[str], repeats: int) -> list[Step]:
    top, short, low = _speed(sheet, 1.0), _speed(sheet, 0.75), _speed(sheet, 0.33)
    start = "start each at the same head, oil and charge temperature (within 5 K)"
    first = (
        f"full load to {short} rpm only" + (", spring alone, no added boost" if charged else ""),
        f"read the log before the next: mixture, knock{', fuel pressure over boost' if charged else ''} (dyno "
        f"diagnose)",
    )
    base = (
        f"full load from {low} to {top} rpm, {repeats} times, nothing changed",
        start,
        "after one of them: clutch out at the top, let the roller run down for its losses",
    )
    steps = [
        _step(
            "pulls",
            "Short pull, least boost" if charged else "Short pull",
            first,
            (),
            "nothing came near the stop list",
        ),
        _step(
            "pulls",
            f"Base: {repeats} like pulls",
            base,
            ("start temperatures", "weather again if an hour has passed"),
            "they agree within 2 %; if not, find out why before anything is changed",
        ),
    ]
    steps += [
        _step(
            "pulls",
            f"Change: {change}",
            (f"only this: {change}", f"one short pull to {short} rpm, log read, then {repeats} like pulls", start),
            ("the change in the logbook with from, to and why",),
            "judged against the spread of the base (dyno compare)",
            change,
        )
        for change in changes
    ]
    if changes:
        steps.append(
            _step(
                "pulls",
                "Base again",
                (f"{repeats} like pulls with the first setting", start),
                (),
                "the base has not moved; else the changes were judged against a moving mark",
            )
        )
    if sheet.has("limits.full_load_time"):
        held = units.show(sheet.value("limits.full_load_time"), "time", "s")
        steps.append(
            _step(
                "pulls",
                "Hold test",
                (
                    f"full load held at {_speed(sheet, 0.7)} rpm, up to {held}; lift at the first limit",
                    "a ten-second pull says nothing about cooling",
                ),
                ("heads every 5 s", "oil temperature"),
                f"heads settle below {_shown(limits, 'head_temp')}",
            )
        )
    return steps


def _after() -> Step:
    return _step(
        "after",
        "Cool down and look",
        (
            "idle down until the heads stop falling, then off",
            "plugs, oil level, leaks, every clip",
            "copy the logs as they are",
        ),
        ("plug colour by cylinder", "oil level"),
        "logs are kept in the build's pulls folder (dyno read --into)",
    )


def _channels(sheet: Sheet, charged: bool) -> tuple[str, ...]:
    heads = "every head temperature" if sheet.choice("cooling.medium") == "air" else "water temperature"
    wanted = [
        *("time", "engine speed", "roller speed or load", "throttle", "mixture (lambda)", heads, "oil temperature"),
        *(
            "oil pressure",
            "exhaust temperature",
            "timing",
            "knock",
            "crankcase pressure",
            "barometer",
            "air temperature",
        ),
    ]
    if charged:
        wanted[4:4] = ["boost or manifold pressure"]
        wanted += ["fuel pressure", "pump volts", "charge temperature", "exhaust pressure before the turbine"]
    return tuple(wanted)
