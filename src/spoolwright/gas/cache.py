"""Disk cache of the burned-gas tables.

One file per mixture of elements, named by a digest of everything the table depends on: fuel atoms
per kilogram, moist-air composition, nodes, version of the table's rules and of Cantera. The heating value is
not part of it: burned gas does not remember which molecule it came from, so all petrol grades share
a table. A file that is damaged, cut short or of the wrong shape is made again; a folder that cannot
be written costs a second each time, nothing else. The newest 64 files (about 60 MB) are kept.

``SPOOLWRIGHT_CACHE=off`` or ``=DIR`` as for compiled code.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
import zipfile
import zlib
from importlib.metadata import version
from pathlib import Path

import numpy as np

from spoolwright.gas.air import HumidAir
from spoolwright.gas.equilibrium import (
    LN_P_NODES,
    PHI_NODES,
    PRODUCTS,
    T_NODES,
    TABLE_VERSION,
    EquilibriumTable,
    compute_table,
)
from spoolwright.gas.fuels import Fuel
from spoolwright.kernel import cache_root

FILES_KEPT = 64


def table_digest(fuel: Fuel, air: HumidAir) -> str:
    """Digest (24 hex digits) of all that the table of ``fuel`` and ``air`` depends on."""
    per_kilogram = {element: round(count / fuel.M, 12) for element, count in fuel.atoms.items()}
    moles = [(name, round(x, 12)) for name, x in air.mole_fractions]
    nodes = [PHI_NODES.tolist(), LN_P_NODES.tolist(), T_NODES.tolist()]
    facts = [TABLE_VERSION, version("cantera"), per_kilogram, moles, nodes]
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()[:24]


def cache_folder() -> Path | None:
    """Where the tables lie, None if caching is switched off."""
    chosen = os.environ.get("SPOOLWRIGHT_CACHE", "")
    if chosen == "off":
        return None
    return cache_root() / "gas" if chosen else cache_root().parent / "gas"


def load_or_make(fuel: Fuel, air: HumidAir) -> EquilibriumTable:
    """The table from the cache, or made anew and stored."""
    folder = cache_folder()
    if folder is None:
        return compute_table(fuel, air)
    file = folder / f"burned-{table_digest(fuel, air)}.npz"
    found = read_table(file)
    if found is None:
        found = compute_table(fuel, air)
        write_table(file, found)
    return found


def read_table(file: Path) -> EquilibriumTable | None:
    """The stored table, None if the file is missing or not whole."""
    shape = (PHI_NODES.size, LN_P_NODES.size, T_NODES.size, 2)
    try:
        with np.load(file, allow_pickle=False) as stored:
            values, frozen = stored["values"], stored["frozen"]
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error):
        return None
    if values.shape != shape or frozen.shape != (PHI_NODES.size, len(PRODUCTS)):
        return None
    if values.dtype != np.float64 or not (np.isfinite(values).all() and np.isfinite(frozen).all()):
        return None
    with contextlib.suppress(OSError):
        os.utime(file)  # newest used stays longest
    return EquilibriumTable(values, frozen)


def write_table(file: Path, table: EquilibriumTable) -> None:
    """Store ``table`` whole or not at all; a folder that cannot be written is passed over."""
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=file.parent, prefix=".writing-", suffix=".npz")
        beside = Path(name)
        try:
            with os.fdopen(handle, "wb") as stream:
                np.savez(stream, values=table.values, frozen=table.frozen)
                stream.flush()
                os.fsync(stream.fileno())
            beside.replace(file)
        finally:
            beside.unlink(missing_ok=True)
        _drop_oldest(file.parent)
    except OSError:
        return


def _drop_oldest(folder: Path) -> None:
    files = sorted(folder.glob("burned-*.npz"), key=lambda file: file.stat().st_mtime, reverse=True)
    for file in files[FILES_KEPT:]:
        file.unlink(missing_ok=True)
