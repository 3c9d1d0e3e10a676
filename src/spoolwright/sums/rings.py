"""Sums on piston rings: end gap from a rule, what heat leaves of it, the gap needed, and readings gone wrong."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums import materials
from spoolwright.sums.measures import BORE, expansion
from spoolwright.sums.registry import Input, Output, register

FACTOR = Input("ratio", "gap per bore, 0.0055 meaning 0.0055 in for each inch", "0.003", "0.009")
GAP = Input("length", "end gap, cold", "0.1 mm", "1.2 mm", "")


@register(
    "blueprint",
    "Ring end gap from a factor per bore",
    inputs={
        "bore": BORE,
        "factor": FACTOR,
        "second_factor": Input("ratio", "gap per bore of the second ring", "0.003", "0.010", ""),
    },
    outputs={
        "gap": Output("length", "mm", "end gap to file", ("thou",)),
        "second_gap": Output("length", "mm", "end gap of the second ring, where its factor is given", ("thou",)),
    },
    formula="""
    gap = factor * bore
    second_gap = second_factor * bore
    """,
    source=(
        "common practice, no source: top ring 0.0040 to 0.0045 unboosted, 0.0050 to 0.0055 mild boost, 0.0065 race "
        "turbo; second 0.0060 or 1.0 to 1.25 times the top. The ring maker's figure wins"
    ),
    slips=("factor in inches on a bore in mm: it is a pure ratio", "0.055 for 0.0055"),
    example='--bore "92.5 mm" --factor 0.0055 --second-factor 0.0060',
)
def ring_gap(bore: float, factor: float, second_factor: float | None) -> dict[str, float | None]:
    """Gaps [m]; the factors are pure ratios."""
    return {"gap": factor * bore, "second_gap": None if second_factor is None else second_factor * bore}


@register(
    "blueprint",
    "Factor per bore of a measured ring gap",
    inputs={"bore": BORE, "gap": Input("length", "end gap, cold", "0.1 mm", "1.2 mm", many=True)},
    outputs={
        "factor": Output("ratio", "1", "gap per bore of each ring"),
        "least_factor": Output("ratio", "1", "the tightest of them"),
        "spread": Output("length", "mm", "widest less tightest gap", ("thou",)),
    },
    formula="factor = gap / bore",
    source="definition",
    slips=("ring crooked in the bore while measured: about 5 thou too wide",),
    question=lambda given, results: (
        [
            f"the gaps differ by {results['spread'] * 1e3:.2f} mm; was each ring square in the bore, and each reading "
            "written down right?"
        ]
        if results["spread"] > 0.1e-3
        else []
    ),
    example='--bore "92.5 mm" --gap "20; 20.5; 19.5; 21 thou"',
)
def ring_gap_factor(bore: float, gap: list[float]) -> dict[str, Any]:
    """Pure ratios and a length [m]."""
    return {"factor": [g / bore for g in gap], "least_factor": min(gap) / bore, "spread": max(gap) - min(gap)}


def _hot_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    left = results["gap_left"]
    if left <= 0.0:
        return [f"the ends butt by {-left * 1e3:.2f} mm: the ring would scuff or break its land; file it wider"]
    if left < 0.1e-3:
        return [f"only {left * 1e3:.2f} mm is left hot; one hot pull more closes it"]
    return []


@register(
    "blueprint",
    "Ring gap: what heat leaves of it",
    inputs={
        "bore": BORE,
        "gap": GAP,
        "factor": Input("ratio", "gap per bore, instead of the gap", "0.003", "0.009", ""),
        "ring_rise": Input("temperature_difference", "ring above the bench", "0 K", "350 K"),
        "bore_rise": Input("temperature_difference", "bore above the bench", "0 K", "250 K", "0 K"),
        "ring": expansion("the ring", "11.5e-6 1/K"),
        "barrel": expansion("the barrel"),
    },
    outputs={
        "gap_cold": Output("length", "mm", "end gap, cold", ("thou",)),
        "closing": Output("length", "mm", "gap closed by heat", ("thou",)),
        "gap_left": Output("length", "mm", "gap left hot", ("thou",)),
        "share_left": Output("share", "%", "of the cold gap"),
    },
    formula="""
    closing = pi * bore * (ring*ring_rise - barrel*bore_rise)
    gap_left = gap_cold - closing
    """,
    source="thermal expansion; standard textbook relation. " + materials.EXPANSION_SOURCE,
    validity="Rises are counted from the temperature of measuring. Ring free in its groove, bore round.",
    slips=("degrees of difference in F taken for K", "bore's own growth left out"),
    question=_hot_question,
    caution="Rings that butt seize the piston. A gap a little wide costs nearly nothing.",
    example=(
        '--bore "92.5 mm" --factor 0.0055 --ring-rise "180 K" --bore-rise "130 K" --ring "11.5e-6 1/K" '
        '--barrel "11.0e-6 1/K"'
    ),
)
def ring_gap_hot(
    bore: float, gap: float | None, factor: float | None, ring_rise: float, bore_rise: float, ring: float, barrel: float
) -> dict[str, float]:
    """Lengths [m] and a share. Raises ValueError unless exactly one of gap and factor is given."""
    if (gap is None) == (factor is None):
        raise ValueError("give gap or factor, exactly one of them")
    if gap is None:
        assert factor is not None
        cold = factor * bore
    else:
        cold = gap
    closing = math.pi * bore * (ring * ring_rise - barrel * bore_rise)
    return {"gap_cold": cold, "closing": closing, "gap_left": cold - closing, "share_left": (cold - closing) / cold}


@register(
    "blueprint",
    "Ring gap needed for a heat, with a margin left",
    inputs={
        "bore": BORE,
        "ring_rise": Input("temperature_difference", "ring above the bench, at worst", "0 K", "350 K"),
        "bore_rise": Input("temperature_difference", "bore above the bench at the same moment", "0 K", "250 K", "0 K"),
        "margin": Input("length", "gap to be left hot", "0 mm", "0.5 mm", "0.15 mm"),
        "ring": expansion("the ring", "11.5e-6 1/K"),
        "barrel": expansion("the barrel"),
    },
    outputs={
        "gap": Output("length", "mm", "end gap to file", ("thou",)),
        "factor": Output("ratio", "1", "that gap per bore"),
    },
    formula="""
    gap = margin + pi * bore * (ring*ring_rise - barrel*bore_rise)
    factor = gap / bore
    """,
    source="thermal expansion; standard textbook relation. " + materials.EXPANSION_SOURCE,
    validity="The worst moment is full load from a cool barrel: the ring heats in seconds, the barrel in minutes.",
    example='--bore "92.5 mm" --ring-rise "220 K" --bore-rise "100 K" --barrel "cast iron"',
)
def ring_gap_needed(
    bore: float, ring_rise: float, bore_rise: float, margin: float, ring: float, barrel: float
) -> dict[str, float]:
    """Gap [m] and its ratio to the bore. Raises ValueError when the bore outgrows the ring and margin."""
    gap = margin + math.pi * bore * (ring * ring_rise - barrel * bore_rise)
    if gap <= 0.0:
        raise ValueError("the bore grows more than the ring: no gap is needed for this heat; try the cool barrel")
    return {"gap": gap, "factor": gap / bore}


@register(
    "blueprint",
    "How much a crooked ring reads too wide",
    inputs={
        "bore": BORE,
        "tilt": Input("length", "one side of the ring lower than the other", "0 mm", "15 mm"),
        "gap": Input("length", "gap as read", "0.1 mm", "1.2 mm", ""),
    },
    outputs={
        "error": Output("length", "mm", "reads too wide by", ("thou",)),
        "true_gap": Output("length", "mm", "gap of the ring square in the bore", ("thou",)),
    },
    formula="error = pi * tilt^2 / (4*bore)",
    source="perimeter of the slanted section of a cylinder, first order in (tilt/bore)^2",
    example='--bore "92.5 mm" --tilt "4 mm" --gap "25 thou"',
)
def ring_gap_tilt(bore: float, tilt: float, gap: float | None) -> dict[str, float | None]:
    """Lengths [m]."""
    error = math.pi * tilt**2 / (4.0 * bore)
    return {"error": error, "true_gap": None if gap is None else gap - error}


@register(
    "blueprint",
    "Bore wear from two ring gaps",
    inputs={
        "gap_top": Input("length", "gap of one ring at the top of its travel", "0.1 mm", "2 mm"),
        "gap_bottom": Input("length", "gap of the same ring low in the bore", "0.1 mm", "2 mm"),
    },
    outputs={"taper": Output("length", "mm", "bore wider at the top by", ("thou",))},
    formula="taper = (gap_top - gap_bottom) / pi",
    source="plain geometry",
    example='--gap-top "0.62 mm" --gap-bottom "0.50 mm"',
)
def bore_taper_from_gaps(gap_top: float, gap_bottom: float) -> dict[str, float]:
    """Length [m]."""
    return {"taper": (gap_top - gap_bottom) / math.pi}
