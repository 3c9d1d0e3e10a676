"""From a sheet's turbo and the places in its gas path to the machines' arrays."""

from __future__ import annotations

import numpy as np

from spoolwright.boost.rows import (
    C_HEAT_CAPACITY,
    C_LOSS,
    G_LAG,
    K_AREA_OVER_LENGTH,
    LINE_ROWS,
    N_COMPRESSOR,
    N_COOLER,
    N_GATE,
    N_LINE_COLUMNS,
    N_TURBINE,
)
from spoolwright.engine.machinery import GateAt, Machinery
from spoolwright.engine.parts import (
    CS_COOLANT,
    CS_CORE,
    CS_RATE,
    GS_RATE,
    H_EFFICIENCY,
    H_PASSAGE,
    H_RATE,
    H_SPEED_SQUARED,
    N_COOLER_STATE,
    N_GATE_STATE,
    N_SHAFT,
    ON_END,
    ON_LINK,
    Machines,
)
from spoolwright.engine.turbo import Turbo

STILL = 5000.0  # rad/s, a first shaft speed; every run sets its own
SHORTEST_LAG = 1e-6  # s; a gate without lag follows within the step
LEAST_LOSS = 50.0  # 1/m4: an opening of 0.1 m2, too wide to matter


def no_machines() -> Machines:
    """The machines of an engine without a turbo: arrays without rows."""

    def ints(columns: int) -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
        return np.zeros((0, columns), dtype=np.int64)

    return Machines(
        compressor_at=ints(2),
        wheel=np.zeros((0, N_COMPRESSOR)),
        lines=np.zeros((0, LINE_ROWS, N_LINE_COLUMNS)),
        shaft=np.zeros((0, N_SHAFT)),
        entry_at=ints(3),
        turbine=np.zeros((0, N_TURBINE)),
        gate=np.zeros((0, N_GATE)),
        gate_state=np.zeros((0, N_GATE_STATE)),
        gate_signal=ints(2),
        way_at=ints(5),
        way_share=np.zeros(0),
        cooler_at=ints(2),
        cooler=np.zeros((0, N_COOLER)),
        cooler_state=np.zeros((0, N_COOLER_STATE)),
        outside=np.array([101325.0, 288.15]),
    )


def machines_of(turbo: Turbo, machinery: Machinery, p: float, T: float) -> Machines:
    """The arrays of all machines; outside air p [Pa], T [K]. Shafts are held."""
    count = len(machinery.compressors)
    shaft = np.zeros((count, N_SHAFT))
    shaft[:, H_SPEED_SQUARED] = STILL**2
    shaft[:, H_EFFICIENCY] = turbo.shaft_efficiency
    gates = max((way.gate + 1 for way in machinery.gates), default=0)
    coolers = len(machinery.coolers)
    cooler_state = np.zeros((coolers, N_COOLER_STATE))
    cooler = np.zeros((coolers, N_COOLER))
    if coolers:
        cooler[:] = turbo.cooler
        cooler[:, C_LOSS] = np.maximum(cooler[:, C_LOSS], LEAST_LOSS)
        coolant = T if turbo.T_coolant is None else turbo.T_coolant
        cooler_state[:, CS_CORE] = cooler_state[:, CS_COOLANT] = coolant
    return Machines(
        compressor_at=_rows([(c.inlet, c.outlet) for c in machinery.compressors], 2),
        wheel=np.tile(turbo.compressor.sizes, (count, 1)),
        lines=np.tile(turbo.compressor.lines, (count, 1, 1)),
        shaft=shaft,
        entry_at=_rows([(e.turbo, e.volute, e.outlet) for e in machinery.entries], 3),
        turbine=np.array([turbo.turbine[e.entry or 0] for e in machinery.entries]).reshape(-1, N_TURBINE),
        gate=np.zeros((0, N_GATE)) if turbo.gate is None else np.tile(turbo.gate, (gates, 1)),
        gate_state=np.zeros((gates, N_GATE_STATE)),
        gate_signal=_rows([_signals(turbo, machinery)] * gates, 2),
        way_at=_rows([_way(way) for way in machinery.gates], 5),
        way_share=np.array([way.share for way in machinery.gates]),
        cooler_at=_rows([(c.hot, c.cold) for c in machinery.coolers], 2),
        cooler=cooler,
        cooler_state=cooler_state,
        outside=np.array([p, T]),
    )


def _rows(rows: list[tuple[int, ...]], columns: int) -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
    return np.array(rows, dtype=np.int64).reshape(-1, columns)


def _way(way: GateAt) -> tuple[int, ...]:
    if isinstance(way.place, int):
        return way.gate, ON_LINK, way.place, way.source, way.target
    return way.gate, ON_END, 2 * way.place[0] + (way.place[1] == "stop"), way.source, way.target


def _signals(turbo: Turbo, machinery: Machinery) -> tuple[int, int]:
    return machinery.stations[turbo.opening_signal], machinery.stations[turbo.closing_signal]


def hold(machines: Machines) -> None:
    """Hold speed and core temperature within the cycle; flow follows the map, gates move: for steady points."""
    machines.shaft[:, [H_RATE, H_PASSAGE]] = 0.0
    machines.gate_state[:, GS_RATE] = 1.0 / np.maximum(machines.gate[:, G_LAG], SHORTEST_LAG)
    machines.cooler_state[:, CS_RATE] = 0.0


def release(machines: Machines, inertia: float) -> None:
    """Let shafts of this inertia [kg m2], gates and cooler cores move, with the flow as a momentum state."""
    hold(machines)
    machines.shaft[:, H_RATE] = 1.0 / inertia
    machines.shaft[:, H_PASSAGE] = machines.wheel[:, K_AREA_OVER_LENGTH]
    capacity = machines.cooler[:, C_HEAT_CAPACITY]
    machines.cooler_state[:, CS_RATE] = np.where(capacity > 0.0, 1.0 / np.maximum(capacity, 1e-9), 0.0)
