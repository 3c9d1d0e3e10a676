"""The duct sweep: one second-order step of the quasi-1-D Euler equations with three species.

Model: finite volumes, MUSCL-Hancock with van Leer's limiter on primitive variables, HLLC fluxes with
Einfeldt's wave speeds (Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd ed.,
sections 10.4 to 10.6 and 14.4). Gas: ideal mixture of air, fuel vapour and burned gas with
cv_k = a_k + b_k T, so that temperature follows from energy in closed form. Ducts count sensible
energy e = a T + b T^2 / 2.

Well balanced: primitives are reconstructed (never area-weighted ones), the area source uses the
half-step pressure with the same face areas as the flux; a gas at rest in a cone stays at rest.

Limits: one-dimensional, inviscid inside the cell (walls: see walls.py), frozen composition. A sharp
contact between gases of different ratio of heats makes a small pressure blip, as in every conservative
scheme of this kind (3 % for burned gas at 1200 K against air at 300 K, for a few steps).

Axes: v = variable, i = cell, f = face (rows.py). Every loop runs over all ducts at once; ghost cells
carry 1/dx = 0 and so do not move. Loops are free of branches so that they vectorise.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from spoolwright.flow.mixture import Mixing, mixture
from spoolwright.flow.rows import (
    BURN,
    DRIFT,
    ENE,
    FUEL,
    G_A_INVERSE,
    G_DA,
    G_RDX,
    G_WIDENING,
    GAM,
    KEPT,
    MASS,
    MOM,
    N_VAR,
    P_HALF,
    PRE,
    RATE,
    RHO,
    TEM,
    VEL,
    YB,
    YF,
)
from spoolwright.kernel import kernel

Floats = NDArray[np.float64]

KEEP = 0.8  # a half step may take at most this share of a density or pressure, else the cell is flat


@kernel
def primitives(U: Floats, geometry: Floats, mix: Mixing, W: Floats, aux: Floats) -> float:
    """Fill W[v, i] and aux (temperature, ratio of heats, signal rate) from U[v, i].

    Returns the largest signal rate (|u| + c) / dx [1/s]; the stable step is the Courant number over it.
    """
    n = U.shape[1]
    for i in range(n):
        v = 1.0 / U[MASS, i]
        rho = U[MASS, i] * geometry[G_A_INVERSE, i]
        u = U[MOM, i] * v
        yf = U[FUEL, i] * v
        yb = U[BURN, i] * v
        e = U[ENE, i] * v - 0.5 * u * u
        R, a, b = mixture(mix, yf, yb)
        cv = sqrt(a * a + 2.0 * b * e)  # a + b T, since e = a T + b T^2 / 2
        q = 1.0 / (cv * (a + cv))
        T = 2.0 * e * cv * q
        gamma = 1.0 + R * (a + cv) * q
        W[RHO, i] = rho
        W[VEL, i] = u
        W[PRE, i] = rho * R * T
        W[YF, i] = yf
        W[YB, i] = yb
        aux[TEM, i] = T
        aux[GAM, i] = gamma
        aux[RATE, i] = (abs(u) + sqrt(gamma * R * T)) * geometry[G_RDX, i]
    return largest(aux[RATE])


@kernel
def largest(x: Floats) -> float:
    """Largest entry of x (i,), positive numbers; four running maxima, since one alone waits on itself."""
    n = x.shape[0]
    s0 = s1 = s2 = s3 = 0.0
    whole = n - n % 4
    for i in range(0, whole, 4):
        s0 = max(s0, x[i])
        s1 = max(s1, x[i + 1])
        s2 = max(s2, x[i + 2])
        s3 = max(s3, x[i + 3])
    for i in range(whole, n):
        s0 = max(s0, x[i])
    return max(max(s0, s1), max(s2, s3))


@kernel
def slopes(W: Floats, left: Floats) -> None:
    """Limited differences of W across each cell, written into ``left`` (van Leer's harmonic mean)."""
    n = W.shape[1]
    for v in range(N_VAR):
        for i in range(1, n - 1):
            back = W[v, i] - W[v, i - 1]
            ahead = W[v, i + 1] - W[v, i]
            product = back * ahead
            left[v, i] = 2.0 * product / (back + ahead) if product > 0.0 else 0.0


@kernel
def half_step(W: Floats, aux: Floats, geometry: Floats, dt: float, left: Floats, right: Floats, mid: Floats) -> None:
    """Advance the face states of every cell by half a step (Hancock's predictor).

    On entry ``left`` holds the slopes; on return ``left`` and ``right`` [v, i] hold the primitive states
    at the left and right face of cell i, and mid[P_HALF] the pressure at mid-step that drives the area
    source. Where a face would lose more than four fifths of density or pressure the cell is taken flat.

    Slopes come in a loop before and species in a loop after: one loop over all rows needs more checks
    against overlapping arrays than the compiler is willing to make before it vectorises (limit 128).
    """
    n = W.shape[1]
    for i in range(1, n - 1):
        h = 0.5 * dt * geometry[G_RDX, i]
        rho = W[RHO, i]
        u = W[VEL, i]
        p = W[PRE, i]
        d_rho = left[RHO, i]
        d_u = left[VEL, i]
        d_p = left[PRE, i]
        spread = d_u + u * geometry[G_WIDENING, i]  # divergence of u times dx, area change included
        move_rho = h * (u * d_rho + rho * spread)
        move_p = h * (u * d_p + aux[GAM, i] * p * spread)
        kept = 1.0 if abs(move_rho) + 0.5 * abs(d_rho) < KEEP * rho else 0.0
        kept = kept if abs(move_p) + 0.5 * abs(d_p) < KEEP * p else 0.0
        half = 0.5 * kept
        mid[DRIFT, i] = kept * h * u
        mid[KEPT, i] = half
        u -= kept * h * (u * d_u + d_p / rho)
        rho -= kept * move_rho
        p -= kept * move_p
        left[RHO, i] = rho - half * d_rho
        right[RHO, i] = rho + half * d_rho
        left[VEL, i] = u - half * d_u
        right[VEL, i] = u + half * d_u
        left[PRE, i] = p - half * d_p
        right[PRE, i] = p + half * d_p
        mid[P_HALF, i] = p
    for v in (YF, YB):
        for i in range(1, n - 1):
            d = left[v, i]
            y = W[v, i] - mid[DRIFT, i] * d
            left[v, i] = y - mid[KEPT, i] * d
            right[v, i] = y + mid[KEPT, i] * d


@kernel
def fluxes(left: Floats, right: Floats, A_face: Floats, mix: Mixing, F: Floats) -> None:
    """HLLC flux times face area, F[v, f], for all inner faces 1 .. N-1 (ends are overwritten later).

    Einfeldt's speeds from Roe averages; F = F_K + S_K (U*_K - U_K) on the side K of the contact
    (Toro, eq. 10.26 and 10.38). Species ride on the mass flux from the side of the contact they come
    from, so mass fractions stay within 0..1 and sum exactly.
    """
    n = left.shape[1]
    for f in range(1, n):
        rho_l = right[RHO, f - 1]
        u_l = right[VEL, f - 1]
        p_l = right[PRE, f - 1]
        yf_l = right[YF, f - 1]
        yb_l = right[YB, f - 1]
        rho_r = left[RHO, f]
        u_r = left[VEL, f]
        p_r = left[PRE, f]
        yf_r = left[YF, f]
        yb_r = left[YB, f]

        R_l, a_l, b_l = mixture(mix, yf_l, yb_l)
        R_r, a_r, b_r = mixture(mix, yf_r, yb_r)
        # T = p / (rho R) and c^2 = (1 + R / cv) R T of both sides with one division each
        q_l = rho_l * R_l
        q_r = rho_r * R_r
        q = 1.0 / (q_l * q_r)
        T_l = p_l * q_r * q
        T_r = p_r * q_l * q
        cv_l = a_l + b_l * T_l
        cv_r = a_r + b_r * T_r
        q = 1.0 / (cv_l * cv_r)
        cc_l = (1.0 + R_l * cv_r * q) * R_l * T_l
        cc_r = (1.0 + R_r * cv_l * q) * R_r * T_r
        E_l = rho_l * (T_l * (a_l + 0.5 * b_l * T_l) + 0.5 * u_l * u_l)
        E_r = rho_r * (T_r * (a_r + 0.5 * b_r * T_r) + 0.5 * u_r * u_r)

        # Roe's weights sqrt(rho_l) : sqrt(rho_r) with one root
        g = sqrt(rho_l * rho_r)
        q = 1.0 / (rho_l + rho_r + 2.0 * g)
        w_l = (rho_l + g) * q
        w_r = (rho_r + g) * q
        jump = u_r - u_l
        u_roe = w_l * u_l + w_r * u_r
        c_roe = sqrt(w_l * cc_l + w_r * cc_r + 0.5 * g * q * jump * jump)
        S_l = min(u_l - sqrt(cc_l), u_roe - c_roe)
        S_r = max(u_r + sqrt(cc_r), u_roe + c_roe)
        m_l = rho_l * (S_l - u_l)
        m_r = rho_r * (S_r - u_r)
        S_c = (p_r - p_l + m_l * u_l - m_r * u_r) / (m_l - m_r)

        from_left = S_c >= 0.0
        rho = rho_l if from_left else rho_r
        u = u_l if from_left else u_r
        p = p_l if from_left else p_r
        E = E_l if from_left else E_r
        S = S_l if from_left else S_r
        reach = min(S_l, 0.0) if from_left else max(S_r, 0.0)  # zero when the whole fan passes the face
        q = 1.0 / ((S - S_c) * (S - u))
        k = (S - u) * (S - u) * q
        push = p * (S - S_c) * q
        m = rho * u
        A = A_face[f]
        mass = (m + reach * rho * (k - 1.0)) * A
        F[MASS, f] = mass
        F[MOM, f] = (m * u + p + reach * (rho * k * S_c - m)) * A
        F[ENE, f] = (u * (E + p) + reach * (k * (E + (S_c - u) * (rho * S_c + push)) - E)) * A
        F[FUEL, f] = mass * (yf_l if from_left else yf_r)
        F[BURN, f] = mass * (yb_l if from_left else yb_r)


@kernel
def update(U: Floats, F: Floats, mid: Floats, geometry: Floats, dt: float) -> None:
    """Add the flux differences and the area source to U[v, i]."""
    n = U.shape[1]
    for i in range(1, n - 1):
        U[MOM, i] += dt * geometry[G_RDX, i] * mid[P_HALF, i] * geometry[G_DA, i]
    for v in range(N_VAR):
        for i in range(1, n - 1):
            U[v, i] -= dt * geometry[G_RDX, i] * (F[v, i + 1] - F[v, i])
