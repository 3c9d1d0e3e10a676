"""Sums on the squish gap: cold, and what is left of it at speed.

The model at speed takes four things off the cold gap, each worked out on its own and added:
1. growth of crank, rod and piston against growth of case and barrel (linear expansion, one mean temperature each);
2. stretch of the rod under the pull at TDC of the gas exchange, and of the piston's own mass only (a uniform bar);
3. play taken up by that pull in big end, pin and mains;
4. what the user allows for crank bending and piston rock.
It leaves out carbon, bending of the crown and the barrel's stretch.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.sums import materials
from spoolwright.sums.measures import (
    DECK,
    GASKET_THICKNESS,
    RECIPROCATING_MASS,
    REFERENCE_TEMPERATURE,
    ROD_LENGTH,
    SPEED,
    STROKE,
    expansion,
    modulus,
)
from spoolwright.sums.motion_loads import inertia_load
from spoolwright.sums.registry import Input, Output, register


def _cold_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    gap = results["squish"]
    if gap < 0.8e-3:
        return [f"{gap * 1e3:.2f} mm is below the 0.9 to 1.2 mm usual with steel rods; work out the gap at speed"]
    if gap > 2.0e-3:
        return [f"{gap * 1e3:.2f} mm is too wide to squish; 0.9 to 1.2 mm is usual with steel rods"]
    return []


@register(
    "blueprint",
    "Squish gap, cold",
    inputs={
        "deck": replace(DECK, default=None),
        "gasket_thickness": GASKET_THICKNESS,
        "spacer": Input(
            "length", "spacer under the barrel, where deck was measured without it", "-4 mm", "6 mm", "0 mm"
        ),
        "head_step": Input(
            "length", "squish flat stands back in the head (+) or reaches in (-)", "-5 mm", "5 mm", "0 mm"
        ),
    },
    outputs={"squish": Output("length", "mm", "piston flat to head flat at TDC, cold", ("thou",))},
    formula="squish = deck + gasket_thickness + spacer + head_step",
    source="plain geometry; 0.9 to 1.2 mm with steel rods is common practice, no source",
    slips=("free gasket thickness for the crushed one", "deck in thou read as mm"),
    question=_cold_question,
    example='--deck "0.1 mm" --gasket-thickness "1.0 mm"',
)
def squish_cold(deck: float, gasket_thickness: float, spacer: float, head_step: float) -> dict[str, float]:
    """Gap [m]."""
    return {"squish": deck + gasket_thickness + spacer + head_step}


def _speed_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    gap = results["gap_left"]
    asked = []
    if gap <= 0.0:
        asked.append(f"the piston meets the head by {-gap * 1e3:.2f} mm at this speed")
    elif gap < 0.25e-3:
        asked.append(f"{gap * 1e3:.2f} mm left is less than the model can promise; leave 0.25 mm at least")
    if given["play"] is None:
        asked.append("no play was given; big end, pin and mains together usually take up 0.05 to 0.12 mm")
    return asked


@register(
    "blueprint",
    "Squish gap at speed: growth, rod stretch and play taken off",
    inputs={
        "squish": Input("length", "squish gap, cold", "0.3 mm", "4 mm"),
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "crush_height": Input(
            "length", "pin centre to piston flat", "15 mm", "90 mm", sheet="cylinders.compression_height"
        ),
        "reciprocating_mass": RECIPROCATING_MASS,
        "speed": SPEED,
        "rod_area": Input("area", "least section of the rod's shank", "40 mm2", "1200 mm2"),
        "rod_modulus": modulus("the rod"),
        "play": Input("length", "play taken up in big end, pin, mains: each in full where the deck was "
                      "measured with the piston pressed down", "0 mm", "0.3 mm", "", many=True),
        "other_allowance": Input("length", "crank bending and piston rock", "0 mm", "0.5 mm", "0 mm"),
        "measured_at": REFERENCE_TEMPERATURE,
        "barrel_temperature": Input("temperature", "barrel and case, mean", "20 degC", "250 degC", "120 degC"),
        "crank_temperature": Input("temperature", "crank", "20 degC", "180 degC", "100 degC"),
        "rod_temperature": Input("temperature", "rod", "20 degC", "200 degC", "120 degC"),
        "piston_temperature": Input("temperature", "piston between pin and flat", "20 degC", "350 degC", "230 degC"),
        "barrel": expansion("barrel and case together (mean by length)"),
        "crank": expansion("the crank", "steel"),
        "rod": expansion("the rod", "steel"),
        "piston": expansion("the piston", "piston alloy 2618"),
    },
    outputs={
        "inside_growth": Output("length", "mm", "crank, rod and piston grow", ("thou",)),
        "outside_growth": Output("length", "mm", "case and barrel grow", ("thou",)),
        "rod_stretch": Output("length", "mm", "rod under the pull at TDC overlap", ("thou",)),
        "play_taken": Output("length", "mm", "play taken up", ("thou",)),
        "gap_left": Output("length", "mm", "squish gap at speed", ("thou",)),
    },
    formula="""
    inside_growth = crank*r*dT_crank + rod*rod_length*dT_rod + piston*crush_height*dT_piston
    outside_growth = barrel*(r + rod_length + crush_height)*dT_barrel
    rod_stretch = inertia_force*rod_length/(rod_area*rod_modulus)
    gap_left = squish - inside_growth + outside_growth - rod_stretch - play_taken - other_allowance
    with r = stroke/2, each dT from measured_at, inertia_force of inertia_load
    """,
    source="linear expansion and an elastic bar; standard textbook relations. " + materials.EXPANSION_SOURCE,
    validity=(
        "Good to about 0.1 mm: temperatures are guesses and the crank bends. A light-alloy barrel opens the gap when "
        "hot, a cast-iron one closes it; the cold start at high speed is the other case to try."
    ),
    slips=("piston weighed without pin and rings", "warm temperatures of the barrel taken for a cold start"),
    question=_speed_question,
    example=(
        '--squish "1.1 mm" --stroke "80 mm" --rod-length "137 mm" --crush-height "38 mm" --reciprocating-mass "520 g" '
        '--speed "7000 rpm" --rod-area "180 mm2" --play "0.06; 0.01; 0.05 mm" --barrel "cast iron"'
    ),
)  # fmt: skip
def squish_at_speed(
    squish: float,
    stroke: float,
    rod_length: float,
    crush_height: float,
    reciprocating_mass: float,
    speed: float,
    rod_area: float,
    rod_modulus: float,
    play: list[float] | None,
    other_allowance: float,
    measured_at: float,
    barrel_temperature: float,
    crank_temperature: float,
    rod_temperature: float,
    piston_temperature: float,
    barrel: float,
    crank: float,
    rod: float,
    piston: float,
) -> dict[str, float]:
    """Lengths [m]."""
    r = stroke / 2.0
    inside = (
        crank * r * (crank_temperature - measured_at)
        + rod * rod_length * (rod_temperature - measured_at)
        + piston * crush_height * (piston_temperature - measured_at)
    )
    outside = barrel * (r + rod_length + crush_height) * (barrel_temperature - measured_at)
    pull = inertia_load(stroke, rod_length, reciprocating_mass, speed)["inertia_force"]
    stretch = pull * rod_length / (rod_area * rod_modulus)
    taken = math.fsum(play or [0.0])
    return {
        "inside_growth": inside,
        "outside_growth": outside,
        "rod_stretch": stretch,
        "play_taken": taken,
        "gap_left": squish - inside + outside - stretch - taken - other_allowance,
    }
