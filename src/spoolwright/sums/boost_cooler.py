"""Sums of the charge cooler: effectiveness, NTU, temperature and density after it, heat and loss."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp, expm1
from typing import Any

from spoolwright.constants import R_AIR, ZERO_CELSIUS
from spoolwright.sums.air_states import INLET_TEMPERATURE
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.boost_compressor import compressor_outlet
from spoolwright.sums.boost_gas import COMPRESSOR_EFFICIENCY, CP, GAMMA_COLD, PressureRatio, checked_efficiency
from spoolwright.sums.registry import Input, Output, register

CHARGE_IN = Input("temperature", "charge before the cooler", "0 degC", "280 degC")
COOLANT = Input("temperature", "air or water that cools it, as it arrives", "-40 degC", "90 degC")
EFFECTIVENESS = Input("share", "effectiveness: cooling reached over cooling possible", "30 %", "95 %")
ARRANGEMENTS = ("crossflow", "crossflow, larger flow mixed", "crossflow, smaller flow mixed", "counterflow", "parallel")
ARRANGEMENT = Input("choice", "how the two flows pass each other", default="crossflow", choices=ARRANGEMENTS)
NTU = Input("number", "number of transfer units UA / C_min", "0.1", "10")
CAPACITY_RATIO = Input("number", "smaller over larger heat capacity flow, 0 to 1", "0", "1")


# ----------------------------------------------------------------------------- effectiveness and NTU
def effectiveness_of(ntu: float, capacity_ratio: float, arrangement: str) -> float:
    """Effectiveness [1] of an exchanger from NTU and the ratio of heat capacity flows, 0 to 1.

    Raises ValueError outside those. Crossflow with both unmixed is Mason's series (Proc. 2nd US
    National Congress of Applied Mechanics, 1955), exact; the rest are closed forms of any heat-transfer text.
    """
    if ntu < 0.0 or not 0.0 <= capacity_ratio <= 1.0:
        raise ValueError("NTU is above zero, and the ratio of heat capacity flows (smaller over larger) is 0 to 1")
    if capacity_ratio == 0.0:
        return -expm1(-ntu)
    c = capacity_ratio
    if arrangement == "counterflow":
        if c == 1.0:
            return ntu / (1.0 + ntu)
        e = exp(-ntu * (1.0 - c))
        return (1.0 - e) / (1.0 - c * e)
    if arrangement == "parallel":
        return -expm1(-ntu * (1.0 + c)) / (1.0 + c)
    if arrangement == "crossflow, larger flow mixed":
        return -expm1(c * expm1(-ntu)) / c
    if arrangement == "crossflow, smaller flow mixed":
        return -expm1(expm1(-c * ntu) / c)
    return _crossflow(ntu, c)


def _crossflow(ntu: float, c: float) -> float:
    """Both fluids unmixed: sum over n of the two incomplete exponentials (Mason)."""
    total, hot_term, cold_term = 0.0, exp(-ntu), exp(-c * ntu)
    hot_sum, cold_sum = hot_term, cold_term
    for n in range(1, 2000):
        step = (1.0 - hot_sum) * (1.0 - cold_sum)
        total += step
        if step < 1e-14:
            break
        hot_term *= ntu / n
        cold_term *= c * ntu / n
        hot_sum += hot_term
        cold_sum += cold_term
    return total / (c * ntu) if ntu > 0.0 else 0.0


def ntu_for(effectiveness: float, capacity_ratio: float, arrangement: str) -> float:
    """NTU that gives ``effectiveness``, by bisection; raises ValueError where none does."""
    high = 100.0
    if not 0.0 < effectiveness < effectiveness_of(high, capacity_ratio, arrangement) - 1e-9:
        raise ValueError(f"no {arrangement} exchanger reaches {100 * effectiveness:.1f} % at this ratio of flows")
    low = 0.0
    while high - low > 1e-10 * high:
        middle = 0.5 * (low + high)
        if effectiveness_of(middle, capacity_ratio, arrangement) < effectiveness:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


_EXCHANGER = "effectiveness-NTU relations of any heat-transfer text; crossflow both unmixed: Mason's series, exact"


@register(
    "boost",
    "Cooler effectiveness from NTU, or NTU from effectiveness",
    inputs={
        "ntu": Input("number", "number of transfer units UA / C_min", "0.1", "10", ""),
        "effectiveness": Input("share", "effectiveness; instead", "30 %", "95 %", ""),
        "capacity_ratio": CAPACITY_RATIO,
        "arrangement": ARRANGEMENT,
    },
    outputs={
        "effectiveness_found": Output("share", "%", "effectiveness"),
        "ntu_found": Output("number", "1", "number of transfer units"),
    },
    formula="""
    effectiveness_found = heat / heat possible
    ntu_found = conductance / smaller heat capacity flow
    """,
    source=_EXCHANGER,
    example="--ntu 1.5 --capacity-ratio 0.3",
)
def cooler_ntu(
    ntu: float | None, effectiveness: float | None, capacity_ratio: float, arrangement: str
) -> dict[str, float]:
    """Effectiveness [1] and NTU [1] of an exchanger."""
    if one_of(ntu=ntu, effectiveness=effectiveness) == "ntu":
        assert ntu is not None
        return {"effectiveness_found": effectiveness_of(ntu, capacity_ratio, arrangement), "ntu_found": ntu}
    assert effectiveness is not None
    return {
        "effectiveness_found": effectiveness,
        "ntu_found": ntu_for(effectiveness, capacity_ratio, arrangement),
    }


@register(
    "boost",
    "Cooler from its area: effectiveness, both outlet temperatures, heat",
    inputs={
        "heat_transfer": Input("heat_transfer", "overall coefficient U", "5 W/(m2 K)", "1500 W/(m2 K)"),
        "area": Input("area", "exchange area", "0.1 m2", "60 m2"),
        "hot_flow": Input("mass_flow", "charge air, or the hot fluid", "0.001 kg/s", "20 kg/s"),
        "hot_heat_capacity": CP,
        "cold_flow": Input("mass_flow", "cooling air or water", "0.001 kg/s", "50 kg/s"),
        "cold_heat_capacity": Input(
            "heat_capacity",
            "of the cooling fluid: air 1005, water 4190",
            "900 J/(kg K)",
            "4500 J/(kg K)",
            "1005 J/(kg K)",
        ),
        "hot_in": Input("temperature", "hot fluid, arriving", "0 degC", "300 degC"),
        "cold_in": COOLANT,
        "arrangement": ARRANGEMENT,
    },
    outputs={
        "ntu": Output("number", "1", "number of transfer units"),
        "capacity_ratio": Output("number", "1", "smaller over larger heat capacity flow"),
        "effectiveness": Output("share", "%", "of the heat that the smaller flow could give or take"),
        "heat": Output("power", "kW", "heat moved"),
        "hot_out": Output("temperature", "degC", "hot fluid, leaving", ("degF",)),
        "cold_out": Output("temperature", "degC", "cooling fluid, leaving", ("degF",)),
        "effectiveness_on_hot": Output("share", "%", "cooling of the hot fluid over cooling possible"),
    },
    formula="""
    ntu = heat_transfer * area / smaller of flow * heat capacity
    heat = effectiveness * smaller of flow * heat capacity * (hot_in - cold_in)
    """,
    source=_EXCHANGER,
    slips=("effectiveness of the smaller flow taken for that of the charge",),
    question=lambda given, results: (
        ["the cooling fluid is not colder than the charge: it heats it"] if results["heat"] <= 0.0 else []
    ),
    example='--heat-transfer "80 W/(m2 K)" --area "2.5 m2" --hot-flow "0.2 kg/s" --cold-flow "0.6 kg/s" '
    '--hot-in "130 degC" --cold-in "32 degC"',
)
def cooler_rating(
    heat_transfer: float,
    area: float,
    hot_flow: float,
    hot_heat_capacity: float,
    cold_flow: float,
    cold_heat_capacity: float,
    hot_in: float,
    cold_in: float,
    arrangement: str,
) -> dict[str, float]:
    """Heat [W] and outlet temperatures [K] of an exchanger of known area [m2]."""
    hot, cold = hot_flow * hot_heat_capacity, cold_flow * cold_heat_capacity
    smaller, larger = min(hot, cold), max(hot, cold)
    if smaller <= 0.0:
        raise ValueError("both flows must be above zero")
    ntu = heat_transfer * area / smaller
    share = effectiveness_of(ntu, smaller / larger, arrangement)
    heat = share * smaller * (hot_in - cold_in)
    return {
        "ntu": ntu,
        "capacity_ratio": smaller / larger,
        "effectiveness": share,
        "heat": heat,
        "hot_out": hot_in - heat / hot,
        "cold_out": cold_in + heat / cold,
        "effectiveness_on_hot": share * smaller / hot,
    }


# ----------------------------------------------------------------------------- measured and used
@register(
    "boost",
    "Cooler effectiveness from measured temperatures",
    inputs={
        "charge_in": CHARGE_IN,
        "charge_out": Input("temperature", "charge behind the cooler", "-20 degC", "150 degC"),
        "coolant": COOLANT,
    },
    outputs={
        "effectiveness": Output("share", "%", "cooling reached over cooling possible"),
        "cooling": Output("temperature_difference", "K", "cooling reached"),
        "left": Output("temperature_difference", "K", "charge out above the coolant"),
    },
    formula="effectiveness = (charge_in - charge_out) / (charge_in - coolant)",
    source="definition",
    slips=("outside air taken as coolant though the cooler sits behind a hot radiator",),
    question=lambda given, results: (
        ["above 95 %: probe in the cooling air, heat-soaked cooler still cold, or not steady?"]
        if results["effectiveness"] > 0.95
        else []
    ),
    example='--charge-in "129 degC" --charge-out "69 degC" --coolant "32 degC"',
)
def cooler_effectiveness(charge_in: float, charge_out: float, coolant: float) -> dict[str, float]:
    """Effectiveness [1] from temperatures [K]; raises ValueError when the coolant is not colder."""
    if charge_in <= coolant:
        raise ValueError("the charge arrives no hotter than the coolant; there is nothing to cool")
    return {
        "effectiveness": (charge_in - charge_out) / (charge_in - coolant),
        "cooling": charge_in - charge_out,
        "left": charge_out - coolant,
    }


def _charge_cooler_questions(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if given["charge_in"] < given["coolant"]:
        return ["the coolant is hotter than the charge, so this cooler warms it: were the two swapped?"]
    if results["density_ratio"] < 1.0:
        return ["the cooler loses more density by pressure than it gains by cooling"]
    return []


@register(
    "boost",
    "Charge temperature, density and heat behind a cooler",
    inputs={
        "charge_in": CHARGE_IN,
        "coolant": COOLANT,
        "effectiveness": EFFECTIVENESS,
        "pressure": Input("pressure_absolute", "absolute pressure before the cooler", "60 kPa", "500 kPa", ""),
        "loss": Input("pressure_difference", "pressure lost in the cooler", "0 kPa", "40 kPa", "0 kPa"),
        "mass_flow": Input("mass_flow", "charge flow, for the heat", "0.001 kg/s", "3 kg/s", ""),
        "heat_capacity": CP,
    },
    outputs={
        "charge_out": Output("temperature", "degC", "charge behind the cooler", ("degF", "K")),
        "cooling": Output("temperature_difference", "K", "cooling", ("degF",)),
        "density_ratio": Output("ratio", "1", "density behind over before the cooler"),
        "density_out": Output("density", "kg/m3", "density behind, where the pressure is given"),
        "heat": Output("power", "kW", "heat taken out, where the flow is given"),
    },
    formula="""
    charge_out = charge_in - effectiveness * (charge_in - coolant)
    density_ratio = (pressure - loss) / pressure * charge_in / charge_out
    heat = mass_flow * heat_capacity * (charge_in - charge_out)
    """,
    source="definition of effectiveness, ideal gas",
    slips=("pressure loss forgotten: it eats part of the density gained",),
    question=_charge_cooler_questions,
    example='--charge-in "391.3 K" --coolant "30 degC" --effectiveness "70 %" --pressure "200 kPa" --loss "5 kPa"',
)
def charge_cooler(
    charge_in: float,
    coolant: float,
    effectiveness: float,
    pressure: float | None,
    loss: float,
    mass_flow: float | None,
    heat_capacity: float,
) -> dict[str, float | None]:
    """Temperature [K], density ratio [1] and heat [W] of a charge cooler."""
    checked_efficiency(effectiveness)
    if loss > 0.0 and pressure is None:
        raise ValueError("a pressure loss needs the absolute pressure before the cooler beside it")
    if pressure is not None and loss >= pressure:
        raise ValueError("the loss is larger than the pressure")
    out = charge_in - effectiveness * (charge_in - coolant)
    kept = 1.0 if pressure is None else (pressure - loss) / pressure
    return {
        "charge_out": out,
        "cooling": charge_in - out,
        "density_ratio": kept * charge_in / out,
        "density_out": None if pressure is None else (pressure - loss) / (R_AIR * out),
        "heat": None if mass_flow is None else mass_flow * heat_capacity * (charge_in - out),
    }


def _through_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    after = results["after_cooler"] - ZERO_CELSIUS
    if after > 80.0:
        return [f"{after:.0f} degC in the manifold is where pump petrol knocks (watch above 60, trouble above 80 degC)"]
    return []


@register(
    "boost",
    "From filter to manifold: compressor outlet, after the cooler, density gained",
    inputs={
        "inlet_temperature": INLET_TEMPERATURE,
        "inlet_pressure": Input("pressure_absolute", "absolute pressure at the compressor inlet", "50 kPa", "110 kPa"),
        "pressure_ratio": Input("ratio", "compressor pressure ratio", "1.02", "5"),
        "efficiency": COMPRESSOR_EFFICIENCY,
        "effectiveness": Input("share", "effectiveness of the cooler; 0 without one", "0 %", "95 %", "0 %"),
        "coolant": Input(
            "temperature", "air or water at the cooler; inlet air when not given", "-40 degC", "90 degC", ""
        ),
        "loss": Input("pressure_difference", "pressure lost in cooler and pipes", "0 kPa", "40 kPa", "0 kPa"),
        "gamma": GAMMA_COLD,
    },
    outputs={
        "compressor_outlet": Output("temperature", "degC", "behind the compressor", ("degF", "K")),
        "ideal_outlet": Output("temperature", "degC", "with the efficiency left out: too cold", ("degF",)),
        "after_cooler": Output("temperature", "degC", "in the manifold", ("degF", "K")),
        "manifold_pressure": Output("pressure_absolute", "kPa", "in the manifold", ("psi",)),
        "density_ratio": Output("ratio", "1", "manifold density over compressor-inlet density"),
        "density_ratio_uncooled": Output("ratio", "1", "the same without cooler and loss"),
        "manifold_density": Output("density", "kg/m3", "density in the manifold"),
    },
    formula="""
    compressor_outlet = inlet_temperature * (1 + (pressure_ratio^((gamma - 1) / gamma) - 1) / efficiency)
    after_cooler = compressor_outlet - effectiveness * (compressor_outlet - coolant)
    manifold_pressure = inlet_pressure * pressure_ratio - loss
    density_ratio = (manifold_pressure / after_cooler) / (inlet_pressure / inlet_temperature)
    """,
    source="isentropic compression with an efficiency, definition of effectiveness, ideal gas; standard textbook "
    "relations",
    validity="dry charge: fuel before or in the manifold cools it further",
    slips=("efficiency left out or multiplied instead of divided", "density taken as proportional to pressure alone"),
    question=_through_question,
    example='--inlet-temperature "30 degC" --inlet-pressure "98.5 kPa" --pressure-ratio 2.10 --efficiency "72 %" '
    '--effectiveness "62 %" --coolant "32 degC" --loss "1.0 psi"',
)
def charge_path(
    inlet_temperature: float,
    inlet_pressure: float,
    pressure_ratio: float,
    efficiency: float,
    effectiveness: float,
    coolant: float | None,
    loss: float,
    gamma: float,
) -> dict[str, float]:
    """Temperatures [K], pressure [Pa] and density ratio [1] from compressor inlet to manifold."""
    if not 0.0 <= effectiveness <= 1.0:
        raise ValueError("effectiveness is 0 to 100 %; write for example 62 %")
    out = compressor_outlet(inlet_temperature, PressureRatio(pressure_ratio), efficiency, gamma)
    hot = out["outlet_temperature"]
    cold = inlet_temperature if coolant is None else coolant
    after = hot - effectiveness * (hot - cold)
    manifold = inlet_pressure * pressure_ratio - loss
    if manifold <= 0.0:
        raise ValueError("the loss is larger than the pressure")
    return {
        "compressor_outlet": hot,
        "ideal_outlet": out["ideal_outlet"],
        "after_cooler": after,
        "manifold_pressure": manifold,
        "density_ratio": manifold / after * inlet_temperature / inlet_pressure,
        "density_ratio_uncooled": out["density_ratio"],
        "manifold_density": manifold / (R_AIR * after),
    }
