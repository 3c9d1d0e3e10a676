"""Ideal fuel-air cycles: the closed cycle with heat loss, friction and finite burn switched off.

data/cylinder_cycles.csv: cycles computed with Cantera (frozen compression, constant-volume equilibrium
combustion at top dead centre, shifting isentropic expansion). Besides the rows' tolerances, imep and T3 must
agree within 0.1 %. data/cylinder_otto.csv, C25 to C33: the same kind of cycle read from printed charts.
"""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest
from cylinder_rows import by_id, check, rows

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.build import Burn, build_cylinders, disc_chamber
from spoolwright.cylinder.burning_velocity import burning_velocity
from spoolwright.cylinder.closed import NO_TRACE, closed_cycle, trap
from spoolwright.cylinder.rows import Cylinders
from spoolwright.gas.air import HumidAir
from spoolwright.gas.fuels import grade
from spoolwright.gas.ignition import ignition_table
from spoolwright.gas.model import gas_model

CHARTS_AIR = HumidAir((("N2", 3.76 / 4.76), ("O2", 1.0 / 4.76)))
OMEGA = 300.0  # rad/s; without heat loss the cycle does not depend on it


@cache
def cylinder(ratio: float, step: float = 0.5) -> Cylinders:
    gas = gas_model(grade("isooctane"), CHARTS_AIR, 1.0)
    chamber = disc_chamber(0.086, 0.086, 0.143, ratio)
    burn = Burn(model="instant", heat_multiplier=0.0, step=step, step_burning=step)
    return build_cylinders([chamber], [burn], gas, burning_velocity({"isooctane": 1.0}), ignition_table(100.0))


@cache
def ideal_cycle(ratio: float, T1: float, p1: float, phi: float, residual: float = 0.0) -> dict[str, float]:
    """States 2, 3, 4 [K, bar], imep [bar], efficiency on the vapour's heating value."""
    c = cylinder(ratio)
    trap(c, 0, -180.0, p1 * 1e5, T1, phi, residual)
    fuel = c.state[0, r.MASS] * c.state[0, r.Y_FUEL]
    result = {}
    assert closed_cycle(c, 0, 0.0, OMEGA, 0.0, NO_TRACE).status == r.OK
    result["T2"], result["p2"] = c.state[0, r.T_UNBURNED], 1e-5 * c.state[0, r.P]
    # the spark at 0 belongs to the second half; the first small step after it stands for state 3
    assert closed_cycle(c, 0, 1e-6, OMEGA, 0.0, NO_TRACE).status == r.OK
    result["T3"], result["p3"] = c.state[0, r.T_BURNED], 1e-5 * c.state[0, r.P]
    end = closed_cycle(c, 0, 180.0, OMEGA, 0.0, NO_TRACE)
    result["T4"], result["p4"] = end.T_end, 1e-5 * end.p_end
    swept = c.state[0, r.VOLUME] * (1.0 - 1.0 / ratio)
    result["imep"] = 1e-5 * end.work / swept
    result["e"] = end.work / (fuel * grade("isooctane").lhv_vapour)
    return result


@pytest.mark.parametrize("row", rows("cycles"), ids=lambda row: row["id"])
def test_ideal_fuel_air_cycle(row: dict[str, str]) -> None:
    numbers = re.search(r"phi ([\d.]+), r ([\d.]+), T1 ([\d.]+) K, p1 ([\d.]+) bar", row["inputs"])
    assert numbers
    phi, ratio, T1, p1 = (float(x) for x in numbers.groups())
    quantity = re.search(r"(T2|p2|T3|p3|T4|p4|imep|e)$", row["id"])
    assert quantity
    value = ideal_cycle(ratio, T1, p1, phi)[quantity.group()]
    check(row, value, 1e-3 if quantity.group() in ("imep", "T3") else None)


def test_compression_of_the_printed_chart() -> None:
    table = by_id("otto")
    cycle = ideal_cycle(7.8, 335.0, 1.01325, 1.0)
    check(table["C25"], cycle["T2"])
    check(table["C26"], cycle["p2"] / 1.01325)


def test_cycle_of_the_printed_charts() -> None:
    table = by_id("otto")
    cycle = ideal_cycle(8.0, 350.0, 1.0, 1.0, 0.08)
    for name, quantity in zip(("C29", "C30", "C31", "C32", "C33"), ("T2", "T3", "p3", "T4", "p4"), strict=True):
        check(table[name], cycle[quantity])


def test_work_converges_second_order() -> None:
    """Halving the step divides the error of the compression pressure by four."""
    pressures = []
    for step in (4.0, 2.0, 1.0, 0.125):
        c = cylinder(8.5, step)
        trap(c, 0, -180.0, 1e5, 340.0, 1.0)
        closed_cycle(c, 0, -1e-9, OMEGA, 170.0, NO_TRACE)
        pressures.append(float(c.state[0, r.P]))
    errors = np.abs(np.array(pressures[:3]) - pressures[3])
    order = np.log2(errors[:-1] / errors[1:])
    assert np.all((order > 1.8) & (order < 2.2)), order
