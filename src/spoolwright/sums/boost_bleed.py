"""Sums of the bleed: a restrictor and a leak in the signal line that raise the boost above the spring.

Two orifices in series, compressible, same coefficient: what comes through the restrictor leaves
through the bleed. Steady; a solenoid that opens part of the time acts like its mean area.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import pi, sqrt
from typing import Any

from spoolwright.constants import GAMMA_AIR
from spoolwright.sums.air_orifices import flow_function
from spoolwright.sums.air_pressures import OUTSIDE_INPUTS, Outside
from spoolwright.sums.registry import Input, Output, register

RESTRICTOR = Input("length", "hole of the restrictor between boost and gate", "0.3 mm", "4 mm")
SIGNAL = Input("pressure_gauge", "pressure at which the gate cracks (spring, exhaust force counted)", "2 psi", "40 psi")
CAUTION = "a blocked restrictor or an open bleed takes the signal away: boost then runs to what the turbo can make"
_SOURCE = "isentropic orifices in series; standard textbook relation"


def _through(before: float, behind: float) -> float:
    """Flow per area and root of temperature [Pa]: pressure before times the flow function."""
    return before * flow_function(behind / before, GAMMA_AIR)


def _bleed_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    gain = results["boost_gain"]
    if gain > 1.5:
        return [f"boost {gain:.1f} times the spring's: the gate hardly sees it any more, small changes swing it widely"]
    return []


@register(
    "boost",
    "Boost reached with a bleed in the signal line",
    inputs={
        "cracking_pressure": SIGNAL,
        "restrictor": RESTRICTOR,
        "bleed": Input("length", "hole of the bleed to outside air", "0.1 mm", "4 mm"),
        **OUTSIDE_INPUTS,
    },
    outputs={
        "boost": Output("pressure_gauge", "kPa", "boost at which the gate cracks now", ("psi", "bar")),
        "boost_gain": Output("ratio", "1", "boost over the spring's cracking pressure"),
        "signal_share": Output("share", "%", "signal at the gate over boost"),
        "square_law_boost": Output("pressure_gauge", "kPa", "by the incompressible rule", ("psi",)),
    },
    formula="""
    square_law_boost = cracking_pressure * (1 + (bleed / restrictor)^4)
    """,
    source=_SOURCE,
    validity="equal discharge coefficients; no flow into the gate itself (a leaking diaphragm is a second bleed)",
    slips=("bleed and restrictor swapped", "areas and diameters mixed: the diameter counts with its fourth power"),
    question=_bleed_question,
    caution=CAUTION,
    example='--cracking-pressure "7 psi" --restrictor "1.5 mm" --bleed "1.2 mm" --barometer "98 kPa"',
)
def bleed_boost(cracking_pressure: float, restrictor: float, bleed: float, outside: Outside) -> dict[str, float]:
    """Boost [Pa gauge] that gives the gate its cracking pressure behind restrictor and bleed."""
    p_outside = outside.pressure()
    if cracking_pressure <= 0.0 or restrictor <= 0.0:
        raise ValueError("cracking_pressure and restrictor must be above zero")
    signal = p_outside + cracking_pressure
    leaves = (bleed / restrictor) ** 2 * _through(signal, p_outside)
    low, high = signal, 50.0 * signal
    if _through(high, signal) < leaves:
        raise ValueError("the bleed is so large that no boost opens the gate")
    while high - low > 1e-9 * high:
        middle = 0.5 * (low + high)
        if _through(middle, signal) < leaves:
            low = middle
        else:
            high = middle
    boost = 0.5 * (low + high) - p_outside
    return {
        "boost": boost,
        "boost_gain": boost / cracking_pressure,
        "signal_share": cracking_pressure / boost,
        "square_law_boost": cracking_pressure * (1.0 + (bleed / restrictor) ** 4),
    }


@register(
    "boost",
    "Bleed hole for a wanted boost",
    inputs={
        "cracking_pressure": SIGNAL,
        "target": Input("pressure_gauge", "boost wanted", "3 psi", "45 psi"),
        "restrictor": RESTRICTOR,
        **OUTSIDE_INPUTS,
    },
    outputs={
        "bleed": Output("length", "mm", "hole of the bleed", ("in", "thou")),
        "bleed_area": Output("area", "mm2", "its area"),
        "signal_share": Output("share", "%", "signal at the gate over boost"),
    },
    formula="bleed = restrictor * sqrt(flow through restrictor / flow through bleed, each for the same hole)",
    source=_SOURCE,
    validity="equal discharge coefficients; start smaller than this and open up",
    caution=CAUTION,
    example='--cracking-pressure "7 psi" --target "11 psi" --restrictor "1.5 mm" --barometer "98 kPa"',
)
def bleed_size(cracking_pressure: float, target: float, restrictor: float, outside: Outside) -> dict[str, float]:
    """Diameter [m] of the bleed for a boost ``target`` [Pa gauge]."""
    p_outside = outside.pressure()
    if target <= cracking_pressure or cracking_pressure <= 0.0:
        raise ValueError("a bleed only raises boost: the target must be above the cracking pressure")
    signal = p_outside + cracking_pressure
    area_ratio = _through(p_outside + target, signal) / _through(signal, p_outside)
    hole = restrictor * sqrt(area_ratio)
    return {"bleed": hole, "bleed_area": pi / 4.0 * hole**2, "signal_share": cracking_pressure / target}
