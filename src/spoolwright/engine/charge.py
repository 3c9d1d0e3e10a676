"""Fuel and mixture of a sheet as the gas of a run: fuel, air, lambda over speed, evaporation, octane."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder.burning_velocity import burning_velocity
from spoolwright.errors import BadInput
from spoolwright.gas.air import HumidAir, geopotential_altitude, humid_air, standard_atmosphere
from spoolwright.gas.duct import DuctGas
from spoolwright.gas.fuels import Fuel, KnockNumber, custom, ethanol_blend, grade, knock_number
from spoolwright.sheet import Sheet

FUEL = 1


@dataclass(frozen=True)
class Site:
    """Outside air: p [Pa], T [K], relative humidity, and its composition."""

    p: float
    T: float
    humidity: float
    air: HumidAir


def site(sheet: Sheet) -> Site:
    """Outside air of the sheet; without a barometer it follows from the altitude (ISO 2533)."""
    T, humidity = sheet.value("site.temperature"), sheet.value("site.humidity")
    p = sheet.maybe("site.barometer")
    if p is None:
        altitude = sheet.maybe("site.altitude")
        if altitude is None:
            raise BadInput("site: neither a barometer nor an altitude is given; write one of them")
        p = standard_atmosphere(geopotential_altitude(altitude)).p
    return Site(p, T, humidity, humid_air(T, p, humidity))


def fuel_of(sheet: Sheet) -> Fuel:
    """The fuel by grade, with what was mixed in, or by the user's own figures."""
    if sheet.has("fuel.figures"):
        figure = {
            name: sheet.maybe(f"fuel.figures.{name}")
            for name in ("hydrogen_to_carbon", "oxygen_to_carbon", "molar_mass", "lower_heating_value", "latent_heat")
        } | {name: sheet.maybe(f"fuel.figures.{name}") for name in ("density", "ron", "mon")}
        fuel = _custom(sheet, figure)
    else:
        fuel = grade(sheet.text("fuel.grade"))
    ethanol = sheet.maybe("fuel.ethanol")
    if ethanol:
        fuel = ethanol_blend(f"{fuel.name} with {100 * ethanol:.0f} % ethanol", ethanol, fuel)
    ron, mon = sheet.maybe("fuel.ron"), sheet.maybe("fuel.mon")
    return replace(fuel, ron=fuel.ron if ron is None else ron, mon=fuel.mon if mon is None else mon)


def _custom(sheet: Sheet, figure: dict[str, Any]) -> Fuel:
    return custom(
        f"{sheet.name}'s own fuel",
        hydrogen_to_carbon=figure["hydrogen_to_carbon"],
        oxygen_to_carbon=figure["oxygen_to_carbon"] or 0.0,
        molar_mass_mean=figure["molar_mass"],
        lhv=figure["lower_heating_value"],
        latent_heat=figure["latent_heat"],
        density=figure["density"],
        ron=figure["ron"],
        mon=figure["mon"],
        flame_family=sheet.choice("fuel.figures.family"),  # type: ignore[arg-type]  # a choice of the sheet
    )


def octane(fuel: Fuel) -> KnockNumber:
    """The number the knock integral is run with, and its band."""
    return knock_number(fuel)


def velocity_rows(fuel: Fuel) -> NDArray[np.float64]:
    """Laminar burning velocity of the fuel; a part that is alcohol counts by its share in the heat of combustion."""
    if fuel.flame_family in ("ethanol", "methanol") or fuel.alcohol <= 0.0:
        return burning_velocity({fuel.flame_family: 1.0})
    share = fuel.alcohol * 26.8e6 / fuel.lhv  # ethanol's heating value, J/kg (DOE AFDC table)
    return burning_velocity({fuel.flame_family: 1.0 - share, "ethanol": share})


def mixture_at(sheet: Sheet, speed: float, p_manifold: float) -> float:
    """Lambda aimed at, at engine speed [rad/s] and manifold pressure [Pa]. Raises BadInput where none is given."""
    table = sheet.maybe_table("fuel.mixture_table")
    if table is None:
        value = sheet.maybe("fuel.mixture")
        if value is None:
            raise BadInput('fuel.mixture: not given; write the mixture at full load, for example "0.85 lambda"')
        return value
    return scattered(
        np.array(table.columns["speed"]),
        np.array(table.columns["manifold_pressure"]),
        np.array(table.columns["lambda"]),
        speed,
        p_manifold,
    )


def scattered(
    x: NDArray[np.float64], y: NDArray[np.float64], z: NDArray[np.float64], at_x: float, at_y: float
) -> float:
    """Read a table of (x, y, z) rows: along y within each x, then along x; ends hold their value."""
    columns = np.unique(x)
    along = []
    for value in columns:
        rows = np.flatnonzero(x == value)
        order = rows[np.argsort(y[rows])]
        along.append(float(np.interp(at_y, y[order], z[order])))
    return float(np.interp(at_x, columns, along))


def fuel_enthalpy(gas: DuctGas, fuel: Fuel, T_fuel: float, evaporated: float) -> float:
    """Enthalpy [J/kg] of fuel where it joins the air, in the ducts' count: vapour less what evaporates there.

    Only the share ``evaporated`` draws its heat from the charge. Fuel that enters liquid lies on the valve, the port
    and the cylinder's walls and is boiled off by them (common practice: port-injected engines show about a third of
    the cooling that full evaporation in the air would give; from memory). That heat, below half a per cent of the
    fuel's, is not charged to the walls.
    """
    vapour = gas.a[FUEL] * T_fuel + 0.5 * gas.b[FUEL] * T_fuel**2 + gas.R[FUEL] * T_fuel
    return float(vapour - evaporated * fuel.latent_heat)
