"""Rules on fuel and mixture: pressure over boost, lean late, rich on boost, sides that differ, voltage.

Thresholds are common practice, no source, unless a limit of the build stands behind them.
"""

from __future__ import annotations

import numpy as np

from spoolwright.dyno.causes import Evidence, Suspicion
from spoolwright.dyno.limits import Limit
from spoolwright.dyno.looking import (
    at,
    boost,
    channel,
    family,
    first,
    level,
    mixture,
    noise,
    over,
    quiet,
    rpm,
    share,
)
from spoolwright.dyno.measured import Measured

LEAN = "Lean under boost breaks pistons in seconds: lift at once, do not finish the pull to see."
_MIXTURE = {"lambda": (0.03, 0.10, 1.0), "afr": (0.45, 1.5, 14.7)}  # change that counts, serious, scale of the display


def over_boost(pull: Measured) -> np.ndarray | None:
    """Fuel pressure above the boost its regulator should follow [kPa]."""
    fuel = channel(pull, "fuel_pressure")
    if fuel is None:
        return None
    charge = boost(pull)
    return fuel if charge is None else fuel - np.maximum(charge, 0.0)


def fuel_pressure_falls(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Fuel pressure over boost falls through the pull."""
    x = over_boost(pull)
    if x is None:
        return None
    start, end = level(x, share(pull, 0.0, 0.25)), level(x, share(pull, 0.88, 1.0))
    if start is None or end is None or start <= 0.0:
        return None
    drop = (start - end) / start
    strength = over(drop, 0.08, 0.25) if start - end > max(3.0, 4.0 * noise(pull, x)) else 0.0
    if strength == 0.0:
        return None
    smooth = quiet(pull, x)
    begins = first(smooth < start - 0.35 * (start - end))
    evidence = [Evidence(f"{start:.1f} kPa over boost at the start", role="fuel_pressure", value=start, unit="kPa")]
    if begins is not None:
        evidence.append(at(pull, smooth, begins, "fuel_pressure", "kPa", "from here it falls"))
    evidence.append(at(pull, smooth, int(np.flatnonzero(np.isfinite(x))[-1]), "fuel_pressure", "kPa", "at the end"))
    against: list[str] = []
    lean = _late_change(pull)
    if lean is not None and lean[0] > 0.5 * _MIXTURE[lean[3]][0]:
        evidence.append(Evidence(f"{lean[3]} goes from {lean[1]:.3g} to {lean[2]:.3g} late in the pull", role=lean[3]))
    elif mixture(pull) is not None:
        against.append("the mixture does not go lean with it, yet")
    volts = _voltage_drop(pull)
    causes = ["pump short at pressure", "voltage drop at the pump", "filter", "return or line loss"]
    if volts is not None and volts[0] > 0.6:
        causes = ["voltage drop at the pump", "pump short at pressure", "filter", "return or line loss"]
        evidence.append(Evidence(f"{volts[2]} falls by {volts[0]:.1f} V", role=volts[2], value=volts[1], unit="V"))
    elif volts is not None:
        against.append(f"not the supply: {volts[2]} holds within {volts[0]:.1f} V")
    if boost(pull) is None:
        against.append(
            "boost is not in the log: where it rises, a regulator that follows it would hide part of the fall"
        )
    return Suspicion(
        "fuel pressure over boost falls",
        "engine",
        pull.name,
        f"fuel pressure over boost falls from {start:.0f} to {end:.0f} kPa ({100 * drop:.0f} %)",
        strength,
        tuple(evidence),
        tuple(causes),
        "log pump volts; flow test of the pump at base pressure plus boost",
        tuple(against),
        stop=True,
        caution=LEAN,
    )


def _late_change(pull: Measured) -> tuple[float, float, float, str] | None:
    """(rise late in the pull, level before, level at the end, role) of the mixture."""
    found = mixture(pull)
    if found is None:
        return None
    x, role = found
    before, end = level(x, share(pull, 0.35, 0.65)), level(x, share(pull, 0.85, 1.0))
    return None if before is None or end is None else (end - before, before, end, role)


def _voltage_drop(pull: Measured) -> tuple[float, float, str] | None:
    for role in ("pump_voltage", "battery_voltage"):
        x = channel(pull, role)
        if x is not None:
            start, end = level(x, share(pull, 0.0, 0.2)), level(x, share(pull, 0.8, 1.0))
            if start is not None and end is not None:
                return start - end, end, role
    return None


def lean_late(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """The mixture goes lean late in the pull."""
    found = _late_change(pull)
    if found is None:
        return None
    rise, before, end, role = found
    usual, serious, stoichiometric = _MIXTURE[role]
    strength = over(rise, usual, serious)
    leanest = next((one for one in limits if one.role == "lambda"), None)
    lam = end / stoichiometric
    past = leanest is not None and role == "lambda" and lam > leanest.value
    if strength == 0.0 or (not past and lam < 0.75):
        return None
    x = mixture(pull)[0]  # type: ignore[index]  # _late_change found it
    smooth = quiet(pull, x)
    begins = first((smooth > before + 0.5 * rise) & share(pull, 0.4, 1.0))
    evidence = [Evidence(f"{before:.3g} in the middle of the pull", role=role, value=before)]
    if begins is not None:
        evidence.append(at(pull, smooth, begins, role, "", "half of the change is done here"))
    evidence.append(at(pull, smooth, int(np.flatnonzero(np.isfinite(x))[-1]), role, "", "at the end"))
    if past and leanest is not None:
        evidence.append(Evidence(f"your limit is {leanest.text}", role=role, value=leanest.value))
    against: list[str] = []
    causes = ["bowl not at hat pressure", "needle and seat too small", "jets", "power circuit closed", "crushed float"]
    check = "tee a gauge bowl to hat (2 kPa matters); time the pull to lean; weigh the float"
    pressure = over_boost(pull)
    if pressure is not None:
        start, late = level(pressure, share(pull, 0.0, 0.25)), level(pressure, share(pull, 0.85, 1.0))
        if start is not None and late is not None and start - late > 0.08 * abs(start):
            causes = ["pump short at pressure", "voltage drop", "filter", "return or line loss"]
            check = "log fuel pressure over boost and pump volts; flow test at base plus boost"
            evidence.append(Evidence(f"fuel pressure over boost falls by {start - late:.0f} kPa", role="fuel_pressure"))
        elif start is not None and late is not None:
            against.append(f"fuel pressure over boost is steady ({start:.0f} and {late:.0f} kPa): not the pump")
    else:
        causes = ["fuel supply short (pump, voltage, filter, line)", *causes]
        check = "log fuel pressure over boost first, it parts supply from carburettor; then " + check
    delay = next((d for d in pull.delays if d.role in ("lambda", "afr")), None)
    if delay is not None and not delay.removed:
        against.append("the sensor's delay was not found: the change may have come up to a second earlier")
    return Suspicion(
        "lean late in the pull", "engine", pull.name, f"{role} rises from {before:.3g} to {end:.3g} late in the pull",
        max(strength, 0.9 if past else 0.0), tuple(evidence), tuple(causes), check, tuple(against), stop=True,
        caution=LEAN,
    )  # fmt: skip


def rich_on_boost(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Rich and flooding on boost."""
    found, charge = mixture(pull), boost(pull)
    if found is None or charge is None or np.nanmax(charge) < 15.0:
        return None
    x, role = found
    lam = x / (14.7 if role == "afr" else 1.0)
    on = level(lam, charge > 0.8 * np.nanmax(charge))
    if on is None:
        return None
    strength = over(-on, -0.72, -0.62)
    if strength == 0.0:
        return None
    deepest = int(np.nanargmin(quiet(pull, lam)))
    evidence = [at(pull, quiet(pull, x), deepest, role, "", "richest here")]
    against: list[str] = []
    pressure = over_boost(pull)
    if pressure is not None:
        low, high = level(pressure, charge < 0.3 * np.nanmax(charge)), level(pressure, charge > 0.8 * np.nanmax(charge))
        if low is not None and high is not None and high - low > max(4.0, 0.08 * low):
            evidence.append(Evidence(f"fuel pressure over boost rises by {high - low:.0f} kPa", role="fuel_pressure"))
        elif low is not None and high is not None:
            against.append("fuel pressure follows boost one to one: not the regulator")
    return Suspicion(
        "rich on boost", "engine", pull.name, f"lambda {on:.2f} on boost", strength, tuple(evidence),
        ("regulator rises more than 1:1", "float crushed or fuel-logged", "seat pressure too high"),
        "static rise test with air on the reference; float level", tuple(against),
    )  # fmt: skip


def sides_differ(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """One exhaust hotter or cooler than its neighbours."""
    exhausts = family(pull, "exhaust_temp")
    if len(exhausts) < 2:
        return None
    late = share(pull, 0.7, 1.0)
    ends = {role: level(x, late) for role, x in exhausts.items()}
    known = {role: v for role, v in ends.items() if v is not None}
    if len(known) < 2:
        return None
    middle = float(np.median(list(known.values())))
    odd = max(known, key=lambda r: abs(known[r] - middle))
    apart = known[odd] - middle if len(known) > 2 else max(known.values()) - min(known.values())
    strength = over(abs(apart), 45.0, 120.0)
    if strength == 0.0:
        return None
    words = "; ".join(f"{role} {v:.0f} degC" for role, v in known.items())
    hot = max(known, key=lambda r: known[r])
    name = odd if len(known) > 2 else f"{hot} against its neighbour"
    return Suspicion(
        "exhausts differ", "engine", pull.name, f"late in the pull: {words}", strength,
        (Evidence(f"{name}: {abs(apart):.0f} K apart", role=odd, value=known[odd], unit="degC"),),
        ("hat jet blowing over one vent or uneven boosters", "air leak on one side", "probe depth differs",
         "one cylinder lean, late or leaking"),
        "swap the probes; read plugs by cylinder; turn the hat, screen the vents",
        ("a probe nearer to its valve reads hotter: swap before you believe it",),
    )  # fmt: skip


def voltage_falls(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Supply voltage falls through the pull."""
    found = _voltage_drop(pull)
    if found is None:
        return None
    drop, end, role = found
    strength = 0.8 * over(drop, 0.7, 2.0)
    if strength == 0.0:
        return None
    last = int(np.flatnonzero(np.isfinite(pull.channels[role]))[-1])
    return Suspicion(
        "voltage falls", "engine", pull.name, f"{role} falls by {drop:.1f} V to {end:.1f} V", strength,
        (at(pull, pull.channels[role], last, role, "V", "at the end"),),
        ("charging short or belt slips", "thin or bad ground and feed of the pump", "pump draws more at pressure"),
        "measure volts at the pump under load; a volt less costs a pump about a tenth of its flow",
        (f"{rpm(pull)[last]:.0f} rpm is where a generator should give most",) if rpm(pull)[last] > 3000 else (),
    )  # fmt: skip
