"""Sums of the dyno: atmospheric correction by each code.

Torque and losses are in ``dyno_rig``, repeats in ``dyno_repeats``.

Every code assumes that manifold pressure follows the barometer. With boost held by a gate that is only partly so, with
boost held to an absolute pressure not at all; the observed figure therefore stands first in every answer, and the
pressure part is never applied unseen. Water vapour pressure is that of ``spoolwright.gas.air``.

The texts of the standards were not read: SAE J1349 of 1990 is quoted publicly, DIN 70020, ISO 1585 and UN R85 are known
by formula from public sources, JIS D 1001, SAE J1995, ISO 3046-1 and the 2004 constants from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from spoolwright.constants import STANDARD_ATMOSPHERE
from spoolwright.gas import air
from spoolwright.sums import dyno_repeats, dyno_rig  # noqa: F401 - they register the rest of this topic
from spoolwright.sums.registry import Input, Output, register


@dataclass(frozen=True, slots=True)
class Code:
    """One correction code: reference state and factor from reference over actual pressure, actual over reference T.

    ``p`` and ``T`` of the reference day [Pa, K]; ``dry`` whether pressure is without water vapour;
    ``factor(pressure ratio, temperature ratio)``; ``window`` where the code says it holds.
    """

    p: float
    T: float
    dry: bool
    factor: Callable[[float, float], float]
    window: tuple[float, float]
    note: str


def _mechanical(slope: float) -> Callable[[float, float], float]:
    """Indicated power scales, friction does not: slope * p T^0.5 - (slope - 1)."""
    return lambda p, T: slope * p * T**0.5 - (slope - 1.0)


def _power_law(p_exponent: float, T_exponent: float) -> Callable[[float, float], float]:
    return lambda p, T: float(p**p_exponent * T**T_exponent)


_WINDOW = (0.93, 1.07)
# Codes that print 273 + t with t in degC are written with their own 0.15 K here as 298.15, 293.15: the ratio
# differs by less than 2e-5.
CODES: Final[dict[str, Code]] = {
    "SAE J1349 1990": Code(99.0e3, 298.15, True, _mechanical(1.180), _WINDOW, "quoted publicly"),
    "SAE J1349 2004": Code(99.0e3, 298.15, True, _mechanical(1.176), _WINDOW, "constants from memory"),
    "ISO 1585": Code(99.0e3, 298.15, True, _power_law(1.2, 0.6), _WINDOW, "also UN R85, spark ignition"),
    "DIN 70020": Code(101.3e3, 293.15, False, _power_law(1.0, 0.5), (0.0, 9.9), "wet barometer"),
    "JIS D 1001": Code(99.0e3, 298.15, True, _power_law(1.2, 0.6), _WINDOW, "exponents from memory"),
    "SAE J607": Code(STANDARD_ATMOSPHERE, 288.7056, True, _power_law(1.0, 0.5), (0.0, 9.9), 'old "STD": 60 degF'),
    "SAE J1995": Code(100.0e3, 298.15, True, _power_law(1.2, 0.6), _WINDOW, "gross power; exponents from memory"),
}

_AIR_INPUTS = {
    "air_temperature": Input("temperature", "air at the intake", "-10 degC", "55 degC", sheet="site.temperature"),
    "barometer": Input(
        "pressure_absolute",
        "station pressure, moist, not reduced to sea",
        "60 kPa",
        "106 kPa",
        sheet="site.barometer",
    ),
    "humidity": Input(
        "share", "relative; or give dew_point or vapour_pressure", "0 %", "100 %", "", sheet="site.humidity"
    ),
    "dew_point": Input("temperature", "dew point; or give humidity or vapour_pressure", "-30 degC", "32 degC", ""),
    "vapour_pressure": Input("pressure_absolute", "water vapour pressure (0 for dry air)", "0 kPa", "6 kPa", ""),
    "altitude": Input(
        "distance", "height above sea, to check the barometer", "-100 m", "4000 m", "", sheet="site.altitude"
    ),
}
_BOOST_CONTROL = Input(
    "choice",
    "none: no boost; gauge: a gate against outside air; absolute: held to a manifold pressure; compensated: neither "
    "height nor temperature changes the charge",
    choices=("not stated", "none", "gauge", "absolute", "compensated"),
    default="not stated",
)
_POWER = Input("power", "power as measured", "1 hp", "3000 hp")
_CAUTION = "A corrected number is for comparing days; the engine saw the observed one. Keep clear of the roller."


class DayAir(NamedTuple):
    """The air of the day: temperatures [K], pressures [Pa], moisture in one of three ways, height [m] for a check."""

    air_temperature: float
    barometer: float
    humidity: float | None
    dew_point: float | None
    vapour_pressure: float | None
    altitude: float | None

    def dry_pressure(self) -> float:
        """Barometer less water vapour [Pa]; exactly one of the three ways to state moisture is to be given."""
        given = [x for x in (self.humidity, self.dew_point, self.vapour_pressure) if x is not None]
        if len(given) != 1:
            raise ValueError("give one of humidity, dew_point or vapour_pressure (0 kPa for dry air)")
        if self.humidity is not None:
            if not 0.0 <= self.humidity <= 1.0:
                raise ValueError('relative humidity lies between 0 and 100 %; write "48 %"')
            water = self.humidity * air.saturation_pressure(self.air_temperature)
        elif self.dew_point is not None:
            water = air.saturation_pressure(self.dew_point)
            if self.dew_point > self.air_temperature:
                raise ValueError("the dew point cannot lie above the air temperature")
        else:
            assert self.vapour_pressure is not None
            water = self.vapour_pressure
        if self.barometer - water <= 0.0:
            raise ValueError("the water vapour would be more than all of the air")
        return self.barometer - water


def factors(code: Code, p: float, p_dry: float, T: float) -> tuple[float, float]:
    """The code's factor and its temperature part alone, at wet ``p``, dry ``p_dry`` [Pa] and T [K]."""
    ratio = code.p / (p_dry if code.dry else p)
    return code.factor(ratio, T / code.T), code.factor(1.0, T / code.T)


def used_factor(boost_control: str, whole: float, temperature_only: float) -> float:
    """What of a factor applies: nothing where the charge does not follow the weather (UN R85 proposal GRPE-70-02)."""
    return {"absolute": temperature_only, "compensated": 1.0}.get(boost_control, whole)


# ----------------------------------------------------------------------------- questions
def _barometer_questions(given: Mapping[str, Any]) -> list[str]:
    questions = []
    altitude = given["altitude"]
    if altitude is not None and -2000.0 <= altitude <= 11000.0:
        standard = air.standard_atmosphere(air.geopotential_altitude(altitude)).p
        if abs(given["barometer"] - standard) > 4000.0:
            questions.append(
                f"at {altitude:.0f} m the barometer stands near {standard / 1000:.1f} kPa and "
                f"{given['barometer'] / 1000:.1f} kPa was given: a weather report reduced to sea level?"
            )
    elif given["barometer"] > 104.5e3:
        questions.append("a barometer above 104.5 kPa is rare: reduced to sea level, or not absolute?")
    return questions


def _boost_questions(boost_control: str, factor: float, temperature_only: float) -> list[str]:
    if boost_control == "not stated":
        return [
            "how is boost held? Every code assumes that manifold pressure follows the barometer: state boost_control "
            "(none, gauge, absolute or compensated); until then the observed figure is the one to trust"
        ]
    if boost_control == "absolute":
        return [
            "boost is held to an absolute pressure, so the pressure part of the factor does not apply; left to "
            f"boost_control it is left out. The code's whole factor would be {factor:.4f}, its temperature part is "
            f"{temperature_only:.4f}: choose with pressure_part, and print the observed figure beside it"
        ]
    if boost_control == "compensated":
        return [f"the charge does not follow the weather: no factor applies (the whole code would be {factor:.4f})"]
    if boost_control == "gauge":
        low, high = sorted((factor, temperature_only))
        return [
            f"boost above outside air is held, so absolute pressure changes less than the barometer: the whole factor "
            f"over-corrects; the truth lies between {low:.4f} and {high:.4f}"
        ]
    return []


def _window_question(name: str, code: Code, factor: float) -> list[str]:
    low, high = code.window
    if low <= factor <= high:
        return []
    return [f"{name}: {factor:.4f} is outside the {low:g} to {high:g} in which the code holds: wait for other weather"]


def _one_code_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    code = CODES[given["standard"]]
    return [
        *_boost_questions(given["boost_control"], results["code_factor"], results["temperature_factor"]),
        *_window_question(given["standard"], code, results["code_factor"]),
        *_barometer_questions(given),
    ]


# ----------------------------------------------------------------------------- one code
def _observed(power: float | None, torque: float | None) -> None:
    if power is None and torque is None:
        raise ValueError("give observed_power, observed_torque or both")


@register(
    "dyno",
    "Atmospheric correction by one code",
    inputs={
        "observed_power": Input("power", _POWER.meaning, _POWER.low, _POWER.high, ""),
        "observed_torque": Input("torque", "torque as measured", "1 N m", "4000 N m", ""),
        "standard": Input("choice", "the code", choices=tuple(CODES)),
        **_AIR_INPUTS,
        "boost_control": _BOOST_CONTROL,
        "pressure_part": Input(
            "choice",
            "whether the pressure part counts; left to boost_control it is left out for absolute",
            choices=("by boost control", "applied", "left out"),
            default="by boost control",
        ),
    },
    outputs={
        "observed_power": Output("power", "hp", "power as measured", ("kW", "PS")),
        "observed_torque": Output("torque", "N m", "torque as measured", ("lbf ft",)),
        "dry_pressure": Output("pressure_absolute", "kPa", "barometer less water vapour", ("inHg", "mbar")),
        "factor": Output("number", "1", "factor used"),
        "corrected_power": Output("power", "hp", "observed power times the factor used", ("kW", "PS")),
        "corrected_torque": Output("torque", "N m", "observed torque times the factor used", ("lbf ft",)),
        "code_factor": Output("number", "1", "whole factor of the code"),
        "temperature_factor": Output("number", "1", "its temperature part alone"),
        "within_window": Output("number", "1", "1 where the code holds, 0 outside its window"),
        "reference_pressure": Output("pressure_absolute", "kPa", "pressure of the code's reference day"),
        "reference_temperature": Output("temperature", "degC", "temperature of the code's reference day", ("degF",)),
    },
    formula="""
    dry_pressure = barometer - vapour pressure
    SAE J1349: factor = 1.180 * (99 kPa / dry_pressure) * sqrt(T / 298) - 0.180 (2004: 1.176, 0.176)
    ISO 1585, UN R85, JIS D 1001: factor = (99 kPa / dry_pressure)^1.2 * (T / 298)^0.6
    DIN 70020: factor = (101.3 kPa / barometer) * sqrt(T / 293)
    SAE J607 (STD): factor = (29.92 inHg / dry_pressure) * sqrt(T / 519.7 degR)
    corrected_power = observed_power * factor
    """,
    source=(
        "SAE J1349 Jun 1990 as quoted publicly; ISO 1585 / UN R85 and DIN 70020 formulas as seen in public; "
        "J607 reference 60 degF, 29.92 inHg dry; 2004 constants, JIS D 1001 and SAE J1995 exponents from memory; no "
        "factor for a compensated charge: UN R85 amendment proposal GRPE-70-02 (2014)"
    ),
    validity="factors of 0.93 to 1.07 (ISO, from memory for SAE); spark ignition, boost that follows the barometer",
    slips=(
        "pressure reduced to sea level",
        "DIN 70020 uses the wet barometer, the others the dry one",
        "a chart without the named code: STD reads 3 to 4 % above SAE",
        "corrected turbo power compared across heights",
    ),
    question=_one_code_question,
    caution=_CAUTION,
    example=(
        '--observed-power "247 hp" --standard "SAE J1349 1990" --air-temperature "31 degC" --barometer "95.8 kPa" '
        '--humidity "48 %" --boost-control none'
    ),
)
def power_correction(
    observed_power: float | None,
    observed_torque: float | None,
    standard: str,
    day: DayAir,
    boost_control: str,
    pressure_part: str,
) -> dict[str, float | None]:
    """Observed and corrected power [W] and torque [N m] by one code at station pressure [Pa], T [K]."""
    _observed(observed_power, observed_torque)
    code = CODES[standard]
    dry = day.dry_pressure()
    whole, temperature_only = factors(code, day.barometer, dry, day.air_temperature)
    used = {
        "applied": whole,
        "left out": temperature_only,
        "by boost control": used_factor(boost_control, whole, temperature_only),
    }[pressure_part]
    return {
        "observed_power": observed_power,
        "observed_torque": observed_torque,
        "dry_pressure": dry,
        "factor": used,
        "corrected_power": None if observed_power is None else observed_power * used,
        "corrected_torque": None if observed_torque is None else observed_torque * used,
        "code_factor": whole,
        "temperature_factor": temperature_only,
        "within_window": float(code.window[0] <= whole <= code.window[1]),
        "reference_pressure": code.p,
        "reference_temperature": code.T,
    }


# ----------------------------------------------------------------------------- all codes
def _key(name: str) -> str:
    return name.lower().replace(" ", "_")


def _all_outputs() -> dict[str, Output]:
    outputs = {
        "observed_power": Output("power", "hp", "power as measured", ("kW", "PS")),
        "dry_pressure": Output("pressure_absolute", "kPa", "barometer less water vapour", ("inHg", "mbar")),
    }
    for name, code in CODES.items():
        day = f"{code.p / 1000:.1f} kPa {'dry' if code.dry else 'wet'}, {code.T - 273.15:.1f} degC; {code.note}"
        outputs["factor_" + _key(name)] = Output("number", "1", f"factor by {name} ({day})")
        outputs["power_" + _key(name)] = Output("power", "hp", f"power by {name}", ("kW", "PS"))
    return outputs


def _all_question(given: Mapping[str, Any], results: Mapping[str, Any]) -> Sequence[str]:
    questions = _barometer_questions(given)
    for name, code in CODES.items():
        questions += _window_question(name, code, results["factor_" + _key(name)])
    if given["boost_control"] == "absolute":
        return [
            "boost is held to an absolute pressure: the pressure part of every factor does not apply and was left out; "
            "the observed figure is the one to trust",
            *questions,
        ]
    if given["boost_control"] != "none":
        code = CODES["SAE J1349 2004"]
        whole, temperature_only = factors(code, given["barometer"], results["dry_pressure"], given["air_temperature"])
        return [*_boost_questions(given["boost_control"], whole, temperature_only), *questions]
    return questions


@register(
    "dyno",
    "Atmospheric correction by every code side by side",
    inputs={"observed_power": _POWER, **_AIR_INPUTS, "boost_control": _BOOST_CONTROL},
    outputs=_all_outputs(),
    formula="each code as in `power_correction`; corrected = observed_power * its factor",
    source="as `power_correction`",
    validity="each code's own; with boost held to an absolute pressure only the temperature parts are used",
    slips=("figures by different codes compared", "STD reads 3 to 4 % above SAE for the same pull"),
    question=_all_question,
    caution=_CAUTION,
    example=(
        '--observed-power "247 hp" --air-temperature "31 degC" --barometer "95.8 kPa" --humidity "48 %" '
        "--boost-control none"
    ),
)
def power_correction_by_every_code(observed_power: float, day: DayAir, boost_control: str) -> dict[str, float]:
    """Factor and power [W] by each code; only the temperature part where boost is held absolute."""
    dry = day.dry_pressure()
    results = {"observed_power": observed_power, "dry_pressure": dry}
    for name, code in CODES.items():
        whole, temperature_only = factors(code, day.barometer, dry, day.air_temperature)
        used = used_factor(boost_control, whole, temperature_only)
        results["factor_" + _key(name)] = used
        results["power_" + _key(name)] = observed_power * used
    return results


@register(
    "dyno",
    "Power from one code into another",
    inputs={
        "power": Input("power", "corrected power as printed", "1 hp", "3000 hp"),
        "by": Input("choice", "the code it was corrected by", choices=tuple(CODES)),
        "into": Input("choice", "the code wanted", choices=tuple(CODES)),
        **_AIR_INPUTS,
    },
    outputs={
        "observed_power": Output("power", "hp", "power as it was measured", ("kW",)),
        "power_wanted": Output("power", "hp", "power by the code wanted", ("kW", "PS")),
        "ratio": Output("number", "1", "wanted over printed"),
    },
    formula="power_wanted = observed_power * factor of the code wanted",
    source="as `power_correction`",
    slips=("converted with a fixed ratio: it depends on the day",),
    question=lambda given, results: _barometer_questions(given),
    example=(
        '--power "280 hp" --by "SAE J607" --into "SAE J1349 2004" --air-temperature "25 degC" --barometer "99 kPa" '
        '--humidity "30 %"'
    ),
)
def power_between_codes(power: float, by: str, into: str, day: DayAir) -> dict[str, float]:
    """Power [W] by another code, from the weather of the day."""
    dry = day.dry_pressure()
    first, _ = factors(CODES[by], day.barometer, dry, day.air_temperature)
    second, _ = factors(CODES[into], day.barometer, dry, day.air_temperature)
    return {"observed_power": power / first, "power_wanted": power * second / first, "ratio": second / first}


@register(
    "dyno",
    "Power at a site from rated power, ISO 3046-1 form",
    inputs={
        "rated_power": _POWER,
        "site_pressure": Input("pressure_absolute", "dry pressure at the site", "55 kPa", "106 kPa"),
        "site_temperature": Input("temperature", "air at the intake there", "-20 degC", "55 degC"),
        "reference_pressure": Input("pressure_absolute", "of the rating, dry", "95 kPa", "102 kPa", "100 kPa"),
        "reference_temperature": Input("temperature", "of the rating", "15 degC", "30 degC", "25 degC"),
        "mechanical_efficiency": Input("share", "mechanical efficiency", "65 %", "95 %", "80 %"),
        "pressure_exponent": Input("number", "m", "0", "1.5", "1"),
        "temperature_exponent": Input("number", "n", "0", "2", "0.75"),
    },
    outputs={
        "indicated_ratio": Output("number", "1", "k, ratio of indicated power"),
        "adjustment": Output("number", "1", "alpha, site power over rated power"),
        "site_power": Output("power", "hp", "power to expect there", ("kW",)),
        "factor_to_reference": Output("number", "1", "1 / alpha: measured there into rated"),
    },
    formula="""
    indicated_ratio = (site_pressure / reference_pressure)^pressure_exponent * (Tr / T)^temperature_exponent
    adjustment = indicated_ratio - 0.7 * (1 - indicated_ratio) * (1 / mechanical_efficiency - 1)
    site_power = rated_power * adjustment
    """,
    source="ISO 3046-1, formula and exponents (unboosted spark ignition) from memory, not confirmed",
    validity="unboosted engines with the exponents given here; a turbocharged one needs its maker's",
    example='--rated-power "100 kW" --site-pressure "84 kPa" --site-temperature "20 degC"',
)
def power_at_site(
    rated_power: float,
    site_pressure: float,
    site_temperature: float,
    reference_pressure: float,
    reference_temperature: float,
    mechanical_efficiency: float,
    pressure_exponent: float,
    temperature_exponent: float,
) -> dict[str, float]:
    """Site power [W] from a rating by the ISO 3046-1 form."""
    if not 0.0 < mechanical_efficiency <= 1.0 or min(site_pressure, reference_pressure) <= 0.0:
        raise ValueError("pressures must be above zero and the efficiency between 0 and 100 %")
    k = (site_pressure / reference_pressure) ** pressure_exponent
    k *= (reference_temperature / site_temperature) ** temperature_exponent
    alpha = k - 0.7 * (1.0 - k) * (1.0 / mechanical_efficiency - 1.0)
    if alpha <= 0.0:
        raise ValueError("no power would be left; check pressures and temperatures")
    return {
        "indicated_ratio": k,
        "adjustment": alpha,
        "site_power": rated_power * alpha,
        "factor_to_reference": 1.0 / alpha,
    }
