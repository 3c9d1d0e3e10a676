"""What reducing gives: pulls as torque over speed with their channels in step. Plain data and how to read it.

Torque in N m and power in W at the engine's speed in rad/s; channels in the wanted units of the log (kPa, degC, ...).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from spoolwright.dyno.rig import Air, Rig
from spoolwright.dyno.roller import COVERAGE, Losses
from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from spoolwright.dyno.log import Log

RPM = math.pi / 30.0


@dataclass(frozen=True, slots=True)
class Delay:
    """How late a channel came [s]: found against ``behind`` with ``correlation``, or stated; whether it was removed."""

    role: str
    delay: float
    behind: str
    correlation: float | None
    removed: bool
    why: str


@dataclass(frozen=True, slots=True)
class Measured:
    """One pull, reduced. ``number`` counts from 1 in its log; lines are those of the raw file.

    ``wheel`` and ``flywheel`` torque [N m] at engine speed ``w`` [rad/s]; each None where it is not known. ``unplaced``
    instead where the log gives a torque and nobody said where it was taken. ``noise``: standard deviation from the
    samples [N m]; ``scale``: standard uncertainty that moves all points alike (inertia, load cell), as a fraction.
    ``corrected_by``: "observed", or the code a torque column was corrected by where that could not be undone.
    """

    file: str
    sha256: str
    number: int
    segment: int
    lines: tuple[int, int]
    time: NDArray[np.float64]
    w: NDArray[np.float64]
    wheel: NDArray[np.float64] | None
    flywheel: NDArray[np.float64] | None
    unplaced: NDArray[np.float64] | None
    noise: NDArray[np.float64]
    scale: float
    acceleration: NDArray[np.float64]
    method: str
    bandwidth: float
    ratio: float | None
    slip_found: bool
    channels: Mapping[str, NDArray[np.float64]]
    corrected_by: str = "observed"
    delays: tuple[Delay, ...] = ()
    air: Air = field(default_factory=Air)
    dead: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """File and number of the pull: "evening.csv#2"."""
        return f"{self.file}#{self.number}"

    @property
    def place(self) -> str:
        """Where the torque holds: "flywheel", "wheel" or "not stated"; the flywheel's where both are known."""
        if self.flywheel is not None:
            return "flywheel"
        return "wheel" if self.wheel is not None else "not stated"

    @property
    def torque(self) -> NDArray[np.float64]:
        """Torque [N m] at :attr:`place`."""
        for found in (self.flywheel, self.wheel, self.unplaced):
            if found is not None:
                return found
        raise BadInput(f"{self.name}: nothing tells the torque of this pull; name its source (dyno reduce)")

    @property
    def has_torque(self) -> bool:
        """Whether anything tells the torque."""
        return not (self.flywheel is None and self.wheel is None and self.unplaced is None)

    @property
    def power(self) -> NDArray[np.float64]:
        """Power [W] at :attr:`place`."""
        return self.torque * self.w

    @property
    def band(self) -> NDArray[np.float64]:
        """Half width of the uncertainty band [N m]: two standard deviations."""
        return COVERAGE * np.hypot(self.noise, self.torque * self.scale)

    @property
    def samples_apart(self) -> float:
        """Speed [rad/s] over which smoothing ties neighbours together: half a period of the bandwidth."""
        span = float(self.time[-1] - self.time[0])
        return abs(float(self.w[-1] - self.w[0])) / max(2.0 * self.bandwidth * span, 1.0)

    def speeds(self, step_rpm: float) -> NDArray[np.float64]:
        """Round speeds [rpm], ``step_rpm`` apart, inside the pull."""
        low, high = float(np.nanmin(self.w)) / RPM, float(np.nanmax(self.w)) / RPM
        return np.arange(math.ceil(low / step_rpm) * step_rpm, high + 1e-9, step_rpm)

    def over(self, values: NDArray[np.float64], speeds_rpm: NDArray[np.float64]) -> NDArray[np.float64]:
        """``values`` at these speeds [rpm] by straight lines; nan outside the pull and where values are missing."""
        order = np.argsort(self.w, kind="stable")
        w, y = self.w[order], values[order]
        good = np.isfinite(y)
        if good.sum() < 2:
            return np.full(np.size(speeds_rpm), np.nan)
        at = np.asarray(speeds_rpm, dtype=np.float64) * RPM
        found = np.interp(at, w[good], y[good], left=np.nan, right=np.nan)
        # Between two good samples far apart nothing was measured: no line is drawn across a hole.
        before = np.clip(np.searchsorted(w[good], at, side="right") - 1, 0, good.sum() - 2)
        hole = np.diff(w[good])[before] > max(3.0 * self.samples_apart, 60.0 * RPM)
        on_a_sample = np.isclose(w[good][before], at) | np.isclose(w[good][before + 1], at)
        return np.where(hole & ~on_a_sample, np.nan, found)

    def mean_over(self, role: str, speeds_rpm: NDArray[np.float64], width_rpm: float) -> NDArray[np.float64]:
        """A channel at these speeds by a straight line through its samples within half of ``width_rpm`` of each.

        A mean where all samples lie on one side would be off by its slope; nan where there is no sample.
        """
        x = self.channels[role]
        out = np.full(np.size(speeds_rpm), np.nan)
        for i, rpm in enumerate(np.asarray(speeds_rpm)):
            near = (np.abs(self.w / RPM - rpm) <= 0.5 * width_rpm) & np.isfinite(x)
            if near.sum() > 3 and np.ptp(self.w[near]) > 0.25 * width_rpm * RPM:
                line = np.polynomial.polynomial.polyfit(self.w[near] / RPM - rpm, x[near], 1)
                out[i] = float(line[0])
            elif near.any():
                out[i] = float(x[near].mean())
        return out

    def peak_power(self) -> tuple[float, float]:
        """(power [W], speed [rad/s]) at the top: a quadratic through the samples within 10 % of the highest one.

        The highest single sample is always too high by noise; a power curve is flat at its top, so its speed is soft.
        """
        return _top(self.w, self.power)

    def peak_torque(self) -> tuple[float, float]:
        """(torque [N m], speed [rad/s]) at the top, as :meth:`peak_power`."""
        return _top(self.w, self.torque)


def _top(w: NDArray[np.float64], y: NDArray[np.float64]) -> tuple[float, float]:
    w_top = float(w[int(np.nanargmax(y))])
    near = np.isfinite(y) & (np.abs(w / w_top - 1.0) <= 0.1)
    if near.sum() < 4:
        return float(np.nanmax(y)), w_top
    c = np.polynomial.Polynomial.fit(w[near], y[near], 2)
    low, high = float(w[near].min()), float(w[near].max())
    vertex = [float(r) for r in np.real(c.deriv().roots()) if low <= r <= high]
    best = max([*vertex, low, high], key=lambda v: float(c(v)))
    return float(c(best)), best


@dataclass(frozen=True, slots=True)
class Reduction:
    """A log reduced: its pulls, the losses found, the rig and air used, and what has to be said."""

    log: Log
    rig: Rig
    air: Air
    pulls: tuple[Measured, ...]
    losses: Losses | None
    notes: tuple[str, ...]
