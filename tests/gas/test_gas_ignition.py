"""Ignition delays: the correlation's printed value, exact table, tables from elsewhere."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spoolwright.errors import BadInput
from spoolwright.gas.ignition import delay_inside, douaud_eyzat, ignition_table, ln_delay, table_from_delays


@pytest.mark.parametrize(("octane", "milliseconds"), [(100.0, 3.8626), (95.0, 3.2441)])
def test_delay__worked_values(octane: float, milliseconds: float) -> None:
    """40 atm, 800 K by hand from SAE 780080 (constants from memory): exp(4.75) 40^-1.7 17.68 ms."""
    assert 1e3 * douaud_eyzat(octane, 40 * 101325.0, 800.0) == pytest.approx(milliseconds, rel=1e-4)


@settings(deadline=None)  # the first call compiles
@given(
    octane=st.floats(60.0, 130.0),
    p=st.floats(1e4, 3e7),
    T=st.floats(290.0, 2500.0),
    phi=st.floats(0.4, 2.0),
    residual=st.floats(0.0, 0.6),
)
def test_table__gives_the_correlation_back(octane: float, p: float, T: float, phi: float, residual: float) -> None:
    value = ln_delay(ignition_table(octane), log(p), T, phi, residual)
    assert value == pytest.approx(log(douaud_eyzat(octane, p, T)), abs=1e-10)


def made_up(p, T, phi, residual):  # type: ignore[no-untyped-def]
    """A delay that bends in nothing but products of the four coordinates: the table must be exact."""
    return np.exp(-3.0 + 2.0 * np.log(p / 1e6) * (1000.0 / T - 1.0) + 0.3 * phi * residual - 0.2 * phi)


@pytest.mark.parametrize("rising", [True, False])
def test_table_from_delays__between_its_nodes(rising: bool) -> None:
    p, phi, residual = np.array([5e5, 2e6, 9e6]), np.array([0.6, 1.0, 1.6]), np.array([0.0, 0.1, 0.4])
    T = np.array([600.0, 700.0, 900.0, 1200.0])[:: 1 if rising else -1]
    grid = np.meshgrid(p, T, phi, residual, indexing="ij")
    table = table_from_delays(p, T, phi, residual, made_up(*grid))
    random = np.random.default_rng(2)
    for _ in range(50):
        state = (
            random.uniform(5e5, 9e6),
            random.uniform(600, 1200),
            random.uniform(0.6, 1.6),
            random.uniform(0, 0.4),
        )
        value = ln_delay(table, log(state[0]), *state[1:])
        assert exp(value) == pytest.approx(float(made_up(*state)), rel=1e-10)
        assert delay_inside(table, log(state[0]), *state[1:])
    assert not delay_inside(table, log(5e5), 599.0, 1.0, 0.1)
    assert not delay_inside(table, log(1e7), 800.0, 1.0, 0.1)
    assert not delay_inside(table, log(5e6), 800.0, 1.7, 0.1)
    assert not delay_inside(table, log(5e6), 800.0, 1.0, 0.5)


def test_table_from_delays__one_node_holds_everywhere() -> None:
    tau = douaud_eyzat(95.0, np.array([1e5, 1e7])[:, None], np.array([1500.0, 500.0])[None, :])
    table = table_from_delays([1e5, 1e7], [1500.0, 500.0], 1.0, 0.0, tau[:, :, None, None])
    assert exp(ln_delay(table, log(4e6), 800.0, 1.4, 0.2)) == pytest.approx(float(douaud_eyzat(95.0, 4e6, 800.0)))
    assert delay_inside(table, log(4e6), 800.0, 1.4, 0.2)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (([1e5, 1e6], [800.0], [1.0], [0.0], [[[[1.0]]]]), "shape"),
        (([1e5, 1e6], [800.0], [1.0], [0.0], [[[[1.0]]], [[[-1.0]]]]), "positive and finite"),
        (([1e6, 1e5], [800.0], [1.0], [0.0], [[[[1.0]]], [[[1.0]]]]), "axis p must be finite and in order"),
        (([1e5, 1e5], [800.0], [1.0], [0.0], [[[[1.0]]], [[[1.0]]]]), "without repeats"),
    ],
)
def test_table_from_delays__bad_tables_in_one_sentence(arguments, sentence: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadInput, match=sentence):
        table_from_delays(*arguments)


def test_octane_outside__one_sentence() -> None:
    with pytest.raises(BadInput, match=r"octane number 9\.5 is outside 60\.\.130"):
        ignition_table(9.5)
