"""Findings of the cooling fan: burst margin at top speed and at over-speed."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright.findings.asking import Given, ask, at, carried, quantity, taken, told
from spoolwright.findings.judging import Question, item, judge, missing, nature, own, practice
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer

BURST = (
    "A fan that bursts goes through bonnets and people. Stand out of its plane; fit a guard; prove it by a spin test."
)
NEEDED = ("material_density", "material_strength", "weld_factor")


def burst(sheet: Sheet) -> Iterator[Finding]:
    """Strength over stress of the fan at the highest speed against `limits.fan_safety`; 20 % over-speed beside it."""
    if not sheet.has("cooling.fan"):
        return
    lacking = [f"cooling.fan.{part}" for part in NEEDED if not sheet.has(f"cooling.fan.{part}")]
    if lacking:
        yield missing(
            "fan burst",
            f"Its margin needs {', '.join(lacking)} (weld_factor is 100 % where there is no weld).",
            lacking[0],
            caution=BURST,
        )
        return
    speed = _fan_speed(sheet)
    at_speed, over = _margin(sheet, speed, "0 %"), _margin(sheet, speed, "20 %")
    breaks = over.results["stress_margin"] <= 1.0
    limit = own(sheet, "limits.fan_safety") or practice("3", "ratio")
    question = Question(
        "fan burst",
        "ratio",
        "1",
        limit,
        digits=3,
        caution=BURST,
        note=f"Fan at {speed.value}, rim {told(at_speed, 'rim_speed', 3)}; at 20 % over-speed the margin is "
        f"{told(over, 'stress_margin', 3)}. Yield strength stands for tensile strength, the safe side.",
        change_first="A larger fan pulley, a sounder weld, or a fan without one.",
    )
    if breaks:
        question = Question(
            "fan burst at 20 % over-speed",
            "ratio",
            "1",
            nature("1", "ratio", "the fan bursts"),
            digits=3,
            caution=BURST,
            note=question.note,
            change_first=question.change_first,
        )
        yield from judge(question, [item(over, "stress_margin", where="cooling.fan.material_strength")], over)
        return
    yield from judge(question, [item(at_speed, "stress_margin", where="cooling.fan.material_strength")], at_speed, over)


def _fan_speed(sheet: Sheet) -> Given:
    """Fan speed at the highest engine speed; slip of the belt is left out, the safe side."""
    table = sheet.table("cooling.fan.curve").columns
    answer = ask(
        sheet,
        "fan_pulley_change",
        engine_speed=at(sheet, "limits.max_speed"),
        test_flow=Given(quantity(max(table["flow"]), "volume_flow", "m3/s"), "fan curve"),
        test_pressure=Given(quantity(max(table["pressure"]), "pressure_difference", "Pa"), "fan curve"),
    )
    return carried(answer, "speed_before")


def _margin(sheet: Sheet, speed: Given, over: str) -> Answer:
    inner = at(sheet, "cooling.fan.hub_bore") if sheet.has("cooling.fan.hub_bore") else None
    return ask(
        sheet,
        "burst_margin",
        outer_diameter=at(sheet, "cooling.fan.diameter"),
        inner_diameter=inner,
        speed=speed,
        over_speed=taken(over, "over the highest speed"),
        density=at(sheet, "cooling.fan.material_density"),
        tensile_strength=at(sheet, "cooling.fan.material_strength"),
        weld_factor=at(sheet, "cooling.fan.weld_factor"),
    )


JUDGES = {"fan burst": burst}
