"""Moist air: composition, inverses, ranges."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spoolwright.errors import BadInput
from spoolwright.gas.air import (
    DRY_AIR,
    air_with_humidity_ratio,
    dew_point,
    humid_air,
    humid_air_density,
    saturation_pressure,
    standard_atmosphere,
    water_mole_fraction,
)


@given(T=st.floats(255.0, 325.0), p=st.floats(60e3, 110e3), humidity=st.floats(0.0, 1.0))
def test_humid_air__fractions_sum_to_one_and_ratio_inverts(T: float, p: float, humidity: float) -> None:
    air = humid_air(T, p, humidity)
    assert sum(x for _, x in air.mole_fractions) == pytest.approx(1.0, abs=1e-14)
    again = air_with_humidity_ratio(air.humidity_ratio)
    assert again.water_mole_fraction == pytest.approx(air.water_mole_fraction, rel=1e-12, abs=1e-15)


@given(T=st.floats(250.0, 370.0))
def test_dew_point__inverts_saturation(T: float) -> None:
    if abs(T - 273.15) > 0.01:  # water and ice differ there by 4e-5
        assert dew_point(saturation_pressure(T)) == pytest.approx(T, abs=1e-6)


def test_saturation_pressure__water_and_ice_meet_near_the_triple_point() -> None:
    assert saturation_pressure(273.1499) == pytest.approx(saturation_pressure(273.1501), rel=3e-4)


def test_moist_air_is_lighter_than_dry() -> None:
    assert humid_air(303.15, 101325.0, 1.0).M < humid_air(303.15, 101325.0, 0.0).M == pytest.approx(DRY_AIR.M)
    assert humid_air_density(303.15, 101325.0, 1.0) < humid_air_density(303.15, 101325.0, 0.0)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: humid_air(293.0, 1e5, 50.0), "write 50 % as 0.5"),
        (lambda: water_mole_fraction(1.0, 2e5, 1e5), "is not below"),
        (lambda: saturation_pressure(20.0), "outside -100..100 degC"),
        (lambda: dew_point(5e5), "give it in pascal"),
        (lambda: standard_atmosphere(20_000.0), "height above sea in metres"),
        (lambda: air_with_humidity_ratio(10.0), "write 10 g/kg as 0.010"),
    ],
)
def test_bad_input__one_sentence(call, sentence: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadInput, match=sentence.replace(".", r"\.").replace("%", "%")):
        call()
