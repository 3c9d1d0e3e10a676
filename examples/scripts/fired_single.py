"""A single-cylinder engine's closed cycle: best-torque spark, and the spark that knock allows.

Problem: bore 87, stroke 75, rod 120 mm, ratio 7.8, disc chamber with the plug half a bore radius off the
axis; petrol at lambda 0.9. At inlet closing, 120 degrees before firing top dead centre, 1.57 bar and 385 K with
5 % residual (1.5 bar of boost, no cooler). 2500 rev/min, octane number 95, walls 450 / 470 / 410 K.

Known answer: the first law and a bound. Work, wall heat and what is left in the gas sum to what was trapped,
within 1e-10 of the fuel's energy. The efficiency lies below that of an ideal fuel-air cycle with more ratio and
a leaner mixture: 0.4257 at ratio 8, stoichiometric (computed with Cantera; tests/published has the table).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.build import Burn, build_cylinders, disc_chamber
from spoolwright.cylinder.burning_velocity import burning_velocity
from spoolwright.cylinder.closed import trap
from spoolwright.cylinder.knock import LIMIT, KnockBand, knock_band
from spoolwright.cylinder.search import SparkSearch, Trapped, best_torque_spark, knock_limited_spark
from spoolwright.gas.air import DRY_AIR
from spoolwright.gas.fuels import grade
from spoolwright.gas.ignition import ignition_table
from spoolwright.gas.model import gas_model

PHI = 1.0 / 0.9
KNOWN_BOUND = 0.4257  # efficiency of the ideal cycle


class Answer(NamedTuple):
    """Best torque, knock-limited, the band of the first, efficiency there and energy not accounted for [-]."""

    best: SparkSearch
    limited: SparkSearch
    band: KnockBand
    efficiency: float
    closure: float


def solve(speed_rpm: float = 2500.0, octane: float = 95.0) -> Answer:
    """Both sparks on one trapped state."""
    fuel = grade("petrol 95 RON")
    gas = gas_model(fuel, DRY_AIR, PHI)
    chamber = disc_chamber(0.087, 0.075, 0.120, 7.8, plug_offset=0.5)
    velocity = burning_velocity({fuel.flame_family: 1.0})
    c = build_cylinders([chamber], [Burn()], gas, velocity, ignition_table(octane))
    trap(c, 0, -120.0, 1.57e5, 385.0, PHI, 0.05)
    energy = float(c.state[0, r.MASS] * c.state[0, r.Y_FUEL]) * fuel.lhv_vapour
    trapped = Trapped(c, 0, 120.0, speed_rpm * np.pi / 30.0)
    best = best_torque_spark(trapped)
    limited = knock_limited_spark(trapped, best, LIMIT)
    return Answer(best, limited, knock_band(best.cycle.knock), best.cycle.work / energy, best.cycle.closure / energy)


if __name__ == "__main__":
    answer = solve()
    for name, found in (("best torque", answer.best), ("held back to knock", answer.limited)):
        cycle = found.cycle
        print(
            f"{name}: spark {found.spark:.1f} deg, 50 % burned at {cycle.angle_50:.1f}, "
            f"peak {1e-5 * cycle.p_max:.1f} bar, work {cycle.work:.0f} J, knock integral {cycle.knock:.2f}"
        )
    print(f"efficiency {answer.efficiency:.3f}, below {KNOWN_BOUND}; energy closes to {abs(answer.closure):.0e}")
    print(f"at best torque it {answer.band.verdict} (limit {answer.band.low:.1f} to {answer.band.high:.1f})")
