"""Findings of a pull about the charge: knock, filling, residual gas, burn, cylinders against each other."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright.engine.charge import octane
from spoolwright.engine.pull import Point, Pull
from spoolwright.findings.asking import PRACTICE
from spoolwright.findings.judging import Question, own, practice
from spoolwright.findings.model import Finding, Verdict
from spoolwright.findings.pull_reading import (
    CYLINDER_MODEL,
    DUCT_MODEL,
    highest,
    judged,
    rpm_of,
    run_working,
    settled,
    spans,
)
from spoolwright.gas.ignition import DOUAUD_EYZAT
from spoolwright.sheet import Sheet

KNOCK = "Knock under load breaks pistons and rings within seconds and is hard to hear. Begin with less spark."
KNOCK_MODEL = "Livengood and Wu's integral over the delay of Douaud and Eyzat along the adiabatic core, at 85 % burned"
SPREAD = "5 %"  # of charge between cylinders
LEAST_FILLING, MOST_FILLING = 0.40, 1.30
MOST_RESIDUAL = 0.20
MORE_RESIDUAL = 1.5  # times as much burned gas as in the fullest cylinder: blown back, not only drawn less
LATEST_BURN = 30.0  # deg after top centre; half burned later than this is no way to run


def knock(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Knock integral of the worst cylinder against the band in which knock begins and the builder's own limit."""
    point = highest(pull, "knock_integral")
    if point is None:
        return
    value, low, high = (point.columns[n] for n in ("knock_integral", "knock_limit_low", "knock_limit_high"))
    limit = own(sheet, "limits.max_knock_integral")
    number = octane(pull.model.fuel)
    # The delay goes with octane to a power, so what the number may be off goes into the integral by that power.
    reach = value * DOUAUD_EYZAT[1] * number.band / number.value
    verdict: Verdict = "sound"
    at = f"at {rpm_of(point):.0f} rpm{_worst_cylinder(point)}"
    if limit is not None and value > limit.value:
        verdict, told = "stop", f"{value:.2f} {at} is above your limit of {limit.text}"
    elif value > high:
        verdict, told = "stop", f"{value:.2f} {at} is above {high:.2f}, from where knock is expected"
    elif value > low:
        verdict, told = "watch", f"{value:.2f} {at} lies in the band {low:.2f} to {high:.2f} in which knock begins"
    elif value + reach > low:
        verdict = "watch"
        told = f"{value:.2f} {at} may reach the band {low:.2f} to {high:.2f} by what the octane number may be off"
    else:
        told = f"{value:.2f} at most, {at}; knock begins between {low:.2f} and {high:.2f}"
    notes = [
        f"In the band or above it {where}."
        for where in [spans(pull, lambda p: p.columns["knock_integral"] > low)]
        if where
    ]
    if limit is not None and limit.value > high:
        notes.append(f"Your limit of {limit.text} lies above the band: it would let the engine knock.")
    notes += _held_back(pull)
    bar = min(high, limit.value) if limit is not None else high
    working = run_working(
        "Knock integral",
        point,
        KNOCK_MODEL,
        "cylinder",
        "knock_integral",
        "spark_deg_btdc",
        "best_torque_spark_deg_btdc",
        "peak_pressure_MPa",
        "residual",
        "lambda",
    )
    working += f"\noctane number {number.value:.3g} ± {number.band:.2g} moves the integral by ± {reach:.2f}"
    yield Finding(
        "knock",
        verdict,
        " ".join([f"{told}.", *notes]),
        "limits.max_knock_integral",
        "number",
        value,
        f"{value:.2f} ± {reach:.2f}",
        bar,
        f"{low:.2f} to {high:.2f}" + (f", your own {limit.text}" if limit is not None else ""),
        (bar - value) / bar,
        working,
        resting_on="knock of the mean cycle begins at 0.6 ± 0.1 by a public table of octane requirement"
        + (f"; {limit.resting_on}" if limit is not None else ""),
        caution="" if verdict == "sound" else KNOCK,
        change_first="" if verdict == "sound" else _less_knock(sheet),
    )


def _worst_cylinder(point: Point) -> str:
    each = point.per_cylinder.get("knock_integral", [])
    return f" in cylinder {each.index(max(each)) + 1}" if len(each) > 1 else ""


def _held_back(pull: Pull) -> list[str]:
    def back(point: Point) -> float:
        best = point.columns["best_torque_spark_deg_btdc"]
        return 0.0 if best is None else float(best - point.columns["spark_deg_btdc"])

    most = max((back(point) for point in settled(pull)), default=0.0)
    return [f"The search holds the spark up to {most:.1f} deg behind best torque."] if most > 0.5 else []


def _less_knock(sheet: Sheet) -> str:
    if sheet.choice("spark.timing") == "searched":
        first = "Lower spark.knock_limit to 0.50 or less"
    else:
        first = "Retard the spark by 3 to 5 deg, about the width of the band"
    return f"{first}; then a cooler charge, a better fuel, less ratio."


def filling(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Volumetric efficiency, residual gas and burn: numbers that no engine has point at an input."""
    good = settled(pull)
    if not good:
        return
    each = [point.columns["volumetric_efficiency"] for point in good]
    best = highest(pull, "volumetric_efficiency")
    assert best is not None
    sentence = f"{100 * min(each):.0f} to {100 * max(each):.0f} % of outside air, most at {rpm_of(best):.0f} rpm"
    judged_by = each
    asked = ("boost_kPa", "manifold_pressure_kPa", "manifold_temperature_K")
    if all(point.columns[name] is not None for point in good for name in asked):
        # The turbo fills beyond the swept volume; the engine is judged by what it makes of that.
        judged_by = [_of_manifold_air(pull, point) for point in good]
        sentence += f"; {100 * min(judged_by):.0f} to {100 * max(judged_by):.0f} % of the air in the manifold"
    odd = not (min(judged_by) >= LEAST_FILLING and max(judged_by) <= MOST_FILLING)
    sentence += "."
    yield Finding(
        "volumetric efficiency",
        "watch" if odd else "sound",
        f"{sentence} Hardly any engine of this kind does that." if odd else sentence,
        "valves.intake",
        "share",
        max(each),
        f"{100 * max(each):.0f} %",
        working=run_working(
            "Volumetric efficiency",
            best,
            DUCT_MODEL,
            "engine",
            "volumetric_efficiency",
            "air_flow_kg_s",
            "manifold_pressure_kPa",
            "manifold_temperature_K",
        ),
        resting_on=f"{100 * LEAST_FILLING:.0f} to {100 * MOST_FILLING:.0f} %, {PRACTICE}",
        change_first="Look at lift table, events and flow table first: units and zero of the angle." if odd else "",
    )
    where = spans(pull, lambda p: p.columns["residual"] > MOST_RESIDUAL)
    if where:
        worst = highest(pull, "residual")
        assert worst is not None
        yield Finding(
            "residual gas",
            "watch",
            f"{100 * worst.columns['residual']:.0f} % of the charge is burned gas at {rpm_of(worst):.0f} rpm; over "
            f"{100 * MOST_RESIDUAL:.0f} % {where}.",
            "valves.exhaust",
            "share",
            worst.columns["residual"],
            resting_on=PRACTICE,
            working=run_working("Residual gas", worst, DUCT_MODEL, "engine", "residual", "exhaust_pressure_kPa"),
            change_first="Less overlap, a freer exhaust; look at the events first.",
        )


def _of_manifold_air(pull: Pull, point: Point) -> float:
    """Filling against air of the manifold's pressure and temperature instead of the outside's."""
    site, c = pull.model.site, point.columns
    density = c["manifold_pressure_kPa"] * 1e3 / site.p * site.T / c["manifold_temperature_K"]
    return float(c["volumetric_efficiency"] / density)


def burn(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Half of the charge burned too late or never; an engine that does not turn itself."""
    late = spans(pull, lambda p: p.columns["mfb50_deg"] is None or p.columns["mfb50_deg"] > LATEST_BURN)
    if late:
        point = next(p for p in settled(pull) if p.columns["mfb50_deg"] is None or p.columns["mfb50_deg"] > LATEST_BURN)
        yield Finding(
            "burn",
            "watch",
            f"Half of the charge is burned later than {LATEST_BURN:.0f} deg after top centre, or never, {late}.",
            "spark.advance",
            "angle",
            point.columns["mfb50_deg"],
            resting_on=PRACTICE,
            working=run_working("Burn", point, CYLINDER_MODEL, "cylinder", "mfb50_deg", "spark_deg_btdc", "residual"),
            caution="A late burn overheats exhaust valves and turbine.",
            change_first="Earlier spark; look at mixture and residual gas where the flame dies.",
        )
    dead = spans(pull, lambda p: p.columns["torque_Nm"] <= 0.0)
    if dead:
        yield Finding("torque", "watch", f"The engine does not turn itself {dead}.", resting_on="friction exceeds work")


def cylinders(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """How far the cylinders' charges lie apart; 5 % is usual."""
    apart = [(_spread(point), point) for point in settled(pull) if len(point.per_cylinder.get("charge_kg", [])) > 1]
    if not apart:
        return
    share, point = max(apart, key=lambda one: one[0])
    each = point.per_cylinder["charge_kg"]
    most, least = each.index(max(each)) + 1, each.index(min(each)) + 1
    blown = _blown_back(point, most - 1, least - 1)
    q = Question(
        "charge between cylinders",
        "share",
        "%",
        high=practice(SPREAD, "share"),
        digits=2,
        note=f"At {rpm_of(point):.0f} rpm cylinder {most} draws most, {least} least.{blown}"
        " Uneven fuel is not counted.",
        change_first="Keep the primaries of cylinders that fire half a turn apart separate for longer, or for good."
        if blown
        else "Even out runners and primaries of these two.",
    )
    rows = "\n".join(f"  cylinder {n}: {1e6 * m:.1f} mg" for n, m in enumerate(each, start=1))
    working = f"Charge of each cylinder at {rpm_of(point):.0f} rpm\nmodel: {DUCT_MODEL}\n{rows}\nSource: theory, engine"
    yield from judged(q, share, "intake.runners", working)


def _blown_back(point: Point, most: int, least: int) -> str:
    """Whether burned gas takes the room in the cylinder (from 0) that draws least, said with both shares."""
    burned = point.per_cylinder.get("residual", [])
    if not burned or burned[least] < MORE_RESIDUAL * burned[most]:
        return ""
    kept = f"{100 * burned[least]:.1f} % burned gas against {100 * burned[most]:.1f} %"
    return f" It keeps {kept}: another cylinder's exhaust pulse meets it with both valves open."


def _spread(point: Point) -> float:
    each = point.per_cylinder["charge_kg"]
    return (max(each) - min(each)) / (sum(each) / len(each))
