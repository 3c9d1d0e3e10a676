"""The job "reduce": a log becomes pulls, each with torque over speed, its band, and its channels in step.

Torque comes from the inertia of a roller, from a brake on the roller (with the roller's own inertia where it is known),
or from a torque or power column as it stands. Wheel and flywheel stay apart; a fixed share of loss is never assumed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from spoolwright import units
from spoolwright.dyno import in_step
from spoolwright.dyno.correct import factor_of
from spoolwright.dyno.holes import without_holes
from spoolwright.dyno.measured import RPM, Measured, Reduction
from spoolwright.dyno.pulls import Pull, find_pulls
from spoolwright.dyno.readers import memory
from spoolwright.dyno.rig import AIR_KINDS, Air, Rig, read_air, read_rig
from spoolwright.dyno.roller import Losses, run_down
from spoolwright.dyno.slopes import differentiate, smooth
from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from spoolwright.dyno.log import Log

SLIP = 0.02  # change of engine over roller speed within a pull that tells of slip; common practice, no source


def reduce_log(log: Log, rig: Rig | None = None, air: Air | None = None, torque_wanted: bool = True) -> Reduction:
    """Every pull of ``log``, reduced; with ``torque_wanted`` false also one that tells no torque, for its channels.

    ``rig`` and ``air``: how it was measured; where None, what is kept beside the log. The air that is not stated is
    taken from the log itself (particulars, channels), which is said in its ``origin``.
    Raises BadInput where no pull is found or nothing tells the torque.
    """
    kept = memory.sections(log.file, "rig", "air")
    rig = read_rig(kept["rig"]) if rig is None else rig
    air = read_air(kept["air"], f"kept in {memory.memory_path(log.file).name}") if air is None else air
    air = _air_of(log, air)
    channels, notes = in_step.channels_of(log, rig)
    source = _source(log, rig, channels, torque_wanted, notes)
    whole = log
    log, bridged = without_holes(log, _needed(source, channels))
    if log is not whole:
        channels, _ = in_step.channels_of(log, rig)
    rows = find_pulls(log)
    if not rows:
        raise BadInput(
            f"{log.file.name}: no pull found; a pull is a stretch of open throttle in which speed climbs by a quarter"
        )
    losses = _losses(log, rig, channels, rows, source)
    pulls = tuple(
        _measure(log, rig, air, channels, pull, number, source, losses) for number, pull in enumerate(rows, start=1)
    )
    return Reduction(whole, rig, air, pulls, losses, (*notes, *bridged))


def _needed(source: str, channels: Mapping[str, NDArray[np.float64]]) -> list[str]:
    """Roles that must be known in every row for torque over speed."""
    torque = {"roller load": "roller_torque", "torque column": "torque", "power column": "power"}.get(source)
    speeds = [r for r in ("engine_speed", "roller_speed") if r in channels]
    return [*(speeds if source in ("inertia", "roller load") else speeds[:1]), *([torque] if torque else [])]


def with_words(log: Log, rig: Mapping[str, Any], air: Mapping[str, Any], keep: bool = False) -> Reduction:
    """:func:`reduce_log` with the user's words laid over those kept beside the log; kept there as well if ``keep``."""
    kept = memory.sections(log.file, "rig", "air")
    rig_words = {**kept["rig"], **rig}
    if "delays" in rig and isinstance(kept["rig"].get("delays"), Mapping):
        rig_words["delays"] = {**kept["rig"]["delays"], **rig["delays"]}
    moisture = ("humidity", "dew_point", "vapour_pressure")
    air_kept = {k: v for k, v in kept["air"].items() if not (k in moisture and any(m in air for m in moisture))}
    air_words = {**air_kept, **air}
    done = reduce_log(log, read_rig(rig_words), read_air(air_words))
    if keep and (rig or air):
        memory.remember(log, {"rig": rig_words, "air": air_words})
    return done


def _air_of(log: Log, air: Air) -> Air:
    """What the log itself tells of the air, where the user said nothing."""
    found: dict[str, float] = {}
    origin = dict(air.origin)
    meta = {"temperature": ("air_temp_degC", "degC"), "barometer": ("barometer_kPa", "kPa")}
    for name, (key, unit) in meta.items():
        value = log.meta.get(key)
        if getattr(air, name) is None and isinstance(value, (int, float)):
            found[name] = units.to_si(float(value), AIR_KINDS[name], unit)
            origin[name] = "particulars of the log"
    for name, role, unit in (("temperature", "air_temp", "degC"), ("barometer", "barometer", "kPa")):
        column = log.column(role)
        if getattr(air, name) is not None or name in found or column is None or not column.converted:
            continue
        middle = log.table[column.field].median()
        if isinstance(middle, (int, float)):
            found[name] = units.to_si(float(middle), AIR_KINDS[name], unit)
            origin[name] = f'median of column "{column.name}"'
    return replace(air, **found, origin=origin)  # type: ignore[arg-type]


def _source(
    log: Log, rig: Rig, channels: Mapping[str, NDArray[np.float64]], wanted: bool, notes: Sequence[str] = ()
) -> str:
    """Where torque comes from; "" from nowhere. Raises BadInput where what it needs is missing.

    ``notes`` on columns that could not be used stand behind the sentence: one of them may be the way out.
    """
    has = channels.keys()
    roller = "roller_speed" in has or ("engine_speed" in has and rig.ratio is not None)
    told = "".join(f"; {note}" for note in notes)
    needs = {
        "inertia": (
            rig.inertia is not None and roller,
            'the roller\'s inertia and its speed (or ratio): --inertia "85 kg m2"',
        ),
        "roller load": ("roller_torque" in has, "a column of roller torque"),
        "torque column": ("torque" in has, "a column of torque"),
        "power column": ("power" in has, "a column of power"),
    }  # fmt: skip
    if rig.torque_from:
        there, what = needs[rig.torque_from]
        if not there:
            raise BadInput(f'{log.file.name}: torque from "{rig.torque_from}" needs {what}{told}')
        return rig.torque_from
    # A brake's own reading counts before the inertia alone, which would leave the load out.
    for name in ("roller load", "inertia", "torque column", "power column"):
        if needs[name][0]:
            return name
    if not wanted:
        return ""
    raise BadInput(
        f"{log.file.name}: nothing tells the torque; it needs a column of torque, power or roller torque, or the "
        'roller\'s inertia with its speed or ratio (for example --inertia "85 kg m2")' + told
    )


def _roller_speed(rig: Rig, channels: Mapping[str, NDArray[np.float64]]) -> NDArray[np.float64]:
    if "roller_speed" in channels:
        return channels["roller_speed"] * RPM
    if rig.ratio is None or "engine_speed" not in channels:
        raise BadInput("the roller's speed is not known: it needs its column, or the engine's and --ratio")
    return channels["engine_speed"] * RPM / rig.ratio


def _engine_speed(rig: Rig, channels: Mapping[str, NDArray[np.float64]]) -> NDArray[np.float64]:
    if "engine_speed" in channels:
        return channels["engine_speed"] * RPM
    if rig.ratio is None:
        raise BadInput(
            "the engine's speed is not in the log; say how many turns it makes for one of the roller: --ratio"
        )
    return channels["roller_speed"] * RPM * rig.ratio


def _losses(
    log: Log, rig: Rig, channels: Mapping[str, NDArray[np.float64]], rows: list[Pull], source: str
) -> Losses | None:
    """Losses from the run-down the user named: a segment, or what follows the last pull that has one."""
    if not rig.run_down or not source:
        return None
    if rig.inertia is None or source not in ("inertia", "roller load"):
        raise BadInput(f"{log.file.name}: a run-down tells losses only with a roller's inertia; add --inertia")
    w, t = _roller_speed(rig, channels), channels["time"]
    if rig.run_down == "after":
        stretches = [_coasting(log, w, t, pull) for pull in rows]
        good = [s for s in stretches if s is not None]
        if not good:
            raise BadInput(f"{log.file.name}: after none of the pulls does the roller coast down for 3 s or more")
        first, stop = max(good, key=lambda s: abs(w[s[0]] - w[s[1] - 1]))
    else:
        number = int(rig.run_down)
        if number >= len(log.segments):
            raise BadInput(f"{log.file.name}: there is no segment {number}; it has 0 to {len(log.segments) - 1}")
        part = log.segments[number]
        first, stop = part.first_row, part.first_row + part.rows
        found = _falling(w, t, first, stop)
        if found is None:
            raise BadInput(f"{log.file.name}: segment {number} is no run-down: the roller does not slow down steadily")
        first, stop = found
    step = float(np.median(np.diff(t[first:stop])))
    return run_down(t[first:stop], w[first:stop], rig.inertia, min(0.5, 0.4 / step))


def _coasting(log: Log, w: NDArray[np.float64], t: NDArray[np.float64], pull: Pull) -> tuple[int, int] | None:
    part = log.segments[pull.segment]
    return _falling(w, t, pull.stop, part.first_row + part.rows)


def _falling(w: NDArray[np.float64], t: NDArray[np.float64], first: int, stop: int) -> tuple[int, int] | None:
    """The longest unbroken stretch in which the roller slows down; None under 3 s."""
    good = np.isfinite(w[first:stop]) & np.isfinite(t[first:stop])
    if good.sum() < 20:
        return None
    half = max(2, int(good.sum() // 50))
    falling = np.zeros(stop - first, dtype=bool)
    x = w[first:stop]
    falling[half:-half] = (x[2 * half :] < x[: -2 * half]) & good[half:-half]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], falling.astype(np.int8), [0]])))
    runs = [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    if not runs:
        return None
    a, b = max(runs, key=lambda r: r[1] - r[0])
    if t[first + b - 1] - t[first + a] < 3.0:
        return None
    return first + a, first + b


def _measure(
    log: Log,
    rig: Rig,
    air: Air,
    channels: Mapping[str, NDArray[np.float64]],
    pull: Pull,
    number: int,
    source: str,
    losses: Losses | None,
) -> Measured:
    rows = slice(pull.first, pull.stop)
    moved, delays, notes = in_step.in_step(log, rig, channels, pull)
    t = channels["time"][rows]
    step = float(np.median(np.diff(t)))
    lost = round(float(t[-1] - t[0]) / step) + 1 - t.size
    if lost > 0:
        notes.append(f"about {lost} samples are missing within the pull; the slope was taken across short holes")
    bandwidth = rig.bandwidth
    most = 0.4 / step
    if bandwidth > most:
        notes.append(f"a sample every {step:.3g} s carries {most:.3g} Hz at most; that was taken, not {bandwidth:g} Hz")
        bandwidth = most
    engine = differentiate(t, _engine_speed(rig, channels)[rows], bandwidth)
    got = _torque(log, rig, channels, rows, t, engine.value, source, losses, bandwidth, notes, air)
    lines = (int(log.row_lines[pull.first]), int(log.row_lines[pull.stop - 1])) if log.row_lines is not None else (0, 0)
    dead = {f.column: f.sentence for f in log.flags if f.name in in_step.DEAD and f.column}
    return Measured(
        file=log.file.name,
        sha256=log.sha256,
        number=number,
        segment=pull.segment,
        lines=lines,
        time=t,
        w=engine.value,
        acceleration=engine.slope,
        bandwidth=bandwidth,
        channels={role: x[rows] for role, x in moved.items() if role != "time"},
        delays=tuple(delays),
        air=air,
        dead=dead,
        notes=tuple(notes),
        **got,
    )


def _torque(
    log: Log,
    rig: Rig,
    channels: Mapping[str, NDArray[np.float64]],
    rows: slice,
    t: NDArray[np.float64],
    w: NDArray[np.float64],
    source: str,
    losses: Losses | None,
    bandwidth: float,
    notes: list[str],
    air: Air,
) -> dict[str, Any]:
    """The torque fields of Measured."""
    if not source:
        empty = np.full(t.size, np.nan)
        return dict.fromkeys(("wheel", "flywheel", "unplaced", "ratio")) | {
            "noise": empty, "scale": 0.0, "method": "no torque", "slip_found": False,
        }  # fmt: skip
    if source in ("inertia", "roller load"):
        return _roller_torque(log, rig, channels, rows, t, w, source, losses, bandwidth, notes)
    x = channels["torque" if source == "torque column" else "power"][rows]
    if not np.isfinite(x).all():
        raise BadInput(f"{log.file.name}: the {source} has missing values within a pull; take another source of torque")
    raw = x if source == "torque column" else 1000.0 * x / w
    made = smooth(t, raw, bandwidth)
    torque, noise = made.value, made.spread
    by = rig.corrected_by
    if by not in ("not stated", "observed"):
        if air.missing():
            notes.append(
                f"the {source} was corrected by {by}; the air's {' and '.join(air.missing())} would be needed to "
                f"undo that"
            )
        else:
            undo = 1.0 / factor_of(by, air)
            torque, noise, by = torque * undo, noise * undo, "observed"
            notes.append(
                f"the {source} was corrected by {rig.corrected_by}; that was undone by the air of the day, x {undo:.4f}"
            )
    elif rig.corrected_by == "not stated":
        notes.append(f"whether the {source} is observed or corrected already is not stated (--corrected-by)")
    if rig.stands_at == "not stated":
        notes.append(f"whether the {source} holds at the wheels or the flywheel is not stated (--stands-at)")
    return {
        "wheel": torque if rig.stands_at == "wheel" else None,
        "flywheel": torque if rig.stands_at == "flywheel" else None,
        "unplaced": torque if rig.stands_at == "not stated" else None,
        "noise": noise,
        "scale": rig.torque_spread,
        "method": f"{source} as it stands",
        "ratio": rig.ratio,
        "slip_found": False,
        "corrected_by": by,
    }


def _roller_torque(
    log: Log,
    rig: Rig,
    channels: Mapping[str, NDArray[np.float64]],
    rows: slice,
    t: NDArray[np.float64],
    w: NDArray[np.float64],
    source: str,
    losses: Losses | None,
    bandwidth: float,
    notes: list[str],
) -> dict[str, Any]:
    roller = differentiate(t, _roller_speed(rig, channels)[rows], bandwidth)
    each = roller.value / w
    middle = float(np.median(each))
    slip = bool(np.quantile(np.abs(each / middle - 1.0), 0.9) > SLIP)
    lever = each if slip else np.full(each.size, middle)
    if slip:
        notes.append(
            "engine over roller speed changes within the pull: tyre, clutch or converter slips; each sample's own "
            "ratio "
            "was taken"
        )
    at_roller = np.zeros(each.size)
    noise = np.zeros(each.size)
    method, scale = [], 0.0
    if source == "roller load":
        load = channels["roller_torque"][rows]
        if not np.isfinite(load).all():
            raise BadInput(f"{log.file.name}: roller torque has missing values within a pull; cut the log there")
        made = smooth(t, load, bandwidth)
        at_roller, noise, scale = made.value, made.spread, rig.torque_spread
        method.append("load on the roller")
        if rig.inertia is None:
            notes.append("the roller's own inertia is not stated: what the sweep puts into the roller is left out")
    if rig.inertia is not None:
        at_roller = at_roller + rig.inertia * roller.slope
        noise = np.hypot(noise, rig.inertia * roller.slope_spread)
        method.append(f"inertia {rig.inertia:g} kg m2")
        scale = float(
            np.hypot(scale, rig.inertia_spread * (1.0 if source == "inertia" else _share(rig, roller, at_roller)))
        )
    flywheel = None
    if losses is not None:
        loss = losses.torque(roller.value)
        flywheel = (at_roller + loss) * lever
        noise = np.hypot(noise, losses.spread)
        method.append("run-down losses added")
        gone = int(np.isnan(loss).sum())
        if gone:
            notes.append(f"{gone} of {loss.size} samples lie outside the run-down's speeds: no flywheel figure there")
    else:
        notes.append("no run-down was named, so there is no flywheel figure; wheel figures stay wheel figures")
    return {
        "wheel": at_roller * lever,
        "flywheel": flywheel,
        "unplaced": None,
        "noise": noise * lever,
        "scale": scale,
        "method": ", ".join(method),
        "ratio": 1.0 / middle,
        "slip_found": slip,
    }


def _share(rig: Rig, roller: Any, at_roller: NDArray[np.float64]) -> float:
    """Share of the torque that comes from the inertia."""
    return float(np.median(np.abs(rig.inertia * roller.slope) / np.maximum(np.abs(at_roller), 1e-9)))
