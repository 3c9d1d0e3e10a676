"""Findings of measured clearances: each reading against its band, hot where the metals are known."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright.findings.asking import ask, at, reading
from spoolwright.findings.judging import Item, Question, judge, missing, nature, own, unit_at
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet

HOT = ("hole_expansion", "shaft_expansion", "hole_running", "shaft_running")
SEIZE = "A clearance that closes when hot seizes the part that runs in it."


def _said(name: str) -> str:
    return name.replace("_", " ")


def clearances(sheet: Sheet) -> Iterator[Finding]:
    """Each reading of each named clearance against the builder's band `low` to `high`."""
    for name in sheet.names("strength.clearances"):
        here = f"strength.clearances.{name}"
        readings = sheet.quantities(f"{here}.measured")
        many = len(readings) > 1
        judged = [
            Item(
                f"reading {n}" if many else "", q.value, (q.minus, q.plus), f"{here}.measured{f'[{n}]' if many else ''}"
            )
            for n, q in enumerate(readings, start=1)
        ]
        question = Question(
            f"{_said(name)} clearance",
            "length",
            unit_at(sheet, f"{here}.measured", "mm"),
            own(sheet, f"{here}.low"),
            own(sheet, f"{here}.high"),
            plural="readings",
            caution=SEIZE,
            change_first="Measure again at 20 degC with the tool zeroed; then change shells or size the part.",
        )
        yield from judge(question, judged)


def clearances_hot(sheet: Sheet) -> Iterator[Finding]:
    """The smallest reading of each clearance with a diameter, at running temperature; it must not close."""
    waiting = []
    for name in sheet.names("strength.clearances"):
        here = f"strength.clearances.{name}"
        if not sheet.has(f"{here}.diameter"):
            continue
        if not all(sheet.has(f"{here}.{part}") for part in HOT):
            waiting.append((here, [part for part in HOT if not sheet.has(f"{here}.{part}")]))
            continue
        tightest = min(sheet.quantities(f"{here}.measured"), key=lambda q: q.value)
        answer = ask(
            sheet,
            "clearance_hot",
            inner_diameter=at(sheet, f"{here}.diameter"),
            clearance=reading(sheet, f"{here}.measured", tightest),
            outer=at(sheet, f"{here}.hole_expansion"),
            inner=at(sheet, f"{here}.shaft_expansion"),
            outer_temperature=at(sheet, f"{here}.hole_running"),
            inner_temperature=at(sheet, f"{here}.shaft_running"),
            measured_at=at(sheet, f"{here}.measured_at"),
        )
        question = Question(
            f"{_said(name)} clearance, hot",
            "length",
            unit_at(sheet, f"{here}.measured", "mm"),
            nature("0 mm", "length", "the parts touch"),
            caution=SEIZE,
            note=f"Cold {tightest.text}.",
            change_first="Open the clearance; check the running temperatures you gave.",
        )
        yield from judge(question, [Item("", answer.results["clearance_hot"], where=f"{here}.measured")], answer)
    if waiting:
        alike: dict[str, list[str]] = {}
        for here, parts in waiting:
            alike.setdefault(", ".join(parts), []).append(_said(here.rpartition(".")[2]))
        lists = "; ".join(f"for {', '.join(names)} give {parts}" for parts, names in alike.items())
        yield missing(
            "clearances, hot", f"Metals or temperatures are not given: {lists}.", f"{waiting[0][0]}.{waiting[0][1][0]}"
        )


def how_measured(sheet: Sheet) -> Iterator[Finding]:
    """Whether tool and temperature stand beside each clearance."""
    lacking = []
    for name in sheet.names("strength.clearances"):
        here = f"strength.clearances.{name}"
        parts = [] if sheet.has(f"{here}.tool") else ["tool"]
        parts += ["measured_at"] if sheet.is_assumed(f"{here}.measured_at") else []
        lacking += [(here, parts)] if parts else []
    if lacking:
        lists = "; ".join(f"{_said(here.rpartition('.')[2])}: {' and '.join(parts)}" for here, parts in lacking)
        yield missing(
            "how clearances were measured",
            f"A clearance without tool and temperature cannot be repeated. Not given: {lists}.",
            f"{lacking[0][0]}.{lacking[0][1][0]}",
        )


JUDGES = {"clearances": clearances, "clearances, hot": clearances_hot, "how clearances were measured": how_measured}
