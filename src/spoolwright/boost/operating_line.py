"""A turbocharger's operating line over engine speed, by the steady balance of ``balance``: one row a speed.

At each speed the wanted charge pressure is tried with the gate taking what is over; where all gas through the turbine
is not enough, the gate is shut and the pressure is what the shaft reaches.
"""

from __future__ import annotations

from math import exp, log, nan

from spoolwright.boost.balance import (
    HELD,
    NO_SPEED,
    Q_FUEL,
    TOO_LITTLE,
    Y_COUNT,
    Y_CP,
    Y_PREMIXED,
    Y_R,
    State,
    balance,
    fixed_gate,
)
from spoolwright.boost.compressor_roots import choke_flow, surge_flow
from spoolwright.boost.rows import K_SPEED_LIMIT, Floats
from spoolwright.kernel import kernel

# line[speed, column]
L_STATUS = 0  # of the point that stands in the row
L_REACHED = 1  # 1 where the wanted pressure is held
L_SPARE = 2  # gas over what the shaft needs at the wanted pressure, as a share of all; < 0 missing; nan impossible
L_P2, L_T2, L_AIR = 3, 4, 5  # Pa, K before carburettor or throttle; kg/s of air, all turbos
L_P1, L_T1, L_P_OUT, L_T_OUT = 6, 7, 8, 9  # Pa, K at the compressor
L_OMEGA, L_POWER, L_EFFICIENCY = 10, 11, 12  # rad/s; W of one compressor; isentropic
L_SURGE, L_CHOKE = 13, 14  # (flow - surge flow)/flow at the same ratio; (choke flow - flow)/flow at the same speed
L_P3, L_T3, L_P4, L_BYPASS = 15, 16, 17, 18  # Pa, K before, Pa behind the turbine; share of the gas past it
L_FLOW = 19  # kg/s through one compressor
N_OPERATING = 20
SHUT_STEPS = 12


@kernel
def _write(q: Floats, way: Floats, sizes: Floats, lines: Floats, state: State, row: Floats) -> None:
    R, cp = way[Y_R], way[Y_CP]
    flow = state.air * (1.0 + way[Y_PREMIXED] * q[Q_FUEL]) / way[Y_COUNT]
    row[L_STATUS] = state.status
    row[L_P2], row[L_T2], row[L_AIR] = state.p2, state.T2, state.air
    row[L_P1], row[L_T1], row[L_P_OUT], row[L_T_OUT] = state.p1, state.T1, state.p_out, state.T_out
    row[L_OMEGA], row[L_POWER], row[L_FLOW] = state.omega, state.power, flow
    ideal = cp * state.T1 * (exp(R / cp * log(state.p_out / state.p1)) - 1.0)
    row[L_EFFICIENCY] = flow * ideal / state.power
    row[L_P3], row[L_T3], row[L_P4] = state.p3, state.T3, state.p4
    row[L_BYPASS] = state.bypass / (state.air * (1.0 + q[Q_FUEL]))
    most = 1.6 * sizes[K_SPEED_LIMIT]
    surge, _ = surge_flow(sizes, lines, state.p1, state.T1, R, cp, state.p_out, most)
    row[L_SURGE] = (flow - surge) / flow
    row[L_CHOKE] = (choke_flow(sizes, lines, state.omega, state.p1, state.T1, R, cp) - flow) / flow


@kernel
def operating_line(
    demand: Floats,
    way: Floats,
    sizes: Floats,
    lines: Floats,
    turbine: Floats,
    cooler: Floats,
    p2: float,
    line: Floats,
) -> None:
    """Fill ``line`` (speeds, N_OPERATING) for a wanted charge pressure p2 [Pa]; demand (speeds, N_DEMAND)."""
    for n in range(demand.shape[0]):
        q, row = demand[n], line[n]
        row[:] = nan
        state, _ = balance(q, way, sizes, lines, turbine, cooler, p2, True, 0.0)
        row[L_REACHED] = 0.0
        if state.status == HELD:
            row[L_REACHED] = 1.0
        if state.status == HELD or state.status == TOO_LITTLE:
            row[L_SPARE] = state.bypass / (state.air * (1.0 + q[Q_FUEL]))
        if state.status == NO_SPEED:
            row[L_STATUS] = NO_SPEED
            row[L_P2], row[L_AIR], row[L_OMEGA], row[L_P_OUT] = p2, state.air, state.omega, state.p_out
            continue
        if state.status != HELD:
            state = fixed_gate(q, way, sizes, lines, turbine, cooler, 0.0, p2, SHUT_STEPS)
        _write(q, way, sizes, lines, state, row)
