"""A pull as a table: one row a speed, the columns of the registry with their units in the names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spoolwright.engine.columns import COLUMNS
from spoolwright.engine.pull import Pull

if TYPE_CHECKING:
    import polars


def table(pull: Pull) -> polars.DataFrame:
    """The pull as a Polars table: float64 columns, ``cycles`` whole, ``converged`` true or false, null where none."""
    import polars

    kinds = {"cycles": polars.Int64, "converged": polars.Boolean}
    schema = {name: kinds.get(name, polars.Float64) for name in COLUMNS}
    rows = [[point.columns[name] for name in COLUMNS] for point in pull.points]
    return polars.DataFrame(rows, schema=schema, orient="row")
