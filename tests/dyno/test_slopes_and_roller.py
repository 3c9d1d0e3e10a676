"""From speed to torque: exact cases, the invented roller trace, pulls, delays, run-down."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from dyno_messers import cells, style, write

from spoolwright.dyno import read_log
from spoolwright.dyno.delays import channel_delay, remove_delay
from spoolwright.dyno.pulls import find_pulls
from spoolwright.dyno.readers.reading import read_bytes
from spoolwright.dyno.roller import run_down, torque_from_inertia
from spoolwright.dyno.slopes import differentiate, smooth
from spoolwright.errors import BadInput

HERE = Path(__file__).parent
RPM = math.pi / 30.0
PUBLISHED = {
    r["id"]: r for r in csv.DictReader((HERE.parent / "published" / "data" / "dyno_inertia.csv").open(encoding="utf-8"))
}


def value(name: str) -> tuple[float, float]:
    row = PUBLISHED[name]
    return float(row["value"]), float(row["tol_rel"])


def test_slope_of_a_quadratic_is_exact__y08():
    t = np.arange(0.0, 3.0, 0.05)
    d = differentiate(t, 20 + 30 * t + 4 * t**2)
    want, tol = value("Y08")
    assert d.slope[25] == pytest.approx(want, rel=tol)
    assert d.slope == pytest.approx(30 + 8 * t, rel=1e-8)  # the ends too


def test_slope_of_a_quadratic_is_exact_on_uneven_times():
    rng = np.random.default_rng(3)
    t = np.cumsum(rng.uniform(0.03, 0.07, 120))
    d = differentiate(t, 20 + 30 * t + 4 * t**2)
    assert d.value == pytest.approx(20 + 30 * t + 4 * t**2, rel=1e-8)
    assert d.slope[1:-1] == pytest.approx((30 + 8 * t)[1:-1], rel=1e-8)


@pytest.mark.parametrize("f", [0.3, 1.0, 2.0])
def test_bandwidth_is_what_it_says(f):
    t = np.arange(0.0, 40.0, 0.05)
    d = differentiate(t, np.sin(2 * np.pi * f * t), bandwidth=1.0)
    middle = slice(200, 600)
    got = np.sqrt(2.0 * np.mean(d.value[middle] ** 2))
    want = 1.0 / (1.0 + (math.sqrt(2) - 1) * (math.sin(math.pi * f * 0.05) / math.sin(math.pi * 0.05)) ** 6)
    assert got == pytest.approx(want, rel=5e-3)
    if f == 1.0:
        assert got == pytest.approx(1 / math.sqrt(2), rel=5e-3)


def test_spread_of_the_slope_is_the_spread_found_by_repeats():
    rng = np.random.default_rng(1)
    t = np.arange(0.0, 6.0, 0.05)
    runs = [differentiate(t, 10 * t + rng.normal(0, 0.5, t.size)) for _ in range(150)]
    found = np.std([r.slope for r in runs], axis=0)
    said = np.mean([r.slope_spread for r in runs], axis=0)
    assert said == pytest.approx(found, rel=0.25)
    assert np.mean([r.noise for r in runs]) == pytest.approx(0.5, rel=0.03)


def test_spread_of_smoothed_values_is_the_spread_found_by_repeats():
    rng = np.random.default_rng(4)
    t = np.arange(0.0, 6.0, 0.05)
    runs = [smooth(t, 10 * t + rng.normal(0, 0.5, t.size)) for _ in range(150)]
    found = np.std([r.value for r in runs], axis=0)
    said = np.mean([r.spread for r in runs], axis=0)
    assert said == pytest.approx(found, rel=0.25)


def test_drum_torque_and_power__y04_y05():
    t = np.arange(0.0, 5.0, 0.05)
    w = 1500 * RPM - 40.0 * 2.5 + 40.0 * t  # passes 1500 rpm at 2.5 s with 40 rad/s2
    r = torque_from_inertia(t, w, w, 3.5)
    want, tol = value("Y04")
    assert r.wheel_torque[50] == pytest.approx(want, rel=max(tol, 1e-9))
    want, tol = value("Y05")
    assert r.wheel_power[50] == pytest.approx(want, rel=tol)


def test_roller_trace():
    """S19: invented trace with known torque; tolerances as stated with it."""
    log = read_log(HERE / "logs" / "s19_roller.csv")
    assert [c.role for c in log.columns] == ["time", "roller_speed", "engine_speed"]
    t, roller, engine = (log.table[k].to_numpy() for k in ("time", "roller_speed", "engine_speed"))
    r = torque_from_inertia(t, roller * RPM, engine * RPM, 85.0)
    for rpm, torque in ((3500, 225.074), (4000, 297.13), (5000, 319.402), (6000, 297.004)):
        assert r.at(rpm * RPM) == pytest.approx(torque, rel=0.025)
    power, w = r.peak_power()
    assert power == pytest.approx(186967.0, rel=0.02)
    assert w / RPM == pytest.approx(6145, abs=500)
    assert r.flywheel_torque is None
    assert not r.slip_found
    # Neighbouring samples raise the noise to tens of N m; the stated band does not.
    raw = 85.0 * np.diff(roller * RPM) / np.diff(t) * r.ratio
    assert np.std(raw - r.wheel_torque[1:]) > 20.0
    assert np.median(r.band) < 10.0


def test_band_holds_the_true_torque():
    rng = np.random.default_rng(5)
    t = np.arange(0.0, 6.0, 0.02)
    true = 60.0 + 0.0 * t
    w0 = 60.0 + np.cumsum(true) / 85.0 * 0.02
    inside = []
    for _ in range(25):
        w = w0 + rng.normal(0, 0.05, t.size)
        r = torque_from_inertia(t, w, 4.0 * w, 85.0)
        inside.append(np.mean(np.abs(r.wheel_torque - true / 4.0) <= r.band))
    assert np.mean(inside) == pytest.approx(0.954, abs=0.03)  # two standard deviations of a normal law


def test_run_down_gives_the_losses_back():
    inertia, a, b, c = 85.0, 12.0, 0.15, 0.002
    t, w = [0.0], [150.0]
    for _ in range(8000):
        w.append(w[-1] - 0.01 * (a + b * w[-1] + c * w[-1] ** 2) / inertia)
        t.append(t[-1] + 0.01)
    losses = run_down(np.array(t), np.array(w), inertia)
    at = np.array([100.0, 130.0])
    assert losses.torque(at) == pytest.approx(a + b * at + c * at**2, rel=2e-3)
    assert np.isnan(losses.torque(np.array([300.0]))).all()  # nobody measured it there
    rise = np.arange(0.0, 10.0, 0.05)
    speed = 100.0 + 4.0 * rise
    r = torque_from_inertia(rise, speed, 4.0 * speed, inertia, losses=losses)
    i = 50
    assert r.flywheel_torque is not None
    assert 4.0 * (r.flywheel_torque[i] - r.wheel_torque[i]) == pytest.approx(
        a + b * speed[i] + c * speed[i] ** 2, rel=5e-3
    )


def test_delay_is_found_and_taken_out():
    t = np.arange(0.0, 8.0, 0.05)
    rng = np.random.default_rng(2)

    def boost(x):
        return 85.0 / (1.0 + np.exp(-(x - 3.0) / 0.25))

    afr = 14.2 - 2.6 * boost(t - 0.37) / 85.0 + rng.normal(0, 0.01, t.size)
    delay, correlation = channel_delay(t, afr, boost(t) + rng.normal(0, 0.2, t.size))
    assert delay == pytest.approx(0.37, abs=0.02)
    assert correlation < -0.95
    moved = remove_delay(t, afr, delay)
    assert np.isnan(moved[-7:]).all()  # never logged, so never made up
    assert np.nanmax(np.abs(moved - (14.2 - 2.6 * boost(t) / 85.0))) < 0.15


def test_pulls_are_found_and_never_cross_a_restart_or_a_gap():
    log = read_log(HERE / "logs" / "c2_restart_two_header_rows.csv")
    pulls = find_pulls(log)
    assert [p.segment for p in pulls] == [0, 1]
    for p in pulls:
        assert (
            log.segments[p.segment].first_row
            <= p.first
            < p.stop
            <= log.segments[p.segment].first_row + log.segments[p.segment].rows
        )
        assert log.table["throttle"][p.first] == 100.0
    gap = find_pulls(read_log(HERE / "logs" / "c5_mixed_ends_duplicate_names.csv"))
    assert len(gap) == 2
    steady = read_bytes(write(style(), [[r[0], "3000", *r[2:]] for r in cells(style())]).encode(), "a.csv")
    assert find_pulls(steady) == []


def test_bad_input_is_one_sentence():
    t = np.arange(0.0, 3.0, 0.05)
    w = 20 + 4 * t
    for args, word in (
        ((t[:4], w[:4]), "at least 8"),
        ((t, np.where(t > 1, np.nan, w)), "missing"),
        ((t[::-1], w), "rise"),
        ((t, w, 50.0), "bandwidth"),
    ):
        with pytest.raises(BadInput, match=word):
            differentiate(*args)
    with pytest.raises(BadInput, match="above zero"):
        torque_from_inertia(t, w, w, 0.0)
    with pytest.raises(BadInput, match="no run-down"):
        run_down(t, w, 85.0)
    with pytest.raises(BadInput, match="outside the pull"):
        torque_from_inertia(t, w, 4 * w, 85.0).at(1e4)
    with pytest.raises(BadInput, match="run-down"):
        torque_from_inertia(t, w, 4 * w, 85.0).peak_power(flywheel=True)
