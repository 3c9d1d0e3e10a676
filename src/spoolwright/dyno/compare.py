"""The job "compare": repeats make the spread, a change is judged against it by speed.

Student's t by speed and once over the whole shared range (sums ``repeat_spread``, ``change_against_spread``). Judged at
many speeds, some would seem to count by chance; how many is said, and a stretch counts only where neighbouring speeds
agree. Pulls are taken as independent; a steady rise with heat is not chance and is looked for.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from spoolwright.dyno.correct import factor_of
from spoolwright.dyno.measured import RPM, Measured
from spoolwright.errors import BadInput
from spoolwright.sums.dyno_repeats import change_of, spread_of, student_t

if TYPE_CHECKING:
    from numpy.typing import NDArray

What = Literal["torque", "power"]
STEP: Final = 250.0  # rpm
ALIKE: Final = 0.02  # like pulls that differ by more have a reason; common practice (handbook of the trade), no source

WEATHER: Final = "ISO 1585"  # judges what the air of two days does to observed figures
SAME_AIR: Final = 0.003  # of a factor; less is within what repeats show


@dataclass(frozen=True, slots=True)
class Repeats:
    """Like pulls over shared speeds. Values in N m or W; ``deviation`` of one pull, ``band`` of the mean, at
    ``confidence``.

    ``smallest_change``: difference to as many new pulls that would count. ``drift``: change from pull to pull of the
    mean over the range as a fraction, and whether it is more than chance.
    """

    pulls: tuple[str, ...]
    what: What
    place: str
    confidence: float
    speeds_rpm: NDArray[np.float64]
    values: NDArray[np.float64]
    mean: NDArray[np.float64]
    deviation: NDArray[np.float64]
    band: NDArray[np.float64]
    smallest_change: NDArray[np.float64]
    spread: NDArray[np.float64]
    drift: float
    drift_counts: bool
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Neighbouring speeds [rpm] at which the change counts; ``difference`` is its mean over them."""

    low_rpm: float
    high_rpm: float
    difference: float
    better: bool


@dataclass(frozen=True, slots=True)
class Change:
    """Two sets of pulls against their spread, by speed and over the range. Values in N m or W."""

    before: tuple[str, ...]
    after: tuple[str, ...]
    what: What
    place: str
    confidence: float
    factor: str
    speeds_rpm: NDArray[np.float64]
    mean_before: NDArray[np.float64]
    mean_after: NDArray[np.float64]
    difference: NDArray[np.float64]
    band: NDArray[np.float64]
    counts: NDArray[np.bool_]
    overall: float
    overall_band: float
    overall_counts: bool
    stretches: tuple[Stretch, ...]
    by_chance: float
    sentences: tuple[str, ...]


def shared_speeds(pulls: Sequence[Measured], step_rpm: float = STEP) -> NDArray[np.float64]:
    """Round speeds [rpm] that every pull covers. Raises BadInput where they share fewer than two."""
    if not pulls:
        raise BadInput("no pulls are named")
    if not 10.0 <= step_rpm <= 2000.0:
        raise BadInput(f"a step of {step_rpm:g} rpm is outside 10 to 2000 rpm")
    sets = [p.speeds(step_rpm) for p in pulls]
    low, high = max(s[0] if s.size else math.inf for s in sets), min(s[-1] if s.size else -math.inf for s in sets)
    speeds = np.arange(low, high + 1e-9, step_rpm) if low < high else np.empty(0)
    if speeds.size < 2:
        raise BadInput(
            f"{', '.join(p.name for p in pulls)} share no stretch of speed; compare pulls over the same range"
        )
    return speeds


def values_at(pulls: Sequence[Measured], speeds_rpm: NDArray[np.float64], what: What) -> NDArray[np.float64]:
    """(pulls, speeds) torque [N m] or power [W]. Raises BadInput where pulls hold at different places."""
    places = {p.place for p in pulls}
    if len(places) > 1:
        raise BadInput(
            "wheel and flywheel figures do not compare: "
            + ", ".join(f"{p.name} {p.place}" for p in pulls)
            + "; give every log its run-down, or none"
        )
    corrected = {p.corrected_by for p in pulls}
    if len(corrected) > 1:
        raise BadInput(
            f"pulls corrected by {' and '.join(sorted(corrected))} do not compare; state the air of each day"
        )
    rows = [p.over(p.torque, speeds_rpm) for p in pulls]
    table = np.array(rows)
    return table * speeds_rpm * RPM if what == "power" else table


def repeats(
    pulls: Sequence[Measured],
    what: What = "torque",
    confidence: float = 0.95,
    step_rpm: float = STEP,
    factors: Sequence[float] | None = None,
) -> Repeats:
    """The spread of like pulls by speed. ``factors`` correct each pull first (different days), else observed figures.

    Raises BadInput for fewer than two pulls or pulls that do not share a range.
    """
    if len(pulls) < 2:
        raise BadInput("a spread needs two pulls at least, better three")
    _confident(confidence)
    speeds = shared_speeds(pulls, step_rpm)
    values = values_at(pulls, speeds, what) * _column(factors, len(pulls))
    good = np.isfinite(values).all(axis=0)
    speeds, values = speeds[good], values[:, good]
    if speeds.size < 2:
        raise BadInput("the pulls share fewer than two speeds with a figure at each")
    each = [spread_of(values[:, i].tolist(), confidence, None) for i in range(speeds.size)]
    got = {k: np.array([e[k] for e in each]) for k in each[0]}
    drift, drifts = _drift(values)
    sentences = []
    if len(pulls) < 3:
        sentences.append("two pulls say little about spread: three like pulls before a number is believed")
    wide = float(np.median(got["spread"]))
    if wide > ALIKE:
        sentences.append(
            f"like pulls differ by {100 * wide:.1f} % (middle of the range): heat, tyre, strap, fuel temperature or "
            f"boost "
            "control; repeat until two agree, start temperatures equal"
        )
    else:
        sentences.append(f"like pulls agree within {100 * wide:.1f} % (middle of the range)")
    if drifts:
        sentences.append(
            f"from pull to pull the figure moves by {100 * drift:+.1f} %: that is no chance, something warms up or "
            f"settles"
        )
    smallest = float(np.median(got["smallest_change_share"]))
    sentences.append(
        f"a change counts at one speed when it is larger than {100 * smallest:.1f} % (as many pulls again)"
    )
    return Repeats(
        tuple(p.name for p in pulls),
        what,
        pulls[0].place,
        confidence,
        speeds,
        values,
        got["mean"],
        got["deviation"],
        got["band_of_mean"],
        got["smallest_change"],
        got["spread"],
        drift,
        drifts,
        tuple(sentences),
    )


def compare(
    before: Sequence[Measured],
    after: Sequence[Measured],
    what: What = "torque",
    confidence: float = 0.95,
    step_rpm: float = STEP,
    factors: tuple[Sequence[float], Sequence[float]] | None = None,
    factor_name: str = "",
) -> Change:
    """Did the change help: ``after`` against ``before``. ``factors``: correction of each pull of the two sets.

    Raises BadInput for sets of fewer than two pulls, or pulls that do not share a range.
    """
    _confident(confidence)
    for words, group in (("before", before), ("after", after)):
        if len(group) < 2:
            raise BadInput(
                f"{words} the change there is {len(group)} pull; each set needs two at least, better three: one "
                f"good pull "
                "proves nothing"
            )
    both = [*before, *after]
    speeds = shared_speeds(both, step_rpm)
    values = values_at(both, speeds, what)
    if factors is not None:
        values = values * _column([*factors[0], *factors[1]], len(both))
    good = np.isfinite(values).all(axis=0)
    speeds, values = speeds[good], values[:, good]
    if speeds.size < 2:
        raise BadInput("the pulls share fewer than two speeds with a figure at each")
    first, second = values[: len(before)], values[len(before) :]
    each = [change_of(first[:, i].tolist(), second[:, i].tolist(), confidence) for i in range(speeds.size)]
    difference = np.array([e["difference"] for e in each])
    band = np.array([e["band"] for e in each])
    counts = np.array([e["counts"] > 0.0 for e in each])
    whole = change_of(first.mean(axis=1).tolist(), second.mean(axis=1).tolist(), confidence)
    independent = _independent(both, speeds)
    stretches = _stretches(speeds, difference, counts)
    change = Change(
        tuple(p.name for p in before),
        tuple(p.name for p in after),
        what,
        both[0].place,
        confidence,
        factor_name or "observed",
        speeds,
        np.array([e["mean_before"] for e in each]),
        np.array([e["mean_after"] for e in each]),
        difference,
        band,
        counts,
        whole["difference"],
        whole["band"],
        whole["counts"] > 0.0,
        stretches,
        (1.0 - confidence) * independent,
        (),
    )
    told = _told(change, whole["difference_share"], whole["band"] / max(abs(whole["mean_before"]), 1e-12))
    return replace(told, sentences=(*told.sentences, *(_weather(before, after) if factors is None else ())))


def _weather(before: Sequence[Measured], after: Sequence[Measured]) -> list[str]:
    """What two days' air may have done to a difference of observed figures, by ISO 1585; nothing on one day."""
    if len({p.file for p in (*before, *after)}) < 2:
        return []
    without = sorted({p.file for p in (*before, *after) if p.air.missing()})
    if without:
        return [
            f"the air of {', '.join(without)} is not fully known: how much of the difference is the weather's cannot "
            "be told"
        ]
    first, second = (float(np.mean([factor_of(WEATHER, p.air) for p in side])) for side in (before, after))
    share = first / second - 1.0
    if abs(share) < SAME_AIR:
        return []
    held = any(p.air.boost_control in ("absolute", "compensated", "gauge") for p in (*before, *after))
    return [
        f"the air was not the same: by {WEATHER} it alone moves the observed figure by {'up to ' if held else ''}"
        f"{100 * share:+.1f} %; compare corrected figures (--by) before the change is believed"
    ]


def _told(change: Change, share: float, band_share: float) -> Change:
    words = "gains" if share > 0 else "loses"
    if change.overall_counts:
        sentence = (
            f"over {change.speeds_rpm[0]:.0f} to {change.speeds_rpm[-1]:.0f} rpm the change {words} "
            f"{100 * abs(share):.1f} ± {100 * band_share:.1f} % of {change.what}: more than the repeats differ"
        )
    else:
        sentence = (
            f"over {change.speeds_rpm[0]:.0f} to {change.speeds_rpm[-1]:.0f} rpm the difference is "
            f"{100 * share:+.1f} ± {100 * band_share:.1f} %: no more than the repeats differ; more pulls, "
            "or no difference"
        )
    sentences = [sentence]
    unit, scale = ("N m", 1.0) if change.what == "torque" else ("kW", 1e-3)
    sentences += [
        f"{s.low_rpm:.0f} to {s.high_rpm:.0f} rpm: {scale * s.difference:+.1f} {unit}, beyond the spread"
        for s in change.stretches
    ]
    sentences.append(
        f"{int(change.counts.sum())} of {change.counts.size} speeds lie beyond the spread; about "
        f"{change.by_chance:.1f} would by chance"
    )
    return replace(change, sentences=tuple(sentences))


def _confident(confidence: float) -> None:
    if not 0.5 <= confidence <= 0.999:
        raise BadInput(f"a confidence of {100 * confidence:g} % is outside 50 to 99.9 %")


def _column(factors: Sequence[float] | None, count: int) -> NDArray[np.float64]:
    if factors is None:
        return np.ones((count, 1))
    if len(factors) != count:
        raise BadInput(f"{count} pulls need {count} correction factors, {len(factors)} are given")
    return np.asarray(factors, dtype=np.float64)[:, None]


def _drift(values: NDArray[np.float64]) -> tuple[float, bool]:
    """Change from pull to pull of the mean over speed, as a fraction; whether it is more than chance."""
    means = values.mean(axis=1)
    n = means.size
    if n < 3:
        return 0.0, False
    k = np.arange(n) - 0.5 * (n - 1)
    slope = float(k @ means / (k @ k))
    rest = means - means.mean() - slope * k
    error = math.sqrt(float(rest @ rest) / (n - 2) / float(k @ k))
    counts = abs(slope) > student_t(0.95, n - 2) * error and abs(slope / means.mean()) > 0.002
    return slope / float(means.mean()), bool(counts)


def _independent(pulls: Sequence[Measured], speeds: NDArray[np.float64]) -> float:
    """How many of these speeds are judged independently: smoothing ties neighbours together."""
    apart = max(p.samples_apart for p in pulls) / RPM
    return float(min(speeds.size, 1.0 + (speeds[-1] - speeds[0]) / max(apart, 1e-9)))


def _stretches(
    speeds: NDArray[np.float64], difference: NDArray[np.float64], counts: NDArray[np.bool_]
) -> tuple[Stretch, ...]:
    """Runs of at least two neighbouring speeds that count with the same sign."""
    sign = np.where(counts, np.sign(difference), 0.0)
    edges = np.flatnonzero(np.diff(np.concatenate([[0.0], sign, [0.0]])))
    found = []
    for a, b in itertools.pairwise(edges.tolist()):
        if sign[a] != 0.0 and b - a >= 2:
            mean = float(difference[a:b].mean())
            found.append(Stretch(float(speeds[a]), float(speeds[b - 1]), mean, mean > 0.0))
    return tuple(found)
