"""What drives a cylinder at one instant: burn rates of the flame and heat into the walls.

Wall heat is counted zone by zone, each with its own wetted area and temperature and one common
coefficient. Burned wetted area = area the front has passed times V_b / V_f, since gas that is entrained
but not yet burned shares it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.burning_velocity import laminar_burning_velocity
from spoolwright.cylinder.flame import flame_rates, kinematic_viscosity, turbulence
from spoolwright.cylinder.geometry import flame_areas
from spoolwright.cylinder.heat import (
    C1_CLOSED,
    C1_OPEN,
    C2_COMBUSTION,
    MOTORED_EXPONENT,
    coefficient,
    woschni_velocity,
)
from spoolwright.cylinder.kinematics import piston_stroke
from spoolwright.kernel import kernel

Array = NDArray[np.float64]


@kernel
def mean_piston_speed(design: Array, omega: float) -> float:
    """Mean piston speed [m/s] at the crank speed omega [rad/s]."""
    return piston_stroke(design[r.CRANK_RADIUS], design[r.ROD], design[r.OFFSET]) * omega / np.pi


@kernel
def heat_coefficient(design: Array, state: Array, V: float, p: float, T_mean: float, rho: float, omega: float) -> float:
    """Heat transfer coefficient [W/(m2 K)] of the cylinder's chosen model."""
    speed = mean_piston_speed(design, omega)
    bore = design[r.BORE]
    if state[r.VALVES_OPEN] > 0.0:
        velocity = C1_OPEN * speed
    else:
        swept = 0.25 * np.pi * bore * bore * 2.0 * design[r.CRANK_RADIUS]
        v_closed = state[r.V_CLOSED]
        p_motored = state[r.P_CLOSED] * np.exp(MOTORED_EXPONENT * np.log(v_closed / V))
        velocity = woschni_velocity(
            C1_CLOSED, speed, C2_COMBUSTION, swept, state[r.T_CLOSED], state[r.P_CLOSED], v_closed, p, p_motored
        )
    return coefficient(int(design[r.HEAT_MODEL]), design[r.HEAT_MULTIPLIER], bore, V, p, T_mean, rho, speed, velocity)


@kernel
def liner_area(design: Array, V: float) -> float:
    """Liner area the gas sees [m2]."""
    return max(4.0 * (V - design[r.HEAD_VOLUME]) / design[r.BORE], 0.0)


@kernel
def one_zone_heat(
    design: Array, state: Array, V: float, p: float, T: float, omega: float
) -> tuple[float, float, float]:
    """Heat flow into head, piston and liner [W] from one zone at T."""
    if design[r.HEAT_MULTIPLIER] <= 0.0:
        return 0.0, 0.0, 0.0
    h = heat_coefficient(design, state, V, p, T, state[r.MASS] / V, omega)
    head = h * design[r.HEAD_AREA] * (T - design[r.T_HEAD])
    piston = h * design[r.PISTON_AREA] * (T - design[r.T_PISTON])
    liner = h * liner_area(design, V) * (T - design[r.T_LINER])
    return head, piston, liner


@kernel
def enflamed(
    design: Array, flame_table: Array, V: float, V_b: float, m_behind: float, rho_u: float
) -> tuple[float, float, float, float, float]:
    """Front area, then burned wetted area of head, piston, liner [m2], and the enflamed volume [m3]."""
    V_f = min(max(V_b + m_behind / rho_u, 0.0), V)
    b = 0.5 * design[r.BORE]
    area, head, piston, liner = flame_areas(flame_table, np.log(V / (np.pi * b**3)), (V_f / V) ** (1.0 / 3.0))
    share = b * b * min(V_b / V_f, 1.0) if V_f > 0.0 else 0.0
    # the table's walls are those of the bare chamber; a domed piston or a finned head has more
    head *= share * design[r.HEAD_AREA] / flame_table[0, -1, 1] / (b * b)
    piston *= share * design[r.PISTON_AREA] / flame_table[0, -1, 2] / (b * b)
    return area * b * b, head, piston, liner * share, V_f


@kernel
def two_zone_rates(
    design: Array,
    state: Array,
    flame_table: Array,
    velocity: Array,
    R_u: float,
    V: float,
    p: float,
    T_u: float,
    T_b: float,
    m_b: float,
    m_e: float,
    omega: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Rates while there are two zones (or only the burned one).

    Returns dm_b/dt, dm_e/dt [kg/s], heat from the unburned and burned zone [W], and heat into head,
    piston, liner [W]. ``state`` gives what is constant over a step.
    """
    mass = state[r.MASS]
    m_u = mass - m_b
    dm_b = dm_e = q_u = q_b = 0.0
    all_liner = liner_area(design, V)
    front, head, piston, liner, V_f = 0.0, design[r.HEAD_AREA], design[r.PISTON_AREA], all_liner, V
    rho_u = mass / V
    if m_u > 0.0:
        rho_u = p / (R_u * T_u)
        V_b = max(V - m_u / rho_u, 0.0)
        front, head, piston, liner, V_f = enflamed(design, flame_table, V, V_b, max(m_e - m_b, 0.0), rho_u)
        liner = min(liner, all_liner)
    heat_head = heat_piston = heat_liner = 0.0
    if design[r.HEAT_MULTIPLIER] > 0.0:
        T_mean = p * V / (mass * R_u)
        h = heat_coefficient(design, state, V, p, T_mean, mass / V, omega)
        heat_head = h * head * (T_b - design[r.T_HEAD])
        heat_piston = h * piston * (T_b - design[r.T_PISTON])
        heat_liner = h * liner * (T_b - design[r.T_LINER])
        q_b = heat_head + heat_piston + heat_liner
        if m_u > 0.0:
            u_head = h * (design[r.HEAD_AREA] - head) * (T_u - design[r.T_HEAD])
            u_piston = h * (design[r.PISTON_AREA] - piston) * (T_u - design[r.T_PISTON])
            u_liner = h * (all_liner - liner) * (T_u - design[r.T_LINER])
            q_u = u_head + u_piston + u_liner
            heat_head += u_head
            heat_piston += u_piston
            heat_liner += u_liner
    if m_u > 0.0 and design[r.BURN_MODEL] == r.ENTRAINMENT:
        u_t, length = turbulence(state[r.U_SPARK], state[r.LENGTH_SPARK], state[r.RHO_SPARK], rho_u)
        s_l = laminar_burning_velocity(velocity, state[r.PHI_FRESH], T_u, p, state[r.X_RESIDUAL])
        radius = (1.5 * V_f / (np.pi * design[r.N_PLUGS])) ** (1.0 / 3.0)
        nu = kinematic_viscosity(T_u, rho_u)
        behind = max(m_e - m_b, 0.0)
        dm_b, dm_e, _ = flame_rates(rho_u, front, radius, u_t, length, nu, s_l, behind, design[r.C_TAU])
        dm_b *= design[r.BURN_FACTOR]
        dm_e *= design[r.BURN_FACTOR]
    return dm_b, dm_e, q_u, q_b, heat_head, heat_piston, heat_liner
