"""Sums of the float bowl: its pressure reference, the level, needle and seat, and how long it hides a shortage."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import pi, sqrt
from typing import Any

from spoolwright.constants import STANDARD_GRAVITY
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.carburettor_jets import FUEL_DENSITY
from spoolwright.sums.registry import Input, Output, register

SEAT = Input("length", "hole of the seat", "0.8 mm", "5 mm", sheet="carburettor.needle_seat")
FUEL_BURNED = Input("mass_flow", "fuel the engine burns", "0.5 kg/h", "500 kg/h", "")
FUEL_BURNED_BY_VOLUME = Input("volume_flow", "the same by volume; instead", "0.5 L/h", "700 L/h", "")
BOWL_PRESSURE = Input("pressure_gauge", "gauge pressure above the fuel in the bowl", "-10 kPa", "300 kPa", "")
HAT_PRESSURE = Input("pressure_gauge", "gauge pressure in the hat", "-10 kPa", "300 kPa", "")


# ----------------------------------------------------------------------------- reference and level
def _reference_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    if results["fuel_factor"] < 0.97:
        return [
            "the bowl is below the hat: this leans the mixture under boost; take the reference from the hat, "
            "short and wide"
        ]
    if results["fuel_factor"] > 1.05:
        return [
            "the bowl is above the hat: this richens and may flood; look for ram effect or a jet of air on the vent"
        ]
    return []


@register(
    "carburettor",
    "Bowl reference error: what a wrong pressure above the fuel does to the mixture",
    inputs={
        "error": Input("pressure_difference", "bowl less hat pressure: + richer, - leaner", "-20 kPa", "20 kPa", ""),
        "bowl_pressure": BOWL_PRESSURE,
        "hat_pressure": HAT_PRESSURE,
        "depression": Input(
            "pressure_difference", "pull that meters the fuel (venturi or booster)", "0.3 kPa", "40 kPa"
        ),
        "mixture": Input("mixture", "mixture without the error", "0.6 lambda", "1.3 lambda", ""),
        "afr": Input("ratio", "the same as an air-fuel ratio; instead", "5", "20", ""),
    },
    outputs={
        "error_found": Output("pressure_difference", "kPa", "bowl less hat pressure", ("psi", "inHg", "inH2O")),
        "fuel_factor": Output("number", "1", "fuel flow with the error over without"),
        "mixture_factor": Output("number", "1", "lambda with the error over without: above 1 is leaner"),
        "mixture_found": Output("mixture", "lambda", "mixture with the error"),
        "afr_found": Output("ratio", ":1", "air-fuel ratio with the error"),
    },
    formula="""
    error_found = bowl_pressure - hat_pressure
    fuel_factor = sqrt((depression + error_found) / depression)
    mixture_factor = 1 / fuel_factor
    """,
    source="orifice law of the jet; standard textbook relation",
    validity="plain jet; small depressions suffer most",
    slips=(
        "reference taken below the throttle or from the manifold",
        "2 kPa thought to be nothing beside 90 kPa of boost",
    ),
    question=_reference_question,
    caution="a bowl left at outside air gets no fuel under boost: the engine leans out at once",
    example='--error "-2 kPa" --depression "6 kPa" --afr 11.6',
)
def bowl_reference(
    error: float | None,
    bowl_pressure: float | None,
    hat_pressure: float | None,
    depression: float,
    mixture: float | None,
    afr: float | None,
) -> dict[str, float | None]:
    """Fuel and mixture factors [1] of a pressure error [Pa]; raises ValueError when no fuel flows."""
    if error is None:
        if bowl_pressure is None or hat_pressure is None:
            raise ValueError("give error, or bowl_pressure and hat_pressure")
        error = bowl_pressure - hat_pressure
    elif bowl_pressure is not None or hat_pressure is not None:
        raise ValueError("error and the two pressures say the same thing; give only one of them")
    if depression <= 0.0:
        raise ValueError("the depression is written without a sign and above zero")
    if depression + error <= 0.0:
        raise ValueError("the bowl stands so far below the hat that no fuel flows; air would blow back into the bowl")
    factor = sqrt((depression + error) / depression)
    return {
        "error_found": error,
        "fuel_factor": factor,
        "mixture_factor": 1.0 / factor,
        "mixture_found": None if mixture is None else mixture / factor,
        "afr_found": None if afr is None else afr / factor,
    }


@register(
    "carburettor",
    "Float level: head of the fuel and what a change does",
    inputs={
        "level_change": Input("length", "level higher (+) or lower (-)", "-20 mm", "20 mm"),
        "fuel_density": FUEL_DENSITY,
        "depression": Input("pressure_difference", "pull that meters the fuel", "0.1 kPa", "40 kPa"),
        "acceleration": Input(
            "acceleration", "sideways or forward acceleration, for the tilt of the level", "0 m/s2", "20 m/s2", "0 m/s2"
        ),
        "distance": Input("length", "from the middle of the bowl to the jet, along it", "-60 mm", "60 mm", "0 mm"),
    },
    outputs={
        "head": Output("pressure_difference", "Pa", "change of pressure at the jet", ("inH2O", "mmH2O")),
        "level_at_jet": Output("length", "mm", "level change at the jet, with the tilt"),
        "fuel_factor": Output("number", "1", "fuel flow over the flow before"),
    },
    formula="""
    level_at_jet = level_change + distance * acceleration / 9.80665
    head = fuel_density * 9.80665 * level_at_jet
    fuel_factor = sqrt((depression + head) / depression)
    """,
    source="hydrostatics and the orifice law; standard textbook relation",
    example='--level-change "3 mm" --fuel-density "0.745 kg/L" --depression "1 kPa"',
)
def float_level(
    level_change: float, fuel_density: float, depression: float, acceleration: float, distance: float
) -> dict[str, float | None]:
    """Head [Pa] and fuel factor [1] of a change of the fuel level [m]."""
    at_jet = level_change + distance * acceleration / STANDARD_GRAVITY
    head = fuel_density * STANDARD_GRAVITY * at_jet
    factor = bowl_reference(head, None, None, depression, None, None)["fuel_factor"]
    return {"head": head, "level_at_jet": at_jet, "fuel_factor": factor}


# ----------------------------------------------------------------------------- needle and seat
def _seat_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    margin = results["margin"]
    if margin is not None and margin < 0.0:
        return [
            "needle and seat do not pass what the engine burns: the bowl empties and the mixture leans late in the pull"
        ]
    if margin is not None and margin < 0.2:
        return [
            "less than 20 % in hand over what the engine burns; foam and a level that needs the needle half shut "
            "eat that"
        ]
    return []


@register(
    "carburettor",
    "Most fuel that needle and seat pass",
    inputs={
        "seat": SEAT,
        "seats": Input("count", "number of needles", "1", "8", "1", sheet="carburettor.needle_seats"),
        "needle_lift": Input(
            "length", "lift of the needle when wide open; seat hole alone when not given", "0.1 mm", "5 mm", ""
        ),
        "fuel_pressure": Input(
            "pressure_difference",
            "fuel pressure over the pressure in the bowl",
            "1 psi",
            "15 psi",
            "",
            sheet="fuel.supply.base_pressure",
        ),
        "line_pressure": Input(
            "pressure_gauge", "fuel gauge pressure; with boost in the bowl, instead", "1 psi", "60 psi", ""
        ),
        "bowl_pressure": Input("pressure_gauge", "gauge pressure in the bowl", "-1 psi", "45 psi", ""),
        "fuel_density": FUEL_DENSITY,
        "discharge": Input("share", "discharge coefficient", "40 %", "90 %", "60 %", part=True),
        "demand": FUEL_BURNED,
        "demand_volume": FUEL_BURNED_BY_VOLUME,
        "consumption": Input(
            "fuel_consumption", "fuel per power, for the power it could feed", "0.4 lb/(hp h)", "1.4 lb/(hp h)", ""
        ),
    },
    outputs={
        "fuel_flow": Output("mass_flow", "kg/h", "most fuel", ("lb/h",)),
        "fuel_volume_flow": Output("volume_flow", "L/h", "the same by volume", ("cc/min", "gal/h")),
        "pressure_across": Output("pressure_difference", "kPa", "pressure across the seat", ("psi",)),
        "area": Output("area", "mm2", "area that limits, each"),
        "power": Output("power", "kW", "power it feeds", ("hp",)),
        "margin": Output("share", "%", "over the demand, where that is given"),
    },
    formula="""
    pressure_across = line_pressure - bowl_pressure
    fuel_flow = seats * discharge * area * sqrt(2 * fuel_density * pressure_across)
    power = fuel_flow / consumption
    margin = fuel_flow / demand - 1
    """,
    source="orifice law; the coefficient is an assumption (0.5 to 0.7)",
    validity="needle wide open and level low; area is the seat hole or the gap pi * seat * lift, whichever is smaller",
    slips=("pump pressure taken without subtracting the boost in the bowl",),
    question=_seat_question,
    caution="too much pressure floods over the needle onto a hot turbo: do not raise it beyond what the float holds",
    example='--seat "2.8 mm" --seats 2 --fuel-pressure "6.5 psi" --fuel-density "0.745 kg/L" --demand "163 lb/h"',
)
def needle_seat(
    seat: float,
    seats: float,
    needle_lift: float | None,
    fuel_pressure: float | None,
    line_pressure: float | None,
    bowl_pressure: float | None,
    fuel_density: float,
    discharge: float,
    demand: float | None,
    demand_volume: float | None,
    consumption: float | None,
) -> dict[str, float | None]:
    """Fuel flow [kg/s] that needles and seats pass wide open."""
    if one_of(fuel_pressure=fuel_pressure, line_pressure=line_pressure) == "line_pressure":
        if bowl_pressure is None:
            raise ValueError("line_pressure needs bowl_pressure beside it (0 psi for a bowl at outside air)")
        assert line_pressure is not None
        across = line_pressure - bowl_pressure
    else:
        assert fuel_pressure is not None
        across = fuel_pressure
    if across <= 0.0:
        raise ValueError("the fuel pressure is not above the pressure in the bowl: no fuel enters at all")
    hole = pi / 4.0 * seat**2
    area = hole if needle_lift is None else min(hole, pi * seat * needle_lift)
    flow = seats * discharge * area * sqrt(2.0 * fuel_density * across)
    if demand_volume is not None:
        one_of(demand=demand, demand_volume=demand_volume)
        demand = demand_volume * fuel_density
    return {
        "fuel_flow": flow,
        "fuel_volume_flow": flow / fuel_density,
        "pressure_across": across,
        "area": area,
        "power": None if consumption is None else flow / consumption,
        "margin": None if demand is None else flow / demand - 1.0,
    }


@register(
    "carburettor",
    "How long the bowl hides a fuel shortage",
    inputs={
        "bowl_volume": Input(
            "volume",
            "fuel between full level and a bare jet, all bowls",
            "5 cc",
            "600 cc",
            sheet="carburettor.bowl_volume",
        ),
        "demand": FUEL_BURNED,
        "demand_volume": FUEL_BURNED_BY_VOLUME,
        "supply": Input(
            "mass_flow", "fuel that comes in (pump, line or needle, the smallest)", "0 kg/h", "500 kg/h", ""
        ),
        "supply_volume": Input("volume_flow", "the same by volume; instead", "0 L/h", "700 L/h", ""),
        "fuel_density": FUEL_DENSITY,
    },
    outputs={
        "time": Output("time", "s", "until the jet is bare; none: never"),
        "shortage": Output("mass_flow", "kg/h", "demand less supply (negative: supply is enough)", ("lb/h", "g/s")),
        "time_without_supply": Output("time", "s", "the same with no supply at all"),
    },
    formula="""
    shortage = demand - supply
    time = bowl_volume * fuel_density / shortage
    """,
    source="mass balance",
    slips=("a short pull believed: the bowl hid the shortage",),
    question=lambda given, results: (
        ["the supply covers the demand: the bowl does not empty"]
        if results["time"] is None
        else [
            f"after {results['time']:.0f} s at full load the mixture leans, without warning before; the falling "
            f"level leans it earlier"
        ]
    ),
    caution="the lean moment comes late in the pull, hot and at full load: stop a pull well before this time",
    example='--bowl-volume "120 cc" --demand "163 lb/h" --supply "140 lb/h" --fuel-density "0.745 kg/L"',
)
def bowl_time(
    bowl_volume: float,
    demand: float | None,
    demand_volume: float | None,
    supply: float | None,
    supply_volume: float | None,
    fuel_density: float,
) -> dict[str, float | None]:
    """Seconds until the bowl is empty; None where it never is."""
    one_of(demand=demand, demand_volume=demand_volume)
    one_of(supply=supply, supply_volume=supply_volume)
    demand = demand if demand is not None else (demand_volume or 0.0) * fuel_density
    supply = supply if supply is not None else (supply_volume or 0.0) * fuel_density
    if demand <= 0.0 or bowl_volume <= 0.0:
        raise ValueError("demand and bowl_volume must be above zero")
    mass, shortage = bowl_volume * fuel_density, demand - supply
    return {
        "time": mass / shortage if shortage > 0.0 else None,
        "shortage": shortage,
        "time_without_supply": mass / demand,
    }


@register(
    "carburettor",
    "Fuel pressure the float can hold against",
    inputs={
        "float_volume": Input("volume", "volume of the float", "1 cc", "80 cc"),
        "float_mass": Input("mass", "mass of the float with its arm", "0.5 g", "60 g"),
        "immersed": Input("share", "share of it under fuel at the level wanted", "20 %", "100 %"),
        "fuel_density": FUEL_DENSITY,
        "float_arm": Input("length", "from the pivot to the middle of the float", "5 mm", "80 mm"),
        "needle_arm": Input("length", "from the pivot to the needle", "2 mm", "40 mm"),
        "seat": SEAT,
    },
    outputs={
        "needle_force": Output("force", "N", "force of the float on the needle", ("lbf",)),
        "pressure_held": Output("pressure_difference", "kPa", "fuel pressure over the bowl that it holds", ("psi",)),
        "pressure_held_sunk": Output(
            "pressure_difference", "kPa", "with the float quite under: flooding begins", ("psi",)
        ),
    },
    formula="""
    needle_force = (immersed * float_volume * fuel_density - float_mass) * 9.80665 * float_arm / needle_arm
    pressure_held = needle_force / (pi/4 * seat^2)
    """,
    source="buoyancy and lever; standard textbook relation",
    slips=("larger seat fitted without seeing that the float then holds less pressure",),
    caution="a hollow float is crushed by boost and sinks: solid or foam floats in a pressurised bowl",
    example='--float-volume "14 cc" --float-mass "5 g" --immersed "70 %" --fuel-density "0.745 kg/L" --float-arm '
    '"30 mm" '
    '--needle-arm "9 mm" --seat "2.5 mm"',
)
def float_holds(
    float_volume: float,
    float_mass: float,
    immersed: float,
    fuel_density: float,
    float_arm: float,
    needle_arm: float,
    seat: float,
) -> dict[str, float]:
    """Fuel pressure [Pa] over the bowl at which the needle lifts; raises ValueError for a float that sinks."""
    if not 0.0 <= immersed <= 1.0:
        raise ValueError("immersed is 0 to 100 %")

    def lift(share: float) -> float:
        return (share * float_volume * fuel_density - float_mass) * STANDARD_GRAVITY * float_arm / needle_arm

    force, most = lift(immersed), lift(1.0)
    if most <= 0.0:
        raise ValueError("the float is heavier than the fuel it pushes aside: it sinks")
    if force <= 0.0:
        raise ValueError("at this level the float does not lift yet: more of it must be under fuel")
    hole = pi / 4.0 * seat**2
    return {"needle_force": force, "pressure_held": force / hole, "pressure_held_sunk": most / hole}


@register(
    "carburettor",
    "Force of boost on a hat or lid",
    inputs={
        "boost": Input("pressure_gauge", "boost, or the peak of a backfire", "1 psi", "150 psi"),
        "area": Input("area", "area the pressure lifts", "10 cm2", "1000 cm2", ""),
        "diameter": Input("length", "diameter of it; instead", "30 mm", "350 mm", ""),
        "screws": Input("count", "screws that hold it", "1", "24", "1"),
    },
    outputs={
        "force": Output("force", "N", "force on the lid", ("lbf", "kgf")),
        "force_per_screw": Output("force", "N", "for each screw", ("lbf",)),
    },
    formula="force = boost * area",
    source="definition of pressure",
    caution="a backfire in a full hat gives several times the boost: relief path, and no face over it",
    example='--boost "15 psi" --diameter "130 mm" --screws 4',
)
def hat_force(boost: float, area: float | None, diameter: float | None, screws: float) -> dict[str, float]:
    """Force [N] on a lid under boost."""
    if one_of(area=area, diameter=diameter) == "diameter":
        assert diameter is not None
        area = pi / 4.0 * diameter**2
    assert area is not None
    return {"force": boost * area, "force_per_screw": boost * area / screws}
