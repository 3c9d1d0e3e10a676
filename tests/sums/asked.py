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
