"""Which builds the bench may open: the opened folder itself, or those right below it. Nothing else is reachable."""

from __future__ import annotations

from pathlib import Path

from spoolwright.errors import BadInput
from spoolwright.sheet.claims import SHEET_FILE


def is_build(folder: Path) -> bool:
    """Whether the folder holds a sheet."""
    return (folder / SHEET_FILE).is_file()


def builds(root: Path) -> dict[str, Path]:
    """Builds by their folder's name, in order of the alphabet; links that lead out of ``root`` are left out."""
    real = root.resolve()
    if is_build(real):
        return {real.name or "build": real}
    found = {}
    for folder in sorted(real.iterdir()):
        inside = folder.resolve().is_relative_to(real)
        if inside and folder.is_dir() and not folder.name.startswith(".") and is_build(folder):
            found[folder.name] = folder.resolve()
    return found


def opened(root: Path) -> Path:
    """The folder to open. Raises BadInput where it holds no build."""
    if not root.is_dir():
        raise BadInput(f"{root}: there is no such folder; open a build, or a folder that holds builds")
    if not builds(root):
        raise BadInput(
            f"{root}: no {SHEET_FILE} stands here or one folder below; start one with: spoolwright new {root / 'mine'}"
        )
    return root.resolve()
