"""Steady balance of a turbocharger at cycle means, for an engine whose demand is a fitted surface: sizing by algebra.

Engine at one speed (``demand`` row; p2, T2 charge before carburettor or throttle, p3 before the turbine):
    m_air = m_0 (p2/p_ref)^a exp(b (p3/p2 - x_ref)) (T2/T_ref)^c
    T3    = T3_0 + d (p2/p_ref - 1) + e (p3/p2 - x_ref) + f (T2 - T_ref)
Way of the gas (``way`` row): losses dp = K m^2 / rho of inlet, charge path and tail; pipes and cooler change the
charge's temperature. Machines: ``compressor``, ``turbine``. Shaft: eta_m P_turbine = P_compressor.

Two questions: what holds a wanted p2 (``balance``), what a gate of fixed opening gives (``fixed_gate``); what a spring
gives stands in ``spring_balance``. All are bracketed roots inside a damped iteration of p3 and T2.

Pulses: what turbine and gate do of a swinging pressure, over their maps at its mean, are factors of the demand. They
belong to the engine and its manifold: near 1 where all cylinders share a volume, up to 1.6 in work for a twin entry at
low speed (measured with the engine run through cycles). Two turbos are taken as alike, each with half of the flow.
"""

from __future__ import annotations

from math import exp, log, nan
from typing import NamedTuple

from spoolwright.boost.compressor import compressor_head
from spoolwright.boost.compressor_roots import compressor_speed
from spoolwright.boost.cooler import cooler_loss, cooler_outlet_temperature
from spoolwright.boost.rows import K_SPEED_LIMIT, Floats
from spoolwright.boost.turbine import turbine_flow
from spoolwright.flow.nozzle import nozzle_flux
from spoolwright.kernel import kernel

# Demand of the engine at one speed: demand[column]
Q_FLOW, Q_PRESSURE, Q_BACK, Q_WARMTH = 0, 1, 2, 3  # ln m_0, a, b, c
Q_P_REF, Q_X_REF, Q_T_REF = 4, 5, 6  # Pa, -, K
Q_T3, Q_T3_PRESSURE, Q_T3_BACK, Q_T3_WARMTH = 7, 8, 9, 10  # K, d, e, f
Q_FUEL = 11  # kg of fuel for each kg of air
Q_PULSE_FLOW, Q_PULSE_POWER, Q_PULSE_GATE = 12, 13, 14  # flow, work, gate flow over the maps' at cycle means
N_DEMAND = 15

# Way of the gas, all turbos together: way[column]
Y_P, Y_T = 0, 1  # Pa, K, outside
Y_T_INLET = 2  # K, before the compressor
Y_INLET, Y_HOT, Y_COLD, Y_DEVICE, Y_TAIL = (
    3,
    4,
    5,
    6,
    7,
)  # 1/m4, loss K of dp = K m^2 / rho; device: carburettor, throttle
Y_HOT_SHARE, Y_HOT_WALL, Y_COLD_SHARE, Y_COLD_WALL = 8, 9, 10, 11  # share of the way to the wall's temperature [K]
Y_COOLER, Y_COOLANT = 12, 13  # 1 with a cooler; K
Y_R, Y_CP = 14, 15  # J/(kg K), of what the compressor takes
Y_PREMIXED = 16  # 1 where fuel joins before the compressor
Y_R3, Y_CP3 = 17, 18  # J/(kg K), exhaust before the turbine
Y_COUNT, Y_SHAFT = 19, 20  # turbos; share of turbine power that reaches the compressor
Y_GATE_OPEN_AIR = 21  # 1 where the gate blows into the open, 0 into the tail
Y_GATE_PIPE = 22  # m2, effective area of the gate's branch, in line with the gate; 0 none
Y_SIGNAL_OPEN, Y_SIGNAL_CLOSE = 23, 24  # where the gate's hoses sit, SIGNAL_*
N_WAY = 25
SIGNAL_OPEN_AIR, SIGNAL_COMPRESSOR, SIGNAL_HAT, SIGNAL_PLENUM = 0.0, 1.0, 2.0, 3.0

HELD, TOO_LITTLE, NO_SPEED, NO_POWER, BEYOND = 0, 1, 2, 3, 4
OVERSPEED = 1.6  # of the limit; the balance is followed that far, to tell by how much a wheel is too small
P3_MOST = 12.0  # expansion ratio beyond which no exhaust turbine is asked
ROUNDS, CLOSE = 60, 1e-7


class State(NamedTuple):
    """One balanced point; flows of all turbos together [kg/s], powers of one [W].

    status HELD, TOO_LITTLE (all gas through the turbine is not enough), NO_SPEED (no shaft speed gives this pressure),
    NO_POWER (no expansion gives this power or passes this flow), BEYOND (more than was asked for).
    p_out: at the compressor's outlet; bypass < 0: so much gas is missing.
    """

    status: int
    p2: float
    T2: float
    air: float
    p1: float
    T1: float
    p_out: float
    T_out: float
    omega: float
    power: float
    p3: float
    T3: float
    p4: float
    turbine: float
    bypass: float


@kernel
def _as(s: State, status: int) -> State:
    return State(
        status,
        s.p2,
        s.T2,
        s.air,
        s.p1,
        s.T1,
        s.p_out,
        s.T_out,
        s.omega,
        s.power,
        s.p3,
        s.T3,
        s.p4,
        s.turbine,
        s.bypass,
    )


@kernel
def air_demand(q: Floats, p2: float, T2: float, p3: float) -> float:
    """Air the engine draws [kg/s]."""
    back = q[Q_BACK] * (p3 / p2 - q[Q_X_REF])
    return exp(q[Q_FLOW] + q[Q_PRESSURE] * log(p2 / q[Q_P_REF]) + back + q[Q_WARMTH] * log(T2 / q[Q_T_REF]))


@kernel
def exhaust_temperature(q: Floats, p2: float, T2: float, p3: float) -> float:
    """Gas before the turbine [K]."""
    pressure = q[Q_T3_PRESSURE] * (p2 / q[Q_P_REF] - 1.0)
    return q[Q_T3] + pressure + q[Q_T3_BACK] * (p3 / p2 - q[Q_X_REF]) + q[Q_T3_WARMTH] * (T2 - q[Q_T_REF])


@kernel
def _charge_side(
    q: Floats, way: Floats, sizes: Floats, lines: Floats, cooler: Floats, air: float, p2: float, T2: float
) -> tuple[float, float, float, float, float, float, int]:
    """Compressor that delivers ``air`` at p2: (p1, p_out, T_out, new T2, omega, power of one, status)."""
    flow = air * (1.0 + way[Y_PREMIXED] * q[Q_FUEL])
    R, cp, T1 = way[Y_R], way[Y_CP], way[Y_T_INLET]
    p1 = way[Y_P] - way[Y_INLET] * flow * flow * R * T1 / way[Y_P]
    one = flow / way[Y_COUNT]
    p_out = p2 + way[Y_COLD] * flow * flow * R * T2 / p2
    if way[Y_COOLER] > 0.0:
        p_out += cooler_loss(cooler, flow, p_out / (R * T2))
    p_out += way[Y_HOT] * flow * flow * R * T2 / p_out
    omega, status = compressor_speed(sizes, lines, one, p1, T1, R, cp, p_out, OVERSPEED * sizes[K_SPEED_LIMIT])
    _, work, _ = compressor_head(sizes, lines, omega, one, p1, T1, R, cp)
    T_out = T1 + work / cp
    T = T_out + way[Y_HOT_SHARE] * (way[Y_HOT_WALL] - T_out)
    if way[Y_COOLER] > 0.0:
        T = cooler_outlet_temperature(cooler, flow, T, way[Y_COOLANT])
    T += way[Y_COLD_SHARE] * (way[Y_COLD_WALL] - T)
    return p1, p_out, T_out, T, omega, one * work, status


@kernel
def _turbines(
    q: Floats, turbine: Floats, omega: float, p3: float, T3: float, way: Floats, p4: float
) -> tuple[float, float]:
    """Flow [kg/s] and power [W] of one turbine, all entries."""
    flow, power = 0.0, 0.0
    for e in range(turbine.shape[0]):
        m, work, _ = turbine_flow(turbine[e], omega, p3, T3, way[Y_R3], way[Y_CP3], p4, way[Y_T])
        flow += m
        power += m * work
    flow *= q[Q_PULSE_FLOW]
    return flow, power * q[Q_PULSE_FLOW] * q[Q_PULSE_POWER]


@kernel
def gate_flow(area: float, way: Floats, p3: float, T3: float, p4: float) -> float:
    """Gas [kg/s] past one turbine through an effective area [m2]."""
    behind = way[Y_P] if way[Y_GATE_OPEN_AIR] > 0.0 else p4
    return area * nozzle_flux(p3, T3, way[Y_R3], way[Y_CP3], behind) if p3 > behind else 0.0


@kernel
def _inlet_for(
    q: Floats,
    want_power: bool,
    wanted: float,
    area: float,
    turbine: Floats,
    omega: float,
    T3: float,
    way: Floats,
    p4: float,
) -> tuple[float, bool]:
    """p3 at which one turbine gives a power [W], or turbine and gate together pass a flow [kg/s]; and whether it is."""
    low, high = p4 * (1.0 + 1e-6), p4 * P3_MOST
    f_low, f_high = -wanted, -wanted
    flow, power = _turbines(q, turbine, omega, high, T3, way, p4)
    f_high += power if want_power else flow + gate_flow(area, way, high, T3, p4)
    if f_high < 0.0:
        return high, False
    side = 0
    for _ in range(ROUNDS):
        p3 = (low * f_high - high * f_low) / (f_high - f_low)  # Illinois
        if high - low < CLOSE * p4:
            break
        flow, power = _turbines(q, turbine, omega, p3, T3, way, p4)
        f = (power if want_power else flow + gate_flow(area, way, p3, T3, p4)) - wanted
        if f > 0.0:
            high, f_high = p3, f
            if side == 1:
                f_low *= 0.5
            side = 1
        else:
            low, f_low = p3, f
            if side == -1:
                f_high *= 0.5
            side = -1
        if abs(f) < CLOSE * wanted:
            return p3, True
    return 0.5 * (low + high), True


@kernel
def balance(
    q: Floats,
    way: Floats,
    sizes: Floats,
    lines: Floats,
    turbine: Floats,
    cooler: Floats,
    p2: float,
    by_power: bool,
    area: float,
) -> tuple[State, float]:
    """The point at charge pressure p2, and its excess of power (eta_m P_t / P_c - 1).

    by_power : p3 is what the shaft's power needs, and ``bypass`` what is over; else p3 is what turbine and a gate of
    effective ``area`` [m2] swallow, and the shaft may be out of balance.
    """
    T2, p3, p4, excess = q[Q_T_REF], 1.1 * p2, way[Y_P], nan
    count, status = way[Y_COUNT], HELD
    air = p1 = p_out = T_out = omega = power = T3 = through = 0.0
    for n in range(ROUNDS):
        air = air_demand(q, p2, T2, p3)
        gas = air * (1.0 + q[Q_FUEL])
        p1, p_out, T_out, T_new, omega, power, found = _charge_side(q, way, sizes, lines, cooler, air, p2, T2)
        T3 = exhaust_temperature(q, p2, T2, p3)
        if found > 0:
            status = NO_SPEED
            break
        wanted = power / way[Y_SHAFT] if by_power else gas / count
        p3_new, reached = _inlet_for(q, by_power, wanted, area * q[Q_PULSE_GATE], turbine, omega, T3, way, p4)
        status = HELD if reached else NO_POWER
        through, given = _turbines(q, turbine, omega, p3_new, T3, way, p4)
        excess = way[Y_SHAFT] * given / power - 1.0
        in_tail = through * count if way[Y_GATE_OPEN_AIR] > 0.0 else gas
        p4_new = way[Y_P] + way[Y_TAIL] * in_tail * in_tail * way[Y_R3] * (T3 - 100.0) / p4
        moved = max(abs(T_new / T2 - 1.0), abs(p3_new / p3 - 1.0), abs(p4_new / p4 - 1.0))
        T2, p3, p4 = T_new, 0.5 * (p3 + p3_new), p4_new
        if moved < 1e-6 and n > 2:
            break
    bypass = air * (1.0 + q[Q_FUEL]) - count * through
    if status == HELD and by_power and bypass < 0.0:
        status = TOO_LITTLE
    T1 = way[Y_T_INLET]
    return State(status, p2, T2, air, p1, T1, p_out, T_out, omega, power, p3, T3, p4, through * count, bypass), excess


@kernel
def fixed_gate(
    q: Floats,
    way: Floats,
    sizes: Floats,
    lines: Floats,
    turbine: Floats,
    cooler: Floats,
    area: float,
    p2_most: float,
    steps: int,
) -> State:
    """Where the shaft comes to rest with gates of a fixed effective ``area`` [m2] each; 0 shut.

    From standstill upwards the first p2 at which power no longer exceeds need, looked for in ``steps`` steps up to
    p2_most [Pa]. status: HELD; TOO_LITTLE where not even the least boost is kept up (the state is then that least
    boost's); BEYOND where p2_most itself still leaves power over.
    """
    low = way[Y_P] * 1.01
    state, excess = balance(q, way, sizes, lines, turbine, cooler, low, False, area)
    if not excess > 0.0:
        return _as(state, TOO_LITTLE)
    best, p_low, p_high = state, low, low
    crossed = False
    for k in range(steps):
        p_high = low + (p2_most - low) * (k + 1.0) / steps
        state, excess = balance(q, way, sizes, lines, turbine, cooler, p_high, False, area)
        if state.status != HELD or not excess > 0.0:
            crossed = True
            break
        best, p_low = state, p_high
    if not crossed:
        return _as(best, BEYOND)
    for _ in range(ROUNDS):
        if p_high - p_low < 1e-6 * p_low:
            break
        p = 0.5 * (p_low + p_high)
        state, excess = balance(q, way, sizes, lines, turbine, cooler, p, False, area)
        if state.status == HELD and excess > 0.0:
            best, p_low = state, p
        else:
            p_high = p
    return best
