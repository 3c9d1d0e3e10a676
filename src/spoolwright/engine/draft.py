"""A flow network while it is being put together from a sheet: pieces are added and connected one by one."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import pi, sqrt

from spoolwright.engine.machinery import AtNode, AtStop, Machinery, Place
from spoolwright.flow.build import End, Join, Link, Node
from spoolwright.flow.mesh import Duct, Mouth, end_diameters
from spoolwright.flow.rows import CLOSED

Axis = tuple[float, float, float]
STRAIGHT_ON: Axis = (1.0, 0.0, 0.0)
STRAIGHT_OFF: Axis = (-1.0, 0.0, 0.0)


@dataclass
class Draft:
    """Ducts, nodes, joins and links so far, and where machines stand."""

    ducts: list[Duct] = field(default_factory=list)
    starts: list[End] = field(default_factory=list)
    stops: list[End] = field(default_factory=list)
    nodes: list[Node] = field(default_factory=list)
    joins: list[Join] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    machinery: Machinery = field(default_factory=Machinery)

    def node(self, item: Node) -> int:
        """Add a node; its number."""
        self.nodes.append(item)
        return len(self.nodes) - 1

    def duct(self, item: Duct) -> int:
        """Add a duct with both ends closed; its number."""
        self.ducts.append(item)
        self.starts.append(End(CLOSED))
        self.stops.append(End(CLOSED))
        return len(self.ducts) - 1

    def follow(self, place: Place, item: Duct, throat: float | None = None, mouth: Mouth = "none") -> AtStop:
        """Add a duct behind ``place``, through an effective throat area [m2] or fully open; its free end."""
        d = self.duct(replace(item, start_mouth=mouth))
        if isinstance(place, AtStop):
            self.joins.append(Join((place.duct, "stop"), (d, "start"), throat, throat))
        else:
            ratio = _ratio(throat, entry_area(item))
            self.starts[d] = End(place.node, ratio, ratio, STRAIGHT_OFF)
        return AtStop(d)

    def enter(self, place: Place, node: int, throat: float | None = None, mouth: Mouth = "none") -> AtNode:
        """Let the gas at ``place`` into a node, through an effective throat area [m2] or fully open."""
        if isinstance(place, AtNode):
            if throat is None:
                raise ValueError("two nodes need an area between them")
            self.links.append(Link(place.node, node, throat))
        else:
            d = place.duct
            self.ducts[d] = replace(self.ducts[d], stop_mouth=mouth)
            ratio = _ratio(throat, exit_area(self.ducts[d]))
            self.stops[d] = End(node, ratio, ratio, STRAIGHT_ON)
        return AtNode(node)


def _ratio(throat: float | None, area: float) -> float:
    return 1.0 if throat is None else min(throat / area, 1.0)


def entry_area(item: Duct) -> float:
    """Area [m2] at a duct's start."""
    return pi / 4.0 * end_diameters(item)[0] ** 2


def exit_area(item: Duct) -> float:
    """Area [m2] at a duct's stop."""
    return pi / 4.0 * end_diameters(item)[1] ** 2


def effective_area(flow: float, difference: float, density: float) -> float:
    """Area [m2] of the sharp opening that passes a volume flow [m3/s] at a small pressure difference [Pa].

    Bernoulli without recovery: Q = A sqrt(2 dp / rho).
    """
    return flow / sqrt(2.0 * difference / density)
