"""The pages agree with the program: reference pages, commands in the guide, links, words that must not stand there."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from spoolwright import reference
from spoolwright.sums.registry import all_sums

ROOT = Path(__file__).parents[2]
PAGES = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md"), *ROOT.glob("benchmarks/*.md")])


@pytest.mark.parametrize("name", list(reference.PAGES))
def test_reference_page__is_current(name: str) -> None:
    written = (ROOT / "docs" / "reference" / name).read_text(encoding="utf-8")
    assert written == reference.PAGES[name](), f"docs/reference/{name} is out of date: run `make docs`"


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_links__lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+?)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
        if not target.startswith(("http:", "https:", "mailto:")):
            assert (page.parent / target).exists(), f"{page.name} links to {target}"


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_commands_in_pages__exist(page: Path) -> None:
    from typer.main import get_command

    from spoolwright.cli import app

    commands = get_command(app).commands  # type: ignore[attr-defined]
    text = page.read_text(encoding="utf-8")
    for name in re.findall(r"(?m)(?:`|^ {4}|\$ )spoolwright ([a-z]+)", text):
        assert name in commands, f"{page.name} shows `spoolwright {name}`"
    for name in re.findall(r"spoolwright sum ([a-z_0-9]+)", text):
        assert name in all_sums(), f"{page.name} shows `spoolwright sum {name}`"


def _tracked() -> list[Path]:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout.split(
        "\n"
    )
    return [ROOT / name for name in listed if name and (ROOT / name).is_file()]


def test_text__speaks_of_the_project_alone() -> None:
    """No path of a machine, no registry host, no em dash left from pasted prose in code."""
    words = re.compile(r"/home/\w+|/root/|pypi\.org|files\.pythonhosted|registry\.npmjs|deb\.debian")
    for path in _tracked():
        if path.suffix in (".py", ".md", ".toml", ".csv", ".json", "") and path != Path(__file__).resolve():
            found = words.search(path.read_text(encoding="utf-8", errors="replace"))
            assert found is None, f"{path.relative_to(ROOT)}: {found[0] if found else ''}"
