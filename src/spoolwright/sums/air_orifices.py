"""Flow through holes: orifices and nozzles, choking, flow benches, port flow and power.

Isentropic nozzle with a discharge coefficient (compressible, choked below the critical ratio). The
square-root law of flow benches is incompressible; where it over-reads, the compressible figure
stands beside it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import pi, sqrt
from typing import Any, NamedTuple

from spoolwright.constants import R_AIR, RHO_STANDARD_DAY, STANDARD_ATMOSPHERE
from spoolwright.sums.registry import Input, Output, register
from spoolwright.units import to_si

GAMMA = Input("number", "ratio of heats of the gas: 1.4 cold air, about 1.33 exhaust", "1.2", "1.67", "1.4")
GAS_CONSTANT = Input("heat_capacity", "gas constant of the gas", "180 J/(kg K)", "520 J/(kg K)", f"{R_AIR} J/(kg K)")
DISCHARGE = Input("share", "discharge coefficient: 0.6 sharp hole, 0.8 to 0.98 rounded", "30 %", "100 %")
HOLE_DIAMETER = Input("length", "diameter of the hole", "0.2 mm", "150 mm", "")
HOLE_AREA = Input("area", "area of the hole; instead", "0.03 mm2", "20000 mm2", "")
UPSTREAM = Input("pressure_absolute", "absolute pressure before the hole", "20 kPa", "1 MPa")
UPSTREAM_T = Input("temperature", "gas temperature before the hole", "-40 degC", "1100 degC")
DOWNSTREAM = Input("pressure_absolute", "absolute pressure behind the hole", "0 kPa", "1 MPa", "")
DROP = Input("pressure_difference", "pressure drop across the hole; instead of downstream", "0 kPa", "1 MPa", "")
FLOW_INPUTS = {
    "discharge": DISCHARGE,
    "upstream": UPSTREAM,
    "temperature": UPSTREAM_T,
    "downstream": DOWNSTREAM,
    "drop": DROP,
    "gamma": GAMMA,
    "gas_constant": GAS_CONSTANT,
}
PRESSURE_LEFT = Output("number", "1", "pressure behind over before")

BENCH_STANDARD = to_si(28.0, "pressure_difference", "inH2O")
POWER_PER_FLOW = to_si(0.257, "power", "hp") / to_si(1.0, "volume_flow", "cfm")  # at 28 inH2O, a cylinder


# ----------------------------------------------------------------------------- shared steps
def critical_ratio(gamma: float) -> float:
    """Downstream over upstream pressure at and below which the throat is sonic."""
    if gamma <= 1.0:
        raise ValueError("the ratio of heats must be above 1")
    return float((2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))


def flow_function(ratio: float, gamma: float) -> float:
    """mdot sqrt(R T0) / (A p0) of an ideal nozzle at the pressure ratio p/p0 (1 = no flow); constant when choked."""
    x = max(ratio, critical_ratio(gamma))
    return sqrt(2.0 * gamma / (gamma - 1.0) * max(0.0, x ** (2.0 / gamma) - x ** ((gamma + 1.0) / gamma)))


def hole_area(diameter: float | None, area: float | None) -> float:
    """Area [m2] of one hole from its diameter [m], or as given."""
    if (diameter is None) == (area is None):
        raise ValueError("diameter or area, exactly one of them is needed")
    return area if area is not None else pi / 4.0 * float(diameter or 0.0) ** 2


def pressure_behind(upstream: float, downstream: float | None, drop: float | None) -> float:
    """Absolute pressure [Pa] behind the hole, as given or upstream less the drop."""
    if (downstream is None) == (drop is None):
        raise ValueError("downstream or drop, exactly one of them is needed")
    behind = downstream if downstream is not None else upstream - float(drop or 0.0)
    if behind > upstream:
        raise ValueError("the pressure behind the hole is above that before it; the gas would flow backwards")
    if behind < 0.0:
        raise ValueError("the drop is larger than the absolute pressure before the hole")
    return behind


class GasThrough(NamedTuple):
    """Gas on both sides of a hole: absolute pressures or their drop [Pa], temperature [K] before it, what gas it is."""

    discharge: float
    upstream: float
    temperature: float
    downstream: float | None
    drop: float | None
    gamma: float
    gas_constant: float

    def ratio(self) -> float:
        """Pressure behind over before [1]; raises ValueError as `pressure_behind` does."""
        return pressure_behind(self.upstream, self.downstream, self.drop) / self.upstream

    def flow_per_area(self) -> float:
        """Flow [kg/(s m2)] of the hole's area at a flow function of 1."""
        return self.discharge * self.upstream / sqrt(self.gas_constant * self.temperature)


# ----------------------------------------------------------------------------- orifice
def _orifice_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = []
    if results["ratio"] <= results["critical_ratio"]:
        questions.append(
            "the hole is choked: a lower pressure behind it gives no more flow, more pressure before it does"
        )
    if given["upstream"] < 0.9 * STANDARD_ATMOSPHERE and results["ratio"] < 0.2:
        questions.append("is upstream a gauge reading? absolute pressure is needed; add the barometer")
    return questions


@register(
    "air",
    "Gas flow through an orifice or nozzle, choked or not",
    inputs={
        "diameter": HOLE_DIAMETER,
        "area": HOLE_AREA,
        **FLOW_INPUTS,
    },
    outputs={
        "mass_flow": Output("mass_flow", "kg/s", "mass flow", ("lb/min", "g/s")),
        "upstream_flow": Output("volume_flow", "cfm", "volume at the state before the hole", ("L/s", "L/min")),
        "ratio": PRESSURE_LEFT,
        "critical_ratio": Output("number", "1", "ratio at which the throat is sonic"),
        "flow_function": Output("number", "1", "mass flow * sqrt(R T) / (area * p), without the coefficient"),
        "throat_mach": Output("number", "1", "Mach number in the throat"),
        "sqrt_law_flow": Output("mass_flow", "kg/s", "what the square-root law says", ("lb/min",)),
        "against_sqrt_law": Output("number", "1", "true flow over that of the square-root law"),
    },
    formula="""
    flow_function = sqrt(2 * gamma / (gamma - 1) * (ratio^(2 / gamma) - ratio^((gamma + 1) / gamma)))
    mass_flow = discharge * area * upstream / sqrt(gas_constant * temperature) * flow_function
    critical_ratio = (2 / (gamma + 1))^(gamma / (gamma - 1))
    """,
    source="isentropic nozzle theory; standard textbook relation (gas dynamics)",
    validity="ideal gas, upstream nearly at rest; below the critical ratio the flow is choked and stays",
    slips=("gauge pressure taken as absolute", "square-root law used at a large drop"),
    question=_orifice_question,
    example='--diameter "25 mm" --discharge 1 --upstream "2 bar" --downstream "1 bar" --temperature "300 K"',
)
def orifice_flow(diameter: float | None, area: float | None, gas: GasThrough) -> dict[str, float | None]:
    """Mass flow [kg/s] through one hole; pressures absolute [Pa]. Raises ValueError for flow the other way."""
    hole = hole_area(diameter, area)
    ratio, critical = gas.ratio(), critical_ratio(gas.gamma)
    psi = flow_function(ratio, gas.gamma)
    flow = hole * gas.flow_per_area() * psi
    density = gas.upstream / (gas.gas_constant * gas.temperature)
    plain = gas.discharge * hole * sqrt(2.0 * density * gas.upstream * (1.0 - ratio))
    x = max(ratio, critical)
    return {
        "mass_flow": flow,
        "upstream_flow": flow / density,
        "ratio": ratio,
        "critical_ratio": critical,
        "flow_function": psi,
        "throat_mach": sqrt(2.0 / (gas.gamma - 1.0) * (x ** ((1.0 - gas.gamma) / gas.gamma) - 1.0)),
        "sqrt_law_flow": plain,
        "against_sqrt_law": flow / plain if plain > 0.0 else None,
    }


@register(
    "air",
    "Hole needed for a gas flow",
    inputs={
        "mass_flow": Input("mass_flow", "flow to pass", "0.00001 kg/s", "3 kg/s"),
        **FLOW_INPUTS,
        "holes": Input("count", "number of equal holes", "1", "16", "1"),
    },
    outputs={
        "area": Output("area", "mm2", "area of all holes", ("in2",)),
        "diameter": Output("length", "mm", "diameter of each hole", ("in",)),
        "ratio": PRESSURE_LEFT,
    },
    formula="""
    area = mass_flow * sqrt(gas_constant * temperature) / (discharge * upstream * flow_function)
    diameter = sqrt(4 / pi * area / holes)
    """,
    source="isentropic nozzle theory, turned round",
    example='--mass-flow "0.05 kg/s" --discharge 0.7 --upstream "220 kPa" --downstream "105 kPa" '
    '--temperature "900 degC" --gamma 1.33',
)
def orifice_for_flow(mass_flow: float, gas: GasThrough, holes: float) -> dict[str, float]:
    """Area [m2] and diameter [m] of the hole that passes ``mass_flow`` [kg/s]."""
    ratio = gas.ratio()
    psi = flow_function(ratio, gas.gamma)
    if psi <= 0.0:
        raise ValueError("there is no pressure drop, so no hole passes any flow")
    area = mass_flow / (gas.flow_per_area() * psi)
    return {"area": area, "diameter": sqrt(4.0 / pi * area / holes), "ratio": ratio}


# ----------------------------------------------------------------------------- flow bench
def _depressions(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    big = max(given["depression"], given["wanted_depression"])
    if big > 20e3:
        return [f"{big / 1e3:.0f} kPa is a very deep depression; inches of mercury written for inches of water?"]
    return []


@register(
    "air",
    "A flow-bench or carburettor figure at another depression",
    inputs={
        "flow": Input("volume_flow", "flow as rated", "1 cfm", "2000 cfm", condition="depression"),
        "depression": Input("pressure_difference", "depression of the rating", "2 inH2O", "60 inH2O"),
        "wanted_depression": Input("pressure_difference", "depression wanted", "2 inH2O", "60 inH2O"),
        "pressure": Input(
            "pressure_absolute", "outside pressure, for the compressible figure", "60 kPa", "108 kPa", "101.325 kPa"
        ),
    },
    outputs={
        "flow_found": Output("volume_flow", "cfm", "flow at the depression wanted, square-root law", ("L/s", "m3/h")),
        "factor": Output("number", "1", "square-root law"),
        "compressible_flow": Output(
            "volume_flow", "cfm", "the same with compressible flow (through a nozzle)", ("L/s",)
        ),
        "compressible_factor": Output("number", "1", "compressible"),
    },
    formula="""
    factor = sqrt(wanted_depression / depression)
    flow_found = flow * factor
    """,
    source="square-root law of the orifice; compressible: isentropic nozzle, gamma 1.4. "
    "1.5 inHg for four-barrel and 3.0 inHg for one- and two-barrel ratings is US trade practice",
    validity="same hole, same air before it",
    slips=("a two-barrel figure (3.0 inHg) set beside a four-barrel one (1.5 inHg)",),
    question=_depressions,
    example='--flow "350 cfm @ 3.0 inHg" --wanted-depression "1.5 inHg"',
)
def bench_flow(flow: float, depression: float, wanted_depression: float, pressure: float) -> dict[str, float]:
    """Volume flow [m3/s] of a fixed hole at another depression [Pa]."""
    if depression <= 0.0 or wanted_depression <= 0.0:
        raise ValueError("a depression is written without a sign and above zero")
    factor = sqrt(wanted_depression / depression)
    inner = flow_function(pressure_behind(pressure, None, wanted_depression) / pressure, 1.4) / flow_function(
        pressure_behind(pressure, None, depression) / pressure, 1.4
    )
    return {
        "flow_found": flow * factor,
        "factor": factor,
        "compressible_flow": flow * inner,
        "compressible_factor": inner,
    }


@register(
    "air",
    "Effective area from a flow-bench reading",
    inputs={
        "flow": Input(
            "volume_flow", "flow on the bench, at the air before the hole", "1 cfm", "2000 cfm", condition="depression"
        ),
        "depression": Input("pressure_difference", "depression of the reading", "2 inH2O", "60 inH2O"),
        "area": Input("area", "geometric area, for the flow coefficient", "1 mm2", "20000 mm2", ""),
        "temperature": Input("temperature", "air before the hole", "-10 degC", "50 degC", "15 degC"),
        "pressure": Input("pressure_absolute", "pressure before the hole", "60 kPa", "108 kPa", "101.325 kPa"),
    },
    outputs={
        "effective_area": Output("area", "mm2", "area of an ideal nozzle that flows the same", ("cm2", "in2")),
        "flow_coefficient": Output("number", "1", "effective over geometric area"),
    },
    formula="effective_area = mass_flow * sqrt(287.05 * temperature) / (pressure * flow_function)",
    source="isentropic nozzle theory, gamma 1.4",
    slips=("bench corrected to standard air or not: the volume belongs to the air before the hole",),
    example='--flow "180 cfm @ 28 inH2O" --area "950 mm2"',
)
def effective_area(
    flow: float, depression: float, area: float | None, temperature: float, pressure: float
) -> dict[str, float | None]:
    """Effective area [m2] that passes ``flow`` [m3/s] at ``depression`` [Pa]."""
    if depression <= 0.0:
        raise ValueError("a depression is written without a sign and above zero")
    psi = flow_function(pressure_behind(pressure, None, depression) / pressure, 1.4)
    effective = flow * pressure / (R_AIR * temperature) * sqrt(R_AIR * temperature) / (pressure * psi)
    return {"effective_area": effective, "flow_coefficient": None if area is None else effective / area}


@register(
    "air",
    "Power an intake port could feed, by the flow-bench rule",
    inputs={
        "flow": Input("volume_flow", "flow of one intake port", "10 cfm", "600 cfm", condition="depression"),
        "depression": Input("pressure_difference", "depression of the figure", "3 inH2O", "60 inH2O"),
        "cylinders": Input("count", "number of cylinders", "1", "16", "1", sheet="cylinders.count"),
        "density_ratio": Input("ratio", "charge density over outside air (1 unboosted)", "0.6", "3.5", "1"),
    },
    outputs={
        "flow_at_28": Output("volume_flow", "cfm", "flow at 28 inches of water"),
        "power_per_cylinder": Output("power", "hp", "power a cylinder", ("kW",)),
        "power": Output("power", "hp", "power of the engine", ("kW", "PS")),
    },
    formula="""
    flow_at_28 = flow * sqrt(28 inH2O / depression)
    power_per_cylinder = 0.257 hp/cfm * flow_at_28 * density_ratio
    power = cylinders * power_per_cylinder
    """,
    source="common practice, no source (0.257 hp per cfm at 28 inH2O, 0.43 at 10 inH2O); the factor for density "
    "is ours, on the ground that power follows air mass",
    validity="a well-tuned unboosted race engine; an upper bound for others",
    slips=("depression left out: 10 and 28 inches of water differ by 1.67",),
    example='--flow "160 cfm @ 28 inH2O" --cylinders 4',
)
def port_power(flow: float, depression: float, cylinders: float, density_ratio: float) -> dict[str, float]:
    """Power [W] by the port-flow rule of thumb."""
    at_28 = bench_flow(flow, depression, BENCH_STANDARD, STANDARD_ATMOSPHERE)["flow_found"]
    one = POWER_PER_FLOW * at_28 * density_ratio
    return {"flow_at_28": at_28, "power_per_cylinder": one, "power": cylinders * one}


# ----------------------------------------------------------------------------- losses
@register(
    "air",
    "Pressure loss of a part at another flow and density",
    inputs={
        "loss": Input("pressure_difference", "loss measured", "0.01 kPa", "100 kPa"),
        "flow": Input("mass_flow", "flow it was measured at", "0.0005 kg/s", "3 kg/s"),
        "wanted_flow": Input("mass_flow", "flow wanted", "0.0005 kg/s", "3 kg/s"),
        "pressure": Input("pressure_absolute", "absolute pressure then", "50 kPa", "500 kPa", "101.325 kPa"),
        "temperature": Input("temperature", "gas temperature then", "-40 degC", "1100 degC", "15 degC"),
        "wanted_pressure": Input(
            "pressure_absolute", "absolute pressure wanted; as then if not given", "50 kPa", "500 kPa", ""
        ),
        "wanted_temperature": Input(
            "temperature", "gas temperature wanted; as then if not given", "-40 degC", "1100 degC", ""
        ),
    },
    outputs={
        "loss_found": Output("pressure_difference", "kPa", "loss at the flow wanted", ("psi", "inH2O", "inHg")),
        "factor": Output("number", "1", "against the measured loss"),
    },
    formula="""
    factor = (wanted_flow / flow)^2 * (pressure / temperature) / (wanted_pressure / wanted_temperature)
    loss_found = loss * factor
    """,
    source="turbulent loss ~ flow^2 / density; standard textbook relation",
    validity="filters, coolers, pipes, mufflers in turbulent flow; small against the pressure itself",
    question=lambda given, results: (
        ["the loss found is more than a tenth of the pressure: the rule over- or under-reads there"]
        if results["loss_found"] > 0.1 * (given["wanted_pressure"] or given["pressure"])
        else []
    ),
    example='--loss "1.0 psi" --flow "20 lb/min" --wanted-flow "30 lb/min"',
)
def loss_scaled(
    loss: float,
    flow: float,
    wanted_flow: float,
    pressure: float,
    temperature: float,
    wanted_pressure: float | None,
    wanted_temperature: float | None,
) -> dict[str, float]:
    """Loss [Pa] of a part at another flow [kg/s] and state [Pa, K]."""
    p2, T2 = wanted_pressure or pressure, wanted_temperature or temperature
    factor = (wanted_flow / flow) ** 2 * (pressure / temperature) / (p2 / T2)
    return {"loss_found": loss * factor, "factor": factor}


@register(
    "air",
    "Total pressure and temperature of a moving gas",
    inputs={
        "pressure": Input("pressure_absolute", "static pressure, absolute", "5 kPa", "1 MPa"),
        "temperature": Input("temperature", "static temperature", "-60 degC", "1100 degC"),
        "velocity": Input("speed", "gas velocity", "0 m/s", "700 m/s", ""),
        "mach": Input("number", "Mach number; instead", "0", "4", ""),
        "gamma": GAMMA,
        "gas_constant": GAS_CONSTANT,
    },
    outputs={
        "mach_found": Output("number", "1", "Mach number"),
        "total_pressure": Output("pressure_absolute", "kPa", "total pressure", ("psi", "atm")),
        "total_temperature": Output("temperature", "K", "total temperature", ("degC", "degF")),
        "pressure_ratio": Output("number", "1", "total over static pressure"),
        "temperature_ratio": Output("number", "1", "total over static temperature"),
    },
    formula="""
    temperature_ratio = 1 + (gamma - 1) / 2 * mach_found^2
    pressure_ratio = temperature_ratio^(gamma / (gamma - 1))
    """,
    source="isentropic flow; standard textbook relation (gas dynamics)",
    example='--pressure "1 atm" --temperature "320 K" --mach 2.79',
)
def total_state(
    pressure: float, temperature: float, velocity: float | None, mach: float | None, gamma: float, gas_constant: float
) -> dict[str, float]:
    """Total pressure [Pa] and temperature [K] from the static state and the velocity [m/s] or Mach number."""
    if (velocity is None) == (mach is None):
        raise ValueError("velocity or mach, exactly one of them is needed")
    found = mach if mach is not None else float(velocity or 0.0) / sqrt(gamma * gas_constant * temperature)
    heat = 1.0 + 0.5 * (gamma - 1.0) * found**2
    press = float(heat ** (gamma / (gamma - 1.0)))
    return {
        "mach_found": found,
        "total_pressure": pressure * press,
        "total_temperature": temperature * heat,
        "pressure_ratio": press,
        "temperature_ratio": heat,
    }


RATED_DENSITY = Input(
    "density", "density of the air of the rating", "1.0 kg/m3", "1.3 kg/m3", f"{RHO_STANDARD_DAY} kg/m3"
)
