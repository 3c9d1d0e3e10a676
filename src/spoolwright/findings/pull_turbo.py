"""Findings of a boosted pull about the machines: surge, choke, speed, drive pressure, temperatures, shaft, maps."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi, sqrt

from spoolwright import units
from spoolwright.boost.rows import K_M_HIGH
from spoolwright.constants import GAMMA_AIR, R_AIR
from spoolwright.engine.pull import Pull
from spoolwright.engine.turbo import turbo
from spoolwright.findings.asking import PRACTICE
from spoolwright.findings.judging import Question, own, practice, unit_at
from spoolwright.findings.model import Finding, Verdict
from spoolwright.findings.pull_reading import BOOST_MODEL as MODEL
from spoolwright.findings.pull_reading import highest, judged, known, least, rpm_of, run_working, spans
from spoolwright.sheet import Sheet

LEAST_SURGE_MARGIN = "10 %"  # pulses and a closing throttle need it
LEAST_CHOKE_MARGIN = "5 %"
SURGE_TIME = 0.02  # share of the cycle left of the line that is worth a run with the flow as a state
MOST_DRIVE = "2"  # drive pressure over boost
OFF_BOOST = 15.0  # kPa; below it the ratio says nothing
WARM_CHARGE = "80 degC"
CLOSURE = 0.002  # of the compressor's power
FIT = 0.05  # distance of a map's worst point from its fit that is told
SURGE = "Surge hammers the thrust bearing and the blades; do not hold the engine there."
BURST = "A wheel that bursts leaves its housing. Do not exceed its speed."


def surge(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Flow over the surge line's at the same pressure ratio, and the share of a cycle spent left of it."""
    point = least(pull, "surge_margin")
    if point is None:
        return
    margin = point.columns["surge_margin"]
    longest = max(known(pull, "surge_side_time"), key=lambda p: p.columns["surge_side_time"], default=None)
    share = 0.0 if longest is None else longest.columns["surge_side_time"]
    wanted = units.read(LEAST_SURGE_MARGIN, "share").value
    where = f"at {rpm_of(point):.0f} rpm"
    verdict: Verdict = "sound"
    if margin < 0.0:
        verdict, told = "stop", f"{where} the mean flow is {-100 * margin:.0f} % left of the surge line"
    elif margin < wanted:
        verdict, told = "watch", f"{where} the flow is only {100 * margin:.0f} % right of the surge line"
    else:
        told = f"{100 * margin:.0f} % right of the surge line at least, {where}"
    if longest is not None and share > SURGE_TIME:
        back = longest.columns["reverse_flow_time"]
        if verdict == "sound" and back != 0.0:
            verdict = "watch"
        told += f"; pulses bring it to the surge side for {100 * share:.0f} % of the cycle at {rpm_of(longest):.0f} rpm"
        told += _let_free(back, margin >= wanted)
    working = run_working(
        "Surge margin", point, MODEL, "boost", "corrected_flow_kg_s", "pressure_ratio", "surge_margin",
        "surge_side_time", "turbo_speed_rpm",
    )  # fmt: skip
    yield Finding(
        "surge",
        verdict,
        f"{told[:1].upper()}{told[1:]}.",
        "charge.compressor",
        "share",
        margin,
        f"{100 * margin:.0f} %",
        wanted,
        LEAST_SURGE_MARGIN,
        margin=margin - wanted,
        working=working,
        resting_on=PRACTICE,
        caution="" if verdict == "sound" else SURGE,
        change_first="" if verdict == "sound" else _more_room(margin >= wanted),
    )


def _more_room(roomy: bool) -> str:
    if roomy:
        return "More volume between compressor and engine, to even out the pulses."
    return "Less boost there, a smaller compressor, or a larger turbine."


def _let_free(back: float | None, roomy: bool) -> str:
    """What became of the speed longest on the surge side when its gas was run with its inertia."""
    if back is None:
        return ""
    if back == 0.0:
        return ", but let free to swing the gas does not run backwards there"
    what = "the engine's own pulses do that, listen for surge" if roomy else "it surges"
    return f", and let free to swing the gas runs backwards there for {100 * back:.0f} % of the time: {what}"


def choke(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Flow left to where the wheel gives no more pressure at its speed; 5 % is little."""
    point = least(pull, "choke_margin")
    if point is None:
        return
    q = Question(
        "choke",
        "share",
        "%",
        low=practice(LEAST_CHOKE_MARGIN, "share"),
        digits=2,
        note=f"Least at {rpm_of(point):.0f} rpm.",
        change_first="A larger compressor, or less speed and boost at the top.",
    )
    working = run_working(
        "Choke margin", point, MODEL, "boost", "corrected_flow_kg_s", "pressure_ratio", "choke_margin",
        "compressor_efficiency",
    )  # fmt: skip
    yield from judged(q, point.columns["choke_margin"], "charge.compressor", working)


def shaft_speed(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Highest shaft speed against `charge.compressor.speed_limit`."""
    path = "charge.compressor.speed_limit"
    if not known(pull, "turbo_speed_rpm") or not sheet.has(path):
        return
    point = highest(pull, "turbo_speed_rpm")
    assert point is not None
    tip = point.columns["tip_speed_m_s"]
    past = spans(pull, lambda p: p.columns["turbo_speed_rpm"] * pi / 30.0 > sheet.value(path))
    q = Question(
        "turbo speed",
        "rotational_speed",
        "rpm",
        high=own(sheet, path),
        near=0.03,
        digits=4,
        note=f"At {rpm_of(point):.0f} rpm of the engine"
        + (f", a tip speed of {tip:.0f} m/s." if tip is not None else ".")
        + (f" Past it {past}." if past else ""),
        caution=BURST,
        change_first="Less boost, or a larger compressor wheel; thin air raises it further.",
    )
    working = run_working(
        "Turbo speed", point, MODEL, "boost", "turbo_speed_rpm", "tip_speed_m_s", "pressure_ratio",
        "corrected_flow_kg_s", "shaft_closure",
    )  # fmt: skip
    yield from judged(q, point.columns["turbo_speed_rpm"] * pi / 30.0, path, working)


def drive_pressure(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Drive pressure over boost, both gauge: near 1 is good, 1.5 common, 2 a small turbine."""
    able = [p for p in known(pull, "drive_pressure_ratio") if (p.columns["boost_kPa"] or 0.0) > OFF_BOOST]
    if not able:
        return
    point = max(able, key=lambda p: p.columns["drive_pressure_ratio"])
    q = Question(
        "drive pressure over boost",
        "number",
        "1",
        high=practice(MOST_DRIVE, "number"),
        digits=3,
        note=f"Highest at {rpm_of(point):.0f} rpm; near 1 is good, 1.5 common ({PRACTICE}).",
        change_first="A larger turbine housing or a freer tail.",
    )
    working = run_working(
        "Drive pressure over boost", point, MODEL, "boost", "drive_pressure_ratio", "turbine_inlet_pressure_kPa",
        "expansion_ratio", "turbine_efficiency", "residual",
    )  # fmt: skip
    yield from judged(q, point.columns["drive_pressure_ratio"], "turbine", working)


def turbine_temperature(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Gas before the turbine against `limits.max_exhaust_temperature`."""
    path, limit = "limits.max_exhaust_temperature", own(sheet, "limits.max_exhaust_temperature")
    if not known(pull, "turbine_inlet_temperature_K") or limit is None:
        return
    point = highest(pull, "turbine_inlet_temperature_K")
    assert point is not None
    past = spans(pull, lambda p: (p.columns["turbine_inlet_temperature_K"] or 0.0) > limit.value)
    q = Question(
        "turbine inlet temperature",
        "temperature",
        unit_at(sheet, path, "degC"),
        high=limit,
        near=0.02,
        digits=3,
        note=f"At {rpm_of(point):.0f} rpm, mean of the flow; a thermocouple reads lower."
        + (f" Past it {past}." if past else ""),
        caution="Too hot a gas burns valves, cracks housings and stretches turbine wheels.",
        change_first="Earlier spark where knock leaves room, then a richer mixture.",
    )
    working = run_working(
        "Turbine inlet temperature", point, MODEL, "boost", "turbine_inlet_temperature_K", "exhaust_temperature_K",
        "lambda", "mfb50_deg",
    )  # fmt: skip
    yield from judged(q, point.columns["turbine_inlet_temperature_K"], path, working)


def charge_temperature(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Charge behind compressor and cooler, before fuel, against `limits.max_charge_temperature`, else 80 degC."""
    path = "limits.max_charge_temperature"
    if not known(pull, "charge_temperature_K"):
        return
    point = highest(pull, "charge_temperature_K")
    assert point is not None
    out = point.columns["compressor_outlet_temperature_K"]
    from_wheel = "" if out is None else f", {units.show(out, 'temperature', 'degC', 3)} behind the compressor"
    q = Question(
        "charge temperature",
        "temperature",
        unit_at(sheet, path, "degC"),
        high=own(sheet, path) or practice(WARM_CHARGE, "temperature"),
        near=0.01,
        digits=3,
        note=f"At {rpm_of(point):.0f} rpm, before fuel joins{from_wheel}.",
        caution="Hot charge knocks.",
        change_first="A cooler, or less boost.",
    )
    working = run_working(
        "Charge temperature", point, MODEL, "boost", "charge_temperature_K", "compressor_outlet_temperature_K",
        "compressor_efficiency", "pressure_ratio", "cooler_effectiveness",
    )  # fmt: skip
    yield from judged(q, point.columns["charge_temperature_K"], path, working)


def shaft_balance(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """Whether turbine power less the bearings' loss meets the compressor's at every settled speed, within 0.2 %."""
    if not known(pull, "shaft_closure"):
        return
    point = highest(pull, "shaft_closure")
    assert point is not None
    worst = point.columns["shaft_closure"]
    good = worst <= CLOSURE
    yield Finding(
        "shaft balance",
        "sound" if good else "watch",
        f"Turbine and compressor power agree within {100 * worst:.2g} % at every speed."
        if good
        else f"At {rpm_of(point):.0f} rpm turbine and compressor power differ by {100 * worst:.2g} %: the shaft "
        "would still speed up or slow down there, and boost may be off by as much.",
        working=run_working(
            "Shaft balance", point, MODEL, "boost", "compressor_power_kW", "turbine_power_kW", "shaft_closure"
        ),
        change_first="" if good else "Run it with neighbouring speeds.",
    )


def compressor_map(pull: Pull, sheet: Sheet) -> Iterator[Finding]:
    """The map behind the numbers: measured or estimated, how well it is met, and whether the pull leaves it."""
    machines = turbo(sheet)
    if machines is None:
        return
    words: list[str] = []
    verdict: Verdict = "sound"
    if machines.compressor_fit is None:
        verdict = "watch"
        words.append("The compressor is estimated from its wheel: no map was given, nothing was checked against one.")
    else:
        error = machines.compressor_fit.error
        words.append(
            f"The map's points are met within {100 * error.head_rms:.2g} % (rms) and {100 * error.head_most:.2g} % at "
            f"most in flow or pressure, within {100 * error.work_rms:.2g} and {100 * error.work_most:.2g} % in power."
        )
        if max(error.head_most, error.work_most) > FIT:
            verdict = "watch"
            words.append("Look at the point that stands out.")
    if machines.turbine_error is None:
        verdict = "watch"
        words.append("The turbine is estimated from throat and wheel.")
    words += machines.questions
    verdict = "watch" if machines.questions else verdict
    fastest = max(known(pull, "tip_speed_m_s"), key=lambda p: p.columns["tip_speed_m_s"], default=None)
    if fastest is not None:
        # Warmed intake air lowers it a little further: outside air's is the upper bound.
        mach = fastest.columns["tip_speed_m_s"] / sqrt(GAMMA_AIR * R_AIR * pull.model.site.T)
        if mach > 1.02 * float(machines.compressor.sizes[K_M_HIGH]):
            verdict = "watch"
            words.append(f"At {rpm_of(fastest):.0f} rpm the wheel is beyond the map's fastest line: extrapolated.")
    yield Finding(
        "compressor map",
        verdict,
        " ".join(words),
        "charge.compressor.map",
        working="Distance of each point from its fitted line, along flow or pressure, whichever is nearer\n"
        "Source: theory, boost",
        change_first="" if verdict == "sound" else "A measured map of this very wheel, at its stated reference state.",
    )
