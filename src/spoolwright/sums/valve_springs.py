"""Sums on valve springs: rate, force at seat and open, travel left, shims, boost against the seat, float."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.sums.registry import Input, Output, register

SEAT_FORCE = Input("force", "spring force, valve closed", "50 N", "1500 N", sheet="valves.intake.spring_seat_force")
RATE = Input(
    "stiffness", "spring rate, all springs of the valve", "5 N/mm", "150 N/mm", sheet="valves.intake.spring_rate"
)
HEIGHT = Input("length", "installed height", "20 mm", "70 mm")
LIFT = Input("length", "valve lift", "3 mm", "20 mm", sheet="valves.intake.max_lift")
VALVE_DIAMETER = Input("length", "valve head diameter", "15 mm", "65 mm", sheet="valves.intake.head_diameter")
STEM = Input("length", "stem diameter", "0 mm", "12 mm", "0 mm")


def _seat_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["net_force"] <= 0.0:
        return ["the pressure lifts the valve off its seat"]
    if results["share_left"] < 0.5:
        return [
            f"only {results['share_left']:.0%} of the seat force is left; bounce comes earlier, fit stiffer springs"
        ]
    return []


@register(
    "valves",
    "Seat force under boost or drive pressure",
    inputs={
        "seat_force": SEAT_FORCE,
        "valve_diameter": VALVE_DIAMETER,
        "port_pressure": Input(
            "pressure_gauge", "in the port: boost (intake), drive pressure (exhaust)", "0 kPa", "400 kPa"
        ),
        "cylinder_pressure": Input(
            "pressure_gauge", "in the cylinder at the same moment", "-100 kPa", "400 kPa", "0 kPa"
        ),
        "stem_diameter": replace(STEM, meaning="stem diameter, to take its section off; 0 counts the whole head"),
    },
    outputs={
        "pressure_force": Output("force", "N", "pressure pushes the valve open with", ("lbf",)),
        "net_force": Output("force", "N", "force left on the seat", ("lbf",)),
        "share_left": Output("share", "%", "of the spring's seat force"),
        "opening_pressure": Output("pressure_gauge", "kPa", "port pressure that lifts the valve", ("psi", "bar")),
        "spring_needed": Output("force", "N", "spring seat force that keeps the present force on the seat", ("lbf",)),
    },
    formula="""
    pressure_force = (port_pressure - cylinder_pressure) * pi/4 * (valve_diameter^2 - stem_diameter^2)
    net_force = seat_force - pressure_force
    opening_pressure = cylinder_pressure + seat_force / (pi/4 * (valve_diameter^2 - stem_diameter^2))
    spring_needed = seat_force + pressure_force
    """,
    source="plain statics, p*A",
    validity="Head diameter for the sealing diameter: on the safe side. Worst while the cylinder is empty.",
    slips=("psi and lbf mixed with mm", "two valves' force on one spring"),
    question=_seat_question,
    example='--seat-force "310 N" --valve-diameter "40 mm" --port-pressure "100 kPa"',
)
def valve_seat_force(
    seat_force: float, valve_diameter: float, port_pressure: float, cylinder_pressure: float, stem_diameter: float
) -> dict[str, float]:
    """Forces [N], gauge pressures [Pa]."""
    area = math.pi / 4.0 * (valve_diameter**2 - stem_diameter**2)
    push = (port_pressure - cylinder_pressure) * area
    return {
        "pressure_force": push,
        "net_force": seat_force - push,
        "share_left": (seat_force - push) / seat_force,
        "opening_pressure": cylinder_pressure + seat_force / area,
        "spring_needed": seat_force + push,
    }


@register(
    "valves",
    "Spring rate from two loads",
    inputs={
        "load_1": Input("force", "load at the first height", "0 N", "3000 N"),
        "height_1": Input("length", "first height", "10 mm", "120 mm"),
        "load_2": Input("force", "load at the second height", "0 N", "3000 N"),
        "height_2": Input("length", "second height", "10 mm", "120 mm"),
    },
    outputs={
        "rate": Output("stiffness", "N/mm", "spring rate", ("lbf/in",)),
        "free_length": Output("length", "mm", "free length of a straight spring", ("in",)),
    },
    formula="""
    rate = (load_2 - load_1) / (height_1 - height_2)
    free_length = height_1 + load_1/rate
    """,
    source="definition of a linear spring",
    validity="Conical and progressive springs have no single rate.",
    slips=("lift given for the second height",),
    example='--load-1 "310 N" --height-1 "40 mm" --load-2 "720 N" --height-2 "30 mm"',
)
def spring_rate(load_1: float, height_1: float, load_2: float, height_2: float) -> dict[str, float]:
    """Rate [N/m], length [m]. Raises ValueError unless the shorter spring carries more."""
    if height_1 == height_2:
        raise ValueError("the two heights must differ")
    rate = (load_2 - load_1) / (height_1 - height_2)
    if rate <= 0.0:
        raise ValueError("the shorter spring must carry more load; are loads and heights paired right?")
    return {"rate": rate, "free_length": height_1 + load_1 / rate}


@register(
    "valves",
    "Spring force at seat and at full lift",
    inputs={
        "rate": RATE,
        "installed_height": HEIGHT,
        "lift": LIFT,
        "free_length": Input("length", "free length", "25 mm", "120 mm", ""),
        "known_load": Input("force", "a load known from the tester, instead of the free length", "20 N", "3000 N", ""),
        "known_height": Input("length", "the height of that load", "15 mm", "100 mm", ""),
    },
    outputs={
        "seat_force": Output("force", "N", "valve closed", ("lbf",)),
        "open_force": Output("force", "N", "at full lift", ("lbf",)),
    },
    formula="""
    seat_force = rate * (free_length - installed_height)
    open_force = seat_force + rate*lift
    with free_length = known_height + known_load/rate where that is given
    """,
    source="definition of a linear spring",
    question=lambda given, results: (
        ["the spring is loose when the valve is closed; check heights"] if results["seat_force"] <= 0.0 else []
    ),
    example='--rate "41 N/mm" --installed-height "40 mm" --lift "10.5 mm" --free-length "47.6 mm"',
)
def spring_forces(
    rate: float,
    installed_height: float,
    lift: float,
    free_length: float | None,
    known_load: float | None,
    known_height: float | None,
) -> dict[str, float]:
    """Forces [N]. Raises ValueError unless free length, or a load with its height, is given."""
    known = known_load is not None and known_height is not None
    if (free_length is None) != known or (known_load is None) != (known_height is None):
        raise ValueError("give free_length, or known_load with known_height")
    if free_length is None:
        assert known_load is not None
        assert known_height is not None
        free_length = known_height + known_load / rate
    seat = rate * (free_length - installed_height)
    return {"seat_force": seat, "open_force": seat + rate * lift}


def _travel_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    asked = []
    if results["coil_gap"] < 1.0e-3:
        asked.append(
            f"{results['coil_gap'] * 1e3:.2f} mm to coil bind at full lift; 1 to 1.5 mm is usual (common practice)"
        )
    retainer = results["retainer_gap"]
    if retainer is not None and retainer < 1.5e-3:
        asked.append(f"{retainer * 1e3:.2f} mm from retainer to seal at full lift; 1.5 mm is usual (common practice)")
    return asked


@register(
    "valves",
    "Travel left: coil bind and retainer to seal",
    inputs={
        "installed_height": HEIGHT,
        "solid_height": Input("length", "spring pressed solid", "10 mm", "60 mm"),
        "lift": LIFT,
        "retainer_to_seal": Input("length", "retainer to seal or guide, valve closed", "3 mm", "30 mm", ""),
    },
    outputs={
        "coil_gap": Output("length", "mm", "left before coil bind at full lift", ("thou", "in")),
        "retainer_gap": Output("length", "mm", "left between retainer and seal at full lift", ("thou", "in")),
        "greatest_lift": Output("length", "mm", "lift that uses both up", ("in",)),
    },
    formula="""
    coil_gap = installed_height - lift - solid_height
    retainer_gap = retainer_to_seal - lift
    """,
    source="plain geometry",
    question=_travel_question,
    example='--installed-height "40 mm" --solid-height "26.5 mm" --lift "10.5 mm" --retainer-to-seal "13 mm"',
)
def spring_travel(
    installed_height: float, solid_height: float, lift: float, retainer_to_seal: float | None
) -> dict[str, float | None]:
    """Lengths [m]."""
    room = installed_height - solid_height
    return {
        "coil_gap": room - lift,
        "retainer_gap": None if retainer_to_seal is None else retainer_to_seal - lift,
        "greatest_lift": room if retainer_to_seal is None else min(room, retainer_to_seal),
    }


@register(
    "valves",
    "Shim under the spring for an installed height",
    inputs={
        "measured_height": replace(HEIGHT, meaning="installed height measured without shim", many=True),
        "wanted_height": replace(HEIGHT, meaning="installed height wanted"),
        "rate": replace(RATE, default=""),
        "shelf": Input("length", "shims on the shelf", "0.1 mm", "3 mm", "", many=True),
    },
    outputs={
        "shim": Output("length", "mm", "shim for each spring", ("thou",)),
        "height_left": Output("length", "mm", "installed height with it", ("in",)),
        "force_gained": Output("force", "N", "seat force it adds, where the rate is given", ("lbf",)),
    },
    formula="""
    shim = measured_height - wanted_height, or the nearest on the shelf
    force_gained = rate * shim
    """,
    source="plain geometry",
    example='--measured-height "40.6; 40.9; 40.4; 40.8 mm" --wanted-height "40 mm" --rate "41 N/mm"',
)
def spring_shim(
    measured_height: list[float], wanted_height: float, rate: float | None, shelf: list[float] | None
) -> dict[str, Any]:
    """Lengths [m], forces [N]. Raises ValueError where a spring stands too low already."""
    needed = [h - wanted_height for h in measured_height]
    if min(needed) < -1e-9:
        raise ValueError("a spring is shorter than wanted already; cut its seat or use another retainer")
    shims = needed if shelf is None else [min([0.0, *shelf], key=lambda s: abs(s - n)) for n in needed]
    return {
        "shim": shims,
        "height_left": [h - s for h, s in zip(measured_height, shims, strict=True)],
        "force_gained": None if rate is None else [rate * s for s in shims],
    }


@register(
    "valves",
    "Moving mass of the valve gear, counted at the valve",
    inputs={
        "valve": Input("mass", "valve with retainer and locks", "20 g", "300 g"),
        "spring": Input("mass", "springs; a third of it moves", "10 g", "300 g"),
        "cam_side": Input("mass", "pushrod, lifter: what moves on the cam's side", "0 g", "400 g", "0 g"),
        "rocker_ratio": Input("ratio", "valve lift over cam-side lift", "0.9", "2", "1"),
        "rocker_inertia": Input("inertia", "of the rocker about its shaft", "0 g cm2", "4000 g cm2", "0 g cm2"),
        "rocker_arm": Input("length", "rocker's arm on the valve's side", "10 mm", "80 mm", ""),
    },
    outputs={"effective_mass": Output("mass", "g", "moving mass at the valve", ("lb", "oz"))},
    formula="effective_mass = valve + spring/3 + cam_side/rocker_ratio^2 + rocker_inertia/rocker_arm^2",
    source="equal kinetic energy; standard textbook relation",
    slips=("cam-side mass multiplied by the ratio squared instead of divided",),
    example='--valve "118 g" --spring "90 g" --cam-side "95 g" --rocker-ratio 1.3',
)
def valve_gear_mass(
    valve: float, spring: float, cam_side: float, rocker_ratio: float, rocker_inertia: float, rocker_arm: float | None
) -> dict[str, float]:
    """Mass [kg]. Raises ValueError for an inertia without its arm."""
    if rocker_inertia > 0.0 and rocker_arm is None:
        raise ValueError("rocker_inertia needs rocker_arm")
    rocker = rocker_inertia / rocker_arm**2 if rocker_arm else 0.0
    return {"effective_mass": valve + spring / 3.0 + cam_side / rocker_ratio**2 + rocker}


def curvature(points: Sequence[tuple[float, float]]) -> float:
    """Second derivative at the middle of five points: the parabola that fits them best (least squares)."""
    middle = points[2][0]
    rows = [(x - middle, y) for x, y in points]
    n = float(len(rows))
    s1, s2, s3, s4 = (math.fsum(x**k for x, _ in rows) for k in (1, 2, 3, 4))
    t0, t1, t2 = (math.fsum(y * x**k for x, y in rows) for k in (0, 1, 2))
    # Normal equations of y = a + b x + c x^2, solved for c by Cramer's rule.
    whole = n * (s2 * s4 - s3**2) - s1 * (s1 * s4 - s3 * s2) + s2 * (s1 * s3 - s2**2)
    part = n * (s2 * t2 - s3 * t1) - s1 * (s1 * t2 - s2 * t1) + t0 * (s1 * s3 - s2**2)
    return 2.0 * part / whole


def _float_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["float_speed"] < given["engine_speed"] * 1.1 if given["engine_speed"] is not None else False:
        return ["less than 10 % above the engine speed wanted: springs surge and bounce before this ideal limit"]
    return []


@register(
    "valves",
    "Float speed: springs against the moving mass",
    inputs={
        "lift": Input(
            "curve",
            "valve lift by degrees, the nose at least",
            curve=("angle", "length"),
            sheet="valves.intake.lift_table:angle,lift",
        ),
        "degrees": Input("choice", "degrees of the table", choices=("crank", "cam"), default="crank"),
        "effective_mass": Input("mass", "moving mass at the valve", "30 g", "800 g", sheet="valves.intake.moving_mass"),
        "seat_force": SEAT_FORCE,
        "rate": RATE,
        "pressure_force": Input("force", "boost or drive pressure on the valve's back", "0 N", "800 N", "0 N"),
        "engine_speed": Input(
            "rotational_speed", "speed wanted, to compare", "1000 rpm", "14000 rpm", "", sheet="limits.max_speed"
        ),
    },
    outputs={
        "float_speed": Output("rotational_speed", "rpm", "engine speed where the valve leaves the cam"),
        "at_lift": Output("length", "mm", "lift where it first leaves", ("in",)),
        "spring_force": Output("force", "N", "force there, pressure taken off", ("lbf",)),
    },
    formula="""
    effective_mass * speed^2 * (-lift_curvature) = seat_force + rate*lift - pressure_force
    float_speed = least speed over the table that fulfils it
    """,
    source="Newton's second law on a rigid valve gear; any engine text",
    validity=(
        "Rigid gear, linear spring, curvature from a parabola through five points; springs surge some 10 to 20 % "
        "below it (from memory). Needs lift to 0.01 mm every 5 crank degrees."
    ),
    slips=("cam degrees taken for crank degrees: a factor of two in speed",),
    question=_float_question,
    caution="A valve that floats meets the piston.",
    example=(
        '--lift "-40 deg: 7.65 mm; -20 deg: 9.30 mm; 0 deg: 9.85 mm; 20 deg: 9.30 mm; 40 deg: 7.65 mm" '
        '--effective-mass "210 g" --seat-force "310 N" --rate "41 N/mm"'
    ),
)
def valve_float(
    lift: list[tuple[float, float]],
    degrees: str,
    effective_mass: float,
    seat_force: float,
    rate: float,
    pressure_force: float,
    engine_speed: float | None,
) -> dict[str, float]:
    """Speed [rad/s] of the crank, lift [m], force [N]. Raises ValueError when the table is no nose or too short."""
    if len(lift) < 5:
        raise ValueError("the lift table needs at least five points")
    per_degree = 2.0 if degrees == "cam" else 1.0
    found = []
    for n in range(2, len(lift) - 2):
        bend = curvature(lift[n - 2 : n + 3]) * (math.degrees(1.0) / per_degree) ** 2  # m per rad2 of crank
        force = seat_force + rate * lift[n][1] - pressure_force
        if bend < 0.0:
            if force <= 0.0:
                raise ValueError("the pressure is stronger than the springs: the valve never follows the cam")
            found.append((math.sqrt(force / (effective_mass * -bend)), lift[n][1], force))
    if not found:
        raise ValueError("the table shows no nose: the lift never bends downwards")
    speed, at, force = min(found)
    return {"float_speed": speed, "at_lift": at, "spring_force": force}
