"""Every unit conversion of the published list, through the one unit registry."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from pathlib import Path

import pytest

from spoolwright.units import convert, read, to_si

with (Path(__file__).parent / "data" / "units.csv").open(encoding="utf-8") as file:
    ROWS = {row["id"]: row for row in csv.DictReader(file)}


def si(text: str, kind: str) -> float:
    return read(text, kind).value


def between(text: str, kind: str, unit: str) -> float:
    return convert(si(text, kind), kind, unit)


def fuel_flow(density: str) -> float:
    """cc/min of one lb/h of fuel."""
    return convert(si("1 lb/h", "mass_flow") / si(density, "density"), "volume_flow", "cc/min")


def speed_constant(power: str, torque: str) -> float:
    """K in power = torque * rpm / K."""
    return to_si(1.0, "torque", torque) * to_si(1.0, "rotational_speed", "rpm") / to_si(1.0, "power", power)


def mean_pressure(torque: str, volume: str, unit: str) -> float:
    """Brake mean effective pressure of a four-stroke engine, 4 pi T / Vd."""
    return convert(4.0 * math.pi * si(torque, "torque") / si(volume, "volume"), "pressure_absolute", unit)


def mass_flow(volume_flow: str, density: str, unit: str) -> float:
    return convert(si(volume_flow, "volume_flow") * si(density, "density"), "mass_flow", unit)


CONVERSIONS: dict[str, Callable[[], float]] = {
    "U01": lambda: between("1 psi", "pressure_absolute", "Pa"),
    "U02": lambda: between("1 inHg", "pressure_absolute", "Pa"),
    "U03": lambda: between("1 inHg", "pressure_absolute", "psi"),
    "U04": lambda: between("1 psi", "pressure_absolute", "inHg"),
    "U05": lambda: between("1 psi", "pressure_absolute", "inHg60F"),
    "U06": lambda: between("1 inH2O", "pressure_difference", "Pa"),
    "U07": lambda: between("1 inHg", "pressure_difference", "inH2O"),
    "U08": lambda: between("1 hp", "power", "W"),
    "U09": lambda: between("1 PS", "power", "W"),
    "U10": lambda: between("1 hp", "power", "PS"),
    "U11": lambda: between("1 lb-ft", "torque", "N m"),
    "U12": lambda: 1.0 / speed_constant("hp", "lbf ft"),
    "U13": lambda: 1.0 / speed_constant("kW", "N m"),
    "U14": lambda: between("1 cfm", "volume_flow", "m3/s"),
    "U15": lambda: mass_flow("600 cfm", "1.2 kg/m3", "kg/s"),
    "U16": lambda: mass_flow("600 cfm", "0.0765 lb/ft3", "lb/min"),
    "U17": lambda: between("44 lb/min", "mass_flow", "kg/s"),
    "U18": lambda: fuel_flow("0.72 g/cc"),
    "U19": lambda: fuel_flow("0.792 g/cc"),
    "U20": lambda: si("12.5 AFR @ 14.7", "mixture"),
    "U21": lambda: between("0.85034 lambda", "mixture", "phi"),
    "U22": lambda: between("0.5 lb/hp-hr", "fuel_consumption", "g/kWh"),
    "U23": lambda: between("1 bar", "pressure_absolute", "psi"),
    "U24": lambda: mean_pressure("200 N m", "1.6 L", "bar"),
    "U25": lambda: mean_pressure("1 lb-ft", "1 cu in", "psi"),
    # cubic inches and rpm that make one cubic foot a minute, one filling in two turns
    "U26": lambda: 2.0 * si("1 cu ft", "volume") / si("1 cu in", "volume"),
}


def test_conversions__none_left_out() -> None:
    assert set(CONVERSIONS) == set(ROWS)


@pytest.mark.parametrize("which", sorted(ROWS))
def test_conversion(which: str) -> None:
    row = ROWS[which]
    assert CONVERSIONS[which]() == pytest.approx(float(row["value"]), rel=float(row["rel_tol"]), abs=0.0), row[
        "quantity"
    ]
