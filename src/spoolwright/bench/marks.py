"""The signs of the bench: verdicts in sign and word, balloons, the margin gauge, the mark. Text goes in escaped."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape
from pathlib import Path
from typing import Final

from spoolwright.findings.model import Finding, Verdict

LOOKS: Final[Mapping[Verdict, str]] = {"sound": "sound", "watch": "watch", "stop": "stop", "not measured": "none"}
LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"

_LOOK = Path(__file__).parent / "look"
SYMBOLS: Final = (_LOOK / "symbols.svg").read_text(encoding="utf-8")

MARK: Final = (_LOOK / "mark-ink.svg").read_text(encoding="utf-8").strip()


def sign(verdict: Verdict) -> str:
    """The sign alone, for where its word stands beside it."""
    return f'<svg aria-hidden="true"><use href="#g-{LOOKS[verdict]}"/></svg>'


def tag(verdict: Verdict, extra: str = "", word: str = "") -> str:
    """Sign and word; ``extra`` behind it says where it holds, ``word`` stands in place of the verdict's own."""
    behind = f'<span class="ex">{escape(extra)}</span>' if extra else ""
    return f'<span class="v tag {LOOKS[verdict]}">{sign(verdict)}{escape(word or verdict)}</span>{behind}'


def counts(findings: Iterable[Finding]) -> str:
    """How many are open, by sign; nothing where nothing is. The words are there for those who hear the page."""
    said = ""
    kinds: tuple[Verdict, ...] = ("stop", "watch", "not measured")
    verdicts = [one.verdict for one in findings]
    for verdict in kinds:
        count = verdicts.count(verdict)
        if count:
            look = LOOKS[verdict]
            said += f'<span class="cnt c-{look}">{sign(verdict)}{count}<span class="unseen"> {verdict}</span></span>'
    return said


def balloon(letter: str, verdict: Verdict) -> str:
    """The lettered balloon of a finding."""
    return f'<span class="bal {LOOKS[verdict]}" aria-hidden="true">{escape(letter)}</span>'


def letters(count: int) -> list[str]:
    """A to Z, then A2 to Z2 and on."""
    return [LETTERS[n % 26] + (str(n // 26 + 1) if n >= 26 else "") for n in range(count)]


GAUGE: Final = (112, 18, 44.0, 120.0)  # width, height, place of the limit, px for a margin of 1
_REACH: Final = 0.5  # share of the limit that the gauge shows on the sound side


def gauge(finding: Finding) -> str:
    """The margin on the one scale of all rows: the limit's edge, hatched beyond it, and the value's tick."""
    if finding.margin is None:
        return ""
    width, height, edge, scale = GAUGE
    look = LOOKS[finding.verdict]
    wanted = edge + scale * finding.margin
    at = min(max(wanted, 5.0), width - 3.0)
    colour = f"var(--{'ink' if look == 'sound' else look})"
    beyond = ""
    if wanted != at:  # off the scale: an arrow, not a tick
        way = 1 if wanted > at else -1
        beyond = f'<path d="M{at - 4 * way},5l{6 * way},4l{-6 * way},4z" fill="{colour}"/>'
    tick = beyond or f'<path d="M{at:.1f},3V15" stroke="{colour}" stroke-width="2.4"/>'
    return (
        f'<svg width="{width}" height="{height}" aria-hidden="true"><path d="M4,9H{width - 2}" stroke="var(--rule2)"/>'
        f'<rect x="4" y="5" width="{edge - 4}" height="8" fill="url(#hs)" opacity=".7"/>'
        f'<path d="M{edge},3V15" stroke="var(--stop)" stroke-width="1.25"/>{tick}</svg>'
    )


def margin_text(finding: Finding) -> str:
    """The margin with its sign, as a share of the limit; "no value" where nothing was measured."""
    if finding.margin is None:
        return ""
    share = 100.0 * finding.margin
    if abs(share) >= 1000.0:
        return "far off" if share > 0 else "far past"
    return f"{share:+.0f}\u202f%".replace("-", "\u2212")
