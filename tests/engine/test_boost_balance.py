"""Boosted points: what goes in comes out, the shaft's powers agree, and the columns follow their definitions."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from boosted import TURBO_FOUR, TWIN_SIX
from builds import changed, sheet_of

from spoolwright.engine.assemble import assemble
from spoolwright.engine.columns import COLUMNS
from spoolwright.engine.parts import A_MASS, K_MASS, K_WORK, TIME, X_MASS, X_WORK, Z_HEAT
from spoolwright.engine.pull import Pull, pull
from spoolwright.engine.readings import read
from spoolwright.sheet import load
from spoolwright.sheet.demo import demo_folder

SPEEDS = {"wren": [3500.0, 4500.0], "heron": [2500.0, 6000.0], "twin six": [2000.0, 4500.0]}
NAMES = tuple(SPEEDS)


@pytest.fixture(scope="module")
def pulls() -> dict[str, Pull]:
    sheets = {"wren": load(demo_folder("wren")), "heron": load(demo_folder("heron")), "twin six": sheet_of(TWIN_SIX)}
    return {name: pull(sheet, SPEEDS[name]) for name, sheet in sheets.items()}


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_every_point__settles_with_powers_in_balance(pulls: dict[str, Pull], name: str) -> None:
    for point in pulls[name].points:
        assert point.columns["converged"], point.trouble
        assert point.trouble == ""
        shafts = point.per_turbo.get("shaft_closure", [point.columns["shaft_closure"]])
        assert max(shafts) < 2e-3
        powers = (point.columns["turbine_power_kW"], point.columns["compressor_power_kW"])
        efficiency = {"wren": 0.85, "heron": 0.90, "twin six": 0.95}[name]
        assert powers[0] * efficiency == pytest.approx(powers[1], rel=2e-3)
        assert set(point.columns) == set(COLUMNS)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_mass_and_energy__close_to_round_off_with_the_machines_in(pulls: dict[str, Pull], name: str) -> None:
    for point in pulls[name].points:
        assert point.columns["mass_closure"] < 1e-12
        assert point.columns["energy_closure"] < 1e-12


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_flow__is_one_through_inlet_wheels_gate_and_tail(pulls: dict[str, Pull], name: str) -> None:
    """In a settled cycle the same air passes inlet and compressors, and with the fuel turbines and gates."""
    for point in pulls[name].points:
        assert point.cycle is not None
        tally, model = point.cycle.tally, pulls[name].model
        air = -tally.ambient[model.inlet, A_MASS]
        fuel = tally.fuel[:, 0].sum()
        r = read(point.cycle.engine, tally, model.machinery)
        past = r.way_flow.sum() * tally.numbers[TIME]
        assert tally.compressor[:, K_MASS].sum() == pytest.approx(air, rel=2e-3)
        assert tally.turbine[:, X_MASS].sum() + past == pytest.approx(air + fuel, rel=2e-3)
        assert past > 0.0


@pytest.mark.slow
def test_columns__follow_their_definitions(pulls: dict[str, Pull]) -> None:
    for point in pulls["heron"].points:
        c, cycle = point.columns, point.cycle
        assert cycle is not None
        outside = pulls["heron"].model.site.p / 1e3
        time = cycle.tally.numbers[TIME]
        assert c["boost_kPa"] == pytest.approx(c["manifold_pressure_kPa"] - outside, rel=1e-12)
        assert c["tip_speed_m_s"] == pytest.approx(0.5 * 0.066 * c["turbo_speed_rpm"] * pi / 30.0, rel=1e-9)
        assert c["compressor_power_kW"] == pytest.approx(cycle.tally.compressor[0, K_WORK] / time / 1e3, rel=1e-9)
        assert c["turbine_power_kW"] == pytest.approx(cycle.tally.turbine[:, X_WORK].sum() / time / 1e3, rel=1e-9)
        # Heat of the cooler: c_p of air (1.005 kJ/kg K, gas tables) times flow times drop of temperature, 1.5 %.
        drop = c["compressor_outlet_temperature_K"] - c["charge_temperature_K"]
        heat = cycle.tally.cooling[0, Z_HEAT] / time
        hot_wall = 0.1  # of the drop; pipes at their stated wall temperatures take and give some of it
        assert heat == pytest.approx(1005.0 * c["air_flow_kg_s"] * drop, rel=0.015 + hot_wall)
        # The compressor's temperature rise is its power over flow and c_p.
        rise = c["compressor_power_kW"] * 1e3 / c["air_flow_kg_s"] / 1005.0
        T1 = pulls["heron"].model.site.T
        assert c["compressor_outlet_temperature_K"] - T1 == pytest.approx(rise, rel=0.03)
        # Efficiency as the handbook has it: ideal over real temperature rise with k = 1.4.
        ideal = T1 * (c["pressure_ratio"] ** (0.4 / 1.4) - 1.0)
        assert c["compressor_efficiency"] == pytest.approx(ideal / rise, rel=0.03)
        assert 0.0 < c["wastegate_opening"] < 1.0
        assert 0.0 < c["wastegate_flow_share"] < 0.6
        p3 = c["turbine_inlet_pressure_kPa"] - outside
        assert c["drive_pressure_ratio"] == pytest.approx(p3 / _outlet_gauge(point, outside), rel=1e-6)


def _outlet_gauge(point, outside: float) -> float:  # type: ignore[no-untyped-def]
    """Compressor outlet gauge pressure [kPa] from the node's own mean."""
    cycle = point.cycle
    node = int(cycle.engine.machines.compressor_at[0, 1])
    return float(cycle.tally.p_mean[node] / cycle.tally.numbers[TIME]) / 1e3 - outside


@pytest.mark.slow
def test_pair__two_equal_turbos_share_the_work(pulls: dict[str, Pull]) -> None:
    """Cylinders that fire evenly on both: the shafts turn alike, and the columns speak of the first."""
    for point in pulls["twin six"].points:
        speeds = point.per_turbo["turbo_speed_rpm"]
        assert len(speeds) == 2
        assert speeds[0] == pytest.approx(speeds[1], rel=2e-3)
        assert point.columns["turbo_speed_rpm"] == speeds[0]
        assert sum(point.per_turbo["compressor_power_kW"]) == pytest.approx(
            2.0 * point.columns["compressor_power_kW"], rel=2e-2
        )


@pytest.mark.slow
def test_no_overdraft__the_model_of_a_pull_stays_unchanged(pulls: dict[str, Pull]) -> None:
    """Points run on copies: the assembled model's own shafts and gas stay as assembled."""
    model = pulls["wren"].model
    fresh = assemble(load(demo_folder("wren")), model.lam)
    for name in ("shaft", "gate_state", "cooler_state"):
        assert np.array_equal(getattr(model.engine.machines, name), getattr(fresh.engine.machines, name))


@pytest.mark.slow
def test_gate__opens_by_its_balance_of_forces() -> None:
    """The balance of a poppet gate at the cycle's mean pressures, worked by hand from the sheet's numbers."""
    sheet = sheet_of(changed(TURBO_FOUR))
    made = pull(sheet, [4000.0])
    point = made.points[0]
    assert point.cycle is not None
    cycle, x = point.cycle, point.cycle.engine.machines
    mean = cycle.tally.p_mean / cycle.tally.numbers[TIME]
    p2, p3 = mean[x.compressor_at[0, 1]], mean[x.way_at[0, 3]]
    p4, outside = mean[x.way_at[0, 4]], made.model.site.p
    diaphragm, valve = pi / 4.0 * 0.060**2, pi / 4.0 * 0.032**2
    travel = (diaphragm * (p2 - outside) + valve * (p3 - p4) - 170.0) / 10e3
    assert point.columns["wastegate_opening"] == pytest.approx(travel / 0.009, abs=0.01)
