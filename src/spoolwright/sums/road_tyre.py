"""The tyre of the road sums: free diameter and rolling circumference, stated in any of five ways. Plain geometry."""

from __future__ import annotations

import math
import re
from typing import NamedTuple

from spoolwright.sums.alternatives import one_of
from spoolwright.sums.registry import Input, Output, register
from spoolwright.units import to_si

TYRE = {
    "marking": Input("text", 'tyre marking, for example "195/65R15"', default="", unit="195/65R15"),
    "width": Input("length", "section width, with aspect and rim; or give marking", "100 mm", "400 mm", ""),
    "aspect": Input("share", "height over width", "20 %", "100 %", ""),
    "rim": Input("length", "rim diameter", "8 in", "24 in", ""),
    "diameter": Input("length", "free diameter as measured; or give marking", "300 mm", "1200 mm", ""),
    "rolling_circumference": Input("length", "measured over a turn under load; or give marking", "0.9 m", "3.8 m", ""),
    "rolling_share": Input("share", "rolling over free circumference", "92 %", "100 %", "96.5 %"),
}


class Tyre(NamedTuple):
    """A tyre as stated, lengths in m; None where another way of stating it is used."""

    marking: str | None
    width: float | None
    aspect: float | None
    rim: float | None
    diameter: float | None
    rolling_circumference: float | None
    rolling_share: float


_MARKING = re.compile(
    r"(?i)\s*(?:P|LT)?\s*(\d{3})\s*/\s*(\d{2,3})\s*[- ]?\s*Z?[RDB]?F?\s*[- ]?\s*(\d{1,2}(?:\.\d)?)\b.*"
)
_INCHES = re.compile(r"(?i)\s*(\d{2}(?:\.\d+)?)\s*x\s*\d{1,2}(?:\.\d+)?\s*-?\s*R?\s*\d{1,2}\b.*")
_NO_ASPECT = re.compile(r"(?i)\s*(\d{3})\s*[- ]?\s*S?R\s*[- ]?\s*(\d{1,2})\b.*")


def free_diameter_of(marking: str) -> float:
    """Free diameter [m] of a tyre marking; "155SR13" counts as 80 %, "26x8.5-15" as inches."""
    found = _MARKING.fullmatch(marking)
    if found:
        return to_si(float(found[3]), "length", "in") + 2.0 * float(found[1]) / 1000.0 * float(found[2]) / 100.0
    found = _NO_ASPECT.fullmatch(marking)
    if found:
        return to_si(float(found[2]), "length", "in") + 2.0 * float(found[1]) / 1000.0 * 0.80
    found = _INCHES.fullmatch(marking)
    if found:
        return to_si(float(found[1]), "length", "in")
    raise ValueError(f'"{marking}" is no tyre marking read here; write "195/65R15", or give width, aspect and rim')


def free_and_rolling(tyre: Tyre) -> tuple[float, float]:
    """Free diameter [m] and rolling circumference [m] from whichever way the tyre is stated."""
    one_of(
        marking=tyre.marking,
        width=tyre.width,
        diameter=tyre.diameter,
        rolling_circumference=tyre.rolling_circumference,
    )
    if tyre.rolling_share <= 0.0:
        raise ValueError("the rolling share must be above zero")
    if tyre.rolling_circumference is not None:
        return tyre.rolling_circumference / (math.pi * tyre.rolling_share), tyre.rolling_circumference
    if tyre.marking is not None:
        free = free_diameter_of(tyre.marking)
    elif tyre.diameter is not None:
        free = tyre.diameter
    else:
        if tyre.width is None or tyre.aspect is None or tyre.rim is None:
            raise ValueError("width needs aspect and rim beside it")
        free = tyre.rim + 2.0 * tyre.width * tyre.aspect
    if free <= 0.0:
        raise ValueError("the tyre must have a size above zero")
    return free, math.pi * free * tyre.rolling_share


@register(
    "road",
    "Tyre: diameter and rolling circumference from the marking",
    inputs=TYRE,
    outputs={
        "free_diameter": Output("length", "mm", "diameter without load", ("in",)),
        "rolling_circumference": Output("length", "m", "way of one turn", ("in",)),
        "rolling_radius": Output("length", "mm", "circumference over 2 pi"),
        "turns_per_distance": Output("number", "1", "turns for each kilometre"),
    },
    formula="""
    free_diameter = rim + 2 * width * aspect
    rolling_circumference = pi * free_diameter * rolling_share
    """,
    source="plain geometry; 96 to 97 % rolling for radial tyres is common practice, no source",
    slips=("free circumference taken as rolling", "growth with speed left out: drag tyres grow by several per cent"),
    example='--marking "195/65R15"',
)
def tyre_size(tyre: Tyre) -> dict[str, float]:
    """Free diameter and rolling circumference [m] of a tyre."""
    free, rolling = free_and_rolling(tyre)
    return {
        "free_diameter": free,
        "rolling_circumference": rolling,
        "rolling_radius": rolling / (2.0 * math.pi),
        "turns_per_distance": 1000.0 / rolling,
    }
