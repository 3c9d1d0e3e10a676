"""Candidate files: written like variants, combined, and refused in one sentence."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from spoolwright.errors import BadInput
from spoolwright.match.candidates import all_candidates, from_folder, own
from spoolwright.sheet import Sheet, demo_folder, load
from spoolwright.sheet.faults import SheetFaults

WHEEL = """
[charge.compressor]
wheel_outlet = "48.0 mm"
speed_limit = "190000 rpm"
"""
HOUSING = """
[turbine]
wheel_inlet = "46.0 mm"
wheel_outlet = "40.0 mm"
"""


@pytest.fixture
def build(tmp_path: Path) -> Path:
    shutil.copytree(demo_folder("wren"), tmp_path / "wren")
    (tmp_path / "wren" / "candidates").mkdir()
    return tmp_path / "wren"


def written(build: Path, **files: str) -> Sheet:
    for name, text in files.items():
        (build / "candidates" / f"{name}.toml").write_text(text)
    return load(build)


def test_files__compressors_meet_turbines(build: Path) -> None:
    sheet = written(build, k48=WHEEL, h46=HOUSING, both=WHEEL.replace("48", "54") + HOUSING)
    found = from_folder(sheet, build / "candidates")
    assert sorted(one.name for one in found) == ["both", "k48", "k48 with h46", "own with h46"]
    by = {one.name: one for one in found}
    assert by["k48"].wheel == pytest.approx(0.048)
    assert by["both"].wheel == pytest.approx(0.054)
    assert by["own with h46"].wheel == own(sheet).wheel
    assert by["k48"].speed_limit == pytest.approx(190000 * 3.141592653589793 / 30)
    assert all(one.origin == "file" and one.sheet is not None for one in found)


def test_build_folder__is_looked_into_and_own_comes_first(build: Path) -> None:
    sheet = written(build, k48=WHEEL)
    names = [one.name for one in all_candidates(sheet, None, 1.0, False, own(sheet))]
    assert names == ["wren's own", "k48"]
    assert len(all_candidates(sheet, None, 1.0, True, own(sheet))) == 202


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("[charge.compressor\n", "k.toml: it is not TOML"),
        ('[wastegate]\nspring_rate = "9 N/mm"\n', "neither \\[charge.compressor\\] nor \\[turbine\\]"),
        ('[charge.compressor]\nmap = "candidates/none.csv"\n', "candidates/none.csv"),
        ('[charge.compressor]\nwheel_outlet = "48 furlong"\n', "k.toml:2 .*furlong"),
        ('[turbine]\nwheel_outlett = "48 mm"\n', "k.toml:2 .*wheel_outlet"),
    ],
)
def test_bad_files__one_sentence_with_the_file(build: Path, text: str, word: str) -> None:
    sheet = written(build, k=text)
    with pytest.raises((BadInput, SheetFaults), match=word) as told:
        from_folder(sheet, build / "candidates")
    assert str(told.value).count("\n") == 0 or "Checks across" in str(told.value)


def test_unreadable_table__names_file_and_line(build: Path) -> None:
    (build / "candidates" / "k.csv").write_text(
        "speed [rpm],flow [kg/s],pressure_ratio,efficiency\n60000,0.02,what,0.7\n"
    )
    sheet = written(build, k='[charge.compressor]\nmap = "candidates/k.csv"\n')
    with pytest.raises(BadInput, match=r"candidates/k.csv:2.*what"):
        from_folder(sheet, build / "candidates")


def test_folders__missing_or_empty(build: Path) -> None:
    sheet = load(build)
    with pytest.raises(BadInput, match="there is no such folder"):
        from_folder(sheet, build / "nowhere")
    with pytest.raises(BadInput, match="no candidate file"):
        from_folder(sheet, build / "candidates")


def test_build_without_a_turbo__is_asked_for_one() -> None:
    with pytest.raises(BadInput, match="plover has no \\[charge\\] section"):
        own(load(demo_folder("plover")))
