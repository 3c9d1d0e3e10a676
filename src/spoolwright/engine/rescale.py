"""Parts of an engine's gas taken to another pressure and temperature, velocities kept.

A steady point is found by changing an initial state, so this adds no bias: volumes need not be filled through
the compressor, cycle after cycle, until they hold what the surrogate already knows.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spoolwright.engine.parts import ON_END, ON_LINK, W_KIND, W_PLACE, Engine
from spoolwright.flow.nodes import settle
from spoolwright.flow.rows import (
    AMBIENT,
    BURN,
    CYLINDER,
    E_CELL,
    E_NODE,
    E_P,
    E_RHO,
    ENE,
    FUEL,
    J_P_THROAT,
    L_A,
    L_B,
    MASS,
    MOM,
    N_BURN,
    N_ENE,
    N_FUEL,
    N_MASS,
    N_MX,
    N_MZ,
    N_P,
    N_P_OLD,
    N_T,
    N_T_OLD,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
SMALLEST = 1e-4  # change that is worth the disturbance


@dataclass(frozen=True)
class Region:
    """Cells, nodes, duct ends and joins that hang together."""

    cells: Ints
    nodes: Ints
    ends: Ints
    joins: Ints


def region(engine: Engine, first: list[int]) -> Region:
    """All that gas reaches from the nodes ``first`` without passing a machine, a gate, a cylinder or the open."""
    net, ways = engine.net, engine.machines.way_at
    gated_ends = set(ways[ways[:, W_KIND] == ON_END, W_PLACE].tolist())
    gated_links = set(ways[ways[:, W_KIND] == ON_LINK, W_PLACE].tolist())
    partner: dict[int, int] = {}
    for a, b in net.join_index.tolist():
        partner |= {a: b, b: a}
    waiting = list(first)
    nodes: set[int] = set()
    ducts: set[int] = set()

    def enter(duct: int) -> None:
        if duct in ducts:
            return
        ducts.add(duct)
        for e in (2 * duct, 2 * duct + 1):
            if e in partner:
                enter(partner[e] // 2)
            elif net.end_index[e, E_NODE] >= 0 and e not in gated_ends:
                waiting.append(int(net.end_index[e, E_NODE]))

    while waiting:
        node = waiting.pop()
        if node in nodes or net.kind[node] in (AMBIENT, CYLINDER):
            continue
        nodes.add(node)
        for e in np.flatnonzero(net.end_index[:, E_NODE] == node).tolist():
            if e not in gated_ends:
                enter(e // 2)
        for j, (a, b) in enumerate(net.link_index[:, [L_A, L_B]].tolist()):
            if j not in gated_links and node in (a, b):
                waiting.append(b if node == a else a)
    return Region(
        cells=np.array(
            sorted(i for d in ducts for i in range(net.end_index[2 * d, E_CELL], net.end_index[2 * d + 1, E_CELL] + 1)),
            dtype=np.int64,
        ),
        nodes=np.array(sorted(nodes), dtype=np.int64),
        ends=np.array(sorted(e for d in ducts for e in (2 * d, 2 * d + 1)), dtype=np.int64),
        joins=np.array([j for j, (a, _) in enumerate(net.join_index.tolist()) if a // 2 in ducts], dtype=np.int64),
    )


def rescale(engine: Engine, part: Region, p_ratio: float, T_ratio: float) -> None:
    """Multiply pressure and temperature of a region; nothing is done for changes below 1e-4 in both."""
    if abs(p_ratio - 1.0) < SMALLEST and abs(T_ratio - 1.0) < SMALLEST:
        return
    net, m_ratio = engine.net, p_ratio / T_ratio
    U = net.U[:, part.cells]
    kinetic = 0.5 * U[MOM] ** 2 / U[MASS]
    U[ENE] = m_ratio * (_warmed(engine, U[ENE] - kinetic, U[MASS], U[FUEL], U[BURN], T_ratio) + kinetic)
    U[[MASS, MOM, FUEL, BURN]] *= m_ratio
    net.U[:, part.cells] = U
    rows = net.nodes[part.nodes]
    kinetic = 0.5 * (rows[:, N_MX : N_MZ + 1] ** 2).sum(axis=1) / rows[:, N_MASS]
    energy = _warmed(engine, rows[:, N_ENE] - kinetic, rows[:, N_MASS], rows[:, N_FUEL], rows[:, N_BURN], T_ratio)
    rows[:, N_MASS : N_MZ + 1] *= m_ratio
    rows[:, N_ENE] = m_ratio * (energy + kinetic)
    net.nodes[part.nodes] = rows
    for k in part.nodes.tolist():
        settle(net.nodes, k, net.mix)
        net.nodes[k, N_P_OLD], net.nodes[k, N_T_OLD] = net.nodes[k, N_P], net.nodes[k, N_T]
    net.ends[part.ends, E_P] *= p_ratio
    net.ends[part.ends, E_RHO] *= m_ratio
    net.joins[part.joins, J_P_THROAT] *= p_ratio


def _warmed(engine: Engine, energy: Floats, mass: Floats, fuel: Floats, burned: Floats, T_ratio: float) -> Floats:
    """Inner energy of the same mass at T_ratio times its temperature."""
    mix = engine.net.mix
    yf, yb = fuel / mass, burned / mass
    a = mix.a + yf * mix.a_fuel + yb * mix.a_burn
    b = mix.b + yf * mix.b_fuel + yb * mix.b_burn
    e = energy / mass
    T = T_ratio * 2.0 * e / (a + np.sqrt(a * a + 2.0 * b * e))
    warmed: Floats = mass * T * (a + 0.5 * b * T)
    return warmed
