"""Findings of the valves: approach to the piston, seat force under boost, float."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright import units
from spoolwright.findings.asking import PRACTICE, Given, ask, at, quantity, reading, taken, told
from spoolwright.findings.judging import Item, Limit, Question, judge, missing, nature, own, practice, unit_at
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer
from spoolwright.sums.fill import curve

TOUCH = "A valve that touches bends and drops. Prove the gap with clay or a dial gauge before the first start."
USUAL_GAP = {"intake": "2.0 mm", "exhaust": "2.5 mm"}
DRIVE_OVER_BOOST = "2"  # a small turbine; near 1 is good
SIDES = ("intake", "exhaust")


def _labels(sheet: Sheet, side: str) -> list[str]:
    count, n = int(sheet.value(f"valves.{side}.count")), sheet.cylinder_count
    cylinder = [f"cylinder {i}" for i in range(1, n + 1)] if n > 1 else ["valve"] if count > 1 else [""]
    return [
        f"{c} valve {v}" if n > 1 and count > 1 else f"valve {v}" if count > 1 else c
        for c in cylinder
        for v in range(1, count + 1)
    ]


def valve_to_piston(sheet: Sheet) -> Iterator[Finding]:
    """Least gap of each valve to the piston against `limits.min_intake_to_piston` and `min_exhaust_to_piston`."""
    waiting: list[str] = []
    for side in SIDES:
        subject, here = f"{side} valve to piston", f"valves.{side}"
        lacking = [path for path in (f"{here}.drop", f"{here}.lift_table") if not sheet.has(path)]
        if lacking:
            waiting += lacking
            continue
        yield from _approach(sheet, side, subject)
    if waiting:
        yield missing(
            "valve to piston",
            f"It needs {', '.join(waiting)}; events alone do not tell the lift near top dead centre.",
            waiting[0],
            caution=TOUCH,
            change_first="Measure lift every 5 deg within 40 deg of the top dead centre of the gas exchange.",
        )


def _approach(sheet: Sheet, side: str, subject: str) -> Iterator[Finding]:
    here, path = f"valves.{side}", f"limits.min_{side}_to_piston"
    limit = own(sheet, path) or practice(USUAL_GAP[side], "length")
    drops = sheet.quantities(f"{here}.drop")
    labels = _labels(sheet, side)
    drops = drops if len(drops) == len(labels) else drops * len(labels)
    each = {q.text: _gap(sheet, side, reading(sheet, f"{here}.drop", q)) for q in drops}
    answers = [each[q.text] for q in drops]
    many = len(labels) > 1
    judged = [
        Item(label, a.results["least_gap"], _band(a), f"{here}.drop{f'[{n}]' if many else ''}")
        for n, (label, a) in enumerate(zip(labels, answers, strict=True), start=1)
    ]
    tight = min(answers, key=lambda a: a.results["least_gap"])
    unit = unit_at(sheet, path, "mm")
    early, late = (units.show(tight.results[f"{way}_gap"], "length", unit, 3) for way in ("advanced", "retarded"))
    if any(a.results["least_gap"] <= 0.0 for a in answers):
        limit = nature("0 mm", "length", "the valve meets the piston")
    question = Question(
        subject,
        "length",
        unit,
        low=limit,
        caution=TOUCH,
        plural="valves",
        note=f"With the cam 5 deg early {early}, 5 deg late {late}.",
        change_first="Cut the pocket deeper, or move the cam the way that opens the gap.",
    )
    yield from judge(question, judged, tight)
    moved = min(tight.results["advanced_gap"], tight.results["retarded_gap"])
    if moved < limit.value <= min(one.value for one in judged):
        room = Limit(limit.value, limit.text, limit.resting_on, False)
        moved_question = Question(
            f"{subject}, cam moved",
            "length",
            unit,
            low=room,
            caution=TOUCH,
            change_first="Time the cam with a dial gauge and lock it; 5 deg is a tooth of wear and stretch.",
        )
        yield from judge(moved_question, [Item("", moved, where=f"{here}.drop")], tight)


def _band(answer: Answer) -> tuple[float, float]:
    band = answer.bands.get("least_gap", (0.0, 0.0))
    return band if isinstance(band, tuple) else (0.0, 0.0)


def _gap(sheet: Sheet, side: str, drop: Given) -> Answer:
    """Approach of one valve; the drop is brought to top dead centre, the stem leans as the roof does."""
    lean = at(sheet, "cylinders.roof_angle") if sheet.has("cylinders.roof_angle") else None
    turned = f"valves.{side}.drop_at"
    if sheet.has(turned) and sheet.value(turned) != 0.0:
        down = ask(
            sheet, "valve_gap_at_angle", lift=taken("0 mm", "valve shut"), angle=at(sheet, turned), drop=drop, lean=lean
        )
        at_top = drop.value.value - down.results["piston_down"]
        drop = Given(
            quantity(at_top, "length", "mm", drop.value.minus, drop.value.plus), "drop less piston travel at drop_at"
        )
    lift, lash = _lift(sheet, side)
    return ask(sheet, "valve_to_piston", valve=Given(side, "the sheet"), drop=drop, lean=lean, lift=lift, lash=lash)


def _lift(sheet: Sheet, side: str) -> tuple[Given, Given]:
    """Lift curve at the valve and the lash still in it."""
    here = f"valves.{side}"
    columns, at_cam = sheet.table(f"{here}.lift_table").columns, sheet.maybe_text(f"{here}.lift_measured_at") == "cam"
    if not at_cam:
        pairs = curve(sheet, f"{here}.lift_table", "angle,lift")
        return _curve_of(sheet, here, pairs), taken("0 mm", "lift was measured at the valve")
    ratio = at(sheet, f"{here}.rocker_ratio")
    lifts = [_at_valve(sheet, x, ratio) if x > 0.0 else "0 mm" for x in columns["lift"]]
    pairs = [(f"{angle:g} deg", lift) for angle, lift in zip(columns["angle"], lifts, strict=True)]
    return _curve_of(sheet, here, pairs), reading(sheet, f"{here}.lash")


def _curve_of(sheet: Sheet, here: str, pairs: list[tuple[str, str]]) -> Given:
    return Given(pairs, f"{sheet.name}, {sheet.where(here + '.lift_table')}")


def _at_valve(sheet: Sheet, cam_lift: float, ratio: Given) -> str:
    lift = ask(sheet, "rocker_lift", cam_lift=Given(quantity(cam_lift, "length", "mm"), ""), rocker_ratio=ratio)
    return units.show(lift.results["lift"], "length", "mm", 7)


def seat_force(sheet: Sheet) -> Iterator[Finding]:
    """Spring force left on the seat under the highest boost (intake) and twice that in the exhaust port."""
    if not sheet.has("charge"):
        return
    for side in SIDES:
        here = f"valves.{side}"
        if not sheet.has(f"{here}.spring_seat_force"):
            yield missing(
                f"{side} valve seat force under boost",
                f"Boost pushes a valve off its seat; give {here}.spring_seat_force to see what the spring has left.",
                f"{here}.spring_seat_force",
            )
            continue
        pressure = at(sheet, "limits.max_boost") if side == "intake" else _drive(sheet)
        answer = ask(
            sheet,
            "valve_seat_force",
            valve_diameter=at(sheet, f"{here}.head_diameter"),
            port_pressure=pressure,
            seat_force=reading(sheet, f"{here}.spring_seat_force"),
        )
        gone = answer.results["net_force"] <= 0.0
        question = Question(
            f"{side} valve seat force under boost",
            "share",
            "%",
            nature("0 %", "share", "the valve is off its seat") if gone else practice("50 %", "share"),
            digits=3,
            note=f"{told(answer, 'net_force', 3)} of the spring's force is left at {pressure.value} in the port.",
            change_first=f"Seat springs of {told(answer, 'spring_needed', 3)}, or less boost.",
        )
        yield from judge(question, [Item("", answer.results["share_left"], where=f"{here}.spring_seat_force")], answer)


def _drive(sheet: Sheet) -> Given:
    boost = sheet.quantity("limits.max_boost")
    return Given(
        quantity(float(DRIVE_OVER_BOOST) * boost.value, "pressure_gauge", boost.unit),
        f"{DRIVE_OVER_BOOST} times limits.max_boost, a small turbine: {PRACTICE}",
    )


def valve_float(sheet: Sheet) -> Iterator[Finding]:
    """Speed at which each valve leaves its cam against `limits.max_speed`.

    Boost pushes on a shut valve only: round an open one the pressure evens out, so it is not counted here.
    """
    waiting: list[str] = []
    for side in SIDES:
        here = f"valves.{side}"
        needed = [f"{here}.{x}" for x in ("lift_table", "spring_seat_force", "spring_rate", "moving_mass")]
        lacking = [path for path in needed if not sheet.has(path)]
        if lacking:
            waiting += lacking
            continue
        lift, _ = _lift(sheet, side)
        answer = ask(
            sheet,
            "valve_float",
            lift=lift,
            effective_mass=at(sheet, f"{here}.moving_mass"),
            rate=at(sheet, f"{here}.spring_rate"),
            seat_force=reading(sheet, f"{here}.spring_seat_force"),
        )
        question = Question(
            f"{side} valve float",
            "rotational_speed",
            "rpm",
            own(sheet, "limits.max_speed"),
            near=0.05,
            note=f"The valve leaves the cam first at {told(answer, 'at_lift', 2)} of lift; springs bounce before that.",
            caution="A valve that floats meets the piston.",
            change_first="Stiffer springs, a lighter valve gear, or a lower top speed.",
        )
        yield from judge(question, [Item("", answer.results["float_speed"], where=f"{here}.spring_rate")], answer)
    if waiting:
        yield missing("valve float", f"It needs {', '.join(waiting)}.", waiting[0])


JUDGES = {"valve to piston": valve_to_piston, "valve seat force under boost": seat_force, "valve float": valve_float}
