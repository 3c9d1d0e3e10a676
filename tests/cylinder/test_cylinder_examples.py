"""The example scripts of the cylinder give their known answers."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

SCRIPTS = Path(__file__).parents[2] / "examples" / "scripts"


def load(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"example_{name}", SCRIPTS / f"{name}.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_motored_cylinder() -> None:
    """Against the reactor network's figures written in the script (checked in tests/published)."""
    example = load("motored_cylinder")
    for rpm, (p_max, imep) in example.KNOWN.items():
        answer = example.settled_cycle(rpm)
        assert abs(answer.p_max / p_max - 1.0) < 2e-3
        assert abs(answer.imep - imep) < 200.0


def test_fired_single() -> None:
    example = load("fired_single")
    answer = example.solve()
    assert abs(answer.closure) < 1e-10
    assert 0.25 < answer.efficiency < example.KNOWN_BOUND
    assert answer.limited.spark > answer.best.spark
    assert abs(answer.limited.cycle.knock - example.LIMIT) < 1e-3
    assert answer.limited.cycle.work < answer.best.cycle.work
