"""Nodes (ambient, plenum volumes, junctions, cylinders) and direct links between them.

A volume is one mass, one energy, one composition (0-D balance). Ducts and volumes count sensible energy
(e = a T + b T^2/2); a caller that keeps absolute energy, as a cylinder with burning does, adds
sum(mdot_k e0_k) to the sums of its node, and writes N_H of its node in the sensible count.

Links join two nodes without a duct: an orifice, throttle, carburettor restriction, or a valve between a
plenum and a cylinder. The effective area (discharge coefficient included) is written by the caller.
Only pressure drives a link, from the higher to the lower; entropy cannot fall.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from spoolwright.flow.mixture import Mixing, mixture, temperature
from spoolwright.flow.nozzle import orifice_flux
from spoolwright.flow.rows import (
    AMBIENT,
    CYLINDER,
    E_AREA,
    E_NODE,
    E_P,
    E_RATIO_IN,
    E_RATIO_OUT,
    E_RHO,
    E_U,
    JUNCTION,
    L_A,
    L_AREA,
    L_B,
    L_MDOT,
    N_BURN,
    N_CP,
    N_ENE,
    N_FUEL,
    N_H,
    N_MASS,
    N_MX,
    N_MY,
    N_MZ,
    N_P,
    N_P_OLD,
    N_R,
    N_RATE,
    N_T,
    N_T_OLD,
    N_VOL,
    N_YB,
    N_YF,
    Q_BURN,
    Q_ENE,
    Q_FUEL,
    Q_MASS,
    Q_MX,
    Q_MY,
    Q_MZ,
    VOLUME,
)
from spoolwright.kernel import kernel

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NODE_LIMIT = 1.4  # dt <= NODE_LIMIT V / sum(open area times signal speed): explicit volume stays stable (measured 1.6)
STIFFEST = 1.4  # ratio of heats, an upper bound for the gases of an engine

MOST_EVENED = 0.5  # share of a pressure difference that a link evens out in one step


@kernel
def clear_sums(nodes: Floats) -> None:
    """Zero the sums of what enters each node."""
    for k in range(nodes.shape[0]):
        for q in range(Q_MASS, Q_MZ + 1):
            nodes[k, q] = 0.0


@kernel
def settle(nodes: Floats, k: int, mix: Mixing) -> None:
    """Pressure, temperature and properties of node k from its contents, in place on Nodes.table."""
    m = nodes[k, N_MASS]
    yf = nodes[k, N_FUEL] / m
    yb = nodes[k, N_BURN] / m
    uu = (nodes[k, N_MX] ** 2 + nodes[k, N_MY] ** 2 + nodes[k, N_MZ] ** 2) / (m * m)
    R, a, b = mixture(mix, yf, yb)
    e = nodes[k, N_ENE] / m - 0.5 * uu
    T = temperature(a, b, e)
    nodes[k, N_P] = m * R * T / nodes[k, N_VOL]
    nodes[k, N_T] = T
    nodes[k, N_R] = R
    nodes[k, N_CP] = a + b * T + R
    nodes[k, N_YF] = yf
    nodes[k, N_YB] = yb
    nodes[k, N_H] = e + R * T + 0.5 * uu


@kernel
def advance_volumes(kind: Ints, nodes: Floats, mix: Mixing, dt: float) -> None:
    """Add dt times what entered to every volume and junction. Cylinders and ambients are left alone."""
    for k in range(kind.shape[0]):
        if kind[k] == AMBIENT or kind[k] == CYLINDER:
            continue
        nodes[k, N_P_OLD] = nodes[k, N_P]
        nodes[k, N_T_OLD] = nodes[k, N_T]
        for content in range(N_MASS, N_MZ + 1):
            nodes[k, content] += dt * nodes[k, content + Q_MASS - N_MASS]
        if kind[k] != JUNCTION:  # a volume holds its gas at rest; kinetic energy stays in it as heat
            nodes[k, N_MX] = nodes[k, N_MY] = nodes[k, N_MZ] = 0.0
        settle(nodes, k, mix)


@kernel
def node_step_limit(kind: Ints, nodes: Floats, end_index: Ints, ends: Floats, links: Ints, link_table: Floats) -> float:
    """Largest step [s] for which explicit volumes stay stable: NODE_LIMIT V / sum of (open area times signal speed).

    The signal is the node's own sound or, where a hotter or faster gas arrives, that gas's: a cold junction that hot
    gas enters fills faster than its own sound tells. Ambients and cylinders do not limit (a cylinder's caller does).
    """
    for k in range(kind.shape[0]):
        nodes[k, N_RATE] = 0.0
    for e in range(end_index.shape[0]):
        k = end_index[e, E_NODE]
        if k >= 0 and (kind[k] == VOLUME or kind[k] == JUNCTION):
            signal = max(_sound(nodes, k), sqrt(STIFFEST * ends[e, E_P] / ends[e, E_RHO]) + abs(ends[e, E_U]))
            nodes[k, N_RATE] += ends[e, E_AREA] * max(ends[e, E_RATIO_OUT], ends[e, E_RATIO_IN]) * signal
    for j in range(links.shape[0]):
        a, b = links[j, L_A], links[j, L_B]
        flow = link_table[j, L_AREA] * max(_sound(nodes, a), _sound(nodes, b))
        nodes[a, N_RATE] += flow
        nodes[b, N_RATE] += flow
    worst = 0.0
    for k in range(kind.shape[0]):
        if kind[k] == VOLUME or kind[k] == JUNCTION:
            worst = max(worst, nodes[k, N_RATE] / nodes[k, N_VOL])
    return NODE_LIMIT / worst if worst > 0.0 else 1e30


@kernel
def _sound(nodes: Floats, k: int) -> float:
    R, cp = nodes[k, N_R], nodes[k, N_CP]
    return sqrt(cp / (cp - R) * R * nodes[k, N_T])


@kernel
def pass_gas(kind: Ints, nodes: Floats, source: int, target: int, mdot: float) -> None:
    """Book mdot [kg/s] from node source to node target, with the source's enthalpy and composition."""
    h = mdot * nodes[source, N_H]
    fuel = mdot * nodes[source, N_YF]
    burn = mdot * nodes[source, N_YB]
    nodes[source, Q_MASS] -= mdot
    nodes[target, Q_MASS] += mdot
    nodes[source, Q_ENE] -= h
    nodes[target, Q_ENE] += h
    nodes[source, Q_FUEL] -= fuel
    nodes[target, Q_FUEL] += fuel
    nodes[source, Q_BURN] -= burn
    nodes[target, Q_BURN] += burn
    if kind[source] == JUNCTION:
        share = mdot / nodes[source, N_MASS]
        nodes[source, Q_MX] -= share * nodes[source, N_MX]
        nodes[source, Q_MY] -= share * nodes[source, N_MY]
        nodes[source, Q_MZ] -= share * nodes[source, N_MZ]


@kernel
def _evening(kind: Ints, nodes: Floats, k: int) -> float:
    """Pressure [Pa] that a kilogram taken from node k costs it; nothing for an ambient."""
    if kind[k] == AMBIENT:
        return 0.0
    c = _sound(nodes, k)
    return c * c / nodes[k, N_VOL]


@kernel
def link_flows(links: Ints, table: Floats, kind: Ints, nodes: Floats, dt: float) -> None:
    """Flow through every link; adds to the nodes' sums and writes L_MDOT [kg/s], positive from a to b.

    In one step of dt [s] at most half of what would even the two pressures out passes: near equal pressures the
    nozzle's flow rises so steeply that two small nodes would throw their gas to and fro from step to step.
    """
    for j in range(links.shape[0]):
        a, b = links[j, L_A], links[j, L_B]
        forward = nodes[a, N_P] >= nodes[b, N_P]
        up, down = (a, b) if forward else (b, a)
        mdot = table[j, L_AREA] * orifice_flux(
            nodes[up, N_P], nodes[up, N_T], nodes[up, N_R], nodes[up, N_CP], nodes[down, N_P]
        )
        evening = (_evening(kind, nodes, a) + _evening(kind, nodes, b)) * dt
        if mdot * evening > MOST_EVENED * (nodes[up, N_P] - nodes[down, N_P]):
            mdot = MOST_EVENED * (nodes[up, N_P] - nodes[down, N_P]) / evening
        pass_gas(kind, nodes, up, down, mdot)
        table[j, L_MDOT] = mdot if forward else -mdot
