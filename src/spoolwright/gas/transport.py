"""Viscosity and heat conductivity of the gas, for wall friction and heat in ducts and cylinder.

Model: Sutherland's law with the constants of ISO 2533:1975 for all three species; conductivity from
a constant Prandtl number 0.71 (air at 300 K; memory). Burned gas and rich mixtures lie within about
10 % of air at the same temperature (memory): friction goes with the 0.2 power or less of it.
"""

from __future__ import annotations

from spoolwright.gas.air import viscosity
from spoolwright.kernel import kernel

PRANDTL = 0.71


gas_viscosity = kernel(viscosity)  # dynamic viscosity [Pa s] at T [K], one formula for sums and solver


@kernel
def gas_conductivity(T: float, cp: float) -> float:
    """Heat conductivity [W/(m K)] at T [K] of a gas with heat capacity cp [J/(kg K)]."""
    return gas_viscosity(T) * cp / PRANDTL
