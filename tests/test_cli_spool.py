"""``spoolwright spool`` as its user meets it; what runs the engine is slow: it compiles first."""

from __future__ import annotations

import json

import pytest

from spoolwright.engine.spool import Moment, Spool, cautions
from spoolwright.sheet import load
from spoolwright.sheet.demo import demo_folder

WREN, PLOVER = (str(demo_folder(name)) for name in ("wren", "plover"))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((PLOVER, "--rpm", "3000"), "plover has no turbocharger, so there is no boost to wait for"),
        ((WREN, "--rpm", "0"), "speed 0 rpm is outside 300 to 20000 rpm"),
        ((WREN, "--rpm", "3000", "--from", "90 %"), "opening of 90 % before the step is outside 0.5 to 50 %"),
        ((WREN, "--rpm", "3000", "--from", "wide"), "--from: "),
        ((WREN, "--rpm", "3000", "--inertia", "2 kg"), "--inertia: "),
        ((WREN, "--rpm", "3000", "--inertia", "0 kg m2"), "inertia of 0 kg m2 at the crank is outside 0.001 to 1000"),
        ((WREN, "--rpm", "3000", "--seconds", "0"), "a time of 0 s to watch is outside 0.1 to 60 s"),
    ],
)
def test_spool__refuses_in_one_sentence(run, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    code, out, err = run("spool", *words)
    assert code == 2
    assert said in err
    assert len(err.splitlines()) == 1
    assert out == ""


@pytest.mark.slow
def test_spool__tells_the_time_and_the_way_there(run) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = run("spool", WREN, "--rpm", "3500", "--json")
    assert code == 0
    told = json.loads(out)
    target, start, time = told["target_boost_kPa"], told["start_boost_kPa"], told["time_to_90_s"]
    assert start < 0.0 < target
    before = [m for m in told["moments"] if m["time_s"] < time]
    assert before[-1]["boost_kPa"] < 0.9 * target < told["moments"][len(before)]["boost_kPa"]
    assert told["moments"][-1]["boost_kPa"] == pytest.approx(target, rel=6e-3)
    assert told["trouble"] == ""


@pytest.mark.slow
def test_spool__says_when_it_did_not_get_there(run) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = run("spool", WREN, "--rpm", "2500", "--seconds", "0.2")
    assert code == 0
    assert "Mind: 90 % of" in " ".join(out.split())
    assert "was not reached in" in " ".join(out.split())


def test_cautions__name_surge_and_a_shaft_beyond_its_limit() -> None:
    sheet = load(demo_folder("wren"))
    limit = sheet.value("charge.compressor.speed_limit") * 30.0 / 3.141592653589793
    rows = [
        Moment(0.1, 3000.0, 0.0, 0.5 * limit, 0.0, 0.0, 0.0),
        Moment(0.2, 3000.0, 20.0, 0.8 * limit, 0.0, 0.0, 0.3),
        Moment(0.3, 3000.0, 50.0, 1.1 * limit, 0.0, 0.0, 0.0),
    ]
    made = Spool("x", None, 3000.0, 0.05, None, 50.0, -60.0, 0.25, rows)
    surge, speed = cautions(made, sheet)
    assert "from 0.20 to 0.20 s its gas runs backwards, up to 30 % of a cycle" in surge
    assert f"passes its limit of {limit:.0f} rpm: {1.1 * limit:.0f} rpm" in speed
