"""The first compilation in two processes: a second one compiles the engine's loop while this one does the rest.

Reading the fuel's gas table, the tables of a chamber and all small kernels take about as long to compile and make as
the loop, and need nothing of it. The second process knows the types of the loop's arguments from a prototype, an
engine of one cylinder whose gas does not exist, compiles for them, writes the cache and ends; then this process finds
the loop there. If anything goes wrong over there, nothing is lost but time: the loop is compiled here.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

import spoolwright
from spoolwright.cylinder.burning_velocity import N_COLUMNS
from spoolwright.cylinder.geometry import N_AREAS
from spoolwright.cylinder.lift import N_ANGLES
from spoolwright.cylinder.rows import N_DESIGN, N_STATE, Cylinders
from spoolwright.engine.boosting import no_machines
from spoolwright.engine.layout import empty_tally
from spoolwright.engine.loop import cycle_arguments, march_cycle
from spoolwright.engine.parts import Engine, Mixers, Valves
from spoolwright.engine.run import NO_PROBES, NO_TRACE
from spoolwright.flow.build import End, Node, build_network
from spoolwright.flow.mesh import Duct
from spoolwright.flow.rows import AMBIENT, CYLINDER
from spoolwright.gas.burned import BurnedSlice, BurnedTable
from spoolwright.gas.duct import DuctGas
from spoolwright.gas.ignition import ignition_table
from spoolwright.gas.model import GasModel
from spoolwright.gas.unburned import ChargeSpecies
from spoolwright.kernel import CACHED, is_compiled_before

LOOK = 0.1  # s between looks at the other process


def is_compiled() -> bool:
    """Whether the loop lies compiled in the cache."""
    return is_compiled_before("march_cycle")


def prototype_arguments() -> tuple[object, ...]:
    """Arguments of the loop with the types of every engine's; they are never run.

    The cylinders are written down here, not built, since building them compiles kernels of its own.
    """
    table = BurnedTable(np.zeros(4), 10.0, 1.0, 300.0, 0.01, np.zeros((4, 3, 3, 2)))
    species = ChargeSpecies(np.zeros((3, 2, 7)), np.zeros(3))
    duct_gas = DuctGas(np.full(3, 287.0), np.full(3, 700.0), np.full(3, 0.1), np.zeros(3))
    gas = GasModel(table, BurnedSlice(10.0, 1.0, 300.0, 0.01, table.values[0].copy()), species, duct_gas, 1.0, 14.7)
    pipe = Duct("pipe", 0.1, 0.03, cell_size=0.02)
    net, _ = build_network(duct_gas, [(pipe, End(0), End(1))], [Node("cylinder", CYLINDER), Node("outside", AMBIENT)])
    cylinders = Cylinders(
        design=np.zeros((1, N_DESIGN)),
        state=np.zeros((1, N_STATE)),
        charge_c=np.zeros((1, 2, 7)),
        charge_R=np.zeros(1),
        slices=np.zeros((1, 3, 3, 2)),
        flame=np.zeros((1, 2, 2, N_AREAS)),
        velocity=np.zeros((1, N_COLUMNS)),
        species=species,
        table=table,
        delay=ignition_table(95.0),
    )
    valves = Valves(np.zeros((1, 4), dtype=np.int64), np.zeros((1, N_ANGLES)), np.zeros((1, N_ANGLES)))
    mixers = Mixers(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0))
    engine = Engine(net, cylinders, np.zeros(1), valves, mixers, no_machines(), gas)
    behind, opened = np.zeros(1), np.zeros(1, dtype=np.int64)
    return cycle_arguments(engine, 300.0, 0.8, 2.0, empty_tally(engine), behind, opened, NO_PROBES, NO_TRACE)


class Beside:
    """The second process. ``wait`` returns when it is done, has failed, or ``cancelled`` says so."""

    def __init__(self, cancelled: Callable[[], bool]) -> None:
        source = str(Path(spoolwright.__file__).parents[1])
        paths = [source, os.environ["PYTHONPATH"]] if os.environ.get("PYTHONPATH") else [source]
        self._cancelled = cancelled
        self._process = subprocess.Popen(
            [sys.executable, "-m", "spoolwright.engine.compiling"],
            env=os.environ | {"PYTHONPATH": os.pathsep.join(paths)},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )

    def wait(self) -> None:
        """Wait for the loop."""
        while not self._cancelled():
            try:
                self._process.wait(LOOK)
                return
            except subprocess.TimeoutExpired:
                continue

    def end(self) -> None:
        """End the process if it still runs."""
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait()


@contextmanager
def loop_beside(cancelled: Callable[[], bool]) -> Iterator[Beside | None]:
    """Have the loop compiled beside while the block runs; None where that is not needed or cannot help."""
    if is_compiled() or not CACHED or not sys.executable or (os.cpu_count() or 1) < 2:
        yield None
        return
    try:
        beside = Beside(cancelled)
    except OSError:  # no room for another process: this one compiles all
        yield None
        return
    try:
        yield beside
    finally:
        beside.end()


if __name__ == "__main__":
    march_cycle.prepare(*prototype_arguments())  # type: ignore[attr-defined]
