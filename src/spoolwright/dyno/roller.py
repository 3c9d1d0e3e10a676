"""Torque from the inertia of a roller, T = J dw/dt (Newton), and its losses from the run-down.

SI: s, rad/s, kg m2, N m, W. No correction for the weather is made here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from spoolwright.dyno.slopes import DEFAULT_BANDWIDTH, differentiate
from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

COVERAGE: Final = 2.0  # standard deviations of a band


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
    band = COVERAGE * np.hypot(inertia * speed.slope_spread * lever, torque * inertia_spread)
    flywheel = None
    if losses is not None:
        flywheel = (roller + losses.torque(speed.value)) * lever
        band = np.hypot(band, COVERAGE * losses.spread * lever)
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
