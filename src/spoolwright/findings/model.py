"""What a finding is: one judgement with its value, limit, working, caution and remedy."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

Verdict = Literal["stop", "watch", "not measured", "sound"]
ORDER: tuple[Verdict, ...] = ("stop", "watch", "not measured", "sound")


@dataclass(frozen=True, slots=True)
class Finding:
    """One judgement.

    ``subject`` names what is judged ("compression ratio, cylinder 3"); ``where`` is the sheet path it
    rests on; ``value`` and ``limit`` are SI floats of ``kind`` with their text in ``shown`` and
    ``limit_shown``; ``margin`` is the share of the limit that is left (negative: past it), for sorting.
    ``sum`` names the sum whose working is shown; ``resting_on`` says where the limit comes from.
    """

    subject: str
    verdict: Verdict
    sentence: str
    where: str = ""
    kind: str = ""
    value: float | None = None
    shown: str = ""
    limit: float | None = None
    limit_shown: str = ""
    margin: float | None = None
    working: str = ""
    sum: str = ""
    resting_on: str = ""
    caution: str = ""
    change_first: str = ""


def by_urgency(findings: list[Finding]) -> list[Finding]:
    """Worst first; within a verdict what can hurt (it has a caution) first, then the smallest margin.

    The margin to a habit of the trade says little beside that to a limit: half a habit's worth past it hurts nobody.
    """
    return sorted(
        findings, key=lambda f: (ORDER.index(f.verdict), not f.caution, 1e9 if f.margin is None else f.margin)
    )


def as_json(finding: Finding) -> dict[str, Any]:
    """The finding as plain data."""
    return asdict(finding)
