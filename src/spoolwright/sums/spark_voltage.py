"""The voltage a plug needs: breakdown of its gap, Paschen's curve, the coil's margin, the gap for a voltage.

Models: breakdown of air in a uniform field (voltage = 24.22 kV/cm * d' + 6.08 kV/cm^0.5 * sqrt(d'), d' the gap times
relative density) and Townsend's criterion in Paschen's form. A plug's electrodes are hot and sharp: the real demand of
a new plug is near these figures or below, that of a worn one above.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.constants import STANDARD_ATMOSPHERE
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.spark_energy import VOLTS

_FIELD, _ROOT = 24.22e5, 6.08e4  # V/m and V/m^0.5: 24.22 kV/cm and 6.08 kV/cm^0.5
_T_NORMAL = 293.0  # K, the state the formula was fitted to, with one atmosphere
GAP = Input("length", "plug gap", "0.2 mm", "2 mm", sheet="spark.plug.gap")
PRESSURE = Input("pressure_absolute", "pressure in the cylinder at the spark", "1 bar", "60 bar", "101.325 kPa")
TEMPERATURE = Input("temperature", "charge at the spark", "-20 degC", "700 degC", "293 K")


def relative_density(pressure: float, temperature: float) -> float:
    """Density of the charge over that of air at one atmosphere and 293 K."""
    return pressure / STANDARD_ATMOSPHERE * _T_NORMAL / temperature


def uniform_breakdown(gap: float, density: float) -> float:
    """Breakdown voltage [V] of a uniform gap [m] at relative ``density`` [1]."""
    return _FIELD * density * gap + _ROOT * math.sqrt(density * gap)


def _voltage_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["voltage"] > 30e3:
        return ["more than 30 kV: leads, cap and plug body may break down first; a smaller gap?"]
    return []


@register(
    "spark",
    "Voltage a plug needs, uniform-field breakdown",
    inputs={"gap": GAP, "pressure": PRESSURE, "temperature": TEMPERATURE},
    outputs={
        "voltage": Output("voltage", "kV", "breakdown voltage"),
        "field": Output("field_strength", "kV/cm", "voltage over gap"),
        "relative_density": Output("number", "1", "density over that at 1 atm and 293 K"),
    },
    formula="""
    relative_density = pressure / (101.325 kPa) * (293 K) / temperature
    voltage = (24.22 kV/cm) * relative_density * gap + (6.08 kV/cm^0.5) * sqrt(relative_density * gap)
    """,
    source="High Voltage Engineering text, Ex. 2.1, p. 64: E = 24.22 + 6.08/sqrt(d), d in cm; density by similarity",
    validity="uniform field, cold electrodes, air; hot sharp electrodes need less, worn ones and lean mixture more",
    slips=("gauge pressure for absolute", "pressure at BDC instead of at the spark: see `spark_conditions`"),
    question=_voltage_question,
    caution=VOLTS,
    example='--gap "0.9 mm" --pressure "12 bar" --temperature "600 K"',
)
def plug_voltage(gap: float, pressure: float, temperature: float) -> dict[str, float]:
    """Breakdown voltage [V] of a gap [m] at pressure [Pa] and temperature [K]."""
    if min(gap, pressure, temperature) <= 0.0:
        raise ValueError("gap, pressure and temperature must be above zero")
    density = relative_density(pressure, temperature)
    voltage = uniform_breakdown(gap, density)
    return {"voltage": voltage, "field": voltage / gap, "relative_density": density}


_TORR_CM = STANDARD_ATMOSPHERE / 760.0 * 0.01  # Pa m


@register(
    "spark",
    "Breakdown voltage by Townsend and Paschen",
    inputs={
        "gap": Input("length", "gap", "0.01 mm", "50 mm"),
        "pressure": Input("pressure_absolute", "pressure", "0.1 kPa", "6 MPa", "101.325 kPa"),
        "ionisation": Input("number", "A, ionisations per cm and torr", "5", "25", "15"),
        "ionisation_field": Input("number", "B, volts per cm and torr", "150", "500", "365"),
        "secondary": Input("number", "gamma, electrons freed at the cathode for each ion", "1e-6", "0.2", "0.01"),
    },
    outputs={
        "voltage": Output("voltage", "kV", "breakdown voltage"),
        "least_voltage": Output("voltage", "V", "least voltage of the curve"),
        "pressure_gap": Output("number", "1", "pressure times gap, torr cm"),
        "pressure_gap_at_least": Output("number", "1", "where the curve is least, torr cm"),
    },
    formula="""
    voltage = ionisation_field * pressure_gap / ln(ionisation * pressure_gap / ln(1 + 1/secondary))
    pressure_gap_at_least = e / ionisation * ln(1 + 1/secondary)
    """,
    source="High Voltage Engineering text, Ex. 2.4, p. 65; constants of air from common tables, from memory",
    validity="right of the least point, uniform field; B/A fits hold for 100 to 800 V per cm and torr",
    slips=("gap in mm where the constants want cm",),
    caution=VOLTS,
    example='--gap "1 mm" --pressure "1 atm" --ionisation-field 360 --secondary 1.5e-4',
)
def paschen_voltage(
    gap: float, pressure: float, ionisation: float, ionisation_field: float, secondary: float
) -> dict[str, float]:
    """Breakdown voltage [V] of a gap [m] at pressure [Pa]; constants per cm and torr."""
    if min(gap, pressure, ionisation, ionisation_field, secondary) <= 0.0:
        raise ValueError("all of them must be above zero")
    pd = pressure * gap / _TORR_CM
    avalanche = math.log1p(1.0 / secondary)
    inside = ionisation * pd / avalanche
    if inside <= 1.0:
        raise ValueError("left of the Paschen curve: gap times pressure is too small to break down by this law")
    least = math.e / ionisation * avalanche
    return {
        "voltage": ionisation_field * pd / math.log(inside),
        "least_voltage": ionisation_field * least,
        "pressure_gap": pd,
        "pressure_gap_at_least": least,
    }


def _margin_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["margin"] < 0.0:
        return ["the coil cannot break this gap down: it misfires under boost; smaller gap or more coil?"]
    if results["margin"] < 0.3:
        return ["less than 30 % in hand: wear of the plug doubles its demand over its life"]
    return []


@register(
    "spark",
    "Voltage margin of a coil over what the plug needs",
    inputs={
        "needed": Input("voltage", "voltage the plug needs", "1 kV", "45 kV"),
        "available": Input(
            "voltage",
            "voltage the coil gives on the car; or give energy",
            "5 kV",
            "60 kV",
            "",
            sheet="spark.coil.peak_voltage",
        ),
        "energy": Input("energy", "energy stored, with capacitance; or give available", "5 mJ", "500 mJ", ""),
        "capacitance": Input("capacitance", "coil, lead and plug to ground", "20 pF", "300 pF", "100 pF"),
        "conversion": Input(
            "share", "of the stored energy that reaches the secondary", "20 %", "80 %", "50 %", part=True
        ),
    },
    outputs={
        "available_voltage": Output("voltage", "kV", "voltage that can be had"),
        "margin": Output("share", "%", "available over needed, less one"),
        "share_used": Output("share", "%", "needed over available"),
    },
    formula="""
    available_voltage = sqrt(2 * energy * conversion / capacitance)
    margin = available_voltage / needed - 1
    """,
    source="energy of a charged capacitance; capacitance and conversion are common practice, no source",
    validity="an upper bound: fouled plugs shunt it, turns ratio or the driver's clamp may limit it",
    question=_margin_question,
    caution=VOLTS,
    example='--needed "17 kV" --energy "103 mJ" --capacitance "120 pF"',
)
def coil_voltage_margin(
    needed: float, available: float | None, energy: float | None, capacitance: float, conversion: float
) -> dict[str, float]:
    """Margin [1] of the coil's voltage [V] over the demand."""
    if one_of(available=available, energy=energy) == "energy":
        assert energy is not None
        available = math.sqrt(2.0 * energy * conversion / capacitance)
    assert available is not None
    return {"available_voltage": available, "margin": available / needed - 1.0, "share_used": needed / available}


@register(
    "spark",
    "Plug gap for the voltage there is, and the pressure a gap stands",
    inputs={
        "available": Input(
            "voltage", "voltage the coil gives on the car", "5 kV", "60 kV", sheet="spark.coil.peak_voltage"
        ),
        "reserve": Input("share", "kept back for wear and lean mixture", "0 %", "60 %", "30 %"),
        "pressure": PRESSURE,
        "temperature": TEMPERATURE,
        "gap": Input("length", "a gap, to know the pressure it stands", "0.2 mm", "2 mm", ""),
    },
    outputs={
        "largest_gap": Output("length", "mm", "largest gap at that pressure", ("thou",)),
        "pressure_for_gap": Output("pressure_absolute", "bar", "pressure at which the stated gap uses the voltage"),
        "voltage_used": Output("voltage", "kV", "voltage after the reserve"),
    },
    formula="""
    voltage_used = available * (1 - reserve)
    largest_gap from: (24.22 kV/cm) * d + (6.08 kV/cm^0.5) * sqrt(d) = voltage_used, d = relative density * gap
    """,
    source="uniform-field breakdown as in `plug_voltage`",
    validity="cold electrodes; beside it stands the trade's 0.8 to 0.9 mm boosted, 0.55 to 0.7 mm above 15 psi",
    caution=VOLTS,
    example='--available "30 kV" --pressure "14 bar" --temperature "330 degC" --gap "0.8 mm"',
)
def gap_for_voltage(
    available: float, reserve: float, pressure: float, temperature: float, gap: float | None
) -> dict[str, float | None]:
    """Largest gap [m] for a voltage [V] at pressure [Pa] and temperature [K]."""
    if not 0.0 <= reserve < 1.0 or available <= 0.0:
        raise ValueError("the reserve lies between 0 and 100 % and the voltage above zero")
    voltage = available * (1.0 - reserve)
    root = (math.sqrt(_ROOT**2 + 4.0 * _FIELD * voltage) - _ROOT) / (2.0 * _FIELD)
    product = root * root  # relative density times gap
    density = relative_density(pressure, temperature)
    stands = None if gap is None else product / gap * STANDARD_ATMOSPHERE * temperature / _T_NORMAL
    return {"largest_gap": product / density, "pressure_for_gap": stands, "voltage_used": voltage}
