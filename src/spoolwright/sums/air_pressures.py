"""Pressures as a builder states them: gauge, absolute, vacuum, by barometer or by height; the pressure ratio.

Gauge pressure counts from the outside air of the day and place, absolute from nothing. The outside
pressure is never taken as 14.7 psi in silence: a sum that needs it asks for the barometer or the
height above sea (then the standard day of ISO 2533 stands in).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from spoolwright.constants import STANDARD_ATMOSPHERE
from spoolwright.gas.air import geopotential_altitude, standard_atmosphere
from spoolwright.sums.registry import Input, Output, register
from spoolwright.units import to_si

HABIT = to_si(14.7, "pressure_absolute", "psi")  # Pa; the sea-level figure people use everywhere

BAROMETER = Input(
    "pressure_absolute",
    "outside air pressure here, not reduced to sea level",
    "60 kPa",
    "108 kPa",
    "",
    sheet="site.barometer",
)
ALTITUDE = Input(
    "distance",
    "height above sea; stands in for the barometer (standard day)",
    "-400 m",
    "5000 m",
    "",
    sheet="site.altitude unless site.barometer",
)
BOOST = Input("pressure_gauge", "boost on the gauge", "-90 kPa", "300 kPa", "")
MANIFOLD_PRESSURE = Input("pressure_absolute", "manifold pressure, absolute; instead of boost", "15 kPa", "400 kPa", "")
FILTER_PULL = Input("pressure_difference", "pull of the air filter and its pipe", "0 kPa", "10 kPa", "0 kPa")
CHARGE_LOSS = Input("pressure_difference", "loss of cooler and pipes", "0 kPa", "40 kPa", "0 kPa")
STANDARD_PRESSURE = Input(
    "pressure_absolute", "pressure of the standard air", "90 kPa", "105 kPa", f"{STANDARD_ATMOSPHERE:g} Pa"
)
OUTSIDE_INPUTS = {"barometer": BAROMETER, "altitude": ALTITUDE}
MANIFOLD_INPUTS = {"boost": BOOST, "manifold_pressure": MANIFOLD_PRESSURE, **OUTSIDE_INPUTS}


# ----------------------------------------------------------------------------- shared steps
class Outside(NamedTuple):
    """The outside air by its barometer [Pa], or by the height [m] whose standard day stands in for it."""

    barometer: float | None = None
    altitude: float | None = None

    def pressure(self) -> float:
        """Outside pressure [Pa]. Raises ValueError when neither or both are given."""
        if (self.barometer is None) == (self.altitude is None):
            given = "both are given" if self.barometer is not None else "neither is given"
            raise ValueError(f"barometer or altitude, one of them is needed and {given}")
        if self.barometer is not None:
            if self.barometer <= 0.0:
                raise ValueError("the barometer is an absolute pressure above zero")
            return self.barometer
        assert self.altitude is not None
        return standard_atmosphere(geopotential_altitude(self.altitude)).p


def absolute_from(gauge: float | None, absolute: float | None, outside: Outside, names: tuple[str, str]) -> float:
    """Absolute pressure [Pa] from a gauge reading [Pa] with the outside pressure, or as given.

    ``names`` are the input names of the gauge and the absolute pressure, for the fault.
    Raises ValueError when neither or both are given, or when nothing is left above zero.
    """
    if (gauge is None) == (absolute is None):
        given = "both are given" if gauge is not None else "neither is given"
        raise ValueError(f"{names[0]} (gauge) or {names[1]} (absolute), one of them is needed and {given}")
    if gauge is None:
        assert absolute is not None
        total = absolute
    else:
        total = gauge + outside.pressure()
    if total <= 0.0:
        raise ValueError(f"{names[0] if gauge is not None else names[1]} leaves no absolute pressure; vacuum too deep")
    return total


class Manifold(NamedTuple):
    """Manifold pressure [Pa]: boost on the gauge with the outside air, or absolute."""

    boost: float | None
    manifold_pressure: float | None
    barometer: float | None
    altitude: float | None

    def outside(self) -> Outside:
        """The outside air as stated."""
        return Outside(self.barometer, self.altitude)

    def absolute(self) -> float:
        """Absolute pressure [Pa]; raises ValueError as `absolute_from` does."""
        return absolute_from(self.boost, self.manifold_pressure, self.outside(), ("boost", "manifold_pressure"))


class Place(NamedTuple):
    """Pressure [Pa] at a place: on a gauge with the outside air, or absolute; that of the outside air where neither."""

    gauge: float | None
    pressure: float | None
    barometer: float | None
    altitude: float | None

    def absolute(self) -> float:
        """Absolute pressure [Pa]; raises ValueError as `absolute_from` does."""
        outside = Outside(self.barometer, self.altitude)
        if self.gauge is None and self.pressure is None:
            return outside.pressure()
        return absolute_from(self.gauge, self.pressure, outside, ("gauge", "pressure"))


def gauge_slips(given: Mapping[str, Any]) -> list[str]:
    """Questions about gauge and absolute, and about the barometer, from the usual input names."""
    questions = []
    absolute, boost, barometer = given.get("manifold_pressure"), given.get("boost"), given.get("barometer")
    if absolute is not None and absolute < HABIT and given.get("power") is None:
        questions.append(
            f"manifold_pressure {absolute / 1e3:.1f} kPa absolute is below outside air, which is vacuum; "
            "if it was read on a boost gauge write it as boost, with the barometer"
        )
    elif absolute is not None and barometer is not None and barometer <= absolute < 1.1 * barometer:
        questions.append(
            f"manifold_pressure {absolute / 1e3:.1f} kPa absolute is only {(absolute - barometer) / 1e3:.1f} kPa of "
            "boost; if it was read on a boost gauge write it as boost"
        )
    if boost is not None and barometer is not None and 0.97 * barometer <= boost <= 1.03 * barometer + 20e3:
        questions.append(
            f"boost {boost / 1e3:.1f} kPa doubles the outside air; was it read on an absolute gauge? then write it as "
            "manifold_pressure"
        )
    if barometer is not None and abs(barometer - HABIT) < 15.0:
        questions.append("barometer is the habitual 14.7 psi; is that the pressure of the day at your height?")
    return questions


# ----------------------------------------------------------------------------- gauge and absolute
@register(
    "air",
    "Absolute pressure from a gauge reading",
    inputs={
        "gauge": Input(
            "pressure_gauge", "reading above outside air; vacuum negative or as inHg vac", "-100 kPa", "1 MPa"
        ),
        **OUTSIDE_INPUTS,
    },
    outputs={
        "outside": Output("pressure_absolute", "kPa", "outside pressure used", ("psi", "inHg")),
        "absolute": Output("pressure_absolute", "kPa", "absolute pressure", ("psi", "bar", "inHg")),
        "ratio": Output("ratio", ":1", "absolute pressure over outside pressure"),
    },
    formula="""
    absolute = gauge + outside
    ratio = absolute / outside
    """,
    source="definition; standard day: ISO 2533:1975",
    slips=("14.7 psi taken as the outside pressure everywhere", "vacuum in inHg added as if it were boost"),
    question=lambda given, results: gauge_slips(given),
    example='--gauge "10 psi" --barometer "14.7 psi"',
)
def absolute_pressure(gauge: float, outside: Outside) -> dict[str, float]:
    """Absolute pressure [Pa] and its ratio to the outside. Raises ValueError for a vacuum below zero."""
    here = outside.pressure()
    total = absolute_from(gauge, None, outside, ("gauge", "absolute"))
    return {"outside": here, "absolute": total, "ratio": total / here}


def _below_outside(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["gauge"] < 0.0:
        return [
            f"{given['absolute'] / 1e3:.1f} kPa lies below outside air, so this is a vacuum; "
            "or was a gauge reading written as absolute?"
        ]
    return []


@register(
    "air",
    "Gauge pressure, or vacuum, from an absolute pressure",
    inputs={
        "absolute": Input("pressure_absolute", "absolute pressure", "5 kPa", "1 MPa"),
        **OUTSIDE_INPUTS,
    },
    outputs={
        "outside": Output("pressure_absolute", "kPa", "outside pressure used", ("psi", "inHg")),
        "gauge": Output("pressure_gauge", "kPa", "above outside air (+), below it (-)", ("psi", "bar", "inHg")),
        "vacuum": Output("pressure_difference", "inHg", "how far below outside air (negative: boost)", ("kPa",)),
    },
    formula="""
    gauge = absolute - outside
    vacuum = outside - absolute
    """,
    source="definition; standard day: ISO 2533:1975",
    question=_below_outside,
    example='--absolute "182.4 kPa" --barometer "27.4 inHg"',
)
def gauge_pressure(absolute: float, outside: Outside) -> dict[str, float]:
    """Gauge pressure and vacuum [Pa] from an absolute pressure [Pa]."""
    here = outside.pressure()
    return {"outside": here, "gauge": absolute - here, "vacuum": here - absolute}


@register(
    "air",
    "One dial: psi above outside air, inches of mercury below",
    inputs={
        "reading": Input("number", "the bare figure of the dial or log: psi when above zero, inHg below", "-30", "60"),
        **OUTSIDE_INPUTS,
    },
    outputs={
        "gauge": Output("pressure_gauge", "kPa", "gauge pressure", ("psi", "inHg")),
        "absolute": Output("pressure_absolute", "kPa", "absolute pressure", ("psi", "inHg")),
    },
    formula="""
    gauge = reading psi above zero, reading inHg below zero
    absolute = gauge + outside
    """,
    source="definition; the two-unit dial is common practice, no source",
    slips=("the inHg half of the dial read as psi",),
    example="--reading -18 --barometer '29.5 inHg'",
)
def combined_gauge(reading: float, outside: Outside) -> dict[str, float]:
    """Gauge and absolute pressure [Pa] from the figure of a combined dial."""
    gauge = to_si(reading, "pressure_gauge", "psi" if reading >= 0.0 else "inHg")
    return {"gauge": gauge, "absolute": absolute_from(gauge, None, outside, ("reading", "absolute"))}


# ----------------------------------------------------------------------------- pressure ratio
def _ratio_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = gauge_slips(given)
    if results["pressure_ratio"] < 1.0:
        questions.append(
            "the ratio is below 1: the manifold is in vacuum, or a gauge pressure stands where an absolute one belongs"
        )
    if given["filter_pull"] == 0.0 and given["loss"] == 0.0:
        questions.append("no filter pull and no loss given; real pipes cost some: the true ratio is higher")
    return questions


@register(
    "boost",
    "Compressor pressure ratio at the day's barometer, with filter pull and cooler loss",
    inputs={
        **MANIFOLD_INPUTS,
        "filter_pull": FILTER_PULL,
        "loss": CHARGE_LOSS,
    },
    outputs={
        "manifold_absolute": Output("pressure_absolute", "kPa", "manifold pressure, absolute", ("psi", "bar")),
        "inlet_pressure": Output("pressure_absolute", "kPa", "at the compressor inlet", ("psi",)),
        "outlet_pressure": Output("pressure_absolute", "kPa", "at the compressor outlet", ("psi",)),
        "pressure_ratio": Output("ratio", ":1", "compressor pressure ratio, the one to plot"),
        "ratio_by_habit": Output(
            "ratio", ":1", "with 14.7 psi outside and no losses: the usual wrong figure, not to be plotted"
        ),
    },
    formula="""
    manifold_absolute = boost + barometer
    inlet_pressure = barometer - filter_pull
    outlet_pressure = manifold_absolute + loss
    pressure_ratio = outlet_pressure / inlet_pressure
    ratio_by_habit = (boost + 14.7 psi) / 14.7 psi
    """,
    source="definition (absolute pressures on both sides)",
    validity="pressures at the compressor flanges; velocity heads left out",
    slips=("gauge pressure in the ratio", "14.7 psi at any height", "filter pull and cooler loss left out"),
    question=_ratio_question,
    example='--boost "13 psi" --barometer "27.4 inHg" --filter-pull "0.35 psi" --loss "1.2 psi"',
)
def pressure_ratio(manifold: Manifold, filter_pull: float, loss: float) -> dict[str, float | None]:
    """Pressures [Pa] and ratio [1] across the compressor.

    Raises ValueError when the filter pull leaves nothing, or a loss is negative.
    """
    if filter_pull < 0.0 or loss < 0.0:
        raise ValueError("filter_pull and loss are losses, written without a sign")
    outside = manifold.outside().pressure()
    total = manifold.absolute()
    inlet = outside - filter_pull
    if inlet <= 0.0:
        raise ValueError("the filter pull is larger than the outside pressure")
    return {
        "manifold_absolute": total,
        "inlet_pressure": inlet,
        "outlet_pressure": total + loss,
        "pressure_ratio": (total + loss) / inlet,
        "ratio_by_habit": None if manifold.boost is None else (manifold.boost + HABIT) / HABIT,
    }


@register(
    "boost",
    "The same boost at another height: same gauge reading, same absolute pressure, same pressure ratio",
    inputs={
        "boost": Input("pressure_gauge", "boost on the gauge at the first place", "-90 kPa", "300 kPa"),
        **OUTSIDE_INPUTS,
        "barometer_there": Input("pressure_absolute", "outside pressure at the other place", "60 kPa", "108 kPa", ""),
        "altitude_there": Input("distance", "height of the other place; instead", "-400 m", "5000 m", ""),
    },
    outputs={
        "absolute": Output("pressure_absolute", "kPa", "absolute pressure at the first place", ("psi",)),
        "boost_same_absolute": Output("pressure_gauge", "kPa", "gauge reading there for the same absolute", ("psi",)),
        "absolute_same_gauge": Output("pressure_absolute", "kPa", "absolute there with the same reading", ("psi",)),
        "pressure_kept": Output("share", "%", "absolute pressure kept there with the same gauge reading"),
        "boost_same_ratio": Output("pressure_gauge", "kPa", "gauge reading there for the same ratio", ("psi",)),
        "ratio": Output("ratio", ":1", "manifold over outside, first place"),
        "ratio_same_gauge": Output("ratio", ":1", "there, same gauge reading"),
        "ratio_same_absolute": Output("ratio", ":1", "there, same absolute pressure"),
    },
    formula="""
    absolute = boost + outside
    boost_same_absolute = absolute - outside_there
    absolute_same_gauge = boost + outside_there
    pressure_kept = absolute_same_gauge / absolute
    boost_same_ratio = outside_there * (ratio - 1)
    ratio = absolute / outside
    ratio_same_gauge = absolute_same_gauge / outside_there
    ratio_same_absolute = absolute / outside_there
    """,
    source="definition; standard day: ISO 2533:1975",
    slips=("the same gauge reading taken as the same charge at any height",),
    example='--boost "12 psi" --altitude "0 m" --altitude-there "1600 m"',
)
def boost_elsewhere(
    boost: float, outside: Outside, barometer_there: float | None, altitude_there: float | None
) -> dict[str, float]:
    """Gauge and absolute pressures [Pa] and ratios [1] at a second place."""
    here = outside.pressure()
    if barometer_there is None and altitude_there is None:
        raise ValueError("barometer_there or altitude_there is needed")
    there = Outside(barometer_there, altitude_there).pressure()
    total = absolute_from(boost, None, outside, ("boost", "absolute"))
    return {
        "absolute": total,
        "boost_same_absolute": total - there,
        "absolute_same_gauge": boost + there,
        "pressure_kept": (boost + there) / total,
        "boost_same_ratio": there * (total / here - 1.0),
        "ratio": total / here,
        "ratio_same_gauge": (boost + there) / there,
        "ratio_same_absolute": total / there,
    }
