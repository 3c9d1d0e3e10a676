"""Speed of the duct step as ratios, in one process: NumPy twin, and a general finite-volume library.

Run it:  python benchmarks/ducts.py [--cells 150]
The library (Clawpack/PyClaw, a compiled second-order wave-propagation code) needs a Fortran compiler to
install and is optional; without it the script says so. See README.md beside this file.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "flow"))
import duct_twin  # the same step in plain NumPy, also the check of the compiled one

from spoolwright.flow.build import End, build_network, fill_duct
from spoolwright.flow.mesh import Duct
from spoolwright.flow.network import march
from spoolwright.gas.duct import DuctGas

# Three gases with heat capacity rising with temperature, so that nothing is simpler than in an engine.
GAS = DuctGas(
    np.array([287.0, 75.0, 290.5]),
    np.array([651.0, 560.0, 760.0]),
    np.array([0.206, 3.1, 0.215]),
    np.zeros(3),
)
NO_PROBES, NO_RECORD = np.zeros(0, dtype=np.int64), np.zeros((0, 2))


def network(cells: int):
    """A closed pipe with waves, three species, friction and wall heat."""
    pipe = Duct("pipe", 0.02 * cells, 0.04, 0.02, T_wall=400.0, roughness=2e-5, loss=0.5)
    net, (span,) = build_network(GAS, [(pipe, End(), End())], [])
    x = np.arange(cells) / cells
    p = 1e5 * (1.0 + 0.2 * np.sin(6.0 * x))
    fill_duct(net, span, p, 400.0, 20.0 * np.sin(3.0 * x), 0.03 * x, 0.5 * x)
    return net


def ours(cells: int) -> Callable[[], int]:
    """A call that does about 20 ms of work and returns the number of steps."""
    net = network(cells)
    march(net, 0.8, 1e9, 10, NO_PROBES, NO_RECORD)
    steps = max(10, 400_000 // cells)

    def call() -> int:
        march(net, 0.8, 1e9, steps, NO_PROBES, NO_RECORD)
        return steps

    return call


def twin(cells: int) -> Callable[[], int]:
    net = network(cells)

    def call() -> int:
        faces = duct_twin.end_faces(net)
        for _ in range(20):
            U, faces, _, _ = duct_twin.step(GAS, net, faces, 0.8)
            net.U[:] = U
        return 20

    return call


def library(cells: int) -> dict[str, Callable[[], int]]:
    """PyClaw's classic second-order solver (Roe, MC limiter) as used, and its bare compiled step."""
    from clawpack import pyclaw, riemann

    def prepared():
        solver = pyclaw.ClawSolver1D(riemann.euler_with_efix_1D)
        solver.limiters = pyclaw.limiters.tvd.MC
        solver.cfl_desired, solver.cfl_max = 0.8, 0.9
        solver.bc_lower[0] = solver.bc_upper[0] = pyclaw.BC.wall
        solver.max_steps = 10_000_000
        domain = pyclaw.Domain([pyclaw.Dimension(0.0, 1.0, cells, name="x")])
        state = pyclaw.State(domain, solver.num_eqn)
        state.problem_data["gamma"], state.problem_data["gamma1"] = 1.4, 0.4
        x = state.grid.x.centers
        state.q[0], state.q[1] = 1.0, 0.0
        state.q[2] = (1.0 + 0.2 * np.sin(6.0 * x)) / 0.4
        solver.dt_initial = 0.3 / cells
        return solver, pyclaw.Solution(state, domain)

    solver, solution = prepared()
    solver.evolve_to_time(solution, 0.01)

    def as_used() -> int:
        before = solver.status["numsteps"]
        solver.evolve_to_time(solution, solution.t + 200.0 * 0.65 / cells)
        return int(solver.status["numsteps"] - before)

    bare, other = prepared()
    bare.evolve_to_time(other, 0.01)
    mx, ghosts, dx = cells, bare.num_ghost, 1.0 / cells
    pointer = bare.rp.rp1._cpointer
    dt = 0.5 * dx

    def bare_step() -> int:
        for _ in range(200):
            bare.qbc, _ = bare.fmod.step1(
                ghosts, mx, bare.qbc, bare.auxbc, dx, dt, bare._method, bare._mthlim, bare.fwave, pointer
            )
        return 200

    return {"PyClaw as used": as_used, "PyClaw bare compiled step": bare_step}


def rates(calls: dict[str, Callable[[], int]], cells: int, repeats: int = 9) -> dict[str, float]:
    """Best cell updates per second of each, turn about, in time of this thread: a busy machine hits all alike."""
    best = dict.fromkeys(calls, 0.0)
    for _ in range(repeats):
        for name, call in calls.items():
            start = time.thread_time()
            steps = call()
            best[name] = max(best[name], cells * steps / (time.thread_time() - start))
    return best


def compare(cells: int = 150) -> dict[str, float]:
    """Cell updates per second by name."""
    calls = {"spoolwright": ours(cells), "NumPy twin": twin(cells)}
    try:
        calls |= library(cells)
    except ImportError:
        print("PyClaw not installed: not compared", file=sys.stderr)
    return rates(calls, cells)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--cells", type=int, default=150)
    options.add_argument("--json", action="store_true")
    chosen = options.parse_args()
    best = compare(chosen.cells)
    if chosen.json:
        print(json.dumps({"cells": chosen.cells, "updates_per_s": best}))
        return
    for name, rate in best.items():
        print(f"{name:28s} {rate / 1e6:8.2f} M cell updates/s   ratio {best['spoolwright'] / rate:6.1f}")


if __name__ == "__main__":
    main()
