"""Published values for sums: rows of data files, each answered through the public way a user would take.

A row holds the outside value with its unit, tolerance and source, the sum that answers it and the inputs as text.
An input {"from": ...} is the answer of another sum, where a worked example goes on from its own result.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spoolwright import units
from spoolwright.sums.evaluate import evaluate

DATA = Path(__file__).parent / "data"


def rows(topic: str) -> list[Any]:
    """The rows of ``sums_<topic>.json`` as test parameters named by id and result."""
    with (DATA / f"sums_{topic}.json").open(encoding="utf-8") as file:
        return [pytest.param(row, id=f"{row['id']}-{row['sum']}-{row['result']}") for row in json.load(file)]


def answered(row: dict[str, Any]) -> float:
    """The sum's answer in the row's unit."""
    answer = evaluate(row["sum"], {key: _text(value) for key, value in row["inputs"].items()})
    value = answer.results[row["result"]]
    kind = answer.sum.outputs[row["result"]].kind
    if kind == "money":
        amount, currency = value
        assert currency == row["unit"]
        return amount
    if "at" in row:
        value = value[row["at"]]
    unit = row["unit"].removesuffix(" BTDC")
    return value if unit in ("1", "-") else units.convert(value, kind, unit)


def _text(value: Any) -> Any:
    """An input as text; {"from": row} takes it from the answer of another sum, as a worked example does."""
    if not isinstance(value, dict):
        return value
    return f"{answered(value['from'])!r} {value['from']['unit']}"


def check(row: dict[str, Any]) -> None:
    """Assert that the answer stands within the stated tolerance."""
    allowed = row.get("tol_abs", abs(row["value"]) * row.get("tol_rel", 0.0))
    # Values stated as exact ("tolerance 0") are held to the rounding of floats.
    allowed = max(allowed, 1e-12 * abs(row["value"]))
    got = answered(row)
    assert abs(got - row["value"]) <= allowed, f"{row['what']}: {got:g} {row['unit']}, published {row['value']:g}"
