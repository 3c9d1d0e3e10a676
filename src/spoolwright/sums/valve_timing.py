"""Sums on valve lift, lash, curtain area and cam timing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.sums import materials
from spoolwright.sums.measures import expansion
from spoolwright.sums.registry import Input, Output, register

ROCKER = Input("ratio", "rocker ratio, valve over cam side", "0.9", "2", "1")
LASH = Input("length", "lash at the valve", "0 mm", "0.8 mm", "0 mm")
DURATION = Input("angle", "open for so many crank degrees", "180 deg", "360 deg")
INTAKE_CLOSING = Input(
    "event_angle", "inlet closes, after BDC", "0 deg", "110 deg", reference="ABDC", sheet="valves.intake.closes"
)
_EVENTS = {
    "intake_opening": Input(
        "event_angle", "inlet opens, before TDC", "-40 deg", "80 deg", reference="BTDC", sheet="valves.intake.opens"
    ),
    "intake_closing": INTAKE_CLOSING,
    "exhaust_opening": Input(
        "event_angle", "exhaust opens, before BDC", "10 deg", "110 deg", reference="BBDC", sheet="valves.exhaust.opens"
    ),
    "exhaust_closing": Input(
        "event_angle", "exhaust closes, after TDC", "-40 deg", "80 deg", reference="ATDC", sheet="valves.exhaust.closes"
    ),
}


@register(
    "valves",
    "Valve lift from cam lift, rocker ratio and lash",
    inputs={
        "cam_lift": Input("length", "lift at the cam", "1 mm", "15 mm", ""),
        "valve_lift": Input("length", "lift at the valve, to find the ratio or cam lift", "1 mm", "20 mm", ""),
        "rocker_ratio": replace(ROCKER, default=""),
        "lash": LASH,
    },
    outputs={
        "lift": Output("length", "mm", "lift at the valve", ("in",)),
        "cam": Output("length", "mm", "lift at the cam", ("in",)),
        "ratio": Output("ratio", "1", "rocker ratio"),
    },
    formula="lift = cam*ratio - lash",
    source="plain geometry",
    validity="The third of valve lift, cam lift and ratio from the other two. Rocker ratio taken constant.",
    slips=("lash multiplied by the ratio where it is measured at the valve",),
    example='--cam-lift "7.6 mm" --rocker-ratio 1.3 --lash "0.15 mm"',
)
def rocker_lift(
    cam_lift: float | None, valve_lift: float | None, rocker_ratio: float | None, lash: float
) -> dict[str, float]:
    """Lengths [m]. Raises ValueError unless exactly two of the three are given."""
    if (cam_lift is None) + (valve_lift is None) + (rocker_ratio is None) != 1:
        raise ValueError("give exactly two of cam_lift, valve_lift and rocker_ratio")
    if valve_lift is None:
        assert cam_lift is not None
        assert rocker_ratio is not None
        valve_lift = cam_lift * rocker_ratio - lash
    elif cam_lift is None:
        assert rocker_ratio is not None
        cam_lift = (valve_lift + lash) / rocker_ratio
    else:
        rocker_ratio = (valve_lift + lash) / cam_lift
    return {"lift": valve_lift, "cam": cam_lift, "ratio": rocker_ratio}


def _lash_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["lash_hot"] <= 0.0:
        return ["the lash is gone hot: the valve hangs open and burns"]
    return []


@register(
    "valves",
    "Valve lash cold to hot",
    inputs={
        "lash": replace(LASH, default=None),
        "valve_length": Input("length", "valve from seat to tip", "50 mm", "160 mm"),
        "valve": expansion("the valve", "18e-6 1/K"),
        "valve_rise": Input("temperature_difference", "valve stem, mean, above setting", "0 K", "700 K"),
        "head_length": Input("length", "head from seat to rocker shaft or cam", "20 mm", "160 mm"),
        "head": expansion("the head", "cast aluminium"),
        "head_rise": Input("temperature_difference", "head above setting", "0 K", "250 K"),
        "stack_length": Input(
            "length", "case and barrel, cam to rocker shaft; 0 without pushrods", "0 mm", "400 mm", "0 mm"
        ),
        "stack": expansion("case, barrel and head of that length (mean)", "cast aluminium"),
        "stack_rise": Input("temperature_difference", "that stack above setting", "0 K", "250 K", "0 K"),
        "pushrod_length": Input("length", "pushrod and lifter; 0 without pushrods", "0 mm", "400 mm", "0 mm"),
        "pushrod": expansion("the pushrod", "steel"),
        "pushrod_rise": Input("temperature_difference", "pushrod above setting", "0 K", "200 K", "0 K"),
        "rocker_ratio": ROCKER,
    },
    outputs={
        "valve_side": Output("length", "mm", "opens on the valve's side (+)", ("thou",)),
        "push_side": Output("length", "mm", "opens on the pushrod's side (+), at the valve", ("thou",)),
        "lash_hot": Output("length", "mm", "lash hot", ("thou",)),
    },
    formula="""
    valve_side = head_length*head*head_rise - valve_length*valve*valve_rise
    push_side = rocker_ratio * (stack_length*stack*stack_rise - pushrod_length*pushrod*pushrod_rise)
    lash_hot = lash + valve_side + push_side
    """,
    source="linear thermal expansion; standard textbook relation. "
    + materials.EXPANSION_SOURCE
    + "; valve 18e-6 1/K for an austenitic exhaust valve is from memory",
    validity="One mean temperature a part. Air-cooled pushrod engines open up, overhead cams close.",
    question=_lash_question,
    example=(
        '--lash "0.15 mm" --valve-length "105 mm" --valve-rise "180 K" --head-length "85 mm" --head-rise "130 K" '
        '--stack-length "270 mm" --stack-rise "100 K" --pushrod-length "270 mm" --pushrod "wrought aluminium" '
        '--pushrod-rise "70 K"'
    ),
)
def lash_hot(
    lash: float,
    valve_length: float,
    valve: float,
    valve_rise: float,
    head_length: float,
    head: float,
    head_rise: float,
    stack_length: float,
    stack: float,
    stack_rise: float,
    pushrod_length: float,
    pushrod: float,
    pushrod_rise: float,
    rocker_ratio: float,
) -> dict[str, float]:
    """Lengths [m]."""
    valve_side = head_length * head * head_rise - valve_length * valve * valve_rise
    push_side = rocker_ratio * (stack_length * stack * stack_rise - pushrod_length * pushrod * pushrod_rise)
    return {"valve_side": valve_side, "push_side": push_side, "lash_hot": lash + valve_side + push_side}


@register(
    "valves",
    "Curtain area of a valve",
    inputs={
        "valve_diameter": Input("length", "inner diameter of the seat", "12 mm", "65 mm"),
        "lift": Input("length", "valve lift", "0 mm", "20 mm"),
        "seat_angle": Input("angle", "seat from the head's plane", "15 deg", "60 deg", "45 deg"),
        "throat_diameter": Input("length", "narrowest bore before the seat", "10 mm", "60 mm", ""),
        "stem_diameter": Input("length", "stem in the throat", "0 mm", "12 mm", "0 mm"),
        "valves": Input("count", "valves alike", "1", "3", "1"),
    },
    outputs={
        "curtain_area": Output("area", "mm2", "plain curtain, pi D L, all valves", ("in2", "cm2")),
        "seat_area": Output("area", "mm2", "slant opening at the seat, for low lift", ("in2", "cm2")),
        "throat_area": Output("area", "mm2", "throat less stem, all valves", ("in2", "cm2")),
        "lift_over_diameter": Output("ratio", "1", "lift over seat diameter"),
        "equal_lift": Output("length", "mm", "lift where the curtain equals the throat", ("in",)),
    },
    formula="""
    curtain_area = valves * pi * valve_diameter * lift
    seat_area = valves * pi * lift * cos(seat_angle) * (valve_diameter + lift*sin(2*seat_angle)/2)
    throat_area = valves * pi/4 * (throat_diameter^2 - stem_diameter^2)
    equal_lift = throat_area / (valves * pi * valve_diameter)
    """,
    source="J. B. Heywood, Internal Combustion Engine Fundamentals (1988), eq. 6.7 ff., from memory",
    validity="Geometry only; the flow coefficient comes on top. Without a throat the seat's diameter is taken for it.",
    example='--valve-diameter "38 mm" --lift "9.5 mm" --throat-diameter "34 mm" --stem-diameter "8 mm"',
)
def curtain_area(
    valve_diameter: float,
    lift: float,
    seat_angle: float,
    throat_diameter: float | None,
    stem_diameter: float,
    valves: float,
) -> dict[str, float]:
    """Areas [m2], length [m], ratio [1]."""
    b = math.radians(seat_angle)
    throat = math.pi / 4.0 * ((throat_diameter or valve_diameter) ** 2 - stem_diameter**2)
    return {
        "curtain_area": valves * math.pi * valve_diameter * lift,
        "seat_area": valves * math.pi * lift * math.cos(b) * (valve_diameter + lift * math.sin(2.0 * b) / 2.0),
        "throat_area": valves * throat,
        "lift_over_diameter": lift / valve_diameter,
        "equal_lift": throat / (math.pi * valve_diameter),
    }


def _timing_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["overlap"] > 60.0:
        return ["long overlap: if drive pressure stands above boost, exhaust goes into the inlet"]
    return []


@register(
    "valves",
    "Cam timing from the four events: durations, centrelines, lobe separation, overlap",
    inputs=_EVENTS,
    outputs={
        "intake_duration": Output("angle", "deg", "inlet open, crank degrees"),
        "exhaust_duration": Output("angle", "deg", "exhaust open, crank degrees"),
        "intake_centreline": Output("angle", "deg", "middle of the inlet's opening, after TDC"),
        "exhaust_centreline": Output("angle", "deg", "middle of the exhaust's opening, before TDC"),
        "lobe_separation": Output("angle", "deg", "between the lobes, cam degrees"),
        "overlap": Output("angle", "deg", "both open, crank degrees"),
        "cam_advance": Output("angle", "deg", "cam set early (+) against its split, crank degrees"),
    },
    formula="""
    intake_duration = intake_opening + 180 + intake_closing
    exhaust_duration = exhaust_opening + 180 + exhaust_closing
    intake_centreline = (180 + intake_closing - intake_opening)/2
    exhaust_centreline = (180 + exhaust_opening - exhaust_closing)/2
    lobe_separation = (intake_centreline + exhaust_centreline)/2
    overlap = intake_opening + exhaust_closing
    cam_advance = lobe_separation - intake_centreline
    """,
    source="definitions of the trade",
    validity="Events at one and the same lift (seat, 1 mm, 0.050 in); centrelines are the middles, not the peaks.",
    slips=("events at the seat on one lobe, at 0.050 in on the other", "an event after TDC given as before"),
    question=_timing_question,
    example=(
        '--intake-opening "22 deg BTDC" --intake-closing "62 deg ABDC" --exhaust-opening "64 deg BBDC" '
        '--exhaust-closing "18 deg ATDC"'
    ),
)
def cam_timing(
    intake_opening: float, intake_closing: float, exhaust_opening: float, exhaust_closing: float
) -> dict[str, float]:
    """Angles [deg]."""
    intake = (180.0 + intake_closing - intake_opening) / 2.0
    exhaust = (180.0 + exhaust_opening - exhaust_closing) / 2.0
    return {
        "intake_duration": intake_opening + 180.0 + intake_closing,
        "exhaust_duration": exhaust_opening + 180.0 + exhaust_closing,
        "intake_centreline": intake,
        "exhaust_centreline": exhaust,
        "lobe_separation": (intake + exhaust) / 2.0,
        "overlap": intake_opening + exhaust_closing,
        "cam_advance": (exhaust - intake) / 2.0,
    }


@register(
    "valves",
    "The four valve events from durations, lobe separation and centreline",
    inputs={
        "intake_duration": replace(DURATION, meaning="inlet open for so many crank degrees"),
        "exhaust_duration": replace(DURATION, meaning="exhaust open for so many crank degrees"),
        "lobe_separation": Input("angle", "between the lobes, cam degrees", "95 deg", "125 deg"),
        "intake_centreline": Input(
            "angle", "inlet's middle after TDC; the lobe separation when not given", "85 deg", "130 deg", ""
        ),
    },
    outputs={
        "intake_opening": Output("event_angle", "deg", "inlet opens, before TDC (+)"),
        "intake_closing": Output("event_angle", "deg", "inlet closes, after BDC (+)"),
        "exhaust_opening": Output("event_angle", "deg", "exhaust opens, before BDC (+)"),
        "exhaust_closing": Output("event_angle", "deg", "exhaust closes, after TDC (+)"),
        "overlap": Output("angle", "deg", "both open, crank degrees"),
    },
    formula="""
    intake_opening = intake_duration/2 - intake_centreline
    intake_closing = intake_duration/2 + intake_centreline - 180
    exhaust_opening = exhaust_duration/2 + exhaust_centreline - 180
    exhaust_closing = exhaust_duration/2 - exhaust_centreline
    with exhaust_centreline = 2*lobe_separation - intake_centreline
    """,
    source="definitions of the trade",
    validity="Lobes alike on both flanks; durations at one and the same lift.",
    question=_timing_question,
    example='--intake-duration "264 deg" --exhaust-duration "262 deg" --lobe-separation "112 deg"',
)
def cam_events(
    intake_duration: float, exhaust_duration: float, lobe_separation: float, intake_centreline: float | None
) -> dict[str, float]:
    """Angles [deg]."""
    intake = lobe_separation if intake_centreline is None else intake_centreline
    exhaust = 2.0 * lobe_separation - intake
    opening, closing = intake_duration / 2.0 - intake, exhaust_duration / 2.0 - exhaust
    return {
        "intake_opening": opening,
        "intake_closing": intake_duration / 2.0 + intake - 180.0,
        "exhaust_opening": exhaust_duration / 2.0 + exhaust - 180.0,
        "exhaust_closing": closing,
        "overlap": opening + closing,
    }
