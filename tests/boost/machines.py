"""Made-up machines for the tests of this folder: a small compressor, a turbine, a gate."""

from __future__ import annotations

import numpy as np

from spoolwright.boost.build import gate_row
from spoolwright.boost.compressor_table import Compressor, Lines, tabulate
from spoolwright.boost.rows import WORK_KNOTS, WORK_STEP, Floats
from spoolwright.boost.turbine_fit import turbine_row

R, CP, GAMMA = 287.0, 1004.5, 1.4
P1, T1 = 98e3, 300.0
DIAMETER = 0.052
R_HOT, CP_HOT = 290.0, 1150.0


def sound(T: float = T1) -> float:
    """Speed of sound [m/s] of the test gas."""
    return float(np.sqrt(GAMMA * R * T))


def compressor() -> Compressor:
    """A 52 mm wheel, five lines."""
    M = np.array([0.4, 0.7, 1.0, 1.2, 1.4])
    z = np.arange(WORK_KNOTS) * WORK_STEP
    lines = Lines(
        M,
        phi_choke=0.12 / (1.0 + (M / 1.6) ** 4) ** 0.25,
        phi_peak=0.020 + 0.016 * M,
        psi_peak=0.62 - 0.03 * M,
        power=2.4 + 0.8 * M**2,
        phi_surge=0.022 + 0.016 * M,
        work=np.outer(np.ones(len(M)), 0.95 - 0.28 * z) + np.outer(0.05 * M, np.ones(WORK_KNOTS)),
    )
    return tabulate(lines, DIAMETER, 19000.0, 1.5e-3)


def turbine() -> Floats:
    """A 47 mm wheel."""
    return turbine_row(0.047, 3.6e-4, 0.9, 0.9, 0.70, 0.66)


def gate(**changed: float | str) -> Floats:
    """A poppet of 26 mm under a 60 mm diaphragm."""
    plain: dict[str, float | str] = {
        "diaphragm_diameter": 0.060,
        "valve_diameter": 0.028,
        "port_diameter": 0.026,
        "preload": 170.0,
        "rate": 8000.0,
        "max_lift": 0.008,
        "exhaust_pushes": "open",
    }
    return gate_row(**(plain | changed))  # type: ignore[arg-type]


def speed(M: float, T: float = T1) -> float:
    """Shaft speed [rad/s] of the compressor at tip Mach number M."""
    return 2.0 * M * sound(T) / DIAMETER
