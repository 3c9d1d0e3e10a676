"""Duct joined to duct: abrupt steps in diameter, and throttles or restrictors between two ducts.

Model: the gas of the upstream duct expands without loss to the throat, leaves it as a jet and mixes in
the downstream duct (Borda-Carnot, momentum balance with the throat pressure on the whole end wall):
    p_t A_2 + m u_t = p_2 A_2 + m u_2 .
Throat = smaller duct for an enlargement; vena contracta in the smaller duct for a contraction, sized so
that the incompressible loss is that of a sharp contraction (Rennels & Hudson, Pipe Flow, 2012, ch. 10);
effective throttle area for a throttle. Enthalpy is conserved, both ducts answer by simple waves.

Limits: the throat and the faces pass at most sonic flow; when choked, mass and energy are still exact.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from spoolwright.flow.ends import arriving, set_end_flux, total_enthalpy
from spoolwright.flow.mixture import Mixing, mixture
from spoolwright.flow.nozzle import OPEN, SHUT, T_LEAST, end_state, stopping_wave
from spoolwright.flow.rows import (
    E_AREA,
    E_CELL,
    E_P,
    GAM,
    J_A,
    J_B,
    J_MDOT,
    J_P_THROAT,
    J_THROAT_AB,
    J_THROAT_BA,
)
from spoolwright.kernel import kernel

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Passage = tuple[float, float, float, float, float, float, float, float, int]

LOWEST = 0.1  # the throat pressure is not sought below this share of the downstream pressure
P_TOLERANCE = 1e-10  # of the pressure
DRIVE_TOLERANCE = 1e-6  # of the pressure difference that drives the flow; one of the two must be met
WAVE_TOLERANCE = 1e-7  # of Newton's last step, which is taken: what is left is of its square
MAX_PASSES = 30
MAX_ITERATIONS = 20


@kernel
def contraction_loss(beta: float) -> float:
    """Loss coefficient of a sharp contraction, on the velocity in the smaller duct.

    beta : small over large diameter, 0 .. 1. Rennels & Hudson (2012), ch. 10; beta = 0 gives the sharp
    flush entrance, 0.57.
    """
    jet = 1.0 + 0.622 * (1.0 - 0.215 * beta**2 - 0.785 * beta**5)
    return 0.0696 * (1.0 - beta**5) * jet * jet + (jet - 1.0) ** 2


@kernel
def contraction_coefficient(beta: float) -> float:
    """Jet area over area of the smaller duct whose mixing loss equals contraction_loss: 1 / (1 + sqrt K)."""
    return 1.0 / (1.0 + sqrt(contraction_loss(beta)))


@kernel
def _downstream(
    v: float,
    rho: float,
    p: float,
    c: float,
    g1: float,
    R: float,
    cp: float,
    T0: float,
    area: float,
    mdot: float,
    x_wall: float,
    p_guess: float,
) -> tuple[float, float, float, int]:
    """Face state of the duct that receives mdot [kg/s] of total temperature T0: (p*, w*, rho*, iterations).

    v counts towards the join, w* away from it.
    """
    gamma = 1.0 + 2.0 * g1
    low = x_wall
    x = max((p_guess / p) ** (g1 / gamma), low)
    count = 0
    for k in range(MAX_ITERATIONS):
        count = k + 1
        w = c / g1 * (x - 1.0) - v
        T = max(T0 - 0.5 * w * w / cp, T_LEAST * T0)
        p_face = p * x ** (gamma / g1)
        rho_face = p_face / (R * T)
        slope = rho_face * (c / g1 + w * (gamma / (g1 * x) + w * c / (g1 * cp * T)))
        x_new = max(x - (rho_face * w - mdot / area) / slope, low)
        moved = abs(x_new - x)
        x = x_new
        if moved < WAVE_TOLERANCE:
            break
    w = c / g1 * (x - 1.0) - v
    T = max(T0 - 0.5 * w * w / cp, T_LEAST * T0)
    p_face = p * x ** (gamma / g1)
    return p_face, w, p_face / (R * T), count


@kernel
def _pass_through(
    up: tuple[float, float, float, float],
    down: tuple[float, float, float, float],
    area_up: float,
    area_down: float,
    throat: float,
    R: float,
    p_throat: float,
    p_down: float,
) -> Passage:
    """Find throat pressure, flow and both face states.

    up, down : (rho, v, p, gamma) of the gas that arrives at the join on either side
    Returns (mdot, p_up, v_up, rho_up, p_down, w_down, rho_down, p_throat, iterations).
    """
    rho_u, v_u, p_u, gamma_u = up
    rho_d, v_d, p_d, gamma_d = down
    c_u, g1_u, x_wall_u = stopping_wave(v_u, rho_u, p_u, gamma_u)
    c_d, g1_d, x_wall_d = stopping_wave(v_d, rho_d, p_d, gamma_d)
    cp = gamma_u / (gamma_u - 1.0) * R
    ratio = min(throat / area_up, 1.0)
    high = p_u * x_wall_u ** (gamma_u / g1_u)  # no flow
    low = LOWEST * min(p_d * x_wall_d ** (gamma_d / g1_d), high)
    p_t = p_throat if low < p_throat < high else 0.5 * (p_d * x_wall_d ** (gamma_d / g1_d) + high)
    slope = -(1.0 + throat / area_down * c_d / c_u)
    enough = max(P_TOLERANCE * p_t, DRIVE_TOLERANCE * (high - p_d * x_wall_d ** (gamma_d / g1_d)))
    p_before, r_before = 0.0, 0.0
    p_up_guess = p_t
    spent = 0
    for k in range(MAX_PASSES):
        flux, p_up, v_up, rho_up, n1 = end_state(v_u, rho_u, p_u, gamma_u, p_t, 300.0, R, cp, ratio, ratio, p_up_guess)
        p_up_guess = p_up
        mdot = max(flux, 0.0) * area_up
        T0 = p_up / (rho_up * R) + 0.5 * v_up * v_up / cp
        p_down, w_down, rho_down, n2 = _downstream(
            v_d, rho_d, p_d, c_d, g1_d, R, cp, T0, area_down, mdot, x_wall_d, p_down
        )
        spent += n1 + n2
        if ratio > OPEN:
            u_t = v_up
        else:
            c_t = c_u * (p_t / p_u) ** (g1_u / gamma_u)
            c0_2 = c_u * c_u * (rho_up / rho_u) ** (2.0 * g1_u) + g1_u * v_up * v_up
            u_t = sqrt(max(c0_2 - max(c_t * c_t, c0_2 / (1.0 + g1_u)), 0.0) / g1_u)
        r = p_down - p_t - mdot * (u_t - w_down) / area_down
        if r > 0.0:
            low = max(low, p_t)
        else:
            high = min(high, p_t)
        if k > 0 and p_t != p_before:
            secant = (r - r_before) / (p_t - p_before)
            if secant < -0.5:
                slope = secant
        p_before, r_before = p_t, r
        p_new = p_t - r / slope
        if abs(p_new - p_t) < enough or high - low < P_TOLERANCE * p_t:
            break
        p_t = p_new if low < p_new < high else 0.5 * (low + high)
    return mdot, p_up, v_up, rho_up, p_down, w_down, rho_down, p_t, spent


@kernel
def join_fluxes(
    joins: Ints,
    table: Floats,
    end_index: Ints,
    ends: Floats,
    mix: Mixing,
    aux: Floats,
    left: Floats,
    right: Floats,
    F: Floats,
) -> int:
    """Solve every duct-to-duct join and write both face fluxes. Returns the number of iterations spent.

    joins, table : Joins.index and Joins.table; end_index, ends : Ends.index and Ends.table
    """
    spent = 0
    for j in range(joins.shape[0]):
        a, b = joins[j, J_A], joins[j, J_B]
        rho_a, v_a, p_a, yf_a, yb_a = arriving(end_index, a, left, right)
        rho_b, v_b, p_b, yf_b, yb_b = arriving(end_index, b, left, right)
        gamma_a = aux[GAM, end_index[a, E_CELL]]
        gamma_b = aux[GAM, end_index[b, E_CELL]]
        _, g1_a, x_a = stopping_wave(v_a, rho_a, p_a, gamma_a)
        _, g1_b, x_b = stopping_wave(v_b, rho_b, p_b, gamma_b)
        wall_a = p_a * x_a ** (gamma_a / g1_a)
        wall_b = p_b * x_b ** (gamma_b / g1_b)
        forward = wall_a >= wall_b
        throat = table[j, J_THROAT_AB] if forward else table[j, J_THROAT_BA]
        if throat < SHUT * ends[a, E_AREA] or abs(wall_a - wall_b) <= 1e-13 * wall_a:
            rho_wall_a, rho_wall_b = rho_a * x_a ** (1.0 / g1_a), rho_b * x_b ** (1.0 / g1_b)
            set_end_flux(end_index, ends, a, F, 0.0, wall_a, 0.0, rho_wall_a, 0.0, yf_a, yb_a)
            set_end_flux(end_index, ends, b, F, 0.0, wall_b, 0.0, rho_wall_b, 0.0, yf_b, yb_b)
            table[j, J_MDOT] = 0.0
            continue
        if forward:
            up, down = (rho_a, v_a, p_a, gamma_a), (rho_b, v_b, p_b, gamma_b)
            eu, ed, yf, yb = a, b, yf_a, yb_a
        else:
            up, down = (rho_b, v_b, p_b, gamma_b), (rho_a, v_a, p_a, gamma_a)
            eu, ed, yf, yb = b, a, yf_b, yb_b
        R, _, _ = mixture(mix, yf, yb)
        mdot, p_up, v_up, rho_up, p_down, w_down, rho_down, p_t, count = _pass_through(
            up, down, ends[eu, E_AREA], ends[ed, E_AREA], throat, R, table[j, J_P_THROAT], ends[ed, E_P]
        )
        spent += count
        h0 = total_enthalpy(rho_up, v_up, p_up, yf, yb, mix)
        set_end_flux(end_index, ends, eu, F, mdot, p_up, v_up, rho_up, h0, yf, yb)
        set_end_flux(end_index, ends, ed, F, -mdot, p_down, -w_down, rho_down, h0, yf, yb)
        table[j, J_P_THROAT] = p_t
        table[j, J_MDOT] = mdot if forward else -mdot
    return spent
