"""Findings of the moving parts at top speed: piston speed and acceleration."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright.findings.asking import ask, told
from spoolwright.findings.judging import Question, item, judge, own, practice, unit_at
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet

MASSES = ("strength.piston_mass", "strength.pin_mass", "strength.rod_small_end_mass")


def piston_speed(sheet: Sheet) -> Iterator[Finding]:
    """Mean piston speed at `limits.max_speed` against `limits.max_piston_speed`, else 22 m/s; with acceleration."""
    answer = ask(sheet, "mean_piston_speed")
    asked = [answer]
    limit = own(sheet, "limits.max_piston_speed") or practice("22 m/s", "speed", "street forged pistons, from memory")
    note = f"At {sheet.quantity('limits.max_speed').text}."
    if all(sheet.has(path) for path in MASSES):
        heaviest = max(range(1, sheet.cylinder_count + 1), key=lambda i: sheet.value(f"strength.piston_mass[{i}]"))
        inertia = ask(sheet, "inertia_load", heaviest)
        asked.insert(0, inertia)
        note = (
            f"At {sheet.quantity('limits.max_speed').text}; at top dead centre the piston is pulled down with "
            f"{told(inertia, 'tdc_acceleration', 3).replace(' gn', ' g')}, "
            f"{told(inertia, 'inertia_force', 3)} on the rod."
        )
    question = Question(
        "mean piston speed",
        "speed",
        unit_at(sheet, "limits.max_piston_speed", "m/s"),
        high=limit,
        note=note,
        change_first="Lower limits.max_speed.",
    )
    yield from judge(question, [item(answer, "mean_piston_speed", where="limits.max_speed")], *asked)


JUDGES = {"mean piston speed": piston_speed}
