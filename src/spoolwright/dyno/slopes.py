"""Slopes of measured speeds, with their bandwidth and their spread.

The derivative of a measured speed must be regularised, and how much decides the curve, so the bandwidth is stated with
every result. Used here: penalised least squares, the samples against their third differences (Whittaker, Proc. Edinb.
Math. Soc. 41 (1922) 63; Eilers, Anal. Chem. 75 (2003) 3631; both from memory). Its gain at frequency f is
1 / (1 + (sqrt 2 - 1) (sin(pi f h) / sin(pi fc h))^6) for samples h apart: flat below the bandwidth fc, steep above. The
slope of any quadratic comes out exactly, at the ends too; a bend quicker than about 1/(2 fc) is flattened.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

DEFAULT_BANDWIDTH: Final = 1.0  # Hz; lower flattens the rise of a turbocharged pull, higher shows the noise
_EVEN: Final = 0.02  # steps that differ by less count as even where only a spread is wanted
_LARGEST_EXACT: Final = 600  # samples; longer records take the spread of their middle from a shorter one


@dataclass(frozen=True, slots=True)
class Derivative:
    """Smoothed values, their slope, and the standard deviation of the slope.

    ``noise``: standard deviation of the samples about the smooth curve. ``bandwidth`` [Hz]: where the gain is 3 dB low.
    """

    value: NDArray[np.float64]
    slope: NDArray[np.float64]
    slope_spread: NDArray[np.float64]
    noise: float
    bandwidth: float


@dataclass(frozen=True, slots=True)
class Smoothed:
    """Smoothed values and their standard deviation; ``noise`` [samples] and ``bandwidth`` as in Derivative."""

    value: NDArray[np.float64]
    spread: NDArray[np.float64]
    noise: float
    bandwidth: float


def differentiate(t: NDArray[np.float64], x: NDArray[np.float64], bandwidth: float = DEFAULT_BANDWIDTH) -> Derivative:
    """Smooth ``x`` and its slope over ``t`` [s] at ``bandwidth`` [Hz].

    Raises BadInput for fewer than eight samples, times that do not rise, missing values (fill nothing, cut the record
    instead), a bandwidth above what the sampling carries or below what the record is long enough for.
    """
    t, x, step = _checked(t, x, bandwidth)
    stiffness = _stiffness(bandwidth, step)
    value = _smooth(t, x, stiffness, step)
    slope = np.gradient(value, t, edge_order=2)
    gains = _gains(t, stiffness, step)
    noise = float(np.sqrt(np.mean((x - value) ** 2) / gains.freedom))
    return Derivative(value, slope, noise * gains.slope, noise, bandwidth)


def smooth(t: NDArray[np.float64], x: NDArray[np.float64], bandwidth: float = DEFAULT_BANDWIDTH) -> Smoothed:
    """Smooth ``x`` over ``t`` [s] at ``bandwidth`` [Hz]. Raises BadInput as :func:`differentiate`."""
    t, x, step = _checked(t, x, bandwidth)
    stiffness = _stiffness(bandwidth, step)
    value = _smooth(t, x, stiffness, step)
    gains = _gains(t, stiffness, step)
    noise = float(np.sqrt(np.mean((x - value) ** 2) / gains.freedom))
    return Smoothed(value, noise * gains.value, noise, bandwidth)


def _stiffness(bandwidth: float, step: float) -> float:
    return (math.sqrt(2.0) - 1.0) / (2.0 * math.sin(math.pi * bandwidth * step)) ** 6


def _checked(
    t: NDArray[np.float64], x: NDArray[np.float64], bandwidth: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Time, samples and the usual step between them [s]."""
    t, x = np.asarray(t, dtype=np.float64), np.asarray(x, dtype=np.float64)
    if t.size != x.size or t.size < 8:
        raise BadInput(f"a slope needs at least 8 samples of time and value; there are {min(t.size, x.size)}")
    if not (np.isfinite(t).all() and np.isfinite(x).all()):
        raise BadInput("a slope cannot be taken across missing values; cut the pull there")
    steps = np.diff(t)
    if not (steps > 0.0).all():
        raise BadInput("times must rise from sample to sample; read the log first, so that its clock is put right")
    step = float(np.median(steps))
    low, high = 0.5 / float(t[-1] - t[0]), 0.4 / step
    if not low <= bandwidth <= high:
        raise BadInput(
            f"a bandwidth of {bandwidth:g} Hz does not suit a record of {t[-1] - t[0]:.3g} s with a sample every "
            f"{step:.3g} s; take {low:.3g} to {high:.3g} Hz"
        )
    return t, x, step


def _penalty(t: NDArray[np.float64], step: float) -> NDArray[np.float64]:
    """Third differences as bands (4, n-3), by divided differences so that uneven samples count by their place."""
    u = t / step
    rows = []
    for k in range(4):
        product = np.ones(u.size - 3)
        for m in range(4):
            if m != k:
                product *= u[k : u.size - 3 + k] - u[m : u.size - 3 + m]
        rows.append(6.0 / product)
    return np.asarray(rows)


def _smooth(t: NDArray[np.float64], x: NDArray[np.float64], stiffness: float, step: float) -> NDArray[np.float64]:
    """Solve (1 + stiffness D'D) z = x with D the third differences, as a banded system. ``x`` (n,) or (n, m)."""
    from scipy.linalg import solveh_banded

    d = _penalty(t, step)
    n = t.size
    bands = np.zeros((4, n))
    bands[0] = 1.0
    for a in range(4):
        for b in range(a, 4):
            bands[b - a, a : n - 3 + a] += stiffness * d[a] * d[b]
    # The fit passes any quadratic unchanged, so a straight line taken off first costs nothing and keeps digits.
    line = np.polynomial.polynomial.polyfit(t - t[0], x, 1)
    trend = np.polynomial.polynomial.polyval(t - t[0], line).T.reshape(np.shape(x))
    return np.asarray(trend + solveh_banded(bands, x - trend, lower=True, check_finite=False))


@dataclass(frozen=True, slots=True)
class _Gains:
    """For unit noise in the samples: standard deviation of value and slope; share of samples left to judge noise by."""

    value: NDArray[np.float64]
    slope: NDArray[np.float64]
    freedom: float


def _gains(t: NDArray[np.float64], stiffness: float, step: float) -> _Gains:
    n = t.size
    even = _even_gains(min(n, _LARGEST_EXACT), stiffness)
    if n <= _LARGEST_EXACT:
        if np.abs(np.diff(t) / step - 1.0).max() > _EVEN:
            return _exact_gains(t, stiffness, step)
        return _Gains(even.value, even.slope / step, even.freedom)
    half = _LARGEST_EXACT // 2

    def longer(gain: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.concatenate([gain[:half], np.full(n - 2 * half, gain[half]), gain[half:]])

    return _Gains(longer(even.value), longer(even.slope) / step, even.freedom)


@lru_cache(maxsize=64)
def _even_gains(n: int, stiffness: float) -> _Gains:
    """Gains for ``n`` samples one apart."""
    return _exact_gains(np.arange(n, dtype=np.float64), stiffness, 1.0)


def _exact_gains(t: NDArray[np.float64], stiffness: float, step: float) -> _Gains:
    n = t.size
    hat = _smooth(t, np.eye(n), stiffness, step)
    slopes = np.gradient(hat, t, axis=0, edge_order=2)
    freedom = max(1.0 - float(np.trace(hat)) / n, 1e-3)
    return _Gains(np.sqrt((hat**2).sum(axis=1)), np.sqrt((slopes**2).sum(axis=1)), freedom)
