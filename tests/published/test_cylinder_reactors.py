"""The motored cylinder against Cantera reactors with the same geometry, wall heat and valve law.

Source of the expected values: Cantera's reactor network (species data nasa_gas.yaml), run here by the
script in cylinder_cantera.py, which shares nothing with the program.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from cylinder_cantera import Engine, crank_volume, motored

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.build import Burn, build_cylinders, disc_chamber
from spoolwright.cylinder.burning_velocity import burning_velocity
from spoolwright.cylinder.closed import NO_TRACE, closed_cycle, trap
from spoolwright.gas.air import DRY_AIR
from spoolwright.gas.fuels import grade
from spoolwright.gas.ignition import ignition_table
from spoolwright.gas.model import gas_model

BORE, STROKE, ROD, RATIO = 0.086, 0.086, 0.143, 9.0
WALLS = {"T_head": 450.0, "T_piston": 470.0, "T_liner": 410.0}


@pytest.mark.parametrize("heat_model", ["adiabatic", "woschni", "hohenberg"])
@pytest.mark.parametrize("rpm", [1000.0, 5000.0])
def test_motored_closed__peak_pressure(heat_model: str, rpm: float) -> None:
    omega = rpm * np.pi / 30.0
    multiplier = 0.0 if heat_model == "adiabatic" else 1.3
    gas = gas_model(grade("isooctane"), DRY_AIR, 1.0)
    model = "woschni" if heat_model == "adiabatic" else heat_model
    burn = Burn(model="none", heat_model=model, heat_multiplier=multiplier)
    chamber = disc_chamber(BORE, STROKE, ROD, RATIO, **WALLS)
    c = build_cylinders([chamber], [burn], gas, burning_velocity({"isooctane": 1.0}), ignition_table(100.0))
    trap(c, 0, -120.0, 1.05e5, 330.0, 0.0)
    ours = closed_cycle(c, 0, 120.0, omega, 0.0, NO_TRACE)

    V_1 = crank_volume(-120.0, BORE, STROKE, ROD, RATIO)
    swept = 0.25 * np.pi * BORE**2 * STROKE
    piston = 2.0 * STROKE * rpm / 60.0

    def wall(V: float, p: float, T: float) -> float:
        """Woschni (SAE 670931) and Hohenberg (SAE 790825), written anew."""
        rise = max(p - 1.05e5 * (V_1 / V) ** 1.33, 0.0)
        w = 2.28 * piston + 3.24e-3 * swept * 330.0 / (1.05e5 * V_1) * rise
        h = 3.26 * BORE**-0.2 * (1e-3 * p) ** 0.8 * T**-0.55 * w**0.8
        if heat_model == "hohenberg":
            h = 130.0 * V**-0.06 * (1e-5 * p) ** 0.8 * T**-0.4 * (piston + 1.4) ** 0.8
        head = 0.25 * np.pi * BORE**2
        liner = 4.0 * V / BORE
        return 1.3 * h * (head * (2.0 * T - 450.0 - 470.0) + liner * (T - 410.0))

    engine = Engine(BORE, STROKE, ROD, RATIO, omega)
    theirs = motored(engine, (-120.0, 1.05e5, 330.0), 120.0, wall if multiplier else None)
    assert ours.status == r.OK
    assert abs(ours.p_max / theirs.p.max() - 1.0) < 2e-3
    assert abs(ours.p_end / theirs.p[-1] - 1.0) < 2e-3
    if multiplier:
        assert abs(ours.heat / theirs.heat - 1.0) < 5e-3
        assert ours.angle_p_max < -0.1


@pytest.mark.slow
@pytest.mark.parametrize("rpm", [2000.0, 6000.0])
def test_motored_breathing__peak_pressure_and_work(rpm: float) -> None:
    """The example of the motored cylinder: 0.2 % of peak pressure and 2 mbar of net imep."""
    example = load_example("motored_cylinder")
    answer = example.settled_cycle(rpm)
    intake, exhaust = example.valves()
    tables = (intake.forward, intake.reverse, exhaust.reverse, exhaust.forward)
    angles = np.linspace(-360.0, 360.0, len(intake.forward))
    areas = tuple(lambda a, t=t: float(np.interp((a + 360.0) % 720.0 - 360.0, angles, t)) for t in tables)
    engine = Engine(example.BORE, example.STROKE, example.ROD, example.RATIO, rpm * np.pi / 30.0)
    cycles = 6
    end = -360.0 + 720.0 * cycles
    theirs = motored(engine, (-360.0, 1e5, 300.0), end, None, areas, (1e5, 300.0), step=0.25)
    swept = 0.25 * np.pi * example.BORE**2 * example.STROKE
    imep = float(np.trapezoid(theirs.p, theirs.V)) / swept
    known_p, known_imep = example.KNOWN[rpm]
    assert abs(known_p / theirs.p.max() - 1.0) < 1e-4
    assert abs(known_imep - imep) < 10.0
    assert abs(answer.p_max / theirs.p.max() - 1.0) < 2e-3
    assert abs(answer.imep - imep) < 200.0


def load_example(name: str) -> ModuleType:
    """A script of examples/scripts as a module."""
    path = Path(__file__).parents[2] / "examples" / "scripts" / f"{name}.py"
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module
