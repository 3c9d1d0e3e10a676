"""The opened build: edits on disk at once, two pages, undo, files changed by others, faults."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from spoolwright.bench.store import Store
from spoolwright.sheet import demo_folder


@pytest.fixture
def store(tmp_path: Path) -> Store:
    shutil.copytree(demo_folder("wren"), tmp_path / "wren")
    return Store(tmp_path / "wren")


def _text(store: Store) -> str:
    return (store.folder / "build.toml").read_text(encoding="utf-8")


def test_taken__is_on_disk_and_everybody_is_told(store: Store) -> None:
    told: list[int] = []
    store.listeners.append(lambda: told.append(1))
    assert store.edit(None, "cylinders.stroke", "2.72 in", "69.0 mm").kind == "taken"
    assert 'stroke = "2.72 in"' in _text(store)
    assert told == [1]


def test_refused_and_doubted__leave_the_file_alone(store: Store) -> None:
    before = _text(store)
    assert store.edit(None, "cylinders.stroke", "long", "69.0 mm").kind == "refused"
    doubted = store.edit(None, "cylinders.deck[3]", "9.1 mm", "0.94 mm ± 0.02")
    assert (doubted.kind, doubted.offers) == ("doubted", ("0.91 mm",))
    assert _text(store) == before
    assert store.edit(None, "cylinders.deck[3]", "9.1 mm", "0.94 mm ± 0.02", keep=True).kind == "taken"


def test_two_pages__the_second_edit_of_a_value_seen_before_is_told(store: Store) -> None:
    assert store.edit(None, "cylinders.stroke", "70 mm", "69.0 mm").kind == "taken"
    second = store.edit(None, "cylinders.stroke", "71 mm", "69.0 mm")
    assert second.kind == "elsewhere"
    assert "70 mm" in second.said
    assert 'stroke = "70 mm"' in _text(store)


def test_a_file_changed_by_another_program__its_other_changes_stay(store: Store) -> None:
    assert store.loaded().sheet is not None
    path = store.folder / "build.toml"
    path.write_text(_text(store).replace('rod_length = "128.0 mm"', 'rod_length = "130.0 mm"'), encoding="utf-8")
    assert store.edit(None, "cylinders.stroke", "70 mm", "69.0 mm").kind == "taken"
    assert 'rod_length = "130.0 mm"' in _text(store)
    assert 'stroke = "70 mm"' in _text(store)


def test_undo_and_redo__reach_every_edit(store: Store) -> None:
    before = _text(store)
    store.edit(None, "cylinders.stroke", "70 mm", "69.0 mm")
    store.edit(None, "cylinders.rod_length", "129 mm", "128.0 mm")
    after = _text(store)
    assert store.undo().kind == "taken"
    assert store.undo().kind == "taken"
    assert _text(store) == before
    assert store.undo().said == "There is nothing to undo."
    store.redo()
    store.redo()
    assert _text(store) == after


def test_undo__of_what_somebody_changed_since_is_told(store: Store) -> None:
    store.edit(None, "cylinders.stroke", "70 mm", "69.0 mm")
    path = store.folder / "build.toml"
    path.write_text(_text(store).replace('stroke = "70 mm"', 'stroke = "72 mm"'), encoding="utf-8")
    outcome = store.undo()
    assert (outcome.kind, "72 mm" in outcome.said) == ("elsewhere", True)
    assert 'stroke = "72 mm"' in _text(store)


def test_an_edit_in_a_variant__goes_to_the_file_that_says_the_value(store: Store) -> None:
    before = _text(store)
    assert store.edit("hill", "spark.advance", "21 deg BTDC", "22 deg BTDC").kind == "taken"
    assert "21 deg BTDC" in (store.folder / "variants" / "hill.toml").read_text(encoding="utf-8")
    assert _text(store) == before


def test_a_sheet_with_faults__can_be_mended_value_by_value(store: Store) -> None:
    path = store.folder / "build.toml"
    path.write_text(_text(store).replace('stroke = "69.0 mm"', 'stroke = "long"'), encoding="utf-8")
    loaded = store.loaded()
    assert loaded.sheet is None
    assert [one.path for one in loaded.faults] == ["cylinders.stroke"]
    assert store.findings() == []
    assert store.edit(None, "cylinders.stroke", "69.0 mm", "long").kind == "taken"
    assert store.loaded().sheet is not None


def test_files_that_make_no_sense__are_told_not_raised(store: Store) -> None:
    (store.folder / "build.toml").write_bytes(b"\xff\xfe\x00 not text")
    loaded = store.loaded()
    assert loaded.sheet is None
    assert loaded.faults
