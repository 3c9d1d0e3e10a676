"""The tables of units: factors to SI with dimensions, other spellings, temperatures, and the kinds of quantity."""

# ruff: noqa: E501 - the tables read better wide

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from spoolwright.constants import STANDARD_ATMOSPHERE, STANDARD_GRAVITY, ZERO_CELSIUS

# Dimensions: length, mass, time, temperature, current, angle. The order is fixed here.
Dims = tuple[int, int, int, int, int, int]
_L: Dims = (1, 0, 0, 0, 0, 0)
_M: Dims = (0, 1, 0, 0, 0, 0)
_T: Dims = (0, 0, 1, 0, 0, 0)
_K: Dims = (0, 0, 0, 1, 0, 0)
_A: Dims = (0, 0, 0, 0, 1, 0)
_DEG: Dims = (0, 0, 0, 0, 0, 1)
ONE: Dims = (0, 0, 0, 0, 0, 0)


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
    "1": (1.0, ONE), "%": (1e-2, ONE), "ppm": (1e-6, ONE),
}  # fmt: skip

# Other spellings, looked up after the exact name; keys are lower case.
SPELLINGS: Final[dict[str, str]] = {
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
TEMPERATURES: Final[dict[str, tuple[float, float]]] = {
    "K": (1.0, 0.0), "degC": (1.0, ZERO_CELSIUS), "degF": (5 / 9, 459.67), "degR": (5 / 9, 0.0),
}  # fmt: skip
TEMPERATURE_NAMES: Final[dict[str, str]] = {
    "k": "K", "kelvin": "K", "c": "degC", "°c": "degC", "degc": "degC", "deg c": "degC", "celsius": "degC", "f": "degF",
    "°f": "degF", "degf": "degF", "deg f": "degF", "fahrenheit": "degF", "r": "degR", "°r": "degR", "degr": "degR",
    "deg r": "degR", "rankine": "degR", "℃": "degC", "℉": "degF", "°k": "K",
}  # fmt: skip


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
        _kind("mixture", "lambda", ONE, "lambda,phi,AFR"),
        _kind("ratio", "1", ONE, "1", bare=True),
        _kind("share", "1", ONE, "%,1", bare=True),
        _kind("count", "1", ONE, "1", bare=True),
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
        _kind("money", "money", ONE, "EUR,USD,GBP"),
        _kind("exchange_rate", "1", ONE, "1", bare=True),
        _kind("number", "1", ONE, "1", bare=True),
    )
}
