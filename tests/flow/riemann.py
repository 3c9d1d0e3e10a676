"""Exact solution of the Riemann problem of an ideal gas (Toro, chapter 4), for the tests.

Written apart from the solver under test: star pressure by root finding, then sampling.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq


def star(left, right, g):
    """Pressure and velocity between the waves; states are (rho, u, p)."""

    def jump(p, state):
        rho, _, pk = state
        c = np.sqrt(g * pk / rho)
        if p > pk:  # shock: eq. 4.6
            return (p - pk) * np.sqrt(2.0 / ((g + 1.0) * rho) / (p + (g - 1.0) / (g + 1.0) * pk))
        return 2.0 * c / (g - 1.0) * ((p / pk) ** ((g - 1.0) / (2.0 * g)) - 1.0)

    high = 100.0 * max(left[2], right[2])
    p = brentq(lambda q: jump(q, left) + jump(q, right) + right[1] - left[1], 1e-12 * high, high, rtol=1e-14)
    return p, 0.5 * (left[1] + right[1]) + 0.5 * (jump(p, right) - jump(p, left))


def _side(s, state, p, u, x, g):
    """(rho, u, p) at speed x on side s = +1 (left of the contact) or -1."""
    rho, uk, pk = state
    c = np.sqrt(g * pk / rho)
    uk, u, x = s * uk, s * u, s * x
    if p > pk:
        shock = uk - c * np.sqrt((g + 1.0) / (2.0 * g) * p / pk + (g - 1.0) / (2.0 * g))
        k = (g - 1.0) / (g + 1.0)
        if x < shock:
            return rho, s * uk, pk
        return rho * (p / pk + k) / (k * p / pk + 1.0), s * u, p
    c_star = c * (p / pk) ** ((g - 1.0) / (2.0 * g))
    if x < uk - c:
        return rho, s * uk, pk
    if x > u - c_star:
        return rho * (p / pk) ** (1.0 / g), s * u, p
    inside = 2.0 / (g + 1.0) * (c + 0.5 * (g - 1.0) * uk + x)
    c_fan = 2.0 / (g + 1.0) * (c + 0.5 * (g - 1.0) * (uk - x))
    return rho * (c_fan / c) ** (2.0 / (g - 1.0)), s * inside, pk * (c_fan / c) ** (2.0 * g / (g - 1.0))


def exact(left, right, g, speeds):
    """rho, u, p at x / t = speeds."""
    p, u = star(left, right, g)
    rows = [_side(1.0, left, p, u, x, g) if x <= u else _side(-1.0, right, p, u, x, g) for x in speeds]
    return np.array(rows).T


def exact_averages(left, right, g, n, t, fine=40):
    """Cell averages on n cells of the unit tube with the diaphragm in the middle."""
    x = (np.arange(n * fine) + 0.5) / (n * fine) - 0.5
    return exact(left, right, g, x / t).reshape(3, n, fine).mean(axis=2)
