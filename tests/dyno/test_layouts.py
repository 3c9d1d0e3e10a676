"""Tables that do not stand upright: own clocks side by side, on their side, slow channels with holes."""

from __future__ import annotations

import numpy as np
import pytest

from spoolwright.dyno.readers.reading import read_bytes
from spoolwright.dyno.readers.report import lines_for_people

T = np.round(0.1 * np.arange(40), 3)
SPEED = np.round(2500 + 60.0 * np.arange(40))
BOOST = np.round(1.7 * np.arange(40), 1)


def _read(lines: list[str]):
    return read_bytes(("\n".join(lines) + "\n").encode(), "pull.csv")


def test_blocks_with_own_clocks__are_laid_onto_one_and_nothing_is_interpolated() -> None:
    """Speed every 0.1 s, boost every 0.25 s beside it with its own clock in milliseconds, shorter by the end."""
    lines = ["Time [s],RPM,Time [ms],Boost [kPa]"]
    for i in range(40):
        slow = f"{250 * i},{BOOST[i]:.1f}" if i < 16 else ","
        lines.append(f"{T[i]:.1f},{SPEED[i]:.0f},{slow}")
    log = _read(lines)
    assert [c.role for c in log.columns] == ["time", "engine_speed", "boost_gauge"]
    got = {round(t, 6): (n, p) for t, n, p in log.table.select("time", "engine_speed", "boost_gauge").iter_rows()}
    want_speed = {float(t): float(n) for t, n in zip(T, SPEED, strict=True)}
    want_boost = {0.25 * i: float(BOOST[i]) for i in range(16)}
    assert set(got) == {round(t, 6) for t in {*want_speed, *want_boost}}
    for t, (n, p) in got.items():
        assert n == want_speed.get(t), t
        assert p == want_boost.get(t), t
    assert "channels_not_together" in log.flag_names
    assert any(r.what == "blocks laid onto one clock" for r in log.repairs)


def test_same_time_in_two_notations__is_one_clock() -> None:
    lines = ["Time [s],RPM,Time [ms],Boost [kPa]"]
    lines += [f"{T[i]:.1f},{SPEED[i]:.0f},{1000 * T[i]:.0f},{BOOST[i]:.1f}" for i in range(40)]
    log = _read(lines)
    assert log.table["boost_gauge"].to_list() == BOOST.tolist()
    assert log.columns[2].role is None
    assert "channels_not_together" not in log.flag_names


def test_two_readings_at_one_time_of_a_block__keep_the_first_and_list_the_second() -> None:
    lines = ["Time [s],RPM,Time [s],Boost [kPa]"]
    lines += [f"{T[i]:.1f},{SPEED[i]:.0f},{0.2 * (i - (i > 5)):.1f},{BOOST[i]:.1f}" for i in range(40)]
    log = _read(lines)
    at = log.table.filter(log.table["time"].round(6) == 1.0)
    assert at["boost_gauge"].to_list() == [BOOST[5]]
    assert any(r.what == "second reading left out" and r.line == 8 and r.before == f"{BOOST[6]:g}" for r in log.repairs)


@pytest.mark.parametrize("units", [False, True])
@pytest.mark.parametrize("comma", [False, True])
def test_table_on_its_side__is_turned(units: bool, comma: bool) -> None:
    between = ";" if comma else ","
    rows = [("Time", "s", T), ("RPM", "rpm", SPEED), ("Boost", "kPa", BOOST)]
    lines = []
    for name, unit, values in rows:
        cells = [f"{v:g}".replace(".", "," if comma else ".") for v in values]
        lines.append(between.join([name, *([unit] if units else []), *cells]))
    log = _read(lines)
    assert [c.role for c in log.columns] == ["time", "engine_speed", "boost_gauge"]
    assert log.table["engine_speed"].to_list() == SPEED.tolist()
    assert log.table["time"].to_list() == T.tolist()
    assert log.columns[2].guessed_unit == ("" if units else "kPa")
    assert "sideways" in log.flag_names


def test_slow_channel__has_one_line_in_the_report_not_hundreds() -> None:
    lines = ["Time [s],RPM,Boost [kPa]"]
    lines += [f"{0.01 * i:.2f},{2500 + i},{i / 10 if i % 10 == 0 else ''}" for i in range(1000)]
    log = _read(lines)
    assert log.missing_cells == 900
    (line,) = [r for r in log.repairs if r.what == "no value"]
    assert (line.line, line.last_line, line.count) == (3, 1001, 900)
    assert len(lines_for_people(log)) < 15


def test_few_empty_cells__are_named_one_by_one() -> None:
    lines = ["Time [s],RPM,Boost [kPa]"]
    lines += [f"{0.1 * i:.1f},{2500 + i},{'' if i in (7, 20) else i / 10}" for i in range(40)]
    log = _read(lines)
    assert [r.line for r in log.repairs if r.what == "no value"] == [9, 22]


def test_decimal_comma_with_comma_and_blank_between__is_cut_at_the_blank() -> None:
    lines = ["Time, RPM, Boost, Lambda"]
    lines += [
        f"{T[i]:.1f}; {SPEED[i]:.0f}; {BOOST[i]:.1f}; 0.87".replace(".", ",").replace(";", ",") for i in range(40)
    ]
    log = _read(lines)
    assert log.dialect.decimal == ","
    assert log.table["boost_gauge"].to_list() == pytest.approx((100.0 * BOOST / 100.0).tolist())
    assert log.table["engine_speed"].to_list() == SPEED.tolist()


def test_comma_as_decimal_sign_and_separator__is_said() -> None:
    lines = ["Time,RPM,Boost,Lambda"]
    lines += [f"{T[i]:.1f};{SPEED[i]:.0f};{BOOST[i]:.1f};0.87".replace(".", ",").replace(";", ",") for i in range(40)]
    log = _read(lines)
    assert "comma_twice" in log.flag_names
    assert all(c.role in (None, "time") for c in log.columns)  # nothing is made of cells cut in the wrong place
