"""Sums of the fuel itself: stoichiometry, figures, density.

Atom balance and heating values are those of ``spoolwright.gas.fuels``; nothing of it is written twice. The other
files of the topic (blends, mixture, power, supply, injectors, evaporation) register when this one is imported.
"""

from __future__ import annotations

from spoolwright.gas import fuels
from spoolwright.gas.air import DRY_AIR
from spoolwright.sums import (  # noqa: F401 - they register more of this topic
    fuel_blends,
    fuel_evaporation,
    fuel_injectors,
    fuel_mixture,
    fuel_power,
    fuel_supply,
)
from spoolwright.sums.fuel_figures import FIGURES, figures_of
from spoolwright.sums.mixtures import NAMED_FUEL
from spoolwright.sums.registry import Input, Output, register

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


@register(
    "fuel",
    "Figures of a named fuel: stoichiometric ratio, heating value, density",
    inputs={"fuel": NAMED_FUEL},
    outputs=FIGURES,
    formula="latent_heat_per_air = latent_heat / stoichiometric_ratio",
    source="US DOE Alternative Fuels Data Center property table; NASA TM-4513 heats of formation; EN 228 densities",
    validity="pump petrol varies: density 0.72 to 0.775 kg/L, stoichiometric ratio 14.4 to 14.8",
    example='--fuel "E85 winter"',
)
def fuel_properties(fuel: str) -> dict[str, float]:
    """Figures of a registered fuel in SI."""
    return figures_of(fuels.grade(fuel))


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
