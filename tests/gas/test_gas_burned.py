"""The burned-gas look-up: error against direct equilibrium, derivatives, inverses, edges."""

from __future__ import annotations

import os
import subprocess
import sys
from math import exp, log

import numpy as np
import pytest

from spoolwright.constants import GAS_CONSTANT
from spoolwright.errors import BadInput, OutsideRange
from spoolwright.gas.air import DRY_AIR, humid_air
from spoolwright.gas.burned import (
    NO_CONVERGENCE,
    OK,
    OUTSIDE,
    BurnedTable,
    burned,
    burned_cv,
    burned_gamma,
    burned_h_cp,
    burned_inside,
    burned_T_from_u,
    cut,
    cut_into,
    slice_at,
)
from spoolwright.gas.equilibrium import (
    LN_P_NODES,
    P_FROZEN,
    PHI_NODES,
    PRODUCTS,
    T_FROZEN,
    T_NODES,
    burned_gas,
    charge_atoms,
    equilibrate,
    solution,
    start_mixture,
)
from spoolwright.gas.fuels import ETHANOL, ISOOCTANE, Fuel, custom, grade
from spoolwright.gas.model import fuel_fraction, gas_model
from spoolwright.gas.species import SPECIES, molar_enthalpy, molar_mass
from spoolwright.gas.unburned import Charge, charge, charge_h_cp, charge_u

MOIST = humid_air(303.15, 98e3, 0.7)


@pytest.fixture(scope="module")
def table() -> BurnedTable:
    return burned_gas(ISOOCTANE, DRY_AIR)[0]


def direct(gas, fuel: Fuel, air, phi: float, p: float, T: float) -> tuple[float, float]:  # type: ignore[no-untyped-def]
    """u and R by the library at this very state, frozen below 1700 K."""
    start = start_mixture(charge_atoms(fuel, air, phi))
    equilibrate(gas, start, p, max(T, T_FROZEN))
    gas.TP = T, p
    return gas.int_energy_mass, GAS_CONSTANT / gas.mean_molecular_weight


def errors(fuel: Fuel, air, phis: np.ndarray, seed: int) -> tuple[np.ndarray, np.ndarray]:  # type: ignore[no-untyped-def, type-arg]
    """Errors of u as a temperature [K] and relative errors of R, at random p 0.2..320 bar, T 350..3500 K."""
    random = np.random.default_rng(seed)
    table, gas = burned_gas(fuel, air)[0], solution()
    off_u, off_R = [], []
    for phi in phis:
        p, T = exp(random.uniform(log(0.2e5), log(320e5))), random.uniform(350.0, 3500.0)
        u, R, u_T, *_ = burned(slice_at(table, phi), log(p), T)
        u_direct, R_direct = direct(gas, fuel, air, phi, p, T)
        off_u.append((u - u_direct) / u_T)
        off_R.append(R / R_direct - 1.0)
    return np.array(off_u), np.array(off_R)


@pytest.mark.parametrize(
    ("fuel", "air"),
    [(ISOOCTANE, DRY_AIR), (ETHANOL, MOIST), (grade("petrol 95 RON"), MOIST)],
    ids=["isooctane", "ethanol, moist", "petrol, moist"],
)
def test_table__against_direct_equilibrium(fuel: Fuel, air) -> None:  # type: ignore[no-untyped-def]
    """At most 0.5 K, 0.05 K rms over the whole range and close to equivalence ratio 1."""
    random = np.random.default_rng(7)
    for phis in (random.uniform(0.5, 1.8, 400), random.uniform(0.95, 1.05, 400)):
        off_u, off_R = errors(fuel, air, phis, seed=11)
        assert abs(off_u).max() <= 0.5
        assert np.sqrt((off_u**2).mean()) <= 0.05
        assert abs(off_R).max() <= 5e-5


def test_nodes__1700_K_and_stoichiometry_are_nodes() -> None:
    assert T_FROZEN in T_NODES
    assert 1.0 in PHI_NODES
    assert PHI_NODES.size == 45
    assert np.ptp(np.diff(T_NODES)) < 1e-9
    assert np.ptp(np.diff(LN_P_NODES)) < 1e-9


def test_table__keeps_the_atoms_of_the_charge() -> None:
    _, frozen = burned_gas(ETHANOL, MOIST)
    for phi, moles in zip(PHI_NODES, frozen, strict=True):
        atoms = charge_atoms(ETHANOL, MOIST, float(phi))
        made = {
            element: sum(x * SPECIES[name].atoms.get(element, 0.0) for name, x in zip(PRODUCTS, moles, strict=True))
            for element in ("C", "H", "O", "N", "AR")
        }
        for element in made:
            assert made[element] / made["N"] == pytest.approx(atoms[element] / atoms["N"], rel=1e-6)


def test_cut__gives_the_nodes_back_and_never_looks_across_stoichiometry(table: BurnedTable) -> None:
    for k, phi in enumerate(table.phi):
        assert np.allclose(cut(table, phi).values, table.values[k], rtol=1e-12)
    spoiled = table.values.copy()
    spoiled[table.phi > 1.0 + 1e-9] = np.nan
    assert np.isfinite(cut(table._replace(values=spoiled), 0.9999).values).all()
    spoiled = table.values.copy()
    spoiled[table.phi < 1.0 - 1e-9] = np.nan
    assert np.isfinite(cut(table._replace(values=spoiled), 1.0001).values).all()


def test_lookup__gives_the_nodes_back(table: BurnedTable) -> None:
    gas = slice_at(table, 1.0)
    for i, ln_p in enumerate(LN_P_NODES):
        for j, T in enumerate(T_NODES):
            u, R, *_ = burned(gas, ln_p, T)
            assert (u, R) == pytest.approx(tuple(gas.values[i + 1, j + 1]), rel=1e-10)


@pytest.mark.parametrize("phi", [0.7, 1.0, 1.37])
def test_lookup__derivatives_are_those_of_the_values(phi: float, table: BurnedTable) -> None:
    gas = slice_at(table, phi)
    random = np.random.default_rng(3)
    for _ in range(100):
        ln_p, T = random.uniform(np.log(0.15e5), np.log(390e5)), random.uniform(260.0, 3590.0)
        _, _, u_T, R_T, u_p, R_p = burned(gas, ln_p, T)
        d, e = 1e-3, 1e-5
        hot, cold = burned(gas, ln_p, T + d), burned(gas, ln_p, T - d)
        high, low = burned(gas, ln_p + e, T), burned(gas, ln_p - e, T)
        assert u_T == pytest.approx((hot[0] - cold[0]) / (2 * d), rel=1e-5)
        assert pytest.approx((hot[1] - cold[1]) / (2 * d), rel=1e-4, abs=1e-7) == R_T
        assert u_p == pytest.approx((high[0] - low[0]) / (2 * e), rel=1e-4, abs=1.0)
        assert R_p == pytest.approx((high[1] - low[1]) / (2 * e), rel=1e-4, abs=1e-5)


def test_lookup__smooth_across_cells(table: BurnedTable) -> None:
    gas = slice_at(table, 1.02)
    for ln_p in LN_P_NODES[3:6]:
        for T in T_NODES[30:60:5]:
            one, other = burned(gas, ln_p - 1e-9, T - 1e-7), burned(gas, ln_p + 1e-9, T + 1e-7)
            assert one == pytest.approx(other, rel=1e-6, abs=1e-3)


@pytest.mark.parametrize("T", [900.0, 1900.0, 2600.0, 3200.0])
def test_gamma_and_cv__as_the_library_steps(T: float, table: BurnedTable) -> None:
    """Isentropic and constant-volume steps of the library's equilibrium (frozen at 900 K): 0.3 %.

    The table's slopes of R limit this: gamma 1e-3, cv 3e-3 where the gas dissociates.
    """
    p, gas = 20e5, solution()
    equilibrate(gas, start_mixture(charge_atoms(ISOOCTANE, DRY_AIR, 0.9)), p, max(T, T_FROZEN))
    gas.TP = T, p
    s, v, u, rho = gas.s, gas.v, gas.u, gas.density
    reacts = T > T_FROZEN

    def step(what: str, values: tuple[float, float]) -> None:
        setattr(gas, what, values)
        if reacts:
            gas.equilibrate(what, rtol=1e-10)

    step("SP", (s, p * 1.001))
    gamma = log(1.001) / log(gas.density / rho)
    step("UV", (u + 500.0, v))
    hot = gas.T
    step("UV", (u - 500.0, v))
    cv = 1000.0 / (hot - gas.T)
    lookup = slice_at(table, 0.9)
    assert burned_gamma(lookup, log(p), T) == pytest.approx(gamma, rel=1e-3)
    assert burned_cv(lookup, log(p), T) == pytest.approx(cv, rel=3e-3)


def test_temperature_from_energy__round_trip(table: BurnedTable) -> None:
    random = np.random.default_rng(5)
    for phi in (0.5, 0.83, 1.0, 1.2, 1.8):
        gas = slice_at(table, phi)
        for _ in range(100):
            ln_p, T = random.uniform(LN_P_NODES[0], LN_P_NODES[-1]), random.uniform(250.0, 3600.0)
            found, status = burned_T_from_u(gas, ln_p, burned(gas, ln_p, T)[0], random.uniform(250.0, 3600.0))
            assert status == OK
            assert found == pytest.approx(T, abs=1e-5)


def test_temperature_from_energy__out_of_reach_is_reported(table: BurnedTable) -> None:
    gas = slice_at(table, 1.0)
    assert burned_T_from_u(gas, log(1e6), 1e9, 2000.0)[1] == NO_CONVERGENCE
    assert burned_T_from_u(gas, log(1e6), float("nan"), 2000.0)[1] == NO_CONVERGENCE


def test_enthalpy__is_energy_plus_flow_work_and_cp_its_slope(table: BurnedTable) -> None:
    gas, ln_p = slice_at(table, 1.1), log(30e5)
    for T in (500.0, 1725.0, 2480.0):
        u, R, *_ = burned(gas, ln_p, T)
        h, cp = burned_h_cp(gas, ln_p, T)
        assert h == pytest.approx(u + R * T, rel=1e-14)
        slope = (burned_h_cp(gas, ln_p, T + 0.01)[0] - burned_h_cp(gas, ln_p, T - 0.01)[0]) / 0.02
        assert cp == pytest.approx(slope, rel=1e-5)


def test_inside__names_the_edges(table: BurnedTable) -> None:
    gas = slice_at(table, 1.0)
    assert burned_inside(gas, log(0.11e5), 251.0)
    assert burned_inside(gas, log(399e5), 3599.0)
    for ln_p, T in ((log(0.09e5), 1000.0), (log(410e5), 1000.0), (log(1e6), 249.0), (log(1e6), 3601.0)):
        assert not burned_inside(gas, ln_p, T)


def test_phi_outside__one_sentence_and_a_status(table: BurnedTable) -> None:
    with pytest.raises(OutsideRange, match=r"choose a lambda of 0\.56\.\.2\.00"):
        slice_at(table, 2.2)
    out = np.zeros(table.values.shape[1:])
    assert cut_into(table, 0.4, out) == OUTSIDE
    assert not out.any()
    assert np.isnan(cut(table, 1.9).values).all()


def test_sooting_fuel__one_sentence() -> None:
    soot = custom("tar", hydrogen_to_carbon=0.5, oxygen_to_carbon=2.0 / 3.0, molar_mass_mean=100.0, lhv=2e7,
                  latent_heat=3e5, density=1000.0)  # fmt: skip
    with pytest.raises(BadInput, match="would burn to soot"):
        charge_atoms(soot, DRY_AIR, 5.0)


def test_heating_value__recovered_from_charge_and_table() -> None:
    """Charge minus table at 298.15 K, plus what the frozen CO, OH, NO ... still hold, is the heating value.

    What they hold (0.5 % of the heat at equivalence ratio 0.5, mostly NO) is computed here from the
    frozen composition by burning it on to CO2, H2O, N2, O2 by atoms.
    """
    T = 298.15
    for fuel in (ISOOCTANE, ETHANOL, grade("petrol 95 RON"), grade("E85")):
        model = gas_model(fuel, MOIST, 0.5)
        y = fuel_fraction(0.5, model.air_fuel_stoichiometric)
        h = charge_h_cp(charge(model.species, 1.0 - y, y, 0.0), T)[0]
        released = (h - burned_h_cp(model.slice, log(P_FROZEN), T)[0]) / y
        moles = dict(zip(PRODUCTS, burned_gas(fuel, MOIST)[1][0], strict=True))
        atoms = {
            e: sum(n * SPECIES[name].atoms.get(e, 0.0) for name, n in moles.items()) for e in ("C", "H", "O", "N", "AR")
        }
        complete = {"CO2": atoms["C"], "H2O": atoms["H"] / 2, "N2": atoms["N"] / 2, "AR": atoms["AR"]}
        complete["O2"] = (atoms["O"] - 2 * atoms["C"] - atoms["H"] / 2) / 2
        held = sum(n * molar_enthalpy(name, T) for name, n in moles.items())
        held -= sum(n * molar_enthalpy(name, T) for name, n in complete.items())
        held /= molar_mass(atoms) * y
        assert 0.0 < held < 6e-3 * fuel.lhv_vapour
        assert released + held == pytest.approx(fuel.lhv_vapour, rel=2e-6)


def test_residual__equals_the_table_at_its_pressure_and_close_to_it_elsewhere() -> None:
    """Residual is frozen at (5 bar, 1700 K); at 1 and 50 bar the table differs by less than 5 K."""
    for phi in (0.8, 0.995, 1.0, 1.005, 1.3):
        model = gas_model(ISOOCTANE, DRY_AIR, phi)
        residual: Charge = charge(model.species, 0.0, 0.0, 1.0)
        for T in (400.0, 1000.0, 1600.0):
            for p, allowed in ((P_FROZEN, 0.02), (1e5, 5.0), (50e5, 5.0)):
                u, R, u_T, *_ = burned(model.slice, log(p), T)
                assert abs(charge_u(residual, T) - u) / u_T < allowed
                assert pytest.approx(R, rel=3e-4) == residual.R


@pytest.mark.slow
def test_lookup__stays_inside_its_arrays() -> None:
    """Once more with bounds checked: corners, far outside, the whole range of equivalence ratio."""
    program = (
        "from math import log\n"
        "from spoolwright.gas.air import DRY_AIR\n"
        "from spoolwright.gas.burned import burned, burned_T_from_u, cut\n"
        "from spoolwright.gas.equilibrium import burned_gas\n"
        "from spoolwright.gas.fuels import ISOOCTANE\n"
        "table = burned_gas(ISOOCTANE, DRY_AIR)[0]\n"
        "for phi in (0.5, 0.51, 0.9999, 1.0, 1.0001, 1.79, 1.8):\n"
        "    gas = cut(table, phi)\n"
        "    for p in (1.0, 1e4, 4e7, 1e12):\n"
        "        for T in (1.0, 250.0, 1700.0, 3600.0, 9000.0):\n"
        "            burned(gas, log(p), T)\n"
        "    burned_T_from_u(gas, log(1e6), 1e7, 300.0)\n"
        "print('done')\n"
    )
    environment = {**os.environ, "NUMBA_BOUNDSCHECK": "1", "SPOOLWRIGHT_CACHE": "off"}
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, env=environment)
    assert done.stdout.strip() == "done", done.stderr
