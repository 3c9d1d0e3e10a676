"""Speed of the cylinder against the same jobs scripted on Cantera, as ratios within one process.

Two jobs, each once by the compiled kernels and once by a script on Cantera (tests/published/cylinder_cantera.py):

* a fired two-zone closed cycle, adiabatic, one-degree steps. The kernels also work out the flame and the knock
  integral; the script takes the burned mass from the kernels' trace.
* a motored cycle that breathes through valves, against a reactor network with output every degree.

Also a closed cycle with flame and wall heat against a motored one, and two threads against one.
Run: python benchmarks/cylinder.py
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests" / "published"), str(ROOT / "examples" / "scripts")]

import motored_cylinder as breathing  # noqa: E402
from cylinder_cantera import Engine, fresh_and_residual, motored, two_zone  # noqa: E402

from spoolwright.cylinder import rows as r  # noqa: E402
from spoolwright.cylinder.build import Burn, build_cylinders, disc_chamber  # noqa: E402
from spoolwright.cylinder.burning_velocity import burning_velocity  # noqa: E402
from spoolwright.cylinder.changes import set_one_zone, start_tally  # noqa: E402
from spoolwright.cylinder.closed import N_TRACE, NO_TRACE, TRACE, closed_cycle, trap  # noqa: E402
from spoolwright.cylinder.rows import Cylinders  # noqa: E402
from spoolwright.gas.air import DRY_AIR  # noqa: E402
from spoolwright.gas.fuels import grade  # noqa: E402
from spoolwright.gas.ignition import ignition_table  # noqa: E402
from spoolwright.gas.model import gas_model  # noqa: E402
from spoolwright.gas.unburned import charge, charge_h_cp  # noqa: E402
from spoolwright.kernel import kernel  # noqa: E402

COLUMN = {name: i for i, name in enumerate(TRACE)}
OMEGA = 2500.0 * np.pi / 30.0
PHI = 1.1


@kernel
def repeat(c, k, theta_end, omega, spark, n, no_trace):
    """Run the closed cycle n times from the state of cylinder k, which stays as it is."""
    start = c.state[k].copy()
    total = 0.0
    for _ in range(n):
        total += closed_cycle(c, k, theta_end, omega, spark, no_trace).work
        for i in range(start.size):
            c.state[k, i] = start[i]
    return total


def fired(multiplier: float, step: float, burning: float, model: str = "flame") -> Cylinders:
    """A trapped cylinder, 1.57 bar and 385 K at 120 degrees before top dead centre."""
    gas = gas_model(grade("isooctane"), DRY_AIR, PHI)
    burn = Burn(model=model, heat_multiplier=multiplier, step=step, step_burning=burning)
    chamber = disc_chamber(0.087, 0.075, 0.120, 7.8)
    c = build_cylinders([chamber], [burn], gas, burning_velocity({"gasoline": 1.0}), ignition_table(95.0))
    trap(c, 0, -120.0, 1.57e5, 385.0, PHI, 0.05)
    return c


def seconds(job: Callable[[], object], runs: int = 5) -> float:
    """Median time of ``job`` over ``runs``, after one to warm up."""
    job()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def two_zone_ratio() -> tuple[float, float, float, float]:
    """Times [s] of kernel and script, their largest relative difference of pressure, and of T_b [K]."""
    c = fired(0.0, 1.0, 1.0)
    trapped = c.state[0].copy()
    trace = np.zeros((241, N_TRACE))
    closed_cycle(c, 0, 120.0, OMEGA, -26.0, trace)
    c.state[0] = trapped
    n = 200
    ours = seconds(lambda: repeat(c, 0, 120.0, OMEGA, -26.0, n, NO_TRACE)) / n
    mass, Y = trapped[r.MASS], fresh_and_residual(PHI, 0.05)
    arguments = (
        mass, Y, trace[0, COLUMN["p"]], trace[0, COLUMN["T_unburned"]], trace[:, COLUMN["V"]],
        trace[:, COLUMN["burned"]] * mass, np.zeros(241), np.zeros(241),
    )  # fmt: skip
    theirs = seconds(lambda: two_zone(*arguments), 3)
    script = two_zone(*arguments)
    burning = (trace[:, COLUMN["burned"]] > 0.1) & (trace[:, COLUMN["T_burned"]] > 1750.0)
    dT = np.abs(trace[burning, COLUMN["T_burned"]] - script.T_b[burning]).max()
    return ours, theirs, float(np.abs(trace[:, COLUMN["p"]] / script.p - 1.0).max()), float(dT)


def breathing_ratio() -> tuple[float, float]:
    """Times [s] per motored open cycle of kernel and reactor network, both with output every degree."""
    c = breathing.cylinder()
    air = charge(c.species, 1.0, 0.0, 0.0)
    h, cp = charge_h_cp(air, 300.0)
    intake, exhaust = breathing.valves()
    tables = (intake.forward, intake.reverse, exhaust.reverse, exhaust.forward)
    trace = np.zeros((720, 3))

    def ours() -> None:
        set_one_zone(c, 0, -360.0, 1e5, 300.0, 1.0, 0.0, 0.0, 1.0)
        for _ in range(8):
            start_tally(c, 0)
            breathing.breathe(c, 0, *tables, 1e5, 300.0, air.R, cp, h, 2.0 * OMEGA, 1.0, 720, trace)

    angles = np.linspace(-360.0, 360.0, len(intake.forward))
    areas = tuple(lambda a, t=t: float(np.interp((a + 360.0) % 720.0 - 360.0, angles, t)) for t in tables)
    engine = Engine(breathing.BORE, breathing.STROKE, breathing.ROD, breathing.RATIO, 2.0 * OMEGA)
    theirs = seconds(lambda: motored(engine, (-360.0, 1e5, 300.0), 1080.0, None, areas, rtol=1e-6), 3) / 2.0
    return seconds(ours) / 8.0, theirs


def thread_ratio() -> float:
    """Throughput of two threads over one."""
    jobs = [fired(1.3, 1.0, 0.5) for _ in range(2)]
    one = seconds(lambda: [repeat(c, 0, 120.0, OMEGA, -26.0, 400, NO_TRACE) for c in jobs])
    with ThreadPoolExecutor(2) as pool:
        two = seconds(lambda: list(pool.map(lambda c: repeat(c, 0, 120.0, OMEGA, -26.0, 400, NO_TRACE), jobs)))
    return one / two


def main() -> None:
    ours, theirs, dp, dT = two_zone_ratio()
    print(f"two-zone closed cycle, 1 deg: {1e3 * ours:.3f} ms, script {1e3 * theirs:.1f} ms, ratio {theirs / ours:.0f}")
    print(f"  pressure within {dp:.1e}, burned temperature within {dT:.2f} K")
    ours, theirs = breathing_ratio()
    print(f"motored open cycle, 1 deg: {1e3 * ours:.3f} ms, reactors {1e3 * theirs:.2f} ms, ratio {theirs / ours:.0f}")
    n = 200
    burning, idle = fired(1.3, 1.0, 0.5), fired(1.3, 1.0, 0.5, "none")
    full = seconds(lambda: repeat(burning, 0, 120.0, OMEGA, -26.0, n, NO_TRACE)) / n
    plain = seconds(lambda: repeat(idle, 0, 120.0, OMEGA, -26.0, n, NO_TRACE)) / n
    print(f"closed cycle with flame, heat, knock, 1/0.5 deg: {1e3 * full:.3f} ms, {full / plain:.1f} motored ones")
    print(f"two threads over one: {thread_ratio():.2f}")


if __name__ == "__main__":
    main()
