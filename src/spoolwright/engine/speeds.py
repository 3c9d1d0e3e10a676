"""Which engine speeds a pull runs: read from the text a user writes, or taken from the sheet's top speed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import floor, pi

from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet

SLOWEST, FASTEST = 300.0, 20000.0  # rpm, beyond which no engine of this kind runs
MOST_POINTS = 200
STEPS = (100.0, 250.0, 500.0, 1000.0, 2000.0)  # rpm, round steps to choose from
USUAL_POINTS = 11
THOUSANDS = re.compile(r"\d{1,2},\d{3}")  # "2,500" is one speed to its writer, and 2 and 500 to a list
EXAMPLE = "write for example 2000:7000:250 (first:last:step) or 2000,3500,5000"


def read_speeds(text: str) -> list[float]:
    """Speeds [rpm] from "first:last:step" or a list "2000,3500"; rising, each once, the last one included.

    Raises BadInput with one sentence: no number, backwards, no step, too many, no engine speed.
    """
    body = text.strip().removesuffix("rpm").strip()
    if THOUSANDS.fullmatch(body):
        raise BadInput(_said(text, "a comma parts the speeds of a list", "write thousands without a mark"))
    if ":" in body:
        found = _range(text, body.split(":"))
    else:
        found = [_number(text, part) for part in body.split(",")]
    if len(found) > MOST_POINTS:
        raise BadInput(_said(text, f"{len(found)} speeds are too many, {MOST_POINTS} at most", "write fewer of them"))
    check_speeds(found)
    return sorted(set(found))


def check_speeds(speeds_rpm: Sequence[float]) -> None:
    """Refuse speeds [rpm] that are not a pull. Raises BadInput."""
    if not speeds_rpm:
        raise BadInput(f"no speed is given; {EXAMPLE}")
    for n in speeds_rpm:
        if not SLOWEST <= n <= FASTEST:
            raise BadInput(f"speed {n:g} rpm is outside {SLOWEST:g} to {FASTEST:g} rpm; write engine speed in rpm")


def usual_speeds(sheet: Sheet) -> list[float]:
    """About ten speeds [rpm] from a third of ``limits.max_speed`` to it, in round steps."""
    top = round(sheet.value("limits.max_speed") * 30.0 / pi, 6)
    check_speeds([top])
    step = next((s for s in STEPS if top * 2.0 / 3.0 / s < USUAL_POINTS), STEPS[-1])
    first = max(floor(top / 3.0 / step) * step, step, SLOWEST)
    return read_speeds(f"{first}:{top}:{step}")


def _said(text: str, trouble: str, mend: str = EXAMPLE) -> str:
    return f'--rpm "{text}": {trouble}; {mend}'


def _number(text: str, part: str) -> float:
    try:
        return float(part)
    except ValueError:
        raise BadInput(_said(text, f'"{part.strip()}" is not a number')) from None


def _range(text: str, parts: list[str]) -> list[float]:
    if len(parts) != 3:
        raise BadInput(_said(text, f"{len(parts)} numbers stand between the colons, three are needed"))
    first, last, step = (_number(text, part) for part in parts)
    if not step > 0.0:
        raise BadInput(_said(text, f"the step is {step:g}, it must be above 0"))
    if not last >= first:
        raise BadInput(_said(text, f"it runs backwards from {first:g} to {last:g}", "write the lower speed first"))
    check_speeds([first, last])
    count = floor((last - first) / step + 1e-9) + 1
    if count > MOST_POINTS:
        raise BadInput(_said(text, f"{count} speeds are too many, {MOST_POINTS} at most", "write a larger step"))
    found = [first + i * step for i in range(count)]
    return found if last - found[-1] < 1e-6 * last else [*found, last]
