"""The charts of a boosted pull over engine speed: boost and its cost, the shaft, the compressor's margins, the gate."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi

from spoolwright.charts.describe import Axis, Chart, Limit, Line, Numbers, Quantity, Series, axis, paired_axes
from spoolwright.constants import ZERO_CELSIUS
from spoolwright.engine.charge import site
from spoolwright.engine.pull import Pull
from spoolwright.findings.pull_reading import rpm_of, settled
from spoolwright.sheet import Sheet

FEW = 40  # points up to which each computed one gets a dot


def charts(pull: Pull, sheet: Sheet) -> list[Chart]:
    """All charts a boosted pull can fill; none without a turbo or with fewer than two points settled."""
    points = settled(pull)
    if len(points) < 2 or any(point.columns.get("boost_kPa") is None for point in points):
        return []
    made = (boost_and_drive, turbo_speed, margins, turbine, gate)
    return [make(pull, sheet) for make in made]


def _line(
    pull: Pull,
    name: str,
    column: str,
    quantity: Quantity,
    line: Line = "solid",
    turn: Callable[[float], float] = lambda v: v,
) -> Series:
    speeds = tuple(rpm_of(point) for point in pull.points)
    values: Numbers = tuple(
        None if not p.columns["converged"] or p.columns[column] is None else turn(p.columns[column])
        for p in pull.points
    )
    return Series(name, speeds, values, quantity, line, dots=len(speeds) <= FEW)


def _known(*lines: Series) -> list[float]:
    return [v for line in lines for v in line.y if v is not None]


def _speeds(pull: Pull) -> Axis:
    return axis("engine speed", "rpm", [rpm_of(point) for point in pull.points])


def _most(line: Series) -> tuple[float, float]:
    """Highest value of a line and the speed it stands at."""
    return max((y, x) for x, y in zip(line.x, line.y, strict=True) if y is not None)


def boost_and_drive(pull: Pull, sheet: Sheet) -> Chart:
    """Boost in the manifold and drive pressure before the turbine, both over outside air."""
    outside = site(sheet).p / 1e3
    boost = _line(pull, "boost", "boost_kPa", "pressure")
    drive = _line(pull, "drive pressure", "turbine_inlet_pressure_kPa", "temperature", turn=lambda v: v - outside)
    limits = _limit(sheet, "limits.max_boost", lambda v: v / 1e3)
    most, at = _most(boost)
    cost, there = _most(drive)
    sentence = f"Most boost {most:.0f} kPa at {at:.0f} rpm; before the turbine {cost:.0f} kPa at {there:.0f} rpm."
    y = axis("pressure", "kPa above outside air", [*_known(boost, drive), *(one.value for one in limits)], zero=True)
    return Chart("boost-drive", "Boost and drive pressure", sentence, _speeds(pull), y, (boost, drive), limits=limits)


def _limit(sheet: Sheet, path: str, turn: Callable[[float], float]) -> tuple[Limit, ...]:
    value = sheet.maybe(path)
    return () if value is None else (Limit(f"your limit {sheet.quantity(path).text}", turn(value)),)


def turbo_speed(pull: Pull, sheet: Sheet) -> Chart:
    """Shaft speed against the compressor's own limit."""
    line = _line(pull, "shaft", "turbo_speed_rpm", "torque", turn=lambda v: v / 1e3)
    limits: tuple[Limit, ...] = ()
    if sheet.has("charge.compressor.speed_limit"):
        said = sheet.quantity("charge.compressor.speed_limit")
        limits = (Limit(f"wheel's limit {said.text}", said.value * 30.0 / pi / 1e3),)
    most, at = _most(line)
    sentence = f"Highest {1e3 * most:,.0f} rpm at {at:.0f} rpm of the engine.".replace(",", "\u202f")
    y = axis("turbo speed", "1000 rpm", [*_known(line), *(one.value for one in limits)], zero=True)
    plain = replace(line, quantity="knock")
    return Chart("turbo-speed", "Turbo speed", sentence, _speeds(pull), y, (plain,), limits=limits)


def margins(pull: Pull, sheet: Sheet) -> Chart:
    """Flow left to the compressor's surge line and to its choke."""
    surge = _line(pull, "to surge", "surge_margin", "flow", turn=lambda v: 100.0 * v)
    choke = _line(pull, "to choke", "choke_margin", "flow", "dashed", lambda v: 100.0 * v)
    lines = tuple(one for one in (surge, choke) if _known(one))
    least = [(min(_known(one)), one.name) for one in lines]
    told = ", ".join(f"{name} {value:.0f} %" for value, name in least)
    limits = (Limit("the line itself", 0.0, "below"),)
    y = axis("margin", "% of the flow", [*_known(*lines), 0.0])
    return Chart(
        "compressor-margins", "Surge and choke", f"Least flow left: {told}.", _speeds(pull), y, lines, limits=limits
    )


def turbine(pull: Pull, sheet: Sheet) -> Chart:
    """Gas temperature at the turbine's inlet against the builder's limit, and how well the wheel uses the gas."""
    inlet = _line(pull, "turbine inlet", "turbine_inlet_temperature_K", "temperature", turn=lambda v: v - ZERO_CELSIUS)
    used = replace(
        _line(pull, "efficiency", "turbine_efficiency", "power", "dashed", lambda v: 100.0 * v), side="right"
    )
    limits = _limit(sheet, "limits.max_exhaust_temperature", lambda v: v - ZERO_CELSIUS)
    left, right = paired_axes(
        axis("gas temperature", "°C", [*_known(inlet), *(one.value for one in limits)]),
        axis("turbine efficiency", "%", _known(used) or [100.0], zero=True),
    )
    most, at = _most(inlet)
    sentence = f"Hottest {most:.0f} °C before the turbine, at {at:.0f} rpm, enthalpy mean."
    if _known(used):
        best, there = _most(used)
        sentence += f" The wheel is best at {there:.0f} rpm with {best:.0f} %."
    lines = (inlet, used) if _known(used) else (inlet,)
    return Chart("turbine", "Turbine", sentence, _speeds(pull), left, lines, right if _known(used) else None, limits)


def gate(pull: Pull, sheet: Sheet) -> Chart:
    """How far the gate opens and what passes it, with the ratio of drive pressure to boost."""
    share = _line(pull, "past the turbine", "wastegate_flow_share", "temperature", turn=lambda v: 100.0 * v)
    lift = _line(pull, "gate's lift", "wastegate_opening", "second", "dotted", turn=lambda v: 100.0 * v)
    ratio = replace(_line(pull, "drive over boost", "drive_pressure_ratio", "spark"), side="right")
    values = _known(share, lift)
    lines = tuple(one for one in (share, lift, ratio) if _known(one))
    left, right = paired_axes(
        axis("share", "%", values or [0.0, 100.0], zero=True),
        axis("ratio", "", _known(ratio) or [0.0, 1.0], zero=True),
    )
    told = []
    if _known(share):
        most, at = _most(share)
        told.append(f"At most {most:.0f} % of the exhaust passes the turbine by, at {at:.0f} rpm.")
    if _known(ratio):
        cost, there = _most(ratio)
        told.append(f"Drive pressure is at most {cost:.2f} times boost, at {there:.0f} rpm.")
    return Chart("gate", "Gate and drive ratio", " ".join(told), _speeds(pull), left, lines, right)
