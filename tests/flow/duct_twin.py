"""The duct step written a second time, in plain vectorised NumPy and straight from the textbook formulas.

Serves as an independent check of the compiled sweep and as the base of the speed comparison. One duct,
both ends closed, walls included.
"""

from __future__ import annotations

import numpy as np

from spoolwright.flow.rows import (
    BURN,
    E_P,
    E_RHO,
    E_U,
    E_YB,
    E_YF,
    ENE,
    FUEL,
    G_AREA,
    G_DA,
    G_RDX,
    MASS,
    MOM,
    N_POWERS,
    W_D,
    W_F0,
    W_HEAT,
    W_LOSS,
    W_N0,
    W_T,
    W_VISCOUS,
)


def properties(gas, yf, yb):
    ya = 1.0 - yf - yb
    return tuple(ya * x[0] + yf * x[1] + yb * x[2] for x in (gas.R, gas.a, gas.b))


def primitives(gas, U, A):
    rho, u, yf, yb = U[MASS] / A, U[MOM] / U[MASS], U[FUEL] / U[MASS], U[BURN] / U[MASS]
    R, a, b = properties(gas, yf, yb)
    e = U[ENE] / U[MASS] - 0.5 * u * u
    T = 2.0 * e / (a + np.sqrt(a * a + 2.0 * b * e))
    return np.stack([rho, u, rho * R * T, yf, yb]), T, 1.0 + R / (a + b * T)


def energy_and_sound(gas, w):
    rho, u, p, yf, yb = w
    R, a, b = properties(gas, yf, yb)
    T = p / (rho * R)
    cv = a + b * T
    return rho * (a * T + 0.5 * b * T * T + 0.5 * u * u), np.sqrt((1.0 + R / cv) * R * T)


def hllc(gas, wl, wr):
    """Flux per area between states wl and wr (5, n); Toro, section 10.4 to 10.6, Einfeldt's speeds."""
    rl, ul, pl = wl[:3]
    rr, ur, pr = wr[:3]
    El, cl = energy_and_sound(gas, wl)
    Er, cr = energy_and_sound(gas, wr)
    kl, kr = np.sqrt(rl) / (np.sqrt(rl) + np.sqrt(rr)), np.sqrt(rr) / (np.sqrt(rl) + np.sqrt(rr))
    u_roe = kl * ul + kr * ur
    c_roe = np.sqrt(kl * cl**2 + kr * cr**2 + 0.5 * kl * kr * (ur - ul) ** 2)
    Sl = np.minimum(ul - cl, u_roe - c_roe)
    Sr = np.maximum(ur + cr, u_roe + c_roe)
    Sm = (pr - pl + rl * ul * (Sl - ul) - rr * ur * (Sr - ur)) / (rl * (Sl - ul) - rr * (Sr - ur))
    out = np.empty_like(wl)
    for w, E, S, here in ((wl, El, Sl, Sm >= 0.0), (wr, Er, Sr, Sm < 0.0)):
        r, u, p, yf, yb = w
        q = np.stack([r, r * u, E])
        f = np.stack([r * u, r * u * u + p, u * (E + p)])
        star = r * (S - u) / (S - Sm) * np.stack([np.ones_like(r), Sm, E / r + (Sm - u) * (Sm + p / (r * (S - u)))])
        crossed = (Sl < 0.0) & (Sr > 0.0)
        f = np.where(crossed, f + S * (star - q), f)
        out[:3, here] = f[:, here]
        out[3, here] = (f[0] * yf)[here]
        out[4, here] = (f[0] * yb)[here]
    return out


def limited(w):
    back, ahead = np.diff(w, axis=1)[:, :-1], np.diff(w, axis=1)[:, 1:]
    product = back * ahead
    out = np.zeros_like(w)
    with np.errstate(invalid="ignore", divide="ignore"):
        out[:, 1:-1] = np.where(product > 0.0, 2.0 * product / (back + ahead), 0.0)
    return out


def wall_state(w, gamma, towards):
    """Face state where a simple wave stops the gas; towards = +1 at the stop, -1 at the start."""
    rho, u, p, yf, yb = w
    x = 1.0 + 0.5 * (gamma - 1.0) * towards * u / np.sqrt(gamma * p / rho)
    return np.array([rho * x ** (2.0 / (gamma - 1.0)), 0.0, p * x ** (2.0 * gamma / (gamma - 1.0)), yf, yb])


def step(gas, net, faces, courant):
    """One step of a closed duct: returns (U, faces, dt, heat per metre). faces: (2, 5) states of both ends."""
    A, dA, rdx = net.geometry[G_AREA], net.geometry[G_DA], net.geometry[G_RDX]
    U = net.U.copy()
    w, T, gamma = primitives(gas, U, A)
    dt = courant / np.max((np.abs(w[1]) + np.sqrt(gamma * w[2] / w[0])) * rdx)
    cells = w.copy()
    cells[:, 0] = 2.0 * faces[0] - w[:, 1]
    cells[:, -1] = 2.0 * faces[1] - w[:, -2]
    cells[3:, [0, -1]] = np.clip(cells[3:, [0, -1]], 0.0, 1.0)
    d = limited(cells)
    rho, u, p = cells[:3]
    h = 0.5 * dt * rdx
    spread = d[1] + u * dA / A
    move = np.stack(
        [
            u * d[0] + rho * spread,
            u * d[1] + d[2] / rho,
            u * d[2] + gamma * p * spread,
            u * d[3],
            u * d[4],
        ]
    )
    middle = cells - h * move
    left, right = middle - 0.5 * d, middle + 0.5 * d
    F = np.zeros((5, U.shape[1] + 1))
    F[:, 2:-2] = hllc(gas, right[:, 1:-2], left[:, 2:-1]) * net.A_face[2:-2]
    new_faces = np.stack([wall_state(left[:, 1], gamma[1], -1), wall_state(right[:, -2], gamma[-2], 1)])
    F[1, 1] = new_faces[0, 2] * net.A_face[1]
    F[1, -2] = new_faces[1, 2] * net.A_face[-2]
    U[:, 1:-1] -= dt * rdx[1:-1] * (F[:, 2:-1] - F[:, 1:-2])
    U[MOM, 1:-1] += dt * rdx[1:-1] * middle[2, 1:-1] * dA[1:-1]
    heat = walls(gas, net, U, w, T, dt)
    return U, new_faces, dt, heat


def walls(gas, net, U, w, T, dt):
    """Friction and wall heat, from the same correlations, on the state at the start of the step."""
    rho, u, _, yf, yb = w
    R, a, b = properties(gas, yf, yb)
    cp = a + b * T + R
    D, viscous = net.wall[W_D], net.wall[W_VISCOUS]
    mu = 1.458e-6 * T**1.5 / (T + 110.4)
    Re = rho * np.abs(u) * D / mu
    s = Re**0.25
    f_Re = sum(net.wall[W_F0 + k] * s ** (4 - k) for k in range(N_POWERS))
    Nu = sum(net.wall[W_N0 + k] * s ** (4 - k) for k in range(N_POWERS))
    turbulent = np.clip((Re - 2000.0) / 2000.0, 0.0, 1.0)
    f_Re = turbulent * f_Re + (1.0 - turbulent) * np.where(viscous > 0.0, 64.0, f_Re)
    drag = f_Re * mu / (rho * D * D) + np.abs(u) * net.wall[W_LOSS]
    U[MOM] /= 1.0 + dt * 0.5 * drag
    Pr = 0.70
    Nu = turbulent * Nu + (1.0 - turbulent) * 3.66
    T_recovery = T + Pr ** (1.0 / 3.0) * u * u / (2.0 * cp)
    heat = dt * Nu * (mu * cp / Pr) * np.pi * net.wall[W_HEAT] * (net.wall[W_T] - T_recovery)
    U[ENE] += heat
    return heat


def end_faces(net):
    """Face states (2, 5) of the two ends of the duct, as the network holds them."""
    return net.ends[:2][:, [E_RHO, E_U, E_P, E_YF, E_YB]].copy()
