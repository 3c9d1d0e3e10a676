"""The clock: any notation to seconds.

Minutes and seconds, hours, time of day (also with AM and PM), date and time, days of a spreadsheet, seconds or
milliseconds since 1970. A clock keeps where it starts: 512.4 s stays 512.4 s, 13:05:00 becomes 47100 s of that day.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_PARTS = re.compile(
    r"(?P<sign>-)?(?P<a>\d{1,4}):(?P<b>\d{1,2})(?::(?P<c>\d{1,3}))?(?::(?P<d>\d{1,6}))?(?:[.,](?P<f>\d+))?\s?(?P<half>[AaPp])?\.?\s?(?:[Mm]\.?)?"
    r"(?:\s?(?:Z|UTC|[+-]\d{2}:?\d{2}))?"
)
_WORDED = re.compile(
    r"(?:(?P<h>\d+)\s?h\s?)?(?:(?P<m>\d+)\s?(?:m|min|'|′)\s?)?(?P<s>\d+(?:[.,]\d+)?)?\s?(?:s|sec|\"|″)?", re.IGNORECASE
)
_DATED = re.compile(
    r"(?P<y>\d{1,4})(?P<mark>[-/.])(?P<m>\d{1,2})(?P=mark)(?P<d>\d{1,4})"
    r"(?:[T ,]+(?P<clock>\d{1,2}:\d{1,2}.*))?(?:\s?Z)?"
)
_DAY = 86400.0


class Reading(NamedTuple):
    """Seconds of each cell (nan where no time), the notation, the unit name for the report, and the date if any."""

    seconds: NDArray[np.float64]
    notation: str
    date: str
    wraps: list[int]


def parts(cell: str) -> tuple[float, str] | None:
    """Seconds and notation (m:s, h:m:s, time of day) of a cell with colons; None where it is none."""
    match = _PARTS.fullmatch(cell.strip().strip("\"'").strip())
    if match is None:
        return None
    a, b = int(match["a"]), int(match["b"])
    c, d, f = match["c"], match["d"], match["f"]
    fraction = float("0." + f) if f else 0.0
    if c is None:
        if b >= 60:
            return None
        if match["half"]:
            seconds, notation = _half(a, match["half"]) * 3600.0 + b * 60.0 + fraction, "time of day"
        else:
            seconds, notation = a * 60.0 + b + fraction, "m:s"
    elif d is None and len(c) == 3 and not f and b < 60:
        seconds, notation = a * 60.0 + b + int(c) / 1000.0, "m:s:ms"
    else:
        if b >= 60 or int(c) >= 61:
            return None
        hours = _half(a, match["half"]) if match["half"] else a
        if d:
            fraction = float("0." + d.rjust(3, "0")) if len(d) <= 3 else float("0." + d)
        seconds = hours * 3600.0 + b * 60.0 + int(c) + fraction
        notation = "time of day" if match["half"] else "h:m:s"
    return (-seconds if match["sign"] else seconds), notation


def _half(hours: int, half: str) -> int:
    return hours % 12 + (12 if half.lower() == "p" else 0)


def dated(cell: str, day_first: bool) -> tuple[int, float] | None:
    """(day number, seconds of that day) of a cell with a date; None where it is none."""
    match = _DATED.fullmatch(cell.strip().strip("\"'").strip())
    if match is None:
        return None
    y, m, d = int(match["y"]), int(match["m"]), int(match["d"])
    if len(match["y"]) != 4:
        if match["mark"] == "." or day_first:
            y, m, d = d, m, y
        else:
            y, m, d = d, y, m
        if m > 12 >= d:
            m, d = d, m
        if y < 100:
            y += 2000
    try:
        day = date(y, m, d).toordinal()
    except ValueError:
        return None
    if match["clock"] is None:
        return day, 0.0
    clock = parts(match["clock"])
    if clock is None:
        return None
    seconds, notation = clock
    if notation == "m:s":
        seconds *= 60.0
    elif notation == "m:s:ms":
        return None
    return day, seconds


def day_first(cells: Sequence[str]) -> bool:
    """Whether slashed dates put the day first: some first number above 12 says so."""
    for cell in cells:
        match = _DATED.match(cell.strip().strip("\"'"))
        if match and len(match["y"]) <= 2 and int(match["y"]) > 12:
            return True
    return False


def is_clock(cell: str) -> bool:
    """True for a time written with colons, or minutes and seconds with their signs."""
    return parts(cell) is not None or _worded(cell) is not None


def is_dated(cell: str) -> bool:
    """True for a date, with or without a time of day."""
    return dated(cell, True) is not None


def _worded(cell: str) -> float | None:
    text = cell.strip().strip('"') if cell.count('"') == 2 else cell.strip()
    match = _WORDED.fullmatch(text)
    if match is None or (match["h"] is None and match["m"] is None):
        return None
    second = float(match["s"].replace(",", ".")) if match["s"] else 0.0
    return 3600.0 * int(match["h"] or 0) + 60.0 * int(match["m"] or 0) + second


def read_clock(cells: dict[int, str], rows: int, values: NDArray[np.float64]) -> Reading:
    """Seconds of a written clock. ``cells``: the texts by row; ``values``: what was a plain number already."""
    import numpy as np

    seconds = np.full(rows, np.nan)
    first_day: int | None = None
    notations: dict[str, int] = {}
    has_dates = any(is_dated(c) for c in list(cells.values())[:20])
    european = day_first(list(cells.values())[:5000]) if has_dates else True
    for row, cell in cells.items():
        if has_dates:
            found = dated(cell, european)
            if found is not None:
                first_day = found[0] if first_day is None else first_day
                seconds[row] = (found[0] - first_day) * _DAY + found[1]
                notations["date and time"] = notations.get("date and time", 0) + 1
                continue
        clock = parts(cell)
        if clock is not None:
            seconds[row] = clock[0]
            notations[clock[1]] = notations.get(clock[1], 0) + 1
            continue
        worded = _worded(cell)
        if worded is not None:
            seconds[row] = worded
            notations["m:s"] = notations.get("m:s", 0) + 1
    # A clock of m:s may count plain seconds below one minute ("59.9", then "1:00.0").
    plain = np.isfinite(values)
    if notations and plain.any():
        seconds[plain] = values[plain]
    notation = max(notations, key=lambda n: notations[n]) if notations else ""
    wraps = _unwrap(seconds) if notation in ("h:m:s", "time of day", "m:s", "m:s:ms") else []
    written = date.fromordinal(first_day).isoformat() if first_day else ""
    return Reading(seconds, notation, written, wraps)


def _unwrap(seconds: NDArray[np.float64]) -> list[int]:
    """Carry the clock over midnight (or over the hour of an m:s clock); returns the rows where it was carried."""
    import numpy as np

    good = np.flatnonzero(np.isfinite(seconds))
    if good.size < 2:
        return []
    t = seconds[good]
    falls = np.flatnonzero(np.diff(t) < 0.0)
    wraps = []
    for at in falls:
        for period in (3600.0, _DAY):
            if t[at] < period and t[at] > 0.99 * period and t[at + 1] < 0.01 * period:
                seconds[good[at + 1] :] += period
                t = seconds[good]
                wraps.append(int(good[at + 1]))
                break
    return wraps


def guess_time_unit(t: NDArray[np.float64]) -> tuple[str, str]:
    """(unit, why) for a clock of plain numbers without a unit: the unit in which samples lie 0.5 ms to 2 s apart."""
    import numpy as np

    good = t[np.isfinite(t)]
    if good.size == 0:
        return "s", "nothing to judge by"
    first = float(good[0])
    for unit, low, high in (("s", 5e8, 5e9), ("ms", 5e11, 5e12), ("us", 5e14, 5e15), ("ns", 5e17, 5e18)):
        if low <= first <= high:
            return unit, "seconds since 1970" if unit == "s" else f"{unit} since 1970"
    steps = np.diff(good)
    steps = steps[steps > 0.0]
    if steps.size == 0:
        return "s", "nothing to judge by"
    step = float(np.median(steps))
    if 20000.0 < first < 80000.0 and step < 1e-3:
        return "day", "days of a spreadsheet"
    whole = bool(np.all(good == np.floor(good)))
    for unit, factor in (("s", 1.0), ("ms", 1e-3), ("us", 1e-6), ("min", 60.0), ("h", 3600.0)):
        high = 2.0 if unit != "s" or not whole else 1.0
        if 4e-4 <= step * factor <= high:
            return unit, f"{unit} fits"
    return "s", "no unit gives a usual sample step"


def scale(unit: str) -> float:
    """What to divide a plain clock by to get seconds (above 1) or 1/that; exact where it can be."""
    return {"s": 1.0, "ms": 1e3, "us": 1e6, "ns": 1e9, "min": 1 / 60.0, "h": 1 / 3600.0, "day": 1 / _DAY}.get(
        unit, math.nan
    )
