"""Pulls from logs with holes: channels at their own rates, lost cells, lost rows."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from spoolwright.dyno import read_log
from spoolwright.dyno.reduce import with_words

RIG = {"stands_at": "flywheel", "corrected_by": "observed", "torque_spread": "1 %"}
STEP = 0.05


def _torque(rpm: float) -> float:
    return 150.0 + 40.0 * math.sin(rpm / 1500.0)


def _rows(count: int = 160) -> list[list[str]]:
    """A pull of 8 s from 2500 to 6500 rpm, torque by a known curve."""
    out = []
    for i in range(count):
        t = STEP * i
        rpm = 2500.0 + 500.0 * t
        lam = 1.0 - 0.02 * t + 0.004 * (i % 2)
        out.append([f"{t:.2f}", f"{rpm:.0f}", "100", f"{_torque(rpm):.2f}", f"{60 + 4 * t:.1f}", f"{lam:.3f}"])
    return out


def _reduce(rows: list[list[str]], tmp_path: Path, head: str = "Time [s],RPM,TPS [%],Torque [Nm],Boost [kPa],Lambda"):
    path = tmp_path / "pull.csv"
    path.write_text("\n".join([head, *(",".join(r) for r in rows)]) + "\n")
    return with_words(read_log(path), RIG, {})


def _holds(done, tol: float = 0.5) -> None:
    (pull,) = done.pulls
    speeds = np.arange(3000.0, 6001.0, 500.0)
    assert pull.over(pull.torque, speeds) == pytest.approx([_torque(n) for n in speeds], abs=tol)


def test_every_cell_there__nothing_is_said(tmp_path: Path) -> None:
    done = _reduce(_rows(), tmp_path)
    _holds(done)
    assert not [n for n in done.notes if "straight line" in n or "rows have no" in n]


@pytest.mark.parametrize("column", [0, 1, 3])
def test_single_lost_cells__do_not_cost_the_pull(tmp_path: Path, column: int) -> None:
    rows = _rows()
    for i in (40, 41, 90):
        rows[i][column] = "OFF"
    done = _reduce(rows, tmp_path)
    _holds(done)
    assert any("rows have no" in n or "straight line" in n for n in done.notes)


def test_lost_rows__are_said(tmp_path: Path) -> None:
    rows = _rows()
    del rows[60:62], rows[100:101]
    done = _reduce(rows, tmp_path)
    _holds(done)
    assert any("3 samples are missing" in n for n in done.pulls[0].notes)


def test_long_hole__still_parts_the_pull(tmp_path: Path) -> None:
    rows = _rows()
    del rows[70:90]
    assert len(_reduce(rows, tmp_path).pulls) == 2


def test_torque_at_a_fifth_of_the_rate__sets_the_rows(tmp_path: Path) -> None:
    rows = _rows()
    for i, row in enumerate(rows):
        if i % 5:
            row[3] = ""
    done = _reduce(rows, tmp_path)
    _holds(done)
    assert done.pulls[0].time.size == 32
    assert any("128 of 160 rows have no torque" in n for n in done.notes)
    assert done.log.rows == 160  # the log keeps its holes


def test_slow_boost__is_read_between_its_own_samples_and_that_is_said(tmp_path: Path) -> None:
    rows = _rows()
    for i, row in enumerate(rows):
        if i % 4:
            row[4] = ""
    done = _reduce(rows, tmp_path)
    boost = done.pulls[0].channels["boost_gauge"]
    assert np.isfinite(boost[:150]).all()
    assert done.pulls[0].over(boost, np.array([4500.0])) == pytest.approx([76.0], abs=0.2)
    assert any('"Boost [kPa]" has a value every 0.2 s' in n for n in done.notes)


def test_own_clocks_off_the_grid__are_brought_together_for_reducing(tmp_path: Path) -> None:
    """Torque every 0.07 s by its own clock, never at a row of the speed."""
    rows = []
    for i in range(160):
        t, own = STEP * i, 0.07 * i + 0.013
        rpm = 2500.0 + 500.0 * own
        beside = [f"{own:.3f}", f"{_torque(rpm):.2f}"] if own < 8.0 else ["", ""]
        rows.append([f"{t:.2f}", f"{2500.0 + 500.0 * t:.1f}", "100", *beside])
    done = _reduce(rows, tmp_path, "Time [s],RPM,TPS [%],Time [s],Torque [Nm]")
    _holds(done)
