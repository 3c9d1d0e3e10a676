"""What changed between two runs: values by what they mean, results at the same speed."""

from __future__ import annotations

import pytest
from pulls import point, pull_of, sheet_of

from spoolwright.findings.changed import results, side_by_side, values


def test_values__only_what_means_something_else() -> None:
    before = sheet_of("wren")
    after = sheet_of("wren", 'cylinders.stroke="6.9 cm"', 'wastegate.spring_rate="16 N/mm"', 'note="other words"')
    assert [(one.path, one.before, one.after) for one in values(before, after)] == [
        ("wastegate.spring_rate", "9.0 N/mm", "16 N/mm")
    ]


def test_values__tell_what_was_added_and_taken_away() -> None:
    before, after = sheet_of("wren"), sheet_of("wren", "cylinders.ratio_wanted=none")
    assert [(one.before, one.after) for one in values(before, after)] == [("7.5:1", "")]
    assert [(one.before, one.after) for one in values(after, before)] == [("", "7.5:1")]


def test_results__stand_at_one_speed_of_both() -> None:
    sheet = sheet_of()
    before = pull_of(sheet, point(2000, torque_Nm=100.0), point(3000, torque_Nm=110.0), point(5000, torque_Nm=90.0))
    after = pull_of(sheet, point(2000, torque_Nm=90.0), point(3000, torque_Nm=121.0), point(4000, torque_Nm=150.0))
    told = {(one.name, one.speed_rpm): one for one in results(before, after)}
    most = told["torque", 3000.0]  # 4000 was not run before, so most torque of both is at 3000
    assert (most.before, most.after) == (110.0, 121.0)
    assert most.share == pytest.approx(0.1)
    assert told["torque", 2000.0].share == pytest.approx(-0.1)


def test_results__temperatures_in_degrees_without_a_share() -> None:
    sheet = sheet_of()
    before, after = (pull_of(sheet, point(3000, primary_temperature_K=K)) for K in (1000.0, 1050.0))
    one = next(one for one in results(before, after) if one.unit == "°C")
    assert (one.before, one.after) == pytest.approx((726.85, 776.85))
    assert one.share is None


def test_results__none_where_no_speed_settled_in_both() -> None:
    sheet = sheet_of()
    assert results(pull_of(sheet, point(3000, "lost")), pull_of(sheet, point(3000))) == []


def test_side_by_side__every_speed_of_either_run_with_its_difference() -> None:
    sheet = sheet_of()
    before = pull_of(sheet, point(2000, torque_Nm=100.0, boost_kPa=20.0), point(3000, torque_Nm=110.0, boost_kPa=40.0))
    after = pull_of(sheet, point(3000, torque_Nm=121.0, boost_kPa=55.0), point(4000, "lost", torque_Nm=150.0))
    rows = dict(side_by_side(before, after))
    assert list(rows) == [2000.0, 3000.0, 4000.0]
    both = rows[3000.0]["torque_Nm"]
    assert (both.before, both.after, both.difference) == (110.0, 121.0, pytest.approx(11.0))
    assert rows[3000.0]["boost_kPa"].difference == pytest.approx(15.0)
    assert (rows[2000.0]["torque_Nm"].after, rows[2000.0]["torque_Nm"].difference) == (None, None)
    assert rows[4000.0]["torque_Nm"].after is None  # it did not settle: no result


def test_side_by_side__leaves_out_what_neither_run_has() -> None:
    sheet = sheet_of()
    (row,) = side_by_side(pull_of(sheet, point(3000)), pull_of(sheet, point(3000)))
    assert "boost_kPa" not in row[1]
    assert "torque_Nm" in row[1]
