"""From a log to torque: pulls cut out, late channels put back in step, torque from the inertia of a roller.

Torque from inertia is T = J dw/dt (Newton). The derivative of a measured speed must be regularised, and how much
decides the curve, so the bandwidth is stated with every result. Used here: penalised least squares, the samples against
their third differences (Whittaker, Proc. Edinb. Math. Soc. 41 (1922) 63; Eilers, Anal. Chem. 75 (2003) 3631; both from
memory). Its gain at frequency f is 1 / (1 + (sqrt 2 - 1) (sin(pi f h) / sin(pi fc h))^6) for samples h apart: flat
below the bandwidth fc, steep above. The slope of any quadratic comes out exactly, at the ends too; a bend quicker than
about 1/(2 fc) is flattened.

SI: s, rad/s, kg m2, N m, W. No correction for the weather is made here.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from spoolwright.dyno.log import Log

DEFAULT_BANDWIDTH: Final = 1.0  # Hz; lower flattens the rise of a turbocharged pull, higher shows the noise
_LARGEST_EXACT: Final = 600  # samples; longer records take the spread of their middle from a shorter one
_COVERAGE: Final = 2.0  # standard deviations of a band


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
class Pull:
    """Rows ``first`` to ``stop`` (exclusive) of the log's table that are one pull."""

    segment: int
    first: int
    stop: int
    speed_from: float
    speed_to: float


@dataclass(frozen=True, slots=True)
class Losses:
    """Run-down torque a + b w + c w^2 [N m] of roller speed w, and the range of w it was measured over."""

    a: float
    b: float
    c: float
    w_low: float
    w_high: float
    spread: float

    def torque(self, w_roller: NDArray[np.float64]) -> NDArray[np.float64]:
        """Loss torque at the roller [N m], positive; nan outside the measured speeds, where nobody knows it."""
        torque = self.a + self.b * w_roller + self.c * w_roller**2
        return np.where((w_roller >= self.w_low) & (w_roller <= self.w_high), torque, np.nan)


@dataclass(frozen=True, slots=True)
class Reduced:
    """A pull as torque over speed. ``wheel``: at the roller, referred to engine speed; ``flywheel``: losses added back.

    Bands are two standard deviations (noise of the slope, and the inertia's own uncertainty). ``flywheel`` is None
    where no run-down was given: a fixed share of loss is not assumed.
    """

    time: NDArray[np.float64]
    w_engine: NDArray[np.float64]
    wheel_torque: NDArray[np.float64]
    wheel_power: NDArray[np.float64]
    band: NDArray[np.float64]
    flywheel_torque: NDArray[np.float64] | None
    flywheel_power: NDArray[np.float64] | None
    bandwidth: float
    ratio: float
    slip_found: bool

    def peak_power(self, flywheel: bool = False) -> tuple[float, float]:
        """(power [W], engine speed [rad/s]) at the top: a quadratic through the samples within 10 % of the highest one.

        The highest single sample is always too high by noise; a power curve is flat at its top, so its speed is soft.
        """
        power = self.flywheel_power if flywheel else self.wheel_power
        if power is None:
            raise BadInput("no flywheel power: give a run-down, so that the losses are known")
        w_top = float(self.w_engine[int(np.nanargmax(power))])
        near = np.isfinite(power) & (np.abs(self.w_engine / w_top - 1.0) <= 0.1)
        w = self.w_engine[near]
        c = np.polynomial.Polynomial.fit(w, power[near], 2)
        vertex = [float(r) for r in np.real(c.deriv().roots()) if w.min() <= r <= w.max()]
        ends = [float(w.min()), float(w.max())]
        best = max([*vertex, *ends], key=lambda v: float(c(v)))
        return float(c(best)), best

    def at(self, w_engine: float, flywheel: bool = False) -> float:
        """Torque [N m] at an engine speed by straight lines between samples; BadInput outside the pull."""
        torque = self.flywheel_torque if flywheel else self.wheel_torque
        if torque is None:
            raise BadInput("no flywheel torque: give a run-down, so that the losses are known")
        order = np.argsort(self.w_engine)
        w, y = self.w_engine[order], torque[order]
        good = np.isfinite(y)
        if not good.any() or not w[good][0] <= w_engine <= w[good][-1]:
            raise BadInput(f"{w_engine * 30 / math.pi:.0f} rpm is outside the pull; it has no torque there")
        return float(np.interp(w_engine, w[good], y[good]))


def differentiate(t: NDArray[np.float64], x: NDArray[np.float64], bandwidth: float = DEFAULT_BANDWIDTH) -> Derivative:
    """Smooth ``x`` and its slope over ``t`` [s] at ``bandwidth`` [Hz].

    Raises BadInput for fewer than eight samples, times that do not rise, missing values (fill nothing, cut the record
    instead), a bandwidth above what the sampling carries or below what the record is long enough for.
    """
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
    stiffness = (math.sqrt(2.0) - 1.0) / (2.0 * math.sin(math.pi * bandwidth * step)) ** 6
    value = _smooth(t, x, stiffness, step)
    slope = np.gradient(value, t, edge_order=2)
    gain, freedom = _gains(np.asarray(t), stiffness, step)
    noise = float(np.sqrt(np.mean((x - value) ** 2) / freedom))
    return Derivative(value, slope, noise * gain, noise, bandwidth)


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


def _gains(t: NDArray[np.float64], stiffness: float, step: float) -> tuple[NDArray[np.float64], float]:
    """(standard deviation of the slope for unit noise in the samples, share of the samples left to judge noise by)."""
    n = t.size
    if n > _LARGEST_EXACT:
        short = np.arange(_LARGEST_EXACT, dtype=np.float64) * step
        gain, freedom = _gains(short, stiffness, step)
        half = _LARGEST_EXACT // 2
        return np.concatenate([gain[:half], np.full(n - 2 * half, gain[half]), gain[half:]]), freedom
    hat = _smooth(t, np.eye(n), stiffness, step)
    slopes = np.gradient(hat, t, axis=0, edge_order=2)
    return np.sqrt((slopes**2).sum(axis=1)), max(1.0 - float(np.trace(hat)) / n, 1e-3)


def find_pulls(log: Log, least_rise: float = 1.25) -> list[Pull]:
    """Stretches where the engine pulls: speed climbs by at least ``least_rise`` times, throttle open if known.

    A pull never crosses a restart or a gap. Raises BadInput where the log has no time or no engine speed.
    """
    roles = {c.role: c.field for c in log.columns if c.role}
    if "time" not in roles or "engine_speed" not in roles:
        raise BadInput(f"{log.file.name}: pulls are found by time and engine speed; confirm which columns they are")
    t = log.table[roles["time"]].to_numpy()
    rpm = log.table[roles["engine_speed"]].cast(float).to_numpy()
    throttle = log.table[roles["throttle"]].cast(float).to_numpy() if "throttle" in roles else None
    found: list[Pull] = []
    for segment in log.segments:
        for lo, hi in _unbroken(t, rpm, segment.first_row, segment.first_row + segment.rows, segment.step):
            found += [
                Pull(segment.index, lo + a, lo + b, rpm[lo + a], rpm[lo + b - 1])
                for a, b in _climbs(t[lo:hi], rpm[lo:hi], None if throttle is None else throttle[lo:hi], least_rise)
            ]
    return found


def _unbroken(
    t: NDArray[np.float64], x: NDArray[np.float64], first: int, stop: int, step: float | None
) -> list[tuple[int, int]]:
    """Runs of rows without a missing value and without a hole in time."""
    good = np.isfinite(t[first:stop]) & np.isfinite(x[first:stop])
    breaks = [first]
    limit = 1.6 * step if step else math.inf
    apart = (np.diff(t[first:stop]) > limit) | ~(good[1:] & good[:-1])
    breaks += [*(np.flatnonzero(apart) + first + 1).tolist(), stop]
    return [(a, b) for a, b in itertools.pairwise(breaks) if b - a >= 10 and good[a - first : b - first].all()]


def _climbs(
    t: NDArray[np.float64], rpm: NDArray[np.float64], throttle: NDArray[np.float64] | None, least_rise: float
) -> list[tuple[int, int]]:
    step = float(np.median(np.diff(t)))
    bandwidth = min(1.0, 0.2 / step)
    if bandwidth * (t[-1] - t[0]) < 0.6:
        return []
    slope = differentiate(t, rpm, bandwidth).slope
    limit = 0.15 * float(np.quantile(slope, 0.95))
    if limit <= 0.0:
        return []
    climbing = slope > limit
    if throttle is not None and np.isfinite(throttle).any() and np.nanmax(throttle) > 50.0:
        climbing &= ~(throttle < 0.9 * np.nanmax(throttle))
    edges = np.flatnonzero(np.diff(np.concatenate([[0], climbing.astype(np.int8), [0]])))
    runs = list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
    return [(a, b) for a, b in runs if b - a >= 10 and rpm[b - 1] >= least_rise * rpm[a] > 0.0]


def channel_delay(
    t: NDArray[np.float64], channel: NDArray[np.float64], reference: NDArray[np.float64], longest: float = 1.5
) -> tuple[float, float]:
    """(delay [s], correlation -1..1) by which ``channel`` follows ``reference``, by cross-correlation of their changes.

    The delay is that of the strongest correlation of either sign within 0..``longest``, between samples by a parabola.
    Raises BadInput for a record shorter than four times ``longest`` or a channel that does not change.
    """
    t = np.asarray(t, dtype=np.float64)
    good = np.isfinite(t) & np.isfinite(channel) & np.isfinite(reference)
    if good.sum() < 20:
        raise BadInput("a delay needs at least 20 samples with both channels")
    step = float(np.median(np.diff(t[good])))
    most = round(longest / step)
    grid = np.arange(t[good][0], t[good][-1] + 0.5 * step, step)
    if grid.size < 3 * most or most < 2:
        raise BadInput(f"a delay up to {longest:g} s needs a record of {3 * longest:g} s or more and 2 samples in it")
    half = max(2, round(0.15 / step))
    a = _changes(np.interp(grid, t[good], reference[good]), half)
    b = _changes(np.interp(grid, t[good], channel[good]), half)
    scores = np.array([_correlation(a[: a.size - k], b[k:]) for k in range(most + 1)])
    best = int(np.argmax(np.abs(scores)))
    shift = 0.0
    if 0 < best < most:
        y0, y1, y2 = np.abs(scores[best - 1 : best + 2])
        bend = y0 - 2.0 * y1 + y2
        shift = 0.5 * (y0 - y2) / bend if bend < 0.0 else 0.0
    return (best + shift) * step, float(scores[best])


def _changes(x: NDArray[np.float64], half: int) -> NDArray[np.float64]:
    """Slope by a straight line through 2 half + 1 samples: what moves counts, where a channel stands does not."""
    k = np.arange(-half, half + 1, dtype=np.float64)
    return np.convolve(x, k[::-1] / float(k @ k), mode="valid")


def _correlation(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    a, b = a - a.mean(), b - b.mean()
    size = math.sqrt(float(a @ a) * float(b @ b))
    if size == 0.0:
        raise BadInput("a delay cannot be found from a channel that does not change")
    return float(a @ b) / size


def remove_delay(t: NDArray[np.float64], channel: NDArray[np.float64], delay: float) -> NDArray[np.float64]:
    """``channel`` moved ``delay`` [s] earlier; nan at the end, where what belongs there was never logged."""
    good = np.isfinite(t) & np.isfinite(channel)
    moved = np.interp(t + delay, t[good], channel[good], right=np.nan)
    return np.where(np.isfinite(t), moved, np.nan)


def run_down(t: NDArray[np.float64], w_roller: NDArray[np.float64], inertia: float, bandwidth: float = 0.5) -> Losses:
    """Losses from the roller coasting down in gear with the clutch out: -J dw/dt fitted by a + b w + c w^2."""
    d = differentiate(t, w_roller, bandwidth)
    torque = -inertia * d.slope
    if np.median(torque) <= 0.0:
        raise BadInput("this is no run-down: the roller does not slow down")
    basis = np.vander(d.value / d.value.max(), 3, increasing=True)
    coefficients, *_ = np.linalg.lstsq(basis, torque, rcond=None)
    top = float(d.value.max())
    a, b, c = (float(k) / top**n for n, k in enumerate(coefficients))
    spread = float(np.std(torque - basis @ coefficients))
    return Losses(a, b, c, float(d.value.min()), top, spread)


def torque_from_inertia(
    t: NDArray[np.float64],
    w_roller: NDArray[np.float64],
    w_engine: NDArray[np.float64],
    inertia: float,
    bandwidth: float = DEFAULT_BANDWIDTH,
    losses: Losses | None = None,
    inertia_spread: float = 0.0,
) -> Reduced:
    """Torque and power of one pull on an inertia roller.

    Engine torque = (J dw/dt + losses) * (w_roller / w_engine). The ratio is the median of the pull where it is one
    gear; where it drifts by more than 2 % (tyre or clutch slip) each sample's own is taken and ``slip_found`` is set.

    Parameters: ``t`` s, ``w_roller`` and ``w_engine`` rad/s (n,), ``inertia`` kg m2 of all that turns with the roller,
    ``inertia_spread`` its standard uncertainty as a fraction. Raises BadInput for an inertia that is not above zero.
    """
    if not inertia > 0.0:
        raise BadInput(f"the roller's inertia is {inertia:g} kg m2; it must be above zero")
    speed = differentiate(t, w_roller, bandwidth)
    engine = differentiate(t, w_engine, bandwidth).value
    each = speed.value / engine
    ratio = float(np.median(each))
    slip = bool(np.quantile(np.abs(each / ratio - 1.0), 0.9) > 0.02)
    lever = each if slip else np.full(each.size, ratio)
    roller = inertia * speed.slope
    torque = roller * lever
    band = _COVERAGE * np.hypot(inertia * speed.slope_spread * lever, torque * inertia_spread)
    flywheel = None
    if losses is not None:
        flywheel = (roller + losses.torque(speed.value)) * lever
        band = np.hypot(band, _COVERAGE * losses.spread * lever)
    w = speed.value / lever
    return Reduced(
        np.asarray(t, dtype=np.float64),
        w,
        torque,
        torque * w,
        band,
        flywheel,
        None if flywheel is None else flywheel * w,
        speed.bandwidth,
        ratio,
        slip,
    )
