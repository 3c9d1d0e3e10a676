"""Sums of the blueprint: volumes and compression ratio from measured parts, per cylinder and for a target.

Plain geometry: nothing here knows of pressure or heat. Sums on squish, rings, clearances, bolts and
checks of readings stand in modules of their own and belong to the same topic.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from spoolwright.sums import (  # noqa: F401  these register sums of this topic
    bolts,
    clearances,
    cylinder_checks,
    fits,
    ratios,
    rings,
    squish,
)
from spoolwright.sums.measures import (
    BORE,
    CHAMBER,
    CREVICE,
    CYLINDERS,
    DECK,
    DISH,
    GASKET_BORE,
    GASKET_THICKNESS,
    RATIO,
    STROKE,
    TARGET_RATIO,
    for_each,
)
from spoolwright.sums.registry import Input, Output, register

_PARTS = {
    "bore": BORE,
    "stroke": STROKE,
    "chamber": CHAMBER,
    "dish": DISH,
    "deck": DECK,
    "gasket_thickness": GASKET_THICKNESS,
    "gasket_bore": GASKET_BORE,
    "crevice": CREVICE,
}
_TARGET_INPUTS = {**_PARTS, "target_ratio": TARGET_RATIO}
_RATIO_NOW = Output("ratio", ":1", "ratio as it stands")
_CLEARANCE_NEEDED = Output("volume", "cc", "clearance volume for the ratio wanted")
_SQUISH = Output("length", "mm", "deck and gasket with it, cold", ("thou",))
_PARTS_EXAMPLE = '--bore "92.5 mm" --stroke "80 mm" --chamber "56.5 cc" --dish "6.2 cc" --deck "45 thou"'


class Parts(NamedTuple):
    """What was measured of one cylinder: lengths [m], volumes [m3]; the gasket's bore is the cylinder's when None."""

    bore: float
    stroke: float
    chamber: float
    dish: float
    deck: float
    gasket_thickness: float
    gasket_bore: float | None
    crevice: float

    def bore_area(self) -> float:
        """Area of the bore [m2]."""
        return math.pi / 4.0 * self.bore**2

    def gasket_area(self) -> float:
        """Area inside the gasket [m2]."""
        return math.pi / 4.0 * (self.gasket_bore or self.bore) ** 2


@register(
    "blueprint",
    "Swept volume of a cylinder and of the engine",
    inputs={"bore": BORE, "stroke": STROKE, "cylinders": CYLINDERS},
    outputs={
        "swept_volume": Output("volume", "cc", "swept volume of one cylinder", ("in3",)),
        "displacement": Output("volume", "cc", "swept volume of all cylinders", ("L", "in3")),
    },
    formula="""
    swept_volume = pi/4 * bore^2 * stroke
    displacement = cylinders * swept_volume
    """,
    source="plain geometry",
    slips=("bore in inches with the unit left at mm",),
    example='--bore "92.5 mm" --stroke "80 mm" --cylinders 4',
)
def swept_volume(bore: float, stroke: float, cylinders: float) -> dict[str, float]:
    """Volumes [m3] from bore [m], stroke [m] and the number of cylinders. Raises ValueError below zero."""
    if bore <= 0.0 or stroke <= 0.0 or cylinders < 1.0:
        raise ValueError("bore, stroke and the number of cylinders must be above zero")
    one = math.pi / 4.0 * bore**2 * stroke
    return {"swept_volume": one, "displacement": cylinders * one}


def _odd_ratio(ratio: float, where: str = "") -> list[str]:
    if 5.0 <= ratio <= 16.0:
        return []
    return [f"{where}a ratio of {ratio:.2f}:1 is unusual; check the sign of the dish and the unit of the deck"]


def _ratio_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    asked = _odd_ratio(results["compression_ratio"])
    gasket_bore = given["gasket_bore"]
    if gasket_bore is not None and gasket_bore < given["bore"]:
        asked.append("the gasket's bore is smaller than the cylinder's: the piston or the flame meets its edge")
    return asked + _crown_question(given["dish"])


def _crown_question(dish: float) -> list[str]:
    if dish == 0.0:
        return ["the dish is 0 cc: is the crown really flat, without valve pockets?"]
    if dish < 0.0:
        return [f"{dish * 1e6:.2f} cc is a dome, which takes from the clearance; a hollow crown is written with plus"]
    return []


@register(
    "blueprint",
    "Compression ratio from measured parts",
    inputs={
        **_PARTS,
        "spacer": Input("length", "spacer added under the barrel (+) or metal cut off it (-)", "-4 mm", "6 mm", "0 mm"),
    },
    outputs={
        "swept_volume": Output("volume", "cc", "swept volume", ("in3",)),
        "deck_volume": Output("volume", "cc", "volume of the deck gap, with the spacer"),
        "gasket_volume": Output("volume", "cc", "volume inside the gasket"),
        "clearance_volume": Output("volume", "cc", "all volume above the piston at TDC"),
        "compression_ratio": Output("ratio", ":1", "static compression ratio"),
    },
    formula="""
    swept_volume = pi/4 * bore^2 * stroke
    deck_volume = pi/4 * bore^2 * (deck + spacer)
    gasket_volume = pi/4 * gasket_bore^2 * gasket_thickness
    clearance_volume = chamber + dish + deck_volume + gasket_volume + crevice
    compression_ratio = (swept_volume + clearance_volume) / clearance_volume
    """,
    source="plain geometry",
    slips=("dish left out or with the wrong sign", "gasket bore taken as cylinder bore", "deck in thou read as mm"),
    question=_ratio_question,
    example=_PARTS_EXAMPLE,
)
def compression_ratio(parts: Parts, spacer: float = 0.0) -> dict[str, float]:
    """Volumes [m3] and the ratio [1]; lengths [m]. Raises ValueError when no clearance is left."""
    swept = swept_volume(parts.bore, parts.stroke, 1.0)["swept_volume"]
    deck_volume = parts.bore_area() * (parts.deck + spacer)
    gasket = parts.gasket_area() * parts.gasket_thickness
    clearance = parts.chamber + parts.dish + deck_volume + gasket + parts.crevice
    if clearance <= 0.0:
        raise ValueError("no clearance volume is left above the piston")
    return {
        "swept_volume": swept,
        "deck_volume": deck_volume,
        "gasket_volume": gasket,
        "clearance_volume": clearance,
        "compression_ratio": (swept + clearance) / clearance,
    }


def _cylinders_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    ratios = results["compression_ratio"]
    asked = [q for n, ratio in enumerate(ratios, start=1) for q in _odd_ratio(ratio, f"cylinder {n}: ")]
    asked += _crown_question(min(given["dish"]))
    if len(given["chamber"]) == 1 and len(ratios) > 1:
        asked.append("one chamber stands for all cylinders; were the others measured?")
    return asked


@register(
    "blueprint",
    "Compression ratio of each cylinder, and what makes them alike",
    inputs={**{key: replace(spec, many=True) for key, spec in _PARTS.items() if key != "stroke"}, "stroke": STROKE},
    outputs={
        "compression_ratio": Output("ratio", ":1", "static ratio of each cylinder"),
        "clearance_volume": Output("volume", "cc", "all volume above each piston at TDC"),
        "highest": Output("ratio", ":1", "the highest ratio; it decides the knock margin"),
        "lowest": Output("ratio", ":1", "the lowest ratio"),
        "spread": Output("ratio", "1", "highest minus lowest"),
        "ruling_cylinder": Output("count", "1", "the cylinder with the highest ratio"),
        "metal_to_remove": Output("volume", "cc", "to open each chamber until all have the lowest ratio"),
        "volume_to_fill": Output("volume", "cc", "to take from each chamber until all have the highest ratio"),
    },
    formula="""
    clearance_volume = chamber + dish + pi/4*bore^2*deck + pi/4*gasket_bore^2*gasket_thickness + crevice
    compression_ratio = (pi/4*bore^2*stroke + clearance_volume) / clearance_volume
    spread = highest - lowest
    metal_to_remove = pi/4*bore^2*stroke/(lowest - 1) - clearance_volume
    volume_to_fill = clearance_volume - pi/4*bore^2*stroke/(highest - 1)
    """,
    source="plain geometry",
    validity="Where all bores are alike, metal_to_remove is the largest clearance volume less the cylinder's own.",
    slips=("one chamber measured, four assumed", "the mean ratio taken for the knock margin"),
    question=_cylinders_question,
    example=(
        '--bore "92.5 mm" --stroke "80 mm" --dish "6.2 cc" --chamber "55.8; 56.9; 57.4; 56.1 cc" '
        '--deck "1.10; 1.15; 1.12; 1.18 mm"'
    ),
)
def compression_ratio_of_cylinders(
    bore: list[float],
    stroke: float,
    chamber: list[float],
    dish: list[float],
    deck: list[float],
    gasket_thickness: list[float],
    gasket_bore: list[float] | None,
    crevice: list[float],
) -> dict[str, Any]:
    """Ratios [1] and volumes [m3] by cylinder; each list has one value for all or one for each."""
    gasket_bore = gasket_bore or bore
    measured = {
        "bore": bore,
        "chamber": chamber,
        "dish": dish,
        "deck": deck,
        "gasket_thickness": gasket_thickness,
        "gasket_bore": gasket_bore,
        "crevice": crevice,
    }
    count = max(len(values) for values in measured.values())
    rows = {name: for_each(values, count, name) for name, values in measured.items()}
    each = [compression_ratio(Parts(stroke=stroke, **{name: rows[name][n] for name in rows})) for n in range(count)]
    ratio = [one["compression_ratio"] for one in each]
    clearance = [one["clearance_volume"] for one in each]
    high, low = max(ratio), min(ratio)
    swept = [one["swept_volume"] for one in each]
    return {
        "compression_ratio": ratio,
        "clearance_volume": clearance,
        "highest": high,
        "lowest": low,
        "spread": high - low,
        "ruling_cylinder": float(ratio.index(high) + 1),
        "metal_to_remove": [s / (low - 1.0) - c for s, c in zip(swept, clearance, strict=True)],
        "volume_to_fill": [c - s / (high - 1.0) for s, c in zip(swept, clearance, strict=True)],
    }


def _target_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    asked = _odd_ratio(results["compression_ratio"]) + _crown_question(given["dish"])
    if results["squish"] <= 0.0:
        asked.append(f"the flats would meet by {-results['squish'] * 1e3:.2f} mm: this target needs a dish or chamber")
    elif results["squish"] > 2.0e-3:
        asked.append(
            f"the squish gap becomes {results['squish'] * 1e3:.2f} mm, which gives its good away; lower the ratio with "
            "dish or chamber before opening the deck (common practice)"
        )
    return asked


@register(
    "blueprint",
    "Spacer under the barrel, or metal to cut, for a ratio wanted",
    inputs=_TARGET_INPUTS,
    outputs={
        "compression_ratio": _RATIO_NOW,
        "clearance_needed": _CLEARANCE_NEEDED,
        "spacer": Output("length", "mm", "spacer to add (+) or metal to cut off barrel or case (-)", ("thou",)),
        "deck_after": Output("length", "mm", "deck with it", ("thou",)),
        "squish": _SQUISH,
    },
    formula="""
    clearance_needed = pi/4*bore^2*stroke / (target_ratio - 1)
    spacer = (clearance_needed - clearance_volume) / (pi/4*bore^2)
    deck_after = deck + spacer
    squish = deck_after + gasket_thickness
    """,
    source="plain geometry",
    validity="A flat ring of the cylinder's bore. Skimming the head itself: head_skim_for_ratio.",
    slips=("dish left out or with the wrong sign", "a cut read as a spacer: negative means metal to take off"),
    question=_target_question,
    example=_PARTS_EXAMPLE + " --target-ratio 8.3",
)
def spacer_for_ratio(parts: Parts, target_ratio: float) -> dict[str, float]:
    """Lengths [m], volume [m3], ratio [1]. Raises ValueError for a target of 1 or less."""
    now = compression_ratio(parts)
    needed = ratios.clearance_for_ratio(now["swept_volume"], target_ratio)["clearance_volume"]
    spacer = (needed - now["clearance_volume"]) / parts.bore_area()
    return {
        "compression_ratio": now["compression_ratio"],
        "clearance_needed": needed,
        "spacer": spacer,
        "deck_after": parts.deck + spacer,
        "squish": parts.deck + spacer + parts.gasket_thickness,
    }


def _chamber_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["chamber_needed"] <= 0.0:
        return ["no chamber is small enough for this ratio with these parts; a dome or less deck is needed"]
    return _crown_question(given["dish"])


@register(
    "blueprint",
    "Chamber, or dish, for a ratio wanted",
    inputs=_TARGET_INPUTS,
    outputs={
        "compression_ratio": _RATIO_NOW,
        "clearance_needed": _CLEARANCE_NEEDED,
        "volume_change": Output("volume", "cc", "clearance to add (+) or to take (-)"),
        "chamber_needed": Output("volume", "cc", "chamber that gives it, all else kept"),
        "dish_needed": Output("volume", "cc", "dish (+) or dome (-) that gives it instead, all else kept"),
    },
    formula="""
    clearance_needed = pi/4*bore^2*stroke / (target_ratio - 1)
    volume_change = clearance_needed - clearance_volume
    chamber_needed = chamber + volume_change
    dish_needed = dish + volume_change
    """,
    source="plain geometry",
    slips=("a chamber opened for the mean of the cylinders instead of each",),
    question=_chamber_question,
    example=_PARTS_EXAMPLE + " --target-ratio 7.8",
)
def chamber_for_ratio(parts: Parts, target_ratio: float) -> dict[str, float]:
    """Volumes [m3] and the present ratio [1]."""
    now = compression_ratio(parts)
    needed = ratios.clearance_for_ratio(now["swept_volume"], target_ratio)["clearance_volume"]
    change = needed - now["clearance_volume"]
    return {
        "compression_ratio": now["compression_ratio"],
        "clearance_needed": needed,
        "volume_change": change,
        "chamber_needed": parts.chamber + change,
        "dish_needed": parts.dish + change,
    }


@register(
    "blueprint",
    "Head gasket thickness for a ratio wanted",
    inputs={k: v for k, v in _TARGET_INPUTS.items() if k != "gasket_thickness"},
    outputs={
        "gasket_thickness": Output("length", "mm", "crushed thickness that gives it", ("thou",)),
        "squish": _SQUISH,
    },
    formula="""
    gasket_thickness = (Vc - chamber - dish - pi/4*bore^2*deck - crevice) / (pi/4*gasket_bore^2)
    squish = deck + gasket_thickness
    with Vc = pi/4*bore^2*stroke/(target_ratio - 1)
    """,
    source="plain geometry",
    slips=("gasket bore taken as cylinder bore", "free thickness taken for the crushed one"),
    example=(
        '--bore "86 mm" --stroke "86 mm" --chamber "48 cc" --dish "8 cc" --gasket-bore "87.5 mm" --target-ratio 8.9'
    ),
)
def gasket_for_ratio(
    bore: float,
    stroke: float,
    chamber: float,
    dish: float,
    deck: float,
    gasket_bore: float | None,
    crevice: float,
    target_ratio: float,
) -> dict[str, float]:
    """Lengths [m]. Raises ValueError when the parts alone have more clearance than the target allows."""
    parts = Parts(bore, stroke, chamber, dish, deck, 0.0, gasket_bore, crevice)
    bare = compression_ratio(parts)
    needed = ratios.clearance_for_ratio(bare["swept_volume"], target_ratio)["clearance_volume"]
    thickness = (needed - bare["clearance_volume"]) / parts.gasket_area()
    if thickness < 0.0:
        raise ValueError(f"without any gasket the ratio is {bare['compression_ratio']:.2f}:1 already, below the target")
    return {"gasket_thickness": thickness, "squish": deck + thickness}


@register(
    "blueprint",
    "Skim off the head for a ratio wanted",
    inputs={
        "bore": BORE,
        "stroke": STROKE,
        "clearance_volume": Input("volume", "all volume above the piston at TDC now", "10 cc", "300 cc"),
        "face_area": Input("area", "opening of the chamber at the head's face", "5 cm2", "200 cm2"),
        "target_ratio": RATIO,
    },
    outputs={
        "volume_change": Output("volume", "cc", "clearance to take (+: the chamber must shrink)"),
        "skim": Output("length", "mm", "metal off the face", ("thou",)),
    },
    formula="""
    volume_change = clearance_volume - pi/4*bore^2*stroke/(target_ratio - 1)
    skim = volume_change / face_area
    """,
    source="plain geometry",
    validity="Straight chamber walls near the face; measure the chamber again after the cut.",
    slips=("the bore's area taken for the chamber's opening: the squish flats do not shrink the chamber",),
    example='--bore "86 mm" --stroke "86 mm" --clearance-volume "62 cc" --face-area "42 cm2" --target-ratio 9.5',
)
def head_skim_for_ratio(
    bore: float, stroke: float, clearance_volume: float, face_area: float, target_ratio: float
) -> dict[str, float]:
    """Metal off the face [m] and the volume it takes [m3]. Raises ValueError when the ratio is that high already."""
    swept = swept_volume(bore, stroke, 1.0)["swept_volume"]
    change = clearance_volume - ratios.clearance_for_ratio(swept, target_ratio)["clearance_volume"]
    if change < 0.0:
        raise ValueError("the ratio is above the target already; a skim would raise it further")
    return {"volume_change": change, "skim": change / face_area}
