"""Ignition delay of the end gas: a table of ln tau that the knock integral reads.

Model: ln tau on ln p x 1000/T x equivalence ratio x residual mass fraction, linear between nodes in
each. By default it is filled from Douaud & Eyzat, SAE 780080 (1978), constants from memory:
tau = 17.68 ms (ON/100)^3.402 p^-1.7 exp(3800 K/T), p in atm. That is a plane in ln p and 1/T, so the
table gives it back exactly, at any state. Delays computed off line (constant-volume reactors with a
kinetic scheme) go in by ``table_from_delays``.

Limits: Douaud & Eyzat fitted reference fuels of octane number 80 to 100 in one engine; no mixture,
residual or two-stage (negative temperature coefficient) effect; above about 40 bar and for alcohols
it is an extrapolation, hence the band of ``fuels.knock_number``. The table goes on linearly
outside its nodes; ``delay_inside`` tells.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoolwright.constants import STANDARD_ATMOSPHERE
from spoolwright.errors import BadInput
from spoolwright.kernel import kernel

DOUAUD_EYZAT: Final = (17.68e-3, 3.402, 1.7, 3800.0)  # s, octane exponent, pressure exponent, K


class IgnitionTable(NamedTuple):
    """ln_tau (n_p, n_x, n_phi, n_r) [ln s] on rising nodes ln_p [ln Pa], x = 1000 K / T, phi, residual."""

    ln_p: NDArray[np.float64]
    x: NDArray[np.float64]
    phi: NDArray[np.float64]
    residual: NDArray[np.float64]
    ln_tau: NDArray[np.float64]


def douaud_eyzat(octane: float, p: ArrayLike, T: ArrayLike) -> NDArray[np.float64]:
    """Ignition delay [s] at p [Pa], T [K] for an octane number 60..130.

    Raises BadInput outside that range of octane numbers.
    """
    if not 60.0 <= octane <= 130.0:
        raise BadInput(f"octane number {octane:g} is outside 60..130; check the fuel's RON and MON")
    A, exponent_octane, exponent_p, T_activation = DOUAUD_EYZAT
    atmospheres = np.asarray(p, dtype=float) / STANDARD_ATMOSPHERE
    factor = (octane / 100.0) ** exponent_octane
    return np.asarray(A * factor * atmospheres**-exponent_p * np.exp(T_activation / np.asarray(T, dtype=float)))


def ignition_table(octane: float) -> IgnitionTable:
    """The default table, Douaud & Eyzat for one octane number (0.1..400 bar, 300..2000 K)."""
    p = np.array([0.1e5, 400e5])
    T = np.array([2000.0, 300.0])
    two = np.array([0.0, 2.0])
    ln_tau = np.log(douaud_eyzat(octane, p[:, None], T[None, :]))
    full = np.broadcast_to(ln_tau[:, :, None, None], (2, 2, 2, 2))
    return IgnitionTable(np.log(p), 1000.0 / T, two, np.array([0.0, 1.0]), np.ascontiguousarray(full))


def table_from_delays(p: ArrayLike, T: ArrayLike, phi: ArrayLike, residual: ArrayLike, tau: ArrayLike) -> IgnitionTable:
    """Table from delays tau [s], shape (n_p, n_T, n_phi, n_residual), computed or measured elsewhere.

    p [Pa], phi, residual rising, T [K] falling or rising; an axis with one node holds for every value.
    Raises BadInput for a wrong shape, nodes out of order, or a delay that is not positive and finite.
    """
    axes = {
        "p": np.array(p, dtype=float, ndmin=1),
        "T": np.array(T, dtype=float, ndmin=1),
        "phi": np.array(phi, dtype=float, ndmin=1),
        "residual": np.array(residual, dtype=float, ndmin=1),
    }
    delays = np.array(tau, dtype=float)
    shape = tuple(axis.size for axis in axes.values())
    if delays.shape != shape:
        raise BadInput(f"ignition delays have shape {delays.shape}, their axes p, T, phi, residual give {shape}")
    if not (np.isfinite(delays).all() and (delays > 0.0).all()):
        raise BadInput("ignition delays must be positive and finite seconds; remove or mend the others")
    if axes["T"].size > 1 and axes["T"][0] < axes["T"][-1]:
        axes["T"], delays = axes["T"][::-1], delays[:, ::-1]
    nodes = {
        "p": np.log(axes["p"]),
        "T": 1000.0 / axes["T"],
        "phi": axes["phi"],
        "residual": axes["residual"],
    }
    for name, node in nodes.items():
        if not np.isfinite(node).all() or (np.diff(node) <= 0.0).any():
            raise BadInput(f"ignition delays: the axis {name} must be finite and in order, without repeats")
    ln_tau = np.log(delays)
    for place, name in enumerate(nodes):
        if nodes[name].size == 1:  # two equal nodes far apart: constant along this axis
            nodes[name] = np.array([-1e3, 1e3])
            ln_tau = np.repeat(ln_tau, 2, axis=place)
    return IgnitionTable(nodes["p"], nodes["T"], nodes["phi"], nodes["residual"], np.ascontiguousarray(ln_tau))


@kernel
def _place(nodes: NDArray[np.float64], value: float) -> tuple[int, float]:
    """Left node of the cell that holds ``value`` (the edge cell outside) and the weight of the right one."""
    k = 0
    while k < nodes.size - 2 and nodes[k + 1] <= value:
        k += 1
    return k, (value - nodes[k]) / (nodes[k + 1] - nodes[k])


@kernel
def ln_delay(table: IgnitionTable, ln_p: float, T: float, phi: float, residual: float) -> float:
    """ln of the ignition delay in seconds at ln_p [ln Pa], T [K], phi, residual mass fraction."""
    i, a = _place(table.ln_p, ln_p)
    j, b = _place(table.x, 1000.0 / T)
    k, c = _place(table.phi, phi)
    m, d = _place(table.residual, residual)
    total = 0.0
    for q in range(16):
        di, dj, dk, dm = q >> 3, (q >> 2) & 1, (q >> 1) & 1, q & 1
        weight = (a if di else 1.0 - a) * (b if dj else 1.0 - b) * (c if dk else 1.0 - c) * (d if dm else 1.0 - d)
        total += weight * table.ln_tau[i + di, j + dj, k + dk, m + dm]
    return total


@kernel
def delay_inside(table: IgnitionTable, ln_p: float, T: float, phi: float, residual: float) -> bool:
    """Whether the state lies between the table's nodes."""
    x = 1000.0 / T
    return (
        table.ln_p[0] <= ln_p <= table.ln_p[-1]
        and table.x[0] <= x <= table.x[-1]
        and table.phi[0] <= phi <= table.phi[-1]
        and table.residual[0] <= residual <= table.residual[-1]
    )
