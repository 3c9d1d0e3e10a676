"""Everything the solver needs to know about the gas of one run, in one bundle.

One fuel, one moist air, one equivalence ratio that names the residual and the burned gas in ducts.
Burned gas in the cylinder may have another equivalence ratio: cut the table again for it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from spoolwright.gas.air import HumidAir
from spoolwright.gas.burned import BurnedSlice, BurnedTable, phi_weights, slice_at
from spoolwright.gas.duct import DuctGas, duct_gas
from spoolwright.gas.equilibrium import PRODUCTS, burned_gas
from spoolwright.gas.fuels import Fuel, stoichiometric_ratio
from spoolwright.gas.polynomials import Coefficients, of_mixture
from spoolwright.gas.unburned import ChargeSpecies, charge_species
from spoolwright.kernel import kernel


class GasModel(NamedTuple):
    """Gas of one run; arrays and floats only, so kernels take it whole.

    table : burned gas over equivalence ratio, ln p, T
    slice : the table at ``phi``
    species : AIR, FUEL, BURNED as polynomials (cylinder charge)
    duct : the same three with linear heat capacity (ducts, volumes)
    phi : equivalence ratio of the residual and of BURNED in ducts
    air_fuel_stoichiometric : mass of moist air that just burns unit mass of fuel
    """

    table: BurnedTable
    slice: BurnedSlice
    species: ChargeSpecies
    duct: DuctGas
    phi: float
    air_fuel_stoichiometric: float


def gas_model(fuel: Fuel, air: HumidAir, phi: float) -> GasModel:
    """GasModel of ``fuel`` in moist ``air`` at equivalence ratio ``phi`` (1 / lambda).

    Raises OutsideRange for phi outside 0.5..1.8, BadInput for a fuel that would make soot.
    """
    table, _ = burned_gas(fuel, air)
    cut_table = slice_at(table, phi)
    species = charge_species(fuel, air, frozen_burned(fuel, air, phi))
    return GasModel(table, cut_table, species, duct_gas(species).gas, float(phi), stoichiometric_ratio(fuel, air))


def frozen_burned(fuel: Fuel, air: HumidAir, phi: float) -> tuple[Coefficients, float]:
    """Coefficients (2, 7) and R of burned gas whose composition froze at 1700 K and 5 bar."""
    table, frozen = burned_gas(fuel, air)
    k, *weights = phi_weights(table.phi, float(phi))
    fractions = np.array(weights) @ frozen[k : k + 4]
    return of_mixture(zip(PRODUCTS, map(float, fractions), strict=True))


@kernel
def fuel_fraction(phi: float, air_fuel_stoichiometric: float) -> float:
    """Mass of fuel per mass of fresh mixture at equivalence ratio ``phi``."""
    return phi / (phi + air_fuel_stoichiometric)
