"""Springs and diaphragms of wastegates: what a builder states about them, and the force they give."""

from __future__ import annotations

from math import pi

from spoolwright.sums.alternatives import one_of, together
from spoolwright.sums.registry import Input, Output, register

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
    "shim": Input("length", "shim under the spring", "0 mm", "20 mm", "0 mm"),
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
SIGNAL_INPUTS = {
    "spring_side_share": Input("share", "share of boost led to the spring side", "0 %", "100 %", "0 %"),
    "spring_side_pressure": Input(
        "pressure_gauge", "fixed gauge pressure on the spring side", "0 kPa", "300 kPa", "0 kPa"
    ),
}
CAUTION = (
    "a gate that does not open overboosts the engine in a second: prove it on the bench with air before the first pull"
)


# ----------------------------------------------------------------------------- shared steps
def spring_force(
    preload: float | None,
    label: float | None,
    spring_rate: float | None,
    free_length: float | None,
    installed_length: float | None,
    shim: float,
    area: float | None,
) -> float:
    """Force [N] of the spring with the gate shut: as given, from its label, or from rate and lengths.

    Raises ValueError when none or several are given, or when the spring is not compressed.
    """
    by_rate = together(spring_rate=spring_rate, free_length=free_length, installed_length=installed_length)
    way = one_of(preload=preload, label=label, spring_rate_and_lengths=spring_rate if by_rate else None)
    if shim and not by_rate:
        raise ValueError("a shim counts only with spring_rate, free_length and installed_length")
    if way == "preload":
        assert preload is not None
        force = preload
    elif way == "label":
        assert label is not None
        if area is None:
            raise ValueError("a label needs the diaphragm beside it; give preload, or spring_rate and both lengths")
        force = label * area
    else:
        force = spring_preload(spring_rate or 0.0, free_length or 0.0, installed_length or 0.0, shim)["preload"]
    if force <= 0.0:
        raise ValueError("the spring force must be above zero")
    return force


def circle(
    diameter: float | None, area: float | None, names: tuple[str, str] = ("diaphragm_diameter", "diaphragm_area")
) -> float:
    """Area [m2] as given or of a circle of ``diameter`` [m]."""
    if one_of(**{names[0]: diameter, names[1]: area}) == names[0]:
        assert diameter is not None
        return pi / 4.0 * diameter**2
    assert area is not None
    return area


# ----------------------------------------------------------------------------- spring
@register(
    "boost",
    "Spring preload from rate and lengths",
    inputs={
        "spring_rate": Input("stiffness", "rate of the spring", "0.5 N/mm", "80 N/mm"),
        "free_length": Input("length", "free length", "10 mm", "200 mm"),
        "installed_length": Input("length", "length with the gate shut", "5 mm", "150 mm"),
        "shim": Input("length", "shim under the spring", "0 mm", "20 mm", "0 mm"),
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
    spring_rates: list[float],
    free_lengths: list[float],
    installed_length: float,
    diaphragm_diameter: float | None,
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
