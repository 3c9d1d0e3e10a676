"""Sums of the blueprint: volumes, compression ratio, squish, gaps, clearances, bolts."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums.registry import Input, Output, register

BORE = Input("length", "cylinder bore", "30 mm", "160 mm", sheet="cylinders.bore")
STROKE = Input("length", "piston stroke", "25 mm", "200 mm", sheet="cylinders.stroke")


@register(
    "blueprint",
    "Swept volume of a cylinder and of the engine",
    inputs={
        "bore": BORE,
        "stroke": STROKE,
        "cylinders": Input("count", "number of cylinders", "1", "16", default="1", sheet="cylinders.count"),
    },
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
    """Volumes [m3] from bore [m], stroke [m] and the number of cylinders."""
    one = math.pi / 4.0 * bore**2 * stroke
    return {"swept_volume": one, "displacement": cylinders * one}


def _ratio_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    ratio = results["compression_ratio"]
    if not 5.0 <= ratio <= 16.0:
        return [f"a ratio of {ratio:.2f}:1 is unusual; check the sign of the dish and the unit of the deck"]
    return []


@register(
    "blueprint",
    "Compression ratio from measured parts",
    inputs={
        "bore": BORE,
        "stroke": STROKE,
        "chamber": Input("volume", "chamber in the head, plug in", "8 cc", "200 cc", sheet="cylinders.chamber"),
        "dish": Input(
            "volume", "hollow in the crown (+) or dome (-)", "-60 cc", "80 cc", "0 cc", sheet="cylinders.dish"
        ),
        "deck": Input("length", "piston flat below the barrel top (+) or proud (-)", "-3 mm", "6 mm", "0 mm"),
        "gasket_thickness": Input("length", "head gasket, crushed", "0 mm", "5 mm", "0 mm"),
        "gasket_bore": Input("length", "bore of the gasket; the cylinder bore when not given", "30 mm", "170 mm", ""),
        "crevice": Input("volume", "top land and other crevices", "0 cc", "5 cc", "0 cc"),
    },
    outputs={
        "swept_volume": Output("volume", "cc", "swept volume"),
        "deck_volume": Output("volume", "cc", "volume of the deck gap"),
        "gasket_volume": Output("volume", "cc", "volume inside the gasket"),
        "clearance_volume": Output("volume", "cc", "all volume above the piston at TDC"),
        "compression_ratio": Output("ratio", ":1", "static compression ratio"),
    },
    formula="""
    swept_volume = pi/4 * bore^2 * stroke
    deck_volume = pi/4 * bore^2 * deck
    gasket_volume = pi/4 * gasket_bore^2 * gasket_thickness
    clearance_volume = chamber + dish + deck_volume + gasket_volume + crevice
    compression_ratio = (swept_volume + clearance_volume) / clearance_volume
    """,
    source="plain geometry",
    slips=("dish left out or with the wrong sign", "gasket bore taken as cylinder bore", "deck in thou read as mm"),
    question=_ratio_question,
    example='--bore "92.5 mm" --stroke "80 mm" --chamber "56.5 cc" --dish "6.2 cc" --deck "45 thou"',
)
def compression_ratio(
    bore: float,
    stroke: float,
    chamber: float,
    dish: float,
    deck: float,
    gasket_thickness: float,
    gasket_bore: float | None,
    crevice: float,
) -> dict[str, float]:
    """Volumes [m3] and the ratio [1]; lengths [m]. Raises ValueError when no clearance is left."""
    swept = swept_volume(bore, stroke, 1.0)["swept_volume"]
    deck_volume = math.pi / 4.0 * bore**2 * deck
    gasket = math.pi / 4.0 * (gasket_bore or bore) ** 2 * gasket_thickness
    clearance = chamber + dish + deck_volume + gasket + crevice
    if clearance <= 0.0:
        raise ValueError("no clearance volume is left above the piston")
    return {
        "swept_volume": swept,
        "deck_volume": deck_volume,
        "gasket_volume": gasket,
        "clearance_volume": clearance,
        "compression_ratio": (swept + clearance) / clearance,
    }
