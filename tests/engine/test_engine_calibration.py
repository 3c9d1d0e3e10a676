"""Factors of a fit act where they should, and can be switched off."""

from __future__ import annotations

import numpy as np
import pytest

from spoolwright.cylinder import rows as r
from spoolwright.engine.assemble import assemble
from spoolwright.engine.calibration import Calibration, calibration
from spoolwright.sheet import demo_folder, load

PLOVER = demo_folder("plover")


def engine(*sets: str):
    return assemble(load(PLOVER, sets=sets), 0.9)


def test_without_the_section__nothing_is_multiplied():
    assert calibration(load(PLOVER)) == Calibration()


def test_each_factor__acts_on_its_own_part():
    plain = engine()
    flow = engine("calibration.flow=0.9 ± 0.02")
    assert flow.engine.valves.area_in == pytest.approx(0.9 * plain.engine.valves.area_in)
    assert flow.engine.valves.area_out == pytest.approx(0.9 * plain.engine.valves.area_out)
    burn = engine("calibration.burn=1.2").engine.cylinders.design
    assert burn[:, r.BURN_FACTOR] == pytest.approx(1.2 * plain.engine.cylinders.design[:, r.BURN_FACTOR])
    heat = engine("calibration.wall_heat=1.3").engine.cylinders.design
    assert heat[:, r.HEAT_MULTIPLIER] == pytest.approx(1.3 * plain.engine.cylinders.design[:, r.HEAT_MULTIPLIER])
    friction = engine("calibration.friction=1.1")
    assert np.array(friction.friction) == pytest.approx(1.1 * np.array(plain.friction))
    assert friction.accessories == plain.accessories


def test_switched_off__the_model_is_as_it_comes():
    off = engine("calibration.flow=0.9", "calibration.friction=1.1", "calibration.use=false")
    plain = engine()
    assert np.array_equal(off.engine.valves.area_in, plain.engine.valves.area_in)
    assert off.friction == plain.friction
    digests = {
        load(PLOVER, sets=s).digest
        for s in ((), ("calibration.flow=0.9",), ("calibration.flow=0.9", "calibration.use=false"))
    }
    assert len(digests) == 3
