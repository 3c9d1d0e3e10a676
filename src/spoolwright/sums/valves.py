"""Sums of the valve gear: distance to the piston, springs, seat force under boost, float, lift, lash, timing.

Angles of lift tables are crank degrees from the top dead centre of the gas exchange, negative before it.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums import valve_springs, valve_timing  # noqa: F401  these register sums of this topic
from spoolwright.sums.measures import PIN_OFFSET, ROD_LENGTH, STROKE
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.slider_crank import piston_travel

LIFT_CURVE = Input(
    "curve",
    "lift by crank degrees from TDC of the gas exchange, negative before",
    curve=("angle", "length"),
    sheet="valves.intake.lift_table:angle,lift",
)
DROP = Input(
    "length",
    "valve pushed down at TDC until it touches the piston",
    "0.5 mm",
    "25 mm",
    sheet="valves.intake.drop",
)
LEAN = Input("angle", "valve stem from the cylinder's axis", "0 deg", "50 deg", "0 deg")
STEP = 0.25  # deg; the gap is searched on this grid and at every point of the table


def lift_at(curve: Sequence[tuple[float, float]], angle: float) -> float:
    """Lift at an angle [deg], straight between the points of the table; ValueError outside it."""
    if not curve[0][0] <= angle <= curve[-1][0]:
        raise ValueError(f"the lift table does not reach {angle:g} deg")
    n = min(bisect_right([x for x, _ in curve], angle), len(curve) - 1)
    (x0, y0), (x1, y1) = curve[n - 1], curve[n]
    return y0 + (y1 - y0) * (angle - x0) / (x1 - x0)


def _least(
    curve: Sequence[tuple[float, float]], shift: float, drop: float, lash: float, travel: Mapping[float, float]
) -> tuple[float, float]:
    """Least gap [m] and its crank angle [deg] with the cam ``shift`` degrees early."""
    gaps = [
        (drop + down - max(lift_at(curve, angle + shift) - lash, 0.0), angle)
        for angle, down in travel.items()
        if curve[0][0] <= angle + shift <= curve[-1][0]
    ]
    if not gaps:
        raise ValueError("the lift table is shorter than the cam shift")
    return min(gaps)


def _approach_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    least = min(results["least_gap"], results["advanced_gap"], results["retarded_gap"])
    rule = {"intake": 2.03e-3, "exhaust": 2.54e-3}[given["valve"]]
    asked = []
    if least <= 0.0:
        asked.append(f"the valve meets the piston by {-least * 1e3:.2f} mm: do not turn this engine")
    elif least < rule:
        asked.append(
            f"{least * 1e3:.2f} mm is less than the {rule * 1e3:.2f} mm usual for the {given['valve']} valve"
            " (common practice)"
        )
    ends = (given["lift"][0][0], given["lift"][-1][0])
    shift = given["cam_shift"]
    for key, moved in (("at_angle", 0.0), ("advanced_angle", shift), ("retarded_angle", -shift)):
        if any(abs(results[key] + moved - end) < STEP for end in ends):
            asked.append(f"the least gap ({key}) lies at the end of the lift table; measure lift further from TDC")
    return asked


@register(
    "valves",
    "Valve to piston: the least gap and where, with the cam moved both ways",
    inputs={
        "lift": LIFT_CURVE,
        "drop": DROP,
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "lean": LEAN,
        "cam_shift": Input("angle", "cam moved by so many crank degrees, both ways", "0 deg", "15 deg", "5 deg"),
        "lash": Input(
            "length", "lash taken off the table's lift; 0 if measured at the valve", "0 mm", "0.8 mm", "0 mm"
        ),
        "allowance": Input("length", "taken off for stretch and growth at speed", "0 mm", "1 mm", "0 mm"),
        "pin_offset": PIN_OFFSET,
        "valve": Input(
            "choice", "which valve, for the usual least gap", choices=("intake", "exhaust"), default="intake"
        ),
    },
    outputs={
        "gap_at_tdc": Output("length", "mm", "gap at TDC along the stem", ("thou", "in")),
        "least_gap": Output("length", "mm", "least gap, cam as timed", ("thou", "in")),
        "at_angle": Output("angle", "deg", "crank angle after TDC where it is"),
        "advanced_gap": Output("length", "mm", "least gap, cam early by cam_shift", ("thou", "in")),
        "advanced_angle": Output("angle", "deg", "where"),
        "retarded_gap": Output("length", "mm", "least gap, cam late by cam_shift", ("thou", "in")),
        "retarded_angle": Output("angle", "deg", "where"),
    },
    formula="""
    gap(a) = drop + travel(a)*cos(lean) - (lift(a + shift) - lash) - allowance
    least_gap = min over a of gap(a), shift = 0
    advanced_gap = min over a of gap(a), shift = cam_shift
    retarded_gap = min over a of gap(a), shift = -cam_shift
    with travel(a) the exact slider-crank
    """,
    source=(
        "plain geometry with the exact slider-crank; 0.080 in intake, 0.100 in exhaust and 0.050 in at the side are "
        "common practice, no source"
    ),
    validity=(
        "Pocket parallel to the valve head; the piston comes down travel*cos(lean) along the stem. Lift is straight "
        "between points: give it every 5 degrees or closer. The gap at the valve's side is not worked out here."
    ),
    slips=(
        "looked at TDC only: the least gap lies 5 to 15 degrees after it (intake) or before it (exhaust)",
        "lift at the cam where lift at the valve is needed: use rocker_lift",
    ),
    question=_approach_question,
    caution="A valve that touches bends and drops. Prove the gap with clay or a dial gauge before the first start.",
    example=(
        '--lift "-20 deg: 0.6 mm; -10 deg: 1.1 mm; 0 deg: 1.8 mm; 10 deg: 2.7 mm; 20 deg: 3.7 mm; 30 deg: 4.9 mm; '
        '40 deg: 6.0 mm" --drop "4.6 mm" --stroke "80 mm" --rod-length "137 mm" --lean "12 deg"'
    ),
)
def valve_to_piston(
    lift: list[tuple[float, float]],
    drop: float,
    stroke: float,
    rod_length: float,
    lean: float,
    cam_shift: float,
    lash: float,
    allowance: float,
    pin_offset: float,
    valve: str,
) -> dict[str, float]:
    """Gaps [m] along the stem and crank angles [deg]. Raises ValueError when the table does not reach."""
    if lean >= 90.0 or lean < 0.0:
        raise ValueError("the lean is an angle from 0 to below 90 deg")
    start, end = lift[0][0] - abs(cam_shift), lift[-1][0] + abs(cam_shift)
    grid = {start + STEP * n for n in range(int((end - start) / STEP) + 1)} | {0.0}
    grid |= {x + s for x, _ in lift for s in (0.0, cam_shift, -cam_shift)}
    slope = math.cos(math.radians(lean))
    travel = {a: piston_travel(a, stroke / 2.0, rod_length, pin_offset) * slope for a in sorted(grid)}
    room = drop - allowance
    plain, early, late = (_least(lift, s, room, lash, travel) for s in (0.0, cam_shift, -cam_shift))
    return {
        "gap_at_tdc": room - max(lift_at(lift, 0.0) - lash, 0.0),
        "least_gap": plain[0],
        "at_angle": plain[1],
        "advanced_gap": early[0],
        "advanced_angle": early[1],
        "retarded_gap": late[0],
        "retarded_angle": late[1],
    }


@register(
    "valves",
    "Valve to piston at one crank angle",
    inputs={
        "lift": Input("length", "lift at that angle", "0 mm", "20 mm"),
        "angle": Input("angle", "crank degrees after TDC, before it negative", "-60 deg", "60 deg", reference="ATDC"),
        "drop": DROP,
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "lean": LEAN,
        "pin_offset": PIN_OFFSET,
    },
    outputs={
        "piston_down": Output("length", "mm", "piston away along the stem", ("thou",)),
        "gap": Output("length", "mm", "gap along the stem", ("thou", "in")),
    },
    formula="""
    piston_down = travel(angle) * cos(lean)
    gap = drop + piston_down - lift
    """,
    source="plain geometry with the exact slider-crank",
    validity="Pocket parallel to the valve head.",
    question=lambda given, results: ["the valve meets the piston"] if results["gap"] <= 0.0 else [],
    example='--lift "2.7 mm" --angle "10 deg ATDC" --drop "4.6 mm" --stroke "80 mm" --rod-length "137 mm"',
)
def valve_gap_at_angle(
    lift: float, angle: float, drop: float, stroke: float, rod_length: float, lean: float, pin_offset: float
) -> dict[str, float]:
    """Lengths [m]; angles [deg]."""
    down = piston_travel(angle, stroke / 2.0, rod_length, pin_offset) * math.cos(math.radians(lean))
    return {"piston_down": down, "gap": drop + down - lift}
