"""Sums of the spark: retard under boost, knock sound, heat range of a plug, state of the charge at the spark.

Timing, coil and plug voltage stand in files of their own, which register when this one is imported. Angles are degrees
of the crank before top dead centre unless a name says otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.constants import R_AIR
from spoolwright.sums import spark_energy, spark_timing, spark_voltage  # noqa: F401 - they register the rest of this topic
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.measures import BORE
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.slider_crank import piston_travel
from spoolwright.sums.spark_timing import ADVANCE


# ----------------------------------------------------------------------------- boost retard
def _retard_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = []
    plain = [given["base_advance"] - given["rate"] * max(0.0, p) for p in given["boost"]]
    told = sorted(zip(given["boost"], results["advance"], plain, strict=True), reverse=True)
    for p, real, wrong in told:
        if abs(real - wrong) > 0.05:
            questions.append(
                f"at {p / 6894.757:.1f} psi it is {real:.1f} deg; start and stop left out it would be {wrong:.1f} deg"
            )
            break
    if given["cap"] is not None and max(results["retard"]) >= given["cap"]:
        start = (given["start"] + given["cap"] / given["rate"]) / 6894.757 if given["rate"] > 0 else 0.0
        questions.append(f"above {start:.1f} psi no more is taken out: is the stop meant below the highest boost?")
    if min(results["advance"]) < 8.0:
        questions.append("less than 8 deg is left: exhaust and turbine get very hot; is the rate per psi, not per kPa?")
    return questions


@register(
    "spark",
    "Boost retard with a start and a stop",
    inputs={
        "base_advance": Input(
            "event_angle", "advance without boost", "0 deg", "50 deg", reference="BTDC", sheet="spark.advance"
        ),
        "boost": Input(
            "pressure_gauge", "boost, one or more", "-14.7 psi", "60 psi", many=True, sheet="limits.max_boost"
        ),
        "rate": Input(
            "angle_per_pressure",
            "taken out for each unit of boost",
            "0.2 deg/psi",
            "4 deg/psi",
            sheet="spark.boost_retard",
        ),
        "start": Input(
            "pressure_gauge", "boost where it starts", "0 psi", "15 psi", "0 psi", sheet="spark.retard_from"
        ),
        "cap": Input(
            "angle", "most it takes out; none when not given", "1 deg", "30 deg", "", sheet="spark.retard_limit"
        ),
    },
    outputs={
        "advance": Output("event_angle", "deg", "advance BTDC at each boost"),
        "retard": Output("angle", "deg", "taken out at each boost"),
    },
    formula="""
    retard = min(cap, max(0, rate * (boost - start)))
    advance = base_advance - retard
    """,
    source="common practice, no source: 0.5 to 3 deg/psi is seen, about 1 above 2 to 3 psi is the usual start",
    slips=("start and stop left out", "rate per bar read as per psi"),
    question=_retard_question,
    caution="Too much advance under boost breaks pistons within seconds: start from the safe side and listen.",
    example='--base-advance "28 deg" --boost "0; 5; 10; 14 psi" --rate "1.1 deg/psi" --start "2 psi" --cap "12 deg"',
)
def boost_retard(
    base_advance: float, boost: list[float], rate: float, start: float, cap: float | None
) -> dict[str, Any]:
    """Advance [deg BTDC] at each boost [Pa gauge] from a rate [deg/Pa]."""
    if rate < 0.0 or (cap is not None and cap < 0.0):
        raise ValueError("rate and cap are written as positive numbers that are taken out")
    out = [max(0.0, rate * (p - start)) for p in boost]
    retard = out if cap is None else [min(cap, one) for one in out]
    return {"advance": [base_advance - one for one in retard], "retard": retard}


# ----------------------------------------------------------------------------- knock and plugs
_MODES = (1.8412, 3.0542, 3.8317, 4.2012)  # zeros of J'mn: (1,0), (2,0), (0,1), (3,0)


@register(
    "spark",
    "Sound of knock: frequencies of the chamber",
    inputs={
        "bore": BORE,
        "sound_speed": Input(
            "speed", "speed of sound in the burned gas; or give gas_temperature", "800 m/s", "1100 m/s", ""
        ),
        "gas_temperature": Input("temperature", "burned gas; or give sound_speed", "1500 K", "3000 K", ""),
    },
    outputs={
        "first": Output("frequency", "kHz", "first sideways mode: where to listen"),
        "second": Output("frequency", "kHz", "second sideways mode"),
        "first_ring": Output("frequency", "kHz", "first ring mode"),
        "third": Output("frequency", "kHz", "third sideways mode"),
        "sound_speed_used": Output("speed", "m/s", "speed of sound taken"),
    },
    formula="""
    first = 1.841 * sound_speed_used / (pi * bore)
    second = 3.054 * sound_speed_used / (pi * bore)
    first_ring = 3.832 * sound_speed_used / (pi * bore)
    """,
    source="Draper, NACA Report 493 (1935), circular cylinder modes; 950 m/s when nothing is given, textbook figure",
    validity="flat cylinder near TDC; piston and chamber shape move it by some 5 %",
    example='--bore "92.5 mm"',
)
def knock_frequency(bore: float, sound_speed: float | None, gas_temperature: float | None) -> dict[str, float]:
    """Frequencies [1/s] of the first four modes in a bore [m]."""
    if bore <= 0.0:
        raise ValueError("the bore must be above zero")
    if sound_speed is None and gas_temperature is None:
        c = 950.0
    elif one_of(sound_speed=sound_speed, gas_temperature=gas_temperature) == "gas_temperature":
        assert gas_temperature is not None
        c = math.sqrt(1.25 * R_AIR * gas_temperature)  # burned gas: ratio of heats about 1.25, R near that of air
    else:
        assert sound_speed is not None
        c = sound_speed
    first, second, ring, third = (z * c / (math.pi * bore) for z in _MODES)
    return {"first": first, "second": second, "first_ring": ring, "third": third, "sound_speed_used": c}


@register(
    "spark",
    "Plug heat range for added power",
    inputs={
        "power_before": Input("power", "power the plug was chosen for", "1 hp", "800 hp"),
        "power_after": Input("power", "power now", "1 hp", "1500 hp"),
        "cylinders": Input("count", "number of cylinders", "1", "16", sheet="cylinders.count"),
        "power_per_step": Input("power", "power of a four-cylinder engine for a step", "50 hp", "120 hp", "87.5 hp"),
    },
    outputs={
        "steps": Output("number", "1", "steps colder (round to whole ones, colder first)"),
        "added_per_cylinder": Output("power", "hp", "power added for each cylinder", ("kW",)),
    },
    formula="steps = (power_after - power_before) * 4 / cylinders / power_per_step",
    source="common practice, no source: one step colder for each 75 to 100 hp added to a four",
    validity="a start only; the tip must reach about 450 degC to clean itself and stay below about 870 degC",
    slips=("numbers of different makers compared: some count up for colder, some down",),
    caution="A plug too hot lights the charge before the spark and melts pistons without a sound.",
    example='--power-before "110 hp" --power-after "280 hp" --cylinders 4',
)
def heat_range_steps(
    power_before: float, power_after: float, cylinders: float, power_per_step: float
) -> dict[str, float]:
    """Steps of heat range from added power [W]."""
    if cylinders < 1.0 or power_per_step <= 0.0:
        raise ValueError("cylinders and power for a step must be above zero")
    added = power_after - power_before
    return {"steps": added * 4.0 / cylinders / power_per_step, "added_per_cylinder": added / cylinders}


# ----------------------------------------------------------------------------- state at the spark
@register(
    "spark",
    "Pressure and temperature in the cylinder at the spark",
    inputs={
        "p_intake": Input(
            "pressure_absolute", "charge pressure in the cylinder at bottom dead centre", "20 kPa", "400 kPa"
        ),
        "charge_temperature": Input(
            "temperature", "charge there, warmed by walls and residual gas", "20 degC", "180 degC"
        ),
        "compression_ratio": Input("ratio", "compression ratio", "5", "16"),
        "advance": ADVANCE,
        "rod_to_stroke": Input("ratio", "rod length over stroke", "1.3", "2.5", "1.7"),
        "exponent": Input("number", "polytropic exponent", "1.25", "1.4", "1.32"),
    },
    outputs={
        "pressure": Output("pressure_absolute", "bar", "pressure at the spark", ("psi", "kPa")),
        "temperature": Output("temperature", "degC", "temperature at the spark", ("K",)),
        "volume_ratio": Output("ratio", ":1", "volume at bottom over volume at the spark"),
    },
    formula="""
    pressure = p_intake * volume_ratio^exponent
    temperature = charge_temperature * volume_ratio^(exponent - 1)
    """,
    source="polytropic compression, exact slider-crank (any internal-combustion-engine text)",
    validity="inlet taken closed at bottom dead centre: a late closing gives less",
    slips=("gauge boost for absolute pressure", "intake pipe temperature without wall and residual heating"),
    question=lambda given, results: (
        [
            f"p_intake {given['p_intake'] / 1e3:.1f} kPa absolute is vacuum near sea level; if it was read on a boost "
            "gauge, add the barometer: pressure and plug voltage would be far higher"
        ]
        if given["p_intake"] < 95e3
        else []
    ),
    example='--p-intake "185 kPa" --charge-temperature "90 degC" --compression-ratio 8 --advance "22 deg"',
)
def spark_conditions(
    p_intake: float,
    charge_temperature: float,
    compression_ratio: float,
    advance: float,
    rod_to_stroke: float,
    exponent: float,
) -> dict[str, float]:
    """Pressure [Pa] and temperature [K] at the spark by polytropic compression from bottom dead centre."""
    if compression_ratio <= 1.0 or rod_to_stroke <= 0.5:
        raise ValueError("the ratio must be above 1 and the rod longer than half the stroke")
    fallen = piston_travel(-advance, 0.5, rod_to_stroke, 0.0)  # of a stroke of one
    ratio = compression_ratio / (1.0 + (compression_ratio - 1.0) * fallen)
    return {
        "pressure": p_intake * ratio**exponent,
        "temperature": charge_temperature * ratio ** (exponent - 1.0),
        "volume_ratio": ratio,
    }
