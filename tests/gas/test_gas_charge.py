"""The unburned charge: mixture, inverses, continuity, against Cantera on the same composition."""

from __future__ import annotations

from math import log

import cantera
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spoolwright.constants import GAS_CONSTANT
from spoolwright.gas.air import humid_air
from spoolwright.gas.equilibrium import PRODUCTS, burned_gas
from spoolwright.gas.fuels import ETHANOL, stoichiometric_ratio
from spoolwright.gas.model import GasModel, fuel_fraction, gas_model
from spoolwright.gas.unburned import (
    NO_CONVERGENCE,
    OK,
    Charge,
    charge,
    charge_h_cp,
    charge_s0_cp,
    charge_T_from_s0,
    charge_T_from_u,
    charge_u,
    charge_u_cv,
)

AIR = humid_air(303.15, 98e3, 0.6)


@pytest.fixture(scope="module")
def model() -> GasModel:
    return gas_model(ETHANOL, AIR, 1.1)


@pytest.fixture(scope="module")
def library() -> cantera.Solution:
    every = {species.name: species for species in cantera.Species.list_from_file("nasa_gas.yaml")}
    names = [*(name.replace("AR", "Ar") for name in PRODUCTS), "C2H5OH"]
    return cantera.Solution(thermo="ideal-gas", species=[every[name] for name in names])


def library_state(model: GasModel, gas: cantera.Solution, y: tuple[float, float, float]) -> dict[str, float]:
    """Mass fractions of the library's species for air, fuel and residual of the model (phi = 1.1 is a node)."""
    table, frozen = burned_gas(ETHANOL, AIR)
    weights = dict(zip(gas.species_names, gas.molecular_weights, strict=True))
    at_node = frozen[int(np.argmin(abs(table.phi - 1.1)))]
    total: dict[str, float] = {"C2H5OH": y[1]}
    for share, moles in ((y[0], AIR.mole_fractions), (y[2], zip(PRODUCTS, at_node, strict=True))):
        by_mass = {name.replace("AR", "Ar"): x * weights[name.replace("AR", "Ar")] for name, x in moles}
        for name, mass in by_mass.items():
            total[name] = total.get(name, 0.0) + share * mass / sum(by_mass.values())
    return total


@pytest.mark.parametrize("y", [(1.0, 0.0, 0.0), (0.85, 0.1, 0.05), (0.0, 0.0, 1.0), (0.3, 0.2, 0.5)])
@pytest.mark.parametrize("T", [280.0, 600.0, 1000.0, 1400.0])
def test_charge__as_the_library(
    y: tuple[float, float, float], T: float, model: GasModel, library: cantera.Solution
) -> None:
    """Same mass fractions, formation enthalpy included. 1e-3 of ethanol's heating value is our rounding."""
    library.TPY = T, 1e5, library_state(model, library, y)
    gas = charge(model.species, *y)
    h, cp = charge_h_cp(gas, T)
    assert pytest.approx(GAS_CONSTANT / library.mean_molecular_weight, rel=1e-9) == gas.R
    assert cp == pytest.approx(library.cp_mass, rel=1e-6)
    assert h == pytest.approx(library.enthalpy_mass, abs=500.0)


@pytest.mark.parametrize("T1", [300.0, 420.0])
@pytest.mark.parametrize("ratio", [5.0, 25.0, 80.0])
def test_isentropic_compression__as_the_library(
    T1: float, ratio: float, model: GasModel, library: cantera.Solution
) -> None:
    y = (0.83, 0.1, 0.07)
    library.TPY = T1, 1e5, library_state(model, library, y)
    library.SP = library.s, ratio * 1e5
    gas = charge(model.species, *y)
    T2, status = charge_T_from_s0(gas, charge_s0_cp(gas, T1)[0] + gas.R * log(ratio), T1)
    assert status == OK
    assert pytest.approx(library.T, rel=2e-6) == T2


mass_fractions = st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 0.3), st.floats(0.0, 1.0)).map(
    lambda y: tuple(v / sum(y) for v in y) if sum(y) > 1e-3 else (1.0, 0.0, 0.0)
)


@settings(max_examples=200, deadline=None)  # the first call compiles
@given(y=mass_fractions, T=st.floats(200.0, 3000.0), start=st.floats(200.0, 3000.0))
def test_inverses__return_the_temperature(y: tuple[float, float, float], T: float, start: float) -> None:
    gas = charge(gas_model(ETHANOL, AIR, 1.1).species, *y)
    T_u, status_u = charge_T_from_u(gas, charge_u(gas, T), start)
    T_s, status_s = charge_T_from_s0(gas, charge_s0_cp(gas, T)[0], start)
    assert (status_u, status_s) == (OK, OK)
    assert T_u == pytest.approx(T, rel=1e-8)
    assert T_s == pytest.approx(T, rel=1e-8)


def test_inverse__energy_out_of_reach_is_reported(model: GasModel) -> None:
    gas = charge(model.species, 1.0, 0.0, 0.0)
    assert charge_T_from_u(gas, 1e9, 300.0)[1] == NO_CONVERGENCE
    assert charge_T_from_u(gas, float("nan"), 300.0)[1] == NO_CONVERGENCE


def test_heat_capacity__is_the_slope_of_energy_and_entropy(model: GasModel) -> None:
    gas = charge(model.species, 0.85, 0.08, 0.07)
    for T in (250.0, 480.0, 999.0, 1001.0, 1800.0):
        d = 1e-3 * T if abs(T - 1000.0) > 5.0 else 0.4
        slope_h = (charge_h_cp(gas, T + d)[0] - charge_h_cp(gas, T - d)[0]) / (2 * d)
        slope_s = (charge_s0_cp(gas, T + d)[0] - charge_s0_cp(gas, T - d)[0]) / (2 * d)
        u, cv = charge_u_cv(gas, T)
        h, cp = charge_h_cp(gas, T)
        assert (slope_h, T * slope_s) == (pytest.approx(cp, rel=1e-5), pytest.approx(cp, rel=1e-5))
        assert (h - u, cp - cv) == (pytest.approx(gas.R * T), pytest.approx(gas.R))


def test_energy_and_entropy__continuous_at_1000_K(model: GasModel) -> None:
    gas = charge(model.species, 0.5, 0.2, 0.3)
    below, above = Charge(gas.c[[0, 0]], gas.R), Charge(gas.c[[1, 1]], gas.R)
    assert charge_u(below, 1000.0) == pytest.approx(charge_u(above, 1000.0), abs=1e-6)
    assert charge_s0_cp(below, 1000.0)[0] == pytest.approx(charge_s0_cp(above, 1000.0)[0], abs=1e-9)


def test_fuel_fraction__is_that_of_the_atom_balance(model: GasModel) -> None:
    assert model.air_fuel_stoichiometric == pytest.approx(stoichiometric_ratio(ETHANOL, AIR))
    y = fuel_fraction(1.1, model.air_fuel_stoichiometric)
    assert (1.0 - y) / y == pytest.approx(model.air_fuel_stoichiometric / 1.1)
