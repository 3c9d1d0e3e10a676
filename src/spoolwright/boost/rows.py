"""Names of the columns of every array of the boost kernels; no bare index elsewhere.

Axes: r = row over tip Mach number M, c = column. All SI.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Compressor: sizes[column]
K_DIAMETER = 0  # m, wheel at the outlet; its tip speed is U
K_M_STEP = 1  # -, tip Mach number from one row of the lines to the next
K_SHUT_OFF = 2  # -, head at zero flow over the peak's
K_REVERSE = 3  # -, rise of head over the peak's in reverse flow, at (phi/phi_peak)^2 = 1
K_LIMITER = 4  # -, head above the peak's, as a share, at which the surge limiter shuts the flow
K_CHOKED = 5  # -, quadratic loss beyond choke
K_AREA_OVER_LENGTH = 6  # m, of the gas passage; for the flow as a momentum state
K_SPEED_LIMIT = 7  # rad/s, highest shaft speed allowed
K_M_LOW, K_M_HIGH = 8, 9  # -, tip Mach numbers of the slowest and fastest measured line
N_COMPRESSOR = 10

# Compressor: lines[r, column]; the slope over M, times the step of M, stands N_LINE columns further
LINE_PHI_CHOKE = 0  # -, flow coefficient at which the head vanishes
LINE_PHI_PEAK = 1  # -, flow coefficient of the greatest head
LINE_PSI_PEAK = 2  # -, greatest head coefficient
LINE_POWER = 3  # -, exponent of the falling branch
LINE_PHI_SURGE = 4  # -, flow coefficient of the surge line
LINE_WORK = 5  # -, first of the work coefficients at WORK_KNOTS flows
WORK_KNOTS = 13
WORK_STEP = 0.1  # -, between those, in phi over phi_choke
N_LINE = LINE_WORK + WORK_KNOTS
N_LINE_COLUMNS = 2 * N_LINE
LINE_ROWS = 64

# Turbine: row[column], one for each entry
T_DIAMETER = 0  # m, wheel at the inlet
T_AREA = 1  # m2, effective swallowing area
T_PUMPING = 2  # -, loss of capacity by the wheel's own head
T_EXPONENT = 3  # -, of the swallowing curve
T_EFFICIENCY = 4  # -, greatest, total to static
T_BEST_RATIO = 5  # -, blade speed over spouting speed there
T_HEAT_LOSS = 6  # -, share of the gas's heat above outside that the housing loses
T_SPEED_LIMIT = 7  # rad/s, of the wheel; 0 unknown
N_TURBINE = 8

# Wastegate: gate[column]
G_DIAPHRAGM = 0  # m2, effective
G_VALVE = 1  # m2, on which exhaust acts, at the rod (times the lever), + where it opens, - where it shuts
G_PRELOAD = 2  # N, at the rod, shut
G_RATE = 3  # N/m, at the rod
G_LEVER = 4  # -, valve lift over rod travel
G_MAX_LIFT = 5  # m, of the valve
G_PORT = 6  # m, diameter of the hole
G_DISCHARGE = 7  # -, coefficient
G_COUNT = 8  # -, equal gates side by side
G_BLEED = 9  # -, share of the opening signal that is let off
G_LAG = 10  # s
N_GATE = 11

# Charge cooler: cooler[column]
C_FLOW_STEP = 0  # kg/s, between the points of the effectiveness
C_LOSS = 1  # kg/m3 Pa s2/kg2 = 1/m4, pressure loss is C_LOSS mdot^2 / rho
C_HEAT_CAPACITY = 2  # J/K, of the core's metal
C_TABLE = 3  # first of COOLER_POINTS values of effectiveness, then their slopes times the step
COOLER_POINTS = 17
N_COOLER = C_TABLE + 2 * COOLER_POINTS

# Blow-off valve: valve[column]
B_OPENS = 0  # Pa, charge over manifold pressure at which it opens
B_FULL = 1  # Pa, at which it is fully open
B_AREA = 2  # m2, effective, fully open
N_BLOW_OFF = 3
