"""The air of the day: humidity, density, the standard day by height, the barometer.

Published models: water vapour by 40 CFR 1065.645, density of moist air by CIPM-2007, standard
atmosphere by ISO 2533:1975; all three live in ``spoolwright.gas.air``, where their limits stand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.constants import (
    R_AIR,
    RHO_STANDARD_DAY,
    STANDARD_ATMOSPHERE,
    STANDARD_GRAVITY,
    T_STANDARD_DAY,
)
from spoolwright.gas import air as moist
from spoolwright.sums.air_pressures import OUTSIDE_INPUTS, Outside
from spoolwright.sums.registry import Input, Output, register

AIR_TEMPERATURE = Input("temperature", "air temperature", "-40 degC", "60 degC", sheet="site.temperature")
HEIGHT = Input("distance", "height above sea", "-400 m", "5000 m", sheet="site.altitude")
GAS_TEMPERATURE = Input("temperature", "gas temperature", "-40 degC", "1100 degC")
HUMIDITY = Input("share", "relative humidity", "0 %", "100 %", "", sheet="site.humidity")

_EXPONENT = R_AIR * moist.LAPSE_RATE / STANDARD_GRAVITY  # of pressure in the standard troposphere


def _humidity(given: float) -> float:
    if not 0.0 <= given <= 1.0:
        raise ValueError(f"relative humidity {100 * given:g} % is outside 0 to 100 %; write for example 48 %")
    return given


@register(
    "air",
    "Humid air: vapour pressure, dry pressure, dew point, density",
    inputs={
        "temperature": AIR_TEMPERATURE,
        **OUTSIDE_INPUTS,
        "relative_humidity": HUMIDITY,
        "dew_point": Input("temperature", "dew point; instead of the relative humidity", "-40 degC", "40 degC", ""),
    },
    outputs={
        "saturation_pressure": Output("pressure_absolute", "kPa", "vapour pressure of saturated air", ("mbar", "inHg")),
        "vapour_pressure": Output("pressure_absolute", "kPa", "pressure of the water vapour", ("mbar", "inHg")),
        "dry_pressure": Output("pressure_absolute", "kPa", "barometer less vapour: what most codes want", ("inHg",)),
        "relative_humidity_found": Output("share", "%", "relative humidity"),
        "dew_point_found": Output("temperature", "degC", "dew point", ("degF",)),
        "humidity_ratio": Output("number", "1", "kg of water per kg of dry air"),
        "density": Output("density", "kg/m3", "density of the moist air", ("lb/ft3",)),
        "dry_density": Output("density", "kg/m3", "density if the air were dry"),
        "oxygen_kept": Output("share", "%", "dry air per volume against dry air at the same pressure"),
    },
    formula="""
    vapour_pressure = relative_humidity * saturation_pressure
    dry_pressure = barometer - vapour_pressure
    humidity_ratio = 0.622 * vapour_pressure / dry_pressure
    """,
    source="vapour pressure: 40 CFR 1065.645 (equations -1, -2), with the enhancement factor of CIPM-2007 in density "
    "and humidity ratio; density: CIPM-2007 (Metrologia 45, 2008, 149)",
    validity="-40 to 60 degC; density stated for 15 to 27 degC, holds within 1e-4 between 0 and 35 degC",
    slips=("relative humidity written as 48 instead of 48 %", "pressure reduced to sea level used as barometer"),
    example='--temperature "31 degC" --barometer "95.8 kPa" --relative-humidity "48 %"',
)
def humid_air(
    temperature: float, outside: Outside, relative_humidity: float | None, dew_point: float | None
) -> dict[str, float | None]:
    """Pressures [Pa], temperatures [K], densities [kg/m3] of moist air."""
    if (relative_humidity is None) == (dew_point is None):
        raise ValueError("relative_humidity or dew_point, exactly one of them is needed")
    p_outside = outside.pressure()
    saturated = moist.saturation_pressure(temperature)
    if dew_point is not None:
        if dew_point > temperature:
            raise ValueError("the dew point is above the air temperature")
        humidity = moist.saturation_pressure(dew_point) / saturated
    else:
        assert relative_humidity is not None
        humidity = _humidity(relative_humidity)
    vapour = humidity * saturated
    if vapour >= p_outside:
        raise ValueError("the vapour pressure is not below the barometer")
    wet = moist.humid_air(temperature, p_outside, humidity)
    density = moist.humid_air_density(temperature, p_outside, humidity)
    return {
        "saturation_pressure": saturated,
        "vapour_pressure": vapour,
        "dry_pressure": p_outside - vapour,
        "relative_humidity_found": humidity,
        "dew_point_found": moist.dew_point(vapour) if vapour > 0.01 else None,
        "humidity_ratio": wet.humidity_ratio,
        "density": density,
        "dry_density": moist.humid_air_density(temperature, p_outside, 0.0),
        "oxygen_kept": (p_outside - vapour) / p_outside,
    }


@register(
    "air",
    "The standard day at a height above sea",
    inputs={
        "altitude": HEIGHT,
        "counted": Input(
            "choice",
            "a height as surveyed, or geopotential as printed in tables",
            default="geometric",
            choices=("geometric", "geopotential"),
        ),
    },
    outputs={
        "temperature": Output("temperature", "degC", "temperature of the standard day", ("K", "degF")),
        "pressure": Output("pressure_absolute", "kPa", "pressure of the standard day", ("inHg", "psi")),
        "density": Output("density", "kg/m3", "density of the standard day"),
        "sound_speed": Output("speed", "m/s", "speed of sound"),
        "pressure_share": Output("share", "%", "pressure against sea level"),
        "density_share": Output("share", "%", "density against sea level"),
    },
    formula="""
    temperature = 288.15 K - 0.0065 K/m * altitude
    pressure = 101325 Pa * (temperature / 288.15 K)^5.25588
    density = pressure / (287.053 * temperature)
    """,
    source="ISO 2533:1975; geometric heights become geopotential by H = z R/(R + z), R = 6356766 m",
    validity="-2000 to 11000 m; a real day differs by several percent",
    example='--altitude "1600 m"',
)
def standard_day(altitude: float, counted: str) -> dict[str, float]:
    """State of the standard atmosphere at ``altitude`` [m]."""
    here = moist.standard_atmosphere(geopotential_of(altitude, counted))
    return {
        "temperature": here.T,
        "pressure": here.p,
        "density": here.rho,
        "sound_speed": here.sound_speed,
        "pressure_share": here.p / STANDARD_ATMOSPHERE,
        "density_share": here.rho / RHO_STANDARD_DAY,
    }


def geopotential_of(altitude: float, counted: str) -> float:
    """Geopotential height [m] of an ``altitude`` [m] that is counted "geometric" or "geopotential"."""
    return moist.geopotential_altitude(altitude) if counted == "geometric" else altitude


@register(
    "air",
    "Density altitude and pressure altitude of the day",
    inputs={
        "temperature": AIR_TEMPERATURE,
        **OUTSIDE_INPUTS,
        "relative_humidity": HUMIDITY,
    },
    outputs={
        "density": Output("density", "kg/m3", "density of the day"),
        "density_share": Output("share", "%", "density against the standard sea-level day"),
        "pressure_altitude": Output("distance", "m", "height where the standard day has this pressure", ("ft",)),
        "density_altitude": Output("distance", "m", "height where the standard day has this density", ("ft",)),
    },
    formula="""
    pressure_altitude = 288.15 K / 0.0065 K/m * (1 - (barometer / 101325 Pa)^0.190263)
    density_altitude = 288.15 K / 0.0065 K/m * (1 - (density / 1.225 kg/m3)^0.234969)
    """,
    source="ISO 2533:1975 turned round; density of moist air by CIPM-2007",
    validity="geopotential heights, -2000 to 11000 m",
    slips=("barometer of the weather report is reduced to sea level: use station pressure",),
    example='--temperature "32 degC" --barometer "83.5 kPa" --relative-humidity "30 %"',
)
def density_altitude(temperature: float, outside: Outside, relative_humidity: float | None) -> dict[str, float]:
    """Heights [m] of the standard day with the pressure and the density of this day."""
    p_outside = outside.pressure()
    density = moist.humid_air_density(temperature, p_outside, _humidity(relative_humidity or 0.0))
    scale = T_STANDARD_DAY / moist.LAPSE_RATE
    return {
        "density": density,
        "density_share": density / RHO_STANDARD_DAY,
        "pressure_altitude": scale * (1.0 - (p_outside / STANDARD_ATMOSPHERE) ** _EXPONENT),
        "density_altitude": scale * (1.0 - (density / RHO_STANDARD_DAY) ** (_EXPONENT / (1.0 - _EXPONENT))),
    }


def _station_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if given["station_pressure"] is not None and results["sea_level"] > 105e3:
        return [
            f"reduced to sea level this is {results['sea_level'] / 1e3:.1f} kPa, more than any weather; "
            "is the pressure already the sea-level one of the weather report?"
        ]
    if given["sea_level_pressure"] is not None and given["sea_level_pressure"] < 94e3:
        return ["a sea-level pressure below 94 kPa is a storm; is it the station pressure already?"]
    return []


@register(
    "air",
    "Barometer: weather report (reduced to sea level) against the pressure here",
    inputs={
        "altitude": HEIGHT,
        "sea_level_pressure": Input("pressure_absolute", "pressure reduced to sea level", "94 kPa", "107 kPa", ""),
        "station_pressure": Input("pressure_absolute", "pressure here; instead", "50 kPa", "107 kPa", ""),
    },
    outputs={
        "station": Output(
            "pressure_absolute", "kPa", "pressure here: the one every sum wants", ("inHg", "psi", "mbar")
        ),
        "sea_level": Output("pressure_absolute", "kPa", "pressure reduced to sea level", ("inHg", "mbar")),
        "difference": Output("pressure_difference", "kPa", "between the two", ("inHg", "psi")),
    },
    formula="""
    station = 101325 Pa * ((sea_level / 101325 Pa)^0.190263 - 0.0065 K/m * altitude / 288.15 K)^5.25588
    """,
    source="altimeter setting by the standard atmosphere, ISO 2533:1975 (weather services reduce with the day's "
    "temperature too; they differ by up to about 0.5 % at 1600 m)",
    validity="-400 to 5000 m",
    slips=("the weather report's 1013 mbar used at 1600 m",),
    question=_station_question,
    example='--altitude "1600 m" --sea-level-pressure "30.05 inHg"',
)
def station_pressure(
    altitude: float, sea_level_pressure: float | None, station_pressure: float | None
) -> dict[str, float]:
    """Station and sea-level pressure [Pa] at ``altitude`` [m], from either of them."""
    if (sea_level_pressure is None) == (station_pressure is None):
        raise ValueError("sea_level_pressure or station_pressure, exactly one of them is needed")
    step = moist.LAPSE_RATE * moist.geopotential_altitude(altitude) / T_STANDARD_DAY
    if sea_level_pressure is not None:
        here = _moved(sea_level_pressure, -step)
        below = sea_level_pressure
    else:
        assert station_pressure is not None
        here = station_pressure
        below = _moved(station_pressure, step)
    return {"station": here, "sea_level": below, "difference": below - here}


def _moved(pressure: float, step: float) -> float:
    """Pressure [Pa] after ``step`` in (p/p0)^(R L/g), the linear height scale of the standard troposphere."""
    height = (pressure / STANDARD_ATMOSPHERE) ** _EXPONENT + step
    if height <= 0.0:
        raise ValueError("the height lies outside the standard atmosphere")
    return STANDARD_ATMOSPHERE * float(height ** (1.0 / _EXPONENT))


@register(
    "air",
    "Speed of sound in air or exhaust gas",
    inputs={
        "temperature": GAS_TEMPERATURE,
        "gamma": Input("number", "ratio of heats: 1.4 cold air, about 1.33 exhaust", "1.2", "1.67", "1.4"),
        "gas_constant": Input("heat_capacity", "gas constant", "180 J/(kg K)", "520 J/(kg K)", f"{R_AIR} J/(kg K)"),
    },
    outputs={"sound_speed": Output("speed", "m/s", "speed of sound", ("ft/s",))},
    formula="sound_speed = sqrt(gamma * gas_constant * temperature)",
    source="ideal gas; standard textbook relation",
    example='--temperature "450 degC" --gamma 1.34',
)
def sound_speed(temperature: float, gamma: float, gas_constant: float) -> dict[str, float]:
    """Speed of sound [m/s] at ``temperature`` [K]."""
    return {"sound_speed": float((gamma * gas_constant * temperature) ** 0.5)}
