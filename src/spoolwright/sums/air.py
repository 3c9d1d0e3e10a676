"""Sums of the air: density, demand, volumetric efficiency.

Dry ideal air with R = 287.05 J/(kg K) unless a humidity is given. Pressures at the manifold are
absolute inside; a gauge reading needs the barometer or the height. The other files of the topic
(power, pressures, weather, reference states, orifices) register when this one is imported.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.constants import R_AIR, RHO_STANDARD_DAY
from spoolwright.gas.air import humid_air_density
from spoolwright.sums import air_orifices, air_power, air_states, air_weather, measures  # noqa: F401 - they register
from spoolwright.sums.air_pressures import (
    HABIT,
    MANIFOLD_INPUTS,
    OUTSIDE_INPUTS,
    Manifold,
    Place,
    gauge_slips,
)
from spoolwright.sums.engine_size import CHARGE_TEMPERATURE, SIZE_INPUTS, STROKES, VE, EngineSize, intakes_per_second
from spoolwright.sums.registry import Input, Output, register


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
        **OUTSIDE_INPUTS,
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
def air_density(temperature: float, place: Place, relative_humidity: float | None) -> dict[str, float]:
    """Density [kg/m3] of dry air, or of humid air where a humidity is given."""
    total = place.absolute()
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
        **SIZE_INPUTS,
        "speed": measures.SPEED,
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
def air_volume(size: EngineSize, speed: float, volumetric_efficiency: float, strokes: str) -> dict[str, float]:
    """Volume flow [m3/s] into the engine."""
    displacement = size.volume()
    return {
        "displacement_found": displacement,
        "volume_flow": volumetric_efficiency * displacement * intakes_per_second(speed, strokes),
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
        **SIZE_INPUTS,
        "speed": measures.SPEED,
        "volumetric_efficiency": VE,
        "manifold_temperature": CHARGE_TEMPERATURE,
        **MANIFOLD_INPUTS,
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
    size: EngineSize,
    speed: float,
    volumetric_efficiency: float,
    manifold_temperature: float,
    manifold: Manifold,
    strokes: str,
) -> dict[str, float | None]:
    """Flows [kg/s, m3/s] from the engine's size, speed [rad/s] and manifold state [Pa, K]."""
    volume = air_volume(size, speed, volumetric_efficiency, strokes)
    total = manifold.absolute()
    density = total / (R_AIR * manifold_temperature)
    flow = density * volume["volume_flow"]
    return {
        **volume,
        "manifold_absolute": total,
        "manifold_density": density,
        "mass_flow": flow,
        "standard_flow": flow / RHO_STANDARD_DAY,
        "mass_flow_by_habit": None if manifold.boost is None else flow * (manifold.boost + HABIT) / total,
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
        **SIZE_INPUTS,
        "speed": measures.SPEED,
        "manifold_temperature": CHARGE_TEMPERATURE,
        **MANIFOLD_INPUTS,
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
    size: EngineSize,
    speed: float,
    manifold_temperature: float,
    manifold: Manifold,
    outside_temperature: float | None,
    strokes: str,
) -> dict[str, float | None]:
    """Shares [1] of the air that would fill the displacement at manifold or outside density."""
    full = air_demand(size, speed, 1.0, manifold_temperature, manifold, strokes)
    flow, volume = full["mass_flow"], full["volume_flow"]
    assert flow is not None
    assert volume is not None
    against = None
    if outside_temperature is not None:
        density = manifold.outside().pressure() / (R_AIR * outside_temperature)
        against = mass_flow / (density * volume)
    return {"volumetric_efficiency": mass_flow / flow, "against_outside": against}
