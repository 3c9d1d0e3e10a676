"""Commands shown in the pages work, one after the other, as a reader would type them."""

from __future__ import annotations

import re
import shlex
import sys
from pathlib import Path

import pytest

from spoolwright import cli

ROOT = Path(__file__).parents[2]
# Pages whose commands are run in order, in an empty folder, after the commands named here.
PAGES = {
    "docs/guide/measure.md": [],
    "README.md": ["spoolwright demo demo --no-pull"],
    "docs/guide/dyno-day.md": [],
}
RUN_THE_ENGINE = ("docs/guide/dyno-day.md",)  # minutes


def _commands(page: str) -> list[str]:
    text = (ROOT / page).read_text(encoding="utf-8")
    return [line.partition("  #")[0].strip() for line in re.findall(r"(?m)^ {4}(spoolwright .*)$", text)]


@pytest.mark.parametrize(
    "page", [pytest.param(page, marks=pytest.mark.slow if page in RUN_THE_ENGINE else ()) for page in PAGES]
)
def test_commands_of_a_page__work_in_order(
    page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    shown = _commands(page)
    assert shown, f"{page} shows no command"
    for command in [*PAGES[page], *shown]:
        monkeypatch.setattr(sys, "argv", shlex.split(command))
        with pytest.raises(SystemExit) as left:
            cli.main()
        told = capsys.readouterr()
        assert not left.value.code, f"{page}: `{command}` ended with {left.value.code}: {told.err}"
        assert told.out, command


RUNS_LONG = ("demo", "match", "pull", "spool", "bench")  # compile first or serve until stopped; have their own tests


def test_examples_in_help__work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from typer.main import get_command

    monkeypatch.chdir(tmp_path)
    for name, command in sorted(get_command(cli.app).commands.items(), key=lambda pair: pair[0] != "new"):  # type: ignore[attr-defined]
        for example in re.findall(r"Example: (spoolwright .*)", command.help) if name not in RUNS_LONG else ():
            monkeypatch.setattr(sys, "argv", shlex.split(example))
            with pytest.raises(SystemExit) as left:
                cli.main()
            assert not left.value.code, f"{name}: `{example}`: {capsys.readouterr().err}"


def test_benchmarks__have_a_section_each() -> None:
    page = (ROOT / "benchmarks" / "README.md").read_text(encoding="utf-8")
    for script in (ROOT / "benchmarks").glob("*.py"):
        assert f"## {script.name}" in page, f"benchmarks/README.md says nothing of {script.name}"


def test_judgements__have_a_line_that_says_what_is_judged() -> None:
    from spoolwright.findings.check import JUDGES

    for subject, judge in JUDGES.items():
        first = (judge.__doc__ or "").split("\n")[0]
        assert first.endswith("."), subject
        assert len(first) > 20, subject
