"""The size of an engine and how often it fills: inputs and steps that sums of air, boost and carburettor share."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

from spoolwright.sums import measures
from spoolwright.sums.blueprint import swept_volume
from spoolwright.sums.registry import Input

DISPLACEMENT = Input(
    "volume", "displacement of the whole engine; instead of bore, stroke and cylinders", "50 cc", "12 L", ""
)
SIZE_INPUTS = {
    "bore": replace(measures.BORE, default=""),
    "stroke": replace(measures.STROKE, default=""),
    "cylinders": replace(measures.CYLINDERS, default=""),
    "displacement": DISPLACEMENT,
}
STROKES = Input("choice", "working cycle", default="four-stroke", choices=("four-stroke", "two-stroke"))
VE = Input("share", "volumetric efficiency at manifold pressure and temperature", "40 %", "130 %")
CHARGE_TEMPERATURE = Input("temperature", "charge temperature in the manifold", "-20 degC", "180 degC")


class EngineSize(NamedTuple):
    """The engine's size: bore and stroke [m] and number of cylinders, or its displacement [m3]."""

    bore: float | None
    stroke: float | None
    cylinders: float | None
    displacement: float | None

    def volume(self) -> float:
        """Displacement [m3]. Raises ValueError when it is stated twice or not at all."""
        parts = (self.bore, self.stroke, self.cylinders)
        if self.displacement is not None:
            if any(p is not None for p in parts):
                raise ValueError("displacement and bore, stroke or cylinders are given; leave one of the two out")
            return self.displacement
        if self.bore is None or self.stroke is None or self.cylinders is None:
            raise ValueError("displacement, or bore and stroke and cylinders, is needed")
        return float(swept_volume(self.bore, self.stroke, self.cylinders)["displacement"])


def intakes_per_second(speed: float, strokes: str) -> float:
    """How often per second the engine fills its displacement, from speed [rad/s]."""
    if speed <= 0.0:
        raise ValueError("the engine speed must be above zero")
    return speed / (2.0 * math.pi) / (2.0 if strokes == "four-stroke" else 1.0)
