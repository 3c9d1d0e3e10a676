"""Centrifugal compressor in dimensionless coefficients of its tip speed U = omega D/2.

    phi = m / (rho01 D^2 U),  psi = dh_is / U^2,  lambda = dh0 / U^2,  M = U / sqrt(gamma R T01)

The inlet state is the node's, so inlet temperature, altitude and filter pull need no corrected flow.
Speed line (x = (phi - phi_s) / (phi_c - phi_s)):
    falling branch   psi = psi_s (1 - x^n)                          phi_s <= phi <= phi_c
    beyond choke     psi = -psi_s (n (x - 1) + k (x - 1)^2)
    surge side       psi = psi_0 + (psi_s - psi_0) t^2 (3 - 2 t)    t = phi / phi_s, 0 <= t < 1
    reverse flow     psi = psi_0 + c psi_s t^2                      t < 0
with one slope where they meet. The cubic of the surge side is the form of Moore and Greitzer (J. Eng. Gas
Turbines Power 108, 1986). Work, not efficiency, is tabled: lambda over phi/phi_c; the efficiency
psi/lambda is a result, so nothing is divided by what passes through zero. The energy given to the gas is
|m| lambda U^2, also in reverse flow, where it heats the inlet.

Limits: quasi-steady; a wheel turned by the gas (p2 < p1) gives no power back. Below U_LEAST the tip speed
is held there: the wheel at rest is a fixed loss. Beyond the last row of the table its values hold.
"""

from __future__ import annotations

from math import exp, log, sqrt
from typing import NamedTuple

from spoolwright.boost.rows import (
    K_CHOKED,
    K_DIAMETER,
    K_LIMITER,
    K_M_STEP,
    K_REVERSE,
    K_SHUT_OFF,
    LINE_PHI_CHOKE,
    LINE_PHI_PEAK,
    LINE_PHI_SURGE,
    LINE_POWER,
    LINE_PSI_PEAK,
    LINE_WORK,
    N_LINE,
    WORK_KNOTS,
    WORK_STEP,
    Floats,
)
from spoolwright.kernel import kernel

U_LEAST = 1.0  # m/s
Z_LEAST = 0.05  # least temperature ratio of the ideal step: far beyond choke


class Line(NamedTuple):
    """Speed line at one tip Mach number."""

    phi_choke: float
    phi_peak: float
    psi_peak: float
    power: float
    phi_surge: float


class Wheel(NamedTuple):
    """Scales of a wheel at one speed and inlet state.

    U [m/s]; M [-]; flow [kg/s] of phi = 1; head, ideal, of psi = 1 over cp T01 [-].
    """

    U: float
    M: float
    flow: float
    head: float


@kernel
def wheel_at(sizes: Floats, omega: float, p1: float, T1: float, R: float, cp: float) -> Wheel:
    """Scales at shaft speed omega [rad/s] and inlet p1 [Pa], T1 [K]."""
    D = sizes[K_DIAMETER]
    U = max(0.5 * omega * D, U_LEAST)
    return Wheel(U, U / sqrt(cp / (cp - R) * R * T1), p1 / (R * T1) * D * D * U, U * U / (cp * T1))


@kernel
def _place(sizes: Floats, rows: int, M: float) -> tuple[int, float]:
    """Row below M and the share of the step to the next; the table's ends hold."""
    s = M / sizes[K_M_STEP]
    i = min(int(s), rows - 2)
    return i, min(s - i, 1.0)


@kernel
def _between(lines: Floats, i: int, w: float, c: int) -> float:
    """Cubic Hermite between rows i and i + 1 of column c."""
    a, b = lines[i, c], lines[i + 1, c]
    da, db = lines[i, c + N_LINE], lines[i + 1, c + N_LINE]
    return a + w * (da + w * (3.0 * (b - a) - 2.0 * da - db + w * (2.0 * (a - b) + da + db)))


@kernel
def line_at(sizes: Floats, lines: Floats, M: float) -> Line:
    """The speed line at tip Mach number M."""
    i, w = _place(sizes, lines.shape[0], M)
    return Line(
        _between(lines, i, w, LINE_PHI_CHOKE),
        _between(lines, i, w, LINE_PHI_PEAK),
        _between(lines, i, w, LINE_PSI_PEAK),
        _between(lines, i, w, LINE_POWER),
        _between(lines, i, w, LINE_PHI_SURGE),
    )


@kernel
def work_coefficient(sizes: Floats, lines: Floats, M: float, line: Line, phi: float) -> float:
    """lambda = dh0/U^2 at flow phi: cubic between knots, slopes from the neighbours, level beyond both ends."""
    i, w = _place(sizes, lines.shape[0], M)
    z = phi / line.phi_choke / WORK_STEP
    if z <= 0.0:
        return _between(lines, i, w, LINE_WORK)
    if z >= WORK_KNOTS - 1.0:
        return _between(lines, i, w, LINE_WORK + WORK_KNOTS - 1)
    j = int(z)
    t = z - j
    a = _between(lines, i, w, LINE_WORK + j)
    b = _between(lines, i, w, LINE_WORK + j + 1)
    da = 0.0
    db = 0.0
    if j > 0:
        da = 0.5 * (b - _between(lines, i, w, LINE_WORK + j - 1))
    if j + 2 < WORK_KNOTS:
        db = 0.5 * (_between(lines, i, w, LINE_WORK + j + 2) - a)
    return a + t * (da + t * (3.0 * (b - a) - 2.0 * da - db + t * (2.0 * (a - b) + da + db)))


@kernel
def head_coefficient(sizes: Floats, line: Line, phi: float) -> tuple[float, float]:
    """psi and d psi/d phi at flow phi; one slope where the branches meet."""
    peak, span = line.psi_peak, line.phi_choke - line.phi_peak
    if phi >= line.phi_peak:
        x = (phi - line.phi_peak) / span
        if x <= 1e-9:
            return peak, 0.0
        if x <= 1.0:
            steep = exp((line.power - 1.0) * log(x))
            return peak * (1.0 - steep * x), -peak * line.power * steep / span
        y = x - 1.0
        k = sizes[K_CHOKED]
        return -peak * y * (line.power + k * y), -peak * (line.power + 2.0 * k * y) / span
    t = phi / line.phi_peak
    shut = sizes[K_SHUT_OFF] * peak
    if t >= 0.0:
        rise = peak - shut
        return shut + rise * t * t * (3.0 - 2.0 * t), 6.0 * rise * t * (1.0 - t) / line.phi_peak
    c = sizes[K_REVERSE] * peak
    return shut + c * t * t, 2.0 * c * t / line.phi_peak


@kernel
def flow_coefficient(sizes: Floats, line: Line, psi: float) -> float:
    """phi at head psi on the falling branch and beyond choke; above the peak the surge limiter shuts the flow."""
    peak = line.psi_peak
    if psi >= peak:
        return line.phi_peak * max(0.0, 1.0 - (psi / peak - 1.0) / sizes[K_LIMITER])
    fall = 1.0 - psi / peak
    if fall <= 1.0:
        x = exp(log(fall) / line.power) if fall > 0.0 else 0.0
    else:
        n, k = line.power, sizes[K_CHOKED]
        x = 1.0 + 2.0 * (fall - 1.0) / (n + sqrt(n * n + 4.0 * k * (fall - 1.0)))
    return line.phi_peak + (line.phi_choke - line.phi_peak) * x


@kernel
def compressor_flow(
    sizes: Floats, lines: Floats, omega: float, p1: float, T1: float, R: float, cp: float, p2: float
) -> tuple[float, float, float]:
    """Flow between two volumes, by the closed inverse of the map with the surge limiter.

    sizes : float array (N_COMPRESSOR,); lines : float array (rows, N_LINE_COLUMNS)
    omega : shaft speed [rad/s]; p1 [Pa], T1 [K], R, cp [J/(kg K)] : inlet gas, total; p2 [Pa] outlet, total

    Returns (mdot [kg/s] >= 0, dh0 [J/kg] given to the gas, 1.0 on the surge side of the line else 0.0).
    """
    wheel = wheel_at(sizes, omega, p1, T1, R, cp)
    line = line_at(sizes, lines, wheel.M)
    psi = (exp(R / cp * log(p2 / p1)) - 1.0) / wheel.head
    phi = flow_coefficient(sizes, line, psi)
    surging = 1.0 if phi < max(line.phi_peak, line.phi_surge) else 0.0
    return phi * wheel.flow, work_coefficient(sizes, lines, wheel.M, line, phi) * wheel.U * wheel.U, surging


@kernel
def compressor_head(
    sizes: Floats, lines: Floats, omega: float, mdot: float, p1: float, T1: float, R: float, cp: float
) -> tuple[float, float, float]:
    """Outlet pressure a flow meets, for the flow as a momentum state; valid in reverse flow.

    Returns (p2 [Pa], dh0 [J/kg] per |mdot|, d p2 / d mdot [Pa s/kg]).
    """
    wheel = wheel_at(sizes, omega, p1, T1, R, cp)
    line = line_at(sizes, lines, wheel.M)
    phi = mdot / wheel.flow
    psi, slope = head_coefficient(sizes, line, phi)
    z = max(1.0 + psi * wheel.head, Z_LEAST)
    ratio = exp(cp / R * log(z))
    dh0 = work_coefficient(sizes, lines, wheel.M, line, phi) * wheel.U * wheel.U
    return p1 * ratio, dh0, p1 * ratio * cp / R / z * wheel.head * slope / wheel.flow


@kernel
def is_on_surge_side(
    sizes: Floats, lines: Floats, omega: float, mdot: float, p1: float, T1: float, R: float, cp: float
) -> bool:
    """Whether a flow lies left of the peak or of the measured surge line."""
    wheel = wheel_at(sizes, omega, p1, T1, R, cp)
    line = line_at(sizes, lines, wheel.M)
    return mdot < wheel.flow * max(line.phi_peak, line.phi_surge)
