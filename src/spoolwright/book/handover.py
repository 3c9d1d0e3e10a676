"""What goes along and what it costs: spares, packing, crate, landed cost, first service. Sums do the arithmetic."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from spoolwright.errors import BadInput
from spoolwright.findings.asking import ask, carried
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer

PRACTICE = "common practice, no source"
LIFT = (
    "Drain fuel and oil, close every opening, fix the engine at its mountings; lift by the marked points only; write "
    "weight and middle of mass on the crate."
)


@dataclass(frozen=True, slots=True)
class Item:
    """Something that goes along: how many, what, why; ``usual`` where the program and not the builder says so."""

    count: int
    what: str
    why: str = ""
    usual: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """Something to do after some running; ``usual`` as above."""

    after: str
    work: str
    usual: bool = False


def cost(sheet: Sheet) -> Answer | None:
    """The landed cost; None where no price is given. Raises BadInput where a rate is missing."""
    return ask(sheet, "landed_cost") if sheet.has("handover.goods") else None


def crate(sheet: Sheet) -> Answer | None:
    """Size and weight of a crate around the engine; None where size or weight is not given."""
    sides = ("length", "width", "height", "mass")
    return ask(sheet, "crate_size") if all(sheet.has(f"handover.{one}") for one in sides) else None


def freight_weight(sheet: Sheet) -> Answer | None:
    """What a carrier charges for that crate."""
    box = crate(sheet)
    if box is None:
        return None
    return ask(
        sheet,
        "chargeable_weight",
        length=carried(box, "outside_length"),
        width=carried(box, "outside_width"),
        height=carried(box, "outside_height"),
        mass=carried(box, "gross_weight"),
    )


def spares(sheet: Sheet) -> list[Item]:
    """The builder's spares, then what is usual for what is fitted and not yet named."""
    own = [_item(sheet, f"handover.spares.{name}") for name in sheet.names("handover.spares")]
    said = " ".join(one.what.lower() for one in own)
    return [*own, *(one for one in _usual_spares(sheet) if not _named(one.what, said))]


def _item(sheet: Sheet, here: str) -> Item:
    return Item(int(sheet.value(f"{here}.count")), sheet.text(f"{here}.part"), sheet.maybe_text(f"{here}.why") or "")


def _named(what: str, said: str) -> bool:
    """Whether the builder's own list names this part already, by its first two words."""
    words = what.lower().split(",")[0].split()[:2]
    return all(word.rstrip("s") in said for word in words)


def _usual_spares(sheet: Sheet) -> Iterator[Item]:
    plugs = sheet.cylinder_count * max(1, len(sheet.names("cylinders.plugs")))
    gap = f", gap {sheet.quantity('spark.plug.gap').text}" if sheet.has("spark.plug.gap") else ""
    yield Item(plugs, f"spark plugs{gap}", "a set that is known good", True)
    if sheet.has("oil.grade"):
        yield Item(1, f"oil filling, {sheet.text('oil.grade')}, and filter", "for the first change", True)
    if sheet.has("carburettor.needle_seat"):
        yield Item(1, "needle and seat", "wears first under boost", True)
    if sheet.has("carburettor.main_jet"):
        yield Item(2, "main jets, one size richer", "the safe side, for the first day", True)
    if sheet.has("cooling.fan"):
        yield Item(1, "fan belt", "no belt, no cooling", True)
    if sheet.has("turbine"):
        yield Item(1, "turbo gaskets and oil drain hose", "leaks there burn", True)
    if sheet.has("wastegate"):
        yield Item(1, "gate hose with clips", "what holds the boost down", True)


def service(sheet: Sheet) -> list[Task]:
    """The builder's own first service, else the usual one for what is fitted."""
    names = sheet.names("handover.service")
    if names:
        here = "handover.service."
        return [Task(sheet.text(f"{here}{n}.after"), sheet.text(f"{here}{n}.work")) for n in names]
    return list(_usual_service(sheet))


def _usual_service(sheet: Sheet) -> Iterator[Task]:
    yield Task("first hour", "oil and filter; look for metal in the filter", True)
    nuts = f", {sheet.quantity('strength.studs.torque').text}" if sheet.has("strength.studs.torque") else ""
    yield Task("first heat cycles", f"head nuts again, cold{nuts}; valve lash", True)
    yield Task("first full load", "read the plugs; leak-down; every hose and clip", True)


def packing(sheet: Sheet) -> list[Item]:
    """Everything that goes into the crate: engine, the builder's items, spares, and what is usual."""
    own = [_item(sheet, f"handover.packing.{name}") for name in sheet.names("handover.packing")]
    engine = Item(1, f"engine {sheet.name}, drained, openings closed")
    said = " ".join(one.what.lower() for one in own)
    usual = [Item(1, "build book", "from it the engine can be set up again", True)] if "book" not in said else []
    return [engine, *own, *usual, *spares(sheet)]


def tried(sheet: Sheet, job: str) -> tuple[Answer | None, str]:
    """``cost``, ``crate`` or ``freight_weight`` of ``sheet``: the answer, or in one sentence why there is none."""
    jobs = {"cost": cost, "crate": crate, "freight_weight": freight_weight}
    try:
        return jobs[job](sheet), ""
    except BadInput as trouble:
        return None, " ".join(str(trouble).split())
