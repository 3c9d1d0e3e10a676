"""Inputs that many sums share, so that a measure has one name, one range and one place in the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from spoolwright.sums import materials
from spoolwright.sums.registry import Input

BORE = Input("length", "cylinder bore", "30 mm", "160 mm", sheet="cylinders.bore")
STROKE = Input("length", "piston stroke", "25 mm", "200 mm", sheet="cylinders.stroke")
ROD_LENGTH = Input("length", "connecting rod between the eye centres", "50 mm", "350 mm", sheet="cylinders.rod_length")
PIN_OFFSET = Input(
    "length",
    "piston pin off the cylinder axis, (+) towards the major thrust side",
    "-10 mm",
    "10 mm",
    "0 mm",
    sheet="cylinders.pin_offset",
)
ANGLE = Input("angle", "crank angle after TDC", "-720 deg", "720 deg", reference="ATDC")
SPEED = Input("rotational_speed", "engine speed", "100 rpm", "14000 rpm", sheet="limits.max_speed")
JOURNAL = Input("length", "journal diameter", "15 mm", "110 mm")
CYLINDERS = Input("count", "number of cylinders", "1", "16", default="1", sheet="cylinders.count")
CHAMBER = Input("volume", "chamber in the head, plug in", "8 cc", "200 cc", sheet="cylinders.chamber")
DISH = Input("volume", "hollow in the crown (+) or dome (-)", "-60 cc", "80 cc", "0 cc", sheet="cylinders.dish")
DECK = Input(
    "length", "piston flat below the barrel top (+) or proud (-)", "-3 mm", "6 mm", "0 mm", sheet="cylinders.deck"
)
GASKET_THICKNESS = Input("length", "head gasket, crushed", "0 mm", "5 mm", "0 mm", sheet="cylinders.gasket_thickness")
GASKET_BORE = Input(
    "length", "bore of the gasket; the cylinder bore when not given", "30 mm", "170 mm", "",
    sheet="cylinders.gasket_bore",
)  # fmt: skip
CREVICE = Input("volume", "top land and other crevices", "0 cc", "5 cc", "0 cc", sheet="cylinders.crevice")
RATIO = Input("ratio", "static compression ratio", "5:1", "16:1")
TARGET_RATIO = replace(RATIO, meaning="compression ratio wanted")
RECIPROCATING_MASS = Input(
    "mass",
    "piston with pin, rings, locks and the rod's small end",
    "50 g",
    "3 kg",
    sheet="strength.piston_mass + strength.pin_mass + strength.rod_small_end_mass",
)
REFERENCE_TEMPERATURE = Input("temperature", "temperature at which it was measured", "-10 degC", "60 degC", "20 degC")


def expansion(meaning: str, default: str | None = None) -> Input:
    """A coefficient of thermal expansion: a metal by name, or the user's figure."""
    return Input("expansion", f"expansion of {meaning}", "5e-6 1/K", "30e-6 1/K", default, named=materials.EXPANSION)


def modulus(meaning: str, default: str = "steel") -> Input:
    """An elastic modulus: a metal by name, or the user's figure."""
    return Input("stress", f"elastic modulus of {meaning}", "20 GPa", "400 GPa", default, named=materials.MODULUS)


def poisson(meaning: str, default: str = "steel") -> Input:
    """Poisson's ratio: a metal by name, or the user's figure."""
    return Input("ratio", f"Poisson's ratio of {meaning}", "0.2", "0.4", default, named=materials.POISSON)


def density(meaning: str, default: str = "steel") -> Input:
    """The density of a metal: by name, or the user's figure."""
    return Input("density", f"density of {meaning}", "1500 kg/m3", "9500 kg/m3", default, named=materials.DENSITY)


def for_each(values: Sequence[float], count: int, name: str) -> list[float]:
    """One value for all, or one for each of ``count``; raises ValueError otherwise."""
    if len(values) == 1:
        return [values[0]] * count
    if len(values) != count:
        raise ValueError(f"{name} has {len(values)} values where 1 or {count} are needed")
    return list(values)
