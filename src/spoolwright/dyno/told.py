"""Figures of a pull in the units and words they are told in: its tops, its air, one thing seen, a correction's top."""

from __future__ import annotations

from dataclasses import dataclass

from spoolwright import units
from spoolwright.dyno.causes import Evidence
from spoolwright.dyno.correct import Corrected
from spoolwright.dyno.measured import RPM, Measured
from spoolwright.dyno.rig import Air


@dataclass(frozen=True, slots=True)
class Tops:
    """Most torque [N m] and power [kW] of a pull with their speeds [rpm]."""

    torque: float
    torque_rpm: float
    power: float
    power_rpm: float


def tops(pull: Measured) -> Tops:
    """The tops of a pull that tells a torque."""
    torque, at = pull.peak_torque()
    power, fast = pull.peak_power()
    return Tops(torque, at / RPM, power / 1e3, fast / RPM)


def corrected_power(pull: Measured, row: Corrected) -> float | None:
    """Most power [kW] of ``pull`` by the code of ``row``; None where no factor is applied."""
    return None if row.factor is None else row.factor * tops(pull).power


def day(pull: Measured) -> str:
    """Where the torque stands and the air it was measured in."""
    place = f"at the {pull.place}" if pull.place in ("flywheel", "wheel") else "place not stated"
    return ", ".join((place, *_air(pull.air)))


def _air(air: Air) -> list[str]:
    parts = []
    if air.barometer is not None:
        parts.append(f"{units.convert(air.barometer, 'pressure_absolute', 'kPa'):.1f} kPa")
    if air.temperature is not None:
        parts.append(f"{units.convert(air.temperature, 'temperature', 'degC'):.0f} degC")
    if air.humidity is not None:
        parts.append(f"{100 * air.humidity:.0f} % humid")
    return parts or ["air of the day not stated"]


def evidence(one: Evidence) -> str:
    """One thing seen with its value, engine speed and time."""
    parts = [one.words]
    if one.value is not None:
        parts.append(f"{one.value:.4g} {one.unit}".strip())
    if one.speed_rpm is not None:
        parts.append(f"at {one.speed_rpm:.0f} rpm")
    if one.time is not None:
        parts.append(f"{one.time:.1f} s into the log")
    return ", ".join(parts)
