"""Fuel the engine may burn at top speed and highest boost, before anything is run.

The air is an estimate: volumetric efficiency between ``LEAST_VE`` and ``MOST_VE`` of the charge in the manifold.
A supply that fails even the low end is a ``stop``; one that is short of the high end is worth a watch.
"""

from __future__ import annotations

from dataclasses import dataclass

from spoolwright.findings.asking import PRACTICE, Given, altitude, ask, at, boost, carried, charge_temperature, taken
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer

LEAST_VE, MOST_VE = "75 %", "95 %"
CONSUMPTION = "0.60 lb/(hp h)"  # for the power beside the fuel; the fuel does not depend on it


@dataclass(frozen=True, slots=True)
class Demand:
    """Fuel by mass [kg/s] as a given for other sums, the fuel's density, and the sums that led there."""

    fuel: Given
    density: Given
    steps: tuple[Answer, ...]

    @property
    def flow(self) -> float:
        return float(self.fuel.value.value)


def figures(sheet: Sheet) -> tuple[Given, Given, tuple[Answer, ...]] | None:
    """Stoichiometric ratio and density of the fuel; None for a grade that is not known."""
    if sheet.has("fuel.figures"):
        density = at(sheet, "fuel.figures.density")
        if sheet.has("fuel.figures.stoichiometric_ratio"):
            return at(sheet, "fuel.figures.stoichiometric_ratio"), density, ()
        atoms = ask(
            sheet,
            "stoichiometric_ratio_from_atoms",
            hydrogen=at(sheet, "fuel.figures.hydrogen_to_carbon"),
            oxygen=at(sheet, "fuel.figures.oxygen_to_carbon"),
            carbon=taken("1", "ratios are for each atom of carbon"),
        )
        return carried(atoms, "stoichiometric_ratio"), density, (atoms,)
    grade = sheet.maybe_text("fuel.grade")
    if grade is None:
        return None
    said = Given(grade, f"{sheet.name}, {sheet.where('fuel.grade')}")
    if sheet.has("fuel.ethanol"):
        answer = ask(sheet, "fuel_blend", base=said, ethanol=at(sheet, "fuel.ethanol"))
    else:
        answer = ask(sheet, "fuel_properties", fuel=said)
    return carried(answer, "stoichiometric_ratio"), carried(answer, "density"), (answer,)


def full_load_mixture(sheet: Sheet) -> Given | None:
    """The mixture at full load: the one value, else the richest of the table's highest pressure."""
    if sheet.has("fuel.mixture"):
        return at(sheet, "fuel.mixture")
    table = sheet.maybe_table("fuel.mixture_table")
    if table is None:
        return None
    top = max(table.columns["manifold_pressure"])
    rows = zip(table.columns["manifold_pressure"], table.columns["lambda"], strict=True)
    richest = min(value for pressure, value in rows if pressure == top)
    return Given(f"{richest:g} lambda", f"{sheet.name}, {sheet.where('fuel.mixture_table')}, richest at full load")


def fuel_demand(sheet: Sheet, efficiency: str) -> Demand | None:
    """Fuel at `limits.max_speed` and `limits.max_boost`; None where fuel or mixture is not known."""
    known, mixture = figures(sheet), full_load_mixture(sheet)
    if known is None or mixture is None:
        return None
    ratio, density, steps = known
    air = ask(
        sheet,
        "air_demand",
        1,
        volumetric_efficiency=taken(efficiency, PRACTICE),
        manifold_temperature=charge_temperature(sheet),
        boost=boost(sheet),
        altitude=altitude(sheet),
    )
    fuel = ask(
        sheet,
        "power_and_fuel_from_air",
        air_flow=carried(air, "mass_flow"),
        mixture=mixture,
        stoichiometric_ratio=ratio,
        consumption=taken(CONSUMPTION),
        density=density,
        fuel=Given("", "its figure instead"),
    )
    return Demand(carried(fuel, "fuel_flow"), density, (*steps, air, fuel))
