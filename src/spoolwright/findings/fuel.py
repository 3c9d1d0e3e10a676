"""Findings of mixture and fuel supply: leanest mixture, regulator, pump, needle and seat, injectors."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright import units
from spoolwright.findings.asking import Given, ask, at, boost, carried, quantity
from spoolwright.findings.demand import LEAST_VE, MOST_VE, Demand, fuel_demand, full_load_mixture
from spoolwright.findings.judging import Item, Limit, Question, judge, missing, nature, own, practice
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet
from spoolwright.sums.evaluate import Answer

LEAN = "Lean under boost burns pistons and valves within seconds; stop the pull when the mixture leaves its band."
SUPPLY = (
    "Fuel under pressure beside a hot engine: work cold, power off, extinguisher at hand; check every joint for leaks."
)
ESTIMATE = (
    f"Fuel need by estimate, volumetric efficiency {LEAST_VE} to {MOST_VE} at limits.max_speed and limits.max_boost."
)


def leanest(sheet: Sheet) -> Iterator[Finding]:
    """The mixture aimed at for full load against `limits.leanest_mixture`."""
    limit = own(sheet, "limits.leanest_mixture")
    if full_load_mixture(sheet) is None:
        yield missing(
            "mixture at full load",
            "No mixture is aimed at: give fuel.mixture or fuel.mixture_table.",
            "fuel.mixture",
            caution=LEAN,
        )
        return
    if limit is None:
        yield missing(
            "mixture at full load", "limits.leanest_mixture is not given.", "limits.leanest_mixture", caution=LEAN
        )
        return
    where = "fuel.mixture" if sheet.has("fuel.mixture") else "fuel.mixture_table"
    said = sheet.quantity("fuel.mixture") if sheet.has("fuel.mixture") else None
    value, band = (said.value, (said.minus, said.plus)) if said else (_leanest_of_table(sheet), (0.0, 0.0))
    question = Question(
        "mixture at full load",
        "mixture",
        "lambda",
        high=limit,
        digits=3,
        caution=LEAN,
        change_first="Richer: a larger jet or more injection time.",
    )
    yield from judge(question, [Item("", value, band, where)])


def _leanest_of_table(sheet: Sheet) -> float:
    """Leanest value of the mixture table at its highest manifold pressure."""
    columns = sheet.table("fuel.mixture_table").columns
    top = max(columns["manifold_pressure"])
    return max(x for p, x in zip(columns["manifold_pressure"], columns["lambda"], strict=True) if p == top)


def regulator(sheet: Sheet) -> Iterator[Finding]:
    """What the fuel regulator is referenced to, against where the fuel goes."""
    if not sheet.has("fuel.supply"):
        yield missing(
            "fuel supply",
            "Pump, lines and regulator are not on the sheet: [fuel.supply].",
            "fuel.supply",
            caution=SUPPLY,
        )
        return
    if not sheet.has("charge") or not sheet.has("fuel.supply.reference"):
        return
    reference, boost = sheet.choice("fuel.supply.reference"), sheet.quantity("limits.max_boost")
    base = sheet.quantity("fuel.supply.base_pressure")
    if reference == "open_air":
        over = base.value - boost.value
        told = units.show(over, "pressure_difference", base.unit, 3)
        yield Finding(
            "fuel regulator",
            "stop" if over <= 0.0 else "watch",
            f"It is referenced to open air, so at {boost.text} of boost {told} of {base.text} is left.",
            "fuel.supply.reference",
            "pressure_difference",
            over,
            told,
            0.0,
            "0",
            over / base.value,
            resting_on="fuel must stand above the pressure it flows into",
            caution=LEAN,
            change_first="Reference it to the hat (carburettor) or the plenum (injection), 1:1.",
        )
    elif sheet.has("carburettor") and sheet.choice("carburettor.position") == "after_compressor" and reference != "hat":
        yield Finding(
            "fuel regulator",
            "watch",
            f"It is referenced to the {reference}, below the throttle: at part throttle the fuel "
            "pressure falls under what the bowl in the hat needs.",
            "fuel.supply.reference",
            resting_on="common practice, no source",
            caution=LEAN,
            change_first="Take the reference from the hat.",
        )


def _rise(sheet: Sheet) -> Given:
    follows = sheet.choice("fuel.supply.reference") != "open_air"
    return Given("1" if follows else "0", f"{sheet.name}, {sheet.where('fuel.supply.reference')}")


def pump(sheet: Sheet) -> Iterator[Finding]:
    """Pump flow at real voltage and full pressure over the fuel the engine may burn: 20 % more is usual."""
    if not sheet.has("fuel.supply"):
        return
    if not sheet.has("fuel.supply.pump_curve"):
        yield missing("fuel pump", "Its flow against pressure is not given.", "fuel.supply.pump_curve", caution=SUPPLY)
        return
    yield from _held(
        sheet, "fuel pump", "fuel.supply.pump_curve", _pump, "20 %", "A larger pump or two, thicker wires and lines."
    )


def _pump(sheet: Sheet, need: Demand) -> Answer:
    return ask(
        sheet,
        "pump_under_boost",
        boost=boost(sheet),
        regulator_rise=_rise(sheet),
        line_loss=_line(sheet, need),
        density=need.density,
        fuel_needed=need.fuel,
    )


def _line(sheet: Sheet, need: Demand) -> Given | None:
    """Loss of the lines at this need, from the loss at a stated flow."""
    if not sheet.has("fuel.supply.line_loss"):
        return None
    said = sheet.quantity("fuel.supply.line_loss")
    density = need.density.value.value
    stated = quantity(said.condition[0].value * density, "mass_flow", "kg/h")
    answer = ask(
        sheet,
        "loss_scaled",
        loss=at(sheet, "fuel.supply.line_loss"),
        flow=Given(stated, "its stated flow"),
        wanted_flow=need.fuel,
    )
    return carried(answer, "loss_found")


def needle(sheet: Sheet) -> Iterator[Finding]:
    """Fuel that needle and seat pass over the fuel the engine may burn: 20 % more is usual."""
    if not sheet.has("carburettor") or not sheet.has("fuel.supply.base_pressure"):
        return
    if not sheet.has("carburettor.needle_seat"):
        yield missing(
            "needle and seat", "The hole of the float valve is not given.", "carburettor.needle_seat", caution=LEAN
        )
        return
    yield from _held(
        sheet,
        "needle and seat",
        "carburettor.needle_seat",
        _needle,
        "20 %",
        "A larger seat or a second bowl, before more pressure.",
    )


def _needle(sheet: Sheet, need: Demand) -> Answer:
    count = sheet.value("carburettor.needle_seats") * sheet.value("carburettor.count")
    seats = Given(f"{count:g}", "seats of all carburettors")
    if sheet.has("charge") and sheet.choice("fuel.supply.reference") == "open_air":
        return ask(
            sheet,
            "needle_seat",
            seats=seats,
            fuel_pressure=Given(None, ""),
            line_pressure=at(sheet, "fuel.supply.base_pressure"),
            bowl_pressure=boost(sheet),
            fuel_density=need.density,
            demand=need.fuel,
        )
    return ask(sheet, "needle_seat", seats=seats, fuel_density=need.density, demand=need.fuel)


def injectors(sheet: Sheet) -> Iterator[Finding]:
    """Injector duty at the highest need against `injection.duty_limit`."""
    if not sheet.has("injection") or not sheet.has("fuel.supply.base_pressure"):
        return
    most, least = fuel_demand(sheet, MOST_VE), fuel_demand(sheet, LEAST_VE)
    limit = own(sheet, "injection.duty_limit") or practice("85 %", "share")
    if most is None or least is None:
        yield missing(
            "injectors", "Their duty needs a fuel that is known and the mixture aimed at.", "fuel.grade", caution=LEAN
        )
        return
    base, most_boost = sheet.quantity("fuel.supply.base_pressure"), boost(sheet).value
    across = at(sheet, "fuel.supply.base_pressure")
    if sheet.choice("fuel.supply.reference") == "open_air" and sheet.has("charge"):
        across = Given(
            quantity(base.value - most_boost.value, "pressure_difference", base.unit), "base pressure less boost"
        )
        if base.value <= most_boost.value:
            return  # the regulator's finding says it
    high, low = (
        ask(
            sheet,
            "injector_duty",
            pressure_across=across,
            fuel_needed=need.fuel,
            density=need.density,
            speed=at(sheet, "limits.max_speed"),
        )
        for need in (most, least)
    )
    certain = low.results["duty"] > limit.value
    judged = Limit(limit.value, limit.text, limit.resting_on, firm=limit.firm and certain)
    question = Question(
        "injector duty",
        "share",
        "%",
        high=judged,
        digits=3,
        caution=LEAN,
        note=ESTIMATE,
        change_first="Larger injectors or more pressure; injector_size tells which.",
    )
    answer = low if certain else high
    yield from judge(question, [Item("", answer.results["duty"], where="injection.rated_flow")], *most.steps, answer)


def _held(sheet: Sheet, subject: str, where: str, supply, wanted: str, change: str) -> Iterator[Finding]:  # type: ignore[no-untyped-def]
    """A supply's margin over the need: short of the low estimate is a stop, short of the high one a watch."""
    most, least = fuel_demand(sheet, MOST_VE), fuel_demand(sheet, LEAST_VE)
    if most is None or least is None:
        yield missing(
            subject, "Its margin needs a fuel that is known and the mixture aimed at.", "fuel.grade", caution=LEAN
        )
        return
    high, low = supply(sheet, most), supply(sheet, least)
    short = low.results["margin"] < 0.0
    answer = low if short else high
    needed = units.show((least if short else most).flow, "mass_flow", "kg/h", 3)
    limit = (
        nature("0 %", "share", "less fuel than the engine burns even by the low estimate")
        if short
        else practice(wanted, "share")
    )
    question = Question(
        f"{subject} margin",
        "share",
        "%",
        limit,
        digits=3,
        caution=LEAN,
        change_first=change,
        note=f"{_says(answer)} over {needed} needed. {ESTIMATE}",
    )
    yield from judge(question, [Item("", answer.results["margin"], where=where)], *most.steps, answer)


def _says(answer: Answer) -> str:
    name = "pump_mass_flow" if "pump_mass_flow" in answer.results else "fuel_flow"
    return units.show(answer.results[name], "mass_flow", "kg/h", 3)


JUDGES = {
    "mixture at full load": leanest,
    "fuel regulator": regulator,
    "fuel pump margin": pump,
    "needle and seat margin": needle,
    "injector duty": injectors,
}
