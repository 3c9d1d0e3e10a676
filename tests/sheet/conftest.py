"""Builds to change and read: copies of the demo builds in a folder of their own."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from spoolwright.sheet import SheetFaults, load
from spoolwright.sheet.demo import demo_folder


class Build:
    """A copy of a demo build whose text can be changed line by line."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.sheet = folder / "build.toml"

    def change(self, old: str, new: str) -> Build:
        text = self.sheet.read_text()
        assert text.count(old) == 1, (old, text.count(old))
        self.sheet.write_text(text.replace(old, new))
        return self

    def line(self, beginning: str) -> int:
        rows = self.sheet.read_text().splitlines()
        (found,) = (n for n, row in enumerate(rows, 1) if row.startswith(beginning))
        return found

    def faults(self, variant: str | None = None, sets: tuple[str, ...] = ()) -> list[str]:
        with pytest.raises(SheetFaults) as caught:
            load(self.folder, variant, sets)
        return [str(fault) for fault in caught.value.faults]

    def only_fault(self, **how: object) -> str:
        (fault,) = self.faults(**how)  # type: ignore[arg-type]
        return fault


@pytest.fixture
def copy(tmp_path: Path) -> Callable[[str], Build]:
    def make(name: str) -> Build:
        folder = tmp_path / name
        shutil.copytree(demo_folder(name), folder)
        return Build(folder)

    return make


@pytest.fixture
def wren(copy: Callable[[str], Build]) -> Build:
    return copy("wren")


@pytest.fixture
def plover(copy: Callable[[str], Build]) -> Build:
    return copy("plover")


@pytest.fixture
def heron(copy: Callable[[str], Build]) -> Build:
    return copy("heron")
