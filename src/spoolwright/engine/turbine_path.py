"""The exhaust side of a turbocharged gas path: volutes, what lies behind the wheel, wastegates.

Each entry of a turbine is a volume; two turbines that share a tail share the volume behind their wheels.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

from spoolwright.engine.draft import STRAIGHT_ON, Draft
from spoolwright.engine.machinery import AtNode, AtStop, EntryAt, GateAt, Place
from spoolwright.engine.pipes import hot, pipe
from spoolwright.flow.build import End, Link, Node
from spoolwright.flow.mesh import Duct
from spoolwright.flow.rows import VOLUME
from spoolwright.sheet import Sheet
from spoolwright.sheet.rules_gas import turbine_entries

BEHIND_LENGTH = 1.5  # bores of gas behind the wheel before the tail begins: the housing's outlet, from memory
SIDEWAYS = (0.0, -1.0, 0.0)  # a gate's branch leaves a join across the stream, so no dynamic head drives it


def build_turbine(
    sheet: Sheet,
    draft: Draft,
    waiting: dict[str, list[AtStop]],
    joins: dict[str, int],
    open_air: int,
    p: float,
    T_gas: float,
) -> list[Place]:
    """Add turbines and wastegates; the places behind them from which the tails go on.

    waiting : pipes that lead to each entry by its name; joins : nodes of the collectors.
    """
    turbos, entries = int(sheet.value("charge.turbos")), int(sheet.value("turbine.entries"))
    tails = int(sheet.value("exhaust.tails"))
    bore = sheet.maybe("turbine.outlet_diameter")
    bore = sheet.maybe("turbine.wheel_outlet") if bore is None else bore
    bore = 0.85 * sheet.value("turbine.wheel_inlet") if bore is None else bore
    behind, volutes = [], []
    share = 1 if tails == turbos else turbos
    for _ in range(turbos // share):
        opening = share * pi / 4.0 * bore**2
        node = draft.node(Node("behind the turbine", VOLUME, p, T_gas, yb=1.0, volume=opening * BEHIND_LENGTH * bore))
        draft.machinery.openings[node] = opening
        behind.append(node)
    for n, name in enumerate(turbine_entries(sheet)):
        turbo, entry = divmod(n, entries)
        volume = sheet.value("turbine.volute_volume") / entries
        volute = draft.node(Node(name, VOLUME, p, T_gas, yb=1.0, volume=volume))
        for stop in waiting.get(name, []):
            draft.enter(stop, volute)
        draft.machinery.entries.append(EntryAt(turbo, entry, volute, behind[turbo // share]))
        volutes.append(volute)
    if sheet.has("wastegate"):
        _gates(sheet, draft, joins, volutes, [behind[t // share] for t in range(turbos)], open_air, T_gas)
    return [AtNode(node) for node in behind]


def _gates(
    sheet: Sheet, draft: Draft, joins: dict[str, int], volutes: list[int], behind: list[int], open_air: int, T: float
) -> None:
    """Wastegates: one record for gates that see the same pressures, and each way their gas takes."""
    turbos, count = len(behind), int(sheet.value("wastegate.count"))
    entries = len(volutes) // turbos
    source = sheet.text("wastegate.takes_from")
    away = sheet.choice("wastegate.returns_to") == "open_air"
    gates: list[list[tuple[int, int, float]]]  # of each gate: source, turbo, share of all gates' area
    if source == "turbine":
        own = [[(volutes[t * entries + e], t, 1.0 / entries) for e in range(entries)] for t in range(turbos)]
        if count % turbos == 0:
            gates = [[(node, t, share / turbos) for node, t, share in ways] for ways in own]
        else:  # one gate that both turbines' housings lead to
            gates = [[(node, t, share / turbos) for ways in own for node, t, share in ways]]
    else:
        feeding = _collectors_by_turbo(sheet, source, turbos)
        gates = [[(joins[name], turbo, 1.0 / len(feeding))] for name, turbo in feeding]
    for g, ways in enumerate(gates):
        for node, turbo, share in ways:
            target = open_air if away else behind[turbo]
            if sheet.has("wastegate.pipe"):
                item = _wider(hot(pipe(sheet, "wastegate.pipe"), T), sqrt(max(share * count, 1.0)))
                d = draft.follow(AtNode(node), item).duct
                draft.starts[d] = End(node, 1.0, 1.0, SIDEWAYS)
                draft.stops[d] = End(target, 0.0, 0.0, STRAIGHT_ON)
                draft.machinery.gates.append(GateAt(g, (d, "stop"), node, target, share))
            else:
                draft.links.append(Link(node, target, 0.0))
                draft.machinery.gates.append(GateAt(g, len(draft.links) - 1, node, target, share))


def _collectors_by_turbo(sheet: Sheet, source: str, turbos: int) -> list[tuple[str, int]]:
    """The collector gates branch from, with its turbo; for a pair with a gate each, the other's collector too."""
    entries = turbine_entries(sheet)
    leads = {name: sheet.text(f"exhaust.collectors.{name}.leads_to") for name in sheet.names("exhaust.collectors")}
    target = leads[source]
    if target not in entries:  # it leads to another collector first
        return [(source, 0)]
    per_turbo = len(entries) // turbos
    turbo, entry = divmod(entries.index(target), per_turbo)
    if int(sheet.value("wastegate.count")) < turbos:
        return [(source, turbo)]
    found = [(source, turbo)]
    for other in range(turbos):
        twin = [name for name, lead in leads.items() if lead == entries[other * per_turbo + entry]]
        if other != turbo and twin:
            found.append((twin[0], other))
    return found


def _wider(item: Duct, factor: float) -> Duct:
    """The duct with all bores times ``factor``: equal branches side by side."""
    if isinstance(item.diameters, int | float):
        return replace(item, diameters=item.diameters * factor)
    return replace(item, diameters=tuple((x, d * factor) for x, d in item.diameters))
