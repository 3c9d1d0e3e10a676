"""Laminar burning velocity of fuel vapour, air and residual gas.

    S = S0(phi) (T/298 K)^a(phi) (p/1 atm)^b(phi) (1 - 2.06 x_res^0.77)

Metghalchi and Keck, Combust. Flame 48 (1982) 191-210: iso-octane, methanol, indolene (a reference
gasoline). Rhodes and Keck, SAE 850047 (1985): gasoline and the residual factor. Guelder, SAE 841000
(1984): ethanol. Forms, ranges (phi 0.8 to 1.5, 298 to 700 K, up to 50 atm) and the size of the dilution
factor were seen in the 1982 abstract; the coefficients are from memory. End gas of a boosted engine
is hotter and denser than any of the measurements: there these are extrapolations.

A blend takes the mean of its parts weighted by the share each has in the heat of combustion, for want
of a confirmed blending law; a mass-weighted mean differs by up to 3 % for ethanol in gasoline.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.constants import STANDARD_ATMOSPHERE
from spoolwright.errors import BadInput
from spoolwright.kernel import kernel

Array = NDArray[np.float64]

# Columns of a burning-velocity row: S0 = peak + curve (phi - phi_peak)^2 for POLYNOMIAL and POWER exponents,
# S0 = peak phi^curve exp(-width (phi - phi_peak)^2) for GUELDER; exponents a and b follow from three columns each.
WEIGHT, FORM, PEAK, CURVE, PHI_PEAK, WIDTH, A0, A1, A2, B0, B1, B2 = range(12)
N_COLUMNS = 12
POLYNOMIAL = 0.0  # a = A0 + A1 (phi - 1)
POWER = 1.0  # a = A0 + A1 phi^A2
GUELDER = 2.0  # a = A0, b = B0 phi^B2

# m/s at 298 K and 1 atm
_FAMILIES = {
    "isooctane": (POLYNOMIAL, 0.2632, -0.8472, 1.13, 0.0, 2.18, -0.8, 0.0, -0.16, 0.22, 0.0),
    "methanol": (POLYNOMIAL, 0.3692, -1.4051, 1.11, 0.0, 2.18, -0.8, 0.0, -0.16, 0.22, 0.0),
    "indolene": (POLYNOMIAL, 0.2758, -0.7834, 1.13, 0.0, 2.18, -0.8, 0.0, -0.16, 0.22, 0.0),
    "gasoline": (POWER, 0.305, -0.549, 1.21, 0.0, 2.4, -0.271, 3.51, -0.357, 0.14, 2.77),
    "ethanol": (GUELDER, 0.465, 0.25, 1.075, 6.34, 1.75, 0.0, 0.0, -0.17, 0.0, -0.5),
}
BURNING_VELOCITY_FAMILIES = tuple(_FAMILIES)

SLOWEST = 0.02  # m/s at 298 K and 1 atm; the parabolas would go negative for very lean and rich mixtures
LEAST_UNDILUTED = 0.05  # the dilution factor would reach zero at 39 % residual by mole


def burning_velocity(energy_shares: dict[str, float]) -> np.ndarray:
    """Rows for ``laminar_burning_velocity``, one per part of the fuel.

    energy_shares : share of each family in the heat of combustion; scaled to sum 1

    Raises
    ------
    BadInput : an unknown family, or shares that are negative or all zero.
    """
    unknown = [name for name in energy_shares if name not in _FAMILIES]
    if unknown:
        raise BadInput(f"burning velocity: no data for {unknown[0]!r}; known are {', '.join(_FAMILIES)}.")
    total = sum(energy_shares.values())
    if min(energy_shares.values(), default=-1.0) < 0.0 or not total > 0.0:
        raise BadInput(
            "burning velocity: the energy shares of the fuel's parts must not be negative and must not all be 0."
        )
    rows = np.zeros((len(energy_shares), N_COLUMNS))
    for row, (name, share) in zip(rows, energy_shares.items(), strict=True):
        row[WEIGHT] = share / total
        row[FORM:] = _FAMILIES[name]
    return rows


@kernel
def _one(row: Array, phi: float, log_T: float, log_p: float) -> float:
    d = phi - row[PHI_PEAK]
    if row[FORM] == GUELDER:
        s0 = row[PEAK] * np.exp(row[CURVE] * np.log(phi) - row[WIDTH] * d * d)
        a, b = row[A0], row[B0] * phi ** row[B2]
    else:
        s0 = row[PEAK] + row[CURVE] * d * d
        if row[FORM] == POWER:
            a, b = row[A0] + row[A1] * phi ** row[A2], row[B0] + row[B1] * phi ** row[B2]
        else:
            a, b = row[A0] + row[A1] * (phi - 1.0), row[B0] + row[B1] * (phi - 1.0)
    return max(s0, SLOWEST) * np.exp(a * log_T + b * log_p)


@kernel
def laminar_burning_velocity(rows: Array, phi: float, T: float, p: float, x_residual: float) -> float:
    """Laminar burning velocity [m/s].

    rows : array (n_parts, 12) from ``burning_velocity``; phi : float [-], fuel-air equivalence ratio;
    T : float [K], p : float [Pa], of the unburned gas; x_residual : float [-], residual mole fraction
    """
    log_T, log_p = np.log(T / 298.0), np.log(p / STANDARD_ATMOSPHERE)
    total = 0.0
    for i in range(rows.shape[0]):
        total += rows[i, WEIGHT] * _one(rows[i], phi, log_T, log_p)
    return total * dilution_factor(x_residual)


@kernel
def dilution_factor(x_residual: float) -> float:
    """Factor on the burning velocity for residual gas of mole fraction ``x_residual`` [-]."""
    return max(1.0 - 2.06 * max(x_residual, 0.0) ** 0.77, LEAST_UNDILUTED)
