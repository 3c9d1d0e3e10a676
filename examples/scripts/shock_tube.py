"""Sod's shock tube: a gas at 1 bar and 1 kg/m3 bursts into the same gas at 0.1 bar and 0.125 kg/m3.

Known answer (exact Riemann solution; Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics,
table 4.2): behind the shock p* = 0.30313, u* = 0.92745, density 0.42632 left and 0.26557 right of the
contact, in units of the left state.

Run it:  python examples/scripts/shock_tube.py [--cells 200] [--draw]
"""

from __future__ import annotations

import argparse

import numpy as np

from spoolwright.flow.build import End, build_network, fill_duct
from spoolwright.flow.mesh import Duct
from spoolwright.flow.network import march
from spoolwright.flow.rows import PRE, RHO, VEL
from spoolwright.gas.duct import DuctGas

P, DENSITY = 1e5, 1.0  # left state
SPEED = float(np.sqrt(P / DENSITY))  # unit of velocity
KNOWN = {"p*": 0.30313, "u*": 0.92745, "rho left of contact": 0.42632, "rho right of contact": 0.26557}


def shock_tube(cells: int = 200) -> tuple[np.ndarray, np.ndarray]:
    """Positions (cells,) and scaled rho, u, p (3, cells) at time 0.2 of the unit tube, both ends closed."""
    gas = DuctGas(np.full(3, 287.0), np.full(3, 717.5), np.zeros(3), np.zeros(3))  # ratio of heats 1.4
    tube = Duct("tube", 1.0, 0.05, cell_size=1.0 / cells, heat_factor=0.0, friction_factor=0.0)
    net, (span,) = build_network(gas, [(tube, End(), End())], [])
    x = (np.arange(cells) + 0.5) / cells
    rho = np.where(x < 0.5, DENSITY, 0.125 * DENSITY)
    p = np.where(x < 0.5, P, 0.1 * P)
    fill_duct(net, span, p, p / (rho * 287.0))
    march(net, 0.8, 0.2 / SPEED, 100_000, np.zeros(0, dtype=np.int64), np.zeros((0, 2)))
    w = net.W[:, span.first : span.first + span.cells]
    return x, np.stack([w[RHO] / DENSITY, w[VEL] / SPEED, w[PRE] / P])


def plateaus(x: np.ndarray, state: np.ndarray) -> dict[str, float]:
    """The star state read off between the waves: medians left (0.56..0.64) and right (0.73..0.81) of the contact."""
    left, right = (x > 0.56) & (x < 0.64), (x > 0.73) & (x < 0.81)
    return {
        "p*": float(np.median(state[2, left | right])),
        "u*": float(np.median(state[1, left | right])),
        "rho left of contact": float(np.median(state[0, left])),
        "rho right of contact": float(np.median(state[0, right])),
    }


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--cells", type=int, default=200)
    options.add_argument("--draw", action="store_true", help="show density, velocity and pressure")
    chosen = options.parse_args()
    x, state = shock_tube(chosen.cells)
    for name, value in plateaus(x, state).items():
        print(f"{name:22s} {value:.5f}   exact {KNOWN[name]:.5f}")
    if chosen.draw:
        import matplotlib.pyplot as plt

        for row, label in zip(state, ("density", "velocity", "pressure"), strict=True):
            plt.plot(x, row, label=label)
        plt.xlabel("position")
        plt.legend()
        plt.show()


if __name__ == "__main__":
    main()
