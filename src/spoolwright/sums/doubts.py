"""Questions on inputs that are possible but not plausible: out of range, or one of a row with its point slipped."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from spoolwright import units
from spoolwright.sums.registry import Input
from spoolwright.units import Quantity


def plausible_range(spec: Input) -> tuple[float | None, float | None]:
    """The plausible bounds of an input in SI, None where it is open."""
    low = units.parse(spec.low, spec.kind).value if spec.low else None
    high = units.parse(spec.high, spec.kind).value if spec.high else None
    return low, high


def implausible(key: str, spec: Input, value: Any) -> list[str]:
    """Questions on an input outside its plausible range, each with the likely reason."""
    if value is None or spec.kind in ("choice", "curve", "money", "text"):
        return []
    if isinstance(value, tuple):
        labelled = [(f"{key}[{n}]", q) for n, q in enumerate(value, start=1)]
        questions = [q for label, one in labelled for q in implausible(label, spec, one)]
        return questions + odd_ones(key, value)
    low, high = plausible_range(spec)
    below, above = low is not None and value.value < low, high is not None and value.value > high
    if not (below or above):
        return []
    slips = units.likely_slips(value, -math.inf if low is None else low, math.inf if high is None else high)
    reason = "; ".join(slips) if slips else "check the value and its unit"
    bound = f"below {spec.low}" if below else f"above {spec.high}"
    return [f'{key}: "{value.text}" is {bound}, the usual limit for {spec.meaning}; {reason}?']


def odd_ones(key: str, values: Sequence[Quantity]) -> list[str]:
    """A likely slip of the decimal point in a row of like measurements."""
    if len(values) < 3:
        return []
    questions = []
    for n, one in enumerate(values, start=1):
        others = sorted(q.value for m, q in enumerate(values, start=1) if m != n)
        middle = others[len(others) // 2]
        if middle == 0 or one.value == 0 or others[0] <= 0:
            continue
        # Both middles of an even number must agree, or one slip would accuse the sound values.
        ratios = [abs(one.value / q) for q in (middle, others[(len(others) - 1) // 2])]
        if any(all(abs(math.log10(ratio) - shift) < 0.15 for ratio in ratios) for shift in (-2, -1, 1, 2)):
            questions.append(
                f'{key}[{n}]: "{one.text}" against about {units.show(middle, one.kind, _unit(one))}: decimal point?'
            )
    return questions


def _unit(quantity: Quantity) -> str | None:
    return quantity.unit if quantity.unit not in ("scfm", "AFR") else None
