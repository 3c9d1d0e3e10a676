"""Sums of the strip: time and speed from weight and power, and power back from a run.

Published cube-root fits; their constants differ between authors by up to 8 % in time, so the pair used is always shown
and the answers of the other pairs stand beside it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums.alternatives import one_of
from spoolwright.sums.registry import Input, Output, register
from spoolwright.units import to_si

_POUND = to_si(1.0, "mass", "lb")
_HORSEPOWER = to_si(1.0, "power", "hp")
_MPH = to_si(1.0, "speed", "mph")
MASS = Input("mass", "with driver and fuel", "30 kg", "4000 kg", sheet="drive.mass")
ROAD = "Speeds and pulls of this kind belong on a closed course."
_TIME_CONSTANT = Input("number", "constant of the time rule, s (lb/hp)^(-1/3)", "5.6", "6.5", "5.825")
_SPEED_CONSTANT = Input("number", "constant of the speed rule, mph (hp/lb)^(-1/3)", "220", "240", "234")
_STRIP = "published empirical cube-root fits (5.825 to 6.29 s and 224 to 234 mph appear); common practice, no source"


def _pounds_per_horsepower(mass: float, power: float) -> float:
    if mass <= 0.0 or power <= 0.0:
        raise ValueError("mass and power must be above zero")
    return (mass / _POUND) / (power / _HORSEPOWER)


def _strip_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    return [
        f"rule used: {given['time_constant']:g} s and {given['speed_constant']:g} mph; other authors' pairs give "
        f"{results['time_low']:.2f} to {results['time_high']:.2f} s: which one do you compare with?"
    ]


@register(
    "road",
    "Quarter-mile time and speed from weight and power",
    inputs={
        "mass": MASS,
        "power": Input("power", "power at the crank", "5 hp", "5000 hp"),
        "time_constant": _TIME_CONSTANT,
        "speed_constant": _SPEED_CONSTANT,
    },
    outputs={
        "time": Output("time", "s", "quarter-mile time by the rule"),
        "trap_speed": Output("speed", "mph", "speed at the end by the rule", ("km/h",)),
        "time_low": Output("time", "s", "with the quickest constant seen, 5.825"),
        "time_high": Output("time", "s", "with the slowest constant seen, 6.29"),
        "speed_low": Output("speed", "mph", "with the lowest constant seen, 224"),
        "speed_high": Output("speed", "mph", "with the highest constant seen, 234"),
    },
    formula="""
    time = time_constant * (mass in lb / power in hp)^(1/3)
    trap_speed = speed_constant mph * (power in hp / mass in lb)^(1/3)
    """,
    source=_STRIP,
    validity="good traction, standing start; constants differ by up to 8 % in time",
    slips=("weight without driver", "wheel power in a crank rule"),
    question=_strip_question,
    caution=ROAD,
    example='--mass "2050 lb" --power "265 hp"',
)
def strip_time(mass: float, power: float, time_constant: float, speed_constant: float) -> dict[str, float]:
    """Quarter-mile time [s] and speed [m/s] by cube-root rules."""
    root = _pounds_per_horsepower(mass, power) ** (1.0 / 3.0)
    return {
        "time": time_constant * root,
        "trap_speed": speed_constant / root * _MPH,
        "time_low": 5.825 * root,
        "time_high": 6.29 * root,
        "speed_low": 224.0 / root * _MPH,
        "speed_high": 234.0 / root * _MPH,
    }


@register(
    "road",
    "Power from a strip run",
    inputs={
        "mass": MASS,
        "trap_speed": Input("speed", "speed at the end of the quarter mile; or give time", "40 mph", "350 mph", ""),
        "time": Input("time", "quarter-mile time; or give trap_speed", "4 s", "30 s", ""),
        "time_constant": _TIME_CONSTANT,
        "speed_constant": _SPEED_CONSTANT,
    },
    outputs={
        "power": Output("power", "hp", "power by the rule", ("kW", "PS")),
        "power_low": Output("power", "hp", "with the constant that gives least", ("kW",)),
        "power_high": Output("power", "hp", "with the constant that gives most", ("kW",)),
    },
    formula="""
    power in hp = mass in lb * (trap_speed in mph / speed_constant)^3
    or power in hp = mass in lb * (time_constant / time)^3
    """,
    source=_STRIP,
    validity="speed tells power better than time, which traction decides; wind and height change both",
    slips=("weight without driver",),
    question=lambda given, results: [
        f"rule used: {given['speed_constant']:g} mph or {given['time_constant']:g} s; other authors' constants give "
        f"{results['power_low'] / _HORSEPOWER:.0f} to {results['power_high'] / _HORSEPOWER:.0f} hp"
    ],
    example='--mass "2050 lb" --trap-speed "112.4 mph"',
)
def power_from_strip(
    mass: float, trap_speed: float | None, time: float | None, time_constant: float, speed_constant: float
) -> dict[str, float]:
    """Power [W] from trap speed [m/s] or time [s] by cube-root rules."""
    if one_of(trap_speed=trap_speed, time=time) == "trap_speed":
        assert trap_speed is not None
        mph = trap_speed / _MPH
        shares = [(mph / constant) ** 3 for constant in (speed_constant, 234.0, 224.0)]
    else:
        assert time is not None
        if time <= 0.0:
            raise ValueError("the time must be above zero")
        shares = [(constant / time) ** 3 for constant in (time_constant, 5.825, 6.29)]
    power, low, high = (mass / _POUND * share * _HORSEPOWER for share in shares)
    return {"power": power, "power_low": low, "power_high": high}
