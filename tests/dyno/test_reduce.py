"""From a log to torque over speed: sources of torque, wheel and flywheel, delays, fuel flow, band, what is said."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from dyno_runs import INERTIA, RATIO, RPM, curve, log_of, loss, run, write

from spoolwright.dyno import read_log
from spoolwright.dyno.reduce import reduce_log, with_words
from spoolwright.dyno.rig import Rig, read_air, read_rig
from spoolwright.errors import BadInput

HERE = Path(__file__).parent
SPEEDS = np.array([3000.0, 4000.0, 5000.0, 6000.0])


def test_wheel_and_flywheel_apart__by_run_down(tmp_path):
    log = read_log(log_of(tmp_path / "a.csv", run()))
    done = with_words(log, {"inertia": f"{INERTIA} kg m2", "run_down": "after"}, {})
    (pull,) = done.pulls
    assert pull.place == "flywheel"
    assert pull.over(pull.flywheel, SPEEDS) == pytest.approx(curve(SPEEDS), rel=0.02)
    wheel = curve(SPEEDS) - loss(SPEEDS * RPM / RATIO) / RATIO
    assert pull.over(pull.wheel, SPEEDS) == pytest.approx(wheel, rel=0.02)
    assert pull.ratio == pytest.approx(RATIO, rel=1e-3)
    assert "run-down" in pull.method


def test_without_a_run_down__no_flywheel_figure_is_made_up(tmp_path):
    log = read_log(log_of(tmp_path / "a.csv", run()))
    (pull,) = with_words(log, {"inertia": f"{INERTIA} kg m2"}, {}).pulls
    assert pull.flywheel is None
    assert pull.place == "wheel"
    assert any("no run-down" in n for n in pull.notes)


def test_outside_the_run_down__the_flywheel_figure_is_missing_and_said(tmp_path):
    made = run()
    cut = (made["time"] < made["time"][-1] - 12.0) | (made["throttle"] > 50.0)
    made = {k: v[cut] for k, v in made.items()}
    log = read_log(log_of(tmp_path / "a.csv", made))
    (pull,) = with_words(log, {"inertia": f"{INERTIA} kg m2", "run_down": "after"}, {}).pulls
    assert np.isnan(pull.flywheel).any()
    assert any("outside the run-down" in n for n in pull.notes)


def test_band_holds_noise_and_inertia(tmp_path):
    log = read_log(log_of(tmp_path / "a.csv", run()))
    sharp = with_words(log, {"inertia": f"{INERTIA} kg m2"}, {}).pulls[0]
    loose = with_words(log, {"inertia": f"{INERTIA} kg m2 ± 2 %"}, {}).pulls[0]
    assert loose.scale == pytest.approx(0.01)
    assert loose.band == pytest.approx(np.hypot(sharp.band, 0.02 * loose.torque), rel=1e-6)
    true = curve(loose.w / RPM) - loss(loose.w / RATIO) / RATIO
    assert np.mean(np.abs(sharp.torque - true) <= sharp.band) > 0.85


def test_load_on_the_roller__with_its_inertia(tmp_path):
    made = run(losses=False, coast=False)
    load = np.where(made["throttle"] > 50.0, 30.0, 0.0)
    # The engine drives load and roller: what accelerates is its torque less the load.
    made = run(torque=lambda rpm: curve(rpm) - 30.0 / RATIO, losses=False, coast=False)
    load = np.where(made["throttle"] > 50.0, 30.0, 0.0)
    log = read_log(log_of(tmp_path / "a.csv", made, **{"Roller torque [Nm]": load}))
    (pull,) = with_words(log, {"inertia": f"{INERTIA} kg m2"}, {}).pulls
    assert pull.method.startswith("load on the roller, inertia")
    assert pull.over(pull.torque, SPEEDS) == pytest.approx(curve(SPEEDS), rel=0.02)
    (alone,) = with_words(log, {}, {}).pulls
    assert any("roller's own inertia is not stated" in n for n in alone.notes)
    assert alone.over(alone.torque, SPEEDS) == pytest.approx(30.0 / RATIO, rel=0.02)


@pytest.mark.parametrize("column", ["Torque [Nm]", "Power [kW]"])
def test_torque_or_power_column__as_it_stands(tmp_path, column):
    made = run(coast=False)
    torque = curve(made["engine"])
    values = torque if "Torque" in column else torque * made["engine"] * RPM / 1e3
    log = read_log(log_of(tmp_path / "a.csv", made, **{column: values}))
    (pull,) = with_words(log, {}, {}).pulls
    assert pull.place == "not stated"
    assert any("not stated" in n for n in pull.notes)
    assert pull.over(pull.torque, SPEEDS) == pytest.approx(curve(SPEEDS), rel=0.01)
    (said,) = with_words(log, {"stands_at": "flywheel", "corrected_by": "observed"}, {}).pulls
    assert said.place == "flywheel"
    assert not any("not stated" in n for n in said.notes)


def test_corrected_column__is_brought_back_to_observed(tmp_path):
    """Old STD at 25 degC, 99 kPa dry is 1.04 times the SAE day (published row D15); here the undoing of it."""
    made = run(coast=False)
    log = read_log(log_of(tmp_path / "a.csv", made, **{"Torque [Nm]": 1.0058 * curve(made["engine"])}))
    air = {"temperature": "25 degC", "barometer": "101.325 kPa", "vapour_pressure": "0 kPa"}
    (pull,) = with_words(log, {"corrected_by": "std", "stands_at": "wheel"}, air).pulls
    # J607: (29.92 inHg / p) sqrt(T / 288.7 K); at the reference pressure and 25 degC sqrt(298.15 / 288.706).
    undo = np.sqrt(288.7056 / 298.15)
    assert pull.over(pull.torque, SPEEDS) == pytest.approx(1.0058 * undo * curve(SPEEDS), rel=0.01)
    assert pull.corrected_by == "observed"
    (left,) = with_words(log, {"corrected_by": "std", "stands_at": "wheel"}, {}).pulls
    assert left.corrected_by == "SAE J607"


@pytest.mark.parametrize("true", [0.2, 0.45, 0.8])
def test_late_mixture__is_found_and_put_back(tmp_path, true):
    made = run(seed=3)
    boost = 60.0 / (1.0 + np.exp(-(made["engine"] - 3300.0) / 150.0)) * (made["throttle"] > 50.0)
    mixture = 1.0 - 0.2 * boost / 60.0
    late = np.interp(made["time"] - true, made["time"], mixture)
    noise = np.random.default_rng(1).normal(0.0, 0.004, late.size)
    log = read_log(log_of(tmp_path / "a.csv", made, **{"Boost [kPa]": boost, "Lambda": late + noise}))
    (pull,) = with_words(log, {"inertia": f"{INERTIA} kg m2"}, {}).pulls
    (delay,) = pull.delays
    assert delay.removed
    assert delay.delay == pytest.approx(true, abs=0.03)
    assert delay.behind == "boost_gauge"
    want = np.interp(pull.time, made["time"], mixture)
    got = pull.channels["lambda"]
    assert np.isfinite(got).all()  # the record goes on behind the pull, so nothing is missing at its end
    assert np.median(np.abs(got - want)) < 0.008


def test_mixture_that_follows_nothing__is_not_moved(tmp_path):
    made = run(seed=3)
    noise = 1.0 + np.random.default_rng(1).normal(0.0, 0.01, made["time"].size)
    log = read_log(log_of(tmp_path / "a.csv", made, Lambda=noise))
    (pull,) = with_words(log, {"inertia": f"{INERTIA} kg m2"}, {}).pulls
    assert [d.removed for d in pull.delays] == [False]
    assert "nothing was moved" in pull.delays[0].why
    (told,) = with_words(log, {"inertia": f"{INERTIA} kg m2", "delays": {"lambda": "0.3 s"}}, {}).pulls
    assert told.delays[0].delay == 0.3
    assert told.delays[0].why == "stated"


def test_volume_flow_of_fuel__needs_its_density(tmp_path):
    made = run(coast=False)
    log = read_log(
        log_of(tmp_path / "a.csv", made, **{"Fuel flow [L/h]": 20.0 + 0.0 * made["time"] + made["engine"] / 500.0})
    )
    without = with_words(log, {"inertia": "40 kg m2"}, {})
    assert "fuel_flow" not in without.pulls[0].channels
    assert any("density" in n for n in without.notes)
    having = with_words(log, {"inertia": "40 kg m2", "fuel_density": "0.745 kg/L"}, {}).pulls[0]
    want = (20.0 + having.channels["engine_speed"] / 500.0) * 0.745
    assert having.channels["fuel_flow"] == pytest.approx(want, rel=1e-4)


def test_displayed_ratio__needs_the_display_s_own(tmp_path):
    made = run(coast=False)
    log = read_log(log_of(tmp_path / "a.csv", made, AFR=12.0 + made["engine"] / 1e4))
    assert "lambda" not in with_words(log, {"inertia": "40 kg m2"}, {}).pulls[0].channels
    pull = with_words(log, {"inertia": "40 kg m2", "afr_stoichiometric": "14.7"}, {}).pulls[0]
    assert np.nanmedian(pull.channels["lambda"] * 14.7 - pull.channels["afr"]) == pytest.approx(0.0, abs=1e-9)


def test_roller_trace__as_its_user_reduces_it():
    """S19: invented trace with known torque; tolerances as stated with it."""
    log = read_log(HERE / "logs" / "s19_roller.csv")
    (pull,) = with_words(log, {"inertia": "85 kg m2"}, {}).pulls
    got = pull.over(pull.torque, np.array([3500.0, 4000.0, 5000.0, 6000.0]))
    assert got == pytest.approx([225.074, 297.13, 319.402, 297.004], rel=0.025)
    power, w = pull.peak_power()
    assert power == pytest.approx(186967.0, rel=0.02)
    assert w / RPM == pytest.approx(6145, abs=500)


def test_rim_speed_of_the_roller__needs_its_diameter(tmp_path):
    """The same trace with the roller's speed in km/h at the rim: v = pi D n, by hand with D = 0.6 m."""
    lines = (HERE / "logs" / "s19_roller.csv").read_text().splitlines()
    names = lines[0].split(",")
    at = next(i for i, n in enumerate(names) if "roll" in n.lower())
    rows = [line.split(",") for line in lines]
    rows[0][at] = "Drum speed [km/h]"
    for row in rows[1:]:
        row[at] = f"{float(row[at]) / 60.0 * math.pi * 0.6 * 3.6:.4f}"
    path = tmp_path / "rim.csv"
    path.write_text("\n".join(",".join(r) for r in rows) + "\n")
    with pytest.raises(BadInput, match="roller_diameter=500 mm"):
        with_words(read_log(path), {"inertia": "85 kg m2"}, {})
    (pull,) = with_words(read_log(path), {"inertia": "85 kg m2", "roller_diameter": "600 mm"}, {}).pulls
    got = pull.over(pull.torque, np.array([3500.0, 4000.0, 5000.0, 6000.0]))
    assert got == pytest.approx([225.074, 297.13, 319.402, 297.004], rel=0.025)


def test_words_are_kept_beside_the_log__and_used_again(tmp_path):
    path = log_of(tmp_path / "a.csv", run())
    before = path.read_bytes()
    log = read_log(path)
    with_words(log, {"inertia": "40 kg m2 ± 1 %"}, {"temperature": "24 degC"}, keep=True)
    assert 'inertia = "40 kg m2 ± 1 %"' in (tmp_path / "a.csv.toml").read_text(encoding="utf-8")
    again = reduce_log(read_log(path))
    assert again.rig.inertia == 40.0
    assert again.air.temperature == pytest.approx(297.15)
    assert "kept in a.csv.toml" in again.air.origin["temperature"]
    assert path.read_bytes() == before
    read_log(path, confirmed={"Throttle [%]": "throttle [%]"})  # confirming later leaves the words
    assert reduce_log(read_log(path)).rig.inertia == 40.0


def test_air_from_the_log_itself__is_said():
    log = read_log(HERE / "logs" / "c2_restart_two_header_rows.csv")
    done = with_words(log, {"inertia": "40 kg m2", "ratio": "4"}, {})
    assert done.air.barometer == pytest.approx(98700.0)
    assert done.air.temperature == pytest.approx(295.65)
    assert done.air.origin == {"temperature": "particulars of the log", "barometer": "particulars of the log"}
    assert done.air.missing() == ["humidity"]


def test_slip__is_found_and_said(tmp_path):
    made = run(coast=False)
    made["engine"] = made["engine"] * (1.0 + 0.15 * np.clip((made["engine"] - 4000.0) / 2500.0, 0.0, 1.0))
    log = read_log(log_of(tmp_path / "a.csv", made))
    (pull,) = with_words(log, {"inertia": "40 kg m2"}, {}).pulls
    assert pull.slip_found
    assert any("slips" in n for n in pull.notes)


BAD_RIGS = [
    ({"inertia": "85"}, "inertia"),
    ({"inertia": "85 kg"}, "kg"),
    ({"inertia": "-3 kg m2"}, "outside"),
    ({"spring": "1 N"}, "not known"),
    ({"stands_at": "clutch"}, "not one of"),
    ({"run_down": "first"}, "segment number"),
    ({"delays": {"afr": "9 s"}}, "outside"),
    ({"corrected_by": "DIM 70020"}, "did you mean DIN 70020"),
]


@pytest.mark.parametrize(("words", "sentence"), BAD_RIGS)
def test_bad_rig__is_one_sentence(words, sentence):
    with pytest.raises(BadInput, match=sentence) as told:
        read_rig(words)
    assert "\n" not in str(told.value)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ({"barometer": "29.9 psi gauge"}, "gauge"),
        ({"barometer": "987 kPa"}, "outside"),
        ({"humidity": "40 %", "dew_point": "4 degC"}, "not two"),
        ({"boost_control": "spring"}, "not one of"),
    ],
)
def test_bad_air__is_one_sentence(words, sentence):
    with pytest.raises(BadInput, match=sentence):
        read_air(words)


def test_bad_jobs__are_one_sentence(tmp_path):
    log = read_log(log_of(tmp_path / "a.csv", run()))
    for words, sentence in (
        ({}, "nothing tells the torque"),
        ({"torque_from": "roller load"}, "needs a column of roller torque"),
        ({"run_down": "9", "inertia": "40 kg m2"}, "no segment 9"),
        ({"delays": {"afr": "0.3 s"}, "inertia": "40 kg m2"}, "does not hold"),
    ):
        with pytest.raises(BadInput, match=sentence):
            with_words(log, words, {})
    still = {"Time [s]": np.arange(0, 5, 0.1), "Engine speed [rpm]": np.full(50, 3000.0)}
    with pytest.raises(BadInput, match="no pull found"):
        reduce_log(read_log(write(tmp_path / "s.csv", still)), Rig(inertia=40.0, ratio=4.0))
