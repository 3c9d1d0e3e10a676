"""Hand-made pulls: points with the columns a test names, everything else as a sound engine has it."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from spoolwright.engine.charge import fuel_of, site
from spoolwright.engine.columns import COLUMNS
from spoolwright.engine.pull import Point, Pull
from spoolwright.sheet import Sheet, load
from spoolwright.sheet.demo import demo_folder

SOUND: dict[str, Any] = {
    "torque_Nm": 110.0,
    "power_kW": 40.0,
    "volumetric_efficiency": 0.85,
    "air_flow_kg_s": 0.04,
    "lambda": 0.80,
    "residual": 0.06,
    "primary_temperature_K": 1000.0,
    "exhaust_temperature_K": 1100.0,
    "spark_deg_btdc": 24.0,
    "mfb50_deg": 9.0,
    "peak_pressure_MPa": 4.5,
    "peak_pressure_deg": 14.0,
    "knock_integral": 0.30,
    "knock_limit_low": 0.5,
    "knock_limit_high": 0.7,
    "wall_heat_kW": 17.0,
    "cycles": 8,
    "converged": True,
    "mass_closure": 1e-15,
    "energy_closure": 2e-15,
}


def sheet_of(build: str = "wren", *sets: str) -> Sheet:
    """A demo sheet with some values set."""
    return load(demo_folder(build), sets=sets)


def point(speed: float, trouble: str = "", cylinders: dict[str, list[float]] | None = None, **columns: Any) -> Point:
    """One point; ``columns`` replace those of a sound engine; a point with trouble did not settle."""
    values = dict.fromkeys(COLUMNS) | SOUND | {"speed_rpm": speed, "converged": not trouble} | columns
    return Point(values, None, trouble, cylinders or {})


def pull_of(sheet: Sheet, *points: Point, asked: int | None = None) -> Pull:
    """A pull of these points; the model holds only what findings ask of it."""
    model = SimpleNamespace(site=site(sheet), fuel=fuel_of(sheet))
    assumed = tuple((one.path, one.text, one.reason) for one in sheet.assumed)
    speeds = [p.columns["speed_rpm"] for p in points]
    wanted = tuple(speeds) + tuple(9000.0 + i for i in range((asked or len(speeds)) - len(speeds)))
    return Pull(sheet.name, sheet.variant, sheet.digest, list(points), assumed, model, wanted)  # type: ignore[arg-type]
