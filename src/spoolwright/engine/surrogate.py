"""The turbocharged engine in cycle means: the shaft speeds, lifts and pressures at which its machines balance.

The machines' own maps at mean states, times factors measured in the last cycle (pulsation, filling), say what charge
pressure p2 would do:
    flow      m ~ (p2 - 0.1 p3) T^-0.7   (p3 hinders what the exhaust stroke leaves behind; T of the charge)
    inlet     p1 falls, p4 rises with the square of the flow
    speed     of each shaft from its share of the flow and p2, by a bracketed root
    exhaust   p3 from turbine flow + gate flow = engine flow, with each lift from its balance of forces and the
              measured difference that pulses make (a gate at its seat or stop follows one half of them)
The one unknown left is p2, the root of turbine power over compressor power = 1; a shut and an open gate are one
problem.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

import numpy as np

from spoolwright.boost.compressor_roots import FOUND, TOO_HIGH
from spoolwright.boost.gate import gate_area, gate_force, lift_at_force
from spoolwright.boost.rows import G_MAX_LIFT, K_DIAMETER
from spoolwright.boost.turbine import turbine_flow
from spoolwright.engine.limited_map import limited_head, limited_speed
from spoolwright.engine.parts import H_EFFICIENCY, O_P, O_T, W_GATE, Floats, Machines
from spoolwright.flow.nozzle import orifice_flux

MOST_TIP_SPEED = 600.0  # m/s; no wheel of this kind holds together beyond it
HINDRANCE = 0.1  # share of p3 that acts against filling
COOLING = 0.7  # exponent of charge temperature in the engine's flow
BALANCED, AT_LOW_BOUND, AT_HIGH_BOUND, OVERSPEED = 0, 1, 2, 3


@dataclass
class Means:
    """Cycle means by turbo (t), turbine entry (e), way past a turbine (w), gate (g); SI, and factors over the maps."""

    m: float  # kg/s that the engine takes; the compressors may still lag behind
    m_drawn: float  # kg/s through all compressors
    m_exhaust: float  # kg/s through turbines and gates
    exhaust_per_charge: float  # kg that leave the engine per kg that the compressors must bring
    p1: float
    T1: float
    R1: float
    cp1: float
    p2: float
    T2: float
    T_charge: float  # behind the coolers
    passed: float  # share of a change of T2 that is left behind the coolers
    p_open: Floats  # (g,)
    p_close: Floats
    open_follows: bool  # whether the signal is on the charge side
    close_follows: bool
    share: Floats  # (t,) of the flow, as wanted
    share_drawn: Floats  # (t,) as measured
    p3: Floats  # (e,)
    T3: Floats
    R3: Floats
    cp3: Floats
    p4: Floats
    p_before: Floats  # (w,)
    p_behind: Floats
    T_before: Floats
    R_before: Floats
    cp_before: Floats
    lift_offset: Floats = field(default_factory=lambda: np.zeros(0))  # (g,) m, mean lift less that of the mean force
    force: Floats = field(default_factory=lambda: np.zeros(0))  # (g,) N, of the mean pressures
    trim: Floats = field(default_factory=lambda: np.ones(0))  # (t,) on the shaft speed the map asks for
    k_flow: Floats = field(default_factory=lambda: np.ones(0))  # (e,) turbine flow
    k_power: Floats = field(default_factory=lambda: np.ones(0))  # (e,) turbine work
    k_gate: Floats = field(default_factory=lambda: np.ones(0))  # (w,) gate flow
    k_head: Floats = field(default_factory=lambda: np.ones(0))  # (t,) p2 over the map's
    k_work: Floats = field(default_factory=lambda: np.ones(0))  # (t,) compressor work


@dataclass
class Balance:
    """What the surrogate found: state of all machines and of the gas between them."""

    p2: float
    status: int
    residual: float
    omega: list[float]
    force: list[float]  # of each gate, N
    p3_ratio: float
    T2: float
    T_charge: float
    m: float


def most_speed(machines: Machines, t: int) -> float:
    """Shaft speed [rad/s] beyond which no wheel holds."""
    return 2.0 * MOST_TIP_SPEED / float(machines.wheel[t, K_DIAMETER])


def trial(machines: Machines, q: Means, p2: float) -> Balance:
    """The state at charge pressure p2 [Pa]; its residual is turbine over compressor power less 1."""
    p_outside = float(machines.outside[O_P])
    r2 = p2 / q.p2
    m, p3_ratio, T2, T_charge = q.m * r2, 1.0, q.T2, q.T_charge
    omega, force, status = [0.0] * len(q.share), [0.0] * len(machines.gate), FOUND
    power = given = 0.0
    for i in range(12):
        p1 = max(p_outside - (p_outside - q.p1) * (m / q.m_drawn) ** 2, 0.5 * q.p1)
        power, status, warmth = 0.0, FOUND, 0.0
        for t, share in enumerate(q.share):
            wheel, lines = machines.wheel[t], machines.lines[t]
            mt = float(share * m)
            omega[t], found = limited_speed(
                wheel, lines, mt, p1, q.T1, q.R1, q.cp1, p2 / q.k_head[t], most_speed(machines, t)
            )
            omega[t] *= q.trim[t]
            status = found if found != FOUND else status
            work = q.k_work[t] * limited_head(wheel, lines, omega[t], mt, p1, q.T1, q.R1, q.cp1)[1]
            power += mt * work
            warmth += share * work
        T2 = q.T1 + warmth / q.cp1
        T_charge = q.T_charge + q.passed * (T2 - q.T2)
        p3_ratio, force, given = exhaust(machines, q, omega, m * q.exhaust_per_charge, r2)
        p3 = float(q.p3.mean())
        pull = (p2 - HINDRANCE * p3 * p3_ratio) / (q.p2 - HINDRANCE * p3)
        flow = q.m * min(max(pull * (q.T_charge / T_charge) ** COOLING, 0.3), 3.0)
        close = abs(flow - m) < 1e-6 * m
        m = flow if i < 2 else 0.5 * (m + flow)
        if close:
            break
    residual = given / power - 1.0 if power > 0.0 else inf
    return Balance(p2, status, residual, list(omega), force, p3_ratio, T2, T_charge, m)


def exhaust(
    machines: Machines, q: Means, omega: list[float], flow: float, r2: float
) -> tuple[float, list[float], float]:
    """Exhaust pressures over their means, gate forces [N] and power [W] to the shafts at which all gas leaves.

    flow [kg/s] that leaves the engine; r2 : charge pressure over its mean.
    """
    p_outside, T_outside = float(machines.outside[O_P]), float(machines.outside[O_T])
    grown = (flow / q.m_exhaust) ** 2
    p4 = p_outside + (q.p4 - p_outside) * grown
    p_behind = p_outside + (q.p_behind - p_outside) * grown

    def passed(ratio: float) -> tuple[float, list[float], float]:
        swallowed = given = 0.0
        for e, (turbo, _, _) in enumerate(machines.entry_at.tolist()):
            m, work, _ = turbine_flow(
                machines.turbine[e], omega[turbo], q.p3[e] * ratio, q.T3[e], q.R3[e], q.cp3[e], p4[e], T_outside
            )
            swallowed += q.k_flow[e] * m
            given += machines.shaft[turbo, H_EFFICIENCY] * q.k_power[e] * q.k_flow[e] * m * work
        forces = forces_at(machines, q, ratio, r2, p_behind)
        for w, way in enumerate(machines.way_at):
            g = way[W_GATE]
            lift = lift_at_force(machines.gate[g], forces[g]) + q.lift_offset[g]
            lift = min(max(lift, 0.0), machines.gate[g, G_MAX_LIFT])
            area = machines.way_share[w] * gate_area(machines.gate[g], lift)
            flux = orifice_flux(q.p_before[w] * ratio, q.T_before[w], q.R_before[w], q.cp_before[w], p_behind[w])
            swallowed += q.k_gate[w] * area * flux
        return swallowed / flow - 1.0, forces, given

    low, high = min(0.4 * float((p4 / q.p3).min()), 0.9), 1.0
    result = passed(high)
    f_low, f_high = -1.0, result[0]
    while f_high < 0.0 and high < 20.0:
        low, f_low = high, f_high
        high *= 1.25
        result = passed(high)
        f_high = result[0]
    ratio = high
    for i in range(60):
        if abs(result[0]) < 1e-8:
            break
        ratio = (
            0.5 * (low + high) if i % 3 == 2 or not f_high > f_low else low - f_low * (high - low) / (f_high - f_low)
        )
        result = passed(ratio)
        if abs(result[0]) < 1e-8 or high - low < 1e-10 * high:
            break
        if result[0] > 0.0:
            high, f_high = ratio, result[0]
        else:
            low, f_low = ratio, result[0]
    return ratio, result[1], result[2]


def forces_at(machines: Machines, q: Means, ratio: float, r2: float, p_behind: Floats) -> list[float]:
    """Mean force [N] on each gate with exhaust pressures ``ratio`` and charge signals ``r2`` times their means."""
    forces = []
    for g in range(len(machines.gate)):
        ways = machines.way_at[:, W_GATE] == g
        share = machines.way_share[ways] / machines.way_share[ways].sum()
        before = float(share @ q.p_before[ways]) * ratio
        behind = float(share @ p_behind[ways])
        p_open = q.p_open[g] * (r2 if q.open_follows else 1.0)
        p_close = q.p_close[g] * (r2 if q.close_follows else 1.0)
        forces.append(gate_force(machines.gate[g], p_open, p_close, float(machines.outside[O_P]), before, behind))
    return forces


def balance(machines: Machines, q: Means, least: float, most: float) -> Balance:
    """Root over p2 of the power balance between ``least`` and ``most`` times the mean p2.

    status BALANCED; AT_LOW_BOUND, AT_HIGH_BOUND where the root lies beyond; OVERSPEED where the wheel's bound holds it.
    """

    def residual(state: Balance) -> float:
        # No legal speed gives this pressure: too much is asked. The slowest gives more: too little.
        if state.status != FOUND:
            return -1.0 if state.status == TOO_HIGH else 1.0
        return state.residual

    floor, ceiling = max(least * q.p2, 0.9 * q.p1), most * q.p2
    state = trial(machines, q, min(max(q.p2, floor), ceiling))
    low = high = state
    r = residual(state)
    if r > 0.0:
        while r > 0.0:
            if high.p2 >= ceiling:
                return _told(high, AT_HIGH_BOUND)
            low, high = high, trial(machines, q, min(1.08 * high.p2, ceiling))
            r = residual(high)
    else:
        while r <= 0.0:
            if low.p2 <= floor:
                return _told(low, AT_LOW_BOUND)
            high, low = low, trial(machines, q, max(low.p2 / 1.08, floor))
            r = residual(low)
    for i in range(60):
        r_low, r_high = residual(low), residual(high)
        share = 0.5 if i % 3 == 2 or max(r_low, -r_high) >= 1.0 else r_low / (r_low - r_high)
        state = trial(machines, q, low.p2 + share * (high.p2 - low.p2))
        r = residual(state)
        if abs(r) < 1e-6 or high.p2 - low.p2 < 1e-7 * high.p2:
            break
        if r > 0.0:
            low = state
        else:
            high = state
    overspeed = residual(low) > 1e-3 and high.status == TOO_HIGH and abs(r) > 1e-3
    return _told(low, OVERSPEED) if overspeed else _told(state, BALANCED)


def _told(state: Balance, status: int) -> Balance:
    state.status = status
    return state
