"""Factors a fit to pulls left in the sheet, as the assembly applies them."""

from __future__ import annotations

from typing import NamedTuple

from spoolwright.sheet import Sheet


class Calibration(NamedTuple):
    """Multipliers on the model, 1 where nothing was fitted.

    ``flow``: effective valve areas both ways. ``burn``: both rates of the flame. ``friction``: rubbing friction, not
    what the crank drives. ``wall_heat``: heat coefficient in the cylinder.
    """

    flow: float = 1.0
    burn: float = 1.0
    friction: float = 1.0
    wall_heat: float = 1.0


def calibration(sheet: Sheet) -> Calibration:
    """The sheet's factors; all 1 where ``calibration.use`` is false."""
    if not sheet.flag("calibration.use", default=True):
        return Calibration()
    given = {name: sheet.maybe(f"calibration.{name}") for name in Calibration._fields}
    return Calibration(**{name: value for name, value in given.items() if value is not None})
