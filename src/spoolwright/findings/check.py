"""Judge a sheet: everything that can be told without running the engine.

``check(sheet)`` asks one function for each subject; each takes the sheet and yields its findings.
A judgement whose sum has no answer for this sheet becomes a finding that says so; it hides no other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from spoolwright.errors import BadInput
from spoolwright.findings import (
    blueprint,
    boost,
    carburettor,
    clearances,
    fan,
    fuel,
    gaps,
    joints,
    measured,
    motion,
    oil,
    spark,
    valves,
)
from spoolwright.findings.model import Finding, as_json, by_urgency
from spoolwright.sheet import Sheet

Judge = Callable[[Sheet], Iterator[Finding]]
JUDGES: Mapping[str, Judge] = {
    subject: judge
    for module in (
        blueprint,
        gaps,
        clearances,
        valves,
        motion,
        joints,
        boost,
        carburettor,
        fuel,
        spark,
        fan,
        oil,
        measured,
    )
    for subject, judge in module.JUDGES.items()
}


def check(sheet: Sheet) -> list[Finding]:
    """All findings of ``sheet`` that need no run, worst first."""
    found: list[Finding] = []
    for subject, judge in JUDGES.items():
        try:
            found += judge(sheet)
        except BadInput as trouble:
            reason = " ".join(str(trouble).splitlines())
            found.append(Finding(subject, "not measured", f"Cannot be judged: {reason}"))
    return by_urgency(found)


def report(sheet: Sheet, findings: Sequence[Finding]) -> dict[str, Any]:
    """The JSON of ``spoolwright check``; values in SI."""
    return {
        "build": sheet.name,
        "variant": sheet.variant,
        "set": list(sheet.sets),
        "digest": sheet.digest,
        "assumed": [{"path": a.path, "value": a.text, "reason": a.reason} for a in sheet.assumed],
        "findings": [as_json(one) for one in findings],
    }
