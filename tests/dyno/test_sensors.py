"""Dead sensors told from engine faults.

Type-K end of range 1372 degC: IEC 60584-1:2013, table for type K (-270 to 1372 degC), from memory.
Free air at 20.9: oxygen in dry air is 20.95 % by volume (ISO 2533:1975); a display in air-fuel ratio shows 20.9 by
common practice, no source.
"""

from __future__ import annotations

import math

from dyno_messers import NAMES, cells, style, write

from spoolwright.dyno.readers.reading import read_bytes


def read(text: str):
    return read_bytes(text.encode(), "pull.csv")


def pull(changes, names=NAMES, units=("s", "rpm", "kPa", "-", "C", "C", "C")):
    rows = cells(style())
    for i, row in enumerate(rows):
        for column, show in changes.items():
            row[column] = show(i, row[column])
    return read(write(style(names=names, units=units), rows))


def test_free_air_first_and_open_thermocouple_throughout():
    names = ("Time", "RPM", "Boost", "AFR", "Oil Temp", "CHT 3", "CHT 2")
    log = pull({3: lambda i, c: "20.9" if i < 8 else f"{14.7 * float(c):.2f}", 5: lambda i, c: "1372"}, names)
    assert {"sensor_not_ready", "open_thermocouple"} <= set(log.flag_names)
    assert log.suspect_cells == {"afr": 8, "head_temp_3": 60}
    assert log.table["afr"].null_count() == 8
    assert log.table["head_temp_3"].null_count() == 60
    assert 11.0 < log.table["afr"].mean() < 14.5  # the average leaves free air out
    left_out = [(r.column, r.count) for r in log.repairs if r.what == "dead sensor left out"]
    assert left_out == [("AFR", 8), ("CHT 3", 60)]
    assert log.missing_cells == 0


def test_loose_thermocouple_loses_only_its_open_rows():
    log = pull({6: lambda i, c: "1372" if i in (10, 11, 30) else c})
    assert log.suspect_cells == {"head_temp_2": 3}
    assert log.table["head_temp_2"].null_count() == 3


def test_open_end_in_fahrenheit():
    log = pull(
        {6: lambda i, c: "2501.6" if 5 < i < 20 else f"{float(c) * 1.8 + 32:.1f}"},
        units=("s", "rpm", "kPa", "-", "C", "C", "F"),
    )
    assert log.suspect_cells == {"head_temp_2": 14}


def test_hot_exhaust_is_an_engine_fault_not_a_dead_sensor():
    names = ("Time", "RPM", "Boost", "Lambda", "Oil Temp", "EGT 1", "EGT 2")
    log = pull({5: lambda i, c: f"{900 + 4 * i}", 6: lambda i, c: f"{850 + 3 * i}"}, names)
    assert not log.suspect_cells
    assert log.table["exhaust_temp_1"].max() == 1136.0


def test_lean_mixture_is_an_engine_fault_not_a_dead_sensor():
    names = ("Time", "RPM", "Boost", "AFR", "Oil Temp", "CHT 1", "CHT 2")
    log = pull({3: lambda i, c: f"{12.0 + (0.2 * (i - 40) if i > 40 else 0):.2f}"}, names)
    assert "sensor_not_ready" not in log.flag_names
    assert log.table["afr"].null_count() == 0


def test_cold_lambda_sensor_holds_one_lean_value_first():
    log = pull({3: lambda i, c: "1.990" if i < 10 else c})
    assert log.suspect_cells == {"lambda": 10}


def test_stuck_head_among_moving_heads():
    log = pull({6: lambda i, c: "163.0"})
    assert log.flag_names == ["stuck_sensor"]
    assert log.suspect_cells == {"head_temp_2": 60}
    assert log.table["head_temp_2"].null_count() == 0


def test_head_that_freezes_half_way():
    log = pull({6: lambda i, c: c if i < 25 else "170.0"})
    assert "stuck_sensor" in log.flag_names
    assert log.suspect_cells["head_temp_2"] >= 35


def test_steady_oil_and_flat_boost_are_no_faults():
    log = pull({4: lambda i, c: "92.0", 2: lambda i, c: f"{min(84.6, float(c)):.1f}"})
    assert log.flag_names == []


def test_clipped_channel_is_marked_and_kept():
    names = ("Time", "RPM", "MAP", "Lambda", "Oil Temp", "CHT 1", "CHT 2")
    log = pull(
        {2: lambda i, c: f"{min(250.0, 100 + 2.9 * max(0, i - 5) + 0.2 * math.sin(i)):.1f}" if i < 56 else "250.0"},
        names,
    )
    assert "clipped_sensor" not in log.flag_names  # it only just gets there
    log = pull({2: lambda i, c: f"{min(200.0, 100 + 3.1 * max(0, i - 5) + 0.2 * math.sin(i)):.1f}"}, names)
    assert "clipped_sensor" in log.flag_names
    assert log.table["manifold_abs"].null_count() == 0


def test_lower_end_of_a_resistance_sensor():
    log = pull({4: lambda i, c: "-40"})
    assert "open_sensor" in log.flag_names
    assert log.table["oil_temp"].null_count() == 60
