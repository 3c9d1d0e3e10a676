"""Sums on running clearances: from sizes, cold to hot by materials, and brought to another temperature."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.sums import materials
from spoolwright.sums.measures import BORE, JOURNAL, REFERENCE_TEMPERATURE, expansion
from spoolwright.sums.registry import Input, Output, register

INNER = Input("length", "diameter of the inner part: journal, pin, piston", "5 mm", "170 mm")
CLEARANCE = Input(
    "length", "clearance on the diameter, interference negative", "-0.2 mm", "0.5 mm", "", condition="measured_at"
)


def _hot_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    hot, cold = results["clearance_hot"], results["clearance_cold"]
    if hot <= 0.0 < cold:
        return [f"the clearance is gone hot ({hot * 1e3:.3f} mm): the part would seize"]
    if cold > 0.0 and hot > 2.5 * cold:
        return ["the clearance grows more than two and a half times: oil pressure falls hot; check the materials"]
    return []


@register(
    "blueprint",
    "Clearance cold to hot, by materials",
    inputs={
        "inner_diameter": INNER,
        "clearance": CLEARANCE,
        "outer_diameter": Input("length", "bore of the outer part, instead of the clearance", "5 mm", "170 mm", ""),
        "outer": expansion("the outer part: case, barrel, rod eye"),
        "inner": expansion("the inner part: journal, piston, pin"),
        "outer_temperature": Input("temperature", "outer part, hot", "-30 degC", "350 degC"),
        "inner_temperature": Input("temperature", "inner part, hot", "-30 degC", "400 degC"),
        "measured_at": REFERENCE_TEMPERATURE,
    },
    outputs={
        "clearance_cold": Output("length", "mm", "clearance as measured", ("thou",)),
        "change": Output("length", "mm", "opens (+) or closes (-)", ("thou",)),
        "clearance_hot": Output("length", "mm", "clearance hot", ("thou",)),
    },
    formula="""
    change = D*outer*(outer_temperature - measured_at) - inner_diameter*inner*(inner_temperature - measured_at)
    clearance_hot = clearance_cold + change
    with D = inner_diameter + clearance_cold
    """,
    source="linear thermal expansion; standard textbook relation. " + materials.EXPANSION_SOURCE,
    validity=(
        "Each part at one temperature and free to grow. Steel shells in a light-alloy case follow the case while "
        "their crush holds. Pistons are fitted at the skirt's gauge line; cam and taper stay outside this sum."
    ),
    slips=("radial clearance for diametral: a factor of two", "clearance noted without its temperature"),
    question=_hot_question,
    example=(
        '--inner-diameter "55 mm" --clearance "0.051 mm @ 20 degC" --outer "magnesium" --inner "steel" '
        '--outer-temperature "110 degC" --inner-temperature "120 degC"'
    ),
)
def clearance_hot(
    inner_diameter: float,
    clearance: float | None,
    outer_diameter: float | None,
    outer: float,
    inner: float,
    outer_temperature: float,
    inner_temperature: float,
    measured_at: float,
) -> dict[str, float]:
    """Lengths [m], temperatures [K]. Raises ValueError unless exactly one of clearance and outer_diameter is given."""
    if (clearance is None) == (outer_diameter is None):
        raise ValueError("give clearance or outer_diameter, exactly one of them")
    if clearance is None:
        assert outer_diameter is not None
        clearance = outer_diameter - inner_diameter
    change = (inner_diameter + clearance) * outer * (outer_temperature - measured_at) - inner_diameter * inner * (
        inner_temperature - measured_at
    )
    return {"clearance_cold": clearance, "change": change, "clearance_hot": clearance + change}


@register(
    "blueprint",
    "Clearance brought to 20 degC, or to another temperature",
    inputs={
        "inner_diameter": INNER,
        "clearance": replace(CLEARANCE, default=None),
        "outer": expansion("the outer part"),
        "inner": expansion("the inner part"),
        "measured_at": replace(REFERENCE_TEMPERATURE, default=None),
        "wanted_at": replace(REFERENCE_TEMPERATURE, meaning="temperature it is wanted at"),
    },
    outputs={
        "change": Output("length", "mm", "opens (+) or closes (-)", ("thou",)),
        "clearance_there": Output("length", "mm", "clearance at the temperature wanted", ("thou",)),
    },
    formula="""
    change = ((inner_diameter + clearance)*outer - inner_diameter*inner) * (wanted_at - measured_at)
    clearance_there = clearance + change
    """,
    source="linear thermal expansion; standard textbook relation. " + materials.EXPANSION_SOURCE,
    validity="Both parts at the same temperature when measured.",
    slips=("one part fresh from the wash and the other cold",),
    example=(
        '--inner-diameter "92.4 mm" --clearance "0.085 mm @ 31 degC" --outer "cast iron" --inner "piston alloy 2618"'
    ),
)
def clearance_at_temperature(
    inner_diameter: float, clearance: float, outer: float, inner: float, measured_at: float, wanted_at: float
) -> dict[str, float]:
    """Lengths [m], temperatures [K]."""
    there = clearance_hot(inner_diameter, clearance, None, outer, inner, wanted_at, wanted_at, measured_at)
    return {"change": there["change"], "clearance_there": there["clearance_hot"]}


@register(
    "blueprint",
    "A length at another temperature",
    inputs={
        "length": Input("length", "length or diameter", "1 mm", "1 m", condition="measured_at"),
        "material": expansion("the part"),
        "temperature": Input("temperature", "temperature asked for", "-50 degC", "900 degC"),
        "measured_at": REFERENCE_TEMPERATURE,
    },
    outputs={
        "growth": Output("length", "mm", "grows (+) or shrinks (-)", ("thou",)),
        "length_there": Output("length", "mm", "length at that temperature", ("in",)),
    },
    formula="""
    growth = length * material * (temperature - measured_at)
    length_there = length + growth
    """,
    source="linear thermal expansion; standard textbook relation. " + materials.EXPANSION_SOURCE,
    example='--length "92.5 mm" --material "cast iron" --temperature "150 degC"',
)
def length_at_temperature(length: float, material: float, temperature: float, measured_at: float) -> dict[str, float]:
    """Lengths [m]."""
    growth = length * material * (temperature - measured_at)
    return {"growth": growth, "length_there": length + growth}


@register(
    "blueprint",
    "Bearing clearance from the sizes of seat, shells and journal",
    inputs={
        "seat": Input("length", "bore of the seat without shells, bolts tight", "20 mm", "120 mm"),
        "shell": Input("length", "wall of one shell at its middle; 0 without shells", "0 mm", "6 mm", "0 mm"),
        "journal": JOURNAL,
    },
    outputs={
        "clearance": Output("length", "mm", "oil clearance on the diameter", ("thou",)),
        "per_journal": Output("ratio", "1", "clearance over journal; 0.001 is the usual rule"),
    },
    formula="""
    clearance = seat - 2*shell - journal
    per_journal = clearance / journal
    """,
    source="plain geometry; 0.001 of the journal is common practice, no source",
    slips=("one shell taken off instead of two",),
    question=lambda given, results: (
        [f"{results['clearance'] * 1e3:.3f} mm is no clearance a bearing runs with; check the three sizes"]
        if not 0.0 < results["per_journal"] < 0.004
        else []
    ),
    example='--seat "58.700 mm" --shell "1.822 mm" --journal "55.000 mm"',
)
def bearing_clearance(seat: float, shell: float, journal: float) -> dict[str, float]:
    """Clearance [m] and its ratio to the journal."""
    clearance = seat - 2.0 * shell - journal
    return {"clearance": clearance, "per_journal": clearance / journal}


@register(
    "blueprint",
    "Piston clearance of each cylinder, taper and roundness of the bores",
    inputs={
        "bore_across": replace(BORE, many=True, meaning="bore across the pin at each height, top first"),
        "bore_along": replace(BORE, many=True, meaning="bore along the pin at the same heights", default="", sheet=""),
        "piston": Input("length", "piston at its gauge line", "30 mm", "160 mm", ""),
    },
    outputs={
        "mean_bore": Output("length", "mm", "mean of all readings", ("in",)),
        "taper": Output("length", "mm", "widest less narrowest across the pin", ("thou",)),
        "out_of_round": Output("length", "mm", "greatest difference of the two directions at one height", ("thou",)),
        "least_clearance": Output("length", "mm", "narrowest reading less piston", ("thou",)),
    },
    formula="""
    taper = max(bore_across) - min(bore_across)
    out_of_round = max(abs(bore_across - bore_along))
    least_clearance = min(bore_across, bore_along) - piston
    """,
    source="definition",
    example='--bore-across "92.51; 92.50; 92.50 mm" --bore-along "92.52; 92.51; 92.50 mm" --piston "92.43 mm"',
)
def bore_shape(
    bore_across: list[float], bore_along: list[float] | None, piston: float | None
) -> dict[str, float | None]:
    """Lengths [m]. Raises ValueError when the two directions have different numbers of heights."""
    if bore_along is not None and len(bore_along) != len(bore_across):
        raise ValueError("bore_across and bore_along need the same heights")
    everything = [*bore_across, *(bore_along or [])]
    return {
        "mean_bore": sum(everything) / len(everything),
        "taper": max(bore_across) - min(bore_across),
        "out_of_round": None
        if bore_along is None
        else max(abs(a - b) for a, b in zip(bore_across, bore_along, strict=True)),
        "least_clearance": None if piston is None else min(everything) - piston,
    }
