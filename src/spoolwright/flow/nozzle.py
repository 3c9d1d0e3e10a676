"""Quasi-steady isentropic nozzle, and the state at a duct end that faces one.

Orifice and valve flow: Heywood, Internal Combustion Engine Fundamentals, appendix C (eq. C-8, C-9).
Duct end: the gas between the last cell and the end passes a simple wave (homentropic characteristic,
Winterbone & Pearson, Theory of Engine Manifold Design, ch. 2 and 3), the flow through the end is that
of the nozzle. One relation serves open end, valve, throttle, plenum and closed end:
    x = (p*/p)^((g-1)/2g),  v* = v - 2c/(g-1) (x - 1),  rho* v* = ratio * nozzle mass flux.
Velocities here count towards the node. ``ratio`` is the effective (discharge coefficient included)
nozzle area over the duct area, 0 .. 1.

Limits: the wave is taken isentropic also when it compresses (a shock is then formed by the cells, not by
the end), but for a shock that runs up a supersonic outflow of an open end; the face never passes Mach 1 on
inflow, so a choked valve cannot start a supersonic branch.
"""

from __future__ import annotations

from math import sqrt

from spoolwright.kernel import kernel

EndState = tuple[float, float, float, float, int]

SHUT = 1e-6  # area ratio below which an end is a wall
OPEN = 0.999  # area ratio from which the outflow leaves at the node's pressure
SMALL_DROP = 1e-3  # relative pressure drop below which an orifice between volumes is linear
X_LEAST = 0.05  # a wave that leaves less than x = 0.05 is a vacuum
X_TOLERANCE = 1e-10
MAX_ITERATIONS = 40
T_LEAST = 0.2  # static temperature of an inflow is not followed below this share of the node's


@kernel
def critical_ratio(gamma: float) -> float:
    """Throat pressure over stagnation pressure at choking [-] (Heywood, eq. C-10)."""
    return (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))


@kernel
def nozzle_flux(p0: float, T0: float, R: float, cp: float, p: float) -> float:
    """Isentropic mass flux through the throat [kg/(s m2)] from stagnation p0 [Pa], T0 [K] to p <= p0 [Pa].

    Heywood, eq. C-8 (subcritical) and C-9 (choked). Zero for p >= p0.
    """
    if p >= p0:
        return 0.0
    gamma = cp / (cp - R)
    ratio = max(p / p0, critical_ratio(gamma))
    y = ratio ** ((gamma - 1.0) / gamma)
    return p0 / sqrt(R * T0) * ratio / y * sqrt(max(2.0 * gamma / (gamma - 1.0) * (1.0 - y), 0.0))


@kernel
def orifice_flux(p0: float, T0: float, R: float, cp: float, p: float) -> float:
    """nozzle_flux with its last 0.1 % of pressure made linear.

    The slope of the exact law is infinite at equal pressures; between two small volumes that makes the
    flow chatter from step to step. Above 0.1 % of pressure drop the law is the exact one.
    """
    drop = 1.0 - p / p0
    if drop >= SMALL_DROP:
        return nozzle_flux(p0, T0, R, cp, p)
    return max(drop, 0.0) / SMALL_DROP * nozzle_flux(p0, T0, R, cp, (1.0 - SMALL_DROP) * p0)


@kernel
def stopping_wave(v: float, rho: float, p: float, gamma: float) -> tuple[float, float, float]:
    """Sound speed c [m/s], (gamma - 1)/2 and x of the simple wave that stops a gas of velocity v."""
    c = sqrt(gamma * p / rho)
    g1 = 0.5 * (gamma - 1.0)
    return c, g1, max(1.0 + v * g1 / c, X_LEAST)


@kernel
def end_state(
    v: float,
    rho: float,
    p: float,
    gamma: float,
    p_node: float,
    T_node: float,
    R_node: float,
    cp_node: float,
    ratio_out: float,
    ratio_in: float,
    p_guess: float,
) -> EndState:
    """State at a duct end that faces a node through a nozzle.

    v, rho, p, gamma : state of the gas that arrives at the end, v [m/s] towards the node
    p_node, T_node, R_node, cp_node : state of the gas in the node (at rest)
    ratio_out, ratio_in : effective area ratio for flow out of and into the duct, 0 .. 1
    p_guess : face pressure of the last step [Pa]

    Returns (mass flux per duct area towards the node, p*, v*, rho*, iterations).
    """
    c, g1, x_wall = stopping_wave(v, rho, p, gamma)
    rho_wall = rho * x_wall ** (1.0 / g1)
    p_wall = p * x_wall * x_wall * rho_wall / rho  # x^(gamma/g1) = x^2 x^(1/g1)
    outward = p_wall >= p_node
    ratio = ratio_out if outward else ratio_in
    if ratio < SHUT or abs(p_wall - p_node) <= 1e-13 * p_node:
        return 0.0, p_wall, 0.0, rho_wall, 0
    if outward:
        return _outflow(v, rho, p, c, g1, p_node, min(ratio, 1.0), x_wall, p_guess)
    return _inflow(v, rho, p, c, g1, p_node, T_node, R_node, cp_node, min(ratio, 1.0), p_wall, x_wall, p_guess)


@kernel
def _outflow(
    v: float,
    rho: float,
    p: float,
    c: float,
    g1: float,
    p_node: float,
    ratio: float,
    x_wall: float,
    p_guess: float,
) -> EndState:
    """Out of the duct: stagnation state of the face drives the nozzle, which dumps at the node's pressure."""
    gamma = 1.0 + 2.0 * g1
    if v >= c and ratio > OPEN:
        return _supersonic_outflow(v, rho, p, c, gamma, p_node)
    x_node = (p_node / p) ** (g1 / gamma)
    x_sonic = (g1 * v / c + 1.0) / (g1 + 1.0)
    low = max(x_node, x_sonic)
    high = x_wall
    if ratio > OPEN:
        x = min(low, high)
        v_face = v - c / g1 * (x - 1.0)
        rho_face = rho * x ** (1.0 / g1)
        return rho_face * v_face, p * x * x * rho_face / rho, v_face, rho_face, 0
    iterations = 0
    if high > low:
        rho_throat_open = x_node ** (1.0 / g1)
        x = (p_guess / p) ** (g1 / gamma)
        if not (low < x < high):
            x = 0.5 * (low + high)
        for k in range(MAX_ITERATIONS):
            iterations = k + 1
            v_face = v - c / g1 * (x - 1.0)
            xr = x ** (1.0 / g1)
            c0_2 = c * c * x * x + g1 * v_face * v_face  # stagnation sound speed squared
            d_c0_2 = 2.0 * c * (c * x - v_face)
            c_throat = c * x_node
            if c0_2 > (1.0 + g1) * c_throat * c_throat:  # choked throat
                c_throat = sqrt(c0_2 / (1.0 + g1))
                flux = (c_throat / c) ** (1.0 / g1) * c_throat
                d_flux = flux * (1.0 / g1 + 1.0) * 0.5 * d_c0_2 / c0_2
            else:
                u_throat = sqrt(max((c0_2 - c_throat * c_throat) / g1, 1e-12))
                flux = rho_throat_open * u_throat
                d_flux = rho_throat_open * 0.5 * d_c0_2 / (g1 * u_throat)
            excess = xr * v_face - ratio * flux
            if excess > 0.0:
                low = x
            else:
                high = x
            slope = xr * (v_face / (g1 * x) - c / g1) - ratio * d_flux
            x_new = x - excess / slope
            if abs(x_new - x) < X_TOLERANCE:  # before the bracket: a converged step may touch its edge
                x = min(max(x_new, low), high)
                break
            x = x_new if low < x_new < high else 0.5 * (low + high)
    else:
        x = high
    v_face = v - c / g1 * (x - 1.0)
    rho_face = rho * x ** (1.0 / g1)
    return rho_face * v_face, p * x * x * rho_face / rho, v_face, rho_face, iterations


@kernel
def _supersonic_outflow(v: float, rho: float, p: float, c: float, gamma: float, p_node: float) -> EndState:
    """Supersonic gas at an open end: it leaves as it comes, unless the node can send a shock back up the duct.

    The node can where its pressure exceeds that behind a normal shock standing in the end; the face then lies behind
    the moving shock, at the node's pressure (Rankine-Hugoniot; Toro, Riemann Solvers, section 3.1).
    """
    q = p_node / p
    if q <= 1.0 + 2.0 * gamma / (gamma + 1.0) * (v * v / (c * c) - 1.0):
        return rho * v, p, v, rho, 0
    k = (gamma - 1.0) / (gamma + 1.0)
    v_face = max(v - (p_node - p) * sqrt(2.0 / ((gamma + 1.0) * rho * (p_node + k * p))), 0.0)
    rho_face = rho * (q + k) / (k * q + 1.0)
    return rho_face * v_face, p_node, v_face, rho_face, 0


@kernel
def _inflow(
    v: float,
    rho: float,
    p: float,
    c: float,
    g1: float,
    p_node: float,
    T_node: float,
    R_node: float,
    cp_node: float,
    ratio: float,
    p_wall: float,
    x_wall: float,
    p_guess: float,
) -> EndState:
    """Into the duct: the node's stagnation state drives the nozzle; static pressure spreads over the face."""
    gamma = 1.0 + 2.0 * g1
    gamma_n = cp_node / (cp_node - R_node)
    low = x_wall
    high = (p_node / p) ** (g1 / gamma)
    critical = critical_ratio(gamma_n)
    p_sonic = ratio * critical * p_node  # face pressure when the face itself is sonic
    if p_sonic > p_wall:
        x_sonic = (p_sonic / p) ** (g1 / gamma)
        w = c / g1 * (x_sonic - 1.0) - v
        T_sonic = T_node * 2.0 / (gamma_n + 1.0)
        c_sonic = sqrt(gamma_n * R_node * T_sonic)
        if w >= c_sonic:
            rho_sonic = p_sonic / (R_node * T_sonic)
            return -rho_sonic * c_sonic, p_sonic, -c_sonic, rho_sonic, 0
        low = x_sonic
    x = (p_guess / p) ** (g1 / gamma)
    if not (low < x < high):
        x = 0.5 * (low + high)
    k1 = (gamma_n - 1.0) / gamma_n
    full = p_node * sqrt(2.0 / (k1 * R_node * T_node))
    iterations = 0
    for k in range(MAX_ITERATIONS):
        iterations = k + 1
        p_face = p * x ** (gamma / g1)
        w = c / g1 * (x - 1.0) - v
        T_face = max(T_node - 0.5 * w * w / cp_node, T_LEAST * T_node)
        rho_face = p_face / (R_node * T_face)
        pr = max(p_face / p_node, critical)
        y = pr**k1
        flux = full * pr / y * sqrt(max(1.0 - y, 1e-16))
        d_flux = 0.0
        if pr > critical:
            d_flux = full * full / (2.0 * flux) * pr / (y * y) * (2.0 / gamma_n - (1.0 + 1.0 / gamma_n) * y)
        excess = rho_face * w - ratio * flux
        if excess > 0.0:
            high = x
        else:
            low = x
        d_p = p_face * gamma / (g1 * x)
        slope = rho_face * c / g1 + w * rho_face * (gamma / (g1 * x) + w * c / (g1 * cp_node * T_face))
        x_new = x - excess / (slope - ratio * d_flux * d_p / p_node)
        if abs(x_new - x) < X_TOLERANCE:  # before the bracket: a converged step may touch its edge
            x = min(max(x_new, low), high)
            break
        x = x_new if low < x_new < high else 0.5 * (low + high)
    p_face = p * x ** (gamma / g1)
    w = c / g1 * (x - 1.0) - v
    T_face = max(T_node - 0.5 * w * w / cp_node, T_LEAST * T_node)
    rho_face = p_face / (R_node * T_face)
    return -rho_face * w, p_face, -w, rho_face, iterations
