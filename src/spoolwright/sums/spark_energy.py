"""The energy of the spark: coil charge and dwell, current left at speed.

Model: the coil's primary as a resistance and an inductance in series. What a plug needs is in ``spark_voltage``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

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
