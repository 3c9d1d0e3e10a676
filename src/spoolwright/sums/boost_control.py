"""Sums of the wastegate: spring, cracking boost with and without exhaust force, flap with lever, hose off.

Force balance at the moment the valve leaves its seat, gauge pressures throughout:

    A_d (p_boost (1 - s) - p_spring_side) + side * A_v * lever * (p_exhaust - p_back) = F0 + k x

with s the share of boost led to the spring side, side +1 where exhaust pushes the valve open and -1
where it pushes it shut. Friction, the area of the stem and pulses are left out: a real gate opens
over a band of a few kPa around the figure. The spring's label is not the boost.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import pi
from typing import Any

from spoolwright.sums.alternatives import one_of
from spoolwright.sums.boost_springs import (
    CAUTION,
    DIAPHRAGM_INPUTS,
    EXHAUST_INPUTS,
    LEVER_RATIO,
    PRELOAD_FOUND,
    SIGNAL_INPUTS,
    SPRING_INPUTS,
    VALVE_DIAMETER,
    Diaphragm,
    Exhaust,
    Signal,
    Spring,
    spring_force,
)
from spoolwright.sums.registry import Input, Output, register

CRACK_OUTPUTS = {
    "preload_found": PRELOAD_FOUND,
    "cracking_boost": Output("pressure_gauge", "kPa", "boost at which it cracks, exhaust counted", ("psi", "bar")),
    "cracking_boost_without_exhaust": Output("pressure_gauge", "kPa", "if exhaust pressure is ignored", ("psi", "bar")),
    "boost_taken_off": Output("pressure_difference", "kPa", "what exhaust takes off the spring's figure", ("psi",)),
}
_GATE_INPUTS = {**DIAPHRAGM_INPUTS, "valve_diameter": VALVE_DIAMETER, **EXHAUST_INPUTS, **SIGNAL_INPUTS}
_BALANCE = "force balance; standard textbook relation"


def opening_boost(force: float, diaphragm: float, valve: float, exhaust: Exhaust, signal: Signal) -> float:
    """Boost [Pa gauge] that balances the spring ``force`` [N]; the areas ``diaphragm`` and ``valve`` in m2.

    ``valve`` is the valve's area times the lever ratio. Exhaust that is not given does not press.
    Raises ValueError when boost can never open the valve.
    """
    side = 1.0 if exhaust.exhaust_pushes == "open" else -1.0
    if not 0.0 <= signal.spring_side_share <= 1.0:
        raise ValueError("spring_side_share is 0 to 100 %")
    per_boost = diaphragm * (1.0 - signal.spring_side_share) + side * valve * (exhaust.exhaust_ratio or 0.0)
    if per_boost <= 0.0:
        raise ValueError("rising boost never opens this gate: what pushes it shut grows as fast as what opens it")
    pressed = (exhaust.exhaust_pressure or 0.0) - exhaust.back_pressure
    steady = side * valve * pressed - diaphragm * signal.spring_side_pressure
    return (force - steady) / per_boost


def _cracking(
    force: float, diaphragm: float, valve: float, exhaust: Exhaust, signal: Signal
) -> dict[str, float | None]:
    ratio, fixed = exhaust.exhaust_ratio, exhaust.exhaust_pressure
    if ratio is not None and fixed is not None:
        raise ValueError("exhaust_ratio and exhaust_pressure say the same thing; give only one of them")
    without = opening_boost(force, diaphragm, 0.0, exhaust, signal)
    boost = None
    if ratio is not None or fixed is not None:
        boost = opening_boost(force, diaphragm, valve, exhaust, signal)
    return {
        "preload_found": force,
        "cracking_boost": boost,
        "cracking_boost_without_exhaust": without,
        "boost_taken_off": None if boost is None else without - boost,
    }


def _crack_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    boost, without = results["cracking_boost"], results["cracking_boost_without_exhaust"]
    if boost is None:
        return [
            "exhaust pressure is not given, so only the figure without it can be told; exhaust under the valve "
            "opens it earlier: give exhaust_ratio (1 to 2 is usual) or exhaust_pressure"
        ]
    if boost <= 0.0:
        return [
            "the exhaust pressure alone holds the gate open: no boost is needed, none is held; check its sign and unit"
        ]
    if boost < 0.75 * without:
        return [
            f"exhaust takes {100 * (1 - boost / without):.0f} % off the spring's figure: the label is not the "
            f"boost you get"
        ]
    return []


# ----------------------------------------------------------------------------- cracking
@register(
    "boost",
    "Cracking boost of an external wastegate, with and without exhaust force",
    inputs={
        **SPRING_INPUTS,
        **_GATE_INPUTS,
    },
    outputs=CRACK_OUTPUTS,
    formula="""
    preload_found = spring_rate * (free_length - installed_length + shim)
    cracking_boost = preload_found / (diaphragm area * (1 - spring_side_share) + exhaust_ratio * valve area)
    cracking_boost_without_exhaust = preload_found / diaphragm area
    """,
    source=_BALANCE,
    validity="gauge pressures; stem area, friction and pulses left out; the gate leaves its seat, full flow comes "
    "later",
    slips=("spring label taken as boost", "exhaust force forgotten", "diaphragm's outer instead of effective diameter"),
    question=_crack_question,
    caution=CAUTION,
    example='--spring-rate "9.8 N/mm" --free-length "58 mm" --installed-length "41 mm" --diaphragm-diameter "62 mm" '
    '--valve-diameter "38 mm" --exhaust-ratio 1.4',
)
def wastegate_crack(
    spring: Spring, diaphragm: Diaphragm, valve_diameter: float, exhaust: Exhaust, signal: Signal
) -> dict[str, float | None]:
    """Boost [Pa gauge] at which the gate cracks."""
    area = diaphragm.area()
    force = spring_force(spring, area)
    return _cracking(force, area, pi / 4.0 * valve_diameter**2, exhaust, signal)


@register(
    "boost",
    "Cracking boost of a flap with lever and actuator (internal wastegate)",
    inputs={
        **SPRING_INPUTS,
        **DIAPHRAGM_INPUTS,
        "flap_diameter": Input(
            "length", "diameter of the hole under the flap", "10 mm", "60 mm", sheet="wastegate.valve_diameter"
        ),
        "flap_arm": Input(
            "length", "from the lever's pivot to the middle of the flap", "5 mm", "60 mm", sheet="wastegate.lever_valve"
        ),
        "rod_arm": Input(
            "length", "from the lever's pivot to the actuator rod", "5 mm", "80 mm", sheet="wastegate.lever_diaphragm"
        ),
        **EXHAUST_INPUTS,
        **SIGNAL_INPUTS,
    },
    outputs={
        **CRACK_OUTPUTS,
        "lever_ratio": Output("number", "1", "flap arm over rod arm: what a newton on the flap is worth at the rod"),
        "exhaust_force_at_rod": Output("force", "N", "exhaust force on the flap, at the rod, when it cracks", ("lbf",)),
    },
    formula="""
    lever_ratio = flap_arm / rod_arm
    cracking_boost = preload_found / (area * (1 - spring_side_share) + exhaust_ratio * flap area * lever_ratio)
    cracking_boost_without_exhaust = preload_found / diaphragm area
    """,
    source="balance of moments about the lever's pivot; standard textbook relation",
    validity="rod square to the lever; friction and pulses left out",
    slips=("lever forgotten", "lever ratio upside down", "spring label taken as boost"),
    question=_crack_question,
    caution=CAUTION,
    example='--label "7 psi" --diaphragm-diameter "50 mm" --flap-diameter "28 mm" --flap-arm "20 mm" --rod-arm "32 mm" '
    "--exhaust-ratio 1.5",
)
def flap_crack(
    spring: Spring,
    diaphragm: Diaphragm,
    flap_diameter: float,
    flap_arm: float,
    rod_arm: float,
    exhaust: Exhaust,
    signal: Signal,
) -> dict[str, float | None]:
    """Boost [Pa gauge] at which the flap leaves its seat."""
    area = diaphragm.area()
    force = spring_force(spring, area)
    lever = flap_arm / rod_arm
    valve = pi / 4.0 * flap_diameter**2 * lever
    found = _cracking(force, area, valve, exhaust, signal)
    boost = found["cracking_boost"]
    gas = None
    if boost is not None:
        fixed = exhaust.exhaust_pressure
        gauge = fixed if fixed is not None else boost * (exhaust.exhaust_ratio or 0.0)
        gas = valve * (gauge - exhaust.back_pressure)
    return {**found, "lever_ratio": lever, "exhaust_force_at_rod": gas}


@register(
    "boost",
    "Boost that opens the wastegate to a given lift",
    inputs={
        **SPRING_INPUTS,
        "rate_open": Input(
            "stiffness", "rate of the spring where the preload is given by itself", "0.5 N/mm", "80 N/mm", ""
        ),
        "lift": Input("length", "lift of the valve, or travel of the rod", "0 mm", "30 mm"),
        **_GATE_INPUTS,
    },
    outputs={
        "opening_boost": Output("pressure_gauge", "kPa", "boost that holds it at this lift", ("psi", "bar")),
        "cracking_boost": Output("pressure_gauge", "kPa", "boost at which it leaves its seat", ("psi", "bar")),
        "boost_rise": Output("pressure_difference", "kPa", "from cracking to this lift", ("psi",)),
        "spring_force": Output("force", "N", "force of the spring at this lift"),
    },
    formula="""
    spring_force = preload + spring rate * lift
    opening_boost = spring_force / (diaphragm area + exhaust_ratio * valve area)
    """,
    source=_BALANCE,
    validity="the exhaust presses on the open valve as on the shut one; in truth less",
    caution=CAUTION,
    example='--preload "197.92 N" --rate-open "8 N/mm" --lift "6 mm" --diaphragm-diameter "60 mm" '
    '--valve-diameter "28 mm" '
    "--exhaust-ratio 0",
)
def wastegate_lift(
    spring: Spring,
    rate_open: float | None,
    lift: float,
    diaphragm: Diaphragm,
    valve_diameter: float,
    exhaust: Exhaust,
    signal: Signal,
) -> dict[str, float]:
    """Boost [Pa gauge] at a lift [m] of the valve."""
    area = diaphragm.area()
    force = spring_force(spring, area)
    rate = spring.spring_rate if spring.spring_rate is not None else rate_open
    if rate is None:
        raise ValueError("give rate_open, or spring_rate with both lengths")
    one_of(exhaust_ratio=exhaust.exhaust_ratio, exhaust_pressure=exhaust.exhaust_pressure)
    rest = (area, pi / 4.0 * valve_diameter**2, exhaust, signal)
    crack = opening_boost(force, *rest)
    held = opening_boost(force + rate * lift, *rest)
    return {
        "opening_boost": held,
        "cracking_boost": crack,
        "boost_rise": held - crack,
        "spring_force": force + rate * lift,
    }


@register(
    "boost",
    "Spring, shim or label for a wanted cracking boost",
    inputs={
        "target": Input("pressure_gauge", "boost at which the gate shall crack", "2 psi", "45 psi"),
        **DIAPHRAGM_INPUTS,
        "valve_diameter": VALVE_DIAMETER,
        "lever_ratio": LEVER_RATIO,
        **EXHAUST_INPUTS,
        **SIGNAL_INPUTS,
        "spring_rate": Input("stiffness", "rate of the spring, for its lengths", "0.5 N/mm", "80 N/mm", ""),
        "free_length": Input("length", "free length of the spring", "10 mm", "200 mm", ""),
        "installed_length": Input("length", "installed length now, for the shim", "5 mm", "150 mm", ""),
    },
    outputs={
        "preload": Output("force", "N", "spring force needed with the gate shut", ("lbf",)),
        "label": Output("pressure_gauge", "kPa", "what the spring's label would say", ("psi", "bar")),
        "compression": Output("length", "mm", "how far this spring must be compressed"),
        "length_needed": Output("length", "mm", "installed length that gives it"),
        "shim_to_add": Output("length", "mm", "shim to add to the present length (negative: take out)", ("thou",)),
    },
    formula="""
    preload = target * (diaphragm area * (1 - spring_side_share) + exhaust_ratio * valve area * lever_ratio)
    label = preload / diaphragm area
    compression = preload / spring_rate
    length_needed = free_length - compression
    shim_to_add = installed_length - length_needed
    """,
    source=_BALANCE,
    slips=("a spring bought by its label: exhaust force makes the boost lower",),
    question=lambda given, results: (
        [
            "the spring would have to be compressed to less than a third of its length; check for coil bind, take "
            "a stiffer one"
        ]
        if results["length_needed"] is not None and results["length_needed"] < given["free_length"] / 3.0
        else []
    ),
    caution=CAUTION,
    example='--target "8 psi" --diaphragm-diameter "62 mm" --valve-diameter "38 mm" --exhaust-ratio 1.4 '
    '--spring-rate "9.8 N/mm" --free-length "58 mm" --installed-length "41 mm"',
)
def wastegate_spring(
    target: float,
    diaphragm: Diaphragm,
    valve_diameter: float,
    lever_ratio: float,
    exhaust: Exhaust,
    signal: Signal,
    spring_rate: float | None,
    free_length: float | None,
    installed_length: float | None,
) -> dict[str, float | None]:
    """Preload [N] and lengths [m] for a cracking boost ``target`` [Pa gauge]."""
    area = diaphragm.area()
    one_of(exhaust_ratio=exhaust.exhaust_ratio, exhaust_pressure=exhaust.exhaust_pressure)
    rest = (area, pi / 4.0 * valve_diameter**2 * lever_ratio, exhaust, signal)
    # The balance is linear in the force: boost = start + slope * force.
    start = opening_boost(0.0, *rest)
    force = (target - start) / (opening_boost(1.0, *rest) - start)
    if force <= 0.0:
        raise ValueError("no spring holds the gate shut up to this boost: the pressures alone open it earlier")
    compression = None if spring_rate is None else force / spring_rate
    length = None if compression is None or free_length is None else free_length - compression
    if length is not None and length <= 0.0:
        raise ValueError("this spring cannot give that force: a stiffer or longer one is needed")
    return {
        "preload": force,
        "label": force / area,
        "compression": compression,
        "length_needed": length,
        "shim_to_add": None if length is None or installed_length is None else installed_length - length,
    }
