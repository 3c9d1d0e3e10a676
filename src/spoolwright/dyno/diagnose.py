"""The job "diagnose": the rules over the user's own channels, ranked, dead sensors apart from the engine's faults.

A rule speaks only of what the log holds; what could not be looked at for want of a channel is listed, because
silence is no clean bill. Rules name suspicions, never certainties: each carries what speaks against it and the next
check.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from spoolwright.dyno import rules_boost, rules_fuel, rules_heat, rules_running
from spoolwright.dyno.causes import Diagnosis, Evidence, Suspicion
from spoolwright.dyno.limits import Limit
from spoolwright.dyno.looking import boost, channel, family, mixture
from spoolwright.dyno.measured import Measured

Rule = Callable[[Measured, tuple[Limit, ...]], Suspicion | None]

# Rule -> channels it needs, in words; any one of a slash-separated group will do.
RULES: Final[tuple[tuple[Rule, str], ...]] = (
    (rules_running.knock, "knock"),
    (rules_fuel.lean_late, "mixture"),
    (rules_fuel.fuel_pressure_falls, "fuel_pressure"),
    (rules_fuel.rich_on_boost, "mixture and boost"),
    (rules_fuel.sides_differ, "exhausts"),
    (rules_fuel.voltage_falls, "pump_voltage/battery_voltage"),
    (rules_boost.creep, "boost"),
    (rules_boost.spike, "boost"),
    (rules_boost.loss, "boost"),
    (rules_boost.surge, "boost"),
    (rules_boost.drive_pressure, "exhaust_pressure and boost"),
    (rules_running.misfire, "boost"),
    (rules_heat.one_hot_head, "heads"),
    (rules_heat.heads_climb, "heads"),
    (rules_heat.oil_hot_heads_fine, "oil_temp and heads"),
    (rules_running.crankcase, "crankcase_pressure"),
    (rules_running.oil_pressure_falls, "oil_pressure"),
    (rules_running.slip, "roller_speed"),
    (rules_running.jumpy, "engine_speed"),
)
_WORDS: Final = {
    "knock": "knock: no knock channel",
    "mixture": "lean or rich: no mixture (lambda or AFR)",
    "fuel_pressure": "fuel supply: no fuel pressure",
    "pump_voltage/battery_voltage": "pump supply: no voltage",
    "boost": "creep, spike, surge, misfire under boost: no boost or manifold pressure",
    "heads": "one hot head, fan: no head temperatures",
    "exhausts": "exhausts that differ: fewer than two exhaust temperatures",
    "exhaust_pressure": "drive pressure: no exhaust pressure before the turbine",
    "oil_temp": "oil heat: no oil temperature",
    "oil_pressure": "oil pressure: not in the log",
    "crankcase_pressure": "rings and pistons: no crankcase pressure",
}
BY_EYE: Final = (
    "not to be seen in a log: surge and flooding after lift-off by ear, plug colour, joints by soot lines, smoke, "
    "timing by strobe"
)
_SENSOR_CAUSES: Final = {
    "free air": ("sensor not warm yet", "sensor hangs in free air or its line leaks"),
    "thermocouple": ("open or broken thermocouple", "plug not pushed home"),
    "circuit": ("open or shorted circuit",),
    "stuck": ("sensor or its channel frozen", "logger repeats the last value"),
    "end of its range": ("range of the channel too small", "sensor at its stop"),
}


def diagnose(pulls: Sequence[Measured], limits: Sequence[Limit] = ()) -> Diagnosis:
    """Suspicions from these pulls, strongest first; dead sensors apart. ``limits``: the build's own (``limits_of``)."""
    held = tuple(limits)
    found: list[Suspicion] = []
    for pull in pulls:
        found += [s for rule, _ in RULES if (s := rule(pull, held)) is not None]
        found += rules_heat.past_limits(pull, held)
    found += rules_running.drifting(pulls)
    found.sort(key=lambda s: (not s.stop, -s.strength))
    return Diagnosis(tuple(found), tuple(_sensors(pulls)), tuple(_not_looked_at(pulls)))


def _sensors(pulls: Sequence[Measured]) -> list[Suspicion]:
    """Dead sensors, once for each log and column."""
    seen: dict[tuple[str, str], str] = {}
    for pull in pulls:
        for column, sentence in pull.dead.items():
            seen.setdefault((pull.file, column), sentence)
    out = []
    for (file, column), sentence in seen.items():
        causes = next((c for words, c in _SENSOR_CAUSES.items() if words in sentence), ("sensor or wiring",))
        out.append(
            Suspicion(
                f"sensor: {column}",
                "sensor",
                file,
                sentence,
                0.5,
                (Evidence(sentence, role=column),),
                causes,
                "not a fault of the engine: mend the sensor before its channel is judged",
            )
        )
    return out


def _there(pull: Measured, what: str) -> bool:
    if what == "mixture":
        return mixture(pull) is not None
    if what == "boost":
        return boost(pull) is not None
    if what in ("heads", "exhausts"):
        name, least = {"heads": ("head_temp", 1), "exhausts": ("exhaust_temp", 2)}[what]
        return len(family(pull, name)) >= least
    return any(channel(pull, role) is not None for role in what.split("/"))


def _not_looked_at(pulls: Sequence[Measured]) -> list[str]:
    out = []
    for what, words in _WORDS.items():
        without = [p.name for p in pulls if not _there(p, what)]
        if without:
            out.append(words + ("" if len(without) == len(pulls) else f" in {', '.join(without)}"))
    if any(boost(p) is not None and _step(p) > rules_boost.FASTEST_STEP for p in pulls):
        out.append("surge: samples too far apart to show it; log at 20 a second or more")
    return [*out, BY_EYE]


def _step(pull: Measured) -> float:
    return float(pull.time[-1] - pull.time[0]) / max(pull.time.size - 1, 1)
