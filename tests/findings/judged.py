"""Findings of a demo build with some values set: what the tests of this folder ask."""

from __future__ import annotations

from spoolwright.findings.check import check
from spoolwright.findings.model import Finding
from spoolwright.sheet import load
from spoolwright.sheet.demo import demo_folder


def judged(build: str, *sets: str, variant: str | None = None) -> list[Finding]:
    """All findings of a demo build with ``sets`` applied."""
    return check(load(demo_folder(build), variant, sets))


def found(subject: str, build: str, *sets: str, variant: str | None = None) -> Finding:
    """The one finding of that subject."""
    every = judged(build, *sets, variant=variant)
    mine = [one for one in every if one.subject == subject]
    assert len(mine) == 1, (subject, [one.subject for one in every])
    return mine[0]
