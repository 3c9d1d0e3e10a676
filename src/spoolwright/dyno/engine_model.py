"""The engine of a build as it stood at a pull: own air, own settings, own mixture; run once, asked often.

Serves the overlay of measured on predicted and the fit. Rubbing friction acts on the torque of a finished cycle
only, so its factor is applied by algebra and costs no run.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from spoolwright.dyno.fit import Observation
from spoolwright.dyno.measured import RPM, Measured
from spoolwright.dyno.rig import Air
from spoolwright.dyno.settings import Settings, in_force, pull_time
from spoolwright.engine.calibration import Calibration
from spoolwright.errors import BadInput
from spoolwright.gas.air import saturation_pressure
from spoolwright.sheet import Sheet, load

if TYPE_CHECKING:
    from numpy.typing import NDArray

LAMBDA_STEP: Final = 0.01  # mixtures closer than this are run as one
COLUMNS: Final = ("torque_Nm", "air_flow_kg_s", "fuel_flow_kg_s", "primary_temperature_K", "manifold_pressure_kPa")


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the engine was at a pull: settings ("path=value"), lambda by speed (None: as the sheet says)."""

    sets: tuple[str, ...]
    mixture: tuple[float | None, ...]
    settings: Settings
    notes: tuple[str, ...]


def conditions(pull: Measured, speeds_rpm: NDArray[np.float64], folder: Path, extra: Sequence[str] = ()) -> Conditions:
    """The pull's own air, the settings in force, its measured mixture. ``extra`` settings win."""
    when = pull_time(folder, pull.file, pull.sha256)
    settings = in_force(folder, when)
    notes = list(settings.notes)
    sets = [*settings.sets, *_air_sets(pull.air, notes)]
    mixture: list[float | None] = [None] * speeds_rpm.size
    if "lambda" in pull.channels:
        found = pull.mean_over("lambda", speeds_rpm, 400.0)
        mixture = [round(float(v) / LAMBDA_STEP) * LAMBDA_STEP if np.isfinite(v) else None for v in found]
        lost = sum(v is None for v in mixture)
        if lost:
            notes.append(f"at {lost} of {speeds_rpm.size} speeds lambda was not measured: the sheet's was taken there")
    else:
        notes.append("lambda was not measured: the sheet's mixture was taken")
    return Conditions((*sets, *extra), tuple(mixture), settings, tuple(notes))


def _air_sets(air: Air, notes: list[str]) -> list[str]:
    sets = []
    if air.temperature is not None:
        sets.append(f"site.temperature={air.temperature:.6g} K")
    if air.barometer is not None:
        sets.append(f"site.barometer={air.barometer:.7g} Pa")
    humidity = air.humidity
    if humidity is None and air.temperature is not None:
        water = air.vapour_pressure
        if air.dew_point is not None:
            water = saturation_pressure(air.dew_point)
        if water is not None:
            humidity = min(water / saturation_pressure(air.temperature), 1.0)
    if humidity is not None:
        sets.append(f"site.humidity={100.0 * humidity:.5g} %")
    missing = air.missing()
    if missing:
        notes.append(
            f"the air's {' and '.join(missing)} of that day {'is' if len(missing) == 1 else 'are'} the sheet's"
        )
    return sets


@dataclass
class EngineModel:
    """A build ready to be asked for columns at an observation's speeds, with factors laid on it.

    ``runs`` counts speeds run. Every answer is kept, so asking again costs nothing.
    """

    folder: Path
    variant: str | None = None
    sets: tuple[str, ...] = ()
    turbo_off: bool = False
    workers: int | None = None
    progress: Callable[[int], None] = lambda _: None
    cancelled: Callable[[], bool] = lambda: False
    runs: int = 0
    _kept: dict[Any, dict[str, NDArray[np.float64]]] = field(default_factory=dict)

    def sheet(self, sets: Sequence[str] = ()) -> Sheet:
        """The build with these settings over its own. Raises BadInput for a boosted one that cannot be run."""
        sheet = load(self.folder, self.variant, (*self.sets, *sets))
        if self.turbo_off:
            from spoolwright.engine.assemble import turbo_off

            sheet = load(self.folder, self.variant, (*self.sets, *sets, *turbo_off(sheet)))
        return sheet

    def __call__(self, factors: Mapping[str, float], observation: Observation) -> dict[str, NDArray[np.float64]]:
        """Result columns at the observation's speeds; nan where the engine did not settle."""
        given = observation.conditions
        if not isinstance(given, Conditions):
            raise BadInput(f"{observation.pull}: the engine needs to know the pull's air and settings")
        friction = factors.get("friction", 1.0)
        own = {name: factors.get(name, 1.0) for name in Calibration._fields if name != "friction"}
        key = (given.sets, given.mixture, observation.speeds_rpm.tobytes(), tuple(sorted(own.items())))
        if key not in self._kept:
            self._kept[key] = self._run(own, given, observation.speeds_rpm)
        made = self._kept[key]
        out = {name: made[name] for name in COLUMNS}
        out["torque_Nm"] = made["torque_Nm"] - (friction - 1.0) * made["rubbing_Nm"]
        return out

    def _run(
        self, factors: Mapping[str, float], given: Conditions, speeds_rpm: NDArray[np.float64]
    ) -> dict[str, NDArray[np.float64]]:
        from spoolwright.engine.pull import pull

        out = {name: np.full(speeds_rpm.size, np.nan) for name in (*COLUMNS, "rubbing_Nm")}
        laid = tuple(f"calibration.{name}={value:.6g}" for name, value in factors.items())
        groups: dict[float | None, list[int]] = {}
        for i, lam in enumerate(given.mixture):
            groups.setdefault(lam, []).append(i)
        for lam, places in groups.items():
            mixture = () if lam is None else (f"fuel.mixture={lam:.4g} lambda", "fuel.mixture_table=none")
            sheet = self.sheet((*given.sets, *laid, "calibration.friction=1", "calibration.use=true", *mixture))
            speeds = [float(speeds_rpm[i]) for i in places]
            done = pull(sheet, speeds, workers=self.workers, cancelled=self.cancelled)
            if len(done.points) < len(speeds):
                raise BadInput("cancelled before the engine was run at every speed")
            for i, point in zip(places, done.points, strict=True):
                if not point.columns["converged"]:
                    continue
                for name in COLUMNS:
                    value = point.columns[name]
                    out[name][i] = np.nan if value is None else value
                omega = float(speeds_rpm[i]) * RPM
                driven = done.model.accessory_power(omega) / omega
                out["rubbing_Nm"][i] = 1e3 * point.columns["fmep_kPa"] * done.model.swept / (4.0 * np.pi) - driven
            self.runs += len(speeds)
            self.progress(self.runs)
        return out
