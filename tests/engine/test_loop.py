"""Small parts of the engine: own angles, firing phases, chains of points, the spark search, faults of assembly."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from builds import FOUR, SINGLE, Doc, changed, flat_four, sheet_of

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.discharge import assumed_discharge
from spoolwright.cylinder.lift import ANGLES
from spoolwright.engine.assemble import assemble, phases
from spoolwright.engine.loop import own_angle
from spoolwright.engine.parts import V_CYLINDER, V_INTAKE
from spoolwright.engine.pull import pull
from spoolwright.engine.run import run_point, start
from spoolwright.errors import BadInput
from spoolwright.sheet import load
from spoolwright.sheet.demo import demo_folder


def test_own_angle__is_the_engine_angle_after_the_own_firing() -> None:
    assert own_angle(0.0, 0.0) == 0.0
    assert own_angle(180.0, 180.0) == 0.0
    assert own_angle(0.0, 180.0) == -180.0
    assert own_angle(-360.0, 450.0) == -90.0  # 810 before its firing is 90 before the one of the cycle before
    for phase in (0.0, 90.0, 450.0, 630.0):
        own = np.array([own_angle(theta, phase) for theta in np.arange(-360.0, 360.0, 7.0)])
        assert own.min() >= -360.0
        assert own.max() < 360.0
        back = (own + phase - np.arange(-360.0, 360.0, 7.0)) % 720.0
        assert np.minimum(back, 720.0 - back).max() < 1e-9


def test_phases__follow_the_firing_order_and_its_intervals() -> None:
    even = sheet_of(FOUR)  # 1-3-4-2
    assert phases(even) == [0.0, 540.0, 180.0, 360.0]
    vee = load(demo_folder("wren"))  # 1-2-3-4, 180 270 180 90
    assert phases(vee) == pytest.approx([0.0, 180.0, 450.0, 630.0])


def test_valves__open_as_the_sheet_says() -> None:
    """The check lift stands at the stated events; flow against the usual way is less."""
    model = assemble(sheet_of(SINGLE), 0.9)
    valves = model.engine.valves
    intake, exhaust = (int(np.flatnonzero(valves.rows[:, V_INTAKE] == side)[0]) for side in (1, 0))
    at = {float(a): i for i, a in enumerate(ANGLES)}
    lift = 1.0e-3  # at the check lift 4 deg before and 40 deg after the dead centres
    cd = assumed_discharge("intake")
    wanted = pi * 0.038 * lift * np.interp(lift / 0.038, cd.lift_per_diameter, cd.forward)
    for angle in (-360.0 - 4.0 + 720.0, -180.0 + 40.0):
        assert valves.area_in[intake, at[angle]] == pytest.approx(wanted, rel=2e-2)
    assert valves.area_in[intake, at[-250.0]] > valves.area_out[intake, at[-250.0]] > 0.0
    assert valves.area_out[exhaust, at[250.0]] > valves.area_in[exhaust, at[250.0]] > 0.0
    assert valves.area_in[intake, at[0.0]] == valves.area_out[exhaust, at[0.0]] == 0.0
    assert valves.rows[:, V_CYLINDER].tolist() == [0, 0]


@pytest.mark.slow
def test_no_overlap__shut_valves_at_gas_exchange_are_not_compression() -> None:
    """A cam that shuts the exhaust before top centre and opens the intake after it: the trapped gas is pressed
    together and expands again, and is not lit; the engine burns once a cycle and settles."""
    doc = changed(
        SINGLE,
        valves__intake__opens="-14 deg BTDC",
        valves__intake__check_lift="0.1 mm",
        valves__exhaust__closes="-14 deg ATDC",
        valves__exhaust__check_lift="0.1 mm",
    )
    areas = assemble(sheet_of(doc), 0.9).engine.valves
    assert not ((areas.area_in[0] > 0.0) & (areas.area_out[1] > 0.0)).any()
    point = pull(sheet_of(doc), [3000.0], trace_rows=4000).points[0]
    assert point.trouble == ""
    assert point.cycle is not None
    trace = point.cycle.trace
    exchange = abs(abs(trace[:, 0]) - 360.0) < 5.0
    assert trace[exchange, 2].max() < 6e5  # Pa: pressed together, not burned
    assert point.columns["residual"] > 0.05
    assert point.columns["bmep_kPa"] > 500.0


@pytest.mark.slow
def test_records__belong_to_each_cylinder_whatever_its_phase() -> None:
    """A cylinder caught in compression at the end of the engine's cycle still tells its last burn."""
    point = pull(sheet_of(FOUR), [3000.0]).points[0]
    for name in ("mfb50_deg", "peak_pressure_MPa", "knock_integral"):
        values = np.array(point.per_cylinder[name])
        assert values.max() < 100.0
        assert np.ptp(values) < 0.02 * abs(values).max() + 0.05
    assert 5.0 < point.columns["burn_10_90_deg"] < 50.0


@pytest.mark.slow
@pytest.mark.parametrize("injected", ["port", "runner"])
def test_mixers__keep_lambda(injected: str) -> None:
    doc = changed(FOUR, injection__position=injected)
    for lam in ("0.85 lambda", "1.05 lambda"):
        cycle = pull(sheet_of(doc, f"fuel.mixture={lam}"), [2500.0]).points[0].cycle
        assert cycle is not None
        assert cycle.tally.closed[:, r.PHI_FRESH] * float(lam.split()[0]) == pytest.approx(1.0, abs=1e-3)


@pytest.mark.slow
def test_search__is_best_torque_on_the_engine() -> None:
    """The searched spark against a plain scan of the whole engine's indicated work: within 3 degrees of the best
    angle of the scan's parabola and 0.3 % of its work. The search looks at the closed cycle alone."""
    sheet = sheet_of(SINGLE, "spark.timing=searched", "spark.knock_limit=3")
    point = pull(sheet, [3000.0]).points[0]
    assert point.trouble == ""
    advances = np.arange(8.0, 41.0, 4.0)
    work = []
    model = assemble(sheet, 0.9)
    start(model.engine, model.site.p, model.site.T, 1.0 / 0.9)
    for advance in advances:
        model.engine.cylinders.design[:, r.SPARK] = -advance
        cycle = run_point(model.engine, 3000.0 * pi / 30.0)
        work.append(float(cycle.engine.cylinders.state[:, r.WORK].sum()))
    i = int(np.argmax(work))
    assert 0 < i < len(work) - 1
    a, b, c = np.polyfit(advances[i - 1 : i + 2], work[i - 1 : i + 2], 2)
    assert point.columns["spark_deg_btdc"] == pytest.approx(-b / (2.0 * a), abs=3.0)
    found = point.columns["imep_kPa"] * 1e3 * model.swept
    assert found == pytest.approx(c - b * b / (4.0 * a), rel=3e-3)
    assert found > work[0] * 1.005  # the scan's ends are really worse: the test could fail


@pytest.mark.slow
def test_search__holds_back_to_the_knock_limit() -> None:
    sheet = sheet_of(SINGLE, "spark.timing=searched", "spark.knock_limit=0.3")
    point = pull(sheet, [2500.0]).points[0]
    assert point.columns["knock_integral"] == pytest.approx(0.3, abs=0.02)
    assert point.columns["spark_deg_btdc"] < point.columns["best_torque_spark_deg_btdc"] - 1.0


def refused(doc: Doc) -> str:
    with pytest.raises(BadInput) as trouble:
        assemble(sheet_of(doc), 0.9)
    return str(trouble.value)


@pytest.mark.parametrize(
    ("doc", "words"),
    [
        (changed(FOUR, intake__plenums__main__cylinders=[1, 2, 3]), "each of the 4 cylinders must be named once"),
        (changed(SINGLE, cylinders__plugs__main__across="44 mm"), "outside the bore"),
        (changed(SINGLE, injection=None), "carburettor"),
        (
            changed(
                FOUR,
                exhaust__collectors={
                    "a": {"cylinders": [1, 2], "leads_to": "b", "length": "90 mm", "diameter": "45 mm"},
                    "b": {"cylinders": [3, 4], "leads_to": "a", "length": "90 mm", "diameter": "45 mm"},
                },
            ),
            "leads round in a ring",
        ),
        (changed(SINGLE, cylinders__bore="0 mm"), "bore"),
        (changed(SINGLE, valves__intake__max_lift="30 mm"), "lift"),
        (changed(SINGLE, intake__runners__length="-250 mm"), "length"),
        (changed(SINGLE, valves__intake__closes="150 deg ABDC", valves__intake__check_lift="8 mm"), "never"),
    ],
)
def test_faults__are_told_in_a_sentence(doc: Doc, words: str) -> None:
    told = refused(doc)
    assert words in told
    assert "Traceback" not in told


@pytest.mark.parametrize("speed", [0.0, 100000.0, -500.0])
def test_speed__refused(speed: float) -> None:
    with pytest.raises(BadInput, match="rpm"):
        pull(sheet_of(SINGLE), [speed])


def test_flat_four__assembles() -> None:
    model = assemble(sheet_of(flat_four(90.0, 8.2, 98)), 0.88)
    assert model.swept == pytest.approx(1.679e-3, rel=1e-3)
