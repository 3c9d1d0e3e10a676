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
carry rdx = 0 and so do not move. Loops are free of branches so that they vectorise.
"""

from __future__ import annotations

from math import sqrt

from spoolwright.flow.rows import (
    BURN,
    ENE,
    FUEL,
    GAM,
    MASS,
    MOM,
    N_VAR,
    PRE,
    RATE,
    RHO,
    TEM,
    VEL,
    YB,
    YF,
)
from spoolwright.kernel import kernel

KEEP = 0.8  # a half step may take at most this share of a density or pressure, else the cell is flat


@kernel
def primitives(U, A_cell, rdx, gas, W, aux):
    """Fill W[v, i] and aux (temperature, ratio of heats, signal rate) from U[v, i].

    Returns the largest signal rate (|u| + c) / dx [1/s]; the stable step is the Courant number over it.
    """
    R0, dRf, dRb = gas.R[0], gas.R[1] - gas.R[0], gas.R[2] - gas.R[0]
    a0, daf, dab = gas.a[0], gas.a[1] - gas.a[0], gas.a[2] - gas.a[0]
    b0, dbf, dbb = gas.b[0], gas.b[1] - gas.b[0], gas.b[2] - gas.b[0]
    n = U.shape[1]
    for i in range(n):
        v = 1.0 / U[MASS, i]
        rho = U[MASS, i] / A_cell[i]
        u = U[MOM, i] * v
        yf = U[FUEL, i] * v
        yb = U[BURN, i] * v
        e = U[ENE, i] * v - 0.5 * u * u
        R = R0 + yf * dRf + yb * dRb
        a = a0 + yf * daf + yb * dab
        b = b0 + yf * dbf + yb * dbb
        T = 2.0 * e / (a + sqrt(a * a + 2.0 * b * e))
        gamma = 1.0 + R / (a + b * T)
        W[RHO, i] = rho
        W[VEL, i] = u
        W[PRE, i] = rho * R * T
        W[YF, i] = yf
        W[YB, i] = yb
        aux[TEM, i] = T
        aux[GAM, i] = gamma
        aux[RATE, i] = (abs(u) + sqrt(gamma * R * T)) * rdx[i]
    return largest(aux[RATE])


@kernel
def largest(x):
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
def slopes(W, left):
    """Limited differences of W across each cell, written into ``left`` (van Leer's harmonic mean)."""
    n = W.shape[1]
    for v in range(N_VAR):
        for i in range(1, n - 1):
            back = W[v, i] - W[v, i - 1]
            ahead = W[v, i + 1] - W[v, i]
            product = back * ahead
            left[v, i] = 2.0 * product / (back + ahead) if product > 0.0 else 0.0


@kernel
def half_step(W, aux, A_cell, dA, rdx, dt, left, right, p_half):
    """Advance the face states of every cell by half a step (Hancock's predictor).

    On entry ``left`` holds the slopes; on return ``left`` and ``right`` [v, i] hold the primitive states
    at the left and right face of cell i, and p_half the pressure at mid-step that drives the area source.
    Where a face would lose more than four fifths of density or pressure the cell is taken flat.
    """
    n = W.shape[1]
    for i in range(1, n - 1):
        h = 0.5 * dt * rdx[i]
        rho = W[RHO, i]
        u = W[VEL, i]
        p = W[PRE, i]
        d_rho = left[RHO, i]
        d_u = left[VEL, i]
        d_p = left[PRE, i]
        d_yf = left[YF, i]
        d_yb = left[YB, i]
        spread = d_u + u * dA[i] / A_cell[i]  # divergence of velocity times dx, area change included
        move_rho = h * (u * d_rho + rho * spread)
        move_p = h * (u * d_p + aux[GAM, i] * p * spread)
        safe = (abs(move_rho) + 0.5 * abs(d_rho) < KEEP * rho) and (abs(move_p) + 0.5 * abs(d_p) < KEEP * p)
        q = 1.0 if safe else 0.0
        rho -= q * move_rho
        p -= q * move_p
        uh = u - q * h * (u * d_u + d_p / W[RHO, i])
        yf = W[YF, i] - q * h * u * d_yf
        yb = W[YB, i] - q * h * u * d_yb
        q *= 0.5
        left[RHO, i] = rho - q * d_rho
        right[RHO, i] = rho + q * d_rho
        left[VEL, i] = uh - q * d_u
        right[VEL, i] = uh + q * d_u
        left[PRE, i] = p - q * d_p
        right[PRE, i] = p + q * d_p
        left[YF, i] = yf - q * d_yf
        right[YF, i] = yf + q * d_yf
        left[YB, i] = yb - q * d_yb
        right[YB, i] = yb + q * d_yb
        p_half[i] = p


@kernel
def fluxes(left, right, A_face, gas, F):
    """HLLC flux times face area, F[v, f], for all inner faces 1 .. N-1 (ends are overwritten later).

    Einfeldt's speeds from Roe averages; F = F_K + S_K (U*_K - U_K) on the side K of the contact
    (Toro, eq. 10.26 and 10.38). Species ride on the mass flux from the side of the contact they come
    from, so mass fractions stay within 0..1 and sum exactly.
    """
    R0, dRf, dRb = gas.R[0], gas.R[1] - gas.R[0], gas.R[2] - gas.R[0]
    a0, daf, dab = gas.a[0], gas.a[1] - gas.a[0], gas.a[2] - gas.a[0]
    b0, dbf, dbb = gas.b[0], gas.b[1] - gas.b[0], gas.b[2] - gas.b[0]
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

        R = R0 + yf_l * dRf + yb_l * dRb
        a = a0 + yf_l * daf + yb_l * dab
        b = b0 + yf_l * dbf + yb_l * dbb
        T = p_l / (rho_l * R)
        E_l = rho_l * (T * (a + 0.5 * b * T) + 0.5 * u_l * u_l)
        cc_l = (1.0 + R / (a + b * T)) * R * T
        R = R0 + yf_r * dRf + yb_r * dRb
        a = a0 + yf_r * daf + yb_r * dab
        b = b0 + yf_r * dbf + yb_r * dbb
        T = p_r / (rho_r * R)
        E_r = rho_r * (T * (a + 0.5 * b * T) + 0.5 * u_r * u_r)
        cc_r = (1.0 + R / (a + b * T)) * R * T

        w_l = sqrt(rho_l)
        w_r = sqrt(rho_r)
        share = 1.0 / (w_l + w_r)
        jump = u_r - u_l
        u_roe = (w_l * u_l + w_r * u_r) * share
        c_roe = sqrt((w_l * cc_l + w_r * cc_r) * share + 0.5 * w_l * w_r * share * share * jump * jump)
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
        k = (S - u) / (S - S_c)
        m = rho * u
        A = A_face[f]
        mass = (m + reach * rho * (k - 1.0)) * A
        F[MASS, f] = mass
        F[MOM, f] = (m * u + p + reach * (rho * k * S_c - m)) * A
        F[ENE, f] = (u * (E + p) + reach * (k * (E + (S_c - u) * (rho * S_c + p / (S - u))) - E)) * A
        F[FUEL, f] = mass * (yf_l if from_left else yf_r)
        F[BURN, f] = mass * (yb_l if from_left else yb_r)


@kernel
def update(U, F, p_half, dA, rdx, dt):
    """Add the flux differences and the area source to U[v, i]."""
    n = U.shape[1]
    for i in range(1, n - 1):
        U[MOM, i] += dt * rdx[i] * p_half[i] * dA[i]
    for v in range(N_VAR):
        for i in range(1, n - 1):
            U[v, i] -= dt * rdx[i] * (F[v, i + 1] - F[v, i])
