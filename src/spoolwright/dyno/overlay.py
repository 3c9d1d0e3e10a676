"""Measured laid on predicted: the engine of the build run at the pull's own air, settings and mixture.

Both at the flywheel where the pull's torque is; a pull known at the wheels only is shown against the flywheel's
prediction with that said, because what lies between them is not known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from spoolwright.constants import ZERO_CELSIUS
from spoolwright.dyno.engine_model import EngineModel, conditions
from spoolwright.dyno.fit import Observation
from spoolwright.dyno.measured import Measured
from spoolwright.engine.calibration import calibration
from spoolwright.engine.charge import site
from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

STEP = 500.0  # rpm
CLOSE = 0.03  # of torque: within this a prediction is called close; judgement, no source


@dataclass(frozen=True, slots=True)
class Overlay:
    """Measured torque [N m] with its band and predicted torque over speed; columns of the log that both have.

    ``also``: name -> (measured, predicted) in the result column's own unit. ``sets``: what the engine was run with.
    """

    pull: str
    place: str
    speeds_rpm: NDArray[np.float64]
    measured: NDArray[np.float64]
    band: NDArray[np.float64]
    predicted: NDArray[np.float64]
    also: dict[str, tuple[NDArray[np.float64], NDArray[np.float64]]]
    sets: tuple[str, ...]
    calibrated: bool
    sentences: tuple[str, ...]

    @property
    def share(self) -> NDArray[np.float64]:
        """Measured over predicted less one."""
        return np.asarray(self.measured / self.predicted - 1.0)


def overlay(pull: Measured, model: EngineModel, step_rpm: float = STEP, extra: Sequence[str] = ()) -> Overlay:
    """``pull`` against the model's build. Raises BadInput where they share no speed."""
    speeds = pull.speeds(step_rpm)
    if speeds.size < 2:
        raise BadInput(
            f"{pull.name}: fewer than two speeds lie in the pull, {step_rpm:g} rpm apart; take a smaller step"
        )
    given = conditions(pull, speeds, Path(model.folder), extra)
    sheet = model.sheet(given.sets)
    inertia = sheet.maybe("strength.flywheel_inertia") if pull.flywheel is not None else None
    torque = pull.torque if inertia is None else pull.torque + inertia * pull.acceleration
    factors = calibration(sheet)
    made = model(factors._asdict(), Observation(pull.name, speeds, {}, {}, {}, pull.sha256, given))
    measured, band = pull.over(torque, speeds), pull.over(pull.band, speeds)
    also = {}
    for role, column, scale, shift in (
        ("fuel_flow", "fuel_flow_kg_s", 1.0 / 3600.0, 0.0),
        ("manifold_abs", "manifold_pressure_kPa", 1.0, 0.0),
        ("boost_gauge", "manifold_pressure_kPa", 1.0, site(sheet).p / 1e3),
        ("exhaust_temp_1", "primary_temperature_K", 1.0, ZERO_CELSIUS),
    ):
        if role in pull.channels and column not in also:
            also[column] = (pull.mean_over(role, speeds, min(step_rpm, 400.0)) * scale + shift, made[column])
    return Overlay(
        pull.name,
        pull.place,
        speeds,
        measured,
        band,
        made["torque_Nm"],
        also,
        given.sets,
        factors != type(factors)(),
        tuple(_sentences(pull, speeds, measured, made["torque_Nm"], band, inertia, given.notes)),
    )


def _sentences(
    pull: Measured,
    speeds: NDArray[np.float64],
    measured: NDArray[np.float64],
    predicted: NDArray[np.float64],
    band: NDArray[np.float64],
    inertia: float | None,
    notes: Sequence[str],
) -> list[str]:
    good = np.isfinite(measured) & np.isfinite(predicted)
    if not good.any():
        return ["no speed holds both a measured and a predicted torque", *notes]
    off = measured[good] / predicted[good] - 1.0
    middle = float(np.median(off))
    worst = int(np.argmax(np.abs(off)))
    at = float(speeds[good][worst])
    words = "above" if middle > 0 else "below"
    out = [
        f"measured lies {100 * abs(middle):.1f} % {words} predicted (middle of the range), furthest "
        f"{100 * off[worst]:+.1f} % "
        f"at {at:.0f} rpm"
    ]
    beyond = np.abs(measured - predicted)[good] > band[good] + CLOSE * predicted[good]
    if pull.place == "flywheel":
        out.append(
            f"at {int(beyond.sum())} of {int(good.sum())} speeds they differ by more than the band and "
            f"{100 * CLOSE:.0f} %"
            if beyond.any()
            else f"nowhere do they differ by more than the band and {100 * CLOSE:.0f} %"
        )
        if inertia is None:
            out.append(
                "the engine's own inertia is not in the sheet: what speeds it up is missing from the measured torque"
            )
        else:
            out.append(f"the torque that speeds the engine up was added (inertia {inertia:g} kg m2 of the sheet)")
    elif pull.place == "wheel":
        out.append(
            "measured is at the wheels, predicted at the flywheel: tyres and gears lie between them; a run-down "
            "would tell"
        )
    else:
        out.append("where the measured torque holds is not stated, so the difference may be losses")
    lost = np.flatnonzero(np.isfinite(measured) & ~np.isfinite(predicted))
    if lost.size:
        out.append(f"the engine did not settle at {', '.join(f'{speeds[i]:.0f}' for i in lost)} rpm")
    return [*out, *notes]
