"""The cylinder most tests of this folder use: bore 87, stroke 75, rod 120 mm, ratio 7.8, petrol."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.build import Burn, Chamber, build_cylinders, disc_chamber
from spoolwright.cylinder.burning_velocity import burning_velocity
from spoolwright.cylinder.closed import NO_TRACE, ClosedCycle, closed_cycle, trap
from spoolwright.cylinder.rows import Cylinders
from spoolwright.gas.air import DRY_AIR
from spoolwright.gas.fuels import Fuel, grade
from spoolwright.gas.ignition import ignition_table
from spoolwright.gas.model import GasModel, gas_model

FUEL: Fuel = grade("petrol 95 RON")
CLOSING, OPENING = -120.0, 120.0


@cache
def gas(phi: float = 1.1) -> GasModel:
    return gas_model(FUEL, DRY_AIR, phi)


def chamber(ratio: float = 7.8, **more: float) -> Chamber:
    return disc_chamber(0.087, 0.075, 0.120, ratio, **more)


def cylinders(
    chambers: list[Chamber] | None = None, phi: float = 1.1, octane: float = 95.0, **burn: object
) -> Cylinders:
    """Cylinders with the same burn settings."""
    chambers = chambers or [chamber()]
    setting = replace(Burn(), **burn)  # type: ignore[arg-type]
    velocity = burning_velocity({"gasoline": 1.0})
    return build_cylinders(chambers, [setting] * len(chambers), gas(phi), velocity, ignition_table(octane))


def omega(rpm: float) -> float:
    return rpm * np.pi / 30.0


def run(
    c: Cylinders,
    rpm: float,
    spark: float,
    p: float = 1.05e5,
    T: float = 355.0,
    phi: float = 1.1,
    residual: float = 0.06,
) -> ClosedCycle:
    """Trap cylinder 0 and run its closed part."""
    trap(c, 0, CLOSING, p, T, phi, residual)
    return ClosedCycle(*closed_cycle(c, 0, OPENING, omega(rpm), spark, NO_TRACE))


def fuel_energy(c: Cylinders, k: int = 0) -> float:
    """Heating value of the fresh fuel trapped in cylinder k [J]."""
    s = c.state[k]
    if s[r.MODE] == r.BURNING:
        return float(s[r.MASS_CLOSED] * s[r.Y_FUEL] * FUEL.lhv_vapour)
    return float(s[r.MASS] * s[r.Y_FUEL] * FUEL.lhv_vapour)
