"""The engine of a build as it stood at a pull: own air, own settings, own mixture; run once, asked often.

Serves the overlay of measured on predicted and the fit. Rubbing friction acts on the torque of a finished cycle
only, so its factor is applied by algebra and costs no run.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

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
ALIKE: Final = 0.02  # spread of lambda over like pulls at a speed up to which they are run as one
# Settings, factors but friction, lambda (None: as the sheet says), speed [rpm]: what a run of the engine depends on.
Key = tuple[tuple[str, ...], tuple[tuple[str, float], ...], float | None, float]
COLUMNS: Final = ("torque_Nm", "air_flow_kg_s", "fuel_flow_kg_s", "primary_temperature_K", "manifold_pressure_kPa")


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the engine was at a pull: settings ("path=value"), lambda by speed (None: as the sheet says).

    ``own_mixture``: the pull's own lambda where ``mixture`` is the one like pulls are run at together.
    """

    sets: tuple[str, ...]
    mixture: tuple[float | None, ...]
    settings: Settings
    notes: tuple[str, ...]
    own_mixture: tuple[float | None, ...] = ()

    def fuel_share(self) -> NDArray[np.float64] | float:
        """Fuel at the pull's own lambda over that at ``mixture``; 1 where no like pull's was taken instead."""
        if not self.own_mixture:
            return 1.0
        pairs = zip(self.mixture, self.own_mixture, strict=True)
        return np.array([1.0 if a is None or b is None else a / b for a, b in pairs])


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


def share_mixtures(observations: Sequence[Observation]) -> list[Observation]:
    """Like pulls at one lambda a speed, so that the engine is run once for all; their fuel stays at their own.

    Only pulls under the same settings whose lambdas differ by no more than ``ALIKE`` at a speed. At equal air the
    fuel goes as one over lambda; what so small a difference does to torque lies below the model's own noise.
    """
    seen: dict[tuple[tuple[str, ...], float], list[float]] = {}
    for o in observations:
        if isinstance(o.conditions, Conditions):
            for rpm, lam in zip(o.speeds_rpm, o.conditions.mixture, strict=True):
                if lam is not None:
                    seen.setdefault((o.conditions.sets, float(rpm)), []).append(lam)
    out = []
    for o in observations:
        given = o.conditions
        if isinstance(given, Conditions):
            common: list[float | None] = []
            for rpm, lam in zip(o.speeds_rpm, given.mixture, strict=True):
                all_of = seen.get((given.sets, float(rpm)), [])
                alike = lam is not None and max(all_of) - min(all_of) <= ALIKE + 1e-9
                common.append(round(float(np.mean(all_of)) / LAMBDA_STEP) * LAMBDA_STEP if alike else lam)
            o = replace(o, conditions=replace(given, mixture=tuple(common), own_mixture=given.mixture))
        out.append(o)
    return out


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
    _kept: dict[Key, dict[str, float]] = field(default_factory=dict)

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
        keys = [
            (given.sets, tuple(sorted(own.items())), lam, float(rpm))
            for rpm, lam in zip(observation.speeds_rpm, given.mixture, strict=True)
        ]
        missing = [key for key in dict.fromkeys(keys) if key not in self._kept]
        if missing:
            self._run(own, given.sets, missing)
        made = {name: np.array([self._kept[key][name] for key in keys]) for name in (*COLUMNS, "rubbing_Nm")}
        out = {name: made[name] for name in COLUMNS}
        out["torque_Nm"] = made["torque_Nm"] - (friction - 1.0) * made["rubbing_Nm"]
        out["fuel_flow_kg_s"] = made["fuel_flow_kg_s"] * given.fuel_share()
        return out

    def _run(self, factors: Mapping[str, float], sets: tuple[str, ...], keys: Sequence[Key]) -> None:
        """Run the engine at these lambdas and speeds, lambdas side by side on all cores."""
        laid = (*sets, *(f"calibration.{name}={value:.6g}" for name, value in factors.items()))
        groups: dict[float | None, list[Key]] = {}
        for key in keys:
            groups.setdefault(key[2], []).append(key)
        cores = self.workers or os.cpu_count() or 1
        with ThreadPoolExecutor(max_workers=min(cores, len(groups))) as pool:
            each = max(cores // len(groups), 1)
            for job in [pool.submit(self._at_one_mixture, laid, lam, group, each) for lam, group in groups.items()]:
                job.result()
        self.runs += len(keys)
        self.progress(self.runs)

    def _at_one_mixture(self, laid: tuple[str, ...], lam: float | None, keys: Sequence[Key], workers: int) -> None:
        from spoolwright.engine.pull import pull

        mixture = () if lam is None else (f"fuel.mixture={lam:.4g} lambda", "fuel.mixture_table=none")
        sheet = self.sheet((*laid, "calibration.friction=1", "calibration.use=true", *mixture))
        ordered = sorted(keys, key=lambda key: key[3])
        done = pull(sheet, [key[3] for key in ordered], workers=workers, cancelled=self.cancelled)
        if len(done.points) < len(ordered):
            raise BadInput("cancelled before the engine was run at every speed")
        for key, point in zip(ordered, done.points, strict=True):
            made = dict.fromkeys((*COLUMNS, "rubbing_Nm"), np.nan)
            if point.columns["converged"]:
                made |= {name: np.nan if point.columns[name] is None else point.columns[name] for name in COLUMNS}
                omega = key[3] * RPM
                driven = done.model.accessory_power(omega) / omega
                made["rubbing_Nm"] = 1e3 * point.columns["fmep_kPa"] * done.model.swept / (4.0 * np.pi) - driven
            self._kept[key] = made
