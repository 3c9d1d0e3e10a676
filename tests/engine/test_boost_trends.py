"""Which way a turbocharged engine answers a change of its parts, and idle machines against no machines at all."""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np
import pytest
from boosted import BLOWN_THROUGH, DRAWN_THROUGH, TURBO_FOUR
from builds import Doc, sheet_of

from spoolwright.cylinder import rows as r
from spoolwright.engine.assemble import assemble
from spoolwright.engine.boosting import no_machines
from spoolwright.engine.parts import GS_LIFT, GS_RATE, H_SPEED_SQUARED, K_MASS, V_INTAKE
from spoolwright.engine.pull import Point, pull
from spoolwright.engine.run import Cycle, own_copy, run_point, start
from spoolwright.engine.spool import threshold_speed
from spoolwright.flow.rows import L_AREA, N_MASS, N_MZ, N_VOL

pytestmark = pytest.mark.slow
DIAPHRAGM = pi / 4.0 * 0.060**2  # m2, of the trial's gate


def points(doc: Doc, *speeds: float, sets: tuple[str, ...] = ()) -> list[Point]:
    made = pull(sheet_of(doc, *sets), speeds)
    for point in made.points:
        assert point.columns["converged"], point.trouble
    return made.points


def one(doc: Doc, speed: float, *sets: str) -> dict[str, Any]:
    return points(doc, speed, sets=sets)[0].columns


def outlet_gauge(columns: dict[str, Any], outside: float) -> float:
    """Compressor outlet gauge pressure [kPa] from the drive pressure ratio's own definition."""
    return float((columns["turbine_inlet_pressure_kPa"] - outside) / columns["drive_pressure_ratio"])


def test_stiffer_spring__raises_boost_by_its_force_over_the_area_less_the_exhausts_help() -> None:
    """90 N more on 60 mm: 31.8 kPa. A gate on which exhaust does not act gives all of it but for the lift it saves;
    with exhaust on the valve the higher turbine pressure helps the gate open and takes its part."""
    more = 90.0 / DIAPHRAGM / 1e3
    for pushes, low, high in (("neither", 0.93, 1.07), ("open", 0.60, 0.98)):
        sets = (f"wastegate.exhaust_pushes={pushes}",)
        soft, hard = (one(TURBO_FOUR, 3500.0, *sets, f"wastegate.preload={f} N") for f in (170, 260))
        gained = outlet_gauge(hard, 101.325) - outlet_gauge(soft, 101.325)
        assert low < gained / more < high, pushes


def test_spring_alone__sets_the_boost_where_exhaust_does_not_act() -> None:
    """Boost = (preload + rate x lift) / area, the sum every builder does."""
    found = one(TURBO_FOUR, 4500.0, "wastegate.exhaust_pushes=neither")
    lift = found["wastegate_opening"] * 0.009
    assert outlet_gauge(found, 101.325) == pytest.approx((170.0 + 10e3 * lift) / DIAPHRAGM / 1e3, rel=5e-3)


def test_smaller_housing__earlier_threshold_more_drive_pressure() -> None:
    made = {}
    for area in (620, 1100):
        sheet = sheet_of(TURBO_FOUR, f"turbine.throat_area={area} mm2", "wastegate.exhaust_pushes=neither")
        made[area] = pull(sheet, [1000.0, 1500.0, 2000.0, 5500.0])
    early, late = (threshold_speed(made[area], 45.0) for area in (620, 1100))
    assert early is not None
    assert late is not None
    assert early < late - 100.0
    small, large = (made[area].points[-1].columns["turbine_inlet_pressure_kPa"] for area in (620, 1100))
    assert small > large + 10.0


def test_altitude__keeps_gauge_boost_and_asks_more_speed_of_the_shaft() -> None:
    """A gate sprung against outside air holds its gauge pressure; the thinner air needs a higher pressure ratio."""
    sets = ("wastegate.exhaust_pushes=neither",)
    low = one(TURBO_FOUR, 4000.0, *sets)
    high = one(TURBO_FOUR, 4000.0, *sets, "site.barometer=80 kPa")
    assert outlet_gauge(high, 80.0) == pytest.approx(outlet_gauge(low, 101.325), abs=4.0)
    assert high["turbo_speed_rpm"] > 1.04 * low["turbo_speed_rpm"]
    assert high["pressure_ratio"] > 1.05 * low["pressure_ratio"]
    assert high["power_kW"] < low["power_kW"]


def test_larger_gate__creeps_less() -> None:
    """Creep: the rise of boost over speed because the gate must lift further against its spring."""
    creep = {}
    for port in (18, 29):
        sets = ("wastegate.exhaust_pushes=neither", f"wastegate.port_diameter={port} mm")
        slow, fast = points(TURBO_FOUR, 3000.0, 6000.0, sets=sets)
        creep[port] = outlet_gauge(fast.columns, 101.325) - outlet_gauge(slow.columns, 101.325)
    assert creep[18] > creep[29] + 3.0
    assert creep[29] > 0.0


def test_fuel_before_the_compressor__lowers_its_outlet_temperature() -> None:
    """As the textbook case of T04/T05 has it (fuel evaporated before the wheel: 23 K colder inlet, less work)."""
    blown, drawn = (one(doc, 3500.0) for doc in (BLOWN_THROUGH, DRAWN_THROUGH))
    assert drawn["compressor_outlet_temperature_K"] < blown["compressor_outlet_temperature_K"] - 10.0
    for found in (blown, drawn):
        assert found["mass_closure"] < 1e-12
        assert found["energy_closure"] < 1e-12
        assert found["fuel_flow_kg_s"] * 14.5 * 0.82 == pytest.approx(found["air_flow_kg_s"], rel=0.03)


def test_bleed__raises_boost_and_a_hose_on_the_open_air_leaves_the_gate_shut() -> None:
    plain, bled = (one(TURBO_FOUR, 4000.0, f"wastegate.bleed={share} %") for share in (0, 30))
    assert bled["boost_kPa"] > 1.15 * plain["boost_kPa"]
    off = one(TURBO_FOUR, 3000.0, "wastegate.exhaust_pushes=neither", "wastegate.opening_signal=open_air")
    assert off["wastegate_opening"] == 0.0
    assert off["boost_kPa"] > 1.5 * plain["boost_kPa"]


def test_boost_retard__is_taken_out_at_the_manifold_pressure_of_the_cycle() -> None:
    found = one(
        TURBO_FOUR, 4000.0, "spark.boost_retard=0.1 deg/kPa", "spark.retard_from=20 kPa", "spark.retard_limit=10 deg"
    )
    assert found["spark_deg_btdc"] == pytest.approx(24.0 - 0.1 * (found["boost_kPa"] - 20.0), abs=0.02)
    held = one(
        TURBO_FOUR, 4000.0, "spark.boost_retard=1 deg/kPa", "spark.retard_from=20 kPa", "spark.retard_limit=10 deg"
    )
    assert held["spark_deg_btdc"] == pytest.approx(14.0, abs=1e-9)


ROOM = 2e-3  # m3 of each node beside a bridge


def _cycle(with_machines: bool) -> Cycle:
    """The trial's gas path with compressor and turbine bridged by wide openings, wheels there or not."""
    model = assemble(sheet_of(TURBO_FOUR), 0.9)
    engine = own_copy(model.engine)
    x, net = engine.machines, engine.net
    bridges = np.array([x.compressor_at[0], x.entry_at[0, 1:]])
    areas = np.zeros((2, net.links.shape[1]))
    areas[:, L_AREA] = pi / 4.0 * 0.1**2
    # Roomy ends: between two small nodes a link may even out only half of the difference in a step, which resists.
    ends = bridges.ravel()
    net.nodes[ends, N_MASS : N_MZ + 1] *= (ROOM / net.nodes[ends, N_VOL])[:, None]
    net.nodes[ends, N_VOL] = ROOM
    net = net._replace(link_index=np.concatenate([net.link_index, bridges]), links=np.concatenate([net.links, areas]))
    x.shaft[:, H_SPEED_SQUARED] = 500.0**2
    x.gate_state[:, [GS_LIFT, GS_RATE]] = 0.0
    engine = engine._replace(net=net, machines=x if with_machines else no_machines())
    start(engine, model.site.p, model.site.T, 1.0 / model.lam)
    return run_point(engine, 3500.0 * pi / 30.0)


def test_idle_machines__leave_the_naturally_aspirated_answer() -> None:
    """Turbine bypassed, compressor at ratio 1, wheel all but at rest: trapped mass and work within 0.3 %."""
    bare, idle = _cycle(False), _cycle(True)
    assert bare.converged
    assert idle.converged
    intake = bare.engine.valves.rows[:, V_INTAKE] == 1
    assert idle.tally.valve_mass[intake].sum() == pytest.approx(bare.tally.valve_mass[intake].sum(), rel=3e-3)
    work = [float(c.engine.cylinders.state[:, r.WORK].sum()) for c in (bare, idle)]
    assert work[0] == pytest.approx(work[1], rel=3e-3)
    assert abs(idle.energy_closure) < 1e-12
    # The wheel does turn and lets a little through: it was there.
    assert idle.tally.compressor[0, K_MASS] > 0.0
