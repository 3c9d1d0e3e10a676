"""Sums of the turbine: outlet temperature, power, the expansion that balances a compressor, bypass share.

Steady mean values. Pulses let a turbine do 3 to 14 % more work than its mean pressures say, most of
all at low engine speed, so a balance from mean values asks for a few percent too much expansion there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import sqrt
from typing import Any, NamedTuple

from spoolwright.sums.air_orifices import GasThrough, orifice_for_flow
from spoolwright.sums.air_states import INLET_TEMPERATURE
from spoolwright.sums.boost_gas import (
    COMPRESSOR_EFFICIENCY,
    CP,
    CP_HOT,
    GAMMA_COLD,
    GAMMA_HOT,
    GAS_FLOW,
    HOT_INLET,
    MECHANICAL,
    TURBINE_EFFICIENCY,
    PressureRatio,
    checked_efficiency,
    temperature_factor,
)
from spoolwright.sums.registry import Input, Output, register

EXPANSION_RATIO = Input("ratio", "turbine expansion ratio, absolute, before over behind", "1.02", "5", "")
BEFORE = Input("pressure_absolute", "absolute pressure before the turbine; with that behind", "60 kPa", "700 kPa", "")
BEHIND = Input("pressure_absolute", "absolute pressure behind the turbine", "60 kPa", "200 kPa", "")
EXPANSION_INPUTS = {"expansion_ratio": EXPANSION_RATIO, "before": BEFORE, "behind": BEHIND}
BYPASS = Input("share", "share of the gas that goes through the wastegate", "0 %", "70 %", "0 %")
HOT_PRESSURE = Input("pressure_absolute", "absolute pressure before the turbine", "60 kPa", "700 kPa")
COMPRESSOR_POWER = Input("power", "power the compressor takes", "0.1 kW", "300 kW")


class Expansion(NamedTuple):
    """A turbine's expansion ratio [1], or the absolute pressures [Pa] before and behind it."""

    expansion_ratio: float | None
    before: float | None = None
    behind: float | None = None

    def ratio(self) -> float:
        """Expansion ratio [1], before over behind. Raises ValueError when stated twice, not at all, or below 1."""
        try:
            ratio = PressureRatio(self.expansion_ratio, self.behind, self.before).value()
        except ValueError as trouble:
            words = str(trouble).replace("outlet_pressure", "before").replace("inlet_pressure", "behind")
            raise ValueError(words.replace("pressure_ratio", "expansion_ratio")) from None
        if ratio < 1.0:
            raise ValueError("an expansion ratio is above 1: pressure before the turbine over pressure behind it")
        return ratio


@register(
    "boost",
    "Turbine outlet temperature",
    inputs={
        "inlet_temperature": HOT_INLET,
        **EXPANSION_INPUTS,
        "efficiency": TURBINE_EFFICIENCY,
        "gamma": GAMMA_HOT,
    },
    outputs={
        "outlet_temperature": Output("temperature", "degC", "behind the turbine", ("degF", "K")),
        "temperature_drop": Output("temperature_difference", "K", "drop across the turbine"),
        "ideal_outlet": Output("temperature", "degC", "if it were ideal: too cold"),
        "expansion_ratio_used": Output("ratio", ":1", "expansion ratio"),
    },
    formula="""
    temperature_drop = efficiency * inlet_temperature * (1 - expansion_ratio_used^(-(gamma - 1) / gamma))
    outlet_temperature = inlet_temperature - temperature_drop
    """,
    source="isentropic expansion with an efficiency; standard textbook relation",
    validity="total inlet to static outlet, no heat loss of the housing (a real one loses 20 to 60 K more)",
    slips=("efficiency divided instead of multiplied", "gauge pressures in the ratio"),
    example='--inlet-temperature "850 degC" --before "1.6 bar" --behind "1.03 bar" --efficiency "65 %"',
)
def turbine_outlet(inlet_temperature: float, expansion: Expansion, efficiency: float, gamma: float) -> dict[str, float]:
    """Outlet temperature [K] of a turbine."""
    ratio = expansion.ratio()
    checked_efficiency(efficiency)
    ideal = inlet_temperature * (1.0 - 1.0 / temperature_factor(ratio, gamma))
    return {
        "outlet_temperature": inlet_temperature - efficiency * ideal,
        "temperature_drop": efficiency * ideal,
        "ideal_outlet": inlet_temperature - ideal,
        "expansion_ratio_used": ratio,
    }


@register(
    "boost",
    "Power of a turbine",
    inputs={
        "mass_flow": GAS_FLOW,
        "inlet_temperature": HOT_INLET,
        **EXPANSION_INPUTS,
        "efficiency": TURBINE_EFFICIENCY,
        "gamma": GAMMA_HOT,
        "heat_capacity": CP_HOT,
        "bypass": BYPASS,
        "mechanical_efficiency": MECHANICAL,
    },
    outputs={
        "power": Output("power", "kW", "power out of the gas", ("hp",)),
        "shaft_power": Output("power", "kW", "what reaches the compressor", ("hp",)),
        "work": Output("energy_per_mass", "kJ/kg", "work for each kilogram through the turbine"),
        "outlet_temperature": Output("temperature", "degC", "behind the turbine", ("degF", "K")),
    },
    formula="""
    power = mass_flow * (1 - bypass) * heat_capacity * (inlet_temperature - outlet_temperature)
    shaft_power = power * mechanical_efficiency
    """,
    source="first law; standard textbook relation",
    example='--mass-flow "0.213 kg/s" --inlet-temperature "900 degC" --expansion-ratio 1.55 --efficiency "65 %"',
)
def turbine_power(
    mass_flow: float,
    inlet_temperature: float,
    expansion: Expansion,
    efficiency: float,
    gamma: float,
    heat_capacity: float,
    bypass: float,
    mechanical_efficiency: float,
) -> dict[str, float]:
    """Power [W] of a turbine fed with the share of the gas that is not bypassed."""
    if not 0.0 <= bypass < 1.0:
        raise ValueError("bypass is a share between 0 and 100 %")
    out = turbine_outlet(inlet_temperature, expansion, efficiency, gamma)
    work = heat_capacity * out["temperature_drop"]
    power = mass_flow * (1.0 - bypass) * work
    return {
        "power": power,
        "shaft_power": power * checked_efficiency(mechanical_efficiency),
        "work": work,
        "outlet_temperature": out["outlet_temperature"],
    }


def _balance_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["expansion_ratio"] > 4.0:
        return [f"an expansion ratio of {results['expansion_ratio']:.1f} is beyond a usual turbine: larger housing?"]
    return []


@register(
    "boost",
    "Turbine expansion ratio that balances the compressor",
    inputs={
        "compressor_power": COMPRESSOR_POWER,
        "mass_flow": GAS_FLOW,
        "inlet_temperature": HOT_INLET,
        "efficiency": TURBINE_EFFICIENCY,
        "mechanical_efficiency": MECHANICAL,
        "gamma": GAMMA_HOT,
        "heat_capacity": CP_HOT,
        "bypass": BYPASS,
        "behind": BEHIND,
    },
    outputs={
        "expansion_ratio": Output("ratio", ":1", "expansion ratio needed"),
        "temperature_drop": Output("temperature_difference", "K", "drop across the turbine"),
        "outlet_temperature": Output("temperature", "degC", "behind the turbine", ("degF",)),
        "drive_pressure": Output(
            "pressure_absolute", "kPa", "before the turbine, where that behind is given", ("psi",)
        ),
    },
    formula="""
    temperature_drop = compressor_power / (mechanical_efficiency * mass_flow * (1 - bypass) * heat_capacity)
    expansion_ratio = (1 - temperature_drop / (efficiency * inlet_temperature))^(-gamma / (gamma - 1))
    drive_pressure = behind * expansion_ratio
    """,
    source="power balance of the shaft; standard textbook relation",
    validity="mean values: pulses make the true need 0.5 to 4 % lower, most at low engine speed",
    question=_balance_question,
    example='--compressor-power "18.75 kW" --mass-flow "0.213 kg/s" --inlet-temperature "1173 K" --efficiency "65 %"',
)
def turbine_balance(
    compressor_power: float,
    mass_flow: float,
    inlet_temperature: float,
    efficiency: float,
    mechanical_efficiency: float,
    gamma: float,
    heat_capacity: float,
    bypass: float,
    behind: float | None,
) -> dict[str, float | None]:
    """Expansion ratio [1]; raises ValueError when the gas has not that much energy."""
    checked_efficiency(efficiency)
    checked_efficiency(mechanical_efficiency)
    if not 0.0 <= bypass < 1.0:
        raise ValueError("bypass is a share between 0 and 100 %")
    drop = compressor_power / (mechanical_efficiency * mass_flow * (1.0 - bypass) * heat_capacity)
    left = 1.0 - drop / (efficiency * inlet_temperature)
    if left <= 0.0:
        raise ValueError("the gas cannot give that power at any expansion: more gas, hotter gas, or less boost")
    ratio = float(left ** (-gamma / (gamma - 1.0)))
    return {
        "expansion_ratio": ratio,
        "temperature_drop": drop,
        "outlet_temperature": inlet_temperature - drop,
        "drive_pressure": None if behind is None else behind * ratio,
    }


def _share_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["work_share"] > 1.0:
        return ["the compressor takes more than the turbine gives: this boost is not reached at this expansion ratio"]
    return []


@register(
    "boost",
    "Compressor work over turbine work of a turbocharger",
    inputs={
        "compressor_inlet": INLET_TEMPERATURE,
        "compressor_ratio": Input("ratio", "compressor pressure ratio, absolute", "1.02", "5"),
        "compressor_efficiency": COMPRESSOR_EFFICIENCY,
        "turbine_inlet": HOT_INLET,
        "expansion_ratio": Input("ratio", "turbine expansion ratio, absolute", "1.02", "5"),
        "turbine_efficiency": TURBINE_EFFICIENCY,
        "air_fuel_ratio": Input("ratio", "air-fuel ratio by mass", "3", "40"),
        "gamma_air": GAMMA_COLD,
        "heat_capacity_air": CP,
        "gamma_gas": GAMMA_HOT,
        "heat_capacity_gas": CP_HOT,
    },
    outputs={
        "compressor_work": Output("energy_per_mass", "kJ/kg", "for each kg of air"),
        "turbine_work": Output("energy_per_mass", "kJ/kg", "for each kg of air, all gas through the turbine"),
        "work_share": Output("share", "%", "compressor work over turbine work; the rest is for bearings and bypass"),
        "compressor_outlet": Output("temperature", "degC", "behind the compressor"),
        "turbine_outlet": Output("temperature", "degC", "behind the turbine"),
    },
    formula="""
    compressor_work = heat_capacity_air * (compressor_outlet - compressor_inlet)
    turbine_work = heat_capacity_gas * (turbine_inlet - turbine_outlet) * (1 + 1 / air_fuel_ratio)
    work_share = compressor_work / turbine_work
    """,
    source="textbook on the fundamentals of combustion engines (turbocharger example)",
    question=_share_question,
    example='--compressor-inlet "290 K" --compressor-ratio 1.837 --compressor-efficiency "80 %" --turbine-inlet '
    '"850 K" '
    '--expansion-ratio 1.553 --turbine-efficiency "85 %" --air-fuel-ratio 20',
)
def turbo_work_share(
    compressor_inlet: float,
    compressor_ratio: float,
    compressor_efficiency: float,
    turbine_inlet: float,
    expansion_ratio: float,
    turbine_efficiency: float,
    air_fuel_ratio: float,
    gamma_air: float,
    heat_capacity_air: float,
    gamma_gas: float,
    heat_capacity_gas: float,
) -> dict[str, float]:
    """Work [J per kg of air] of both wheels and their ratio [1]."""
    factor = temperature_factor(compressor_ratio, gamma_air) - 1.0
    outlet = compressor_inlet * (1.0 + factor / checked_efficiency(compressor_efficiency))
    gas = turbine_outlet(turbine_inlet, Expansion(expansion_ratio), turbine_efficiency, gamma_gas)
    taken = heat_capacity_air * (outlet - compressor_inlet)
    given = heat_capacity_gas * gas["temperature_drop"] * (1.0 + 1.0 / air_fuel_ratio)
    return {
        "compressor_work": taken,
        "turbine_work": given,
        "work_share": taken / given,
        "compressor_outlet": outlet,
        "turbine_outlet": gas["outlet_temperature"],
    }


@register(
    "boost",
    "Turbine flow parameter",
    inputs={
        "mass_flow": GAS_FLOW,
        "inlet_temperature": HOT_INLET,
        "inlet_pressure": HOT_PRESSURE,
    },
    outputs={
        "flow_parameter": Output("number", "1", "in kg/s * sqrt(K) / kPa, as on turbine maps"),
        "flow_parameter_bar": Output("number", "1", "in kg/s * sqrt(K) / bar"),
    },
    formula="flow_parameter = mass_flow * sqrt(inlet_temperature) / inlet_pressure",
    source="definition (similarity of machines)",
    slips=("gauge pressure instead of absolute", "degrees Celsius under the root"),
    example='--mass-flow "0.2 kg/s" --inlet-temperature "1173 K" --inlet-pressure "200 kPa"',
)
def turbine_flow_parameter(mass_flow: float, inlet_temperature: float, inlet_pressure: float) -> dict[str, float]:
    """Flow parameter in kg/s sqrt(K)/kPa and per bar."""
    plain = mass_flow * sqrt(inlet_temperature) / (inlet_pressure / 1e3)
    return {"flow_parameter": plain, "flow_parameter_bar": 100.0 * plain}


# ----------------------------------------------------------------------------- bypass
def _bypass_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["bypass_needed"] <= 0.0:
        return ["no bypass is needed: the turbine does not give more than the compressor takes at this expansion ratio"]
    if results["bypass_needed"] > 0.5:
        return ["more than half of the gas has to go round the turbine: the gate and its pipe must be placed for it"]
    return []


@register(
    "boost",
    "Share of the exhaust that must go round the turbine, and the gate for it",
    inputs={
        "compressor_power": COMPRESSOR_POWER,
        "mass_flow": Input("mass_flow", "all exhaust gas of the engine", "0.001 kg/s", "3 kg/s"),
        "inlet_temperature": HOT_INLET,
        "before": HOT_PRESSURE,
        "behind": Input("pressure_absolute", "absolute pressure behind turbine and gate", "60 kPa", "200 kPa"),
        "efficiency": TURBINE_EFFICIENCY,
        "mechanical_efficiency": MECHANICAL,
        "gamma": GAMMA_HOT,
        "heat_capacity": CP_HOT,
        "gate_discharge": Input("share", "discharge coefficient of the open gate", "40 %", "90 %", "65 %"),
    },
    outputs={
        "turbine_flow": Output("mass_flow", "kg/s", "gas the turbine needs", ("lb/min",)),
        "bypass_flow": Output("mass_flow", "kg/s", "gas the gate must pass", ("lb/min",)),
        "bypass_needed": Output("share", "%", "share of all gas"),
        "gate_diameter": Output("length", "mm", "round hole that passes it, fully open", ("in",)),
    },
    formula="""
    turbine_flow = compressor_power / (mechanical_efficiency * efficiency * heat_capacity * inlet_temperature * (1 - (before / behind)^(-(gamma - 1) / gamma)))
    bypass_flow = mass_flow - turbine_flow
    bypass_needed = bypass_flow / mass_flow
    """,  # noqa: E501
    source="power balance of the shaft; gate as an isentropic nozzle with a discharge coefficient",
    validity="mean values; a gate off the gas path passes less, one that opens late or in a small pipe too",
    slips=("gate sized by its own flange instead of by bypass flow",),
    question=_bypass_question,
    caution="a gate too small lets boost creep with speed: watch boost and be ready to lift",
    example='--compressor-power "18 kW" --mass-flow "0.22 kg/s" --inlet-temperature "900 degC" --before "210 kPa" '
    '--behind "108 kPa" --efficiency "65 %"',
)
def bypass_share(
    compressor_power: float,
    mass_flow: float,
    inlet_temperature: float,
    before: float,
    behind: float,
    efficiency: float,
    mechanical_efficiency: float,
    gamma: float,
    heat_capacity: float,
    gate_discharge: float,
) -> dict[str, float | None]:
    """Bypass flow [kg/s], its share [1] and the hole [m] it needs."""
    expansion = Expansion(None, before, behind)
    one = turbine_power(1.0, inlet_temperature, expansion, efficiency, gamma, heat_capacity, 0.0, mechanical_efficiency)
    if one["shaft_power"] <= 0.0:
        raise ValueError("the turbine gives no power at this expansion ratio")
    needed = compressor_power / one["shaft_power"]
    bypass = mass_flow - needed
    hole = None
    if bypass > 0.0:
        R = heat_capacity * (gamma - 1.0) / gamma
        gas = GasThrough(checked_efficiency(gate_discharge), before, inlet_temperature, behind, None, gamma, R)
        hole = orifice_for_flow(bypass, gas, holes=1.0)["diameter"]
    return {
        "turbine_flow": needed,
        "bypass_flow": bypass,
        "bypass_needed": bypass / mass_flow,
        "gate_diameter": hole,
    }
