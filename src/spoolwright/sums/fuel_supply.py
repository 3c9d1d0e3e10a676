"""Sums of the fuel supply: pump at pressure and voltage, wiring, line loss, regulator.

Published relations: series loss in pipes (laminar 64/Re, smooth turbulent Blasius), continuity. A pump's flow is taken
as proportional to its voltage at a given pressure; that is an assumption, stated with each answer.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.constants import STANDARD_GRAVITY
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.curves import between
from spoolwright.sums.fuel_power import DENSITY, NEED_INPUTS, FuelNeed
from spoolwright.sums.registry import Input, Output, register

FIRE = (
    "Fuel under pressure beside a hot engine: work cold, power off, extinguisher at hand; check every joint for leaks."
)
BOOST = Input("pressure_gauge", "highest boost", "0 kPa", "350 kPa", sheet="limits.max_boost")


def _flow_at(curve: Sequence[tuple[float, float]], pressure: float) -> float:
    """Pump flow at a pressure; raises ValueError outside the curve."""
    flow = between(curve, pressure)
    if flow is None:
        low, high = (f"{p / 6894.757:.1f} psi" for p in (curve[0][0], curve[-1][0]))
        raise ValueError(
            f"the pump works against {pressure / 6894.757:.1f} psi, outside its curve of {low} to {high}; "
            "measure it that far, it is not extended"
        )
    return flow


def _pump_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = []
    margin = results["margin"]
    if margin < 0.0:
        questions.append("the pump is short of the need at this pressure: the engine goes lean late in the pull")
    elif margin < 0.2:
        questions.append("less than the usual 20 to 30 % of margin: is that enough for a hot pump and a dirty filter?")
    wrong = results["margin_at_base_pressure"]
    if wrong is not None and wrong - margin > 0.1:
        questions.append(
            f"read at base pressure and rated voltage the curve would promise {100 * wrong:.0f} % margin: boost and "
            "losses belong to the pressure the pump works against"
        )
    if given["voltage"] > given["rated_voltage"] * 1.15 or given["voltage"] < 9.5:
        questions.append("is that the voltage at the pump's own terminals, running?")
    return questions


@register(
    "fuel",
    "Fuel pump under boost: pressure it works against, flow there, margin",
    inputs={
        "base_pressure": Input(
            "pressure_gauge", "fuel pressure at rest, no boost", "2 psi", "100 psi", sheet="fuel.supply.base_pressure"
        ),
        "boost": BOOST,
        "regulator_rise": Input("ratio", "fuel pressure added for each unit of boost (0 unreferenced)", "0", "2", "1"),
        "line_loss": Input("pressure_difference", "lost in line and filter", "0 psi", "15 psi", "0 psi"),
        "curve": Input(
            "curve",
            "pump flow against pressure at rated_voltage",
            curve=("pressure_difference", "volume_flow"),
            default="",
            sheet="fuel.supply.pump_curve:pressure,flow",
        ),
        "mass_curve": Input("curve", "the same by mass", curve=("pressure_difference", "mass_flow"), default=""),
        "pumps": Input("count", "like pumps side by side", "1", "4", "1", sheet="fuel.supply.pumps"),
        "rated_voltage": Input(
            "voltage", "voltage of the curve", "6 V", "16 V", "13.5 V", sheet="fuel.supply.pump_voltage"
        ),
        "voltage": Input(
            "voltage", "voltage at the pump, running", "9 V", "16 V", "13.5 V", sheet="fuel.supply.supply_voltage"
        ),
        "density": DENSITY,
        **NEED_INPUTS,
    },
    outputs={
        "pump_pressure": Output("pressure_difference", "psi", "pressure the pump works against", ("kPa", "bar")),
        "flow_at_rated_voltage": Output("volume_flow", "gal/h", "curve at that pressure", ("L/h",)),
        "pump_flow": Output("volume_flow", "gal/h", "flow there at the real voltage", ("L/h",)),
        "pump_mass_flow": Output("mass_flow", "lb/h", "the same by mass", ("kg/h",)),
        "fuel_needed": Output("mass_flow", "lb/h", "what the engine burns", ("kg/h",)),
        "margin": Output("share", "%", "flow above the need, as a share of the need"),
        "margin_at_base_pressure": Output(
            "share", "%", "what it would seem with boost, losses and voltage forgotten (wrong)"
        ),
        "power_at_limit": Output("power", "hp", "power at which the pump is just enough", ("kW",)),
    },
    formula="""
    pump_pressure = base_pressure + regulator_rise * boost + line_loss
    pump_flow = flow_at_rated_voltage * voltage / rated_voltage
    pump_mass_flow = pump_flow * density
    margin = pump_mass_flow / fuel_needed - 1
    """,
    source="pump curve and continuity; flow proportional to voltage is an assumption: measure at the real voltage",
    validity="linear between points of the curve, never beyond; margin of 20 to 30 % is common practice, no source",
    slips=("curve read at base pressure, boost forgotten", "free flow taken", "battery voltage taken for pump voltage"),
    question=_pump_question,
    caution=FIRE,
    example=(
        '--base-pressure "6.5 psi" --boost "14 psi" --line-loss "2 psi" --curve "0 psi: 62 gal/h; 10 psi: 54 gal/h; '
        '20 psi: 43 gal/h; 30 psi: 29 gal/h" --voltage "12.8 V" --density "6.2 lb/gal" --power "290 hp" '
        '--consumption "0.62 lb/(hp h)"'
    ),
)
def pump_under_boost(
    base_pressure: float,
    boost: float,
    regulator_rise: float,
    line_loss: float,
    curve: list[tuple[float, float]] | None,
    mass_curve: list[tuple[float, float]] | None,
    pumps: float,
    rated_voltage: float,
    voltage: float,
    density: float,
    burned: FuelNeed,
) -> dict[str, float | None]:
    """Flow of a pump [m3/s, kg/s] at the pressure [Pa] and voltage [V] it really has, against the need."""
    if density <= 0.0 or rated_voltage <= 0.0 or voltage <= 0.0 or pumps <= 0.0:
        raise ValueError("density, voltages and number of pumps must be above zero")
    if one_of(curve=curve, mass_curve=mass_curve) == "mass_curve":
        assert mass_curve is not None
        curve = [(p, m / density) for p, m in mass_curve]
    assert curve is not None
    need = burned.flow()
    pressure = base_pressure + regulator_rise * boost + line_loss
    rated = pumps * _flow_at(curve, pressure)
    if rated < 0.0:
        raise ValueError("the curve gives no flow at that pressure")
    flow = rated * voltage / rated_voltage
    at_base = between(curve, base_pressure)
    seeming = None if at_base is None else pumps * at_base
    return {
        "pump_pressure": pressure,
        "flow_at_rated_voltage": rated,
        "pump_flow": flow,
        "pump_mass_flow": flow * density,
        "fuel_needed": need,
        "margin": flow * density / need - 1.0,
        "margin_at_base_pressure": None if seeming is None else seeming * density / need - 1.0,
        "power_at_limit": None if burned.consumption is None else flow * density / burned.consumption,
    }


@register(
    "fuel",
    "Voltage that reaches the pump, and the flow it costs",
    inputs={
        "supply_voltage": Input("voltage", "at the battery or alternator, running", "9 V", "16 V"),
        "current": Input("current", "pump current at pressure", "1 A", "40 A"),
        "wire_area": Input("area", "copper section of one wire; or give resistance", "0.5 mm2", "35 mm2", ""),
        "wire_length": Input("distance", "length there and back, with wire_area", "0.2 m", "20 m", ""),
        "resistance": Input(
            "resistance", "resistance of wires, relay and ground; or give the wire", "0 ohm", "1 ohm", ""
        ),
        "contacts": Input("resistance", "relay, fuse and joints on top of the wire", "0 ohm", "0.2 ohm", "0.01 ohm"),
        "rated_voltage": Input("voltage", "voltage of the pump's curve", "6 V", "16 V", "13.5 V"),
    },
    outputs={
        "pump_voltage": Output("voltage", "V", "voltage at the pump"),
        "voltage_drop": Output("voltage", "V", "lost on the way"),
        "flow_share": Output("share", "%", "flow against that of the curve, proportional to voltage"),
    },
    formula="""
    voltage_drop = current * (1.75e-8 * wire_length / wire_area + contacts)
    pump_voltage = supply_voltage - voltage_drop
    flow_share = pump_voltage / rated_voltage
    """,
    source="Ohm's law, copper 1.75e-8 ohm m at 20 degC; flow proportional to voltage is an assumption",
    slips=("length one way only", "measured with the pump unloaded"),
    caution=FIRE,
    example='--supply-voltage "13.8 V" --current "12 A" --wire-area "2.5 mm2" --wire-length "9 m"',
)
def pump_voltage(
    supply_voltage: float,
    current: float,
    wire_area: float | None,
    wire_length: float | None,
    resistance: float | None,
    contacts: float,
    rated_voltage: float,
) -> dict[str, float]:
    """Voltage [V] left at the pump after wires and contacts."""
    if one_of(wire_area=wire_area, resistance=resistance) == "wire_area":
        if wire_length is None:
            raise ValueError("wire_area needs wire_length beside it")
        assert wire_area is not None
        total = 1.75e-8 * wire_length / wire_area + contacts
    else:
        assert resistance is not None
        total = resistance + contacts
    drop = current * total
    if drop >= supply_voltage:
        raise ValueError("the wires would take all of the voltage; check current and section")
    return {
        "pump_voltage": supply_voltage - drop,
        "voltage_drop": drop,
        "flow_share": (supply_voltage - drop) / rated_voltage,
    }


def _line_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["velocity"] > 2.5:
        return ["faster than 2.5 m/s in a fuel line: hot fuel may boil on the suction side; is that the pressure side?"]
    return []


@register(
    "fuel",
    "Pressure lost in a fuel line",
    inputs={
        "bore": Input("length", "inside diameter", "3 mm", "25 mm"),
        "length": Input("distance", "length of the line", "0.05 m", "15 m"),
        "volume_flow": Input("volume_flow", "flow, return included; or give mass_flow", "5 L/h", "2000 L/h", ""),
        "mass_flow": Input("mass_flow", "flow by mass; or give volume_flow", "5 lb/h", "3000 lb/h", ""),
        "density": DENSITY,
        "viscosity": Input("viscosity", "of the fuel (petrol 0.5, ethanol 1.1 at 25 degC)", "0.3 cP", "3 cP", "0.5 cP"),
        "fittings": Input("number", "sum of loss coefficients (sharp elbow 1, filter by its maker)", "0", "60", "0"),
        "rise": Input("distance", "height from tank to carburettor or rail", "-2 m", "3 m", "0 m"),
    },
    outputs={
        "drop": Output("pressure_difference", "psi", "loss of pressure, height included", ("kPa",)),
        "velocity": Output("speed", "m/s", "mean speed in the line"),
        "reynolds": Output("number", "1", "Reynolds number"),
        "friction_factor": Output("number", "1", "Darcy friction factor"),
    },
    formula="""
    reynolds = density * velocity * bore / viscosity
    drop = (friction_factor * length / bore + fittings) * density * velocity^2 / 2 + density * g * rise
    """,
    source="Darcy-Weisbach; 64/Re below 2300, Blasius 0.3164 Re^-0.25 above (any fluid mechanics text)",
    validity="smooth line; Blasius to Re 1e5; between 2300 and 4000 the larger (turbulent) value is taken",
    slips=("outside diameter of the hose taken", "acceleration of the car left out: 1 g over 3 m costs 22 kPa"),
    question=_line_question,
    caution=FIRE,
    example='--bore "8 mm" --length "4 m" --volume-flow "200 L/h" --fittings 6',
)
def fuel_line_loss(
    bore: float,
    length: float,
    volume_flow: float | None,
    mass_flow: float | None,
    density: float,
    viscosity: float,
    fittings: float,
    rise: float,
) -> dict[str, float]:
    """Pressure drop [Pa] of a line from bore, length [m] and flow [m3/s or kg/s]."""
    if min(bore, density, viscosity) <= 0.0:
        raise ValueError("bore, density and viscosity must be above zero")
    if one_of(volume_flow=volume_flow, mass_flow=mass_flow) == "mass_flow":
        assert mass_flow is not None
        volume_flow = mass_flow / density
    assert volume_flow is not None
    velocity = volume_flow / (math.pi / 4.0 * bore**2)
    reynolds = density * velocity * bore / viscosity
    if reynolds <= 0.0:
        raise ValueError("the flow must be above zero")
    friction = 64.0 / reynolds if reynolds < 2300.0 else 0.3164 * reynolds**-0.25
    drop = (friction * length / bore + fittings) * 0.5 * density * velocity**2 + density * STANDARD_GRAVITY * rise
    return {"drop": drop, "velocity": velocity, "reynolds": reynolds, "friction_factor": friction}


def _regulator_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    rise = results["rise_ratio"]
    if rise < 0.1:
        return ["the pressure does not follow boost: is the reference hose on, and from the hat?"]
    if rise < 0.93:
        return ["less than 1:1: pump short, return too free, or the reference taken below the throttle?"]
    if rise > 1.07:
        return ["more than 1:1: a rising-rate regulator, a choked return, or a seat that sticks?"]
    return []


@register(
    "fuel",
    "Regulator: real rise ratio, and fuel pressure over boost",
    inputs={
        "pressure_no_boost": Input("pressure_gauge", "fuel pressure without boost", "1 psi", "100 psi"),
        "pressure_at_boost": Input("pressure_gauge", "fuel pressure at that boost", "1 psi", "150 psi"),
        "boost": Input("pressure_gauge", "boost at the reference", "0.5 psi", "60 psi"),
    },
    outputs={
        "rise_ratio": Output("ratio", ":1", "fuel pressure gained for each unit of boost"),
        "pressure_over_boost": Output("pressure_difference", "psi", "fuel pressure less boost", ("kPa",)),
        "missing": Output("pressure_difference", "psi", "short of a 1:1 rise (negative: above it)", ("kPa",)),
        "pressure_at_1_to_1": Output("pressure_gauge", "psi", "what a 1:1 regulator would give", ("kPa",)),
    },
    formula="""
    rise_ratio = (pressure_at_boost - pressure_no_boost) / boost
    pressure_over_boost = pressure_at_boost - boost
    missing = pressure_no_boost + boost - pressure_at_boost
    """,
    source="definition",
    slips=("fuel pressure read without taking boost off it",),
    question=_regulator_question,
    caution=FIRE,
    example='--pressure-no-boost "6.5 psi" --pressure-at-boost "18.9 psi" --boost "14 psi"',
)
def regulator_rise(pressure_no_boost: float, pressure_at_boost: float, boost: float) -> dict[str, float]:
    """Rise ratio [1] and pressures [Pa] from two gauge readings."""
    if boost <= 0.0:
        raise ValueError("boost must be above zero")
    return {
        "rise_ratio": (pressure_at_boost - pressure_no_boost) / boost,
        "pressure_over_boost": pressure_at_boost - boost,
        "missing": pressure_no_boost + boost - pressure_at_boost,
        "pressure_at_1_to_1": pressure_no_boost + boost,
    }
