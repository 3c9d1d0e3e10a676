"""``spoolwright book`` and ``crate`` as their user meets them."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from spoolwright.sheet import demo_folder


@pytest.fixture(autouse=True)
def inside(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Every command runs in an empty folder of its own."""
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo_folder("plover"), tmp_path / "mine", ignore=shutil.ignore_patterns("results")))


def test_book__writes_both_files_and_names_gaps(run, mine: Path) -> None:  # type: ignore[no-untyped-def]
    done = run("book", "mine", "--no-pull", "--json")
    assert done.code == 0, done.err
    told = done.json()
    assert Path(told["pdf"]).read_bytes().startswith(b"%PDF-")
    assert Path(told["html"]).read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert told["sheets"] >= 8
    assert "predicted curves" in [one["what"] for one in told["gaps"]]
    again = run("book", "mine", "--no-pull", "--out", "print", "--paper", "letter", "--units", "us")
    assert again.code == 0
    assert (mine.parent / "print" / "book.pdf").is_file()


@pytest.mark.slow
def test_book__runs_the_engine_once_and_keeps_it(run, mine: Path) -> None:  # type: ignore[no-untyped-def]
    assert run("book", "mine").code == 0
    kept = list((mine / "results").glob("pull-*.json"))
    assert len(kept) == 1
    stamp = kept[0].stat().st_mtime_ns
    told = run("book", "mine", "--json").json()
    assert kept[0].stat().st_mtime_ns == stamp
    assert "predicted curves" not in [one["what"] for one in told["gaps"]]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("book", "mine", "--paper", "a3"), '--paper "a3" is not one of a4, letter'),
        (("book", "mine", "--units", "imperial"), '--units "imperial" is not one of typed, metric, us'),
        (("book", "nowhere"), "there is no such folder"),
        (("book", "mine", "--variant", "hill"), 'variant "hill" is not there'),
        (("crate",), "name the build's folder"),
        (("crate", "nowhere"), "there is no such folder"),
        (("crate", "new", "--open", "none.zip"), "there is no such file"),
        (("crate", "--look", "mine"), "this is a folder"),
        (("crate", "--look", "a", "--open", "b", "c"), "are two jobs"),
        (("crate", "mine", "--out", "no/where.zip"), "there is no folder no"),
    ],
)
def test_bad_words__are_told_in_one_sentence(run, mine: Path, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    done = run(*words)
    assert done.code == 2
    assert said in done.err
    assert len(done.err.splitlines()) == 1


def test_crate__packs_looks_and_opens(run, mine: Path) -> None:  # type: ignore[no-untyped-def]
    packed = run("crate", "mine", "--out", "m.zip", "--json").json()
    seen = run("crate", "--look", "m.zip", "--json").json()
    assert seen["troubles"] == []
    assert seen["hash"] == packed["hash"]
    opened = run("crate", "there", "--open", "m.zip", "--json").json()
    assert opened["differences"] == []
    assert opened["checks"] == packed["checks"]
    check_there, check_here = run("check", "there", "--json"), run("check", "mine", "--json")
    assert check_there.out == check_here.out
    assert "each as it was packed" in run("crate", "again", "--open", "m.zip").out


def test_changed_crate__is_told_and_left_shut(run, mine: Path) -> None:  # type: ignore[no-untyped-def]
    run("crate", "mine", "--out", "m.zip")
    data = bytearray(Path("m.zip").read_bytes())
    at = data.index(b"build.toml") + 200
    data[at] ^= 0xFF
    Path("m.zip").write_bytes(data)
    looked = run("crate", "--look", "m.zip")
    assert looked.code == 2
    assert looked.err.startswith("build.toml: it ")
    opened = run("crate", "there", "--open", "m.zip")
    assert opened.code == 2
    assert "build.toml: it " in opened.err
    assert not Path("there").exists()
