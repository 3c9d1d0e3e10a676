"""The demo builds, wherever the program runs from."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from spoolwright.errors import BadInput
from spoolwright.sheet.claims import SHEET_FILE
from spoolwright.sheet.faults import closest, shown

DEMOS: Final = ("wren", "heron", "plover")


def demo_folder(name: str) -> Path:
    """Folder of a demo build: inside the installed package, else in the checkout. Raises BadInput."""
    if name not in DEMOS:
        raise BadInput(f"{shown(name)} is not a demo build{closest(name, DEMOS)}; they are {', '.join(DEMOS)}")
    package = Path(__file__).resolve().parents[1]
    for root in (package / "examples", package.parents[1] / "examples"):
        if (root / name / SHEET_FILE).is_file():
            return root / name
    raise BadInput(f"the demo build {name} is not with this installation; install the program again")
