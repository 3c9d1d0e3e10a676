"""Makes the burned-gas tables: chemical equilibrium by Cantera, for one fuel and one moist air.

Model: ideal gas of twelve species, Gibbs energy at its minimum at each (T, p) above 1700 K; below,
the composition found at 1700 K is kept (the water-gas shift and NO freeze during expansion). 1700 K
is a node of the table: u is continuous there, cp jumps.

Nodes: the composition has a kink about 0.01 wide at equivalence ratio 1, which outweighs every other
error, hence the uneven nodes. Error of u against direct equilibrium at 1500 random states, 0.2..320
bar, 350..3500 K: 0.3 K worst, 0.03 K root mean square; R 5e-5 worst.

Limits: equivalence ratio 0.5..1.8; no soot, no methane (below 1200 K, rich and at high pressure,
true equilibrium would make some; it does not have the time).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoolwright.errors import BadInput
from spoolwright.gas.air import HumidAir
from spoolwright.gas.burned import BurnedTable
from spoolwright.gas.fuels import Fuel

PRODUCTS: Final = ("N2", "O2", "AR", "CO2", "H2O", "CO", "H2", "OH", "H", "O", "NO", "N")
T_FROZEN: Final = 1700.0  # K, no reaction below
P_FROZEN: Final = 5e5  # Pa, at which the composition of residual and duct gas is taken

PHI_NODES: Final = np.round(
    np.concatenate(
        [
            np.arange(0.5, 0.901, 0.05),
            [0.92, 0.94, 0.96, 0.97, 0.98],
            [0.99, 0.9925, 0.995, 0.9975, 0.99875],
            [1.0, 1.00125, 1.0025, 1.005, 1.0075, 1.01],
            [1.02, 1.03, 1.04, 1.06, 1.08, 1.10],
            np.arange(1.15, 1.801, 0.05),
        ]
    ),
    6,
)
LN_P_NODES: Final = np.linspace(np.log(0.1e5), np.log(400e5), 17)  # ln Pa
T_NODES: Final = np.linspace(250.0, 3600.0, 68)  # K, every 50 K

TABLE_VERSION: Final = 1  # raise when the rules above change (nodes are in the digest themselves)


class EquilibriumTable(NamedTuple):
    """values (n_phi, n_p, n_T, 2) = u, R; frozen (n_phi, 12) mole fractions at 1700 K and 5 bar."""

    values: NDArray[np.float64]
    frozen: NDArray[np.float64]


def charge_atoms(fuel: Fuel, air: HumidAir, phi: float) -> dict[str, float]:
    """Atoms of ``phi`` mean molecules of fuel with the air that would burn one.

    Raises BadInput for a fuel with too little oxygen at ``phi`` to turn its carbon into CO.
    """
    oxygen = dict(air.mole_fractions)["O2"]
    molecules = fuel.oxygen_demand / oxygen
    atoms = {element: molecules * count for element, count in air.atoms().items()}
    for element, count in fuel.atoms.items():
        atoms[element] = atoms.get(element, 0.0) + phi * count
    if atoms["O"] <= atoms["C"]:
        raise BadInput(f'fuel "{fuel.name}": at equivalence ratio {phi:g} it would burn to soot; no table for that')
    return atoms


def solution() -> Any:
    """A Cantera ideal gas of ``PRODUCTS`` in that order."""
    import cantera

    every = {species.name: species for species in cantera.Species.list_from_file("nasa_gas.yaml")}
    return cantera.Solution(thermo="ideal-gas", species=[every[name.replace("AR", "Ar")] for name in PRODUCTS])


def start_mixture(atoms: dict[str, float]) -> NDArray[np.float64]:
    """Moles of ``PRODUCTS`` that hold ``atoms``: CO, O, H2, N2, Ar (where a search starts)."""
    moles = dict.fromkeys(PRODUCTS, 0.0)
    moles["CO"] = atoms["C"]
    moles["O"] = atoms["O"] - atoms["C"]
    moles["H2"] = 0.5 * atoms["H"]
    moles["N2"] = 0.5 * atoms["N"]
    moles["AR"] = atoms.get("AR", 0.0)
    return np.array([moles[name] for name in PRODUCTS])


def equilibrate(gas: Any, start: NDArray[np.float64] | None, p: float, T: float) -> None:
    """Bring ``gas`` (a ``solution()``) to equilibrium at (p [Pa], T [K]), from moles ``start`` if given."""
    if start is None:
        gas.TP = T, p
    else:
        gas.TPX = T, p, start
    gas.equilibrate("TP", rtol=1e-9, max_steps=20000)


def compute_table(fuel: Fuel, air: HumidAir, T_frozen: float = T_FROZEN) -> EquilibriumTable:
    """The whole table, about 50,000 states of which 29,000 are equilibria (about a second).

    ``T_frozen`` [K], a node: no reaction below. The program always takes 1700 K; a test lowers it.
    """
    from cantera import gas_constant

    gas = solution()
    values = np.empty((PHI_NODES.size, LN_P_NODES.size, T_NODES.size, 2))
    frozen = np.empty((PHI_NODES.size, len(PRODUCTS)))
    for i, phi in enumerate(PHI_NODES):
        start = start_mixture(charge_atoms(fuel, air, float(phi)))
        for j, ln_p in enumerate(LN_P_NODES):
            p = float(np.exp(ln_p))
            equilibrate(gas, start, p, float(T_NODES[-1]))
            for k in range(T_NODES.size - 1, -1, -1):
                T = float(T_NODES[k])
                if T_frozen <= T:
                    equilibrate(gas, None, p, T)
                else:
                    gas.TP = T, p
                values[i, j, k] = gas.int_energy_mass, gas_constant / gas.mean_molecular_weight
        equilibrate(gas, start, P_FROZEN, T_frozen)
        frozen[i] = gas.X
    return EquilibriumTable(values, frozen)


def padded(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """``values`` (n_phi, n_p, n_T, 2) with one linearly extrapolated node on each side of p and T."""
    n_phi, n_p, n_T, n = values.shape
    out = np.empty((n_phi, n_p + 2, n_T + 2, n))
    out[:, 1:-1, 1:-1] = values
    out[:, 0, 1:-1] = 2 * values[:, 0] - values[:, 1]
    out[:, -1, 1:-1] = 2 * values[:, -1] - values[:, -2]
    out[:, :, 0] = 2 * out[:, :, 1] - out[:, :, 2]
    out[:, :, -1] = 2 * out[:, :, -2] - out[:, :, -3]
    return out


@lru_cache(maxsize=8)
def burned_gas(fuel: Fuel, air: HumidAir) -> tuple[BurnedTable, NDArray[np.float64]]:
    """BurnedTable of ``fuel`` and ``air``, and the frozen composition (n_phi, 12) by mole.

    From the disk cache where it lies there whole, else computed and stored. Raises BadInput for a
    fuel that would make soot.
    """
    from spoolwright.gas.cache import load_or_make

    table = load_or_make(fuel, air)
    return as_lookup(table), table.frozen


def as_lookup(table: EquilibriumTable) -> BurnedTable:
    """``table`` with its pad nodes and axes, ready for the look-up kernels."""
    return BurnedTable(
        phi=PHI_NODES.copy(),
        ln_p0=float(LN_P_NODES[0]),
        per_ln_p=1.0 / float(LN_P_NODES[1] - LN_P_NODES[0]),
        T0=float(T_NODES[0]),
        per_T=1.0 / float(T_NODES[1] - T_NODES[0]),
        values=padded(table.values),
    )
