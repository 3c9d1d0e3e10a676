"""What must be solved for on a compressor map: the speed for a flow and pressure, the surge flow at a pressure ratio.

At every flow up to choke the pressure rises with speed (tested for fitted maps), so both are bracketed roots.
"""

from __future__ import annotations

from math import exp, log

from spoolwright.boost.compressor import compressor_head, head_coefficient, line_at, wheel_at
from spoolwright.boost.rows import Floats
from spoolwright.kernel import kernel

FOUND, TOO_LOW, TOO_HIGH = 0, -1, 1  # status: root inside; the least speed gives more; the highest gives less
OMEGA_LEAST = 500.0  # rad/s
TOLERANCE = 1e-10
MAX_ITERATIONS = 100


@kernel
def _excess(
    sizes: Floats, lines: Floats, omega: float, mdot: float, p1: float, T1: float, R: float, cp: float, p2: float
) -> float:
    return compressor_head(sizes, lines, omega, mdot, p1, T1, R, cp)[0] / p2 - 1.0


@kernel
def compressor_speed(
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
    """Shaft speed at which flow mdot [kg/s] leaves at p2 [Pa]: (omega [rad/s], status).

    Bisection with a secant try in each step. Without a root between OMEGA_LEAST and omega_most the nearer
    bound is returned with TOO_LOW or TOO_HIGH.
    """
    low, high = OMEGA_LEAST, omega_most
    f_low = _excess(sizes, lines, low, mdot, p1, T1, R, cp, p2)
    if f_low >= 0.0:
        return low, TOO_LOW
    f_high = _excess(sizes, lines, high, mdot, p1, T1, R, cp, p2)
    if f_high <= 0.0:
        return high, TOO_HIGH
    for _ in range(MAX_ITERATIONS):
        if high - low <= TOLERANCE * high:
            break
        tried = low - f_low * (high - low) / (f_high - f_low)
        edge = 0.05 * (high - low)  # a secant that creeps along one end is pushed inwards
        tried = min(max(tried, low + edge), high - edge)
        f = _excess(sizes, lines, tried, mdot, p1, T1, R, cp, p2)
        if f < 0.0:
            low, f_low = tried, f
        else:
            high, f_high = tried, f
    return 0.5 * (low + high), FOUND


@kernel
def surge_point(
    sizes: Floats, lines: Floats, omega: float, p1: float, T1: float, R: float, cp: float
) -> tuple[float, float]:
    """Point of the surge line at a shaft speed: (mdot [kg/s], p2 [Pa])."""
    wheel = wheel_at(sizes, omega, p1, T1, R, cp)
    line = line_at(sizes, lines, wheel.M)
    psi, _ = head_coefficient(sizes, line, line.phi_surge)
    return line.phi_surge * wheel.flow, p1 * exp(cp / R * log(1.0 + psi * wheel.head))


@kernel
def surge_flow(
    sizes: Floats, lines: Floats, p1: float, T1: float, R: float, cp: float, p2: float, omega_most: float
) -> tuple[float, int]:
    """Flow [kg/s] on the surge line at pressure ratio p2/p1, and the status; above the line's end its last flow."""
    low, high = OMEGA_LEAST, omega_most
    if surge_point(sizes, lines, low, p1, T1, R, cp)[1] >= p2:
        return surge_point(sizes, lines, low, p1, T1, R, cp)[0], TOO_LOW
    if surge_point(sizes, lines, high, p1, T1, R, cp)[1] <= p2:
        return surge_point(sizes, lines, high, p1, T1, R, cp)[0], TOO_HIGH
    for _ in range(MAX_ITERATIONS):
        if high - low <= 1e-7 * high:
            break
        middle = 0.5 * (low + high)
        if surge_point(sizes, lines, middle, p1, T1, R, cp)[1] < p2:
            low = middle
        else:
            high = middle
    return surge_point(sizes, lines, 0.5 * (low + high), p1, T1, R, cp)[0], FOUND


@kernel
def choke_flow(sizes: Floats, lines: Floats, omega: float, p1: float, T1: float, R: float, cp: float) -> float:
    """Flow [kg/s] at which the pressure gain vanishes at this shaft speed."""
    wheel = wheel_at(sizes, omega, p1, T1, R, cp)
    return line_at(sizes, lines, wheel.M).phi_choke * wheel.flow
