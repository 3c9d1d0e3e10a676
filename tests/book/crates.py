"""Set-up for tests of crates: a build with a little of everything, and archives changed by hand."""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

from spoolwright.sheet import demo_folder, logbook


def build(folder: Path, name: str = "wren") -> Path:
    """A copy of a demo build with a log, a picture, a logbook and a result."""
    shutil.copytree(demo_folder(name), folder)
    for place, data in (
        ("pulls/evening.csv", b"time,rpm\r\n0.00,2000\r\n0.02,2010\r\n"),
        ("photos/chamber 3.jpg", bytes(range(256)) * 40),
        ("results/note.txt", "Jetzt 0,92 mm, größer ✓\n".encode()),
    ):
        (folder / place).parent.mkdir(exist_ok=True)
        (folder / place).write_bytes(data)
    logbook.append(folder, "measurement", "Chamber 3", "A. Maker", path="cylinders.chamber[3]", value="52.3 cc")
    return folder


def files(folder: Path) -> dict[str, bytes]:
    """Every file below ``folder`` by name."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def rewritten(crate: Path, into: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """The crate written anew with its files changed by ``change``."""
    with zipfile.ZipFile(crate) as old:
        held = {name: old.read(name) for name in old.namelist()}
    change(held)
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as new:
        for name, data in held.items():
            new.writestr(name, data)
    return into
