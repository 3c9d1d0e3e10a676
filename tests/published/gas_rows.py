"""Reads the tables of outside values that the gas tests compare with."""

from __future__ import annotations

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    """Rows of data/<name>.csv, lines starting with # left out."""
    with (DATA / f"{name}.csv").open() as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def by_id(name: str) -> dict[str, dict[str, str]]:
    """The same by id."""
    return {row["id"]: row for row in rows(name)}


def check(row: dict[str, str], value: float) -> None:
    """``value`` (in the row's unit) within the row's stated tolerance."""
    expected, tolerance = float(row["value"]), float(row["rel_tol"])
    assert abs(value - expected) <= tolerance * abs(expected), (
        f"{row['id']} {row['quantity']}: {value:.8g}, published {expected:g} within {tolerance:g} ({row['source']})"
    )
