"""Sums of the road: forces at the wheels and what the clutch holds.

Newton's law. The other files of the topic (tyre, gears, strip) register when this one is imported.
"""

from __future__ import annotations

import math

from spoolwright.constants import STANDARD_GRAVITY
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.road_gears import FINAL, GEAR
from spoolwright.sums.road_strip import MASS, ROAD
from spoolwright.sums.road_tyre import TYRE, Tyre, free_and_rolling

_DRIVELINE = Input("share", "gearbox and axle", "70 %", "99 %", "88 %", part=True)


@register(
    "road",
    "Pull at the wheels and acceleration in a gear",
    inputs={
        "torque": Input("torque", "engine torque", "1 N m", "3000 N m"),
        "gear": GEAR,
        "final": FINAL,
        "efficiency": _DRIVELINE,
        **TYRE,
        "mass": MASS,
        "wheel_inertia": Input("inertia", "all wheels and shafts", "0 kg m2", "20 kg m2", "0 kg m2"),
        "engine_inertia": Input("inertia", "engine, clutch, flywheel", "0 kg m2", "2 kg m2", "0 kg m2"),
        "resistance": Input("force", "rolling, air and slope together", "0 N", "10000 N", "0 N"),
    },
    outputs={
        "wheel_torque": Output("torque", "N m", "torque at the driven axle", ("lbf ft",)),
        "pull": Output("force", "N", "force at the tyres", ("lbf",)),
        "acceleration": Output("acceleration", "m/s2", "acceleration, turning masses counted", ("gn",)),
        "equivalent_mass": Output("mass", "kg", "mass with the turning parts", ("lb",)),
    },
    formula="""
    pull = torque * gear * final * efficiency / rolling radius
    equivalent_mass = mass + (wheel_inertia + engine_inertia * (gear * final)^2) / rolling radius^2
    acceleration = (pull - resistance) / equivalent_mass
    """,
    source="Newton's second law",
    slips=("free radius for rolling radius", "engine inertia forgotten in low gears"),
    question=lambda given, results: (
        ["more than 1 g: have the tyres that much grip, or is it limited by slip?"]
        if results["acceleration"] > STANDARD_GRAVITY
        else []
    ),
    caution=ROAD,
    example='--torque "319 N m" --gear 2.06 --final 4.12 --marking "195/65R15" --mass "2050 lb"',
)
def pull_in_gear(
    torque: float,
    gear: float,
    final: float,
    efficiency: float,
    tyre: Tyre,
    mass: float,
    wheel_inertia: float,
    engine_inertia: float,
    resistance: float,
) -> dict[str, float]:
    """Force [N] and acceleration [m/s2] from engine torque [N m]."""
    if min(gear, final, mass) <= 0.0:
        raise ValueError("ratios and mass must be above zero")
    _, rolling = free_and_rolling(tyre)
    radius, overall = rolling / (2.0 * math.pi), gear * final
    wheel = torque * overall * efficiency
    equivalent = mass + (wheel_inertia + engine_inertia * overall**2) / radius**2
    return {
        "wheel_torque": wheel,
        "pull": wheel / radius,
        "acceleration": (wheel / radius - resistance) / equivalent,
        "equivalent_mass": equivalent,
    }


@register(
    "road",
    "Force and power to hold a speed: rolling, air, slope",
    inputs={
        "mass": MASS,
        "road_speed": Input("speed", "road speed", "0 km/h", "500 km/h"),
        "grade": Input("share", "slope, rise over run", "-40 %", "60 %", "0 %"),
        "rolling_resistance": Input("number", "rolling resistance coefficient", "0.006", "0.05", "0.014"),
        "drag_area": Input("area", "drag coefficient times frontal area", "0.2 m2", "3 m2", "0.7 m2"),
        "density": Input("density", "air density", "0.8 kg/m3", "1.4 kg/m3", "1.2 kg/m3"),
        "efficiency": _DRIVELINE,
        "acceleration": Input("acceleration", "acceleration wanted on top", "0 m/s2", "15 m/s2", "0 m/s2"),
    },
    outputs={
        "climbing": Output("force", "N", "slope", ("lbf",)),
        "rolling": Output("force", "N", "rolling"),
        "air": Output("force", "N", "air"),
        "inertia": Output("force", "N", "acceleration"),
        "total": Output("force", "N", "all of it at the tyres", ("lbf",)),
        "wheel_power": Output("power", "kW", "power at the wheels", ("hp",)),
        "engine_power": Output("power", "kW", "power at the engine", ("hp", "PS")),
    },
    formula="""
    climbing = mass * g * sin(atan(grade))
    rolling = rolling_resistance * mass * g * cos(atan(grade))
    air = density / 2 * drag_area * road_speed^2
    engine_power = total * road_speed / efficiency
    """,
    source="Newton's second law; drag by definition",
    slips=("slope in degrees written as per cent", "climbing at sea-level air density"),
    example='--mass "2050 lb" --road-speed "140 km/h" --grade "8 %"',
)
def road_load(
    mass: float,
    road_speed: float,
    grade: float,
    rolling_resistance: float,
    drag_area: float,
    density: float,
    efficiency: float,
    acceleration: float,
) -> dict[str, float]:
    """Forces [N] and powers [W] to hold a road speed [m/s] on a slope."""
    if not 0.0 < efficiency <= 1.0:
        raise ValueError("the efficiency lies between 0 and 100 %")
    angle = math.atan(grade)
    climbing = mass * STANDARD_GRAVITY * math.sin(angle)
    rolling = rolling_resistance * mass * STANDARD_GRAVITY * math.cos(angle)
    drag = 0.5 * density * drag_area * road_speed**2
    total = climbing + rolling + drag + mass * acceleration
    return {
        "climbing": climbing,
        "rolling": rolling,
        "air": drag,
        "inertia": mass * acceleration,
        "total": total,
        "wheel_power": total * road_speed,
        "engine_power": total * road_speed / efficiency,
    }


@register(
    "road",
    "Torque a clutch can hold",
    inputs={
        "friction": Input("number", "friction coefficient", "0.1", "0.6", "0.3"),
        "clamp": Input("force", "clamp force along the axle", "50 N", "30000 N"),
        "mean_radius": Input("length", "mean radius of the lining", "15 mm", "250 mm"),
        "faces": Input("count", "rubbing faces: 2 for one plate, 1 for a cone", "1", "20", "2"),
        "half_angle": Input("angle", "half angle of a cone; 90 deg for plates", "5 deg", "90 deg", "90 deg"),
        "torque": Input("torque", "engine torque, to see the margin", "1 N m", "3000 N m", ""),
    },
    outputs={
        "capacity": Output("torque", "N m", "torque it can hold", ("lbf ft",)),
        "margin": Output("share", "%", "capacity over torque, less one"),
    },
    formula="""
    capacity = friction * clamp * mean_radius * faces / sin(half_angle)
    margin = capacity / torque - 1
    """,
    source="Theory of Machines text, Ex. 10.34, p. 316 (cone); even wear",
    validity="cold lining, hot ones lose a third (from memory); 30 to 50 % of margin is common practice, no source",
    example='--clamp "6500 N" --mean-radius "85 mm" --torque "319 N m"',
)
def clutch_torque(
    friction: float, clamp: float, mean_radius: float, faces: float, half_angle: float, torque: float | None
) -> dict[str, float | None]:
    """Torque capacity [N m] of a plate or cone clutch."""
    if not 0.0 < half_angle <= 90.0:
        raise ValueError("the half angle lies between 0 and 90 degrees")
    capacity = friction * clamp * mean_radius * faces / math.sin(math.radians(half_angle))
    return {"capacity": capacity, "margin": None if not torque else capacity / torque - 1.0}
