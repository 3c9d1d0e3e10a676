"""Axes of described charts: round ticks that cover the values, one grid for two scales."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spoolwright.charts.describe import axis, exact_axis, nice_step, paired_axes

NUMBERS = st.lists(st.floats(-1e6, 1e6).map(lambda v: round(v, 6)), min_size=1, max_size=20)


@pytest.mark.parametrize(
    ("span", "steps", "step"), [(10.0, 5, 2.0), (60.0, 7, 10.0), (0.9, 4, 0.25), (7.0, 7, 1.0), (430.0, 7, 100.0)]
)
def test_step__is_round_and_reaches(span: float, steps: int, step: float) -> None:
    assert nice_step(span, steps) == pytest.approx(step)


@given(NUMBERS)
def test_axis__covers_its_values_with_round_ticks(values: list[float]) -> None:
    made = axis("a", "u", values)
    reach = 1e-6 * max(abs(made.low), abs(made.high))
    assert made.low - reach <= min(values)
    assert max(values) <= made.high + reach
    assert 2 <= len(made.ticks) <= 10
    assert made.ticks[0] == made.low
    assert made.ticks[-1] == made.high


def test_axis_from_zero__begins_there() -> None:
    assert axis("torque", "N m", [43.0, 50.1], zero=True).low == 0.0


@given(NUMBERS, NUMBERS)
def test_paired_axes__share_one_grid_and_lose_no_value(first: list[float], second: list[float]) -> None:
    left, right = paired_axes(axis("a", "u", first, zero=True), axis("b", "v", second, zero=True))
    assert len(left.ticks) == len(right.ticks)
    for made, values in ((left, first), (right, second)):
        reach = 1e-6 * max(abs(made.low), abs(made.high))
        assert made.low - reach <= min(values)
        assert max(values) <= made.high + reach


def test_exact_axis__keeps_its_ends() -> None:
    made = exact_axis("crank angle", "deg", -120.0, 180.0, 30.0)
    assert (made.low, made.high) == (-120.0, 180.0)
    assert made.ticks[:2] == (-120.0, -90.0)
    assert made.ticks[-1] == 180.0
