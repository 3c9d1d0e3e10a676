"""The parts of the demo builds fit each other: plain arithmetic on the sheet, no engine computed.

The figures used (volumetric efficiency, air per fuel) are those of common practice, wide on purpose.
"""

from __future__ import annotations

import math

import pytest

from spoolwright.gas.fuels import grade, stoichiometric_ratio
from spoolwright.sheet import Sheet, load
from spoolwright.sheet.demo import DEMOS, demo_folder
from spoolwright.sheet.rules_engine import clearance_volumes

R_AIR = 287.05
BUILDS = [("wren", None), ("wren", "lane"), ("wren", "hill"), ("wren", "leaky"), ("heron", None)]


def swept(sheet: Sheet) -> list[float]:
    return [math.pi / 4 * bore**2 * sheet.value("cylinders.stroke") for bore in sheet.values("cylinders.bore")]


def air_flow(sheet: Sheet, manifold_temperature: float) -> float:
    """Air at top speed and full boost, 0.80 of the swept volume filled (past a mild cam's torque peak) [kg/s]."""
    p = sheet.value("site.barometer") + (sheet.maybe("limits.max_boost") or 0.0)
    cycles = sheet.value("limits.max_speed") / (4.0 * math.pi)
    return 0.80 * sum(swept(sheet)) * cycles * p / (R_AIR * manifold_temperature)


@pytest.mark.parametrize("name", DEMOS)
def test_ratio_of_every_cylinder_within_the_limits(name):
    sheet = load(demo_folder(name))
    crevice = sheet.value("cylinders.crevice")
    ratios = [(s + c + crevice) / (c + crevice) for s, c in zip(swept(sheet), clearance_volumes(sheet), strict=True)]
    assert max(ratios) == pytest.approx(sheet.value("cylinders.ratio_wanted"), rel=0.01)
    if sheet.has("limits.max_ratio"):
        assert min(ratios) > sheet.value("limits.min_ratio")
        assert max(ratios) < sheet.value("limits.max_ratio")
        assert max(ratios) - min(ratios) < sheet.value("limits.max_ratio_spread")
    squish = [deck + sheet.value("cylinders.gasket_thickness") for deck in sheet.values("cylinders.deck")]
    assert sheet.value("limits.min_squish") < min(squish)
    assert max(squish) < sheet.value("limits.max_squish")


@pytest.mark.parametrize("name", DEMOS)
def test_valves_fit_the_bore_and_miss_the_piston(name):
    sheet = load(demo_folder(name))
    across = sum(sheet.value(f"valves.{side}.head_diameter") for side in ("intake", "exhaust"))
    assert across < min(sheet.values("cylinders.bore"))
    piston_speed = 2 * sheet.value("cylinders.stroke") * sheet.value("limits.max_speed") / (2 * math.pi)
    assert piston_speed < sheet.value("limits.max_piston_speed")
    for side in ("intake", "exhaust"):
        assert min(sheet.values(f"valves.{side}.drop")) > sheet.value(f"limits.min_{side}_to_piston") + 1e-3


@pytest.mark.parametrize(("name", "variant"), BUILDS)
def test_compressor_map_covers_the_demand(name, variant):
    sheet = load(demo_folder(name), variant)
    table = sheet.table("charge.compressor.map")
    hot = 353.0 if name == "wren" else 318.0
    flow = air_flow(sheet, hot)
    T_map, p_map = sheet.value("charge.compressor.map_temperature"), sheet.value("charge.compressor.map_pressure")
    corrected = (
        flow * math.sqrt(sheet.value("site.temperature") / T_map) * p_map / (sheet.value("site.barometer") - 1500)
    )
    ratio = (sheet.value("site.barometer") + sheet.value("limits.max_boost") + 6e3) / (
        sheet.value("site.barometer") - 1500
    )
    reached = []
    for line in table.lines("speed").values():
        for f0, f1, r0, r1 in zip(
            line["flow"], line["flow"][1:], line["pressure_ratio"], line["pressure_ratio"][1:], strict=False
        ):
            if f0 <= corrected <= f1 and r0 + (r1 - r0) * (corrected - f0) / (f1 - f0) >= ratio:
                reached.append(True)
    assert reached, (corrected, ratio)
    limit = sheet.value("charge.compressor.speed_limit")
    assert max(table.columns["speed"]) < limit
    assert 420.0 < limit * sheet.value("charge.compressor.wheel_outlet") / 2 < 540.0  # tip speed, m/s


@pytest.mark.parametrize(("name", "variant"), BUILDS)
def test_wastegate_spring_stands_for_the_boost(name, variant):
    """Crack pressure without exhaust force, and with 0.8 times the boost on the valve, stays near the stop limit.

    The limit lies above the boost that is aimed at, with room for a spike on the day.
    """
    sheet = load(demo_folder(name), variant)
    area = math.pi / 4 * sheet.value("wastegate.diaphragm_diameter") ** 2
    valve = math.pi / 4 * sheet.value("wastegate.valve_diameter") ** 2
    preload = sheet.maybe("wastegate.preload") or sheet.value("wastegate.spring_rate") * (
        sheet.value("wastegate.spring_free_length") - sheet.value("wastegate.spring_installed_length")
    )
    lever = (sheet.maybe("wastegate.lever_valve") or 1.0) / (sheet.maybe("wastegate.lever_diaphragm") or 1.0)
    limit = sheet.value("limits.max_boost")
    shut = preload / area
    with_exhaust = preload / (area + 0.8 * valve * lever)
    assert with_exhaust < 0.95 * limit
    assert 0.5 * limit < shut < 1.25 * limit


@pytest.mark.parametrize(("name", "variant"), BUILDS)
def test_pump_and_metering_pass_the_fuel(name, variant):
    sheet = load(demo_folder(name), variant)
    fuel = grade(sheet.text("fuel.grade"))
    mixture = sheet.maybe("fuel.mixture") or min(sheet.table("fuel.mixture_table").columns["lambda"])
    flow = air_flow(sheet, 318.0 if name == "heron" else 353.0) / (stoichiometric_ratio(fuel) * mixture) / fuel.density
    pump = sheet.table("fuel.supply.pump_curve")
    pressure = sheet.value("fuel.supply.base_pressure") + sheet.value("limits.max_boost") + 15e3
    p, q = pump.columns["pressure"], pump.columns["flow"]
    there = next(
        b + (a - b) * (pressure - lo) / (hi - lo)
        for lo, hi, b, a in zip(p, p[1:], q, q[1:], strict=False)
        if lo <= pressure <= hi
    )
    assert there > 1.2 * flow
    if sheet.has("injection"):
        rated = sheet.quantity("injection.rated_flow")
        total = (
            sheet.cylinder_count
            * rated.value
            * math.sqrt(sheet.value("fuel.supply.base_pressure") / rated.condition[0].value)
        )
        assert 0.3 < flow / total < sheet.value("injection.duty_limit")
    else:
        seat = 0.7 * math.pi / 4 * sheet.value("carburettor.needle_seat") ** 2
        assert seat * math.sqrt(2 * sheet.value("fuel.supply.base_pressure") / fuel.density) > 1.2 * flow


def test_leaky_leaks_ten_times_more():
    def area(sheet: Sheet) -> float:
        return sum(sheet.value(f"cooling.leaks.{leak}.area") for leak in sheet.names("cooling.leaks"))

    assert area(load(demo_folder("wren"), "leaky")) > 10 * area(load(demo_folder("wren")))
