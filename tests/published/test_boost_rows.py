"""Compressor, turbine, gate and cooler kernels against worked examples and published figures (data/boost_rows.csv)."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pint
import pytest
from scipy.optimize import brentq

from spoolwright.boost.build import cooler_row, gate_row
from spoolwright.boost.compressor import compressor_flow, compressor_head, wheel_at
from spoolwright.boost.compressor_estimate import MACH
from spoolwright.boost.compressor_fit import Reference
from spoolwright.boost.compressor_roots import choke_flow
from spoolwright.boost.compressor_table import Compressor, Lines, tabulate
from spoolwright.boost.cooler import cooler_loss, cooler_outlet_temperature
from spoolwright.boost.gate import gate_lift
from spoolwright.boost.rows import K_M_HIGH, WORK_KNOTS
from spoolwright.boost.turbine import spouting_energy, turbine_flow
from spoolwright.boost.turbine_fit import turbine_row
from spoolwright.constants import CP_AIR, R_AIR
from spoolwright.engine.compressor_map import unusual_reference
from spoolwright.sums.boost_compressor import compressor_power
from spoolwright.sums.boost_cooler import charge_cooler
from spoolwright.sums.boost_gas import PressureRatio
from spoolwright.sums.work import mean_effective_pressure

with (Path(__file__).parent / "data" / "boost_rows.csv").open(encoding="utf-8", newline="") as _file:
    ROWS = {row["id"]: row for row in csv.DictReader(_file)}

CP, R = 1005.0, 1005.0 * 0.4 / 1.4
RPM = np.pi / 30.0


def published(row: str) -> object:
    """The row's value with its own tolerance."""
    return pytest.approx(float(ROWS[row]["value"]), rel=float(ROWS[row]["rel_tol"]))


def given(row: str) -> float:
    return float(ROWS[row]["value"])


def wheel(efficiency: float, work: float, diameter: float) -> Compressor:
    """A wheel of one efficiency and one work coefficient at its peak, at every speed."""
    one = np.ones(2)
    lines = Lines(
        np.array([0.6, 1.6]),
        0.12 * one,
        0.05 * one,
        efficiency * work * one,
        3.0 * one,
        0.05 * one,
        np.full((2, WORK_KNOTS), work),
    )
    return tabulate(lines, diameter, 1e5, 1e-3)


def at_peak(machine: Compressor, omega: float, p: float, T: float) -> tuple[float, float]:
    """Pressure ratio and work [J/kg] at the peak of the line."""
    mdot = 0.05 * wheel_at(machine.sizes, omega, p, T, R, CP).flow
    p2, dh0, _ = compressor_head(*machine, omega, mdot, p, T, R, CP)
    return p2 / p, dh0


def test_published_centrifugal_example() -> None:
    """T06 to T08: inlet 293 K static at 150 m/s and 1 bar, slip 0.95, efficiency 0.80: tip speed makes 4.5 bar."""
    T01 = 293.0 + 150.0**2 / (2.0 * CP)
    p01 = 1e5 * (T01 / 293.0) ** 3.5
    machine = wheel(0.80, 0.95, 0.5)
    ratio, dh0 = at_peak(machine, 2.0 * given("T07") / 0.5, p01, T01)
    assert ratio * p01 == pytest.approx(4.5e5, rel=2e-3)
    assert dh0 / CP == published("T06")
    assert 10.0 * dh0 / 1e3 == published("T08")


def test_published_outlet_temperature_and_power() -> None:
    """T14, T15: the speed that makes ratio 2 at 70 % gives the printed temperature and power."""
    machine = wheel(0.70, 0.8, 0.05)
    low, high = 5e3, 2e4
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if at_peak(machine, middle, 1e5, 298.15)[0] < 2.0 else (low, middle)
    _, dh0 = at_peak(machine, low, 1e5, 298.15)
    assert 298.15 + dh0 / CP == published("T14")
    assert 0.2 * dh0 / 1e3 == published("T15")


def best_speed(p3: float, T3: float, R_gas: float, cp: float, p4: float, diameter: float) -> float:
    """Shaft speed of the best efficiency of ``turbine_row(diameter, ..., best_ratio=0.66)``."""
    return 2.0 * 0.66 * float(np.sqrt(2.0 * spouting_energy(p3, T3, R_gas, cp, p4))) / diameter


def test_published_turbine_outlet() -> None:
    """T02: 850 K, 1.6 to 1.03 bar, 85 %."""
    cp = 1150.0
    R_gas = cp * 0.33 / 1.33
    row = turbine_row(0.05, 5e-4, 0.0, 0.9, 0.85, 0.66)
    omega = best_speed(1.6e5, 850.0, R_gas, cp, 1.03e5, 0.05)
    _, work, _ = turbine_flow(row, omega, 1.6e5, 850.0, R_gas, cp, 1.03e5, 300.0)
    assert 850.0 - work / cp == published("T02")


def test_published_power_balance() -> None:
    """T17: at the printed expansion ratio the turbine gives what T15 takes, the shaft's 97 % counted."""
    cp = 1150.0
    R_gas = cp * 0.33 / 1.33
    row = turbine_row(0.05, 5e-4, 0.0, 0.9, 0.65, 0.66)

    def surplus(ratio: float) -> float:
        omega = best_speed(ratio * 1e5, 1173.0, R_gas, cp, 1e5, 0.05)
        work = turbine_flow(row, omega, ratio * 1e5, 1173.0, R_gas, cp, 1e5, 300.0)[1]
        return 0.97 * 0.213 * work - 0.2 * CP * (391.43 - 298.15)

    low, high = 1.2, 2.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if surplus(middle) < 0.0 else (low, middle)
    assert low == published("T17")


def test_published_corrected_flow_and_speed() -> None:
    """T18, T19: a point at 310 K, 95 kPa and its corrected twin at 298 K, 100 kPa are one point of the kernel."""
    machine = wheel(0.7, 0.8, 0.05)
    hot = wheel_at(machine.sizes, 120000.0 * RPM, 95e3, 310.0, R, CP)
    corrected = wheel_at(machine.sizes, given("T19") * RPM, 100e3, 298.0, R, CP)
    assert pytest.approx(corrected.M, rel=float(ROWS["T19"]["rel_tol"])) == hot.M
    assert 0.30 / hot.flow * corrected.flow == published("T18")


def test_published_wheel_at_rest() -> None:
    """T22, T23: at half the inlet pressure a wheel at rest passes half its greatest flow."""
    machine = wheel(0.7, 0.8, 0.05)
    resting = compressor_flow(*machine, 0.0, 1e5, 298.0, R, CP, given("T22") * 1e5)[0]
    top = 2.0 * machine.sizes[K_M_HIGH] * np.sqrt(1.4 * R * 298.0) / 0.05
    assert resting / choke_flow(*machine, top, 1e5, 298.0, R, CP) == published("T23")


def cracking(row: np.ndarray, exhaust: float, lift: float = 1e-9) -> float:
    """Boost [bar gauge] that holds a gate at ``lift`` [m], outside at 100 kPa."""
    low, high = 0.0, 5e5
    for _ in range(80):
        middle = 0.5 * (low + high)
        open_at = gate_lift(row, 1e5 + middle, 1e5, 1e5, 1e5 + exhaust, 1e5) >= lift
        low, high = (low, middle) if open_at else (middle, high)
    return high / 1e5


def test_published_wastegate() -> None:
    """T27 to T29: cracking boost of a 60 mm diaphragm, with exhaust on a 28 mm valve, and 6 mm open."""
    row = gate_row(
        diaphragm_diameter=0.060,
        valve_diameter=0.028,
        port_diameter=0.026,
        preload=given("T27"),
        rate=8e3,
        max_lift=0.01,
        exhaust_pushes="open",
    )
    assert cracking(row, 0.0) == pytest.approx(0.70, rel=float(ROWS["T27"]["rel_tol"]))
    assert cracking(row, 0.9e5) == published("T28")
    assert cracking(row, 0.0, 0.006) == published("T29")


def test_published_cooler() -> None:
    """H20, H21: effectiveness 0.70, and the density gained with 5 kPa lost on 200 kPa."""
    row = cooler_row([0.05, 0.2], [0.70, 0.70], 5e3, 0.15, 2e5 / (R * 391.3), 1e3)
    out = cooler_outlet_temperature(row, 0.15, 391.3, 303.15)
    assert out == published("H20")
    loss = cooler_loss(row, 0.15, 2e5 / (R * 391.3))
    assert (2e5 - loss) / 2e5 * 391.3 / out == published("H21")


def test_published_gas_constant() -> None:
    """T13: the dry-air constant, turned into inch units by a general unit library."""
    unit = pint.UnitRegistry()
    inches = (R_AIR * unit("J/(kg*K)")).to("inch*force_pound/(pound*degR)")
    assert inches.magnitude == published("T13")


def test_published_molar_work() -> None:
    """T16: ideal gas of k = 1.4 from 100 to 1000 kPa at 78 %; heat capacity and work for each mole."""
    gas_constant = 8.31446261815324  # J/(mol K), exact since 2019
    done = compressor_power(
        mass_flow=1.0,
        inlet_temperature=300.0,
        pressures=PressureRatio(None, inlet_pressure=100e3, outlet_pressure=1000e3),
        efficiency=0.78,
        gamma=1.4,
        heat_capacity=3.5 * gas_constant,
        mechanical_efficiency=1.0,
    )
    assert done["work"] == published("T16")


def test_published_older_reference_state_is_known() -> None:
    """T20: a map corrected to 545 degR, 28.4 inHg is not questioned; one misread by 20 degR is."""
    unit = pint.UnitRegistry()
    p = (28.4 * unit.inHg).to("Pa").magnitude
    assert unusual_reference(Reference(given("T20") / 1.8, p)) == ""
    assert unusual_reference(Reference((given("T20") - 20.0) / 1.8, p)) != ""


def test_published_cooler_balance() -> None:
    """H18: all the engine's power heats the air, the cooler takes 1340 kJ/min of it and leaves 60 degC."""
    power = 147.0 * 2000.0 * RPM

    def surplus(mdot: float) -> float:
        T_out = 293.15 + power / (mdot * CP_AIR)
        taken = charge_cooler(T_out, 333.15, 1.0, None, 0.0, mdot, CP_AIR)["heat"]
        assert taken is not None
        return taken - 1340e3 / 60.0

    assert 60.0 * float(brentq(surplus, 0.05, 1.0)) == published("H18")


def test_published_mean_pressure_of_a_six() -> None:
    """H19: brake torque of six cylinders as mean pressure, over the mechanical efficiency."""
    brake = mean_effective_pressure(6.0 * np.pi / 4.0 * 0.09**2 * 0.1, 147.0, None, None, 4.0)["mean_pressure"]
    assert brake / 0.75 / 1e5 == published("H19")


def test_published_count_of_speed_lines() -> None:
    """T26: an estimated map is drawn with no fewer lines than a gas-stand code asks of a measured one."""
    assert len(MACH) >= given("T26")
