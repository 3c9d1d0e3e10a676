"""Checks across fields: what each field alone cannot tell. They run once every field is good.

Only the impossible and the contradictory is a fault here; the unwise is left to findings. Each rule
is a small function that yields (path, sentence).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from spoolwright.sheet import rules_engine, rules_gas
from spoolwright.sheet.faults import closest
from spoolwright.sheet.model import Sheet
from spoolwright.sheet.rules_engine import Rule, Trouble, just_one


def troubles(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Every contradiction in ``sheet``: the path it shows at, and one sentence."""
    for rule in (*_RULES, *rules_engine.RULES, *rules_gas.RULES):
        yield from rule(sheet)


def _site(sheet: Sheet) -> Trouble:
    if not sheet.has("site.altitude") and not sheet.has("site.barometer"):
        yield (
            "site.barometer",
            "neither barometer nor altitude is given; give the station pressure of the day, or the height",
        )


def _fuel(sheet: Sheet) -> Trouble:
    yield from just_one(sheet, ("fuel.grade", "fuel.figures"))
    yield from just_one(sheet, ("fuel.mixture", "fuel.mixture_table"))
    if sheet.has("fuel.grade"):
        from spoolwright.gas.fuels import GRADES

        name = sheet.text("fuel.grade")
        if name not in GRADES:
            yield (
                "fuel.grade",
                f'"{name[:60]}" is not a grade known here{closest(name, GRADES)}; '
                f"known are {', '.join(GRADES)}; or give [fuel.figures]",
            )
    elif sheet.has("fuel.ethanol"):
        yield "fuel.ethanol", "ethanol is mixed into a grade; fuel.figures already say what the fuel is"
    for at in ("fuel", "fuel.figures"):
        ron, mon = sheet.maybe(f"{at}.ron"), sheet.maybe(f"{at}.mon")
        if ron is not None and mon is not None and mon > ron:
            yield (
                f"{at}.mon",
                f"the motor octane number {mon:g} is above the research octane number {ron:g}; they are swapped",
            )
    if sheet.has("fuel.supply") and sheet.choice("fuel.supply.reference") == "hat" and not sheet.has("charge.hat"):
        yield "fuel.supply.reference", "it is the hat, but there is no [charge.hat]"


def _spark(sheet: Sheet) -> Trouble:
    needs = {"locked": "advance", "table": "advance_table", "searched": "knock_limit"}
    timing = sheet.choice("spark.timing")
    if not sheet.has(f"spark.{needs[timing]}"):
        yield f"spark.{needs[timing]}", f"timing is {timing}; give {needs[timing]}"
    if sheet.has("spark.boost_retard") and not sheet.has("spark.retard_from"):
        yield "spark.retard_from", "boost retard needs the boost from which it acts"


def _cooling(sheet: Sheet) -> Trouble:
    if sheet.choice("cooling.medium") == "water" and not sheet.has("cooling.coolant_temperature"):
        yield "cooling.coolant_temperature", "a water-cooled engine needs its coolant temperature"
    if sheet.has("cooling.air_shares") and not math.isclose(sum(sheet.values("cooling.air_shares")), 1.0, abs_tol=0.02):
        yield (
            "cooling.air_shares",
            f"the shares sum to {100 * sum(sheet.values('cooling.air_shares')):.4g} %; they must sum to 100 %",
        )


def _bands(sheet: Sheet) -> Trouble:
    pairs = [("limits.min_ratio", "limits.max_ratio"), ("limits.min_squish", "limits.max_squish")]
    for path in ("strength.rings", "strength.clearances"):
        pairs += [(f"{path}.{name}.low", f"{path}.{name}.high") for name in sheet.names(path)]
    for low, high in pairs:
        a, b = sheet.maybe(low), sheet.maybe(high)
        if a is not None and b is not None and a > b:
            yield high, f"it is below {low.rpartition('.')[2]}; they are swapped"


def _bolts(sheet: Sheet) -> Trouble:
    for at in ("strength.studs", "strength.rod_bolts"):
        if not sheet.has(at):
            continue
        yield from just_one(sheet, (f"{at}.preload", f"{at}.stretch", f"{at}.torque"), need=False)
        if sheet.has(f"{at}.torque") and not sheet.has(f"{at}.torque_factor"):
            yield (
                f"{at}.torque_factor",
                "a torque tells the clamp load only with its factor "
                "(dry about 0.2, oiled about 0.15; common practice, no source)",
            )
        if sheet.value(f"{at}.pitch") >= sheet.value(f"{at}.diameter") / 2:
            yield f"{at}.pitch", "the pitch is half the diameter or more; check it"


_RULES: tuple[Rule, ...] = (_site, _fuel, _spark, _cooling, _bands, _bolts)
