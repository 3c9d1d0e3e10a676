"""Places in a gas path, and where its machines stand: records by number of node, duct or link."""

from __future__ import annotations

from dataclasses import dataclass, field

from spoolwright.flow.build import Side


@dataclass(frozen=True)
class AtNode:
    """A place in the gas path: a node."""

    node: int


@dataclass(frozen=True)
class AtStop:
    """A place in the gas path: the free downstream end of a duct."""

    duct: int


Place = AtNode | AtStop


@dataclass(frozen=True)
class CompressorAt:
    """The compressor of one turbo moves gas from node ``inlet`` to node ``outlet``."""

    inlet: int
    outlet: int


@dataclass(frozen=True)
class EntryAt:
    """One entry of turbo ``turbo``'s turbine: gas goes from node ``volute`` to node ``outlet``.

    ``entry`` is the number of the entry (from 0) or None where one volute feeds the whole turbine.
    """

    turbo: int
    entry: int | None
    volute: int
    outlet: int


@dataclass(frozen=True)
class GateAt:
    """A way of exhaust gas past the turbine through wastegate ``gate``.

    ``place`` is a duct end (number, side) or the number of a link; ``source`` and ``target`` are the nodes whose
    pressures act on the valve; ``share`` is this way's share of the area of all gates.
    """

    gate: int
    place: tuple[int, Side] | int
    source: int
    target: int
    share: float


@dataclass(frozen=True)
class CoolerAt:
    """A charge cooler takes gas from node ``hot`` to node ``cold``."""

    hot: int
    cold: int


@dataclass
class Machinery:
    """All machines of a gas path.

    ``stations`` are nodes by the names a sheet gives them; ``openings`` [m2] are what nodes behind turbines open by;
    ``charge`` is where the charge comes to hat, throttle or plenum, with its fuel if it was ``drawn_through``.
    """

    compressors: list[CompressorAt] = field(default_factory=list)
    entries: list[EntryAt] = field(default_factory=list)
    gates: list[GateAt] = field(default_factory=list)
    coolers: list[CoolerAt] = field(default_factory=list)
    stations: dict[str, int] = field(default_factory=dict)
    openings: dict[int, float] = field(default_factory=dict)
    charge: Place | None = None
    drawn_through: bool = False
