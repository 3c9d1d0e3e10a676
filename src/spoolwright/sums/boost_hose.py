"""What a wastegate does when its signal is lost: opened by exhaust alone, or never."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import pi
from typing import Any

from spoolwright.sums.boost_springs import (
    LEVER_RATIO,
    PRELOAD_FOUND,
    SPRING_INPUTS,
    VALVE_DIAMETER,
    Spring,
    spring_force,
)
from spoolwright.sums.registry import Input, Output, register


# ----------------------------------------------------------------------------- hose off
def _hose_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["exhaust_to_open"] is None:
        return ["with the hose off nothing opens this gate: boost rises to what the turbo can make"]
    boost, possible = results["boost_then"], given["boost_possible"]
    if boost is not None and possible is not None and boost > possible:
        return [
            f"the exhaust would open it only at {boost / 1e3:.0f} kPa of boost, more than the turbo makes: it "
            f"never opens"
        ]
    return [
        "with the hose off only exhaust pressure opens the gate, far above the set boost: plan what stops the "
        "engine then"
    ]


@register(
    "boost",
    "Boost hose off: what opens the wastegate then",
    inputs={
        **SPRING_INPUTS,
        "diaphragm_diameter": Input(
            "length", "effective diameter, for a label or a spring-side signal", "20 mm", "120 mm", ""
        ),
        "valve_diameter": VALVE_DIAMETER,
        "lever_ratio": LEVER_RATIO,
        "exhaust_pushes": Input(
            "choice", "which way exhaust pushes the valve", default="open", choices=("open", "shut")
        ),
        "exhaust_ratio": Input("number", "exhaust gauge pressure over boost gauge pressure", "0.3", "3", ""),
        "back_pressure": Input("pressure_gauge", "gauge pressure on the back of the valve", "0 kPa", "60 kPa", "0 kPa"),
        "spring_side_share": Input(
            "share", "share of boost still on the spring side", "0 %", "100 %", "0 %", part=True
        ),
        "boost_possible": Input("pressure_gauge", "most boost the turbo can make", "10 kPa", "400 kPa", ""),
    },
    outputs={
        "preload_found": PRELOAD_FOUND,
        "exhaust_to_open": Output(
            "pressure_gauge", "kPa", "exhaust pressure that opens it alone; none: never", ("psi", "bar")
        ),
        "boost_then": Output("pressure_gauge", "kPa", "boost by then, where the ratio is given", ("psi", "bar")),
    },
    formula="""
    exhaust_to_open = preload_found / (valve area * lever_ratio) + back_pressure
    boost_then = exhaust_to_open / exhaust_ratio
    """,
    source="force balance; standard textbook relation",
    validity="no signal on the opening side of the diaphragm",
    slips=("taken for granted that a gate fails open",),
    question=_hose_question,
    caution="a lost hose is the usual way to overboost: fit a fuel or spark cut on manifold pressure, clamp and "
    "tie the hose",
    example='--spring-rate "9.8 N/mm" --free-length "58 mm" --installed-length "41 mm" --valve-diameter "38 mm" '
    "--exhaust-ratio 1.4",
)
def boost_hose_off(
    spring: Spring,
    diaphragm_diameter: float | None,
    valve_diameter: float,
    lever_ratio: float,
    exhaust_pushes: str,
    exhaust_ratio: float | None,
    back_pressure: float,
    spring_side_share: float,
    boost_possible: float | None,
) -> dict[str, float | None]:
    """Exhaust pressure and boost [Pa gauge] at which the gate opens without its signal; None: never."""
    area = None if diaphragm_diameter is None else pi / 4.0 * diaphragm_diameter**2
    force = spring_force(spring, area)
    never: dict[str, float | None] = {"preload_found": force, "exhaust_to_open": None, "boost_then": None}
    if exhaust_pushes == "shut":
        return never
    per_exhaust = pi / 4.0 * valve_diameter**2 * lever_ratio
    against = 0.0
    if spring_side_share > 0.0:
        if area is None or exhaust_ratio is None:
            raise ValueError("a signal on the spring side needs diaphragm_diameter and exhaust_ratio beside it")
        against = spring_side_share * area / exhaust_ratio
    if per_exhaust <= against:
        return never
    exhaust = (force + per_exhaust * back_pressure) / (per_exhaust - against)
    return {
        "preload_found": force,
        "exhaust_to_open": exhaust,
        "boost_then": None if not exhaust_ratio else exhaust / exhaust_ratio,
    }
