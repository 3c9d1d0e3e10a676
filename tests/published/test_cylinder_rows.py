"""Printed and closed-form values: kinematics, Otto cycles of air, wall heat, Wiebe, friction, burning velocity, knock.

Values, tolerances and sources: data/cylinder_*.csv. Rows whose constants are "from memory" there check the
arithmetic of the formula, not the constants.
"""

from __future__ import annotations

from math import cos, pi, radians
from pathlib import Path

import numpy as np
import pytest
from cylinder_rows import by_id, check, rows
from scipy.optimize import brentq, minimize_scalar

from spoolwright.cylinder import heat, kinematics, wiebe
from spoolwright.cylinder import rows as r
from spoolwright.cylinder.build import Burn, build_cylinders, disc_chamber
from spoolwright.cylinder.burning_velocity import burning_velocity, dilution_factor, laminar_burning_velocity
from spoolwright.cylinder.closed import NO_TRACE, closed_cycle, trap
from spoolwright.cylinder.friction import ChenFlynn, chen_flynn
from spoolwright.cylinder.knock import ignition_rate
from spoolwright.cylinder.rows import Cylinders
from spoolwright.cylinder.zones import solve_charge
from spoolwright.gas.air import DRY_AIR
from spoolwright.gas.fuels import grade
from spoolwright.gas.ignition import ignition_table
from spoolwright.gas.model import gas_model
from spoolwright.gas.unburned import Charge, charge_u

ATM = 101325.0


def test_kinematics_of_the_published_six() -> None:
    table = by_id("kinematics")
    bore = (4.0 * 0.5e-3 / pi) ** (1.0 / 3.0)
    crank, omega = 0.5 * bore, 3000.0 * pi / 30.0
    check(table["C40"], 100.0 * bore)
    check(table["C41"], 2.0 * kinematics.piston_stroke(crank, 0.172, 0.0) * 3000.0 / 60.0)
    clearance = 0.5e-3 / 8.0
    check(table["C42"], 1e6 * clearance)
    check(table["C43"], kinematics.piston_velocity(20.0, crank, 0.172, 0.0, omega))
    check(table["C44"], 100.0 * kinematics.piston_travel(20.0, crank, 0.172, 0.0))
    check(table["C45"], 1e6 * kinematics.cylinder_volume(20.0, bore, crank, 0.172, 0.0, clearance))


def test_kinematics_of_the_series_examples() -> None:
    """The book uses the two-term series; with rods of 3.3 and 5 cranks it is off by what is written here."""
    table = by_id("kinematics")
    omega = 180.0 * pi / 30.0
    check(table["C46"], kinematics.piston_velocity(40.0, 0.3, 1.5, 0.0, omega))
    exact = kinematics.piston_acceleration(40.0, 0.3, 1.5, 0.0, omega)
    series = 0.3 * omega**2 * (cos(radians(40.0)) + cos(radians(80.0)) / 5.0)
    check(table["C47"], series)
    assert exact == pytest.approx(series, rel=6e-3)  # third term of the series: r w2 cos(4a) / (4 n3)
    zero = brentq(lambda a: kinematics.piston_acceleration(a, 0.3, 1.5, 0.0, omega), 60.0, 90.0)
    assert zero == pytest.approx(float(table["C48"]["value"]), abs=0.2)
    fastest = minimize_scalar(
        lambda a: -kinematics.piston_velocity(a, 0.3, 1.0, 0.0, 200.0 * pi / 30.0), bounds=(60.0, 90.0)
    )
    assert fastest.x == pytest.approx(float(table["C49"]["value"]), abs=1.5)
    at = np.radians(np.linspace(60.0, 90.0, 3001))
    series_speed = 0.3 * 200.0 * pi / 30.0 * (np.sin(at) + 0.5 * 0.3 * np.sin(2.0 * at))
    check(table["C50"], series_speed.max())
    assert -fastest.fun == pytest.approx(series_speed.max(), rel=5e-3)


def test_kinematics_at_top_dead_centre() -> None:
    table = by_id("kinematics")
    omega = 6500.0 * pi / 30.0
    a = kinematics.piston_acceleration(0.0, 0.041, 0.1365, 0.0, omega)
    check(table["S06"], a)
    check(table["S05"], 0.60 * a)


def air_cylinder() -> Cylinders:
    gas = gas_model(grade("isooctane"), DRY_AIR, 1.0)
    burn = Burn(model="none", heat_multiplier=0.0, step=0.25)
    chamber = disc_chamber(0.086, 0.086, 0.143, 8.0)
    return build_cylinders([chamber], [burn], gas, burning_velocity({"isooctane": 1.0}), ignition_table(100.0))


def otto(p1: float, T1: float, q: float | None = None, T3: float | None = None) -> dict[str, float]:
    """Air-standard cycle with variable heat capacity, ratio 8: heat q [J/kg] or up to T3 [K] at constant volume."""
    c = air_cylinder()
    trap(c, 0, -180.0, p1, T1, 0.0)
    s = c.state[0]
    mass = s[r.MASS]
    closed_cycle(c, 0, 0.0, 100.0, 0.0, NO_TRACE)
    result = {"T2": float(s[r.T_UNBURNED])}
    air = Charge(c.charge_c[0], c.charge_R[0])
    if q is None:
        assert T3
        q = charge_u(air, T3) - charge_u(air, result["T2"])
    s[r.ENERGY] += q * mass
    s[r.P], s[r.T_UNBURNED], _ = solve_charge(air, mass, s[r.VOLUME], s[r.ENERGY], 0.0, 1500.0)
    result |= {"T3": float(s[r.T_UNBURNED]), "p3": float(s[r.P])}
    end = closed_cycle(c, 0, 180.0, 100.0, 0.0, NO_TRACE)
    result |= {"T4": end.T_end, "work": end.work / mass, "efficiency": end.work / mass / q}
    result["mep"] = end.work / (s[r.VOLUME] * 7.0 / 8.0)
    return result


def test_otto_cycle_with_variable_heat_capacity__heat_given() -> None:
    table = by_id("otto")
    cycle = otto(100e3, 290.0, q=800e3)
    values = (cycle["T2"], cycle["T3"], 1e-6 * cycle["p3"], cycle["T4"], 1e-3 * cycle["work"], cycle["efficiency"])
    for name, value in zip(("C10", "C11", "C12", "C13", "C14", "C15"), values, strict=True):
        check(table[name], value)
    check(table["C16"], 1e-3 * cycle["mep"])


def test_otto_cycle_with_variable_heat_capacity__peak_temperature_given() -> None:
    table = by_id("otto")
    cycle = otto(ATM, 300.0, T3=2000.0)
    check(table["C17"], cycle["T2"])
    check(table["C18"], cycle["T4"])
    check(table["C19"], cycle["efficiency"])


def test_wall_heat_rows() -> None:
    table = by_id("heat")
    check(table["W10"], heat.C1_OPEN)
    check(table["W11"], heat.C1_CLOSED)
    check(table["W13"], heat.C2_COMBUSTION)
    check(table["W14"], heat.woschni(0.086, 2000e3, 700.0, heat.C1_CLOSED * 12.0))
    w = heat.woschni_velocity(2.28, 12.0, 3.24e-3, 0.5e-3, 340.0, 100e3, 0.5625e-3, 5e6, 0.6e6)
    check(table["W15"], w)
    check(table["W16"], heat.woschni(0.086, 6000e3, 2300.0, w))
    check(table["W17"], heat.hohenberg(1e-4, 60e5, 2300.0, 12.0))
    rho = 60e5 / (287.0 * 2300.0)
    check(table["W18"], heat.annand(0.086, rho, 2300.0, 12.0, 0.5, 1250.0))


def test_wiebe_rows() -> None:
    table = by_id("wiebe")
    check(table["W01"], wiebe.burned_fraction(0.5, 5.0, 2.0))
    check(table["W02"], wiebe.burned_fraction(1.0, 5.0, 2.0))
    for name, share in (("W03", 0.5), ("W04", 0.1), ("W05", 0.9)):
        check(table[name], brentq(lambda y, x=share: wiebe.burned_fraction(y, 5.0, 2.0) - x, 0.0, 1.0))
    check(table["W06"], wiebe.A_COMPLETE)


def test_friction_row() -> None:
    check(by_id("friction")["W20"], 1e-5 * chen_flynn(ChenFlynn(), 60e5, 12.0))


@pytest.mark.parametrize(("letter", "family"), [("a", "isooctane"), ("b", "methanol"), ("c", "indolene")])
def test_burning_velocity_rows(letter: str, family: str) -> None:
    table = by_id("velocity")
    one = burning_velocity({family: 1.0})
    check(table[f"W62{letter}"], 100.0 * laminar_burning_velocity(one, 1.0, 298.0, ATM, 0.0))
    check(table[f"W63{letter}"], 100.0 * laminar_burning_velocity(one, 1.1, 700.0, 20.0 * ATM, 0.0))


def test_dilution_factor__near_the_abstracts() -> None:
    """1 - 2.1 f by volume was printed for f up to 0.2 or so; the later fit used here lies close to it below 0.1."""
    printed = float(by_id("velocity")["W60"]["value"])
    assert abs(dilution_factor(0.10) - printed) < 0.18
    assert dilution_factor(0.0) == 1.0


def test_ignition_delay_rows() -> None:
    table = by_id("knock")
    for name, octane, p, T in (("W30", 100.0, 40.0, 800.0), ("W31", 95.0, 40.0, 800.0), ("W32", 95.0, 60.0, 850.0)):
        rate = ignition_rate(ignition_table(octane), 1.0, p * ATM, T, 1.0, 0.0)
        check(table[name], 1e3 / rate)
    cold = np.log(ignition_rate(ignition_table(95.0), 1.0, 40.0 * ATM, 800.0, 1.0, 0.0))
    hot = np.log(ignition_rate(ignition_table(95.0), 1.0, 40.0 * ATM, 810.0, 1.0, 0.0))
    check(table["W33"], 95.0 / 3.402 * (hot - cold))


def test_all_rows_are_used() -> None:
    """Every row of the kinematics, heat and wiebe files is named in this file."""
    text = Path(__file__).read_text()
    for name in ("kinematics", "heat", "wiebe", "friction"):
        for row in rows(name):
            assert row["id"] in text, row["id"]
