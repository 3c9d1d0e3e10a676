"""Findings of a pull against limits: speed, piston speed, peak pressure, exhaust temperature, mixture, head."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

from spoolwright import units
from spoolwright.engine.pull import Pull
from spoolwright.findings.asking import PRACTICE, Given, ask, quantity
from spoolwright.findings.fuel import LEAN
from spoolwright.findings.judging import Item, Question, item, judge, missing, own, practice, unit_at
from spoolwright.findings.model import Finding
from spoolwright.findings.pull_reading import (
    CYLINDER_MODEL,
    DUCT_MODEL,
    highest,
    judged,
    known,
    rpm_of,
    run_working,
    spans,
)
from spoolwright.sheet import Sheet


def top_speed(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Whether the pull goes past `limits.max_speed`."""
    top = max(rpm_of(point) for point in pull.points) if pull.points else 0.0
    limit = own(sheet, "limits.max_speed", firm=False)
    if limit is not None and top * pi / 30.0 > limit.value * (1.0 + 1e-9):
        q = Question(
            "engine speed",
            "rotational_speed",
            "rpm",
            high=limit,
            note="What follows above it is computed, not allowed.",
            change_first="End the pull at limits.max_speed.",
        )
        yield from judge(q, [Item("", top * pi / 30.0, where="limits.max_speed")])


def piston_speed(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Mean piston speed at the pull's top speed against `limits.max_piston_speed`, else 22 m/s."""
    if not pull.points:
        return
    top = max(rpm_of(point) for point in pull.points)
    speed = Given(quantity(top * pi / 30.0, "rotational_speed", "rpm"), "top speed of the pull")
    answer = ask(sheet, "mean_piston_speed", speed=speed)
    q = Question(
        "mean piston speed",
        "speed",
        unit_at(sheet, "limits.max_piston_speed", "m/s"),
        high=own(sheet, "limits.max_piston_speed") or practice("22 m/s", "speed", "street forged pistons, from memory"),
        note=f"At {top:.0f} rpm.",
        change_first="Rev it less.",
    )
    yield from judge(q, [item(answer, "mean_piston_speed", where="limits.max_piston_speed")], answer)


def peak_pressure(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Highest cylinder pressure of the mean cycle against `limits.max_cylinder_pressure`."""
    path, point = "limits.max_cylinder_pressure", highest(pull, "peak_pressure_MPa")
    if point is None:
        return
    value, limit = 1e6 * point.columns["peak_pressure_MPa"], own(sheet, path)
    unit = unit_at(sheet, path, "bar")
    if limit is None:
        shown = units.show(value, "pressure_absolute", unit, 3)
        sentence = f"Highest {shown} at {rpm_of(point):.0f} rpm; no limit is given to hold it against."
        yield missing("peak cylinder pressure", sentence, path, shown=shown)
        return
    past = spans(pull, lambda p: 1e6 * p.columns["peak_pressure_MPa"] > limit.value)
    q = Question(
        "peak cylinder pressure",
        "pressure_absolute",
        unit,
        high=limit,
        near=0.15,
        digits=3,
        note=f"Mean cycle, at {rpm_of(point):.0f} rpm; single cycles reach 10 to 15 % more ({PRACTICE})."
        + (f" Past it {past}." if past else ""),
        caution="Peak pressure lifts heads and bends rods.",
        change_first="Less spark there, then less ratio.",
    )
    working = run_working(
        "Peak cylinder pressure",
        point,
        CYLINDER_MODEL,
        "cylinder",
        "peak_pressure_MPa",
        "peak_pressure_deg",
        "spark_deg_btdc",
        "mfb50_deg",
    )
    yield from judged(q, value, path, working)


def exhaust_temperature(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Gas at the end of the primaries against `limits.max_exhaust_temperature`, where no turbine follows."""
    path, point = "limits.max_exhaust_temperature", highest(pull, "primary_temperature_K")
    limit = own(sheet, path)
    if point is None or limit is None or known(pull, "turbine_inlet_temperature_K"):
        return
    past = spans(pull, lambda p: p.columns["primary_temperature_K"] > limit.value)
    q = Question(
        "exhaust temperature",
        "temperature",
        unit_at(sheet, path, "degC"),
        high=limit,
        near=0.02,
        digits=3,
        note=f"At {rpm_of(point):.0f} rpm, enthalpy mean at the end of the primaries; a thermocouple reads lower."
        + (f" Past it {past}." if past else ""),
        caution="Too hot an exhaust burns valves and cracks manifolds.",
        change_first="Earlier spark where knock leaves room, then a richer mixture.",
    )
    working = run_working(
        "Exhaust temperature",
        point,
        f"{CYLINDER_MODEL}; {DUCT_MODEL}",
        "engine",
        "primary_temperature_K",
        "lambda",
        "mfb50_deg",
        "wall_heat_kW",
    )
    yield from judged(q, point.columns["primary_temperature_K"], path, working)


def mixture(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """The leanest mixture of the pull against `limits.leanest_mixture`."""
    path, point = "limits.leanest_mixture", highest(pull, "lambda")
    limit = own(sheet, path)
    if point is None:
        return
    if limit is None:
        sentence = f"Leanest {point.columns['lambda']:.3g} lambda; {path} is not given."
        yield missing("mixture", sentence, path, caution=LEAN)
        return
    past = spans(pull, lambda p: p.columns["lambda"] > limit.value)
    q = Question(
        "mixture",
        "mixture",
        "lambda",
        high=limit,
        digits=3,
        note="As aimed at; what jets or injectors give is not computed yet." + (f" Leaner {past}." if past else ""),
        caution=LEAN,
        change_first="Richer: a larger jet or more injection time.",
    )
    yield from judged(
        q, point.columns["lambda"], path, run_working("Mixture", point, "as the sheet aims", "engine", "lambda")
    )


def head(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Head temperature is an input of the run so far, so its limit cannot be judged by it."""
    yield missing(
        "head temperature",
        "The run takes wall temperatures as given or usual; heat through fins and jackets is not computed yet.",
        "limits.max_head_temperature",
    )
