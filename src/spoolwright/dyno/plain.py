"""Results of the dyno jobs as plain data for JSON: lists for arrays, null for what is missing, units in the keys."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from spoolwright.dyno.compare import Change, Repeats
from spoolwright.dyno.correct import Corrected
from spoolwright.dyno.measured import RPM, Measured, Reduction
from spoolwright.dyno.readers.quantities import wanted_unit

STEP = 250.0  # rpm between the points of a pull


def plain(value: Any) -> Any:
    """Any result as data that JSON can hold; fields of a dataclass by name."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, np.ndarray):
        return [plain(v) for v in value.tolist()]
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(v) for v in value]
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, (datetime, Path)):
        return str(value)
    return value


def pull(one: Measured, step_rpm: float = STEP) -> dict[str, Any]:
    """A measured pull: what it is, and points over speed with torque, power, band and channels."""
    speeds = one.speeds(step_rpm)
    columns: dict[str, Any] = {"speed_rpm": speeds}
    if one.has_torque:
        power, w_power = one.peak_power()
        torque, w_torque = one.peak_torque()
        peaks = {
            "peak_power_kW": power / 1e3,
            "peak_power_rpm": w_power / RPM,
            "peak_torque_Nm": torque,
            "peak_torque_rpm": w_torque / RPM,
        }
        for name, values in (("wheel", one.wheel), ("flywheel", one.flywheel), ("unplaced", one.unplaced)):
            if values is not None:
                columns[f"{name}_torque_Nm"] = one.over(values, speeds)
        columns["power_kW"] = one.over(one.power, speeds) / 1e3
        columns["band_Nm"] = one.over(one.band, speeds)
    else:
        peaks = {}
    for role in one.channels:
        columns[f"{role} [{wanted_unit(role)}]"] = one.mean_over(role, speeds, step_rpm)
    rows = zip(*(plain(v) for v in columns.values()), strict=True)
    return {
        "pull": one.name,
        "sha256": one.sha256,
        "segment": one.segment,
        "lines": list(one.lines),
        "place": one.place if one.has_torque else None,
        "method": one.method,
        "bandwidth_Hz": one.bandwidth,
        "ratio": plain(one.ratio),
        "slip_found": one.slip_found,
        "corrected_by": one.corrected_by,
        **plain(peaks),
        "delays": plain(one.delays),
        "dead_sensors": plain(one.dead),
        "notes": list(one.notes),
        "points": [dict(zip(columns, row, strict=True)) for row in rows],
    }


def reduction(done: Reduction, step_rpm: float = STEP) -> dict[str, Any]:
    """A log reduced."""
    return {
        "file": done.log.file.name,
        "sha256": done.log.sha256,
        "rig": plain(done.rig),
        "air": plain(done.air),
        "losses": plain(done.losses),
        "pulls": [pull(p, step_rpm) for p in done.pulls],
        "notes": list(done.notes),
    }


def corrected(observed: Measured, rows: Sequence[Corrected], step_rpm: float = STEP) -> dict[str, Any]:
    """Observed first, then each code."""
    speeds = observed.speeds(step_rpm)
    codes = []
    for row in rows:
        one = plain(dataclasses.replace(row, torque=None, power=None))
        one["torque_Nm"] = None if row.torque is None else plain(observed.over(row.torque, speeds))
        one["power_kW"] = None if row.power is None else plain(observed.over(row.power, speeds) / 1e3)
        codes.append(one)
    return {"observed": pull(observed, step_rpm), "codes": codes}


def comparison(result: Repeats | Change) -> dict[str, Any]:
    """Repeats or a change, with the unit of its values."""
    return {"unit": "N m" if result.what == "torque" else "W", **plain(result)}
