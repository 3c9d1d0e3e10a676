"""Air against power: the air and fuel a power needs, the manifold pressure and boost that carry them.

The brake-specific fuel consumption is what the user states. Dry ideal air with R = 287.05 J/(kg K).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.constants import R_AIR, RHO_STANDARD_DAY
from spoolwright.sums import measures
from spoolwright.sums.air_pressures import (
    CHARGE_LOSS,
    FILTER_PULL,
    OUTSIDE_INPUTS,
    Manifold,
    Outside,
    pressure_ratio,
)
from spoolwright.sums.engine_size import CHARGE_TEMPERATURE, SIZE_INPUTS, STROKES, VE, EngineSize, intakes_per_second
from spoolwright.sums.fuel_power import CONSUMPTION, POWER
from spoolwright.sums.mixtures import MIXTURE_INPUTS, Mixture
from spoolwright.sums.registry import Input, Output, register
from spoolwright.units import to_si


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
        "power": POWER,
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
def air_for_power(power: float, consumption: float, mixture: Mixture) -> dict[str, float]:
    """Air and fuel flow [kg/s] for ``power`` [W]."""
    ratio = mixture.by_mass()
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


# ----------------------------------------------------------------------------- pressure for an air flow, for a power
@register(
    "boost",
    "Manifold pressure an air flow needs",
    inputs={
        "mass_flow": Input("mass_flow", "air flow wanted", "0.005 kg/s", "2 kg/s"),
        **SIZE_INPUTS,
        "speed": measures.SPEED,
        "volumetric_efficiency": VE,
        "manifold_temperature": CHARGE_TEMPERATURE,
        **OUTSIDE_INPUTS,
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
    size: EngineSize,
    speed: float,
    volumetric_efficiency: float,
    manifold_temperature: float,
    outside: Outside,
    strokes: str,
) -> dict[str, float | None]:
    """Absolute and gauge manifold pressure [Pa] for ``mass_flow`` [kg/s]."""
    volume = volumetric_efficiency * size.volume() * intakes_per_second(speed, strokes)
    total = mass_flow * R_AIR * manifold_temperature / volume
    return {"manifold_absolute": total, "boost_needed": None if outside == Outside() else total - outside.pressure()}


@register(
    "boost",
    "Boost and compressor ratio a power target needs",
    inputs={
        "power": Input("power", "power at the crank wanted", "5 kW", "1500 kW"),
        "consumption": CONSUMPTION,
        **MIXTURE_INPUTS,
        **SIZE_INPUTS,
        "speed": measures.SPEED,
        "volumetric_efficiency": VE,
        "manifold_temperature": CHARGE_TEMPERATURE,
        **OUTSIDE_INPUTS,
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
    mixture: Mixture,
    size: EngineSize,
    speed: float,
    volumetric_efficiency: float,
    manifold_temperature: float,
    outside: Outside,
    filter_pull: float,
    loss: float,
    strokes: str,
) -> dict[str, float | None]:
    """Air flow [kg/s], pressures [Pa] and ratio [1] for ``power`` [W]."""
    need = air_for_power(power, consumption, mixture)["mass_flow"]
    here = Outside(outside.pressure())  # must be given, where the next sum can do without
    state = manifold_pressure_for_flow(need, size, speed, volumetric_efficiency, manifold_temperature, here, strokes)
    manifold = Manifold(None, state["manifold_absolute"], *here)
    ratio = pressure_ratio(manifold, filter_pull, loss)["pressure_ratio"]
    return {"mass_flow": need, **state, "pressure_ratio": ratio}
