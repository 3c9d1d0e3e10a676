"""Pipes of a sheet as ducts: taper or measured profile, bends as loss coefficients, wall temperature.

Bends follow Rennels and Hudson (the sum ``bend_loss``). Equal pipes side by side are one duct of their joint
area; friction then counts the larger diameter, a small error for the short pipes where this occurs.
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

from spoolwright.flow.mesh import Duct
from spoolwright.sheet import Sheet
from spoolwright.sums.exhaust_losses import bend_loss

BEND_FRICTION = 0.02  # Darcy factor inside the bend formula; turbulent flow in drawn tube
DEFAULT_BEND_RADIUS = 1.5  # in bores, where a pipe has bends but no radius; handbook standard elbow, listed as assumed
CELL = 0.02  # m; 20 mm resolves what matters; the mesh makes at least three cells of a short pipe


def pipe(sheet: Sheet, path: str, k: int | None = None, extra_loss: float = 0.0, cell: float = CELL) -> Duct:
    """The duct at ``path``; ``k`` picks one cylinder of fields that are given per cylinder."""

    def number(name: str, default: float = 0.0) -> float:
        full = f"{path}.{name}"
        if not sheet.has(full):
            return default
        values = sheet.values(full)  # one for each cylinder, or one for all
        return values[k] if k is not None and len(values) > 1 else values[0]

    length, start = number("length"), number("diameter")
    stop = number("diameter_end", start)
    sides = sqrt(number("count", 1.0))
    profile = sheet.maybe_table(f"{path}.profile")
    if profile is not None:
        x, d = profile.columns["distance"], profile.columns["diameter"]
        scale = length / x[-1]
        diameters = tuple((xi * scale, di * sides) for xi, di in zip(x, d, strict=True))
    else:
        diameters = ((0.0, start * sides), (length, stop * sides))
    bends = number("bends")
    bore = 0.5 * (start + stop)
    radius = number("bend_radius", DEFAULT_BEND_RADIUS * bore)
    loss = number("loss") + (bend_loss(bends, radius / bore, BEND_FRICTION) if bends > 0.0 else 0.0)
    label = path if k is None else f"{path}[{k + 1}]"
    return Duct(
        name=label,
        length=length,
        diameters=diameters,
        cell_size=cell,
        T_wall=number("wall_temperature", 320.0),
        roughness=number("roughness"),
        loss=loss + extra_loss,
    )


def hot(item: Duct, T_gas: float) -> Duct:
    """The duct filled with burned gas at T_gas [K]."""
    return replace(item, T=T_gas, yb=1.0)
