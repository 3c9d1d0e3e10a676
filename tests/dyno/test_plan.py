"""The session plan: steps in order, one change each, the build's own limits, sign-offs in the logbook."""

from __future__ import annotations

import shutil
from datetime import date, timedelta

import pytest

from spoolwright.dyno.plan import plan, sign_off
from spoolwright.errors import BadInput
from spoolwright.sheet import demo_folder, load, logbook

WREN = load(demo_folder("wren"))


def test_stop_list__holds_the_build_s_own_limits():
    made = plan(WREN)
    told = {s.path: s.limit for s in made.stops if s.path}
    assert told["limits.max_head_temperature"] == "235 degC"
    assert told["limits.max_boost"] == "0.70 bar"
    assert told["limits.min_oil_pressure"] == "2.8 bar @ 4000 rpm"
    assert made.missing == ()
    hill = {s.path: s.limit for s in plan(load(demo_folder("wren"), "hill")).stops if s.path}
    assert hill["limits.max_boost"] == "1.05 bar"


def test_missing_limit__is_named_and_never_filled_in():
    made = plan(load(demo_folder("wren"), sets=["limits.max_oil_temperature=none"]))
    assert made.missing == ("limits.max_oil_temperature: oil temperature",)
    assert not any(s.path == "limits.max_oil_temperature" for s in made.stops)


def test_order__run_in_then_base_then_one_change_each_then_base():
    made = plan(WREN, ["main jet 1.55 to 1.60 mm", "spark 24 to 26 deg"])
    titles = [s.title for s in made.steps]
    assert titles.index("Leak-down after run-in") < titles.index("Base: 3 like pulls")
    assert [t for t in titles if t.startswith("Change")] == [
        "Change: main jet 1.55 to 1.60 mm",
        "Change: spark 24 to 26 deg",
    ]
    assert titles.index("Base again") == titles.index("Change: spark 24 to 26 deg") + 1
    assert [s.number for s in made.steps] == list(range(1, len(titles) + 1))
    text = " ".join(" ".join(s.do) for s in made.steps)
    assert "6000 rpm" in text  # the sheet's own highest speed
    assert "75 s" in text  # the full load it must hold


def test_unboosted_build__has_nothing_of_boost():
    made = plan(load(demo_folder("plover")))
    assert not made.boosted
    text = " ".join(s.what + s.act for s in made.stops) + " ".join(made.channels)
    assert "boost" not in text


def test_sign_offs__go_to_the_logbook_and_show(tmp_path):
    folder = tmp_path / "wren"
    shutil.copytree(demo_folder("wren"), folder)
    (folder / "logbook.jsonl").unlink(missing_ok=True)
    made = plan(WREN, folder=folder)
    assert made.next == 1
    first_start = next(s for s in made.steps if s.title == "First start")
    sign_off(folder, made, 1, "A. Maker")
    sign_off(folder, made, first_start.number, "B. Helper", "oil at 3 s, no leak", oil_pressure="4.1 bar")
    kinds = [e.kind for e in logbook.read(folder).entries]
    assert kinds == ["sign-off", "run-in step"]
    assert logbook.read(folder).entries[1].details["oil_pressure"] == "4.1 bar"
    again = plan(WREN, folder=folder)
    assert again.steps[0].signed.startswith("A. Maker")
    assert again.next == 2
    # On another day the run-in stays done, the looking over does not.
    later = plan(WREN, folder=folder, day=date.today() + timedelta(days=3))
    assert later.steps[0].signed == ""
    assert later.steps[first_start.number - 1].signed.startswith("B. Helper")
    assert plan(load(folder, "hill"), folder=folder).steps[0].signed == ""  # another variant is another engine


@pytest.mark.parametrize("change", ["jet and spark", "jet 1.6; spark 26", " ", "spring + fuel"])
def test_two_changes_at_once__are_refused(change):
    with pytest.raises(BadInput, match="one at a time"):
        plan(WREN, [change])


def test_too_few_repeats_or_unknown_step__is_one_sentence(tmp_path):
    with pytest.raises(BadInput, match="two are the least"):
        plan(WREN, repeats=1)
    with pytest.raises(BadInput, match="steps 1 to"):
        sign_off(tmp_path, plan(WREN), 99, "A. Maker")


def test_book_and_session__stop_at_the_same_limits():
    from spoolwright.book.limits import stop_list as in_the_book

    sheet = load(demo_folder("wren"), sets=["limits.max_charge_temperature=none"])
    made = plan(sheet)
    book = {one.path: one for one in in_the_book(sheet) if one.path}
    assert {s.path for s in made.stops if s.path} == {path for path, one in book.items() if not one.missing}
    assert all(s.limit in book[s.path].when for s in made.stops if s.path)
    assert made.missing == ("limits.max_charge_temperature: charge temperature",)
    assert book["limits.max_charge_temperature"].missing
