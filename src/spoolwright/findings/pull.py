"""Findings of a pull: what the run says about limits, knock, filling, cylinders, and about itself.

Numbers are the run's own columns; each working names the model they come from and the numbers behind them. Points
that did not settle are no results: they are told and left out of every other judgement.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from spoolwright import __version__
from spoolwright.engine.pull import Pull
from spoolwright.errors import BadInput
from spoolwright.findings import pull_boost, pull_charge, pull_limits, pull_turbo, valves
from spoolwright.findings.judging import missing
from spoolwright.findings.model import Finding, as_json, by_urgency
from spoolwright.findings.pull_reading import rpm_of, settled
from spoolwright.sheet import Sheet


def judge(pull: Pull, sheet: Sheet) -> list[Finding]:
    """All findings of a pull of ``sheet``, worst first; a subject that cannot be judged says why."""
    found: list[Finding] = []
    for subject, ask_it in JUDGES.items():
        try:
            found += ask_it(pull, sheet)
        except BadInput as trouble:
            found.append(missing(subject, f"Cannot be judged: {' '.join(str(trouble).split())}", ""))
    return by_urgency(found)


def report(pull: Pull, sheet: Sheet, findings: Sequence[Finding], cancelled: bool = False) -> dict[str, Any]:
    """The JSON of ``spoolwright pull``: columns in their own units, everything else in SI."""
    return {
        "build": pull.build,
        "variant": pull.variant,
        "set": list(sheet.sets),
        "digest": pull.digest,
        "program_version": __version__,
        "speeds_asked_rpm": list(pull.asked),
        "cancelled": cancelled,
        "assumed": [{"path": path, "value": text, "reason": reason} for path, text, reason in pull.assumed],
        "points": [
            {**point.columns, "trouble": point.trouble, "cylinders": point.per_cylinder} for point in pull.points
        ],
        "findings": [as_json(one) for one in findings],
    }


def convergence(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Whether every speed settled; what each that did not says of itself."""
    bad = [point for point in pull.points if not point.columns["converged"]]
    for point in bad:
        yield missing(
            f"convergence at {rpm_of(point):.0f} rpm",
            f"{point.trouble[:1].upper()}{point.trouble[1:]}. Its numbers are no results; nothing was judged by them.",
            "",
            change_first="Run it with neighbouring speeds; look for a pipe, lift or flow table in a wrong unit.",
        )
    good = settled(pull)
    if good:
        cycles = [point.columns["cycles"] for point in good]
        energy = max(point.columns["energy_closure"] for point in good)
        yield Finding(
            "convergence",
            "sound",
            f"{len(good)} of {len(pull.points)} speeds settled, after {max(cycles)} cycles at most. "
            f"Energy closes to {energy:.0e} of the fuel's.",
            working="Settled: trapped mass, work, mass and energy in the ducts change by less than 2e-4 from cycle to "
            "cycle, twice running\nSource: theory, engine",
        )


def valve_to_piston(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """From the sheet, as `check` judges it: a pull is no pull if the valves meet the pistons."""
    yield from valves.valve_to_piston(sheet)


JUDGES: dict[str, Callable[[Pull, Sheet], Iterator[Finding]]] = {
    "convergence": convergence,
    "engine speed": pull_limits.top_speed,
    "mean piston speed": pull_limits.piston_speed,
    "knock": pull_charge.knock,
    "peak cylinder pressure": pull_limits.peak_pressure,
    "exhaust temperature": pull_limits.exhaust_temperature,
    "mixture": pull_limits.mixture,
    "head temperature": pull_limits.head,
    "charge between cylinders": pull_charge.cylinders,
    "volumetric efficiency": pull_charge.filling,
    "burn": pull_charge.burn,
    "valve to piston": valve_to_piston,
    "boost": pull_boost.most_boost,
    "boost over speed": pull_boost.boost_over_speed,
    "spring force": pull_boost.spring,
    "boost hose off": pull_boost.hose_off,
    "surge": pull_turbo.surge,
    "choke": pull_turbo.choke,
    "turbo speed": pull_turbo.shaft_speed,
    "drive pressure over boost": pull_turbo.drive_pressure,
    "turbine inlet temperature": pull_turbo.turbine_temperature,
    "charge temperature": pull_turbo.charge_temperature,
    "shaft balance": pull_turbo.shaft_balance,
    "compressor map": pull_turbo.compressor_map,
}
