"""Names of the columns of the cylinder arrays, the codes in them, and the arrays' NamedTuple.

Axes throughout the folder: k = cylinder; column names say the rest. Crank angles are each cylinder's
own, in degrees from its firing top dead centre, -360 to 360.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoolwright.gas.burned import BurnedTable
from spoolwright.gas.ignition import IgnitionTable
from spoolwright.gas.unburned import ChargeSpecies

# Columns of Cylinders.design[k]: what a cycle does not change
BORE, CRANK_RADIUS, ROD, OFFSET, CLEARANCE = 0, 1, 2, 3, 4  # m, m3 (without the crevice)
HEAD_AREA, PISTON_AREA = 5, 6  # m2, all wall area in the head and on the piston
HEAD_VOLUME = 7  # m3, volume above the deck plane; the liner begins below it
FLAME_TABLE = 8  # which of Cylinders.flame
N_PLUGS = 9
T_HEAD, T_PISTON, T_LINER = 10, 11, 12  # K, gas-side wall temperatures
HEAT_MODEL, HEAT_MULTIPLIER = 13, 14
BURN_MODEL = 15
C_U, C_TAU, SEED_SHARE, LENGTH_SHARE, BURN_FACTOR = 16, 17, 18, 19, 20
WIEBE_DELAY, WIEBE_DURATION, WIEBE_SHAPE = 21, 22, 23  # deg, deg, -
SPARK = 24  # deg
KNOCK_LIMIT = 25  # knock integral at which the mean cycle counts as knocking
KNOCK_FACTOR = 26  # calibration factor on the ignition delay
STEP, STEP_BURNING = 27, 28  # deg, longest inner step without and with a flame
AIR_FUEL_STOICHIOMETRIC = 29
CREVICE = 30  # m3, above the top ring and in the plug thread; not in CLEARANCE
N_DESIGN = 31

# Burn models
NO_BURN, ENTRAINMENT, WIEBE, INSTANT = 0, 1, 2, 3

# Columns of Cylinders.state[k]
MODE = 0
ENERGY = 1  # J, absolute internal energy of the gas in the chamber
MASS = 2  # kg, gas in the chamber
BURNED_MASS = 3  # kg, burned zone (0 while there is one zone)
ENTRAINED_MASS = 4  # kg, behind the flame front, burned zone included
Y_AIR, Y_FUEL, Y_RESIDUAL = 5, 6, 7  # mass fractions of the gas that is not in the burned zone
S_UNBURNED = 8  # J/(kg K), specific entropy of the unburned zone
THETA = 9  # deg
VOLUME = 10  # m3
P, T_UNBURNED, T_BURNED = 11, 12, 13  # Pa, K; T_UNBURNED is the one temperature while there is one zone
P_RATE, T_RATE = 14, 15  # Pa/s, K/s over the last step; mean temperature
PHI = 16  # equivalence ratio of the burned gas (cut of the table)
PHI_FRESH = 17  # of fresh air and fuel alone
X_RESIDUAL = 18  # mole fraction of residual in the unburned gas
P_CLOSED, T_CLOSED, V_CLOSED, THETA_CLOSED = 19, 20, 21, 22  # state when the valves closed
MASS_CLOSED = 23
U_SPARK, LENGTH_SPARK, RHO_SPARK, THETA_SPARK = 24, 25, 26, 27
S_CORE, T_CORE = 28, 29  # adiabatic core of the end gas
VALVES_OPEN = 30  # 1 while a valve is open
# Tallies since ``start_tally``
WORK, Q_HEAD, Q_PISTON, Q_LINER = 31, 32, 33, 34  # J, by the gas; into the walls
# Records of the closed part, set back when the valves close
KNOCK, KNOCK_RATE = 35, 36  # integral so far; 1/s at the last step
KNOCK_85 = 37  # integral at 85 % burned
KNOCK_ANGLE, KNOCK_UNBURNED = 38, 39  # deg where the integral reaches the limit, mass fraction unburned there
ANGLE_02, ANGLE_10, ANGLE_50, ANGLE_90 = 40, 41, 42, 43  # deg at which that share of the mass has burned
P_MAX, ANGLE_P_MAX = 44, 45
P_BEFORE, P_BEFORE_2, STEP_BEFORE = 46, 47, 48  # for the parabola through the peak
T_CORE_MAX = 49
Q_CLOSED = 50  # J, wall heat of the closed part
WORK_CLOSED = 51  # J
E_CLOSED = 52  # J, internal energy when the valves closed, crevice included
Q_UNBURNED = 53  # J, the part of it that the unburned gas lost
# Gas in the crevice, kg and J; MASS and ENERGY do not count it
CREVICE_AIR, CREVICE_FUEL, CREVICE_BURNED, CREVICE_ENERGY = 54, 55, 56, 57
N_STATE = 58

# Values of MODE
ONE_ZONE = 0  # one mixture of fresh gas and burned table: valves open, or after the burn
UNBURNED = 1  # valves shut, before the spark: one frozen mixture
BURNING = 2  # two zones

# Status returned by kernels
OK, NO_SOLUTION = 0, 1

NEVER = 999.0  # deg, for an angle that was not reached


class Cylinders(NamedTuple):
    """All cylinders of an engine as arrays.

    design (k, N_DESIGN); state (k, N_STATE); charge_c (k, 2, 7) and charge_R (k,): the unburned mixture of each;
    slices (k, n_p + 2, n_T + 2, 2): burned table cut to each cylinder's mixture; flame (tables, h, q, c);
    velocity (parts, columns) of ``burning_velocity``.
    """

    design: NDArray[np.float64]
    state: NDArray[np.float64]
    charge_c: NDArray[np.float64]
    charge_R: NDArray[np.float64]
    slices: NDArray[np.float64]
    flame: NDArray[np.float64]
    velocity: NDArray[np.float64]
    species: ChargeSpecies
    table: BurnedTable
    delay: IgnitionTable
