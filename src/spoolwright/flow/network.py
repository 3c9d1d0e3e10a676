"""The flow network as plain arrays, and one explicit step of it.

A network is ducts (cells end to end), duct ends, duct-to-duct joins, nodes and links between nodes.
``build_network`` (build.py) makes it from small records; the kernels below step it. A caller that owns cylinders
writes their node rows and the area ratios of their valves between the calls; order of one step:

    dt = stable_step(*net, courant)         primitives, longest stable step
    (caller: valve areas and cylinder node state, best at mid-step)
    exchange(*net, dt)                      ducts, ends, joins, links; fills the Q columns of net.nodes
    (caller: machines, cylinders)
    advance_volumes(net.kind, net.nodes, net.mix, dt)   volumes and junctions

Axes: rows.py.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoolwright.flow.ends import end_fluxes, fill_ghost_faces, fill_ghosts
from spoolwright.flow.joins import join_fluxes
from spoolwright.flow.mixture import Mixing
from spoolwright.flow.nodes import advance_volumes, clear_sums, link_flows, node_step_limit
from spoolwright.flow.rows import (
    PRE,
)
from spoolwright.flow.sweep import fluxes, half_step, primitives, slopes, update
from spoolwright.flow.walls import wall_sources
from spoolwright.kernel import kernel

COURANT = 0.8
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Network(NamedTuple):
    """All arrays of a flow network, flat; stable_step and exchange take its fields in this order.

    A caller in Python writes ``exchange(*net, dt)``. A caller that is compiled unpacks the tuple once,
    outside its loop: inside, every array drawn from a tuple costs a reference count (some 20 ns), which for
    all of them together would be as dear as twenty cells.
    """

    mix: Mixing
    # ducts, end to end
    U: Floats  # (5, N) conserved, per metre
    W: Floats  # (5, N) primitives
    aux: Floats  # (3, N) temperature, ratio of heats, signal rate
    left: Floats  # (5, N) mid-step state at the left face of each cell
    right: Floats  # (5, N)
    mid: Floats  # (3, N)
    F: Floats  # (5, N + 1) fluxes times area
    q_wall: Floats  # (N,) J/m received from the wall since it was last zeroed
    A_face: Floats  # (N + 1,) m2
    geometry: Floats  # (N_GEOMETRY, N)
    wall: Floats  # (N_WALL, N)
    # duct ends: end 2 d is the start of duct d, end 2 d + 1 its stop
    end_index: Ints  # (E, 3) E_CELL, E_SIDE, E_NODE
    ends: Floats  # (E, N_END)
    # duct ends joined to each other
    join_index: Ints  # (J, 2) J_A, J_B
    joins: Floats  # (J, N_JOIN)
    # everything that is not a duct cell
    kind: Ints  # (K,)
    nodes: Floats  # (K, N_NODE)
    # direct orifices between nodes
    link_index: Ints  # (L, 2) L_A, L_B
    links: Floats  # (L, N_LINK)


@kernel
def stable_step(
    mix: Mixing,
    U: Floats,
    W: Floats,
    aux: Floats,
    left: Floats,
    right: Floats,
    mid: Floats,
    F: Floats,
    q_wall: Floats,
    A_face: Floats,
    geometry: Floats,
    wall: Floats,
    end_index: Ints,
    ends: Floats,
    join_index: Ints,
    joins: Floats,
    kind: Ints,
    nodes: Floats,
    link_index: Ints,
    links: Floats,
    courant: float,
) -> float:
    """Fill the primitives and give the longest stable step [s]; 1e30 where nothing limits."""
    rate = primitives(U, geometry, mix, W, aux)
    dt = courant / rate if rate > 0.0 else 1e30
    return min(dt, node_step_limit(kind, nodes, end_index, ends, link_index, links))


@kernel
def exchange(
    mix: Mixing,
    U: Floats,
    W: Floats,
    aux: Floats,
    left: Floats,
    right: Floats,
    mid: Floats,
    F: Floats,
    q_wall: Floats,
    A_face: Floats,
    geometry: Floats,
    wall: Floats,
    end_index: Ints,
    ends: Floats,
    join_index: Ints,
    joins: Floats,
    kind: Ints,
    nodes: Floats,
    link_index: Ints,
    links: Floats,
    dt: float,
) -> int:
    """One step of ducts with ends and joins, and of links; needs the primitives of stable_step first.

    Afterwards the Q columns of nodes hold what enters each node per second. Returns the number of
    iterations spent at ends and joins.
    """
    clear_sums(nodes)
    fill_ghosts(end_index, ends, W)
    slopes(W, left)
    half_step(W, aux, geometry, dt, left, right, mid)
    fill_ghost_faces(end_index, W, left, right)
    fluxes(left, right, A_face, mix, F)
    spent = end_fluxes(end_index, ends, kind, nodes, mix, aux, left, right, F)
    if join_index.shape[0] > 0:
        spent += join_fluxes(join_index, joins, end_index, ends, mix, aux, left, right, F)
    update(U, F, mid, geometry, dt)
    wall_sources(U, W, aux, wall, mix, dt, q_wall)
    link_flows(link_index, links, kind, nodes, dt)
    return spent


@kernel
def march(
    net: Network, courant: float, t_end: float, max_steps: int, probes: Ints, record: Floats
) -> tuple[float, int]:
    """Run the network without cylinders until t_end [s] or max_steps.

    probes : cells (P,); record : (S, 2 + P) takes time, step and the pressure of each probe cell at the
    start of every step while rows last. Returns (time, steps).
    """
    (
        mix,
        U,
        W,
        aux,
        left,
        right,
        mid,
        F,
        q_wall,
        A_face,
        geometry,
        wall,
        end_index,
        ends,
        join_index,
        joins,
        kind,
        nodes,
        link_index,
        links,
    ) = net
    t = 0.0
    steps = 0
    while steps < max_steps and t < t_end:
        dt = stable_step(
            mix,
            U,
            W,
            aux,
            left,
            right,
            mid,
            F,
            q_wall,
            A_face,
            geometry,
            wall,
            end_index,
            ends,
            join_index,
            joins,
            kind,
            nodes,
            link_index,
            links,
            courant,
        )
        dt = min(dt, t_end - t)
        if steps < record.shape[0]:
            record[steps, 0] = t
            record[steps, 1] = dt
            for j in range(probes.shape[0]):
                record[steps, 2 + j] = W[PRE, probes[j]]
        exchange(
            mix,
            U,
            W,
            aux,
            left,
            right,
            mid,
            F,
            q_wall,
            A_face,
            geometry,
            wall,
            end_index,
            ends,
            join_index,
            joins,
            kind,
            nodes,
            link_index,
            links,
            dt,
        )
        advance_volumes(kind, nodes, mix, dt)
        t += dt
        steps += 1
    primitives(U, geometry, mix, W, aux)
    return t, steps
