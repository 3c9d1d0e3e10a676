"""Sums of the compressor: outlet temperature, efficiency, power, fuel before or after it.

Ideal gas with one constant ratio of heats over the step; total states.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums.air_states import INLET_TEMPERATURE
from spoolwright.sums.boost_gas import (
    COMPRESSOR_EFFICIENCY,
    CP,
    GAMMA_COLD,
    RATIO_INPUTS,
    PressureRatio,
    checked_efficiency,
    outlet_on_a_gauge,
    temperature_factor,
)
from spoolwright.sums.registry import Input, Output, register

_RATIO_USED = Output("ratio", ":1", "pressure ratio")


def _outlet_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = outlet_on_a_gauge(given)
    if given["efficiency"] > 0.85:
        questions.append("above 85 % is better than any map of this size shows (0.65 to 0.75 is a common assumption)")
    if results["pressure_ratio_used"] < 1.0:
        questions.append("a ratio below 1 expands the air: were the two pressures swapped, or one of them gauge?")
    return questions


@register(
    "boost",
    "Compressor outlet temperature from pressure ratio and efficiency",
    inputs={
        "inlet_temperature": INLET_TEMPERATURE,
        **RATIO_INPUTS,
        "efficiency": COMPRESSOR_EFFICIENCY,
        "gamma": GAMMA_COLD,
    },
    outputs={
        "outlet_temperature": Output("temperature", "degC", "at the compressor outlet", ("degF", "K")),
        "temperature_rise": Output("temperature_difference", "K", "rise across the compressor", ("degF",)),
        "ideal_outlet": Output("temperature", "degC", "if it were ideal (efficiency left out): too cold", ("degF",)),
        "pressure_ratio_used": _RATIO_USED,
        "density_ratio": Output("ratio", "1", "outlet over inlet density"),
    },
    formula="""
    temperature_rise = inlet_temperature * (pressure_ratio_used^((gamma - 1) / gamma) - 1) / efficiency
    outlet_temperature = inlet_temperature + temperature_rise
    """,
    source="isentropic compression with an efficiency; standard textbook relation (engine and thermodynamics texts)",
    validity="total states, constant ratio of heats, no heat taken or given by the housing",
    slips=(
        "efficiency left out",
        "multiplied by the efficiency instead of divided",
        "degrees Celsius in the formula instead of kelvin",
        "gauge pressures in the ratio",
    ),
    question=_outlet_question,
    example='--inlet-temperature "30 degC" --pressure-ratio 2.1 --efficiency "72 %"',
)
def compressor_outlet(
    inlet_temperature: float, pressures: PressureRatio, efficiency: float, gamma: float
) -> dict[str, float]:
    """Outlet temperature [K] of a compressor; raises ValueError for an impossible efficiency."""
    ratio = pressures.value()
    checked_efficiency(efficiency)
    ideal = inlet_temperature * (temperature_factor(ratio, gamma) - 1.0)
    outlet = inlet_temperature + ideal / efficiency
    return {
        "outlet_temperature": outlet,
        "temperature_rise": ideal / efficiency,
        "ideal_outlet": inlet_temperature + ideal,
        "pressure_ratio_used": ratio,
        "density_ratio": ratio * inlet_temperature / outlet,
    }


def _measured_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    share = results["efficiency"]
    if share > 0.85:
        return [
            f"{100 * share:.0f} % is more than a compressor of this size reaches: is the outlet probe slow, shaded or "
            "after the cooler, or a pressure gauge for absolute?"
        ]
    if share < 0.45:
        return [
            f"{100 * share:.0f} % is low: heat from the turbine side, a worn wheel, surge or choke, or a swapped probe?"
        ]
    return []


@register(
    "boost",
    "Compressor efficiency from measured temperatures",
    inputs={
        "inlet_temperature": INLET_TEMPERATURE,
        "outlet_temperature": Input("temperature", "air at the compressor outlet", "0 degC", "280 degC"),
        **RATIO_INPUTS,
        "gamma": GAMMA_COLD,
    },
    outputs={
        "efficiency": Output("share", "%", "isentropic efficiency"),
        "ideal_rise": Output("temperature_difference", "K", "rise of an ideal compressor"),
        "temperature_rise": Output("temperature_difference", "K", "rise measured"),
        "pressure_ratio_used": _RATIO_USED,
    },
    formula="""
    ideal_rise = inlet_temperature * (pressure_ratio_used^((gamma - 1) / gamma) - 1)
    efficiency = ideal_rise / (outlet_temperature - inlet_temperature)
    """,
    source="definition of the isentropic efficiency",
    validity="total states; heat through the housing counts as loss",
    question=_measured_question,
    example='--inlet-temperature "25 degC" --outlet-temperature "118 degC" --pressure-ratio 2.0',
)
def compressor_efficiency(
    inlet_temperature: float, outlet_temperature: float, pressures: PressureRatio, gamma: float
) -> dict[str, float]:
    """Efficiency [1] from the temperatures [K]; raises ValueError where the air did not get warmer."""
    ratio = pressures.value()
    rise = outlet_temperature - inlet_temperature
    if rise <= 0.0 or ratio <= 1.0:
        raise ValueError("a compressor makes air warmer and raises its pressure; check which probe is which")
    ideal = inlet_temperature * (temperature_factor(ratio, gamma) - 1.0)
    return {
        "efficiency": ideal / rise,
        "ideal_rise": ideal,
        "temperature_rise": rise,
        "pressure_ratio_used": ratio,
    }


@register(
    "boost",
    "Power a compressor takes",
    inputs={
        "mass_flow": Input("mass_flow", "air flow", "0.001 kg/s", "3 kg/s"),
        "inlet_temperature": INLET_TEMPERATURE,
        **RATIO_INPUTS,
        "efficiency": COMPRESSOR_EFFICIENCY,
        "gamma": GAMMA_COLD,
        "heat_capacity": CP,
        "mechanical_efficiency": Input("share", "bearings and drive", "70 %", "100 %", "100 %"),
    },
    outputs={
        "power": Output("power", "kW", "power into the air", ("hp",)),
        "shaft_power": Output("power", "kW", "power at the shaft, with the mechanical loss", ("hp",)),
        "work": Output("energy_per_mass", "kJ/kg", "work for each kilogram of air"),
        "outlet_temperature": Output("temperature", "degC", "at the outlet", ("degF", "K")),
    },
    formula="""
    work = heat_capacity * inlet_temperature * (pressure_ratio^((gamma - 1) / gamma) - 1) / efficiency
    power = mass_flow * work
    shaft_power = power / mechanical_efficiency
    """,
    source="first law; standard textbook relation",
    validity="adiabatic housing, constant heats",
    question=lambda given, results: (
        ["a compressor wants a ratio above 1"] if results["work"] < 0.0 else outlet_on_a_gauge(given)
    ),
    example='--mass-flow "0.2 kg/s" --inlet-temperature "25 degC" --pressure-ratio 2 --efficiency "70 %"',
)
def compressor_power(
    mass_flow: float,
    inlet_temperature: float,
    pressures: PressureRatio,
    efficiency: float,
    gamma: float,
    heat_capacity: float,
    mechanical_efficiency: float,
) -> dict[str, float]:
    """Power [W] and work [J/kg] of a compressor."""
    out = compressor_outlet(inlet_temperature, pressures, efficiency, gamma)
    work = heat_capacity * out["temperature_rise"]
    checked_efficiency(mechanical_efficiency)
    return {
        "power": mass_flow * work,
        "shaft_power": mass_flow * work / mechanical_efficiency,
        "work": work,
        "outlet_temperature": out["outlet_temperature"],
    }


@register(
    "boost",
    "Draw-through against blow-through: compressor work with the fuel evaporated before or after it",
    inputs={
        "air_temperature": Input("temperature", "outside air", "-40 degC", "60 degC"),
        "evaporation_drop": Input("temperature_difference", "cooling of the mixture by the fuel", "0 K", "80 K"),
        "pressure_ratio": Input("ratio", "compressor pressure ratio", "1.05", "4"),
        "efficiency": COMPRESSOR_EFFICIENCY,
        "air_fuel_ratio": Input("ratio", "air-fuel ratio by mass", "3", "20"),
        "gamma_mixture": Input("number", "ratio of heats of air with fuel vapour", "1.25", "1.4", "1.33"),
        "heat_capacity_mixture": Input(
            "heat_capacity", "of the mixture", "1000 J/(kg K)", "1300 J/(kg K)", "1050 J/(kg K)"
        ),
        "gamma_air": GAMMA_COLD,
        "heat_capacity_air": CP,
    },
    outputs={
        "work_before": Output("energy_per_mass", "kJ/kg", "draw-through: work for each kg of air"),
        "work_after": Output("energy_per_mass", "kJ/kg", "blow-through: work for each kg of air"),
        "outlet_before": Output("temperature", "degC", "draw-through: mixture after the compressor", ("K",)),
        "outlet_after": Output("temperature", "degC", "blow-through: mixture after compressor and fuel", ("K",)),
        "saved": Output("share", "%", "work saved by evaporating before the compressor"),
    },
    formula="""
    work_before = heat_capacity_mixture * (air_temperature - evaporation_drop) * (pressure_ratio^((gamma_mixture - 1) / gamma_mixture) - 1) / efficiency * (air_fuel_ratio + 1) / air_fuel_ratio
    work_after = heat_capacity_air * air_temperature * (pressure_ratio^((gamma_air - 1) / gamma_air) - 1) / efficiency
    """,  # noqa: E501
    source="textbook on the fundamentals of combustion engines (draw-through and blow-through example)",
    validity="all fuel evaporated in both cases: it seldom is",
    caution="a draw-through charge fills compressor and pipes with burning mixture at a backfire",
    example='--air-temperature "288 K" --evaporation-drop "23 K" --pressure-ratio 1.3 --efficiency "75 %" '
    "--air-fuel-ratio 14",
)
def fuel_before_or_after(
    air_temperature: float,
    evaporation_drop: float,
    pressure_ratio: float,
    efficiency: float,
    air_fuel_ratio: float,
    gamma_mixture: float,
    heat_capacity_mixture: float,
    gamma_air: float,
    heat_capacity_air: float,
) -> dict[str, float]:
    """Work [J per kg of air] and outlet temperatures [K] of both arrangements."""
    cold = air_temperature - evaporation_drop
    wet = compressor_outlet(cold, PressureRatio(pressure_ratio), efficiency, gamma_mixture)
    dry = compressor_outlet(air_temperature, PressureRatio(pressure_ratio), efficiency, gamma_air)
    before = heat_capacity_mixture * wet["temperature_rise"] * (air_fuel_ratio + 1.0) / air_fuel_ratio
    after = heat_capacity_air * dry["temperature_rise"]
    return {
        "work_before": before,
        "work_after": after,
        "outlet_before": wet["outlet_temperature"],
        "outlet_after": dry["outlet_temperature"] - evaporation_drop,
        "saved": 1.0 - before / after,
    }
