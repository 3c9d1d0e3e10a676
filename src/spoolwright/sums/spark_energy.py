"""Sums of the spark's energy: coil charge and dwell, voltage a plug needs, coil margin, gap.

Models: the coil's primary as a resistance and an inductance in series; breakdown of air in a uniform field
(voltage = 24.22 kV/cm * d' + 6.08 kV/cm^0.5 * sqrt(d'), d' the gap times relative density) and Townsend's criterion in
Paschen's form. A plug's electrodes are hot and sharp: the real demand of a new plug is near these figures or below,
that of a worn one above.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.constants import STANDARD_ATMOSPHERE
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.registry import Input, Output, register

VOLTS = "Ignition voltage can kill: power off before touching coil, leads or box."
INDUCTANCE = Input("inductance", "primary inductance", "0.2 mH", "15 mH", sheet="spark.coil.inductance")
RESISTANCE = Input(
    "resistance", "whole primary loop: coil, driver, leads, ballast", "0.05 ohm", "5 ohm", sheet="spark.coil.resistance"
)
VOLTAGE = Input("voltage", "voltage at the coil, running", "6 V", "18 V", sheet="spark.coil.supply_voltage")
SPEED = Input("rotational_speed", "engine speed", "200 rpm", "15000 rpm", sheet="limits.max_speed")
CYLINDERS = Input("count", "number of cylinders", "1", "16", "4", sheet="cylinders.count")
ARRANGEMENT = Input(
    "choice",
    "which spark each coil makes",
    choices=("wasted spark", "single coil", "coil per plug"),
    sheet="spark.coil.arrangement",
    named={"single": "single coil", "wasted": "wasted spark", "per_plug": "coil per plug"},
)


def charged_current(inductance: float, resistance: float, voltage: float, dwell: float) -> float:
    """Current [A] after ``dwell`` [s] from none: V/R (1 - exp(-t R/L))."""
    return voltage / resistance * -math.expm1(-dwell * resistance / inductance)


def stored_energy(inductance: float, current: float) -> float:
    """Energy [J] in the coil: L I^2 / 2."""
    return 0.5 * inductance * current**2


def period_of(arrangement: str, speed: float, cylinders: float) -> float:
    """Time [s] between two sparks of one coil at crank ``speed`` [rad/s], four-stroke."""
    if speed <= 0.0 or cylinders < 1.0:
        raise ValueError("speed and number of cylinders must be above zero")
    turns = {"wasted spark": 1.0, "coil per plug": 2.0, "single coil": 2.0 / cylinders}[arrangement]
    return turns * 2.0 * math.pi / speed


def _loop(inductance: float, resistance: float, voltage: float) -> None:
    if min(inductance, resistance, voltage) <= 0.0:
        raise ValueError("inductance, resistance and voltage must be above zero")


# ----------------------------------------------------------------------------- dwell
def _dwell_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    share = given["current"] / results["current_limit"]
    if share > 0.85:
        return [
            f"the current is {100 * share:.0f} % of the most this loop can carry: dwell then grows without much gain"
        ]
    return []


@register(
    "spark",
    "Dwell to a coil current, and the energy stored",
    inputs={
        "inductance": INDUCTANCE,
        "resistance": RESISTANCE,
        "voltage": VOLTAGE,
        "current": Input("current", "primary current wanted", "1 A", "25 A"),
        "speed": Input("rotational_speed", "engine speed, for the dwell in degrees", "200 rpm", "15000 rpm", ""),
    },
    outputs={
        "dwell": Output("time", "ms", "time to reach it"),
        "energy": Output("energy", "mJ", "energy stored in the coil"),
        "current_limit": Output("current", "A", "most the loop can carry, voltage over resistance"),
        "dwell_angle": Output("angle", "deg", "dwell in crank degrees (where speed is given)"),
    },
    formula="""
    dwell = -(inductance / resistance) * ln(1 - current * resistance / voltage)
    energy = inductance * current^2 / 2
    current_limit = voltage / resistance
    """,
    source="resistance and inductance in series, any circuit text",
    validity="constant inductance: iron that saturates charges faster near the end and stores less",
    slips=("coil resistance alone instead of the whole loop", "battery voltage while cranking forgotten"),
    question=_dwell_question,
    caution=VOLTS,
    example='--inductance "4.2 mH" --resistance "0.75 ohm" --voltage "13.2 V" --current "7 A"',
)
def coil_dwell(
    inductance: float, resistance: float, voltage: float, current: float, speed: float | None
) -> dict[str, float | None]:
    """Dwell [s] and energy [J] for a primary current [A]. Raises ValueError where the loop cannot carry it."""
    _loop(inductance, resistance, voltage)
    limit = voltage / resistance
    if current >= limit:
        raise ValueError(f"the loop carries at most {limit:.2f} A at that voltage and resistance")
    dwell = -inductance / resistance * math.log1p(-current / limit)
    return {
        "dwell": dwell,
        "energy": stored_energy(inductance, current),
        "current_limit": limit,
        "dwell_angle": None if speed is None else math.degrees(speed * dwell),
    }


@register(
    "spark",
    "Coil current and energy after a dwell",
    inputs={
        "inductance": INDUCTANCE,
        "resistance": RESISTANCE,
        "voltage": VOLTAGE,
        "dwell": Input("time", "dwell", "0.2 ms", "30 ms", sheet="spark.coil.dwell"),
    },
    outputs={
        "current": Output("current", "A", "primary current reached"),
        "energy": Output("energy", "mJ", "energy stored in the coil"),
        "current_limit": Output("current", "A", "most the loop can carry"),
        "heat": Output("energy", "mJ", "lost as heat in the loop while charging"),
    },
    formula="""
    current = voltage / resistance * (1 - exp(-dwell * resistance / inductance))
    energy = inductance * current^2 / 2
    """,
    source="resistance and inductance in series, any circuit text",
    caution=VOLTS,
    example='--inductance "4.2 mH" --resistance "0.75 ohm" --voltage "12 V" --dwell "3 ms"',
)
def coil_current(inductance: float, resistance: float, voltage: float, dwell: float) -> dict[str, float]:
    """Current [A] and energy [J] after a dwell [s]."""
    _loop(inductance, resistance, voltage)
    current = charged_current(inductance, resistance, voltage, dwell)
    energy = stored_energy(inductance, current)
    # Charge through the loop is (V t - L I) / R; supply energy V times that, less what the coil keeps.
    supplied = voltage * (voltage * dwell - inductance * current) / resistance
    return {"current": current, "energy": energy, "current_limit": voltage / resistance, "heat": supplied - energy}


def _share_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    share = results["dwell_share"]
    if share > 1.0:
        return ["the dwell is longer than the time between sparks: the coil never reaches its current"]
    if share > 0.8:
        return ["hardly any time is left for the spark itself (about 1 ms): see `coil_current_left`"]
    return []


@register(
    "spark",
    "Share of the time a coil spends charging",
    inputs={
        "dwell": Input("time", "dwell", "0.2 ms", "20 ms", sheet="spark.coil.dwell"),
        "speed": SPEED,
        "arrangement": ARRANGEMENT,
        "cylinders": CYLINDERS,
    },
    outputs={
        "dwell_share": Output("share", "%", "dwell over the time between sparks of one coil"),
        "period": Output("time", "ms", "time between sparks of one coil"),
        "dwell_angle": Output("angle", "deg", "dwell in crank degrees"),
        "sparks_per_second": Output("frequency", "Hz", "sparks of one coil"),
    },
    formula="""
    period = 60/N for a wasted spark, 120/N for a coil per plug, 120/(N * cylinders) for a single coil, N in rpm
    dwell_share = dwell / period
    """,
    source="kinematics of a four-stroke engine; any circuit text",
    slips=("wasted spark counted as one spark in two turns",),
    question=_share_question,
    example='--dwell "2.84 ms" --speed "7500 rpm" --arrangement "wasted spark"',
)
def dwell_share(dwell: float, speed: float, arrangement: str, cylinders: float) -> dict[str, float]:
    """Share [1] of the period a coil charges at crank speed [rad/s]."""
    period = period_of(arrangement, speed, cylinders)
    return {
        "dwell_share": dwell / period,
        "period": period,
        "dwell_angle": math.degrees(speed * dwell),
        "sparks_per_second": 1.0 / period,
    }


@register(
    "spark",
    "Coil current left at speed, with time kept for the spark",
    inputs={
        "inductance": INDUCTANCE,
        "resistance": RESISTANCE,
        "voltage": VOLTAGE,
        "speed": SPEED,
        "arrangement": ARRANGEMENT,
        "cylinders": CYLINDERS,
        "spark_time": Input("time", "time kept for the spark", "0.2 ms", "3 ms", "1 ms", sheet="spark.coil.burn_time"),
        "current_wanted": Input(
            "current", "current the box limits to", "1 A", "25 A", "", sheet="spark.coil.current_limit"
        ),
    },
    outputs={
        "current": Output("current", "A", "primary current reached"),
        "energy": Output("energy", "mJ", "energy stored"),
        "dwell_left": Output("time", "ms", "time left to charge"),
        "period": Output("time", "ms", "time between sparks of one coil"),
        "speed_for_full_current": Output("rotational_speed", "rpm", "highest engine speed for the current wanted"),
    },
    formula="""
    dwell_left = period - spark_time
    current = voltage / resistance * (1 - exp(-dwell_left * resistance / inductance))
    energy = inductance * current^2 / 2
    """,
    source="resistance and inductance in series; kinematics of a four-stroke engine",
    validity="the coil starts without current; a limiting box stops at its own current before",
    slips=("one coil for all cylinders taken as a wasted spark coil",),
    caution=VOLTS,
    example=(
        '--inductance "4.2 mH" --resistance "0.75 ohm" --voltage "13.2 V" --speed "7500 rpm" '
        '--arrangement "single coil" --cylinders 4 --spark-time "1 ms"'
    ),
)
def coil_current_left(
    inductance: float,
    resistance: float,
    voltage: float,
    speed: float,
    arrangement: str,
    cylinders: float,
    spark_time: float,
    current_wanted: float | None,
) -> dict[str, float | None]:
    """Current [A] a coil reaches at crank speed [rad/s]. Raises ValueError when no time is left."""
    _loop(inductance, resistance, voltage)
    period = period_of(arrangement, speed, cylinders)
    left = period - spark_time
    if left <= 0.0:
        raise ValueError("the spark takes all the time there is; no dwell is left at this speed")
    current = charged_current(inductance, resistance, voltage, left)
    top = None
    if current_wanted is not None:
        dwell = coil_dwell(inductance, resistance, voltage, current_wanted, None)["dwell"]
        assert dwell is not None
        top = speed * period / (dwell + spark_time)
    return {
        "current": current,
        "energy": stored_energy(inductance, current),
        "dwell_left": left,
        "period": period,
        "speed_for_full_current": top,
    }


# ----------------------------------------------------------------------------- breakdown
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
