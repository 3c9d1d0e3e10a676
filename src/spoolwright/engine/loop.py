"""One engine cycle: ducts, volumes, cylinders and turbo machines marched together over 720 degrees of crank.

Explicit: the ducts' Courant number sets the step, the cylinders follow it. Valve areas are taken at the
middle of the step and a cylinder's state is extrapolated to it, so that the coupling is second order; what
leaves a duct enters the cylinder, so mass and energy balance to round-off. A closed cylinder does not act on
the ducts and is advanced in longer spans.

Ducts count sensible energy, cylinders absolute energy; the formation part passes with the species.

The compiled loop takes its arrays one by one: drawing an array from a tuple inside compiled code costs a
reference count, and hundreds of them a step cost more than the ducts.
"""

from __future__ import annotations

from math import floor, pi
from typing import Any

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.changes import close_valves, merge_zones, open_valves, start_tally
from spoolwright.cylinder.outlet import outlet_state
from spoolwright.cylinder.rows import Cylinders
from spoolwright.cylinder.steps import advance_closed, advance_open
from spoolwright.cylinder.valves import area_at
from spoolwright.cylinder.views import mean_temperature
from spoolwright.engine.machines import move_gates, set_gates, step_machines
from spoolwright.engine.parts import (
    A_BURNED,
    A_ENTHALPY,
    A_FUEL,
    A_MASS,
    ON_END,
    S_ENTHALPY,
    S_MASS,
    S_P,
    STEPS,
    TIME,
    V_CYLINDER,
    V_INTAKE,
    V_KIND,
    V_PLACE,
    Engine,
    Floats,
    Ints,
    Tally,
)
from spoolwright.flow.mixture import Mixing
from spoolwright.flow.network import exchange, stable_step
from spoolwright.flow.nodes import advance_volumes
from spoolwright.flow.rows import (
    AMBIENT,
    E_AREA,
    E_HDOT,
    E_MDOT,
    E_P,
    E_RATIO_IN,
    E_RATIO_OUT,
    L_A,
    L_AREA,
    L_B,
    L_MDOT,
    N_BURN,
    N_CP,
    N_FUEL,
    N_H,
    N_MASS,
    N_P,
    N_R,
    N_T,
    N_VOL,
    N_YB,
    N_YF,
    PRE,
    Q_BURN,
    Q_ENE,
    Q_FUEL,
    Q_MASS,
    VEL,
)
from spoolwright.kernel import kernel

LONGEST_STEP = 1.0  # deg, while ducts would allow more
CLOSED_SPAN = 2.0  # deg, how far a closed cylinder may fall behind before it is advanced; 0 for traces

# Own angle [deg] after which shut valves mean compression; before it they are a gap between exhaust and intake.
CLOSES_AFTER = -270.0

# Status of a cycle
DONE, CYLINDER_FAILED, FLOW_FAILED = 0, 1, 2

# What any_open finds, as a sum
EXHAUST_OPEN, INTAKE_OPEN = 1, 2


@kernel
def own_angle(theta: float, phase: float) -> float:
    """Angle [deg, -360..360) of a cylinder whose firing top centre lies ``phase`` after the engine's."""
    x = theta - phase + 360.0
    return x - 720.0 * floor(x / 720.0) - 360.0


@kernel
def set_valve_areas(
    valves: Ints,
    area_in: Floats,
    area_out: Floats,
    phase: Floats,
    theta: float,
    ends: Floats,
    link_index: Ints,
    links: Floats,
    nodes: Floats,
    opened: Ints,
) -> None:
    """Write the valves' areas at engine angle ``theta`` into ends and links; opened (K,) says what is open."""
    opened[:] = 0
    for v in range(valves.shape[0]):
        k = valves[v, V_CYLINDER]
        own = own_angle(theta, phase[k])
        into, out = area_at(area_in[v], own), area_at(area_out[v], own)
        if into + out > 0.0:
            opened[k] |= INTAKE_OPEN if valves[v, V_INTAKE] == 1 else EXHAUST_OPEN
        place = valves[v, V_PLACE]
        if valves[v, V_KIND] == ON_END:
            ends[place, E_RATIO_OUT] = min(into / ends[place, E_AREA], 1.0)  # out of the duct is into the cylinder
            ends[place, E_RATIO_IN] = min(out / ends[place, E_AREA], 1.0)
        else:
            port = link_index[place, L_A] if link_index[place, L_B] == k else link_index[place, L_B]
            links[place, L_AREA] = into if nodes[port, N_P] >= nodes[k, N_P] else out


@kernel
def copy_row(row: Floats, into: Floats) -> None:
    """Copy a row; a whole-row assignment would compile its shape checks and their messages."""
    for j in range(row.shape[0]):
        into[j] = row[j]


@kernel
def prepare_cylinders(
    c: Cylinders,
    opened: Ints,
    nodes: Floats,
    e0: Floats,
    dt: float,
    omega: float,
    behind: Floats,
    closed: Floats,
    burned: Floats,
) -> tuple[int, int]:
    """Open or close what opens or closes, catch up, and write the cylinders' node rows. Status, cylinder.

    ``burned`` takes each cylinder's state as its valves are about to shut (the records of its last whole burn),
    ``closed`` the state just after. A cam without overlap leaves both valves shut around the gas exchange top
    centre; the cylinder then stays an open one that nothing enters.
    """
    for k in range(behind.shape[0]):
        state = c.state[k]
        status = r.OK
        if opened[k] > 0 and state[r.VALVES_OPEN] == 0.0:
            if behind[k] > 0.0:
                status = advance_closed(c, k, behind[k], omega)
                behind[k] = 0.0
            if status == r.OK:
                status = open_valves(c, k)
        elif opened[k] == 0 and state[r.VALVES_OPEN] == 1.0 and CLOSES_AFTER <= state[r.THETA] < 0.0:
            copy_row(state, burned[k])
            status = close_valves(c, k)
            behind[k] = 0.0
            copy_row(state, closed[k])
        if status == r.OK and opened[k] >= INTAKE_OPEN and state[r.MODE] == r.BURNING:
            status = merge_zones(c, k)
        if status != r.OK:
            return CYLINDER_FAILED, k
        if opened[k] > 0:
            node = nodes[k]
            p, T, R, cp, h, y_fuel, y_burned = outlet_state(c, k, 0.5 * dt)
            node[N_P], node[N_T], node[N_R], node[N_CP] = p, T, R, cp
            node[N_YF], node[N_YB], node[N_VOL] = y_fuel, y_burned, state[r.VOLUME]
            node[N_H] = h - ((1.0 - y_fuel - y_burned) * e0[0] + y_fuel * e0[1] + y_burned * e0[2])
    return DONE, -1


@kernel
def advance_cylinders(
    c: Cylinders,
    nodes: Floats,
    e0: Floats,
    dt: float,
    omega: float,
    behind: Floats,
    closed_span: float,
) -> tuple[int, int]:
    """Add what the flow brought; closed cylinders only fall behind. Status, cylinder."""
    dtheta = dt * omega * 180.0 / pi
    for k in range(behind.shape[0]):
        status = r.OK
        if c.state[k, r.VALVES_OPEN] == 1.0:
            q = nodes[k]
            fuel, burned = dt * q[Q_FUEL], dt * q[Q_BURN]
            air = dt * q[Q_MASS] - fuel - burned
            energy = dt * q[Q_ENE] + air * e0[0] + fuel * e0[1] + burned * e0[2]
            status = advance_open(c, k, dtheta, omega, air, fuel, burned, energy)
        else:
            behind[k] += dtheta
            if behind[k] >= closed_span:
                status = advance_closed(c, k, behind[k], omega)
                behind[k] = 0.0
        if status != r.OK:
            return CYLINDER_FAILED, k
    return DONE, -1


@kernel
def add_fuel(
    mixer_node: Ints, fuel_per_air: Floats, enthalpy: Floats, nodes: Floats, e0_fuel: float, dt: float, added: Floats
) -> None:
    """Bring what each mixer will hold after the step to its mixture; adds to the nodes' sums and ``added`` (M, 2).

    Gas that comes back is a little leaner or richer than the mixture, as its front was smeared on the way. Both are
    made good, so a little fuel may be taken out; adding alone would leave the engine 0.3 % rich.
    """
    for m in range(mixer_node.shape[0]):
        q = nodes[mixer_node[m]]
        fuel_there = q[N_FUEL] + dt * q[Q_FUEL]
        air_there = q[N_MASS] - q[N_FUEL] - q[N_BURN] + dt * (q[Q_MASS] - q[Q_FUEL] - q[Q_BURN])
        fuel = (fuel_per_air[m] * air_there - fuel_there) / dt
        q[Q_MASS] += fuel
        q[Q_FUEL] += fuel
        q[Q_ENE] += fuel * enthalpy[m]
        added[m, 0] += dt * fuel
        added[m, 1] += dt * fuel * (enthalpy[m] + e0_fuel)


@kernel
def count_nodes(
    kind: Ints, nodes: Floats, e0: Floats, dt: float, ambient: Floats, p_mean: Floats, T_mean: Floats
) -> None:
    """Add the step to the means of all nodes and to what left into the ambients."""
    for k in range(kind.shape[0]):
        q = nodes[k]
        p_mean[k] += dt * q[N_P]
        T_mean[k] += dt * q[N_T]
        if kind[k] == AMBIENT:
            air = q[Q_MASS] - q[Q_FUEL] - q[Q_BURN]
            ambient[k, A_MASS] += dt * q[Q_MASS]
            ambient[k, A_ENTHALPY] += dt * (q[Q_ENE] + air * e0[0] + q[Q_FUEL] * e0[1] + q[Q_BURN] * e0[2])
            ambient[k, A_FUEL] += dt * q[Q_FUEL]
            ambient[k, A_BURNED] += dt * q[Q_BURN]


@kernel
def valve_flow(valve: Ints, ends: Floats, link_index: Ints, links: Floats) -> float:
    """Mass flow [kg/s] into the cylinder through one valve (row of the valve index) at the last step."""
    place = valve[V_PLACE]
    if valve[V_KIND] == ON_END:
        return float(ends[place, E_MDOT])
    inward = link_index[place, L_B] == valve[V_CYLINDER]
    return float(links[place, L_MDOT] if inward else -links[place, L_MDOT])


@kernel
def keep_trace(
    row: Floats,
    theta: float,
    time: float,
    state: Floats,
    valves: Ints,
    ends: Floats,
    link_index: Ints,
    links: Floats,
    W: Floats,
    probes: Ints,
) -> None:
    """One row of the trace: angle, time; p, T, V of each cylinder; flow of each valve; p, u of each probe."""
    row[0], row[1] = theta, time
    at = 2
    for k in range(state.shape[0]):
        row[at], row[at + 1], row[at + 2] = state[k, r.P], mean_temperature(state[k]), state[k, r.VOLUME]
        at += 3
    for v in range(valves.shape[0]):
        row[at] = valve_flow(valves[v], ends, link_index, links)
        at += 1
    for j in range(probes.shape[0]):
        row[at], row[at + 1] = W[PRE, probes[j]], W[VEL, probes[j]]
        at += 2


@kernel
def march_cycle(
    mix: Mixing,
    U: Floats,
    W: Floats,
    aux: Floats,
    left: Floats,
    right: Floats,
    mid: Floats,
    F: Floats,
    q_wall: Floats,
    A_face: Floats,
    geometry: Floats,
    wall: Floats,
    end_index: Ints,
    ends: Floats,
    join_index: Ints,
    joins: Floats,
    kind: Ints,
    nodes: Floats,
    link_index: Ints,
    links: Floats,
    compressor_at: Ints,
    wheel: Floats,
    lines: Floats,
    shaft: Floats,
    entry_at: Ints,
    turbine: Floats,
    gate: Floats,
    gate_state: Floats,
    gate_signal: Ints,
    way_at: Ints,
    way_share: Floats,
    cooler_at: Ints,
    cooler: Floats,
    cooler_state: Floats,
    outside: Floats,
    c: Cylinders,
    phase: Floats,
    e0: Floats,
    valves: Ints,
    area_in: Floats,
    area_out: Floats,
    mixer_node: Ints,
    fuel_per_air: Floats,
    enthalpy: Floats,
    valve_mass: Floats,
    ambient: Floats,
    added: Floats,
    p_mean: Floats,
    T_mean: Floats,
    link_mass: Floats,
    end_sums: Floats,
    closed: Floats,
    burned: Floats,
    compressor_sums: Floats,
    turbine_sums: Floats,
    cooler_sums: Floats,
    lift_sums: Floats,
    numbers: Floats,
    omega: float,
    courant: float,
    closed_span: float,
    behind: Floats,
    opened: Ints,
    probes: Ints,
    trace: Floats,
) -> tuple[int, int, int]:
    """The compiled loop of ``run_cycle``; every array by itself.

    Arrays inside nested tuples would cost reference counts at each use and half of the time to compile.
    """
    for k in range(phase.shape[0]):
        start_tally(c, k)
    theta, time = -360.0, 0.0
    rows = 0
    while theta < 360.0 - 1e-9:
        dt = stable_step(
            mix, U, W, aux, left, right, mid, F, q_wall, A_face, geometry, wall,
            end_index, ends, join_index, joins, kind, nodes, link_index, links, courant,
        )  # fmt: skip
        if not dt > 0.0:
            return FLOW_FAILED, -1, rows
        dtheta = min(dt * omega * 180.0 / pi, LONGEST_STEP, 360.0 - theta)
        dt = dtheta * pi / 180.0 / omega
        set_valve_areas(valves, area_in, area_out, phase, theta + 0.5 * dtheta, ends, link_index, links, nodes, opened)
        set_gates(gate, gate_state, way_at, way_share, ends, links)
        move_gates(gate, gate_state, gate_signal, way_at, way_share, outside, nodes, dt, lift_sums)
        status, k = prepare_cylinders(c, opened, nodes, e0, dt, omega, behind, closed, burned)
        if status != DONE:
            return status, k, rows
        exchange(
            mix, U, W, aux, left, right, mid, F, q_wall, A_face, geometry, wall,
            end_index, ends, join_index, joins, kind, nodes, link_index, links, dt,
        )  # fmt: skip
        step_machines(
            compressor_at, wheel, lines, shaft, entry_at, turbine, cooler_at, cooler, cooler_state, outside,
            kind, nodes, dt, compressor_sums, turbine_sums, cooler_sums,
        )  # fmt: skip
        add_fuel(mixer_node, fuel_per_air, enthalpy, nodes, e0[1], dt, added)
        advance_volumes(kind, nodes, mix, dt)
        status, k = advance_cylinders(c, nodes, e0, dt, omega, behind, closed_span)
        if status != DONE:
            return status, k, rows
        count_nodes(kind, nodes, e0, dt, ambient, p_mean, T_mean)
        for v in range(valves.shape[0]):
            valve_mass[v] += dt * valve_flow(valves[v], ends, link_index, links)
        for e in range(ends.shape[0]):
            end_sums[e, S_P] += dt * ends[e, E_P]
            end_sums[e, S_MASS] += dt * ends[e, E_MDOT]
            end_sums[e, S_ENTHALPY] += dt * ends[e, E_HDOT]
        for j in range(links.shape[0]):
            link_mass[j] += dt * links[j, L_MDOT]
        numbers[STEPS] += 1.0
        numbers[TIME] += dt
        if rows < trace.shape[0]:
            keep_trace(trace[rows], theta, time, c.state, valves, ends, link_index, links, W, probes)
            rows += 1
        theta += dtheta
        time += dt
    for k in range(phase.shape[0]):
        if behind[k] > 0.0 and advance_closed(c, k, behind[k], omega) != r.OK:
            return CYLINDER_FAILED, k, rows
    return DONE, -1, rows


def cycle_arguments(
    engine: Engine,
    omega: float,
    courant: float,
    closed_span: float,
    tally: Tally,
    behind: Floats,
    opened: Ints,
    probes: Ints,
    trace: Floats,
) -> tuple[Any, ...]:
    """What ``march_cycle`` takes, in its order."""
    return (
        *engine.net,
        *engine.machines,
        engine.cylinders,
        engine.phase,
        engine.gas.duct.e0,
        *engine.valves,
        *engine.mixers,
        *tally,
        omega,
        courant,
        closed_span,
        behind,
        opened,
        probes,
        trace,
    )


def run_cycle(
    engine: Engine,
    omega: float,
    courant: float,
    closed_span: float,
    tally: Tally,
    behind: Floats,
    opened: Ints,
    probes: Ints,
    trace: Floats,
) -> tuple[int, int, int]:
    """March one cycle of 720 deg from engine angle -360.

    omega : crank speed [rad/s]; closed_span : deg a closed cylinder may lag; behind (K,), opened (K,) : scratch;
    probes : cells (P,); trace : (S, columns) takes a row a step while rows last, or has no rows.
    Returns (status, cylinder, trace rows written).
    """
    behind[:] = 0.0
    for array in tally._replace(closed=behind, burned=behind):  # those two keep each cylinder's last closing
        array[...] = 0.0
    status, k, rows = march_cycle(
        *cycle_arguments(engine, omega, courant, closed_span, tally, behind, opened, probes, trace)
    )
    return status, k, rows
