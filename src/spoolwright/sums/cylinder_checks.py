"""Sums on readings: repeat of a burette, dish by filling, deck with a bridge, leak-down, compression test, weights."""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums.measures import BORE
from spoolwright.sums.registry import Input, Output, register


def _repeat_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    asked = []
    if results["range"] > 1.0e-6:
        asked.append(
            f"the readings differ by {results['range'] * 1e6:.2f} cc; a careful hand repeats within about 1 cc"
        )
    if len(given["readings"]) < 3:
        asked.append("two readings tell little about the repeat; measure three times")
    return asked


@register(
    "blueprint",
    "Burette repeat: mean and spread of volumes measured again",
    inputs={"readings": Input("volume", "the volumes read", "1 cc", "500 cc", many=True)},
    outputs={
        "mean": Output("volume", "cc", "mean of the readings"),
        "range": Output("volume", "cc", "largest less smallest"),
        "standard_deviation": Output("volume", "cc", "of one reading"),
        "uncertainty": Output("volume", "cc", "of the mean, one standard error"),
    },
    formula="""
    standard_deviation = sqrt(sum((reading - mean)^2) / (n - 1))
    uncertainty = standard_deviation / sqrt(n)
    """,
    source="JCGM 100:2008 (GUM), type A evaluation; about 1 cc repeat is seen in public writing",
    question=_repeat_question,
    example='--readings "56.3; 56.7; 56.5 cc"',
)
def burette_repeat(readings: list[float]) -> dict[str, float]:
    """Volumes [m3]. Raises ValueError for a single reading."""
    if len(readings) < 2:
        raise ValueError("a repeat needs at least two readings")
    deviation = statistics.stdev(readings)
    return {
        "mean": statistics.fmean(readings),
        "range": max(readings) - min(readings),
        "standard_deviation": deviation,
        "uncertainty": deviation / math.sqrt(len(readings)),
    }


@register(
    "blueprint",
    "Dish or dome by filling the bore above the lowered piston",
    inputs={
        "bore": BORE,
        "depth": Input("length", "piston flat set below the barrel top", "1 mm", "60 mm"),
        "filled": Input("volume", "volume filled under the plate", "1 cc", "500 cc"),
        "land_volume": Input("volume", "crevice above the sealed ring", "0 cc", "5 cc", "0 cc"),
    },
    outputs={
        "cylinder_volume": Output("volume", "cc", "plain cylinder of that depth"),
        "dish": Output("volume", "cc", "hollow (+) or dome (-)"),
    },
    formula="""
    cylinder_volume = pi/4 * bore^2 * depth
    dish = filled - cylinder_volume - land_volume
    """,
    source="plain geometry; the filling method is common practice",
    slips=("depth measured to the dome's top instead of the flat",),
    example='--bore "92.5 mm" --depth "10 mm" --filled "73.4 cc"',
)
def dish_from_fill(bore: float, depth: float, filled: float, land_volume: float) -> dict[str, float]:
    """Volumes [m3]."""
    plain = math.pi / 4.0 * bore**2 * depth
    return {"cylinder_volume": plain, "dish": filled - plain - land_volume}


@register(
    "blueprint",
    "Deck from bridge and depth readings",
    inputs={
        "readings": Input("length", "depths through the bridge, across the piston", "0 mm", "100 mm", many=True),
        "bridge": Input("length", "height of the bridge", "0 mm", "90 mm", "0 mm"),
    },
    outputs={
        "deck": Output("length", "mm", "mean: piston flat below the barrel top (+) or proud (-)", ("thou",)),
        "rock": Output("length", "mm", "greatest difference of the readings: rock or tilt", ("thou",)),
    },
    formula="""
    deck = mean(readings) - bridge
    rock = max(readings) - min(readings)
    """,
    source="plain geometry",
    slips=("readings on one side only: the piston rocks on its pin", "TDC found by eye"),
    question=lambda given, results: (
        [f"the readings differ by {results['rock'] * 1e3:.2f} mm; read both ends of the pin line and take the mean"]
        if results["rock"] > 0.1e-3
        else []
    ),
    example='--readings "26.12; 26.18 mm" --bridge "25.00 mm"',
)
def deck_from_bridge(readings: list[float], bridge: float) -> dict[str, float]:
    """Lengths [m]."""
    return {"deck": statistics.fmean(readings) - bridge, "rock": max(readings) - min(readings)}


@register(
    "blueprint",
    "Port volume and mean section",
    inputs={
        "filled": Input("volume", "volume filled, valve closed", "5 cc", "500 cc"),
        "length": Input("length", "length along the port's middle", "20 mm", "300 mm"),
        "face_area": Input("area", "section at the port's face", "1 cm2", "40 cm2", ""),
    },
    outputs={
        "mean_area": Output("area", "cm2", "volume over length", ("in2", "mm2")),
        "mean_diameter": Output("length", "mm", "round port of that section", ("in",)),
        "over_face": Output("ratio", "1", "mean section over the face's"),
    },
    formula="""
    mean_area = filled / length
    mean_diameter = sqrt(4*mean_area/pi)
    over_face = mean_area / face_area
    """,
    source="plain geometry",
    example='--filled "128 cc" --length "105 mm"',
)
def port_volume(filled: float, length: float, face_area: float | None) -> dict[str, float | None]:
    """Area [m2], length [m], ratio [1] or None."""
    area = filled / length
    return {
        "mean_area": area,
        "mean_diameter": math.sqrt(4.0 * area / math.pi),
        "over_face": None if face_area is None else area / face_area,
    }


def _leak_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    worst = results["worst"]
    if worst >= 0.20:
        return [f"{worst:.0%} leaks from cylinder {results['worst_cylinder']:.0f}: open it (common practice: 20 %)"]
    if worst >= 0.08:
        return [f"{worst:.0%} leaks from cylinder {results['worst_cylinder']:.0f}: listen where; under 5 % is tight"]
    return []


@register(
    "blueprint",
    "Leak-down: share lost from each cylinder",
    inputs={
        "supply": Input("pressure_gauge", "pressure before the restrictor", "1 bar", "10 bar"),
        "held": Input("pressure_gauge", "pressure the cylinder holds after it", "0 bar", "10 bar", many=True),
    },
    outputs={
        "leak": Output("share", "%", "share lost, each cylinder"),
        "worst": Output("share", "%", "the largest"),
        "worst_cylinder": Output("count", "1", "the cylinder it belongs to"),
        "spread": Output("share", "%", "largest less smallest"),
    },
    formula="leak = (supply - held) / supply",
    source="common practice, no source: under 5 % tight, 8 to 10 % ask why, 20 % open it",
    validity="Hangs on the restrictor: compare only readings with the same tool, engine at the same heat.",
    slips=("held pressure read before it settles",),
    question=_leak_question,
    caution="Lock the crank: the air turns it.",
    example='--supply "100 psi" --held "96; 95; 97; 96 psi"',
)
def leak_down(supply: float, held: list[float]) -> dict[str, Any]:
    """Shares [1] from gauge pressures [Pa]. Raises ValueError when more is held than supplied."""
    if supply <= 0.0 or max(held) > supply:
        raise ValueError("a cylinder cannot hold more than the supply")
    leak = [(supply - h) / supply for h in held]
    return {
        "leak": leak,
        "worst": max(leak),
        "worst_cylinder": float(leak.index(max(leak)) + 1),
        "spread": max(leak) - min(leak),
    }


@register(
    "blueprint",
    "Compression test: each cylinder against the best",
    inputs={"readings": Input("pressure_gauge", "cranking pressure of each cylinder", "2 bar", "20 bar", many=True)},
    outputs={
        "shortfall": Output("share", "%", "below the best, each cylinder"),
        "worst": Output("share", "%", "the largest"),
        "worst_cylinder": Output("count", "1", "the cylinder it belongs to"),
    },
    formula="shortfall = (max(readings) - readings) / max(readings)",
    source="common practice, no source: all within 10 to 25 % of the best",
    question=lambda given, results: (
        [f"cylinder {results['worst_cylinder']:.0f} is {results['worst']:.0%} below the best; do a leak-down"]
        if results["worst"] > 0.10
        else []
    ),
    example='--readings "9.8; 10.1; 9.9; 9.6 bar"',
)
def compression_test(readings: list[float]) -> dict[str, Any]:
    """Shares [1] from gauge pressures [Pa]."""
    best = max(readings)
    short = [(best - r) / best for r in readings]
    return {"shortfall": short, "worst": max(short), "worst_cylinder": float(short.index(max(short)) + 1)}


@register(
    "blueprint",
    "Weights made alike: what to take off each part",
    inputs={"masses": Input("mass", "pistons, rods or pins, each", "5 g", "5 kg", many=True)},
    outputs={
        "lightest": Output("mass", "g", "the lightest", ("oz",)),
        "spread": Output("mass", "g", "heaviest less lightest", ("oz",)),
        "to_remove": Output("mass", "g", "to take off each to match it"),
    },
    formula="to_remove = masses - lightest",
    source="definition",
    example='--masses "412.6; 411.9; 413.4; 412.2 g"',
)
def match_masses(masses: list[float]) -> dict[str, Any]:
    """Masses [kg]."""
    light = min(masses)
    return {"lightest": light, "spread": max(masses) - light, "to_remove": [m - light for m in masses]}
