"""Strength of spinning discs: stress, burst margin, inertia of fans and flywheels.

Discs are plane, of even thickness, elastic. Burst goes by the mean hoop stress against the tensile strength,
with factors for the material's ductility and for welds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.sums.measures import SPEED, density, poisson
from spoolwright.sums.registry import Input, Output, register

OUTER = Input("length", "outside diameter", "20 mm", "800 mm")
INNER = Input("length", "bore; 0 for a solid disc", "0 mm", "600 mm", "0 mm")
DISC_SPEED = Input("rotational_speed", "speed of the disc", "100 rpm", "250000 rpm")
BURST_CAUTION = (
    "A fan or flywheel that bursts goes through bonnets and people. Stand out of its plane; a sum does not replace a "
    "guard, a crack test and a spin test."
)


def check_hollow(outer_diameter: float, inner_diameter: float) -> None:
    """Raises ValueError for a bore [m] that is negative or not below the outside diameter [m]."""
    if not 0.0 <= inner_diameter < outer_diameter:
        raise ValueError("the bore must be smaller than the outside diameter")


def _tip_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["rim_speed"] > 700.0:
        return [f"a rim speed of {results['rim_speed']:.0f} m/s is beyond any wheel; is the speed that of the disc?"]
    return []


@register(
    "strength",
    "Spinning disc: stress in a solid or bored disc",
    inputs={
        "outer_diameter": OUTER,
        "inner_diameter": INNER,
        "speed": DISC_SPEED,
        "density": density("the disc", "aluminium"),
        "poisson_ratio": poisson("the disc", "aluminium"),
    },
    outputs={
        "rim_speed": Output("speed", "m/s", "speed of the rim", ("ft/s",)),
        "peak_hoop_stress": Output(
            "stress", "MPa", "greatest hoop stress: at the bore, or in the middle when solid", ("ksi",)
        ),
        "mean_hoop_stress": Output("stress", "MPa", "mean over the section; the burst criterion", ("ksi",)),
        "peak_radial_stress": Output("stress", "MPa", "greatest radial stress", ("ksi",)),
    },
    formula="""
    peak_hoop_stress = density*speed^2/4 * ((3 + poisson_ratio)*b^2 + (1 - poisson_ratio)*a^2), bored
    peak_hoop_stress = density*speed^2*b^2 * (3 + poisson_ratio)/8, solid
    mean_hoop_stress = density*speed^2 * (b^3 - a^3)/(3*(b - a))
    peak_radial_stress = density*speed^2 * (3 + poisson_ratio)/8 * (b - a)^2
    with b = outer_diameter/2, a = inner_diameter/2
    """,
    source="rotating disc of even thickness, plane stress; elasticity texts (from memory)",
    validity="Even thickness. Even the smallest bore doubles the stress of the solid disc. Blades: burst_margin.",
    slips=("diameter for radius: a factor of four", "engine speed for the fan's speed"),
    question=_tip_question,
    caution=BURST_CAUTION,
    example='--outer-diameter "300 mm" --inner-diameter "25 mm" --speed "9000 rpm"',
)
def disc_stress(
    outer_diameter: float, inner_diameter: float, speed: float, density: float, poisson_ratio: float
) -> dict[str, float]:
    """Stresses [Pa], rim speed [m/s]. Raises ValueError for a bore not below the outside."""
    check_hollow(outer_diameter, inner_diameter)
    b, a = outer_diameter / 2.0, inner_diameter / 2.0
    load = density * speed**2
    solid = load * b**2 * (3.0 + poisson_ratio) / 8.0
    bored = load / 4.0 * ((3.0 + poisson_ratio) * b**2 + (1.0 - poisson_ratio) * a**2)
    return {
        "rim_speed": speed * b,
        "peak_hoop_stress": bored if a > 0.0 else solid,
        "mean_hoop_stress": load * (b**3 - a**3) / (3.0 * (b - a)),
        "peak_radial_stress": load * (3.0 + poisson_ratio) / 8.0 * (b - a) ** 2,
    }


@register(
    "strength",
    "Spinning thin ring: hoop stress, and the speed for a stress",
    inputs={
        "mean_diameter": replace(OUTER, meaning="mean diameter of the ring"),
        "speed": DISC_SPEED,
        "density": density("the ring"),
        "allowed_stress": Input("stress", "stress allowed, for the speed", "5 MPa", "1500 MPa", ""),
    },
    outputs={
        "rim_speed": Output("speed", "m/s", "speed of the ring", ("ft/s",)),
        "hoop_stress": Output("stress", "MPa", "hoop stress", ("ksi",)),
        "speed_allowed": Output("rotational_speed", "rpm", "speed at the stress allowed"),
    },
    formula="""
    rim_speed = speed * mean_diameter/2
    hoop_stress = density * rim_speed^2
    speed_allowed = sqrt(allowed_stress/density) / (mean_diameter/2)
    """,
    source="thin ring; any machine-design text",
    validity="Free ring, no spokes or blades hung on it.",
    question=_tip_question,
    caution=BURST_CAUTION,
    example='--mean-diameter "280 mm" --speed "7000 rpm" --allowed-stress "100 MPa"',
)
def ring_stress(
    mean_diameter: float, speed: float, density: float, allowed_stress: float | None
) -> dict[str, float | None]:
    """Stress [Pa], speeds [m/s], [rad/s]."""
    rim = speed * mean_diameter / 2.0
    allowed = None if allowed_stress is None else math.sqrt(allowed_stress / density) / (mean_diameter / 2.0)
    return {"rim_speed": rim, "hoop_stress": density * rim**2, "speed_allowed": allowed}


def _burst_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    margin = results["speed_margin"]
    asked = list(_tip_question(given, results))
    if margin < 1.0:
        asked.append("it bursts below the over-speed named")
    elif margin < 1.25:
        asked.append(f"a speed margin of {margin:.2f} over the over-speed is thin; 1.25 is usual (from memory)")
    return asked


@register(
    "strength",
    "Burst margin of a fan, pulley or flywheel at over-speed",
    inputs={
        "outer_diameter": OUTER,
        "inner_diameter": INNER,
        "speed": replace(DISC_SPEED, meaning="greatest speed in use"),
        "over_speed": Input(
            "share", "over-speed to stand beyond that (missed gear, belt change)", "0 %", "60 %", "20 %"
        ),
        "density": density("the disc", "aluminium"),
        "tensile_strength": Input("stress", "tensile strength at its temperature", "60 MPa", "1800 MPa"),
        "burst_factor": Input(
            "share", "strength used at burst: 0.9 ductile, 0.6 or less cast", "40 %", "100 %", "85 %", part=True
        ),
        "weld_factor": Input(
            "share", "knock-down of welds or rivets; 100 % without", "30 %", "100 %", "100 %", part=True
        ),
        "blade_mass": Input("mass", "blades carried on the disc, all", "0 g", "5 kg", "0 g"),
        "blade_diameter": Input("length", "diameter of the blades' middle", "20 mm", "800 mm", ""),
        "thickness": Input("length", "thickness of the disc, with blades", "0.8 mm", "80 mm", ""),
    },
    outputs={
        "rim_speed": Output("speed", "m/s", "speed of the rim at over-speed", ("ft/s",)),
        "mean_hoop_stress": Output("stress", "MPa", "mean hoop stress at over-speed, blades counted", ("ksi",)),
        "strength_used": Output("stress", "MPa", "strength after the factors", ("ksi",)),
        "burst_speed": Output("rotational_speed", "rpm", "speed at which it bursts"),
        "speed_margin": Output("ratio", "1", "burst speed over over-speed"),
        "stress_margin": Output("ratio", "1", "strength over stress at over-speed"),
    },
    formula="""
    mean_hoop_stress = density*w^2*(b^3 - a^3)/(3*(b - a)) + blade_mass*(blade_diameter/2)*w^2/(2*pi*(b - a)*thickness)
    strength_used = tensile_strength * burst_factor * weld_factor
    burst_speed = w * sqrt(strength_used/mean_hoop_stress)
    with w = speed*(1 + over_speed), b = outer_diameter/2, a = inner_diameter/2
    """,
    source="mean hoop stress (Robinson) burst criterion, from memory; factors common practice, no source",
    validity="Ductile discs of even thickness. Keyways, cracks, heat and fatigue take more: it is an upper bound.",
    slips=("engine speed for fan speed: multiply by the pulley ratio", "parent strength used where it is welded"),
    question=_burst_question,
    caution=BURST_CAUTION,
    example=(
        '--outer-diameter "300 mm" --inner-diameter "25 mm" --speed "11700 rpm" --tensile-strength "240 MPa" '
        '--weld-factor "60 %"'
    ),
)
def burst_margin(
    outer_diameter: float,
    inner_diameter: float,
    speed: float,
    over_speed: float,
    density: float,
    tensile_strength: float,
    burst_factor: float,
    weld_factor: float,
    blade_mass: float,
    blade_diameter: float | None,
    thickness: float | None,
) -> dict[str, float]:
    """Stresses [Pa], speeds [m/s], [rad/s], margins [1]. Raises ValueError for blades without their sizes."""
    w = speed * (1.0 + over_speed)
    disc = disc_stress(outer_diameter, inner_diameter, w, density, 0.3)
    stress = disc["mean_hoop_stress"]
    if blade_mass > 0.0:
        if blade_diameter is None or thickness is None:
            raise ValueError("blade_mass needs blade_diameter and thickness")
        section = (outer_diameter - inner_diameter) / 2.0 * thickness
        stress += blade_mass * blade_diameter / 2.0 * w**2 / (2.0 * math.pi * section)
    strength = tensile_strength * burst_factor * weld_factor
    margin = math.sqrt(strength / stress)
    return {
        "rim_speed": disc["rim_speed"],
        "mean_hoop_stress": stress,
        "strength_used": strength,
        "burst_speed": w * margin,
        "speed_margin": margin,
        "stress_margin": strength / stress,
    }


@register(
    "strength",
    "Flywheel: inertia and disc for a speed fluctuation",
    inputs={
        "energy_swing": Input("energy", "energy that comes and goes in a cycle", "1 J", "20 kJ"),
        "speed": replace(SPEED, meaning="mean speed"),
        "fluctuation": Input("share", "greatest less least speed, over the mean", "0.2 %", "30 %"),
        "thickness": Input("length", "thickness of a solid disc", "5 mm", "120 mm", ""),
        "density": density("the disc"),
    },
    outputs={
        "inertia": Output("inertia", "kg m2", "inertia needed", ("lb ft2",)),
        "disc_radius": Output("length", "mm", "radius of a solid disc of that thickness", ("in",)),
    },
    formula="""
    inertia = energy_swing / (fluctuation * speed^2)
    disc_radius = (2*inertia/(pi*thickness*density))^0.25
    """,
    source="flywheel energy balance; any machine-design text",
    caution=BURST_CAUTION,
    example='--energy-swing "441.8 J" --fluctuation 0.1 --speed "250 rpm" --thickness "30 mm" --density "7800 kg/m3"',
)
def flywheel_for_swing(
    energy_swing: float, speed: float, fluctuation: float, thickness: float | None, density: float
) -> dict[str, float | None]:
    """Inertia [kg m2], radius [m] or None."""
    inertia = energy_swing / (fluctuation * speed**2)
    radius = None if thickness is None else (2.0 * inertia / (math.pi * thickness * density)) ** 0.25
    return {"inertia": inertia, "disc_radius": radius}


@register(
    "strength",
    "Inertia and mass of a disc or ring",
    inputs={
        "outer_diameter": OUTER,
        "inner_diameter": INNER,
        "thickness": Input("length", "thickness", "1 mm", "500 mm"),
        "density": density("the disc"),
    },
    outputs={
        "mass": Output("mass", "kg", "mass", ("lb",)),
        "inertia": Output("inertia", "kg m2", "inertia about its axis", ("lb ft2", "kg cm2")),
    },
    formula="""
    mass = density * pi/4 * (outer_diameter^2 - inner_diameter^2) * thickness
    inertia = mass/8 * (outer_diameter^2 + inner_diameter^2)
    """,
    source="standard textbook relation",
    example='--outer-diameter "228 mm" --inner-diameter "40 mm" --thickness "25 mm"',
)
def disc_inertia(outer_diameter: float, inner_diameter: float, thickness: float, density: float) -> dict[str, float]:
    """Mass [kg], inertia [kg m2]."""
    check_hollow(outer_diameter, inner_diameter)
    mass = density * math.pi / 4.0 * (outer_diameter**2 - inner_diameter**2) * thickness
    return {"mass": mass, "inertia": mass / 8.0 * (outer_diameter**2 + inner_diameter**2)}
