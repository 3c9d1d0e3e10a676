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

# Rows of the mid-step array mid[row, i]: pressure at half time; half step times velocity over cell
# length; half the share of the slope that is kept
P_HALF, DRIFT, KEPT = 0, 1, 2
N_MID = 3

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

# Columns of Nodes.table[k, column]
N_MASS = 0  # kg
N_ENE = 1  # J, sensible (junction: with its kinetic energy)
N_FUEL = 2  # kg fuel vapour
N_BURN = 3  # kg burned gas
N_MX, N_MY, N_MZ = 4, 5, 6  # kg m/s, momentum (junctions only)
N_VOL = 7  # m3
N_P = 8  # Pa
N_T = 9  # K
N_R = 10  # J/(kg K)
N_CP = 11  # J/(kg K)
N_YF = 12  # -
N_YB = 13  # -
N_H = 14  # J/kg, specific enthalpy handed out with the gas, in the duct's sensible count
N_P_OLD, N_T_OLD = 15, 16  # Pa, K, one step before, for mid-step extrapolation
# ... sums over all that enters the node during a step, per second; same order as the contents
Q_MASS, Q_ENE, Q_FUEL, Q_BURN, Q_MX, Q_MY, Q_MZ = 17, 18, 19, 20, 21, 22, 23
N_RATE = 24  # m3/s, open area times signal speed around the node (scratch of the step limit)
N_NODE = 25

# Columns of Ends.index[e, column]: last inner cell; -1 start or +1 stop; node, CLOSED or JOINED
E_CELL, E_SIDE, E_NODE = 0, 1, 2
# Columns of Ends.table[e, column]
E_AREA = 0  # m2, duct
E_RATIO_OUT = 1  # -, effective nozzle area over duct area, out of the duct; written by the caller
E_RATIO_IN = 2  # -, the same into the duct
E_AX, E_AY, E_AZ = 3, 4, 5  # unit vector from the duct into its junction, or zero
E_P, E_U, E_RHO, E_YF, E_YB = 6, 7, 8, 9, 10  # face state of the last step, velocity along the duct
E_MDOT, E_HDOT = 11, 12  # kg/s and W out of the duct
N_END = 13

# Columns of Joins.index[j, column] (duct ends) and Joins.table[j, column]
J_A, J_B = 0, 1
J_THROAT_AB, J_THROAT_BA = 0, 1  # m2, effective throat for flow from a to b, and back
J_P_THROAT = 2  # Pa, of the last step
J_MDOT = 3  # kg/s from a to b
N_JOIN = 4

# Columns of Links.index[l, column] (nodes) and Links.table[l, column]
L_A, L_B = 0, 1
L_AREA = 0  # m2, effective
L_MDOT = 1  # kg/s from a to b
N_LINK = 2

# Rows of DuctMesh.geometry[row, i]
G_A_INVERSE = 0  # 1/m2
G_DA = 1  # m2, right less left face
G_WIDENING = 2  # dA over cell area
G_RDX = 3  # 1/m, zero in ghost cells
G_AREA = 4  # m2, cell volume over length
N_GEOMETRY = 5

# Rows of DuctMesh.wall[row, i]
W_F0, W_F1, W_F2, W_F3, W_F4 = 0, 1, 2, 3, 4  # Darcy factor in powers of Re^(-1/4)
W_N0, W_N1, W_N2, W_N3, W_N4 = 5, 6, 7, 8, 9  # Nusselt number over Re, likewise
N_POWERS = 5
W_D, W_D_INVERSE = 10, 11  # m, 1/m
W_VISCOUS = 12  # 1 with a laminar limit, 0 for a constant factor
W_LOSS = 13  # 1/m, loss coefficient per metre
W_HEAT = 14  # -, Nusselt number over its steady value
W_T = 15  # K, wall temperature
N_WALL = 16
