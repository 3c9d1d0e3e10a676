"""Sums on parts that fit: press and shrink fits hot and cold, end play and its shims."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import combinations_with_replacement
from typing import Any

from spoolwright.sums import materials
from spoolwright.sums.measures import REFERENCE_TEMPERATURE, expansion, modulus, poisson
from spoolwright.sums.registry import Input, Output, register

DIAMETER = Input("length", "diameter of the fit", "3 mm", "250 mm")
INTERFERENCE = Input("length", "interference on the diameter, cold", "0.005 mm", "0.4 mm", condition="measured_at")


def _press_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    asked = []
    if results["interference_hot"] <= 0.0:
        asked.append("the fit is loose hot: seat, guide or liner can move or drop")
    if results["hoop_stress"] > 250e6:
        asked.append(f"{results['hoop_stress'] / 1e6:.0f} MPa in the outer part is more than light alloys bear")
    return asked


@register(
    "blueprint",
    "Press or shrink fit: interference, pressure and stress, hot",
    inputs={
        "diameter": DIAMETER,
        "interference": INTERFERENCE,
        "outer_outside": Input("length", "outside diameter of the outer part", "5 mm", "400 mm"),
        "inner_bore": Input("length", "bore of the inner part; 0 for solid", "0 mm", "240 mm", "0 mm"),
        "outer": expansion("the outer part"),
        "inner": expansion("the inner part"),
        "outer_temperature": Input("temperature", "outer part, hot", "-30 degC", "350 degC", "20 degC"),
        "inner_temperature": Input("temperature", "inner part, hot", "-30 degC", "500 degC", "20 degC"),
        "measured_at": REFERENCE_TEMPERATURE,
        "outer_modulus": modulus("the outer part"),
        "inner_modulus": modulus("the inner part"),
        "outer_poisson": poisson("the outer part"),
        "inner_poisson": poisson("the inner part"),
    },
    outputs={
        "interference_hot": Output("length", "mm", "interference hot; negative is loose", ("thou",)),
        "pressure": Output("stress", "MPa", "pressure between the parts, hot; 0 when loose", ("psi",)),
        "hoop_stress": Output("stress", "MPa", "greatest hoop stress, outer part at its bore", ("ksi",)),
        "loose_temperature": Output(
            "temperature", "degC", "both parts at this temperature: the grip is gone", ("degF",)
        ),
    },
    formula="""
    interference_hot = interference + diameter*(inner*dT_inner - outer*dT_outer)
    pressure = interference_hot/(diameter*((C_o + outer_poisson)/outer_modulus + (C_i - inner_poisson)/inner_modulus))
    hoop_stress = pressure * C_o
    with C_o = (outer_outside^2 + diameter^2)/(outer_outside^2 - diameter^2)
    with each dT from measured_at, C_i = (diameter^2 + inner_bore^2)/(diameter^2 - inner_bore^2)
    """,
    source="thick cylinders after Lame; any machine-design text. " + materials.EXPANSION_SOURCE,
    validity="Elastic, plain rings of equal length, roughness kept. No loose_temperature: heat tightens the fit.",
    slips=("radial interference for diametral", "seat hotter than the head around it: give both temperatures"),
    question=_press_question,
    example=(
        '--diameter "42 mm" --interference "0.10 mm" --outer-outside "62 mm" --inner-bore "34 mm" '
        '--outer "cast aluminium" --inner "ductile iron" --outer-modulus "aluminium" --outer-poisson "aluminium" '
        '--outer-temperature "200 degC" --inner-temperature "240 degC"'
    ),
)
def press_fit(
    diameter: float,
    interference: float,
    outer_outside: float,
    inner_bore: float,
    outer: float,
    inner: float,
    outer_temperature: float,
    inner_temperature: float,
    measured_at: float,
    outer_modulus: float,
    inner_modulus: float,
    outer_poisson: float,
    inner_poisson: float,
) -> dict[str, float | None]:
    """Lengths [m], stresses [Pa], temperature [K] or None. Raises ValueError when a wall has no thickness."""
    if not 0.0 <= inner_bore < diameter < outer_outside:
        raise ValueError("sizes must rise: inner_bore below diameter below outer_outside")
    hot = interference + diameter * (
        inner * (inner_temperature - measured_at) - outer * (outer_temperature - measured_at)
    )
    c_outer = (outer_outside**2 + diameter**2) / (outer_outside**2 - diameter**2)
    c_inner = (diameter**2 + inner_bore**2) / (diameter**2 - inner_bore**2)
    give = diameter * ((c_outer + outer_poisson) / outer_modulus + (c_inner - inner_poisson) / inner_modulus)
    pressure = hot / give if hot > 0.0 else 0.0
    loose = measured_at + interference / (diameter * (outer - inner)) if outer > inner else None
    return {
        "interference_hot": hot,
        "pressure": pressure,
        "hoop_stress": pressure * c_outer,
        "loose_temperature": loose,
    }


@register(
    "blueprint",
    "Heat the outer part, or chill the inner, to drop a fit together",
    inputs={
        "diameter": DIAMETER,
        "interference": INTERFERENCE,
        "slip": Input("length", "clearance wanted while it drops in", "0.01 mm", "0.3 mm", "0.05 mm"),
        "outer": expansion("the outer part"),
        "inner": expansion("the inner part", "steel"),
        "inner_temperature": Input("temperature", "inner part when dropped in", "-200 degC", "40 degC", "20 degC"),
        "measured_at": REFERENCE_TEMPERATURE,
    },
    outputs={"outer_temperature": Output("temperature", "degC", "heat the outer part to", ("degF",))},
    formula="""
    outer_temperature = measured_at + (interference + slip + inner_growth) / (diameter*outer)
    with inner_growth = diameter*inner*(inner_temperature - measured_at)
    """,
    source="linear thermal expansion; standard textbook relation. " + materials.EXPANSION_SOURCE,
    validity="Light-alloy heads lose temper above about 200 to 220 degC held long (common practice, no source).",
    question=lambda given, results: (
        ["above about 220 degC light-alloy castings lose their temper; chill the inner part as well"]
        if results["outer_temperature"] > 493.15
        else []
    ),
    caution="Hot parts burn, liquid nitrogen burns and suffocates: gloves, goggles, moving air.",
    example='--diameter "42 mm" --interference "0.10 mm" --outer "cast aluminium" --inner "ductile iron"',
)
def assembly_temperature(
    diameter: float,
    interference: float,
    slip: float,
    outer: float,
    inner: float,
    inner_temperature: float,
    measured_at: float,
) -> dict[str, float]:
    """Temperature [K]."""
    needed = interference + slip + diameter * inner * (inner_temperature - measured_at)
    return {"outer_temperature": measured_at + needed / (diameter * outer)}


def _shim_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    left = results["play_left"]
    asked = []
    if not given["least_play"] <= left <= given["most_play"]:
        asked.append(
            f"the nearest shelf size leaves {left * 1e3:.3f} mm, outside {given['least_play'] * 1e3:.3f} to "
            f"{given['most_play'] * 1e3:.3f} mm"
        )
    if results["shim_needed"] <= 0.0:
        asked.append("no shim is thin enough: there is less play than wanted already; check the stack and the reading")
    return asked


@register(
    "blueprint",
    "End-play shim: which to fit and the play left",
    inputs={
        "play": Input("length", "end play measured with the kept and trial shims in", "0 mm", "3 mm"),
        "trial_shims": Input("length", "shims that come out again after measuring", "0 mm", "3 mm", "0 mm", many=True),
        "wanted_play": Input("length", "end play wanted", "0.02 mm", "0.3 mm", "0.10 mm"),
        "least_play": Input("length", "least play allowed", "0.02 mm", "0.3 mm", "0.07 mm"),
        "most_play": Input("length", "most play allowed", "0.03 mm", "0.4 mm", "0.13 mm"),
        "shelf": Input("length", "sizes on the shelf", "0.02 mm", "3 mm", "", many=True),
        "shims_to_add": Input("count", "how many shims are fitted beside those kept", "1", "4", "1"),
    },
    outputs={
        "shim_needed": Output("length", "mm", "thickness to add to the shims kept", ("thou",)),
        "shims": Output("length", "mm", "to take from the shelf", ("thou",)),
        "shim_total": Output("length", "mm", "their thickness together", ("thou",)),
        "play_left": Output("length", "mm", "end play with them", ("thou",)),
    },
    formula="""
    shim_needed = play + sum(trial_shims) - wanted_play
    play_left = play + sum(trial_shims) - shim_total
    """,
    source="plain geometry; 0.07 to 0.13 mm for flat fours is from memory, common practice",
    validity=(
        "Shims that stay in are not named: play is measured with them. Without shelf sizes the exact one is used. "
        "The choice is the nearest to wanted_play that leaves play."
    ),
    slips=("play measured with two shims and the third's thickness not taken off", "gasket left out while measuring"),
    question=_shim_question,
    example='--play "0.41 mm" --wanted-play "0.10 mm" --shelf "0.24; 0.30; 0.32; 0.34; 0.36; 0.38 mm"',
)
def end_play_shim(
    play: float,
    trial_shims: list[float],
    wanted_play: float,
    least_play: float,
    most_play: float,
    shelf: list[float] | None,
    shims_to_add: float,
) -> dict[str, Any]:
    """Lengths [m]. Raises ValueError when nothing on the shelf leaves any play."""
    whole = play + math.fsum(trial_shims)
    needed = whole - wanted_play
    count = round(shims_to_add)
    if shelf is None:
        chosen: tuple[float, ...] = (needed / count,) * count
    else:
        packs = [p for p in combinations_with_replacement(sorted(shelf), count) if math.fsum(p) < whole]
        if not packs:
            raise ValueError("no pack of these shelf sizes leaves any play")
        chosen = min(packs, key=lambda pack: abs(math.fsum(pack) - needed))
    total = math.fsum(chosen)
    return {"shim_needed": needed, "shims": list(chosen), "shim_total": total, "play_left": whole - total}
