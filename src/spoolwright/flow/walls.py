"""Wall friction, bend losses and wall heat of the ducts.

Friction: Darcy factor f(Re, roughness) of Colebrook (1939), laminar 64/Re below Re 2000, straight blend up
to Re 4000 (common practice, no source for the blend). Inside the step the turbulent factor is a polynomial
in Re^(-1/4) fitted per cell when the mesh is built: it needs two square roots instead of a logarithm, so
the loop vectorises; the fit is held to 0.5 % by a test.
Bends and other distributed losses enter as a loss coefficient per metre.
Heat: Gnielinski (Int. Chem. Eng. 16 (1976) 359) with the same f, Nu = 3.66 when laminar, times a stated
factor for pulsating flow (per duct; 1 = steady-flow value). Driving temperature: recovery temperature
of the gas, so an insulated pipe and a wall at the adiabatic wall temperature agree.
Gas transport: Sutherland's viscosity of air (US Standard Atmosphere 1976, eq. 51) for every mixture,
Prandtl number 0.70: within a few percent for burned gas (common practice).

Limits: fully developed quasi-steady correlations; entrance lengths are not modelled.
"""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from spoolwright.flow.mixture import Mixing, mixture
from spoolwright.flow.rows import (
    ENE,
    MOM,
    N_FRICTION,
    RHO,
    TEM,
    VEL,
    W_D,
    W_D_INVERSE,
    W_F0,
    W_F1,
    W_F2,
    W_F3,
    W_F4,
    W_HEAT,
    W_LOSS,
    W_T,
    W_VISCOUS,
    YB,
    YF,
)
from spoolwright.kernel import kernel

Floats = NDArray[np.float64]

PRANDTL = 0.70
RECOVERY = PRANDTL ** (1.0 / 3.0)  # turbulent recovery factor
PR_23 = PRANDTL ** (2.0 / 3.0)
SUTHERLAND_BETA = 1.458e-6  # kg/(s m K^0.5)
SUTHERLAND_S = 110.4  # K
NU_LAMINAR = 3.66  # round pipe, wall at one temperature
RE_LAMINAR, RE_TURBULENT = 2000.0, 4000.0
RE_FIT = (2.0e3, 3.0e6)  # range of the polynomial
T_FIT = RE_FIT[0] ** -0.25
RE_LEAST = 1e-3  # keeps 64/Re finite in a gas at rest


def colebrook(Re: Floats | float, roughness: float) -> Floats:
    """Darcy friction factor [-] of turbulent pipe flow; roughness = wall roughness over diameter [-].

    Colebrook (J. Inst. Civ. Eng. 11 (1939) 133), solved by repeated substitution.
    """
    x = np.full(np.shape(Re), 8.0)  # 1 / sqrt(f)
    for _ in range(40):
        x = -2.0 * np.log10(roughness / 3.7 + 2.51 * x / Re)
    return x**-2.0


def friction_polynomial(roughness: float) -> Floats:
    """Coefficients (5,) of Colebrook's factor in powers of t = Re^(-1/4), Re 2e3 .. 3e6.

    Least squares of the relative error at Chebyshev points in t.
    """
    low, high = RE_FIT[1] ** -0.25, RE_FIT[0] ** -0.25
    t = 0.5 * (low + high) + 0.5 * (high - low) * np.cos(np.pi * (np.arange(64) + 0.5) / 64)
    factor = colebrook(t**-4.0, roughness)
    powers = t[:, None] ** np.arange(N_FRICTION)
    coefficients, *_ = np.linalg.lstsq(powers / factor[:, None], np.ones(64), rcond=None)
    return coefficients


@kernel
def wall_sources(
    U: Floats, W: Floats, aux: Floats, wall: Floats, mix: Mixing, dt: float, q_wall: Floats
) -> None:
    """Friction, bend loss and wall heat over one step, in place on U.

    Coefficients come from the primitives at the start of the step; wall[row, i] from the mesh. Friction is
    implicit, u -> u / (1 + dt k |u|), and leaves total energy alone (kinetic energy becomes heat).
    q_wall[i] [J/m] is increased by the heat the gas received per metre of duct.
    """
    n = U.shape[1]
    for i in range(n):
        u = W[VEL, i]
        T = aux[TEM, i]
        speed = abs(u)
        x = T * sqrt(T)
        q = 1.0 / (x * (T + SUTHERLAND_S))
        mu = SUTHERLAND_BETA * x * x * q
        Re = W[RHO, i] * speed * wall[W_D, i] * (T + SUTHERLAND_S) * (T + SUTHERLAND_S) * q / SUTHERLAND_BETA
        t = 1.0 / sqrt(sqrt(Re + RE_LEAST))
        s = min(t, T_FIT)
        rough = wall[W_F0, i] + s * (
            wall[W_F1, i] + s * (wall[W_F2, i] + s * (wall[W_F3, i] + s * wall[W_F4, i]))
        )
        turbulent = min(max((Re - RE_LAMINAR) * (1.0 / (RE_TURBULENT - RE_LAMINAR)), 0.0), 1.0)
        viscous = (1.0 - turbulent) * wall[W_VISCOUS, i]
        f = (1.0 - viscous) * rough + viscous * 64.0 * t * t * t * t
        rate = 0.5 * speed * (f * wall[W_D_INVERSE, i] + wall[W_LOSS, i])
        # Gnielinski; below Re 2000 the blend takes the laminar value
        f8 = 0.125 * rough
        q = 1.0 / ((1.0 + dt * rate) * (1.0 + 12.7 * (PR_23 - 1.0) * sqrt(f8)))
        Nu = turbulent * f8 * (Re - 1000.0) * PRANDTL * (1.0 + dt * rate) * q + (1.0 - turbulent) * NU_LAMINAR
        U[MOM, i] *= (1.0 + 12.7 * (PR_23 - 1.0) * sqrt(f8)) * q
        R, a, b = mixture(mix, W[YF, i], W[YB, i])
        cp = a + b * T + R
        # h pi D (T_wall - T_recovery), T_recovery = T + r u^2 / (2 cp)
        heat = pi / PRANDTL * wall[W_HEAT, i] * Nu * mu * (cp * (wall[W_T, i] - T) - 0.5 * RECOVERY * u * u)
        U[ENE, i] += dt * heat
        q_wall[i] += dt * heat
