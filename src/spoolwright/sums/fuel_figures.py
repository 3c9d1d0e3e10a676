"""The figures of a fuel that sums show: ratio, heating value, heat of vaporisation, density."""

from __future__ import annotations

from spoolwright.gas import fuels
from spoolwright.sums.registry import Output


def figures_of(fuel: fuels.Fuel) -> dict[str, float]:
    """The registered figures of ``fuel`` in SI: ratio [1], J/kg, kg/m3, J a litre."""
    return {
        "stoichiometric_ratio": fuels.stoichiometric_ratio(fuel),
        "heating_value": fuel.lhv,
        "latent_heat": fuel.latent_heat,
        "density": fuel.density,
        "energy_per_litre": fuel.lhv * fuel.density * 1e-3,
        "latent_heat_per_air": fuel.latent_heat / fuels.stoichiometric_ratio(fuel),
    }


FIGURES = {
    "stoichiometric_ratio": Output("ratio", ":1", "mass of dry air that just burns unit mass of fuel"),
    "heating_value": Output("energy_per_mass", "MJ/kg", "lower heating value of the liquid", ("Btu/lb",)),
    "latent_heat": Output("energy_per_mass", "kJ/kg", "heat of vaporisation at 25 degC", ("Btu/lb",)),
    "density": Output("density", "kg/L", "liquid at 15 degC", ("lb/gal",)),
    "energy_per_litre": Output("energy", "MJ", "heating value of one litre", ("kWh",)),
    "latent_heat_per_air": Output("energy_per_mass", "kJ/kg", "heat of vaporisation per mass of air at lambda 1"),
}
