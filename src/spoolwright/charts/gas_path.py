"""The gas path of a build as stations in equal columns, and what a run says along it at one speed.

Stations follow the sheet: what a build does not have has no column. Each names the values that can be edited at it,
the outline of its cut section and which judgements speak of it. Plain data; nothing here draws.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from spoolwright.constants import ZERO_CELSIUS
from spoolwright.engine.pull import Point, Pull
from spoolwright.engine.stations import Section, along
from spoolwright.findings.model import Finding, Verdict
from spoolwright.sheet import Sheet

Shape = Literal[
    "pipe", "mouth", "compressor", "cooler", "carburettor", "hat", "throttle", "box", "port", "cylinder", "turbine"
]
Curve = tuple[tuple[float, float], ...]  # (place along the stations, value)

ENTERS, LEAVES = 0.14, 0.86  # where in its column a section of pipe begins and ends


@dataclass(frozen=True)
class Station:
    """One column: its name, values to edit as (path, label), outline in mm, and the sheet's sections it stands for."""

    key: str
    title: str
    shape: Shape
    outline: tuple[float, float]  # diameter in and out, mm; a box: side of the cube of its volume
    fields: tuple[tuple[str, str], ...]
    sections: tuple[str, ...]  # pipes with readings
    speaks: tuple[str, ...]  # paths whose judgements belong here
    side: Literal["intake", "cylinder", "exhaust"] = "intake"
    mixture: bool = False


@dataclass(frozen=True)
class Along:
    """What a run says along the path at one speed: pressure [kPa absolute] and temperature [°C] by place."""

    speed_rpm: float
    outside_kPa: float
    p_intake: Curve
    p_exhaust: Curve
    T_intake: Curve
    T_exhaust: Curve
    labels: tuple[Label, ...]
    cylinder: tuple[str, ...]
    notes: tuple[tuple[str, str], ...]  # station key, words


@dataclass(frozen=True)
class Label:
    """A value written at a place along the path."""

    x: float
    value: float
    text: str
    quantity: Literal["p", "T"]
    side: Literal["intake", "exhaust"]


@dataclass(frozen=True)
class Mark:
    """A named speed of the pull."""

    name: str
    speed_rpm: float
    verdict: Verdict | None = None


def stations(sheet: Sheet) -> list[Station]:
    """The columns of this build, in the order of the gas."""
    early = sheet.has("carburettor") and sheet.choice("carburettor.position") == "before_compressor"
    parts = [_inlet(sheet)]
    device = _device(sheet)
    if early and device is not None:
        parts.append(device)
    parts += _charge(sheet, early)
    if not early and device is not None:
        parts.append(device)
    parts += [*_plenum(sheet), *_to_cylinder(sheet), _cylinder(sheet), *_exhaust(sheet)]
    return [one for one in parts if one is not None]


def _path(sheet: Sheet, path: str) -> str:
    """The path, or that of cylinder 1 where values differ by cylinder."""
    entry = sheet.entries.get(path)
    return path if entry is None or entry.one or not entry.shape else path + "[1]" * len(entry.shape)


def _fields(sheet: Sheet, *pairs: tuple[str, str]) -> tuple[tuple[str, str], ...]:
    """Those of the (path, label) pairs that the sheet has, at most two."""
    there = [(_path(sheet, path), label) for path, label in pairs if sheet.has(path)]
    named = [(path, f"{label}, cyl. 1" if path.endswith("[1]") else label) for path, label in there]
    return tuple(named[:2])


def _mm(sheet: Sheet, path: str, fallback: float = 40.0) -> float:
    if not sheet.has(path):
        return fallback
    return 1e3 * sheet.values(path)[0]


def _ends(sheet: Sheet, pipe: str) -> tuple[float, float]:
    """Diameters in and out of a pipe, mm."""
    first = _mm(sheet, f"{pipe}.diameter")
    return first, _mm(sheet, f"{pipe}.diameter_end", first)


def _chain(sheet: Sheet, section: str) -> tuple[float, float, str]:
    """Diameters in and out of pipes behind each other, and the first one's path."""
    names = sheet.names(section) if sheet.has(section) else ()
    if not names:
        return 40.0, 40.0, ""
    first, last = f"{section}.{names[0]}", f"{section}.{names[-1]}"
    return _ends(sheet, first)[0], _ends(sheet, last)[1], first


def _inlet(sheet: Sheet) -> Station:
    d0, d1, first = _chain(sheet, "intake.ducts")
    fields = _fields(sheet, (f"{first}.diameter", "bore"), (f"{first}.length", "length"))
    return Station(
        "inlet", "Air inlet", "mouth", (d0, d1), fields, ("intake.ducts",), ("intake.ducts", "intake.filter")
    )


def _charge(sheet: Sheet, mixture: bool) -> Iterator[Station]:
    if not sheet.has("charge.compressor"):
        return
    c = "charge.compressor"
    wheel = (_mm(sheet, f"{c}.wheel_inlet"), _mm(sheet, f"{c}.wheel_outlet"))
    fields = _fields(sheet, (f"{c}.wheel_inlet", "inducer"), (f"{c}.wheel_outlet", "exducer"))
    speaks = (c, "limits.max_boost", "charge.shaft", "charge.turbos")
    yield Station("compressor", "Compressor", "compressor", wheel, fields, (), speaks, mixture=mixture)
    d0, d1, first = _chain(sheet, "charge.pipes")
    if first:
        fields = _fields(sheet, (f"{first}.diameter", "bore"), (f"{first}.length", "length"))
        pipes = ("charge.pipes",)
        yield Station("charge", "Charge pipe", "pipe", (d0, d1), fields, pipes, pipes, mixture=mixture)
    if sheet.has("charge.cooler"):
        side = 1e3 * sheet.value("charge.cooler.volume") ** (1.0 / 3.0)
        fields = _fields(sheet, ("charge.cooler.effectiveness", "effectiveness"), ("charge.cooler.loss", "loss"))
        yield Station("cooler", "Cooler", "cooler", (side, side), fields, (), ("charge.cooler",), mixture=mixture)


def _device(sheet: Sheet) -> Station | None:
    if sheet.has("carburettor"):
        c = "carburettor"
        bores = (_mm(sheet, f"{c}.throttle_diameter"), _mm(sheet, f"{c}.venturi_diameter", 30.0))
        fields = _fields(sheet, (f"{c}.venturi_diameter", "venturi"), (f"{c}.needle_seat", "needle seat"))
        speaks = (c, "charge.hat", "fuel", "limits.leanest_mixture")
        shape: Shape = "hat" if sheet.has("charge.hat") else "carburettor"
        return Station("device", "Carburettor", shape, bores, fields, (), speaks, mixture=True)
    if sheet.has("intake.throttle"):
        bore = _mm(sheet, "intake.throttle.diameter")
        fields = _fields(sheet, ("intake.throttle.diameter", "bore"), ("intake.throttle.opening", "opening"))
        return Station("device", "Throttle", "throttle", (bore, bore), fields, (), ("intake.throttle",))
    return None


def _plenum(sheet: Sheet) -> Iterator[Station]:
    names = sheet.names("intake.plenums") if sheet.has("intake.plenums") else ()
    if names:
        path = f"intake.plenums.{names[0]}"
        side = 1e3 * sheet.value(f"{path}.volume") ** (1.0 / 3.0)
        fields = _fields(sheet, (f"{path}.volume", "volume"), ("fuel.evaporated", "fuel evaporated"))
        speaks = ("intake.plenums", "limits.max_charge_temperature")
        mixture = sheet.has("carburettor")
        yield Station("plenum", "Plenum", "box", (side, side), fields, (), speaks, mixture=mixture)


def _to_cylinder(sheet: Sheet) -> Iterator[Station]:
    mixture = sheet.has("carburettor")
    if sheet.has("intake.runners"):
        r = "intake.runners"
        fields = _fields(sheet, (f"{r}.diameter", "bore"), (f"{r}.length", "length"))
        yield Station("runners", "Inlet runners", "pipe", _ends(sheet, r), fields, (r,), (r,), mixture=mixture)
    fields = _fields(
        sheet,
        ("valves.intake.head_diameter", "inlet valve"),
        ("intake.ports.diameter", "port"),
        ("injection.rated_flow", "injector"),
    )
    speaks = ["intake.ports", "valves", "injection", "limits.min_intake", "limits.min_exhaust"]
    if sheet.has("injection"):
        speaks += ["fuel", "limits.leanest_mixture"]
    ends = _ends(sheet, "intake.ports")
    yield Station("ports", "Ports, valves", "port", ends, fields, ("intake.ports",), tuple(speaks), mixture=True)


def _cylinder(sheet: Sheet) -> Station:
    bore = _mm(sheet, "cylinders.bore")
    fields = _fields(sheet, ("cylinders.bore", "bore"), ("spark.advance", "spark"), ("cylinders.stroke", "stroke"))
    limits = ("knock_integral", "cylinder_pressure", "piston_speed", "head_temperature", "speed", "ratio")
    own = ("cylinders", "spark.advance", "spark.boost_retard", "limits.min_ratio")
    speaks = (*own, *(f"limits.max_{name}" for name in limits))
    stroke = _mm(sheet, "cylinders.stroke")
    return Station("cylinder", "Cylinder", "cylinder", (bore, stroke), fields, (), speaks, "cylinder", True)


def _exhaust(sheet: Sheet) -> Iterator[Station]:
    p = "exhaust.primaries"
    fields = _fields(sheet, (f"{p}.diameter", "bore"), (f"{p}.length", "length"))
    speaks = ("exhaust.ports", p, "limits.max_exhaust_temperature")
    pipes = ("exhaust.ports", p)
    yield Station("primaries", "Primaries", "pipe", _ends(sheet, p), fields, pipes, speaks, "exhaust")
    names = sheet.names("exhaust.collectors") if sheet.has("exhaust.collectors") else ()
    if names:
        one = f"exhaust.collectors.{names[0]}"
        fields = _fields(sheet, (f"{one}.diameter", "bore"), (f"{one}.volume", "volume"), (f"{one}.length", "length"))
        collectors = ("exhaust.collectors",)
        yield Station("collector", "Collector", "pipe", _ends(sheet, one), fields, collectors, collectors, "exhaust")
    if sheet.has("turbine"):
        wheel = (_mm(sheet, "turbine.wheel_inlet"), _mm(sheet, "turbine.wheel_outlet"))
        fields = _fields(
            sheet,
            ("turbine.area_over_radius", "area over radius"),
            ("wastegate.spring_rate", "gate spring"),
            ("turbine.throat_area", "throat"),
        )
        yield Station("turbine", "Turbine, gate", "turbine", wheel, fields, (), ("turbine", "wastegate"), "exhaust")
    d0, d1, first = _chain(sheet, "exhaust.tail")
    if first:
        fields = _fields(sheet, (f"{first}.diameter", "bore"), (f"{first}.length", "length"))
        tail = ("exhaust.tail",)
        yield Station("tail", "Tailpipe", "pipe", (d0, d1), fields, tail, tail, "exhaust")


def judged(station: Station, findings: Sequence[Finding]) -> list[Finding]:
    """The judgements that speak of this station, worst first as they come."""
    return [one for one in findings if one.where and any(one.where.startswith(path) for path in station.speaks)]


def at(pull: Pull, point: Point, sheet: Sheet, columns: Sequence[Station]) -> Along | None:
    """What the run says along the path at one point; None where it did not settle."""
    if point.cycle is None or not point.columns["converged"]:
        return None
    found = along(pull.model, point.cycle, sheet)
    outside = pull.model.site.p / 1e3
    ends = {"intake": [], "exhaust": []}  # type: dict[str, list[tuple[float, float, float]]]
    for n, column in enumerate(columns):
        for x, reading in _places(column, found):
            ends[column.side].append((n + x, reading.p / 1e3, reading.T - ZERO_CELSIUS))
    intake, exhaust = ends["intake"], ends["exhaust"]
    edge = next((n for n, one in enumerate(columns) if one.side == "cylinder"), len(columns))
    start = (0.0, outside, pull.model.site.T - ZERO_CELSIUS)
    intake = [start, *intake, *([(float(edge), *intake[-1][1:])] if intake else [])]
    if exhaust:
        exhaust = [(edge + 1.0, *exhaust[0][1:]), *exhaust]
        exhaust.append((float(len(columns)), outside if columns[-1].key == "tail" else exhaust[-1][1], exhaust[-1][2]))
    return Along(
        point.columns["speed_rpm"],
        outside,
        tuple((x, p) for x, p, _ in intake),
        tuple((x, p) for x, p, _ in exhaust),
        tuple((x, T) for x, _, T in intake),
        tuple((x, T) for x, _, T in exhaust),
        tuple(_labels(columns, found)),
        _in_cylinder(point.columns),
        tuple(_notes(point.columns)),
    )


def _places(column: Station, found: Sequence[Section]) -> Iterator[tuple[float, Any]]:
    """Places in the column with the reading at each: sections behind each other share its width."""
    mine = [one for one in found if any(one.path.startswith(path) for path in column.sections)]
    width = (LEAVES - ENTERS) / max(len(mine), 1)
    for n, one in enumerate(mine):
        yield ENTERS + n * width, one.enters
        yield ENTERS + (n + 1) * width, one.leaves


def _labels(columns: Sequence[Station], found: Sequence[Section]) -> Iterator[Label]:
    """The value where gas enters each station that has readings, and at the very end."""
    for n, column in enumerate(columns):
        places = list(_places(column, found))
        if column.side == "cylinder" or not places:
            continue
        x, reading = places[0]
        yield Label(n + x, reading.p / 1e3, f"{reading.p / 1e3:.1f}", "p", column.side)
        yield Label(n + x, reading.T - ZERO_CELSIUS, f"{reading.T - ZERO_CELSIUS:.0f}", "T", column.side)


def _in_cylinder(columns: dict[str, Any]) -> tuple[str, ...]:
    """What stands in the cylinder's column."""
    said = [f"peak {columns['peak_pressure_MPa']:.1f} MPa", f"at {columns['peak_pressure_deg']:.0f}°"]
    if columns["mfb50_deg"] is not None:
        said.append(f"half burned {columns['mfb50_deg']:.0f}°")
    said.append(f"knock {columns['knock_integral']:.2f}")
    return tuple(said)


def _notes(columns: dict[str, Any]) -> Iterator[tuple[str, str]]:
    if columns.get("turbo_speed_rpm") is not None:
        yield "shaft", f"shaft {columns['turbo_speed_rpm']:,.0f} rpm".replace(",", "\u202f")
    if columns.get("wastegate_flow_share") is not None:
        yield "gate", f"gate passes {100.0 * columns['wastegate_flow_share']:.0f} %"
    elif columns.get("wastegate_opening") is not None:
        yield "gate", f"gate open {100.0 * columns['wastegate_opening']:.0f} %"


def marks(pull: Pull) -> list[Mark]:
    """The speeds of a pull that have a name."""
    points = [point for point in pull.points if point.columns["converged"]]
    if not points:
        return []

    def most(column: str) -> float:
        return float(max(points, key=lambda one: one.columns[column]).columns["speed_rpm"])

    found = [Mark("most torque", most("torque_Nm")), Mark("most power", most("power_kW"))]
    worst = max(points, key=lambda one: one.columns["knock_integral"])
    over = worst.columns["knock_integral"] - worst.columns["knock_limit_low"]
    verdict: Verdict = "watch" if over > 0.0 else "sound"
    found.append(Mark("nearest to knock", float(worst.columns["speed_rpm"]), verdict))
    gate = next((one for one in points if (one.columns.get("wastegate_opening") or 0.0) > GATE_OPENS), None)
    if gate is not None:
        found.append(Mark("gate opens", float(gate.columns["speed_rpm"])))
    return sorted(found, key=lambda one: one.speed_rpm)


GATE_OPENS = 0.01  # share of its lift from which a gate counts as open
