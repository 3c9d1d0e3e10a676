"""Rules on boost: creep, spike, loss, surge, drive pressure.

Thresholds are common practice, no source, unless a limit of the build stands behind them.
"""

from __future__ import annotations

import numpy as np

from spoolwright.dyno.causes import Evidence, Suspicion
from spoolwright.dyno.limits import Limit
from spoolwright.dyno.looking import at, boost, channel, level, noise, over, quiet, rpm, share
from spoolwright.dyno.measured import Measured

LEAST = 12.0  # kPa of boost below which nothing is judged
ROUGH = 4.0  # times the usual noise
FASTEST_STEP = 0.067  # s; slower logs cannot show an oscillation of surge


def _risen(pull: Measured, smooth: np.ndarray) -> int | None:
    """Where boost has come up: its rise falls below a quarter of its steepest after that."""
    slope = np.gradient(smooth, pull.time)
    steep = int(np.nanargmax(slope))
    top = float(slope[steep])
    span = float(np.nanmax(smooth) - np.nanmin(smooth))
    if top <= 0.0 or span < LEAST:
        return None
    after = np.flatnonzero((slope < 0.25 * top) & (np.arange(slope.size) > steep))
    return int(after[0]) if after.size else None


def creep(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Boost rises with speed after it has come up."""
    x = boost(pull)
    if x is None or np.nanmax(x) < LEAST:
        return None
    smooth = quiet(pull, x)
    knee = _risen(pull, smooth)
    if knee is None or pull.time[-1] - pull.time[knee] < 0.25 * (pull.time[-1] - pull.time[0]):
        return None
    held = smooth[knee:]
    k = max(3, held.size // 10)
    start, end = float(np.nanmedian(held[:k])), float(np.nanmedian(held[-k:]))
    rise = end - start
    steady = np.gradient(held, pull.time[knee:]) > 0.0
    strength = over(rise, max(4.0, 0.07 * start), max(18.0, 0.3 * start)) if steady.mean() > 0.7 else 0.0
    if strength == 0.0:
        return None
    limit = next((one for one in limits if one.role == "boost_gauge"), None)
    evidence = [
        at(pull, smooth, knee, "boost_gauge", "kPa", "boost has come up here"),
        at(pull, smooth, smooth.size - 1, "boost_gauge", "kPa", "and here at the end"),
    ]
    if limit is not None:
        evidence.append(Evidence(f"your limit is {limit.text}", role="boost_gauge", value=limit.value, unit="kPa"))
    against = []
    drive = channel(pull, "exhaust_pressure")
    if drive is not None:
        first_, last = level(drive, share(pull, 0.4, 0.6)), level(drive, share(pull, 0.85, 1.0))
        if first_ is not None and last is not None and last < 1.05 * first_:
            against.append("exhaust pressure does not rise with it")
    return Suspicion(
        "boost creep", "engine", pull.name, f"boost rises from {start:.0f} to {end:.0f} kPa with speed", strength,
        tuple(evidence),
        ("gate too small or off the gas path", "dump joins badly", "freer exhaust has raised the flow",
         "gate opens only part of its travel"),
        "measure gate travel and bypass share; pressure in the dump", tuple(against),
        stop=limit is not None and end > limit.value,
        caution="What holds at this speed will not hold at the next: stop short of the limit until the gate is mended.",
    )  # fmt: skip


def spike(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Boost overshoots, then settles."""
    x = boost(pull)
    if x is None or np.nanmax(x) < LEAST:
        return None
    step = float(np.median(np.diff(pull.time)))
    smooth = quiet(pull, x, min(3.0, 0.3 / step))
    top = int(np.nanargmax(smooth))
    late = share(pull, 0.7, 1.0)
    settled = level(smooth, late)
    if settled is None or settled < max(LEAST, 0.5 * float(smooth[top])) or not 0.05 < (top + 1) / smooth.size < 0.65:
        return None
    excess = float(smooth[top]) - settled
    # A slow fall to the end is loss, not a spike: a spike is gone within a quarter of the pull.
    span = pull.time[-1] - pull.time[0]
    gone = (pull.time > pull.time[top]) & (pull.time < pull.time[top] + 0.25 * span)
    back = gone.any() and float(np.nanmin(smooth[gone])) < settled + 0.35 * excess
    strength = over(excess, max(5.0, 0.08 * settled), max(25.0, 0.35 * settled)) if back else 0.0
    if strength == 0.0:
        return None
    limit = next((one for one in limits if one.role == "boost_gauge"), None)
    against = ["a log this slow may have missed the top of it"] if step > 0.04 else []
    return Suspicion(
        "boost spike", "engine", pull.name, f"boost goes to {smooth[top]:.0f} kPa and settles at {settled:.0f} kPa",
        strength,
        (at(pull, smooth, top, "boost_gauge", "kPa", "the top"),
         Evidence(f"settled at {settled:.0f} kPa", role="boost_gauge", value=settled, unit="kPa")),
        ("slow reference, long hose to the gate", "sticky gate", "controller adjusted too fast"),
        "shorten the hose; move the gate by hand; log at 100 samples a second", tuple(against),
        stop=limit is not None and float(smooth[top]) > limit.value,
        caution="Knock comes with the spike, not with the settled boost.",
    )  # fmt: skip


def loss(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Boost falls late in the pull, or breaks off."""
    x = boost(pull)
    if x is None or np.nanmax(x) < LEAST:
        return None
    smooth = quiet(pull, x)
    top = int(np.nanargmax(smooth))
    k = max(3, smooth.size // 12)
    end = float(np.nanmedian(smooth[-k:]))
    fall = float(smooth[top]) - end
    span = pull.time[-1] - pull.time[0]
    slow = pull.time[-1] - pull.time[top] > 0.12 * span
    strength = over(fall, max(5.0, 0.1 * smooth[top]), max(25.0, 0.4 * smooth[top])) if slow else 0.0
    if strength == 0.0 or spike(pull, limits) is not None:
        return None
    steepest = float(np.nanmin(np.gradient(smooth, pull.time)))
    sudden = -steepest > 3.0 * fall / max(pull.time[-1] - pull.time[top], 0.1)
    causes: tuple[str, ...] = ("gate blown open by exhaust pressure, weak spring", "leak or torn diaphragm",
                               "compressor at choke", "filter pull")  # fmt: skip
    check = "force balance with drive pressure; smoke or pressure test; pull before the compressor"
    if sudden:
        causes = ("hose off", "cracked pipe", "turbine rubbing")
        check = "pressure test; shaft play"
    against = []
    if any(r.startswith("exhaust_temp") for r in pull.channels):
        hot = [level(v, share(pull, 0.9, 1.0)) for r, v in pull.channels.items() if r.startswith("exhaust_temp")]
        against.append(
            f"exhaust at the end {', '.join(f'{h:.0f}' for h in hot if h is not None)} degC"
        ) if sudden else None
    return Suspicion(
        "boost lost" if sudden else "boost falls with speed", "engine", pull.name,
        f"boost falls from {smooth[top]:.0f} to {end:.0f} kPa", strength,
        (at(pull, smooth, top, "boost_gauge", "kPa", "highest here"),
         at(pull, smooth, smooth.size - 1, "boost_gauge", "kPa", "at the end")),
        causes, check, tuple(against), stop=sudden,
    )  # fmt: skip


def surge(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Boost beats: the compressor surges."""
    x = boost(pull)
    step = float(np.median(np.diff(pull.time)))
    if x is None or np.nanmax(x) < LEAST or step > FASTEST_STEP:
        return None
    rest = x - quiet(pull, x, min(2.0, 0.1 / step))
    n = max(8, round(0.5 / step))
    if rest.size < 3 * n:
        return None
    rough = np.sqrt(np.convolve(np.nan_to_num(rest) ** 2, np.ones(n) / n, mode="same"))
    usual = float(np.quantile(rough, 0.3))
    at_ = int(np.argmax(rough))
    amplitude = 1.4 * float(rough[at_])
    window = slice(max(at_ - n // 2, 0), at_ + n // 2)
    turns = int(np.sum(np.diff(np.sign(np.nan_to_num(rest[window]))) != 0))
    if rough[at_] < ROUGH * max(usual, 0.5 * noise(pull, x)) or turns < 4:
        return None
    strength = over(amplitude, 2.0, 10.0)
    if strength == 0.0:
        return None
    rate = turns / (2.0 * n * step)
    against = []
    speed = pull.channels.get("engine_speed")
    if speed is not None and np.isfinite(speed[window]).all():
        jerk = float(np.std(np.diff(speed[window], n=2)))
        if jerk < 12.0:
            against.append("engine speed does not jerk with it: not a misfire")
    return Suspicion(
        "compressor surge", "engine", pull.name,
        f"boost beats by ±{amplitude:.0f} kPa, about {rate:.0f} times a second", strength,
        (at(pull, x, at_, "boost_gauge", "kPa", "strongest here"),),
        ("compressor too large at this speed", "throttle shut with no relief valve or too stiff a one",
         "large volume between compressor and throttle"),
        "relief valve size and spring; matching at this flow", tuple(against), stop=strength > 0.6,
        caution="Surge wears the thrust bearing within minutes.",
    )  # fmt: skip


def drive_pressure(pull: Measured, limits: tuple[Limit, ...]) -> Suspicion | None:
    """Exhaust pressure before the turbine much above boost."""
    drive, x = channel(pull, "exhaust_pressure"), boost(pull)
    if drive is None or x is None or np.nanmax(x) < 20.0:
        return None
    on = x > 0.7 * np.nanmax(x)
    ratio = level(drive / np.maximum(x, 1.0), on)
    if ratio is None:
        return None
    strength = 0.8 * over(ratio, 2.0, 3.5)
    if strength == 0.0:
        return None
    worst = int(np.nanargmax(np.where(on, drive, np.nan)))
    return Suspicion(
        "drive pressure high", "engine", pull.name, f"exhaust pressure is {ratio:.1f} times boost", strength,
        (at(pull, drive, worst, "exhaust_pressure", "kPa", f"highest here, at {rpm(pull)[worst]:.0f} rpm"),),
        ("turbine housing too small", "exhaust behind the turbine narrow", "gate that does not pass its share"),
        "pressure behind the turbine; gate travel; matching of the turbine",
        ("a tap that sees the pulses reads above the mean",),
    )  # fmt: skip
