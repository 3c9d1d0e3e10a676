"""Like pulls are run once: what they share, what stays their own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from dyno_known import NO_SETTINGS

from spoolwright.dyno.engine_model import Conditions, EngineModel, share_mixtures
from spoolwright.dyno.fit import Observation

SPEEDS = np.array([3000.0, 4000.0])
DAY = ("site.temperature=295 K",)


def _asked(*lambdas: float | None, sets: tuple[str, ...] = DAY) -> Observation:
    return Observation("p", SPEEDS, {}, {}, {}, "", Conditions(sets, lambdas, NO_SETTINGS, ()))


class Counted(EngineModel):
    """An engine whose torque is 200 N m less 100 times lambda, air flow 0.1 kg/s; counts what it is asked to run."""

    def _at_one_mixture(self, laid, lam, keys, workers):
        for key in keys:
            self.asked.append((lam, key[3]))
            columns = dict.fromkeys(("air_flow_kg_s", "primary_temperature_K", "manifold_pressure_kPa"), 0.1)
            self._kept[key] = {
                **columns, "rubbing_Nm": 10.0, "torque_Nm": 200.0 - 100.0 * lam, "fuel_flow_kg_s": 0.1 / (14.6 * lam),
            }  # fmt: skip


def _counted() -> Counted:
    model = Counted(Path())
    model.asked = []
    return model


def test_like_pulls__are_run_once_and_keep_their_own_fuel() -> None:
    shared = share_mixtures([_asked(0.80, 0.85), _asked(0.82, 0.85)])
    assert [o.conditions.mixture for o in shared] == [pytest.approx((0.81, 0.85))] * 2
    model = _counted()
    made = [model({}, o) for o in shared]
    assert sorted(model.asked) == [(pytest.approx(0.81), 3000.0), (0.85, 4000.0)]
    for lam, one in zip((0.80, 0.82), made, strict=True):
        assert one["fuel_flow_kg_s"] == pytest.approx([0.1 / (14.6 * lam), 0.1 / (14.6 * 0.85)])


def test_pulls_apart_in_mixture_or_day__are_run_each() -> None:
    apart = share_mixtures([_asked(0.80, 0.85), _asked(0.83, 0.85), _asked(0.80, None, sets=())])
    assert [o.conditions.mixture for o in apart] == [(0.80, 0.85), (0.83, 0.85), (0.80, None)]


def test_friction__costs_no_run() -> None:
    model = _counted()
    one = _asked(0.8, 0.8)
    plain = model({"friction": 1.0}, one)["torque_Nm"]
    assert model({"friction": 1.2}, one)["torque_Nm"] == pytest.approx(plain - 0.2 * 10.0)
    assert len(model.asked) == 2
