"""Pressure losses of pipes: friction, bends, sudden changes of area, and the length at which friction chokes.

Darcy friction factor by Colebrook and White (White's form of the smooth limit included), solved;
bends by the formula of Rennels and Hudson (Pipe Flow, 2012) for rounded bends.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import log, log10, pi, radians, sin, sqrt
from typing import Any

from spoolwright.constants import R_AIR
from spoolwright.gas.air import viscosity
from spoolwright.sums.air_pressures import OUTSIDE_INPUTS, Place
from spoolwright.sums.air_weather import GAS_TEMPERATURE
from spoolwright.sums.alternatives import one_of, together
from spoolwright.sums.registry import Input, Output, register

GAS_FLOW = Input("mass_flow", "gas flow", "0.0005 kg/s", "3 kg/s")
INNER_DIAMETER = Input("length", "inner diameter", "8 mm", "200 mm")
PIPE_BORE = replace(INNER_DIAMETER, default="")
PIPE_GAUGE = Input("pressure_gauge", "gauge pressure in the pipe", "-60 kPa", "600 kPa", "")
PIPE_PRESSURE = Input(
    "pressure_absolute", "absolute pressure in the pipe; outside when neither is given", "40 kPa", "700 kPa", ""
)
GAMMA = Input("number", "ratio of heats of the gas", "1.2", "1.67", "1.33")


# ----------------------------------------------------------------------------- shared steps
def pipe_area(bore: float | None, outside_diameter: float | None, wall: float | None) -> float:
    """Inner area [m2] from the bore, or from outside diameter and wall [m]."""
    if together(outside_diameter=outside_diameter, wall=wall):
        assert outside_diameter is not None
        assert wall is not None
        inner: float | None = outside_diameter - 2.0 * wall
        one_of(bore=bore, outside_diameter=outside_diameter)
    else:
        inner = bore
    if inner is None:
        raise ValueError("give bore, or outside_diameter and wall")
    if inner <= 0.0:
        raise ValueError("nothing is left of the bore")
    return pi / 4.0 * inner**2


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor [1]: 64/Re below 2300, Colebrook and White above (solved to 1e-12).

    Between 2300 and 4000 neither holds and the turbulent value stands as the safe one.
    """
    if reynolds <= 0.0:
        raise ValueError("there is no flow")
    if reynolds < 2300.0:
        return 64.0 / reynolds
    x = -1.8 * log10(6.9 / reynolds + (relative_roughness / 3.7) ** 1.11)  # Haaland's explicit form starts it
    for _ in range(50):
        new = -2.0 * log10(relative_roughness / 3.7 + 2.51 * x / reynolds)
        if abs(new - x) < 1e-12 * x:
            break
        x = new
    return 1.0 / (x * x)


def bend_loss(angle: float, radius_over_bore: float, friction: float) -> float:
    """Loss coefficient [1] of a rounded bend of ``angle`` [deg]; Rennels and Hudson (2012), equation 15.3."""
    turn = radians(angle)
    half = sin(turn / 2.0)
    plain = friction * turn * radius_over_bore
    swirl = 6.6 * friction * (sqrt(half) + half) / float(radius_over_bore ** (4.0 * turn / pi))
    return plain + (0.10 + 2.4 * friction) * half + swirl


# ----------------------------------------------------------------------------- pipe with bends
def _loss_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = []
    if results["mach"] > 0.3:
        questions.append(f"Mach {results['mach']:.2f}: above 0.3 the constant-density loss reads too little")
    if results["loss"] > 0.1 * results["absolute"]:
        questions.append("the loss is more than a tenth of the pressure: reckon it in pieces or enlarge the pipe")
    if 2300.0 < results["reynolds"] < 4000.0:
        questions.append("between laminar and turbulent: the loss is uncertain by a third")
    return questions


@register(
    "exhaust",
    "Pressure loss of a pipe with bends",
    inputs={
        "mass_flow": GAS_FLOW,
        "bore": INNER_DIAMETER,
        "length": Input("length", "length along the middle line, bends included", "10 mm", "10 m"),
        "temperature": GAS_TEMPERATURE,
        "gauge": PIPE_GAUGE,
        "pressure": PIPE_PRESSURE,
        **OUTSIDE_INPUTS,
        "roughness": Input(
            "length", "height of the roughness: drawn tube 0.002 mm, steel 0.045 mm", "0 mm", "1 mm", "0.045 mm"
        ),
        "bends": Input("count", "number of bends", "0", "20", "0"),
        "bend_angle": Input("angle", "angle of each", "5 deg", "180 deg", "90 deg"),
        "bend_radius": Input("length", "radius of the middle line of a bend", "10 mm", "1 m", ""),
        "extra_loss": Input("number", "sum of further loss coefficients (entry 0.5, exit 1)", "0", "20", "0"),
    },
    outputs={
        "loss": Output("pressure_difference", "kPa", "pressure loss", ("psi", "inH2O", "inHg")),
        "velocity": Output("speed", "m/s", "gas speed"),
        "mach": Output("number", "1", "Mach number (gamma 1.33)"),
        "reynolds": Output("number", "1", "Reynolds number"),
        "friction": Output("number", "1", "Darcy friction factor"),
        "bend_coefficient": Output("number", "1", "loss coefficient of one bend"),
        "total_coefficient": Output("number", "1", "all losses in velocity heads"),
        "absolute": Output("pressure_absolute", "kPa", "pressure used"),
    },
    formula="""
    total_coefficient = friction * length / bore + bends * bend_coefficient + extra_loss
    loss = total_coefficient * density * velocity^2 / 2
    """,
    source="Darcy and Weisbach with Colebrook and White; bends: Rennels and Hudson, Pipe Flow (2012); viscosity "
    "of air by "
    "Sutherland, ISO 2533",
    validity="steady, constant density: small losses and Mach below 0.3; pulses raise the mean loss by half to twice",
    slips=("bend radius of the outer wall taken instead of the middle line", "gauge pressure taken as absolute"),
    question=_loss_question,
    example='--mass-flow "0.23 kg/s" --bore "63.5 mm" --length "2.5 m" --temperature "650 degC" --barometer "98 kPa" '
    '--bends 3 --bend-radius "95 mm" --extra-loss 1',
)
def pipe_loss(
    mass_flow: float,
    bore: float,
    length: float,
    temperature: float,
    place: Place,
    roughness: float,
    bends: float,
    bend_angle: float,
    bend_radius: float | None,
    extra_loss: float,
) -> dict[str, float]:
    """Pressure loss [Pa] of a round pipe with bends."""
    total = place.absolute()
    if bends > 0.0 and bend_radius is None:
        raise ValueError("bends need bend_radius beside them")
    density = total / (R_AIR * temperature)
    velocity = mass_flow / (density * pipe_area(bore, None, None))
    reynolds = density * velocity * bore / viscosity(temperature)
    friction = friction_factor(reynolds, roughness / bore)
    # The bend formula carries its own wall friction; the length along the bends is in ``length`` too.
    bend = 0.0
    if bend_radius is not None:
        ratio = bend_radius / bore
        bend = bend_loss(bend_angle, ratio, friction) - friction * radians(bend_angle) * ratio
    all_of_it = friction * length / bore + bends * bend + extra_loss
    return {
        "loss": all_of_it * 0.5 * density * velocity**2,
        "velocity": velocity,
        "mach": velocity / sqrt(1.33 * R_AIR * temperature),
        "reynolds": reynolds,
        "friction": friction,
        "bend_coefficient": bend,
        "total_coefficient": all_of_it,
        "absolute": total,
    }


@register(
    "exhaust",
    "Loss coefficient of a bend",
    inputs={
        "bore": INNER_DIAMETER,
        "bend_radius": Input("length", "radius of the middle line", "8 mm", "1 m"),
        "angle": Input("angle", "angle of the bend", "5 deg", "180 deg", "90 deg"),
        "friction": Input("number", "Darcy friction factor of the pipe", "0.008", "0.06", "0.02"),
    },
    outputs={
        "coefficient": Output("number", "1", "loss in velocity heads, the bend's own friction included"),
        "same_as_length": Output("length", "mm", "straight pipe of the same loss"),
    },
    formula="same_as_length = coefficient * bore / friction",
    source="Rennels and Hudson, Pipe Flow (2012), rounded bends",
    validity="radius at least half the bore",
    example='--bore "50 mm" --bend-radius "75 mm"',
)
def bend(bore: float, bend_radius: float, angle: float, friction: float) -> dict[str, float]:
    """Loss coefficient [1] of a rounded bend."""
    if bend_radius < 0.5 * bore:
        raise ValueError("the radius of the middle line cannot be below half the bore")
    found = bend_loss(angle, bend_radius / bore, friction)
    return {"coefficient": found, "same_as_length": found * bore / friction}


@register(
    "exhaust",
    "Darcy friction factor of a pipe",
    inputs={
        "reynolds": Input("number", "Reynolds number", "1000", "1e7"),
        "roughness": Input("length", "height of the roughness", "0 mm", "1 mm", "0 mm"),
        "bore": Input("length", "inner diameter, with a roughness", "8 mm", "200 mm", ""),
    },
    outputs={"friction": Output("number", "1", "Darcy friction factor (four times Fanning's)")},
    formula="1 / sqrt(friction) = -2 * log10(roughness / bore / 3.7 + 2.51 / (reynolds * sqrt(friction)))",
    source="Colebrook and White; laminar 64/Re",
    slips=("Fanning's factor (a quarter) taken for Darcy's",),
    example="--reynolds 100000",
)
def pipe_friction(reynolds: float, roughness: float, bore: float | None) -> dict[str, float]:
    """Darcy friction factor [1]."""
    if roughness > 0.0 and bore is None:
        raise ValueError("a roughness needs the bore beside it")
    return {"friction": friction_factor(reynolds, roughness / bore if bore else 0.0)}


@register(
    "exhaust",
    "Loss of a sudden enlargement",
    inputs={
        "small": Input("length", "bore before", "5 mm", "200 mm"),
        "large": Input("length", "bore behind", "5 mm", "400 mm"),
        "velocity": Input("speed", "gas speed before", "1 m/s", "400 m/s", ""),
        "density": Input("density", "gas density, with the speed", "0.1 kg/m3", "5 kg/m3", ""),
    },
    outputs={
        "coefficient": Output("number", "1", "loss in velocity heads of the speed before"),
        "loss": Output(
            "pressure_difference", "kPa", "total pressure lost, where speed and density are given", ("psi",)
        ),
    },
    formula="""
    coefficient = (1 - (small / large)^2)^2
    loss = coefficient * density * velocity^2 / 2
    """,
    source="Borda and Carnot; standard textbook relation",
    validity="constant density; a cone of 7 to 12 deg loses a fifth to a third of this",
    example='--small "30 mm" --large "40 mm"',
)
def sudden_enlargement(
    small: float, large: float, velocity: float | None, density: float | None
) -> dict[str, float | None]:
    """Loss coefficient [1] and loss [Pa] of a step to a larger bore."""
    if large < small:
        raise ValueError("the bore behind is smaller: that is a contraction")
    k = (1.0 - (small / large) ** 2) ** 2
    loss = None
    if together(velocity=velocity, density=density):
        loss = k * 0.5 * float(density or 0.0) * float(velocity or 0.0) ** 2
    return {"coefficient": k, "loss": loss}


# ----------------------------------------------------------------------------- friction and choking
def fanno_length(mach: float, gamma: float) -> float:
    """Darcy friction times length over bore from ``mach`` to the speed of sound, f L*/D [1]."""
    if mach <= 0.0:
        raise ValueError("the Mach number must be above zero")
    square = mach * mach
    swell = (gamma + 1.0) * square / (2.0 + (gamma - 1.0) * square)
    return (1.0 - square) / (gamma * square) + (gamma + 1.0) / (2.0 * gamma) * log(swell)


@register(
    "exhaust",
    "Pipe length in which friction brings the flow from one Mach number to another",
    inputs={
        "mach_start": Input("number", "Mach number at the start", "0.02", "0.99"),
        "mach_end": Input("number", "Mach number at the end; 1 is choked", "0.03", "1", "1"),
        "bore": Input("length", "inner diameter", "5 mm", "300 mm"),
        "friction": Input("number", "Darcy friction factor (four times Fanning's)", "0.008", "0.06"),
        "gamma": Input("number", "ratio of heats of the gas", "1.2", "1.67", "1.4"),
    },
    outputs={
        "length": Output("length", "m", "pipe length", ("ft",)),
        "friction_length_start": Output("number", "1", "f L*/D at the start"),
        "friction_length_end": Output("number", "1", "f L*/D at the end"),
        "pressure_ratio": Output("number", "1", "static pressure at the end over that at the start"),
        "temperature_ratio": Output("number", "1", "static temperature at the end over that at the start"),
    },
    formula="""
    friction_length_start = (1 - mach_start^2) / (gamma * mach_start^2) + (gamma + 1) / (2 * gamma) * ln((gamma + 1) * mach_start^2 / (2 + (gamma - 1) * mach_start^2))
    length = (friction_length_start - friction_length_end) * bore / friction
    """,  # noqa: E501
    source="adiabatic pipe flow with friction (Fanno); standard textbook relation (gas dynamics)",
    slips=("Fanning's factor (a quarter) taken for Darcy's",),
    example='--mach-start 0.1 --mach-end 0.5 --bore "20 mm" --friction 0.016',
)
def friction_choking(
    mach_start: float, mach_end: float, bore: float, friction: float, gamma: float
) -> dict[str, float]:
    """Length [m] of adiabatic pipe between two Mach numbers, both up to 1."""
    if not 0.0 < mach_start <= mach_end <= 1.0:
        raise ValueError("friction speeds a slow flow up: start below end, end at most 1")
    first, last = fanno_length(mach_start, gamma), fanno_length(mach_end, gamma)

    def heat(mach: float) -> float:
        return 2.0 + (gamma - 1.0) * mach * mach

    warm = heat(mach_start) / heat(mach_end)
    return {
        "length": (first - last) * bore / friction,
        "friction_length_start": first,
        "friction_length_end": last,
        "pressure_ratio": mach_start / mach_end * sqrt(warm),
        "temperature_ratio": warm,
    }
