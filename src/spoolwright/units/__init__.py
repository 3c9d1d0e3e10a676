"""Units at the edge: text as a builder writes it to SI floats, and back.

The one unit registry of the program. A quantity is text with a unit ("92.5 mm", "45 thou",
"500 cfm @ 1.5 inHg", "52.1 cc ± 0.3"); it is read against a *kind* (length, gauge pressure, ...)
and becomes a :class:`Quantity`: SI value, spread, condition, and the text as typed. Inside the
program there are SI floats only; crank angles are in degrees, mixture is lambda.

What one unit table cannot tell, the kind does: gauge from absolute pressure, torque from energy,
actual from standard volume flow, a temperature from a temperature difference. A bare number is a
fault, except for kinds without a unit. Nothing is clamped, nothing is guessed.

General-purpose unit libraries read "PS" as petasiemens and "cfm" as centifermi, know no gauge
pressure, and cost about a thousand times a table look-up; the tests hold each unit here against one.
"""

from __future__ import annotations

from spoolwright.units.numbers import read_number, significant
from spoolwright.units.quantities import Quantity, check_pressure_reference, parse, parse_any, read, resolve
from spoolwright.units.showing import convert, likely_slips, show, to_si
from spoolwright.units.tables import KINDS, UNITS, Dims, Kind

__all__ = [
    "KINDS",
    "UNITS",
    "Dims",
    "Kind",
    "Quantity",
    "check_pressure_reference",
    "convert",
    "likely_slips",
    "parse",
    "parse_any",
    "read",
    "read_number",
    "resolve",
    "show",
    "significant",
    "to_si",
]
