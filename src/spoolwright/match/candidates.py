"""Turbochargers to choose from: the build's own, the builder's tables, and a family scaled from the build's own.

A candidate file is written like a variant: it says only what differs from the sheet, ``[charge.compressor]``,
``[turbine]`` or both; tables are named from the build's folder, as everywhere. A file with only a compressor is tried
with every turbine, a file with only a turbine with every compressor.

The family takes the build's own machines as similar ones of other sizes: same dimensionless maps, same tip speed limit,
flow with the square of the wheel; the housing's area is a second size. Losses of small size (clearance, friction) are
not counted. Such a candidate is generic: no part like it need exist.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from pathlib import Path
from typing import Literal

import numpy as np

from spoolwright.boost.compressor_table import Compressor
from spoolwright.boost.rows import (
    K_AREA_OVER_LENGTH,
    K_DIAMETER,
    K_SPEED_LIMIT,
    T_AREA,
    T_DIAMETER,
    T_SPEED_LIMIT,
    Floats,
)
from spoolwright.engine.turbo import Turbo, turbo
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet, load
from spoolwright.sheet import files as texts

Origin = Literal["build", "file", "scaled"]
FOLDER = "candidates"  # in the build, looked into when no other is named
WHEELS, HOUSINGS = 20, 10
WHEEL_SPAN, HOUSING_SPAN = (0.72, 1.45), (0.55, 2.0)


@dataclass(frozen=True)
class Candidate:
    """One turbocharger; ``sheet`` is the build with it, None for a scaled one."""

    name: str
    origin: Origin
    compressor: Compressor
    turbine: Floats
    shaft_efficiency: float
    estimated: bool
    sheet: Sheet | None = None

    @property
    def wheel(self) -> float:
        """Compressor wheel [m]."""
        return float(self.compressor.sizes[K_DIAMETER])

    @property
    def speed_limit(self) -> float:
        """Highest shaft speed [rad/s]."""
        return float(self.compressor.sizes[K_SPEED_LIMIT])

    @property
    def turbine_area(self) -> float:
        """Effective swallowing area of the turbine, all entries [m2]."""
        return float(self.turbine[:, T_AREA].sum())


def own(sheet: Sheet) -> Candidate:
    """The build's own turbocharger. Raises BadInput where the sheet has none."""
    made = turbo(sheet)
    if made is None:
        raise BadInput(
            f"{sheet.name} has no [charge] section: match needs the charge pipes, and a turbocharger to start from "
            "(wheel sizes are enough)"
        )
    return _of(sheet.name + "'s own", "build", made, sheet)


def _of(name: str, origin: Origin, made: Turbo, sheet: Sheet) -> Candidate:
    return Candidate(name, origin, made.compressor, made.turbine, made.shaft_efficiency, made.is_estimated, sheet)


def from_folder(sheet: Sheet, folder: Path) -> list[Candidate]:
    """Candidates of the files in ``folder``, each laid over the build.

    Raises BadInput for an empty folder or a file that says nothing of a turbocharger; SheetFaults for what cannot be
    read in one.
    """
    if not folder.is_dir():
        raise BadInput(f"--candidates {folder}: there is no such folder; name one that holds candidate files (.toml)")
    found = sorted(folder.glob("*.toml"))
    if not found:
        raise BadInput(
            f"--candidates {folder}: no candidate file (.toml) lies in it; write one like a variant, with "
            "[charge.compressor] or [turbine]"
        )
    overlays = [_read(file) for file in found]
    whole = [(name, [text]) for name, text, parts in overlays if parts == {"compressor", "turbine"}]
    wheels = [(name, text) for name, text, parts in overlays if parts == {"compressor"}]
    housings = [(name, text) for name, text, parts in overlays if parts == {"turbine"}]
    for name, text in wheels:
        whole.append((name, [text]))
        whole += [(f"{name} with {other}", [text, turbine]) for other, turbine in housings]
    whole += [(f"own with {name}", [text]) for name, text in housings]
    return [_laid(sheet, name, layers) for name, layers in whole]


def _read(file: Path) -> tuple[str, tuple[str, str], set[str]]:
    """Name, (file, text), and which machines it speaks of."""
    told = f"{file.parent.name}/{file.name}"
    text = texts.decode(texts.read_bytes(file, told), told)
    try:
        raw = tomllib.loads(text)
    except ValueError as trouble:
        raise BadInput(f"{told}: it is not TOML ({trouble}); write it like a variant of the build") from None
    charge = raw.get("charge")
    parts = {"compressor"} if isinstance(charge, dict) and "compressor" in charge else set()
    parts |= {"turbine"} if isinstance(raw.get("turbine"), dict) else set()
    if not parts:
        raise BadInput(f"{told}: it has neither [charge.compressor] nor [turbine]; a candidate gives one or both")
    return file.stem, (told, text), parts


def _laid(sheet: Sheet, name: str, layers: Sequence[tuple[str, str]]) -> Candidate:
    changed = load(sheet.folder, sheet.variant, sheet.sets, layers)
    made = turbo(changed)
    assert made is not None  # the file has a compressor or the sheet had one
    return _of(name, "file", made, changed)


def scaled(base: Candidate, wheel: float, area: float) -> Candidate:
    """A machine similar to ``base`` with a compressor wheel of ``wheel`` [m] and a turbine of ``area`` [m2]."""
    s = wheel / base.wheel
    sizes, turbine = base.compressor.sizes.copy(), base.turbine.copy()
    sizes[K_DIAMETER] *= s
    sizes[K_AREA_OVER_LENGTH] *= s
    sizes[K_SPEED_LIMIT] /= s
    turbine[:, T_DIAMETER] *= s
    turbine[:, T_SPEED_LIMIT] /= s
    turbine[:, T_AREA] *= area / base.turbine_area
    name = f"{1e3 * wheel:.1f} mm, {1e6 * area:.0f} mm2"
    return Candidate(name, "scaled", Compressor(sizes, base.compressor.lines), turbine, base.shaft_efficiency, True)


def family(base: Candidate, flow_ratio: float, wheels: int = WHEELS, housings: int = HOUSINGS) -> list[Candidate]:
    """Scaled machines round the size that fits: ``flow_ratio`` is the flow wanted over the flow ``base`` is made for.

    Wheels in steps of equal ratio; to each the housings, as areas in proportion to the wheel's square.
    """
    middle = base.wheel * sqrt(flow_ratio)
    made = []
    for s in np.geomspace(*WHEEL_SPAN, wheels):
        wheel = round(middle * float(s) * 2e3) / 2e3  # half a millimetre
        plain = base.turbine_area * (wheel / base.wheel) ** 2
        for h in np.geomspace(*HOUSING_SPAN, housings):
            area = round(plain * float(h) * 2e5) / 2e5  # 5 mm2
            made.append(scaled(base, wheel, area))
    return list({one.name: one for one in made}.values())


def all_candidates(
    sheet: Sheet, folder: Path | None, flow_ratio: float, generic: bool, base: Candidate
) -> list[Candidate]:
    """The build's own, those of ``folder`` (or of the build's own folder of candidates), and the family if wanted."""
    made: list[Candidate] = [base]
    if folder is not None:
        made += from_folder(sheet, folder)
    elif (sheet.folder / FOLDER).is_dir():
        made += from_folder(sheet, sheet.folder / FOLDER)
    return made + (family(base, flow_ratio) if generic else [])
