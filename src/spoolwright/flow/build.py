"""From small records (ducts, what their ends meet, nodes, joins, links) to the arrays of a Network.

Plain Python, not compiled. Bad input is refused here with one sentence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from spoolwright.constants import STANDARD_ATMOSPHERE
from spoolwright.errors import BadInput
from spoolwright.flow.joins import contraction_coefficient
from spoolwright.flow.mesh import Duct, DuctMesh, Span, cut_back, end_diameters, lay_out, volume_between
from spoolwright.flow.mixture import Mixing, mixing
from spoolwright.flow.network import Network
from spoolwright.flow.nodes import settle
from spoolwright.flow.rows import (
    AMBIENT,
    BURN,
    CLOSED,
    CYLINDER,
    E_AREA,
    E_AX,
    E_AY,
    E_AZ,
    E_CELL,
    E_NODE,
    E_P,
    E_RATIO_IN,
    E_RATIO_OUT,
    E_RHO,
    E_SIDE,
    E_U,
    E_YB,
    E_YF,
    ENE,
    FUEL,
    G_AREA,
    J_P_THROAT,
    J_THROAT_AB,
    J_THROAT_BA,
    JOINED,
    JUNCTION,
    L_AREA,
    MASS,
    MOM,
    N_AUX,
    N_BURN,
    N_END,
    N_ENE,
    N_FUEL,
    N_JOIN,
    N_LINK,
    N_MASS,
    N_MID,
    N_NODE,
    N_P,
    N_P_OLD,
    N_T,
    N_T_OLD,
    N_VAR,
    N_VOL,
    VOLUME,
)
from spoolwright.gas.duct import DuctGas

Floats = NDArray[np.float64]
Side = Literal["start", "stop"]


@dataclass(frozen=True)
class Node:
    """A node to be built: kind (rows.py), state p [Pa], T [K], yf, yb [-], volume [m3].

    A junction's volume may be None: then it is the last quarter bore of every duct that meets it.
    """

    name: str
    kind: int
    p: float = 101325.0
    T: float = 300.0
    yf: float = 0.0
    yb: float = 0.0
    volume: float | None = None


@dataclass(frozen=True)
class End:
    """What a duct end meets: a node (by number) or CLOSED, through an area ratio each way."""

    node: int = CLOSED
    ratio_out: float = 1.0
    ratio_in: float = 1.0
    axis: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Join:
    """Two duct ends joined; throat areas [m2] each way, or None for a plain abrupt step."""

    a: tuple[int, Side]
    b: tuple[int, Side]
    throat_ab: float | None = None
    throat_ba: float | None = None


@dataclass(frozen=True)
class Link:
    """An orifice between nodes a and b with effective area [m2]."""

    a: int
    b: int
    area: float


def _mixture(mix: Mixing, yf: Any, yb: Any) -> tuple[Any, Any, Any]:
    """R, a, b for numbers or arrays of mass fractions."""
    return (
        mix.R + yf * mix.R_fuel + yb * mix.R_burn,
        mix.a + yf * mix.a_fuel + yb * mix.a_burn,
        mix.b + yf * mix.b_fuel + yb * mix.b_burn,
    )


def fill_duct(net: Network, span: Span, p: Any, T: Any, u: Any = 0.0, yf: Any = 0.0, yb: Any = 0.0) -> None:
    """Set the state of one duct's inner cells from numbers or arrays (cells,), and its ends' face states."""
    inner = slice(span.first, span.first + span.cells)
    p, T, u, yf, yb = (np.broadcast_to(np.asarray(x, float), (span.cells,)) for x in (p, T, u, yf, yb))
    R, a, b = _mixture(net.mix, yf, yb)
    rho = p / (R * T)
    mass = rho * net.geometry[G_AREA, inner]
    rows = (mass, mass * u, mass * (T * (a + 0.5 * b * T) + 0.5 * u * u), mass * yf, mass * yb)
    for v, row in zip((MASS, MOM, ENE, FUEL, BURN), rows, strict=True):
        net.U[v, inner] = row
    for i, ghost in ((span.first, span.first - 1), (span.first + span.cells - 1, span.first + span.cells)):
        net.U[:, ghost] = net.U[:, i] / net.geometry[G_AREA, i] * net.geometry[G_AREA, ghost]
        e = np.flatnonzero((net.end_index[:, E_CELL] == i) & (net.end_index[:, E_SIDE] == ghost - i))[0]
        k = i - span.first
        net.ends[e, [E_P, E_U, E_RHO, E_YF, E_YB]] = p[k], u[k], rho[k], yf[k], yb[k]


def set_node(net: Network, k: int, p: float, T: float, yf: float = 0.0, yb: float = 0.0) -> None:
    """Set node k at rest to p, T and composition, keeping its volume."""
    row = net.nodes[k]
    R, a, b = _mixture(net.mix, yf, yb)
    volume = row[N_VOL]
    mass = p * volume / (R * T)
    row[:] = 0.0
    row[N_VOL] = volume
    row[[N_MASS, N_ENE, N_FUEL, N_BURN]] = mass, mass * T * (a + 0.5 * b * T), mass * yf, mass * yb
    settle(net.nodes, k, net.mix)
    row[N_P_OLD], row[N_T_OLD] = row[N_P], row[N_T]


def build_network(
    gas: DuctGas,
    ducts: Sequence[tuple[Duct, End, End]],
    nodes: Sequence[Node],
    joins: Sequence[Join] = (),
    links: Sequence[Link] = (),
) -> tuple[Network, list[Span]]:
    """Arrays of a network, filled with the ducts' and nodes' first states.

    ducts : (duct, what its start meets, what its stop meets); an end named in ``joins`` must be CLOSED here.
    Raises BadInput for impossible dimensions, unknown nodes, ends joined twice.
    """
    ducts, rooms = _give_way(ducts, nodes)
    mesh, spans = lay_out([duct for duct, _, _ in ducts])
    meets = [end for _, start, stop in ducts for end in (start, stop)]
    _check_parts(meets, nodes, joins, links, len(ducts))
    n = mesh.geometry.shape[1]
    end_index, ends = _build_ends(meets, spans, mesh, joins)
    join_index, join_table = _build_joins(joins, ends[:, E_AREA])
    link_table = np.zeros((len(links), N_LINK))
    link_table[:, L_AREA] = [x.area for x in links]
    net = Network(
        mix=mixing(gas),
        U=np.ones((N_VAR, n)),
        W=np.ones((N_VAR, n)),
        aux=np.ones((N_AUX, n)),
        left=np.ones((N_VAR, n)),
        right=np.ones((N_VAR, n)),
        mid=np.ones((N_MID, n)),
        F=np.zeros((N_VAR, n + 1)),
        q_wall=np.zeros(n),
        A_face=mesh.A_face,
        geometry=mesh.geometry,
        wall=mesh.wall,
        end_index=end_index,
        ends=ends,
        join_index=join_index,
        joins=join_table,
        kind=np.array([x.kind for x in nodes], dtype=np.int64),
        nodes=np.zeros((len(nodes), N_NODE)),
        link_index=np.array([(x.a, x.b) for x in links], dtype=np.int64).reshape(-1, 2),
        links=link_table,
    )
    net.U[ENE] = 3e5
    net.U[[MOM, FUEL, BURN]] = 0.0
    for (duct, _, _), span in zip(ducts, spans, strict=True):
        fill_duct(net, span, duct.p, duct.T, duct.u, duct.yf, duct.yb)
    for i, item in enumerate(nodes):
        net.nodes[i, N_VOL] = _volume(item, rooms.get(i, 0.0))
        set_node(net, i, item.p, item.T, item.yf, item.yb)
    return net, spans


def _end_of(duct: int, which: Side) -> int:
    return 2 * duct + (1 if which == "stop" else 0)


def _give_way(
    ducts: Sequence[tuple[Duct, End, End]], nodes: Sequence[Node]
) -> tuple[list[tuple[Duct, End, End]], dict[int, float]]:
    """Ducts cut back where they meet a junction, and each junction's volume [m3] by node: what was cut off.

    Channels of one width D that cross at right angles share a square, a quarter of D for each; three at 120 degrees
    share 0.14 D each. So the junction's room is a quarter bore of each duct. Taken off the ducts, it leaves volume and
    running length as they are, and it does not follow the cells. More room would reflect short waves too strongly: it
    gives the gas there its elasticity but not its inertia. A short duct gives a quarter of its length at most.
    """

    def depth(duct: Duct, end: End, bore: float) -> float:
        if not (0 <= end.node < len(nodes) and nodes[end.node].kind == JUNCTION and nodes[end.node].volume is None):
            return 0.0
        return 0.25 * min(bore, duct.length)

    made = []
    rooms: dict[int, float] = {}
    for duct, start, stop in ducts:
        bore_start, bore_stop = end_diameters(duct)
        before, after = depth(duct, start, bore_start), depth(duct, stop, bore_stop)
        if before > 0.0:
            rooms[start.node] = rooms.get(start.node, 0.0) + volume_between(duct, 0.0, before)
        if after > 0.0:
            rooms[stop.node] = rooms.get(stop.node, 0.0) + volume_between(duct, duct.length - after, duct.length)
        made.append((cut_back(duct, before, after) if before + after > 0.0 else duct, start, stop))
    return made, rooms


def _volume(item: Node, room: float) -> float:
    if item.volume is not None:
        return item.volume
    return room if room > 0.0 else 1.0  # ambient and cylinder: the caller owns the state


def _build_ends(
    meets: Sequence[End], spans: Sequence[Span], mesh: DuctMesh, joins: Sequence[Join]
) -> tuple[NDArray[np.int64], Floats]:
    index, table = np.zeros((len(meets), 3), dtype=np.int64), np.zeros((len(meets), N_END))
    for e, meet in enumerate(meets):
        span, stop = spans[e // 2], e % 2
        i = span.first + (span.cells - 1) * stop
        index[e] = i, 2 * stop - 1, meet.node
        table[e, E_AREA] = mesh.A_face[i + stop]
        table[e, [E_RATIO_OUT, E_RATIO_IN]] = meet.ratio_out, meet.ratio_in
        table[e, [E_AX, E_AY, E_AZ]] = meet.axis
    for join in joins:
        for d, which in (join.a, join.b):
            index[_end_of(d, which), E_NODE] = JOINED
    return index, table


def _build_joins(joins: Sequence[Join], area: Floats) -> tuple[NDArray[np.int64], Floats]:
    def throat(up: float, down: float, given: float | None) -> float:
        if given is not None:
            return given
        if up <= down * (1.0 + 1e-12):
            return up
        return down * contraction_coefficient((down / up) ** 0.5)

    index = np.array([(_end_of(*j.a), _end_of(*j.b)) for j in joins], dtype=np.int64).reshape(-1, 2)
    table = np.zeros((len(joins), N_JOIN))
    for row, (a, b), j in zip(table, index, joins, strict=True):
        row[J_THROAT_AB] = throat(area[a], area[b], j.throat_ab)
        row[J_THROAT_BA] = throat(area[b], area[a], j.throat_ba)
        row[J_P_THROAT] = STANDARD_ATMOSPHERE  # first guess only
    return index, table


def _check_parts(
    meets: Sequence[End], nodes: Sequence[Node], joins: Sequence[Join], links: Sequence[Link], n_ducts: int
) -> None:
    for meet in meets:
        if not CLOSED <= meet.node < len(nodes):
            raise BadInput(
                f"a duct end meets node {meet.node}; there are nodes 0 to {len(nodes) - 1}; name one of them"
            )
        if not (0.0 <= meet.ratio_out <= 1.0 and 0.0 <= meet.ratio_in <= 1.0):
            raise BadInput(
                f"a duct end has area ratios {meet.ratio_out:g} and {meet.ratio_in:g}; allowed is 0 to 1; "
                "divide the effective area by the duct's area"
            )
    for item in nodes:
        if item.kind not in (AMBIENT, VOLUME, JUNCTION, CYLINDER):
            raise BadInput(f'node "{item.name}": kind {item.kind} is unknown; use one of the kinds in rows.py')
        if not (item.p > 0.0 and item.T > 0.0):
            raise BadInput(f'node "{item.name}": p {item.p:g} Pa, T {item.T:g} K; both must be absolute and above 0')
        if item.kind == VOLUME and not (item.volume is not None and item.volume > 0.0):
            raise BadInput(f'node "{item.name}": volume is {item.volume}; a plenum needs more than 0 m3')
    taken: set[int] = set()
    for join in joins:
        for d, which in (join.a, join.b):
            if not 0 <= d < n_ducts:
                raise BadInput(f"a join names duct {d}; there are ducts 0 to {n_ducts - 1}; name one of them")
            end = _end_of(d, which)
            if end in taken or meets[end].node != CLOSED:
                raise BadInput(f"the {which} of duct {d} is joined twice; a duct end meets one thing; add a junction")
            taken.add(end)
    for link in links:
        if not (0 <= link.a < len(nodes) and 0 <= link.b < len(nodes) and link.a != link.b and link.area >= 0.0):
            raise BadInput(
                f"a link joins nodes {link.a} and {link.b} with {link.area:g} m2; name two nodes and an area"
            )
