"""Burned gas in the cylinder: look-up of u and R in a table of chemical equilibrium.

Model: equilibrium of N2 O2 Ar CO2 H2O CO H2 OH H O NO N above 1700 K; below, the composition of
(equivalence ratio, p, 1700 K) is kept. The table stands on equivalence ratio x ln p x T (see
``equilibrium`` for how it is made) and is cut to one equivalence ratio per cylinder and cycle; the
cut is read by bicubic (Catmull-Rom) interpolation, continuous with its first derivatives.

Limits: ln p over 0.1..400 bar, T 250..3600 K, equivalence ratio 0.5..1.8. Outside p and T the cubic
of the edge cell goes on; ``burned_inside`` tells.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoolwright.errors import OutsideRange
from spoolwright.kernel import kernel

_Weights = tuple[float, float, float, float, float, float, float, float]

OK, NO_CONVERGENCE, OUTSIDE = 0, 1, 2
MOST_PASSES = 40


class BurnedTable(NamedTuple):
    """u [J/kg] and R [J/(kg K)] in values (n_phi, n_p + 2, n_T + 2, 2), one pad node on every side.

    phi (n_phi,) nodes, unevenly spaced; ln_p0 [ln Pa], T0 [K] the first true nodes; per_ln_p, per_T
    the inverse spacings.
    """

    phi: NDArray[np.float64]
    ln_p0: float
    per_ln_p: float
    T0: float
    per_T: float
    values: NDArray[np.float64]


class BurnedSlice(NamedTuple):
    """The table at one equivalence ratio: values (n_p + 2, n_T + 2, 2)."""

    ln_p0: float
    per_ln_p: float
    T0: float
    per_T: float
    values: NDArray[np.float64]


@kernel
def phi_weights(nodes: NDArray[np.float64], phi: float) -> tuple[int, float, float, float, float]:
    """First node k and the four Lagrange weights that interpolate to ``phi`` from nodes k..k+3.

    All four lie on one side of equivalence ratio 1 (or on it), where the composition kinks.
    """
    n = nodes.size
    one = 0
    while nodes[one] < 1.0 - 1e-12:
        one += 1
    first, last = (0, one) if phi <= 1.0 else (one, n - 1)
    k = 0
    while k < n - 1 and nodes[k + 1] <= phi:
        k += 1
    k = min(max(k - 1, first), last - 3)
    x0, x1, x2, x3 = nodes[k], nodes[k + 1], nodes[k + 2], nodes[k + 3]
    w0 = (phi - x1) * (phi - x2) * (phi - x3) / ((x0 - x1) * (x0 - x2) * (x0 - x3))
    w1 = (phi - x0) * (phi - x2) * (phi - x3) / ((x1 - x0) * (x1 - x2) * (x1 - x3))
    w2 = (phi - x0) * (phi - x1) * (phi - x3) / ((x2 - x0) * (x2 - x1) * (x2 - x3))
    w3 = (phi - x0) * (phi - x1) * (phi - x2) / ((x3 - x0) * (x3 - x1) * (x3 - x2))
    return k, w0, w1, w2, w3


@kernel
def cut_into(table: BurnedTable, phi: float, out: NDArray[np.float64]) -> int:
    """Write the table at equivalence ratio ``phi`` into ``out`` (n_p + 2, n_T + 2, 2); status.

    OUTSIDE if phi lies beyond the nodes (out is then untouched).
    """
    if not (table.phi[0] <= phi <= table.phi[table.phi.size - 1]):
        return OUTSIDE
    k, w0, w1, w2, w3 = phi_weights(table.phi, phi)
    v = table.values
    for i in range(out.shape[0]):
        for j in range(out.shape[1]):
            for q in range(2):
                out[i, j, q] = (
                    w0 * v[k, i, j, q] + w1 * v[k + 1, i, j, q] + w2 * v[k + 2, i, j, q] + w3 * v[k + 3, i, j, q]
                )
    return OK


@kernel
def cut(table: BurnedTable, phi: float) -> BurnedSlice:
    """BurnedSlice at equivalence ratio ``phi``; allocates. NaN everywhere if phi is outside."""
    out = np.empty(table.values.shape[1:])
    if cut_into(table, phi, out) != OK:
        out[:] = np.nan
    return BurnedSlice(table.ln_p0, table.per_ln_p, table.T0, table.per_T, out)


def slice_at(table: BurnedTable, phi: float) -> BurnedSlice:
    """BurnedSlice at equivalence ratio ``phi``. Raises OutsideRange beyond the table's nodes."""
    low, high = float(table.phi[0]), float(table.phi[-1])
    if not low <= phi <= high:
        raise OutsideRange(
            f"equivalence ratio {phi:g} is outside the burned-gas table {low:g}..{high:g};"
            f" choose a lambda of {1 / high:.2f}..{1 / low:.2f}"
        )
    return cut(table, float(phi))


@kernel
def _weights(x: float) -> _Weights:
    """Catmull-Rom weights of four nodes and their derivatives at 0 <= x <= 1 between the middle two."""
    x2 = x * x
    x3 = x2 * x
    w0 = -0.5 * x3 + x2 - 0.5 * x
    w1 = 1.5 * x3 - 2.5 * x2 + 1.0
    w2 = -1.5 * x3 + 2.0 * x2 + 0.5 * x
    w3 = 0.5 * x3 - 0.5 * x2
    d0 = -1.5 * x2 + 2.0 * x - 0.5
    d1 = 4.5 * x2 - 5.0 * x
    d2 = -4.5 * x2 + 4.0 * x + 0.5
    d3 = 1.5 * x2 - x
    return w0, w1, w2, w3, d0, d1, d2, d3


@kernel
def _along_T(v: NDArray[np.float64], i: int, j: int, w: _Weights) -> tuple[float, float, float, float]:
    """u, R and their derivatives with respect to the cell coordinate in T, on row i of nodes in ln p."""
    w0, w1, w2, w3, d0, d1, d2, d3 = w
    u0, u1, u2, u3 = v[i, j, 0], v[i, j + 1, 0], v[i, j + 2, 0], v[i, j + 3, 0]
    R0, R1, R2, R3 = v[i, j, 1], v[i, j + 1, 1], v[i, j + 2, 1], v[i, j + 3, 1]
    return (
        w0 * u0 + w1 * u1 + w2 * u2 + w3 * u3,
        w0 * R0 + w1 * R1 + w2 * R2 + w3 * R3,
        d0 * u0 + d1 * u1 + d2 * u2 + d3 * u3,
        d0 * R0 + d1 * R1 + d2 * R2 + d3 * R3,
    )


@kernel
def burned(gas: BurnedSlice, ln_p: float, T: float) -> tuple[float, float, float, float, float, float]:
    """u, R, du/dT, dR/dT, du/dlnp, dR/dlnp at (ln_p [ln Pa], T [K]); SI per kg.

    Four rows in ln p, each four nodes in T; the pad nodes make every true cell an inner one.
    """
    v = gas.values
    x = (ln_p - gas.ln_p0) * gas.per_ln_p
    y = (T - gas.T0) * gas.per_T
    i = min(max(int(x), 0), v.shape[0] - 4)
    j = min(max(int(y), 0), v.shape[1] - 4)
    a0, a1, a2, a3, b0, b1, b2, b3 = _weights(x - i)
    w = _weights(y - j)
    u0, R0, uT0, RT0 = _along_T(v, i, j, w)
    u1, R1, uT1, RT1 = _along_T(v, i + 1, j, w)
    u2, R2, uT2, RT2 = _along_T(v, i + 2, j, w)
    u3, R3, uT3, RT3 = _along_T(v, i + 3, j, w)
    return (
        a0 * u0 + a1 * u1 + a2 * u2 + a3 * u3,
        a0 * R0 + a1 * R1 + a2 * R2 + a3 * R3,
        (a0 * uT0 + a1 * uT1 + a2 * uT2 + a3 * uT3) * gas.per_T,
        (a0 * RT0 + a1 * RT1 + a2 * RT2 + a3 * RT3) * gas.per_T,
        (b0 * u0 + b1 * u1 + b2 * u2 + b3 * u3) * gas.per_ln_p,
        (b0 * R0 + b1 * R1 + b2 * R2 + b3 * R3) * gas.per_ln_p,
    )


@kernel
def burned_inside(gas: BurnedSlice, ln_p: float, T: float) -> bool:
    """Whether (ln_p [ln Pa], T [K]) lies on the table."""
    x = (ln_p - gas.ln_p0) * gas.per_ln_p
    y = (T - gas.T0) * gas.per_T
    return 0.0 <= x <= gas.values.shape[0] - 3.0 and 0.0 <= y <= gas.values.shape[1] - 3.0


@kernel
def burned_h_cp(gas: BurnedSlice, ln_p: float, T: float) -> tuple[float, float]:
    """Enthalpy h [J/kg] and cp = (dh/dT)_p [J/(kg K)], shifting composition included."""
    u, R, u_T, R_T, _, _ = burned(gas, ln_p, T)
    return u + R * T, u_T + R + T * R_T


@kernel
def burned_cv(gas: BurnedSlice, ln_p: float, T: float) -> float:
    """Heat capacity at constant volume (du/dT)_v [J/(kg K)], shifting composition included."""
    _, R, u_T, R_T, u_p, R_p = burned(gas, ln_p, T)
    return u_T + u_p * (1.0 / T + R_T / R) / (1.0 - R_p / R)


@kernel
def burned_gamma(gas: BurnedSlice, ln_p: float, T: float) -> float:
    """Isentropic exponent (dln p / dln rho)_s, shifting composition included; a^2 = gamma R T.

    From du = -p dv with dlnv = alpha dT + beta dlnp, alpha = 1/T + R_T/R, beta = R_p/R - 1.
    """
    _, R, u_T, R_T, u_p, R_p = burned(gas, ln_p, T)
    alpha = 1.0 / T + R_T / R
    beta = R_p / R - 1.0
    dT_dlnp = -(u_p + R * T * beta) / (u_T + R * T * alpha)
    return -1.0 / (alpha * dT_dlnp + beta)


@kernel
def burned_T_from_u(gas: BurnedSlice, ln_p: float, u: float, T_start: float) -> tuple[float, int]:
    """T [K] with internal energy u [J/kg] at ln_p, started at T_start [K]; returns (T, status).

    Newton with steps of at most 500 K, kept on the table's temperatures.
    """
    T_low = gas.T0
    T_high = gas.T0 + (gas.values.shape[1] - 3) / gas.per_T
    T = min(max(T_start, T_low), T_high)
    for _ in range(MOST_PASSES):
        value, _, u_T, _, _, _ = burned(gas, ln_p, T)
        step = min(max((u - value) / u_T, -500.0), 500.0)
        T = min(max(T + step, T_low), T_high)
        if abs(step) < 1e-9 * T:
            return T, OK
    return T, NO_CONVERGENCE
