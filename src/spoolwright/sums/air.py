"""Sums of the air: demand, volumetric efficiency, density, and what power the air can make.

Dry ideal air with R = 287.05 J/(kg K) unless a humidity is given. Pressures at the manifold are
absolute inside; a gauge reading needs the barometer or the height. The other files of the topic
(pressures, weather, reference states, orifices) register when this one is imported.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.constants import R_AIR, RHO_STANDARD_DAY
from spoolwright.gas.air import humid_air_density
from spoolwright.sums import air_orifices, air_states, air_weather, measures  # noqa: F401 - they register sums
from spoolwright.sums.air_pressures import (
    ALTITUDE,
    BAROMETER,
    BOOST,
    CHARGE_LOSS,
    FILTER_PULL,
    HABIT,
    MANIFOLD_PRESSURE,
    absolute_from,
    gauge_slips,
    manifold_absolute,
    outside_pressure,
    pressure_ratio,
)
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.blueprint import swept_volume
from spoolwright.sums.fuel_power import CONSUMPTION, FUEL, STOICHIOMETRIC, stoichiometric_of
from spoolwright.sums.registry import Input, Output, register
from spoolwright.units import to_si

BORE = replace(measures.BORE, default="")
STROKE = replace(measures.STROKE, default="")
CYLINDERS = replace(measures.CYLINDERS, default="")
DISPLACEMENT = Input(
    "volume", "displacement of the whole engine; instead of bore, stroke and cylinders", "50 cc", "12 L", ""
)
SPEED = measures.SPEED
STROKES = Input("choice", "working cycle", default="four-stroke", choices=("four-stroke", "two-stroke"))
VE = Input("share", "volumetric efficiency at manifold pressure and temperature", "40 %", "130 %")
CHARGE_TEMPERATURE = Input("temperature", "charge temperature in the manifold", "-20 degC", "180 degC")
MIXTURE_INPUTS = {
    "air_fuel_ratio": Input("ratio", "true air-fuel ratio by mass; or give mixture", "3", "20", ""),
    "mixture": Input("mixture", "lambda, with the fuel; or give air_fuel_ratio", "0.5 lambda", "1.5 lambda", ""),
    "fuel": FUEL,
    "stoichiometric_ratio": STOICHIOMETRIC,
}


# ----------------------------------------------------------------------------- shared steps
def engine_displacement(
    bore: float | None, stroke: float | None, cylinders: float | None, displacement: float | None
) -> float:
    """Displacement [m3] as given or from bore [m], stroke [m] and the number of cylinders."""
    parts = (bore, stroke, cylinders)
    if displacement is not None:
        if any(p is not None for p in parts):
            raise ValueError("displacement and bore, stroke or cylinders are given; leave one of the two out")
        return displacement
    if bore is None or stroke is None or cylinders is None:
        raise ValueError("displacement, or bore and stroke and cylinders, is needed")
    return float(swept_volume(bore, stroke, cylinders)["displacement"])


def intakes_per_second(speed: float, strokes: str) -> float:
    """How often per second the engine fills its displacement, from speed [rad/s]."""
    if speed <= 0.0:
        raise ValueError("the engine speed must be above zero")
    return speed / (2.0 * math.pi) / (2.0 if strokes == "four-stroke" else 1.0)


def ratio_by_mass(
    air_fuel_ratio: float | None, mixture: float | None, fuel: str | None, stoichiometric_ratio: float | None
) -> float:
    """Air-fuel ratio by mass [1] as given, or lambda times the fuel's stoichiometric ratio."""
    if one_of(air_fuel_ratio=air_fuel_ratio, mixture=mixture) == "mixture":
        assert mixture is not None
        ratio = mixture * stoichiometric_of(fuel, stoichiometric_ratio)
    else:
        assert air_fuel_ratio is not None
        ratio = air_fuel_ratio
    if ratio <= 0.0:
        raise ValueError("the air-fuel ratio must be above zero")
    return ratio


# ----------------------------------------------------------------------------- density
def _density_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    return [
        q.replace("manifold_pressure", "pressure").replace("boost", "gauge")
        for q in gauge_slips({"manifold_pressure": None, "boost": given["gauge"], "barometer": given["barometer"]})
    ]


@register(
    "air",
    "Density of air at a pressure and temperature",
    inputs={
        "temperature": Input("temperature", "air temperature", "-40 degC", "250 degC"),
        "gauge": Input("pressure_gauge", "pressure above outside air", "-95 kPa", "300 kPa", ""),
        "pressure": Input("pressure_absolute", "absolute pressure; instead", "20 kPa", "500 kPa", ""),
        "barometer": BAROMETER,
        "altitude": ALTITUDE,
        "relative_humidity": Input("share", "relative humidity at this state; dry when not given", "0 %", "100 %", ""),
    },
    outputs={
        "absolute": Output("pressure_absolute", "kPa", "absolute pressure", ("psi",)),
        "density": Output("density", "kg/m3", "density", ("lb/ft3",)),
        "density_share": Output("share", "%", "against the standard day, 1.225 kg/m3"),
    },
    formula="density = absolute / (287.05 * temperature)",
    source="ideal gas; humid air by CIPM-2007",
    slips=("gauge pressure taken as absolute",),
    question=_density_question,
    example='--gauge "13 psi" --barometer "98.0 kPa" --temperature "60 degC"',
)
def air_density(
    temperature: float,
    gauge: float | None,
    pressure: float | None,
    barometer: float | None,
    altitude: float | None,
    relative_humidity: float | None,
) -> dict[str, float]:
    """Density [kg/m3] of dry air, or of humid air where a humidity is given."""
    if gauge is None and pressure is None:
        pressure = outside_pressure(barometer, altitude)
    total = absolute_from(gauge, pressure, barometer, altitude, ("gauge", "pressure"))
    if relative_humidity is None:
        density = total / (R_AIR * temperature)
    else:
        density = humid_air_density(temperature, total, air_weather._humidity(relative_humidity))
    return {"absolute": total, "density": density, "density_share": density / RHO_STANDARD_DAY}


# ----------------------------------------------------------------------------- demand
@register(
    "air",
    "Volume of air the engine takes",
    inputs={
        "bore": BORE,
        "stroke": STROKE,
        "cylinders": CYLINDERS,
        "displacement": DISPLACEMENT,
        "speed": SPEED,
        "volumetric_efficiency": Input("share", "volumetric efficiency", "40 %", "130 %", "100 %"),
        "strokes": STROKES,
    },
    outputs={
        "displacement_found": Output("volume", "cc", "displacement", ("in3",)),
        "volume_flow": Output("volume_flow", "cfm", "volume taken, at the state the efficiency refers to", ("L/s",)),
    },
    formula="volume_flow = volumetric_efficiency * displacement * speed / 2",
    source="definition; in the trade cid * rpm * VE / 3456 = cfm",
    validity="four-stroke: once in two turns",
    slips=("this volume is at manifold conditions, not outside air, where the efficiency refers to the manifold",),
    example='--displacement "350 in3" --speed "6000 rpm"',
)
def air_volume(
    bore: float | None,
    stroke: float | None,
    cylinders: float | None,
    displacement: float | None,
    speed: float,
    volumetric_efficiency: float,
    strokes: str,
) -> dict[str, float]:
    """Volume flow [m3/s] into the engine."""
    size = engine_displacement(bore, stroke, cylinders, displacement)
    return {
        "displacement_found": size,
        "volume_flow": volumetric_efficiency * size * intakes_per_second(speed, strokes),
    }


def _demand_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = gauge_slips(given)
    habit = results.get("mass_flow_by_habit")
    if habit is not None and results["mass_flow"] > 0.0 and abs(habit / results["mass_flow"] - 1.0) > 0.02:
        questions.append(
            "with 14.7 psi assumed under the gauge the flow would come out "
            f"{100 * (habit / results['mass_flow'] - 1):+.1f} %; the answer uses the outside pressure you gave"
        )
    return questions


@register(
    "air",
    "Air mass flow of the engine at its manifold state",
    inputs={
        "bore": BORE,
        "stroke": STROKE,
        "cylinders": CYLINDERS,
        "displacement": DISPLACEMENT,
        "speed": SPEED,
        "volumetric_efficiency": VE,
        "manifold_temperature": CHARGE_TEMPERATURE,
        "boost": BOOST,
        "manifold_pressure": MANIFOLD_PRESSURE,
        "barometer": BAROMETER,
        "altitude": ALTITUDE,
        "strokes": STROKES,
    },
    outputs={
        "displacement_found": Output("volume", "cc", "displacement", ("in3",)),
        "manifold_absolute": Output("pressure_absolute", "kPa", "manifold pressure, absolute", ("psi", "bar")),
        "manifold_density": Output("density", "kg/m3", "air density in the manifold"),
        "volume_flow": Output("volume_flow", "cfm", "volume at manifold conditions", ("L/s",)),
        "mass_flow": Output("mass_flow", "kg/s", "air mass flow", ("lb/min", "kg/h")),
        "standard_flow": Output("volume_flow", "cfm", "the same mass as standard cfm (1.225 kg/m3): mass in disguise"),
        "mass_flow_by_habit": Output(
            "mass_flow", "lb/min", "what comes out with 14.7 psi assumed under the gauge; not to be used", ("kg/s",)
        ),
    },
    formula="""
    manifold_absolute = boost + barometer
    manifold_density = manifold_absolute / (287.05 * manifold_temperature)
    volume_flow = volumetric_efficiency * displacement * speed / 2
    mass_flow = manifold_density * volume_flow
    """,
    source="definition of volumetric efficiency at manifold conditions; standard textbook relation",
    validity="dry air; the fuel vapour in the manifold of a carburetted engine takes some of the room",
    slips=(
        "volumetric efficiency of outside air used with manifold density: boost counted twice",
        "sea-level air assumed under the gauge reading",
        "standard cfm mistaken for actual cfm",
    ),
    question=_demand_question,
    example='--bore "92.5 mm" --stroke "80 mm" --cylinders 4 --speed "6500 rpm" --volumetric-efficiency "94 %" '
    '--boost "13 psi" --barometer "27.4 inHg" --manifold-temperature "145 degF"',
)
def air_demand(
    bore: float | None,
    stroke: float | None,
    cylinders: float | None,
    displacement: float | None,
    speed: float,
    volumetric_efficiency: float,
    manifold_temperature: float,
    boost: float | None,
    manifold_pressure: float | None,
    barometer: float | None,
    altitude: float | None,
    strokes: str,
) -> dict[str, float | None]:
    """Flows [kg/s, m3/s] from the engine's size, speed [rad/s] and manifold state [Pa, K]."""
    volume = air_volume(bore, stroke, cylinders, displacement, speed, volumetric_efficiency, strokes)
    total = manifold_absolute(boost, manifold_pressure, barometer, altitude)
    density = total / (R_AIR * manifold_temperature)
    flow = density * volume["volume_flow"]
    return {
        **volume,
        "manifold_absolute": total,
        "manifold_density": density,
        "mass_flow": flow,
        "standard_flow": flow / RHO_STANDARD_DAY,
        "mass_flow_by_habit": None if boost is None else flow * (boost + HABIT) / total,
    }


def _efficiency_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions, share = gauge_slips(given), results["volumetric_efficiency"]
    if not 0.5 <= share <= 1.25:
        questions.append(
            f"{100 * share:.0f} % at manifold conditions is outside 50 to 125 %: flow, speed, or gauge for absolute?"
        )
    return questions


@register(
    "air",
    "Volumetric efficiency from a measured air flow",
    inputs={
        "mass_flow": Input("mass_flow", "measured air flow", "0.001 kg/s", "2 kg/s"),
        "bore": BORE,
        "stroke": STROKE,
        "cylinders": CYLINDERS,
        "displacement": DISPLACEMENT,
        "speed": SPEED,
        "manifold_temperature": CHARGE_TEMPERATURE,
        "boost": BOOST,
        "manifold_pressure": MANIFOLD_PRESSURE,
        "barometer": BAROMETER,
        "altitude": ALTITUDE,
        "outside_temperature": Input(
            "temperature", "outside air, for the efficiency against it", "-40 degC", "60 degC", ""
        ),
        "strokes": STROKES,
    },
    outputs={
        "volumetric_efficiency": Output("share", "%", "at manifold pressure and temperature"),
        "against_outside": Output("share", "%", "against outside air (barometer and outside temperature given)"),
    },
    formula="volumetric_efficiency = mass_flow / (manifold_density * displacement * speed / 2)",
    source="definition",
    slips=("the two efficiencies mixed up: under boost the one against outside air passes 100 %",),
    question=_efficiency_question,
    example='--mass-flow "27.4 lb/min" --displacement "2150 cc" --speed "6500 rpm" --boost "13 psi" '
    '--barometer "27.4 inHg" --manifold-temperature "145 degF"',
)
def volumetric_efficiency(
    mass_flow: float,
    bore: float | None,
    stroke: float | None,
    cylinders: float | None,
    displacement: float | None,
    speed: float,
    manifold_temperature: float,
    boost: float | None,
    manifold_pressure: float | None,
    barometer: float | None,
    altitude: float | None,
    outside_temperature: float | None,
    strokes: str,
) -> dict[str, float | None]:
    """Shares [1] of the air that would fill the displacement at manifold or outside density."""
    full = air_demand(
        bore,
        stroke,
        cylinders,
        displacement,
        speed,
        1.0,
        manifold_temperature,
        boost,
        manifold_pressure,
        barometer,
        altitude,
        strokes,
    )
    flow, volume = full["mass_flow"], full["volume_flow"]
    assert flow is not None
    assert volume is not None
    against = None
    if outside_temperature is not None:
        density = outside_pressure(barometer, altitude) / (R_AIR * outside_temperature)
        against = mass_flow / (density * volume)
    return {"volumetric_efficiency": mass_flow / flow, "against_outside": against}


# ----------------------------------------------------------------------------- pressure for an air flow, for a power
@register(
    "boost",
    "Manifold pressure an air flow needs",
    inputs={
        "mass_flow": Input("mass_flow", "air flow wanted", "0.005 kg/s", "2 kg/s"),
        "bore": BORE,
        "stroke": STROKE,
        "cylinders": CYLINDERS,
        "displacement": DISPLACEMENT,
        "speed": SPEED,
        "volumetric_efficiency": VE,
        "manifold_temperature": CHARGE_TEMPERATURE,
        "barometer": BAROMETER,
        "altitude": ALTITUDE,
        "strokes": STROKES,
    },
    outputs={
        "manifold_absolute": Output("pressure_absolute", "kPa", "manifold pressure, absolute", ("psi", "bar")),
        "boost_needed": Output(
            "pressure_gauge", "kPa", "above the outside pressure, where that is given", ("psi", "bar")
        ),
    },
    formula="""
    manifold_absolute = mass_flow * 287.05 * manifold_temperature / (volumetric_efficiency * displacement * speed / 2)
    boost_needed = manifold_absolute - barometer
    """,
    source="ideal gas law and the definition of volumetric efficiency",
    slips=("temperature of the charge left at outside temperature: too little boost comes out",),
    example='--mass-flow "44 lb/min" --displacement "122 in3" --speed "7200 rpm" --volumetric-efficiency "92 %" '
    '--manifold-temperature "130 degF"',
)
def manifold_pressure_for_flow(
    mass_flow: float,
    bore: float | None,
    stroke: float | None,
    cylinders: float | None,
    displacement: float | None,
    speed: float,
    volumetric_efficiency: float,
    manifold_temperature: float,
    barometer: float | None,
    altitude: float | None,
    strokes: str,
) -> dict[str, float | None]:
    """Absolute and gauge manifold pressure [Pa] for ``mass_flow`` [kg/s]."""
    size = engine_displacement(bore, stroke, cylinders, displacement)
    volume = volumetric_efficiency * size * intakes_per_second(speed, strokes)
    total = mass_flow * R_AIR * manifold_temperature / volume
    outside = None if barometer is None and altitude is None else outside_pressure(barometer, altitude)
    return {"manifold_absolute": total, "boost_needed": None if outside is None else total - outside}


@register(
    "boost",
    "Boost and compressor ratio a power target needs",
    inputs={
        "power": Input("power", "power at the crank wanted", "5 kW", "1500 kW"),
        "consumption": CONSUMPTION,
        **MIXTURE_INPUTS,
        "bore": BORE,
        "stroke": STROKE,
        "cylinders": CYLINDERS,
        "displacement": DISPLACEMENT,
        "speed": SPEED,
        "volumetric_efficiency": VE,
        "manifold_temperature": CHARGE_TEMPERATURE,
        "barometer": BAROMETER,
        "altitude": ALTITUDE,
        "filter_pull": FILTER_PULL,
        "loss": CHARGE_LOSS,
        "strokes": STROKES,
    },
    outputs={
        "mass_flow": Output("mass_flow", "kg/s", "air flow needed", ("lb/min",)),
        "manifold_absolute": Output("pressure_absolute", "kPa", "manifold pressure, absolute", ("psi", "bar")),
        "boost_needed": Output("pressure_gauge", "kPa", "boost on the gauge", ("psi", "bar")),
        "pressure_ratio": Output("ratio", ":1", "compressor pressure ratio with pull and loss"),
    },
    formula="""
    mass_flow = power * consumption * air_fuel_ratio
    manifold_absolute = mass_flow * 287.05 * manifold_temperature / (volumetric_efficiency * displacement * speed / 2)
    boost_needed = manifold_absolute - barometer
    pressure_ratio = (manifold_absolute + loss) / (barometer - filter_pull)
    """,
    source="definition of fuel per power, ideal gas law",
    validity="as good as the fuel per power, which rises with boost, richness and late timing",
    slips=("fuel per power of an unboosted engine used for a boosted one",),
    question=lambda given, results: (
        ["the target needs no boost: check power, displacement and speed"] if results["boost_needed"] <= 0.0 else []
    ),
    example='--power "400 hp" --consumption "0.55 lb/hp-hr" --air-fuel-ratio 12 --displacement "122 in3" '
    '--speed "7200 rpm" --volumetric-efficiency "92 %" --manifold-temperature "130 degF" --barometer "14.5 psi"',
)
def boost_for_power(
    power: float,
    consumption: float,
    air_fuel_ratio: float | None,
    mixture: float | None,
    fuel: str | None,
    stoichiometric_ratio: float | None,
    bore: float | None,
    stroke: float | None,
    cylinders: float | None,
    displacement: float | None,
    speed: float,
    volumetric_efficiency: float,
    manifold_temperature: float,
    barometer: float | None,
    altitude: float | None,
    filter_pull: float,
    loss: float,
    strokes: str,
) -> dict[str, float | None]:
    """Air flow [kg/s], pressures [Pa] and ratio [1] for ``power`` [W]."""
    need = air_for_power(power, consumption, air_fuel_ratio, mixture, fuel, stoichiometric_ratio)["mass_flow"]
    outside = outside_pressure(barometer, altitude)
    state = manifold_pressure_for_flow(
        need,
        bore,
        stroke,
        cylinders,
        displacement,
        speed,
        volumetric_efficiency,
        manifold_temperature,
        outside,
        None,
        strokes,
    )
    ratio = pressure_ratio(None, state["manifold_absolute"], outside, None, filter_pull, loss)["pressure_ratio"]
    return {"mass_flow": need, **state, "pressure_ratio": ratio}


# ----------------------------------------------------------------------------- air and power
def _per_air_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    per_air = results["power_per_air"]
    low, high = (to_si(x, "power_per_air", "hp/(lb/min)") for x in (7.0, 12.0))
    if not low <= per_air <= high:
        shown = per_air / to_si(1.0, "power_per_air", "hp/(lb/min)")
        return [
            f"{shown:.1f} hp per lb/min of air is outside 7 to 12 (8.5 to 10 is usual at boosted petrol mixtures); "
            "check air-fuel ratio and fuel per power, and that they belong to the same fuel"
        ]
    return []


@register(
    "air",
    "Air and fuel a power needs",
    inputs={
        "power": Input("power", "power at the crank", "1 kW", "1500 kW"),
        "consumption": CONSUMPTION,
        **MIXTURE_INPUTS,
    },
    outputs={
        "mass_flow": Output("mass_flow", "kg/s", "air flow", ("lb/min", "kg/h")),
        "fuel_flow": Output("mass_flow", "kg/h", "fuel by mass", ("lb/h",)),
        "standard_flow": Output("volume_flow", "cfm", "the air as standard cfm (1.225 kg/m3)"),
        "standard_flow_per_power": Output("flow_per_power", "cfm/hp", "standard cfm per power; 1.5 to 1.6 is the rule"),
        "air_fuel_ratio_used": Output("ratio", ":1", "air-fuel ratio by mass"),
        "power_per_air": Output("power_per_air", "hp/(lb/min)", "power for each unit of air flow"),
    },
    formula="""
    fuel_flow = power * consumption
    mass_flow = fuel_flow * air_fuel_ratio
    """,
    source="definition of fuel per power; 1.5 to 1.6 standard cfm per hp is common practice, no source",
    question=_per_air_question,
    example='--power "400 hp" --consumption "0.55 lb/hp-hr" --air-fuel-ratio 12',
)
def air_for_power(
    power: float,
    consumption: float,
    air_fuel_ratio: float | None,
    mixture: float | None,
    fuel: str | None,
    stoichiometric_ratio: float | None,
) -> dict[str, float]:
    """Air and fuel flow [kg/s] for ``power`` [W]."""
    ratio = ratio_by_mass(air_fuel_ratio, mixture, fuel, stoichiometric_ratio)
    burned = power * consumption
    flow = burned * ratio
    return {
        "mass_flow": flow,
        "fuel_flow": burned,
        "standard_flow": flow / RHO_STANDARD_DAY,
        "standard_flow_per_power": flow / RHO_STANDARD_DAY / power,
        "air_fuel_ratio_used": ratio,
        "power_per_air": power / flow,
    }
