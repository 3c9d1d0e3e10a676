"""Known factors come back: pulls made by the engine with known factors, logged with noise and delay, read, reduced,
fitted.

The engine is run at the true factors; the hundred runs fit on its quadratic surface about another point, as the job
does.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from dyno_known import INERTIA, LATE, Made, asked, plover

from spoolwright.dyno import read_log
from spoolwright.dyno.calibrate import calibrate, observe, store
from spoolwright.dyno.engine_model import EngineModel
from spoolwright.dyno.fit import FACTORS, fit, surface
from spoolwright.dyno.reduce import with_words
from spoolwright.engine.calibration import calibration
from spoolwright.errors import BadInput
from spoolwright.sheet import load, logbook

pytestmark = pytest.mark.slow

TRUE = {"flow": 0.95, "burn": 1.12, "friction": 1.25, "wall_heat": 0.88}
AIR = {"temperature": "293.15 K", "barometer": "99 kPa", "humidity": "40 %"}
DAY = ("site.temperature=293.15 K", "site.barometer=99000 Pa", "site.humidity=40 %")
SPARKS = (20, 36)


@pytest.fixture(scope="module")
def build(tmp_path_factory):
    return plover(tmp_path_factory.mktemp("known"))


@pytest.fixture(scope="module")
def engine(build):
    return EngineModel(build)


@pytest.fixture(scope="module")
def made(engine):
    return {a: Made(engine, TRUE, *DAY, f"spark.advance={a} deg BTDC") for a in SPARKS}


def measured(build, made, folder, seed):
    """Both pulls of one run as observations: read, reduced, put in step."""
    rng = np.random.default_rng(10_000 + seed)
    # The roller's inertia and the flow meter are each off by what is stated of them, drawn anew for each run.
    believed = INERTIA * (1.0 + rng.normal(0.0, 0.0025))
    meter = 1.0 + rng.normal(0.0, 0.015)
    rig = {"inertia": f"{believed:.6f} kg m2 ± 0.5 %", "run_down": "after"}
    out = []
    for k, (angle, one) in enumerate(made.items()):
        log = read_log(one.log(folder / f"p{angle}.csv", 2 * seed + k, meter))
        (pull,) = with_words(log, rig, AIR).pulls
        assert pull.delays[0].delay == pytest.approx(LATE, abs=0.03)
        out.append(observe(pull, build, 1000.0, extra=(f"spark.advance={angle} deg BTDC",)))
    return out


def test_known_factors__come_back_in_ninety_of_a_hundred_runs(build, engine, made, tmp_path):
    centre = {"flow": 0.97, "burn": 1.05, "friction": 1.15, "wall_heat": 0.94}
    quick = {}
    hits, values, told = 0, [], []
    for seed in range(100):
        seen = measured(build, made, tmp_path, seed)
        for o in seen:
            key = (o.conditions.sets, tuple(o.speeds_rpm))
            if key not in quick:
                quick[key] = surface(engine, asked(*o.conditions.sets, speeds=o.speeds_rpm), FACTORS, centre)
        got = fit(seen, lambda f, o: quick[o.conditions.sets, tuple(o.speeds_rpm)](f, o))
        free = [f for f in got.factors if not f.held]
        hits += all(abs(f.value - TRUE[f.name]) <= f.band for f in free)
        values.append([f.value for f in got.factors])
        told.append([not f.held for f in got.factors])
    assert np.mean(told, axis=0) == pytest.approx(1.0, abs=0.1)  # the pulls tell all four, so nothing hides as held
    assert hits >= 90
    # And not because the bands are wide or the priors draw: the answers lie near the truth, not near 1.
    true = np.array([TRUE[f.name] for f in FACTORS])
    assert (np.abs(np.mean(values, axis=0) - true) < 0.5 * np.abs(true - 1.0)).all()
    assert np.mean([f.band for f in got.factors]) < 0.15


def test_whole_job__finds_them_on_the_engine_itself_and_keeps_them(build, engine, made, tmp_path):
    seen = measured(build, made, tmp_path, 7)
    held_out = Made(engine, TRUE, *DAY, "spark.advance=28 deg BTDC")
    (third,) = measured(build, {28: held_out}, tmp_path, 8)
    said = []
    got = calibrate(seen, engine, hold_out=[third], said=said.append)
    for f in got.factors:
        assert abs(f.value - TRUE[f.name]) <= f.band, f.sentence
    assert said[0].startswith("round 1")
    torque = next(one for one in got.laid if one.held_out and one.column == "torque_Nm")
    assert torque.miss() < 0.015 < torque.miss(fitted=False)
    assert torque.inside() >= 0.6
    changed = store(build, got, "A. Maker")
    assert "calibration.flow" in changed
    sheet = load(build)
    assert calibration(sheet).flow == pytest.approx(got.value("flow"), abs=1e-4)
    assert sheet.text("calibration.data") == got.data[:16]
    assert sheet.quantity("calibration.flow").plus == pytest.approx(got.factors[0].band, abs=1e-4)
    assert calibration(load(build, sets=["calibration.use=false"])).flow == 1.0
    assert "Fitted to p20.csv#1, p36.csv#1" in logbook.read(build).entries[-1].text
    # What the engine predicts with the stored factors is what was measured.
    from spoolwright.engine.pull import pull

    laid = next(one for one in got.laid if one.pull == "p20.csv#1" and one.column == "torque_Nm")
    again = pull(load(build, sets=[*DAY, "spark.advance=20 deg BTDC"]), [3000.0, 5000.0]).column("torque_Nm")
    assert again == pytest.approx(np.interp([3000.0, 5000.0], laid.speeds_rpm, laid.measured), rel=0.02)


def test_torque_alone_at_one_spark__holds_what_it_cannot_tell(build, engine, made, tmp_path):
    (first, _) = measured(build, made, tmp_path, 3)
    only = replace(first, values={"torque_Nm": first.values["torque_Nm"]})
    quick = surface(
        engine, asked(*only.conditions.sets, speeds=only.speeds_rpm), FACTORS, {f.name: 1.0 for f in FACTORS}
    )
    got = fit([only], quick)
    held = [f for f in got.factors if f.held]
    assert held
    assert all(f.value == 1.0 for f in held)
    assert any("stays at 1" in s for s in got.sentences)


def test_wheel_figures_and_corrected_ones__are_refused(build, made, tmp_path):
    log = read_log(made[20].log(tmp_path / "w.csv", 1))
    (wheel,) = with_words(log, {"inertia": f"{INERTIA} kg m2"}, AIR).pulls
    with pytest.raises(BadInput, match="at the wheels; name its run-down"):
        observe(wheel, build)
    corrected = replace(wheel, flywheel=wheel.wheel, corrected_by="SAE J607")
    with pytest.raises(BadInput, match="only an observed torque"):
        observe(corrected, build)
