"""Pulls by name: ``evening.csv`` are all pulls of that log, ``evening.csv#2`` is its second."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from spoolwright.dyno.measured import Measured
from spoolwright.dyno.readers.reading import read_log
from spoolwright.dyno.reduce import reduce_log
from spoolwright.errors import BadInput


def pulls_named(names: Sequence[str], torque_wanted: bool = True) -> list[Measured]:
    """The pulls of these names, reduced by what is kept beside each log, in the order named.

    Raises BadInput for a number a log does not have or a pull named twice.
    """
    found: list[Measured] = []
    read: dict[Path, tuple[Measured, ...]] = {}
    for name in names:
        path, number = _split(name)
        if path not in read:
            read[path] = reduce_log(read_log(path), torque_wanted=torque_wanted).pulls
        pulls = read[path]
        if number is not None and not 1 <= number <= len(pulls):
            raise BadInput(f"{path.name} has {len(pulls)} pull{'s' * (len(pulls) > 1)}; there is no #{number}")
        for pull in pulls if number is None else (pulls[number - 1],):
            if any(p.name == pull.name and p.sha256 == pull.sha256 for p in found):
                raise BadInput(f"{pull.name} is named twice")
            found.append(pull)
    return found


def _split(name: str) -> tuple[Path, int | None]:
    match = re.fullmatch(r"(.+)#(\d{1,4})", name)
    if match and not Path(name).exists():
        return Path(match[1]), int(match[2])
    return Path(name), None
