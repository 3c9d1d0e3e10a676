"""Sums of heat in cooling: heat from power, air or water needed, temperature rise, time to a limit and back.

Energy balance and lumped heat capacity (one temperature for a mass of metal), any heat transfer text.
"""

from __future__ import annotations

import math

from spoolwright.sums.alternatives import one_of
from spoolwright.sums.registry import Input, Output, register

COOLING_AIR = Input("temperature", "cooling air", "-20 degC", "60 degC", "30 degC")

_CP = Input(
    "heat_capacity",
    "air 1006, water with half glycol 3500",
    "900 J/(kg K)",
    "4200 J/(kg K)",
    "1006 J/(kg K)",
)
_HEAT = Input("power", "heat to carry away", "0.2 kW", "400 kW")


@register(
    "cooling",
    "Heat to the cooling air from power",
    inputs={
        "power": Input("power", "brake power", "1 kW", "1000 kW"),
        "ratio": Input("ratio", "heat to air over brake power", "0.3", "0.8", "0.5"),
        "fan_power": Input("power", "power the fan takes, made at the crank too", "0 kW", "40 kW", "0 kW"),
    },
    outputs={
        "heat": Output("power", "kW", "heat the air must carry", ("hp",)),
        "heat_low": Output("power", "kW", "with 0.4 of the power"),
        "heat_high": Output("power", "kW", "with 0.6 of the power"),
    },
    formula="heat = ratio * (power + fan_power)",
    source="rule of thumb 0.4 to 0.6 kW per kW for air-cooled engines, from memory; weak public figure of 0.5",
    validity="a guess to start from, oil cooler included; measure air flow and temperature rise instead",
    example='--power "150 kW"',
)
def heat_to_cooling_air(power: float, ratio: float, fan_power: float) -> dict[str, float]:
    """Heat [W] to the cooling air as a share of brake power [W]."""
    whole = power + fan_power
    return {"heat": ratio * whole, "heat_low": 0.4 * whole, "heat_high": 0.6 * whole}


@register(
    "cooling",
    "Cooling air (or water) needed for a heat",
    inputs={
        "heat": _HEAT,
        "temperature_rise": Input("temperature_difference", "rise allowed", "3 K", "120 K"),
        "heat_capacity": _CP,
        "density": Input("density", "density where the flow is counted", "0.7 kg/m3", "1100 kg/m3", "1.2 kg/m3"),
    },
    outputs={
        "mass_flow": Output("mass_flow", "kg/s", "flow by mass", ("lb/min",)),
        "volume_flow": Output("volume_flow", "m3/s", "flow by volume", ("cfm", "L/min")),
    },
    formula="""
    mass_flow = heat / (heat_capacity * temperature_rise)
    volume_flow = mass_flow / density
    """,
    source="energy balance",
    slips=("hot air counted at cold density",),
    example='--heat "25 kW" --temperature-rise "60 K"',
)
def cooling_air_needed(heat: float, temperature_rise: float, heat_capacity: float, density: float) -> dict[str, float]:
    """Flow [kg/s, m3/s] that carries a heat [W] with a rise [K]."""
    if min(temperature_rise, heat_capacity, density) <= 0.0:
        raise ValueError("rise, heat capacity and density must be above zero")
    flow = heat / (heat_capacity * temperature_rise)
    return {"mass_flow": flow, "volume_flow": flow / density}


@register(
    "cooling",
    "Temperature rise of the cooling air, and the heat it carries",
    inputs={
        "heat": Input("power", "heat; or give outlet_temperature to learn it", "0.2 kW", "400 kW", ""),
        "mass_flow": Input("mass_flow", "flow by mass; or give volume_flow", "0.01 kg/s", "20 kg/s", ""),
        "volume_flow": Input(
            "volume_flow", "flow by volume at inlet density; or give mass_flow", "20 cfm", "20000 cfm", ""
        ),
        "inlet_temperature": Input("temperature", "air at the fan", "-20 degC", "90 degC"),
        "outlet_temperature": Input("temperature", "mean air leaving; or give heat", "0 degC", "250 degC", ""),
        "heat_capacity": _CP,
        "density": Input("density", "density at the inlet", "0.7 kg/m3", "1100 kg/m3", "1.2 kg/m3"),
    },
    outputs={
        "temperature_rise": Output("temperature_difference", "K", "rise", ("degF",)),
        "outlet_temperature": Output("temperature", "degC", "mean temperature leaving", ("degF",)),
        "heat": Output("power", "kW", "heat carried", ("hp",)),
        "mass_flow": Output("mass_flow", "kg/s", "flow by mass", ("lb/min",)),
    },
    formula="""
    temperature_rise = heat / (mass_flow * heat_capacity)
    outlet_temperature = inlet_temperature + temperature_rise
    """,
    source="energy balance",
    slips=("hot air going round again: measure the inlet at the fan, not outside",),
    question=lambda given, results: (
        ["air leaving above 200 degC: is the flow that of the fins, leaks taken off?"]
        if results["outlet_temperature"] > 473.15
        else []
    ),
    example='--heat "75 kW" --volume-flow "2100 cfm" --inlet-temperature "28 degC"',
)
def cooling_air_rise(
    heat: float | None,
    mass_flow: float | None,
    volume_flow: float | None,
    inlet_temperature: float,
    outlet_temperature: float | None,
    heat_capacity: float,
    density: float,
) -> dict[str, float]:
    """Rise [K] from heat [W], or heat from the outlet temperature [K]."""
    if one_of(mass_flow=mass_flow, volume_flow=volume_flow) == "volume_flow":
        assert volume_flow is not None
        mass_flow = volume_flow * density
    assert mass_flow is not None
    if mass_flow <= 0.0:
        raise ValueError("the flow must be above zero")
    if one_of(heat=heat, outlet_temperature=outlet_temperature) == "outlet_temperature":
        assert outlet_temperature is not None
        rise = outlet_temperature - inlet_temperature
        heat = mass_flow * heat_capacity * rise
    else:
        assert heat is not None
        rise = heat / (mass_flow * heat_capacity)
    return {
        "temperature_rise": rise,
        "outlet_temperature": inlet_temperature + rise,
        "heat": heat,
        "mass_flow": mass_flow,
    }


# ----------------------------------------------------------------------------- time to a limit
_METAL = {
    "mass": Input("mass", "metal (or oil) that warms", "0.2 kg", "200 kg"),
    "heat_capacity": Input(
        "heat_capacity", "aluminium 900, iron 460, oil 2000", "380 J/(kg K)", "4200 J/(kg K)", "900 J/(kg K)"
    ),
}


@register(
    "cooling",
    "Seconds at full load until a limit",
    inputs={
        **_METAL,
        "heat_in": Input("power", "heat that goes in at full load", "0.1 kW", "300 kW"),
        "start": Input("temperature", "at the start", "0 degC", "200 degC"),
        "limit": Input("temperature", "the limit", "60 degC", "300 degC", sheet="limits.max_head_temperature"),
        "air_temperature": COOLING_AIR,
        "steady_temperature": Input(
            "temperature", "where it would settle at full load; or give conductance", "50 degC", "900 degC", ""
        ),
        "conductance": Input("number", "heat given to the air for each kelvin, W/K (0 for none)", "0", "5000", ""),
    },
    outputs={
        "time": Output("time", "s", "seconds until the limit (none where it settles below)", ("min",)),
        "settles_at": Output("temperature", "degC", "temperature it would settle at", ("degF",)),
        "time_constant": Output("time", "s", "time constant"),
        "rate_at_start": Output("number", "1", "rise at the start, K/s"),
    },
    formula="""
    time_constant = mass * heat_capacity / conductance
    settles_at = air_temperature + heat_in / conductance
    time = time_constant * ln((settles_at - start) / (settles_at - limit))
    without heat given off: time = mass * heat_capacity * (limit - start) / heat_in
    """,
    source="lumped heat capacity, any heat transfer text",
    validity="metal at one temperature; the spot under the plug runs ahead of the mean",
    slips=("cooling judged by a ten-second pull",),
    question=lambda given, results: (
        [f"the limit is reached in {results['time']:.0f} s: is that longer than the pull, with a margin?"]
        if results["time"] is not None and results["time"] < 30.0
        else []
    ),
    example='--mass "14 kg" --heat-in "9 kW" --start "150 degC" --limit "205 degC" --conductance 40',
)
def seconds_to_limit(
    mass: float,
    heat_capacity: float,
    heat_in: float,
    start: float,
    limit: float,
    air_temperature: float,
    steady_temperature: float | None,
    conductance: float | None,
) -> dict[str, float | None]:
    """Time [s] from start to limit [K] with heat [W] going into a mass [kg]."""
    if start >= limit:
        return {"time": 0.0, "settles_at": None, "time_constant": None, "rate_at_start": None}
    if one_of(steady_temperature=steady_temperature, conductance=conductance) == "steady_temperature":
        assert steady_temperature is not None
        if steady_temperature <= air_temperature:
            raise ValueError("it cannot settle below the cooling air")
        conductance = heat_in / (steady_temperature - air_temperature)
    assert conductance is not None
    store = mass * heat_capacity
    if store <= 0.0 or conductance < 0.0 or heat_in <= 0.0:
        raise ValueError("mass, heat capacity and heat must be above zero")
    if conductance == 0.0:
        rate = heat_in / store
        return {"time": (limit - start) / rate, "settles_at": None, "time_constant": None, "rate_at_start": rate}
    settles, tau = air_temperature + heat_in / conductance, store / conductance
    time = None if settles <= limit else tau * math.log((settles - start) / (settles - limit))
    return {"time": time, "settles_at": settles, "time_constant": tau, "rate_at_start": (settles - start) / tau}


@register(
    "cooling",
    "Time to cool down again",
    inputs={
        **_METAL,
        "conductance": Input("number", "heat given to the air for each kelvin while cooling, W/K", "0.5", "5000"),
        "heat_in": Input("power", "heat that still goes in (idle)", "0 kW", "100 kW", "0 kW"),
        "start": Input("temperature", "at the start", "40 degC", "400 degC"),
        "wanted": Input("temperature", "to cool to", "20 degC", "250 degC"),
        "air_temperature": COOLING_AIR,
    },
    outputs={
        "time": Output("time", "s", "time to cool (none where it settles above)", ("min",)),
        "settles_at": Output("temperature", "degC", "temperature it would settle at"),
        "time_constant": Output("time", "s", "time constant"),
    },
    formula="""
    time_constant = mass * heat_capacity / conductance
    settles_at = air_temperature + heat_in / conductance
    time = time_constant * ln((start - settles_at) / (wanted - settles_at))
    """,
    source="lumped heat capacity, any heat transfer text",
    example='--mass "14 kg" --conductance 40 --start "205 degC" --wanted "120 degC"',
)
def seconds_to_cool(
    mass: float,
    heat_capacity: float,
    conductance: float,
    heat_in: float,
    start: float,
    wanted: float,
    air_temperature: float,
) -> dict[str, float | None]:
    """Time [s] to cool from start to wanted [K]."""
    if conductance <= 0.0 or mass * heat_capacity <= 0.0:
        raise ValueError("mass, heat capacity and conductance must be above zero")
    if wanted >= start:
        raise ValueError("the temperature wanted must lie below the start")
    tau, settles = mass * heat_capacity / conductance, air_temperature + heat_in / conductance
    time = None if settles >= wanted else tau * math.log((start - settles) / (wanted - settles))
    return {"time": time, "settles_at": settles, "time_constant": tau}
