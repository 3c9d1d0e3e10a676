"""An engine as small records in SI, and the arrays made from it.

A layout knows no sheet: ``assemble`` writes one from a build, tests write one by hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder.build import Burn, Chamber, build_cylinders
from spoolwright.cylinder.lift import N_ANGLES
from spoolwright.engine.boosting import no_machines
from spoolwright.engine.parts import (
    N_AMBIENT,
    N_COMPRESSOR_SUMS,
    N_COOLER_SUMS,
    N_END_SUMS,
    N_NUMBERS,
    N_TURBINE_SUMS,
    ON_END,
    ON_LINK,
    Engine,
    Machines,
    Mixers,
    Tally,
    Valves,
)
from spoolwright.errors import BadInput
from spoolwright.flow.build import End, Join, Link, Node, Side, build_network
from spoolwright.flow.mesh import Duct, Span
from spoolwright.flow.rows import CYLINDER
from spoolwright.gas.ignition import IgnitionTable
from spoolwright.gas.model import GasModel

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Valve:
    """The intake or exhaust valves of one cylinder on one port.

    ``place`` is a duct end (number, "start" | "stop") that meets the cylinder's node, or the number of a link
    between a port node and the cylinder. Areas [m2] at every degree from -360 to 360 of the cylinder's own angle.
    """

    cylinder: int
    intake: bool
    place: tuple[int, Side] | int
    area_in: Floats
    area_out: Floats


@dataclass(frozen=True)
class Mixer:
    """A node in which fuel joins air until ``fuel_per_air`` [kg/kg].

    ``enthalpy`` [J/kg] of the fuel added, in the ducts' sensible count.
    """

    node: int
    fuel_per_air: float
    enthalpy: float


@dataclass(frozen=True)
class Layout:
    """All parts. The first nodes are the cylinders, one each, of kind CYLINDER."""

    chambers: Sequence[Chamber]
    burns: Sequence[Burn]
    phases: Sequence[float]
    ducts: Sequence[tuple[Duct, End, End]]
    nodes: Sequence[Node]
    valves: Sequence[Valve]
    mixers: Sequence[Mixer] = ()
    joins: Sequence[Join] = ()
    links: Sequence[Link] = ()
    machines: Machines | None = None


def build_engine(layout: Layout, gas: GasModel, velocity: Floats, delay: IgnitionTable) -> tuple[Engine, list[Span]]:
    """Arrays of the engine, filled with its nodes' and ducts' first states; cylinders still empty.

    Raises BadInput for parts that do not fit together.
    """
    count = len(layout.chambers)
    kinds = [node.kind for node in layout.nodes]
    if kinds[:count] != [CYLINDER] * count or CYLINDER in kinds[count:]:
        raise BadInput("the first nodes of a layout must be the cylinders, one node each")
    if len(layout.phases) != count:
        raise BadInput(f"{count} cylinders need {count} phases, {len(layout.phases)} are given")
    net, spans = build_network(gas.duct, layout.ducts, layout.nodes, layout.joins, layout.links)
    cylinders = build_cylinders(list(layout.chambers), list(layout.burns), gas, velocity, delay)
    mixers = Mixers(
        np.array([m.node for m in layout.mixers], dtype=np.int64),
        np.array([m.fuel_per_air for m in layout.mixers], dtype=np.float64),
        np.array([m.enthalpy for m in layout.mixers], dtype=np.float64),
    )
    engine = Engine(
        net=net,
        cylinders=cylinders,
        phase=np.array(layout.phases, dtype=np.float64),
        valves=_valves(layout.valves),
        mixers=mixers,
        machines=no_machines() if layout.machines is None else layout.machines,
        gas=gas,
    )
    return engine, spans


def _valves(valves: Sequence[Valve]) -> Valves:
    for valve in valves:
        if valve.area_in.shape != (N_ANGLES,) or valve.area_out.shape != (N_ANGLES,):
            raise BadInput(f"a valve of cylinder {valve.cylinder + 1} needs {N_ANGLES} areas each way")
    places = [v.place if isinstance(v.place, int) else 2 * v.place[0] + (v.place[1] == "stop") for v in valves]
    rows = [
        (v.cylinder, ON_LINK if isinstance(v.place, int) else ON_END, p, v.intake)
        for v, p in zip(valves, places, strict=True)
    ]
    return Valves(
        rows=np.array(rows, dtype=np.int64).reshape(-1, 4),
        area_in=np.array([v.area_in for v in valves], dtype=np.float64).reshape(-1, N_ANGLES),
        area_out=np.array([v.area_out for v in valves], dtype=np.float64).reshape(-1, N_ANGLES),
    )


def empty_tally(engine: Engine) -> Tally:
    """Sums of a cycle, all zero."""
    valves, nodes = len(engine.valves.rows), len(engine.net.kind)
    return Tally(
        valve_mass=np.zeros(valves),
        ambient=np.zeros((nodes, N_AMBIENT)),
        fuel=np.zeros((len(engine.mixers.node), 2)),
        p_mean=np.zeros(nodes),
        T_mean=np.zeros(nodes),
        link_mass=np.zeros(len(engine.net.links)),
        end=np.zeros((len(engine.net.ends), N_END_SUMS)),
        closed=np.zeros_like(engine.cylinders.state),
        burned=np.zeros_like(engine.cylinders.state),
        compressor=np.zeros((len(engine.machines.compressor_at), N_COMPRESSOR_SUMS)),
        turbine=np.zeros((len(engine.machines.entry_at), N_TURBINE_SUMS)),
        cooling=np.zeros((len(engine.machines.cooler_at), N_COOLER_SUMS)),
        lift=np.zeros(len(engine.machines.gate)),
        numbers=np.zeros(N_NUMBERS),
    )
