"""The charts of one cycle over crank angle and volume, from a trace."""

from __future__ import annotations

import numpy as np

from spoolwright.charts.describe import (
    Axis,
    Chart,
    Line,
    Mark,
    Numbers,
    Quantity,
    Series,
    axis,
    exact_axis,
    log_axis,
)
from spoolwright.engine.trace import Floats, Trace


def charts_of_cycle(trace: Trace, outside: float, spark: float | None = None) -> list[Chart]:
    """Charts of one cycle; outside air [Pa] is drawn as the level pressures are compared with, spark [deg]."""
    return [pressure_volume(trace), pressure_angle(trace, spark), valve_flow(trace), duct_pressure(trace, outside)]


def _tuple(values: Floats) -> tuple[float, ...]:
    return tuple(float(v) for v in values)


def _at(trace: Trace) -> str:
    return f"{trace.speed_rpm:.0f}-rpm"


def _angle_axis(low: float, high: float, step: float) -> Axis:
    return exact_axis("crank angle after firing top centre", "deg", low, high, step)


def pressure_volume(trace: Trace, k: int = 0) -> Chart:
    """Pressure over volume of one cylinder, both logarithmic: compression and expansion come out nearly straight."""
    angle, order = trace.own(k)
    V, p = 1e6 * trace.V[k][order], trace.p[k][order] / 1e5
    # Gas exchange and work loop as two lines, each told by its name.
    work = np.abs(angle) <= 180.0
    loop = Series("compression, burning, expansion", _tuple(V[work]), _tuple(p[work]), "pressure")
    after, before = angle > 180.0, angle < -180.0
    exchange = Series(
        "gas exchange",
        _tuple(np.concatenate([V[after], V[before]])),
        _tuple(np.concatenate([p[after], p[before]])),
        "second",
        "dashed",
    )
    top = float(p.max())
    return Chart(
        f"pressure-volume-{_at(trace)}",
        f"Pressure over volume, cylinder {k + 1}, {trace.speed_rpm:.0f} rpm",
        f"Highest pressure {top:.0f} bar at {V[int(np.argmax(p))]:.0f} cc.",
        log_axis("volume", "cc", _tuple(V)),
        log_axis("pressure", "bar, absolute", _tuple(p)),
        (loop, exchange),
    )


def pressure_angle(trace: Trace, spark: float | None = None, k: int = 0) -> Chart:
    """Pressure of one cylinder over crank angle around firing."""
    angle, order = trace.own(k)
    keep = (angle >= -120.0) & (angle <= 180.0)
    angle, p = angle[keep], trace.p[k][order][keep] / 1e5
    top = int(np.argmax(p))
    marks = [Mark("top centre", 0.0)]
    if spark is not None:
        marks.append(Mark(f"spark {abs(spark):.1f}° {'before' if spark <= 0 else 'after'}", spark))
    return Chart(
        f"pressure-angle-{_at(trace)}",
        f"Pressure over crank angle, cylinder {k + 1}, {trace.speed_rpm:.0f} rpm",
        f"Highest {p[top]:.0f} bar at {angle[top]:.1f} deg after top centre.",
        _angle_axis(-120.0, 180.0, 30.0),
        axis("pressure", "bar, absolute", _tuple(p), zero=True),
        (Series("cylinder pressure", _tuple(angle), _tuple(p), "pressure"),),
        marks=tuple(marks),
    )


def _exchange(trace: Trace, k: int, values: Floats) -> tuple[Floats, Floats]:
    """Values over 90 to 630 deg, so that the gas exchange stands in the middle."""
    angle, order = trace.own(k)
    angle = np.where(angle < 90.0 - 180.0, angle + 720.0, angle)
    sort = np.argsort(angle, kind="stable")
    angle, values = angle[sort], values[order][sort]
    keep = (angle >= 90.0) & (angle <= 630.0)
    return angle[keep], values[keep]


def valve_flow(trace: Trace, k: int = 0) -> Chart:
    """Mass flow through the valves of one cylinder over the gas exchange; with the gas path is positive."""
    angle, out = _exchange(trace, k, -trace.valve_flow(k, intake=False))
    _, into = _exchange(trace, k, trace.valve_flow(k, intake=True))
    back = min(float(into.min()), 0.0)
    sentence = (
        f"Strongest flow in {1e3 * into.max():.0f} g/s, out {1e3 * out.max():.0f} g/s; "
        f"back through the intake valve at most {-1e3 * back:.0f} g/s."
    )
    lines = (
        Series("out through the exhaust valve", _tuple(angle), _flowing(out), "temperature", "dashed"),
        Series("in through the intake valve", _tuple(angle), _flowing(into), "air"),
    )
    return Chart(
        f"valve-flow-{_at(trace)}",
        f"Flow through the valves, cylinder {k + 1}, {trace.speed_rpm:.0f} rpm",
        sentence,
        _angle_axis(90.0, 630.0, 90.0),
        axis("mass flow", "g/s", [v for one in lines for v in one.y if v is not None]),
        lines,
        marks=(Mark("top centre", 360.0),),
    )


def _flowing(flow: Floats) -> Numbers:
    """Flow in g/s, a gap where the valve is shut."""
    return tuple(None if v == 0.0 else 1e3 * float(v) for v in flow)


def duct_pressure(trace: Trace, outside: float) -> Chart:
    """Pressure in the ducts of the first cylinder over the gas exchange, against outside air [Pa]."""
    looks: tuple[tuple[Quantity, Line], ...] = (
        ("second", "dotted"),
        ("air", "solid"),
        ("temperature", "dashed"),
        ("power", "chain"),
    )
    lines = []
    for probe, (quantity, line) in zip(trace.probes, looks, strict=False):
        angle, p = _exchange(trace, 0, (probe.p - outside) / 1e3)
        lines.append(Series(probe.place, _tuple(angle), _tuple(p), quantity, line))
    values = [v for one in lines for v in one.y if v is not None]
    return Chart(
        f"duct-pressure-{_at(trace)}",
        f"Pressure in the ducts, {trace.speed_rpm:.0f} rpm",
        f"Between {min(values):.0f} and {max(values):.0f} kPa over outside air of {outside / 1e3:.1f} kPa.",
        _angle_axis(90.0, 630.0, 90.0),
        axis("pressure", "kPa over outside", values),
        tuple(lines),
        marks=(Mark("top centre", 360.0),),
    )
