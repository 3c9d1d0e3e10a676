"""Sums of the topic valves against worked cases and published values (sources in the data file)."""

from __future__ import annotations

from typing import Any

import pytest
from sum_rows import check, rows


@pytest.mark.parametrize("row", rows("valves"))
def test_published_valves(row: dict[str, Any]) -> None:
    check(row)
