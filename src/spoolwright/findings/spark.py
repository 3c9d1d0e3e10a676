"""Findings of the spark at top speed and highest boost: latency, scatter, retard, coil, plug voltage."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright import units
from spoolwright.findings.asking import (
    PRACTICE,
    Given,
    altitude,
    ask,
    at,
    boost,
    carried,
    charge_temperature,
    taken,
    told,
)
from spoolwright.findings.blueprint import ratios
from spoolwright.findings.judging import Item, Limit, Question, item, judge, missing, nature, own, practice
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet

SET_AT = "1000 rpm"
ADVANCE = "Too much advance under boost breaks pistons within seconds: start from the safe side and listen."
VOLTS = "Ignition voltage can kill: power off before touching coil, leads or box."
CRANK, SHAFT = ("trigger",), ("shaft", "gear", "weights")


def latency(sheet: Sheet) -> Iterator[Finding]:
    """Spark lost to latency between 1000 rpm and `limits.max_speed`; more than 2 deg is worth knowing."""
    advance = (
        at(sheet, "spark.advance") if sheet.has("spark.advance") else taken("0 deg BTDC", "only the drift is asked")
    )
    answer = ask(
        sheet, "timing_latency", set_advance=advance, set_speed=taken(SET_AT, "where a strobe is usually used")
    )
    assumed = (
        " The latency is assumed; measure it with the strobe at two speeds."
        if sheet.is_assumed("spark.latency")
        else ""
    )
    question = Question(
        "timing drift",
        "angle",
        "deg",
        high=practice("2 deg", "angle"),
        digits=3,
        note=f"Later at {sheet.quantity('limits.max_speed').text} than set at {SET_AT}.{assumed}",
        change_first="Set the timing at speed, or let the box make up for the delay.",
    )
    yield from judge(question, [Item("", answer.results["retard"][0], where="spark.latency")], answer)


def scatter(sheet: Sheet) -> Iterator[Finding]:
    """Spark-to-spark scatter of all sources together; 2 deg is a lot."""
    sources = {
        name: sheet.quantity(f"spark.scatter.{name}")
        for name in (*CRANK, *SHAFT, "module")
        if sheet.has(f"spark.scatter.{name}")
    }
    if not sources:
        yield missing(
            "spark scatter", "Nothing on the sheet tells how far sparks differ: [spark.scatter].", "spark.scatter"
        )
        return
    # The sheet gives each source in crank degrees already, as one standard deviation.
    told = Given([q.text for q in sources.values()], f"{sheet.name}: {', '.join(sources)}")
    answer = ask(sheet, "timing_scatter", crank_sources=told, speed=at(sheet, "limits.max_speed"))
    question = Question(
        "spark scatter",
        "angle",
        "deg",
        high=practice("2 deg", "angle"),
        digits=2,
        note="One standard deviation, crank degrees.",
        change_first="A crank trigger in place of the distributor's shaft and gear.",
    )
    yield from judge(question, [item(answer, "scatter", where="spark.scatter")], answer)


def retard(sheet: Sheet) -> Iterator[Finding]:
    """Whether timing is taken out under boost, and what is left at `limits.max_boost`."""
    if not sheet.has("charge") or not sheet.has("spark.timing") or sheet.choice("spark.timing") != "locked":
        return
    if not sheet.has("spark.boost_retard"):
        yield Finding(
            "boost retard",
            "watch",
            f"The spark is locked at {sheet.quantity('spark.advance').text} and nothing is taken out for boost.",
            "spark.boost_retard",
            resting_on=PRACTICE,
            caution=ADVANCE,
            change_first="About 1 deg/psi above 2 to 3 psi, then listen and add back.",
        )
        return
    answer = ask(sheet, "boost_retard")
    left = units.show(answer.results["advance"][0], "angle", "deg", 3)
    question = Question(
        "boost retard",
        "angle",
        "deg",
        digits=3,
        note=f"Taken out at {sheet.quantity('limits.max_boost').text}; {left} before top dead centre is left.",
    )
    yield from judge(question, [Item("", answer.results["retard"][0], where="spark.boost_retard")], answer)


def coil(sheet: Sheet) -> Iterator[Finding]:
    """Charging time left for the coil at `limits.max_speed` against the dwell aimed at, and the current it gives."""
    here = "spark.coil"
    needed = [f"{here}.{x}" for x in ("inductance", "resistance", "supply_voltage", "dwell")]
    lacking = [path for path in needed if not sheet.has(path)]
    if not sheet.has(here) or lacking:
        what = ", ".join(lacking) if sheet.has(here) else "[spark.coil]"
        yield missing("coil at top speed", f"What the coil has left needs {what}.", (lacking or [here])[0])
        return
    left, full = ask(sheet, "coil_current_left"), ask(sheet, "coil_current")
    dwell = sheet.quantity(f"{here}.dwell")
    late = left.results["dwell_left"] <= 0.0
    low = (
        nature("0 ms", "time", "no time is left to charge")
        if late
        else Limit(dwell.value, dwell.text, f"the dwell you aim at, {sheet.where(here + '.dwell')}", False)
    )
    question = Question(
        "coil at top speed",
        "time",
        "ms",
        low,
        digits=3,
        caution=VOLTS,
        note=f"Left to charge at the highest speed; {dwell.text} of dwell gives {told(full, 'current', 3)}, "
        f"{told(full, 'energy', 3)}.",
        change_first="A coil of less inductance, or more coils.",
    )
    yield from judge(question, [item(left, "dwell_left", where=f"{here}.dwell")], left, full)
    limit = own(sheet, f"{here}.current_limit", firm=False)
    if limit is not None:
        q = Question(
            "coil current",
            "current",
            "A",
            high=limit,
            digits=3,
            note=f"After {dwell.text} of dwell.",
            change_first="Less dwell: the module limits in heat.",
        )
        yield from judge(q, [item(full, "current", where=f"{here}.current_limit")], full)


def plug(sheet: Sheet) -> Iterator[Finding]:
    """Voltage the plug needs at highest boost against what the coil gives; 30 % in hand is usual."""
    if not sheet.has("spark.coil.peak_voltage"):
        yield missing(
            "plug voltage margin",
            "Its margin needs the highest voltage of the coil.",
            "spark.coil.peak_voltage",
            caution=VOLTS,
        )
        return
    manifold = ask(sheet, "absolute_pressure", gauge=boost(sheet), altitude=altitude(sheet))
    advance = at(sheet, "spark.advance") if sheet.has("spark.advance") else taken("25 deg BTDC")
    state = ask(
        sheet,
        "spark_conditions",
        p_intake=carried(manifold, "absolute"),
        charge_temperature=charge_temperature(sheet),
        compression_ratio=carried(ratios(sheet), "highest"),
        advance=advance,
    )
    need = ask(sheet, "plug_voltage", pressure=carried(state, "pressure"), temperature=carried(state, "temperature"))
    answer = ask(sheet, "coil_voltage_margin", needed=carried(need, "voltage"))
    question = Question(
        "plug voltage margin",
        "share",
        "%",
        practice("30 %", "share"),
        digits=3,
        caution=VOLTS,
        note=f"{told(need, 'voltage', 3)} needed across {sheet.quantity('spark.plug.gap').text} at "
        f"{told(state, 'pressure', 3)}; a uniform field needs more than a sharp new plug and less than a worn one.",
        change_first="Close the gap by 0.1 mm; gap_for_voltage tells how far.",
    )
    yield from judge(question, [item(answer, "margin", where="spark.plug.gap")], manifold, state, need, answer)


JUDGES = {
    "timing drift": latency,
    "spark scatter": scatter,
    "boost retard": retard,
    "coil at top speed": coil,
    "plug voltage margin": plug,
}
