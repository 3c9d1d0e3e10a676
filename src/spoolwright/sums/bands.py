"""The bands of results from the spread of inputs.

Contributions of the inputs (and of each value of a list or curve) one at a time, combined root-sum-square: first
order, valid while the spreads are small.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from spoolwright.errors import BadInput
from spoolwright.sums.reading import plain_value
from spoolwright.units import Quantity

Band = tuple[float, float]  # how far a result may lie below and above, SI


def _varied(read: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Each input with a spread at both ends of it, as (name, plain value with one number moved)."""
    for key, value in read.items():
        if isinstance(value, Quantity):
            yield from ((key, end) for end in _ends(value))
        elif isinstance(value, tuple):
            plain = plain_value(value)
            for n, one in enumerate(value):
                if isinstance(one, str):
                    continue
                if isinstance(one, Quantity):
                    moved: list[Any] = list(_ends(one))
                else:
                    moved = [(end, plain[n][1]) for end in _ends(one[0])] + [(plain[n][0], e) for e in _ends(one[1])]
                for new in moved:
                    yield key, [*plain[:n], new, *plain[n + 1 :]]


def _ends(quantity: Quantity) -> tuple[float, ...]:
    if quantity.kind == "money" or (quantity.minus == 0.0 and quantity.plus == 0.0):
        return ()
    return quantity.value - quantity.minus, quantity.value + quantity.plus


def spread_bands(
    do: Callable[[Mapping[str, Any]], dict[str, Any]], read: Mapping[str, Any], results: Mapping[str, Any]
) -> dict[str, Band | list[Band]]:
    """How far each of ``results`` may lie below and above, SI, where the inputs ``read`` carry a spread.

    ``do`` gives the results for plain SI inputs. Raises BadInput where it has no answer at the end of a spread.
    """
    plain = {key: plain_value(value) for key, value in read.items()}
    squares: dict[str, list[list[float]]] = {}
    for key, changed in _varied(read):
        try:
            moved = do({**plain, key: changed})
        except BadInput as fault:
            raise BadInput(f"{key}: at the end of its spread there is no answer: {fault}") from None
        for name, new in moved.items():
            before, after = _numbers(results[name]), _numbers(new)
            if len(before) != len(after):
                continue
            pairs = squares.setdefault(name, [[0.0, 0.0] for _ in before])
            for pair, old, now in zip(pairs, before, after, strict=True):
                pair[0 if now < old else 1] += (now - old) ** 2
    roots = {name: [(math.sqrt(low), math.sqrt(high)) for low, high in pairs] for name, pairs in squares.items()}
    return {n: pairs if isinstance(results[n], list) else pairs[0] for n, pairs in roots.items() if pairs}


def _numbers(value: Any) -> list[float]:
    if isinstance(value, list):
        return value if all(isinstance(v, float) for v in value) else []
    return [value] if isinstance(value, float) else []
