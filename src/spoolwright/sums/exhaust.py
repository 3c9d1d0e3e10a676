"""Sums of the exhaust: flow, speed and Mach number in pipes, bores, cones, temperatures, growth.

One-dimensional steady gas; mean flow unless a sum says pulses. Gas constant of burned gas is close to
that of air; the ratio of heats falls with temperature (about 1.33 at 800 degC).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import atan, degrees, exp, pi, radians, sqrt, tan
from typing import Any

from spoolwright.constants import R_AIR
from spoolwright.sums import exhaust_losses, exhaust_pulses, measures  # noqa: F401 - the first two register sums
from spoolwright.sums.air_pressures import OUTSIDE_INPUTS, Place
from spoolwright.sums.air_weather import GAS_TEMPERATURE, sound_speed
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.exhaust_losses import (
    GAMMA,
    GAS_FLOW,
    PIPE_BORE,
    PIPE_GAUGE,
    PIPE_PRESSURE,
    pipe_area,
)
from spoolwright.sums.mixtures import MIXTURE_INPUTS, Mixture
from spoolwright.sums.registry import Input, Output, register

PIPES = Input("count", "equal pipes that share the flow", "1", "8", "1")


# ----------------------------------------------------------------------------- flow and speed
@register(
    "exhaust",
    "Exhaust gas flow from air flow and mixture",
    inputs={
        "air_flow": Input("mass_flow", "air through the engine", "0.001 kg/s", "3 kg/s"),
        **MIXTURE_INPUTS,
    },
    outputs={
        "exhaust_flow": Output("mass_flow", "kg/s", "exhaust gas: air and fuel", ("lb/min",)),
        "fuel_flow": Output("mass_flow", "kg/s", "fuel", ("lb/h", "kg/h")),
    },
    formula="exhaust_flow = air_flow * (1 + 1 / air_fuel_ratio)",
    source="mass balance",
    slips=("fuel forgotten: 6 to 15 % of the gas",),
    example='--air-flow "31.5 lb/min" --air-fuel-ratio 11.6',
)
def exhaust_flow(air_flow: float, mixture: Mixture) -> dict[str, float]:
    """Exhaust gas flow [kg/s]."""
    burned = air_flow / mixture.by_mass()
    return {"exhaust_flow": air_flow + burned, "fuel_flow": burned}


def _mach_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    mach = results["mach"]
    if mach >= 1.0:
        return ["the mean flow would be faster than sound: the pipe chokes and pressure before it rises; larger bore"]
    if mach > 0.3:
        return [
            f"Mach {mach:.2f} is above 0.25 to 0.30, the usual upper end for a dump pipe; the loss grows with its "
            f"square"
        ]
    return []


@register(
    "exhaust",
    "Speed and Mach number in a pipe",
    inputs={
        "mass_flow": GAS_FLOW,
        "bore": PIPE_BORE,
        "outside_diameter": Input("length", "outside diameter, with the wall; instead", "10 mm", "200 mm", ""),
        "wall": Input("length", "wall thickness, with the outside diameter", "0.5 mm", "5 mm", ""),
        "temperature": GAS_TEMPERATURE,
        "gauge": PIPE_GAUGE,
        "pressure": PIPE_PRESSURE,
        **OUTSIDE_INPUTS,
        "pipes": PIPES,
        "gamma": GAMMA,
    },
    outputs={
        "velocity": Output("speed", "m/s", "mean gas speed", ("ft/s",)),
        "mach": Output("number", "1", "Mach number"),
        "sound_speed": Output("speed", "m/s", "speed of sound in the gas"),
        "density": Output("density", "kg/m3", "gas density"),
        "velocity_head": Output(
            "pressure_difference", "kPa", "half rho v^2: what one bend's worth of loss is counted in", ("psi",)
        ),
        "volume_flow": Output("volume_flow", "cfm", "volume at that state", ("L/s",)),
    },
    formula="""
    density = pressure / (287.05 * temperature)
    velocity = mass_flow / (pipes * density * pi/4 * bore^2)
    mach = velocity / sqrt(gamma * 287.05 * temperature)
    """,
    source="continuity and ideal gas; 0.25 to 0.30 as upper end for a dump pipe is common practice, no source",
    validity="mean flow, static temperature and pressure",
    slips=("outside diameter taken as bore", "gauge pressure taken as absolute", "air flow without the fuel"),
    question=_mach_question,
    example='--mass-flow "0.23 kg/s" --bore "63.5 mm" --temperature "750 degC" --gauge "5 kPa" --barometer "98 kPa"',
)
def pipe_mach(
    mass_flow: float,
    bore: float | None,
    outside_diameter: float | None,
    wall: float | None,
    temperature: float,
    place: Place,
    pipes: float,
    gamma: float,
) -> dict[str, float]:
    """Velocity [m/s], Mach number [1] and density [kg/m3] of a steady flow in pipes."""
    total = place.absolute()
    density = total / (R_AIR * temperature)
    velocity = mass_flow / (pipes * density * pipe_area(bore, outside_diameter, wall))
    sound = sound_speed(temperature, gamma, R_AIR)["sound_speed"]
    return {
        "velocity": velocity,
        "mach": velocity / sound,
        "sound_speed": sound,
        "density": density,
        "velocity_head": 0.5 * density * velocity**2,
        "volume_flow": mass_flow / density,
    }


@register(
    "exhaust",
    "Pipe bore for a speed or a Mach number",
    inputs={
        "mass_flow": GAS_FLOW,
        "temperature": GAS_TEMPERATURE,
        "gauge": PIPE_GAUGE,
        "pressure": PIPE_PRESSURE,
        **OUTSIDE_INPUTS,
        "velocity": Input("speed", "gas speed wanted", "10 m/s", "400 m/s", ""),
        "mach": Input("number", "Mach number wanted; instead", "0.05", "0.6", ""),
        "pipes": PIPES,
        "gamma": GAMMA,
    },
    outputs={
        "bore": Output("length", "mm", "inner diameter of each", ("in",)),
        "velocity_found": Output("speed", "m/s", "gas speed"),
        "mach_found": Output("number", "1", "Mach number"),
    },
    formula="bore = sqrt(4 / pi * mass_flow / (pipes * density * velocity_found))",
    source="continuity and ideal gas",
    slips=("bore and outside diameter of tube mixed up",),
    question=lambda given, results: _mach_question(given, {"mach": results["mach_found"]}),
    example='--mass-flow "0.23 kg/s" --temperature "750 degC" --gauge "5 kPa" --barometer "98 kPa" --mach 0.28',
)
def pipe_bore(
    mass_flow: float,
    temperature: float,
    place: Place,
    velocity: float | None,
    mach: float | None,
    pipes: float,
    gamma: float,
) -> dict[str, float]:
    """Bore [m] of each pipe for a speed [m/s] or a Mach number."""
    sound = sound_speed(temperature, gamma, R_AIR)["sound_speed"]
    if one_of(velocity=velocity, mach=mach) == "mach":
        assert mach is not None
        velocity = mach * sound
    assert velocity is not None
    if velocity <= 0.0:
        raise ValueError("the speed must be above zero")
    one = pipe_mach(mass_flow, 1.0, None, None, temperature, place, pipes, gamma)  # speed in a bore of 1 m
    return {"bore": sqrt(one["velocity"] / velocity), "velocity_found": velocity, "mach_found": velocity / sound}


@register(
    "exhaust",
    "Primary bore from the mean speed of one cylinder's exhaust",
    inputs={
        "swept_volume": Input("volume", "swept volume of one cylinder", "30 cc", "1000 cc"),
        "speed": measures.SPEED,
        "gas_speed": Input("speed", "mean gas speed wanted while the valve is open", "30 m/s", "150 m/s"),
        "open_degrees": Input("angle", "crank degrees the exhaust valve is open", "180 deg", "340 deg", "240 deg"),
        "gas_expansion": Input("number", "gas volume in the pipe over swept volume, a cycle", "0.5", "6", "1"),
    },
    outputs={
        "bore": Output("length", "mm", "inner diameter", ("in",)),
        "area": Output("area", "mm2", "inner area", ("cm2",)),
        "flow": Output("volume_flow", "L/s", "mean volume flow while open"),
    },
    formula="""
    flow = swept_volume * gas_expansion / (open_degrees / speed)
    area = flow / gas_speed
    """,
    source="continuity; the speed to choose is common practice, no source (70 to 100 m/s on swept volume)",
    validity="compares pipes; the true peak in the blow-down is several times the mean",
    example='--swept-volume "537.6 cc" --speed "6500 rpm" --gas-speed "90 m/s"',
)
def primary_bore(
    swept_volume: float, speed: float, gas_speed: float, open_degrees: float, gas_expansion: float
) -> dict[str, float]:
    """Bore [m] of a primary pipe for a mean speed [m/s] while the valve is open."""
    if min(speed, gas_speed, open_degrees, gas_expansion) <= 0.0:
        raise ValueError("speeds, degrees and expansion must be above zero")
    flow = swept_volume * gas_expansion / (radians(open_degrees) / speed)
    area = flow / gas_speed
    return {"bore": sqrt(4.0 / pi * area), "area": area, "flow": flow}


# ----------------------------------------------------------------------------- shapes
def _cone_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    angle = results["included_angle"]
    if angle > 15.0:
        return [f"an included angle of {angle:.0f} deg: the flow leaves the wall; 7 to 12 deg is the rule"]
    return []


@register(
    "exhaust",
    "Cone: length or included angle",
    inputs={
        "small": Input("length", "inner diameter at the small end", "10 mm", "200 mm"),
        "large": Input("length", "inner diameter at the large end", "10 mm", "300 mm"),
        "length": Input("length", "length along the axis", "5 mm", "2 m", ""),
        "angle": Input("angle", "included angle; instead of the length", "1 deg", "60 deg", ""),
    },
    outputs={
        "length_found": Output("length", "mm", "length along the axis", ("in",)),
        "included_angle": Output("angle", "deg", "angle between the walls: twice that to the axis"),
        "area_ratio": Output("ratio", "1", "large over small area"),
        "slant": Output("length", "mm", "length along the wall"),
    },
    formula="""
    length_found = (large - small) / (2 * tan(angle / 2))
    included_angle = 2 * atan((large - small) / (2 * length_found))
    """,
    source="plain geometry; 7 to 12 deg after a turbine: common practice, no source",
    slips=("half angle taken for the included angle",),
    question=_cone_question,
    example='--small "50 mm" --large "63.5 mm" --angle "9 deg"',
)
def cone(small: float, large: float, length: float | None, angle: float | None) -> dict[str, float]:
    """Length [m] and included angle [deg] of a cone."""
    if large <= small:
        raise ValueError("the large end must be larger than the small end")
    if one_of(length=length, angle=angle) == "angle":
        assert angle is not None
        if not 0.0 < angle < 180.0:
            raise ValueError("the included angle lies between 0 and 180 degrees")
        length = (large - small) / (2.0 * tan(radians(angle) / 2.0))
    assert length is not None
    half = (large - small) / 2.0
    return {
        "length_found": length,
        "included_angle": 2.0 * degrees(atan(half / length)),
        "area_ratio": (large / small) ** 2,
        "slant": sqrt(length**2 + half**2),
    }


# ----------------------------------------------------------------------------- heat
@register(
    "exhaust",
    "Gas temperature along a pipe",
    inputs={
        "inlet_temperature": GAS_TEMPERATURE,
        "outside_temperature": Input("temperature", "air round the pipe", "-20 degC", "150 degC"),
        "mass_flow": GAS_FLOW,
        "bore": Input("length", "inner diameter", "10 mm", "200 mm"),
        "length": Input("length", "length of the pipe", "20 mm", "6 m"),
        "heat_transfer": Input("heat_transfer", "overall coefficient on the inner area", "5 W/(m2 K)", "150 W/(m2 K)"),
        "heat_capacity": Input("heat_capacity", "of the gas", "1000 J/(kg K)", "1350 J/(kg K)", "1150 J/(kg K)"),
    },
    outputs={
        "outlet_temperature": Output("temperature", "degC", "gas at the end", ("degF",)),
        "temperature_drop": Output("temperature_difference", "K", "drop along the pipe"),
        "heat": Output("power", "kW", "heat given to the engine bay"),
    },
    formula="""
    outlet_temperature = outside_temperature + (inlet_temperature - outside_temperature) * exp(-heat_transfer * pi * bore * length / (mass_flow * heat_capacity))
    heat = mass_flow * heat_capacity * temperature_drop
    """,  # noqa: E501
    source="exchanger with one side at constant temperature; standard textbook relation (heat transfer)",
    validity="constant coefficient: 15 to 30 for a bare pipe in still air with radiation, 5 to 10 wrapped (from "
    "memory)",
    example='--inlet-temperature "850 degC" --outside-temperature "60 degC" --mass-flow "0.23 kg/s" --bore "60 mm" '
    '--length "1.2 m" --heat-transfer "25 W/(m2 K)"',
)
def pipe_temperature(
    inlet_temperature: float,
    outside_temperature: float,
    mass_flow: float,
    bore: float,
    length: float,
    heat_transfer: float,
    heat_capacity: float,
) -> dict[str, float]:
    """Outlet temperature [K] and heat [W] of a pipe."""
    if mass_flow <= 0.0:
        raise ValueError("the flow must be above zero")
    units_of_transfer = heat_transfer * pi * bore * length / (mass_flow * heat_capacity)
    outlet = outside_temperature + (inlet_temperature - outside_temperature) * exp(-units_of_transfer)
    return {
        "outlet_temperature": outlet,
        "temperature_drop": inlet_temperature - outlet,
        "heat": mass_flow * heat_capacity * (inlet_temperature - outlet),
    }


@register(
    "exhaust",
    "Growth of a hot pipe and what the slip joint must take",
    inputs={
        "length": Input("length", "length between the fixed points, cold", "30 mm", "5 m"),
        "expansion": measures.expansion("the pipe"),
        "hot_temperature": Input("temperature", "mean wall temperature, hot", "50 degC", "1000 degC"),
        "cold_temperature": Input("temperature", "when measured", "-20 degC", "50 degC", "20 degC"),
        "gap": Input("length", "room in the slip joint, cold", "0 mm", "60 mm", ""),
        "engagement": Input("length", "overlap of the slip joint, cold", "0 mm", "150 mm", ""),
    },
    outputs={
        "growth": Output("length", "mm", "how much longer it gets", ("in", "thou")),
        "gap_left": Output("length", "mm", "room left hot (negative: it pushes)"),
        "engagement_hot": Output("length", "mm", "overlap hot"),
    },
    formula="""
    growth = length * expansion * (hot_temperature - cold_temperature)
    gap_left = gap - growth
    engagement_hot = engagement + growth
    """,
    source="linear thermal expansion; standard textbook relation",
    slips=("gas temperature taken as wall temperature",),
    question=lambda given, results: (
        ["the joint has no room left hot: it pushes on turbo and head until something cracks"]
        if results["gap_left"] is not None and results["gap_left"] < 0.0
        else []
    ),
    example='--length "420 mm" --expansion "17.5e-6 1/K" --hot-temperature "750 degC" --gap "8 mm"',
)
def pipe_growth(
    length: float,
    expansion: float,
    hot_temperature: float,
    cold_temperature: float,
    gap: float | None,
    engagement: float | None,
) -> dict[str, float | None]:
    """Growth [m] of a pipe and what is left of the joint's room."""
    growth = length * expansion * (hot_temperature - cold_temperature)
    return {
        "growth": growth,
        "gap_left": None if gap is None else gap - growth,
        "engagement_hot": None if engagement is None else engagement + growth,
    }
