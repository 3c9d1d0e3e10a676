"""Springs and diaphragms of wastegates: what a builder states about them, and the force they give."""

from __future__ import annotations

from math import pi
from typing import NamedTuple

from spoolwright.sums.alternatives import one_of, together
from spoolwright.sums.registry import Input, Output, register

_SHIM = Input("length", "shim under the spring", "0 mm", "20 mm", "0 mm")
SPRING_INPUTS = {
    "preload": Input("force", "force of the spring with the gate shut", "5 N", "1500 N", "", sheet="wastegate.preload"),
    "label": Input(
        "pressure_gauge",
        "pressure on the spring's label (no exhaust force); instead",
        "2 psi",
        "40 psi",
        "",
    ),
    "spring_rate": Input(
        "stiffness",
        "rate, with both lengths; instead",
        "0.5 N/mm",
        "80 N/mm",
        "",
        sheet="wastegate.spring_rate if wastegate.spring_free_length",
    ),
    "free_length": Input(
        "length", "free length of the spring", "10 mm", "200 mm", "", sheet="wastegate.spring_free_length"
    ),
    "installed_length": Input(
        "length", "length with the gate shut", "5 mm", "150 mm", "", sheet="wastegate.spring_installed_length"
    ),
    "shim": _SHIM,
}
DIAPHRAGM_INPUTS = {
    "diaphragm_diameter": Input(
        "length", "effective diameter of the diaphragm", "20 mm", "120 mm", "", sheet="wastegate.diaphragm_diameter"
    ),
    "diaphragm_area": Input("area", "effective area of the diaphragm; instead", "3 cm2", "110 cm2", ""),
}
VALVE_DIAMETER = Input(
    "length", "diameter on which exhaust presses", "10 mm", "80 mm", sheet="wastegate.valve_diameter"
)
EXHAUST_INPUTS = {
    "exhaust_ratio": Input("number", "exhaust gauge pressure over boost gauge pressure", "0", "3", ""),
    "exhaust_pressure": Input("pressure_gauge", "exhaust gauge pressure, fixed; instead", "0 kPa", "600 kPa", ""),
    "exhaust_pushes": Input(
        "choice",
        "which way exhaust pushes the valve",
        default="open",
        choices=("open", "shut"),
        sheet="wastegate.exhaust_pushes",
    ),
    "back_pressure": Input(
        "pressure_gauge", "gauge pressure on the back of the valve (dump pipe)", "0 kPa", "60 kPa", "0 kPa"
    ),
}
LEVER_RATIO = Input("number", "flap arm over rod arm; 1 for a valve on the diaphragm's stem", "0.2", "3", "1")
PRELOAD_FOUND = Output("force", "N", "spring force with the gate shut", ("lbf",))
SIGNAL_INPUTS = {
    "spring_side_share": Input("share", "share of boost led to the spring side", "0 %", "100 %", "0 %"),
    "spring_side_pressure": Input(
        "pressure_gauge", "fixed gauge pressure on the spring side", "0 kPa", "300 kPa", "0 kPa"
    ),
}
CAUTION = (
    "a gate that does not open overboosts the engine in a second: prove it on the bench with air before the first pull"
)


class Spring(NamedTuple):
    """A spring as stated: its force [N] with the gate shut, its label [Pa gauge], or its rate [N/m] and lengths [m]."""

    preload: float | None
    label: float | None
    spring_rate: float | None
    free_length: float | None
    installed_length: float | None
    shim: float


class Diaphragm(NamedTuple):
    """A diaphragm by its effective diameter [m] or its effective area [m2]."""

    diaphragm_diameter: float | None
    diaphragm_area: float | None

    def area(self) -> float:
        """Effective area [m2]. Raises ValueError when none or both are given."""
        one_of(**self._asdict())
        if self.diaphragm_diameter is not None:
            return pi / 4.0 * self.diaphragm_diameter**2
        assert self.diaphragm_area is not None
        return self.diaphragm_area


class Exhaust(NamedTuple):
    """What presses on the valve: a ratio to boost or a fixed pressure [Pa gauge], which way, and what is behind."""

    exhaust_ratio: float | None
    exhaust_pressure: float | None
    exhaust_pushes: str
    back_pressure: float


class Signal(NamedTuple):
    """What is led to the spring side of the diaphragm: a share of boost [1], a fixed pressure [Pa gauge]."""

    spring_side_share: float
    spring_side_pressure: float


# ----------------------------------------------------------------------------- shared steps
def spring_force(spring: Spring, area: float | None) -> float:
    """Force [N] of the spring with the gate shut: as given, from its label, or from rate and lengths.

    ``area`` [m2] is the diaphragm's, which a label needs. Raises ValueError when none or several are
    given, or when the spring is not compressed.
    """
    rate, free, installed = spring.spring_rate, spring.free_length, spring.installed_length
    by_rate = together(spring_rate=rate, free_length=free, installed_length=installed)
    one_of(preload=spring.preload, label=spring.label, spring_rate_and_lengths=rate if by_rate else None)
    if spring.shim and not by_rate:
        raise ValueError("a shim counts only with spring_rate, free_length and installed_length")
    if spring.preload is not None:
        force = spring.preload
    elif spring.label is not None:
        if area is None:
            raise ValueError("a label needs the diaphragm beside it; give preload, or spring_rate and both lengths")
        force = spring.label * area
    else:
        force = spring_preload(rate or 0.0, free or 0.0, installed or 0.0, spring.shim)["preload"]
    if force <= 0.0:
        raise ValueError("the spring force must be above zero")
    return force


# ----------------------------------------------------------------------------- spring
@register(
    "boost",
    "Spring preload from rate and lengths",
    inputs={
        "spring_rate": Input("stiffness", "rate of the spring", "0.5 N/mm", "80 N/mm"),
        "free_length": Input("length", "free length", "10 mm", "200 mm"),
        "installed_length": Input("length", "length with the gate shut", "5 mm", "150 mm"),
        "shim": _SHIM,
    },
    outputs={
        "preload": Output("force", "N", "force with the gate shut", ("lbf",)),
        "compression": Output("length", "mm", "how far it is compressed", ("in",)),
    },
    formula="""
    compression = free_length - installed_length + shim
    preload = spring_rate * compression
    """,
    source="linear spring; standard textbook relation",
    slips=("installed length measured without the seat or the lid in place",),
    example='--spring-rate "9.8 N/mm" --free-length "58 mm" --installed-length "41 mm"',
)
def spring_preload(spring_rate: float, free_length: float, installed_length: float, shim: float) -> dict[str, float]:
    """Force [N] of a compressed spring; raises ValueError when it is not compressed."""
    compression = free_length - installed_length + shim
    if compression <= 0.0:
        raise ValueError("the installed length is not below the free length: swapped?")
    if compression >= free_length:
        raise ValueError("the spring would be squeezed to nothing; check lengths and shim")
    return {"preload": spring_rate * compression, "compression": compression}


@register(
    "boost",
    "Springs side by side: inner and outer together",
    inputs={
        "spring_rates": Input("stiffness", "rate of each spring", "0.5 N/mm", "80 N/mm", many=True),
        "free_lengths": Input("length", "free length of each, in the same order", "10 mm", "200 mm", many=True),
        "installed_length": Input("length", "length with the gate shut, the same for all", "5 mm", "150 mm"),
        "diaphragm_diameter": Input(
            "length", "effective diameter of the diaphragm, for the label", "20 mm", "120 mm", ""
        ),
    },
    outputs={
        "preload": Output("force", "N", "force of all with the gate shut", ("lbf",)),
        "rate": Output("stiffness", "N/mm", "rate of all together", ("lbf/in",)),
        "label": Output("pressure_gauge", "kPa", "boost they hold without exhaust force", ("psi", "bar")),
    },
    formula="""
    preload = sum of rate * (free length - installed_length)
    rate = sum of rates
    label = preload / (pi/4 * diaphragm_diameter^2)
    """,
    source="springs in parallel; standard textbook relation",
    slips=("two labels added though the inner spring is shorter and not yet touched",),
    example='--spring-rates "4 N/mm; 6 N/mm" --free-lengths "60 mm; 55 mm" --installed-length "41 mm" '
    '--diaphragm-diameter "62 mm"',
)
def spring_stack(
    spring_rates: list[float], free_lengths: list[float], installed_length: float, diaphragm_diameter: float | None
) -> dict[str, float | None]:
    """Force [N] and rate [N/m] of parallel springs; one shorter than the installed length does not count."""
    if len(spring_rates) != len(free_lengths):
        raise ValueError("give one free length for each rate")
    squeezed = [(k, free - installed_length) for k, free in zip(spring_rates, free_lengths, strict=True)]
    working = [(k, x) for k, x in squeezed if x > 0.0]
    if not working:
        raise ValueError("no spring is longer than the installed length")
    force = sum(k * x for k, x in working)
    area = None if diaphragm_diameter is None else pi / 4.0 * diaphragm_diameter**2
    return {
        "preload": force,
        "rate": sum(k for k, _ in working),
        "label": None if area is None else force / area,
    }
