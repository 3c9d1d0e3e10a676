"""The six invented logs, read exactly as the file beside each says."""

from __future__ import annotations

import json
from pathlib import Path

import polars as pl
import pytest

from spoolwright.dyno import read_log
from spoolwright.dyno.readers.report import as_json, write_clean

LOGS = Path(__file__).parent / "logs"
NAMES = sorted(p.stem for p in LOGS.glob("c*.csv"))


def _case(name: str) -> tuple[Path, dict]:
    return LOGS / f"{name}.csv", json.loads((LOGS / f"{name}.expected.json").read_text(encoding="utf-8"))


def test_all_six_are_here():
    assert len(NAMES) == 6


@pytest.mark.parametrize("name", NAMES)
def test_log_is_read_as_expected(name):
    path, expected = _case(name)
    log = read_log(path)
    got = as_json(log)
    assert len(got["columns"]) == len(expected["columns"])
    for column, want in zip(got["columns"], expected["columns"], strict=True):
        assert (column["index"], column["name"], column["role"], column["unit_wanted"]) == (
            want["index"],
            want["name"],
            want["role"],
            want["unit_wanted"],
        )
        unit = want["unit_in_file"]
        # The sentence behind a guess may name this column's own range; the guess itself may not differ.
        guess = unit.split(" fits")[0]
        assert column["unit_in_file"] == unit or (
            " fits" in unit and column["unit_in_file"].startswith(guess + " fits")
        )
    assert [(s["rows"], s["time_first"], s["time_last"]) for s in got["segments"]] == [
        (s["rows"], pytest.approx(s["time_first"], abs=1e-9), pytest.approx(s["time_last"], abs=1e-9))
        for s in expected["segments"]
    ]
    assert set(got["flags"]) == set(expected["flags"])
    for key in ("rows", "missing_cells", "suspect_cells", "rows_in_file", "sample_step_s", "meta"):
        if key in expected:
            assert got[key] == expected[key], key
    for key in ("delimiter", "decimal", "thousands", "line_ends", "header_lines", "unit_lines", "first_data_line",
                "repeated_header_lines", "remark_lines", "footer_lines", "empty_trailing_column"):  # fmt: skip
        if key in expected:
            assert got["dialect"][key] == expected[key], key
    # Pure ASCII is the same text in either encoding.
    assert got["dialect"]["encoding"] == expected["encoding"].replace("ascii", "utf-8")
    gaps = [{k: g[k] for k in ("after", "before", "samples_lost")} for g in got["gaps"]]
    assert gaps == expected.get("gaps", [])


@pytest.mark.parametrize("name", NAMES)
def test_values_in_table_and_clean_file(name, tmp_path):
    path, expected = _case(name)
    log = read_log(path)
    clean = pl.read_csv(write_clean(log, tmp_path / "clean.csv"))
    assert clean.columns[0] == "segment"
    assert clean.height == expected["rows"]
    for want in expected["values"]:
        role, unit = want["role"], want["unit"]
        if role.endswith("_raw"):
            role, unit = role.removesuffix("_raw"), "degC"
            want = {**want, "value": (want["value"] - 32.0) / 1.8, "tol": 1e-6}
        got = clean.filter(pl.col("segment") == want["segment"])[f"{role} [{unit}]"][want["row"]]
        if want["value"] is None:
            assert got is None, want
        else:
            assert got == pytest.approx(want["value"], abs=want["tol"]), want


def test_parquet_holds_the_same(tmp_path):
    path, _ = _case(NAMES[1])
    log = read_log(path)
    a = pl.read_csv(write_clean(log, tmp_path / "clean.csv"))
    b = pl.read_parquet(write_clean(log, tmp_path / "clean.parquet"))
    assert a.columns == b.columns
    assert a.equals(b)


def test_restart_is_two_pulls_and_head_three_hottest():
    log = read_log(LOGS / "c2_restart_two_header_rows.csv")
    assert log.table["segment"].to_list() == [0] * 40 + [1] * 35
    assert any("head 3 is the hottest" in text for text in log.observations)


def test_words_are_listed_with_line_and_column():
    log = read_log(LOGS / "c3_minutes_text_trailing.csv")
    listed = {(r.line, r.column, r.before) for r in log.repairs if r.what == "no value"}
    for place in (
        (9, "AFR", "OFF"),
        (10, "AFR", "OFF"),
        (21, "Head 2 (F)", "ERR"),
        (22, "Head 2 (F)", "---"),
        (33, "Oil P (psi)", "LOW"),
    ):
        assert place in listed
    assert (42, "MAP (kPa)", "") in listed
    assert log.table["remark"][24] == "pinging?, number 3"


def test_double_reading_is_reported_with_both_values():
    log = read_log(LOGS / "c5_mixed_ends_duplicate_names.csv")
    said = [f.sentence for f in log.flags if f.name == "conflicting_rows"]
    assert len(said) == 1
    assert "5699" in said[0]
    assert "5736" in said[0]
    assert any(r.what == "row moved" for r in log.repairs)
    assert any(reason.startswith("duplicate") for _, reason in log.dropped)
    assert [q for q in as_json(log)["questions"] if "CHT" in q["question"]]


def test_dead_sensors_are_left_out_and_listed():
    log = read_log(LOGS / "c6_quoted_markers_footer.csv")
    assert log.table["afr"].null_count() == 12
    assert log.table["head_temp_3"].null_count() == 48
    assert log.table["head_temp_2"].null_count() == 0  # stuck: marked, kept
    assert any("fuel pressure over boost falls from 44.8 kPa to 30" in text for text in log.observations)
    assert [r.text for r in log.remarks] == ["// marker: second try, timing back 2", "// marker"]
