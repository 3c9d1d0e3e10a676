"""Rules on heat: one hot head, all heads climbing (fan), oil, and the build's own limits.

Thresholds are common practice, no source, unless a limit of the build stands behind them.
"""

from __future__ import annotations

import numpy as np

from spoolwright.dyno.causes import Evidence, Suspicion
from spoolwright.dyno.limits import Limit
from spoolwright.dyno.looking import at, boost, channel, family, first, level, over, quiet, rpm, share
from spoolwright.dyno.measured import Measured

SHORT = 12.0  # s; a pull shorter than this says little about cooling (handbook of the trade)


def one_hot_head(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """One head hotter than its neighbours."""
    heads = family(pull, "head_temp")
    if len(heads) < 2:
        return None
    late, early = share(pull, 0.8, 1.0), share(pull, 0.0, 0.2)
    ends = {r: v for r, x in heads.items() if (v := level(x, late)) is not None}
    starts = {r: level(heads[r], early) for r in ends}
    if len(ends) < 2:
        return None
    hot = max(ends, key=lambda r: ends[r])
    others = [v for r, v in ends.items() if r != hot]
    excess = ends[hot] - float(np.median(others))
    strength = over(excess, 12.0, 40.0)
    if strength == 0.0:
        return None
    number = hot.rsplit("_", 1)[1]
    begun = [v for r, v in starts.items() if r != hot and v is not None]
    own = starts[hot]
    before = own - float(np.median(begun)) if own is not None and begun else None
    x = quiet(pull, heads[hot])
    last = int(np.flatnonzero(np.isfinite(x))[-1])
    evidence = [
        at(pull, x, last, hot, "degC", f"head {number} at the end"),
        Evidence(f"the others stand at {', '.join(f'{v:.0f}' for v in others)} degC", unit="degC"),
    ]
    against = []
    if before is not None:
        evidence.append(Evidence(f"at the start it was {before:+.0f} K against them", role=hot, value=before, unit="K"))
        if before > 0.8 * excess:
            against.append("the difference stands from the start and does not grow: a probe, or lasting want of air")
    if any(role in pull.dead for role in heads):
        against.append("another head's probe is dead, so the comparison is with fewer neighbours")
    return Suspicion(
        "one head hot", "engine", pull.name, f"head {number} is {excess:.0f} K hotter than its neighbours", strength,
        tuple(evidence),
        ("air short there (tin, seal, oil cooler in the way)", "lean cylinder", "tight or leaking valve", "probe"),
        "swap the probes first; smoke in the shroud; leak-down; plug of that cylinder", tuple(against),
        stop=excess > 40.0, caution="Let it cool evenly before the next pull.",
    )  # fmt: skip


def heads_climb(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """All heads climb, and faster towards the end: the fan slips or stalls."""
    heads = family(pull, "head_temp")
    if not heads:
        return None
    span = float(pull.time[-1] - pull.time[0])
    rates = []
    for x in heads.values():
        smooth = quiet(pull, x, 0.5)
        early, late = share(pull, 0.1, 0.45), share(pull, 0.6, 1.0)
        rates.append((_rate(pull, smooth, early), _rate(pull, smooth, late)))
    if any(not np.isfinite(v) for pair in rates for v in pair):
        return None
    before, after = float(np.median([r[0] for r in rates])), float(np.median([r[1] for r in rates]))
    together = all(b > a for a, b in rates)
    # With speed the fan gives more air; heads that climb faster the faster it turns point at the fan.
    strength = over(after - max(before, 0.0), 1.5, 5.0) if together and after > 2.0 else 0.0
    if strength == 0.0:
        return None
    hottest = max(heads, key=lambda r: np.nanmax(heads[r]))
    smooth = quiet(pull, heads[hottest])
    bend = first(np.gradient(smooth, pull.time) > 0.5 * (max(before, 0.0) + after), 4)
    evidence = [Evidence(f"{before:.1f} K/s early, {after:.1f} K/s late, all heads together", value=after, unit="K/s")]
    if bend is not None:
        evidence.append(at(pull, smooth, bend, hottest, "degC", "from about here they climb faster"))
    evidence.append(at(pull, smooth, smooth.size - 1, hottest, "degC", "hottest at the end"))
    against = []
    oil = channel(pull, "oil_temp")
    if oil is not None:
        rise = (level(oil, share(pull, 0.85, 1.0)) or 0.0) - (level(oil, share(pull, 0.0, 0.15)) or 0.0)
        if rise > 2.0:
            evidence.append(Evidence(f"oil follows by {rise:.0f} K", role="oil_temp", value=rise, unit="K"))
        else:
            against.append("oil does not follow (it is slow; a short pull hides it)")
    inlet = channel(pull, "air_temp")
    causes = ["fan slips or stalls", "hot air going round again", "late timing", "lean", "load held too long"]
    if inlet is not None:
        warmer = (level(inlet, share(pull, 0.85, 1.0)) or 0.0) - (level(inlet, share(pull, 0.0, 0.15)) or 0.0)
        if warmer > 5.0:
            causes = ["hot air going round again", "fan slips or stalls", "late timing", "lean", "load held too long"]
            evidence.append(Evidence(f"inlet air warms by {warmer:.0f} K", role="air_temp", value=warmer, unit="K"))
        else:
            against.append("inlet air stays cool: not its own hot air")
    if span < SHORT:
        against.append(f"{span:.0f} s say little about cooling; a hold test says more")
    charge = boost(pull)
    if charge is not None and np.nanmax(charge) > 12.0:
        against.append("heads also climb when boost comes in: compare with a pull at less boost")
    return Suspicion(
        "heads climb together", "engine", pull.name, f"all heads climb, {after:.1f} K/s at the end", strength,
        tuple(evidence), tuple(causes),
        "belt mark; inlet air temperature at the fan; hold test; strobe on the fan at full speed", tuple(against),
        stop=strength > 0.6, caution="Stop on the head limit, not on the clock.",
    )  # fmt: skip


def _rate(pull: Measured, x: np.ndarray, where: np.ndarray) -> float:
    good = where & np.isfinite(x)
    if good.sum() < 4:
        return float("nan")
    return float(np.polynomial.polynomial.polyfit(pull.time[good], x[good], 1)[1])


def past_limits(pull: Measured, limits: tuple[Limit, ...]) -> list[Suspicion]:
    """Every limit of the build that the pull passed."""
    return [found for limit in limits if (found := _past(pull, limit)) is not None]


def _past(pull: Measured, limit: Limit) -> Suspicion | None:
    channels = family(pull, limit.role)
    charge = boost(pull) if limit.role == "boost_gauge" else None
    if charge is not None:
        channels = {"boost_gauge": charge}
    worst: tuple[float, str, int] | None = None
    for role, x in channels.items():
        smooth = quiet(pull, x, 2.0)
        valid = np.isfinite(smooth)
        if limit.speed_rpm is not None:
            valid &= rpm(pull) >= limit.speed_rpm
        beyond = np.where(valid, (smooth - limit.value) * (1.0 if limit.above else -1.0), -np.inf)
        if first(beyond > 0.0, 2) is None:
            continue
        i = int(np.argmax(beyond))
        if worst is None or beyond[i] > worst[0]:
            worst = float(beyond[i]), role, i
    if worst is None:
        return None
    by, role, i = worst
    x = quiet(pull, channels[role], 2.0)
    begins = first((x - limit.value) * (1.0 if limit.above else -1.0) > 0.0, 2)
    evidence = [at(pull, x, i, role, limit.unit, "furthest beyond")]
    if begins is not None and begins != i:
        evidence.insert(0, at(pull, x, begins, role, limit.unit, "passed here"))
    span = max(abs(limit.value), 1.0)
    word = "above" if limit.above else "below"
    unit = {"degC": "K", "lambda": ""}.get(limit.unit, limit.unit)  # of a difference
    return Suspicion(
        f"{limit.meaning} past its limit", "engine", pull.name,
        f"{role.replace('_', ' ')} is {word} your limit of {limit.text} by {by:.3g} {unit}".rstrip(),
        min(1.0, 0.75 + by / span), tuple(evidence), _CAUSES.get(limit.role, ("see the other findings",)),
        "do not repeat the pull before the cause is known", stop=True,
    )  # fmt: skip


_CAUSES = {
    "engine_speed": ("lifted too late", "wrong gear or roller ratio"),
    "head_temp": ("air short", "late timing", "lean", "load held too long"),
    "exhaust_temp": ("late timing", "lean", "drive pressure high", "misfire burning in the manifold"),
    "oil_temp": ("cooler bypassed or behind hot air", "turbo heat", "level, foam"),
    "oil_pressure": ("pickup uncovered or foam", "oil too hot", "relief valve", "clearance grown in a light case"),
    "charge_temp": ("compressor out of its efficient range", "cooler blocked or none", "boost higher than meant"),
    "boost_gauge": ("creep, spike or a torn diaphragm", "spring stronger than its label"),
    "lambda": ("fuel supply short", "bowl not at hat pressure", "jets"),
}


def oil_hot_heads_fine(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Oil climbs quickly while the heads do not."""
    oil, heads = channel(pull, "oil_temp"), family(pull, "head_temp")
    if oil is None or not heads:
        return None
    span = float(pull.time[-1] - pull.time[0])
    rise = (level(oil, share(pull, 0.85, 1.0)) or 0.0) - (level(oil, share(pull, 0.0, 0.15)) or 0.0)
    heads_rise = max(
        (level(x, share(pull, 0.85, 1.0)) or 0.0) - (level(x, share(pull, 0.0, 0.15)) or 0.0) for x in heads.values()
    )
    strength = 0.8 * over(rise / max(span, 1.0), 0.6, 2.0) if heads_rise < rise else 0.0
    if strength == 0.0:
        return None
    return Suspicion(
        "oil heats, heads do not", "engine", pull.name,
        f"oil rises {rise:.0f} K in {span:.0f} s, heads {heads_rise:.0f} K", strength,
        (at(pull, oil, int(np.flatnonzero(np.isfinite(oil))[-1]), "oil_temp", "degC", "at the end"),),
        ("cooler bypassed", "cooler behind hot air", "too much turbo heat", "foam"),
        "drop across the cooler; level; drain temperature",
    )  # fmt: skip
