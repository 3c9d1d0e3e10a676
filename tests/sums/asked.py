"""Asking a sum as a user would: inputs as text, the answer in a stated unit, questions as one text."""

from __future__ import annotations

from typing import Any

from spoolwright import units
from spoolwright.sums.evaluate import Answer, evaluate


def ask(name: str, /, **given: Any) -> Answer:
    return evaluate(name, given)


def value(answer: Answer, result: str, unit: str = "1", at: int | None = None) -> float:
    got = answer.results[result]
    got = got if at is None else got[at]
    return got if unit == "1" else units.convert(got, answer.sum.outputs[result].kind, unit)


def questions(answer: Answer) -> str:
    return "\n".join(answer.questions)


def results(name: str, /, **given: Any) -> dict[str, Any]:
    return dict(evaluate(name, given).results)


def asks(answer: Answer, *words: str) -> bool:
    """Whether one question of the answer holds all of ``words``."""
    return any(all(word in question for word in words) for question in answer.questions)
