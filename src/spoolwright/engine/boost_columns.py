"""The boost columns of a point: what stands on the compressor's and the turbine's map, and the gate."""

from __future__ import annotations

from math import sqrt
from typing import Any

import numpy as np

from spoolwright.boost.compressor_roots import choke_flow, surge_flow
from spoolwright.boost.rows import G_MAX_LIFT, K_DIAMETER, T_DIAMETER
from spoolwright.engine.assemble import Model
from spoolwright.engine.machinery import AtStop
from spoolwright.engine.parts import O_P, S_ENTHALPY, S_MASS, TIME
from spoolwright.engine.readings import Readings
from spoolwright.engine.run import Cycle
from spoolwright.engine.surrogate import most_speed
from spoolwright.gas.duct import T_from_sensible

LEAST_GAUGE = 1e3  # Pa; below it the ratio of two gauge pressures says nothing


def boost_columns(model: Model, cycle: Cycle, r: Readings, p_manifold: float) -> tuple[dict[str, Any], dict[str, Any]]:
    """Columns of the first turbo by name, and lists over all turbos of those that differ by turbo."""
    each = [_of_turbo(model, cycle, r, t) for t in range(len(r.omega))]
    q, p_outside = r.means, float(cycle.engine.machines.outside[O_P])
    gauge = q.p2 - p_outside
    gated = float(r.way_flow.sum())
    opening = [float(x / g[G_MAX_LIFT]) for x, g in zip(r.lift, cycle.engine.machines.gate, strict=True)]
    columns = each[0] | {
        "pressure_ratio": q.p2 / q.p1,
        "boost_kPa": (p_manifold - p_outside) / 1e3,
        "compressor_outlet_temperature_K": q.T2,
        "charge_temperature_K": _charge_temperature(model, cycle),
        "wastegate_opening": max(opening) if opening else None,
        "wastegate_flow_share": gated / q.m_exhaust if opening else None,
        "drive_pressure_ratio": (each[0]["turbine_inlet_pressure_kPa"] * 1e3 - p_outside) / gauge
        if gauge > LEAST_GAUGE
        else None,
        "cooler_effectiveness": r.effectiveness,
    }
    return columns, {name: [one[name] for one in each] for name in each[0]} if len(each) > 1 else {}


def _of_turbo(model: Model, cycle: Cycle, r: Readings, t: int) -> dict[str, Any]:
    assert model.turbo is not None
    x, q, reference = cycle.engine.machines, r.means, model.turbo.reference
    omega, m = float(r.omega[t]), float(q.share_drawn[t] * q.m_drawn)
    wheel, lines = x.wheel[t], x.lines[t]
    tip = 0.5 * omega * float(wheel[K_DIAMETER])
    ideal = q.cp1 * q.T1 * ((q.p2 / q.p1) ** (q.R1 / q.cp1) - 1.0)
    surge, _ = surge_flow(wheel, lines, q.p1, q.T1, q.R1, q.cp1, q.p2, most_speed(x, t))
    choke = choke_flow(wheel, lines, omega, q.p1, q.T1, q.R1, q.cp1)
    mine = x.entry_at[:, 0] == t
    flow, power, available = (float(a[mine].sum()) for a in (r.turbine_flow, r.turbine_power, r.turbine_ideal))
    weight = r.turbine_flow[mine] / flow if flow > 0.0 else np.full(int(mine.sum()), 1.0 / mine.sum())
    p3, T3, p4 = (float(weight @ a[mine]) for a in (q.p3, q.T3, q.p4))
    spouting = sqrt(2.0 * available / flow) if flow > 0.0 and available > 0.0 else 0.0
    turned = 0.5 * omega * float(x.turbine[np.flatnonzero(mine)[0], T_DIAMETER])
    taken = float(r.compressor_power[t])
    return {
        "corrected_flow_kg_s": m * sqrt(q.T1 / reference.T) / (q.p1 / reference.p),
        "compressor_efficiency": m * ideal / taken if taken > 0.0 else None,
        "turbo_speed_rpm": omega * 30.0 / np.pi,
        "tip_speed_m_s": tip,
        "surge_margin": (m - surge) / m if m > 0.0 else None,
        "choke_margin": (choke - m) / m if m > 0.0 else None,
        "surge_side_time": float(r.surge_time[t]),
        "compressor_power_kW": taken / 1e3,
        "turbine_power_kW": power / 1e3,
        "turbine_inlet_pressure_kPa": p3 / 1e3,
        "turbine_inlet_temperature_K": T3,
        "expansion_ratio": p3 / p4,
        "turbine_efficiency": power / available if available > 0.0 else None,
        "blade_speed_ratio": turned / spouting if spouting > 0.0 else None,
        "shaft_closure": abs(float(r.power_error[t])),
    }


def _charge_temperature(model: Model, cycle: Cycle) -> float:
    """Enthalpy-mean temperature [K] of the charge where it comes to hat, throttle or plenum."""
    place, tally = model.machinery.charge, cycle.tally
    if not isinstance(place, AtStop):
        assert place is not None
        return float(tally.T_mean[place.node] / tally.numbers[TIME])
    duct = model.engine.gas.duct
    end = 2 * place.duct + 1
    fuel = 1.0 / (1.0 + model.lam * model.engine.gas.air_fuel_stoichiometric) if model.machinery.drawn_through else 0.0
    y = np.array([1.0 - fuel, fuel, 0.0])
    R, a, b = (float(y @ row) for row in (duct.R, duct.a, duct.b))
    return float(T_from_sensible(a + R, b, tally.end[end, S_ENTHALPY] / max(float(tally.end[end, S_MASS]), 1e-12)))
