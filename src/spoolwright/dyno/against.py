"""Like pulls against a predicted pull that is at hand: difference by speed, held against what repeats differ by.

Nothing is run here. The prediction holds for the air of its sheet; where the day's air was another, that is said.
The band is the larger of the repeats' band of the mean (Student's t, sums ``repeat_spread``) and the samples' noise,
with the scale of the torque measurement, which moves all pulls alike, added in quadrature.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from spoolwright.dyno.compare import repeats, shared_speeds, values_at
from spoolwright.dyno.measured import Measured
from spoolwright.dyno.roller import COVERAGE
from spoolwright.engine.charge import site
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet

if TYPE_CHECKING:
    from numpy.typing import NDArray

STEP: Final = 250.0  # rpm
CONFIDENCE: Final = 0.95
OTHER_PRESSURE, OTHER_TEMPERATURE = 1.0e3, 3.0  # Pa, K from which another day's air is worth a sentence; judgement


@dataclass(frozen=True, slots=True)
class Away:
    """Neighbouring speeds [rpm], two at least, at which the difference leaves its band; ``share`` is its mean there.

    A single speed beyond the band is not counted: among many, some are by chance.
    """

    low_rpm: float
    high_rpm: float
    share: float


@dataclass(frozen=True, slots=True)
class Against:
    """Mean torque [N m] of ``pulls`` and the predicted one over speed; ``share`` measured over predicted less one.

    ``band`` in N m, ``share_band`` as a share of the prediction. ``away``: where the difference leaves the band.
    ``level``: the pulls as they stand here, see :func:`steady`.
    """

    pulls: tuple[str, ...]
    level: tuple[Measured, ...]
    speeds_rpm: NDArray[np.float64]
    measured: NDArray[np.float64]
    band: NDArray[np.float64]
    predicted: NDArray[np.float64]
    away: tuple[Away, ...]
    sentences: tuple[str, ...]

    @property
    def share(self) -> NDArray[np.float64]:
        """Measured over predicted less one."""
        return np.asarray(self.measured / self.predicted - 1.0)

    @property
    def share_band(self) -> NDArray[np.float64]:
        """The band as a share of the prediction."""
        return np.asarray(self.band / self.predicted)

    @property
    def furthest(self) -> tuple[float, float]:
        """(speed [rpm], share) where they differ most."""
        at = int(np.argmax(np.abs(self.share)))
        return float(self.speeds_rpm[at]), float(self.share[at])


def steady(pull: Measured, sheet: Sheet) -> Measured:
    """The pull with the torque that speeds the engine up added, where the sheet states the engine's inertia."""
    inertia = sheet.maybe("strength.flywheel_inertia")
    if inertia is None or pull.flywheel is None:
        return pull
    return replace(pull, flywheel=pull.flywheel + inertia * pull.acceleration)


def against(
    pulls: Sequence[Measured],
    predicted_rpm: Sequence[float],
    predicted_torque: Sequence[float],
    sheet: Sheet,
    step_rpm: float = STEP,
) -> Against:
    """``pulls`` (observed, at the flywheel) against predicted torque [N m] at its speeds [rpm].

    Raises BadInput where a pull is known at the wheels only, was corrected, or shares no speeds with the prediction.
    """
    for one in pulls:
        if one.place != "flywheel" or one.corrected_by != "observed":
            raise BadInput(
                f"{one.name}: its torque is {one.corrected_by}, place {one.place}; only what was observed at the "
                "flywheel stands against a prediction"
            )
    level = [steady(one, sheet) for one in pulls]
    speeds = shared_speeds(level, step_rpm)
    order = np.argsort(np.asarray(predicted_rpm, dtype=np.float64))
    at, torque = np.asarray(predicted_rpm, float)[order], np.asarray(predicted_torque, float)[order]
    table = values_at(level, speeds, "torque")
    good = np.isfinite(table).all(axis=0) & (speeds >= at[0] - 1e-9) & (speeds <= at[-1] + 1e-9)
    if good.sum() < 2:
        raise BadInput("the pulls and the prediction share fewer than two speeds; run a pull over the same range")
    speeds, table = speeds[good], table[:, good]
    mean = table.mean(axis=0)
    noise = np.sqrt(np.mean([one.over(one.noise, speeds) ** 2 for one in level], axis=0) / len(level))
    scale = max(one.scale for one in level)
    band = COVERAGE * noise
    notes = []
    if len(level) > 1:
        spread = repeats(level, "torque", CONFIDENCE, step_rpm)
        band = np.maximum(band, np.interp(speeds, spread.speeds_rpm, spread.band))
        notes = list(spread.sentences)
    else:
        notes.append("one pull says nothing of repeats: the band is its noise and scale alone")
    band = np.hypot(band, COVERAGE * scale * mean)
    predicted = np.interp(speeds, at, torque)
    away = _away(speeds, mean / predicted - 1.0, band / predicted)
    return Against(
        tuple(one.name for one in pulls),
        tuple(level),
        speeds,
        mean,
        band,
        predicted,
        away,
        (_told(speeds, away), *notes, *_other_air(pulls, sheet), *_inertia(sheet)),
    )


def _away(speeds: NDArray[np.float64], share: NDArray[np.float64], band: NDArray[np.float64]) -> tuple[Away, ...]:
    found: list[Away] = []
    side = np.where(np.abs(share) > band, np.sign(share), 0.0)
    first = 0
    for i in range(1, speeds.size + 1):
        if i == speeds.size or side[i] != side[first]:
            if side[first] != 0.0 and i - first > 1:
                found.append(Away(float(speeds[first]), float(speeds[i - 1]), float(share[first:i].mean())))
            first = i
    return tuple(found)


def _told(speeds: NDArray[np.float64], away: Sequence[Away]) -> str:
    if not away:
        return f"as predicted within the band from {speeds[0]:.0f} to {speeds[-1]:.0f} rpm"
    parts = [
        f"{abs(100 * one.share):.1f} % {'more' if one.share > 0 else 'less'} than predicted from {one.low_rpm:.0f} to "
        f"{one.high_rpm:.0f} rpm"
        for one in away
    ]
    return "beyond the band: " + "; ".join(parts)


def _other_air(pulls: Sequence[Measured], sheet: Sheet) -> list[str]:
    here = site(sheet)
    for one in pulls:
        p, T = one.air.barometer, one.air.temperature
        if p is None or T is None:
            return ["the air of the day is not fully known; the prediction is for the air of the sheet"]
        if abs(p - here.p) > OTHER_PRESSURE or abs(T - here.T) > OTHER_TEMPERATURE:
            return [
                f"the day's air was {p / 1e3:.1f} kPa, {T - 273.15:.0f} degC, the prediction is for the sheet's "
                f"{here.p / 1e3:.1f} kPa, {here.T - 273.15:.0f} degC: run with the day's air before a difference counts"
            ]
    return []


def _inertia(sheet: Sheet) -> list[str]:
    if sheet.maybe("strength.flywheel_inertia") is None:
        return ["the engine's inertia is not in the sheet: what speeds it up is missing from the measured torque"]
    return ["the torque that speeds the engine up was added"]
