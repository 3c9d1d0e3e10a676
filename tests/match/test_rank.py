"""Ranking: the tightest margin rules, order of the candidates does not, thresholds by hand."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from matching import NO_COOLER, OUTSIDE, P2, T2, demand_row, lossy_way, wren_own, wren_turbo

from spoolwright.boost import balance as b
from spoolwright.boost import operating_line as o
from spoolwright.boost.compressor_roots import compressor_speed
from spoolwright.boost.rows import K_SPEED_LIMIT
from spoolwright.match.candidates import family, scaled
from spoolwright.match.demand import N_BMEP, Demand
from spoolwright.match.rank import Wish, judge, most_boost, operating_line, rank, threshold_speed
from spoolwright.sums.air_states import Inlet, Reference, corrected_flow

RPM = np.linspace(1500.0, 6000.0, 10)
WISH = Wish(P2 - OUTSIDE, (3000.0, 4800.0))


@pytest.fixture(scope="module")
def demand() -> Demand:
    rows = np.array([demand_row(n) for n in RPM])
    model: Any = SimpleNamespace(swept=1.6e-3)
    return Demand(RPM, rows, np.full((len(RPM), N_BMEP), 1e6), [], model, P2, T2)


def test_order_of_candidates__makes_no_difference(demand: Demand) -> None:
    few = family(wren_own(), 1.0, 5, 4)
    names = [r.candidate.name for r in rank(demand, lossy_way(), NO_COOLER, few, WISH)]
    again = [r.candidate.name for r in rank(demand, lossy_way(), NO_COOLER, few[::-1], WISH, workers=2)]
    assert names == again
    assert len(set(names)) == 20


def test_ranking__best_first_by_the_tightest(demand: Demand) -> None:
    ranked = rank(demand, lossy_way(), NO_COOLER, family(wren_own(), 1.0, 6, 5), WISH)
    scores = [min(r.score, 3.0) for r in ranked]
    assert scores == sorted(scores, reverse=True)
    for r in ranked:
        assert r.tightest.score == min(m.score for m in r.margins)
        assert r.verdict == ("stop" if r.score < 0.0 else "watch" if r.score < 1.0 else "sound")
    verdicts = {r.verdict for r in ranked}
    assert "stop" in verdicts
    assert len(verdicts) > 1


def test_margins__of_the_line_by_hand(demand: Demand) -> None:
    """Score 0 at the hard end, 1 at the wish; drive pressure gauge over gauge; corrected flow by the sum."""
    line = operating_line(demand, lossy_way(), NO_COOLER, wren_own())
    found = {m.name: m for m in judge(demand, lossy_way(), wren_own(), line, WISH).margins}
    held = line[:, o.L_REACHED] > 0.0
    drive = ((line[held, o.L_P3] - OUTSIDE) / (P2 - OUTSIDE)).max()
    assert found["drive pressure"].value == pytest.approx(drive)
    assert found["drive pressure"].score == pytest.approx((2.5 - drive) / 1.0)
    top = line[:, o.L_OMEGA].max() / wren_own().speed_limit
    assert found["shaft speed"].score == pytest.approx((1.0 - top) / 0.03)
    reference = wren_turbo().reference
    k = 6
    inlet = Inlet(line[k, o.L_P1], None, None, filter_pull=0.0)
    seen = corrected_flow(line[k, o.L_FLOW], line[k, o.L_T1], inlet, Reference(None, reference.T, reference.p))
    # The same corrected flow at the map's own state lies on the same point of the map.
    sizes, lines = wren_own().compressor
    ratio = line[k, o.L_P_OUT] / line[k, o.L_P1]
    omega, _ = compressor_speed(
        sizes, lines, seen["corrected_flow"], reference.p, reference.T, 287.05287, 1004.685, ratio * reference.p, 3e4
    )
    assert omega == pytest.approx(line[k, o.L_OMEGA] * sqrt(reference.T / line[k, o.L_T1]), rel=1e-6)


def test_threshold__linear_between_speeds_and_unbroken_to_the_top() -> None:
    line = np.zeros((4, o.N_OPERATING))
    rpm = np.array([1000.0, 2000.0, 3000.0, 4000.0])
    line[:, o.L_SPARE] = [-0.3, -0.1, 0.1, 0.2]
    assert threshold_speed(rpm, line) == pytest.approx(2500.0)
    line[:, o.L_SPARE] = [-0.3, 0.1, -0.1, 0.3]
    assert threshold_speed(rpm, line) == pytest.approx(3250.0)
    line[:, o.L_SPARE] = [0.0, 0.1, 0.1, 0.3]
    assert threshold_speed(rpm, line) == 1000.0
    line[:, o.L_SPARE] = [0.1, 0.1, 0.1, -0.3]
    assert threshold_speed(rpm, line) is None
    line[:, o.L_SPARE] = [np.nan, -1.0, 0.1, 0.3]
    assert 2000.0 < (threshold_speed(rpm, line) or 0.0) < 3000.0


def test_housing__threshold_rises_and_drive_falls_with_area(demand: Demand) -> None:
    base = wren_own()
    sizes = [scaled(base, base.wheel, k * base.turbine_area) for k in (0.8, 1.0, 1.25, 1.6)]
    lines = [operating_line(demand, lossy_way(), NO_COOLER, one) for one in sizes]
    seen = [judge(demand, lossy_way(), one, line, WISH) for one, line in zip(sizes, lines, strict=True)]
    thresholds = [r.threshold or 1e9 for r in seen]
    assert thresholds == sorted(thresholds)
    assert thresholds[-1] > thresholds[0]
    drives = [r.drive for r in seen]
    assert drives == sorted(drives, reverse=True)


def test_similar_machine_and_engine__same_margins(demand: Demand) -> None:
    """An engine of twice the flow with machines of twice the area: same margins, shaft slower by sqrt 2."""
    base = wren_own()
    double = demand.rows.copy()
    double[:, 0] += np.log(2.0)
    twice = Demand(RPM, double, demand.bmep, [], demand.model, P2, T2)
    way = lossy_way()
    way[3:8] = 0.0
    big = scaled(base, base.wheel * sqrt(2.0), 2.0 * base.turbine_area)
    a = judge(demand, way, base, operating_line(demand, way, NO_COOLER, base), WISH)
    c = judge(twice, way, big, operating_line(twice, way, NO_COOLER, big), WISH)
    assert c.threshold == pytest.approx(a.threshold, rel=1e-5)
    for one, other in zip(a.margins, c.margins, strict=True):
        assert other.value == pytest.approx(one.value, rel=1e-4, abs=1e-6), one.name


def test_compressor_far_too_small__is_a_stop_with_its_reason(demand: Demand) -> None:
    tiny = scaled(wren_own(), 0.02, wren_own().turbine_area)
    found = judge(demand, lossy_way(), tiny, operating_line(demand, lossy_way(), NO_COOLER, tiny), WISH)
    assert found.verdict == "stop"
    assert "no such pressure" in found.tightest.sentence
    assert found.threshold is None


def test_pulse_factors__as_powers_of_the_turbines_area(demand: Demand) -> None:
    """Twice the area with slopes -0.1 and 0.2: 2^-0.1 and 2^0.2; beyond 2.5 times no further; none without slopes."""
    slopes = np.tile([-0.1, 0.2], (len(RPM), 1))
    sloped = replace(demand, pulse_area=500e-6, pulse_slopes=slopes)
    twice = sloped.for_turbine(1000e-6).rows
    assert twice[3, b.Q_PULSE_FLOW] == pytest.approx(2.0**-0.1)
    assert twice[3, b.Q_PULSE_POWER] == pytest.approx(2.0**0.2)
    assert twice[3, b.Q_PULSE_GATE] == 1.0
    assert np.array_equal(sloped.for_turbine(1e-2).rows, sloped.for_turbine(1250e-6).rows)
    assert demand.for_turbine(1000e-6) is demand
    between = sloped.at(np.array([2750.0])).for_turbine(1000e-6).rows[0]
    assert between[b.Q_PULSE_POWER] == pytest.approx(2.0**0.2)


def test_most_boost__rises_with_the_speed_limit() -> None:
    base = wren_own()
    faster = scaled(base, base.wheel, base.turbine_area)
    faster.compressor.sizes[K_SPEED_LIMIT] *= 1.1
    assert most_boost([base, faster], lossy_way()) > most_boost([base], lossy_way()) > 100e3


def test_scaled__keeps_tip_speed_and_names_its_sizes() -> None:
    base = wren_own()
    big = scaled(base, 0.060, 700e-6)
    assert big.speed_limit * big.wheel == pytest.approx(base.speed_limit * base.wheel)
    assert big.turbine_area == pytest.approx(700e-6)
    assert big.name == "60.0 mm, 700 mm2"
    assert big.estimated
    assert big.speed_limit * 30 / pi < 180000.0
