"""Sums of work: torque, power and speed, mean effective pressures, efficiencies."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from spoolwright.sums.measures import RATIO, SPEED
from spoolwright.sums.registry import Input, Output, register

DISPLACEMENT = Input("volume", "swept volume of all cylinders", "50 cc", "12 L")
TORQUE = Input("torque", "torque", "1 N m", "3000 N m")
POWER = Input("power", "power", "0.5 kW", "1500 kW")
STROKES = Input("count", "strokes in a cycle: 4 or 2", "2", "4", "4")
MEAN_PRESSURE = Input("pressure_difference", "mean effective pressure", "50 kPa", "4 MPa")


def _turns(strokes: float) -> float:
    if strokes not in (2.0, 4.0):
        raise ValueError("strokes must be 4 or 2")
    return strokes / 2.0


@register(
    "motion",
    "Torque, power and speed: the third from two",
    inputs={
        "torque": replace(TORQUE, default=""),
        "power": replace(POWER, default=""),
        "speed": replace(SPEED, default=""),
    },
    outputs={
        "torque_at": Output("torque", "N m", "torque", ("lbf ft", "kgf m")),
        "power_at": Output("power", "kW", "power", ("hp", "PS")),
        "speed_at": Output("rotational_speed", "rpm", "speed"),
    },
    formula="power_at = torque_at * speed_at",
    source="definition",
    slips=("hp and PS differ by 1.4 %", "wheel figures taken for flywheel figures"),
    example='--torque "185 N m" --speed "5200 rpm"',
)
def torque_power_speed(torque: float | None, power: float | None, speed: float | None) -> dict[str, float]:
    """All three [N m], [W], [rad/s]. Raises ValueError unless exactly two are given."""
    if (torque is None) + (power is None) + (speed is None) != 1:
        raise ValueError("give exactly two of torque, power and speed")
    if torque is None:
        assert power is not None
        assert speed is not None
        torque = power / speed
    elif power is None:
        assert speed is not None
        power = torque * speed
    else:
        speed = power / torque
    return {"torque_at": torque, "power_at": power, "speed_at": speed}


def _mean_pressure_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    bar = results["mean_pressure"] / 1e5
    if bar > 30.0:
        return [f"{bar:.1f} bar is beyond road and most race engines; check displacement, strokes and units"]
    return []


@register(
    "motion",
    "Mean effective pressure from torque, or from power and speed",
    inputs={
        "displacement": DISPLACEMENT,
        "torque": replace(TORQUE, default=""),
        "power": replace(POWER, default=""),
        "speed": replace(SPEED, default="", meaning="engine speed, with power"),
        "strokes": STROKES,
    },
    outputs={
        "mean_pressure": Output("pressure_difference", "kPa", "mean effective pressure", ("bar", "psi")),
        "torque_at": Output("torque", "N m", "torque it belongs to", ("lbf ft",)),
    },
    formula="mean_pressure = 2*pi * (strokes/2) * torque_at / displacement",
    source="definition",
    slips=("2 pi for 4 pi in a four-stroke", "displacement of one cylinder", "wheel torque"),
    question=_mean_pressure_question,
    example='--torque "200 N m" --displacement "1.6 L"',
)
def mean_effective_pressure(
    displacement: float, torque: float | None, power: float | None, speed: float | None, strokes: float
) -> dict[str, float]:
    """Pressure [Pa] and torque [N m]. Raises ValueError unless torque, or power with speed, is given."""
    if torque is None:
        if power is None or speed is None:
            raise ValueError("give torque, or power with speed")
        torque = power / speed
    elif power is not None:
        raise ValueError("give torque or power, not both")
    return {"mean_pressure": 2.0 * math.pi * _turns(strokes) * torque / displacement, "torque_at": torque}


@register(
    "motion",
    "Torque, and power, from mean effective pressure",
    inputs={
        "mean_pressure": MEAN_PRESSURE,
        "displacement": DISPLACEMENT,
        "speed": replace(SPEED, default="", meaning="engine speed, for the power"),
        "strokes": STROKES,
    },
    outputs={
        "torque": Output("torque", "N m", "torque", ("lbf ft",)),
        "power": Output("power", "kW", "power, where the speed is given", ("hp", "PS")),
    },
    formula="""
    torque = mean_pressure * displacement / (2*pi * strokes/2)
    power = torque * speed
    """,
    source="definition",
    example='--mean-pressure "15.7 bar" --displacement "1.6 L" --speed "5000 rpm"',
)
def torque_from_mean_pressure(
    mean_pressure: float, displacement: float, speed: float | None, strokes: float
) -> dict[str, float | None]:
    """Torque [N m], power [W] or None."""
    torque = mean_pressure * displacement / (2.0 * math.pi * _turns(strokes))
    return {"torque": torque, "power": None if speed is None else torque * speed}


@register(
    "motion",
    "Mechanical efficiency and indicated mean pressure",
    inputs={
        "brake_mean_pressure": replace(MEAN_PRESSURE, meaning="brake mean effective pressure", default=""),
        "friction_mean_pressure": replace(
            MEAN_PRESSURE, meaning="friction mean effective pressure", low="20 kPa", high="600 kPa", default=""
        ),
        "brake_power": replace(POWER, meaning="brake power", default=""),
        "friction_power": replace(POWER, meaning="power lost to friction", low="0.1 kW", default=""),
    },
    outputs={
        "mechanical_efficiency": Output("share", "%", "brake over indicated"),
        "indicated_mean_pressure": Output("pressure_difference", "kPa", "brake and friction together", ("bar", "psi")),
        "indicated_power": Output("power", "kW", "brake and friction together", ("hp", "PS")),
    },
    formula="mechanical_efficiency = brake / (brake + friction)",
    source="definition",
    validity="From pressures or from powers; with both, they must agree.",
    example='--brake-mean-pressure "12.5 bar" --friction-mean-pressure "1.8 bar"',
)
def mechanical_efficiency(
    brake_mean_pressure: float | None,
    friction_mean_pressure: float | None,
    brake_power: float | None,
    friction_power: float | None,
) -> dict[str, float | None]:
    """Share [1], pressure [Pa] or None, power [W] or None. Raises ValueError without a pair."""
    shares, pressure, power = [], None, None
    if brake_mean_pressure is not None and friction_mean_pressure is not None:
        pressure = brake_mean_pressure + friction_mean_pressure
        shares.append(brake_mean_pressure / pressure)
    if brake_power is not None and friction_power is not None:
        power = brake_power + friction_power
        shares.append(brake_power / power)
    if not shares:
        raise ValueError("give brake and friction mean pressure, or brake and friction power")
    if abs(max(shares) - min(shares)) > 0.01:
        raise ValueError("the pressures and the powers give different efficiencies")
    return {
        "mechanical_efficiency": shares[0],
        "indicated_mean_pressure": pressure,
        "indicated_power": power,
    }


@register(
    "motion",
    "Brake thermal efficiency and fuel for the power",
    inputs={
        "power": POWER,
        "fuel_flow": Input("mass_flow", "fuel burned", "0.1 kg/h", "500 kg/h"),
        "heating_value": Input("energy_per_mass", "lower heating value of the fuel", "15 MJ/kg", "50 MJ/kg"),
    },
    outputs={
        "brake_thermal_efficiency": Output("share", "%", "brake power over fuel energy"),
        "fuel_consumption": Output("fuel_consumption", "g/kWh", "fuel for the power", ("lb/(hp h)",)),
    },
    formula="""
    brake_thermal_efficiency = power / (fuel_flow * heating_value)
    fuel_consumption = fuel_flow / power
    """,
    source="definition",
    slips=("higher for lower heating value: 6 to 7 % for petrol",),
    question=lambda given, results: (
        [f"{results['brake_thermal_efficiency']:.0%} is more than a spark-ignition engine gives; check the units"]
        if results["brake_thermal_efficiency"] > 0.45
        else []
    ),
    example='--power "36 kW" --fuel-flow "10.5 kg/h" --heating-value "42 MJ/kg"',
)
def brake_thermal_efficiency(power: float, fuel_flow: float, heating_value: float) -> dict[str, float]:
    """Share [1] and consumption [kg/J]."""
    return {
        "brake_thermal_efficiency": power / (fuel_flow * heating_value),
        "fuel_consumption": fuel_flow / power,
    }


@register(
    "motion",
    "Efficiency of the air-standard Otto cycle",
    inputs={
        "compression_ratio": RATIO,
        "gamma": Input("ratio", "ratio of heats: 1.4 cold air, about 1.27 burned charge", "1.2", "1.67", "1.4"),
    },
    outputs={"efficiency": Output("share", "%", "work over heat, ideal")},
    formula="efficiency = 1 - compression_ratio^(1 - gamma)",
    source="air-standard Otto cycle; any engine or thermodynamics text",
    validity="An upper bound and a way to compare ratios; real engines reach about half to two thirds of it.",
    example="--compression-ratio 8.5",
)
def otto_efficiency(compression_ratio: float, gamma: float) -> dict[str, float]:
    """Share [1]."""
    if compression_ratio <= 1.0:
        raise ValueError("a compression ratio is above 1")
    return {"efficiency": 1.0 - compression_ratio ** (1.0 - gamma)}
