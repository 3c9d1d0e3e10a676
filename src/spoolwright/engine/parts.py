"""The arrays of a whole engine: flow network, cylinders, the valves between them, where fuel enters, turbo machines.

Axes: k = cylinder, v = valve (all valves of one kind of one cylinder that share a port), m = mixer,
a = crank angle of the area table.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder.rows import Cylinders
from spoolwright.flow.network import Network
from spoolwright.gas.model import GasModel

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Columns of Valves.rows[v, column]
V_CYLINDER, V_KIND, V_PLACE, V_INTAKE = 0, 1, 2, 3
# What a valve hangs on: a duct end that meets the cylinder's node, or a link between a port node and it
ON_END, ON_LINK = 0, 1

# Columns of Tally.ambient[node, column]: what left the network into the node
A_MASS, A_ENTHALPY, A_FUEL, A_BURNED = 0, 1, 2, 3
N_AMBIENT = 4
# Columns of Tally.end[e, column]: pressure times time [Pa s]; mass [kg] and enthalpy [J, sensible] out of the duct
S_P, S_MASS, S_ENTHALPY = 0, 1, 2
N_END_SUMS = 3
# Entries of Tally.numbers
STEPS, TIME = 0, 1
N_NUMBERS = 2

# Columns of Machines.shaft[t, column]. A rate of zero holds what it would move.
H_SPEED_SQUARED = 0  # (rad/s)^2
H_FLOW = 1  # kg/s through the compressor, last step
H_RATE = 2  # 1/(kg m2), one over the inertia, or 0 for a speed held within the cycle
H_PASSAGE = 3  # m, area over length of the gas passage; 0 = flow follows the map at once
H_EFFICIENCY = 4  # -, share of turbine power that reaches the compressor
N_SHAFT = 5
# Columns of Machines.gate_state[g, column]
GS_LIFT = 0  # m
GS_FORCE = 1  # N, lagging
GS_RATE = 2  # 1/s, one over the lag, or 0 for a lift held within the cycle
N_GATE_STATE = 3
# Columns of Machines.way_at[w, column]
W_GATE, W_KIND, W_PLACE, W_BEFORE, W_BEHIND = 0, 1, 2, 3, 4
# Columns of Machines.cooler_state[c, column]
CS_CORE = 0  # K, of the metal
CS_COOLANT = 1  # K
CS_RATE = 2  # K/J, one over the heat capacity, or 0 for a core held within the cycle
N_COOLER_STATE = 3
# Entries of Machines.outside
O_P, O_T = 0, 1
# Columns of Tally.compressor[t, column], Tally.turbine[e, column], Tally.cooling[c, column]: times dt
K_MASS, K_WORK, K_T_IN, K_SURGE, K_BACK, K_SPEED = 0, 1, 2, 3, 4, 5  # kg, J, kg K, s on surge side, s backwards, rad
N_COMPRESSOR_SUMS = 6
X_MASS, X_WORK, X_T_IN, X_IDEAL, X_HEAT = 0, 1, 2, 3, 4  # kg, J to the wheel, kg K, J ideal, J lost by the housing
N_TURBINE_SUMS = 5
Z_MASS, Z_HEAT, Z_T_IN, Z_T_OUT = 0, 1, 2, 3  # kg forwards, J taken from the charge, kg K and kg K of that mass
N_COOLER_SUMS = 4


class Valves(NamedTuple):
    """Valves as effective areas over the crank angle of their own cylinder."""

    rows: Ints  # (V, 4) cylinder; ON_END or ON_LINK; duct end or link; 1 intake, 0 exhaust
    area_in: Floats  # (V, ANGLES) m2, into the cylinder
    area_out: Floats  # (V, ANGLES) m2, out of the cylinder


class Mixers(NamedTuple):
    """Nodes in which fuel joins air: carburettor hats and throats, injected ports.

    Fuel is added so that what leaves holds ``fuel_per_air``; mixture that comes back is not enriched twice.
    """

    node: Ints  # (M,)
    fuel_per_air: Floats  # (M,) kg/kg; 0 = no fuel here
    enthalpy: Floats  # (M,) J/kg in the ducts' sensible count, evaporation in the duct taken off


class Machines(NamedTuple):
    """Compressors, turbines, wastegates and coolers; no rows without a turbo. Columns of their own: boost/rows.py.

    Axes: t = turbo (compressor and shaft), e = turbine entry, g = wastegate, w = way of gas past a turbine.
    """

    compressor_at: Ints  # (t, 2) inlet node, outlet node
    wheel: Floats  # (t, N_COMPRESSOR) sizes
    lines: Floats  # (t, rows, N_LINE_COLUMNS) speed lines
    shaft: Floats  # (t, N_SHAFT)
    entry_at: Ints  # (e, 3) turbo, volute node, node behind the wheel
    turbine: Floats  # (e, N_TURBINE)
    gate: Floats  # (g, N_GATE)
    gate_state: Floats  # (g, N_GATE_STATE)
    gate_signal: Ints  # (g, 2) node on the opening side of the diaphragm, node on the closing side
    way_at: Ints  # (w, 5) gate; ON_END or ON_LINK; duct end or link; node before, node behind
    way_share: Floats  # (w,) share of the gates' area
    cooler_at: Ints  # (c, 2) node before, node behind
    cooler: Floats  # (c, N_COOLER)
    cooler_state: Floats  # (c, N_COOLER_STATE)
    outside: Floats  # (2,) Pa, K


class Engine(NamedTuple):
    """Everything one run needs, as arrays that kernels take whole. Cylinder k is flow node k."""

    net: Network
    cylinders: Cylinders
    phase: Floats  # (K,) deg; the cylinder's own angle = engine angle - phase
    valves: Valves
    mixers: Mixers
    machines: Machines
    gas: GasModel


class Tally(NamedTuple):
    """Sums over one cycle; reset by the loop at its start."""

    valve_mass: Floats  # (V,) kg into the cylinder, net
    ambient: Floats  # (nodes, N_AMBIENT): kg, J absolute, kg fuel, kg burned that left into the node
    fuel: Floats  # (M, 2): kg of fuel added, J absolute with it
    p_mean: Floats  # (nodes,) pressure times time [Pa s]
    T_mean: Floats  # (nodes,) temperature times time [K s]
    link_mass: Floats  # (L,) kg from a to b
    end: Floats  # (E, N_END_SUMS) sums at the duct ends
    closed: Floats  # (K, cylinder N_STATE) each cylinder's state when its valves had shut
    burned: Floats  # (K, cylinder N_STATE) the same just before: burn angles, knock, peak pressure of its last burn
    compressor: Floats  # (t, N_COMPRESSOR_SUMS)
    turbine: Floats  # (e, N_TURBINE_SUMS)
    cooling: Floats  # (c, N_COOLER_SUMS)
    lift: Floats  # (g,) lift of each wastegate times time [m s]
    numbers: Floats  # (N_NUMBERS,) steps; time [s]
