"""Mean pressure and temperature along the gas path of a cycle, at both ends of each section of pipe.

Pressures are time means of the static pressure, temperatures are enthalpy means of what passed: what a slow gauge and
a mixed stream would show. Pipes that stand side by side (runners, ports, primaries) are taken together.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from spoolwright.engine.assemble import Model
from spoolwright.engine.parts import S_ENTHALPY, S_MASS, S_P, TIME, Floats
from spoolwright.engine.run import Cycle
from spoolwright.gas.duct import T_from_sensible
from spoolwright.sheet import Sheet


@dataclass(frozen=True)
class Reading:
    """Mean static pressure p [Pa] and enthalpy-mean temperature T [K] at one end of a section."""

    p: float
    T: float


@dataclass(frozen=True)
class Section:
    """A section of pipe by its path in the sheet ("intake.runners"), with readings where gas enters and leaves."""

    path: str
    enters: Reading
    leaves: Reading


def along(model: Model, cycle: Cycle, sheet: Sheet) -> list[Section]:
    """The sections of pipe in the order of the gas."""
    members: dict[str, list[int]] = {}
    for d, span in enumerate(model.spans):
        members.setdefault(re.sub(r"\[\d+\]", "", span.name), []).append(d)
    return [
        Section(
            path,
            _reading(model, cycle, [2 * d for d in ducts], _composition(model, sheet, path)),
            _reading(model, cycle, [2 * d + 1 for d in ducts], _composition(model, sheet, path)),
        )
        for path, ducts in members.items()
    ]


def _reading(model: Model, cycle: Cycle, ends: list[int], y: Floats) -> Reading:
    tally, duct = cycle.tally, model.engine.gas.duct
    mass, enthalpy = (float(np.abs(tally.end[ends, column].sum())) for column in (S_MASS, S_ENTHALPY))
    R, a, b = (float(y @ row) for row in (duct.R, duct.a, duct.b))
    p = float(tally.end[ends, S_P].mean()) / float(tally.numbers[TIME])
    # h = (a + R) T + b T^2 / 2 has the same form as the sensible energy.
    return Reading(p, float(T_from_sensible(a + R, b, enthalpy / max(mass, 1e-12))))


def _composition(model: Model, sheet: Sheet, path: str) -> Floats:
    """Mass shares of air, fuel and burned gas in a section."""
    if path.startswith("exhaust"):
        return np.array([0.0, 0.0, 1.0])
    if not _carries_fuel(sheet, path):
        return np.array([1.0, 0.0, 0.0])
    fuel = 1.0 / (1.0 + model.lam * model.engine.gas.air_fuel_stoichiometric)
    return np.array([1.0 - fuel, fuel, 0.0])


def _carries_fuel(sheet: Sheet, path: str) -> bool:
    """Whether fuel has joined the air before this section."""
    if path == "intake.ports":
        return True
    if sheet.has("carburettor"):
        early = sheet.choice("carburettor.position") == "before_compressor"
        return path == "intake.runners" or (early and not path.startswith("intake.ducts"))
    return path == "intake.runners" and sheet.choice("injection.position") in ("plenum", "throttle")
