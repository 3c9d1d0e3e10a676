"""Steps of one cylinder: valves shut (own inner steps) and valves open (the flow's step).

State: absolute internal energy E, volume, total mass, composition; with two zones also s_u, m_b, m_e.
Pressure and temperatures are solved from these (``zones``). Heun for burn rates and wall heat, implicit
trapezoid for piston work, so E changes by exactly what flowed, was done and was lost:

    E' = E + H - Q - (p + p') (V' - V) / 2

Order in a cycle: ``close_valves``, ``advance_closed`` (sparks by itself), ``open_valves``,
``advance_open``. Burning goes on through the opening while anything is left to burn; ``merge_zones``
(at inlet opening) ends that and puts what is left unburned back among fresh gas.
Each step begins with the crevice taking or giving gas (``crevice``). Missing: blow-by, liquid fuel as a volume.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.changes import ignite, merge_zones
from spoolwright.cylinder.crevice import breathe
from spoolwright.cylinder.rates import one_zone_heat, two_zone_rates
from spoolwright.cylinder.records import note_burn, note_knock, note_peak
from spoolwright.cylinder.rows import Cylinders
from spoolwright.cylinder.views import burned_cut, mean_temperature, unburned_charge, volume_at
from spoolwright.cylinder.wiebe import A_COMPLETE, burned_fraction
from spoolwright.cylinder.zones import solve_charge, solve_mixture, solve_two_zones
from spoolwright.gas.burned import BurnedSlice
from spoolwright.gas.ignition import IgnitionTable
from spoolwright.gas.unburned import Charge
from spoolwright.kernel import kernel

Array = NDArray[np.float64]

ROUGH, FINE = 1e-2, 1e-5  # tolerance of predictor and corrector; both are quadratic, FINE leaves about 1e-10
SMALLEST_UNBURNED = 1e-3  # mass share at which the rest burns in one step
LARGEST_BURN = 0.9  # share of the unburned mass that one step may burn


@kernel
def _step_unburned(
    s: Array, d: Array, gas: Charge, V: float, dt: float, omega: float, d_energy: float
) -> tuple[float, float, float, float, int]:
    """One zone of frozen mixture to volume V; d_energy [J] came in by flow.

    Returns heat into head, piston, liner [J], work [J], status.
    """
    half = 0.5 * (V - s[r.VOLUME])
    left = s[r.ENERGY] - s[r.P] * half + d_energy
    h1, p1, l1 = one_zone_heat(d, s, s[r.VOLUME], s[r.P], s[r.T_UNBURNED], omega)
    q = (h1 + p1 + l1) * dt
    p, T, status = solve_charge(gas, s[r.MASS], V, left - q, half, s[r.T_UNBURNED])
    h2, p2, l2 = h1, p1, l1
    if d[r.HEAT_MULTIPLIER] > 0.0:
        h2, p2, l2 = one_zone_heat(d, s, V, p, T, omega)
        q = 0.5 * (h1 + p1 + l1 + h2 + p2 + l2) * dt
        p, T, status = solve_charge(gas, s[r.MASS], V, left - q, half, T)
    work = (s[r.P] + p) * half
    s[r.ENERGY] += d_energy - work - q
    s[r.Q_UNBURNED] += q
    s[r.P], s[r.T_UNBURNED], s[r.T_BURNED] = p, T, T
    return 0.5 * (h1 + h2) * dt, 0.5 * (p1 + p2) * dt, 0.5 * (l1 + l2) * dt, work, status


@kernel
def _limited(dm_b: float, dm_e: float, m_b: float, m_e: float, mass: float, dt: float) -> tuple[float, float]:
    """Burned and entrained mass after dt, within what there is."""
    b = m_b + min(dm_b * dt, LARGEST_BURN * (mass - m_b))
    return b, min(max(m_e + dm_e * dt, b), mass)


@kernel
def _step_burning(
    s: Array,
    d: Array,
    gas: Charge,
    cut: BurnedSlice,
    flame: Array,
    velocity: Array,
    V: float,
    dt: float,
    dtheta: float,
    omega: float,
    d_energy: float,
) -> tuple[float, float, float, float, int]:
    """Two zones (or the burned one alone) to volume V; d_energy [J] came in by flow. As ``_step_unburned``."""
    mass, m_b, m_e, s_u = s[r.MASS], s[r.BURNED_MASS], s[r.ENTRAINED_MASS], s[r.S_UNBURNED]
    m_u = mass - m_b if m_b < mass else 0.0
    half = 0.5 * (V - s[r.VOLUME])
    left = s[r.ENERGY] - s[r.P] * half + d_energy
    T_u, T_b = s[r.T_UNBURNED], s[r.T_BURNED]
    b1, e1, qu1, qb1, h1, p1, l1 = two_zone_rates(
        d, s, flame, velocity, gas.R, s[r.VOLUME], s[r.P], T_u, T_b, m_b, m_e, omega
    )
    by_curve = d[r.BURN_MODEL] == r.WIEBE and m_u > 0.0
    x_curve = 0.0
    if by_curve:
        start = s[r.THETA_SPARK] + d[r.WIEBE_DELAY]
        y = (s[r.THETA] + dtheta - start) / d[r.WIEBE_DURATION]
        x_curve = max(burned_fraction(y, A_COMPLETE, d[r.WIEBE_SHAPE]) * mass, m_b)
    new_b, new_e = _limited(b1, e1, m_b, m_e, mass, dt)
    if by_curve:
        new_b = new_e = min(x_curve, mass)
    s_1 = s_u - qu1 * dt / (m_u * T_u) if m_u > 0.0 else s_u
    p, T_u1, T_b1, status = solve_two_zones(
        gas,
        cut,
        mass - new_b if m_u > 0.0 else 0.0,
        new_b,
        s_1,
        V,
        left - (qu1 + qb1) * dt,
        half,
        s[r.P],
        T_u,
        T_b,
        ROUGH,
    )
    b2, e2, qu2, qb2, h2, p2, l2 = two_zone_rates(d, s, flame, velocity, gas.R, V, p, T_u1, T_b1, new_b, new_e, omega)
    if m_u > 0.0:
        # an unburned zone that shrinks to nothing must not lose more than its own heat
        m_mid = max(mass - new_b, 0.1 * m_u)
        s_u -= 0.5 * dt * (qu1 / (m_u * T_u) + qu2 / (m_mid * T_u1))
        if not by_curve:
            new_b, new_e = _limited(0.5 * (b1 + b2), 0.5 * (e1 + e2), m_b, m_e, mass, dt)
        if mass - new_b < SMALLEST_UNBURNED * mass:
            new_b = new_e = mass
    q = 0.5 * (qu1 + qb1 + qu2 + qb2) * dt
    m_u2 = mass - new_b if new_b < mass else 0.0
    p, T_u2, T_b2, status = solve_two_zones(gas, cut, m_u2, new_b, s_u, V, left - q, half, p, T_u1, T_b1, FINE)
    if status != r.OK:
        return 0.0, 0.0, 0.0, 0.0, status
    work = (s[r.P] + p) * half
    s[r.ENERGY] += d_energy - work - q
    s[r.BURNED_MASS], s[r.ENTRAINED_MASS], s[r.S_UNBURNED] = new_b, new_e, s_u
    s[r.Q_UNBURNED] += 0.5 * (qu1 + qu2) * dt
    s[r.P], s[r.T_UNBURNED], s[r.T_BURNED] = p, T_u2, T_b2
    return 0.5 * (h1 + h2) * dt, 0.5 * (p1 + p2) * dt, 0.5 * (l1 + l2) * dt, work, status


@kernel
def _step(
    s: Array,
    d: Array,
    gas: Charge,
    cut: BurnedSlice,
    flame: Array,
    velocity: Array,
    delay: IgnitionTable,
    dtheta: float,
    omega: float,
    d_energy: float,
) -> int:
    """One inner step with records; the mode does not change but for the burn's end. Status.

    The parts of the arrays come one by one: handing the whole bundle through every call costs more than
    the step itself.
    """
    dt = dtheta * np.pi / 180.0 / omega
    V = volume_at(d, s[r.THETA] + dtheta)
    p_before, T_before = s[r.P], mean_temperature(s)
    x_before = s[r.BURNED_MASS] / s[r.MASS]
    if s[r.MODE] == r.BURNING:
        head, piston, liner, work, status = _step_burning(
            s, d, gas, cut, flame, velocity, V, dt, dtheta, omega, d_energy
        )
    else:
        head, piston, liner, work, status = _step_unburned(s, d, gas, V, dt, omega, d_energy)
    if status != r.OK:
        return status
    s[r.THETA] += dtheta
    s[r.VOLUME] = V
    s[r.WORK] += work
    s[r.Q_HEAD] += head
    s[r.Q_PISTON] += piston
    s[r.Q_LINER] += liner
    s[r.P_RATE] = (s[r.P] - p_before) / dt
    s[r.T_RATE] = (mean_temperature(s) - T_before) / dt
    if s[r.VALVES_OPEN] == 0.0:
        s[r.WORK_CLOSED] += work
        s[r.Q_CLOSED] += head + piston + liner
        note_peak(s, s[r.P], dtheta, s[r.THETA])
        if s[r.PHI_FRESH] > 0.0:
            note_knock(s, d, gas, delay, x_before, dt, dtheta)
    note_burn(s, x_before, dtheta)
    return status


@kernel
def advance_closed(c: Cylinders, k: int, dtheta: float, omega: float) -> int:
    """Carry cylinder k over ``dtheta`` [deg] with valves shut at the speed omega [rad/s]. Status.

    Inner steps are at most design STEP, or STEP_BURNING while there is a flame; the spark falls at its
    own angle. Needs ``close_valves`` before.
    """
    s, d = c.state[k], c.design[k]
    gas, cut = unburned_charge(c, k), burned_cut(c, k)
    flame = c.flame[int(d[r.FLAME_TABLE])]
    end = s[r.THETA] + dtheta
    burns = d[r.BURN_MODEL] != r.NO_BURN and s[r.PHI_FRESH] > 0.0
    status = r.OK
    while end - s[r.THETA] > 1e-9 and status == r.OK:
        step = d[r.STEP]
        span = end - s[r.THETA]
        if s[r.MODE] == r.BURNING:
            if s[r.BURNED_MASS] < s[r.MASS]:
                step = d[r.STEP_BURNING]
        elif burns:
            to_spark = d[r.SPARK] - s[r.THETA]
            if to_spark <= 1e-9:
                status = ignite(s, d, gas, cut, omega)
                continue
            span = min(span, to_spark)
        step = span / np.ceil(span / step - 1e-9)
        received = breathe(s, d, c.species, gas, cut, flame, step * np.pi / 180.0 / omega)
        status = _step(s, d, gas, cut, flame, c.velocity, c.delay, step, omega, received)
    return status


@kernel
def _exchange(s: Array, dm_air: float, dm_fuel: float, dm_burned: float) -> int:
    """Book the masses that entered (left if negative). Status."""
    dm = dm_air + dm_fuel + dm_burned
    mass = s[r.MASS] + dm
    if not mass > 0.0:
        return r.NO_SOLUTION
    if s[r.MODE] == r.BURNING:
        # what leaves takes both zones in proportion, so neither zone's state jumps; what enters comes from
        # the exhaust and joins the burned zone
        if dm < 0.0:
            s[r.BURNED_MASS] *= mass / s[r.MASS]
            s[r.ENTRAINED_MASS] *= mass / s[r.MASS]
        else:
            s[r.BURNED_MASS] += dm
            s[r.ENTRAINED_MASS] += dm
    else:
        air = max(s[r.Y_AIR] * s[r.MASS] + dm_air, 0.0) / mass
        fuel = max(s[r.Y_FUEL] * s[r.MASS] + dm_fuel, 0.0) / mass
        rest = max(s[r.Y_RESIDUAL] * s[r.MASS] + dm_burned, 0.0) / mass
        total = air + fuel + rest  # 1 but for round-off of a species that runs out
        s[r.Y_AIR], s[r.Y_FUEL], s[r.Y_RESIDUAL] = air / total, fuel / total, rest / total
    s[r.MASS] = mass
    return r.OK


@kernel
def _wrap(s: Array) -> None:
    if s[r.THETA] >= 360.0:
        s[r.THETA] -= 720.0


@kernel
def advance_open(
    c: Cylinders,
    k: int,
    dtheta: float,
    omega: float,
    dm_air: float,
    dm_fuel: float,
    dm_burned: float,
    d_enthalpy: float,
) -> int:
    """Carry cylinder k over ``dtheta`` [deg] with a valve open. Status.

    dm_air, dm_fuel, dm_burned : float [kg] that entered during the step (left if negative)
    d_enthalpy : float [J], ABSOLUTE enthalpy (formation included) that came with them
    One step, whatever dtheta is: the flow's own step limit is far shorter than the cylinder needs.
    """
    s, d = c.state[k], c.design[k]
    status = _exchange(s, dm_air, dm_fuel, dm_burned)
    if status != r.OK:
        return status
    flame = c.flame[int(d[r.FLAME_TABLE])]
    gas, cut = unburned_charge(c, k), burned_cut(c, k)
    dt = dtheta * np.pi / 180.0 / omega
    d_enthalpy += breathe(s, d, c.species, gas, cut, flame, dt)
    if s[r.MODE] == r.BURNING:
        status = _step(s, d, gas, cut, flame, c.velocity, c.delay, dtheta, omega, d_enthalpy)
        if status == r.OK:
            if s[r.BURNED_MASS] >= s[r.MASS]:
                status = merge_zones(c, k)
            _wrap(s)
            return status
        # a burned zone of a near misfire that cold gas from the exhaust swamps has no state of its own
        status = merge_zones(c, k)
        if status != r.OK:
            return status
    V = volume_at(d, s[r.THETA] + dtheta)
    half = 0.5 * (V - s[r.VOLUME])
    left = s[r.ENERGY] - s[r.P] * half + d_enthalpy
    h1, p1, l1 = one_zone_heat(d, s, s[r.VOLUME], s[r.P], s[r.T_UNBURNED], omega)
    q = (h1 + p1 + l1) * dt
    y_a, y_f, y_r, mass = s[r.Y_AIR], s[r.Y_FUEL], s[r.Y_RESIDUAL], s[r.MASS]
    p, T, status = solve_mixture(c.species, cut, y_a, y_f, y_r, mass, V, left - q, half, s[r.P], s[r.T_UNBURNED])
    h2, p2, l2 = h1, p1, l1
    if d[r.HEAT_MULTIPLIER] > 0.0:
        h2, p2, l2 = one_zone_heat(d, s, V, p, T, omega)
        q = 0.5 * (h1 + p1 + l1 + h2 + p2 + l2) * dt
        p, T, status = solve_mixture(c.species, cut, y_a, y_f, y_r, mass, V, left - q, half, p, T)
    work = (s[r.P] + p) * half
    s[r.ENERGY] += d_enthalpy - work - q
    s[r.P_RATE], s[r.T_RATE] = (p - s[r.P]) / dt, (T - s[r.T_UNBURNED]) / dt
    s[r.P], s[r.T_UNBURNED], s[r.T_BURNED] = p, T, T
    s[r.VOLUME] = V
    s[r.THETA] += dtheta
    s[r.WORK] += work
    s[r.Q_HEAD] += 0.5 * (h1 + h2) * dt
    s[r.Q_PISTON] += 0.5 * (p1 + p2) * dt
    s[r.Q_LINER] += 0.5 * (l1 + l2) * dt
    _wrap(s)
    return status
