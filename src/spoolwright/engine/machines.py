"""Compressor, turbine, wastegate, cooler and shaft in the step of the engine.

All read the node states at the start of the step. Mass, enthalpy and species leave one node and enter the other
in the same statement; compressor power goes to the node that receives the gas, turbine power and housing
heat are taken from what leaves the volute, cooler heat from what passes the core. So mass and energy balance
to round-off with the shaft's work and the heat counted.

The compressor's flow follows its map at once (with the surge limiter), or is a momentum state
dm/dt = (A/L) (p02(m, omega) - p2) in one linearised implicit step. omega^2 is the state of the shaft, so that its
energy changes by exactly the work. Rates of zero hold speed, lift and core temperature within the cycle.
"""

from __future__ import annotations

from math import sqrt

from spoolwright.boost.compressor import compressor_flow, compressor_head, is_on_surge_side
from spoolwright.boost.cooler import cooler_soak
from spoolwright.boost.gate import gate_area, gate_force, lift_at_force
from spoolwright.boost.rows import C_LOSS
from spoolwright.boost.turbine import spouting_energy, turbine_flow
from spoolwright.engine.parts import (
    CS_COOLANT,
    CS_CORE,
    CS_RATE,
    GS_FORCE,
    GS_LIFT,
    GS_RATE,
    H_EFFICIENCY,
    H_FLOW,
    H_PASSAGE,
    H_RATE,
    H_SPEED_SQUARED,
    K_BACK,
    K_MASS,
    K_SPEED,
    K_SURGE,
    K_T_IN,
    K_WORK,
    O_P,
    O_T,
    ON_END,
    W_BEFORE,
    W_BEHIND,
    W_GATE,
    W_KIND,
    W_PLACE,
    X_HEAT,
    X_IDEAL,
    X_MASS,
    X_T_IN,
    X_WORK,
    Z_HEAT,
    Z_MASS,
    Z_T_IN,
    Z_T_OUT,
    Floats,
    Ints,
)
from spoolwright.flow.nodes import pass_gas
from spoolwright.flow.nozzle import orifice_flux
from spoolwright.flow.rows import E_AREA, E_RATIO_IN, E_RATIO_OUT, L_AREA, N_CP, N_P, N_R, N_T, Q_ENE
from spoolwright.kernel import kernel

SLOWEST_SQUARED = 100.0**2  # (rad/s)^2; bearings let no shaft stand still under load, and windage is not modelled


@kernel
def set_gates(gate: Floats, state: Floats, way_at: Ints, share: Floats, ends: Floats, links: Floats) -> None:
    """Write the area at each wastegate's lift into the duct ends and links its gas passes."""
    for w in range(way_at.shape[0]):
        g = way_at[w, W_GATE]
        area = share[w] * gate_area(gate[g], state[g, GS_LIFT])
        place = way_at[w, W_PLACE]
        if way_at[w, W_KIND] == ON_END:
            ends[place, E_RATIO_OUT] = ends[place, E_RATIO_IN] = min(area / ends[place, E_AREA], 1.0)
        else:
            links[place, L_AREA] = area


@kernel
def move_gates(
    gate: Floats,
    state: Floats,
    signal: Ints,
    way_at: Ints,
    share: Floats,
    outside: Floats,
    nodes: Floats,
    dt: float,
    lift_sums: Floats,
) -> None:
    """Let each gate's force follow its pressures with its lag; the lift is what the force gives between the stops."""
    for g in range(gate.shape[0]):
        lift_sums[g] += dt * state[g, GS_LIFT]
        if state[g, GS_RATE] > 0.0:
            before = behind = shares = 0.0
            for w in range(way_at.shape[0]):
                if way_at[w, W_GATE] == g:
                    shares += share[w]
                    before += share[w] * nodes[way_at[w, W_BEFORE], N_P]
                    behind += share[w] * nodes[way_at[w, W_BEHIND], N_P]
            p_open, p_close = nodes[signal[g, 0], N_P], nodes[signal[g, 1], N_P]
            force = gate_force(gate[g], p_open, p_close, outside[O_P], before / shares, behind / shares)
            state[g, GS_FORCE] += (force - state[g, GS_FORCE]) * min(dt * state[g, GS_RATE], 1.0)
            state[g, GS_LIFT] = lift_at_force(gate[g], state[g, GS_FORCE])


@kernel
def compress(
    at: Ints, wheel: Floats, lines: Floats, shaft: Floats, kind: Ints, nodes: Floats, dt: float, sums: Floats
) -> float:
    """Pass one compressor's gas and add its work; the power [W] it takes."""
    a, b = at[0], at[1]
    omega = sqrt(shaft[H_SPEED_SQUARED])
    p1, T1, R, cp, p2 = nodes[a, N_P], nodes[a, N_T], nodes[a, N_R], nodes[a, N_CP], nodes[b, N_P]
    if shaft[H_PASSAGE] > 0.0:
        mdot = shaft[H_FLOW]
        head, work, slope = compressor_head(wheel, lines, omega, mdot, p1, T1, R, cp)
        pull = dt * shaft[H_PASSAGE]
        mdot += pull * (head - p2) / (1.0 - pull * min(slope, 0.0))
        surging = 1.0 if is_on_surge_side(wheel, lines, omega, mdot, p1, T1, R, cp) else 0.0
    else:
        mdot, work, surging = compressor_flow(wheel, lines, omega, p1, T1, R, cp, p2)
    shaft[H_FLOW] = mdot
    power = abs(mdot) * work
    if mdot >= 0.0:
        pass_gas(kind, nodes, a, b, mdot)
        nodes[b, Q_ENE] += power
    else:
        pass_gas(kind, nodes, b, a, -mdot)
        nodes[a, Q_ENE] += power
        sums[K_BACK] += dt
    sums[K_MASS] += dt * mdot
    sums[K_WORK] += dt * power
    sums[K_T_IN] += dt * mdot * T1
    sums[K_SURGE] += dt * surging
    sums[K_SPEED] += dt * omega
    return float(power)


@kernel
def expand(
    at: Ints, row: Floats, omega: float, outside: Floats, kind: Ints, nodes: Floats, dt: float, sums: Floats
) -> float:
    """Pass the gas of one turbine entry and take its work and the housing's heat; the power [W] it gives."""
    a, b = at[1], at[2]
    p3, T3, R, cp, p4 = nodes[a, N_P], nodes[a, N_T], nodes[a, N_R], nodes[a, N_CP], nodes[b, N_P]
    mdot, work, heat = turbine_flow(row, omega, p3, T3, R, cp, p4, outside[O_T])
    pass_gas(kind, nodes, a, b, mdot)
    nodes[b, Q_ENE] -= mdot * (work + heat)
    sums[X_MASS] += dt * mdot
    sums[X_WORK] += dt * mdot * work
    sums[X_T_IN] += dt * mdot * T3
    sums[X_IDEAL] += dt * mdot * spouting_energy(p3, T3 - heat / cp, R, cp, p4)
    sums[X_HEAT] += dt * mdot * heat
    return float(mdot * work)


@kernel
def cool(at: Ints, cooler: Floats, state: Floats, kind: Ints, nodes: Floats, dt: float, sums: Floats) -> None:
    """Pass the charge through one cooler's core, whose metal takes and gives heat."""
    forward = nodes[at[0], N_P] >= nodes[at[1], N_P]
    a, b = (at[0], at[1]) if forward else (at[1], at[0])
    T, cp = nodes[a, N_T], nodes[a, N_CP]
    # dp = K m^2 / rho is the law of an opening of area sqrt(1 / 2 K)
    mdot = orifice_flux(nodes[a, N_P], T, nodes[a, N_R], cp, nodes[b, N_P]) / sqrt(2.0 * cooler[C_LOSS])
    T_out, taken, away = cooler_soak(cooler, mdot, T, state[CS_CORE], state[CS_COOLANT], cp)
    pass_gas(kind, nodes, a, b, mdot)
    nodes[b, Q_ENE] -= taken
    state[CS_CORE] += dt * state[CS_RATE] * (taken - away)
    sums[Z_HEAT] += dt * taken
    if forward:
        sums[Z_MASS] += dt * mdot
        sums[Z_T_IN] += dt * mdot * T
        sums[Z_T_OUT] += dt * mdot * T_out


@kernel
def step_machines(
    compressor_at: Ints,
    wheel: Floats,
    lines: Floats,
    shaft: Floats,
    entry_at: Ints,
    turbine: Floats,
    cooler_at: Ints,
    cooler: Floats,
    cooler_state: Floats,
    outside: Floats,
    kind: Ints,
    nodes: Floats,
    dt: float,
    compressor_sums: Floats,
    turbine_sums: Floats,
    cooler_sums: Floats,
) -> None:
    """All machines for one step, from the node states at its start; speeds change after all have acted."""
    for c in range(cooler_at.shape[0]):
        cool(cooler_at[c], cooler[c], cooler_state[c], kind, nodes, dt, cooler_sums[c])
    for t in range(compressor_at.shape[0]):
        power = -compress(compressor_at[t], wheel[t], lines[t], shaft[t], kind, nodes, dt, compressor_sums[t])
        omega = sqrt(shaft[t, H_SPEED_SQUARED])
        for e in range(entry_at.shape[0]):
            if entry_at[e, 0] == t:
                given = expand(entry_at[e], turbine[e], omega, outside, kind, nodes, dt, turbine_sums[e])
                power += shaft[t, H_EFFICIENCY] * given
        speed_squared = shaft[t, H_SPEED_SQUARED] + 2.0 * dt * shaft[t, H_RATE] * power
        shaft[t, H_SPEED_SQUARED] = max(speed_squared, SLOWEST_SQUARED)
