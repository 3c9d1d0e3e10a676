"""The compressor's map as the surge limiter of a steady point has it: head falls with flow everywhere.

Left of the peak the limiter lets the head rise by its small share to zero flow, where the true curve falls. The flow at
a pressure then rises with speed everywhere, so speed from flow and pressure is one bracketed root, on the surge
side too; with the true curve a compressor left of its peak would be given more speed the less it flows.
"""

from __future__ import annotations

from math import exp, log

from spoolwright.boost.compressor import head_coefficient, line_at, wheel_at, work_coefficient
from spoolwright.boost.compressor_roots import FOUND, OMEGA_LEAST, TOO_HIGH, TOO_LOW
from spoolwright.boost.rows import K_LIMITER, Floats
from spoolwright.kernel import kernel

Z_LEAST = 0.05  # least temperature ratio of the ideal step, as in the map itself


@kernel
def limited_head(
    sizes: Floats, lines: Floats, omega: float, mdot: float, p1: float, T1: float, R: float, cp: float
) -> tuple[float, float]:
    """Outlet pressure [Pa] at which the limited map passes mdot >= 0 [kg/s], and the work dh0 [J/kg]."""
    wheel = wheel_at(sizes, omega, p1, T1, R, cp)
    line = line_at(sizes, lines, wheel.M)
    phi = mdot / wheel.flow
    if phi >= line.phi_peak:
        psi, _ = head_coefficient(sizes, line, phi)
    else:
        psi = line.psi_peak * (1.0 + sizes[K_LIMITER] * (1.0 - phi / line.phi_peak))
    work = work_coefficient(sizes, lines, wheel.M, line, phi) * wheel.U * wheel.U
    return p1 * exp(cp / R * log(max(1.0 + psi * wheel.head, Z_LEAST))), work


@kernel
def limited_speed(
    sizes: Floats,
    lines: Floats,
    mdot: float,
    p1: float,
    T1: float,
    R: float,
    cp: float,
    p2: float,
    omega_most: float,
) -> tuple[float, int]:
    """Shaft speed [rad/s] at which mdot leaves at p2, and FOUND; else the nearer bound with TOO_LOW or TOO_HIGH."""
    low, high = OMEGA_LEAST, omega_most
    f_low = limited_head(sizes, lines, low, mdot, p1, T1, R, cp)[0] / p2 - 1.0
    if f_low >= 0.0:
        return low, TOO_LOW
    f_high = limited_head(sizes, lines, high, mdot, p1, T1, R, cp)[0] / p2 - 1.0
    if f_high <= 0.0:
        return high, TOO_HIGH
    for _ in range(80):
        if high - low <= 1e-10 * high:
            break
        edge = 0.05 * (high - low)  # a secant that creeps along one end is pushed inwards
        tried = min(max(low - f_low * (high - low) / (f_high - f_low), low + edge), high - edge)
        f = limited_head(sizes, lines, tried, mdot, p1, T1, R, cp)[0] / p2 - 1.0
        if f < 0.0:
            low, f_low = tried, f
        else:
            high, f_high = tried, f
    return 0.5 * (low + high), FOUND
