"""Reads the tables of outside values that the cylinder tests compare with."""

from __future__ import annotations

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    """Rows of data/cylinder_<name>.csv."""
    with (DATA / f"cylinder_{name}.csv").open() as file:
        return list(csv.DictReader(file))


def by_id(name: str) -> dict[str, dict[str, str]]:
    """The same by id."""
    return {row["id"]: row for row in rows(name)}


def check(row: dict[str, str], value: float, tolerance: float | None = None) -> None:
    """``value`` (in the row's unit) within the row's stated tolerance, or a narrower one."""
    expected, stated = float(row["value"]), float(row["rel_tol"])
    tolerance = stated if tolerance is None else tolerance
    assert tolerance <= stated
    assert abs(value - expected) <= tolerance * abs(expected), (
        f"{row['id']} {row['quantity']}: {value:.8g}, published {expected:g} within {tolerance:g} ({row['source']})"
    )
