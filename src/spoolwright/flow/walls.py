"""Wall friction, bend losses and wall heat of the ducts.

Friction: Darcy factor f(Re, roughness) of Haaland (J. Fluids Eng. 105 (1983) 89), laminar 64/Re below
Re 2000, straight blend up to Re 4000 (common practice, no source for the blend). Inside the step the
turbulent factor is a polynomial in Re^(-1/4) fitted per cell when the mesh is built: it needs two
square roots instead of a logarithm, so the loop vectorises; the fit is held to 0.5 % by a test.
Bends and other distributed losses enter as a loss coefficient per metre.
Heat: Gnielinski (Int. Chem. Eng. 16 (1976) 359) with the same f, Nu = 3.66 when laminar, times a stated
factor for pulsating flow (per duct; 1 = steady-flow value). Driving temperature: recovery temperature
of the gas, so an insulated pipe and a wall at the adiabatic wall temperature agree.
Gas transport: Sutherland's viscosity of air (US Standard Atmosphere 1976, eq. 51) for every mixture,
Prandtl number 0.70: within a few percent for burned gas (common practice).

Limits: fully developed quasi-steady correlations; entrance lengths are not modelled.
"""

from __future__ import annotations

from math import log10, sqrt

import numpy as np

from spoolwright.flow.rows import BURN, ENE, FUEL, MASS, MOM, N_FRICTION, TEM
from spoolwright.kernel import kernel

PRANDTL = 0.70
RECOVERY = PRANDTL ** (1.0 / 3.0)  # turbulent recovery factor
PR_23 = PRANDTL ** (2.0 / 3.0)
SUTHERLAND_BETA = 1.458e-6  # kg/(s m K^0.5)
SUTHERLAND_S = 110.4  # K
NU_LAMINAR = 3.66  # round pipe, wall at one temperature
RE_LAMINAR, RE_TURBULENT = 2000.0, 4000.0
RE_FIT = (3.0e3, 1.0e7)  # range of the polynomial


@kernel
def haaland(Re, roughness):
    """Darcy friction factor [-] of turbulent pipe flow; roughness = wall roughness over diameter [-]."""
    x = -1.8 * log10((roughness / 3.7) ** 1.11 + 6.9 / Re)
    return 1.0 / (x * x)


def friction_polynomial(roughness: float) -> np.ndarray:
    """Coefficients (5,) of Haaland's factor in powers of t = Re^(-1/4), Re 3e3 .. 1e7.

    Fitted to least relative error at Chebyshev points in t.
    """
    low, high = RE_FIT[1] ** -0.25, RE_FIT[0] ** -0.25
    t = 0.5 * (low + high) + 0.5 * (high - low) * np.cos(np.pi * (np.arange(64) + 0.5) / 64)
    factor = np.array([haaland(x**-4.0, roughness) for x in t])
    powers = t[:, None] ** np.arange(N_FRICTION)
    coefficients, *_ = np.linalg.lstsq(powers / factor[:, None], np.ones(64), rcond=None)
    return coefficients


@kernel
def wall_sources(U, aux, A_cell, mesh, gas, dt, q_wall):
    """Friction, bend loss and wall heat over one step, in place on U.

    Friction solves du/dt = -k u |u| exactly for the step and leaves total energy alone (kinetic energy
    becomes heat). q_wall[i] [J/m] is increased by the heat the gas received per metre of duct.
    """
    R0, dRf, dRb = gas.R[0], gas.R[1] - gas.R[0], gas.R[2] - gas.R[0]
    a0, daf, dab = gas.a[0], gas.a[1] - gas.a[0], gas.a[2] - gas.a[0]
    b0, dbf, dbb = gas.b[0], gas.b[1] - gas.b[0], gas.b[2] - gas.b[0]
    c0, c1, c2, c3, c4 = mesh.friction
    n = U.shape[1]
    for i in range(n):
        m = U[MASS, i]
        v = 1.0 / m
        u = U[MOM, i] * v
        yf = U[FUEL, i] * v
        yb = U[BURN, i] * v
        T = aux[TEM, i]
        D = mesh.D[i]
        speed = abs(u)
        mu = SUTHERLAND_BETA * T * sqrt(T) / (T + SUTHERLAND_S)
        Re = m * speed * D / (A_cell[i] * mu) + 1e-3
        t = min(1.0 / sqrt(sqrt(Re)), 0.14)
        rough = c0[i] + t * (c1[i] + t * (c2[i] + t * (c3[i] + t * c4[i])))
        turbulent = min(max((Re - RE_LAMINAR) / (RE_TURBULENT - RE_LAMINAR), 0.0), 1.0)
        f = turbulent * rough + (1.0 - turbulent) * 64.0 / Re * mesh.viscous[i]
        rate = 0.5 * speed * (f / D + mesh.loss[i])
        U[MOM, i] = m * u / (1.0 + dt * rate)
        # Gnielinski; below Re 2000 the bracket is negative and the blend takes the laminar value
        f8 = 0.125 * rough
        Nu = f8 * (Re - 1000.0) * PRANDTL / (1.0 + 12.7 * sqrt(f8) * (PR_23 - 1.0))
        Nu = turbulent * Nu + (1.0 - turbulent) * NU_LAMINAR
        cv = a0 + yf * daf + yb * dab + (b0 + yf * dbf + yb * dbb) * T
        cp = cv + R0 + yf * dRf + yb * dRb
        T_recovery = T + RECOVERY * 0.5 * u * u / cp
        h_perimeter = Nu * mu * cp / PRANDTL * np.pi * mesh.heat[i]  # h pi D, [W/(m K)]
        q = dt * h_perimeter * (mesh.T_wall[i] - T_recovery)
        U[ENE, i] += q
        q_wall[i] += q
