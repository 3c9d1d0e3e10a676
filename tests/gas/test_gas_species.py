"""The coefficient table against the data file it comes from, and its own consistency."""

from __future__ import annotations

import cantera
import numpy as np
import pytest

from spoolwright.constants import GAS_CONSTANT
from spoolwright.gas.polynomials import enthalpy, entropy, of_mixture, of_species
from spoolwright.gas.species import SPECIES, molar_cp, molar_enthalpy, molar_entropy, molar_mass

NAMES = {
    "AR": "Ar",
    "isooctane": "C8H18,isooctane",
    "heptane": "C7H16,n-heptane",
    "toluene": "C7H8",
    "methanol": "CH3OH",
    "ethanol": "C2H5OH",
}


@pytest.fixture(scope="module")
def library() -> dict[str, cantera.Species]:
    return {species.name: species for species in cantera.Species.list_from_file("nasa_gas.yaml")}


@pytest.mark.parametrize("name", SPECIES)
@pytest.mark.parametrize("T", [250.0, 298.15, 700.0, 999.0, 1001.0, 1700.0, 3000.0])
def test_species__as_the_data_file(name: str, T: float, library: dict[str, cantera.Species]) -> None:
    source = library[NAMES.get(name, name)]
    assert molar_cp(name, T) == pytest.approx(source.thermo.cp(T), rel=1e-10)
    assert molar_enthalpy(name, T) == pytest.approx(source.thermo.h(T), rel=1e-10, abs=1.0)
    assert molar_entropy(name, T) == pytest.approx(source.thermo.s(T), rel=1e-10)
    assert {k.upper(): v for k, v in source.composition.items()} == SPECIES[name].atoms
    assert molar_mass(SPECIES[name].atoms) == pytest.approx(source.molecular_weight, rel=1e-9)


@pytest.mark.parametrize("name", SPECIES)
def test_coefficients__continuous_at_1000_K(name: str) -> None:
    low, high = of_species(name)
    scale = low[0] * 1000.0
    assert abs(enthalpy(low, 1000.0) - enthalpy(high, 1000.0)) < 1e-12 * abs(scale) * 1e2
    assert entropy(low, 1000.0) == pytest.approx(entropy(high, 1000.0), rel=1e-12)


@pytest.mark.parametrize("name", SPECIES)
def test_coefficients__shift_at_1000_K_is_small(name: str) -> None:
    """The shift that makes h continuous stays below 0.1 K, so it cannot hide a wrong coefficient."""
    M = molar_mass(SPECIES[name].atoms)
    shift = enthalpy(of_species(name)[1], 1500.0) - molar_enthalpy(name, 1500.0) / M
    assert abs(shift) < 0.1 * molar_cp(name, 1500.0) / M


def test_mixture__as_the_library() -> None:
    parts = (("N2", 0.6), ("H2O", 0.2), ("CO", 0.15), ("OH", 0.05))
    species = {s.name: s for s in cantera.Species.list_from_file("nasa_gas.yaml")}
    gas = cantera.Solution(thermo="ideal-gas", species=[species[name] for name, _ in parts])
    c, R = of_mixture(parts)
    assert pytest.approx(GAS_CONSTANT / np.dot([x for _, x in parts], gas.molecular_weights), rel=1e-12) == R
    for T in (300.0, 900.0, 2200.0):
        gas.TPX = T, 1e5, dict(parts)
        assert enthalpy(c[0 if T <= 1000.0 else 1], T) == pytest.approx(gas.enthalpy_mass, rel=2e-5)
