"""Wastegate, poppet or flap: balance of forces at the diaphragm's rod, lift, flow area.

    F = A_d ((1 - bleed) (p_open - p_a) - (p_close - p_a)) + side A_v r (p3 - p4) - F0,   rod travel = F / k
    lift = r F / k, between the seat and the stop;  r = lever arm of the valve over that of the rod
    area = n Cd a / sqrt(1 + (a / a_port)^2),  a = pi d_port lift

``side`` is +1 where exhaust pushes the valve open, -1 where it pushes it shut, 0 where it does not act. First the
curtain round the lifted valve is the narrowest area, then the port: the root hands over smoothly. A flap's mean
gap is its lift at the middle, so its curtain is the same. ``bleed`` is the share of the opening signal's gauge
pressure that a bleed or a solenoid's mean duty lets off; 1 is a hose that came off.

Transient: let the force follow with its lag, then turn it into a lift; so a shut gate keeps its distance from opening.
Limits: exhaust presses on the open valve as on the shut one (in truth less); no friction in the guide.
"""

from __future__ import annotations

from math import pi, sqrt

from spoolwright.boost.rows import (
    G_BLEED,
    G_COUNT,
    G_DIAPHRAGM,
    G_DISCHARGE,
    G_LEVER,
    G_MAX_LIFT,
    G_PORT,
    G_PRELOAD,
    G_RATE,
    G_VALVE,
    Floats,
)
from spoolwright.kernel import kernel


@kernel
def gate_force(gate: Floats, p_open: float, p_close: float, p_outside: float, p3: float, p4: float) -> float:
    """Force [N] at the rod that opens the gate, preload taken off; negative holds it shut.

    p_open, p_close : [Pa] absolute, on the two sides of the diaphragm; p3, p4 : [Pa] before and behind the valve
    """
    signal = (1.0 - gate[G_BLEED]) * (p_open - p_outside) - (p_close - p_outside)
    return gate[G_DIAPHRAGM] * signal + gate[G_VALVE] * (p3 - p4) - gate[G_PRELOAD]


@kernel
def lift_at_force(gate: Floats, force: float) -> float:
    """Lift [m] of the valve at a force [N] from ``gate_force``, between seat and stop."""
    return min(max(gate[G_LEVER] * force / gate[G_RATE], 0.0), gate[G_MAX_LIFT])


@kernel
def gate_lift(gate: Floats, p_open: float, p_close: float, p_outside: float, p3: float, p4: float) -> float:
    """Lift [m] at rest under these pressures [Pa]."""
    return lift_at_force(gate, gate_force(gate, p_open, p_close, p_outside, p3, p4))


@kernel
def gate_area(gate: Floats, lift: float) -> float:
    """Effective flow area [m2] of all gates at a lift [m]: curtain at first, port in the end."""
    curtain = pi * gate[G_PORT] * lift
    port = 0.25 * pi * gate[G_PORT] * gate[G_PORT]
    share = curtain / port
    return gate[G_COUNT] * gate[G_DISCHARGE] * curtain / sqrt(1.0 + share * share)
