"""Sums of the cooling air: fan laws, fan against system, shroud leaks.

Published relations: fan affinity laws, parallel orifices. Heat and time to a limit are in ``cooling_heat``, fins and
barrels in ``cooling_fins``. Belt slip, stall and hot air going round again are in none of them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from spoolwright.constants import GAMMA_AIR, R_AIR
from spoolwright.sums import cooling_fins, cooling_heat  # noqa: F401 - they register the rest of this topic
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.boost import tip_speed
from spoolwright.sums.registry import Input, Output, register

TEST_SPEED = Input("rotational_speed", "fan speed at the test", "500 rpm", "20000 rpm", sheet="cooling.fan.curve_speed")
BURST = "A fan that runs faster than it was made for can burst: guard it, and check its stress before the first start."
_FAN_FLOW = Input("volume_flow", "flow at the test", "20 cfm", "8000 cfm")
_FAN_PRESSURE = Input("pressure_difference", "pressure rise at the test", "0.2 inH2O", "40 inH2O")
_FAN_POWER = Input("power", "power the fan took at the test", "0.05 hp", "40 hp", "")
_FAN_OUT = {
    "flow": Output("volume_flow", "cfm", "flow", ("m3/s",)),
    "pressure": Output("pressure_difference", "inH2O", "pressure rise", ("Pa",)),
    "power": Output("power", "hp", "shaft power (where it was measured)", ("kW",)),
    "tip_speed": Output("speed", "m/s", "speed of the wheel's rim (where its diameter is given)", ("ft/s",)),
}
_WHEEL = Input("length", "outside diameter of the wheel", "60 mm", "800 mm", "", sheet="cooling.fan.diameter")


def fan_scaled(
    speed_ratio: float, density_ratio: float, flow: float, pressure: float, power: float | None
) -> dict[str, float | None]:
    """Affinity laws: Q ~ N, dp ~ rho N^2, P ~ rho N^3."""
    return {
        "flow": flow * speed_ratio,
        "pressure": pressure * density_ratio * speed_ratio**2,
        "power": None if power is None else power * density_ratio * speed_ratio**3,
    }


def _rim_speed(wheel_diameter: float | None, speed: float) -> float | None:
    return None if wheel_diameter is None else tip_speed(wheel_diameter, speed, None, GAMMA_AIR)["tip_speed"]


def _tip_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> list[str]:
    tip = results["tip_speed"]
    if tip is not None and tip > 120.0:
        return [f"a rim speed of {tip:.0f} m/s: was this wheel made for it? See the burst sum in the topic strength"]
    return []


# ----------------------------------------------------------------------------- fan laws
def _pulley_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = _tip_question(given, results)
    more = results["power_ratio"]
    if more > 1.1:
        questions.append(
            f"the fan takes {100 * (more - 1):.0f} % more power for {100 * (results['speed_ratio'] - 1):.0f} % more "
            "air: would sealing the shroud give the same (see `shroud_leak`)?"
        )
    return questions


@register(
    "cooling",
    "Fan after a pulley change",
    inputs={
        "test_speed": TEST_SPEED,
        "test_flow": _FAN_FLOW,
        "test_pressure": _FAN_PRESSURE,
        "test_power": _FAN_POWER,
        "crank_pulley": Input("length", "crank pulley now", "40 mm", "400 mm", sheet="cooling.fan.crank_pulley"),
        "fan_pulley": Input("length", "fan pulley now", "30 mm", "400 mm", sheet="cooling.fan.fan_pulley"),
        "new_crank_pulley": Input("length", "crank pulley wanted; the old one when not given", "40 mm", "400 mm", ""),
        "new_fan_pulley": Input("length", "fan pulley wanted; the old one when not given", "30 mm", "400 mm", ""),
        "engine_speed": Input("rotational_speed", "engine speed", "500 rpm", "12000 rpm"),
        "density_ratio": Input("ratio", "air density now over that of the test", "0.5", "1.3", "1"),
        "wheel_diameter": _WHEEL,
    },
    outputs={
        "speed_before": Output("rotational_speed", "rpm", "fan speed with the pulleys now"),
        "speed_after": Output("rotational_speed", "rpm", "fan speed with the pulleys wanted"),
        "flow": Output("volume_flow", "cfm", "flow after", ("m3/s",)),
        "pressure": Output("pressure_difference", "inH2O", "pressure after", ("Pa",)),
        "power": Output("power", "hp", "shaft power after (where it was measured)", ("kW",)),
        "tip_speed": Output("speed", "m/s", "rim speed after (where the wheel is given)", ("ft/s",)),
        "flow_before": Output("volume_flow", "cfm", "flow before", ("m3/s",)),
        "pressure_before": Output("pressure_difference", "inH2O", "pressure before", ("Pa",)),
        "power_before": Output("power", "hp", "shaft power before", ("kW",)),
        "speed_ratio": Output("ratio", "1", "fan speed after over before"),
        "power_ratio": Output("ratio", "1", "power after over before"),
    },
    formula="""
    speed_before = engine_speed * crank_pulley / fan_pulley
    speed_after = engine_speed * new_crank_pulley / new_fan_pulley
    flow = test_flow * speed_after / test_speed
    pressure = test_pressure * density_ratio * (speed_after / test_speed)^2
    power = test_power * density_ratio * (speed_after / test_speed)^3
    tip_speed = pi * wheel_diameter * speed_after
    """,
    source="fan affinity laws, any fan text",
    validity="same system and same density unless stated; belt slip and stall are not in the law",
    slips=("the cubed power forgotten: 7 % bigger pulley, 24 % more power",),
    question=_pulley_question,
    caution=BURST,
    example=(
        '--test-speed "8000 rpm" --test-flow "1350 cfm" --test-pressure "8 inH2O" --test-power "7.1 hp" '
        '--crank-pulley "178 mm" --fan-pulley "99 mm" --new-crank-pulley "191 mm" --engine-speed "6500 rpm"'
    ),
)
def fan_pulley_change(
    test_speed: float,
    test_flow: float,
    test_pressure: float,
    test_power: float | None,
    crank_pulley: float,
    fan_pulley: float,
    new_crank_pulley: float | None,
    new_fan_pulley: float | None,
    engine_speed: float,
    density_ratio: float,
    wheel_diameter: float | None,
) -> dict[str, float | None]:
    """Fan speeds [rad/s] and duty before and after, by the affinity laws."""
    if min(test_speed, crank_pulley, fan_pulley, engine_speed) <= 0.0:
        raise ValueError("speeds and pulleys must be above zero")
    before = engine_speed * crank_pulley / fan_pulley
    after = engine_speed * (new_crank_pulley or crank_pulley) / (new_fan_pulley or fan_pulley)
    then = fan_scaled(before / test_speed, density_ratio, test_flow, test_pressure, test_power)
    now = fan_scaled(after / test_speed, density_ratio, test_flow, test_pressure, test_power)
    return {
        "speed_before": before,
        "speed_after": after,
        **now,
        "tip_speed": _rim_speed(wheel_diameter, after),
        "flow_before": then["flow"],
        "pressure_before": then["pressure"],
        "power_before": then["power"],
        "speed_ratio": after / before,
        "power_ratio": (after / before) ** 3,
    }


@register(
    "cooling",
    "Fan at another speed or in thinner air",
    inputs={
        "test_speed": TEST_SPEED,
        "speed": Input("rotational_speed", "fan speed wanted", "500 rpm", "20000 rpm"),
        "test_flow": _FAN_FLOW,
        "test_pressure": _FAN_PRESSURE,
        "test_power": _FAN_POWER,
        "test_density": Input("density", "air density at the test", "0.7 kg/m3", "1.4 kg/m3", "1.2 kg/m3"),
        "density": Input("density", "air density now", "0.5 kg/m3", "1.4 kg/m3", "1.2 kg/m3"),
        "wheel_diameter": _WHEEL,
    },
    outputs={
        **_FAN_OUT,
        "mass_flow": Output("mass_flow", "kg/s", "air by mass: what cools", ("lb/min",)),
        "mass_flow_ratio": Output("ratio", "1", "the same over that of the test"),
    },
    formula="""
    flow = test_flow * speed / test_speed
    pressure = test_pressure * (density / test_density) * (speed / test_speed)^2
    power = test_power * (density / test_density) * (speed / test_speed)^3
    mass_flow = flow * density
    """,
    source="fan affinity laws, any fan text",
    validity="same wheel and system; belt slip and stall are not in the law",
    slips=("volume flow taken for cooling: thin air carries less heat",),
    question=lambda given, results: _tip_question(given, results),
    caution=BURST,
    example='--test-speed "3000 rpm" --speed "3600 rpm" --test-flow "1000 cfm" --test-pressure "5 inH2O"',
)
def fan_at_speed(
    test_speed: float,
    speed: float,
    test_flow: float,
    test_pressure: float,
    test_power: float | None,
    test_density: float,
    density: float,
    wheel_diameter: float | None,
) -> dict[str, float | None]:
    """Fan duty at another speed [rad/s] and density [kg/m3]."""
    if min(test_speed, test_density, density) <= 0.0:
        raise ValueError("speeds and densities must be above zero")
    ratio = speed / test_speed
    return {
        **fan_scaled(ratio, density / test_density, test_flow, test_pressure, test_power),
        "tip_speed": _rim_speed(wheel_diameter, speed),
        "mass_flow": test_flow * ratio * density,
        "mass_flow_ratio": ratio * density / test_density,
    }


@register(
    "cooling",
    "Fan duty: outlet pressure, volume flow, air power, shaft power",
    inputs={
        "inlet_pressure": Input("pressure_absolute", "at the fan inlet", "55 kPa", "106 kPa"),
        "inlet_temperature": Input("temperature", "at the fan inlet", "-20 degC", "90 degC"),
        "pressure_rise": Input("pressure_difference", "rise over the fan", "0 Pa", "15 kPa"),
        "mass_flow": Input("mass_flow", "air by mass; or give volume_flow", "0.01 kg/s", "10 kg/s", ""),
        "volume_flow": Input("volume_flow", "air by volume at the inlet; or give mass_flow", "20 cfm", "20000 cfm", ""),
        "efficiency": Input("share", "fan efficiency, belt included", "20 %", "85 %", "60 %"),
    },
    outputs={
        "outlet_pressure": Output("pressure_absolute", "kPa", "at the fan outlet"),
        "volume_flow": Output("volume_flow", "m3/s", "at the inlet", ("cfm",)),
        "mass_flow": Output("mass_flow", "kg/s", "air by mass", ("lb/min",)),
        "density": Output("density", "kg/m3", "air density at the inlet"),
        "air_power": Output("power", "kW", "volume flow times pressure rise", ("hp",)),
        "shaft_power": Output("power", "kW", "power taken from the engine", ("hp",)),
        "air_warmed_by": Output("temperature_difference", "K", "the fan's own work warms the air by"),
    },
    formula="""
    outlet_pressure = inlet_pressure + pressure_rise
    volume_flow = mass_flow / density
    air_power = volume_flow * pressure_rise
    shaft_power = air_power / efficiency
    """,
    source="Turbomachines text, Ex. 3.14, p. 116; definitions",
    validity="pressure rise small against the pressure itself",
    example='--inlet-pressure "99 kPa" --inlet-temperature "25 C" --pressure-rise "2 kPa" --volume-flow "1350 cfm"',
)
def fan_duty(
    inlet_pressure: float,
    inlet_temperature: float,
    pressure_rise: float,
    mass_flow: float | None,
    volume_flow: float | None,
    efficiency: float,
) -> dict[str, float]:
    """Flow [m3/s, kg/s] and power [W] of a fan with a pressure rise [Pa]."""
    if not 0.0 < efficiency <= 1.0 or inlet_pressure <= 0.0:
        raise ValueError("the efficiency lies between 0 and 100 % and the pressure above zero")
    density = inlet_pressure / (R_AIR * inlet_temperature)
    if one_of(mass_flow=mass_flow, volume_flow=volume_flow) == "mass_flow":
        assert mass_flow is not None
        volume_flow = mass_flow / density
    assert volume_flow is not None
    shaft = volume_flow * pressure_rise / efficiency
    return {
        "outlet_pressure": inlet_pressure + pressure_rise,
        "volume_flow": volume_flow,
        "mass_flow": volume_flow * density,
        "density": density,
        "air_power": volume_flow * pressure_rise,
        "shaft_power": shaft,
        "air_warmed_by": pressure_rise / efficiency / density / 1006.0,
    }


# ----------------------------------------------------------------------------- fan against system
_SYSTEM = {
    "system_flow": Input("volume_flow", "flow at which the system's drop is known", "20 cfm", "20000 cfm"),
    "system_pressure": Input("pressure_difference", "drop of fins and shroud at that flow", "0.1 inH2O", "40 inH2O"),
}
_POINT = {
    "flow": Output("volume_flow", "m3/s", "flow where fan and system meet", ("cfm",)),
    "pressure": Output("pressure_difference", "Pa", "pressure there", ("inH2O",)),
    "air_power": Output("power", "kW", "flow times pressure", ("hp",)),
}


@register(
    "cooling",
    "Where fan and system meet: fan as a parabola",
    inputs={
        "shut_off_pressure": Input("pressure_difference", "fan pressure at no flow", "0.5 inH2O", "60 inH2O"),
        "fan_flow": Input("volume_flow", "one more point of the fan: flow", "20 cfm", "20000 cfm"),
        "fan_pressure": Input("pressure_difference", "and its pressure", "0 inH2O", "40 inH2O"),
        **_SYSTEM,
    },
    outputs=_POINT,
    formula="""
    fan: p = shut_off_pressure - a * Q^2, a = (shut_off_pressure - fan_pressure) / fan_flow^2
    system: p = b * Q^2, b = system_pressure / system_flow^2
    flow = sqrt(shut_off_pressure / (a + b))
    pressure = b * flow^2
    """,
    source="curves set equal, any fan text",
    validity="turbulent system (drop grows with the square of flow); fan without a stall dip",
    example='--shut-off-pressure "1500 Pa" --fan-flow "1 m3/s" --fan-pressure "1100 Pa" --system-flow "1 m3/s" '
    '--system-pressure "500 Pa"',
)
def fan_system_parabola(
    shut_off_pressure: float, fan_flow: float, fan_pressure: float, system_flow: float, system_pressure: float
) -> dict[str, float]:
    """Operating point [m3/s, Pa] of a parabolic fan on a quadratic system."""
    if min(fan_flow, system_flow, shut_off_pressure) <= 0.0 or fan_pressure > shut_off_pressure:
        raise ValueError("flows must be above zero and the fan's pressure fall with flow")
    a = (shut_off_pressure - fan_pressure) / fan_flow**2
    b = system_pressure / system_flow**2
    if a + b <= 0.0:
        raise ValueError("fan and system would never meet")
    flow = math.sqrt(shut_off_pressure / (a + b))
    return {"flow": flow, "pressure": b * flow**2, "air_power": b * flow**3}


@register(
    "cooling",
    "Where fan and system meet: fan as a measured curve",
    inputs={
        "fan": Input(
            "curve", "flow: pressure of the fan at its test speed", curve=("volume_flow", "pressure_difference")
        ),
        "speed_ratio": Input("ratio", "fan speed over test speed", "0.2", "3", "1"),
        "density_ratio": Input("ratio", "air density over that of the test", "0.5", "1.3", "1"),
        **_SYSTEM,
    },
    outputs=_POINT,
    formula="""
    fan: Q * speed_ratio and p * density_ratio * speed_ratio^2 of each point, linear between them
    system: p = system_pressure * density_ratio * (Q / system_flow)^2
    """,
    source="curves set equal; fan affinity laws",
    validity="inside the measured curve only; the last crossing is taken where a stall dip makes more than one",
    caution=BURST,
    example='--fan "0 cfm: 9 inH2O; 800 cfm: 8.5 inH2O; 1400 cfm: 6 inH2O; 1900 cfm: 0 inH2O" --system-flow "1350 cfm" '
    '--system-pressure "8 inH2O"',
)
def fan_system_curve(
    fan: list[tuple[float, float]], speed_ratio: float, density_ratio: float, system_flow: float, system_pressure: float
) -> dict[str, float]:
    """Operating point [m3/s, Pa] of a fan curve on a quadratic system."""
    if min(speed_ratio, density_ratio, system_flow) <= 0.0:
        raise ValueError("ratios and the system's flow must be above zero")
    b = system_pressure * density_ratio / system_flow**2
    points = [(q * speed_ratio, p * density_ratio * speed_ratio**2) for q, p in fan]
    for (q0, p0), (q1, p1) in reversed(list(pairwise(points))):
        slope = (p1 - p0) / (q1 - q0)
        if (p0 - b * q0**2) * (p1 - b * q1**2) > 0.0:
            continue
        start = p0 - slope * q0
        # b q^2 - slope q - start = 0; the root that lies inside the piece
        root = math.sqrt(max(0.0, slope**2 + 4.0 * b * start))
        for flow in ((slope + root) / (2.0 * b), (slope - root) / (2.0 * b)) if b > 0.0 else (-start / slope,):
            if q0 - 1e-12 <= flow <= q1 + 1e-12:
                return {"flow": flow, "pressure": b * flow**2, "air_power": b * flow**3}
    raise ValueError("fan and system do not meet inside the measured curve")


def _leak_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    lost = results["leak_share"]
    if lost > 0.1:
        return [
            f"{100 * lost:.0f} % of the air misses the fins; to make it up by speed alone the fan would take "
            f"{results['power_ratio_by_speed']:.2f} times the power: seal first?"
        ]
    return []


@register(
    "cooling",
    "Shroud leaks: how the air splits",
    inputs={
        "cooling_areas": Input(
            "area",
            "free area through the fins, one for each cylinder or head, smallest section",
            "100 mm2",
            "100000 mm2",
            many=True,
        ),
        "leak_areas": Input("area", "gaps and holes past the fins", "0 mm2", "50000 mm2", many=True),
        "total_flow": Input("volume_flow", "air the fan delivers", "20 cfm", "20000 cfm"),
        "cooling_coefficient": Input("number", "discharge coefficient of the fin passages", "0.3", "1", "0.6"),
        "leak_coefficient": Input("number", "discharge coefficient of the gaps", "0.4", "1", "0.62"),
        "density": Input("density", "air density", "0.7 kg/m3", "1.4 kg/m3", "1.2 kg/m3"),
    },
    outputs={
        "leak_share": Output("share", "%", "air that misses the fins"),
        "cooling_share": Output("share", "%", "air through all fins"),
        "cooling_flow": Output("volume_flow", "cfm", "air through all fins", ("m3/s",)),
        "flow_each": Output("volume_flow", "cfm", "air through each passage"),
        "leak_each": Output("volume_flow", "cfm", "air through each gap"),
        "worst_share": Output("share", "%", "smallest passage's air over the mean of all"),
        "pressure": Output("pressure_difference", "Pa", "pressure in the shroud", ("inH2O",)),
        "speed_ratio_by_speed": Output("ratio", "1", "fan speed needed to make up for the leaks instead of sealing"),
        "power_ratio_by_speed": Output("ratio", "1", "and its power"),
    },
    formula="""
    share of a passage = coefficient * area / sum of all (coefficient * area)
    pressure = density / 2 * (total_flow / sum of all (coefficient * area))^2
    speed_ratio_by_speed = 1 / cooling_share
    power_ratio_by_speed = (1 / cooling_share)^3
    """,
    source="parallel orifices under one pressure; fan affinity laws",
    validity="one pressure over the whole shroud; fan flow as given (sealing raises pressure, lowers flow a little)",
    slips=("fan flow taken for cooling air", "oil cooler in the shroud left out of the leaks"),
    question=_leak_question,
    example='--cooling-areas "5200; 5200; 5000; 5200 mm2" --leak-areas "1800; 900 mm2" --total-flow "1350 cfm"',
)
def shroud_leak(
    cooling_areas: list[float],
    leak_areas: list[float],
    total_flow: float,
    cooling_coefficient: float,
    leak_coefficient: float,
    density: float,
) -> dict[str, Any]:
    """Split of the fan's flow [m3/s] over passages and gaps [m2]."""
    fins = [cooling_coefficient * a for a in cooling_areas]
    gaps = [leak_coefficient * a for a in leak_areas]
    whole = sum(fins) + sum(gaps)
    if min(*fins, *gaps, 0.0) < 0.0 or sum(fins) <= 0.0:
        raise ValueError("areas cannot be below zero and the fins must have some")
    share = sum(fins) / whole
    return {
        "leak_share": 1.0 - share,
        "cooling_share": share,
        "cooling_flow": share * total_flow,
        "flow_each": [total_flow * a / whole for a in fins],
        "leak_each": [total_flow * a / whole for a in gaps],
        "worst_share": min(fins) * len(fins) / sum(fins),
        "pressure": 0.5 * density * (total_flow / whole) ** 2,
        "speed_ratio_by_speed": 1.0 / share,
        "power_ratio_by_speed": (1.0 / share) ** 3,
    }
