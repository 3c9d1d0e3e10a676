"""Dead sensors told from engine faults: what a broken or cold sensor writes looks like a reading, but is none.

Free air (20.9 % oxygen read as an air-fuel ratio), the upper end of a type-K thermocouple (1372 degC, IEC 60584-1; an
open one is driven there), a channel that does not move while its neighbours do, one cut off at the end of its range.
A value no engine can show is left out of the table and listed; a stuck or clipped channel is kept and marked, because
it may have been true for a while. Limits of run length and size are common practice, no source.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

TYPE_K_END: Final = 1372.0  # degC; IEC 60584-1:2013 table range -270 to 1372
OPEN_ENDS: Final = (
    1372.0,
    1370.0,
    1371.0,
    1373.0,
    1768.0,
    1820.0,
    1023.75,
    1024.0,
    2000.0,
)  # degC; type K, S, B; 12-bit converter at 0.25
FREE_AIR: Final = 20.9
_OPEN_LOW: Final = (-40.0, -50.0, -55.0, -60.0, -100.0, -200.0, -270.0, -273.0, -273.15)
_MUST_MOVE: Final = (
    "engine_speed",
    "boost_gauge",
    "manifold_abs",
    "lambda",
    "afr",
    "equivalence_ratio",
    "roller_speed",
    "turbo_speed",
)
_MAY_STAND: Final = ("throttle", "load", "gear", "barometer", "marker", "spark_advance", "time", "knock")


class Suspect(NamedTuple):
    """Cells of ``role`` that a dead sensor wrote; ``blank`` where they are left out of the table."""

    role: str
    cells: NDArray[np.bool_]
    flag: str
    sentence: str
    blank: bool


def examine(
    channels: Mapping[str, NDArray[np.float64]], segment: NDArray[np.int64], quanta: Mapping[str, float]
) -> list[Suspect]:
    """Suspect cells of the channels (wanted units, nan where missing), rows in their final order.

    ``quanta`` holds the last place each channel was written with, in the wanted unit.
    """
    found: list[Suspect] = []
    clean = dict(channels)
    for role, x in channels.items():
        family = re.sub(r"_\d+$", "", role)
        suspect = None
        if family in ("afr", "lambda"):
            suspect = _free_air(role, x, segment)
        elif family.endswith("_temp"):
            suspect = _open_thermocouple(role, family, x)
        if suspect is not None:
            found.append(suspect)
            import numpy as np

            clean[role] = np.where(suspect.cells, np.nan, x)
    for role, x in clean.items():
        suspect = _stuck(role, x, clean, segment) or _clipped(role, x, quanta.get(role, 0.0))
        if suspect is not None:
            found.append(suspect)
    return found


def _runs(x: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Starts and lengths of runs of equal values (a nan is a run of its own)."""
    import numpy as np

    if x.size == 0:
        return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    starts = np.flatnonzero(np.concatenate([[True], x[1:] != x[:-1]]))
    return starts, np.diff(np.append(starts, x.size))


def _free_air(role: str, x: NDArray[np.float64], segment: NDArray[np.int64]) -> Suspect | None:
    import numpy as np

    cells = np.zeros(x.size, dtype=bool)
    finite = np.isfinite(x)
    if not finite.any():
        return None
    if role == "afr":
        cells = np.abs(x - FREE_AIR) < 0.06
        if cells.sum() < 2:
            cells[:] = False
    # A cold sensor holds one far-lean value from the start of the run until it wakes.
    limit = 18.0 if role == "afr" else 1.25
    edges = np.flatnonzero(np.diff(segment, prepend=-1))
    top = float(np.nanmax(x))
    for start in edges:
        value = x[start]
        if not np.isfinite(value) or value < limit or value < top:
            continue
        stop = start
        while stop < x.size and segment[stop] == segment[start] and x[stop] == value:
            stop += 1
        if stop - start >= 3:
            cells[start:stop] = True
    if not cells.any():
        return None
    shown = float(x[np.flatnonzero(cells)[0]])
    words = f"{role} reads {shown:g} in {int(cells.sum())} rows: free air or a sensor not yet warm, not a mixture"
    return Suspect(role, cells, "sensor_not_ready", words, True)


def _open_thermocouple(role: str, family: str, x: NDArray[np.float64]) -> Suspect | None:
    import numpy as np

    low, high = np.nanmin(x, initial=np.inf), np.nanmax(x, initial=-np.inf)
    if not (high > 1000.0 or low <= -40.0):
        return None
    cells = np.zeros(x.size, dtype=bool)
    for end in OPEN_ENDS:
        at_end = np.abs(x - end) < 0.6
        least = 1 if abs(end - TYPE_K_END) <= 2.0 or family != "exhaust_temp" else 3
        if at_end.sum() >= least:
            cells |= at_end
    if cells.any():
        shown, rows = float(x[np.flatnonzero(cells)[0]]), int(cells.sum())
        words = f"{role} reads {shown:.0f} degC in {rows} rows: the end of a thermocouple's range, an open circuit"
        return Suspect(role, cells, "open_thermocouple", words, True)
    for end in _OPEN_LOW:
        at_end = np.abs(x - end) < 0.3
        if at_end.sum() >= 3:
            cells |= at_end
    if cells.any():
        shown, rows = float(x[np.flatnonzero(cells)[0]]), int(cells.sum())
        words = f"{role} reads {shown:.0f} degC in {rows} rows: the lower end of its range, an open or shorted circuit"
        return Suspect(role, cells, "open_sensor", words, True)
    return None


def _resolution(x: NDArray[np.float64]) -> float:
    import numpy as np

    steps = np.abs(np.diff(x[np.isfinite(x)][:5000]))
    steps = steps[steps > 1e-12]
    return float(steps.min()) if steps.size else 0.0


def _stuck(
    role: str, x: NDArray[np.float64], all_: Mapping[str, NDArray[np.float64]], segment: NDArray[np.int64]
) -> Suspect | None:
    """A channel that stands still over a whole segment (or its later part) while its neighbours move."""
    import numpy as np

    family = re.sub(r"_\d+$", "", role)
    if family in _MAY_STAND:
        return None
    siblings = [k for k in all_ if k != role and re.sub(r"_\d+$", "", k) == family and k != family]
    if not siblings and family not in _MUST_MOVE:
        return None
    cells = np.zeros(x.size, dtype=bool)
    bounds = np.flatnonzero(np.diff(segment, prepend=-1, append=-1))
    for lo, hi in itertools.pairwise(bounds.tolist()):
        part = x[lo:hi]
        good = part[np.isfinite(part)]
        if good.size < 15:
            continue
        if good.min() == good.max():
            if siblings:
                moved = _moved(all_, siblings, lo, hi)
                still = moved >= 0.5
            else:
                speed = all_.get("engine_speed", all_.get("roller_speed"))
                other = (
                    speed[lo:hi]
                    if speed is not None and family != "engine_speed"
                    else all_.get("boost_gauge", all_.get("manifold_abs"))
                )
                if other is None:
                    continue
                other = other if other.size == part.size else other[lo:hi]
                rest = other[np.isfinite(other)]
                still = bool(rest.size and rest.max() - rest.min() > 0.2 * max(abs(float(rest.max())), 1e-9))
                if family == "boost_gauge" and abs(float(good[0])) < 2.0:
                    still = False  # no boost at all is a reading
            if still:
                cells[lo:hi] = np.isfinite(part)
        elif siblings:
            _frozen_part(x, all_, siblings, lo, hi, cells)
    if not cells.any():
        return None
    words = f"{role} does not move in {int(cells.sum())} rows while its neighbours do: stuck"
    return Suspect(role, cells, "stuck_sensor", words, False)


def _moved(all_: Mapping[str, NDArray[np.float64]], siblings: list[str], lo: int, hi: int) -> float:
    import numpy as np

    count = 0
    for name in siblings:
        part = all_[name][lo:hi]
        part = part[np.isfinite(part)]
        if part.size and part.max() - part.min() >= max(2.0, 8.0 * _resolution(all_[name])):
            count += 1
    return count / len(siblings)


def _frozen_part(
    x: NDArray[np.float64],
    all_: Mapping[str, NDArray[np.float64]],
    siblings: list[str],
    lo: int,
    hi: int,
    cells: NDArray[np.bool_],
) -> None:
    import numpy as np

    starts, lengths = _runs(x[lo:hi])
    at = int(np.argmax(lengths))
    longest = int(lengths[at])
    if longest < max(12, 0.25 * (hi - lo)) or not np.isfinite(x[lo + starts[at]]):
        return
    a = lo + int(starts[at])
    rival = max(int(_runs(all_[s][a : a + longest])[1].max()) for s in siblings)
    if longest > 4 * rival and _moved(all_, siblings, a, a + longest) >= 0.5:
        cells[a : a + longest] = True


def _clipped(role: str, x: NDArray[np.float64], quantum: float) -> Suspect | None:
    """A flat top entered at full slope: the channel ran into the end of its range."""
    import numpy as np

    family = re.sub(r"_\d+$", "", role)
    if (
        family in _MAY_STAND
        or family in ("engine_speed", "fuel_flow", "battery_voltage", "pump_voltage")
        or x.size < 12
    ):
        return None
    good = np.flatnonzero(np.isfinite(x))
    if good.size < 12:
        return None
    v = x[good]
    span = float(v.max() - v.min())
    if span < 20.0 * quantum or span == 0.0:
        return None
    for side, end in ((1.0, float(v.max())), (-1.0, float(v.min()))):
        at = v == end
        if at.sum() < 6:
            continue
        starts, lengths = _runs(v)
        longest = int(np.argmax(np.where(at[starts], lengths, 0)))
        first, run = int(starts[longest]), int(lengths[longest])
        if run < 6 or first < 5 or at.sum() > 0.9 * v.size:
            continue
        # The step into the flat part may be a broken one; the three before it must run at full slope.
        rise = side * np.diff(v[first - 4 : first])
        steepest = float((side * np.diff(v)).max())
        if float(rise.min()) > 3.0 * quantum and float(np.median(rise)) >= 0.35 * steepest:
            cells = np.zeros(x.size, dtype=bool)
            cells[good[at]] = True
            words = f"{role} stands at {end:g} in {int(at.sum())} rows after a steep rise: the end of its range"
            return Suspect(role, cells, "clipped_sensor", words, False)
    return None
