"""The second process that compiles the loop: right types, never in the way, nothing left behind."""

import os
import subprocess
import sys

import numpy as np
import pytest
from builds import SINGLE, sheet_of

from spoolwright.engine import compiling
from spoolwright.engine.assemble import assemble
from spoolwright.engine.layout import empty_tally
from spoolwright.engine.loop import cycle_arguments, march_cycle
from spoolwright.engine.run import NO_PROBES, NO_TRACE, own_copy


def test_prototype__has_the_types_of_an_engine() -> None:
    """Another type would have the loop compiled for an engine that never comes."""
    engine = own_copy(assemble(sheet_of(SINGLE), 0.9).engine)
    behind, opened = np.zeros(1), np.zeros(1, dtype=np.int64)
    real = cycle_arguments(engine, 300.0, 0.8, 2.0, empty_tally(engine), behind, opened, NO_PROBES, NO_TRACE)
    made = compiling.prototype_arguments()
    assert [march_cycle.typeof_pyval(a) for a in made] == [march_cycle.typeof_pyval(a) for a in real]


@pytest.fixture
def never_compiled(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiling, "is_compiled", lambda: False)
    monkeypatch.setattr(compiling, "CACHED", True)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)


def test_loop_beside__is_not_started_for_nothing(never_compiled: None, monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in (("is_compiled", lambda: True), ("CACHED", False)):
        with monkeypatch.context() as patch:
            patch.setattr(compiling, name, value)
            with compiling.loop_beside(lambda: False) as beside:
                assert beside is None
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    with compiling.loop_beside(lambda: False) as beside:
        assert beside is None


def test_loop_beside__that_cannot_start_is_done_without(never_compiled: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/no/such/interpreter")
    with compiling.loop_beside(lambda: False) as beside:
        assert beside is None


@pytest.mark.skipif(sys.platform == "win32", reason="false is a program of Unix")
def test_loop_beside__that_fails_holds_nothing_up(never_compiled: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/bin/false")
    with compiling.loop_beside(lambda: False) as beside:
        assert beside is not None
        beside.wait()
        assert beside._process.returncode == 1


def test_loop_beside__is_ended_with_the_pull(never_compiled: None) -> None:
    """Cancelled, or left by an error: the wait returns, and the process is gone."""

    def leave() -> None:
        with compiling.loop_beside(lambda: True) as beside:
            assert beside is not None
            seen.append(beside)
            beside.wait()
            raise ValueError("a bad sheet")

    seen: list[compiling.Beside] = []
    with pytest.raises(ValueError, match="a bad sheet"):
        leave()
    assert seen[0]._process.returncode not in (None, 0)


@pytest.mark.slow
def test_loop__compiled_beside_is_found_by_another_process(tmp_path) -> None:
    environment = os.environ | {"SPOOLWRIGHT_CACHE": str(tmp_path)}
    command = [sys.executable, "-m", "spoolwright.engine.compiling"]
    subprocess.run(command, env=environment, check=True, capture_output=True)
    program = (
        "from spoolwright.engine.compiling import is_compiled, march_cycle, prototype_arguments\n"
        "assert is_compiled()\n"
        "march_cycle.prepare(*prototype_arguments())\n"
        "print(sum(march_cycle.stats.cache_hits.values()), sum(march_cycle.stats.cache_misses.values()))"
    )
    done = subprocess.run([sys.executable, "-c", program], env=environment, check=True, capture_output=True, text=True)
    assert done.stdout.split() == ["1", "0"]
