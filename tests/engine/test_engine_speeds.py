"""Speeds of a pull from text, each slip told in one sentence; columns and tables from hand-made points."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pulls import point, pull_of, sheet_of

from spoolwright.engine.columns import COLUMNS
from spoolwright.engine.speeds import MOST_POINTS, check_speeds, read_speeds, usual_speeds
from spoolwright.engine.table import table
from spoolwright.errors import BadInput


@pytest.mark.parametrize(
    ("text", "speeds"),
    [
        ("2000:4000:1000", [2000, 3000, 4000]),
        (" 2000 : 4000 : 1000 rpm", [2000, 3000, 4000]),
        ("2000:3500:1000", [2000, 3000, 3500]),  # the last speed is always run
        ("2000:2000:100", [2000]),
        ("2000,3500", [2000, 3500]),
        ("5000,2000,2000", [2000, 5000]),
        ("3000", [3000]),
        ("2500.5", [2500.5]),
    ],
)
def test_speeds__are_read_rising_and_once(text: str, speeds: list[float]) -> None:
    assert read_speeds(text) == speeds


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0", "speed 0 rpm is outside 300 to 20000 rpm"),
        ("100000", "speed 100000 rpm is outside 300 to 20000 rpm"),
        ("0:5000:1000", "speed 0 rpm is outside"),
        ("2000:100000:1000", "speed 100000 rpm is outside"),
        ("-3000", "speed -3000 rpm is outside"),
        ("nan", "speed nan rpm is outside"),
        ("inf", "speed inf rpm is outside"),
        ("6000:2000:500", "it runs backwards from 6000 to 2000; write the lower speed first"),
        ("2000:6000:0", "the step is 0, it must be above 0"),
        ("2000:6000:-500", "the step is -500, it must be above 0"),
        ("2000:6000:nan", "the step is nan, it must be above 0"),
        ("2000:6000:1", "4001 speeds are too many, 200 at most; write a larger step"),
        (",".join(str(1000 + n) for n in range(201)), "201 speeds are too many, 200 at most; write fewer of them"),
        ("2000:6000", "2 numbers stand between the colons, three are needed"),
        ("2000:3000:4000:5000", "4 numbers stand between the colons, three are needed"),
        ("fast", '"fast" is not a number; write for example 2000:7000:250'),
        ("", '"" is not a number'),
        ("2000,", '"" is not a number'),
        ("2,500", "a comma parts the speeds of a list; write thousands without a mark"),
    ],
)
def test_slip__is_told_in_one_sentence(text: str, said: str) -> None:
    with pytest.raises(BadInput) as told:
        read_speeds(text)
    assert said in str(told.value)
    assert "\n" not in str(told.value)


@given(st.text(max_size=30))
def test_any_text__gives_speeds_or_a_sentence(text: str) -> None:
    try:
        speeds = read_speeds(text)
    except BadInput:
        return
    assert 1 <= len(speeds) <= MOST_POINTS
    check_speeds(speeds)
    assert speeds == sorted(set(speeds))


def test_no_speed__is_refused() -> None:
    with pytest.raises(BadInput, match="no speed is given"):
        check_speeds([])


@pytest.mark.parametrize("top", ["200 rpm", "2600 rpm", "6000 rpm", "6200 rpm", "9500 rpm", "19000 rpm"])
def test_usual_speeds__reach_the_top_speed_in_about_ten_steps(top: str) -> None:
    sheet = sheet_of("plover", f"limits.max_speed={top}")
    wanted = float(top.split()[0])
    if wanted < 300.0:
        with pytest.raises(BadInput, match="outside 300 to 20000"):
            usual_speeds(sheet)
        return
    speeds = usual_speeds(sheet)
    assert speeds[-1] == wanted
    assert 5 <= len(speeds) <= 13
    assert speeds[0] <= 0.5 * wanted


def test_titles__are_words_without_the_unit() -> None:
    assert COLUMNS["torque_Nm"].title == "torque"
    assert COLUMNS["spark_deg_btdc"].title == "spark"
    assert COLUMNS["volumetric_efficiency"].title == "volumetric efficiency"
    assert all("_" not in column.title and column.title for column in COLUMNS.values())


def test_table__has_every_column_of_the_registry_with_its_kind() -> None:
    sheet = sheet_of()
    rows = table(pull_of(sheet, point(2000, torque_Nm=101.5), point(3000, "did not settle")))
    assert rows.columns == list(COLUMNS)
    assert rows["torque_Nm"].to_list() == [101.5, 110.0]
    assert rows["converged"].to_list() == [True, False]
    assert rows["turbo_speed_rpm"].null_count() == 2
    assert str(rows["turbo_speed_rpm"].dtype) == "Float64"
    assert str(rows["cycles"].dtype) == "Int64"
