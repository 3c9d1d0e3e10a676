"""A kept run gives way to one with as many speeds or more, never to a shorter one."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from spoolwright.book.run import keep_fuller, kept
from spoolwright.sheet import demo_folder, load


def _report(digest: str, speeds: list[float]) -> dict[str, Any]:
    points = [{"speed_rpm": one, "converged": True} for one in speeds]
    return {"digest": digest, "program_version": "0", "points": points, "findings": [], "cancelled": False}


def test_keep_fuller__keeps_the_run_with_more_speeds(tmp_path: Path) -> None:
    folder = tmp_path / "plover"
    shutil.copytree(demo_folder("plover"), folder, ignore=shutil.ignore_patterns("results"))
    sheet = load(folder)
    assert keep_fuller(folder, sheet, _report(sheet.digest, [2000.0, 3000.0])) is not None
    assert keep_fuller(folder, sheet, _report(sheet.digest, [2000.0])) is None
    assert keep_fuller(folder, sheet, _report(sheet.digest, [2000.0, 2500.0, 3000.0])) is not None
    run = kept(folder, sheet)
    assert run is not None
    assert [one["speed_rpm"] for one in run.points] == [2000.0, 2500.0, 3000.0]
