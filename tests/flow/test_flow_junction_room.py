"""A junction's own gas is the last quarter bore of the ducts that meet it: nothing is added, and no cell decides it."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from flow_cases import AIR_14, bare, inner, run

from spoolwright.flow.build import End, Node, build_network
from spoolwright.flow.mesh import Duct
from spoolwright.flow.network import Network
from spoolwright.flow.rows import AMBIENT, CLOSED, E_MDOT, G_AREA, G_RDX, JUNCTION, N_VOL, PRE, RHO, VEL

ON, OFF = (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)


def three_pipes(cell: float, taper: float, lengths: tuple[float, ...] = (0.3, 0.08, 0.07)) -> Network:
    table = [((0.0, 0.04), (length, taper * 0.04)) for length in lengths]
    ducts = [Duct(f"pipe {k}", length, t, cell) for k, (length, t) in enumerate(zip(lengths, table, strict=True))]
    ends = (End(CLOSED), End(0, axis=ON))
    return build_network(AIR_14, [(duct, *ends) for duct in ducts], [Node("y", JUNCTION, 1e5, 300.0)])[0]


@pytest.mark.parametrize("cell", [0.02, 0.005])
@pytest.mark.parametrize("taper", [1.0, 0.7, 0.95])
def test_volume__of_pipes_with_a_junction_is_that_of_the_pipes(cell: float, taper: float) -> None:
    d, lengths = 0.04, (0.3, 0.08, 0.07)
    net = three_pipes(cell, taper, lengths)
    duct_cells = net.geometry[G_RDX] > 0.0
    held = float((net.geometry[G_AREA, duct_cells] / net.geometry[G_RDX, duct_cells]).sum())
    held += float(net.nodes[0, N_VOL])
    real = sum(pi / 12.0 * length * d * d * (1.0 + taper + taper**2) for length in lengths)
    assert held == pytest.approx(real, rel=1e-12)


def test_volume__does_not_follow_the_cells() -> None:
    """A quarter bore of each pipe; of the last, 28 mm long, a quarter of its length."""
    lengths = (0.3, 0.2, 0.028)
    volume = [float(three_pipes(cell, 1.0, lengths).nodes[0, N_VOL]) for cell in (0.02, 0.01, 0.003)]
    assert volume == pytest.approx([pi / 4.0 * 0.04**2 * (0.01 + 0.01 + 0.007)] * 3, rel=1e-12)


def steady_run(d1: float, d2: float, p_in: float, cells: int = 12) -> tuple[float, float, float]:
    """Ambient, pipe, junction, pipe, ambient in one line: mass flow at both ends [kg/s], loss coefficient.

    The loss of total pressure is taken over the dynamic head in the narrower pipe.
    """
    ducts = [
        (bare("before", 0.4, d1, cells), End(0), End(1, axis=ON)),
        (bare("behind", 0.4, d2, cells), End(1, axis=OFF), End(2)),
    ]
    nodes = [Node("in", AMBIENT, p_in, 300.0), Node("y", JUNCTION, 1e5, 300.0), Node("out", AMBIENT, 1e5, 300.0)]
    net, spans = build_network(AIR_14, ducts, nodes)
    run(net, 1.0)
    total, head = [], []
    for span in spans:
        rho, u, p = (np.median(net.W[row, inner(span)]) for row in (RHO, VEL, PRE))
        total.append(p * (1.0 + 0.2 * u * u * rho / (1.4 * p)) ** 3.5)
        head.append(0.5 * rho * u * u)
    return -net.ends[0, E_MDOT], net.ends[3, E_MDOT], (total[0] - total[1]) / max(head)


@pytest.mark.parametrize(("d1", "d2"), [(0.03, 0.04), (0.03, 0.06)])
def test_loss__widening_run_loses_what_a_sudden_enlargement_loses(d1: float, d2: float) -> None:
    """Borda-Carnot, K = (1 - A1/A2)^2 on the speed in the narrow pipe (textbooks); slow flow, so within 2 %."""
    enters, leaves, loss = steady_run(d1, d2, 1.004e5)
    assert enters > 0.0
    assert leaves == pytest.approx(enters, rel=1e-4)
    assert loss == pytest.approx((1.0 - (d1 / d2) ** 2) ** 2, rel=2e-2)


def test_loss__straight_run_of_one_bore_loses_nothing() -> None:
    enters, leaves, loss = steady_run(0.04, 0.04, 1.004e5)
    assert leaves == pytest.approx(enters, rel=1e-4)
    assert abs(loss) < 5e-3
