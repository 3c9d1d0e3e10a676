"""Moist air and the standard atmosphere against ISO 2533, 40 CFR 1065.645, IAPWS-95 and CIPM-2007.

Values, tolerances and sources: data/gas_air.csv.
"""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import HAPropsSI
from gas_rows import by_id, check

from spoolwright.gas.air import (
    dew_point,
    geopotential_altitude,
    humid_air,
    humid_air_density,
    saturation_pressure,
    standard_atmosphere,
    viscosity,
    water_mole_fraction,
)

ROWS = by_id("gas_air")


@pytest.mark.parametrize(("row", "altitude"), [("A0", 0.0), ("A1", 1000.0), ("A2", 2000.0)])
def test_standard_atmosphere(row: str, altitude: float) -> None:
    state = standard_atmosphere(geopotential_altitude(altitude))
    check(ROWS[row + "t"], state.T)
    check(ROWS[row + "p"], state.p)
    check(ROWS[row + "d"], state.rho)
    check(ROWS[row + "ss"], state.sound_speed)


def test_standard_atmosphere__geopotential() -> None:
    check(ROWS["A1g"], standard_atmosphere(1000.0).p)
    check(ROWS["A2g"], standard_atmosphere(2000.0).p)


def test_viscosity() -> None:
    check(ROWS["A10"], viscosity(288.15))


def test_saturation_pressure() -> None:
    check(ROWS["A11"], saturation_pressure(282.65) / 1000.0)
    for row, celsius in (("A14", 10.0), ("A15", 20.0), ("A16", 30.0), ("A17", 40.0)):
        check(ROWS[row], saturation_pressure(celsius + 273.15))


def test_water_mole_fraction() -> None:
    check(ROWS["A12"], water_mole_fraction(0.5077, 2337.1, 99980.0))


def test_dew_point() -> None:
    check(ROWS["A13"], dew_point(925.717))


@pytest.mark.parametrize(
    ("row", "T", "p", "humidity"),
    [
        ("A18", 293.15, 101325.0, 0.5),
        ("A19", 298.15, 99000.0, 0.0),
        ("A20", 308.15, 95000.0, 0.6),
        ("A21", 273.15, 101325.0, 0.0),
    ],
)
def test_humid_air_density(row: str, T: float, p: float, humidity: float) -> None:
    check(ROWS[row], humid_air_density(T, p, humidity))


def test_humidity_ratio() -> None:
    check(ROWS["A22"], humid_air(308.15, 95000.0, 0.6).humidity_ratio)


@pytest.mark.parametrize("T", [288.15, 293.15, 300.15])
@pytest.mark.parametrize("p", [70e3, 85e3, 101325.0, 108e3])
@pytest.mark.parametrize("humidity", [0.0, 0.4, 1.0])
def test_humid_air__against_reference_library(T: float, p: float, humidity: float) -> None:
    """Over the stated range of CIPM-2007, CoolProp's humid air (ASHRAE RP-1485) within 1e-4."""
    density = 1.0 / HAPropsSI("Vha", "T", T, "P", p, "R", humidity)
    assert humid_air_density(T, p, humidity) == pytest.approx(density, rel=1e-4)
    ratio = HAPropsSI("W", "T", T, "P", p, "R", humidity)
    assert humid_air(T, p, humidity).humidity_ratio == pytest.approx(ratio, rel=2e-3, abs=1e-12)
