"""Charge cooler: effectiveness over flow, pressure loss, heat soaked up by its metal.

    T_out = T_in - eps(m) (T_in - T_coolant),   dp = K m^2 / rho
Steady effectiveness is a table over charge flow, made from a measured one or from NTU (``cooler_fit``).
Soak: charge -> core -> coolant, two resistances in series. Half of the NTU's resistance is put on the charge side,
    eps_h = 1 - (1 - eps)^2,   1/G_c = (1/eps - 1/eps_h) / (m cp)
so that the core at rest gives the steady effectiveness, and a cold core gives more for as long as it lasts. The even
split is an assumption (air on both sides; water cores lie nearer the coolant).
"""

from __future__ import annotations

from spoolwright.boost.rows import C_FLOW_STEP, C_LOSS, C_TABLE, COOLER_POINTS, Floats
from spoolwright.kernel import kernel

EPS_MOST = 0.999  # the coolant side of a better cooler would conduct without end


@kernel
def cooler_effectiveness(cooler: Floats, mdot: float) -> float:
    """Steady effectiveness [-] at charge flow mdot [kg/s]; the table's last value holds beyond it."""
    s = abs(mdot) / cooler[C_FLOW_STEP]
    i = min(int(s), COOLER_POINTS - 2)
    w = min(s - i, 1.0)
    a, b = cooler[C_TABLE + i], cooler[C_TABLE + i + 1]
    da, db = cooler[C_TABLE + COOLER_POINTS + i], cooler[C_TABLE + COOLER_POINTS + i + 1]
    return a + w * (da + w * (3.0 * (b - a) - 2.0 * da - db + w * (2.0 * (a - b) + da + db)))


@kernel
def cooler_outlet_temperature(cooler: Floats, mdot: float, T_in: float, T_coolant: float) -> float:
    """Charge temperature [K] behind a cooler in steady state."""
    return T_in - cooler_effectiveness(cooler, mdot) * (T_in - T_coolant)


@kernel
def cooler_core_temperature(cooler: Floats, mdot: float, T_in: float, T_coolant: float) -> float:
    """Temperature [K] of the core's metal in steady state."""
    eps = cooler_effectiveness(cooler, mdot)
    return T_in - eps / (eps * (2.0 - eps)) * (T_in - T_coolant)


@kernel
def cooler_soak(
    cooler: Floats, mdot: float, T_in: float, T_core: float, T_coolant: float, cp: float
) -> tuple[float, float, float]:
    """Cooler whose core has a temperature of its own.

    Returns (T_out [K] of the charge, heat [W] from charge to core, heat [W] from core to coolant).
    The core warms by (the first less the second) / its heat capacity.
    """
    eps = cooler_effectiveness(cooler, mdot)
    T_out = T_in - eps * (2.0 - eps) * (T_in - T_core)
    # Coolant side: 1/eps - 1/eps_h = (1 - eps) / eps_h. Its conductance does not vanish with the charge flow.
    moving = max(abs(mdot), cooler[C_FLOW_STEP])
    eps = min(cooler_effectiveness(cooler, moving), EPS_MOST)
    conductance = moving * cp * eps * (2.0 - eps) / (1.0 - eps)
    return T_out, abs(mdot) * cp * (T_in - T_out), conductance * (T_core - T_coolant)


@kernel
def cooler_loss(cooler: Floats, mdot: float, rho: float) -> float:
    """Pressure loss [Pa] at charge density rho [kg/m3], with the sign of the flow."""
    return cooler[C_LOSS] * mdot * abs(mdot) / rho
