"""Checks across fields of the engine proper: layout, crank, chamber, valves."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import pairwise

from spoolwright.sheet.model import Sheet

Trouble = Iterator[tuple[str, str]]
Rule = Callable[[Sheet], Trouble]


def just_one(sheet: Sheet, paths: tuple[str, ...], need: bool = True) -> Trouble:
    """Exactly one of ``paths`` (with ``need`` False at most one) must be given."""
    there = [p for p in paths if sheet.has(p)]
    names = " or ".join(p.rpartition(".")[2] for p in paths)
    if len(there) > 1:
        yield there[1], f"{' and '.join(p.rpartition('.')[2] for p in there)} are both given; keep one"
    elif need and not there:
        yield paths[0], f"nothing says it; give {names}"


def _layout(sheet: Sheet) -> Trouble:
    n, layout = sheet.cylinder_count, sheet.choice("cylinders.layout")
    order = sheet.numbers("cylinders.firing_order")
    if sorted(order) != list(range(1, n + 1)):
        yield "cylinders.firing_order", f"{list(order)} must name each of the {n} cylinders once"
    if (layout == "single") != (n == 1):
        yield "cylinders.layout", f"{layout} with {n} cylinders does not go together"
    if layout == "vee" and not sheet.has("cylinders.bank_angle"):
        yield "cylinders.bank_angle", "a vee needs the angle between its banks"
    if sheet.has("cylinders.firing_intervals"):
        intervals = sheet.values("cylinders.firing_intervals")
        if len(intervals) != n or not math.isclose(sum(intervals), 720.0, abs_tol=0.01):
            yield (
                "cylinders.firing_intervals",
                f"{len(intervals)} intervals that sum to {sum(intervals):g} deg; {n} are needed that sum to 720 deg",
            )
    for path, whole in (("cylinders.banks", True), ("intake.siamese", False), ("exhaust.siamese", False)):
        numbers = [c for group in sheet.groups(path) for c in group]
        if any(c > n for c in numbers):
            yield path, f"cylinder {max(numbers)} is named but there are {n}"
        elif whole and numbers and len(numbers) != n:
            yield path, f"{len(numbers)} cylinders are named but there are {n}"


def _crank(sheet: Sheet) -> Trouble:
    stroke, rod, offset = (sheet.value(f"cylinders.{x}") for x in ("stroke", "rod_length", "pin_offset"))
    if rod <= stroke / 2 + abs(offset):
        yield (
            "cylinders.rod_length",
            f"a rod of {rod * 1e3:.4g} mm cannot turn a crank of {stroke * 500:.4g} mm radius; it is centre to centre",
        )
    bores = sheet.values("cylinders.bore")
    gasket = sheet.maybe("cylinders.gasket_bore")
    if gasket is not None and gasket < max(bores):
        yield (
            "cylinders.gasket_bore",
            f"{gasket * 1e3:.4g} mm is smaller than the bore of {max(bores) * 1e3:.4g} mm; "
            "the gasket would stand in the cylinder",
        )
    for i, volume in enumerate(clearance_volumes(sheet), 1):
        if volume <= 0.0:
            yield (
                "cylinders.dish",
                f"cylinder {i} keeps no volume at top dead centre ({volume * 1e6:.1f} cc); "
                "check the sign of dish and deck",
            )


def clearance_volumes(sheet: Sheet) -> list[float]:
    """Volume left above the piston at top dead centre [m3] by cylinder, as far as the sheet alone tells."""
    gasket = sheet.value("cylinders.gasket_thickness")
    columns = [sheet.values(f"cylinders.{x}") for x in ("bore", "chamber", "dish", "deck")]
    return [
        chamber + dish + math.pi / 4 * (bore**2 * deck + (sheet.maybe("cylinders.gasket_bore") or bore) ** 2 * gasket)
        for bore, chamber, dish, deck in zip(*columns, strict=True)
    ]


def _chamber(sheet: Sheet) -> Trouble:
    shape = sheet.choice("cylinders.chamber_shape")
    if shape == "wedge" and not sheet.has("cylinders.roof_angle"):
        yield "cylinders.roof_angle", "a wedge needs the angle of its roof"
    if shape == "measured" and not sheet.has("cylinders.chamber_section"):
        yield "cylinders.chamber_section", "a measured chamber needs its table of areas over height"
    plugs = sheet.names("cylinders.plugs")
    if len(plugs) > 2:
        yield "cylinders.plugs", f"{len(plugs)} plugs are named; one or two can be computed"
    radius = min(sheet.values("cylinders.bore")) / 2
    for name in plugs:
        across, along = (sheet.value(f"cylinders.plugs.{name}.{x}") for x in ("across", "along"))
        if math.hypot(across, along) > radius:
            yield (
                f"cylinders.plugs.{name}.across",
                f"the plug lies {math.hypot(across, along) * 1e3:.3g} mm off the axis, outside the bore",
            )


def _valves(sheet: Sheet) -> Trouble:
    for side in ("intake", "exhaust"):
        at = f"valves.{side}"
        head, throat = sheet.value(f"{at}.head_diameter"), sheet.value(f"{at}.throat_diameter")
        if throat >= head:
            yield f"{at}.throat_diameter", "it is as wide as the valve head or wider; nothing would seal"
        stem = sheet.maybe(f"{at}.stem_diameter")
        if stem is not None and stem >= throat:
            yield f"{at}.stem_diameter", "the stem fills the throat"
        if head >= min(sheet.values("cylinders.bore")):
            yield f"{at}.head_diameter", "the valve is as wide as the bore or wider"
        yield from _lift(sheet, at, side, head)
        yield from _bench(sheet, at, head, throat)


def _lift(sheet: Sheet, at: str, side: str, head: float) -> Trouble:
    yield from just_one(sheet, (f"{at}.lift_table", f"{at}.opens"))
    ratio = sheet.value(f"{at}.rocker_ratio") if sheet.maybe_text(f"{at}.lift_measured_at") == "cam" else 1.0
    if sheet.has(f"{at}.lift_table"):
        table = sheet.table(f"{at}.lift_table")
        angle, lift = table.columns["angle"], table.columns["lift"]
        if angle[-1] - angle[0] >= 720.0:
            yield f"{at}.lift_table", f"the table spans {angle[-1] - angle[0]:g} deg; a cycle has 720"
        if max(lift) * ratio >= head:
            yield (
                f"{at}.lift_table",
                f"a lift of {max(lift) * ratio * 1e3:.4g} mm is larger than the valve; check the unit",
            )
        if max(lift[0], lift[-1]) > 0.1 * max(lift):
            yield f"{at}.lift_table", "it neither begins nor ends near zero lift; the valve would never close"
        widest = max(b - a for a, b in pairwise(angle))
        if widest > 15.0:
            yield f"{at}.lift_table", f"a hole of {widest:g} deg is in it; measure at least every 15 deg"
        return
    lacking = [name for name in ("closes", "check_lift", "max_lift") if not sheet.has(f"{at}.{name}")]
    for name in lacking if sheet.has(f"{at}.opens") else ():
        yield f"{at}.{name}", "it is needed with the events"
    if lacking or not sheet.has(f"{at}.opens"):
        return
    for opens, closes in zip(sheet.values(f"{at}.opens"), sheet.values(f"{at}.closes"), strict=True):
        if not 60.0 <= closes - opens <= 540.0:
            yield f"{at}.closes", f"the {side} valve would be open for {closes - opens:g} deg; check the events"
            break
    highest = max(sheet.values(f"{at}.max_lift")) * ratio
    if highest >= head:
        yield f"{at}.max_lift", f"a lift of {highest * 1e3:.4g} mm is larger than the valve: check the unit"
    if sheet.value(f"{at}.check_lift") >= min(sheet.values(f"{at}.max_lift")):
        yield f"{at}.check_lift", "it is above the greatest lift"


def _bench(sheet: Sheet, at: str, head: float, throat: float) -> Trouble:
    table = sheet.maybe_table(f"{at}.flow_table")
    if table is None:
        return
    lift = table.columns["lift"]
    if lift[-1] >= head:
        yield f"{at}.flow_table", f"a lift of {lift[-1] * 1e3:.4g} mm is larger than the valve; check the unit"
        return
    for name in ("flow", "flow_back"):
        if name not in table.columns:
            continue
        # Ideal flow through the throat by Bernoulli; nothing flows more (bench air near 1.2 kg/m3).
        ideal = math.pi / 4 * throat**2 * math.sqrt(2.0 * table.conditions[name].value / 1.2)
        best = max(table.columns[name]) / ideal
        if best > 1.10:
            yield (
                f"{at}.flow_table",
                f"{name} is {best:.3g} times what an ideal throat would pass; check unit, depression and throat",
            )
        elif best < 0.02:
            yield (
                f"{at}.flow_table",
                f"{name} is only {best:.2g} of what an ideal throat would pass; check unit and depression",
            )


RULES: tuple[Rule, ...] = (_layout, _crank, _chamber, _valves)
