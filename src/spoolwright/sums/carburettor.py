"""Sums of the carburettor's air side: flow in a pressurised hat, rating, venturi, choking.

A carburettor passes a volume of the air that is there: under boost the air is dense, so a given mass
needs less volume than outside air would. Jets, mixture and float bowl stand in files of their own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import pi, sqrt
from typing import Any

from spoolwright.constants import CP_AIR, GAMMA_AIR, R_AIR, RHO_STANDARD_DAY
from spoolwright.sums import carburettor_bowl, carburettor_jets, measures  # noqa: F401 - they register sums
from spoolwright.sums.air import air_density, air_volume
from spoolwright.sums.air_orifices import RATED_DENSITY, critical_ratio, flow_function, hole_area
from spoolwright.sums.air_pressures import OUTSIDE_INPUTS, Place, gauge_slips
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.engine_size import SIZE_INPUTS, STROKES, EngineSize
from spoolwright.sums.registry import Input, Output, register

AIR_FLOW = Input("mass_flow", "air flow", "0.001 kg/s", "2 kg/s")
HAT_TEMPERATURE = Input("temperature", "air in the hat, before the carburettor", "-20 degC", "180 degC")
HAT_BOOST = Input(
    "pressure_gauge", "boost in the hat; 0 kPa for a draw-through or unboosted one", "-5 kPa", "300 kPa", ""
)
HAT_PRESSURE = Input("pressure_absolute", "absolute pressure in the hat; instead", "50 kPa", "400 kPa", "")
RATED_FLOW = Input(
    "volume_flow",
    "flow the carburettor is rated at",
    "30 cfm",
    "1500 cfm",
    condition="rated_depression",
    sheet="carburettor.rated_flow",
)
RATED_DEPRESSION = Input("pressure_difference", "depression of the rating", "0.5 inHg", "4 inHg")
RATING_PRACTICE = "1.5 inHg for four-barrel, 3.0 inHg for one- and two-barrel ratings: US trade practice"


# ----------------------------------------------------------------------------- flow and drop
def _flow_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = gauge_slips({**given, "manifold_pressure": given["hat_pressure"]})
    questions = [q.replace("manifold_pressure", "hat_pressure") for q in questions]
    drop = results["drop"]
    if drop > 2.0 * given["rated_depression"]:
        questions.append("the drop is more than twice that of the rating: the carburettor strangles the engine")
    if drop > 0.1 * results["hat_absolute"]:
        questions.append("the drop is more than a tenth of the pressure: the square law reads too little there")
    if given["rated_depression"] > 20e3:
        questions.append("rated_depression: carburettors are rated at 1.5 or 3.0 inches of mercury; check the unit")
    free = results["free_air_flow"]
    if free > given["rated_flow"] >= results["volume_flow"]:
        questions.append(
            "in free air the same mass would fill more than the rating and the carburettor would look too small; "
            "that is not what it sees"
        )
    return questions


@register(
    "carburettor",
    "What a carburettor in a pressurised hat sees: volume flow, density, drop",
    inputs={
        "mass_flow": AIR_FLOW,
        "hat_boost": HAT_BOOST,
        "hat_pressure": HAT_PRESSURE,
        **OUTSIDE_INPUTS,
        "hat_temperature": HAT_TEMPERATURE,
        "rated_flow": RATED_FLOW,
        "rated_depression": RATED_DEPRESSION,
        "rated_density": RATED_DENSITY,
        "carburettors": Input("count", "how many share the flow", "1", "8", "1", sheet="carburettor.count"),
    },
    outputs={
        "hat_absolute": Output("pressure_absolute", "kPa", "absolute pressure in the hat", ("psi",)),
        "density": Output("density", "kg/m3", "air density in the hat", ("lb/ft3",)),
        "volume_flow": Output("volume_flow", "cfm", "volume through each carburettor, at the hat's air", ("L/s",)),
        "drop": Output("pressure_difference", "inHg", "pressure drop across it", ("psi", "kPa")),
        "share_of_rating": Output("share", "%", "volume over rated volume"),
        "rating_for_same_drop": Output("volume_flow", "cfm", "rating that would give just the rated drop", ("L/s",)),
        "free_air_flow": Output(
            "volume_flow", "cfm", "what the same mass would fill at the rating's air: not what the carburettor sees"
        ),
    },
    formula="""
    density = hat_absolute / (287.05 * hat_temperature)
    volume_flow = mass_flow / density / carburettors
    drop = rated_depression * (volume_flow / rated_flow)^2 * density / rated_density
    rating_for_same_drop = volume_flow * sqrt(density / rated_density)
    free_air_flow = mass_flow / rated_density / carburettors
    """,
    source="square law of the orifice with the density of the air that is there; standard textbook relation. "
    + RATING_PRACTICE,
    validity="drop small against the pressure; throttle wide open",
    slips=(
        "flow worked out in free air: the carburettor then looks far too small",
        "two-barrel rating (3.0 inHg) taken as a four-barrel one (1.5 inHg)",
        "gauge pressure taken as absolute in the density",
    ),
    question=_flow_question,
    caution="fuel and air under pressure: a backfire can burst the hat; screws, seals and a relief path",
    example='--mass-flow "31.5 lb/min" --hat-boost "13 psi" --barometer "98.0 kPa" --hat-temperature "60 degC" '
    '--rated-flow "390 cfm @ 1.5 inHg"',
)
def carburettor_flow(
    mass_flow: float,
    hat_boost: float | None,
    hat_pressure: float | None,
    barometer: float | None,
    altitude: float | None,
    hat_temperature: float,
    rated_flow: float,
    rated_depression: float,
    rated_density: float,
    carburettors: float,
) -> dict[str, float]:
    """Volume flow [m3/s], density [kg/m3] and drop [Pa] of each carburettor."""
    if rated_flow <= 0.0 or rated_depression <= 0.0:
        raise ValueError("rated_flow and rated_depression must be above zero")
    one_of(hat_boost=hat_boost, hat_pressure=hat_pressure)
    air = air_density(hat_temperature, Place(hat_boost, hat_pressure, barometer, altitude), None)
    density = air["density"]
    volume = mass_flow / density / carburettors
    return {
        "hat_absolute": air["absolute"],
        "density": density,
        "volume_flow": volume,
        "drop": rated_depression * (volume / rated_flow) ** 2 * density / rated_density,
        "share_of_rating": volume / rated_flow,
        "rating_for_same_drop": volume * sqrt(density / rated_density),
        "free_air_flow": mass_flow / rated_density / carburettors,
    }


@register(
    "carburettor",
    "Carburettor rating an engine needs",
    inputs={
        **SIZE_INPUTS,
        "speed": measures.SPEED,
        "volumetric_efficiency": Input(
            "share", "volumetric efficiency against the air before the carburettor", "40 %", "130 %"
        ),
        "density": Input("density", "air before the carburettor", "0.7 kg/m3", "4 kg/m3", f"{RHO_STANDARD_DAY} kg/m3"),
        "drop": Input("pressure_difference", "drop allowed wide open", "0.3 inHg", "4 inHg"),
        "rated_depression": RATED_DEPRESSION,
        "rated_density": RATED_DENSITY,
        "carburettors": Input("count", "how many share the flow", "1", "8", "1"),
        "strokes": STROKES,
    },
    outputs={
        "volume_flow": Output("volume_flow", "cfm", "volume through each", ("L/s",)),
        "rating": Output("volume_flow", "cfm", "rating needed at the rating's depression", ("L/s",)),
    },
    formula="""
    volume_flow = volumetric_efficiency * displacement * speed / 2 / carburettors
    rating = volume_flow * sqrt(density / rated_density * rated_depression / drop)
    """,
    source="square law of the orifice; standard textbook relation. " + RATING_PRACTICE,
    slips=("boost multiplied into the volume: in a pressurised hat it raises the density, not the volume",),
    example='--displacement "2150 cc" --speed "6500 rpm" --volumetric-efficiency "94 %" --density "1.96 kg/m3" '
    '--drop "1.0 inHg" --rated-depression "1.5 inHg"',
)
def carburettor_size(
    size: EngineSize,
    speed: float,
    volumetric_efficiency: float,
    density: float,
    drop: float,
    rated_depression: float,
    rated_density: float,
    carburettors: float,
    strokes: str,
) -> dict[str, float]:
    """Rating [m3/s] of each carburettor for an allowed drop [Pa]."""
    if drop <= 0.0:
        raise ValueError("the drop allowed must be above zero")
    all_of_it = air_volume(size, speed, volumetric_efficiency, strokes)["volume_flow"]
    volume = all_of_it / carburettors
    return {"volume_flow": volume, "rating": volume * sqrt(density / rated_density * rated_depression / drop)}


# ----------------------------------------------------------------------------- venturi
UPSTREAM = Input("pressure_absolute", "absolute pressure before the venturi", "50 kPa", "400 kPa")
UPSTREAM_T = Input("temperature", "air before the venturi", "-20 degC", "180 degC")


@register(
    "carburettor",
    "Venturi (choke) diameter for an air flow and throat speed",
    inputs={
        "mass_flow": AIR_FLOW,
        "throat_speed": Input("speed", "air speed in the throat", "30 m/s", "250 m/s"),
        "velocity_coefficient": Input("share", "real over ideal throat speed", "60 %", "100 %", "100 %"),
        "discharge": Input("share", "share of the throat's area that flows", "60 %", "100 %", "100 %"),
        "emulsion_tube": Input("share", "diameter of a tube in the throat over the throat's", "0 %", "70 %", "0 %"),
        "pressure": UPSTREAM,
        "temperature": UPSTREAM_T,
    },
    outputs={
        "diameter": Output("length", "mm", "throat diameter", ("in",)),
        "throat_pressure": Output("pressure_absolute", "kPa", "pressure in the throat"),
        "depression": Output("pressure_difference", "kPa", "pull on the fuel", ("inHg", "inH2O", "bar")),
        "throat_density": Output("density", "kg/m3", "density in the throat"),
    },
    formula="""
    throat_pressure = pressure * (1 - (throat_speed / velocity_coefficient)^2 / (2 * 1004.7 * temperature))^3.5
    throat_density = pressure / (287.05 * temperature) * (throat_pressure / pressure)^(1 / 1.4)
    diameter = sqrt(4 / pi * mass_flow / (discharge * throat_density * throat_speed) / (1 - emulsion_tube^2))
    """,
    source="isentropic flow to the throat; carburettor chapter of textbooks on combustion engines",
    validity="below the speed of sound",
    example='--mass-flow "5 kg/min" --throat-speed "90 m/s" --velocity-coefficient "80 %" --pressure "1.013 bar" '
    '--temperature "27 degC"',
)
def venturi_diameter(
    mass_flow: float,
    throat_speed: float,
    velocity_coefficient: float,
    discharge: float,
    emulsion_tube: float,
    pressure: float,
    temperature: float,
) -> dict[str, float]:
    """Throat diameter [m]; raises ValueError where the speed asked for is beyond sound."""
    if not 0.0 < velocity_coefficient <= 1.0 or not 0.0 < discharge <= 1.0 or not 0.0 <= emulsion_tube < 1.0:
        raise ValueError("coefficients and the tube's share lie between 0 and 100 %")
    ideal = throat_speed / velocity_coefficient
    heat = 1.0 - ideal**2 / (2.0 * CP_AIR * temperature)
    ratio = heat ** (GAMMA_AIR / (GAMMA_AIR - 1.0)) if heat > 0.0 else 0.0
    if ratio <= critical_ratio(GAMMA_AIR):
        raise ValueError("the throat would be at the speed of sound; ask for a lower speed")
    density = pressure / (R_AIR * temperature) * ratio ** (1.0 / GAMMA_AIR)
    area = mass_flow / (discharge * density * throat_speed)
    return {
        "diameter": sqrt(4.0 / pi * area / (1.0 - emulsion_tube**2)),
        "throat_pressure": ratio * pressure,
        "depression": (1.0 - ratio) * pressure,
        "throat_density": density,
    }


@register(
    "carburettor",
    "Depression in a venturi of known diameter",
    inputs={
        "mass_flow": AIR_FLOW,
        "diameter": Input("length", "throat diameter", "8 mm", "80 mm"),
        "discharge": Input("share", "discharge coefficient", "60 %", "100 %", part=True),
        "venturis": Input("count", "how many share the flow", "1", "16", "1"),
        "pressure": UPSTREAM,
        "temperature": UPSTREAM_T,
    },
    outputs={
        "depression": Output(
            "pressure_difference", "kPa", "pull on the fuel, compressible flow", ("inHg", "inH2O", "bar")
        ),
        "depression_square_law": Output(
            "pressure_difference", "kPa", "by the incompressible rule, as books do", ("bar",)
        ),
        "throat_speed": Output("speed", "m/s", "ideal speed in the throat"),
        "throat_mach": Output("number", "1", "Mach number in the throat"),
        "share_of_choked": Output("share", "%", "flow over the flow at which the throat chokes"),
    },
    formula="""
    mass_flow = discharge * area * pressure / sqrt(287.05 * temperature) * flow function of the depression
    depression_square_law = (mass_flow / (discharge * area))^2 / (2 * density)
    """,
    source="isentropic nozzle; carburettor chapter of textbooks on combustion engines for the incompressible rule",
    question=lambda given, results: (
        ["the throat is within a fifth of choking: power stops growing with speed there"]
        if results["share_of_choked"] > 0.8
        else []
    ),
    example='--mass-flow "0.1058 kg/s" --diameter "35 mm" --discharge "82 %" --pressure "1.013 bar" --temperature '
    '"25 degC"',
)
def venturi_depression(
    mass_flow: float, diameter: float, discharge: float, venturis: float, pressure: float, temperature: float
) -> dict[str, float]:
    """Depression [Pa] in the throat; raises ValueError when the throat cannot pass the flow."""
    area = pi / 4.0 * diameter**2 * venturis
    unit = discharge * area * pressure / sqrt(R_AIR * temperature)
    wanted = mass_flow / unit
    limit = flow_function(0.0, GAMMA_AIR)
    if wanted >= limit:
        raise ValueError(
            f"the throat chokes at {limit * unit:.4g} kg/s and cannot pass this flow: larger or more throats"
        )
    low, high = critical_ratio(GAMMA_AIR), 1.0
    while high - low > 1e-13:
        middle = 0.5 * (low + high)
        if flow_function(middle, GAMMA_AIR) > wanted:
            low = middle
        else:
            high = middle
    ratio = 0.5 * (low + high)
    heat = ratio ** ((GAMMA_AIR - 1.0) / GAMMA_AIR)
    speed = sqrt(2.0 * CP_AIR * temperature * (1.0 - heat))
    return {
        "depression": (1.0 - ratio) * pressure,
        "depression_square_law": (mass_flow / (discharge * area)) ** 2 * R_AIR * temperature / (2.0 * pressure),
        "throat_speed": speed,
        "throat_mach": speed / sqrt(GAMMA_AIR * R_AIR * temperature * heat),
        "share_of_choked": wanted / limit,
    }


@register(
    "carburettor",
    "Choked venturi: the most air a throat can pass",
    inputs={
        "diameter": Input("length", "throat diameter", "8 mm", "80 mm", ""),
        "area": Input("area", "throat area; instead", "0.5 cm2", "60 cm2", ""),
        "venturis": Input("count", "how many", "1", "16", "1"),
        "discharge": Input("share", "discharge coefficient", "60 %", "100 %", "100 %", part=True),
        "pressure": UPSTREAM,
        "temperature": UPSTREAM_T,
        "power_per_air": Input("power_per_air", "power for each air flow", "6 hp/(lb/min)", "12 hp/(lb/min)", ""),
    },
    outputs={
        "mass_flow": Output("mass_flow", "kg/s", "choked air flow", ("lb/min",)),
        "volume_flow": Output("volume_flow", "cfm", "as volume of the air before it", ("L/s",)),
        "power": Output("power", "kW", "power that air could make", ("hp",)),
    },
    formula="mass_flow = 0.68473 * discharge * area * pressure / sqrt(287.05 * temperature)",
    source="isentropic nozzle at its critical ratio, gamma 1.4",
    validity="the ceiling, not a working point: half of it is a usual upper end",
    example='--area "1 cm2" --pressure "1 bar" --temperature "298 K"',
)
def venturi_ceiling(
    diameter: float | None,
    area: float | None,
    venturis: float,
    discharge: float,
    pressure: float,
    temperature: float,
    power_per_air: float | None,
) -> dict[str, float | None]:
    """Choked flow [kg/s] of throats and the power [W] it would feed."""
    throat = hole_area(diameter, area) * venturis
    flow = flow_function(0.0, GAMMA_AIR) * discharge * throat * pressure / sqrt(R_AIR * temperature)
    return {
        "mass_flow": flow,
        "volume_flow": flow * R_AIR * temperature / pressure,
        "power": None if power_per_air is None else flow * power_per_air,
    }
