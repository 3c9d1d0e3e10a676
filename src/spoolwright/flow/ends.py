"""Duct ends: ghost cells, and the exchange between a duct end and its node.

Whatever the end solver finds is applied as one flux (m, m v + p A, m h0, m Y): what leaves the duct
enters the node, so mass, energy and species balance to round-off whatever the accuracy of the solve.

Junction nodes keep the momentum of the streams that enter them. An end whose axis looks along that
stream meets its dynamic head, less what a stream of that speed loses when it slows to the speed in the
duct (Borda-Carnot); an end that looks away sees the static pressure (dump). Momentum leaves with the mix,
upwind. So a straight run keeps its dynamic head, a wider one recovers what a sudden enlargement leaves, a
side branch loses it, and two equal streams head on stop each other. The axis of an end is the unit vector
from the duct into the node.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.flow.mixture import Mixing, mixture
from spoolwright.flow.nozzle import end_state, stopping_wave
from spoolwright.flow.rows import (
    BURN,
    E_AREA,
    E_AX,
    E_AY,
    E_AZ,
    E_CELL,
    E_HDOT,
    E_MDOT,
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
    GAM,
    JOINED,
    JUNCTION,
    MASS,
    MOM,
    N_CP,
    N_H,
    N_MASS,
    N_MX,
    N_MY,
    N_MZ,
    N_P,
    N_R,
    N_T,
    N_VAR,
    N_YB,
    N_YF,
    PRE,
    Q_BURN,
    Q_ENE,
    Q_FUEL,
    Q_MASS,
    Q_MX,
    Q_MY,
    Q_MZ,
    RHO,
    VEL,
    YB,
    YF,
)
from spoolwright.kernel import kernel

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

GHOST_LEAST = 0.3  # a ghost value is not extrapolated below this share of its neighbours


@kernel
def fill_ghosts(index: Ints, table: Floats, W: Floats) -> None:
    """Ghost primitives by extrapolation through the end's face state of the last step: 2 face - cell.

    Only the slope of the last cell uses them. A plain copy would damp waves at the end three times more.
    """
    for e in range(index.shape[0]):
        i = index[e, E_CELL]
        g = i + index[e, E_SIDE]
        W[RHO, g] = max(2.0 * table[e, E_RHO] - W[RHO, i], GHOST_LEAST * min(table[e, E_RHO], W[RHO, i]))
        W[VEL, g] = 2.0 * table[e, E_U] - W[VEL, i]
        W[PRE, g] = max(2.0 * table[e, E_P] - W[PRE, i], GHOST_LEAST * min(table[e, E_P], W[PRE, i]))
        W[YF, g] = min(max(2.0 * table[e, E_YF] - W[YF, i], 0.0), 1.0)
        W[YB, g] = min(max(2.0 * table[e, E_YB] - W[YB, i], 0.0), 1.0)


@kernel
def fill_ghost_faces(index: Ints, W: Floats, left: Floats, right: Floats) -> None:
    """Finite face states in ghost cells, so that the flux loop may run over them."""
    for e in range(index.shape[0]):
        g = index[e, E_CELL] + index[e, E_SIDE]
        for v in range(N_VAR):
            left[v, g] = W[v, g]
            right[v, g] = W[v, g]


@kernel
def arriving(index: Ints, e: int, left: Floats, right: Floats) -> tuple[float, float, float, float, float]:
    """Primitive state that reaches duct end e at mid-step: (rho, v towards the end, p, yf, yb)."""
    i = index[e, E_CELL]
    if index[e, E_SIDE] > 0:
        return right[RHO, i], right[VEL, i], right[PRE, i], right[YF, i], right[YB, i]
    return left[RHO, i], -left[VEL, i], left[PRE, i], left[YF, i], left[YB, i]


@kernel
def total_enthalpy(rho: float, v: float, p: float, yf: float, yb: float, mix: Mixing) -> float:
    """Sensible stagnation enthalpy [J/kg] of a gas at rho, p with speed v."""
    R, a, b = mixture(mix, yf, yb)
    T = p / (rho * R)
    return T * (a + 0.5 * b * T + R) + 0.5 * v * v


@kernel
def set_end_flux(
    index: Ints,
    table: Floats,
    e: int,
    F: Floats,
    mdot: float,
    p: float,
    v: float,
    rho: float,
    h0: float,
    yf: float,
    yb: float,
) -> None:
    """Write the face flux and the face state of duct end e; mdot [kg/s] and v count out of the duct."""
    i = index[e, E_CELL]
    side = index[e, E_SIDE]
    f = i + 1 if side > 0 else i
    F[MASS, f] = side * mdot
    F[MOM, f] = mdot * v + p * table[e, E_AREA]
    F[ENE, f] = side * mdot * h0
    F[FUEL, f] = side * mdot * yf
    F[BURN, f] = side * mdot * yb
    table[e, E_P] = p
    table[e, E_U] = side * v
    table[e, E_RHO] = rho
    table[e, E_YF] = yf
    table[e, E_YB] = yb
    table[e, E_MDOT] = mdot
    table[e, E_HDOT] = mdot * h0


@kernel
def node_facing(
    kind: Ints, nodes: Floats, k: int, ax: float, ay: float, az: float, v_duct: float
) -> tuple[float, float]:
    """Pressure and temperature with which node k faces an end of axis (ax, ay, az).

    Where the node's own stream w runs towards the end: its stagnation temperature, and the stagnation pressure that
    is left when a jet of speed w mixes to v_duct < w, the speed of the gas that enters the duct there (of the last
    step). The momentum balance p + rho v w = p_2 + rho v^2 leaves w^2/2 - (w - v)^2/2 of the kinetic energy.
    """
    p, T = nodes[k, N_P], nodes[k, N_T]
    if kind[k] != JUNCTION:
        return p, T
    w = -(nodes[k, N_MX] * ax + nodes[k, N_MY] * ay + nodes[k, N_MZ] * az) / nodes[k, N_MASS]
    if w <= 0.0:
        return p, T
    cp, R = nodes[k, N_CP], nodes[k, N_R]
    lost = min(max(w - v_duct, 0.0), w)
    kept = 1.0 + 0.5 * (w * w - lost * lost) / (cp * T)
    return p * kept ** (cp / R), T + 0.5 * w * w / cp


@kernel
def end_fluxes(
    index: Ints,
    table: Floats,
    kind: Ints,
    nodes: Floats,
    mix: Mixing,
    aux: Floats,
    left: Floats,
    right: Floats,
    F: Floats,
) -> int:
    """Solve every duct end that faces a node or a wall; add what enters each node to its sums.

    Returns the number of iterations spent.
    """
    spent = 0
    for e in range(index.shape[0]):
        k = index[e, E_NODE]
        if k == JOINED:
            continue
        rho, v, p, yf, yb = arriving(index, e, left, right)
        gamma = aux[GAM, index[e, E_CELL]]
        if k < 0:  # closed: the simple wave that stops the gas
            _, g1, x = stopping_wave(v, rho, p, gamma)
            rho_ratio = x ** (1.0 / g1)
            p_wall, rho_wall = p * x * x * rho_ratio, rho * rho_ratio  # x^(gamma/g1) = x^2 x^(1/g1)
            set_end_flux(index, table, e, F, 0.0, p_wall, 0.0, rho_wall, 0.0, yf, yb)
            continue
        ax, ay, az = table[e, E_AX], table[e, E_AY], table[e, E_AZ]
        p_node, T_node = node_facing(kind, nodes, k, ax, ay, az, -index[e, E_SIDE] * table[e, E_U])
        flux, p_face, v_face, rho_face, count = end_state(
            v,
            rho,
            p,
            gamma,
            p_node,
            T_node,
            nodes[k, N_R],
            nodes[k, N_CP],
            table[e, E_RATIO_OUT],
            table[e, E_RATIO_IN],
            table[e, E_P],
        )
        spent += count
        outward = flux >= 0.0
        if outward:
            h0 = total_enthalpy(rho_face, v_face, p_face, yf, yb, mix)
        else:
            h0 = nodes[k, N_H]
            yf = nodes[k, N_YF]
            yb = nodes[k, N_YB]
        mdot = flux * table[e, E_AREA]
        set_end_flux(index, table, e, F, mdot, p_face, v_face, rho_face, h0, yf, yb)
        nodes[k, Q_MASS] += mdot
        nodes[k, Q_ENE] += mdot * h0
        nodes[k, Q_FUEL] += mdot * yf
        nodes[k, Q_BURN] += mdot * yb
        if kind[k] == JUNCTION:
            if outward:  # a jet along the axis of the duct
                nodes[k, Q_MX] += mdot * v_face * ax
                nodes[k, Q_MY] += mdot * v_face * ay
                nodes[k, Q_MZ] += mdot * v_face * az
            else:  # the node's own momentum goes with the gas
                share = mdot / nodes[k, N_MASS]
                nodes[k, Q_MX] += share * nodes[k, N_MX]
                nodes[k, Q_MY] += share * nodes[k, N_MY]
                nodes[k, Q_MZ] += share * nodes[k, N_MZ]
    return spent
