"""Pulls of a build with known factors: the engine's own torque drives a made-up roller, noise and delay on top."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
from dyno_runs import RPM, log_of, run
from scipy.interpolate import CubicSpline

from spoolwright.dyno.engine_model import Conditions, EngineModel
from spoolwright.dyno.fit import Observation
from spoolwright.dyno.settings import Settings
from spoolwright.sheet import demo_folder

SPEEDS = np.arange(2000.0, 6001.0, 1000.0)
NO_SETTINGS = Settings(None, False, (), (), (), ())
INERTIA = 12.0  # kg m2
LATE = 0.35  # s, the mixture sensor


def plover(folder: Path) -> Path:
    """A copy of the demo single, its spark locked."""
    target = folder / "plover"
    if not target.exists():
        shutil.copytree(demo_folder("plover"), target)
        sheet = target / "build.toml"
        text = sheet.read_text(encoding="utf-8").replace('timing = "searched"', 'timing = "locked"')
        sheet.write_text(text, encoding="utf-8")
    return target


def asked(*sets: str, speeds: np.ndarray = SPEEDS, lam: float = 0.9) -> Observation:
    """An observation without values: what the engine is asked for."""
    given = Conditions(sets, (lam,) * speeds.size, NO_SETTINGS, ())
    return Observation("asked", speeds, {}, {}, {}, "", given)


class Made:
    """One pull's clean run with known factors; ``log`` gives it with noise and a late mixture sensor."""

    def __init__(self, engine: EngineModel, factors: dict[str, float], *sets: str) -> None:
        self.sets = sets
        true = engine(factors, asked(*sets))
        self.torque = true["torque_Nm"]
        self.fuel = true["fuel_flow_kg_s"] * 3600.0
        # Any smooth curve through the engine's own points will do for the rest.
        self.run = run(CubicSpline(SPEEDS, self.torque), 1600.0, 6600.0, noise=0.0, inertia=INERTIA)

    def log(self, path: Path, seed: int, meter: float = 1.0) -> Path:
        """The run as a rig would have logged it; ``meter``: what its flow meter reads of the truth."""
        rng = np.random.default_rng(seed)
        clean, n = self.run, self.run["time"].size
        pulling = clean["throttle"] > 50.0
        fuel = np.where(pulling, CubicSpline(SPEEDS, self.fuel)(clean["engine"]), 0.6)
        mixture = np.where(pulling, 0.9, 1.05)
        late = np.interp(clean["time"] - LATE, clean["time"], mixture)
        made = {
            **clean,
            "roller": clean["roller"] + rng.normal(0.0, 0.02, n) / RPM,
            "engine": clean["engine"] + rng.normal(0.0, 2.0, n),
            "throttle": clean["throttle"] + rng.normal(0.0, 0.2, n),
        }
        return log_of(
            path,
            made,
            **{
                "Lambda": late + rng.normal(0.0, 0.005, n),
                "Fuel flow [kg/h]": fuel * meter * (1.0 + rng.normal(0.0, 0.02, n)),
            },
        )
