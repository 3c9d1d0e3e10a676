"""Set-up for all tests: how hypothesis searches, and the program run as its user runs it."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from typing import Any, NamedTuple

import pytest
from hypothesis import settings

# No deadline: the machine may be busy. In CI the same examples every time, so that a red run is a red change.
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "desk")


class Ran(NamedTuple):
    """What the program left behind: exit status, standard output, standard error."""

    code: int
    out: str
    err: str

    def json(self) -> Any:
        """The output read as JSON."""
        return json.loads(self.out)


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    """Run the program in this process, the way the installed script does."""
    from spoolwright import cli

    def ran(*words: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["spoolwright", *words])
        with pytest.raises(SystemExit) as left:
            cli.main()
        shown = capsys.readouterr()
        return Ran(int(left.value.code or 0), shown.out, shown.err)

    return ran
