"""Rows of wastegate, cooler and blow-off valve from plain numbers.

Everything here is geometry and handbook relations; what a builder did not measure is the caller's to assume and list.
"""

from __future__ import annotations

from math import exp, log, pi

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import PchipInterpolator

from spoolwright.boost.compressor_table import level_ended_slopes
from spoolwright.boost.rows import (
    B_AREA,
    B_FULL,
    B_OPENS,
    C_FLOW_STEP,
    C_HEAT_CAPACITY,
    C_LOSS,
    C_TABLE,
    COOLER_POINTS,
    G_BLEED,
    G_COUNT,
    G_DIAPHRAGM,
    G_DISCHARGE,
    G_LAG,
    G_LEVER,
    G_MAX_LIFT,
    G_PORT,
    G_PRELOAD,
    G_RATE,
    G_VALVE,
    N_BLOW_OFF,
    N_COOLER,
    N_GATE,
    Floats,
)

SIDE = {"open": 1.0, "shut": -1.0, "neither": 0.0}
BLOW_OFF_DISCHARGE = 0.6  # of a short poppet or piston in a bent branch; common practice, no source
BLOW_OFF_BAND = 0.5  # share over the opening difference at which it stands fully open; not measured
NTU_EXPONENT = -0.2  # of charge flow: h rises with m^0.8 in turbulent passages (Dittus-Boelter), NTU = h A / (m cp)


def gate_row(
    *,
    diaphragm_diameter: float,
    valve_diameter: float,
    port_diameter: float,
    preload: float,
    rate: float,
    max_lift: float,
    exhaust_pushes: str,
    lever: float = 1.0,
    discharge: float = 0.7,
    count: int = 1,
    bleed: float = 0.0,
    lag: float = 0.02,
) -> Floats:
    """Row of a wastegate: lengths [m], preload [N], rate [N/m], lag [s]; lever = arm of the valve over that of the rod.

    exhaust_pushes : "open", "shut" or "neither".
    """
    row = np.zeros(N_GATE)
    row[G_DIAPHRAGM] = 0.25 * pi * diaphragm_diameter**2
    row[G_VALVE] = SIDE[exhaust_pushes] * 0.25 * pi * valve_diameter**2 * lever
    row[G_PRELOAD], row[G_RATE], row[G_LEVER], row[G_MAX_LIFT] = preload, rate, lever, max_lift
    row[G_PORT], row[G_DISCHARGE], row[G_COUNT] = port_diameter, discharge, count
    row[G_BLEED], row[G_LAG] = bleed, lag
    return row


def cooler_row(
    flow: ArrayLike, effectiveness: ArrayLike, loss: float, loss_flow: float, loss_density: float, heat_capacity: float
) -> Floats:
    """Row of a charge cooler from effectiveness [-] over rising charge flow [kg/s].

    loss [Pa] at loss_flow [kg/s] and loss_density [kg/m3]; heat_capacity [J/K] of the core's metal.
    Outside the measured flows the first and the last effectiveness hold.
    """
    m, eps = np.asarray(flow, float), np.asarray(effectiveness, float)
    row = np.zeros(N_COOLER)
    grid = np.linspace(0.0, m[-1], COOLER_POINTS)
    row[C_FLOW_STEP] = grid[1]
    row[C_LOSS] = loss * loss_density / loss_flow**2
    row[C_HEAT_CAPACITY] = heat_capacity
    lead = np.r_[0.0, 0.5 * m[0], m], np.r_[eps[0], eps[0], eps]
    curve = PchipInterpolator(*lead) if m[0] > 0.0 else PchipInterpolator(m, eps)
    row[C_TABLE : C_TABLE + COOLER_POINTS] = curve(grid)
    row[C_TABLE + COOLER_POINTS :] = level_ended_slopes(curve(grid))
    return row


def effectiveness_over_flow(effectiveness: float, at_flow: float) -> tuple[Floats, Floats]:
    """Flow [kg/s] and effectiveness [-] of a cooler of which one value at one flow is known.

    Coolant in excess (eps = 1 - exp(-NTU)) and NTU ~ m^-0.2, turbulent on the charge side; up to twice the flow.
    """
    flow = at_flow * np.r_[0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0]
    ntu = -log(1.0 - effectiveness) * (flow / at_flow) ** NTU_EXPONENT
    return flow, np.array([1.0 - exp(-n) for n in ntu])


def blow_off_row(opens_at: float, diameter: float) -> Floats:
    """Row of a blow-off valve: difference [Pa] at which it opens, port diameter [m]."""
    row = np.zeros(N_BLOW_OFF)
    row[B_OPENS] = opens_at
    row[B_FULL] = opens_at + max(BLOW_OFF_BAND * opens_at, 5e3)
    row[B_AREA] = BLOW_OFF_DISCHARGE * 0.25 * pi * diameter**2
    return row
