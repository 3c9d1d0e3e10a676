"""Checks across fields of the gas path: metering, charge, plenums, exhaust, turbine, wastegate."""

from __future__ import annotations

from spoolwright.sheet.faults import closest
from spoolwright.sheet.model import Sheet
from spoolwright.sheet.rules_engine import Rule, Trouble, just_one


def _metering(sheet: Sheet) -> Trouble:
    yield from just_one(sheet, ("carburettor", "injection"))
    if sheet.has("injection"):
        yield from just_one(sheet, ("injection.rated_flow", "injection.rated_mass_flow"))
        if not sheet.has("intake.throttle"):
            yield "intake.throttle", "an injected engine needs its throttle"
    if not sheet.has("carburettor"):
        return
    if sheet.has("intake.throttle"):
        yield "intake.throttle", "a carburettor has its own throttle; leave this one out"
    position, boosted = sheet.choice("carburettor.position"), sheet.has("charge")
    if (position != "unboosted") != boosted:
        yield "carburettor.position", f"{position} {'with' if boosted else 'without'} a compressor does not go together"
    if sheet.value("carburettor.venturi_diameter") > sheet.value("carburettor.throttle_diameter"):
        yield "carburettor.venturi_diameter", "the venturi is wider than the throttle bore; they are swapped"
    if sheet.choice("carburettor.bowl_reference") == "hat" and not sheet.has("charge.hat"):
        yield "carburettor.bowl_reference", "it is the hat, but there is no [charge.hat]"


def _charge(sheet: Sheet) -> Trouble:
    if sheet.has("charge") != sheet.has("turbine"):
        lacking = "turbine" if sheet.has("charge") else "charge"
        yield lacking, f"compressor and turbine go together; [{lacking}] is missing"
    if not sheet.has("charge"):
        if sheet.has("wastegate"):
            yield "wastegate", "there is no turbine for it to pass"
        return
    if not sheet.has("limits.max_boost"):
        yield "limits.max_boost", "a boosted engine needs its highest boost; it is never assumed"
    if sheet.has("charge.hat") and not sheet.has("carburettor"):
        yield "charge.hat", "a hat sits on a carburettor, and there is none"
    yield from _machine(sheet, "charge.compressor", ("wheel_inlet",))
    if (sheet.maybe("charge.compressor.wheel_inlet") or 0.0) >= sheet.value("charge.compressor.wheel_outlet"):
        yield "charge.compressor.wheel_inlet", "the inlet is as wide as the outlet or wider; they are swapped"
    if sheet.has("charge.cooler"):
        yield from just_one(sheet, ("charge.cooler.effectiveness", "charge.cooler.effectiveness_table"))
        after = sheet.maybe_text("charge.cooler.after")
        pipes = sheet.names("charge.pipes")
        if after is not None and after not in pipes:
            yield (
                "charge.cooler.after",
                f'there is no pipe "{after}"{closest(after, pipes)}; pipes are {", ".join(pipes) or "none"}',
            )
    if sheet.has("turbine"):
        yield from _machine(sheet, "turbine", ("peak_efficiency", "throat_area"))
        if (sheet.maybe("turbine.wheel_outlet") or 0.0) >= sheet.value("turbine.wheel_inlet"):
            yield "turbine.wheel_outlet", "the outlet is as wide as the inlet or wider; they are swapped"


def _machine(sheet: Sheet, at: str, without_map: tuple[str, ...]) -> Trouble:
    if sheet.has(f"{at}.map"):
        for name in ("map_temperature", "map_pressure"):
            if not sheet.has(f"{at}.{name}"):
                yield (
                    f"{at}.{name}",
                    "a map means nothing without the state it is corrected to; the map's sheet names it",
                )
    else:
        for name in without_map:
            if not sheet.has(f"{at}.{name}"):
                yield f"{at}.{name}", "it is needed where there is no map"


def _plenums(sheet: Sheet) -> Trouble:
    names, n = sheet.names("intake.plenums"), sheet.cylinder_count
    fed: list[int] = []
    for name in names:
        mine = sheet.numbers(f"intake.plenums.{name}.cylinders")
        if not mine and len(names) > 1:
            yield f"intake.plenums.{name}", "with several plenums each must say which cylinders it feeds"
            return
        fed += mine
    if fed and sorted(fed) != list(range(1, n + 1)):
        yield (
            f"intake.plenums.{names[-1]}.cylinders",
            f"the plenums feed {sorted(fed)}; each of the {n} cylinders must be named once",
        )


def _exhaust(sheet: Sheet) -> Trouble:
    names, n = sheet.names("exhaust.collectors"), sheet.cylinder_count
    leads = {name: sheet.text(f"exhaust.collectors.{name}.leads_to") for name in names}
    joined = [c for name in names for c in sheet.numbers(f"exhaust.collectors.{name}.cylinders")]
    if any(c > n for c in joined) or len(set(joined)) != len(joined):
        yield (
            f"exhaust.collectors.{names[0]}.cylinders",
            f"the collectors join {sorted(joined)}; each of the {n} cylinders may stand once",
        )
    for name, target in leads.items():
        path = f"exhaust.collectors.{name}.leads_to"
        if target in names:
            seen, at = {name}, target
            while at in leads and at not in seen:
                seen.add(at)
                at = leads[at]
            if at in seen:
                yield path, "it leads round in a ring back to itself"
        else:
            yield from _target(sheet, path, target, names)
        if not sheet.numbers(f"exhaust.collectors.{name}.cylinders") and name not in leads.values():
            yield (
                f"exhaust.collectors.{name}",
                "nothing joins here; name its cylinders, or let another collector lead to it",
            )


def turbine_entries(sheet: Sheet) -> list[str]:
    """Every way into a turbine, as a collector names it."""
    if not sheet.has("turbine"):
        return []
    turbos = int(sheet.maybe("charge.turbos") or 1)
    entries = int(sheet.value("turbine.entries"))
    machines = ["turbine"] if turbos == 1 else [f"turbine_{i}" for i in range(1, turbos + 1)]
    return machines if entries == 1 else [f"{m}_entry_{e}" for m in machines for e in range(1, entries + 1)]


def _target(sheet: Sheet, path: str, target: str, names: tuple[str, ...]) -> Trouble:
    allowed = [*names, *turbine_entries(sheet), "tail"]
    if target not in allowed:
        yield (
            path,
            f'"{target[:40]}" is no place it can lead to{closest(target, allowed)}; places are {", ".join(allowed)}',
        )


def _turbine_fed(sheet: Sheet) -> Trouble:
    """Every way into a turbine needs gas: from a collector or from primaries that join no collector."""
    entries = turbine_entries(sheet)
    names = sheet.names("exhaust.collectors")
    targets = [sheet.text(f"exhaust.collectors.{name}.leads_to") for name in names]
    joined = {c for name in names for c in sheet.numbers(f"exhaust.collectors.{name}.cylinders")}
    if entries and len(joined) < sheet.cylinder_count and (len(entries) > 1 or sheet.cylinder_count > 1):
        free = sorted(set(range(1, sheet.cylinder_count + 1)) - joined)
        yield (
            "exhaust.collectors",
            f"cylinders {free} join no collector, so it is open how they reach {', '.join(entries)}",
        )
    for entry in entries:
        if entry not in targets and joined:
            yield "exhaust.collectors", f"nothing leads to {entry}"


def _wastegate(sheet: Sheet) -> Trouble:
    if not sheet.has("wastegate") or not sheet.has("turbine"):
        return
    free, fitted = (sheet.maybe(f"wastegate.spring_{x}_length") for x in ("free", "installed"))
    if (free is None) != (fitted is None):
        yield "wastegate.spring_free_length", "free and installed length go together"
    elif free is not None and fitted is not None and fitted >= free:
        yield "wastegate.spring_installed_length", "the spring is longer fitted than free; they are swapped"
    lengths = ("wastegate.preload", "wastegate.spring_free_length")
    yield from just_one(sheet, lengths)
    if sheet.value("wastegate.port_diameter") > sheet.value("wastegate.valve_diameter"):
        yield "wastegate.port_diameter", "the hole is wider than what closes it"
    if sheet.has("wastegate.lever_valve") != sheet.has("wastegate.lever_diaphragm"):
        yield "wastegate.lever_valve", "a lever has two arms; give both or none"
    places = [*sheet.names("exhaust.collectors"), "turbine"]
    source = sheet.text("wastegate.takes_from")
    if source not in places:
        yield (
            "wastegate.takes_from",
            f'"{source[:40]}" is no place it can branch from{closest(source, places)}; places are {", ".join(places)}',
        )
    for side in ("opening_signal", "closing_signal"):
        signal = sheet.choice(f"wastegate.{side}")
        if signal == "hat" and not sheet.has("charge.hat"):
            yield f"wastegate.{side}", "it is the hat, but there is no [charge.hat]"
        if signal == "plenum" and not sheet.has("intake.plenums"):
            yield f"wastegate.{side}", "it is the plenum, but there is no [intake.plenums]"


RULES: tuple[Rule, ...] = (_metering, _charge, _plenums, _exhaust, _turbine_fed, _wastegate)
