"""Oil in bearings: clearance by the rule per journal, leak from the sides, friction."""

from __future__ import annotations

import math
from typing import Any

from spoolwright.sums.measures import JOURNAL
from spoolwright.sums.oil_properties import VISCOSITY
from spoolwright.sums.registry import Input, Output, register


@register(
    "oil",
    "Bearing clearance by the rule per journal",
    inputs={
        "journal": Input("length", "journal diameter", "15 mm", "110 mm", sheet="strength.main_journal_diameter"),
        "factor": Input("ratio", "clearance over journal", "0.0005", "0.002", "0.001"),
        "measured": Input("length", "clearance measured, to compare", "0.005 mm", "0.2 mm", "", many=True),
    },
    outputs={
        "clearance": Output("length", "mm", "clearance by the rule", ("thou", "in")),
        "measured_factor": Output("ratio", "1", "measured over journal, each"),
    },
    formula="clearance = factor * journal",
    source="common practice, no source: 0.001 in per in of journal, a little more in hot light-alloy cases",
    question=lambda given, results: [
        f"bearing {n}: {f:.4f} of the journal is outside the usual 0.0006 to 0.0014"
        for n, f in enumerate(results["measured_factor"] or [], start=1)
        if not 0.0006 <= f <= 0.0014
    ],
    example='--journal "2.00 in"',
)
def bearing_clearance_rule(journal: float, factor: float, measured: list[float] | None) -> dict[str, Any]:
    """Length [m] and ratios [1]."""
    return {
        "clearance": factor * journal,
        "measured_factor": None if measured is None else [m / journal for m in measured],
    }


@register(
    "oil",
    "Oil that leaks from a bearing's sides",
    inputs={
        "journal": JOURNAL,
        "clearance": Input("length", "clearance on the diameter, hot", "0.01 mm", "0.3 mm"),
        "land": Input("length", "from groove or hole to the side", "2 mm", "40 mm"),
        "pressure": Input("pressure_gauge", "oil pressure in the groove", "10 kPa", "1 MPa"),
        "viscosity": VISCOSITY,
        "eccentricity": Input("ratio", "how far the journal runs off centre, 0 to 1", "0", "0.95", "0"),
        "bearings": Input("count", "bearings alike", "1", "20", "1"),
    },
    outputs={"flow": Output("volume_flow", "L/min", "both sides, all bearings", ("gal/min",))},
    formula="""
    flow = bearings * 2 * pi*journal*(clearance/2)^3*pressure/(12*viscosity*land) * (1 + 1.5*eccentricity^2)
    """,
    source="laminar flow through a ring gap; any lubrication text",
    validity="Full groove, still journal; what a half groove passes is less. Goes with the third power of clearance.",
    slips=("radial clearance put in for diametral: eight times too little",),
    example='--journal "55 mm" --clearance "0.070 mm" --land "9 mm" --pressure "4 bar" --viscosity "9 cP" --bearings 5',
)
def bearing_leak(
    journal: float,
    clearance: float,
    land: float,
    pressure: float,
    viscosity: float,
    eccentricity: float,
    bearings: float,
) -> dict[str, float]:
    """Flow [m3/s]."""
    gap = (clearance / 2.0) ** 3 * pressure / (12.0 * viscosity * land)
    return {"flow": bearings * 2.0 * math.pi * journal * gap * (1.0 + 1.5 * eccentricity**2)}


@register(
    "oil",
    "Friction of a plain bearing, light load",
    inputs={
        "journal": Input("length", "journal diameter", "10 mm", "110 mm"),
        "width": Input("length", "width of the bearing", "3 mm", "100 mm"),
        "clearance": Input("length", "clearance on the diameter", "0.01 mm", "0.3 mm"),
        "viscosity": VISCOSITY,
        "speed": Input("rotational_speed", "speed of the journal", "100 rpm", "250000 rpm"),
    },
    outputs={
        "torque": Output("torque", "N m", "friction torque", ("lbf in",)),
        "power": Output("power", "W", "heat made", ("hp",)),
    },
    formula="""
    torque = 2*pi*viscosity*speed*(journal/2)^3*width/(clearance/2)
    power = torque * speed
    """,
    source="Petroff; any machine-design text",
    validity="Journal in the middle, oil all round; loaded bearings take some 10 to 50 % more.",
    example='--journal "55 mm" --width "20 mm" --clearance "0.060 mm" --viscosity "10 cP" --speed "6000 rpm"',
)
def bearing_friction(
    journal: float, width: float, clearance: float, viscosity: float, speed: float
) -> dict[str, float]:
    """Torque [N m], power [W]."""
    torque = 2.0 * math.pi * viscosity * speed * (journal / 2.0) ** 3 * width / (clearance / 2.0)
    return {"torque": torque, "power": torque * speed}
