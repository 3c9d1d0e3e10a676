"""Wall friction, bend losses and wall heat of the ducts.

Friction: Darcy factor f(Re, roughness) of Colebrook (1939), laminar 64/Re below Re 2000, straight blend up
to Re 4000 (common practice, no source for the blend). Inside the step the turbulent factor and the
Nusselt number are polynomials in Re^(1/4) fitted per cell when the mesh is built: two square roots instead
of a logarithm, so the loop vectorises; the fits are held to 0.5 % by a test.
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
    N_POWERS,
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
    W_N0,
    W_N1,
    W_N2,
    W_N3,
    W_N4,
    W_T,
    W_VISCOUS,
    YB,
    YF,
)
from spoolwright.kernel import kernel

Floats = NDArray[np.float64]

PRANDTL = 0.70
RECOVERY = PRANDTL ** (1.0 / 3.0)  # turbulent recovery factor
PI_PER_PRANDTL = pi / PRANDTL
SUTHERLAND_BETA = 1.458e-6  # kg/(s m K^0.5)
PER_BETA = 1.0 / SUTHERLAND_BETA
SUTHERLAND_S = 110.4  # K
NU_LAMINAR = 3.66  # round pipe, wall at one temperature
RE_LAMINAR, RE_TURBULENT = 2000.0, 4000.0
RE_FIT = (2.0e3, 3.0e6)  # range of the polynomial


def colebrook(Re: Floats | float, roughness: float) -> Floats:
    """Darcy friction factor [-] of turbulent pipe flow; roughness = wall roughness over diameter [-].

    Colebrook (J. Inst. Civ. Eng. 11 (1939) 133), solved by repeated substitution.
    """
    x = np.full(np.shape(Re), 8.0)  # 1 / sqrt(f)
    for _ in range(40):
        x = -2.0 * np.log10(roughness / 3.7 + 2.51 * x / Re)
    return x**-2.0


def gnielinski(Re: Floats | float, factor: Floats | float) -> Floats:
    """Turbulent Nusselt number [-] for the Darcy factor; Gnielinski (1976), eq. 8 without entrance term."""
    f8 = np.asarray(factor) / 8.0
    return f8 * (Re - 1000.0) * PRANDTL / (1.0 + 12.7 * np.sqrt(f8) * (PRANDTL ** (2.0 / 3.0) - 1.0))


def wall_polynomials(roughness: float, factor: float | None = None) -> tuple[Floats, Floats]:
    """Darcy factor and Nu / Re as coefficients (5,) of powers of t = Re^(-1/4), Re 2e3 .. 3e6.

    Least squares of the relative error at Chebyshev points in t. ``factor``: a constant Darcy factor
    instead of Colebrook's; both polynomials are then exact.
    """
    if factor is not None:
        slope = float(gnielinski(1001.0, factor))
        return np.array([factor, 0.0, 0.0, 0.0, 0.0]), np.array([slope, 0.0, 0.0, 0.0, -1000.0 * slope])
    low, high = RE_FIT[1] ** -0.25, RE_FIT[0] ** -0.25
    t = 0.5 * (low + high) + 0.5 * (high - low) * np.cos(np.pi * (np.arange(64) + 0.5) / 64)
    Re = t**-4.0
    f = colebrook(Re, roughness)
    return _least_squares(t, f), _least_squares(t, gnielinski(Re, f) / Re)


def _least_squares(t: Floats, y: Floats) -> Floats:
    powers = t[:, None] ** np.arange(N_POWERS)
    return np.asarray(np.linalg.lstsq(powers / y[:, None], np.ones(len(t)), rcond=None)[0], dtype=np.float64)


@kernel
def wall_sources(U: Floats, W: Floats, aux: Floats, wall: Floats, mix: Mixing, dt: float, q_wall: Floats) -> None:
    """Friction, bend loss and wall heat over one step, in place on U.

    Coefficients come from the primitives at the start of the step; wall[row, i] from the mesh. Friction is
    implicit, u -> u / (1 + dt k |u|), and leaves total energy alone (kinetic energy becomes heat).
    q_wall[i] [J/m] is increased by the heat the gas received per metre of duct.

    With s = Re^(1/4), f Re and Nu are polynomials in s: no power, one division for 1 / mu and one for the
    implicit step.
    """
    n = U.shape[1]
    for i in range(n):
        rho = W[RHO, i]
        u = W[VEL, i]
        T = aux[TEM, i]
        speed = abs(u)
        x = T * sqrt(T)
        q = 1.0 / (x * (T + SUTHERLAND_S))
        mu = SUTHERLAND_BETA * x * x * q
        Re = rho * speed * wall[W_D, i] * (T + SUTHERLAND_S) * (T + SUTHERLAND_S) * q * PER_BETA
        s = sqrt(sqrt(Re))
        f_Re = wall[W_F4, i] + s * (wall[W_F3, i] + s * (wall[W_F2, i] + s * (wall[W_F1, i] + s * wall[W_F0, i])))
        Nu = wall[W_N4, i] + s * (wall[W_N3, i] + s * (wall[W_N2, i] + s * (wall[W_N1, i] + s * wall[W_N0, i])))
        turbulent = min(max((Re - RE_LAMINAR) * (1.0 / (RE_TURBULENT - RE_LAMINAR)), 0.0), 1.0)
        viscous = (1.0 - turbulent) * wall[W_VISCOUS, i]
        f_Re += viscous * (64.0 - f_Re)
        Nu = NU_LAMINAR + turbulent * (Nu - NU_LAMINAR)
        # k |u| = |u| / 2 (f / D + loss per metre), times density
        drag = 0.5 * (mu * f_Re * wall[W_D_INVERSE, i] * wall[W_D_INVERSE, i] + rho * speed * wall[W_LOSS, i])
        U[MOM, i] *= rho / (rho + dt * drag)
        R, a, b = mixture(mix, W[YF, i], W[YB, i])
        cp = a + b * T + R
        # h pi D (T_wall - T_recovery), T_recovery = T + r u^2 / (2 cp)
        heat = PI_PER_PRANDTL * wall[W_HEAT, i] * Nu * mu * (cp * (wall[W_T, i] - T) - 0.5 * RECOVERY * u * u)
        U[ENE, i] += dt * heat
        q_wall[i] += dt * heat
