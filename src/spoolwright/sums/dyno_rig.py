"""Sums of the dyno itself: torque from inertia, run-down, roller speeds, drum inertia.

Newton's second law for rotation and the energy of a turning mass. The drum drives nothing
but itself; engine speed and drum speed are tied by gears without slip.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.constants import STANDARD_GRAVITY
from spoolwright.sums.alternatives import one_of, together
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.strength_discs import disc_inertia

ROLLER = "Keep clear of roller, straps and driveshaft; guards on, no one in line with the roller."
INERTIA = Input("inertia", "inertia of roller and all that turns with it", "0.05 kg m2", "2000 kg m2")
DRUM_SPEED = Input("rotational_speed", "roller speed", "10 rpm", "8000 rpm", "")
ENGINE_SPEED = Input("rotational_speed", "engine speed at the same moment", "300 rpm", "15000 rpm", "")


def acceleration_from(
    acceleration: float | None, speed_before: float | None, speed_after: float | None, time: float | None
) -> float:
    """Angular acceleration [rad/s2], stated as such [rpm/s] or by two speeds [rad/s] and a time [s]."""
    if acceleration is not None:
        if speed_before is not None or speed_after is not None or time is not None:
            raise ValueError("give acceleration, or speed_before, speed_after and time, not both")
        return acceleration * math.pi / 30.0
    if not together(speed_before=speed_before, speed_after=speed_after, time=time):
        raise ValueError("give acceleration, or speed_before, speed_after and time")
    assert speed_before is not None
    assert speed_after is not None
    assert time is not None
    if time <= 0.0:
        raise ValueError("the time must be above zero")
    return (speed_after - speed_before) / time


_ACCELERATION = {
    "acceleration": Input(
        "number", "change of roller speed, rpm per second; or two speeds and time", "0.1", "5000", ""
    ),
    "speed_before": Input("rotational_speed", "roller speed at the start", "0 rpm", "8000 rpm", ""),
    "speed_after": Input("rotational_speed", "roller speed at the end", "0 rpm", "8000 rpm", ""),
    "time": Input("time", "time between them", "0.01 s", "600 s", ""),
}


def _inertia_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if given["time"] is not None and 0.0 < given["time"] < 0.1:
        return ["less than 0.1 s between the speeds: noise rules there, fit or smooth over about 0.3 s first"]
    return []


@register(
    "dyno",
    "Torque and power of an inertia dyno",
    inputs={
        "inertia": INERTIA,
        **_ACCELERATION,
        "drum_speed": DRUM_SPEED,
        "engine_speed": ENGINE_SPEED,
        "loss_torque": Input("torque", "run-down loss at the roller, added back", "0 N m", "500 N m", "0 N m"),
        "engine_inertia": Input(
            "inertia", "engine, clutch and gearbox at engine speed", "0 kg m2", "5 kg m2", "0 kg m2"
        ),
    },
    outputs={
        "angular_acceleration": Output("number", "1", "roller, rad/s2"),
        "drum_torque": Output("torque", "N m", "torque on the roller", ("lbf ft",)),
        "power": Output("power", "kW", "power into the roller, losses added (where drum_speed is known)", ("hp", "PS")),
        "engine_torque": Output("torque", "N m", "at the engine (where both speeds are known)", ("lbf ft",)),
        "ratio": Output("ratio", "1", "engine speed over roller speed"),
    },
    formula="""
    drum_torque = inertia * angular_acceleration + loss_torque
    power = drum_torque * drum_speed
    engine_torque = drum_torque * drum_speed / engine_speed + engine_inertia * angular_acceleration * ratio
    """,
    source="Newton's second law for rotation; power by definition",
    validity="no tyre slip; wheel figures unless losses are added",
    slips=("raw neighbouring samples differentiated: noise of tens of N m", "inertia constant of another roller"),
    question=_inertia_question,
    caution=ROLLER,
    example='--inertia "3.5 kg m2" --acceleration 381.97 --drum-speed "1500 rpm"',
)
def torque_by_inertia(
    inertia: float,
    acceleration: float | None,
    speed_before: float | None,
    speed_after: float | None,
    time: float | None,
    drum_speed: float | None,
    engine_speed: float | None,
    loss_torque: float,
    engine_inertia: float,
) -> dict[str, float | None]:
    """Torques [N m] and power [W] from inertia [kg m2] and angular acceleration."""
    alpha = acceleration_from(acceleration, speed_before, speed_after, time)
    if drum_speed is None and speed_before is not None and speed_after is not None:
        drum_speed = 0.5 * (speed_before + speed_after)
    torque = inertia * alpha + loss_torque
    engine, ratio = None, None
    if drum_speed and engine_speed:
        ratio = engine_speed / drum_speed
        engine = torque / ratio + engine_inertia * alpha * ratio
    return {
        "angular_acceleration": alpha,
        "drum_torque": torque,
        "power": None if drum_speed is None else torque * drum_speed,
        "engine_torque": engine,
        "ratio": ratio,
    }


@register(
    "dyno",
    "Run-down loss of a roller",
    inputs={
        "inertia": INERTIA,
        "speed_before": Input("rotational_speed", "roller speed at the start", "1 rpm", "8000 rpm"),
        "speed_after": Input("rotational_speed", "roller speed at the end", "0 rpm", "8000 rpm"),
        "time": Input("time", "time between them, coasting", "0.1 s", "600 s"),
    },
    outputs={
        "loss_torque": Output("torque", "N m", "mean torque that slows it", ("lbf ft",)),
        "loss_power": Output("power", "kW", "power lost at the mean speed", ("hp",)),
        "mean_speed": Output("rotational_speed", "rpm", "mean roller speed"),
        "energy_lost": Output("energy", "kJ", "energy given up"),
    },
    formula="""
    loss_torque = inertia * (speed_before - speed_after) / time
    loss_power = loss_torque * mean_speed
    """,
    source="Newton's second law for rotation",
    validity="small steps of speed; clutch pressed or gear out, and the same tyre load and temperature as in the pull",
    slips=("run-down with the engine still braking",),
    caution=ROLLER,
    example='--inertia "85 kg m2" --speed-before "1200 rpm" --speed-after "1000 rpm" --time "21 s"',
)
def run_down_loss(inertia: float, speed_before: float, speed_after: float, time: float) -> dict[str, float]:
    """Loss torque [N m] and power [W] of a coasting roller."""
    if speed_before <= speed_after:
        raise ValueError("a roller that coasts gets slower: speed_before must be the higher one")
    alpha = acceleration_from(None, speed_before, speed_after, time)
    mean = 0.5 * (speed_before + speed_after)
    return {
        "loss_torque": -inertia * alpha,
        "loss_power": -inertia * alpha * mean,
        "mean_speed": mean,
        "energy_lost": 0.5 * inertia * (speed_before**2 - speed_after**2),
    }


def _wheel_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if given["loss_share"] is not None:
        return [
            "a fixed share is not how losses go: was there no run-down at this speed? Keep the wheel figure beside it"
        ]
    share = results["loss_of_flywheel"]
    if not 0.04 <= share <= 0.35:
        return [f"losses of {100 * share:.0f} % of the flywheel power are unusual: run-down at the same roller speed?"]
    return []


@register(
    "dyno",
    "Wheel power to flywheel power",
    inputs={
        "wheel_power": Input("power", "power at the wheels", "1 hp", "2500 hp"),
        "run_down_power": Input(
            "power", "loss from the run-down at the same speed; or give loss_share", "0.1 hp", "300 hp", ""
        ),
        "loss_share": Input("share", "guessed loss as a share of flywheel power", "5 %", "35 %", ""),
        "engine_speed": ENGINE_SPEED,
    },
    outputs={
        "wheel_power": Output("power", "hp", "as measured", ("kW",)),
        "flywheel_power": Output("power", "hp", "with losses added", ("kW", "PS")),
        "loss_power": Output("power", "hp", "losses", ("kW",)),
        "loss_of_flywheel": Output("share", "%", "losses as a share of flywheel power"),
        "flywheel_torque": Output("torque", "N m", "torque at the flywheel (where engine_speed is given)", ("lbf ft",)),
    },
    formula="""
    flywheel_power = wheel_power + run_down_power
    or flywheel_power = wheel_power / (1 - loss_share)
    """,
    source="energy balance; a fixed share is common practice, no source",
    slips=("share of wheel power taken for share of flywheel power",),
    question=_wheel_question,
    example='--wheel-power "205 hp" --run-down-power "31 hp" --engine-speed "6200 rpm"',
)
def wheel_to_flywheel(
    wheel_power: float, run_down_power: float | None, loss_share: float | None, engine_speed: float | None
) -> dict[str, float | None]:
    """Flywheel power [W] from wheel power and losses."""
    if one_of(run_down_power=run_down_power, loss_share=loss_share) == "loss_share":
        assert loss_share is not None
        if not 0.0 <= loss_share < 1.0:
            raise ValueError("the share lost lies between 0 and 100 %")
        flywheel = wheel_power / (1.0 - loss_share)
    else:
        assert run_down_power is not None
        flywheel = wheel_power + run_down_power
    return {
        "wheel_power": wheel_power,
        "flywheel_power": flywheel,
        "loss_power": flywheel - wheel_power,
        "loss_of_flywheel": 1.0 - wheel_power / flywheel,
        "flywheel_torque": flywheel / engine_speed if engine_speed else None,
    }


# ----------------------------------------------------------------------------- roller and turning masses
@register(
    "dyno",
    "Roller speed, road speed, force and torque",
    inputs={
        "drum_diameter": Input("length", "roller diameter; or give drum_circumference", "100 mm", "2500 mm", ""),
        "drum_circumference": Input("length", "roller circumference; or give drum_diameter", "300 mm", "8000 mm", ""),
        "drum_speed": Input("rotational_speed", "roller speed; or give road_speed", "1 rpm", "8000 rpm", ""),
        "road_speed": Input("speed", "speed of the surface; or give drum_speed", "1 km/h", "450 km/h", ""),
        "torque": Input("torque", "torque at the roller; or give power or force", "1 N m", "20000 N m", ""),
        "power": Input("power", "power at the roller", "0.1 kW", "2000 kW", ""),
        "force": Input("force", "force at the surface", "1 N", "50000 N", ""),
        "engine_speed": ENGINE_SPEED,
    },
    outputs={
        "drum_speed": Output("rotational_speed", "rpm", "roller speed"),
        "drum_radius": Output("length", "mm", "roller radius", ("in",)),
        "road_speed": Output("speed", "km/h", "speed of the surface", ("mph",)),
        "force": Output("force", "N", "force at the surface", ("lbf",)),
        "torque": Output("torque", "N m", "torque at the roller", ("lbf ft",)),
        "power": Output("power", "kW", "power at the roller", ("hp",)),
        "engine_torque": Output("torque", "N m", "at the engine, losses not counted", ("lbf ft",)),
    },
    formula="""
    road_speed = drum_speed * drum_radius
    force = torque / drum_radius
    power = torque * drum_speed = force * road_speed
    engine_torque = power / engine_speed
    """,
    source="definitions",
    example='--drum-diameter "650 mm" --drum-speed "1200 rpm" --torque "900 N m" --engine-speed "5000 rpm"',
)
def roller_conversion(
    drum_diameter: float | None,
    drum_circumference: float | None,
    drum_speed: float | None,
    road_speed: float | None,
    torque: float | None,
    power: float | None,
    force: float | None,
    engine_speed: float | None,
) -> dict[str, float | None]:
    """Speeds [rad/s, m/s], force [N], torque [N m], power [W] of a roller."""
    if one_of(drum_diameter=drum_diameter, drum_circumference=drum_circumference) == "drum_circumference":
        assert drum_circumference is not None
        radius = drum_circumference / (2.0 * math.pi)
    else:
        assert drum_diameter is not None
        radius = drum_diameter / 2.0
    if radius <= 0.0:
        raise ValueError("the roller's size must be above zero")
    if one_of(drum_speed=drum_speed, road_speed=road_speed) == "road_speed":
        assert road_speed is not None
        drum_speed = road_speed / radius
    assert drum_speed is not None
    which = one_of(torque=torque, power=power, force=force)
    if which == "force":
        assert force is not None
        torque = force * radius
    elif which == "power":
        assert power is not None
        torque = power / drum_speed
    assert torque is not None
    return {
        "drum_speed": drum_speed,
        "drum_radius": radius,
        "road_speed": drum_speed * radius,
        "force": torque / radius,
        "torque": torque,
        "power": torque * drum_speed,
        "engine_torque": torque * drum_speed / engine_speed if engine_speed else None,
    }


@register(
    "dyno",
    "Inertia of a drum, disc or flywheel from its dimensions or from mass and radius of gyration",
    inputs={
        "outer_diameter": Input("length", "outside diameter; or give mass and gyration", "20 mm", "2500 mm", ""),
        "inner_diameter": Input("length", "inside diameter, 0 for solid", "0 mm", "2480 mm", "0 mm"),
        "length": Input("length", "length or thickness, with outer_diameter", "2 mm", "4000 mm", ""),
        "density": Input("density", "density (steel 7850, aluminium 2700)", "1000 kg/m3", "12000 kg/m3", "7850 kg/m3"),
        "mass": Input("mass", "mass, with gyration", "0.05 kg", "5000 kg", ""),
        "gyration": Input("length", "radius of gyration, with mass", "5 mm", "1500 mm", ""),
        "surface_radius": Input("length", "radius at which the mass equivalent is wanted", "20 mm", "1500 mm", ""),
    },
    outputs={
        "inertia": Output("inertia", "kg m2", "moment of inertia about the axle", ("lb ft2",)),
        "mass": Output("mass", "kg", "mass", ("lb",)),
        "gyration_radius": Output("length", "mm", "radius of gyration", ("in",)),
        "equivalent_mass": Output("mass", "kg", "mass a car would need for the same push, at surface_radius", ("lb",)),
    },
    formula="""
    mass = density * pi/4 * (outer_diameter^2 - inner_diameter^2) * length
    inertia = mass * (outer_diameter^2 + inner_diameter^2) / 8
    or inertia = mass * gyration^2
    equivalent_mass = inertia / surface_radius^2
    """,
    source="solid geometry, any mechanics text",
    slips=("end plates and shaft left out", "diameter for radius"),
    example='--outer-diameter "650 mm" --inner-diameter "600 mm" --length "1200 mm"',
)
def drum_inertia(
    outer_diameter: float | None,
    inner_diameter: float,
    length: float | None,
    density: float,
    mass: float | None,
    gyration: float | None,
    surface_radius: float | None,
) -> dict[str, float | None]:
    """Inertia [kg m2] and mass [kg] of a hollow cylinder or of a mass with its radius of gyration [m]."""
    if one_of(outer_diameter=outer_diameter, mass=mass) == "mass":
        if gyration is None:
            raise ValueError("mass needs gyration beside it")
        assert mass is not None
        inertia = mass * gyration**2
    else:
        if length is None:
            raise ValueError("outer_diameter needs length beside it")
        assert outer_diameter is not None
        disc = disc_inertia(outer_diameter, inner_diameter, length, density)
        inertia, mass = disc["inertia"], disc["mass"]
        surface_radius = surface_radius or outer_diameter / 2.0
    return {
        "inertia": inertia,
        "mass": mass,
        "gyration_radius": math.sqrt(inertia / mass),
        "equivalent_mass": inertia / surface_radius**2 if surface_radius else None,
    }


@register(
    "dyno",
    "Spinning up a mass with a torque: time and energy",
    inputs={
        "inertia": Input("inertia", "inertia", "0.0001 kg m2", "2000 kg m2"),
        "torque": Input("torque", "torque that speeds it up", "0.01 N m", "20000 N m"),
        "speed_before": Input("rotational_speed", "speed at the start", "0 rpm", "15000 rpm", "0 rpm"),
        "speed_after": Input("rotational_speed", "speed reached", "1 rpm", "200000 rpm"),
    },
    outputs={
        "time": Output("time", "s", "time it takes"),
        "energy": Output("energy", "J", "energy gained by the mass", ("kJ",)),
        "energy_lost_in_slip": Output("energy", "J", "turned to heat in a clutch driven at the final speed", ("kJ",)),
    },
    formula="""
    time = inertia * (speed_after - speed_before) / torque
    energy = inertia * (speed_after^2 - speed_before^2) / 2
    energy_lost_in_slip = torque * (speed_after - speed_before) * time / 2
    """,
    source="Newton's second law for rotation; Theory of Machines text, Ex. 10.34, p. 316 for the slip",
    example='--inertia "0.30375 kg m2" --torque "7.8 N m" --speed-after "1000 rpm"',
)
def spin_up(inertia: float, torque: float, speed_before: float, speed_after: float) -> dict[str, float]:
    """Time [s] and energies [J] of an even spin-up."""
    if torque <= 0.0 or speed_after < speed_before:
        raise ValueError("the torque must be above zero and the speed must rise")
    time = inertia * (speed_after - speed_before) / torque
    return {
        "time": time,
        "energy": 0.5 * inertia * (speed_after**2 - speed_before**2),
        "energy_lost_in_slip": 0.5 * torque * (speed_after - speed_before) * time,
    }


@register(
    "dyno",
    "Brake torque and power from a load cell or weight on an arm",
    inputs={
        "force": Input("force", "force at the end of the arm; or give mass", "1 N", "20000 N", ""),
        "mass": Input("mass", "weight shown or hung, in kg or lb; or give force", "0.1 kg", "2000 kg", ""),
        "arm": Input("length", "length of the arm", "50 mm", "3000 mm"),
        "speed": Input("rotational_speed", "speed of the brake", "100 rpm", "15000 rpm"),
        "ratio": Input("ratio", "engine speed over brake speed", "0.1", "20", "1"),
    },
    outputs={
        "torque": Output("torque", "N m", "torque at the brake", ("lbf ft", "kgf m")),
        "power": Output("power", "kW", "power absorbed", ("hp", "PS")),
        "engine_torque": Output("torque", "N m", "torque at the engine, losses not counted", ("lbf ft",)),
    },
    formula="""
    torque = force * arm (force = mass * 9.80665 m/s2)
    power = torque * speed
    engine_torque = torque / ratio
    """,
    source="definition",
    slips=("kilograms taken for newtons: a factor of 9.8", "arm measured to the wrong hole"),
    caution=ROLLER,
    example='--mass "32.5 kg" --arm "716 mm" --speed "5000 rpm"',
)
def brake_torque(force: float | None, mass: float | None, arm: float, speed: float, ratio: float) -> dict[str, float]:
    """Torque [N m] and power [W] of a brake with an arm [m]."""
    if one_of(force=force, mass=mass) == "mass":
        assert mass is not None
        force = mass * STANDARD_GRAVITY
    assert force is not None
    torque = force * arm
    return {"torque": torque, "power": torque * speed, "engine_torque": torque / ratio}
