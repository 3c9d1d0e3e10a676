"""Small readings of one cylinder out of the arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.kinematics import cylinder_volume
from spoolwright.cylinder.rows import Cylinders
from spoolwright.gas.burned import BurnedSlice
from spoolwright.gas.unburned import Charge
from spoolwright.kernel import kernel

Array = NDArray[np.float64]


@kernel
def burned_cut(c: Cylinders, k: int) -> BurnedSlice:
    """The burned-gas table at the mixture of cylinder k (a view)."""
    t = c.table
    return BurnedSlice(t.ln_p0, t.per_ln_p, t.T0, t.per_T, c.slices[k])


@kernel
def unburned_charge(c: Cylinders, k: int) -> Charge:
    """The unburned mixture of cylinder k (a view)."""
    return Charge(c.charge_c[k], c.charge_R[k])


@kernel
def volume_at(design: Array, theta: float) -> float:
    """Gas volume [m3] at ``theta`` [deg]."""
    return cylinder_volume(
        theta, design[r.BORE], design[r.CRANK_RADIUS], design[r.ROD], design[r.OFFSET], design[r.CLEARANCE]
    )


@kernel
def mean_temperature(s: Array) -> float:
    """Mass-mean temperature [K] of the state row s."""
    x = s[r.BURNED_MASS] / s[r.MASS]
    return x * s[r.T_BURNED] + (1.0 - x) * s[r.T_UNBURNED]
