"""The charts of a pull over engine speed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from spoolwright.charts.describe import (
    Axis,
    Band,
    Chart,
    Limit,
    Line,
    Numbers,
    Quantity,
    Series,
    axis,
    paired_axes,
)
from spoolwright.constants import ZERO_CELSIUS
from spoolwright.engine.pull import Pull
from spoolwright.findings.pull_reading import settled
from spoolwright.sheet import Sheet

ALIKE = 0.5  # deg; sparks closer than this are one
FEW = 40  # points up to which each computed one gets a dot


def charts(pull: Pull, sheet: Sheet) -> list[Chart]:
    """All charts over speed that this pull can fill; none where fewer than two points settled."""
    if len(settled(pull)) < 2:
        return []
    made = (torque_and_power, filling, peak_pressure, knock, spark_and_mixture, exhaust_temperature)
    return [make(pull, sheet) for make in made]


def _speeds(pull: Pull) -> tuple[float, ...]:
    return tuple(point.columns["speed_rpm"] for point in pull.points)


def _column(pull: Pull, name: str, turn: Callable[[float], float] = lambda v: v) -> Numbers:
    """A column with gaps where a point did not settle."""
    values = (p.columns[name] if p.columns["converged"] else None for p in pull.points)
    return tuple(None if v is None else turn(v) for v in values)


def _line(
    pull: Pull,
    name: str,
    column: str,
    quantity: Quantity,
    line: Line = "solid",
    turn: Callable[[float], float] = lambda v: v,
) -> Series:
    speeds = _speeds(pull)
    return Series(name, speeds, _column(pull, column, turn), quantity, line, dots=len(speeds) <= FEW)


def _right(series: Series) -> Series:
    return replace(series, side="right")


def _known(*lines: Series) -> list[float]:
    return [v for line in lines for v in line.y if v is not None]


def _speed_axis(pull: Pull) -> Axis:
    return axis("engine speed", "rpm", list(_speeds(pull)))


def _note(pull: Pull) -> str:
    """Which speeds are left out, because their cycles did not settle."""
    out = [f"{p.columns['speed_rpm']:.0f}" for p in pull.points if not p.columns["converged"]]
    return f"Left out, not settled: {', '.join(out)} rpm." if out else ""


def _highest(pull: Pull, column: str) -> tuple[float, float]:
    """Highest value of a column and the speed [rpm] it stands at."""
    best = max((p for p in settled(pull) if p.columns[column] is not None), key=lambda p: p.columns[column])
    return best.columns[column], best.columns["speed_rpm"]


def torque_and_power(pull: Pull, sheet: Sheet) -> Chart:
    """Brake torque and power on one grid."""
    torque = _line(pull, "torque", "torque_Nm", "torque")
    power = _right(_line(pull, "power", "power_kW", "power", "dashed"))
    left, right = paired_axes(
        axis("torque", "N m", _known(torque), zero=True), axis("power", "kW", _known(power), zero=True)
    )
    most, at = _highest(pull, "torque_Nm")
    strong, there = _highest(pull, "power_kW")
    sentence = (
        f"Most torque {most:.0f} N m at {at:.0f} rpm, most power {strong:.1f} kW at {there:.0f} rpm, in the day's air."
    )
    return Chart(
        "torque-power",
        "Torque and power",
        sentence,
        _speed_axis(pull),
        left,
        (torque, power),
        right,
        note=_note(pull),
    )


def filling(pull: Pull, sheet: Sheet) -> Chart:
    """Volumetric efficiency against site air."""
    line = _line(pull, "volumetric efficiency", "volumetric_efficiency", "air", turn=lambda v: 100.0 * v)
    most, at = _highest(pull, "volumetric_efficiency")
    sentence = f"Best filling {100 * most:.0f} % at {at:.0f} rpm, counted with outside air."
    y = axis("volumetric efficiency", "%", _known(line))
    return Chart(
        "volumetric-efficiency", "Volumetric efficiency", sentence, _speed_axis(pull), y, (line,), note=_note(pull)
    )


def peak_pressure(pull: Pull, sheet: Sheet) -> Chart:
    """Highest cylinder pressure of the mean cycle against the builder's limit."""
    line = _line(pull, "peak pressure", "peak_pressure_MPa", "pressure", turn=lambda v: 10.0 * v)
    most, at = _highest(pull, "peak_pressure_MPa")
    limits = _limit(sheet, "limits.max_cylinder_pressure", lambda v: v / 1e5)
    sentence = f"Highest {10 * most:.0f} bar at {at:.0f} rpm, mean cycle; single cycles reach 10 to 15 % more."
    y = axis("pressure in the cylinder", "bar, absolute", [*_known(line), *(one.value for one in limits)], zero=True)
    return Chart(
        "peak-pressure",
        "Peak cylinder pressure",
        sentence,
        _speed_axis(pull),
        y,
        (line,),
        limits=limits,
        note=_note(pull),
    )


def _limit(sheet: Sheet, path: str, turn: Callable[[float], float] = lambda v: v) -> tuple[Limit, ...]:
    value = sheet.maybe(path)
    if value is None:
        return ()
    return (Limit(f"your limit {sheet.quantity(path).text}", turn(value)),)


def knock(pull: Pull, sheet: Sheet) -> Chart:
    """Knock integral of the worst cylinder, the band in which knock begins, the builder's limit."""
    line = _line(pull, "knock integral, worst cylinder", "knock_integral", "knock")
    low, high = (settled(pull)[0].columns[f"knock_limit_{end}"] for end in ("low", "high"))
    most, at = _highest(pull, "knock_integral")
    limits = _limit(sheet, "limits.max_knock_integral")
    sentence = f"Highest {most:.2f} at {at:.0f} rpm; knock begins somewhere between {low:.2f} and {high:.2f}."
    y = axis("knock integral", "", [*_known(line), 1.2 * high, *(one.value for one in limits)], zero=True)
    band = Band(f"knock begins in here, {low:.2f} to {high:.2f}", low, high)
    return Chart(
        "knock-integral",
        "Knock integral",
        sentence,
        _speed_axis(pull),
        y,
        (line,),
        limits=limits,
        bands=(band,),
        note=_note(pull),
    )


def spark_and_mixture(pull: Pull, sheet: Sheet) -> Chart:
    """Spark run, spark of best torque where it was searched, and lambda."""
    run = _line(pull, "spark", "spark_deg_btdc", "spark")
    lines = [run]
    best = _line(pull, "spark of best torque", "best_torque_spark_deg_btdc", "second", "dotted")
    apart = [abs(a - b) for a, b in zip(run.y, best.y, strict=True) if a is not None and b is not None]
    if apart and max(apart) > ALIKE:
        lines.append(best)
    elif apart:
        lines = [replace(run, name="spark, of best torque")]
    mixture = _right(_line(pull, "mixture", "lambda", "mixture", "dashed"))
    lean = [*_known(mixture), 0.75, 1.0]
    left, right = paired_axes(
        axis("spark before top centre", "deg", _known(*lines), zero=True), axis("lambda", "lambda", lean)
    )
    advance, at = _highest(pull, "spark_deg_btdc")
    held = [
        p
        for p in settled(pull)
        if (p.columns["best_torque_spark_deg_btdc"] or 0.0) - p.columns["spark_deg_btdc"] > ALIKE
    ]
    sentence = f"Most advance {advance:.1f} deg at {at:.0f} rpm."
    if held:
        sentence += f" Held back for knock at {len(held)} of {len(settled(pull))} speeds."
    return Chart(
        "spark-mixture",
        "Spark and mixture",
        sentence,
        _speed_axis(pull),
        left,
        (*lines, mixture),
        right,
        note=_note(pull),
    )


def exhaust_temperature(pull: Pull, sheet: Sheet) -> Chart:
    """Gas temperature at the end of the primaries, and at the valves, against the builder's limit."""
    line = _line(pull, "end of the primaries", "primary_temperature_K", "temperature", turn=lambda v: v - ZERO_CELSIUS)
    valve = _line(pull, "at the valves", "exhaust_temperature_K", "second", "dotted", lambda v: v - ZERO_CELSIUS)
    most, at = _highest(pull, "primary_temperature_K")
    limits = _limit(sheet, "limits.max_exhaust_temperature", lambda v: v - ZERO_CELSIUS)
    sentence = (
        f"Hottest {most - ZERO_CELSIUS:.0f} °C at {at:.0f} rpm, enthalpy mean; a thermocouple reads lower, it feels "
        "the gas between the pulses as well."
    )
    y = axis("gas temperature", "°C", [*_known(line, valve), *(one.value for one in limits)])
    return Chart(
        "exhaust-temperature",
        "Exhaust gas temperature",
        sentence,
        _speed_axis(pull),
        y,
        (line, valve),
        limits=limits,
        note=_note(pull),
    )
