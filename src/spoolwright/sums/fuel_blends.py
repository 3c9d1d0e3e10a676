"""Fuels mixed: blends by volume and mass, a target share, water and alcohol for spraying, octane numbers.

Mixing by mass is that of ``spoolwright.gas.fuels``; volumes are taken to add.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from spoolwright.gas import fuels
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.fuel_figures import FIGURES, figures_of
from spoolwright.sums.registry import Input, Output, register


class Parts(NamedTuple):
    """Shares [1] of the finished fuel, by volume or by mass."""

    ethanol: float
    methanol: float
    toluene: float
    isooctane: float
    heptane: float


def _blend_inputs(by: str) -> dict[str, Input]:
    def share(part: str) -> Input:
        return Input("share", f"share of {part} in the finished fuel, by {by}", "0 %", "100 %", "0 %")

    shares = {part: share(part) for part in Parts._fields}
    return {"base": Input("choice", "what the rest is", choices=tuple(fuels.GRADES), default="petrol 95 RON"), **shares}


_BLEND_OUTPUTS = {
    **FIGURES,
    "alcohol_mass_share": Output("share", "%", "alcohol in the blend by mass"),
    "alcohol_volume_share": Output("share", "%", "alcohol in the blend by volume, volumes taken to add"),
}


def _shares(given: Parts) -> list[tuple[fuels.Fuel, float]]:
    total = sum(given)
    if any(share < 0.0 for share in given) or total > 1.0 + 1e-9:
        raise ValueError(f"the shares sum to {100.0 * total:.1f} %; they lie in 0 to 100 % together")
    return [(fuels.GRADES[part], share) for part, share in given._asdict().items() if share > 0.0]


def _blended(base: str, given: Parts, by_mass: bool) -> dict[str, float]:
    parts = _shares(given)
    rest = max(0.0, 1.0 - sum(share for _, share in parts))  # rounding only: sums above 1 are refused before
    if rest > 1e-9 or not parts:
        parts.append((fuels.grade(base), rest))
    mix = fuels.blend_by_mass if by_mass else fuels.blend
    blend = mix("blend", [fuel for fuel, _ in parts], [share for _, share in parts])
    mass = [share if by_mass else share * fuel.density for fuel, share in parts]
    alcohol = sum(m / fuel.density * fuel.alcohol for (fuel, _), m in zip(parts, mass, strict=True))
    whole = sum(m / fuel.density for (fuel, _), m in zip(parts, mass, strict=True))
    return {**figures_of(blend), "alcohol_mass_share": blend.alcohol, "alcohol_volume_share": alcohol / whole}


def _blend_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if given["ethanol"] == 0.0 and given["methanol"] == 0.0 and given["base"].startswith("E"):
        return []
    if given["base"].startswith("E") and results["alcohol_mass_share"] > 0.0:
        return [f"the rest is {given['base']}, which holds ethanol of its own: is that meant?"]
    return []


@register(
    "fuel",
    "Blend by volume: stoichiometric ratio, heating value, density",
    inputs=_blend_inputs("volume"),
    outputs=_BLEND_OUTPUTS,
    formula="""
    density = sum(share * that of each part)
    stoichiometric_ratio = sum(mass share * ratio of each part)
    heating_value = sum(mass share * heating value of each part)
    """,
    source="mixing by mass, volumes taken to add (petrol with alcohol grows by up to 0.3 %, from memory)",
    slips=("volume shares used as mass shares", "E85 sold in winter holds about 70 % of ethanol"),
    question=_blend_question,
    example='--base "petrol 95 RON" --ethanol "30 %"',
)
def fuel_blend(base: str, parts: Parts) -> dict[str, float]:
    """Figures of a blend from shares [1] by liquid volume; the rest is ``base``."""
    return _blended(base, parts, by_mass=False)


@register(
    "fuel",
    "Blend by mass: stoichiometric ratio, heating value, density",
    inputs=_blend_inputs("mass"),
    outputs=_BLEND_OUTPUTS,
    formula="""
    stoichiometric_ratio = sum(mass share * ratio of each part)
    heating_value = sum(mass share * heating value of each part)
    """,
    source="mixing by mass",
    slips=("mass shares used as volume shares",),
    question=_blend_question,
    example='--base isooctane --toluene "70 %"',
)
def fuel_blend_by_mass(base: str, parts: Parts) -> dict[str, float]:
    """Figures of a blend from shares [1] by mass; the rest is ``base``."""
    return _blended(base, parts, by_mass=True)


@register(
    "fuel",
    "How much of one fuel to add to another for a target share",
    inputs={
        "in_tank": Input("volume", "what is there already", "0 L", "300 L"),
        "share_in_tank": Input("share", "share of the alcohol (or other part) in it", "0 %", "100 %", part=True),
        "share_added": Input("share", "share in what is added", "0 %", "100 %", part=True),
        "target_share": Input("share", "share wanted", "0 %", "100 %", part=True),
    },
    outputs={
        "add": Output("volume", "L", "volume to add", ("gal",)),
        "total": Output("volume", "L", "volume afterwards", ("gal",)),
    },
    formula="""
    add = in_tank * (target_share - share_in_tank) / (share_added - target_share)
    total = in_tank + add
    """,
    source="balance of volumes, taken to add",
    slips=("the pump's E85 taken as 85 % in winter",),
    caution="Alcohol attacks some hoses, floats and seals; fuel vapour burns. Blend outdoors, earthed.",
    example='--in-tank "20 L" --share-in-tank "10 %" --share-added "85 %" --target-share "30 %"',
)
def blend_to_target(in_tank: float, share_in_tank: float, share_added: float, target_share: float) -> dict[str, float]:
    """Volumes [m3] from shares [1]. Raises ValueError when the target cannot be reached by adding."""
    low, high = sorted((share_in_tank, share_added))
    if not low <= target_share <= high or target_share == share_added != share_in_tank:
        raise ValueError("the target share does not lie between that of the tank and that of what is added")
    if share_added == share_in_tank:
        return {"add": 0.0, "total": in_tank}
    add = in_tank * (target_share - share_in_tank) / (share_added - target_share)
    return {"add": add, "total": in_tank + add}


@register(
    "fuel",
    "Water and methanol (or ethanol) for spraying: volumes, mass share, heat it can take",
    inputs={
        "total": Input("volume", "volume to mix", "0.1 L", "100 L"),
        "alcohol": Input("choice", "which alcohol", choices=("methanol", "ethanol"), default="methanol"),
        "volume_share": Input("share", "share of alcohol by volume; or give mass_share", "0 %", "100 %", ""),
        "mass_share": Input("share", "share of alcohol by mass; or give volume_share", "0 %", "100 %", ""),
    },
    outputs={
        "alcohol_volume": Output("volume", "L", "alcohol to measure out"),
        "water_volume": Output("volume", "L", "water to measure out"),
        "alcohol_share_by_volume": Output("share", "%", "alcohol by volume"),
        "alcohol_share_by_mass": Output("share", "%", "alcohol by mass"),
        "density": Output("density", "kg/L", "mean density, shrinkage left out"),
        "latent_heat": Output("energy_per_mass", "kJ/kg", "heat that evaporates the mix"),
    },
    formula="""
    alcohol_volume = alcohol_share_by_volume * total
    water_volume = total - alcohol_volume
    """,
    source="volumes taken to add (the mix shrinks by up to 4 %, from memory); water 998 kg/m3, 2442 kJ/kg at 25 degC",
    slips=("50 % by volume is 44 % of methanol by mass",),
    caution="Methanol burns without a visible flame and is poison through the skin.",
    example='--total "5 L" --volume-share "50 %"',
)
def water_methanol_mix(
    total: float, alcohol: str, volume_share: float | None, mass_share: float | None
) -> dict[str, float]:
    """Volumes [m3] of an alcohol-water mix from the share by volume or by mass [1]."""
    fuel, rho_water, latent_water = fuels.grade(alcohol), 998.0, 2.442e6
    if one_of(volume_share=volume_share, mass_share=mass_share) == "mass_share":
        assert mass_share is not None
        by_volume = mass_share / fuel.density / (mass_share / fuel.density + (1.0 - mass_share) / rho_water)
    else:
        assert volume_share is not None
        by_volume = volume_share
    if not 0.0 <= by_volume <= 1.0:
        raise ValueError("the share of alcohol lies between 0 and 100 %")
    density = by_volume * fuel.density + (1.0 - by_volume) * rho_water
    by_mass = by_volume * fuel.density / density
    return {
        "alcohol_volume": by_volume * total,
        "water_volume": (1.0 - by_volume) * total,
        "alcohol_share_by_volume": by_volume,
        "alcohol_share_by_mass": by_mass,
        "density": density,
        "latent_heat": by_mass * fuel.latent_heat + (1.0 - by_mass) * latent_water,
    }


def _octane_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    spread = given["research"] - given["motor"]
    if spread < 0.0:
        return ["the motor number is above the research number: have they been swapped?"]
    return []


@register(
    "fuel",
    "Octane: pump number from research and motor number, and of two fuels mixed by volume",
    inputs={
        "research": Input("number", "research octane number (RON)", "80", "120"),
        "motor": Input("number", "motor octane number (MON)", "75", "115"),
        "other_share": Input("share", "share of a second fuel by volume", "0 %", "100 %", "0 %"),
        "other_research": Input("number", "its blending research number", "70", "140", ""),
        "other_motor": Input("number", "its blending motor number", "70", "130", ""),
    },
    outputs={
        "research_number": Output("number", "1", "RON of the mix"),
        "motor_number": Output("number", "1", "MON of the mix"),
        "pump_number": Output("number", "1", "(R+M)/2 of the mix"),
        "sensitivity": Output("number", "1", "RON less MON"),
    },
    formula="pump_number = (research_number + motor_number) / 2",
    source="definition of (R+M)/2; linear by volume with blending numbers is the refiner's rule",
    validity="linear mixing holds only near the share at which the blending numbers were measured",
    slips=("a 98 RON label compared with a 93 (R+M)/2 label: they are about the same fuel",),
    question=_octane_question,
    example="--research 95 --motor 85",
)
def octane_blend(
    research: float, motor: float, other_share: float, other_research: float | None, other_motor: float | None
) -> dict[str, float]:
    """Octane numbers [1] of one fuel or of two mixed by volume."""
    if other_share != 0.0 and (other_research is None or other_motor is None):
        raise ValueError("the second fuel needs other_research and other_motor")
    shares = [1.0 - other_share, other_share]
    r = fuels.octane_by_volume([research, other_research or 0.0], shares)
    m = fuels.octane_by_volume([motor, other_motor or 0.0], shares)
    return {"research_number": r, "motor_number": m, "pump_number": 0.5 * (r + m), "sensitivity": r - m}
