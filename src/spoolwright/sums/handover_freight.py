"""Freight: what weight a carrier charges, and the crate around an engine. Plain geometry and carriers' rules."""

from __future__ import annotations

from typing import Any

from spoolwright.sums.handover_money import Money
from spoolwright.sums.registry import Input, Output, register


def _each(values: list[float], n: int, name: str) -> list[float]:
    if len(values) == n:
        return values
    if len(values) == 1:
        return values * n
    raise ValueError(f"{name} has {len(values)} values where {n} are needed: one for each parcel")


@register(
    "handover",
    "Chargeable weight: real or by volume",
    inputs={
        "length": Input("length", "outside length of each parcel", "5 cm", "600 cm", many=True),
        "width": Input("length", "outside width of each", "5 cm", "300 cm", many=True),
        "height": Input("length", "outside height of each", "5 cm", "300 cm", many=True),
        "mass": Input("mass", "gross weight of each", "0.1 kg", "3000 kg", many=True),
        "count": Input("count", "how many of each", "1", "1000", "1", many=True),
        "divisor": Input(
            "volume_per_mass",
            "volume that counts as one unit of weight",
            "1000 cm3/kg",
            "10000 cm3/kg",
            "6000 cm3/kg",
            sheet="handover.divisor",
        ),
        "price": Input("money", "price for each kilogram charged", default=""),
    },
    outputs={
        "chargeable_weight": Output("mass", "kg", "the larger one, over the whole consignment", ("lb",)),
        "volumetric_weight": Output("mass", "kg", "volume over divisor", ("lb",)),
        "gross_weight": Output("mass", "kg", "real weight", ("lb",)),
        "volume": Output("volume", "m3", "outside volume", ("ft3", "L")),
        "chargeable_each": Output("mass", "kg", "where each parcel is charged by itself"),
        "chargeable_by_parcel": Output("mass", "kg", "sum of those"),
        "freight": Output("money", "", "price times chargeable weight (where a price is given)"),
    },
    formula="""
    volumetric_weight = length * width * height / divisor
    chargeable_weight = max(gross_weight, volumetric_weight)
    """,
    source="carriers' rule; 6000 cm3/kg air, 5000 express, 3000 road, 1 m3 = 1 t sea: common practice, no source",
    slips=("inside dimensions taken", "divisor of another service"),
    question=lambda given, results: (
        ["the volume decides: would a smaller crate be cheaper?"]
        if results["volumetric_weight"] > results["gross_weight"]
        else []
    ),
    caution="Drain fuel and oil, close every opening, fix the engine at its mountings; lift by the marked points only.",
    example='--length "95 cm" --width "80 cm" --height "70 cm" --mass "118 kg"',
)
def chargeable_weight(
    length: list[float],
    width: list[float],
    height: list[float],
    mass: list[float],
    count: list[float],
    divisor: float,
    price: Money | None,
) -> dict[str, Any]:
    """Weights [kg] of a consignment from outside dimensions [m]."""
    n = max(len(length), len(width), len(height), len(mass), len(count))
    sides = [_each(v, n, name) for v, name in ((length, "length"), (width, "width"), (height, "height"))]
    masses, counts = _each(mass, n, "mass"), _each(count, n, "count")
    if divisor <= 0.0 or min(*sides[0], *sides[1], *sides[2], *masses, *counts) < 0.0:
        raise ValueError("dimensions, weights and divisor must be above zero")
    volumes = [a * b * c for a, b, c in zip(*sides, strict=True)]
    volume = sum(v * k for v, k in zip(volumes, counts, strict=True))
    gross = sum(m * k for m, k in zip(masses, counts, strict=True))
    each = [max(m, v / divisor) for m, v in zip(masses, volumes, strict=True)]
    charged = max(gross, volume / divisor)
    return {
        "chargeable_weight": charged,
        "volumetric_weight": volume / divisor,
        "gross_weight": gross,
        "volume": volume,
        "chargeable_each": each,
        "chargeable_by_parcel": sum(e * k for e, k in zip(each, counts, strict=True)),
        "freight": None if price is None else (price[0] * charged, price[1]),
    }


@register(
    "handover",
    "Crate around an engine: outside size, volume, weight",
    inputs={
        "length": Input("length", "engine length", "10 cm", "300 cm", sheet="handover.length"),
        "width": Input("length", "engine width", "10 cm", "200 cm", sheet="handover.width"),
        "height": Input("length", "engine height", "10 cm", "200 cm", sheet="handover.height"),
        "mass": Input("mass", "engine as packed, dry", "5 kg", "800 kg", sheet="handover.mass"),
        "clearance": Input("length", "room on each side", "1 cm", "15 cm", "5 cm"),
        "wall": Input("length", "board thickness", "6 mm", "40 mm", "12 mm"),
        "base_height": Input("length", "skids and pallet under it", "0 mm", "250 mm", "120 mm"),
        "board_density": Input("density", "plywood 600, pine 500", "350 kg/m3", "900 kg/m3", "600 kg/m3"),
        "extra": Input("mass", "frame, bolts, parts packed along", "0 kg", "200 kg", "10 kg"),
    },
    outputs={
        "outside_length": Output("length", "cm", "outside", ("in",)),
        "outside_width": Output("length", "cm", "outside", ("in",)),
        "outside_height": Output("length", "cm", "outside, skids counted", ("in",)),
        "volume": Output("volume", "m3", "outside volume", ("ft3",)),
        "gross_weight": Output("mass", "kg", "engine, boards and extras", ("lb",)),
        "boards": Output("mass", "kg", "boards", ("lb",)),
    },
    formula="""
    outside_length = length + 2 * (clearance + wall)
    outside_height = height + 2 * (clearance + wall) + base_height
    gross_weight = mass + boards + extra
    """,
    source="plain geometry",
    slips=("wood across borders must be heat-treated and stamped (ISPM 15)",),
    caution="Lift by the marked points only; write weight and centre of gravity on the crate.",
    example='--length "82 cm" --width "66 cm" --height "48 cm" --mass "92 kg"',
)
def crate_size(
    length: float,
    width: float,
    height: float,
    mass: float,
    clearance: float,
    wall: float,
    base_height: float,
    board_density: float,
    extra: float,
) -> dict[str, float]:
    """Outside dimensions [m], volume [m3] and weight [kg] of a crate."""
    if min(length, width, height) <= 0.0 or min(clearance, wall, base_height) < 0.0:
        raise ValueError("dimensions must be above zero")
    inside = [side + 2.0 * clearance for side in (length, width, height)]
    box = [side + 2.0 * wall for side in inside]
    shell = box[0] * box[1] * box[2] - inside[0] * inside[1] * inside[2]
    boards = shell * board_density
    tall = box[2] + base_height
    return {
        "outside_length": box[0],
        "outside_width": box[1],
        "outside_height": tall,
        "volume": box[0] * box[1] * tall,
        "gross_weight": mass + boards + extra,
        "boards": boards,
    }
