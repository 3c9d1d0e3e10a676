"""The build's own limits in the units of the log's channels; they serve the diagnosis and the stop list."""

from __future__ import annotations

import math
from dataclasses import dataclass

from spoolwright import units
from spoolwright.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: the channel's role (a family), its value in the wanted unit, the forbidden side, as typed, where."""

    role: str
    value: float
    unit: str
    above: bool
    text: str
    path: str
    meaning: str
    speed_rpm: float | None = None  # a floor that holds from this speed on


# Name in the sheet's limits, role of the channel, kind, wanted unit, whether above is forbidden, in words.
LIMITS: tuple[tuple[str, str, str, str, bool, str], ...] = (
    ("max_speed", "engine_speed", "rotational_speed", "rpm", True, "engine speed"),
    ("max_head_temperature", "head_temp", "temperature", "degC", True, "head temperature"),
    ("max_exhaust_temperature", "exhaust_temp", "temperature", "degC", True, "exhaust temperature"),
    ("max_oil_temperature", "oil_temp", "temperature", "degC", True, "oil temperature"),
    ("min_oil_pressure", "oil_pressure", "pressure_gauge", "kPa", False, "oil pressure"),
    ("max_charge_temperature", "charge_temp", "temperature", "degC", True, "charge temperature"),
    ("max_boost", "boost_gauge", "pressure_gauge", "kPa", True, "boost"),
    ("leanest_mixture", "lambda", "mixture", "lambda", True, "mixture (lambda)"),
)


def limits_of(sheet: Sheet) -> tuple[Limit, ...]:
    """Every limit of the sheet that a log can show."""
    found = []
    for name, role, kind, unit, above, meaning in LIMITS:
        path = f"limits.{name}"
        if not sheet.has(path):
            continue
        quantity = sheet.quantity(path)
        speed = quantity.condition[0].value * 30.0 / math.pi if quantity.condition else None
        value = units.convert(sheet.value(path), kind, unit)
        found.append(Limit(role, value, unit, above, quantity.text, path, meaning, speed))
    return tuple(found)
