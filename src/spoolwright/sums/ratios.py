"""Sums on compression ratio beyond the parts: from volumes, from inlet closing, with boost, and the pressure made."""

from __future__ import annotations

import math
from dataclasses import replace

from spoolwright.sums.measures import CYLINDERS, PIN_OFFSET, RATIO, ROD_LENGTH, STROKE
from spoolwright.sums.registry import Input, Output, register
from spoolwright.sums.slider_crank import piston_travel
from spoolwright.sums.valve_timing import INTAKE_CLOSING
from spoolwright.sums.work import DISPLACEMENT

SWEPT = Input("volume", "swept volume of one cylinder", "30 cc", "2.5 L")


@register(
    "blueprint",
    "Clearance volume for a compression ratio",
    inputs={"swept_volume": SWEPT, "compression_ratio": RATIO},
    outputs={"clearance_volume": Output("volume", "cc", "all volume above the piston at TDC", ("in3",))},
    formula="clearance_volume = swept_volume / (compression_ratio - 1)",
    source="plain geometry",
    example='--swept-volume "537.6 cc" --compression-ratio 7.8',
)
def clearance_for_ratio(swept_volume: float, compression_ratio: float) -> dict[str, float]:
    """Volume [m3]. Raises ValueError for a ratio of 1 or less."""
    if compression_ratio <= 1.0:
        raise ValueError("a compression ratio is above 1")
    return {"clearance_volume": swept_volume / (compression_ratio - 1.0)}


@register(
    "blueprint",
    "Compression ratio from swept and clearance volume",
    inputs={
        "swept_volume": SWEPT,
        "clearance_volume": Input("volume", "all volume above the piston at TDC", "4 cc", "500 cc"),
    },
    outputs={"compression_ratio": Output("ratio", ":1", "static compression ratio")},
    formula="compression_ratio = (swept_volume + clearance_volume) / clearance_volume",
    source="plain geometry",
    slips=("swept over clearance volume, without the 1",),
    example='--swept-volume "500 cc" --clearance-volume "62.5 cc"',
)
def ratio_from_volumes(swept_volume: float, clearance_volume: float) -> dict[str, float]:
    """Ratio [1] from volumes [m3]."""
    return {"compression_ratio": (swept_volume + clearance_volume) / clearance_volume}


@register(
    "blueprint",
    "Bore and stroke for a displacement",
    inputs={
        "displacement": DISPLACEMENT,
        "cylinders": CYLINDERS,
        "stroke": replace(STROKE, default="", meaning="stroke, when it is fixed"),
        "bore_over_stroke": Input("ratio", "bore over stroke, when that is fixed; 1 is square", "0.6", "1.8", ""),
    },
    outputs={
        "bore": Output("length", "mm", "cylinder bore", ("in",)),
        "stroke_needed": Output("length", "mm", "piston stroke", ("in",)),
    },
    formula="displacement = cylinders * pi/4 * bore^2 * stroke",
    source="plain geometry",
    example='--displacement "3.0 L" --cylinders 6 --bore-over-stroke 1',
)
def bore_for_displacement(
    displacement: float, cylinders: float, stroke: float | None, bore_over_stroke: float | None
) -> dict[str, float]:
    """Lengths [m]. Raises ValueError unless exactly one of stroke and bore_over_stroke is given."""
    if (stroke is None) == (bore_over_stroke is None):
        raise ValueError("give stroke or bore_over_stroke, exactly one of them")
    one = displacement / cylinders
    if stroke is None:
        assert bore_over_stroke is not None
        stroke = (4.0 * one / (math.pi * bore_over_stroke**2)) ** (1.0 / 3.0)
    return {"bore": math.sqrt(4.0 * one / (math.pi * stroke)), "stroke_needed": stroke}


@register(
    "blueprint",
    "Dynamic ratio: counted from inlet closing",
    inputs={
        "compression_ratio": RATIO,
        "stroke": STROKE,
        "rod_length": ROD_LENGTH,
        "intake_closing": INTAKE_CLOSING,
        "pin_offset": PIN_OFFSET,
    },
    outputs={
        "dynamic_ratio": Output("ratio", ":1", "volume at inlet closing over clearance volume"),
        "stroke_left": Output("length", "mm", "piston travel left to TDC at inlet closing", ("in",)),
        "share_of_stroke": Output("share", "%", "that travel as a share of the stroke"),
    },
    formula="""
    share_of_stroke = stroke_left / stroke
    dynamic_ratio = 1 + (compression_ratio - 1) * stroke_left / stroke
    """,
    source="plain geometry, exact slider-crank; the name is common practice",
    validity="A comparison figure, not a knock model: it knows nothing of charge inertia, boost, heat or timing.",
    slips=("closing taken at 0.050 in lift on one cam and at the seat on another", "degrees BBDC for degrees ABDC"),
    example='--compression-ratio 8.64 --stroke "80 mm" --rod-length "137 mm" --intake-closing "62 deg ABDC"',
)
def dynamic_ratio(
    compression_ratio: float, stroke: float, rod_length: float, intake_closing: float, pin_offset: float
) -> dict[str, float]:
    """Ratio [1]; angles [deg], lengths [m]."""
    left = piston_travel(intake_closing - 180.0, stroke / 2.0, rod_length, pin_offset)
    share = left / stroke
    return {
        "dynamic_ratio": 1.0 + (compression_ratio - 1.0) * share,
        "stroke_left": left,
        "share_of_stroke": share,
    }


@register(
    "blueprint",
    '"Effective" ratio of the popular charts: static ratio times pressure ratio',
    inputs={
        "compression_ratio": RATIO,
        "boost": Input("pressure_gauge", "boost on the gauge", "0 kPa", "300 kPa"),
        "barometer": Input("pressure_absolute", "the day's barometer", "60 kPa", "108 kPa", sheet="site.barometer"),
    },
    outputs={
        "pressure_ratio": Output("ratio", "1", "manifold over outside air, absolute"),
        "effective_ratio": Output("ratio", ":1", "static ratio times pressure ratio"),
        "equal_charge_ratio": Output("ratio", ":1", "static ratio times the square root of it, another popular form"),
    },
    formula="""
    pressure_ratio = (boost + barometer) / barometer
    effective_ratio = compression_ratio * pressure_ratio
    equal_charge_ratio = compression_ratio * pressure_ratio^0.5
    """,
    source="common practice, no source",
    validity=(
        "A number of popular charts, no physics: two builds with the same figure can differ in end-gas temperature by "
        "100 K. Knock hangs on charge temperature, timing, mixture, fuel and cooling as well."
    ),
    slips=("14.7 psi taken for the barometer everywhere", "taking a chart's ceiling for a limit"),
    caution=(
        "Do not use this as a limit: it leaves out charge temperature, timing, fuel and cooling, and public limits "
        "for it disagree by several points."
    ),
    example='--compression-ratio 8 --boost "10 psi" --barometer "98.5 kPa"',
)
def effective_ratio(compression_ratio: float, boost: float, barometer: float) -> dict[str, float]:
    """Ratios [1]; pressures [Pa], boost gauge, barometer absolute."""
    ratio = (boost + barometer) / barometer
    return {
        "pressure_ratio": ratio,
        "effective_ratio": compression_ratio * ratio,
        "equal_charge_ratio": compression_ratio * math.sqrt(ratio),
    }


@register(
    "blueprint",
    "Pressure and temperature at the end of compression",
    inputs={
        "compression_ratio": replace(RATIO, meaning="volume ratio of the compression", low="2:1", high="20:1"),
        "start_pressure": Input("pressure_absolute", "pressure at its start", "20 kPa", "400 kPa"),
        "start_temperature": Input("temperature", "temperature at its start", "-20 degC", "200 degC"),
        "exponent": Input(
            "ratio", "polytropic exponent; cranking about 1.2, running about 1.32", "1.1", "1.42", "1.32"
        ),
    },
    outputs={
        "end_pressure": Output("pressure_absolute", "bar", "pressure at TDC, not fired", ("psi", "kPa")),
        "end_temperature": Output("temperature", "degC", "temperature at TDC, not fired", ("K", "degF")),
    },
    formula="""
    end_pressure = start_pressure * compression_ratio^exponent
    end_temperature = start_temperature * compression_ratio^(exponent - 1)
    """,
    source="polytropic compression of a perfect gas; standard textbook relation",
    validity="Use the dynamic ratio for a cranking test; leaks and heat loss are inside the exponent.",
    slips=("gauge pressure at the start", "temperature not counted from absolute zero"),
    example='--compression-ratio 9 --start-pressure "1 bar absolute" --start-temperature "60 degC" --exponent 1.32',
)
def compression_end(
    compression_ratio: float, start_pressure: float, start_temperature: float, exponent: float
) -> dict[str, float]:
    """Absolute pressure [Pa] and temperature [K]."""
    return {
        "end_pressure": start_pressure * compression_ratio**exponent,
        "end_temperature": start_temperature * compression_ratio ** (exponent - 1.0),
    }
