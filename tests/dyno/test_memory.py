"""Guesses are shown, confirmed, remembered beside the log, and used again for that logger."""

from __future__ import annotations

import tomllib

import pytest

from spoolwright.dyno import read_log
from spoolwright.dyno.readers.report import as_json
from spoolwright.errors import BadInput

HEAD = "t,rpm,CHT,AN 3\n"
ROWS = "".join(f"{i / 10},{2600 + 20 * i},{341 + i},{i % 7}\n" for i in range(40))


@pytest.fixture
def log_file(tmp_path):
    path = tmp_path / "first.csv"
    path.write_text(HEAD + ROWS)
    return path


def test_guess_is_shown_with_its_reason(log_file):
    got = as_json(read_log(log_file))["columns"][2]
    assert got["guessed_unit"] == "degF"
    assert not got["confirmed"]
    assert "melted" in got["unit_in_file"]
    assert not list(log_file.parent.glob("*.toml"))  # reading alone writes nothing


def test_confirmation_is_remembered_beside_the_log(log_file):
    read_log(log_file, confirmed={"CHT": "head_temp_3 [degC]", 3: {"role": "crankcase_pressure", "unit": "mbar"}})
    data = tomllib.loads((log_file.parent / "first.csv.toml").read_text())
    assert data["log"] == "first.csv"
    assert [c["confirmed"] for c in data["columns"]] == [False, False, True, True]
    again = read_log(log_file)
    assert again.table["head_temp_3"][0] == 341.0
    assert again.table["crankcase_pressure"][1] == pytest.approx(0.1)
    assert again.columns[2].confirmed
    assert "first.csv.toml" in again.columns[2].reason


def test_same_logger_in_the_same_folder_is_known(log_file):
    read_log(log_file, confirmed={"CHT": "head_temp_3 [degC]"})
    second = log_file.with_name("second.csv")
    second.write_text(HEAD + ROWS)
    assert read_log(second).columns[2].role == "head_temp_3"
    other = log_file.with_name("other.csv")
    other.write_text(HEAD.replace("AN 3", "AN 4") + ROWS)
    assert read_log(other).columns[2].role == "head_temp_1"


def test_column_can_be_said_to_be_nothing(log_file):
    log = read_log(log_file, confirmed={"CHT": None})
    assert log.columns[2].role is None
    assert "CHT" in log.table.columns


def test_broken_memory_is_one_sentence(log_file):
    memory = log_file.parent / "first.csv.toml"
    memory.write_text("log = ")
    with pytest.raises(BadInput, match=r"first\.csv\.toml: cannot be read"):
        read_log(log_file)
    memory.write_text('log = "first.csv"\n[[columns]]\nname = "x"\n')
    with pytest.raises(BadInput, match="not those of the log"):
        read_log(log_file)


def test_user_comments_and_other_keys_do_no_harm(log_file):
    read_log(log_file, confirmed={"CHT": "head_temp_3 [degC]"})
    memory = log_file.parent / "first.csv.toml"
    memory.write_text("# my own note\nmine = 1\n" + memory.read_text())
    assert read_log(log_file).columns[2].role == "head_temp_3"
