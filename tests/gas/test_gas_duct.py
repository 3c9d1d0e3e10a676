"""The duct gas: fit, closed form, one datum with the cylinder's gas."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st

from spoolwright.gas.air import DRY_AIR, humid_air
from spoolwright.gas.duct import (
    AIR,
    BURNED,
    FIT_T,
    FUEL,
    DuctGas,
    T_from_sensible,
    duct_cp,
    duct_e,
    duct_gamma,
    duct_gas,
    duct_h,
    duct_mixture,
    duct_sound_speed,
    duct_T,
    sensible,
)
from spoolwright.gas.fuels import ETHANOL, GRADES, ISOOCTANE, grade
from spoolwright.gas.model import gas_model
from spoolwright.gas.polynomials import of_air
from spoolwright.gas.transport import gas_conductivity, gas_viscosity
from spoolwright.gas.unburned import Charge, charge, charge_gamma, charge_h_cp, charge_u, charge_u_cv

MOIST = humid_air(303.15, 98e3, 0.7)


@pytest.mark.parametrize("fuel", [grade("petrol 95 RON"), ISOOCTANE, ETHANOL, GRADES["methanol"]], ids=lambda f: f.name)
@pytest.mark.parametrize("phi", [0.7, 1.0, 1.4])
def test_fit__air_and_burned_within_3_K_fuel_vapour_within_8(fuel, phi: float) -> None:  # type: ignore[no-untyped-def]
    """Over the fitted range, on nodes the fit has not seen; and the reported worst is true."""
    model = gas_model(fuel, MOIST, phi)
    fit = duct_gas(model.species)
    for k, allowed in ((AIR, 3.0), (FUEL, 8.0), (BURNED, 3.0)):
        y = [float(k == m) for m in range(3)]
        gas = charge(model.species, *y)
        off = []
        for T in np.linspace(*FIT_T[k], 97):
            u, cv = charge_u_cv(gas, T)
            off.append(abs(duct_e(model.duct, *y, T) - u) / cv)
        assert max(off) <= allowed
        assert max(off) <= fit.worst[k] + 0.05
        assert max(off) > 0.5 * fit.worst[k]


@pytest.mark.parametrize("y_burned", [0.0, 0.5, 1.0])
def test_mixture__agrees_with_the_charge(y_burned: float) -> None:
    """Same datum as the cylinder's gas: absolute energy of a fresh mixture with residual within 3 K."""
    model = gas_model(grade("petrol 95 RON"), MOIST, 1.15)
    y = (0.93 * (1 - y_burned), 0.07 * (1 - y_burned), y_burned)
    gas = charge(model.species, *y)
    for T in (260.0, 330.0, 600.0, 990.0):
        u, cv = charge_u_cv(gas, T)
        assert duct_e(model.duct, *y, T) == pytest.approx(u, abs=3.0 * cv)
        assert duct_h(model.duct, *y, T) == pytest.approx(charge_h_cp(gas, T)[0], abs=3.0 * cv)
        assert duct_cp(model.duct, *y, T) == pytest.approx(charge_h_cp(gas, T)[1], rel=0.03)
        R, a, b, _ = duct_mixture(model.duct, *y)
        assert pytest.approx(gas.R, rel=1e-12) == R
        assert duct_gamma(R, a, b, T) == pytest.approx(charge_gamma(gas, T), rel=0.01)


@settings(deadline=None)  # the first call compiles
@given(
    T=st.floats(100.0, 3000.0),
    y_fuel=st.floats(0.0, 1.0),
    y_burned=st.floats(0.0, 1.0),
)
def test_temperature__closed_form_inverts_the_energy(T: float, y_fuel: float, y_burned: float) -> None:
    total = 1.0 + y_fuel + y_burned
    y = (1.0 / total, y_fuel / total, y_burned / total)
    gas = gas_model(ISOOCTANE, DRY_AIR, 1.0).duct
    assert duct_T(gas, *y, duct_e(gas, *y, T)) == pytest.approx(T, rel=1e-9)


def test_temperature__constant_heat_capacity_needs_no_special_case() -> None:
    assert T_from_sensible(717.5, 0.0, 717.5 * 321.0) == pytest.approx(321.0, rel=1e-15)
    assert sensible(717.5, 0.0, 321.0) == 717.5 * 321.0


def test_sound_speed__of_standard_air() -> None:
    """ISO 2533: 340.294 m/s at 288.15 K. True cv is flat below 400 K, a straight line cannot be: 0.25 % high."""
    gas = gas_model(ISOOCTANE, DRY_AIR, 1.0).duct
    R, a, b, _ = duct_mixture(gas, 1.0, 0.0, 0.0)
    assert duct_sound_speed(R, a, b, 288.15) == pytest.approx(340.294, rel=3e-3)
    cold = DuctGas(np.full(3, 287.05287), np.full(3, 2.5 * 287.05287), np.zeros(3), np.zeros(3))
    R, a, b, _ = duct_mixture(cold, 1.0, 0.0, 0.0)
    assert duct_sound_speed(R, a, b, 288.15) == pytest.approx(340.294, rel=1e-6)
    assert duct_sound_speed(R, a, b, 288.15) == pytest.approx(sqrt(1.4 * R * 288.15))


def test_release__burning_in_the_cylinder_shows_up_in_the_duct() -> None:
    """Energy of fresh minus burned gas at one temperature: the duct gas and the charge release alike."""
    model = gas_model(ISOOCTANE, DRY_AIR, 1.0)
    y_fuel = 1.0 / (1.0 + model.air_fuel_stoichiometric)
    fresh, burnt = (1.0 - y_fuel, y_fuel, 0.0), (0.0, 0.0, 1.0)
    duct = duct_e(model.duct, *fresh, 300.0) - duct_e(model.duct, *burnt, 300.0)
    cylinder = charge_u(charge(model.species, *fresh), 300.0) - charge_u(charge(model.species, *burnt), 300.0)
    assert duct == pytest.approx(cylinder, rel=2e-3)
    assert cylinder / y_fuel == pytest.approx(44.65e6, rel=0.01)  # frozen CO, OH, NO keep the rest


@pytest.mark.parametrize("T", [250.0, 300.0, 500.0, 800.0, 1000.0, 1500.0, 1900.0])
def test_transport__air_of_a_reference_library(T: float) -> None:
    """CoolProp air: viscosity within 3.5 %, conductivity (constant Prandtl number) within 8 %."""
    assert gas_viscosity(T) == pytest.approx(PropsSI("V", "T", T, "P", 101325.0, "Air"), rel=0.035)
    cp = charge_h_cp(Charge(*of_air(DRY_AIR)), T)[1]
    assert gas_conductivity(T, cp) == pytest.approx(PropsSI("L", "T", T, "P", 101325.0, "Air"), rel=0.08)
