"""Pulls against a prediction: made pulls with a known shortfall, against bands worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from spoolwright.dyno import read_log
from spoolwright.dyno.against import against, steady
from spoolwright.dyno.measured import RPM, Measured
from spoolwright.dyno.reduce import reduce_log
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet, demo_folder, load


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    return load(demo_folder("wren"))


@pytest.fixture(scope="module")
def pattern() -> Measured:
    """A pull to be rewritten: its air and place are those of the demo."""
    return reduce_log(read_log(demo_folder("wren") / "pulls" / "brake-2026-03-07.csv")).pulls[0]


def _made(pattern: Measured, factor: float, n: int = 400) -> Measured:
    """Torque 150 N m times ``factor``, 4 % short from 4500 rpm on; no noise, no acceleration."""
    w = np.linspace(2000.0, 6000.0, n) * RPM
    torque = 150.0 * factor * np.where(w >= 4480.0 * RPM, 0.96, 1.0)
    zero = np.zeros(n)
    time = np.linspace(0.0, 10.0, n)
    return replace(
        pattern, w=w, time=time, flywheel=torque, wheel=None, unplaced=None, noise=zero, scale=0.0, acceleration=zero
    )


def test_shortfall__is_found_where_it_is_and_the_band_is_students(pattern: Measured, sheet: Sheet) -> None:
    factors = (0.995, 1.0, 1.005)
    got = against([_made(pattern, one) for one in factors], [2000.0, 6000.0], [150.0, 150.0], sheet)
    assert [(one.low_rpm, one.high_rpm) for one in got.away] == [(4500.0, 6000.0)]
    assert got.away[0].share == pytest.approx(-0.04, abs=1e-6)
    # Mean of three: t for two degrees of freedom, deviation 0.5 % of 150 N m, over the square root of three.
    band = stats.t.ppf(0.975, 2) * 0.75 / np.sqrt(3.0)
    low = got.speeds_rpm < 4400.0
    assert got.band[low] == pytest.approx(np.full(low.sum(), band), rel=1e-6)
    assert "4.0 % less than predicted from 4500 to 6000 rpm" in got.sentences[0]


def test_alike__stays_within_the_band(pattern: Measured, sheet: Sheet) -> None:
    pulls = [_made(pattern, one) for one in (0.98, 1.0, 1.02)]
    got = against(pulls, [2000.0, 4400.0], [150.0, 150.0], sheet)
    assert got.away == ()
    assert got.sentences[0].startswith("as predicted within the band from 2000 to 4250 rpm")


def test_steady__adds_what_speeds_the_engine_up(pattern: Measured, sheet: Sheet) -> None:
    swept = replace(_made(pattern, 1.0), acceleration=np.full(400, 40.0))
    # The sheet's 0.16 kg m2 at 40 rad/s2.
    assert (steady(swept, sheet).torque - swept.torque) == pytest.approx(np.full(400, 6.4))


def test_refusals__wheels_corrected_and_no_shared_speed(pattern: Measured, sheet: Sheet) -> None:
    made = _made(pattern, 1.0)
    with pytest.raises(BadInput, match="place wheel"):
        against([replace(made, wheel=made.flywheel, flywheel=None)], [2000.0, 6000.0], [150.0, 150.0], sheet)
    with pytest.raises(BadInput, match="DIN 70020"):
        against([replace(made, corrected_by="DIN 70020")], [2000.0, 6000.0], [150.0, 150.0], sheet)
    with pytest.raises(BadInput, match="fewer than two speeds"):
        against([made], [7000.0, 8000.0], [150.0, 150.0], sheet)


def test_other_air__is_said(pattern: Measured, sheet: Sheet) -> None:
    made = _made(pattern, 1.0)
    cold = replace(made, air=replace(made.air, barometer=101.3e3))
    assert any("101.3 kPa" in one for one in against([cold], [2000.0, 6000.0], [150.0, 150.0], sheet).sentences)
