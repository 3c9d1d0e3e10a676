"""Injectors: size at the real pressure difference, flow with another fuel, duty and pulse width.

Flow through an orifice as the root of the pressure across it; continuity over a four-stroke cycle.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums.alternatives import one_of
from spoolwright.sums.fuel_power import DENSITY, NEED_INPUTS, FuelNeed
from spoolwright.sums.fuel_supply import FIRE
from spoolwright.sums.registry import Input, Output, register

_FUEL_FOR_ALL = Output("mass_flow", "lb/h", "fuel for all injectors", ("kg/h",))
_RATED = Input("pressure_difference", "pressure the rating is for", "2 bar", "5 bar", "3 bar")
_ACROSS = Input("pressure_difference", "fuel pressure less manifold pressure", "1.5 bar", "8 bar")
_DUTY = Input("share", "highest duty allowed", "50 %", "95 %", "85 %", sheet="injection.duty_limit")
_INJECTORS = Input(
    "count", "number of injectors", "1", "32", sheet="cylinders.count * injection.injectors_per_cylinder"
)


def flow_lost_unreferenced(pressure_across: float, boost: float) -> float:
    """Share of injector flow [1] lost when the regulator does not follow ``boost`` [Pa]: flow ~ sqrt(dp)."""
    return 1.0 - math.sqrt((pressure_across - boost) / pressure_across) if boost < pressure_across else 1.0


def _injector_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = []
    if given["boost"] >= given["pressure_across"]:
        questions.append("without reference such boost leaves no pressure across the injectors at all")
    if given["duty"] > 0.9:
        questions.append("above 85 % of duty injectors may stay open and flow loses its order: is that meant?")
    return questions


@register(
    "fuel",
    "Injector size at the real pressure difference",
    inputs={
        **NEED_INPUTS,
        "injectors": _INJECTORS,
        "duty": _DUTY,
        "density": DENSITY,
        "pressure_across": _ACROSS,
        "rated_pressure": _RATED,
        "boost": Input(
            "pressure_gauge", "boost, to see what an unreferenced regulator loses", "0 kPa", "350 kPa", "0 kPa"
        ),
    },
    outputs={
        "flow_per_injector": Output("mass_flow", "lb/h", "static flow each must give at the real pressure", ("g/s",)),
        "volume_flow_per_injector": Output("volume_flow", "cc/min", "the same by volume"),
        "rating": Output("volume_flow", "cc/min", "rating to buy, at rated_pressure"),
        "rating_by_mass": Output("mass_flow", "lb/h", "the same by mass"),
        "flow_lost_unreferenced": Output("share", "%", "flow lost at that boost when the regulator is not referenced"),
        "fuel_needed": _FUEL_FOR_ALL,
    },
    formula="""
    flow_per_injector = fuel_needed / (injectors * duty)
    volume_flow_per_injector = flow_per_injector / density
    rating = volume_flow_per_injector * sqrt(rated_pressure / pressure_across)
    flow_lost_unreferenced = 1 - sqrt((pressure_across - boost) / pressure_across)
    """,
    source="definition of consumption; orifice law, flow as the root of pressure (any fluid mechanics text)",
    validity="duty of 80 to 85 % at most is common practice, no source",
    slips=("rating at 3 bar used at another pressure", "rail pressure taken for the pressure across: take boost off"),
    question=_injector_question,
    caution=FIRE,
    example=('--power "300 hp" --consumption "0.60 lb/(hp h)" --injectors 4 --pressure-across "4 bar" --boost "1 bar"'),
)
def injector_size(
    burned: FuelNeed,
    injectors: float,
    duty: float,
    density: float,
    pressure_across: float,
    rated_pressure: float,
    boost: float,
) -> dict[str, float]:
    """Static flow [kg/s, m3/s] of each injector and the rating to buy."""
    if min(injectors, duty, density, pressure_across, rated_pressure) <= 0.0:
        raise ValueError("injectors, duty, density and pressures must be above zero")
    if duty > 1.0:
        raise ValueError("a duty above 100 % cannot be")
    need = burned.flow()
    mass = need / (injectors * duty)
    scale = math.sqrt(rated_pressure / pressure_across)
    return {
        "flow_per_injector": mass,
        "volume_flow_per_injector": mass / density,
        "rating": mass / density * scale,
        "rating_by_mass": mass * scale,
        "flow_lost_unreferenced": flow_lost_unreferenced(pressure_across, boost),
        "fuel_needed": need,
    }


@register(
    "fuel",
    "Injector flow at another pressure or with another fuel",
    inputs={
        "rating": Input(
            "volume_flow",
            "rated flow; or give rating_by_mass",
            "50 cc/min",
            "4000 cc/min",
            "",
            condition="rated_pressure",
        ),
        "rating_by_mass": Input(
            "mass_flow", "rated flow by mass; or give rating", "5 lb/h", "500 lb/h", "", condition="rated_pressure"
        ),
        "rated_pressure": _RATED,
        "pressure_across": _ACROSS,
        "rated_density": Input("density", "density of the test fluid", "0.6 kg/L", "0.9 kg/L", "0.745 kg/L"),
        "density": DENSITY,
    },
    outputs={
        "flow": Output("volume_flow", "cc/min", "static flow at that pressure with that fuel", ("L/h",)),
        "mass_flow": Output("mass_flow", "lb/h", "the same by mass", ("kg/h", "g/s")),
        "change": Output("share", "%", "change of volume flow"),
    },
    formula="""
    flow = rating * sqrt(pressure_across / rated_pressure * rated_density / density)
    mass_flow = flow * density
    """,
    source="orifice law (any fluid mechanics text)",
    slips=("mass taken to grow with pressure itself instead of its root",),
    caution=FIRE,
    example='--rating "440 cc/min @ 3 bar" --pressure-across "4 bar"',
)
def injector_at_pressure(
    rating: float | None,
    rating_by_mass: float | None,
    rated_pressure: float,
    pressure_across: float,
    rated_density: float,
    density: float,
) -> dict[str, float]:
    """Static flow [m3/s, kg/s] at another pressure difference [Pa] and density [kg/m3]."""
    if min(rated_pressure, pressure_across, rated_density, density) <= 0.0:
        raise ValueError("pressures and densities must be above zero")
    if one_of(rating=rating, rating_by_mass=rating_by_mass) == "rating_by_mass":
        assert rating_by_mass is not None
        rating = rating_by_mass / rated_density
    assert rating is not None
    factor = math.sqrt(pressure_across / rated_pressure * rated_density / density)
    return {"flow": rating * factor, "mass_flow": rating * factor * density, "change": factor - 1.0}


def _duty_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    duty = results["duty"]
    if duty > 1.0:
        return ["the injectors would have to be open all the time and longer: too small at this pressure"]
    if duty > 0.85:
        return ["above the usual 85 % of duty: larger injectors or more pressure?"]
    return []


@register(
    "fuel",
    "Injector duty and pulse width at speed, dead time included",
    inputs={
        "rating": Input(
            "volume_flow",
            "rated flow of one; or rating_by_mass",
            "50 cc/min",
            "4000 cc/min",
            "",
            condition="rated_pressure",
            sheet="injection.rated_flow",
        ),
        "rating_by_mass": Input(
            "mass_flow",
            "rated flow of one by mass; or rating",
            "5 lb/h",
            "500 lb/h",
            "",
            condition="rated_pressure",
            sheet="injection.rated_mass_flow",
        ),
        "rated_pressure": _RATED,
        "pressure_across": _ACROSS,
        "injectors": _INJECTORS,
        "density": DENSITY,
        **NEED_INPUTS,
        "speed": Input("rotational_speed", "engine speed", "500 rpm", "14000 rpm"),
        "dead_time": Input(
            "time", "opening delay at this voltage", "0 ms", "2.5 ms", "0 ms", sheet="injection.dead_time"
        ),
        "pulses_per_cycle": Input("count", "pulses in two turns: 1 sequential, 2 batch, 4 twice a turn", "1", "4", "1"),
    },
    outputs={
        "duty": Output("share", "%", "share of time the injector is driven, dead time included"),
        "pulse_width": Output("time", "ms", "length of a pulse, dead time included"),
        "flowing_time": Output("time", "ms", "of that, flowing"),
        "static_flow": Output("mass_flow", "lb/h", "static flow of all at this pressure", ("kg/h",)),
        "fuel_needed": _FUEL_FOR_ALL,
        "power_at_85": Output(
            "power", "hp", "power at 85 % of duty at this speed (where consumption is given)", ("kW",)
        ),
    },
    formula="""
    flowing_time = fuel_needed / static_flow * 4 * pi / speed / pulses_per_cycle
    pulse_width = flowing_time + dead_time
    duty = pulse_width * pulses_per_cycle * speed / (4 * pi)
    """,
    source="continuity over a four-stroke cycle; orifice law for the pressure",
    slips=("dead time left out: at 7000 rpm 1 ms is 6 % of the cycle",),
    question=_duty_question,
    caution=FIRE,
    example=(
        '--rating "465 cc/min @ 3 bar" --pressure-across "4 bar" --injectors 4 --power "300 hp" '
        '--consumption "0.6 lb/(hp h)" --speed "6500 rpm" --dead-time "0.9 ms"'
    ),
)
def injector_duty(
    rating: float | None,
    rating_by_mass: float | None,
    rated_pressure: float,
    pressure_across: float,
    injectors: float,
    density: float,
    burned: FuelNeed,
    speed: float,
    dead_time: float,
    pulses_per_cycle: float,
) -> dict[str, float | None]:
    """Duty [1] and pulse width [s] at speed [rad/s]."""
    if min(rated_pressure, pressure_across, injectors, density, speed, pulses_per_cycle) <= 0.0:
        raise ValueError("pressures, counts, density and speed must be above zero")
    if one_of(rating=rating, rating_by_mass=rating_by_mass) == "rating":
        assert rating is not None
        rating_by_mass = rating * density
    assert rating_by_mass is not None
    if rating_by_mass <= 0.0:
        raise ValueError("the rated flow must be above zero")
    need = burned.flow()
    static = injectors * rating_by_mass * math.sqrt(pressure_across / rated_pressure)
    cycle = 4.0 * math.pi / speed
    flowing = need / static * cycle / pulses_per_cycle
    width = flowing + dead_time
    left = 0.85 - dead_time * pulses_per_cycle / cycle
    return {
        "duty": width * pulses_per_cycle / cycle,
        "pulse_width": width,
        "flowing_time": flowing,
        "static_flow": static,
        "fuel_needed": need,
        "power_at_85": None if burned.consumption is None else static * left / burned.consumption,
    }
