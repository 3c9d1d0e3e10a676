"""Sums on oil: restrictor and drain of the turbo, heat, pump and pressure rules.

Viscosity and bearings stand in files of their own, which register when this one is imported.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.constants import STANDARD_GRAVITY
from spoolwright.sums import oil_bearings  # noqa: F401 - it registers more of this topic
from spoolwright.sums.oil_properties import KINEMATIC, OIL_DENSITY, VISCOSITY
from spoolwright.sums.registry import Input, Output, register

FLOW = Input("volume_flow", "oil flow", "0.05 L/min", "120 L/min")
OIL_CAUTION = "Oil at 100 degC burns skin and catches fire on a turbine: shield the line, secure it, clip the drain."
_UPSTREAM = Input("pressure_gauge", "oil pressure before it", "0 kPa", "1 MPa")
_DOWNSTREAM = Input("pressure_gauge", "oil pressure after it", "0 kPa", "900 kPa", "0 kPa")
_COEFFICIENT = Input("ratio", "discharge coefficient", "0.5", "0.9", "0.65")


def _restrictor_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    reynolds = results["reynolds"]
    if reynolds is not None and reynolds < 1000.0:
        return [
            f"Reynolds number {reynolds:.0f}: the oil is too thick for the sharp-orifice law; the true flow is less"
        ]
    if given["downstream_pressure"] == 0.0:
        return ["nothing was left after the restrictor: a bearing housing holds back pressure, give it if measured"]
    return []


@register(
    "oil",
    "Oil through a restrictor",
    inputs={
        "diameter": Input("length", "hole of the restrictor", "0.4 mm", "6 mm", sheet="oil.turbo_restrictor"),
        "upstream_pressure": _UPSTREAM,
        "downstream_pressure": _DOWNSTREAM,
        "density": OIL_DENSITY,
        "discharge_coefficient": _COEFFICIENT,
        "viscosity": replace(VISCOSITY, default="", meaning="dynamic viscosity, to check the law"),
    },
    outputs={
        "flow": Output("volume_flow", "L/min", "oil flow", ("gal/min", "cc/s")),
        "velocity": Output("speed", "m/s", "through the hole"),
        "reynolds": Output("number", "1", "Reynolds number of the hole, where the viscosity is given"),
    },
    formula="""
    flow = discharge_coefficient * pi/4 * diameter^2 * sqrt(2*(upstream_pressure - downstream_pressure)/density)
    """,
    source="sharp-orifice law; any fluid-mechanics text",
    validity="Hot thin oil, short hole; optimistic for cold oil.",
    slips=("0.060 in read as 0.60 mm", "restrictor fitted to cure a bad drain"),
    question=_restrictor_question,
    caution=OIL_CAUTION,
    example=('--diameter "0.060 in" --upstream-pressure "60 psi" --downstream-pressure "22 psi" --density "835 kg/m3"'),
)
def restrictor_flow(
    diameter: float,
    upstream_pressure: float,
    downstream_pressure: float,
    density: float,
    discharge_coefficient: float,
    viscosity: float | None,
) -> dict[str, float | None]:
    """Flow [m3/s], velocity [m/s]. Raises ValueError when the pressure does not fall."""
    drop = upstream_pressure - downstream_pressure
    if drop < 0.0:
        raise ValueError("the pressure after the restrictor is above that before it")
    area = math.pi / 4.0 * diameter**2
    flow = discharge_coefficient * area * math.sqrt(2.0 * drop / density)
    velocity = flow / area
    reynolds = None if viscosity is None else density * velocity * diameter / viscosity
    return {"flow": flow, "velocity": velocity, "reynolds": reynolds}


@register(
    "oil",
    "Restrictor for an oil flow",
    inputs={
        "flow": FLOW,
        "upstream_pressure": _UPSTREAM,
        "downstream_pressure": _DOWNSTREAM,
        "density": OIL_DENSITY,
        "discharge_coefficient": _COEFFICIENT,
    },
    outputs={"diameter": Output("length", "mm", "hole of the restrictor", ("in", "thou"))},
    formula="""
    diameter = sqrt(4*flow/(pi*discharge_coefficient*velocity))
    with velocity = sqrt(2*(upstream_pressure - downstream_pressure)/density)
    """,
    source="sharp-orifice law; any fluid-mechanics text",
    validity="Hot thin oil. Ball bearings about 1.0 mm, plain bearings usually none (seen in public writing).",
    caution=OIL_CAUTION,
    example='--flow "1.8 L/min" --upstream-pressure "60 psi" --downstream-pressure "22 psi" --density "835 kg/m3"',
)
def restrictor_for_flow(
    flow: float, upstream_pressure: float, downstream_pressure: float, density: float, discharge_coefficient: float
) -> dict[str, float]:
    """Diameter [m]. Raises ValueError when the pressure does not fall."""
    drop = upstream_pressure - downstream_pressure
    if drop <= 0.0:
        raise ValueError("the pressure must fall across the restrictor")
    area = flow / (discharge_coefficient * math.sqrt(2.0 * drop / density))
    return {"diameter": math.sqrt(4.0 * area / math.pi)}


@register(
    "oil",
    "Pressure after a restrictor from the flow",
    inputs={
        "diameter": Input("length", "hole of the restrictor", "0.4 mm", "6 mm"),
        "flow": FLOW,
        "upstream_pressure": _UPSTREAM,
        "density": OIL_DENSITY,
        "discharge_coefficient": _COEFFICIENT,
    },
    outputs={
        "drop": Output("pressure_difference", "kPa", "lost in the restrictor", ("psi", "bar")),
        "downstream_pressure": Output("pressure_gauge", "kPa", "left after it", ("psi", "bar")),
    },
    formula="""
    drop = density/2 * (flow/(discharge_coefficient*pi/4*diameter^2))^2
    downstream_pressure = upstream_pressure - drop
    """,
    source="sharp-orifice law; any fluid-mechanics text",
    validity="Hot thin oil.",
    example='--diameter "1.0 mm" --flow "0.7 L/min" --upstream-pressure "60 psi" --density "835 kg/m3"',
)
def restrictor_drop(
    diameter: float, flow: float, upstream_pressure: float, density: float, discharge_coefficient: float
) -> dict[str, float]:
    """Pressures [Pa]. Raises ValueError when the flow needs more pressure than there is."""
    drop = density / 2.0 * (flow / (discharge_coefficient * math.pi / 4.0 * diameter**2)) ** 2
    if drop > upstream_pressure:
        raise ValueError("this flow needs more pressure than there is before the restrictor")
    return {"drop": drop, "downstream_pressure": upstream_pressure - drop}


def _drain_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    asked = []
    if given["slope"] < 30.0:
        asked.append("a flat drain backs up in turns and braking; as near to vertical as it can be, no level stretch")
    if results["margin"] is not None and results["margin"] < 2.0:
        asked.append(
            f"the drain carries {results['margin']:.1f} times the feed; froth and cold oil need twice and more"
        )
    if given["air_share"] == 0.0:
        asked.append("oil leaves a turbo as froth, up to half of it air; no air was counted")
    return asked


@register(
    "oil",
    "Drain by gravity in a sloping pipe, half full",
    inputs={
        "diameter": Input("length", "inside diameter of the drain", "6 mm", "40 mm", sheet="oil.drain_diameter"),
        "slope": Input("angle", "fall from the horizontal, at the flattest stretch", "2 deg", "90 deg"),
        "viscosity": replace(KINEMATIC, meaning="kinematic viscosity at the drain's temperature"),
        "air_share": Input("share", "air in the froth, by volume", "0 %", "60 %", "0 %", part=True),
        "feed": replace(FLOW, default="", meaning="oil fed to the turbo, to compare"),
    },
    outputs={
        "half_full_flow": Output("volume_flow", "L/min", "oil carried with the pipe half full", ("gal/min",)),
        "full_flow": Output("volume_flow", "L/min", "with the pipe full; then it no longer breathes", ("gal/min",)),
        "velocity": Output("speed", "m/s", "mean velocity"),
        "reynolds": Output("number", "1", "Reynolds number; laminar below about 2000"),
        "margin": Output("ratio", "1", "half-full flow over feed"),
    },
    formula="""
    velocity = min(v_laminar, v_turbulent)
    half_full_flow = (1 - air_share) * velocity * pi/8 * diameter^2
    with v_laminar = g*sin(slope)*diameter^2/(32*viscosity)
    with v_turbulent = (2*g*sin(slope)*diameter^1.25/(0.3164*viscosity^0.25))^(1/1.75)
    """,
    source=(
        "Hagen-Poiseuille and Blasius friction with the hydraulic diameter, which half full is the pipe's own; "
        "any fluid-mechanics text"
    ),
    validity="Long smooth straight pipe, free surface; inlet, bends and crankcase pressure are not counted, take much.",
    slips=("hose size by its outside", "viscosity at 100 degC for a drain at start"),
    question=_drain_question,
    caution=OIL_CAUTION,
    example='--diameter "16 mm" --slope "60 deg" --viscosity "12 cSt" --air-share "40 %" --feed "1.8 L/min"',
)
def drain_flow(
    diameter: float, slope: float, viscosity: float, air_share: float, feed: float | None
) -> dict[str, float | None]:
    """Flows [m3/s], velocity [m/s]. Raises ValueError for a drain that does not fall."""
    if not 0.0 < slope <= 90.0:
        raise ValueError("the slope is an angle above 0 and up to 90 deg")
    pull = STANDARD_GRAVITY * math.sin(math.radians(slope))
    laminar = pull * diameter**2 / (32.0 * viscosity)
    turbulent = (2.0 * pull * diameter**1.25 / (0.3164 * viscosity**0.25)) ** (1.0 / 1.75)
    velocity = min(laminar, turbulent)
    half = (1.0 - air_share) * velocity * math.pi / 8.0 * diameter**2
    return {
        "half_full_flow": half,
        "full_flow": 2.0 * half,
        "velocity": velocity,
        "reynolds": velocity * diameter / viscosity,
        "margin": None if feed is None else half / feed,
    }


@register(
    "oil",
    "Oil pressure trend: clearance and viscosity change, pump flow the same",
    inputs={
        "pressure": Input("pressure_gauge", "oil pressure known", "20 kPa", "1 MPa"),
        "clearance_then": Input("length", "clearance at that time", "0.01 mm", "0.3 mm"),
        "clearance_now": Input("length", "clearance now", "0.01 mm", "0.3 mm"),
        "viscosity_then": replace(KINEMATIC, meaning="viscosity at that time"),
        "viscosity_now": replace(KINEMATIC, meaning="viscosity now"),
    },
    outputs={
        "pressure_ratio": Output("ratio", "1", "pressure now over then"),
        "pressure_now": Output("pressure_gauge", "kPa", "oil pressure now", ("psi", "bar")),
    },
    formula="""
    pressure_ratio = viscosity_now/viscosity_then * (clearance_then/clearance_now)^3
    pressure_now = pressure * pressure_ratio
    """,
    source="laminar flow through ring gaps at constant flow",
    validity="All oil leaves through bearings, relief valve shut, same speed. A trend, not a prediction.",
    question=lambda given, results: (
        ["higher than before: the relief valve will limit it"] if results["pressure_ratio"] > 1.0 else []
    ),
    example=(
        '--pressure "60 psi" --clearance-then "0.055 mm" --clearance-now "0.085 mm" --viscosity-then "25 cSt" '
        '--viscosity-now "11 cSt"'
    ),
)
def oil_pressure_trend(
    pressure: float, clearance_then: float, clearance_now: float, viscosity_then: float, viscosity_now: float
) -> dict[str, float]:
    """Ratio [1], gauge pressure [Pa]."""
    ratio = viscosity_now / viscosity_then * (clearance_then / clearance_now) ** 3
    return {"pressure_ratio": ratio, "pressure_now": pressure * ratio}


@register(
    "oil",
    "Oil heat: heat, flow and temperature rise, the third from two",
    inputs={
        "heat": Input("power", "heat carried by the oil", "0.05 kW", "150 kW", ""),
        "flow": replace(FLOW, default=""),
        "rise": Input("temperature_difference", "oil out above oil in", "0.5 K", "90 K", ""),
        "density": replace(OIL_DENSITY, default="840 kg/m3"),
        "heat_capacity": Input("heat_capacity", "oil", "1600 J/(kg K)", "2600 J/(kg K)", "2100 J/(kg K)"),
    },
    outputs={
        "heat_carried": Output("power", "kW", "heat", ("hp",)),
        "flow_needed": Output("volume_flow", "L/min", "oil flow", ("gal/min",)),
        "temperature_rise": Output("temperature_difference", "K", "oil out above oil in", ("degF",)),
    },
    formula="heat_carried = density * flow_needed * heat_capacity * temperature_rise",
    source="heat balance; density and heat capacity of engine oil near 90 degC from memory",
    example='--flow "25 L/min" --rise "14 K"',
)
def oil_heat(
    heat: float | None, flow: float | None, rise: float | None, density: float, heat_capacity: float
) -> dict[str, float]:
    """Heat [W], flow [m3/s], rise [K]. Raises ValueError unless exactly two are given."""
    if (heat is None) + (flow is None) + (rise is None) != 1:
        raise ValueError("give exactly two of heat, flow and rise")
    carried = density * heat_capacity
    if heat is None:
        assert flow is not None
        assert rise is not None
        heat = carried * flow * rise
    elif flow is None:
        assert rise is not None
        flow = heat / (carried * rise)
    else:
        rise = heat / (carried * flow)
    return {"heat_carried": heat, "flow_needed": flow, "temperature_rise": rise}


@register(
    "oil",
    "Oil pump: delivery, and what goes back over the relief valve",
    inputs={
        "displacement": Input("volume", "pump delivery per pump turn", "1 cc", "60 cc"),
        "speed": Input("rotational_speed", "engine speed", "200 rpm", "12000 rpm"),
        "drive_ratio": Input("ratio", "pump turns for an engine turn", "0.3", "1.5", "0.5"),
        "efficiency": Input("share", "volumetric efficiency", "40 %", "98 %", "85 %", part=True),
        "demand": replace(FLOW, default="", meaning="flow through bearings and feeds, to compare"),
    },
    outputs={
        "delivery": Output("volume_flow", "L/min", "oil delivered", ("gal/min",)),
        "surplus": Output("volume_flow", "L/min", "over the relief valve; below zero the pump is short", ("gal/min",)),
    },
    formula="""
    delivery = displacement * speed/(2*pi) * drive_ratio * efficiency
    surplus = delivery - demand
    """,
    source="definition",
    question=lambda given, results: (
        ["the pump is short: pressure falls until the leaks pass no more than it gives"]
        if results["surplus"] is not None and results["surplus"] < 0.0
        else []
    ),
    example='--displacement "16 cc" --speed "3000 rpm" --demand "14 L/min"',
)
def oil_pump_delivery(
    displacement: float, speed: float, drive_ratio: float, efficiency: float, demand: float | None
) -> dict[str, float | None]:
    """Flows [m3/s]."""
    delivery = displacement * speed / (2.0 * math.pi) * drive_ratio * efficiency
    return {"delivery": delivery, "surplus": None if demand is None else delivery - demand}


@register(
    "oil",
    "Oil pressure hot by the rule of thumb",
    inputs={
        "speed": Input("rotational_speed", "engine speed", "500 rpm", "12000 rpm"),
        "measured": Input("pressure_gauge", "pressure measured hot, to compare", "20 kPa", "1 MPa", ""),
        "per_speed": Input("pressure_gauge", "pressure for each 1000 rpm", "3 psi", "20 psi", "10 psi"),
    },
    outputs={
        "least_pressure": Output("pressure_gauge", "kPa", "least by the rule", ("psi", "bar")),
        "over_rule": Output("ratio", "1", "measured over the rule"),
    },
    formula="least_pressure = per_speed * speed/(1000 rpm)",
    source="common practice, no source: 10 psi for each 1000 rpm, hot; the maker's figure wins",
    question=lambda given, results: (
        [f"measured is {results['over_rule']:.2f} of the rule: do not load the engine before the cause is known"]
        if results["over_rule"] is not None and results["over_rule"] < 1.0
        else []
    ),
    example='--speed "6000 rpm" --measured "62 psi"',
)
def oil_pressure_rule(speed: float, measured: float | None, per_speed: float) -> dict[str, float | None]:
    """Gauge pressure [Pa] and ratio [1]."""
    least = per_speed * speed / (1000.0 * math.pi / 30.0)
    return {"least_pressure": least, "over_rule": None if measured is None else measured / least}
