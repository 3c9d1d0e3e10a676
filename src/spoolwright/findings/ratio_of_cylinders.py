"""The compression ratio of each cylinder as computed from what was measured, with its verdict and working."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.findings.asking import ask
from spoolwright.findings.blueprint import ratios
from spoolwright.findings.model import Finding, Verdict
from spoolwright.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Ratio:
    """One cylinder's ratio: as text with its band, whether it is the highest, its verdict where limits are given."""

    cylinder: int
    value: float
    shown: str
    highest: bool
    verdict: Verdict | None
    working: str


def ratios_of(sheet: Sheet, findings: Sequence[Finding]) -> list[Ratio]:
    """A ratio for each cylinder; empty where it cannot be computed."""
    try:
        answer = ratios(sheet)
        workings = [ask(sheet, "compression_ratio", n).working for n in range(1, sheet.cylinder_count + 1)]
    except BadInput:
        return []
    bands = answer.bands.get("compression_ratio")
    ruling = int(answer.results["ruling_cylinder"])
    found = []
    for n, value in enumerate(answer.results["compression_ratio"], start=1):
        band = bands[n - 1] if isinstance(bands, list) else (0.0, 0.0)
        near = f" ± {units.significant(max(band), 2)}" if max(band) > 0.0 else ""
        found.append(Ratio(n, value, f"{value:.2f}{near}", n == ruling, _verdict(findings, n), workings[n - 1]))
    return found


def _verdict(findings: Sequence[Finding], cylinder: int) -> Verdict | None:
    own = [one for one in findings if one.subject == f"compression ratio, cylinder {cylinder}"]
    whole = [one for one in findings if one.subject == "compression ratio"]
    return (own or whole)[0].verdict if own or whole else None


def sentence(found: Sequence[Ratio]) -> str:
    """The ratios in one sentence; ``**`` makes bold."""
    if not found:
        return "The ratio cannot be computed yet."
    low, high = min(one.value for one in found), max(one.value for one in found)
    if len(found) == 1:
        return f"Ratio **{found[0].shown}**."
    ruling = next(one.cylinder for one in found if one.highest)
    if f"{low:.2f}" == f"{high:.2f}":
        return f"Ratio **{high:.2f}** in all {len(found)} cylinders."
    return f"Ratio **{low:.2f} to {high:.2f}**, cylinder {ruling} highest."
