"""The arrays of a whole engine: flow network, cylinders, the valves between them, and where fuel enters.

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
STEPS, TIME, EVAPORATED = 0, 1, 2
N_NUMBERS = 3


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


class Engine(NamedTuple):
    """Everything one run needs, as arrays that kernels take whole. Cylinder k is flow node k."""

    net: Network
    cylinders: Cylinders
    phase: Floats  # (K,) deg; the cylinder's own angle = engine angle - phase
    valves: Valves
    mixers: Mixers
    gas: GasModel
    latent_left: float  # J/kg fuel, latent heat of the share that reaches the cylinders liquid


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
    numbers: Floats  # (N_NUMBERS,) steps; time [s]; J taken for evaporation in the cylinders
