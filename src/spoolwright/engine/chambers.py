"""Combustion chambers of a sheet: clearance from measured volumes, shape of the roof, plugs, walls.

A wedge's roof rises from the edge of its squish area at the stated angle; its height is then set so that the volume
is the measured one. A measured chamber becomes round steps of the stated open areas.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import hypot

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder.build import Chamber
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet
from spoolwright.sums.blueprint import Parts, compression_ratio

GRID = 41  # points along a side of the roof grid
# Wall temperatures where the sheet states none, until cooling computes them; common practice, no source.
WALLS = {"air": (483.0, 523.0, 443.0), "water": (453.0, 513.0, 403.0)}  # K: head, crown, barrel
MIRROR = 1.5e-3  # m; how far two plugs may be from mirror images and still count as a pair


@dataclass
class Assumptions:
    """What the assembly took where the sheet says nothing: path, value in words, reason."""

    rows: list[tuple[str, str, str]] = field(default_factory=list)

    def take(self, path: str, text: str, reason: str) -> None:
        """Note one assumption once."""
        if (path, text, reason) not in self.rows:
            self.rows.append((path, text, reason))


def clearance_volumes(sheet: Sheet) -> list[float]:
    """Clearance volume [m3] of every cylinder, by the sum ``compression_ratio``."""
    bores, chambers = sheet.values("cylinders.bore"), sheet.values("cylinders.chamber")
    dishes, decks = sheet.values("cylinders.dish"), sheet.values("cylinders.deck")
    measured = zip(bores, chambers, dishes, decks, strict=True)
    return [
        compression_ratio(
            Parts(
                bore=bore,
                stroke=sheet.value("cylinders.stroke"),
                chamber=chamber,
                dish=dish,
                deck=deck,
                gasket_thickness=sheet.value("cylinders.gasket_thickness"),
                gasket_bore=sheet.maybe("cylinders.gasket_bore"),
                crevice=sheet.value("cylinders.crevice"),
            )
        )["clearance_volume"]
        for bore, chamber, dish, deck in measured
    ]


def walls(sheet: Sheet, assumptions: Assumptions) -> tuple[float, float, float]:
    """Gas-side temperatures [K] of head, piston crown and barrel."""
    medium = sheet.choice("cooling.medium")
    found = []
    for name, usual in zip(("head", "crown", "barrel"), WALLS[medium], strict=True):
        path = f"cylinders.walls.{name}"
        given = sheet.maybe(path)
        if given is None:
            reason = f"usual at full load for {medium} cooling, not computed yet; common practice, no source"
            assumptions.take(path, f"{usual - 273.15:.0f} degC", reason)
        found.append(usual if given is None else given)
    return found[0], found[1], found[2]


def chambers(sheet: Sheet, assumptions: Assumptions) -> list[Chamber]:
    """One Chamber for each cylinder. Raises BadInput for plugs or roofs that do not fit the bore."""
    T_head, T_piston, T_liner = walls(sheet, assumptions)
    bores, measured = sheet.values("cylinders.bore"), sheet.values("cylinders.chamber")
    made = []
    for k, clearance in enumerate(clearance_volumes(sheet)):
        plugs = _plugs(sheet, bores[k])
        shape = sheet.choice("cylinders.chamber_shape")
        roof = None
        if shape == "wedge":
            roof = _wedge(sheet, bores[k], measured[k])
        elif shape == "measured":
            roof = _stepped(sheet, bores[k])
        mirrored = len(plugs) == 2 and hypot(plugs[0][0] + plugs[1][0], plugs[0][1] + plugs[1][1]) < MIRROR / bores[k]
        if roof is None and len(plugs) == 2 and not mirrored:
            roof = np.full((GRID, GRID), measured[k] / (np.pi / 4.0 * bores[k] ** 2) / (0.5 * bores[k]))
        made.append(
            Chamber(
                bore=bores[k],
                stroke=sheet.value("cylinders.stroke"),
                rod_length=sheet.value("cylinders.rod_length"),
                clearance_volume=clearance,
                pin_offset=sheet.value("cylinders.pin_offset"),
                plug_offset=min(hypot(*plugs[0]), 0.95),
                twin=mirrored,
                roof=roof,
                plugs=tuple(plugs) if roof is not None else (),
                T_head=T_head,
                T_piston=T_piston,
                T_liner=T_liner,
                crevice=sheet.value("cylinders.crevice"),
            )
        )
    return made


def _plugs(sheet: Sheet, bore: float) -> list[tuple[float, float]]:
    places = []
    for name in sheet.names("cylinders.plugs"):
        path = f"cylinders.plugs.{name}"
        x, y = sheet.value(f"{path}.across"), sheet.value(f"{path}.along")
        if hypot(x, y) >= 0.5 * bore:
            raise BadInput(
                f"{sheet.where(f'{path}.across')}  {path}: the plug stands {1e3 * hypot(x, y):.1f} mm from the bore's "
                f"axis; it must stand inside the bore of {1e3 * bore:.1f} mm, count from the axis"
            )
        places.append((x / (0.5 * bore), y / (0.5 * bore)))
    if not 1 <= len(places) <= 2:
        raise BadInput(f"cylinders.plugs: {len(places)} plugs are named; one or two are possible")
    return places


def _wedge(sheet: Sheet, bore: float, volume: float) -> NDArray[np.float64]:
    """Roof heights [bore radii] over the bore's square; squish lies on the side away from the first plug's."""
    from scipy.optimize import brentq

    from spoolwright.cylinder.geometry import chamber_columns

    slope = np.tan(np.radians(sheet.maybe("cylinders.roof_angle") or 0.0))
    share = sheet.value("cylinders.squish_area")
    axis = np.linspace(-1.0, 1.0, GRID)
    # The squish segment of a unit circle left of x0 holds this share of its area.
    x0 = brentq(lambda x: (np.arccos(-x) + x * np.sqrt(1.0 - x * x)) / np.pi - share, -1.0, 1.0) if share > 0 else -1.0
    open_side = (axis >= x0).astype(float)
    wanted = volume / (0.5 * bore) ** 3

    def roof(step: float, scale: float) -> NDArray[np.float64]:
        profile = open_side * np.maximum(step + scale * slope * (axis - x0), 0.0)
        return np.repeat(profile[:, None], GRID, axis=1)

    def volume_of(heights: NDArray[np.float64]) -> float:
        columns = chamber_columns(heights)
        return float(columns[:, 2] @ columns[:, 3])

    if volume_of(roof(0.0, 1.0)) > wanted:  # the stated angle holds more than was measured: flatter roof
        return roof(0.0, brentq(lambda s: volume_of(roof(0.0, s)) - wanted, 0.0, 1.0))
    return roof(brentq(lambda h: volume_of(roof(h, 1.0)) - wanted, 0.0, 4.0), 1.0)


def _stepped(sheet: Sheet, bore: float) -> NDArray[np.float64]:
    table = sheet.table("cylinders.chamber_section")
    height, area = np.array(table.columns["height"]), np.array(table.columns["area"])
    radius = np.sqrt(area / np.pi) / (0.5 * bore)
    axis = np.linspace(-1.0, 1.0, GRID)
    distance = np.hypot(axis[:, None], axis[None, :])
    order = np.argsort(radius)
    # Highest level whose open radius still reaches this distance.
    return np.asarray(np.interp(distance, radius[order], (height / (0.5 * bore))[order], right=0.0))
