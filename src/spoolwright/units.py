"""Units at the edge: text as a builder writes it to SI floats, and back.

The one unit registry of the program. A quantity is text with a unit ("92.5 mm", "45 thou",
"500 cfm @ 1.5 inHg", "52.1 cc ± 0.3"); it is read against a *kind* (length, gauge pressure, ...)
and becomes a :class:`Quantity`: SI value, spread, condition, and the text as typed. Inside the
program there are SI floats only; crank angles are in degrees, mixture is lambda.

What one unit table cannot tell, the kind does: gauge from absolute pressure, torque from energy,
actual from standard volume flow, a temperature from a temperature difference. A bare number is a
fault, except for kinds without a unit. Nothing is clamped, nothing is guessed.

General-purpose unit libraries read "PS" as petasiemens and "cfm" as centifermi, know no gauge
pressure, and cost about a thousand times a table look-up; the tests hold each unit here against one.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from spoolwright.constants import STANDARD_ATMOSPHERE, STANDARD_GRAVITY, ZERO_CELSIUS
from spoolwright.errors import BadInput

# Dimensions: length, mass, time, temperature, current, angle. The order is fixed here.
Dims = tuple[int, int, int, int, int, int]
_L: Dims = (1, 0, 0, 0, 0, 0)
_M: Dims = (0, 1, 0, 0, 0, 0)
_T: Dims = (0, 0, 1, 0, 0, 0)
_K: Dims = (0, 0, 0, 1, 0, 0)
_A: Dims = (0, 0, 0, 0, 1, 0)
_DEG: Dims = (0, 0, 0, 0, 0, 1)
_ONE: Dims = (0, 0, 0, 0, 0, 0)


def _dims(length: int = 0, mass: int = 0, time: int = 0, kelvin: int = 0, ampere: int = 0, deg: int = 0) -> Dims:
    return (length, mass, time, kelvin, ampere, deg)


_AREA, _VOL = _dims(2), _dims(3)
_FORCE, _PRES = _dims(1, 1, -2), _dims(-1, 1, -2)
_ENERGY, _POWER = _dims(2, 1, -2), _dims(2, 1, -3)
_VFLOW, _MFLOW = _dims(3, 0, -1), _dims(0, 1, -1)
_VOLT, _OHM = _dims(2, 1, -3, 0, -1), _dims(2, 1, -3, 0, -2)

_INCH: Final = 0.0254  # m; exact, international yard and pound agreement 1959
_FOOT: Final = 12 * _INCH
_POUND: Final = 0.45359237  # kg; exact, same agreement
_LBF: Final = _POUND * STANDARD_GRAVITY
_PSI: Final = _LBF / _INCH**2
_US_GALLON: Final = 231 * _INCH**3  # exact, US customary
_UK_GALLON: Final = 4.54609e-3  # exact, UK Weights and Measures Act 1985
_HP: Final = 550.0 * _FOOT * _LBF  # W; mechanical horsepower
_INHG: Final = 3386.389  # Pa at 0 degC; conventional, NIST SP 811 table B.8
_INHG60F: Final = 3376.85  # Pa, mercury at 60 degF, 0.28 % less; NIST SP 811 table B.8
_MMHG: Final = 133.3224  # Pa; NIST SP 811
_INH2O: Final = 249.08891  # Pa, water at 4 degC by density 1000 kg/m3 conventional: 249.0889
_TURN: Final = 2.0 * math.pi

# name: (factor to SI, dimensions). Canonical angle unit is the degree.
UNITS: Final[dict[str, tuple[float, Dims]]] = {
    "m": (1.0, _L), "mm": (1e-3, _L), "cm": (1e-2, _L), "km": (1e3, _L), "um": (1e-6, _L), "nm": (1e-9, _L),
    "in": (_INCH, _L), "thou": (_INCH / 1000, _L), "ft": (_FOOT, _L), "yd": (3 * _FOOT, _L), "mi": (5280 * _FOOT, _L),
    "m2": (1.0, _AREA), "mm2": (1e-6, _AREA), "cm2": (1e-4, _AREA), "in2": (_INCH**2, _AREA), "ft2": (_FOOT**2, _AREA),
    "m3": (1.0, _VOL), "cm3": (1e-6, _VOL), "cc": (1e-6, _VOL), "mm3": (1e-9, _VOL), "L": (1e-3, _VOL), "mL": (1e-6, _VOL),
    "dL": (1e-4, _VOL), "in3": (_INCH**3, _VOL), "ft3": (_FOOT**3, _VOL),
    "gal": (_US_GALLON, _VOL), "ukgal": (_UK_GALLON, _VOL), "qt": (_US_GALLON / 4, _VOL), "pint": (_US_GALLON / 8, _VOL),
    "floz": (_US_GALLON / 128, _VOL),
    "kg": (1.0, _M), "g": (1e-3, _M), "mg": (1e-6, _M), "t": (1e3, _M), "lb": (_POUND, _M), "oz": (_POUND / 16, _M),
    "s": (1.0, _T), "ms": (1e-3, _T), "us": (1e-6, _T), "min": (60.0, _T), "h": (3600.0, _T), "day": (86400.0, _T),
    "K": (1.0, _K), "Rdiff": (5 / 9, _K),
    "A": (1.0, _A), "mA": (1e-3, _A), "V": (1.0, _VOLT), "kV": (1e3, _VOLT), "mV": (1e-3, _VOLT),
    "ohm": (1.0, _OHM), "mohm": (1e-3, _OHM), "kohm": (1e3, _OHM),
    "H": (1.0, _dims(2, 1, -2, 0, -2)), "mH": (1e-3, _dims(2, 1, -2, 0, -2)), "uH": (1e-6, _dims(2, 1, -2, 0, -2)),
    "F_farad": (1.0, _dims(-2, -1, 4, 0, 2)), "uF": (1e-6, _dims(-2, -1, 4, 0, 2)), "nF": (1e-9, _dims(-2, -1, 4, 0, 2)),
    "pF": (1e-12, _dims(-2, -1, 4, 0, 2)),
    "deg": (1.0, _DEG), "rad": (180.0 / math.pi, _DEG), "turn": (360.0, _DEG), "arcmin": (1 / 60, _DEG),
    "N": (1.0, _FORCE), "kN": (1e3, _FORCE), "MN": (1e6, _FORCE), "lbf": (_LBF, _FORCE), "kgf": (STANDARD_GRAVITY, _FORCE),
    "Pa": (1.0, _PRES), "hPa": (100.0, _PRES), "kPa": (1e3, _PRES), "MPa": (1e6, _PRES), "GPa": (1e9, _PRES),
    "bar": (1e5, _PRES), "mbar": (100.0, _PRES), "psi": (_PSI, _PRES), "ksi": (1e3 * _PSI, _PRES), "Mpsi": (1e6 * _PSI, _PRES),
    "inHg": (_INHG, _PRES), "inHg60F": (_INHG60F, _PRES), "mmHg": (_MMHG, _PRES), "inH2O": (_INH2O, _PRES), "mmH2O": (STANDARD_GRAVITY, _PRES),
    "atm": (STANDARD_ATMOSPHERE, _PRES), "torr": (STANDARD_ATMOSPHERE / 760, _PRES), "at": (STANDARD_GRAVITY * 1e4, _PRES),
    "J": (1.0, _ENERGY), "mJ": (1e-3, _ENERGY), "kJ": (1e3, _ENERGY), "MJ": (1e6, _ENERGY), "Wh": (3600.0, _ENERGY),
    "kWh": (3.6e6, _ENERGY), "Btu": (1055.05585262, _ENERGY), "kcal": (4186.8, _ENERGY), "cal": (4.1868, _ENERGY),
    "W": (1.0, _POWER), "kW": (1e3, _POWER), "MW": (1e6, _POWER), "hp": (_HP, _POWER),
    "PS": (75 * STANDARD_GRAVITY, _POWER),
    "cfm": (_FOOT**3 / 60, _VFLOW), "gph": (_US_GALLON / 3600, _VFLOW), "gpm": (_US_GALLON / 60, _VFLOW),
    "lpm": (1e-3 / 60, _VFLOW), "lph": (1e-3 / 3600, _VFLOW), "pph": (_POUND / 3600, _MFLOW),
    "rpm": (_TURN / 60, _dims(0, 0, -1)), "krpm": (1000 * _TURN / 60, _dims(0, 0, -1)), "rev/s": (_TURN, _dims(0, 0, -1)),
    "rad/s": (1.0, _dims(0, 0, -1)), "Hz": (1.0, _dims(0, 0, -1)), "kHz": (1e3, _dims(0, 0, -1)),
    "mph": (5280 * _FOOT / 3600, _dims(1, 0, -1)), "kn": (1852 / 3600, _dims(1, 0, -1)),
    "gn": (STANDARD_GRAVITY, _dims(1, 0, -2)), "cP": (1e-3, _dims(-1, 1, -1)), "cSt": (1e-6, _dims(2, 0, -1)),
    "1": (1.0, _ONE), "%": (1e-2, _ONE), "ppm": (1e-6, _ONE),
}  # fmt: skip

# Other spellings, looked up after the exact name; keys are lower case.
_SPELLINGS: Final[dict[str, str]] = {
    "millimeter": "mm", "millimetre": "mm", "millimeters": "mm", "millimetres": "mm", "inch": "in", "inches": "in", '"': "in",
    "mil": "thou", "mils": "thou", "foot": "ft", "feet": "ft", "'": "ft", "metre": "m", "meter": "m", "micron": "um",
    "microns": "um", "µm": "um", "mile": "mi", "miles": "mi", "ccm": "cc", "cu cm": "cc", "cu in": "in3", "ci": "in3",
    "cid": "in3", "cuin": "in3", "sq in": "in2", "sqin": "in2", "sq mm": "mm2", "sqmm": "mm2", "sq cm": "cm2", "cu ft": "ft3",
    "cuft": "ft3", "l": "L", "litre": "L", "liter": "L", "litres": "L", "liters": "L", "ltr": "L", "ml": "mL", "dl": "dL",
    "usgal": "gal", "us gal": "gal", "gallon": "gal", "gallons": "gal", "imp gal": "ukgal", "uk gal": "ukgal",
    "fl oz": "floz", "lbs": "lb", "pound": "lb", "pounds": "lb", "lbm": "lb", "ounce": "oz", "gram": "g", "grams": "g",
    "kilogram": "kg", "kilos": "kg", "tonne": "t", "sec": "s", "second": "s", "seconds": "s", "msec": "ms",
    "µs": "us", "usec": "us", "microsecond": "us", "microseconds": "us", "minute": "min", "minutes": "min", "hr": "h",
    "hour": "h", "hours": "h", "days": "day", "amp": "A", "amps": "A", "volt": "V", "volts": "V", "ohms": "ohm", "Ω": "ohm",
    "ω": "ohm", "mω": "mohm", "kω": "kohm", "henry": "H", "µh": "uH", "µf": "uF", "degree": "deg", "degrees": "deg", "°": "deg",
    "deg crank": "deg", "degca": "deg", "radian": "rad", "rev": "turn", "turns": "turn", "newton": "N", "lbsf": "lbf",
    "pound force": "lbf", "kp": "kgf", "kgf/cm2": "at", "kg/cm2": "at", "in hg": "inHg", "inchhg": "inHg", "inhg": "inHg", "inhg 60f": "inHg60F", "inhg (60 f)": "inHg60F",
    '"hg': "inHg", "mm hg": "mmHg", "in h2o": "inH2O", "inwc": "inH2O", "in wc": "inH2O", '"h2o': "inH2O", "mm h2o": "mmH2O",
    "mmwc": "mmH2O", "inches of water": "inH2O", "inches of mercury": "inHg", "bars": "bar", "millibar": "mbar",
    "bhp": "hp", "whp": "hp", "horsepower": "hp", "cv": "PS", "pk": "PS", "ch": "PS", "metric hp": "PS", "btu": "Btu",
    "acfm": "cfm", "ft3/min": "cfm", "us gph": "gph", "us gpm": "gpm", "us gal/min": "gpm", "us gal/h": "gph",
    "gal/hr": "gph", "l/min": "lpm", "lb/hr": "pph", "lbs/hr": "pph", "lbs/min": "lb/min", "lb/hp-hr": "lb/(hp h)",
    "lb/hp-h": "lb/(hp h)", "lb/(hp-hr)": "lb/(hp h)", "lb/hphr": "lb/(hp h)", "lb/(hp hr)": "lb/(hp h)",
    "lb/hp/hr": "lb/(hp h)", "lb/hp/h": "lb/(hp h)", "g/kwh": "g/kWh", "g/kw-h": "g/kWh", "g/(kw h)": "g/kWh",
    "rev/min": "rpm", "r/min": "rpm", "1/min": "rpm", "min-1": "rpm", "rps": "rev/s", "km/h": "km/h", "kmh": "km/h", "kph": "km/h",
    "kilometres per hour": "km/h", "knots": "kn", "lb-ft": "lbf ft", "ft-lb": "lbf ft", "ft lb": "lbf ft", "lb ft": "lbf ft",
    "lbf-ft": "lbf ft", "ft-lbf": "lbf ft", "ft lbf": "lbf ft", "lbft": "lbf ft", "ftlb": "lbf ft", "ft-lbs": "lbf ft",
    "in-lb": "lbf in", "lb-in": "lbf in", "in lb": "lbf in", "lb in": "lbf in", "in-lbf": "lbf in", "nm": "N m",
    "n·m": "N m", "n-m": "N m", "newton metre": "N m", "kgm": "kgf m", "kg m": "kgf m", "mkg": "kgf m", "kpm": "kgf m",
    "percent": "%", "pct": "%", "lb/in": "lbf/in", "lbs/in": "lbf/in", "msi": "Mpsi", "kg m²": "kg m2", "kg·m2": "kg m2",
    "kgm2": "kg m2", "kg-m2": "kg m2", "gees": "gn", "g0": "gn", "hundredths": "0.01mm", "0.01 mm": "0.01mm", "cst": "cSt",
    "mm2/s": "cSt", "cp": "cP", "mpa s": "cP", "mpa·s": "cP", "sq ft": "ft2", "°crank": "deg", "cc/sec": "cc/s",
}  # fmt: skip
UNITS["0.01mm"] = (1e-5, _L)

# Temperatures carry an offset and belong to their own kind: K = (x + offset) * factor.
_TEMPERATURES: Final[dict[str, tuple[float, float]]] = {
    "K": (1.0, 0.0), "degC": (1.0, ZERO_CELSIUS), "degF": (5 / 9, 459.67), "degR": (5 / 9, 0.0),
}  # fmt: skip
_TEMPERATURE_NAMES: Final[dict[str, str]] = {
    "k": "K", "kelvin": "K", "c": "degC", "°c": "degC", "degc": "degC", "deg c": "degC", "celsius": "degC", "f": "degF",
    "°f": "degF", "degf": "degF", "deg f": "degF", "fahrenheit": "degF", "r": "degR", "°r": "degR", "degr": "degR",
    "deg r": "degR", "rankine": "degR", "℃": "degC", "℉": "degF", "°k": "K",
}  # fmt: skip
_REFERENCES: Final = ("BTDC", "ATDC", "BBDC", "ABDC")


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its SI unit, dimensions, and the units offered to the user (first = usual)."""

    name: str
    si: str
    dims: Dims
    units: tuple[str, ...]
    us: str = ""
    bare: bool = False  # a number without unit is allowed

    @property
    def usual(self) -> str:
        return self.units[0]


def _kind(name: str, si: str, dims: Dims, units: str, us: str = "", bare: bool = False) -> Kind:
    offered = tuple(units.split(","))
    return Kind(name, si, dims, offered, us or offered[0], bare)


KINDS: Final[dict[str, Kind]] = {
    k.name: k
    for k in (
        _kind("length", "m", _L, "mm,in,thou,cm,m,um,ft,0.01mm", "in"),
        _kind("distance", "m", _L, "m,km,ft,mi,mm,in", "ft"),
        _kind("area", "m2", _AREA, "mm2,cm2,in2,m2,ft2", "in2"),
        _kind("volume", "m3", _VOL, "cc,L,in3,m3,mL,gal,ft3", "cc"),
        _kind("mass", "kg", _M, "g,kg,lb,oz,mg,t", "lb"),
        _kind("density", "kg/m3", _dims(-3, 1), "kg/m3,kg/L,g/cc,lb/ft3,lb/gal", "kg/m3"),
        _kind("pressure_gauge", "Pa", _PRES, "kPa,psi,bar,inHg,at,mbar", "psi"),
        _kind("pressure_absolute", "Pa", _PRES, "kPa,bar,psi,inHg,mbar,hPa,atm,mmHg", "psi"),
        _kind("pressure_difference", "Pa", _PRES, "kPa,psi,bar,inHg,inH2O,mbar,Pa,mmH2O", "psi"),
        _kind("stress", "Pa", _PRES, "MPa,GPa,ksi,psi,Mpsi,kPa,bar", "ksi"),
        _kind("temperature", "K", _K, "degC,degF,K,degR", "degF"),
        _kind("temperature_difference", "K", _K, "K,degC,degF", "degF"),
        _kind("volume_flow", "m3/s", _VFLOW, "m3/s,cfm,L/min,L/h,cc/min,gal/h,gal/min,L/s,m3/h,cc/s", "cfm"),
        _kind("mass_flow", "kg/s", _MFLOW, "kg/s,lb/min,kg/h,g/s,lb/h,kg/min,g/min", "lb/min"),
        _kind("torque", "N m", _ENERGY, "N m,lbf ft,kgf m,lbf in,N mm", "lbf ft"),
        _kind("energy", "J", _ENERGY, "J,mJ,kJ,MJ,Wh,kWh,Btu", "J"),
        _kind("power", "W", _POWER, "kW,hp,PS,W", "hp"),
        _kind("angle", "deg", _DEG, "deg,rad,turn"),
        _kind("event_angle", "deg", _DEG, "deg"),
        _kind("rotational_speed", "rad/s", _dims(0, 0, -1), "rpm,rad/s,rev/s,krpm"),
        _kind("frequency", "1/s", _dims(0, 0, -1), "Hz,kHz"),
        _kind("time", "s", _T, "s,ms,us,min,h"),
        _kind("speed", "m/s", _dims(1, 0, -1), "m/s,km/h,mph,ft/s,ft/min", "mph"),
        _kind("acceleration", "m/s2", _dims(1, 0, -2), "m/s2,gn,ft/s2"),
        _kind("force", "N", _FORCE, "N,kN,lbf,kgf", "lbf"),
        _kind("stiffness", "N/m", _dims(0, 1, -2), "N/mm,lbf/in,N/m,kgf/mm", "lbf/in"),
        _kind("inertia", "kg m2", _dims(2, 1), "kg m2,kg cm2,g cm2,lb in2,lb ft2"),
        _kind("mixture", "lambda", _ONE, "lambda,phi,AFR"),
        _kind("ratio", "1", _ONE, "1", bare=True),
        _kind("share", "1", _ONE, "%,1", bare=True),
        _kind("count", "1", _ONE, "1", bare=True),
        _kind("current", "A", _A, "A,mA"),
        _kind("voltage", "V", _VOLT, "V,kV,mV"),
        _kind("resistance", "ohm", _OHM, "ohm,mohm,kohm"),
        _kind("inductance", "H", _dims(2, 1, -2, 0, -2), "mH,uH,H"),
        _kind("capacitance", "F", _dims(-2, -1, 4, 0, 2), "pF,nF,uF"),
        _kind("expansion", "1/K", _dims(0, 0, 0, -1), "1/K,1e-6/K,1/degF"),
        _kind("fuel_consumption", "kg/J", _dims(-2, 0, 2), "g/kWh,lb/(hp h),kg/kWh", "lb/(hp h)"),
        _kind("energy_per_mass", "J/kg", _dims(2, 0, -2), "MJ/kg,kJ/kg,J/kg,Btu/lb"),
        _kind("heat_capacity", "J/(kg K)", _dims(2, 0, -2, -1), "J/(kg K),kJ/(kg K),Btu/(lb Rdiff)"),
        _kind("conductivity", "W/(m K)", _dims(1, 1, -3, -1), "W/(m K)"),
        _kind("heat_transfer", "W/(m2 K)", _dims(0, 1, -3, -1), "W/(m2 K)"),
        _kind("viscosity", "Pa s", _dims(-1, 1, -1), "cP,Pa s"),
        _kind("kinematic_viscosity", "m2/s", _dims(2, 0, -1), "cSt,m2/s"),
        _kind("angle_per_pressure", "deg/Pa", _dims(1, -1, 2, 0, 0, 1), "deg/psi,deg/bar,deg/kPa"),
        _kind("power_per_air", "W s/kg", _dims(2, 0, -2), "hp/(lb/min),kW s/kg,W s/kg"),
        _kind("field_strength", "V/m", _dims(1, 1, -3, 0, -1), "kV/cm,kV/mm,V/m"),
        _kind("flow_per_power", "m3/J", _dims(1, -1, 2), "cfm/hp,m3/J"),
        _kind("volume_per_mass", "m3/kg", _dims(3, -1), "cm3/kg,L/kg,m3/kg,in3/lb", "in3/lb"),
        _kind("price_per_mass", "1/kg", _dims(0, -1), "1/kg,1/lb"),
        _kind("thread_pitch", "m", _L, "mm,in"),
        _kind("money", "money", _ONE, "EUR,USD,GBP"),
        _kind("exchange_rate", "1", _ONE, "1", bare=True),
        _kind("number", "1", _ONE, "1", bare=True),
    )
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value as typed and in SI. ``minus`` and ``plus`` are the spread in SI (0 when not stated)."""

    kind: str
    value: float
    text: str
    unit: str
    number: float
    minus: float = 0.0
    plus: float = 0.0
    condition: tuple[Quantity, ...] = field(default=())
    reference: str = ""  # "BTDC", ... for angles; "gauge", "absolute" where written; a fuel for AFR

    def __str__(self) -> str:
        return self.text


# ----------------------------------------------------------------------------- unit expressions
_SUPERS = str.maketrans({"²": "2", "³": "3", "−": "-", "–": "-", "·": " ", "⋅": " ", "×": " ", "μ": "µ", "∕": "/", "\u00a0": " ", "\u202f": " "})  # fmt: skip
_TOKEN = re.compile(
    r"\s*(?:(?P<op>[*/()])|(?P<num>\d+(?:\.\d+)?(?:[eE][+-]?\d+)?(?![A-Za-z]))|(?P<name>[A-Za-zµ°Ω%\"'_]+)(?:\^?(?P<pow>-?\d+))?)"
)


def _named(name: str) -> tuple[float, Dims] | None:
    if name in UNITS and name not in ("F_farad", "Rdiff"):
        return UNITS[name]
    if name == "Rdiff":
        return UNITS["Rdiff"]
    spelled = _SPELLINGS.get(name.lower())
    if spelled is not None and spelled != name:
        if spelled in UNITS:
            return UNITS[spelled]
        return _expression(spelled)
    # "mpa" can only be MPa, but "mw" or "mn" could be milli or mega: those keep their case.
    alike = {k for k in UNITS if k.lower() == name.lower() and (k[0] == name[0] or k[0] != "M" or k in ("MPa", "Mpsi"))}
    if len(alike) == 1:
        return UNITS[alike.pop()]
    return None


def _combine(a: tuple[float, Dims], b: tuple[float, Dims], sign: int) -> tuple[float, Dims]:
    dims = tuple(x + sign * y for x, y in zip(a[1], b[1], strict=True))
    return a[0] * b[0] ** sign, dims  # type: ignore[return-value]


@lru_cache(maxsize=2048)
def _expression(text: str) -> tuple[float, Dims] | None:
    """Factor to SI and dimensions of a unit expression such as ``W/(m2 K)``; None when not understood."""
    text = text.translate(_SUPERS).strip()
    whole = _named(text)
    if whole is not None:
        return whole
    tokens, at = [], 0
    while at < len(text):
        match = _TOKEN.match(text, at)
        if match is None or match.end() == at:
            return None
        tokens.append(match)
        at = match.end()
    result, rest = _product(tokens, 0)
    return result if result is not None and rest == len(tokens) else None


def _product(tokens: list[re.Match[str]], at: int) -> tuple[tuple[float, Dims] | None, int]:
    total: tuple[float, Dims] = (1.0, _ONE)
    sign = 1
    expect = True
    while at < len(tokens):
        token = tokens[at]
        op = token["op"]
        if op == ")":
            break
        if op in ("*", "/"):
            if expect:
                return None, at
            sign, expect = (-1 if op == "/" else 1), True
            at += 1
            continue
        factor: tuple[float, Dims] | None
        if op == "(":
            factor, at = _product(tokens, at + 1)
            if factor is None or at >= len(tokens) or tokens[at]["op"] != ")":
                return None, at
        elif token["num"]:
            number = float(token["num"])
            if not 0.0 < number < math.inf:
                return None, at
            factor = (number, _ONE)
        else:
            name, power = token["name"], token["pow"]
            factor = _named(name + power) if power else None
            if factor is None:
                base = _named(name)
                if base is None:
                    return None, at
                n = int(power or 1)
                if abs(n) > 9:
                    return None, at
                factor = (base[0] ** n, tuple(n * d for d in base[1]))  # type: ignore[assignment]
        assert factor is not None
        total = _combine(total, factor, sign)
        sign, expect = 1, False
        at += 1
    return (None if expect else total), at


# ----------------------------------------------------------------------------- numbers
_NUMBER = r"[+-]?(?:\d+(?:[.,]\d+)*|[.,]\d+)(?:[eE][+-]?\d+)?"
_FRACTION = r"[+-]?(?:\d+[ -])?\d+/\d+"
_HEAD = re.compile(rf"\s*(?P<number>{_FRACTION}(?![\d.,])|{_NUMBER})\s*(?P<rest>.*)$", re.DOTALL)


def read_number(text: str) -> float:
    """The number in ``text``: point or comma decimals, inch fractions ("1 1/4"), exponents.

    Raises BadInput where a comma could mean thousands as well as decimals ("1,350").
    """
    text = text.strip().translate(_SUPERS)
    if "/" in text:
        if not re.fullmatch(_FRACTION, text):
            raise BadInput(f'"{text}" is not a number; write a fraction as for example "1 1/4"')
        sign = -1.0 if text.startswith("-") else 1.0
        *whole, fraction = re.split(r"[ -]", text.lstrip("+-"))
        top, bottom = fraction.split("/")
        if float(bottom) == 0.0:
            raise BadInput(f'"{text}" divides by zero; write a number')
        return sign * ((float(whole[0]) if whole else 0.0) + float(top) / float(bottom))
    mantissa, _, exponent = text.lower().partition("e")
    commas, points = mantissa.count(","), mantissa.count(".")
    plain = mantissa
    if commas and points:
        last = max(mantissa.rfind(","), mantissa.rfind("."))
        thousands = "," if mantissa[last] == "." else "."
        head, tail = mantissa[:last], mantissa[last + 1 :]
        if not _grouped(head, thousands) or "," in tail or "." in tail:
            raise BadInput(f'"{text}" mixes commas and points; write it without thousands marks')
        plain = head.replace(thousands, "") + "." + tail
    elif commas > 1 or points > 1:
        mark = "," if commas else "."
        if not _grouped(mantissa, mark):
            raise BadInput(f'"{text}" is not a number; write it with one decimal sign')
        plain = mantissa.replace(mark, "")
    elif commas == 1:
        head, tail = mantissa.split(",")
        if len(tail) == 3 and head.lstrip("+-") not in ("", "0"):
            raise BadInput(f'"{text}" could be {head}{tail} or {head}.{tail}; write it without a thousands mark')
        plain = f"{head}.{tail}"
    try:
        value = float(plain + ("e" + exponent if exponent else ""))
    except ValueError:
        raise BadInput(f'"{text}" is not a number') from None
    if not math.isfinite(value):
        raise BadInput(f'"{text}" is beyond any number that can be meant')
    return value


def _grouped(text: str, mark: str) -> bool:
    groups = text.lstrip("+-").split(mark)
    return len(groups[0]) in (1, 2, 3) and all(len(g) == 3 and g.isdigit() for g in groups[1:])


# ----------------------------------------------------------------------------- reading a quantity
_SPREAD = re.compile(
    rf"(?:±|\+\s*/\s*-|\+-)\s*(?P<both>{_NUMBER})|\+\s*(?P<plus>{_NUMBER})\s*/\s*-\s*(?P<minus>{_NUMBER})"
)
_GAUGE = re.compile(r"(?i)\s*(?:\(?\bgauge\b\)?|\(g\))$|(?<=[a-z])\s+g$")
_ABSOLUTE = re.compile(r"(?i)\s*\(?\b(?:absolute|abs)\b\.?\)?$|\s*\(a\)$|(?<=[a-z])\s+a$")
_JOINED = {"psig": ("psi", "gauge"), "psia": ("psi", "absolute"), "barg": ("bar", "gauge"), "bara": ("bar", "absolute"),
           "kpag": ("kPa", "gauge"), "kpaa": ("kPa", "absolute")}  # fmt: skip


def parse(text: object, kind: str, stoichiometric: float | None = None) -> Quantity:
    """Read ``text`` as a quantity of ``kind``.

    Parameters
    ----------
    text : str
        As the user wrote it, e.g. "52.1 cc ± 0.3", "500 cfm @ 1.5 inHg".
    kind : str
        A key of ``KINDS``.
    stoichiometric : float, optional
        The fuel's stoichiometric air-fuel ratio [1], for mixtures written as AFR without their own.

    Raises
    ------
    BadInput
        One sentence: what was found, what is allowed, how to mend it.
    """
    want = KINDS[kind]
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise BadInput(f"{text!r} is not a quantity; write text with a unit, for example {_example(want)}")
    if isinstance(text, (int, float)):
        if not want.bare:
            raise BadInput(_bare(str(text), want))
        if not math.isfinite(text):
            raise BadInput(f"{text} is not a number that can be used")
        return Quantity(kind, float(text), str(text), want.usual if want.usual == "1" else "1", float(text))
    written = text.strip()
    if not written:
        raise BadInput(f"nothing is written; write for example {_example(want)}")
    if len(written) > 200:
        raise BadInput(f"{len(written)} characters are too many for one value; write for example {_example(want)}")
    body, *conditions = [part.strip() for part in written.split("@")]
    if kind == "money":
        return _money(written, body)
    if kind == "mixture":
        return _mixture(written, body, conditions, stoichiometric)
    body, minus_text, plus_text, share = _take_spread(body)
    head = _HEAD.match(body)
    if head is None:
        raise BadInput(f'"{written}" does not begin with a number; write for example {_example(want)}')
    number = read_number(head["number"])
    unit_text = head["rest"].strip()
    unit_text, reference = _take_reference(unit_text, kind)
    if re.match(r"^[:].*", unit_text):
        return _ratio(written, number, unit_text, want)
    if want.name == "ratio" and unit_text.lower() in ("afr", "to 1"):  # an air-fuel ratio where only the ratio counts
        unit_text = "1"
    if not unit_text:
        if not want.bare:
            raise BadInput(_bare(written, want))
        unit_text = "1"
    unit, factor, offset = resolve(unit_text, kind, conditions)
    sign = -1.0 if reference == "vacuum" else 1.0
    value = (sign * number + offset) * factor
    if not math.isfinite(value):
        raise BadInput(f'"{written}" is beyond any value that can be meant')
    minus, plus = _spread(minus_text, plus_text, share, number, factor)
    if kind == "temperature" and value < 0:
        raise BadInput(f'"{written}" lies below absolute zero; check the sign and the unit')
    return Quantity(kind, value, written, unit, number, minus, plus, tuple(parse_any(c) for c in conditions), reference)


def parse_any(text: str) -> Quantity:
    """Read a quantity whose kind is told by its unit alone (used for conditions after "@")."""
    head = _HEAD.match(text.strip())
    if head is None:
        raise BadInput(f'"{text}" does not begin with a number; write for example "1.5 inHg" or "20 degC"')
    unit = head["rest"].strip()
    for kind in ("temperature", *KINDS):
        want = KINDS[kind]
        if want.bare or kind in ("money", "mixture"):
            continue
        if kind == "temperature" and unit.lower() not in _TEMPERATURE_NAMES:
            continue
        try:
            return parse(text, kind)
        except BadInput:
            continue
    raise BadInput(f'the unit of "{text}" is not known here; write for example "1.5 inHg", "20 degC" or "1.2 kg/m3"')


def _take_reference(unit: str, kind: str) -> tuple[str, str]:
    if kind in ("angle", "event_angle"):
        for reference in _REFERENCES:
            if unit.upper().endswith(reference):
                return unit[: -len(reference)].strip() or "deg", reference
        return unit, ""
    if kind.startswith("pressure"):
        if unit.lower().endswith((" vac", " vacuum")):
            return re.sub(r"(?i)\s+vac(?:uum)?$", "", unit), "vacuum"
        joined = _JOINED.get(unit.lower().replace(" ", ""))
        if joined:
            return joined
        for pattern, word in ((_GAUGE, "gauge"), (_ABSOLUTE, "absolute")):
            shorter = pattern.sub("", unit)
            if shorter != unit and shorter:
                return shorter.strip(), word
    return unit, ""


def _wrong_pressure(kind: str, reference: str) -> str:
    if kind == "pressure_gauge" and reference == "absolute":
        return (
            "an absolute pressure stands where gauge pressure (above outside air) is needed; take the barometer off it"
        )
    if kind == "pressure_absolute" and reference in ("gauge", "vacuum"):
        return "a gauge pressure stands where absolute pressure is needed; add the day's barometer to it"
    if kind == "pressure_difference" and reference:
        return "a pressure difference is neither gauge nor absolute; leave that word out"
    return ""


def resolve(unit: str, kind: str, conditions: list[str] | None = None) -> tuple[str, float, float]:
    """Canonical unit name, factor and offset to SI of ``unit`` for ``kind``; raises BadInput."""
    want = KINDS[kind]
    text = re.sub(r"\s*\bper\s+", "/", unit.translate(_SUPERS).strip())
    text = "1" + text if text.startswith("/") else text
    if kind == "temperature":
        name = _TEMPERATURE_NAMES.get(text.lower())
        if name is None:
            raise BadInput(_unknown(unit, want))
        factor, offset = _TEMPERATURES[name]
        return name, factor, offset
    if kind == "temperature_difference":
        name = _TEMPERATURE_NAMES.get(text.lower())
        if name is not None:
            return {"degR": "degF"}.get(name, name), _TEMPERATURES[name][0], 0.0
    if text.lower() in ("scfm", "standard cfm", "std cfm"):
        return _standard_flow(kind, conditions or [])
    if kind in ("expansion", "heat_capacity", "conductivity", "heat_transfer"):
        text = re.sub(r"(?i)(?:deg|°)\s*c\b|(?<=[/( ])c\b", "K", text)
        text = re.sub(r"(?i)(?:deg|°)\s*f\b|(?<=[/( ])f\b", "Rdiff", text)
    if kind == "inertia" and text in ("kgm2", "kg-m2"):
        text = "kg m2"
    if kind == "length" and text == "nm":
        return "nm", 1e-9, 0.0
    found = _expression("N m" if kind == "torque" and text == "nm" else text)
    if found is None:
        raise BadInput(_unknown(unit, want))
    factor, dims = found
    if dims != want.dims:
        raise BadInput(f'"{unit}" is not a unit of {want.name.replace("_", " ")}; use one of {", ".join(want.units)}')
    return _canonical(text, factor, want), factor, 0.0


def _canonical(text: str, factor: float, want: Kind) -> str:
    for name in want.units:
        known = _expression(name)
        if known is not None and math.isclose(known[0], factor, rel_tol=1e-12):
            return name
    return text


def _standard_flow(kind: str, conditions: list[str]) -> tuple[str, float, float]:
    if kind == "volume_flow":
        raise BadInput(
            'standard cfm is a mass in disguise and stands where a real volume flow is needed; write "cfm" if it is '
            "the volume at that place, else convert with the density there"
        )
    if kind != "mass_flow":
        raise BadInput(f'"scfm" is not a unit of {kind.replace("_", " ")}; use one of {", ".join(KINDS[kind].units)}')
    for condition in conditions:
        stated = parse_any(condition)
        if stated.kind == "density":
            return "scfm", UNITS["cfm"][0] * stated.value, 0.0
        if stated.kind == "temperature":
            rho = STANDARD_ATMOSPHERE / (287.05287 * stated.value)
            return "scfm", UNITS["cfm"][0] * rho, 0.0
    raise BadInput('"scfm" needs the air it counts; write for example "500 scfm @ 1.225 kg/m3" or "500 scfm @ 60 degF"')


def _take_spread(body: str) -> tuple[str, str, str, bool]:
    match = _SPREAD.search(body)
    if match is None or match.start() == 0:
        return body, "", "", False
    before, after = body[: match.start()].strip(), body[match.end() :].strip()
    share = after.startswith("%")
    if share:
        after = after[1:].strip()
    both, plus, minus = match["both"], match["plus"], match["minus"]
    has_unit = re.search(r"[A-Za-zµ°%\"']", re.sub(r"[eE][+-]?\d", "", before))
    if has_unit and after:
        unit_before = _HEAD.match(before)
        if unit_before is None or unit_before["rest"].strip().lower() != after.lower():
            raise BadInput(f'the spread in "{body}" has another unit than the value; write it in the same unit')
        after = ""
    return (before if has_unit else f"{before} {after}"), (both or minus), (both or plus), share


def _spread(minus: str, plus: str, share: bool, number: float, factor: float) -> tuple[float, float]:
    if not plus:
        return 0.0, 0.0
    scale = abs(number) / 100.0 if share else 1.0
    lower, upper = read_number(minus) * scale * factor, read_number(plus) * scale * factor
    if lower < 0 or upper < 0:
        raise BadInput("a spread is written without its own sign; write for example ± 0.3 or +0.1/-0")
    return lower, upper


def _ratio(written: str, number: float, rest: str, want: Kind) -> Quantity:
    if want.name not in ("ratio", "number"):
        raise BadInput(f'"{written}" is a ratio, not {want.name.replace("_", " ")}; write for example {_example(want)}')
    second = read_number(rest[1:].strip())
    if second == 1.0:
        return Quantity(want.name, number, written, ":1", number)
    if number == 1.0:
        raise BadInput(f'"{written}" is written the wrong way round here; write "{second:g}:1"')
    if second == 0.0:
        raise BadInput(f'"{written}" divides by zero; write for example "8.5:1"')
    return Quantity(want.name, number / second, written, ":1", number)


_CURRENCY = {"€": "EUR", "£": "GBP", "¥": "JPY"}


def _money(written: str, body: str) -> Quantity:
    match = re.fullmatch(rf"(?P<a>[A-Za-z€£¥$]*)\s*(?P<n>{_NUMBER})\s*(?P<b>[A-Za-z€£¥$]*)", body)
    if match is None:
        raise BadInput(f'"{written}" is not an amount of money; write for example "4850 EUR"')
    code = (match["a"] or match["b"]).strip()
    if match["a"] and match["b"]:
        raise BadInput(f'"{written}" names two currencies; write for example "4850 EUR"')
    code = _CURRENCY.get(code, code.upper())
    if code == "$":
        raise BadInput(f'"$" in "{written}" could be several currencies; write USD, CAD, AUD, ...')
    if not re.fullmatch(r"[A-Z]{3}", code):
        raise BadInput(f'"{written}" has no currency; write its three-letter code, for example "4850 EUR"')
    number = read_number(match["n"])
    return Quantity("money", number, written, code, number)


# Stoichiometric ratios a gauge may be scaled for are the user's to state; none is built in here.
def _mixture(written: str, body: str, conditions: list[str], stoichiometric: float | None) -> Quantity:
    body, minus_text, plus_text, share = _take_spread(body)
    word = re.fullmatch(
        rf"(?i)(?P<a>lambda|phi|λ|φ|afr)?\s*(?P<n>{_NUMBER})\s*(?P<one>:\s*1)?\s*(?P<b>lambda|phi|λ|φ|afr)?",
        body,
    )
    if word is None:
        raise BadInput(f'"{written}" is not a mixture; write "0.85 lambda", "1.15 phi" or "12.5 AFR @ 14.7"')
    number = read_number(word["n"])
    name = (word["a"] or word["b"] or ("afr" if word["one"] else "")).lower()
    if number <= 0.0:
        raise BadInput(f'"{written}": a mixture is above zero; write for example "0.85 lambda"')
    if name in ("lambda", "λ"):
        value, unit, slope = number, "lambda", 1.0
    elif name in ("phi", "φ"):
        value, unit, slope = 1.0 / number, "phi", 1.0 / number**2
    elif name == "afr":
        stoich = read_number(conditions[0].split(":")[0]) if conditions else stoichiometric
        if stoich is None:
            raise BadInput(
                f'"{written}": an air-fuel ratio means nothing without its fuel; add the stoichiometric ratio, '
                'for example "12.5 AFR @ 14.7", or write lambda'
            )
        if not 2.0 < stoich < 40.0:
            raise BadInput(f'"{written}": {stoich:g} is no stoichiometric air-fuel ratio (3 to 35); for example 14.7')
        value, unit, slope = number / stoich, "AFR", 1.0 / stoich
    else:
        raise BadInput(
            f'"{written}" does not say what it is; write "{number:g} lambda", "{number:g} phi" or "{number:g} AFR @ 14.7"'
        )
    minus, plus = _spread(minus_text, plus_text, share, number, slope)
    return Quantity("mixture", value, written, unit, number, minus, plus, (), conditions[0] if conditions else "")


# ----------------------------------------------------------------------------- messages
_EXAMPLES = {
    "length": "87.0 mm", "volume": "52.1 cc", "pressure_gauge": "12 psi", "pressure_absolute": "98.5 kPa",
    "pressure_difference": "1.2 psi", "temperature": "25 degC", "volume_flow": "500 cfm", "mass_flow": "0.2 kg/s",
    "torque": "25 N m", "power": "150 kW", "angle": "28 deg", "event_angle": "14 deg BTDC", "rotational_speed": "6500 rpm",
    "ratio": "8.5:1", "share": "94 %", "count": "4", "number": "1.2", "exchange_rate": "0.858", "mass": "520 g",
    "money": "4850 EUR", "mixture": "0.85 lambda", "expansion": "11.5e-6 1/K", "fuel_consumption": "0.58 lb/(hp h)",
}  # fmt: skip


def _example(want: Kind) -> str:
    return f'"{_EXAMPLES.get(want.name, "1.0 " + want.usual)}"'


def _bare(written: str, want: Kind) -> str:
    choices = ", ".join(f'"{written} {unit}"' for unit in want.units[:3])
    return f'"{written}" has no unit; write {choices} or another unit of {want.name.replace("_", " ")}'


def _unknown(unit: str, want: Kind) -> str:
    near = difflib.get_close_matches(unit, [*want.units, *UNITS], n=1, cutoff=0.7)
    hint = f' (did you mean "{near[0]}"?)' if near else ""
    return f'"{unit}" is not a unit known here{hint}; for {want.name.replace("_", " ")} use {", ".join(want.units)}'


def check_pressure_reference(quantity: Quantity) -> None:
    """Raise BadInput where gauge and absolute are mixed up; part of :func:`read`."""
    trouble = _wrong_pressure(quantity.kind, quantity.reference)
    if trouble:
        raise BadInput(f'"{quantity.text}": {trouble}')


def read(text: object, kind: str, stoichiometric: float | None = None) -> Quantity:
    """:func:`parse` plus the check that gauge and absolute pressure are not mixed up."""
    quantity = parse(text, kind, stoichiometric)
    if kind.startswith("pressure"):
        check_pressure_reference(quantity)
    return quantity


# ----------------------------------------------------------------------------- showing
def convert(value: float, kind: str, unit: str) -> float:
    """SI ``value`` of ``kind`` expressed in ``unit``."""
    if kind == "mixture":
        return {"lambda": value, "phi": 1.0 / value}[unit]
    if kind == "money" or unit in ("", "1", ":1"):
        return value
    _, factor, offset = resolve(unit, kind)
    return value / factor - offset


def to_si(number: float, kind: str, unit: str) -> float:
    """``number`` in ``unit`` as an SI value of ``kind``."""
    if kind == "mixture":
        return {"lambda": number, "phi": 1.0 / number}[unit]
    if kind == "money" or unit in ("", "1", ":1"):
        return number
    _, factor, offset = resolve(unit, kind)
    return (number + offset) * factor


def significant(number: float, digits: int = 4) -> str:
    """``number`` with ``digits`` significant digits, without an exponent in the usual range."""
    if number == 0 or not math.isfinite(number):
        return "0" if number == 0 else str(number)
    size = math.floor(math.log10(abs(number)))
    if -4 <= size < 7:
        places = max(0, digits - 1 - size)
        text = f"{number:.{places}f}"
        return text.rstrip("0").rstrip(".") if "." in text else text
    return f"{number:.{digits - 1}e}"


def show(value: float, kind: str, unit: str | None = None, digits: int = 4) -> str:
    """SI ``value`` as text in ``unit`` (the kind's usual one when not given)."""
    want = KINDS[kind]
    unit = unit or want.usual
    number = significant(convert(value, kind, unit), digits)
    if unit in ("1", ""):
        return number
    if unit == ":1":
        return f"{number}:1"
    return f"{number} {unit}"


def likely_slips(quantity: Quantity, low: float, high: float) -> list[str]:
    """What the user may have meant where ``quantity`` lies outside ``low..high`` (SI): units first, then sign and decimals.

    Returns phrases such as '3.642 in (92.51 mm) fits'.
    """
    want = KINDS[quantity.kind]
    phrases = []
    for unit in want.units:
        if unit == quantity.unit or quantity.kind in ("money", "mixture"):
            continue
        value = to_si(quantity.number, quantity.kind, unit)
        if low <= value <= high:
            phrases.append(
                f"{significant(quantity.number)} {unit} ({show(value, quantity.kind, quantity.unit or None)}) fits"
            )
    if not phrases and low <= -quantity.value <= high:
        phrases.append(f"with the other sign, {significant(-quantity.number)} {quantity.unit}, it fits")
    if not phrases and quantity.kind != "temperature":
        for shift, words in (
            (0.1, "one place left"),
            (10.0, "one place right"),
            (0.01, "two places left"),
            (100.0, "two places right"),
        ):
            if low <= quantity.value * shift <= high:
                phrases.append(
                    f"with the decimal point {words}, {significant(quantity.number * shift)} {quantity.unit}, it fits"
                )
                break
    return phrases[:3]
