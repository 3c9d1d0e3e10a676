"""The gas path of a sheet: air inlet to valves, valves to the open.

With states held at the machines' places (``Held``) the path runs from the carburettor or throttle to the turbine.

Plenums and silencers are volumes; pipes that meet are joined with the loss of an abrupt step; collectors keep the
momentum of what flows in unless they are boxes with a stated volume.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from spoolwright.constants import R_AIR
from spoolwright.engine.charge_path import build_charge, fuel_before_compressor
from spoolwright.engine.draft import STRAIGHT_OFF, Draft, effective_area, entry_area, exit_area
from spoolwright.engine.machinery import AtNode, AtStop, Place
from spoolwright.engine.pipes import hot, pipe
from spoolwright.engine.turbine_path import build_turbine
from spoolwright.errors import BadInput
from spoolwright.flow.build import End, Node
from spoolwright.flow.mesh import Mouth
from spoolwright.flow.rows import AMBIENT, JUNCTION, VOLUME
from spoolwright.sheet import Sheet
from spoolwright.sheet.rules_gas import turbine_entries

BODY_LENGTH = 0.06  # m; gas in a carburettor's bore, where each runner has its own


@dataclass(frozen=True)
class Air:
    """Outside air: p [Pa], T [K]."""

    p: float
    T: float


@dataclass(frozen=True)
class Held:
    """Steady gas states in place of compressor and turbine.

    p_charge [Pa], T_charge [K] before carburettor or throttle (at the hat's inlet, where there is a hat);
    p_turbine [Pa] where the exhaust meets the turbine.
    """

    p_charge: float
    T_charge: float
    p_turbine: float


@dataclass(frozen=True)
class Intake:
    """Free ends at the intake valves per port group, nodes where fuel joins, and the node that is outside air."""

    ports: dict[int, Place]  # cylinder -> place its valves hang on
    mixers: list[int]
    inlet: int
    places: list[int]  # ducts of the ports, for readings


def groups(sheet: Sheet, path: str) -> list[list[int]]:
    """Cylinders (from 0) that share a pipe: siamesed groups first come first, then single ones."""
    together = [[n - 1 for n in group] for group in sheet.groups(path)] if sheet.has(path) else []
    taken = {k for group in together for k in group}
    return sorted([*together, *([k] for k in range(sheet.cylinder_count) if k not in taken)])


def restriction(sheet: Sheet) -> float:
    """Effective area [m2] of one throttle or carburettor as opened, from its size or its rated flow."""
    if sheet.has("carburettor"):
        rated = sheet.quantity("carburettor.rated_flow")
        # Ratings count standard air (ISO 2533 sea level), 1.225 kg/m3.
        area = effective_area(rated.value, rated.condition[0].value, 1.225)
        return area * sheet.value("carburettor.opening")
    bore = sheet.value("intake.throttle.diameter")
    shaft = sheet.maybe("intake.throttle.shaft_diameter") or 0.0
    open_area = pi / 4.0 * bore**2 - bore * shaft
    return open_area * sheet.value("intake.throttle.opening") * sheet.value("intake.throttle.discharge_coefficient")


def _each_runner(sheet: Sheet) -> bool:
    if sheet.has("carburettor"):
        return sheet.has("carburettor.serves") and sheet.choice("carburettor.serves") == "each_runner"
    return sheet.has("intake.throttle.place") and sheet.choice("intake.throttle.place") == "each_runner"


def _inlet_ducts(sheet: Sheet) -> list[str]:
    return [f"intake.ducts.{name}" for name in sheet.names("intake.ducts")] if sheet.has("intake.ducts") else []


def _hat(sheet: Sheet, draft: Draft, upstream: AtNode, air: Air) -> AtNode:
    """The hat behind a held charge, through the mouth of the last charge pipe: it keeps what a carburettor spits back.

    The pipe's dynamic head is lost in it, whatever loss the sheet states. No hat: the held charge itself.
    """
    if not sheet.has("charge.hat"):
        return upstream
    hat = draft.node(Node("hat", VOLUME, air.p, air.T, volume=sheet.value("charge.hat.volume")))
    names = sheet.names("charge.pipes") if sheet.has("charge.pipes") else ()
    mouth = exit_area(pipe(sheet, f"charge.pipes.{names[-1]}")) if names else 0.02  # m2; too wide to matter
    return draft.enter(upstream, hat, mouth)


def build_intake(
    sheet: Sheet, draft: Draft, air: Air, held: Held | None = None, fuel_per_air: float = 0.0, opening: float = 1.0
) -> Intake:
    """Add everything from outside air, or from the held charge before carburettor or throttle, to the intake valves.

    Behind a carburettor before the compressor the held charge is a mixture already, of fuel_per_air [kg/kg].
    """
    if held is None:
        outside = draft.node(Node("outside air", AMBIENT, air.p, air.T + (sheet.maybe("intake.inlet_rise") or 0.0)))
        upstream = _air_inlet(sheet, draft, outside, air)
    else:
        air = Air(held.p_charge, held.T_charge)
        yf = fuel_per_air / (1.0 + fuel_per_air) if fuel_before_compressor(sheet) else 0.0
        outside = draft.node(Node("held charge", AMBIENT, air.p, air.T, yf=yf))
        upstream = _hat(sheet, draft, AtNode(outside), air)
    mixture = fuel_before_compressor(sheet)
    has_device = sheet.has("carburettor") or sheet.has("intake.throttle")
    area = opening * restriction(sheet) if has_device else None
    premixed: list[int] = []
    if held is None and sheet.has("charge"):
        bores = area * int(sheet.value("carburettor.count")) if mixture and area is not None else None
        charged = build_charge(sheet, draft, upstream, bores, air.p, air.T)
        upstream, premixed = charged.place, charged.mixers
    if mixture:
        area = None
    fuel_at_port = sheet.has("injection") and sheet.choice("injection.position") in ("port", "runner")
    if not (sheet.has("carburettor") or sheet.has("injection")):
        raise BadInput("the sheet has neither a carburettor nor injection; say where the fuel comes from")
    plenums = sheet.names("intake.plenums") if sheet.has("intake.plenums") else ()
    # Without a plenum each runner has its own, but for one throttle before the branch of several runners.
    branches = len(groups(sheet, "intake.siamese")) > 1
    each = _each_runner(sheet) or (not plenums and (sheet.has("carburettor") or not branches))
    feeding: dict[int, Place] = {}
    mixers: list[int] = []
    if plenums:
        feeding, mixers = _plenums(sheet, draft, upstream, plenums, None if each else area, air)
        draft.machinery.stations["plenum"] = mixers[0]
    elif branches and not (each and isinstance(upstream, AtNode)):
        branch = draft.node(Node("intake branch", JUNCTION, air.p, air.T))
        feeding = dict.fromkeys(range(sheet.cylinder_count), draft.enter(upstream, branch, None if each else area))
    else:
        feeding = dict.fromkeys(range(sheet.cylinder_count), upstream)
    needs_bore = sheet.has("carburettor") and each and not mixture
    if fuel_at_port or needs_bore or mixture:
        mixers = premixed
    ports: dict[int, Place] = {}
    port_ducts = []
    for group in groups(sheet, "intake.siamese"):
        place: Place = feeding[group[0]]
        throat = area if each else None
        if needs_bore:
            bore = sheet.value("carburettor.throttle_diameter")
            volume = pi / 4.0 * bore**2 * BODY_LENGTH * sheet.value("carburettor.barrels")
            mixer = draft.node(Node(f"carburettor of cylinder {group[0] + 1}", VOLUME, air.p, air.T, volume=volume))
            place, throat = draft.enter(place, mixer, throat), None
            mixers.append(mixer)
        place = _runner_and_port(sheet, draft, place, group, throat, fuel_at_port, mixers, air)
        assert isinstance(place, AtStop)
        port_ducts.append(place.duct)
        if len(group) > 1:
            shared = draft.node(Node(f"shared intake port of cylinder {group[0] + 1}", JUNCTION, air.p, air.T))
            place = draft.enter(place, shared)
        ports |= dict.fromkeys(group, place)
    return Intake(ports, mixers, outside, port_ducts)


def _air_inlet(sheet: Sheet, draft: Draft, outside: int, air: Air) -> Place:
    place: Place = AtNode(outside)
    paths = _inlet_ducts(sheet)
    filter_loss = sheet.maybe_quantity("intake.filter_loss")
    shape = sheet.choice("intake.mouth") if sheet.has("intake.mouth") else "plain"
    mouth: Mouth = "flanged" if shape == "flanged" else "plain"
    for n, path in enumerate(paths):
        loss = 0.0
        if n == 0 and filter_loss is not None and filter_loss.condition:
            # The filter's pull as dynamic heads of the first pipe: K = dp / (mdot^2 / (2 rho A^2)).
            rho = air.p / (R_AIR * air.T)
            heads = (filter_loss.condition[0].value / entry_area(pipe(sheet, path))) ** 2 / (2.0 * rho)
            loss = filter_loss.value / heads
        place = draft.follow(place, pipe(sheet, path, extra_loss=loss), mouth=mouth if n == 0 else "none")
    return place


def _plenums(
    sheet: Sheet, draft: Draft, upstream: Place, names: tuple[str, ...], area: float | None, air: Air
) -> tuple[dict[int, Place], list[int]]:
    """Plenums behind ``upstream``; several share the flow evenly, each with its own throttle or carburettor."""
    feeding: dict[int, Place] = {}
    nodes = []
    devices = int(sheet.value("carburettor.count")) if sheet.has("carburettor") else 1
    share = None if area is None else area * devices / len(names)
    if len(names) > 1 and isinstance(upstream, AtStop):
        upstream = draft.enter(upstream, draft.node(Node("intake branch", JUNCTION, air.p, air.T)))
    for name in names:
        path = f"intake.plenums.{name}"
        node = draft.node(Node(name, VOLUME, air.p, air.T, volume=sheet.value(f"{path}.volume")))
        if share is None and isinstance(upstream, AtNode):
            share = 0.02  # m2; a plenum that breathes straight from outside: an opening too wide to matter
        draft.enter(upstream, node, share)
        nodes.append(node)
        fed = (
            sheet.numbers(f"{path}.cylinders") if sheet.has(f"{path}.cylinders") else range(1, sheet.cylinder_count + 1)
        )
        feeding |= dict.fromkeys((n - 1 for n in fed), AtNode(node))
    missing = [k + 1 for k in range(sheet.cylinder_count) if k not in feeding]
    if missing:
        raise BadInput(f"no plenum feeds cylinder {missing[0]}; add it to the cylinders of one of intake.plenums")
    return feeding, nodes


def _runner_and_port(
    sheet: Sheet,
    draft: Draft,
    place: Place,
    group: list[int],
    throat: float | None,
    fuel_at_port: bool,
    mixers: list[int],
    air: Air,
) -> Place:
    k = group[0]
    if sheet.has("intake.runners"):
        shape = sheet.choice("intake.runners.mouth") if sheet.has("intake.runners.mouth") else "plain"
        opens_in_volume = isinstance(place, AtNode) and throat is None
        mouth: Mouth = ("flanged" if shape == "flanged" else "plain") if opens_in_volume else "none"
        place, throat = draft.follow(place, pipe(sheet, "intake.runners", k), throat, mouth), None
    if fuel_at_port:
        mixer = draft.node(Node(f"injector of cylinder {k + 1}", JUNCTION, air.p, air.T))
        place, throat = draft.enter(place, mixer, throat), None
        mixers.append(mixer)
    return draft.follow(place, pipe(sheet, "intake.ports", k), throat)


def build_exhaust(
    sheet: Sheet, draft: Draft, air: Air, T_gas: float, held: Held | None = None
) -> tuple[dict[int, tuple[int, Place]], int]:
    """Add everything from the exhaust valves to the open, or to the turbine's place where a state is held there.

    Returns for each cylinder its port duct and where its valves hang (a duct start or a shared node), and the
    node that is the open.
    """
    if held is None:
        open_air = draft.node(Node("open air", AMBIENT, air.p, air.T))
    else:
        air = Air(held.p_turbine, air.T)
        open_air = draft.node(Node("held before the turbine", AMBIENT, air.p, T_gas, yb=1.0))
    entries = turbine_entries(sheet)
    ports: dict[int, tuple[int, Place]] = {}
    waiting: dict[str, list[AtStop]] = {"tail": []}
    collectors = sheet.names("exhaust.collectors") if sheet.has("exhaust.collectors") else ()
    joined = {n - 1: name for name in collectors for n in _cylinders_of(sheet, name)}
    straight = entries[0] if entries else "tail"
    for group in groups(sheet, "exhaust.siamese"):
        k = group[0]
        port = draft.duct(hot(pipe(sheet, "exhaust.ports", k), T_gas))
        valve_place: Place = AtStop(port)
        if len(group) > 1:
            shared = draft.node(Node(f"shared exhaust port of cylinder {k + 1}", JUNCTION, air.p, T_gas, yb=1.0))
            draft.starts[port] = End(shared, 1.0, 1.0, STRAIGHT_OFF)
            valve_place = AtNode(shared)
        ports |= dict.fromkeys(group, (port, valve_place))
        stop = draft.follow(AtStop(port), hot(pipe(sheet, "exhaust.primaries", k), T_gas))
        waiting.setdefault(joined.get(k, straight), []).append(stop)
    joins: dict[str, int] = {}
    for name in _in_order(sheet, collectors):
        path = f"exhaust.collectors.{name}"
        volume = sheet.maybe(f"{path}.volume")
        kind = JUNCTION if volume is None else VOLUME
        joins[name] = node = draft.node(Node(name, kind, air.p, T_gas, yb=1.0, volume=volume))
        for stop in waiting.get(name, []):
            draft.enter(stop, node)
        after = draft.follow(AtNode(node), hot(pipe(sheet, path), T_gas))
        waiting.setdefault(sheet.text(f"{path}.leads_to"), []).append(after)
    if held is None:
        arriving: list[Place] = list(waiting["tail"])
        if entries:
            arriving += build_turbine(sheet, draft, waiting, joins, open_air, air.p, T_gas)
        _tails(sheet, draft, arriving, open_air, air, T_gas)
    else:  # every entry of every turbine meets the same held pressure
        for stop in [stop for name in ("tail", *entries) for stop in waiting.get(name, [])]:
            draft.enter(stop, open_air)
    return ports, open_air


def _tails(sheet: Sheet, draft: Draft, arriving: list[Place], open_air: int, air: Air, T_gas: float) -> None:
    """Equal tails side by side: one for each pipe that arrives where their number fits, else all from one join."""
    count = int(sheet.value("exhaust.tails"))
    if not (sheet.has("exhaust.tail") and sheet.names("exhaust.tail")):
        count = len(arriving)  # every pipe opens by itself
    if count != len(arriving):
        node = draft.node(Node("before the tail", JUNCTION, air.p, T_gas, yb=1.0))
        for place in arriving:
            hole = draft.machinery.openings[place.node] if isinstance(place, AtNode) else None
            draft.enter(place, node, hole)
        arriving = [AtNode(node)] * count
    for place in arriving:
        _tail(sheet, draft, place, open_air, air, T_gas)


def _tail(sheet: Sheet, draft: Draft, place: Place, open_air: int, air: Air, T_gas: float) -> None:
    pieces = [f"exhaust.tail.{name}" for name in sheet.names("exhaust.tail")] if sheet.has("exhaust.tail") else []
    for path in pieces:
        place = draft.follow(place, hot(pipe(sheet, path), T_gas))
        silencer = sheet.maybe(f"{path}.silencer_volume")
        if silencer is not None:
            box = draft.node(Node(f"silencer behind {path}", VOLUME, air.p, T_gas, yb=1.0, volume=silencer))
            place = draft.enter(place, box)
    if isinstance(place, AtStop):
        draft.enter(place, open_air, mouth="plain")
    else:  # a silencer at the very end opens through a hole of its pipe's size; a turbine without a tail by its own
        hole = entry_area(pipe(sheet, pieces[-1])) if pieces else draft.machinery.openings[place.node]
        draft.enter(place, open_air, hole)


def _cylinders_of(sheet: Sheet, name: str) -> tuple[int, ...]:
    path = f"exhaust.collectors.{name}.cylinders"
    return sheet.numbers(path) if sheet.has(path) else ()


def _in_order(sheet: Sheet, names: tuple[str, ...]) -> list[str]:
    """Collectors so that each comes before the one it leads to. Raises BadInput where they go in a circle."""
    left, order = list(names), []
    while left:
        free = [n for n in left if all(sheet.text(f"exhaust.collectors.{m}.leads_to") != n for m in left)]
        if not free:
            raise BadInput(f"exhaust.collectors: {', '.join(left)} lead to each other in a circle; one must lead on")
        order += free
        left = [n for n in left if n not in free]
    return order
