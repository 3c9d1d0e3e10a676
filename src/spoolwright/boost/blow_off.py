"""Blow-off valve: lets charge air out when the throttle shuts.

It opens when the charge stands above the manifold by ``B_OPENS`` and is fully open at ``B_FULL``; between them the
area rises without a jump in its slope. Flow through it is that of an orifice.
"""

from __future__ import annotations

from spoolwright.boost.rows import B_AREA, B_FULL, B_OPENS, Floats
from spoolwright.kernel import kernel


@kernel
def blow_off_area(valve: Floats, p_charge: float, p_manifold: float) -> float:
    """Effective area [m2] at charge and manifold pressure [Pa]."""
    s = (p_charge - p_manifold - valve[B_OPENS]) / (valve[B_FULL] - valve[B_OPENS])
    s = min(max(s, 0.0), 1.0)
    return valve[B_AREA] * s * s * (3.0 - 2.0 * s)
