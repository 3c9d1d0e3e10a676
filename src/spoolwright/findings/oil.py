"""Findings of the oil: pressure and temperature hot, the turbocharger's feed and drain."""

from __future__ import annotations

import math
from collections.abc import Iterator

from spoolwright.findings.asking import PRACTICE, Given, ask, at, carried, quantity, taken, told
from spoolwright.findings.judging import Item, Question, item, judge, missing, own, practice, unit_at
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet

HOT_OIL = "Oil at 100 degC burns skin and catches fire on a turbine: shield the line, secure it, clip the drain."
PRESSURE = "Oil pressure lost at speed takes the bearings within seconds; stop at once."


def pressure(sheet: Sheet) -> Iterator[Finding]:
    """Oil pressure measured hot against `limits.min_oil_pressure`, at the same speed."""
    if not sheet.has("oil.pressure_hot"):
        yield missing("oil pressure, hot", "It was not measured.", "oil.pressure_hot", caution=PRESSURE)
        return
    said, limit = sheet.quantity("oil.pressure_hot"), own(sheet, "limits.min_oil_pressure")
    speed = said.condition[0]
    rule = ask(
        sheet, "oil_pressure_rule", speed=Given(speed, "oil.pressure_hot"), measured=at(sheet, "oil.pressure_hot")
    )
    if limit is not None and not math.isclose(
        sheet.quantity("limits.min_oil_pressure").condition[0].value, speed.value, rel_tol=0.02
    ):
        yield missing(
            "oil pressure, hot",
            f"It was measured at {speed.text}, your limit is for another: "
            "measure at the speed of limits.min_oil_pressure.",
            "oil.pressure_hot",
            caution=PRESSURE,
        )
        limit = None
    if limit is None:
        least = told(rule, "least_pressure", 3)
        limit = practice(least, "pressure_gauge", "10 psi for each 1000 rpm: common practice, no source")
    question = Question(
        "oil pressure, hot",
        "pressure_gauge",
        said.unit,
        limit,
        caution=PRESSURE,
        note=f"At {speed.text}; 10 psi for each 1000 rpm would be {told(rule, 'least_pressure', 3, said.unit)}.",
        change_first="Thicker oil, tighter bearings, or a cooler sump; find out which.",
    )
    yield from judge(question, [Item("", said.value, (said.minus, said.plus), "oil.pressure_hot")], rule)


def temperature(sheet: Sheet) -> Iterator[Finding]:
    """Sump oil at full load against `limits.max_oil_temperature`, else 120 degC."""
    if not sheet.has("oil.temperature"):
        yield missing("oil temperature", "Sump oil at full load was not measured.", "oil.temperature")
        return
    said = sheet.quantity("oil.temperature")
    question = Question(
        "oil temperature",
        "temperature",
        unit_at(sheet, "oil.temperature", "degC"),
        high=own(sheet, "limits.max_oil_temperature") or practice("120 degC", "temperature"),
        change_first="More air or oil through the cooler; shorter pulls.",
    )
    yield from judge(question, [Item("", said.value, (said.minus, said.plus), "oil.temperature")])


def drain(sheet: Sheet) -> Iterator[Finding]:
    """The turbocharger's drain: enters above the oil level, and carries the feed half full."""
    if not sheet.has("charge"):
        return
    if sheet.has("oil.drain_above_level") and not sheet.flag("oil.drain_above_level", True):
        yield Finding(
            "turbo drain",
            "watch",
            "It enters below the oil level: oil backs up into the housing and leaks past the seals.",
            "oil.drain_above_level",
            resting_on=PRACTICE,
            caution=HOT_OIL,
            change_first="Lead it in above the level; do not restrict the feed.",
        )
    needed = [
        f"oil.{x}"
        for x in (
            "drain_diameter",
            "drain_drop",
            "drain_length",
            "turbo_restrictor",
            "pressure_hot",
            "viscosity_40",
            "viscosity_100",
            "temperature",
        )
    ]
    lacking = [path for path in needed if not sheet.has(path)]
    if lacking:
        yield missing(
            "turbo drain", f"Whether it carries the feed needs {', '.join(lacking)}.", lacking[0], caution=HOT_OIL
        )
        return
    feed = ask(
        sheet,
        "restrictor_flow",
        diameter=at(sheet, "oil.turbo_restrictor"),
        upstream_pressure=at(sheet, "oil.pressure_hot"),
        density=at(sheet, "oil.density"),
    )
    thick = ask(
        sheet,
        "oil_viscosity",
        viscosity_1=at(sheet, "oil.viscosity_40"),
        viscosity_2=at(sheet, "oil.viscosity_100"),
        temperature=at(sheet, "oil.temperature"),
    )
    answer = ask(
        sheet,
        "drain_flow",
        diameter=at(sheet, "oil.drain_diameter"),
        slope=_slope(sheet),
        viscosity=carried(thick, "viscosity"),
        air_share=taken("50 %", f"froth, {PRACTICE}"),
        feed=carried(feed, "flow"),
    )
    question = Question(
        "turbo drain",
        "ratio",
        "1",
        practice("2", "ratio"),
        digits=3,
        caution=HOT_OIL,
        note=f"Half full with half froth it carries {told(answer, 'half_full_flow', 3)}; at most "
        f"{told(feed, 'flow', 3)} comes "
        "through the restrictor alone (the bearing holds back more).",
        change_first="A larger, steeper, shorter drain; a restrictor does not cure a bad drain.",
    )
    yield from judge(question, [item(answer, "margin", where="oil.drain_diameter")], feed, thick, answer)


def _slope(sheet: Sheet) -> Given:
    """Mean fall of the drain from the horizontal."""
    share = min(sheet.value("oil.drain_drop") / sheet.value("oil.drain_length"), 1.0)
    return Given(
        quantity(math.degrees(math.asin(share)), "angle", "deg"), "asin(drain_drop / drain_length), the mean fall"
    )


JUDGES = {"oil pressure, hot": pressure, "oil temperature": temperature, "turbo drain": drain}
