"""Sums of the fuel itself: stoichiometry, mixture, blends, density.

Atom balance, mixing by mass and heating values are those of ``spoolwright.gas.fuels``; nothing of it is
written twice. What fuel costs in power is in ``fuel_power``, its supply in ``fuel_supply``, its evaporation in
``fuel_evaporation``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.gas import fuels
from spoolwright.gas.air import DRY_AIR
from spoolwright.sums import fuel_evaporation, fuel_power, fuel_supply  # noqa: F401 - they register more of this topic
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.mixtures import FUEL, NAMED_FUEL, STOICHIOMETRIC, stoichiometric_of
from spoolwright.sums.registry import Input, Output, register

_PARTS = ("ethanol", "methanol", "toluene", "isooctane", "heptane")
_DRY_OXYGEN = dict(DRY_AIR.mole_fractions)["O2"]


# ----------------------------------------------------------------------------- stoichiometry
@register(
    "fuel",
    "Stoichiometric ratio of a fuel from its atoms",
    inputs={
        "carbon": Input("number", "carbon atoms per molecule", "0", "30"),
        "hydrogen": Input("number", "hydrogen atoms per molecule", "0", "62"),
        "oxygen": Input("number", "oxygen atoms per molecule", "0", "4", "0"),
        "mixture": Input("mixture", "mixture to give an air-fuel ratio for", "0.5 lambda", "2 lambda", "1 lambda"),
        "air_oxygen": Input("share", "oxygen in dry air by mole", "20 %", "22 %", "20.9476 %"),
        "air_molar_mass": Input("number", "molar mass of the air, g/mol", "28", "29.5", "28.9654"),
    },
    outputs={
        "stoichiometric_ratio": Output("ratio", ":1", "mass of air that just burns unit mass of fuel"),
        "air_fuel_ratio": Output("ratio", ":1", "air-fuel ratio by mass at the stated mixture"),
        "molar_mass": Output("number", "1", "molar mass of the fuel, g/mol"),
        "moles_of_air": Output("number", "1", "moles of air per mole of fuel, stoichiometric"),
    },
    formula="""
    moles_of_air = (carbon + hydrogen/4 - oxygen/2) / air_oxygen
    stoichiometric_ratio = moles_of_air * air_molar_mass / molar_mass
    air_fuel_ratio = mixture * stoichiometric_ratio
    """,
    source="atom balance, any engine or thermodynamics text; dry air by ISO 2533:1975",
    validity='textbooks with "O2 + 3.76 N2" take 21.008 % of oxygen and 28.97 or 28.85 g/mol, and so differ by 0.3 %',
    example="--carbon 8 --hydrogen 18",
)
def stoichiometric_ratio_from_atoms(
    carbon: float, hydrogen: float, oxygen: float, mixture: float, air_oxygen: float, air_molar_mass: float
) -> dict[str, float]:
    """Ratios [1] from atom counts; the oxygen share by mole. Raises ValueError where nothing burns."""
    atoms = fuels.Fuel("by atoms", carbon, hydrogen, oxygen, 0.0, 0.0, 0.0, None, None, "gasoline", (), "the user")
    if min(carbon, hydrogen, oxygen) < 0.0 or atoms.oxygen_demand <= 0.0:
        raise ValueError("such a molecule has nothing to burn; check the atoms")
    if not 0.0 < air_oxygen < 1.0:
        raise ValueError("the oxygen share of air lies between 0 and 100 %")
    dry = fuels.stoichiometric_ratio(atoms)
    ratio = dry * (_DRY_OXYGEN / air_oxygen) * (air_molar_mass / DRY_AIR.M)
    return {
        "stoichiometric_ratio": ratio,
        "air_fuel_ratio": mixture * ratio,
        "molar_mass": atoms.M,
        "moles_of_air": ratio * atoms.M / air_molar_mass,
    }


def _figures(fuel: fuels.Fuel) -> dict[str, float]:
    return {
        "stoichiometric_ratio": fuels.stoichiometric_ratio(fuel),
        "heating_value": fuel.lhv,
        "latent_heat": fuel.latent_heat,
        "density": fuel.density,
        "energy_per_litre": fuel.lhv * fuel.density * 1e-3,
        "latent_heat_per_air": fuel.latent_heat / fuels.stoichiometric_ratio(fuel),
    }


_FIGURES = {
    "stoichiometric_ratio": Output("ratio", ":1", "mass of dry air that just burns unit mass of fuel"),
    "heating_value": Output("energy_per_mass", "MJ/kg", "lower heating value of the liquid", ("Btu/lb",)),
    "latent_heat": Output("energy_per_mass", "kJ/kg", "heat of vaporisation at 25 degC", ("Btu/lb",)),
    "density": Output("density", "kg/L", "liquid at 15 degC", ("lb/gal",)),
    "energy_per_litre": Output("energy", "MJ", "heating value of one litre", ("kWh",)),
    "latent_heat_per_air": Output("energy_per_mass", "kJ/kg", "heat of vaporisation per mass of air at lambda 1"),
}


@register(
    "fuel",
    "Figures of a named fuel: stoichiometric ratio, heating value, density",
    inputs={"fuel": NAMED_FUEL},
    outputs=_FIGURES,
    formula="latent_heat_per_air = latent_heat / stoichiometric_ratio",
    source="US DOE Alternative Fuels Data Center property table; NASA TM-4513 heats of formation; EN 228 densities",
    validity="pump petrol varies: density 0.72 to 0.775 kg/L, stoichiometric ratio 14.4 to 14.8",
    example='--fuel "E85 winter"',
)
def fuel_properties(fuel: str) -> dict[str, float]:
    """Figures of a registered fuel in SI."""
    return _figures(fuels.grade(fuel))


# ----------------------------------------------------------------------------- blends
def _blend_inputs(by: str) -> dict[str, Input]:
    shares = {
        part: Input("share", f"share of {part} in the finished fuel, by {by}", "0 %", "100 %", "0 %") for part in _PARTS
    }
    return {"base": Input("choice", "what the rest is", choices=tuple(fuels.GRADES), default="petrol 95 RON"), **shares}


_BLEND_OUTPUTS = {
    **_FIGURES,
    "alcohol_mass_share": Output("share", "%", "alcohol in the blend by mass"),
    "alcohol_volume_share": Output("share", "%", "alcohol in the blend by volume, volumes taken to add"),
}


def _shares(given: Mapping[str, float]) -> list[tuple[fuels.Fuel, float]]:
    total = sum(given.values())
    if any(share < 0.0 for share in given.values()) or total > 1.0 + 1e-9:
        raise ValueError(f"the shares sum to {100.0 * total:.1f} %; they lie in 0 to 100 % together")
    return [(fuels.GRADES[part], share) for part, share in given.items() if share > 0.0]


def _blended(base: str, given: Mapping[str, float], by_mass: bool) -> dict[str, float]:
    parts = _shares(given)
    rest = max(0.0, 1.0 - sum(share for _, share in parts))  # rounding only: sums above 1 are refused before
    if rest > 1e-9 or not parts:
        parts.append((fuels.grade(base), rest))
    mix = fuels.blend_by_mass if by_mass else fuels.blend
    blend = mix("blend", [fuel for fuel, _ in parts], [share for _, share in parts])
    mass = [share if by_mass else share * fuel.density for fuel, share in parts]
    alcohol = sum(m / fuel.density * fuel.alcohol for (fuel, _), m in zip(parts, mass, strict=True))
    whole = sum(m / fuel.density for (fuel, _), m in zip(parts, mass, strict=True))
    return {**_figures(blend), "alcohol_mass_share": blend.alcohol, "alcohol_volume_share": alcohol / whole}


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
def fuel_blend(
    base: str, ethanol: float, methanol: float, toluene: float, isooctane: float, heptane: float
) -> dict[str, float]:
    """Figures of a blend from shares [1] by liquid volume; the rest is ``base``."""
    given = dict(zip(_PARTS, (ethanol, methanol, toluene, isooctane, heptane), strict=True))
    return _blended(base, given, by_mass=False)


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
def fuel_blend_by_mass(
    base: str, ethanol: float, methanol: float, toluene: float, isooctane: float, heptane: float
) -> dict[str, float]:
    """Figures of a blend from shares [1] by mass; the rest is ``base``."""
    given = dict(zip(_PARTS, (ethanol, methanol, toluene, isooctane, heptane), strict=True))
    return _blended(base, given, by_mass=True)


@register(
    "fuel",
    "How much of one fuel to add to another for a target share",
    inputs={
        "in_tank": Input("volume", "what is there already", "0 L", "300 L"),
        "share_in_tank": Input("share", "share of the alcohol (or other part) in it", "0 %", "100 %"),
        "share_added": Input("share", "share in what is added", "0 %", "100 %"),
        "target_share": Input("share", "share wanted", "0 %", "100 %"),
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


@register(
    "fuel",
    "Fuel density at its temperature",
    inputs={
        "density": Input("density", "density where it is known", "0.60 kg/L", "1.2 kg/L"),
        "temperature": Input("temperature", "temperature of the fuel", "-30 degC", "90 degC"),
        "known_at": Input("temperature", "temperature of the known density", "0 degC", "30 degC", "15 degC"),
        "expansion": Input("expansion", "growth of volume", "0.5e-3 1/K", "1.5e-3 1/K", "0.95e-3 1/K"),
    },
    outputs={
        "density_hot": Output("density", "kg/L", "density at that temperature", ("lb/gal",)),
        "change": Output("share", "%", "change of mass in the same volume"),
    },
    formula="""
    density_hot = density / (1 + expansion * (temperature - known_at))
    change = density_hot / density - 1
    """,
    source="volume expansion; 0.95e-3 per K for petrol and 1.1e-3 for alcohols are from memory",
    example='--density "0.745 kg/L" --temperature "45 degC"',
)
def fuel_density_at_temperature(
    density: float, temperature: float, known_at: float, expansion: float
) -> dict[str, float]:
    """Density [kg/m3] at a temperature [K] from expansion [1/K]."""
    growth = 1.0 + expansion * (temperature - known_at)
    if growth <= 0.0:
        raise ValueError("the fuel would shrink to nothing; check the temperatures")
    return {"density_hot": density / growth, "change": 1.0 / growth - 1.0}


# ----------------------------------------------------------------------------- mixture
@register(
    "fuel",
    "Lambda, equivalence ratio and air-fuel ratio of one mixture",
    inputs={
        "mixture": Input("mixture", "the mixture", "0.5 lambda", "2 lambda", ""),
        "air_fuel_ratio": Input("ratio", "or its true air-fuel ratio by mass", "3", "25", ""),
        "fuel": FUEL,
        "stoichiometric_ratio": STOICHIOMETRIC,
    },
    outputs={
        "lambda": Output("number", "1", "air over stoichiometric air"),
        "phi": Output("number", "1", "fuel-air equivalence ratio, 1 / lambda"),
        "afr": Output("ratio", ":1", "true air-fuel ratio by mass with this fuel"),
        "fuel_air_ratio": Output("number", "1", "fuel over air by mass"),
        "rich_by": Output("share", "%", "fuel more (+) or less (-) than stoichiometric"),
        "stoichiometric_ratio": Output("ratio", ":1", "of the fuel"),
    },
    formula="""
    lambda = afr / stoichiometric_ratio
    phi = 1 / lambda
    afr = lambda * stoichiometric_ratio
    rich_by = phi - 1
    """,
    source="definition",
    slips=("an AFR compared between fuels", "richness taken as lambda: it is 1 / lambda"),
    question=lambda given, results: _lambda_question(results["lambda"]),
    example='--mixture "0.78 lambda" --fuel E10',
)
def mixture_conversion(
    mixture: float | None, air_fuel_ratio: float | None, fuel: str | None, stoichiometric_ratio: float | None
) -> dict[str, float]:
    """Mixture in every form from lambda or a true air-fuel ratio [1] and the fuel."""
    stoich = stoichiometric_of(fuel, stoichiometric_ratio)
    if one_of(mixture=mixture, air_fuel_ratio=air_fuel_ratio) == "mixture":
        assert mixture is not None
        lam = mixture
    else:
        assert air_fuel_ratio is not None
        lam = air_fuel_ratio / stoich
    return {
        "lambda": lam,
        "phi": 1.0 / lam,
        "afr": lam * stoich,
        "fuel_air_ratio": 1.0 / (lam * stoich),
        "rich_by": 1.0 / lam - 1.0,
        "stoichiometric_ratio": stoich,
    }


def _lambda_question(lam: float) -> list[str]:
    if 0.55 <= lam <= 1.6:
        return []
    side = "rich" if lam < 1.0 else "lean"
    return [f"lambda {lam:.2f} is too {side} to burn in an engine; does the air-fuel ratio belong to this fuel?"]


def _gauge_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = _lambda_question(results["lambda"])
    if abs(results["difference"]) > 0.2:
        questions.append(
            f"the gauge shows {results['gauge_afr']:.2f} and the fuel runs {results['true_afr']:.2f}: "
            "which of the two is the target written in? Lambda is the same on both"
        )
    if given["gauge_reading"] is not None and given["gauge_reading"] > 20.5:
        questions.append("20.9 on a gauge is free air or a sensor not ready: is the sensor hot and in the exhaust?")
    return questions


@register(
    "fuel",
    "A mixture gauge scaled for another fuel: what it shows, what is true",
    inputs={
        "mixture": Input("mixture", "lambda the sensor reads; or give gauge_reading", "0.5 lambda", "2 lambda", ""),
        "gauge_reading": Input("ratio", "air-fuel ratio the gauge shows; or give mixture", "4", "22", ""),
        "fuel": FUEL,
        "stoichiometric_ratio": STOICHIOMETRIC,
        "gauge_scale": Input("ratio", "stoichiometric ratio the gauge is scaled for", "6", "16", "14.7"),
    },
    outputs={
        "lambda": Output("number", "1", "what the sensor measures, whatever the fuel"),
        "gauge_afr": Output("ratio", ":1", "air-fuel ratio the gauge shows"),
        "true_afr": Output("ratio", ":1", "air-fuel ratio the engine runs"),
        "difference": Output("number", "1", "gauge less true"),
        "stoichiometric_ratio": Output("ratio", ":1", "of the fuel"),
    },
    formula="""
    gauge_afr = lambda * gauge_scale
    true_afr = lambda * stoichiometric_ratio
    difference = gauge_afr - true_afr
    """,
    source="definition; a wide-band sensor measures lambda",
    slips=("gauge reading on petrol scale taken as the true ratio of a fuel with alcohol",),
    question=_gauge_question,
    example='--mixture "0.78 lambda" --stoichiometric-ratio 14.1 --gauge-scale 14.7',
)
def gauge_afr(
    mixture: float | None,
    gauge_reading: float | None,
    fuel: str | None,
    stoichiometric_ratio: float | None,
    gauge_scale: float,
) -> dict[str, float]:
    """Gauge and true air-fuel ratio [1] from lambda or from the gauge."""
    stoich = stoichiometric_of(fuel, stoichiometric_ratio)
    if gauge_scale <= 0.0:
        raise ValueError("the gauge scale is above zero, for example 14.7")
    if one_of(mixture=mixture, gauge_reading=gauge_reading) == "mixture":
        assert mixture is not None
        lam = mixture
    else:
        assert gauge_reading is not None
        lam = gauge_reading / gauge_scale
    return {
        "lambda": lam,
        "gauge_afr": lam * gauge_scale,
        "true_afr": lam * stoich,
        "difference": lam * (gauge_scale - stoich),
        "stoichiometric_ratio": stoich,
    }


def _correction_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if abs(results["fuel_change"]) > 0.25:
        return [
            "more than 25 % at once: are both values of the same fuel and gauge, and was the engine firing cleanly?"
        ]
    return []


@register(
    "fuel",
    "Fuel change from measured to wanted mixture",
    inputs={
        "measured": Input("ratio", "measured mixture: lambda or air-fuel ratio, both of one kind", "0.5", "22"),
        "wanted": Input("ratio", "wanted mixture, of the same kind", "0.5", "22"),
    },
    outputs={
        "fuel_change": Output("share", "%", "fuel to add (+) or take out (-)"),
        "factor": Output("number", "1", "multiply pulse width or fuel table by this"),
    },
    formula="""
    factor = measured / wanted
    fuel_change = factor - 1
    """,
    source="definition, same air flow",
    slips=("lambda in one place and air-fuel ratio in the other", "mixture trusted while misfiring: it reads lean"),
    question=_correction_question,
    example="--measured 12.7:1 --wanted 11.6:1",
)
def mixture_correction(measured: float, wanted: float) -> dict[str, float]:
    """Change of fuel [1] at equal air. Raises ValueError when the two are of different kinds."""
    if min(measured, wanted) <= 0.0:
        raise ValueError("a mixture is above zero")
    if (measured < 2.0) != (wanted < 2.0):
        raise ValueError("one value is lambda and the other an air-fuel ratio; give both of one kind")
    return {"fuel_change": measured / wanted - 1.0, "factor": measured / wanted}
