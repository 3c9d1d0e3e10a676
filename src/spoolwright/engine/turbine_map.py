"""Turbine map and sizes of a sheet: read and questioned."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

import numpy as np

from spoolwright import units
from spoolwright.boost.compressor_fit import Reference
from spoolwright.boost.rows import Floats
from spoolwright.boost.turbine import nozzle_area
from spoolwright.boost.turbine_fit import CP_RIG, TurbinePoints, speed_ratio
from spoolwright.constants import R_AIR
from spoolwright.engine.map_faults import efficiency_faults, fault, first_row, refuse, rpm
from spoolwright.sheet import Sheet
from spoolwright.sheet.faults import Fault
from spoolwright.sheet.tables import Table

LEAST_POINTS = 6  # three numbers of the flow and two of the efficiency rest on them
SPEED_RATIO = (0.2, 1.3)  # blade over spouting speed in the middle of a map
RADIUS = (0.45, 2.0)  # of the throat's centre, over the wheel's inlet diameter


def turbine_map(sheet: Sheet) -> tuple[TurbinePoints, Reference]:
    """Points of the turbine's map and its reference state. Raises SheetFaults with all faults."""
    table = sheet.table("turbine.map")
    refuse(efficiency_faults(table))
    reference = Reference(sheet.value("turbine.map_temperature"), sheet.value("turbine.map_pressure"))
    columns = (np.array(table.columns[name]) for name in ("speed", "expansion_ratio", "flow", "efficiency"))
    points = TurbinePoints(*columns)
    refuse(_lines(table, points))
    refuse(_scales(sheet, table, points, reference))
    return points, reference


def refuse_sizes(sheet: Sheet) -> None:
    """Raises SheetFaults where throat, A/R and wheel of the turbine cannot belong together."""
    throat, inlet = sheet.maybe("turbine.throat_area"), sheet.value("turbine.wheel_inlet")
    if throat is None:
        return
    file, _, line = sheet.where("turbine.throat_area").partition(":")
    disc = pi / 4.0 * inlet**2
    shown = units.show(throat, "area", "mm2", 4)
    if throat > disc:
        text = (
            f"{shown} is more than the whole wheel, {units.show(disc, 'area', 'mm2', 4)}; a throat is a quarter to a "
            "half of it, check the unit"
        )
        refuse([Fault(file, int(line or 0), "turbine.throat_area", text)])
    over_radius = sheet.maybe("turbine.area_over_radius")
    if over_radius is not None and not RADIUS[0] * inlet < throat / over_radius < RADIUS[1] * inlet:
        text = (
            f"{shown} over an A/R of {units.show(over_radius, 'length', 'in', 3)} puts the throat's centre "
            f"{units.show(throat / over_radius, 'length', 'mm', 3)} from the shaft; with a wheel of "
            f"{units.show(inlet, 'length', 'mm', 3)} it lies about that far, correct one of the two"
        )
        refuse([Fault(file, int(line or 0), "turbine.throat_area", text)])


def map_areas(points: TurbinePoints, reference: Reference) -> Floats:
    """Area [m2] of the plain nozzle that would pass each point of a map."""
    return np.array(
        [
            nozzle_area(float(m), reference.p, reference.T, R_AIR, CP_RIG, reference.p / float(r))
            for m, r in zip(points.flow, points.expansion_ratio, strict=True)
        ]
    )


def _lines(table: Table, points: TurbinePoints) -> Iterator[Fault]:
    if len(table) < LEAST_POINTS:
        yield fault(table, None, "speed", f"{len(table)} points are too few; give at least {LEAST_POINTS}")
    low = int(np.argmin(points.expansion_ratio))
    if points.expansion_ratio[low] <= 1.0:
        text = f"{points.expansion_ratio[low]:g} is no expansion; it is inlet over outlet pressure, absolute, above 1"
        yield fault(table, low, "expansion_ratio", text)
    for speed, rest in table.lines("speed").items():
        fall = np.diff(rest["flow"]) < -0.01 * max(rest["flow"])
        if np.any(fall):
            k = int(np.argmax(fall)) + 1
            text = (
                f"it falls to {rest['flow'][k]:.4g} kg/s on the line of {rpm(speed)} though the expansion ratio rises"
            )
            yield fault(table, first_row(table, speed) + k, "flow", f"{text}; correct this point")


def _scales(sheet: Sheet, table: Table, points: TurbinePoints, reference: Reference) -> Iterator[Fault]:
    s = float(np.median(speed_ratio(points, sheet.value("turbine.wheel_inlet"), reference)))
    if not SPEED_RATIO[0] <= s <= SPEED_RATIO[1]:
        text = f"the blades move at {s:.2g} times the speed of the gas, 0.5 to 0.9 is usual; check the unit of speed"
        yield fault(table, None, "speed", f"{text}, turbine.wheel_inlet and turbine.map_temperature")
    area = map_areas(points, reference)
    k = int(np.argmax(area))
    throat, outlet = sheet.maybe("turbine.throat_area"), sheet.maybe("turbine.wheel_outlet")
    wheel = pi / 4.0 * (outlet or sheet.value("turbine.wheel_inlet")) ** 2
    most, what = wheel, "the wheel's outlet is"
    if throat is not None and throat < wheel:
        most, what = throat, "the throat (turbine.throat_area) is"
    if area[k] > 1.02 * most:
        text = (
            f"{points.flow[k]:.4g} kg/s needs an opening of {units.show(float(area[k]), 'area', 'mm2', 4)}, {what} "
            f"{units.show(most, 'area', 'mm2', 4)}; check the unit of flow, the reference state and the sizes"
        )
        yield fault(table, k, "flow", text)
