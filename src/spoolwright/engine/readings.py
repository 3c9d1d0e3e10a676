"""What the machines of a turbocharged engine did in a cycle: means by node, flow and power, factors over their maps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spoolwright.boost.gate import gate_area, gate_force, lift_at_force
from spoolwright.boost.turbine import turbine_flow
from spoolwright.engine.limited_map import limited_head
from spoolwright.engine.machinery import Machinery
from spoolwright.engine.parts import (
    H_EFFICIENCY,
    K_MASS,
    K_SPEED,
    K_SURGE,
    K_T_IN,
    K_WORK,
    O_P,
    O_T,
    ON_END,
    S_MASS,
    TIME,
    V_INTAKE,
    W_BEFORE,
    W_BEHIND,
    W_GATE,
    W_KIND,
    W_PLACE,
    X_IDEAL,
    X_MASS,
    X_T_IN,
    X_WORK,
    Z_MASS,
    Z_T_IN,
    Z_T_OUT,
    Engine,
    Floats,
    Ints,
    Machines,
    Tally,
)
from spoolwright.engine.surrogate import Means
from spoolwright.flow.nozzle import orifice_flux
from spoolwright.flow.rows import N_CP, N_R

FACTORS = (0.2, 5.0)  # bounds of the turbine's and gate's factors
HEAD_FACTORS, WORK_FACTORS = (0.9, 1.1), (0.8, 1.25)


@dataclass
class Readings:
    """The last cycle by turbo (t), turbine entry (e), way past a turbine (w), gate (g); SI."""

    means: Means
    omega: Floats  # (t,)
    compressor_power: Floats  # (t,) W
    surge_time: Floats  # (t,) share of the cycle
    turbine_flow: Floats  # (e,) kg/s
    turbine_power: Floats  # (e,) W at the wheel
    turbine_ideal: Floats  # (e,) W
    way_flow: Floats  # (w,) kg/s
    lift: Floats  # (g,)
    power_error: Floats  # (t,) eta_m P_t / P_c - 1
    effectiveness: float | None  # of the coolers together


def read(engine: Engine, tally: Tally, machinery: Machinery) -> Readings:
    """Readings of the cycle whose sums stand in ``tally``; lifts and maps as the cycle was run."""
    x, nodes = engine.machines, engine.net.nodes
    time = float(tally.numbers[TIME])
    p, T = tally.p_mean / time, tally.T_mean / time
    turned, gone = tally.compressor, tally.turbine
    inlet, outlet = machinery.compressors[0].inlet, machinery.compressors[0].outlet
    total = float(turned[:, K_MASS].sum())
    drawn_flow = total / time
    omega = turned[:, K_SPEED] / time
    share = turned[:, K_MASS] / total if total > 0.0 else np.full(len(turned), 1.0 / len(turned))
    T1 = float(turned[:, K_T_IN].sum()) / total if total > 0.0 else float(T[inlet])
    cp1, R1 = float(nodes[inlet, N_CP]), float(nodes[inlet, N_R])
    T2 = T1 + float(turned[:, K_WORK].sum()) / max(total, 1e-9) / cp1
    effectiveness, T_charge = None, T2
    if len(x.cooler_at):
        cooled = tally.cooling.sum(axis=0)
        T_in, T_charge = (float(cooled[c] / max(cooled[Z_MASS], 1e-9)) for c in (Z_T_IN, Z_T_OUT))
        coolant = float(x.cooler_state[:, 1].mean())
        effectiveness = (T_in - T_charge) / (T_in - coolant) if abs(T_in - coolant) > 1.0 else 0.0
    volute, behind = x.entry_at[:, 1], x.entry_at[:, 2]
    entry_mass = np.maximum(gone[:, X_MASS], 1e-12)
    before, after = x.way_at[:, W_BEFORE], x.way_at[:, W_BEHIND]
    fuel = float(tally.fuel[:, 0].sum())
    drawn = bool((engine.mixers.node == inlet).any())
    signal = x.gate_signal
    way_flow = np.array([_way_flow(tally, way) for way in x.way_at]) / time
    intake = engine.valves.rows[:, V_INTAKE] == 1
    taken = float(tally.valve_mass[intake].sum())
    air_share = 1.0 if drawn else max(taken - fuel, 1e-9) / max(taken, 1e-9)
    q = Means(
        m=max(taken * air_share / time, 1e-6),
        m_drawn=max(drawn_flow, 1e-6),
        m_exhaust=max(float(gone[:, X_MASS].sum()) / time + float(way_flow.sum()), 1e-6),
        exhaust_per_charge=1.0 / air_share,
        p1=float(p[inlet]),
        T1=T1,
        R1=R1,
        cp1=cp1,
        p2=float(p[outlet]),
        T2=T2,
        T_charge=T_charge,
        passed=1.0 - min(max(effectiveness or 0.0, 0.0), 1.0),
        p_open=p[signal[:, 0]],
        p_close=p[signal[:, 1]],
        open_follows=_follows(machinery, signal, 0),
        close_follows=_follows(machinery, signal, 1),
        share=share,
        share_drawn=share,
        trim=np.ones(len(turned)),
        p3=p[volute],
        T3=np.where(gone[:, X_MASS] > 0.0, gone[:, X_T_IN] / entry_mass, T[volute]),
        R3=nodes[volute, N_R],
        cp3=nodes[volute, N_CP],
        p4=p[behind],
        p_before=p[before],
        p_behind=p[after],
        T_before=T[before],
        R_before=nodes[before, N_R],
        cp_before=nodes[before, N_CP],
    )
    P_c = turned[:, K_WORK] / time
    P_t = np.zeros(len(turned))
    np.add.at(P_t, x.entry_at[:, 0], gone[:, X_WORK] / time)
    r = Readings(
        means=q,
        omega=omega,
        compressor_power=P_c,
        surge_time=turned[:, K_SURGE] / time,
        turbine_flow=gone[:, X_MASS] / time,
        turbine_power=gone[:, X_WORK] / time,
        turbine_ideal=gone[:, X_IDEAL] / time,
        way_flow=way_flow,
        lift=tally.lift / time,
        power_error=x.shaft[:, H_EFFICIENCY] * P_t / np.maximum(P_c, 1e-3) - 1.0,
        effectiveness=effectiveness,
    )
    _take_factors(engine, r)
    return r


def _follows(machinery: Machinery, signal: Ints, side: int) -> bool:
    return bool(len(signal)) and int(signal[0, side]) != machinery.stations["open_air"]


def _way_flow(tally: Tally, way: Ints) -> float:
    """Mass [kg] of the cycle through one way past a turbine."""
    if way[W_KIND] == ON_END:
        return float(tally.end[way[W_PLACE], S_MASS])
    return float(tally.link_mass[way[W_PLACE]])


def _take_factors(engine: Engine, r: Readings) -> None:
    """Measured over map at the mean state: what pulsation and filling do."""
    x, q = engine.machines, r.means
    T_outside = float(x.outside[O_T])
    flows, works, gates, heads, gains = [], [], [], [], []
    for e, (turbo, _, _) in enumerate(x.entry_at.tolist()):
        m, work, _ = turbine_flow(x.turbine[e], r.omega[turbo], q.p3[e], q.T3[e], q.R3[e], q.cp3[e], q.p4[e], T_outside)
        flows.append(_factor(r.turbine_flow[e], m, FACTORS))
        works.append(_factor(r.turbine_power[e], flows[-1] * m * work, FACTORS))
    for w, way in enumerate(x.way_at):
        area = x.way_share[w] * gate_area(x.gate[way[W_GATE]], r.lift[way[W_GATE]])
        flux = orifice_flux(q.p_before[w], q.T_before[w], q.R_before[w], q.cp_before[w], q.p_behind[w])
        gates.append(_factor(r.way_flow[w], area * flux, FACTORS))
    for t, share in enumerate(q.share):
        p2, work = limited_head(x.wheel[t], x.lines[t], r.omega[t], share * q.m_drawn, q.p1, q.T1, q.R1, q.cp1)
        heads.append(_factor(q.p2, p2, HEAD_FACTORS))
        gains.append(_factor(r.compressor_power[t], share * q.m_drawn * work, WORK_FACTORS))
    q.k_flow, q.k_power, q.k_gate = map(np.array, (flows, works, gates))
    q.force = np.array([gate_force(x.gate[g], *gate_pressures(x, q, g)) for g in range(len(x.gate))])
    still = [lift_at_force(x.gate[g], force) for g, force in enumerate(q.force)]
    q.lift_offset = r.lift - np.array(still)
    # A pair shares its factors by flow: those of a stalled twin would hold it where it stands.
    q.k_head = np.full(len(heads), float(q.share @ np.array(heads)))
    q.k_work = np.full(len(gains), float(q.share @ np.array(gains)))


def _factor(measured: float, mapped: float, bounds: tuple[float, float]) -> float:
    if abs(mapped) < 1e-9:
        return 1.0
    return min(max(float(measured / mapped), bounds[0]), bounds[1])


def gate_pressures(x: Machines, q: Means, g: int) -> tuple[float, float, float, float, float]:
    """Mean pressures [Pa] on gate g: opening side, closing side, outside, before and behind the valve."""
    ways = x.way_at[:, W_GATE] == g
    share = x.way_share[ways] / x.way_share[ways].sum()
    before, behind = float(share @ q.p_before[ways]), float(share @ q.p_behind[ways])
    return float(q.p_open[g]), float(q.p_close[g]), float(x.outside[O_P]), before, behind
