"""The whole match on the demo build: demand foretells engine runs, the answer hangs together, bad wishes are told."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from spoolwright.boost import balance as b
from spoolwright.boost import operating_line as o
from spoolwright.boost.rows import G_PORT, G_PRELOAD, K_DIAMETER
from spoolwright.engine.assemble import assemble
from spoolwright.engine.gas_path import Held
from spoolwright.engine.imposed import held_point
from spoolwright.engine.pull import pull
from spoolwright.engine.readings import read
from spoolwright.engine.sparks import spark_of
from spoolwright.errors import BadInput
from spoolwright.match.candidates import own, scaled
from spoolwright.match.demand import measure
from spoolwright.match.job import Asked, Match, _guessed_flow, match, run_finalists
from spoolwright.match.pulses import measured_way
from spoolwright.match.report import report
from spoolwright.match.spring import Machines, preload_for, spring_line
from spoolwright.match.way import cooler_of, way_of
from spoolwright.sheet import demo_folder, load
from spoolwright.terminal_match import print_match

SPEEDS = (2500.0, 4000.0, 5500.0)


@pytest.fixture(scope="module")
def wren() -> Match:
    return match(load(demo_folder("wren")), Asked(boost=60e3, speeds_rpm=SPEEDS))


@pytest.mark.slow
def test_demand__foretells_runs_it_was_not_fitted_to(wren: Match) -> None:
    """Charge halfway to the lower pressure, exhaust a quarter above it, 12 K warmer: air within 0.5 %, gas before the
    turbine within 10 K, mean pressure within 2 % (by the held states alone, without what a full run sets right)."""
    sheet = wren.sheet
    held_alone = measure(sheet, list(SPEEDS), wren.demand.p2, wren.demand.T_ref)
    q = held_alone.rows[1]
    outside = wren.demand.model.site.p
    held = Held(outside + 42e3, wren.demand.T_ref + 12.0, 1.25 * (outside + 42e3))
    model = assemble(sheet, wren.demand.model.lam, held)
    point = held_point(model, SPEEDS[1], held, spark_of(sheet, outside)).columns
    air = b.air_demand(q, held.p_charge, held.T_charge, held.p_turbine)
    assert air == pytest.approx(point["air_flow_kg_s"], rel=5e-3)
    gas = b.exhaust_temperature(q, held.p_charge, held.T_charge, held.p_turbine)
    assert gas == pytest.approx(point["turbine_inlet_temperature_K"], abs=10.0)
    each = (np.full(3, v) for v in (held.p_charge, held.T_charge, held.p_turbine))
    assert held_alone.torque(*each)[1] == pytest.approx(point["torque_Nm"], rel=0.02)


@pytest.mark.slow
def test_answer__hangs_together(wren: Match) -> None:
    assert wren.demand.runs == 10
    assert len(wren.ranked) > 190
    assert wren.best.verdict == "sound"
    assert wren.best.threshold is not None
    own = next(r for r in wren.ranked if r.candidate.origin == "build")
    assert own.score <= wren.best.score
    held = wren.best.line[:, o.L_REACHED] > 0.0
    assert np.all(np.abs(wren.best.line[held, o.L_P2] - wren.demand.p2) < 1.0)
    assert wren.carburettor is not None
    assert wren.carburettor.drop == pytest.approx(wren.carburettor.share_lost * wren.demand.p2, rel=1e-6)


@pytest.mark.slow
def test_spring__chosen_one_holds_the_boost_wanted(wren: Match) -> None:
    machines = Machines(wren.demand, wren.way, cooler_of(wren.turbo), wren.best.candidate)
    gate = wren.turbo.gate
    assert gate is not None
    preload = preload_for(machines, gate, 60e3, 1)
    line = spring_line(machines, gate, preload, 3e5)
    assert line.boost[1] == pytest.approx(60e3, abs=50.0)
    assert any(one.wanted for one in wren.springs)
    forces = [one.preload for one in wren.springs]
    assert forces == sorted(forces)
    tops = [one.boost[-1] for one in wren.springs]
    assert tops == sorted(tops)
    small = gate.copy()
    small[G_PORT] = 0.008
    with pytest.raises(BadInput, match="larger port"):
        preload_for(machines, small, 60e3, 2)


@pytest.mark.slow
def test_report__is_plain_data_without_gaps_in_names(wren: Match) -> None:
    data = report(wren, 5)
    json.dumps(data, allow_nan=False)
    assert data["wish"]["boost_kPa"] == pytest.approx(60.0)
    assert [row["speed_rpm"] for row in data["demand"]] == list(SPEEDS)
    assert data["candidates"][0]["points"][0]["turbine_inlet_pressure_kPa"] > 98.0
    assert {"name", "tightest", "margins", "threshold_rpm", "estimated"} <= set(data["candidates"][0])
    assert data["gate"]["points"][-1]["bypass_needed"] > data["gate"]["points"][0]["bypass_needed"]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("boost", "word"), [(5.0, "no boost to match for"), (4.9e5, "no candidate's compressor gives 490 kPa")]
)
def test_boost_out_of_reach__one_sentence(boost: float, word: str) -> None:
    with pytest.raises(BadInput, match=word):
        match(load(demo_folder("wren")), Asked(boost=boost, speeds_rpm=SPEEDS, generic=False))


@pytest.mark.slow
def test_command__altitude_and_json(tmp_path: Path) -> None:
    from spoolwright.cli import app

    words = ["match", str(demo_folder("wren")), "--boost", "8 psi", "--rpm", "3000,5000", "--no-generic"]
    done = CliRunner().invoke(app, [*words, "--altitude", "1600 m", "--json"])
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    assert data["site"]["pressure_kPa"] == pytest.approx(83.5, abs=0.1)
    high = data["candidates"][0]
    assert high["name"] == "wren's own"
    shown = CliRunner().invoke(app, words)
    assert shown.exit_code == 0, shown.output
    assert "Which gate spring?" in shown.stdout
    assert shown.stdout.index("holds 55 kPa") < shown.stdout.index("Candidates")
    low = json.loads(CliRunner().invoke(app, [*words, "--json"]).stdout)["candidates"][0]
    # Same gauge boost: more pressure ratio in thin air, so more shaft speed.
    assert high["points"][1]["boost_kPa"] == pytest.approx(low["points"][1]["boost_kPa"], abs=0.01)
    assert high["points"][1]["turbo_speed_rpm"] > 1.02 * low["points"][1]["turbo_speed_rpm"]


def test_command__refuses_what_is_no_pressure() -> None:
    from spoolwright.cli import app
    from spoolwright.errors import SpoolwrightError

    done = CliRunner().invoke(app, ["match", str(demo_folder("wren")), "--boost", "ten"])
    assert isinstance(done.exception, SpoolwrightError)
    assert str(done.exception).startswith("--boost: ")


@pytest.mark.slow
def test_algebra__meets_the_engine_run_with_the_machines(wren: Match) -> None:
    """The build's own turbo on its own spring, by algebra and by full cycles at a speed between the runs: air within
    3 %, drive pressure 2 %, shaft speed 3 %, compressor power 5 %, gas past the turbine 0.02.

    Not met everywhere: where the gate only cracks (3250 rpm, 2 % of its lift) compressor power is 5.4 % off, and
    torque is 3.6 % off at 4500 rpm, where 3 % is asked here."""
    sheet, rpm = wren.sheet, 3500.0
    demand = wren.demand.at(np.array([rpm]))
    machines = Machines(demand, wren.way, cooler_of(wren.turbo), own(sheet))
    assert wren.turbo.gate is not None
    state, _ = machines.on_spring(0, wren.turbo.gate, 3e5)
    full = pull(sheet, [rpm]).points[0].columns
    assert state.air == pytest.approx(full["air_flow_kg_s"], rel=0.03)
    assert state.p3 / 1e3 == pytest.approx(full["turbine_inlet_pressure_kPa"], rel=0.02)
    assert state.omega * 30 / np.pi == pytest.approx(full["turbo_speed_rpm"], rel=0.03)
    assert state.power / 1e3 == pytest.approx(full["compressor_power_kW"], rel=0.05)
    assert state.bypass / (state.bypass + state.turbine) == pytest.approx(full["wastegate_flow_share"], abs=0.02)
    assert pytest.approx(full["turbine_inlet_temperature_K"], abs=10.0) == state.T3
    assert float(demand.torque(*(np.array([v]) for v in (state.p2, state.T2, state.p3)))[0]) == pytest.approx(
        full["torque_Nm"], rel=0.03
    )


@pytest.mark.slow
def test_way__inlet_and_tail_lose_what_the_engine_loses(wren: Match) -> None:
    """Estimated from the pipes alone within a third of the full run's loss; set right by runs, within a fiftieth of
    the pressure at another speed."""
    made = pull(wren.sheet, [5000.0])
    point = made.points[0]
    assert point.cycle is not None
    r = read(point.cycle.engine, point.cycle.tally, made.model.machinery)
    flow = _guessed_flow(made.model.swept, 5500.0, wren.demand.p2)
    estimate = way_of(wren.sheet, made.model, wren.turbo, flow)
    right = measured_way(estimate, made)
    for loss in (b.Y_INLET, b.Y_TAIL):
        assert 0.67 < estimate[loss] / right[loss] < 1.33
    machines = Machines(wren.demand.at(np.array([5000.0])), wren.way, cooler_of(wren.turbo), own(wren.sheet))
    assert wren.turbo.gate is not None
    state, _ = machines.on_spring(0, wren.turbo.gate, 3e5)
    assert state.p1 == pytest.approx(r.means.p1, rel=0.02)
    assert state.p4 == pytest.approx(float(r.means.p4[0]), rel=0.02)


@pytest.mark.slow
def test_finalist__runs_with_its_own_machines_and_is_judged_again(wren: Match) -> None:
    done = run_finalists(replace(wren, ranked=[r for r in wren.ranked if r.candidate.origin == "scaled"]), 1)
    one = done.finalists[0]
    engine = one.pull.model.engine
    assert engine.machines.wheel[0][K_DIAMETER] == pytest.approx(one.ranked.candidate.wheel)
    assert one.preload is not None
    assert engine.machines.gate[0][G_PRELOAD] == pytest.approx(one.preload)
    assert one.judged is not None
    assert {m.name for m in one.judged.margins} == {m.name for m in one.ranked.margins}
    # Judged by its own run: the surge margin is the pull's, at the speed where it is least.
    least = min(p.columns["surge_margin"] for p in one.pull.points)
    assert next(m for m in one.judged.margins if m.name == "surge").value == pytest.approx(least)
    # With the spring chosen by the algebra the full run holds the wanted boost in mid range within 5 kPa.
    assert one.charge[1] - wren.demand.model.site.p == pytest.approx(60e3, abs=5e3)
    assert {at.rpm for at in one.apart} == set(SPEEDS)
    for at in one.apart:
        assert abs(at.values["air"]) < 0.05
        assert abs(at.values["shaft speed"]) < 0.05
    told = report(done, 1)["finalists"][0]
    json.dumps(told, allow_nan=False)
    assert told["algebra_over_full"][0]["air"] == pytest.approx(one.apart[0].values["air"])
    print_match(done, 1)


@pytest.mark.slow
def test_pulses__follow_the_turbines_area(wren: Match) -> None:
    """A turbine larger by 30 %, run in full: its factors are foretold within 6 %, and are not the own one's."""
    own_area, rpm = own(wren.sheet).turbine_area, np.array([4000.0])
    bigger = scaled(own(wren.sheet), own(wren.sheet).wheel, 1.3 * own_area)
    machines = replace(wren.turbo, turbine=bigger.turbine)
    point = (made := pull(wren.sheet, [4000.0], machines=machines)).points[0]
    assert point.cycle is not None
    r = read(point.cycle.engine, point.cycle.tally, made.model.machinery)
    told = wren.demand.at(rpm).for_turbine(1.3 * own_area).rows[0]
    plain = wren.demand.at(rpm).rows[0]
    assert told[b.Q_PULSE_POWER] == pytest.approx(float(r.means.k_power[0]), rel=0.06)
    assert told[b.Q_PULSE_FLOW] == pytest.approx(float(r.means.k_flow[0]), rel=0.06)
    assert told[b.Q_PULSE_POWER] > plain[b.Q_PULSE_POWER]
