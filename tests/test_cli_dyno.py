"""The dyno commands as their user meets them."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from spoolwright.cli import app
from spoolwright.errors import BadInput, BadLog

LOGS = Path(__file__).parent / "dyno" / "logs"


def test_read__prints_segments_and_repairs(tmp_path: Path) -> None:
    log = shutil.copy(LOGS / "c2_restart_two_header_rows.csv", tmp_path)
    done = CliRunner().invoke(app, ["dyno", "read", str(log)])
    assert done.exit_code == 0, done.output
    assert "75 rows in 2 segments" in done.output
    assert "header again" in done.output


def test_read__json_and_clean_table(tmp_path: Path) -> None:
    log = shutil.copy(LOGS / "c4_utf16_tabs.csv", tmp_path)
    out = tmp_path / "clean.csv"
    done = CliRunner().invoke(app, ["dyno", "read", str(log), "--out", str(out), "--json"])
    assert done.exit_code == 0, done.output
    data = json.loads(done.output)
    assert {"file", "dialect", "columns", "segments", "repairs", "rows"} <= set(data)
    assert {"index", "name", "role", "unit_in_file"} <= set(data["columns"][0])
    assert out.read_text(encoding="utf-8").splitlines()[0].startswith("segment")
    assert len(out.read_text(encoding="utf-8").splitlines()) == data["rows"] + 1


def test_read__confirmed_column_is_remembered(tmp_path: Path) -> None:
    log = shutil.copy(LOGS / "c2_restart_two_header_rows.csv", tmp_path)
    done = CliRunner().invoke(app, ["dyno", "read", str(log), "--column", "Engine Load=load [%]", "--json"])
    assert done.exit_code == 0, done.output
    again = json.loads(CliRunner().invoke(app, ["dyno", "read", str(log), "--json"]).output)
    assert [c["role"] for c in again["columns"] if c["name"] == "Engine Load"] == ["load"]


@pytest.mark.parametrize(("words", "kind"), [([], BadLog), (["--column", "CHT"], BadInput)])
def test_read__faults_are_one_sentence(tmp_path: Path, words: list[str], kind: type[Exception]) -> None:
    done = CliRunner().invoke(app, ["dyno", "read", str(tmp_path), *words])
    assert isinstance(done.exception, kind)
    assert "\n" not in str(done.exception)
