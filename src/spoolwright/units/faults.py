"""The sentences for a value that cannot be read: what was found, what is allowed, what to write."""

from __future__ import annotations

import difflib

from spoolwright.units.tables import UNITS, Kind

_EXAMPLES = {
    "length": "87.0 mm", "volume": "52.1 cc", "pressure_gauge": "12 psi", "pressure_absolute": "98.5 kPa",
    "pressure_difference": "1.2 psi", "temperature": "25 degC", "volume_flow": "500 cfm",
    "mass_flow": "0.2 kg/s", "torque": "25 N m", "power": "150 kW", "angle": "28 deg",
    "event_angle": "14 deg BTDC", "rotational_speed": "6500 rpm", "ratio": "8.5:1", "share": "94 %",
    "count": "4", "number": "1.2", "exchange_rate": "0.858", "mass": "520 g", "money": "4850 EUR",
    "mixture": "0.85 lambda", "expansion": "11.5e-6 1/K", "fuel_consumption": "0.58 lb/(hp h)",
}  # fmt: skip


def example_of(want: Kind) -> str:
    """A value of the kind as a user could write it, in quotes."""
    return f'"{_EXAMPLES.get(want.name, "1.0 " + want.usual)}"'


def without_unit(written: str, want: Kind) -> str:
    """The sentence for a bare number where a unit is needed."""
    choices = ", ".join(f'"{written} {unit}"' for unit in want.units[:3])
    return f'"{written}" has no unit; write {choices} or another unit of {want.name.replace("_", " ")}'


def unknown_unit(unit: str, want: Kind) -> str:
    """The sentence for a unit that is not known, with the closest one that is."""
    near = difflib.get_close_matches(unit, [*want.units, *UNITS], n=1, cutoff=0.7)
    hint = f' (did you mean "{near[0]}"?)' if near else ""
    return f'"{unit}" is not a unit known here{hint}; for {want.name.replace("_", " ")} use {", ".join(want.units)}'
