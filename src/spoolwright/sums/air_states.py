"""Flows brought from one reference state to another: corrected, standard and actual flow.

Similarity: corrected flow m sqrt(T/T_ref) / (p/p_ref), corrected speed N / sqrt(T/T_ref), with the
total state at the compressor inlet. A compressor map means nothing without its reference state;
usual ones are offered by their figures, any other can be given.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import sqrt
from typing import Any, Final, NamedTuple

from spoolwright.constants import R_AIR
from spoolwright.sums.air_pressures import (
    FILTER_PULL,
    OUTSIDE_INPUTS,
    STANDARD_PRESSURE,
    Outside,
    Place,
)
from spoolwright.sums.registry import Input, Output, register
from spoolwright.units import to_si

# Reference states seen on maps: temperature [K], pressure [Pa].
REFERENCES: Final[dict[str, tuple[float, float]]] = {
    "298 K 100 kPa": (298.0, 100e3),
    "298.15 K 100 kPa": (298.15, 100e3),
    "288.15 K 101.325 kPa": (288.15, 101325.0),
    "293.15 K 101.325 kPa": (293.15, 101325.0),
    "293 K 98.1 kPa": (293.0, 98.1e3),
    "545 R 28.4 inHg": (545.0 / 1.8, to_si(28.4, "pressure_absolute", "inHg")),
    "545 R 13.95 psi": (545.0 / 1.8, to_si(13.95, "pressure_absolute", "psi")),
    "519 R 14.7 psi": (519.0 / 1.8, to_si(14.7, "pressure_absolute", "psi")),
    "537 R 14.5 psi": (537.0 / 1.8, to_si(14.5, "pressure_absolute", "psi")),
}
_SOURCE = "similarity of machines; reference states: figures printed on maps (gas-stand practice, from memory)"
_WRITTEN = "state the map is drawn for; or give reference_temperature and reference_pressure"

INLET_TEMPERATURE = Input("temperature", "air at the compressor inlet", "-40 degC", "80 degC")
INLET_PRESSURE = Input("pressure_absolute", "absolute pressure at the compressor inlet", "50 kPa", "110 kPa", "")
REFERENCE = Input("choice", _WRITTEN, default="", choices=tuple(REFERENCES))
T_REFERENCE = Input("temperature", "reference temperature of the map; instead of reference", "0 degC", "40 degC", "")
P_REFERENCE = Input("pressure_absolute", "reference pressure of the map; instead of reference", "90 kPa", "105 kPa", "")
INLET_INPUTS = {"inlet_pressure": INLET_PRESSURE, **OUTSIDE_INPUTS, "filter_pull": FILTER_PULL}
REFERENCE_INPUTS = {"reference": REFERENCE, "reference_temperature": T_REFERENCE, "reference_pressure": P_REFERENCE}
AIR_FLOW = Input("mass_flow", "air mass flow", "0.001 kg/s", "3 kg/s")
SHAFT_SPEED = Input("rotational_speed", "shaft speed", "1000 rpm", "400000 rpm")


class Reference(NamedTuple):
    """The state a map is drawn for: by name, or by temperature [K] and pressure [Pa]."""

    reference: str | None
    reference_temperature: float | None
    reference_pressure: float | None

    def state(self, what: str = "reference") -> tuple[float, float]:
        """Temperature [K] and pressure [Pa]; raises ValueError, about ``what``, when open or stated twice."""
        if self.reference is not None:
            if self.reference_temperature is not None or self.reference_pressure is not None:
                raise ValueError(f"{what} is named and given by figures too; leave one out")
            return REFERENCES[self.reference]
        if self.reference_temperature is None or self.reference_pressure is None:
            raise ValueError(
                f"{what} is open: name one ({', '.join(REFERENCES)}) or give {what}_temperature and {what}_pressure"
            )
        return self.reference_temperature, self.reference_pressure


class Inlet(NamedTuple):
    """Pressure [Pa] at the compressor inlet: absolute, or that outside less the filter pull."""

    inlet_pressure: float | None
    barometer: float | None
    altitude: float | None
    filter_pull: float

    def absolute(self) -> float:
        """Absolute pressure [Pa]; raises ValueError when stated twice, not at all, or not above zero."""
        outside = Outside(self.barometer, self.altitude)
        if self.inlet_pressure is not None:
            if self.barometer is not None or self.altitude is not None or self.filter_pull:
                raise ValueError("inlet_pressure is given; leave barometer, altitude and filter_pull out")
            return self.inlet_pressure
        inlet = outside.pressure() - self.filter_pull
        if inlet <= 0.0:
            raise ValueError("the filter pull is larger than the outside pressure")
        return inlet


def _state_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    inlet = results.get("inlet_pressure_found")
    if inlet is not None and inlet > 115e3:
        return ["the inlet pressure is above any outside air; the state wanted is that before the compressor"]
    return []


# ----------------------------------------------------------------------------- flow
@register(
    "boost",
    "Corrected flow to plot on a compressor map",
    inputs={
        "mass_flow": AIR_FLOW,
        "inlet_temperature": INLET_TEMPERATURE,
        **INLET_INPUTS,
        **REFERENCE_INPUTS,
        "compressors": Input("count", "compressors that share the flow, side by side", "1", "4", "1"),
    },
    outputs={
        "inlet_pressure_found": Output("pressure_absolute", "kPa", "pressure at the compressor inlet", ("psi",)),
        "corrected_flow": Output("mass_flow", "kg/s", "corrected flow of each compressor", ("lb/min",)),
        "corrected_volume_flow": Output(
            "volume_flow", "m3/s", "the same as volume at the reference state, for maps drawn in volume", ("cfm",)
        ),
        "factor": Output("number", "1", "corrected over actual flow"),
        "reference_temperature_used": Output("temperature", "K", "reference temperature", ("degR",)),
        "reference_pressure_used": Output("pressure_absolute", "kPa", "reference pressure", ("inHg", "psi")),
    },
    formula="""
    factor = sqrt(inlet_temperature / reference_temperature) / (inlet_pressure / reference_pressure)
    corrected_flow = mass_flow / compressors * factor
    """,
    source=_SOURCE,
    validity="absolute temperatures and pressures; total state at the compressor inlet",
    slips=(
        "reference of the map not looked up",
        "outside pressure used though the filter pulls",
        "degC in the root",
        "the whole engine's flow plotted on the map of one of two turbos",
    ),
    question=_state_question,
    example='--mass-flow "27.4 lb/min" --inlet-temperature "86 degF" --barometer "27.4 inHg" --filter-pull "0.35 psi" '
    '--reference "545 R 13.95 psi"',
)
def corrected_flow(
    mass_flow: float, inlet_temperature: float, inlet: Inlet, reference: Reference, compressors: float = 1.0
) -> dict[str, float]:
    """Corrected flow [kg/s] of each compressor from ``mass_flow`` [kg/s] of all at an inlet state [K, Pa]."""
    if compressors < 1.0:
        raise ValueError("at least one compressor takes the flow")
    T_ref, p_ref = reference.state()
    p_inlet = inlet.absolute()
    factor = sqrt(inlet_temperature / T_ref) / (p_inlet / p_ref)
    return {
        "inlet_pressure_found": p_inlet,
        "corrected_flow": mass_flow / compressors * factor,
        "corrected_volume_flow": mass_flow / compressors * factor * R_AIR * T_ref / p_ref,
        "factor": factor,
        "reference_temperature_used": T_ref,
        "reference_pressure_used": p_ref,
    }


@register(
    "boost",
    "Actual flow from a corrected flow read off a map",
    inputs={
        "corrected": Input("mass_flow", "corrected flow read off the map", "0.001 kg/s", "3 kg/s"),
        "inlet_temperature": INLET_TEMPERATURE,
        **INLET_INPUTS,
        **REFERENCE_INPUTS,
    },
    outputs={
        "mass_flow": Output("mass_flow", "kg/s", "actual air flow", ("lb/min",)),
        "volume_flow": Output("volume_flow", "cfm", "volume at the inlet state", ("L/s",)),
        "inlet_pressure_found": Output("pressure_absolute", "kPa", "pressure at the compressor inlet"),
    },
    formula="mass_flow = corrected * inlet_pressure / reference_pressure / "
    "sqrt(inlet_temperature / reference_temperature)",
    source=_SOURCE,
    question=_state_question,
    example='--corrected "29.2 lb/min" --inlet-temperature "86 degF" --inlet-pressure "90.4 kPa" '
    '--reference "545 R 13.95 psi"',
)
def flow_from_map(corrected: float, inlet_temperature: float, inlet: Inlet, reference: Reference) -> dict[str, float]:
    """Actual mass and volume flow [kg/s, m3/s] of a ``corrected`` flow [kg/s]."""
    one = corrected_flow(1.0, inlet_temperature, inlet, reference)
    flow, p_inlet = corrected / one["factor"], one["inlet_pressure_found"]
    return {
        "mass_flow": flow,
        "volume_flow": flow * R_AIR * inlet_temperature / p_inlet,
        "inlet_pressure_found": p_inlet,
    }


@register(
    "boost",
    "Corrected flow and speed from one map's reference state to another's",
    inputs={
        "corrected": Input("mass_flow", "corrected flow at the first reference", "0.001 kg/s", "3 kg/s"),
        "corrected_speed": Input(
            "rotational_speed", "corrected shaft speed at the first", "1000 rpm", "400000 rpm", ""
        ),
        **REFERENCE_INPUTS,
        "wanted": Input("choice", "reference state wanted; or its figures", default="", choices=tuple(REFERENCES)),
        "wanted_temperature": Input("temperature", "temperature of the state wanted", "0 degC", "40 degC", ""),
        "wanted_pressure": Input("pressure_absolute", "pressure of the state wanted", "90 kPa", "105 kPa", ""),
    },
    outputs={
        "corrected_wanted": Output("mass_flow", "kg/s", "corrected flow at the state wanted", ("lb/min",)),
        "speed_wanted": Output("rotational_speed", "rpm", "corrected speed at the state wanted"),
        "factor": Output("number", "1", "of the flow"),
    },
    formula="""
    factor = wanted_pressure / reference_pressure * sqrt(reference_temperature / wanted_temperature)
    corrected_wanted = corrected * factor
    speed_wanted = corrected_speed * sqrt(wanted_temperature / reference_temperature)
    """,
    source=_SOURCE,
    slips=("two maps laid over each other without this",),
    example='--corrected "30 lb/min" --reference "545 R 28.4 inHg" --wanted "298 K 100 kPa"',
)
def between_references(
    corrected: float,
    corrected_speed: float | None,
    reference: Reference,
    wanted: str | None,
    wanted_temperature: float | None,
    wanted_pressure: float | None,
) -> dict[str, float | None]:
    """Corrected flow [kg/s] and speed [rad/s] at another reference state."""
    T_from, p_from = reference.state()
    T_to, p_to = Reference(wanted, wanted_temperature, wanted_pressure).state("wanted")
    factor = p_to / p_from * sqrt(T_from / T_to)
    return {
        "corrected_wanted": corrected * factor,
        "speed_wanted": None if corrected_speed is None else corrected_speed * sqrt(T_to / T_from),
        "factor": factor,
    }


# ----------------------------------------------------------------------------- speed
@register(
    "boost",
    "Corrected shaft speed, or the actual one from the map",
    inputs={
        "speed": Input("rotational_speed", "actual shaft speed", "1000 rpm", "400000 rpm", ""),
        "corrected": Input("rotational_speed", "corrected speed of the map; instead", "1000 rpm", "400000 rpm", ""),
        "inlet_temperature": INLET_TEMPERATURE,
        "reference_temperature": Input("temperature", "reference temperature of the map", "0 degC", "40 degC"),
    },
    outputs={
        "corrected_speed": Output("rotational_speed", "rpm", "corrected speed"),
        "actual_speed": Output("rotational_speed", "rpm", "actual speed"),
    },
    formula="corrected_speed = actual_speed / sqrt(inlet_temperature / reference_temperature)",
    source=_SOURCE,
    example='--speed "120000 rpm" --inlet-temperature "310 K" --reference-temperature "298 K"',
)
def corrected_speed(
    speed: float | None, corrected: float | None, inlet_temperature: float, reference_temperature: float
) -> dict[str, float]:
    """Corrected and actual shaft speed [rad/s]."""
    root = sqrt(inlet_temperature / reference_temperature)
    if (speed is None) == (corrected is None):
        raise ValueError("speed or corrected, exactly one of them is needed")
    if speed is not None:
        return {"corrected_speed": speed / root, "actual_speed": speed}
    assert corrected is not None
    return {"corrected_speed": corrected, "actual_speed": corrected * root}


# ----------------------------------------------------------------------------- standard and actual volume
def _standard_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    ratio = results["standard_flow"] / results["actual_flow"]
    if ratio > 1.15 or ratio < 0.87:
        return [
            f"standard cfm is {ratio:.2f} times actual cfm here; a part that fills a volume (carburettor, pipe, port) "
            "sees the actual one"
        ]
    return []


@register(
    "air",
    "Standard cfm, actual cfm and mass flow of the same air",
    inputs={
        "mass_flow": Input("mass_flow", "mass flow", "0.0005 kg/s", "3 kg/s", ""),
        "actual": Input("volume_flow", "volume flow at the place; instead", "1 cfm", "5000 cfm", ""),
        "standard": Input(
            "volume_flow", "figure counted in standard air, written plain in cfm; instead", "1 cfm", "5000 cfm", ""
        ),
        "temperature": Input("temperature", "temperature at the place", "-40 degC", "250 degC"),
        "gauge": Input("pressure_gauge", "pressure at the place above outside air", "-95 kPa", "300 kPa", ""),
        "pressure": Input("pressure_absolute", "absolute pressure at the place; instead", "20 kPa", "500 kPa", ""),
        **OUTSIDE_INPUTS,
        "standard_temperature": Input("temperature", "temperature of the standard air", "0 degC", "25 degC", "15 degC"),
        "standard_pressure": STANDARD_PRESSURE,
    },
    outputs={
        "mass_flow_found": Output("mass_flow", "kg/s", "mass flow", ("lb/min", "kg/h")),
        "actual_flow": Output("volume_flow", "cfm", "volume at the place", ("L/s", "m3/h")),
        "standard_flow": Output("volume_flow", "cfm", "volume as standard air: mass in disguise", ("L/s", "m3/h")),
        "density": Output("density", "kg/m3", "density at the place", ("lb/ft3",)),
        "standard_density": Output("density", "kg/m3", "density of the standard air", ("lb/ft3",)),
    },
    formula="""
    density = pressure / (287.05 * temperature)
    standard_density = standard_pressure / (287.05 * standard_temperature)
    actual_flow = mass_flow_found / density
    standard_flow = mass_flow_found / standard_density
    """,
    source="ideal gas; the standard air of the figure must be stated by whoever printed it",
    slips=("standard cfm used where actual cfm is wanted", "standard of 0 degC taken for 15 degC (5 %)"),
    question=_standard_question,
    example='--standard "400 cfm" --temperature "60 degC" --gauge "13 psi" --barometer "98.0 kPa"',
)
def standard_flow(
    mass_flow: float | None,
    actual: float | None,
    standard: float | None,
    temperature: float,
    place: Place,
    standard_temperature: float,
    standard_pressure: float,
) -> dict[str, float]:
    """Mass flow [kg/s] and volume flows [m3/s] from any one of the three."""
    if sum(x is not None for x in (mass_flow, actual, standard)) != 1:
        raise ValueError("mass_flow, actual or standard, exactly one of them is needed")
    total = place.absolute()
    density = total / (R_AIR * temperature)
    counted = standard_pressure / (R_AIR * standard_temperature)
    if actual is not None:
        flow = actual * density
    elif standard is not None:
        flow = standard * counted
    else:
        assert mass_flow is not None
        flow = mass_flow
    return {
        "mass_flow_found": flow,
        "actual_flow": flow / density,
        "standard_flow": flow / counted,
        "density": density,
        "standard_density": counted,
    }
