"""Repeats make the spread; a change is judged against it by speed; settings in force come from the logbook."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import datetime, timedelta, timezone

import numpy as np
import pytest
from dyno_faults import clean
from dyno_runs import log_of, run
from scipy.stats import ttest_ind

from spoolwright.dyno import read_log
from spoolwright.dyno.compare import compare, repeats, shared_speeds
from spoolwright.dyno.measured import RPM
from spoolwright.dyno.rig import Air
from spoolwright.dyno.settings import changes, in_force, keep, pull_time
from spoolwright.errors import BadInput
from spoolwright.sheet import demo_folder, logbook


def like(count: int, spread: float, seed: int, gain=0.0, first: int = 1, tilt: float = 0.0):
    """Pulls that differ by a standard deviation ``spread`` as a whole and by a little along speed."""
    rng = np.random.default_rng(seed)
    base = clean(0)
    out = []
    for k in range(count):
        along = np.interp(base.w, np.linspace(base.w[0], base.w[-1], 7), rng.normal(0.0, 0.3 * spread, 7))
        shift = 1.0 + rng.normal(0.0, spread) + along + gain + tilt * k
        out.append(replace(base, number=first + k, wheel=base.wheel * shift))
    return out


def test_spread__is_that_of_the_pulls():
    pulls = like(6, 0.01, 1)
    got = repeats(pulls)
    table = np.array([p.over(p.torque, got.speeds_rpm) for p in pulls])
    assert got.mean == pytest.approx(table.mean(axis=0))
    assert got.deviation == pytest.approx(table.std(axis=0, ddof=1))
    assert got.speeds_rpm[0] % 250.0 == 0.0


def test_change__is_student_s_t_at_each_speed():
    """Against scipy.stats.ttest_ind, an implementation of its own."""
    before, after = like(4, 0.006, 2), like(3, 0.006, 3, 0.012, 11)
    got = compare(before, after, confidence=0.95)
    a = np.array([p.over(p.torque, got.speeds_rpm) for p in before])
    b = np.array([p.over(p.torque, got.speeds_rpm) for p in after])
    told = ttest_ind(b, a, axis=0)
    interval = told.confidence_interval(0.95)
    assert got.band == pytest.approx(0.5 * (interval.high - interval.low), rel=1e-9)
    assert got.counts.tolist() == (told.pvalue < 0.05).tolist()
    whole = ttest_ind(b.mean(axis=1), a.mean(axis=1))
    assert got.overall_counts == (whole.pvalue < 0.05)


def test_true_gain__is_found_and_none_is_not():
    found = [compare(like(3, 0.004, s), like(3, 0.004, s + 500, 0.03, 11)).overall_counts for s in range(60)]
    wrong = [compare(like(3, 0.004, s), like(3, 0.004, s + 500, 0.0, 11)).overall_counts for s in range(200)]
    assert np.mean(found) > 0.9
    assert np.mean(wrong) < 0.10  # one in twenty by chance


def test_gain_in_one_range__is_named_with_its_speeds():
    before = like(4, 0.002, 5)
    after = [
        replace(p, wheel=p.wheel * (1.0 + 0.05 * (np.abs(p.w / RPM - 5000.0) < 700.0)))
        for p in like(4, 0.002, 6, 0.0, 11)
    ]
    got = compare(before, after)
    strong = max(got.stretches, key=lambda s: s.difference)
    assert strong.better
    assert strong.low_rpm <= 4750.0
    assert strong.high_rpm >= 5250.0
    assert any("would by chance" in s for s in got.sentences)


def test_steady_rise_from_pull_to_pull__is_no_chance():
    assert repeats(like(5, 0.0005, 7, tilt=0.006)).drift_counts
    assert not repeats(like(5, 0.005, 8)).drift_counts


def test_pulls_that_differ_much__say_so():
    wide = repeats(like(4, 0.03, 9))
    assert any("like pulls differ" in s for s in wide.sentences)
    assert any("agree within" in s for s in repeats(like(4, 0.002, 9)).sentences)


def test_power__is_torque_times_speed():
    torque, power = repeats(like(3, 0.01, 4)), repeats(like(3, 0.01, 4), what="power")
    assert power.mean == pytest.approx(torque.mean * torque.speeds_rpm * RPM)


def test_correction_of_each_day__comes_before_the_comparison():
    pulls = like(2, 0.001, 1)
    got = repeats(pulls, factors=[1.0, 1.02])
    assert got.values[1] == pytest.approx(1.02 * pulls[1].over(pulls[1].torque, got.speeds_rpm))
    with pytest.raises(BadInput, match="need 2 correction factors"):
        repeats(pulls, factors=[1.0])


def test_what_does_not_compare__is_refused():
    a, b = like(2, 0.01, 1)
    with pytest.raises(BadInput, match="one good pull proves nothing"):
        compare([a], [b, replace(b, number=3)])
    with pytest.raises(BadInput, match="two pulls at least"):
        repeats([a])
    with pytest.raises(BadInput, match="wheel and flywheel"):
        repeats([a, replace(b, flywheel=b.wheel)])
    with pytest.raises(BadInput, match="do not compare"):
        repeats([a, replace(b, corrected_by="SAE J607")])
    with pytest.raises(BadInput, match="share no stretch"):
        shared_speeds([a, replace(b, w=b.w + 5000.0 * RPM)])
    with pytest.raises(BadInput, match="outside 50 to"):
        repeats([a, b], confidence=1.0)
    with pytest.raises(BadInput, match="outside 10 to 2000"):
        repeats([a, b], step_rpm=1.0)


# ----------------------------------------------------------------------------- settings in force
START = datetime(2031, 3, 14, 9, 0, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture
def build(tmp_path):
    folder = tmp_path / "wren"
    shutil.copytree(demo_folder("wren"), folder)
    (folder / "logbook.jsonl").unlink(missing_ok=True)
    for hours, what, before, after in (
        (1, "carburettor.main_jet", "1.50 mm", "1.55 mm"),
        (3, "spark.advance", "22 deg BTDC", "24 deg BTDC"),
        (5, "carburettor.main_jet", "1.55 mm", "1.60 mm"),
    ):
        logbook.append(folder, "change", f"{what} {before} to {after}", "A. Maker", START + timedelta(hours=hours),
                       what=what, **{"from": before, "to": after, "why": "lean at 4500 rpm"})  # fmt: skip
    return folder


@pytest.mark.parametrize(
    ("hours", "sets"),
    [
        (0, {"carburettor.main_jet=1.50 mm", "spark.advance=22 deg BTDC"}),
        (2, {"carburettor.main_jet=1.55 mm", "spark.advance=22 deg BTDC"}),
        (4, {"carburettor.main_jet=1.55 mm"}),
        (6, set()),
    ],
)
def test_settings__as_they_were_at_the_time(build, hours, sets):
    got = in_force(build, START + timedelta(hours=hours))
    assert set(got.sets) == sets
    assert len(got.before) + len(got.since) == 3


def test_change_in_words__cannot_be_set_back_and_says_so(build):
    logbook.append(build, "change", "New belt", "A. Maker", START + timedelta(hours=7))
    got = in_force(build, START)
    assert any("New belt" in n for n in got.notes)
    assert changes(build)[-1].in_sheet is False


def test_unknown_time__takes_the_sheet_as_it_stands(build):
    got = in_force(build, None)
    assert got.sets == ()
    assert not got.known
    assert "not known" in got.notes[0]


def test_kept_log__stands_in_the_build_as_it_came(build, tmp_path):
    path = log_of(tmp_path / "evening.csv", run(coast=False))
    read_log(path, confirmed={"Throttle [%]": "throttle [%]"})
    log = read_log(path)
    kept = keep(log, build, "A. Maker", made=START + timedelta(hours=4))
    assert kept.read_bytes() == path.read_bytes()
    assert read_log(kept).column("throttle").confirmed
    entry = logbook.read(build).entries[-1]
    assert (entry.kind, entry.details["sha256"]) == ("pull", log.sha256)
    assert pull_time(build, "evening.csv", log.sha256) == START + timedelta(hours=4)
    keep(log, build, "A. Maker")  # again: nothing new
    assert sum(e.kind == "pull" for e in logbook.read(build).entries) == 1
    (tmp_path / "other").mkdir()
    other = log_of(tmp_path / "other" / "evening.csv", run(seed=5, coast=False))
    with pytest.raises(BadInput, match="another log of this name"):
        keep(read_log(other), build, "A. Maker")
    with pytest.raises(BadInput, match="no build"):
        keep(log, tmp_path, "A. Maker")


def test_weather_of_two_days__is_named_before_a_gain_is_believed():
    """ISO 1585 as published: factor (99 kPa / dry)^1.2 (T / 298 K)^0.6, worked out here by hand."""
    cold = Air(283.15, 100.5e3, vapour_pressure=600.0)
    warm = Air(303.15, 97.5e3, vapour_pressure=1500.0)
    first = [replace(p, file="warm.csv", air=warm) for p in like(3, 0.002, 2)]
    second = [replace(p, file="cold.csv", air=cold) for p in like(3, 0.002, 3, 0.0, 11)]
    alone = ((100.5 - 0.6) / (97.5 - 1.5)) ** 1.2 * (303.15 / 283.15) ** 0.6 - 1.0
    (told,) = [s for s in compare(first, second).sentences if "air was not the same" in s]
    assert f"{100 * alone:+.1f} %" in told
    assert "up to" not in told
    held = [replace(p, air=replace(cold, boost_control="absolute")) for p in second]
    assert any("up to" in s for s in compare(first, held).sentences)
    corrected = compare(first, second, factors=([1.03] * 3, [0.97] * 3))
    assert not any("air" in s for s in corrected.sentences)
    unknown = [replace(p, air=Air()) for p in second]
    assert any("air of cold.csv is not fully known" in s for s in compare(first, unknown).sentences)
    same = [replace(p, file="warm.csv", air=warm) for p in second]
    assert not any("air" in s for s in compare(first, same).sentences)
