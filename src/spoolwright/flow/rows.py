"""Names of the rows and columns of every array of the flow network; no bare index elsewhere.

Axes used throughout the folder: v = variable (5), i = cell, f = face, e = duct end, k = node,
l = link, j = join. All ducts lie end to end in one run of cells; each duct has one ghost cell at
either end. Face f is the left face of cell f, so a run of N cells has N + 1 faces.
"""

from __future__ import annotations

# Conserved rows of U[v, i], per metre of duct length (that is: times the cross-section)
MASS, MOM, ENE, FUEL, BURN = 0, 1, 2, 3, 4
# Primitive rows of W[v, i] and of the face states
RHO, VEL, PRE, YF, YB = 0, 1, 2, 3, 4
N_VAR = 5

# Rows of the auxiliary cell array aux[row, i]
TEM, GAM, RATE = 0, 1, 2
N_AUX = 3

# Species order of the gas data: air, fuel vapour, burned gas
AIR, FUEL_VAPOUR, BURNED = 0, 1, 2

# Node kinds
AMBIENT = 0  # fixed pressure, temperature and composition
VOLUME = 1  # plenum: one mass, energy and composition, gas at rest
JUNCTION = 2  # small volume that keeps the momentum of the streams that enter it
CYLINDER = 3  # pressure, temperature, enthalpy and composition are written by the caller

# What a duct end is joined to when it is not a node (values of Ends.node)
CLOSED = -1
JOINED = -2

# Columns of Nodes.state[k, column]
N_MASS = 0  # kg
N_ENE = 1  # J, sensible (junction: with its kinetic energy)
N_FUEL = 2  # kg fuel vapour
N_BURN = 3  # kg burned gas
N_VOL = 4  # m3
N_P = 5  # Pa
N_T = 6  # K
N_R = 7  # J/(kg K)
N_CP = 8  # J/(kg K)
N_YF = 9  # -
N_YB = 10  # -
N_H = 11  # J/kg, specific enthalpy handed out with the gas, in the duct's sensible count
N_MX, N_MY, N_MZ = 12, 13, 14  # kg m/s, momentum (junctions only)
N_P_OLD, N_T_OLD = 15, 16  # state one step before, for mid-step extrapolation
N_STATE = 17

# Columns of Nodes.flow[k, column]: sums over all that enters the node during a step, per second
Q_MASS, Q_ENE, Q_FUEL, Q_BURN, Q_MX, Q_MY, Q_MZ = 0, 1, 2, 3, 4, 5, 6
N_FLOW = 7

# Columns of Ends.state[e, column]: face state found by the last solve, velocity along the duct
E_P, E_U, E_RHO, E_YF, E_YB = 0, 1, 2, 3, 4
N_END = 5
# Columns of Ends.flow[e, column]: out of the duct
E_MDOT, E_HDOT = 0, 1

# Rows of DuctMesh.friction[row, i]: coefficients of the Darcy factor in powers of Re^(-1/4)
N_FRICTION = 5
