"""From channels to columns: evidence for the names, what the user confirmed, the clock in seconds, wanted units."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from spoolwright.dyno.log import Column, Flag, Repair
from spoolwright.dyno.readers import quantities
from spoolwright.dyno.readers.clock import Reading, guess_time_unit, read_clock, scale
from spoolwright.dyno.readers.memory import Confirmed
from spoolwright.dyno.readers.names import Evidence, Meaning, split_unit
from spoolwright.dyno.readers.resolve import Channel, list_blanks
from spoolwright.dyno.readers.settle import understand

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_DEAD: Final = (1372.0, 1371.0, 1373.0, 2501.0, 2501.6, 2502.0, 20.9, 9999.0, 999.9, 999.0, 32767.0, 65535.0, 9999.9)
_CODES: Final = (
    999.0,
    999.9,
    999.99,
    9999.0,
    9999.9,
    9999.99,
    99999.0,
    32767.0,
    32768.0,
    65534.0,
    65535.0,
    2147483647.0,
    4294967295.0,
)
_MOST = 4000


@dataclass(slots=True)
class Understood:
    """A channel with its column, values in the wanted unit (or texts), and what is to be said about it."""

    channel: Channel
    column: Column
    values: NDArray[np.float64] | None
    texts: dict[int, str] = field(default_factory=dict)


def evidence(channel: Channel, name: str, unit_text: str) -> Evidence:
    """What is known of a channel before its role; long channels are looked at in some thousand places."""
    import numpy as np

    found = Evidence(name, unit_text or channel.unit_behind, channel.kind == "numeric", empty=channel.kind == "empty")
    if channel.kind == "clock":
        first = next(iter(channel.texts.values()), "")
        found.clock, found.dated = ":" in first, bool(re.match(r"\W*\d{1,4}[-/.]\d{1,2}[-/.]\d", first))
        found.rising = True
        return found
    if channel.kind != "numeric":
        return found
    x = channel.values
    head = x[: _MOST // 2]
    some = x[:: max(1, x.size // _MOST)]
    some = some[np.isfinite(some)]
    if some.size == 0:
        found.empty = True
        return found
    least, most = float(some.min()) - 0.1, float(some.max()) + 0.1
    alive = some
    for dead in _DEAD:
        if least <= dead <= most:
            alive = alive[np.abs(alive - dead) > 0.06]
    some = alive if alive.size >= 0.05 * some.size and alive.size else some
    head = head[np.isfinite(head)]
    start = head[: max(3, min(head.size // 10, 50))]
    found.low, found.high = float(some.min()), float(some.max())
    found.start = float(np.median(start)) if start.size else found.low
    found.whole = bool(np.all(some == np.floor(some)))
    steps = np.diff(head)
    found.rising = bool(steps.size and (steps > 0.0).mean() > 0.85)
    if 99.0 <= found.high <= 101.0:
        found.flat_top = float((some == found.high).mean())
    return found


def columns_of(
    channels: list[Channel], names: list[str], unit_texts: list[str], confirmed: Confirmed, source: str
) -> tuple[list[Meaning], list[Evidence]]:
    """Meanings of all channels; what is confirmed has the last word."""
    known = [evidence(c, n, u) for c, n, u in zip(channels, names, unit_texts, strict=True)]
    meanings = understand(known)
    for index, (role, unit) in confirmed.items():
        meaning = meanings[index]
        if role is not None:
            for other in meanings:
                if other is not meaning and other.role == role:
                    other.role, other.reason = None, f'"{names[index]}" is confirmed as {role}'
        meaning.role = role
        if unit is not None:
            meaning.unit = quantities.read_unit(unit)
        elif role is not None and meaning.unit is not None and meaning.unit.dimension != quantities.dimension_of(role):
            meaning.unit = None
        meaning.reason, meaning.question = f"confirmed ({source})", ""
        if unit is not None:
            meaning.guessed = ""
    return meanings, known


def clock_column(channel: Channel, meaning: Meaning, name: str, lines: NDArray[np.int64], header_line: int | None,
                 repairs: list[Repair], flags: list[Flag]) -> tuple[NDArray[np.float64], str, str]:  # fmt: skip
    """(seconds, unit in the file, guessed unit) of the clock."""
    import numpy as np

    where = channel.field.lines if channel.field.lines is not None else lines
    if channel.kind == "clock":
        reading: Reading = read_clock(channel.texts, lines.size, channel.values)
        for row, text in channel.texts.items():
            if not np.isfinite(reading.seconds[row]):
                channel.missing += 1
                repairs.append(
                    Repair(int(where[row]), name, "no value", text, "", "no time in a column of times", int(where[row]))
                )
        channel.missing += int(channel.field.blanks().size)
        list_blanks(channel.field.blanks(), where, name, repairs)
        carried = "the clock passed midnight or the full hour here"
        repairs.extend(Repair(int(where[row]), name, "clock carried on", "", "", carried) for row in reading.wraps)
        why = f"written as {reading.notation}" + (f", day of {reading.date}" if reading.date else "")
        repairs.append(Repair(header_line, name, "clock read", reading.notation, "s", why))
        return reading.seconds, reading.notation, ""
    t = channel.values
    unit, guessed = "", ""
    if meaning.unit is not None and meaning.unit.dimension == "time" and meaning.unit.registry != "clock":
        unit = meaning.unit.name
        if unit == "s" and t.size and np.isfinite(t[0]) and 5e11 <= t[0] <= 5e12:
            unit = "ms"
    else:
        unit, why = guess_time_unit(t[: _MOST // 2])
        guessed = unit
        meaning.guess_why = why
        if "1970" not in why:
            meaning.question = meaning.question or f'is "{name}" in {unit}?'
    if unit == "day" and guessed and t.size and np.isfinite(t).any():
        first = float(np.floor(t[np.isfinite(t)][0]))
        t = t - first
        repairs.append(
            Repair(header_line, name, "whole days taken off", f"{first:g}", "0", "seconds of the first day are kept")
        )
    factor = scale(unit)
    if factor != 1.0:
        t = t / factor if factor > 1.0 else t * round(1.0 / factor)
        repairs.append(Repair(header_line, name, "unit converted", unit, "s", f"x {1.0 / factor:g}"))
    return t, unit, guessed


def convert(
    channel: Channel, meaning: Meaning, name: str, header_line: int | None, repairs: list[Repair]
) -> tuple[NDArray[np.float64], str, bool]:
    """(values, unit they are in, whether that is the wanted one) of a numeric channel."""
    import numpy as np

    role, unit, x = meaning.role, meaning.unit, channel.values
    if role is None or unit is None:
        return x, unit.name if unit else "as in file", False
    dimension = quantities.dimension_of(role)
    wanted = quantities.wanted_unit(role)
    if dimension == "text":
        return x, "1", True
    if dimension == "share" and unit.dimension == "ratio":
        repairs.append(Repair(header_line, name, "unit converted", "1", "%", "x 100"))
        return x * 100.0, wanted, True
    if unit.dimension != dimension:
        return x, unit.name, False
    slope, offset = quantities.conversion(unit.registry, dimension)
    if unit.below:
        low, _ = quantities.conversion(unit.below, dimension)
        repairs.append(
            Repair(header_line, name, "unit converted", unit.name, wanted, f"x {slope:g} above zero, x {low:g} below")
        )
        return np.where(x < 0.0, x * low, x * slope), wanted, True
    if slope == 1.0 and offset == 0.0:
        return x, wanted, True
    inverse = 1.0 / slope
    # Dividing by a whole number is exact where multiplying by its inverse is not (1.1 kPa from 11 hPa).
    if offset == 0.0 and inverse > 1.0 and abs(inverse - round(inverse)) < 1e-9:
        y = x / round(inverse)
    else:
        y = (x + offset) * slope
    how = f"{'less' if offset < 0.0 else 'plus'} {abs(offset):g}, then x {slope:g}" if offset else f"x {slope:g}"
    repairs.append(Repair(header_line, name, "unit converted", unit.name, wanted, how))
    return y, wanted, True


def codes_for_missing(x: NDArray[np.float64], raw: NDArray[np.float64], role: str) -> NDArray[np.int64]:
    """Rows that hold a code such as 9999 or 65535 where ``role`` cannot be so large."""
    import numpy as np

    limits = quantities.possible(role)
    if limits is None or not (np.nanmax(x, initial=-np.inf) > limits[1]):
        return np.empty(0, dtype=np.int64)
    return np.flatnonzero((x > limits[1]) & np.isin(raw, _CODES))


def unit_words(meaning: Meaning, kind: str, guessed: str) -> str:
    """The unit of a column for the report: as written, or "not given" with the guess."""
    if kind == "text" or (meaning.role in ("remark", "date") and kind != "numeric"):
        return "text"
    if guessed:
        why = meaning.guess_why
        return f"not given ({guessed} fits: {why})" if "would have" in why else f"not given ({guessed} fits)"
    if meaning.unit is not None:
        return meaning.unit.name
    return "not given"


def display_name(raw: str) -> str:
    """Name of a column as the file has it, blanks trimmed."""
    return re.sub(r"\s+", " ", raw).strip()


def bare_name(name: str) -> str:
    """Name without its unit."""
    return split_unit(name)[0]
