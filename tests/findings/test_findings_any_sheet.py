"""Whatever passes the checks of a sheet is judged: no traceback, no number that is not one."""

from __future__ import annotations

import math
import random

import pytest

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.findings.check import check
from spoolwright.sheet import load
from spoolwright.sheet.demo import demo_folder

FACTORS = (-1.0, 0.0, 0.1, 0.5, 0.9, 1.1, 2.0, 10.0)
TRIES = 120


@pytest.mark.slow
@pytest.mark.parametrize("build", ["wren", "heron", "plover"])
def test_changed_sheet__is_judged_or_refused(build: str) -> None:
    chosen = random.Random(f"sheets of {build}")
    plain = load(demo_folder(build))
    numeric = [path for path, entry in plain.entries.items() if entry.field.numeric]
    optional = [p for p in plain.entries if plain.entries[p].field.need == "may"]
    judged = 0
    for _ in range(TRIES):
        sets = []
        for path in chosen.sample(numeric, 2):
            one = plain.quantities(path)[0]
            value = one.number * chosen.choice(FACTORS)
            condition = f" @ {one.condition[0].text}" if one.condition else ""
            sets.append(f"{path}={units.significant(value, 5)} {one.unit.removeprefix(':')} {one.reference}{condition}")
        sets.append(f"{chosen.choice(optional)}=none")
        try:
            sheet = load(demo_folder(build), None, sets)
        except BadInput:
            continue
        for one in check(sheet):
            judged += 1
            assert one.value is None or math.isfinite(one.value), (sets, one)
            assert "Traceback" not in one.sentence
            assert "nan" not in one.sentence.split(), (sets, one)
    assert judged > 30 * TRIES / 4  # most changes are refused for good reason, not all
