"""Run an engine at one speed until its cycles repeat, and take the cycle's numbers off it.

Convergence: trapped mass and work of every cylinder, and mass and energy stored in ducts and volumes, must
change by less than ``TOLERANCE`` from cycle to cycle, twice running (once can happen by accident). Trapped
mass stalls near 1e-5 because the steps fall a little differently each cycle.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.changes import set_one_zone
from spoolwright.engine.layout import empty_tally
from spoolwright.engine.loop import CLOSED_SPAN, CYLINDER_FAILED, DONE, own_angle, run_cycle
from spoolwright.engine.parts import (
    A_ENTHALPY,
    A_MASS,
    K_WORK,
    TIME,
    V_INTAKE,
    X_HEAT,
    X_WORK,
    Z_HEAT,
    Engine,
    Tally,
)
from spoolwright.errors import NoConvergence
from spoolwright.flow.network import COURANT
from spoolwright.flow.rows import BURN, ENE, FUEL, G_RDX, JUNCTION, MASS, N_BURN, N_ENE, N_FUEL, N_MASS, VOLUME

TOLERANCE = 2e-4
MOST_CYCLES = 80
NO_PROBES = np.zeros(0, dtype=np.int64)
NO_TRACE = np.zeros((0, 0))

Floats = NDArray[np.float64]


@dataclass
class Cycle:
    """The last cycle of a point: arrays as the kernels left them, and how it converged.

    ``residuals`` are the last relative changes by name; ``mass_closure`` and ``energy_closure`` are what a
    balance over the whole engine leaves, over the mass that passed and over the fuel's energy.
    """

    engine: Engine
    tally: Tally
    omega: float
    cycles: int
    converged: bool
    residuals: dict[str, float]
    mass_closure: float
    energy_closure: float
    trace: Floats = field(default_factory=lambda: NO_TRACE)


def start(engine: Engine, p: float, T: float, phi: float, T_burned: float = 1100.0) -> None:
    """Fill the cylinders for engine angle -360: fresh charge in intake and compression, else burned gas.

    p [Pa], T [K] of the intake; phi equivalence ratio of the charge.
    """
    share = phi / (phi + engine.gas.air_fuel_stoichiometric)
    for k in range(len(engine.phase)):
        theta = own_angle(-360.0, float(engine.phase[k]))
        if -360.0 < theta < 0.0:
            status = set_one_zone(engine.cylinders, k, theta, p, T, (1.0 - share) * 0.95, share * 0.95, 0.05, phi)
        else:
            status = set_one_zone(engine.cylinders, k, theta, 1.1 * p, T_burned, 0.0, 0.0, 1.0, phi)
        if status != r.OK:
            raise NoConvergence(f"cylinder {k + 1} could not be filled at equivalence ratio {phi:.3g}")


def own_copy(engine: Engine) -> Engine:
    """The engine with its own changing arrays; tables and meshes stay shared."""
    net, c = engine.net, engine.cylinders
    changing = ("U", "W", "aux", "left", "right", "mid", "F", "q_wall", "ends", "joins", "nodes", "links")
    copied = net._replace(**{name: getattr(net, name).copy() for name in changing})
    cylinders = c._replace(
        design=c.design.copy(),
        state=c.state.copy(),
        charge_c=c.charge_c.copy(),
        charge_R=c.charge_R.copy(),
        slices=c.slices.copy(),
    )
    machines = engine.machines._replace(
        shaft=engine.machines.shaft.copy(),
        gate_state=engine.machines.gate_state.copy(),
        cooler_state=engine.machines.cooler_state.copy(),
    )
    return engine._replace(net=copied, cylinders=cylinders, machines=machines)


def continue_from(engine: Engine, neighbour: Engine) -> None:
    """Take the gas state of a neighbouring point over; ``engine`` keeps its own design, gas and mixers."""
    for mine, other in (
        (engine.net.U, neighbour.net.U),
        (engine.net.nodes, neighbour.net.nodes),
        (engine.net.ends, neighbour.net.ends),
        (engine.net.joins, neighbour.net.joins),
        (engine.net.links, neighbour.net.links),
        (engine.cylinders.state, neighbour.cylinders.state),
        (engine.cylinders.charge_c, neighbour.cylinders.charge_c),
        (engine.cylinders.charge_R, neighbour.cylinders.charge_R),
        (engine.cylinders.slices, neighbour.cylinders.slices),
        (engine.machines.shaft, neighbour.machines.shaft),
        (engine.machines.gate_state, neighbour.machines.gate_state),
        (engine.machines.cooler_state, neighbour.machines.cooler_state),
    ):
        mine[:] = other


def stored(engine: Engine) -> tuple[float, float, float]:
    """Mass [kg] of all gas, absolute energy [J] of all gas, and energy of ducts and volumes alone [J, sensible]."""
    net, e0 = engine.net, engine.gas.duct.e0
    dx = np.where(net.geometry[G_RDX] > 0.0, 1.0 / np.maximum(net.geometry[G_RDX], 1e-30), 0.0)
    mass, energy, fuel, burned = (float((net.U[row] * dx).sum()) for row in (MASS, ENE, FUEL, BURN))
    for kind, row in zip(net.kind, net.nodes, strict=True):
        if kind in (VOLUME, JUNCTION):
            mass, energy = mass + row[N_MASS], energy + row[N_ENE]
            fuel, burned = fuel + row[N_FUEL], burned + row[N_BURN]
    absolute = energy + (mass - fuel - burned) * e0[0] + fuel * e0[1] + burned * e0[2]
    state = engine.cylinders.state
    held = state[:, [r.MASS, r.CREVICE_AIR, r.CREVICE_FUEL, r.CREVICE_BURNED]]
    absolute += float(state[:, [r.ENERGY, r.CREVICE_ENERGY]].sum())
    return mass + float(held.sum()), absolute, energy


def run_point(
    engine: Engine,
    omega: float,
    *,
    tolerance: float = TOLERANCE,
    most_cycles: int = MOST_CYCLES,
    settle: Callable[[Engine, Tally, int], bool] | None = None,
    probes: NDArray[np.int64] = NO_PROBES,
    trace_rows: int = 0,
    cancelled: Callable[[], bool] = lambda: False,
) -> Cycle:
    """March cycles at crank speed omega [rad/s] until they repeat.

    settle : called after each cycle with the engine, its sums and the cycle's number; may change the design
    (spark, walls) and says whether it is content. trace_rows > 0 adds one more cycle that writes its trace.

    Raises
    ------
    NoConvergence : a kernel failed; the message names cylinder and cycle. Reaching ``most_cycles`` is not
    raised but told by ``converged``.
    """
    count = len(engine.phase)
    tally, behind, opened = empty_tally(engine), np.zeros(count), np.zeros(count, dtype=np.int64)
    before: Floats | None = None
    good = 0
    residuals: dict[str, float] = {}
    n = 0
    mass, energy, _ = stored(engine)
    mass_before, energy_before = mass, energy
    while n < most_cycles and good < 2 and not cancelled():
        mass_before, energy_before, _ = stored(engine)  # settle may have moved gas to another pressure
        engine.net.q_wall[:] = 0.0
        status, k, _ = run_cycle(engine, omega, COURANT, CLOSED_SPAN, tally, behind, opened, NO_PROBES, NO_TRACE)
        n += 1
        stop_if_failed(status, k, n, omega)
        mass, energy, duct_energy = stored(engine)
        if not np.isfinite(energy):
            raise NoConvergence(f"the gas state was lost in cycle {n} at {omega * 30 / pi:.0f} rpm")
        state = engine.cylinders.state
        now = np.concatenate([state[:, r.MASS_CLOSED], state[:, r.WORK], [mass, duct_energy]])
        content = settle(engine, tally, n) if settle is not None else True
        if before is not None:
            residuals = _changes(before, now, count, state)
            good = good + 1 if content and max(residuals.values()) < tolerance else 0
        before = now
    closures = _closures(engine, tally, mass - mass_before, energy - energy_before)
    trace = NO_TRACE
    if trace_rows:
        columns = 2 + 3 * count + len(engine.valves.rows) + 2 * len(probes)
        trace = np.zeros((trace_rows, columns))
        status, k, rows = run_cycle(engine, omega, COURANT, 0.0, tally, behind, opened, probes, trace)
        stop_if_failed(status, k, n + 1, omega)
        trace = trace[:rows]
    return Cycle(engine, tally, omega, n, good >= 2, residuals, *closures, trace)


def stop_if_failed(status: int, k: int, n: int, omega: float) -> None:
    """Raise NoConvergence where cycle n ended with a failure, told by its status and cylinder."""
    if status == DONE:
        return
    what = f"cylinder {k + 1} found no state" if status == CYLINDER_FAILED else "the duct flow was lost"
    raise NoConvergence(f"{what} in cycle {n} at {omega * 30 / pi:.0f} rpm")


def _changes(before: Floats, now: Floats, count: int, state: Floats) -> dict[str, float]:
    change = np.abs(now - before)
    work_scale = np.maximum(
        np.abs(now[count : 2 * count]), 0.02 * float(state[:, r.P_CLOSED].mean() * state[:, r.V_CLOSED].mean())
    )
    return {
        "trapped mass": float((change[:count] / np.maximum(now[:count], 1e-12)).max()),
        "work": float((change[count : 2 * count] / np.maximum(work_scale, 1e-9)).max()),
        "mass in the engine": float(change[-2] / now[-2]),
        "energy in the ducts": float(change[-1] / max(abs(now[-1]), 1e-9)),
    }


def _closures(engine: Engine, tally: Tally, dm: float, dE: float) -> tuple[float, float]:
    """What balances over the last cycle leave: mass over mass passed, energy over fuel energy (or work)."""
    state = engine.cylinders.state
    mass_left = float(tally.ambient[:, A_MASS].sum()) - float(tally.fuel[:, 0].sum()) + dm
    net = engine.net
    dx = np.where(net.geometry[G_RDX] > 0.0, 1.0 / np.maximum(net.geometry[G_RDX], 1e-30), 0.0)
    wall = float((net.q_wall * dx).sum())
    cylinder_heat = float(state[:, [r.Q_HEAD, r.Q_PISTON, r.Q_LINER]].sum())
    energy_left = (
        float(tally.ambient[:, A_ENTHALPY].sum())
        - float(tally.fuel[:, 1].sum())
        - wall
        + cylinder_heat
        + float(state[:, r.WORK].sum())
        - float(tally.compressor[:, K_WORK].sum())
        + float(tally.turbine[:, [X_WORK, X_HEAT]].sum())
        + float(tally.cooling[:, Z_HEAT].sum())
        + dE
    )
    passed = max(float(np.abs(tally.ambient[:, A_MASS]).max(initial=0.0)), 1e-12)
    fuel_energy = float(tally.fuel[:, 0].sum()) * 43e6  # scale only: J/kg of any liquid hydrocarbon fuel, 2 %
    return mass_left / passed, energy_left / max(fuel_energy, float(np.abs(state[:, r.WORK]).sum()), 1e-9)


def mean_pressure(tally: Tally, node: int) -> float:
    """Time-mean pressure [Pa] of a node over the cycle."""
    return float(tally.p_mean[node] / tally.numbers[TIME])


def intake_mass(cycle: Cycle) -> float:
    """Mass [kg] that entered all cylinders through intake valves in the cycle, net."""
    return float(cycle.tally.valve_mass[cycle.engine.valves.rows[:, V_INTAKE] == 1].sum())


def summary(cycle: Cycle) -> dict[str, Any]:
    """The cylinder records of the cycle as lists, one number a cylinder; SI, angles in deg.

    Work and heat are sums over the cycle; the records of the burn are those of each cylinder's last whole one,
    which for a cylinder caught in compression at the cycle's end is not the one under way.
    """
    state, record = cycle.engine.cylinders.state, cycle.tally.burned
    names = {
        "work": r.WORK,
        "trapped_mass": r.MASS_CLOSED,
        "residual": r.Y_RESIDUAL,
        "p_max": r.P_MAX,
        "angle_p_max": r.ANGLE_P_MAX,
        "mfb10": r.ANGLE_10,
        "mfb50": r.ANGLE_50,
        "mfb90": r.ANGLE_90,
        "knock": r.KNOCK_85,
        "knock_angle": r.KNOCK_ANGLE,
        "q_head": r.Q_HEAD,
        "q_piston": r.Q_PISTON,
        "q_liner": r.Q_LINER,
    }
    sums = ("work", "q_head", "q_piston", "q_liner")
    return {name: (state if name in sums else record)[:, column].tolist() for name, column in names.items()}
