"""Edits of one value: on disk at once, never over somebody else's, undone to the letter."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from spoolwright.sheet import edits, load
from spoolwright.sheet.edits import Overtaken, make, redo, standing


def _text(build: Any) -> str:
    return str(build.sheet.read_text())


def test_edit__is_on_disk_when_it_returns_and_undone_to_the_letter(wren: Any) -> None:
    before = _text(wren)
    edit = make(wren.folder, "build.toml", "cylinders.stroke", "2.72 in", "69.0 mm")
    assert 'stroke = "2.72 in"' in _text(wren)
    redo(wren.folder, edit.back)
    assert _text(wren) == before


def test_edit_of_one_cylinder__leaves_the_others_as_they_stand(wren: Any) -> None:
    make(wren.folder, "build.toml", "cylinders.deck[3]", "36 thou", "0.94 mm ± 0.02")
    assert [q.text for q in load(wren.folder).quantities("cylinders.deck")] == [
        "0.92 mm ± 0.02", "0.90 mm ± 0.02", "36 thou", "0.91 mm ± 0.02",
    ]  # fmt: skip


def test_edit_of_one_cylinder__where_one_value_stood_for_all_and_back(wren: Any) -> None:
    before = load(wren.folder).digest
    edit = make(wren.folder, "build.toml", "cylinders.dish[3]", "3.9 cc", "4.0 cc ± 0.2")
    assert [q.text for q in load(wren.folder).quantities("cylinders.dish")].count("3.9 cc") == 1
    redo(wren.folder, edit.back)
    assert load(wren.folder).digest == before


def test_two_editors__of_different_values_both_keep_theirs(wren: Any) -> None:
    make(wren.folder, "build.toml", "cylinders.stroke", "70.0 mm", "69.0 mm")
    make(wren.folder, "build.toml", "cylinders.rod_length", "129.0 mm", "128.0 mm")
    assert 'stroke = "70.0 mm"' in _text(wren)
    assert 'rod_length = "129.0 mm"' in _text(wren)


def test_two_editors__of_the_same_value_the_second_is_told(wren: Any) -> None:
    make(wren.folder, "build.toml", "cylinders.stroke", "70.0 mm", "69.0 mm")
    after_first = _text(wren)
    with pytest.raises(Overtaken, match=r"changed elsewhere to 70.0 mm meanwhile; yours is 71.0 mm"):
        make(wren.folder, "build.toml", "cylinders.stroke", "71.0 mm", "69.0 mm")
    assert _text(wren) == after_first


def test_undo__of_a_value_changed_since_is_refused(wren: Any) -> None:
    edit = make(wren.folder, "build.toml", "cylinders.stroke", "70.0 mm", "69.0 mm")
    make(wren.folder, "build.toml", "cylinders.stroke", "72.0 mm", "70.0 mm")
    with pytest.raises(Overtaken):
        redo(wren.folder, edit.back)
    assert 'stroke = "72.0 mm"' in _text(wren)


def test_a_value_taken_away_comes_back(wren: Any) -> None:
    before = load(wren.folder).digest
    edit = make(wren.folder, "build.toml", "cylinders.ratio_wanted", None, "7.5:1")
    assert not load(wren.folder).has("cylinders.ratio_wanted")
    redo(wren.folder, edit.back)
    assert load(wren.folder).digest == before


def test_file_of__is_the_variant_where_the_variant_says_it(wren: Any) -> None:
    hill = load(wren.folder, "hill")
    assert edits.file_of(hill, "spark.advance") == "variants/hill.toml"
    assert edits.file_of(hill, "cylinders.stroke") == "build.toml"
    assert edits.file_of(load(wren.folder), "cylinders.crevice") == "build.toml"


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("a.b", "1"),
        ("a.c[2]", "y"),
        ("a.d[3]", "z"),
        ("a.d[1]", "all"),
        ("a.b[4]", "1"),
        ("a.c[9]", None),
        ("x.y", None),
    ],
)
def test_standing__finds_the_value_or_what_stands_for_all(path: str, expected: str | None) -> None:
    text = '[a]\nb = "1"\nc = ["x", "y"]\nd = {others = "all", 3 = "z"}\n'
    assert standing(text, path) == expected


def test_a_file_outside_the_build_is_refused(wren: Any, tmp_path: Path) -> None:
    from spoolwright.errors import BadInput

    with pytest.raises(BadInput):
        make(wren.folder, "../other.toml", "cylinders.stroke", "70.0 mm", "69.0 mm")
