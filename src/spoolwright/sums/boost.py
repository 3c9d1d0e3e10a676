"""Sums of the turbocharger as a whole: shaft, tip speed, spin-up, margins on the map, drive pressure.

Compressor, turbine, charge cooler and wastegate stand in files of their own, which register when
this one is imported.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import sqrt
from typing import Any

from spoolwright.constants import R_AIR
from spoolwright.sums import (  # noqa: F401 - they register sums
    boost_bleed,
    boost_compressor,
    boost_control,
    boost_cooler,
    boost_hose,
    boost_turbine,
)
from spoolwright.sums.air_pressures import OUTSIDE_INPUTS, Outside
from spoolwright.sums.air_states import SHAFT_SPEED
from spoolwright.sums.boost_gas import CP
from spoolwright.sums.registry import Input, Output, register

WHEEL = Input("length", "outer diameter of the wheel (exducer of a compressor)", "20 mm", "150 mm")


# ----------------------------------------------------------------------------- shaft
@register(
    "boost",
    "Tip speed and tip Mach number of a wheel",
    inputs={
        "diameter": WHEEL,
        "speed": SHAFT_SPEED,
        "inlet_temperature": Input("temperature", "gas at the wheel's inlet", "-40 degC", "1100 degC", ""),
        "gamma": Input("number", "ratio of heats of that gas", "1.2", "1.67", "1.4"),
    },
    outputs={
        "tip_speed": Output("speed", "m/s", "tip speed", ("ft/s",)),
        "tip_mach": Output("number", "1", "tip speed over inlet speed of sound"),
    },
    formula="""
    tip_speed = speed * diameter / 2
    tip_mach = tip_speed / sqrt(gamma * 287.05 * inlet_temperature)
    """,
    source="definition; cast aluminium wheels are usually kept below about 500 to 560 m/s: common practice, no source",
    question=lambda given, results: (
        [f"a tip speed of {results['tip_speed']:.0f} m/s is beyond usual wheels; rpm, radius for diameter?"]
        if results["tip_speed"] > 600.0
        else []
    ),
    caution="a wheel that bursts goes through the housing: do not stand in its plane, keep below the maker's speed",
    example='--diameter "52 mm" --speed "150000 rpm" --inlet-temperature "25 degC"',
)
def tip_speed(diameter: float, speed: float, inlet_temperature: float | None, gamma: float) -> dict[str, float | None]:
    """Tip speed [m/s] of a wheel and its Mach number [1] where the inlet temperature [K] is given."""
    tip = 0.5 * speed * diameter
    mach = None if inlet_temperature is None else tip / sqrt(gamma * R_AIR * inlet_temperature)
    return {"tip_speed": tip, "tip_mach": mach}


@register(
    "boost",
    "Tip and shaft speed a temperature rise needs",
    inputs={
        "temperature_rise": Input(
            "temperature_difference", "total temperature rise across the compressor", "5 K", "300 K"
        ),
        "slip": Input("share", "work factor: c_p dT = factor * tip speed^2", "60 %", "100 %", "95 %"),
        "diameter": Input("length", "outer diameter of the wheel, for the shaft speed", "20 mm", "150 mm", ""),
        "heat_capacity": CP,
    },
    outputs={
        "tip_speed": Output("speed", "m/s", "tip speed", ("ft/s",)),
        "shaft_speed": Output("rotational_speed", "rpm", "shaft speed, where the wheel is given"),
    },
    formula="""
    tip_speed = sqrt(heat_capacity * temperature_rise / slip)
    shaft_speed = tip_speed / (diameter / 2)
    """,
    source="Euler's turbine equation with a work factor; standard textbook relation (turbomachines)",
    validity="radial blades about 0.9 to 0.95; backswept wheels 0.65 to 0.8 (from memory)",
    example='--temperature-rise "110 K" --slip "75 %" --diameter "52 mm"',
)
def tip_speed_for_rise(
    temperature_rise: float, slip: float, diameter: float | None, heat_capacity: float
) -> dict[str, float | None]:
    """Tip speed [m/s] and shaft speed [rad/s] from the compressor's temperature rise [K]."""
    if temperature_rise <= 0.0 or slip <= 0.0:
        raise ValueError("temperature_rise and slip must be above zero")
    tip = sqrt(heat_capacity * temperature_rise / slip)
    return {"tip_speed": tip, "shaft_speed": None if diameter is None else 2.0 * tip / diameter}


@register(
    "boost",
    "Time a turbo rotor takes to spin up",
    inputs={
        "inertia": Input("inertia", "moment of inertia of the rotor", "1e-7 kg m2", "0.005 kg m2"),
        "from_speed": Input("rotational_speed", "shaft speed at the start", "0 rpm", "400000 rpm"),
        "to_speed": Input("rotational_speed", "shaft speed at the end", "1000 rpm", "400000 rpm"),
        "net_power": Input("power", "turbine less compressor less bearings, mean", "0.01 kW", "100 kW"),
    },
    outputs={
        "time": Output("time", "s", "time from the first to the second speed"),
        "energy": Output("energy", "J", "energy put into the rotor", ("kJ",)),
    },
    formula="""
    energy = inertia * (to_speed^2 - from_speed^2) / 2
    time = energy / net_power
    """,
    source="energy of rotation; standard textbook relation",
    validity="constant net power; a real one rises with exhaust flow, so the first half takes longer",
    example='--inertia "5e-5 kg m2" --from-speed "20000 rpm" --to-speed "100000 rpm" --net-power "2 kW"',
)
def turbo_spin_up(inertia: float, from_speed: float, to_speed: float, net_power: float) -> dict[str, float]:
    """Time [s] and energy [J]; raises ValueError without a surplus of power."""
    if net_power <= 0.0:
        raise ValueError("without a surplus of power the rotor does not speed up")
    if to_speed <= from_speed:
        raise ValueError("to_speed must be above from_speed")
    energy = 0.5 * inertia * (to_speed**2 - from_speed**2)
    return {"time": energy / net_power, "energy": energy}


@register(
    "boost",
    "Time to fill pipes, cooler and plenum to a boost",
    inputs={
        "volume": Input("volume", "volume between compressor and throttle or valves", "0.2 L", "60 L"),
        "pressure_rise": Input("pressure_difference", "rise of pressure", "5 kPa", "300 kPa"),
        "temperature": Input("temperature", "charge temperature", "-20 degC", "200 degC"),
        "surplus_flow": Input("mass_flow", "compressor flow less what the engine takes", "0.0005 kg/s", "1 kg/s"),
    },
    outputs={
        "air": Output("mass", "g", "air stored"),
        "time": Output("time", "s", "time to store it", ("ms",)),
    },
    formula="""
    air = pressure_rise * volume / (287.05 * temperature)
    time = air / surplus_flow
    """,
    source="mass balance, ideal gas at constant temperature",
    slips=("all of the lag laid on the cooler's volume: most of it is the rotor",),
    example='--volume "8 L" --pressure-rise "90 kPa" --temperature "60 degC" --surplus-flow "0.05 kg/s"',
)
def fill_time(volume: float, pressure_rise: float, temperature: float, surplus_flow: float) -> dict[str, float]:
    """Air [kg] and time [s] that fill a volume [m3] to a higher pressure."""
    if surplus_flow <= 0.0:
        raise ValueError("without a surplus of flow the pressure does not rise")
    air = pressure_rise * volume / (R_AIR * temperature)
    return {"air": air, "time": air / surplus_flow}


# ----------------------------------------------------------------------------- map margins
def _between(points: list[tuple[float, float]], x: float, what: str) -> float:
    if not points[0][0] <= x <= points[-1][0]:
        raise ValueError(
            f"the pressure ratio {x:.3f} is outside the {what} ({points[0][0]:.3f} to {points[-1][0]:.3f}); "
            "read the map there"
        )
    for (x1, y1), (x2, y2) in pairwise(points):
        if x <= x2:
            return y1 + (y2 - y1) * (x - x1) / (x2 - x1)
    return points[-1][1]


def _margin_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = []
    if results["surge_margin"] < 0.0:
        questions.append("the point lies left of the surge line: the compressor breaks down there")
    elif results["surge_margin"] < 0.1:
        questions.append("less than 10 % from surge; pulses of the engine and a closing throttle need more")
    choke = results["choke_margin"]
    if choke is not None and choke < 0.0:
        questions.append("the point lies right of the choke line: the compressor cannot pass it at that ratio")
    return questions


@register(
    "boost",
    "Margin of an operating point to surge and choke, from points read off the map",
    inputs={
        "corrected_flow": Input("mass_flow", "corrected flow of the point", "0.001 kg/s", "3 kg/s"),
        "pressure_ratio": Input("ratio", "pressure ratio of the point", "1", "5"),
        "surge_line": Input("curve", "pressure ratio: surge flow, rising", curve=("ratio", "mass_flow")),
        "choke_line": Input("curve", "pressure ratio: choke flow, rising", default="", curve=("ratio", "mass_flow")),
    },
    outputs={
        "surge_flow": Output("mass_flow", "kg/s", "surge flow at that ratio", ("lb/min",)),
        "surge_margin": Output("share", "%", "flow above the surge flow, as a share of the surge flow"),
        "surge_margin_of_flow": Output("share", "%", "the same distance as a share of the flow itself"),
        "choke_flow": Output("mass_flow", "kg/s", "choke flow at that ratio", ("lb/min",)),
        "choke_margin": Output("share", "%", "room to the choke flow, as a share of it"),
    },
    formula="""
    surge_margin = (corrected_flow - surge_flow) / surge_flow
    surge_margin_of_flow = (corrected_flow - surge_flow) / corrected_flow
    choke_margin = (choke_flow - corrected_flow) / choke_flow
    """,
    source="definition at constant pressure ratio (several are in use: name the one you quote); "
    "straight lines between points",
    validity="inside the points given; the same reference state for point and map",
    question=_margin_question,
    example='--corrected-flow "0.12 kg/s" --pressure-ratio 2.0 '
    '--surge-line "1.5: 0.05 kg/s; 2.0: 0.08 kg/s; 2.5: 0.11 kg/s"',
)
def map_margin(
    corrected_flow: float,
    pressure_ratio: float,
    surge_line: list[tuple[float, float]],
    choke_line: list[tuple[float, float]] | None,
) -> dict[str, float | None]:
    """Margins [1] to the surge and the choke line at constant pressure ratio."""
    surge = _between(surge_line, pressure_ratio, "surge line")
    choke = None if choke_line is None else _between(choke_line, pressure_ratio, "choke line")
    return {
        "surge_flow": surge,
        "surge_margin": (corrected_flow - surge) / surge,
        "surge_margin_of_flow": (corrected_flow - surge) / corrected_flow,
        "choke_flow": choke,
        "choke_margin": None if choke is None else (choke - corrected_flow) / choke,
    }


@register(
    "boost",
    "Drive pressure against boost",
    inputs={
        "boost": Input("pressure_gauge", "boost in the manifold", "5 kPa", "300 kPa"),
        "drive_pressure": Input(
            "pressure_gauge", "gauge pressure between exhaust valve and turbine", "0 kPa", "600 kPa"
        ),
        **OUTSIDE_INPUTS,
    },
    outputs={
        "gauge_ratio": Output("ratio", "1", "drive over boost, gauge: the figure of the trade"),
        "absolute_ratio": Output("ratio", "1", "drive over manifold, absolute: what the cylinder sees"),
        "difference": Output("pressure_difference", "kPa", "drive less boost", ("psi",)),
    },
    formula="""
    gauge_ratio = drive_pressure / boost
    absolute_ratio = (drive_pressure + barometer) / (boost + barometer)
    """,
    source="definition; near 1 good, 1.5 common, 2 small turbine: common practice, no source",
    question=lambda given, results: (
        ["drive pressure twice the boost: small turbine, or pressure read where the pulses fool the gauge?"]
        if results["gauge_ratio"] > 2.0
        else []
    ),
    example='--boost "13 psi" --drive-pressure "19 psi" --barometer "98.0 kPa"',
)
def drive_ratio(boost: float, drive_pressure: float, outside: Outside) -> dict[str, float]:
    """Ratios [1] of drive pressure to boost, gauge and absolute."""
    if boost <= 0.0:
        raise ValueError("a ratio to boost needs boost above zero")
    p_outside = outside.pressure()
    return {
        "gauge_ratio": drive_pressure / boost,
        "absolute_ratio": (drive_pressure + p_outside) / (boost + p_outside),
        "difference": drive_pressure - boost,
    }
