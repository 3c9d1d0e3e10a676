"""Charts of a match: a candidate's map with its operating line, what springs give, what passes the turbine by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from spoolwright.charts.describe import Chart, Limit, Quantity, Series, axis
from spoolwright.charts.of_map import MapChart, Margin, Operating, map_chart
from spoolwright.engine.map_picture import picture
from spoolwright.match.job import Match
from spoolwright.match.rank import Ranked
from spoolwright.match.report import demand_rows


def candidate_map(match: Match, ranked: Ranked, others: Sequence[Operating] = ()) -> MapChart:
    """The candidate's map with the line it would run on at the wanted boost, and its least margins."""
    one = ranked.candidate
    sheet = one.sheet or match.sheet
    machines = replace(match.turbo, compressor=one.compressor, turbine=one.turbine, speed_limit=one.speed_limit)
    if one.sheet is None:
        machines = replace(machines, compressor_fit=None)
    rows = [
        row for row in demand_rows(replace(match, ranked=[ranked])) if row["pressure_ratio"] == row["pressure_ratio"]
    ]
    line = Operating(
        "", tuple(r["speed_rpm"] for r in rows), tuple((r["corrected_flow_kg_s"], r["pressure_ratio"]) for r in rows)
    )
    margins = [found for name in ("surge", "choke") if (found := _margin(ranked, line, name)) is not None]
    return map_chart(picture(sheet, machines), [line, *others], margins, f"Map: {one.name}".replace(" mm2", " mm²"))


def _margin(ranked: Ranked, line: Operating, name: str) -> Margin | None:
    """The candidate's own margin of that name as a dimension on its map."""
    own = next((m for m in ranked.margins if m.name == name), None)
    if own is None or own.rpm not in line.speeds_rpm or own.value != own.value:
        return None
    flow, ratio = line.points[line.speeds_rpm.index(own.rpm)]
    edge = flow * (1.0 - own.value) if name == "surge" else flow * (1.0 + own.value)
    return Margin(f"{name} {100.0 * own.value:.0f} % at {own.rpm:.0f}", (flow, ratio), (edge, ratio))


def springs(springs: Sequence[dict[str, Any]], wanted_kPa: float, most_kPa: float | None) -> Chart:
    """Boost over speed with each spring; ``springs`` as in the match's report."""
    lines = [_spring(one) for one in springs]
    limits = () if most_kPa is None else (Limit("your limit", most_kPa),)
    values = [v for line in lines for v in line.y if v is not None] + [one.value for one in limits]
    made = next((one for one in springs if one["made_for_wish"]), None)
    sentence = f"Wanted: {wanted_kPa:.0f} kPa."
    if made is not None:
        sentence += (
            f" A spring of {made['preload_N']:.0f} N (its label would say {made['label_kPa']:.0f} kPa) holds it."
        )
    x = axis("engine speed", "rpm", [p["speed_rpm"] for one in springs for p in one["points"]])
    return Chart(
        "springs",
        "Boost with each spring",
        sentence,
        x,
        axis("boost", "kPa above outside air", values, zero=True),
        tuple(lines),
        limits=limits,
    )


def _spring(one: dict[str, Any]) -> Series:
    quantity: Quantity = "pressure" if one["made_for_wish"] else "second"
    x = tuple(p["speed_rpm"] for p in one["points"])
    y = tuple(p["boost_kPa"] for p in one["points"])
    return Series(f"{one['preload_N']:.0f} N", x, y, quantity, "solid" if one["made_for_wish"] else "dotted")


def gate_need(points: Sequence[dict[str, Any]]) -> Chart:
    """Share of the exhaust that has to pass the turbine by, and what the open gate could pass."""
    x = tuple(p["speed_rpm"] for p in points)
    needed = Series("needed", x, tuple(100.0 * p["bypass_needed"] for p in points), "temperature")
    possible = Series("possible", x, tuple(100.0 * p["bypass_possible"] for p in points), "mixture", "dashed")
    least = min(points, key=lambda p: p["bypass_possible"] - p["bypass_needed"])
    sentence = (
        f"Tightest at {least['speed_rpm']:.0f} rpm: {100.0 * least['bypass_needed']:.0f} % needed, "
        f"{100.0 * least['bypass_possible']:.0f} % possible."
    )
    y = axis(
        "share of the exhaust",
        "% of the exhaust",
        [v for line in (needed, possible) for v in line.y if v is not None],
        zero=True,
    )
    return Chart("gate-need", "Past the turbine", sentence, axis("engine speed", "rpm", list(x)), y, (needed, possible))
