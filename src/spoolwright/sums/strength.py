"""Sums on strength: peak pressure, head clamp, bearings, rod bolts, pin and rod.

Gas and mass loads on plain sections. Spinning discs stand in ``strength_discs``, which registers when this one is
imported.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.sums.measures import BORE, RATIO, RECIPROCATING_MASS, ROD_LENGTH, SPEED, STROKE
from spoolwright.sums.motion_loads import inertia_load
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.strength_discs import check_hollow


@register(
    "strength",
    "Peak cylinder pressure: a band before anything is run",
    inputs={
        "manifold_pressure": Input("pressure_absolute", "in the manifold", "40 kPa", "400 kPa"),
        "compression_ratio": RATIO,
        "low_factor": Input("ratio", "peak over unfired end pressure, late spark", "1.5", "4", "2.2"),
        "high_factor": Input("ratio", "the same with early spark and knock at the door", "2", "6", "3.6"),
    },
    outputs={
        "unfired_pressure": Output("pressure_absolute", "bar", "end of compression, exponent 1.32", ("psi", "MPa")),
        "low": Output("pressure_absolute", "bar", "peak, low side", ("psi", "MPa")),
        "high": Output("pressure_absolute", "bar", "peak, high side; take this for joints", ("psi", "MPa")),
    },
    formula="""
    unfired_pressure = manifold_pressure * compression_ratio^1.32
    low = low_factor * unfired_pressure
    high = high_factor * unfired_pressure
    """,
    source="factors from memory, common practice; compression as a polytropic",
    validity="A band for sizing only. Knock adds 20 bar and more in spikes. The cycle computation replaces it.",
    slips=("boost gauge for manifold absolute",),
    question=lambda given, results: (
        [
            f"manifold_pressure {given['manifold_pressure'] / 1e3:.1f} kPa absolute is vacuum near sea level; if it "
            "was read on a boost gauge, add the barometer: the peak would be far higher"
        ]
        if given["manifold_pressure"] < 95e3
        else []
    ),
    example='--manifold-pressure "185 kPa absolute" --compression-ratio 8',
)
def peak_pressure_band(
    manifold_pressure: float, compression_ratio: float, low_factor: float, high_factor: float
) -> dict[str, float]:
    """Absolute pressures [Pa]."""
    from spoolwright.sums.ratios import compression_end

    unfired = compression_end(compression_ratio, manifold_pressure, 300.0, 1.32)["end_pressure"]
    return {"unfired_pressure": unfired, "low": low_factor * unfired, "high": high_factor * unfired}


def _head_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    margin = results["margin"]
    if margin is None:
        return []
    if margin < 1.0:
        return ["the joint opens at this pressure"]
    if margin < 1.5:
        return [f"clamp over gas force is {margin:.2f}; 1.5 and more is usual, heat takes some (common practice)"]
    return []


@register(
    "strength",
    "Head joint: gas load against stud clamp",
    inputs={
        "bore": replace(BORE, meaning="diameter the joint seals on; the bore at least"),
        "peak_pressure": Input("pressure_gauge", "peak cylinder pressure", "10 bar", "250 bar"),
        "clamp_per_stud": Input("force", "clamp load of one stud", "2 kN", "200 kN", ""),
        "studs": Input(
            "count",
            "studs that hold one cylinder (shared ones count half)",
            "2",
            "12",
            "4",
            sheet="strength.studs.count",
        ),
        "joint_constant": Input(
            "ratio", "share of the load the studs feel; 0 is the safe side for sealing", "0", "0.6", "0"
        ),
    },
    outputs={
        "gas_force": Output("force", "kN", "gas load on the head", ("lbf",)),
        "clamp_total": Output("force", "kN", "clamp of all studs", ("lbf",)),
        "margin": Output("ratio", "1", "clamp over what unloads the joint"),
        "clamp_left": Output("force", "kN", "clamp left on the joint at peak pressure", ("lbf",)),
        "opening_pressure": Output("pressure_gauge", "bar", "pressure that opens the joint", ("psi", "MPa")),
        "stud_force": Output("force", "kN", "pull in one stud at peak pressure", ("lbf",)),
    },
    formula="""
    gas_force = peak_pressure * pi/4 * bore^2
    clamp_total = studs * clamp_per_stud
    margin = clamp_total / ((1 - joint_constant)*gas_force)
    clamp_left = clamp_total - (1 - joint_constant)*gas_force
    opening_pressure = clamp_total / ((1 - joint_constant) * pi/4 * bore^2)
    stud_force = clamp_per_stud + joint_constant*gas_force/studs
    """,
    source="preloaded joint; any machine-design text. Clamp from bolt_stretch_clamp or bolt_torque, hot with clamp_hot",
    validity="Even load on the studs. Give the clamp hot. A thread in light alloy may pull before the stud yields.",
    slips=("bore for the gasket ring's diameter", "studs shared by two cylinders counted twice"),
    question=_head_question,
    caution="A head that lifts cuts its joint in seconds and throws flame. Stop the pull at the first hiss.",
    example='--bore "92.5 mm" --peak-pressure "85 bar" --clamp-per-stud "24 kN" --studs 4',
)
def head_clamp(
    bore: float, peak_pressure: float, clamp_per_stud: float | None, studs: float, joint_constant: float
) -> dict[str, float | None]:
    """Forces [N], gauge pressure [Pa]; what needs the clamp is None without it."""
    if not 0.0 <= joint_constant < 1.0:
        raise ValueError("the joint constant lies from 0 to below 1")
    area = math.pi / 4.0 * bore**2
    gas = peak_pressure * area
    nothing = dict.fromkeys(("clamp_total", "margin", "clamp_left", "opening_pressure", "stud_force"))
    if clamp_per_stud is None:
        return {"gas_force": gas, **nothing}
    clamp, unloading = studs * clamp_per_stud, (1.0 - joint_constant) * gas
    return {
        "gas_force": gas,
        "clamp_total": clamp,
        "margin": clamp / unloading,
        "clamp_left": clamp - unloading,
        "opening_pressure": clamp / ((1.0 - joint_constant) * area),
        "stud_force": clamp_per_stud + joint_constant * gas / studs,
    }


@register(
    "strength",
    "Bearing pressure on the projected area",
    inputs={
        "load": Input("force", "load on the bearing", "0.1 kN", "300 kN"),
        "width": Input("length", "effective width of the shell", "3 mm", "80 mm"),
        "diameter": Input("length", "journal or pin diameter", "8 mm", "110 mm"),
        "groove": Input("length", "width of an oil groove in the loaded shell", "0 mm", "10 mm", "0 mm"),
    },
    outputs={"pressure": Output("stress", "MPa", "load over projected area", ("psi", "ksi"))},
    formula="pressure = load / ((width - groove) * diameter)",
    source="definition; what shells bear (aluminium-tin 40 to 50 MPa, lead-bronze 60 to 100 MPa) is from memory",
    question=lambda given, results: (
        [f"{results['pressure'] / 1e6:.0f} MPa is more than shells bear; check load and width"]
        if results["pressure"] > 110e6
        else []
    ),
    example='--load "60 kN" --width "18 mm" --diameter "50.8 mm"',
)
def bearing_pressure(load: float, width: float, diameter: float, groove: float) -> dict[str, float]:
    """Pressure [Pa]. Raises ValueError when the groove takes all the width."""
    if groove >= width:
        raise ValueError("the groove is as wide as the shell")
    return {"pressure": load / ((width - groove) * diameter)}


def _rod_bolt_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    margin = results["margin"]
    if margin is not None and margin < 1.0:
        return ["the cap parts from the rod at this speed: the bolt then carries every stroke and breaks"]
    if margin is not None and margin < 1.5:
        return [f"clamp over load is {margin:.2f}; 1.5 and more is usual (common practice)"]
    return []


@register(
    "strength",
    "Rod bolts: load at TDC of the gas exchange against clamp",
    inputs={
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "reciprocating_mass": RECIPROCATING_MASS,
        "big_end_mass": Input("mass", "rod's big end without the cap", "50 g", "1.5 kg"),
        "speed": SPEED,
        "bolts": Input("count", "bolts in the rod", "2", "4", "2", sheet="strength.rod_bolts.count"),
        "clamp_load": Input("force", "clamp load of one bolt", "2 kN", "150 kN", ""),
        "load_share": Input("ratio", "uneven load: bending of the cap puts more on a bolt", "1", "1.5", "1"),
    },
    outputs={
        "cap_load": Output("force", "kN", "load that parts cap from rod", ("lbf",)),
        "bolt_load": Output("force", "kN", "of that on one bolt", ("lbf",)),
        "margin": Output("ratio", "1", "clamp over load of one bolt"),
        "parting_speed": Output("rotational_speed", "rpm", "speed at which they meet"),
    },
    formula="""
    cap_load = reciprocating_mass*tdc_acceleration + big_end_mass*speed^2*stroke/2
    bolt_load = load_share * cap_load / bolts
    margin = clamp_load / bolt_load
    parting_speed = speed * sqrt(margin)
    with tdc_acceleration of inertia_load
    """,
    source="slider-crank at TDC, exact; standard textbook relation",
    validity="No gas force at TDC of the gas exchange: the worst moment. Over-rev counts with its square.",
    slips=("clamp from a dry torque", "piston weighed without pin and rings"),
    question=_rod_bolt_question,
    caution="A rod bolt that lets go destroys the engine and can hurt. New bolts, maker's stretch, written down.",
    example=(
        '--stroke "80 mm" --rod-length "137 mm" --reciprocating-mass "520 g" --big-end-mass "260 g" --speed "7000 rpm" '
        '--clamp-load "29.7 kN"'
    ),
)
def rod_bolt_load(
    stroke: float,
    rod_length: float,
    reciprocating_mass: float,
    big_end_mass: float,
    speed: float,
    bolts: float,
    clamp_load: float | None,
    load_share: float,
) -> dict[str, float | None]:
    """Forces [N], speed [rad/s] or None."""
    pull = inertia_load(stroke, rod_length, reciprocating_mass, speed)["inertia_force"]
    cap = pull + big_end_mass * speed**2 * stroke / 2.0
    each = load_share * cap / bolts
    margin = None if clamp_load is None else clamp_load / each
    return {
        "cap_load": cap,
        "bolt_load": each,
        "margin": margin,
        "parting_speed": None if margin is None else speed * math.sqrt(margin),
    }


@register(
    "strength",
    "Piston pin: pressure in bosses and rod eye, shear",
    inputs={
        "load": Input("force", "greatest load on the pin", "1 kN", "300 kN"),
        "outer_diameter": Input("length", "pin outside", "10 mm", "50 mm"),
        "inner_diameter": Input("length", "pin bore", "0 mm", "35 mm", "0 mm"),
        "eye_width": Input("length", "width of the rod eye", "8 mm", "60 mm"),
        "boss_width": Input("length", "pin held in each boss", "5 mm", "50 mm"),
    },
    outputs={
        "eye_pressure": Output("stress", "MPa", "in the rod eye", ("ksi",)),
        "boss_pressure": Output("stress", "MPa", "in the bosses", ("ksi",)),
        "shear_stress": Output("stress", "MPa", "mean shear between eye and boss", ("ksi",)),
    },
    formula="""
    eye_pressure = load / (eye_width*outer_diameter)
    boss_pressure = load / (2*boss_width*outer_diameter)
    shear_stress = load / (2*pi/4*(outer_diameter^2 - inner_diameter^2))
    """,
    source="definitions; standard textbook relations",
    validity="Mean values; the shear's peak in a tube is up to twice the mean. Bending and ovalling are left out.",
    example=(
        '--load "55 kN" --outer-diameter "22 mm" --inner-diameter "13 mm" --eye-width "26 mm" --boss-width "20 mm"'
    ),
)
def pin_load(
    load: float, outer_diameter: float, inner_diameter: float, eye_width: float, boss_width: float
) -> dict[str, float]:
    """Pressures and stress [Pa]."""
    check_hollow(outer_diameter, inner_diameter)
    area = math.pi / 4.0 * (outer_diameter**2 - inner_diameter**2)
    return {
        "eye_pressure": load / (eye_width * outer_diameter),
        "boss_pressure": load / (2.0 * boss_width * outer_diameter),
        "shear_stress": load / (2.0 * area),
    }


@register(
    "strength",
    "Rod shank: pull and push",
    inputs={
        "area": Input("area", "least section of the shank", "40 mm2", "1200 mm2"),
        "pull": Input("force", "pull at TDC of the gas exchange", "0.5 kN", "120 kN"),
        "push": Input("force", "greatest push of the gas", "1 kN", "300 kN"),
        "strength": Input("stress", "yield strength", "150 MPa", "1500 MPa"),
    },
    outputs={
        "pull_stress": Output("stress", "MPa", "in tension", ("ksi",)),
        "push_stress": Output("stress", "MPa", "in compression", ("ksi",)),
        "swing": Output("stress", "MPa", "half the difference: what tires it", ("ksi",)),
        "margin": Output("ratio", "1", "yield over the larger stress"),
    },
    formula="""
    pull_stress = pull / area
    push_stress = push / area
    swing = (pull_stress + push_stress)/2
    margin = strength / max(pull_stress, push_stress)
    """,
    source="definitions; standard textbook relations",
    validity="Plain tension and compression of the shank; eyes, notches and buckling are not worked out.",
    example='--area "180 mm2" --pull "14.4 kN" --push "55 kN" --strength "800 MPa"',
)
def rod_stress(area: float, pull: float, push: float, strength: float) -> dict[str, float]:
    """Stresses [Pa]."""
    tension, compression = pull / area, push / area
    return {
        "pull_stress": tension,
        "push_stress": compression,
        "swing": (tension + compression) / 2.0,
        "margin": strength / max(tension, compression),
    }
