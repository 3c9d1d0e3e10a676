"""Knock integral of the end gas: Livengood and Wu's, along the adiabatic core.

    I = integral of dt / tau(p, T_core, phi, residual)         (Livengood and Wu, 5th Symp. Combust., 1955)

The core is the part of the unburned gas that no wall has cooled: isentropic from valve closing. ln tau
comes from the table of ``gas.ignition`` (Douaud and Eyzat, SAE 780080, unless replaced). The number that
counts is I when 85 % of the mass has burned, interpolated inside the step.

Published constants with the limit 1 ask for far less octane than engines need; against a public table of
octane requirement over compression ratio the mean cycle knocks at I of about 0.6. One correlation for all
fuels and no two-stage ignition: the limit is only good to a sixth, which is 2 to 5 degrees of spark.
So a verdict is always a band, never a number alone.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from spoolwright.gas.ignition import IgnitionTable, ln_delay
from spoolwright.kernel import kernel

LIMIT = 0.6  # of the mean cycle
LIMIT_BAND = 0.1  # either way
BURNED_AT_VERDICT = 0.85
COLD = 500.0  # K, below which ignition is not counted


class KnockBand(NamedTuple):
    """A knock integral against its limit. Below ``low`` no knock is expected, above ``high`` it is."""

    integral: float
    low: float
    high: float

    @property
    def margin(self) -> tuple[float, float]:
        """How far the integral lies below the band's two ends (pessimistic, optimistic); negative is over."""
        return self.low - self.integral, self.high - self.integral

    @property
    def verdict(self) -> str:
        """``free``, ``doubtful`` (inside the band) or ``knocks``."""
        if self.integral < self.low:
            return "free"
        return "doubtful" if self.integral <= self.high else "knocks"


def knock_band(integral: float, limit: float = LIMIT, band: float = LIMIT_BAND) -> KnockBand:
    """The integral [-] with the ends of its limit's band."""
    return KnockBand(integral, limit - band, limit + band)


@kernel
def ignition_rate(delay: IgnitionTable, factor: float, p: float, T: float, phi: float, y_residual: float) -> float:
    """1 / tau [1/s] of the end gas; 0 below 500 K.

    delay : IgnitionTable; factor : float [-], calibration on tau; p : float [Pa]; T : float [K]
    """
    if T < COLD:
        return 0.0
    return np.exp(-ln_delay(delay, np.log(p), T, phi, y_residual)) / factor
