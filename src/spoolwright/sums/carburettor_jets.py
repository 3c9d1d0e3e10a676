"""Sums of the jets: size for a fuel flow, change from a measured mixture, from density, from another fuel.

A jet flows Cd A sqrt(2 rho dp); the pull is the venturi's depression less the lip that the fuel must
climb. Scaling from a measured mixture holds while air bleeds and power circuit do the same as before:
a first guess, to be measured again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import pi, sqrt
from typing import Any, NamedTuple

from spoolwright.constants import STANDARD_GRAVITY
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.registry import Input, Output, register

JET = Input("length", "jet diameter", "0.3 mm", "4 mm", sheet="carburettor.main_jet")
FUEL_DENSITY = Input("density", "fuel density", "0.65 kg/L", "1.0 kg/L", sheet="fuel.figures.density")
JET_DISCHARGE = Input("share", "discharge coefficient of the jet", "50 %", "100 %", part=True)
DEPRESSION = Input("pressure_difference", "depression of the venturi", "0.2 kPa", "40 kPa")
PULL_SHARE = Input("share", "share of it that reaches the jet", "30 %", "250 %", "100 %")
LIP = Input("length", "nozzle above the fuel level", "0 mm", "15 mm", "0 mm")
JET_OUT = Output("length", "mm", "jet diameter", ("in", "0.01mm", "thou"))
JET_INPUTS = {
    "fuel_density": FUEL_DENSITY,
    "discharge": JET_DISCHARGE,
    "depression": DEPRESSION,
    "pull_share": PULL_SHARE,
    "lip": LIP,
}

_AFR = Input("ratio", "air-fuel ratio by mass or on one and the same gauge", "5", "20", "")


class AtTheJet(NamedTuple):
    """What decides a jet's flow: fuel density [kg/m3], coefficient [1], depression [Pa], its share [1], lip [m]."""

    fuel_density: float
    discharge: float
    depression: float
    pull_share: float
    lip: float

    def pull(self) -> float:
        """Pressure difference [Pa] across the jet; raises ValueError when the fuel does not reach the nozzle."""
        pull = self.depression * self.pull_share - self.fuel_density * STANDARD_GRAVITY * self.lip
        if pull <= 0.0:
            raise ValueError("the depression does not lift the fuel over the lip; no fuel flows")
        return pull

    def flow_per_area(self) -> float:
        """Fuel flow [kg/(s m2)] of the jet's area."""
        return self.discharge * sqrt(2.0 * self.fuel_density * self.pull())


# ----------------------------------------------------------------------------- size and flow
@register(
    "carburettor",
    "Jet diameter for a fuel flow",
    inputs={
        "fuel_flow": Input("mass_flow", "fuel through all jets", "0.2 kg/h", "500 kg/h"),
        **JET_INPUTS,
        "jets": Input("count", "how many equal jets share it", "1", "16", "1"),
    },
    outputs={
        "diameter": JET_OUT,
        "area": Output("area", "mm2", "area of each"),
        "pull": Output("pressure_difference", "kPa", "pressure difference across the jet", ("inH2O",)),
    },
    formula="""
    pull = depression * pull_share - fuel_density * 9.80665 * lip
    area = fuel_flow / jets / (discharge * sqrt(2 * fuel_density * pull))
    diameter = sqrt(4 / pi * area)
    """,
    source="orifice law; carburettor chapter of textbooks on combustion engines",
    validity="no air bleed after the jet",
    example='--fuel-flow "0.4 kg/min" --fuel-density "780 kg/m3" --discharge "60 %" --depression "7.25 kPa" '
    '--pull-share "75 %"',
)
def jet_diameter(fuel_flow: float, state: AtTheJet, jets: float) -> dict[str, float]:
    """Diameter [m] of each jet for ``fuel_flow`` [kg/s] in all."""
    area = fuel_flow / jets / state.flow_per_area()
    return {"diameter": sqrt(4.0 / pi * area), "area": area, "pull": state.pull()}


@register(
    "carburettor",
    "Fuel flow of a jet",
    inputs={
        "jet": JET,
        **JET_INPUTS,
        "jets": Input("count", "how many equal jets", "1", "16", "1"),
        "air_flow": Input("mass_flow", "air flow, for the mixture", "0.0005 kg/s", "2 kg/s", ""),
    },
    outputs={
        "fuel_flow": Output("mass_flow", "kg/h", "fuel through all jets", ("lb/h", "g/min")),
        "fuel_volume_flow": Output("volume_flow", "cc/min", "the same by volume", ("L/h",)),
        "air_fuel_ratio": Output("ratio", ":1", "air-fuel ratio by mass, where the air flow is given"),
    },
    formula="fuel_flow = jets * discharge * pi/4 * jet^2 * sqrt(2 * fuel_density * (depression * pull_share - "
    "fuel_density * 9.80665 * lip))",
    source="orifice law; carburettor chapter of textbooks on combustion engines",
    example='--jet "1.9 mm" --fuel-density "0.745 kg/L" --discharge "70 %" --depression "5.5 kPa"',
)
def jet_flow(jet: float, state: AtTheJet, jets: float, air_flow: float | None) -> dict[str, float | None]:
    """Fuel flow [kg/s, m3/s] of jets, and the mixture where the air is given."""
    flow = jets * pi / 4.0 * jet**2 * state.flow_per_area()
    return {
        "fuel_flow": flow,
        "fuel_volume_flow": flow / state.fuel_density,
        "air_fuel_ratio": None if air_flow is None else air_flow / flow,
    }


# ----------------------------------------------------------------------------- change
def _change_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = []
    change = results["diameter_change"]
    if change < 0.0:
        questions.append(
            "this leans the mixture: go down in small steps, under boost only with a working mixture gauge"
        )
    if abs(change) > 0.1:
        questions.append(
            f"{100 * change:+.0f} % in diameter is a big step; first look whether level, bowl reference, fuel "
            f"pressure or "
            "power circuit is the cause"
        )
    for name in ("afr_measured", "afr_wanted"):
        value = given[name]
        if value is not None and value < 2.0:
            questions.append(f"{name} {value:g} looks like lambda; write it as {name.replace('afr', 'lambda')}")
    return questions


@register(
    "carburettor",
    "Jet change from a measured mixture",
    inputs={
        "jet": JET,
        "afr_measured": _AFR,
        "afr_wanted": _AFR,
        "lambda_measured": Input("mixture", "measured; instead of the ratios", "0.6 lambda", "1.5 lambda", ""),
        "lambda_wanted": Input("mixture", "wanted; instead of the ratios", "0.6 lambda", "1.5 lambda", ""),
        "power_circuit": Input(
            "length", "diameter of a power-circuit restriction that flows too", "0.2 mm", "3 mm", ""
        ),
    },
    outputs={
        "jet_wanted": Output("length", "mm", "jet to fit", ("in", "0.01mm", "thou")),
        "diameter_change": Output("share", "%", "change of diameter"),
        "area_change": Output("share", "%", "change of the jet's area"),
        "fuel_change": Output("share", "%", "change of fuel"),
    },
    formula="""
    fuel_change = afr_measured / afr_wanted - 1
    jet_wanted = sqrt((jet^2 + power_circuit^2) * afr_measured / afr_wanted - power_circuit^2)
    """,
    source="fuel flow ~ jet area at the same pull; standard textbook relation",
    validity="first guess only: air bleeds and power circuit taken as unchanged; measure again",
    slips=(
        "ratio of mixtures applied to the diameter instead of the area",
        "mixture measured while misfiring reads lean",
        "measured and wanted on gauges scaled for different fuels",
    ),
    question=_change_question,
    caution="approach from the rich side; lean under boost destroys pistons in seconds",
    example='--jet "0.072 in" --afr-measured 12.7 --afr-wanted 11.6',
)
def jet_change(
    jet: float,
    afr_measured: float | None,
    afr_wanted: float | None,
    lambda_measured: float | None,
    lambda_wanted: float | None,
    power_circuit: float | None,
) -> dict[str, float]:
    """Jet diameter [m] that brings the measured mixture to the one wanted."""
    if one_of(afr_measured=afr_measured, lambda_measured=lambda_measured) == "afr_measured":
        measured, wanted, missing = afr_measured, afr_wanted, "afr_wanted"
    else:
        measured, wanted, missing = lambda_measured, lambda_wanted, "lambda_wanted"
    if wanted is None or (afr_wanted is not None and lambda_wanted is not None):
        raise ValueError(f"the mixture measured and the one wanted must be in the same terms; give {missing} alone")
    assert measured is not None
    if measured <= 0.0 or wanted <= 0.0:
        raise ValueError("mixtures are above zero")
    fixed = power_circuit or 0.0
    square = (jet**2 + fixed**2) * measured / wanted - fixed**2
    if square <= 0.0:
        raise ValueError("the power circuit alone gives more fuel than wanted: make its restriction smaller")
    new = sqrt(square)
    return {
        "jet_wanted": new,
        "diameter_change": new / jet - 1.0,
        "area_change": square / jet**2 - 1.0,
        "fuel_change": measured / wanted - 1.0,
    }


@register(
    "carburettor",
    "Mixture drift and jet with another air density (height, heat, boost)",
    inputs={
        "pressure": Input(
            "pressure_absolute", "absolute pressure before the carburettor when jetted", "50 kPa", "400 kPa"
        ),
        "temperature": Input("temperature", "air then", "-20 degC", "180 degC"),
        "pressure_now": Input("pressure_absolute", "absolute pressure now", "50 kPa", "400 kPa"),
        "temperature_now": Input("temperature", "air now", "-20 degC", "180 degC"),
        "jet": Input("length", "jet fitted", "0.3 mm", "4 mm", "", sheet="carburettor.main_jet"),
        "mixture": Input("mixture", "mixture when jetted", "0.6 lambda", "1.3 lambda", ""),
        "afr": Input("ratio", "the same as an air-fuel ratio; instead", "5", "20", ""),
    },
    outputs={
        "density_ratio": Output("ratio", "1", "density now over then"),
        "mixture_factor": Output("number", "1", "lambda now over lambda then: below 1 is richer"),
        "mixture_now": Output("mixture", "lambda", "mixture now, where it was given"),
        "afr_now": Output("ratio", ":1", "air-fuel ratio now, where it was given"),
        "jet_for_same": Output("length", "mm", "jet that gives the old mixture", ("in", "0.01mm")),
    },
    formula="""
    density_ratio = (pressure_now / temperature_now) / (pressure / temperature)
    mixture_factor = sqrt(density_ratio)
    jet_for_same = jet * density_ratio^(1/4)
    """,
    source="air mass ~ sqrt(rho) at the same depression, fuel unchanged; carburettor chapter of textbooks on "
    "combustion "
    "engines (the ratio goes with the square root of air density)",
    validity="plain jet without air correction",
    slips=("thin air thought to lean a carburettor: it richens",),
    example='--pressure "101.3 kPa" --temperature "15 degC" --pressure-now "83.5 kPa" --temperature-now "25 degC" '
    '--jet "1.85 mm"',
)
def jet_for_density(
    pressure: float,
    temperature: float,
    pressure_now: float,
    temperature_now: float,
    jet: float | None,
    mixture: float | None,
    afr: float | None,
) -> dict[str, float | None]:
    """Drift of the mixture [1] with air density, and the jet [m] against it."""
    ratio = pressure_now / temperature_now / (pressure / temperature)
    factor = sqrt(ratio)
    return {
        "density_ratio": ratio,
        "mixture_factor": factor,
        "mixture_now": None if mixture is None else mixture * factor,
        "afr_now": None if afr is None else afr * factor,
        "jet_for_same": None if jet is None else jet * sqrt(factor),
    }


@register(
    "carburettor",
    "Jet for another fuel at the same lambda",
    inputs={
        "jet": JET,
        "stoichiometric": Input("ratio", "stoichiometric ratio of the fuel it is jetted for", "5", "16"),
        "fuel_density": FUEL_DENSITY,
        "stoichiometric_new": Input("ratio", "stoichiometric ratio of the new fuel", "5", "16"),
        "fuel_density_new": Input("density", "density of the new fuel", "0.65 kg/L", "1.0 kg/L"),
        "lambda_factor": Input("number", "new lambda over old (1: the same)", "0.7", "1.3", "1"),
    },
    outputs={
        "jet_new": Output("length", "mm", "jet for the new fuel", ("in", "0.01mm")),
        "area_ratio": Output("ratio", "1", "new over old jet area"),
        "volume_ratio": Output("ratio", "1", "new over old fuel volume: what pump, needle and bowl must pass"),
    },
    formula="""
    area_ratio = stoichiometric / stoichiometric_new / lambda_factor * sqrt(fuel_density / fuel_density_new)
    jet_new = jet * sqrt(area_ratio)
    volume_ratio = stoichiometric / stoichiometric_new / lambda_factor * fuel_density / fuel_density_new
    """,
    source="mass flow of a jet ~ area * sqrt(density); fuel mass ~ 1 / (stoichiometric ratio * lambda)",
    validity="viscosity and float level taken as unchanged",
    question=lambda given, results: (
        ["pump, needle and bowl must pass much more fuel too: do their sums"] if results["volume_ratio"] > 1.2 else []
    ),
    example='--jet "1.85 mm" --stoichiometric 14.7 --fuel-density "0.745 kg/L" --stoichiometric-new 9.8 '
    '--fuel-density-new "0.785 kg/L"',
)
def jet_for_fuel(
    jet: float,
    stoichiometric: float,
    fuel_density: float,
    stoichiometric_new: float,
    fuel_density_new: float,
    lambda_factor: float,
) -> dict[str, float]:
    """Jet [m] for another fuel at the same (or a changed) lambda."""
    mass = stoichiometric / stoichiometric_new / lambda_factor
    area = mass * sqrt(fuel_density / fuel_density_new)
    return {"jet_new": jet * sqrt(area), "area_ratio": area, "volume_ratio": mass * fuel_density / fuel_density_new}


@register(
    "carburettor",
    "Jets in line or side by side as one jet",
    inputs={
        "diameters": Input("length", "diameter of each jet or restriction", "0.2 mm", "5 mm", many=True),
        "arranged": Input(
            "choice",
            "flows add (side by side) or pass one after the other (in line)",
            default="side by side",
            choices=("side by side", "in line"),
        ),
    },
    outputs={"one_jet": Output("length", "mm", "single jet that flows the same", ("in", "0.01mm"))},
    formula="""
    one_jet = sqrt(sum of d^2) side by side, (sum of d^-4)^(-1/4) in line
    """,
    source="orifice law: areas add side by side, pressure drops add in line",
    example='--diameters "1.85 mm; 0.8 mm"',
)
def jets_together(diameters: list[float], arranged: str) -> dict[str, float]:
    """Diameter [m] of one jet that flows like these."""
    if any(d <= 0.0 for d in diameters):
        raise ValueError("diameters must be above zero")
    if arranged == "side by side":
        return {"one_jet": sqrt(sum(d * d for d in diameters))}
    return {"one_jet": float(sum(d**-4 for d in diameters) ** -0.25)}
