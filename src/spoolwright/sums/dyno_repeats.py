"""Sums of repeated pulls: their spread, the smallest change that counts, whether a change helped.

Student's t for a few repeats, any statistics text. Pulls are taken as independent; a steady rise with heat is not so.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

from spoolwright.sums.registry import Input, Output, register
from spoolwright.units import read_number


def _mean_and_deviation(values: Sequence[float]) -> tuple[float, float]:
    mean = sum(values) / len(values)
    return mean, math.sqrt(sum((v - mean) ** 2 for v in values) / (len(values) - 1))


def student_t(confidence: float, freedom: int) -> float:
    """Two-sided Student t for ``confidence`` [1] and degrees of freedom."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.5 + 0.5 * confidence))


_PULLS = Input("text", "the same figure of like pulls, all in one unit", many=True, unit="247 hp; 249.5 hp; 246 hp")
_CONFIDENCE = Input("share", "confidence", "50 %", "99.9 %", "95 %")


def in_one_unit(*rows: list[str]) -> list[list[float]]:
    """The numbers of like readings ("247 hp"). Raises ValueError where one has another unit than the rest."""
    units, numbers = set(), []
    for row in rows:
        found = [re.fullmatch(r"\s*([-+\d.,]+)\s*(.*?)\s*", text) for text in row]
        if not all(found):
            raise ValueError('each pull is a number with its unit, for example "247 hp"')
        units |= {match[2] for match in found if match}
        numbers.append([read_number(match[1]) for match in found if match])
    if len(units) > 1:
        raise ValueError(
            f"all pulls must be in one unit, {' and '.join(sorted(u or 'none' for u in units))} were given"
        )
    return numbers


def _spread_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = []
    if len(given["pulls"]) < 3:
        questions.append("two pulls say little about spread: three like pulls before a number is believed")
    if results["spread"] > 0.02:
        questions.append("like pulls differ by more than 2 %: heat, tyre, strap, fuel temperature or boost control?")
    return questions


def _confident(confidence: float) -> None:
    if not 0.0 < confidence < 1.0:
        raise ValueError("the confidence lies between 0 and 100 %")


@register(
    "dyno",
    "Repeat spread of like pulls, and the smallest change that counts",
    inputs={
        "pulls": _PULLS,
        "confidence": _CONFIDENCE,
        "pulls_after": Input("count", "pulls planned after a change; as many as now when not given", "1", "20", ""),
    },
    outputs={
        "mean": Output("number", "1", "mean, in the unit of the pulls"),
        "deviation": Output("number", "1", "standard deviation of one pull"),
        "deviation_share": Output("share", "%", "the same over the mean"),
        "spread": Output("share", "%", "highest less lowest, over the mean"),
        "band_of_mean": Output("number", "1", "the mean is sure to plus or minus this"),
        "smallest_change": Output("number", "1", "difference of two means that counts"),
        "smallest_change_share": Output("share", "%", "the same over the mean"),
    },
    formula="""
    deviation = sqrt(sum((pull - mean)^2) / (n - 1))
    band_of_mean = t(n - 1) * deviation / sqrt(n)
    smallest_change = t(n - 1) * deviation * sqrt(1/n + 1/pulls_after)
    """,
    source="Student's t, any statistics text",
    validity="pulls alike and independent; a steady rise with heat is not chance",
    slips=("one good pull believed",),
    question=_spread_question,
    example='--pulls "247; 249.5; 246 hp" --confidence "95 %"',
)
def repeat_spread(pulls: list[str], confidence: float, pulls_after: float | None) -> dict[str, float]:
    """Mean, deviation and smallest change that counts, in the unit of the pulls."""
    (values,) = in_one_unit(pulls)
    return spread_of(values, confidence, pulls_after)


def spread_of(pulls: list[float], confidence: float, pulls_after: float | None) -> dict[str, float]:
    """Mean, deviation and smallest change that counts of like ``pulls``, at least two."""
    n = len(pulls)
    if n < 2:
        raise ValueError("a spread needs two pulls at least, better three")
    _confident(confidence)
    mean, deviation = _mean_and_deviation(pulls)
    if mean == 0.0:
        raise ValueError("the mean is zero; shares of it mean nothing")
    t = student_t(confidence, n - 1)
    change = t * deviation * math.sqrt(1.0 / n + 1.0 / (pulls_after or n))
    return {
        "mean": mean,
        "deviation": deviation,
        "deviation_share": deviation / abs(mean),
        "spread": (max(pulls) - min(pulls)) / abs(mean),
        "band_of_mean": t * deviation / math.sqrt(n),
        "smallest_change": change,
        "smallest_change_share": change / abs(mean),
    }


def _change_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["counts"] == 0.0:
        return ["the difference is smaller than the repeat spread: more pulls, or no difference?"]
    return []


@register(
    "dyno",
    "Did the change help: two sets of pulls",
    inputs={
        "before": _PULLS,
        "after": Input("text", "the same figure after the change", many=True, unit="254 hp; 252 hp; 255.5 hp"),
        "confidence": _CONFIDENCE,
    },
    outputs={
        "mean_before": Output("number", "1", "mean before"),
        "mean_after": Output("number", "1", "mean after"),
        "difference": Output("number", "1", "after less before"),
        "difference_share": Output("share", "%", "the same over the mean before"),
        "band": Output("number", "1", "the difference is sure to plus or minus this"),
        "counts": Output("number", "1", "1 where the difference is larger than its band, else 0"),
        "confidence_of_change": Output("share", "%", "confidence that there is a difference at all"),
    },
    formula="""
    difference = mean_after - mean_before
    band = t * pooled deviation * sqrt(1/n_before + 1/n_after)
    """,
    source="Student's two-sample t with pooled deviation, any statistics text",
    validity="one change only between the sets; same gear, start temperature and weather correction",
    slips=("changing two things between pulls", "one pull before and one after"),
    question=_change_question,
    example='--before "247; 249.5; 246 hp" --after "254; 252; 255.5 hp"',
)
def change_against_spread(before: list[str], after: list[str], confidence: float) -> dict[str, float]:
    """Difference of two sets of pulls against their spread, in their unit."""
    first, second = in_one_unit(before, after)
    return change_of(first, second, confidence)


def change_of(before: list[float], after: list[float], confidence: float) -> dict[str, float]:
    """Difference of two sets of pulls against their spread; each set of at least two."""
    from scipy.special import stdtr

    if len(before) < 2 or len(after) < 2:
        raise ValueError("each set needs two pulls at least, better three")
    _confident(confidence)
    (m0, s0), (m1, s1) = _mean_and_deviation(before), _mean_and_deviation(after)
    n0, n1 = len(before), len(after)
    freedom = n0 + n1 - 2
    error = math.sqrt(((n0 - 1) * s0**2 + (n1 - 1) * s1**2) / freedom * (1.0 / n0 + 1.0 / n1))
    difference = m1 - m0
    band = student_t(confidence, freedom) * error
    sure = 2.0 * float(stdtr(freedom, abs(difference) / error)) - 1.0 if error > 0.0 else float(difference != 0.0)
    return {
        "mean_before": m0,
        "mean_after": m1,
        "difference": difference,
        "difference_share": difference / abs(m0) if m0 else 0.0,
        "band": band,
        "counts": float(abs(difference) > band),
        "confidence_of_change": sure,
    }
