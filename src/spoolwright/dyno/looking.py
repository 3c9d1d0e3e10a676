"""How the rules of the diagnosis look at a pull: channels as they are needed, levels, trends, places. No judgement."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from spoolwright.dyno.causes import Evidence
from spoolwright.dyno.measured import RPM, Measured
from spoolwright.dyno.slopes import smooth
from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

SEA_LEVEL = 101.325  # kPa, where the day's barometer is not known


def channel(pull: Measured, role: str) -> Floats | None:
    """A channel with at least ten readings, else None."""
    x = pull.channels.get(role)
    return x if x is not None and np.isfinite(x).sum() >= 10 else None


def family(pull: Measured, name: str) -> dict[str, Floats]:
    """Channels of one family (``head_temp_1``, ...) by role, in order of their numbers."""
    found = {}
    for role in sorted(pull.channels, key=lambda r: int(r.rsplit("_", 1)[1]) if r.rsplit("_", 1)[-1].isdigit() else 0):
        if re.fullmatch(rf"{name}(_\d+)?", role):
            x = channel(pull, role)
            if x is not None:
                found[role] = x
    return found


def boost(pull: Measured) -> Floats | None:
    """Boost [kPa above outside air], from the gauge channel or from the absolute one."""
    x = channel(pull, "boost_gauge")
    if x is not None:
        return x
    x = channel(pull, "manifold_abs")
    if x is None:
        return None
    outside = pull.air.barometer / 1e3 if pull.air.barometer is not None else SEA_LEVEL
    return x - outside


def mixture(pull: Measured) -> tuple[Floats, str] | None:
    """Lambda, else the displayed air-fuel ratio; and its role."""
    for role in ("lambda", "afr"):
        x = channel(pull, role)
        if x is not None:
            return x, role
    return None


def rpm(pull: Measured) -> Floats:
    """Engine speed [rpm], smoothed."""
    return np.asarray(pull.w / RPM)


def quiet(pull: Measured, x: Floats, bandwidth: float = 1.0) -> Floats:
    """``x`` smoothed where it is whole; holes are closed by straight lines for this purpose only and stay holes."""
    good = np.isfinite(x)
    if good.sum() < 10:
        return x
    filled = np.interp(pull.time, pull.time[good], x[good])
    step = float(np.median(np.diff(pull.time)))
    span = float(pull.time[-1] - pull.time[0])
    width = float(np.clip(bandwidth, 0.5 / span, 0.4 / step))
    try:
        value = smooth(pull.time, filled, width).value
    except BadInput:
        return x
    return np.where(good, value, np.nan)


def noise(pull: Measured, x: Floats) -> float:
    """Typical jump from sample to sample, as a standard deviation of one sample."""
    d = np.diff(x[np.isfinite(x)], n=2)
    return float(1.4826 * np.median(np.abs(d)) / np.sqrt(6.0)) if d.size else 0.0


def share(pull: Measured, low: float, high: float) -> NDArray[np.bool_]:
    """Samples within this share of the pull's time."""
    t = (pull.time - pull.time[0]) / max(float(pull.time[-1] - pull.time[0]), 1e-9)
    return np.asarray((t >= low) & (t <= high))


def level(x: Floats, where: NDArray[np.bool_]) -> float | None:
    """Median of ``x`` where asked; None where fewer than three readings are there."""
    y = x[where & np.isfinite(x)]
    return float(np.median(y)) if y.size >= 3 else None


def at(pull: Measured, x: Floats, index: int, role: str, unit: str, words: str) -> Evidence:
    """Evidence at one sample."""
    return Evidence(words, float(pull.time[index]), float(rpm(pull)[index]), role, float(x[index]), unit)


def first(where: NDArray[np.bool_], least: int = 3) -> int | None:
    """Where a condition first holds for ``least`` samples running."""
    count = 0
    for i, yes in enumerate(where.tolist()):
        count = count + 1 if yes else 0
        if count >= least:
            return i - least + 1
    return None


def over(value: float, usual: float, serious: float) -> float:
    """Strength 0..1: 0.25 at what is just beyond the usual, 1 where it is serious; 0 within the usual."""
    if (value - usual) * (serious - usual) <= 0.0:
        return 0.0
    return float(np.clip(0.25 + 0.75 * (value - usual) / (serious - usual), 0.0, 1.0))
