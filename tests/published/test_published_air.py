"""Sums of the topic air against worked cases and published values (sources in the data file)."""

from __future__ import annotations

from typing import Any

import pytest
from sum_rows import check, rows


@pytest.mark.parametrize("row", rows("air"))
def test_published_air(row: dict[str, Any]) -> None:
    check(row)
