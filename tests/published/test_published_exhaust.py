"""Sums of the topic exhaust against worked cases and published values (sources in the data file)."""

from __future__ import annotations

from typing import Any

import pytest
from sum_rows import check, rows


@pytest.mark.parametrize("row", rows("exhaust"))
def test_published_exhaust(row: dict[str, Any]) -> None:
    check(row)
