"""Each fault of the trade's table is found in a pull that has it, first, with evidence; a clean pull raises nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from dyno_faults import FAULTS, changed, clean, late, misfiring, pump_short, voltage_down

from spoolwright.dyno import read_log
from spoolwright.dyno.diagnose import RULES, diagnose
from spoolwright.dyno.limits import limits_of
from spoolwright.dyno.reduce import with_words
from spoolwright.sheet import demo_folder, load

LOGS = Path(__file__).parent / "logs"
WREN = load(demo_folder("wren"))


@pytest.mark.parametrize("seed", range(12))
def test_clean_pull__raises_nothing(seed):
    found = diagnose([clean(seed)])
    assert [s.name for s in found.suspicions] == []
    assert found.sensors == ()


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("name", FAULTS)
def test_fault__is_found_first_with_evidence(name, seed):
    found = diagnose([FAULTS[name](clean(seed))]).suspicions
    assert found, name
    assert found[0].name == name
    assert found[0].strength >= 0.25
    assert any(e.time is not None or e.value is not None for e in found[0].evidence)
    assert found[0].causes
    assert found[0].check
    # Nothing far-fetched beside it: what else is raised belongs to the same fault.
    beside = {s.name for s in found[1:]}
    allowed = {
        "fuel pressure over boost falls": {"lean late in the pull"},
        "lean late in the pull": set(),
        "boost lost": {"lean late in the pull", "fuel pressure over boost falls", "boost falls with speed"},
        "misfire under boost": {"lean late in the pull"},
    }
    assert beside <= allowed.get(name, set())


def test_fault__halved_still_ranks_by_size():
    strong = diagnose([pump_short(clean(1))]).suspicions[0].strength
    p = clean(1)
    weak = changed(p, fuel_pressure=p.channels["fuel_pressure"] - 6.0 * late(p))
    (small,) = diagnose([weak]).suspicions
    assert small.name == "fuel pressure over boost falls"
    assert small.strength < strong


def test_cause_moves_with_the_evidence():
    short = diagnose([pump_short(clean(1))]).suspicions[0]
    assert short.causes[0] == "pump short at pressure"
    assert any("not the supply" in a for a in short.against)
    volts = diagnose([voltage_down(clean(1))]).suspicions[0]
    assert volts.causes[0] == "voltage drop at the pump"
    lean = diagnose([FAULTS["lean late in the pull"](clean(1))]).suspicions[0]
    assert lean.causes[0] == "bowl not at hat pressure"
    assert any("not the pump" in a for a in lean.against)
    p = FAULTS["lean late in the pull"](clean(1))
    blind = replace(p, channels={k: v for k, v in p.channels.items() if k != "fuel_pressure"})
    assert "fuel supply short" in diagnose([blind]).suspicions[0].causes[0]


def test_misfire__is_told_from_lean_fuel():
    found = diagnose([misfiring(clean(2))]).suspicions[0]
    assert any("unburned oxygen" in e.words for e in found.evidence)
    assert "fix the spark first" in found.caution


def test_evidence__says_when_and_where():
    found = diagnose([FAULTS["boost lost"](clean(1))]).suspicions[0]
    top = found.evidence[0]
    assert top.time is not None
    assert 5.0 < top.time < 6.2
    assert 4300.0 < top.speed_rpm < 5100.0
    knock = diagnose([FAULTS["knock"](clean(1))]).suspicions[0]
    assert knock.evidence[0].time == pytest.approx(150 * 0.04)
    assert knock.stop


def test_head_hot_from_the_start__speaks_against_the_engine():
    p = clean(1)
    found = diagnose([changed(p, head_temp_3=p.channels["head_temp_3"] + 30.0)]).suspicions
    assert [s.name for s in found] == ["one head hot"]
    assert any("from the start" in a for a in found[0].against)


def test_limits_of_the_build__are_held():
    limits = limits_of(WREN)
    assert {one.role for one in limits} >= {"head_temp", "exhaust_temp", "boost_gauge", "oil_pressure", "lambda"}
    p = clean(1)
    hot = changed(p, head_temp_4=p.channels["head_temp_4"] + 80.0 * late(p, 0.5))
    found = diagnose([hot], limits).suspicions
    past = next(s for s in found if s.name == "head temperature past its limit")
    assert "235 degC" in past.seen
    assert past.stop
    low = diagnose([changed(p, oil_pressure=np.full(p.time.size, 200.0))], limits).suspicions
    assert any(s.name == "oil pressure past its limit" for s in low)  # 2.8 bar from 4000 rpm on
    assert diagnose([clean(1)], limits).suspicions == () or all(
        "limit" in s.name for s in diagnose([clean(1)], limits).suspicions
    )


def test_dead_sensors__are_no_faults_of_the_engine():
    """B03, and the finding that is in the sixth log: fuel pressure over boost falls."""
    log = read_log(LOGS / "c6_quoted_markers_footer.csv")
    done = with_words(log, {"inertia": "85 kg m2", "ratio": "4.1"}, {})
    found = diagnose(done.pulls)
    assert found.suspicions[0].name == "fuel pressure over boost falls"
    assert {s.kind for s in found.sensors} == {"sensor"}
    words = " ".join(s.seen for s in found.sensors)
    assert "1372" in words
    assert "20.9" in words
    assert "stuck" in words
    assert not any("head" in s.name for s in found.suspicions)


def test_hottest_head__of_the_second_log():
    log = read_log(LOGS / "c2_restart_two_header_rows.csv")
    found = diagnose(with_words(log, {"inertia": "85 kg m2", "ratio": "4.1"}, {}).pulls).suspicions
    assert any(s.name == "one head hot" and "head 3" in s.seen for s in found)


def test_what_cannot_be_looked_at__is_listed():
    p = clean(1)
    bare = replace(p, channels={"engine_speed": p.channels["engine_speed"]})
    found = diagnose([bare])
    assert found.suspicions == ()
    words = " ".join(found.not_looked_at)
    for missing in ("knock", "fuel pressure", "head temperatures", "boost"):
        assert missing in words
    slow = replace(p, time=p.time * 5.0)
    assert any("surge" in w for w in diagnose([slow]).not_looked_at)


def test_like_pulls_that_differ__with_what_went_along():
    a, b = clean(1), clean(2)
    weak = replace(
        b,
        number=2,
        wheel=0.95 * b.wheel,
        channels={**b.channels, "exhaust_temp_1": b.channels["exhaust_temp_1"] + 30.0},
    )
    found = diagnose([a, weak]).suspicions
    assert found[0].name == "power falls, exhaust hotter"
    assert found[0].causes[0].startswith("timing late")
    early = replace(
        b,
        number=2,
        wheel=0.95 * b.wheel,
        channels={
            **b.channels,
            "exhaust_temp_1": b.channels["exhaust_temp_1"] - 30.0,
            "head_temp_1": b.channels["head_temp_1"] + 15.0,
        },
    )
    names = [s.name for s in diagnose([a, early]).suspicions]
    assert "power falls, exhaust cooler, head hotter" in names


@pytest.mark.parametrize("seed", range(20))
def test_any_channels__never_break_a_rule(seed):
    """Holes, flat lines, wild values: a rule may speak or not, but never falls over."""
    rng = np.random.default_rng(seed)
    p = clean(seed)
    channels = {}
    for role, x in p.channels.items():
        y = x.copy()
        how = rng.integers(0, 6)
        if how == 0:
            y[rng.random(y.size) < 0.4] = np.nan
        elif how == 1:
            y[:] = y[0]
        elif how == 2:
            y[rng.random(y.size) < 0.1] *= 50.0
        elif how == 3:
            y[:] = np.nan
        elif how == 4:
            continue
        channels[role] = y
    diagnose([replace(p, channels=channels), clean(seed)], limits_of(WREN))


def test_every_rule__has_words_for_what_it_needs():
    for rule, needs in RULES:
        assert needs, rule.__name__
        assert (rule.__doc__ or "").strip().endswith(".")
