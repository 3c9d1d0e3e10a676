"""The channels of a log as numbers in wanted units, and those that come late moved back in step.

A mixture sensor sits behind the engine and answers late; how late is found from the record itself, against the channel
that it follows most strongly (throttle, boost, fuel flow, speed). A weak correlation moves nothing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from spoolwright import units
from spoolwright.dyno.delays import channel_delay, remove_delay
from spoolwright.dyno.measured import Delay
from spoolwright.dyno.pulls import Pull
from spoolwright.dyno.readers.quantities import Unit, conversion, read_unit
from spoolwright.dyno.rig import Rig
from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from spoolwright.dyno.log import Log

MIXTURE = ("lambda", "afr", "equivalence_ratio")
DEAD = ("sensor_not_ready", "open_thermocouple", "open_sensor", "stuck_sensor", "clipped_sensor")
_LEADERS = ("throttle", "boost_gauge", "manifold_abs", "fuel_flow", "engine_speed")
SURE = 0.7  # correlation below which no delay is believed; common practice, no source
LONGEST = 1.5  # s


def channels_of(log: Log, rig: Rig) -> tuple[dict[str, NDArray[np.float64]], list[str]]:
    """Role -> values in the wanted unit, and what has to be said. Volume flow of fuel needs its density."""
    found: dict[str, NDArray[np.float64]] = {}
    notes: list[str] = []
    for column in log.columns:
        if column.role is None or not log.table[column.field].dtype.is_numeric():
            continue
        if column.field != column.role:
            notes.append(f'"{column.name}" is a second column for {column.role} and is not used')
            continue
        x = log.table[column.field].cast(float).to_numpy().astype(np.float64)
        if column.converted or column.role == "time":
            found[column.role] = x
            continue
        unit = read_unit(column.unit)
        if column.role == "fuel_flow" and unit is not None and unit.dimension == "volume_flow":
            if rig.fuel_density is None:
                notes.append(
                    f'"{column.name}" is a volume flow ({column.unit}) and is not used: state the density of the fuel, '
                    'for example --fuel-density "745 kg/m3"'
                )
                continue
            slope, offset = conversion(unit.registry, "volume_flow")
            per_hour = units.to_si(1.0, "volume_flow", "L/h") * 3600.0
            found["fuel_flow"] = slope * (x + offset) * per_hour * rig.fuel_density
            notes.append(
                f'"{column.name}": {column.unit} to kg/h by the density of the fuel, {rig.fuel_density:g} kg/m3'
            )
        elif column.role == "roller_speed" and unit is not None and unit.dimension == "road_speed":
            _rim_speed(found, notes, column.name, x, unit, rig)
        else:
            notes.append(f'"{column.name}" is in {column.unit}, which is no unit of {column.role}; it is not used')
    _mixture(found, rig, notes)
    if "time" not in found:
        raise BadInput(f"{log.file.name}: no column is a clock; say which with --column")
    return found, notes


def _rim_speed(
    found: dict[str, NDArray[np.float64]], notes: list[str], name: str, x: NDArray[np.float64], unit: Unit, rig: Rig
) -> None:
    """The roller's turns [rpm] from the speed of its rim, if its diameter is stated."""
    if rig.roller_diameter is None:
        notes.append(
            f'"{name}" is the speed of the roller\'s rim ({unit.name}) and is not used: state its diameter, for '
            'example --rig "roller_diameter=500 mm"'
        )
        return
    rim = units.to_si(1.0, "speed", unit.registry) * x
    found["roller_speed"] = rim / (math.pi * rig.roller_diameter) * 60.0
    notes.append(f'"{name}": {unit.name} to rpm of a roller of {rig.roller_diameter * 1e3:g} mm')


def _mixture(found: dict[str, NDArray[np.float64]], rig: Rig, notes: list[str]) -> None:
    """Lambda from what the sensor's display shows."""
    if "lambda" in found:
        return
    if "equivalence_ratio" in found:
        phi = found["equivalence_ratio"]
        found["lambda"] = np.where(phi > 0.0, 1.0 / np.where(phi > 0.0, phi, 1.0), np.nan)
        notes.append("lambda is one over the equivalence ratio")
    elif "afr" in found:
        if rig.afr_stoichiometric is None:
            notes.append(
                "air-fuel ratio is not turned into lambda: state the ratio the display counts as 1, for example "
                "--afr-stoichiometric 14.7 (what most displays use for any fuel)"
            )
            return
        found["lambda"] = found["afr"] / rig.afr_stoichiometric
        notes.append(f"lambda is the displayed air-fuel ratio over {rig.afr_stoichiometric:g}")


def in_step(
    log: Log, rig: Rig, channels: Mapping[str, NDArray[np.float64]], pull: Pull
) -> tuple[dict[str, NDArray[np.float64]], list[Delay], list[str]]:
    """All channels of the log, late ones moved; the delays; what has to be said. Works on the pull's whole segment."""
    moved = dict(channels)
    delays: list[Delay] = []
    part = log.segments[pull.segment]
    rows = slice(part.first_row, part.first_row + part.rows)
    t = channels["time"][rows]
    for role, stated in rig.delays.items():
        if role not in channels:
            raise BadInput(f"{log.file.name}: a delay is stated for {role}, which the log does not hold")
        delays.append(Delay(role, stated, "", None, stated > 0.0, "stated"))
        moved[role] = _shifted(channels[role], rows, t, stated)
    if any(role in rig.delays for role in MIXTURE):
        stated = next(rig.delays[role] for role in MIXTURE if role in rig.delays)
        for role in MIXTURE:
            if role in channels:
                moved[role] = _shifted(channels[role], rows, t, stated)
        return moved, delays, []
    present = [role for role in MIXTURE if role in channels]
    if not present:
        return moved, delays, []
    found = _find(channels, rows, t, present[0])
    if found is None:
        delays.append(
            Delay(present[0], 0.0, "", None, False, "too short or too even a record to tell; state it with --delay")
        )
        return moved, delays, []
    delay, correlation, leader = found
    sure = bool(_rank(delay, correlation) >= (True, SURE))
    if sure:
        for role in present:
            moved[role] = _shifted(channels[role], rows, t, delay)
        why = f"it follows {leader} by that much, correlation {correlation:.2f}"
    else:
        why = f"nothing was moved: the best match is with {leader}, correlation {correlation:.2f} at {delay:.2f} s"
    delays.append(Delay(present[0], delay if sure else 0.0, leader, correlation, sure and delay > 0.0, why))
    return moved, delays, []


def _find(
    channels: Mapping[str, NDArray[np.float64]], rows: slice, t: NDArray[np.float64], role: str
) -> tuple[float, float, str] | None:
    best: tuple[float, float, str] | None = None
    for leader in _LEADERS:
        if leader not in channels:
            continue
        try:
            delay, correlation = channel_delay(t, channels[role][rows], channels[leader][rows], LONGEST)
        except BadInput:
            continue
        if best is None or _rank(delay, correlation) > _rank(*best[:2]):
            best = delay, correlation, leader
    return best


def _rank(delay: float, correlation: float) -> tuple[bool, float]:
    """A match at the end of the range searched is none: the true one lies beyond it or nowhere."""
    return 0.0 < delay < LONGEST - 0.05, abs(correlation)


def _shifted(x: NDArray[np.float64], rows: slice, t: NDArray[np.float64], delay: float) -> NDArray[np.float64]:
    out = np.full(x.size, np.nan)
    if np.isfinite(x[rows]).sum() >= 2:
        out[rows] = remove_delay(t, x[rows], delay)
    return out
