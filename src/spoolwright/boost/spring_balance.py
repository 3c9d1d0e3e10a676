"""The wastegate in the steady balance of ``balance``: opening that a bypass needs, force that the pressures give, and
the boost at which a spring comes to rest.

    lift needed = inverse of the gate's area (branch pipe in line);  lift given = lever (force - preload) / rate

A stiffer spring holds more boost; a gate that stands at its stop holds none: boost creeps with speed.
Limits: those of ``balance`` and of ``gate``; the gate's branch is one effective area.
"""

from __future__ import annotations

from math import inf, pi, sqrt

from spoolwright.boost.balance import (
    HELD,
    Q_PULSE_GATE,
    ROUNDS,
    SIGNAL_COMPRESSOR,
    SIGNAL_HAT,
    SIGNAL_PLENUM,
    Y_COUNT,
    Y_DEVICE,
    Y_GATE_OPEN_AIR,
    Y_GATE_PIPE,
    Y_P,
    Y_R,
    Y_SIGNAL_CLOSE,
    Y_SIGNAL_OPEN,
    State,
    balance,
    fixed_gate,
    gate_flow,
)
from spoolwright.boost.gate import gate_force
from spoolwright.boost.rows import G_COUNT, G_DISCHARGE, G_LEVER, G_MAX_LIFT, G_PORT, G_RATE, Floats
from spoolwright.kernel import kernel


@kernel
def gate_opening(gate: Floats, area: float) -> float:
    """Lift [m] at which all gates together have an effective ``area`` [m2]; inf beyond what the port ever gives."""
    port = 0.25 * pi * gate[G_PORT] * gate[G_PORT]
    share = area / (gate[G_COUNT] * gate[G_DISCHARGE] * port)
    if share <= 0.0:
        return 0.0
    if share >= 1.0:
        return inf
    return port * share / sqrt(1.0 - share * share) / (pi * gate[G_PORT])


@kernel
def behind_pipe(way: Floats, area: float) -> float:
    """Area [m2] of a gate that has ``area`` together with its branch pipe in line; inf where the pipe alone is less."""
    pipe = way[Y_GATE_PIPE]
    if pipe <= 0.0 or area <= 0.0:
        return area
    return inf if area >= pipe else area / sqrt(1.0 - (area / pipe) ** 2)


@kernel
def with_pipe(way: Floats, area: float) -> float:
    """Area [m2] of a gate of ``area`` and its branch pipe in line."""
    pipe = way[Y_GATE_PIPE]
    return area if pipe <= 0.0 or area <= 0.0 else area / sqrt(1.0 + (area / pipe) ** 2)


@kernel
def area_needed(q: Floats, way: Floats, state: State) -> float:
    """Effective area [m2] of one turbo's gates that passes the bypass of a held point, branch pipe taken off."""
    flux = q[Q_PULSE_GATE] * gate_flow(1.0, way, state.p3, state.T3, state.p4)
    if state.bypass <= 0.0:
        return 0.0
    return inf if flux <= 0.0 else behind_pipe(way, state.bypass / way[Y_COUNT] / flux)


@kernel
def signal(way: Floats, state: State, where: float) -> float:
    """Pressure [Pa] at a hose's place."""
    if where == SIGNAL_COMPRESSOR:
        return state.p_out
    if where == SIGNAL_HAT:
        return state.p2
    if where == SIGNAL_PLENUM:
        return state.p2 - way[Y_DEVICE] * state.air * state.air * way[Y_R] * state.T2 / state.p2
    return way[Y_P]


@kernel
def opening_force(way: Floats, gate: Floats, state: State) -> float:
    """Force [N] at the gate's rod that opens it, preload taken off."""
    behind = way[Y_P] if way[Y_GATE_OPEN_AIR] > 0.0 else state.p4
    opens, shuts = (signal(way, state, way[Y_SIGNAL_OPEN]), signal(way, state, way[Y_SIGNAL_CLOSE]))
    return gate_force(gate, opens, shuts, way[Y_P], state.p3, behind)


@kernel
def on_spring(
    q: Floats,
    way: Floats,
    sizes: Floats,
    lines: Floats,
    turbine: Floats,
    cooler: Floats,
    gate: Floats,
    p2_most: float,
    steps: int,
) -> tuple[State, float]:
    """Where engine, shaft and gate on its spring come to rest: the point, and the gate's lift [m].

    The pressure at which force balance and needed opening agree, or the shut gate's where it never opens. With the gate
    at its stop the point is that of the wide-open gate: boost creeps. status BEYOND: past p2_most [Pa] even then.
    """
    shut = fixed_gate(q, way, sizes, lines, turbine, cooler, 0.0, p2_most, steps)
    if opening_force(way, gate, shut) <= 0.0:
        return shut, 0.0
    low, high = way[Y_P] * 1.01, shut.p2
    best, lift = shut, gate[G_MAX_LIFT]
    for _ in range(ROUNDS):
        if high - low < 1e-6 * low:
            break
        p2 = 0.5 * (low + high)
        state, _ = balance(q, way, sizes, lines, turbine, cooler, p2, True, 0.0)
        free = gate[G_LEVER] * opening_force(way, gate, state) / gate[G_RATE]
        needed = gate_opening(gate, area_needed(q, way, state))
        if state.status == HELD and min(free, gate[G_MAX_LIFT]) < needed:
            low = p2
        else:
            high, best, lift = p2, state, min(max(free, 0.0), gate[G_MAX_LIFT])
    return best, lift
