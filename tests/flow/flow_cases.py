"""Gases, networks and sums shared by the flow tests."""

from __future__ import annotations

import numpy as np

from spoolwright.flow.build import build_network
from spoolwright.flow.mesh import Duct
from spoolwright.flow.network import Network, march
from spoolwright.flow.rows import BURN, ENE, FUEL, G_AREA, G_RDX, MASS, N_BURN, N_ENE, N_FUEL, N_MASS
from spoolwright.gas.duct import DuctGas

NO_PROBES = np.zeros(0, dtype=np.int64)
NO_RECORD = np.zeros((0, 2))

# Constant ratio of heats 1.4: the gas of the closed-form checks.
AIR_14 = DuctGas(np.full(3, 287.0), np.full(3, 717.5), np.zeros(3), np.zeros(3))
# Three different gases with heat capacity rising with temperature; magnitudes of air, petrol vapour and
# burned gas (no source needed: the tests that use it compare nothing with outside values).
MIXED = DuctGas(
    np.array([287.0, 75.0, 290.5]),
    np.array([651.0, 560.0, 760.0]),
    np.array([0.206, 3.1, 0.215]),
    np.zeros(3),
)


def bare(name: str, length: float, diameters, cells: int, **more) -> Duct:
    """A duct without friction and heat, of so many cells."""
    return Duct(name, length, diameters, cell_size=length / cells, heat_factor=0.0, friction_factor=0.0, **more)


def run(net: Network, t_end: float = 1e9, steps: int = 10_000_000, courant: float = 0.8):
    """March without record; (time, steps)."""
    return march(net, courant, t_end, steps, NO_PROBES, NO_RECORD)


def inner(span):
    return slice(span.first, span.first + span.cells)


def contents(net: Network) -> np.ndarray:
    """Mass, energy, fuel and burned gas [kg, J, kg, kg] of all ducts and nodes."""
    rdx = net.geometry[G_RDX]
    dx = np.divide(1.0, rdx, out=np.zeros_like(rdx), where=rdx > 0.0)
    ducts = [float((net.U[v] * dx).sum()) for v in (MASS, ENE, FUEL, BURN)]
    nodes = [float(net.nodes[:, n].sum()) for n in (N_MASS, N_ENE, N_FUEL, N_BURN)]
    return np.array(ducts) + np.array(nodes)


def centres(span) -> np.ndarray:
    return (np.arange(span.cells) + 0.5) * span.dx


__all__ = ["AIR_14", "G_AREA", "MIXED", "bare", "build_network", "centres", "contents", "inner", "run"]
