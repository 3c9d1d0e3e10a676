"""Sums of fuel against power: flow for a power, power from air, energy, cost, fuel for a run.

Definitions only; the brake-specific fuel consumption is what the user states, since rules of thumb for
it differ by a third.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from spoolwright.gas import fuels
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.mixtures import FUEL, MIXTURE_INPUTS, NAMED_FUEL, Mixture
from spoolwright.sums.registry import Input, Output, register

CONSUMPTION = Input("fuel_consumption", "brake-specific fuel consumption", "0.38 lb/(hp h)", "1.3 lb/(hp h)")
POWER = Input("power", "power at the crank", "1 kW", "1500 kW")
DENSITY = Input("density", "fuel density", "0.60 kg/L", "1.0 kg/L", "0.745 kg/L", sheet="fuel.figures.density")
_POWER_OUT = Output("power", "hp", "power at the crank", ("kW", "PS"))
NEED_INPUTS = {
    "power": Input("power", "power wanted, with consumption; or give fuel_needed", "1 kW", "1500 kW", ""),
    "consumption": replace(CONSUMPTION, default=""),
    "fuel_needed": Input("mass_flow", "fuel needed; or give power and consumption", "1 lb/h", "2000 lb/h", ""),
}
FLOW_OUT = {
    "fuel_flow": Output("mass_flow", "lb/h", "fuel by mass", ("kg/h", "g/s")),
    "fuel_volume_flow": Output("volume_flow", "L/h", "fuel by volume", ("cc/min", "gal/h")),
}
_PRACTICE = "usual at full load: 0.45 to 0.50 lb/hp-hr unboosted, 0.55 to 0.62 boosted petrol, 0.70 to 0.80 E85"


class FuelNeed(NamedTuple):
    """The fuel an engine burns: its mass flow [kg/s], or power [W] and consumption [kg/J]."""

    power: float | None
    consumption: float | None
    fuel_needed: float | None

    def flow(self) -> float:
        """Fuel flow [kg/s]. Raises ValueError when it is stated twice, not at all, or not above zero."""
        if one_of(power=self.power, fuel_needed=self.fuel_needed) == "fuel_needed":
            assert self.fuel_needed is not None
            need = self.fuel_needed
        else:
            if self.consumption is None:
                raise ValueError("power needs consumption beside it")
            assert self.power is not None
            need = self.power * self.consumption
        if need <= 0.0:
            raise ValueError("the fuel needed must be above zero")
        return need


def _positive(**values: float) -> None:
    for name, value in values.items():
        if value <= 0.0:
            raise ValueError(f"{name} must be above zero")


@register(
    "fuel",
    "Fuel needed for a power",
    inputs={
        "power": POWER,
        "consumption": CONSUMPTION,
        "density": DENSITY,
        "margin": Input("share", "reserve on top", "0 %", "60 %", "0 %"),
    },
    outputs={
        **FLOW_OUT,
        "flow_with_margin": Output("mass_flow", "lb/h", "fuel with the reserve", ("kg/h",)),
        "volume_flow_with_margin": Output("volume_flow", "L/h", "by volume with the reserve", ("cc/min", "gal/h")),
    },
    formula="""
    fuel_flow = power * consumption
    fuel_volume_flow = fuel_flow / density
    flow_with_margin = fuel_flow * (1 + margin)
    """,
    source="definition of brake-specific fuel consumption; margin of 20 to 30 % is common practice, no source",
    validity=_PRACTICE,
    slips=("wheel power used with a crank consumption", "US gallons taken for imperial ones"),
    example='--power "290 hp" --consumption "0.62 lb/(hp h)" --density "6.2 lb/gal"',
)
def fuel_for_power(power: float, consumption: float, density: float, margin: float) -> dict[str, float]:
    """Fuel flow [kg/s, m3/s] for power [W] at consumption [kg/J]."""
    _positive(power=power, consumption=consumption, density=density)
    flow = power * consumption
    return {
        "fuel_flow": flow,
        "fuel_volume_flow": flow / density,
        "flow_with_margin": flow * (1.0 + margin),
        "volume_flow_with_margin": flow * (1.0 + margin) / density,
    }


def _air_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    rule = results["power_per_air"] / 98650.0  # hp/(lb/min)
    if not 6.5 <= rule <= 11.5:
        return [f"{rule:.1f} hp per lb/min is far from the usual 8.5 to 10.5: check mixture and consumption together"]
    return []


@register(
    "fuel",
    "Power and fuel from the air flow",
    inputs={
        "air_flow": Input("mass_flow", "air through the engine", "0.5 lb/min", "300 lb/min"),
        **MIXTURE_INPUTS,
        "consumption": CONSUMPTION,
        "density": DENSITY,
    },
    outputs={
        "power": _POWER_OUT,
        **FLOW_OUT,
        "air_fuel_ratio_used": Output("ratio", ":1", "air-fuel ratio by mass"),
        "power_per_air": Output("power_per_air", "hp/(lb/min)", "power for each unit of air flow"),
    },
    formula="""
    fuel_flow = air_flow / air_fuel_ratio_used
    power = fuel_flow / consumption
    fuel_volume_flow = fuel_flow / density
    power_per_air = power / air_flow
    """,
    source="definition of brake-specific fuel consumption",
    validity="the bench rule of 9 to 10.5 hp per lb/min is common practice, no source; " + _PRACTICE,
    slips=("standard cfm is mass in disguise", "air-fuel ratio of another fuel"),
    question=_air_question,
    example='--air-flow "31.5 lb/min" --air-fuel-ratio 11.6:1 --consumption "0.58 lb/(hp h)"',
)
def power_and_fuel_from_air(air_flow: float, mixture: Mixture, consumption: float, density: float) -> dict[str, float]:
    """Power [W] and fuel [kg/s, m3/s] that an air flow [kg/s] carries at a mixture."""
    _positive(air_flow=air_flow, consumption=consumption, density=density)
    ratio = mixture.by_mass()
    flow = air_flow / ratio
    power = flow / consumption
    return {
        "power": power,
        "fuel_flow": flow,
        "fuel_volume_flow": flow / density,
        "air_fuel_ratio_used": ratio,
        "power_per_air": power / air_flow,
    }


def _mass_flow(fuel_flow: float | None, fuel_volume_flow: float | None, density: float) -> float:
    _positive(density=density)
    if one_of(fuel_flow=fuel_flow, fuel_volume_flow=fuel_volume_flow) == "fuel_flow":
        assert fuel_flow is not None
        return fuel_flow
    assert fuel_volume_flow is not None
    return fuel_volume_flow * density


_MASS_FLOW = Input("mass_flow", "fuel by mass; or give the volume flow", "0.5 lb/h", "2000 lb/h", "")
_VOLUME_FLOW = Input("volume_flow", "fuel by volume; or give the mass flow", "0.5 L/h", "1500 L/h", "")


@register(
    "fuel",
    "Power that a fuel flow can carry",
    inputs={
        "fuel_flow": _MASS_FLOW,
        "fuel_volume_flow": _VOLUME_FLOW,
        "density": DENSITY,
        "consumption": CONSUMPTION,
    },
    outputs={
        "power": _POWER_OUT,
        "flow": Output("mass_flow", "lb/h", "fuel by mass", ("kg/h",)),
    },
    formula="power = flow / consumption",
    source="definition of brake-specific fuel consumption",
    validity=_PRACTICE,
    slips=("free flow of a pump used: read its curve at base + boost + losses",),
    example='--fuel-volume-flow "255 L/h" --consumption "0.6 lb/(hp h)"',
)
def power_from_fuel_flow(
    fuel_flow: float | None, fuel_volume_flow: float | None, density: float, consumption: float
) -> dict[str, float]:
    """Power [W] from a fuel flow by mass [kg/s] or volume [m3/s]."""
    _positive(consumption=consumption)
    flow = _mass_flow(fuel_flow, fuel_volume_flow, density)
    return {"power": flow / consumption, "flow": flow}


def _efficiency_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    share = results["efficiency"]
    if share is not None and not 0.12 <= share <= 0.42:
        return [
            f"a brake efficiency of {100 * share:.0f} % is not that of a piston engine at load: flow, power or fuel?"
        ]
    return []


@register(
    "fuel",
    "Fuel consumption and efficiency from measured fuel and power",
    inputs={
        "power": POWER,
        "fuel_flow": _MASS_FLOW,
        "fuel_volume_flow": _VOLUME_FLOW,
        "density": DENSITY,
        "fuel": FUEL,
    },
    outputs={
        "consumption": Output("fuel_consumption", "g/kWh", "brake-specific fuel consumption", ("lb/(hp h)",)),
        "efficiency": Output("share", "%", "power over heating value burned (where the fuel is named)"),
        "flow": Output("mass_flow", "kg/h", "fuel by mass", ("lb/h",)),
    },
    formula="""
    consumption = flow / power
    efficiency = 1 / (consumption * heating value)
    """,
    source="definition",
    question=_efficiency_question,
    example='--power "100 kW" --fuel-flow "30 kg/h" --fuel "petrol 95 RON"',
)
def fuel_consumption(
    power: float, fuel_flow: float | None, fuel_volume_flow: float | None, density: float, fuel: str | None
) -> dict[str, float | None]:
    """Consumption [kg/J] and brake efficiency [1] from fuel flow and power [W]."""
    _positive(power=power)
    flow = _mass_flow(fuel_flow, fuel_volume_flow, density)
    _positive(fuel_flow=flow)
    consumption = flow / power
    efficiency = None if fuel is None else 1.0 / (consumption * fuels.grade(fuel).lhv)
    return {"consumption": consumption, "efficiency": efficiency, "flow": flow}


@register(
    "fuel",
    "Energy in a fuel and what it costs",
    inputs={
        "fuel": NAMED_FUEL,
        "price": Input("money", "price of the stated volume"),
        "price_volume": Input("volume", "volume the price is for", "0.1 L", "1000 L", "1 L"),
    },
    outputs={
        "energy_per_litre": Output("energy", "MJ", "heating value of one litre", ("kWh",)),
        "energy_per_mass": Output("energy_per_mass", "MJ/kg", "lower heating value"),
        "price_per_litre": Output("money", "", "price of one litre"),
        "price_per_kwh": Output("money", "", "price of one kWh of heat"),
        "price_per_mj": Output("money", "", "price of one MJ of heat"),
    },
    formula="price_per_kwh = price_per_litre / energy_per_litre",
    source="heating values as listed by `fuel_properties`",
    slips=("prices per litre compared between fuels: E85 holds a quarter less energy",),
    example='--fuel E85 --price "1.10 EUR"',
)
def fuel_energy_cost(fuel: str, price: tuple[float, str], price_volume: float) -> dict[str, Any]:
    """Energy [J] per litre and money per unit of energy."""
    _positive(price_volume=price_volume)
    which = fuels.grade(fuel)
    litre = which.lhv * which.density * 1e-3
    amount, currency = price
    each = amount * 1e-3 / price_volume
    return {
        "energy_per_litre": litre,
        "energy_per_mass": which.lhv,
        "price_per_litre": (each, currency),
        "price_per_kwh": (each * 3.6e6 / litre, currency),
        "price_per_mj": (each * 1e6 / litre, currency),
    }


@register(
    "fuel",
    "Fuel for a run: strip, hill, dyno day",
    inputs={
        "power": POWER,
        "consumption": CONSUMPTION,
        "load_share": Input("share", "mean power over the run as a share of that power", "5 %", "100 %", "100 %"),
        "duration": Input("time", "how long; or give distance and mean_speed", "1 s", "24 h", ""),
        "distance": Input("distance", "how far, with mean_speed", "100 m", "1000 km", ""),
        "mean_speed": Input("speed", "mean speed, with distance", "10 km/h", "400 km/h", ""),
        "runs": Input("count", "number of runs", "1", "100", "1"),
        "reserve": Input("share", "reserve on top", "0 %", "200 %", "25 %"),
        "density": DENSITY,
    },
    outputs={
        "fuel_mass": Output("mass", "kg", "fuel burned in all runs", ("lb",)),
        "fuel_volume": Output("volume", "L", "fuel burned in all runs", ("gal",)),
        "fuel_to_carry": Output("volume", "L", "with the reserve", ("gal",)),
        "run_time": Output("time", "s", "time of one run"),
    },
    formula="""
    fuel_mass = runs * power * load_share * consumption * run_time
    fuel_volume = fuel_mass / density
    fuel_to_carry = fuel_volume * (1 + reserve)
    """,
    source="definition of brake-specific fuel consumption",
    slips=("warm-up, queue and return road left out",),
    caution="What the tank cannot give while cornering or climbing is not fuel: keep the pick-up covered.",
    example='--power "150 kW" --consumption "350 g/kWh" --load-share "70 %" --duration "95 s" --runs 4',
)
def fuel_for_run(
    power: float,
    consumption: float,
    load_share: float,
    duration: float | None,
    distance: float | None,
    mean_speed: float | None,
    runs: float,
    reserve: float,
    density: float,
) -> dict[str, float]:
    """Mass [kg] and volume [m3] of fuel from mean power and time, or distance and speed."""
    _positive(power=power, consumption=consumption, density=density)
    if one_of(duration=duration, distance=distance) == "distance":
        if mean_speed is None or mean_speed <= 0.0:
            raise ValueError("distance needs mean_speed beside it")
        assert distance is not None
        seconds = distance / mean_speed
    else:
        assert duration is not None
        seconds = duration
    mass = runs * power * load_share * consumption * seconds
    volume = mass / density
    return {
        "fuel_mass": mass,
        "fuel_volume": volume,
        "fuel_to_carry": volume * (1.0 + reserve),
        "run_time": seconds,
    }
