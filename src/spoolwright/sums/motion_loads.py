"""Loads of the crank: inertia of the piston, forces through rod and pin, bobweight for balancing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums.measures import ANGLE, BORE, PIN_OFFSET, RECIPROCATING_MASS, ROD_LENGTH, SPEED, STROKE
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.slider_crank import crank, piston_curvature


@register(
    "motion",
    "Piston acceleration and inertia force at the dead centres",
    inputs={
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "reciprocating_mass": RECIPROCATING_MASS,
        "speed": SPEED,
    },
    outputs={
        "tdc_acceleration": Output("acceleration", "gn", "acceleration at TDC", ("m/s2",)),
        "inertia_force": Output("force", "kN", "pull on the rod at TDC overlap", ("lbf", "N")),
        "bdc_acceleration": Output("acceleration", "gn", "acceleration at BDC, upwards", ("m/s2",)),
        "bdc_force": Output("force", "kN", "push on the rod at BDC", ("lbf", "N")),
    },
    formula="""
    tdc_acceleration = speed^2 * stroke/2 * (1 + stroke/(2*rod_length))
    inertia_force = reciprocating_mass * tdc_acceleration
    bdc_acceleration = speed^2 * stroke/2 * (1 - stroke/(2*rod_length))
    bdc_force = reciprocating_mass * bdc_acceleration
    """,
    source="slider-crank; exact at the dead centres without pin offset; standard textbook relation",
    validity="At TDC of the gas exchange no gas pressure helps: this pull is what the rod bolts see.",
    slips=("piston weighed without pin and rings", "stroke taken for the crank radius", "speed in rpm for rad/s"),
    caution="A rod bolt that lets go destroys the engine and can hurt. Leave the bolt maker's margin.",
    example='--stroke "80 mm" --rod-length "137 mm" --reciprocating-mass "520 g" --speed "7000 rpm"',
)
def inertia_load(stroke: float, rod_length: float, reciprocating_mass: float, speed: float) -> dict[str, float]:
    """Accelerations [m/s2] and forces [N]."""
    r = stroke / 2.0
    if not rod_length > r:
        raise ValueError("the rod is too short for this stroke: the crank cannot turn")
    top = speed**2 * r * (1.0 + r / rod_length)
    bottom = speed**2 * r * (1.0 - r / rod_length)
    return {
        "tdc_acceleration": top,
        "inertia_force": reciprocating_mass * top,
        "bdc_acceleration": bottom,
        "bdc_force": reciprocating_mass * bottom,
    }


def _forces_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["rod_force"] < 0.0:
        return ["inertia is larger than gas force here: the rod is pulled, not pushed"]
    return []


@register(
    "motion",
    "Forces at a crank angle: piston, side thrust, rod, crank pin, torque",
    inputs={
        "bore": BORE,
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "reciprocating_mass": RECIPROCATING_MASS,
        "angle": ANGLE,
        "gas_pressure": Input(
            "pressure_difference", "gas above the piston less crankcase below it", "-1 bar", "200 bar"
        ),
        "speed": SPEED,
        "pin_offset": PIN_OFFSET,
    },
    outputs={
        "piston_force": Output("force", "kN", "gas less inertia, downwards (+)", ("lbf",)),
        "side_thrust": Output("force", "kN", "piston on the cylinder wall", ("lbf",)),
        "rod_force": Output("force", "kN", "along the rod, push (+)", ("lbf",)),
        "tangential_force": Output("force", "kN", "on the crank pin, in the way of turning", ("lbf",)),
        "radial_force": Output("force", "kN", "on the crank pin, towards the crank axis (+)", ("lbf",)),
        "torque": Output("torque", "N m", "turning moment", ("lbf ft",)),
    },
    formula="""
    piston_force = gas_pressure*pi/4*bore^2 - reciprocating_mass*acceleration
    side_thrust = piston_force * tan(phi)
    rod_force = piston_force / cos(phi)
    tangential_force = rod_force * sin(a + phi)
    radial_force = rod_force * cos(a + phi)
    torque = tangential_force * stroke/2
    with a the crank and phi the rod angle from the cylinder's axis, acceleration exact
    """,
    source="statics of the slider-crank; standard textbook relation",
    validity="No friction, no weight, rod's own swing inertia left out.",
    question=_forces_question,
    example=(
        '--bore "92.5 mm" --stroke "80 mm" --rod-length "137 mm" --reciprocating-mass "520 g" --angle "14 deg ATDC" '
        '--gas-pressure "75 bar" --speed "5500 rpm"'
    ),
)
def piston_forces(
    bore: float,
    stroke: float,
    rod_length: float,
    reciprocating_mass: float,
    angle: float,
    gas_pressure: float,
    speed: float,
    pin_offset: float,
) -> dict[str, float]:
    """Forces [N] and torque [N m]."""
    r = stroke / 2.0
    a, side, upright = crank(angle, r, rod_length, pin_offset)
    acceleration = speed**2 * piston_curvature(angle, r, rod_length, pin_offset)
    force = gas_pressure * math.pi / 4.0 * bore**2 - reciprocating_mass * acceleration
    phi = math.atan2(side, upright)
    rod = force / math.cos(phi)
    return {
        "piston_force": force,
        "side_thrust": force * math.tan(phi),
        "rod_force": rod,
        "tangential_force": rod * math.sin(a + phi),
        "radial_force": rod * math.cos(a + phi),
        "torque": rod * math.sin(a + phi) * r,
    }


def _bobweight_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if not given["balance_factor"] <= 1.0:
        return ["a balance factor is a share of the reciprocating mass and stays at or below 1"]
    return []


@register(
    "motion",
    "Bobweight for balancing a crank pin",
    inputs={
        "piston_mass": Input("mass", "piston, pin, rings and locks of one cylinder", "50 g", "3 kg"),
        "small_end_mass": Input("mass", "rod's small end, weighed level", "20 g", "1 kg"),
        "big_end_mass": Input("mass", "rod's big end with cap and bolts, weighed level", "50 g", "2 kg"),
        "bearing_mass": Input("mass", "shells of one rod", "0 g", "200 g", "0 g"),
        "oil_mass": Input("mass", "oil held in the pin", "0 g", "50 g", "0 g"),
        "rods_on_pin": Input("count", "rods that share the crank pin", "1", "3", "1"),
        "balance_factor": Input("share", "share of the reciprocating mass balanced", "0 %", "100 %", "50 %"),
    },
    outputs={
        "rotating_mass": Output("mass", "g", "turning with the pin", ("lb",)),
        "reciprocating_mass": Output("mass", "g", "going up and down, all rods on the pin", ("lb",)),
        "bobweight": Output("mass", "g", "to clamp on the pin", ("lb",)),
    },
    formula="""
    rotating_mass = rods_on_pin * (big_end_mass + bearing_mass) + oil_mass
    reciprocating_mass = rods_on_pin * (piston_mass + small_end_mass)
    bobweight = rotating_mass + balance_factor * reciprocating_mass
    """,
    source="common practice, no source; 50 % is exact in the first order for a 90 degree vee with two rods on a pin",
    validity="Other vee angles, flat engines with a pin for each rod and singles need the maker's factor.",
    slips=("one rod counted where two share the pin",),
    question=_bobweight_question,
    example=(
        '--piston-mass "410 g" --small-end-mass "150 g" --big-end-mass "380 g" --bearing-mass "40 g" --rods-on-pin 2'
    ),
)
def bobweight(
    piston_mass: float,
    small_end_mass: float,
    big_end_mass: float,
    bearing_mass: float,
    oil_mass: float,
    rods_on_pin: float,
    balance_factor: float,
) -> dict[str, float]:
    """Masses [kg]."""
    rotating = rods_on_pin * (big_end_mass + bearing_mass) + oil_mass
    reciprocating = rods_on_pin * (piston_mass + small_end_mass)
    return {
        "rotating_mass": rotating,
        "reciprocating_mass": reciprocating,
        "bobweight": rotating + balance_factor * reciprocating,
    }
