"""Sums on bolts: stretch, torque and angle to clamp, the thread's area, the joint they hold.

The bolt is an elastic bar of sections in series; the joint an elastic spring beside it. Torque knows clamp only
through friction, which varies by a quarter either way; stretch does not care for friction.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from spoolwright.sums import materials
from spoolwright.sums.measures import expansion, modulus
from spoolwright.sums.registry import Input, Output, register

STRETCH = Input("length", "bolt's stretch, tightened less free length", "0.02 mm", "1 mm")
CLAMP = Input("force", "clamp load of one bolt", "0.5 kN", "300 kN")
YIELD = Input("stress", "yield or proof strength", "150 MPa", "2000 MPa", "")
PITCH = Input("thread_pitch", "thread pitch; 1/24 in for 24 threads per inch", "0.35 mm", "4 mm")
NOMINAL = Input("length", "nominal thread diameter", "3 mm", "30 mm")
CAUTION = "A bolt stretched past yield, or too little, lets go. The bolt maker's figure wins over any sum."
_BOLT_EXAMPLE = (
    '--waist-diameter "0.270 in" --waist-length "1.10 in" --thread-length "0.45 in" --thread-area "0.0581 sq in" '
    '--elastic-modulus "30e6 psi" --yield-strength "190 ksi"'
)
_WAIST_STRESS = Output("stress", "MPa", "stress in the waist", ("ksi",))
_BOLT = {
    "waist_diameter": Input("length", "waist or shank diameter", "3 mm", "25 mm"),
    "waist_length": Input("length", "length at that diameter", "2 mm", "300 mm"),
    "shank_diameter": Input("length", "a second, thicker section", "3 mm", "30 mm", ""),
    "shank_length": Input("length", "length of the second section", "0 mm", "300 mm", "0 mm"),
    "thread_area": Input("area", "tensile stress area of the thread", "5 mm2", "600 mm2", ""),
    "thread_length": Input("length", "loaded thread, free and half of that in the nut", "0 mm", "60 mm", "0 mm"),
    "elastic_modulus": modulus("the bolt"),
    "yield_strength": YIELD,
}


class Bolt(NamedTuple):
    """A bolt as a bar of sections in series: diameters and lengths [m], thread area [m2], stresses [Pa]."""

    waist_diameter: float
    waist_length: float
    shank_diameter: float | None
    shank_length: float
    thread_area: float | None
    thread_length: float
    elastic_modulus: float
    yield_strength: float | None

    def waist_area(self) -> float:
        """Area of the waist [m2]."""
        return math.pi / 4.0 * self.waist_diameter**2

    def sections(self) -> tuple[float, float]:
        """Sum of length over area [1/m] and least area [m2]; raises ValueError where a section lacks its area."""
        parts = [(self.waist_length, self.waist_area())]
        if self.shank_length > 0.0:
            if self.shank_diameter is None:
                raise ValueError("shank_length needs shank_diameter")
            parts.append((self.shank_length, math.pi / 4.0 * self.shank_diameter**2))
        if self.thread_length > 0.0 and self.thread_area is None:
            raise ValueError("thread_length needs thread_area; the sum thread_area gives it")
        if self.thread_area is not None:
            parts.append((self.thread_length, self.thread_area))
        return math.fsum(length / area for length, area in parts), min(area for _, area in parts)


def _yield_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    share = results["share_of_yield"]
    if share is not None and share > 1.0:
        return [f"{share:.0%} of yield: the bolt does not spring back and this load is not reached; replace it"]
    if share is not None and share > 0.85:
        return [f"{share:.0%} of yield is above the 75 to 85 % usual for rod bolts (common practice)"]
    return []


@register(
    "blueprint",
    "Bolt stretch to clamp load",
    inputs={"stretch": STRETCH, **_BOLT},
    outputs={
        "clamp_load": Output("force", "kN", "pull in the bolt", ("lbf",)),
        "waist_stress": _WAIST_STRESS,
        "peak_stress": Output("stress", "MPa", "stress in the least section", ("ksi",)),
        "share_of_yield": Output("share", "%", "waist stress over yield"),
        "stiffness": Output("stiffness", "N/mm", "of the bolt", ("lbf/in",)),
    },
    formula="""
    clamp_load = stretch*elastic_modulus / (waist_length/(pi/4*waist_diameter^2) + thread_length/thread_area + s)
    waist_stress = clamp_load / (pi/4*waist_diameter^2)
    share_of_yield = waist_stress / yield_strength
    with s = shank_length/(pi/4*shank_diameter^2)
    """,
    source="elastic bar in series; standard textbook relation",
    validity="Below yield. The head and the nut give a little too; the maker's own stretch figure includes that.",
    slips=("whole length taken at the waist's diameter", "free length measured hot"),
    question=_yield_question,
    caution=CAUTION,
    example='--stretch "6.0 thou" ' + _BOLT_EXAMPLE,
)
def bolt_stretch_clamp(stretch: float, bolt: Bolt) -> dict[str, float | None]:
    """Force [N], stresses [Pa], share [1] or None, stiffness [N/m]."""
    slender, least = bolt.sections()
    load = stretch * bolt.elastic_modulus / slender
    waist = load / bolt.waist_area()
    return {
        "clamp_load": load,
        "waist_stress": waist,
        "peak_stress": load / least,
        "share_of_yield": None if bolt.yield_strength is None else waist / bolt.yield_strength,
        "stiffness": bolt.elastic_modulus / slender,
    }


@register(
    "blueprint",
    "Bolt stretch for a clamp load, or for a share of yield",
    inputs={
        "clamp_load": replace(CLAMP, default=""),
        "share_of_yield": Input("share", "share of yield wanted in the waist, instead of a load", "30 %", "95 %", ""),
        **_BOLT,
    },
    outputs={
        "stretch": Output("length", "mm", "stretch to give", ("thou",)),
        "load": Output("force", "kN", "clamp load with it", ("lbf",)),
        "waist_stress": _WAIST_STRESS,
    },
    formula="""
    stretch = load/elastic_modulus * (waist_length/(pi/4*waist_diameter^2) + thread_length/thread_area + s)
    waist_stress = load / (pi/4*waist_diameter^2)
    with s = shank_length/(pi/4*shank_diameter^2)
    """,
    source="elastic bar in series; standard textbook relation",
    caution=CAUTION,
    example='--share-of-yield "75 %" ' + _BOLT_EXAMPLE,
)
def bolt_stretch_for_clamp(clamp_load: float | None, share_of_yield: float | None, bolt: Bolt) -> dict[str, float]:
    """Stretch [m], force [N], stress [Pa]. Raises ValueError unless exactly one aim is given."""
    if (clamp_load is None) == (share_of_yield is None):
        raise ValueError("give clamp_load or share_of_yield, exactly one of them")
    area = bolt.waist_area()
    if clamp_load is None:
        assert share_of_yield is not None
        if bolt.yield_strength is None:
            raise ValueError("share_of_yield needs yield_strength")
        clamp_load = share_of_yield * bolt.yield_strength * area
    slender, _ = bolt.sections()
    return {
        "stretch": clamp_load * slender / bolt.elastic_modulus,
        "load": clamp_load,
        "waist_stress": clamp_load / area,
    }


_CORE = {"metric": 0.9382, "unified": 0.9743}  # pitches off the nominal diameter: ISO 898-1, ASME B1.1


def _form_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    tenths = given["pitch"] / 0.05e-3
    if given["form"] == "metric" and abs(tenths - round(tenths)) > 0.02:
        return ["this pitch is no metric one; write form unified for a thread counted per inch"]
    return []


@register(
    "blueprint",
    "Tensile stress area of a thread",
    inputs={
        "nominal_diameter": NOMINAL,
        "pitch": PITCH,
        "form": Input("choice", "thread form", choices=("metric", "unified"), default="metric"),
    },
    outputs={"area": Output("area", "mm2", "tensile stress area", ("in2",))},
    formula="area = pi/4 * (nominal_diameter - c*pitch)^2, c = 0.9382 metric, 0.9743 unified",
    source="ISO 898-1 (metric) and ASME B1.1 (unified), from memory",
    slips=("threads per inch taken for the pitch",),
    question=_form_question,
    example='--nominal-diameter "10 mm" --pitch "1.5 mm"',
)
def thread_area(nominal_diameter: float, pitch: float, form: str) -> dict[str, float]:
    """Area [m2] from lengths [m]. Raises ValueError for a pitch too coarse for the diameter."""
    core = nominal_diameter - _CORE[form] * pitch
    if core <= 0.0:
        raise ValueError("the pitch is too coarse for this diameter")
    return {"area": math.pi / 4.0 * core**2}


NUT_FACTOR = Input(
    "ratio",
    "nut factor K; a word or a figure",
    "0.08",
    "0.35",
    "dry",
    named={"dry": "0.20", "oiled": "0.15", "moly": "0.11", "plated": "0.16"},
)


@register(
    "blueprint",
    "Torque for a clamp load, or clamp load of a torque",
    inputs={
        "nominal_diameter": NOMINAL,
        "clamp_load": replace(CLAMP, default=""),
        "torque": Input("torque", "tightening torque", "1 N m", "800 N m", ""),
        "nut_factor": NUT_FACTOR,
        "scatter": Input("share", "scatter of the friction, either way", "5 %", "40 %", "25 %"),
    },
    outputs={
        "torque_needed": Output("torque", "N m", "tightening torque", ("lbf ft", "lbf in")),
        "clamp": Output("force", "kN", "clamp load", ("lbf",)),
        "clamp_low": Output("force", "kN", "clamp load with friction at its worst", ("lbf",)),
        "clamp_high": Output("force", "kN", "clamp load with friction at its least", ("lbf",)),
    },
    formula="""
    torque_needed = nut_factor * nominal_diameter * clamp
    clamp_low = clamp / (1 + scatter)
    clamp_high = clamp / (1 - scatter)
    """,
    source="T = K D F; any machine-design text. K 0.20 dry is the textbook's, the other words are common practice",
    validity="Clamp from torque is good to about 25 %; rod bolts are tightened by stretch or angle for that reason.",
    slips=("a dry torque used on oiled threads: a third too much clamp",),
    caution=CAUTION,
    example='--nominal-diameter "3/4 in" --clamp-load "24131 lbf"',
)
def bolt_torque(
    nominal_diameter: float, clamp_load: float | None, torque: float | None, nut_factor: float, scatter: float
) -> dict[str, float]:
    """Torque [N m] and forces [N]. Raises ValueError unless exactly one of clamp_load and torque is given."""
    if (clamp_load is None) == (torque is None):
        raise ValueError("give clamp_load or torque, exactly one of them")
    if not 0.0 <= scatter < 1.0:
        raise ValueError("the scatter is a share from 0 to below 1")
    if torque is None:
        assert clamp_load is not None
        torque = nut_factor * nominal_diameter * clamp_load
    clamp = torque / (nut_factor * nominal_diameter)
    return {
        "torque_needed": torque,
        "clamp": clamp,
        "clamp_low": clamp / (1.0 + scatter),
        "clamp_high": clamp / (1.0 - scatter),
    }


@register(
    "blueprint",
    "Preload at a share of proof",
    inputs={
        "thread_area": replace(_BOLT["thread_area"], default=None),
        "proof_strength": replace(YIELD, default=None, meaning="proof strength of the bolt's grade"),
        "share": Input("share", "share of proof", "50 %", "90 %", "75 %"),
    },
    outputs={"clamp_load": Output("force", "kN", "clamp load", ("lbf",))},
    formula="clamp_load = share * proof_strength * thread_area",
    source="machine-design texts: 75 % of proof for reused bolts, 85 to 90 % for permanent ones",
    caution=CAUTION,
    example='--thread-area "0.334 in2" --proof-strength "85 ksi" --share "85 %"',
)
def bolt_preload(thread_area: float, proof_strength: float, share: float) -> dict[str, float]:
    """Force [N]."""
    return {"clamp_load": share * proof_strength * thread_area}


@register(
    "blueprint",
    "Turn of the nut for a clamp load",
    inputs={
        "clamp_load": CLAMP,
        "length": Input("length", "stretched length of the bolt", "5 mm", "400 mm"),
        "area": Input("area", "its area; the stress area where it is threaded", "5 mm2", "700 mm2"),
        "pitch": PITCH,
        "elastic_modulus": modulus("the bolt"),
        "joint_stiffness": Input("stiffness", "of the clamped parts, where known", "10 kN/mm", "20000 kN/mm", ""),
    },
    outputs={
        "stretch": Output("length", "mm", "stretch of the bolt", ("thou",)),
        "angle": Output("angle", "deg", "turn from snug, the joint's give included where known"),
    },
    formula="""
    stretch = clamp_load*length / (area*elastic_modulus)
    angle = 360 * (stretch + clamp_load/joint_stiffness) / pitch
    """,
    source="elastic bar and the thread's helix; any machine-design text",
    validity="From snug: faces closed, no slack left. Without joint_stiffness the bolt's stretch alone is counted.",
    slips=("counting from finger tight",),
    caution=CAUTION,
    example=(
        '--clamp-load "24131 lbf" --length "5 in" --area "0.334 in2" --pitch "1/10 in" --elastic-modulus "30e6 psi"'
    ),
)
def nut_turn(
    clamp_load: float, length: float, area: float, pitch: float, elastic_modulus: float, joint_stiffness: float | None
) -> dict[str, float]:
    """Stretch [m] and angle [deg]."""
    stretch = clamp_load * length / (area * elastic_modulus)
    give = 0.0 if joint_stiffness is None else clamp_load / joint_stiffness
    return {"stretch": stretch, "angle": 360.0 * (stretch + give) / pitch}


def _joint_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["clamp_left"] <= 0.0:
        return ["the joint opens under this load: the bolt carries all of it, and every pulse of it"]
    return []


@register(
    "blueprint",
    "Bolted joint: joint constant, bolt force, separation",
    inputs={
        "bolt_stiffness": Input("stiffness", "of the bolt", "10 kN/mm", "5000 kN/mm"),
        "joint_stiffness": Input("stiffness", "of the clamped parts", "10 kN/mm", "20000 kN/mm"),
        "preload": CLAMP,
        "external_load": Input("force", "load that pulls the joint apart, for one bolt", "0 kN", "300 kN", "0 kN"),
    },
    outputs={
        "joint_constant": Output("ratio", "1", "share of the load the bolt feels"),
        "bolt_force": Output("force", "kN", "pull in the bolt under load", ("lbf",)),
        "clamp_left": Output("force", "kN", "clamp left between the faces", ("lbf",)),
        "separating_load": Output("force", "kN", "load that opens the joint", ("lbf",)),
    },
    formula="""
    joint_constant = bolt_stiffness / (bolt_stiffness + joint_stiffness)
    bolt_force = preload + joint_constant*external_load
    clamp_left = preload - (1 - joint_constant)*external_load
    separating_load = preload / (1 - joint_constant)
    """,
    source="preloaded joint; any machine-design text",
    validity="Until the joint opens, then the bolt carries the whole load.",
    slips=("adding the whole load to the preload",),
    question=_joint_question,
    example=('--bolt-stiffness "500 kN/mm" --joint-stiffness "1500 kN/mm" --preload "40 kN" --external-load "20 kN"'),
)
def bolted_joint(
    bolt_stiffness: float, joint_stiffness: float, preload: float, external_load: float
) -> dict[str, float]:
    """Share [1] and forces [N]; past separation the bolt force is the load itself."""
    c = bolt_stiffness / (bolt_stiffness + joint_stiffness)
    left = preload - (1.0 - c) * external_load
    return {
        "joint_constant": c,
        "bolt_force": preload + c * external_load if left > 0.0 else external_load,
        "clamp_left": max(left, 0.0),
        "separating_load": preload / (1.0 - c),
    }


@register(
    "blueprint",
    "Clamp load hot: studs and the parts they hold grow differently",
    inputs={
        "preload": Input("force", "clamp load of one stud, cold", "0.5 kN", "300 kN"),
        "length": Input("length", "clamped length", "10 mm", "300 mm"),
        "bolt_stiffness": Input("stiffness", "of the stud", "10 kN/mm", "5000 kN/mm"),
        "joint_stiffness": Input("stiffness", "of the clamped parts for one stud", "10 kN/mm", "20000 kN/mm"),
        "stud": expansion("the stud", "steel"),
        "parts": expansion("head and barrel (mean by length)"),
        "stud_rise": Input("temperature_difference", "stud above the tightening temperature", "-50 K", "250 K"),
        "parts_rise": Input("temperature_difference", "head and barrel above it", "-50 K", "300 K"),
    },
    outputs={
        "growth_difference": Output("length", "mm", "parts outgrow the stud by", ("thou",)),
        "preload_hot": Output("force", "kN", "clamp load hot", ("lbf",)),
        "change": Output("force", "kN", "gained (+) or lost (-)", ("lbf",)),
    },
    formula="""
    growth_difference = length*(parts*parts_rise - stud*stud_rise)
    change = growth_difference / (1/bolt_stiffness + 1/joint_stiffness)
    preload_hot = preload + change
    """,
    source="thermal expansion and two springs in series; standard textbook relations. " + materials.EXPANSION_SOURCE,
    validity="Elastic: a stud pulled into a soft case, or past yield, comes back with less.",
    slips=("light-alloy barrels raise the clamp when hot and may pull the stud out; iron ones on hot studs lose it",),
    question=lambda given, results: ["the clamp is gone hot: the joint leaks"] if results["preload_hot"] <= 0.0 else [],
    example=(
        '--preload "22 kN" --length "160 mm" --bolt-stiffness "60 kN/mm" --joint-stiffness "400 kN/mm" '
        '--parts "cast aluminium" --stud-rise "70 K" --parts-rise "130 K"'
    ),
)
def clamp_hot(
    preload: float,
    length: float,
    bolt_stiffness: float,
    joint_stiffness: float,
    stud: float,
    parts: float,
    stud_rise: float,
    parts_rise: float,
) -> dict[str, float]:
    """Length [m] and forces [N]."""
    difference = length * (parts * parts_rise - stud * stud_rise)
    change = difference / (1.0 / bolt_stiffness + 1.0 / joint_stiffness)
    return {"growth_difference": difference, "preload_hot": preload + change, "change": change}
