"""A junction's own gas is taken off the ducts that meet it, so that volume and running length stay."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from spoolwright.flow.build import End, Node, build_network
from spoolwright.flow.mesh import Duct
from spoolwright.flow.rows import CLOSED, G_AREA, G_RDX, JUNCTION, N_VOL
from spoolwright.gas.duct import DuctGas

GAS = DuctGas(np.array([287.05] * 3), np.array([717.6] * 3), np.zeros(3), np.zeros(3))


@pytest.mark.parametrize("cell", [0.02, 0.005])
@pytest.mark.parametrize("taper", [1.0, 0.7, 0.95])
def test_volume__of_pipes_with_a_junction_is_that_of_the_pipes(cell: float, taper: float) -> None:
    d, lengths = 0.04, (0.3, 0.08, 0.07)
    table = [((0.0, d), (length, taper * d)) for length in lengths]
    ends = [(End(CLOSED), End(0, axis=(1.0, 0.0, 0.0)))] * len(lengths)
    ducts = [Duct(f"pipe {k}", length, t, cell) for k, (length, t) in enumerate(zip(lengths, table, strict=True))]
    net, spans = build_network(
        GAS, [(duct, *e) for duct, e in zip(ducts, ends, strict=True)], [Node("y", JUNCTION, 1e5, 300.0)]
    )
    inner = net.geometry[G_RDX] > 0.0
    held = float((net.geometry[G_AREA, inner] / net.geometry[G_RDX, inner]).sum()) + float(net.nodes[0, N_VOL])
    real = sum(pi / 12.0 * length * d * d * (1.0 + taper + taper**2) for length in lengths)
    # the junction's room is counted with the area at the cut, the taper beyond it is left out: second order
    assert held == pytest.approx(real, rel=2e-2 * abs(1.0 - taper) + 1e-12)
    assert len({round(length - span.length, 9) for length, span in zip(lengths, spans, strict=True)}) == 1
