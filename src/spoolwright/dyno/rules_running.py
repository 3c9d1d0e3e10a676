"""Rules on running: knock, misfire under boost, crankcase, oil pressure, slip, noisy torque, pulls that drift.

Thresholds are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from spoolwright.dyno.causes import Evidence, Suspicion
from spoolwright.dyno.compare import ALIKE, repeats
from spoolwright.dyno.limits import Limit
from spoolwright.dyno.looking import at, boost, channel, first, level, mixture, noise, over, quiet, rpm, share
from spoolwright.dyno.measured import Measured
from spoolwright.errors import BadInput

KNOCK = "Stop. Knock that is heard or logged once is there in every cylinder a little later."


def knock(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """The knock channel rises out of its own background."""
    x = channel(pull, "knock")
    if x is None:
        return None
    good = x[np.isfinite(x)]
    base = float(np.quantile(good, 0.4))
    spread = max(1.4826 * float(np.median(np.abs(good[good <= np.quantile(good, 0.7)] - base))), noise(pull, x), 1e-9)
    count = bool(np.all(good == np.round(good)) and good.min() >= 0.0 and base == 0.0)
    # A count of events is knock from one on; a level must leave its background, which itself grows with speed.
    limit = 0.5 if count else max(base + 8.0 * spread, 1.8 * base)
    events = np.nan_to_num(x, nan=-np.inf) > limit
    if not events.any():
        return None
    begins = int(np.flatnonzero(events)[0])
    top = int(np.nanargmax(x))
    strength = 0.7 + 0.3 * min(1.0, float(events.sum()) / 5.0)
    evidence = [at(pull, x, begins, "knock", "", "first here")]
    if top != begins:
        evidence.append(at(pull, x, top, "knock", "", "strongest here"))
    against = []
    if events.sum() == 1:
        against.append("one sample only: may be a spark or a stone; ears and plugs decide")
    loud = quiet(pull, x)
    if not count and np.corrcoef(rpm(pull)[np.isfinite(loud)], loud[np.isfinite(loud)])[0, 1] > 0.95:
        against.append("the channel grows evenly with speed, as engine noise does")
    charge, found = boost(pull), mixture(pull)
    if charge is not None:
        there = float(charge[begins])
        evidence.append(Evidence(f"boost {there:.0f} kPa there", role="boost_gauge", value=there))
    if found is not None and np.isfinite(found[0][begins]):
        there = float(found[0][begins])
        evidence.append(Evidence(f"{found[1]} {there:.3g} there", role=found[1], value=there))
    spark = channel(pull, "spark_advance")
    if spark is not None and np.isfinite(spark[begins]):
        evidence.append(Evidence(f"spark {spark[begins]:.0f} deg before top centre there", role="spark_advance"))
    return Suspicion(
        "knock", "engine", pull.name, f"knock channel leaves its background in {int(events.sum())} samples", strength,
        tuple(evidence),
        ("fuel", "timing early", "charge temperature", "lean cylinder", "oil in the charge"),
        "read the plugs (specks, strap mark); back off 2 deg; better fuel; charge temperature", tuple(against),
        stop=True, caution=KNOCK,
    )  # fmt: skip


def misfire(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Speed jerks and the mixture reads lean in bursts under boost."""
    x = boost(pull)
    if x is None or np.nanmax(x) < 12.0:
        return None
    jerk = _bursts(pull, "engine_speed")
    if jerk is None:
        return None
    on, off = x > 0.6 * np.nanmax(x), x < 0.35 * np.nanmax(x)
    loud, still = level(jerk, on), level(jerk, off)
    if loud is None or still is None:
        return None
    rough = float(np.nanquantile(jerk[on], 0.8))
    usual_jerk = max(still, 8e-4 * float(np.nanmedian(pull.channels["engine_speed"])))
    strength = over(rough / usual_jerk, 3.0, 8.0)
    found = mixture(pull)
    evidence = []
    against = []
    worst = int(np.nanargmax(np.where(on, jerk, np.nan)))
    lean = None
    if found is not None:
        bursts = _bursts(pull, found[1])
        if bursts is not None:
            quiet_part, high = level(bursts, off), float(np.nanquantile(bursts[on], 0.8))
            usual = {"lambda": 0.012, "afr": 0.18}[found[1]]
            lean = quiet_part is not None and high > 3.0 * max(quiet_part, usual)
    if strength == 0.0:
        return None
    evidence.append(at(pull, jerk, worst, "engine_speed", "rpm", "speed jerks by"))
    evidence.append(Evidence(f"{still:.1f} rpm off boost", role="engine_speed", value=still, unit="rpm"))
    if lean and found is not None:
        evidence.append(Evidence("the mixture reads in bursts with it: unburned oxygen, not lean fuel", role=found[1]))
        strength = min(1.0, strength + 0.2)
    elif found is not None:
        against.append("the mixture does not show it (a slow sensor may not)")
    if pull.slip_found:
        against.append("tyre or clutch slip jerks the speed as well")
    return Suspicion(
        "misfire under boost", "engine", pull.name, f"engine speed jerks by ±{rough:.0f} rpm on boost", strength,
        tuple(evidence),
        ("gap too wide", "coil short of dwell or volts", "crossed leads", "wet plugs"),
        "gap down 0.1 mm; coil current at top speed; leads in the dark", tuple(against),
        caution="Do not trust the mixture while it misfires; fix the spark first.",
    )  # fmt: skip


def _bursts(pull: Measured, role: str) -> np.ndarray | None:
    """Rough part of a channel: its deviation about its smooth curve, over a quarter of a second."""
    x = channel(pull, role)
    if x is None:
        return None
    step = float(np.median(np.diff(pull.time)))
    rest = x - quiet(pull, x, min(2.0, 0.15 / step))
    n = max(5, round(0.4 / step))
    return np.sqrt(np.convolve(np.nan_to_num(rest) ** 2, np.ones(n) / n, mode="same"))


def crankcase(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Crankcase pressure jumps."""
    x = channel(pull, "crankcase_pressure")
    if x is None:
        return None
    smooth = quiet(pull, x)
    start = level(smooth, share(pull, 0.0, 0.25))
    if start is None:
        return None
    top = int(np.nanargmax(smooth))
    rise = float(smooth[top]) - start
    strength = over(rise, 1.5, 6.0)
    if strength == 0.0:
        return None
    begins = first(smooth > start + 0.5 * rise)
    evidence = [at(pull, smooth, begins if begins is not None else top, "crankcase_pressure", "kPa", "it rises here"),
                at(pull, smooth, top, "crankcase_pressure", "kPa", "highest here")]  # fmt: skip
    slope = np.gradient(smooth, pull.time)
    sudden = float(np.nanmax(slope)) > 4.0 * rise / max(float(pull.time[-1] - pull.time[0]), 0.1)
    against = [] if sudden else ["it rises evenly with load: breather too small rather than a ring"]
    return Suspicion(
        "crankcase pressure rises", "engine", pull.name, f"crankcase pressure rises by {rise:.1f} kPa",
        strength if sudden else 0.7 * strength, tuple(evidence),
        ("ring, land or piston going", "ring gap too small", "breather too small or blocked"),
        "stop; leak-down on every cylinder", tuple(against), stop=sudden,
    )  # fmt: skip


def oil_pressure_falls(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Oil pressure falls while speed rises."""
    x = channel(pull, "oil_pressure")
    if x is None:
        return None
    smooth = quiet(pull, x)
    top = int(np.nanargmax(smooth))
    end = level(smooth, share(pull, 0.92, 1.0))
    if end is None or rpm(pull)[-1] < 1.1 * rpm(pull)[top]:
        return None
    drop = 1.0 - end / float(smooth[top])
    strength = over(drop, 0.12, 0.35)
    if strength == 0.0:
        return None
    return Suspicion(
        "oil pressure falls with speed", "engine", pull.name,
        f"oil pressure falls by {100 * drop:.0f} % while speed rises", strength,
        (at(pull, smooth, top, "oil_pressure", "kPa", "highest here"),
         at(pull, smooth, smooth.size - 1, "oil_pressure", "kPa", "at the end")),
        ("pickup uncovered or foam", "pump cavitates", "relief valve sticks open", "oil thins quickly"),
        "level and foam right after the pull; pressure against temperature over days", stop=True,
        caution="Bearings last seconds without pressure.",
    )  # fmt: skip


def slip(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Engine and roller do not stay in step."""
    if not pull.slip_found or "roller_speed" not in pull.channels:
        return None
    each = pull.channels["engine_speed"] / pull.channels["roller_speed"]
    worst = int(np.nanargmax(np.abs(each / np.nanmedian(each) - 1.0)))
    return Suspicion(
        "tyre or clutch slips", "dyno", pull.name,
        f"engine over roller speed goes from {np.nanmin(each):.3f} to {np.nanmax(each):.3f}", 0.5,
        (at(pull, each, worst, "engine_speed", "", "furthest from the middle"),),
        ("tyre on the roller", "clutch", "strap that lets the car walk"),
        "strap and tyre pressure; mark on the tyre; pull in another gear",
    )  # fmt: skip


def jumpy(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """The torque figure is noise."""
    if not pull.has_torque:
        return None
    share_ = float(np.nanmedian(pull.noise / np.maximum(np.abs(pull.torque), 1e-9)))
    strength = 0.5 * over(share_, 0.02, 0.08)
    if strength == 0.0:
        return None
    return Suspicion(
        "torque is noisy", "dyno", pull.name, f"torque is known to ±{200 * share_:.0f} % from sample to sample",
        strength, (Evidence(f"bandwidth {pull.bandwidth:g} Hz", value=pull.bandwidth, unit="Hz"),),
        ("raw speed differentiated", "speed pickup with few teeth", "bandwidth too wide"),
        "take a narrower bandwidth, show the raw beside it; more teeth on the pickup",
    )  # fmt: skip


def drifting(pulls: Sequence[Measured]) -> list[Suspicion]:
    """Like pulls of one session that differ, with what went along with it."""
    pulls = [p for p in pulls if p.has_torque]
    if len(pulls) < 2 or len({p.place for p in pulls}) > 1:
        return []
    try:
        like = repeats(pulls)
    except BadInput:
        return []
    middle = float(np.median(like.spread))
    if middle <= ALIKE:
        return []
    a, b = pulls[0], pulls[-1]
    change = float(np.median(like.values[-1] / like.values[0] - 1.0))
    evidence = [Evidence(f"{a.name} to {b.name}: {100 * change:+.1f} % of torque (middle of the range)", value=change)]
    speeds = like.speeds_rpm
    moved = {}
    for role, unit, least in (("exhaust_temp_1", "K", 12.0), ("head_temp_1", "K", 8.0), ("charge_temp", "K", 6.0),
                              ("lambda", "", 0.012), ("boost_gauge", "kPa", 3.0), ("oil_temp", "K", 8.0)):  # fmt: skip
        if role in a.channels and role in b.channels:
            d = float(np.nanmedian(b.over(b.channels[role], speeds) - a.over(a.channels[role], speeds)))
            moved[role] = d if abs(d) > least else 0.0
            if abs(d) > least:
                evidence.append(Evidence(f"{role} {d:+.3g} {unit}".rstrip(), role=role, value=d, unit=unit))
    name = "like pulls differ"
    causes: tuple[str, ...] = ("heat", "tyre", "strap", "fuel temperature", "boost control")
    check = "repeat until two agree; start temperatures equal"
    exhaust, head = moved.get("exhaust_temp_1", 0.0), moved.get("head_temp_1", 0.0)
    same_mixture = "lambda" in moved and moved["lambda"] == 0.0
    if change < -ALIKE and exhaust > 0.0 and same_mixture:
        name, causes = "power falls, exhaust hotter", ("timing late (latency, slipped trigger)", "drive pressure high")
        check = "strobe at 1500 and 5000 rpm; exhaust pressure tap"
    elif change < -ALIKE and exhaust < 0.0 and head > 0.0:
        name, causes = "power falls, exhaust cooler, head hotter", ("timing early", "knock beginning")
        check = "plug strap mark; ear or sensor; back off 2 deg"
    return [
        Suspicion(name, "engine", f"{a.name} to {b.name}", f"like pulls differ by {100 * middle:.1f} %",
                  over(middle, ALIKE, 0.06), tuple(evidence), causes, check)
    ]  # fmt: skip
