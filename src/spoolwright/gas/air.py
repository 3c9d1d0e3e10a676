"""Moist air and the standard atmosphere: what the weather and the height above sea give the engine.

Published models: water vapour pressure by 40 CFR 1065.645 (equations 1065.645-1 and -2); moist-air
density by CIPM-2007 (Picard, Davis, Glaeser, Fujii, Metrologia 45 (2008) 149, constants from
memory, checked against a reference library's humid air); standard atmosphere and Sutherland
viscosity by ISO 2533:1975. Limits stand at each function.

Plain float functions without compiled code or arrays: the sums and the solver share them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log10, sqrt
from typing import Final

from spoolwright.constants import (
    AIR_MOLE_FRACTIONS,
    GAMMA_AIR,
    GAS_CONSTANT,
    M_WATER,
    R_AIR,
    RHO_STANDARD_DAY,
    STANDARD_ATMOSPHERE,
    STANDARD_GRAVITY,
    T_STANDARD_DAY,
    ZERO_CELSIUS,
)
from spoolwright.errors import BadInput
from spoolwright.gas.species import SPECIES, molar_mass

LAPSE_RATE: Final = 0.0065  # K/m, ISO 2533 table 4, up to 11 km
EARTH_RADIUS: Final = 6_356_766.0  # m, nominal radius of ISO 2533
TOP_OF_TROPOSPHERE: Final = 11_000.0  # m, geopotential
LOWEST_ALTITUDE: Final = -2_000.0  # m, ISO 2533 tables start here

_TRIPLE = 273.16  # K, as written in the equations of 40 CFR 1065.645


@dataclass(frozen=True)
class HumidAir:
    """Composition of moist air by mole, water vapour last; ``M`` its molar mass [kg/kmol]."""

    mole_fractions: tuple[tuple[str, float], ...]

    @property
    def M(self) -> float:
        """Molar mass [kg/kmol]."""
        return sum(x * molar_mass(SPECIES[name].atoms) for name, x in self.mole_fractions)

    @property
    def R(self) -> float:
        """Specific gas constant [J/(kg K)]."""
        return GAS_CONSTANT / self.M

    @property
    def water_mole_fraction(self) -> float:
        """Mole fraction of water vapour."""
        return dict(self.mole_fractions).get("H2O", 0.0)

    @property
    def humidity_ratio(self) -> float:
        """Mass of water vapour per mass of dry air [kg/kg]."""
        wet = self.water_mole_fraction * molar_mass(SPECIES["H2O"].atoms)
        return wet / (self.M - wet)

    def atoms(self) -> dict[str, float]:
        """Atoms per molecule of air, by element."""
        total: dict[str, float] = {}
        for name, x in self.mole_fractions:
            for element, count in SPECIES[name].atoms.items():
                total[element] = total.get(element, 0.0) + x * count
        return total


def _moist(water: float) -> HumidAir:
    dry = tuple((name, x * (1.0 - water)) for name, x in AIR_MOLE_FRACTIONS)
    return HumidAir((*dry, ("H2O", water)))


DRY_AIR: Final = HumidAir((*AIR_MOLE_FRACTIONS, ("H2O", 0.0)))


def saturation_pressure(T: float) -> float:
    """Vapour pressure of water [Pa] at T [K], 173.15 to 373.15 K; over ice below 273.15 K.

    Source: 40 CFR 1065.645, equations 1065.645-1 (water) and 1065.645-2 (ice).
    Raises BadInput outside the range.
    """
    if not 173.15 <= T <= 373.15:
        raise BadInput(
            f"saturation pressure: {T - ZERO_CELSIUS:.1f} degC is outside -100..100 degC; check the temperature"
        )
    t = _TRIPLE / T
    if T < ZERO_CELSIUS:
        power = -9.096853 * (t - 1.0) - 3.566506 * log10(t) + 0.876812 * (1.0 - 1.0 / t) - 0.2138602
    else:
        power = (
            10.79574 * (1.0 - t)
            + 5.02800 * log10(t)
            + 1.50475e-4 * (1.0 - 10.0 ** (-8.2969 * (1.0 / t - 1.0)))
            + 0.42873e-3 * (10.0 ** (4.76955 * (1.0 - t)) - 1.0)
            - 0.2138602
        )
    return 1000.0 * 10.0**power


def dew_point(p_water: float) -> float:
    """Temperature [K] at which water vapour of pressure p_water [Pa] is saturated.

    Exact inverse of ``saturation_pressure`` by bisection (the closed form in 40 CFR 1065.645 is a
    fit to it, 0.012 K off at 6 degC). Raises BadInput below 0.002 Pa or above 101.3 kPa.
    """
    low, high = 173.15, 373.15
    if not saturation_pressure(low) <= p_water <= saturation_pressure(high):
        raise BadInput(f"dew point: vapour pressure {p_water:g} Pa is outside 0.002..101300 Pa; give it in pascal")
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        if saturation_pressure(middle) < p_water:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def water_mole_fraction(relative_humidity: float, p_saturation: float, p: float) -> float:
    """Mole fraction of water vapour, ideal mixture: RH p_sat / p (40 CFR 1065.645). RH is 0..1."""
    if not 0.0 <= relative_humidity <= 1.0:
        raise BadInput(f"relative humidity {relative_humidity:g} is outside 0..1; write 50 % as 0.5")
    x = relative_humidity * p_saturation / p
    if not 0.0 <= x < 1.0:
        raise BadInput(f"humid air: vapour pressure {relative_humidity * p_saturation:g} Pa is not below {p:g} Pa")
    return x


def enhancement_factor(T: float, p: float) -> float:
    """How much real air raises the water vapour pressure at saturation (about 1.004), CIPM-2007."""
    return 1.00062 + 3.14e-8 * p + 5.6e-7 * (T - ZERO_CELSIUS) ** 2


def humid_air(T: float, p: float, relative_humidity: float) -> HumidAir:
    """Composition of air at T [K], p [Pa] and relative humidity 0..1.

    Water vapour pressure by 40 CFR 1065.645 times the enhancement factor of CIPM-2007.
    Raises BadInput for a humidity outside 0..1 or air that would be all steam.
    """
    p_water = saturation_pressure(T) * enhancement_factor(T, p)
    return _moist(water_mole_fraction(relative_humidity, p_water, p))


def air_with_humidity_ratio(humidity_ratio: float) -> HumidAir:
    """Composition of air with ``humidity_ratio`` kg of water vapour per kg of dry air, 0..0.2."""
    if not 0.0 <= humidity_ratio <= 0.2:
        raise BadInput(f"humidity ratio {humidity_ratio:g} is outside 0..0.2 kg/kg; write 10 g/kg as 0.010")
    moles = humidity_ratio / molar_mass(SPECIES["H2O"].atoms) * DRY_AIR.M
    return _moist(moles / (1.0 + moles))


def humid_air_density(T: float, p: float, relative_humidity: float) -> float:
    """Density of moist air [kg/m3] by CIPM-2007; stated for 15..27 degC and 60..110 kPa.

    Between 0 and 35 degC and at 95 kPa it still agrees with a reference library within 1e-4. The
    engine's gas is ideal; the compressibility here differs from 1 by at most 5e-4.
    """
    x = humid_air(T, p, relative_humidity).water_mole_fraction
    t = T - ZERO_CELSIUS
    first = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t * t
    first += (5.707e-6 - 2.051e-8 * t) * x + (1.9898e-4 - 2.376e-6 * t) * x * x
    compressibility = 1.0 - p / T * first + (p / T) ** 2 * (1.83e-11 - 0.765e-8 * x * x)
    dry = p * DRY_AIR.M / (compressibility * GAS_CONSTANT * T)
    return dry * (1.0 - x * (1.0 - M_WATER / DRY_AIR.M))


@dataclass(frozen=True)
class StandardAir:
    """One height of the standard atmosphere: T [K], p [Pa], rho [kg/m3], sound speed [m/s]."""

    T: float
    p: float
    rho: float
    sound_speed: float


def geopotential_altitude(altitude: float) -> float:
    """Geopotential altitude [m] of the geometric ``altitude`` [m] (ISO 2533 equation 8)."""
    return EARTH_RADIUS * altitude / (EARTH_RADIUS + altitude)


def standard_atmosphere(geopotential: float) -> StandardAir:
    """The standard day at a ``geopotential`` altitude [m], -2000 to 11000 m (ISO 2533:1975).

    Raises BadInput outside that range.
    """
    if not LOWEST_ALTITUDE <= geopotential <= TOP_OF_TROPOSPHERE:
        raise BadInput(f"altitude {geopotential:g} m is outside -2000..11000 m; give the height above sea in metres")
    T = T_STANDARD_DAY - LAPSE_RATE * geopotential
    ratio = T / T_STANDARD_DAY
    exponent = STANDARD_GRAVITY / (LAPSE_RATE * R_AIR)
    return StandardAir(
        T=T,
        p=STANDARD_ATMOSPHERE * ratio**exponent,
        rho=RHO_STANDARD_DAY * ratio ** (exponent - 1.0),
        sound_speed=sqrt(GAMMA_AIR * R_AIR * T),
    )


def viscosity(T: float) -> float:
    """Dynamic viscosity of air [Pa s] at T [K], 100 to 2000 K.

    Sutherland, with the constants of ISO 2533:1975 equation 19: 1.458e-6 T^1.5 / (T + 110.4).
    """
    return 1.458e-6 * T * sqrt(T) / (T + 110.4)
