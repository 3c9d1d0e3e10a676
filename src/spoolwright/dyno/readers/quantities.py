"""Units as logs write them: spelling, dimension, conversion to the wanted unit, and the guess where none is written.

Factors come from the program's unit registry; here are only the spellings of loggers in several languages and the ranges
an engine can show, by which a missing unit is guessed. Ranges are common practice, no source; a guess is always shown.
"""

# ruff: noqa: E501  (tables of spellings read better wide)

from __future__ import annotations

import math
import re
import unicodedata
from functools import lru_cache
from typing import Final, NamedTuple

from spoolwright import units
from spoolwright.dyno.readers.words import listed

# dimension -> (wanted unit, kind in the unit registry)
WANTED: Final[dict[str, tuple[str, str]]] = {
    "time": ("s", "time"),
    "speed": ("rpm", "rotational_speed"),
    "share": ("%", "share"),
    "pressure": ("kPa", "pressure_difference"),
    "temperature": ("degC", "temperature"),
    "mass_flow": ("kg/h", "mass_flow"),
    "volume_flow": ("L/h", "volume_flow"),
    "voltage": ("V", "voltage"),
    "angle": ("deg", "angle"),
    "torque": ("N m", "torque"),
    "power": ("kW", "power"),
    "road_speed": ("km/h", "speed"),
    "ratio": ("1", "ratio"),
}

ROLES: Final[dict[str, str]] = {
    "time": "time", "date": "text", "engine_speed": "speed", "throttle": "share", "load": "share", "gear": "ratio",
    "boost_gauge": "pressure", "manifold_abs": "pressure", "barometer": "pressure", "lambda": "ratio", "afr": "ratio",
    "equivalence_ratio": "ratio", "fuel_pressure": "pressure", "fuel_flow": "mass_flow", "air_temp": "temperature",
    "charge_temp": "temperature", "head_temp": "temperature", "exhaust_temp": "temperature",
    "exhaust_pressure": "pressure", "oil_temp": "temperature", "oil_pressure": "pressure", "water_temp": "temperature",
    "spark_advance": "angle", "knock": "ratio", "battery_voltage": "voltage", "pump_voltage": "voltage",
    "crankcase_pressure": "pressure", "roller_speed": "speed", "roller_torque": "torque", "torque": "torque",
    "power": "power", "turbo_speed": "speed", "marker": "text", "remark": "text",
}  # fmt: skip
NUMBERED: Final = ("head_temp", "exhaust_temp")

# name in reports -> (dimension, spelling in the unit registry)
_UNITS: Final[dict[str, tuple[str, str]]] = {
    "s": ("time", "s"), "ms": ("time", "ms"), "us": ("time", "us"), "min": ("time", "min"), "h": ("time", "h"),
    "day": ("time", "day"), "rpm": ("speed", "rpm"), "x1000 rpm": ("speed", "krpm"), "rev/s": ("speed", "rev/s"),
    "rad/s": ("speed", "rad/s"), "%": ("share", "%"), "kPa": ("pressure", "kPa"), "Pa": ("pressure", "Pa"),
    "hPa": ("pressure", "hPa"), "MPa": ("pressure", "MPa"), "bar": ("pressure", "bar"), "mbar": ("pressure", "mbar"),
    "psi": ("pressure", "psi"), "inHg": ("pressure", "inHg"), "mmHg": ("pressure", "mmHg"), "torr": ("pressure", "torr"),
    "inH2O": ("pressure", "inH2O"), "mmH2O": ("pressure", "mmH2O"), "kgf/cm2": ("pressure", "at"),
    "atm": ("pressure", "atm"), "degC": ("temperature", "degC"), "degF": ("temperature", "degF"),
    "K": ("temperature", "K"), "kg/h": ("mass_flow", "kg/h"), "g/s": ("mass_flow", "g/s"), "kg/s": ("mass_flow", "kg/s"),
    "kg/min": ("mass_flow", "kg/min"), "g/min": ("mass_flow", "g/min"), "lb/h": ("mass_flow", "lb/h"),
    "lb/min": ("mass_flow", "lb/min"), "L/h": ("volume_flow", "L/h"), "L/min": ("volume_flow", "L/min"),
    "cc/min": ("volume_flow", "cc/min"), "gal/h": ("volume_flow", "gal/h"), "V": ("voltage", "V"),
    "mV": ("voltage", "mV"), "deg": ("angle", "deg"), "N m": ("torque", "N m"), "lbf ft": ("torque", "lbf ft"),
    "lbf in": ("torque", "lbf in"), "kgf m": ("torque", "kgf m"), "kW": ("power", "kW"), "W": ("power", "W"),
    "hp": ("power", "hp"), "PS": ("power", "PS"), "km/h": ("road_speed", "km/h"), "mph": ("road_speed", "mph"),
    "m/s": ("road_speed", "m/s"), "1": ("ratio", "1"),
}  # fmt: skip

_SPELLINGS: Final[dict[str, str]] = {
    "с": "s", "сек": "s", "мс": "ms", "秒": "s", "ミリ秒": "ms", "sec": "s", "secs": "s", "second": "s", "seconds": "s", "sek": "s", "sekunden": "s", "sekunde": "s", "secondes": "s",
    "seconde": "s", "secondi": "s", "segundos": "s", "segundo": "s", "seg": "s", "msec": "ms", "msecs": "ms",
    "millis": "ms", "millisec": "ms", "millisecond": "ms", "milliseconds": "ms", "millisekunden": "ms",
    "millisecondes": "ms", "millisecondi": "ms", "milisegundos": "ms", "usec": "us", "microseconds": "us", "minutes": "min",
    "minuten": "min", "mins": "min", "hours": "h", "hour": "h", "hrs": "h", "hr": "h", "std": "h", "days": "day", "d": "day",
    "1/min": "rpm", "min-1": "rpm", "min^-1": "rpm", "/min": "rpm", "u/min": "rpm", "umin": "rpm", "upm": "rpm",
    "tr/min": "rpm", "tr/mn": "rpm", "t/min": "rpm", "giri/min": "rpm", "giri/1'": "rpm", "g/min'": "rpm", "rev/min": "rpm",
    "r/min": "rpm", "revs/min": "rpm", "rpms": "rpm", "r.p.m": "rpm", "rpm.": "rpm", "omw/min": "rpm", "obr/min": "rpm",
    "v/min": "rpm", "varv/min": "rpm", "ot/min": "rpm", "rev": "rpm", "revs": "rpm", "об/мин": "rpm", "回転/分": "rpm", "tpm": "rpm", "giri": "rpm",
    "krpm": "x1000 rpm", "rpmx1000": "x1000 rpm", "x1000rpm": "x1000 rpm", "rpm*1000": "x1000 rpm", "rpm/1000": "x1000 rpm",
    "1000rpm": "x1000 rpm", "x1000": "x1000 rpm", "*1000": "x1000 rpm", "x1000/min": "x1000 rpm", "1000/min": "x1000 rpm",
    "1000u/min": "x1000 rpm", "x1000u/min": "x1000 rpm", "1000min-1": "x1000 rpm", "x10001/min": "x1000 rpm", "x1000tr/min": "x1000 rpm",
    "1000tr/min": "x1000 rpm", "1000*rpm": "x1000 rpm", "/1000": "x1000 rpm", "1/min*1000": "x1000 rpm", "10^3rpm": "x1000 rpm",
    "rps": "rev/s", "1/s": "rev/s", "hz": "rev/s", "s-1": "rev/s", "u/s": "rev/s", "tr/s": "rev/s", "pct": "%", "percent": "%",
    "prozent": "%", "proz": "%", "pourcent": "%", "percento": "%", "porcentaje": "%", "por ciento": "%", "perc": "%",
    "кпа": "kPa", "бар": "bar", "мбар": "mbar", "атм": "atm", "kpag": "kPa", "kpaa": "kPa", "kpaabs": "kPa", "psig": "psi", "psia": "psi", "lb/in2": "psi", "lbs/in2": "psi", "lbf/in2": "psi",
    "pound": "psi", "pounds": "psi", "lbs": "psi", "psid": "psi", "barg": "bar", "bara": "bar", "mbarg": "mbar", "mbara": "mbar",
    "millibar": "mbar", "bars": "bar", "inhg": "inHg", "\"hg": "inHg", "inchhg": "inHg", "in.hg": "inHg", "inchesofmercury": "inHg",
    "mmhg": "mmHg", "inh2o": "inH2O", "\"h2o": "inH2O", "inwc": "inH2O", "mmh2o": "mmH2O", "mmws": "mmH2O", "mmwc": "mmH2O",
    "mmca": "mmH2O", "kg/cm2": "kgf/cm2", "kgf/cm2": "kgf/cm2", "kp/cm2": "kgf/cm2", "at": "kgf/cm2", "ata": "kgf/cm2", "atu": "kgf/cm2",
    "kilos": "kgf/cm2", "c": "degC", "°c": "degC", "°с": "degC", "度": "degC", "ºc": "degC", "˚c": "degC", "degc": "degC", "deg.c": "degC", "celsius": "degC",
    "℃": "degC", "grdc": "degC", "grad": "degC", "gradc": "degC", "gradcelsius": "degC", "'c": "degC", "*c": "degC", "centigrade": "degC", "oc": "degC",
    "f": "degF", "°f": "degF", "ºf": "degF", "˚f": "degF", "degf": "degF", "deg.f": "degF", "fahrenheit": "degF", "℉": "degF", "'f": "degF",
    "*f": "degF", "kelvin": "K", "°k": "K", "degk": "K", "kg/hr": "kg/h", "kgh": "kg/h", "kgph": "kg/h", "kg/std": "kg/h", "gps": "g/s", "g/sec": "g/s",
    "pph": "lb/h", "lb/hr": "lb/h", "lbs/hr": "lb/h", "lbs/h": "lb/h", "lbs/min": "lb/min", "l/hr": "L/h", "lph": "L/h", "l/std": "L/h",
    "lpm": "L/min", "ccm/min": "cc/min", "ml/min": "cc/min", "cm3/min": "cc/min", "gph": "gal/h", "gal/hr": "gal/h",
    "volt": "V", "в": "V", "volts": "V", "vdc": "V", "millivolt": "mV", "°": "deg", "º": "deg", "degree": "deg", "degrees": "deg",
    "degbtdc": "deg", "°btdc": "deg", "btdc": "deg", "°kw": "deg", "kw°": "deg", "°kwvot": "deg", "°vot": "deg", "kwvot": "deg", "vot": "deg", "°kwv.ot": "deg", "°crk": "deg",
    "degca": "deg", "°ca": "deg", "°cabtdc": "deg", "°avantpmh": "deg", "pmh": "deg", "avpmh": "deg", "°apms": "deg", "ppms": "deg", "gradi": "deg", "grados": "deg", "degres": "deg", "°bpms": "deg",
    "°adv": "deg", "degadv": "deg", "nm": "N m", "n-m": "N m", "n*m": "N m", "newtonmeter": "N m", "нм": "N m", "н*м": "N m", "lbft": "lbf ft",
    "ftlb": "lbf ft", "ft-lb": "lbf ft", "lb-ft": "lbf ft", "ftlbs": "lbf ft", "ft-lbs": "lbf ft", "lbsft": "lbf ft", "lbfft": "lbf ft",
    "ftlbf": "lbf ft", "lb*ft": "lbf ft", "inlb": "lbf in", "in-lb": "lbf in", "lb-in": "lbf in", "lbin": "lbf in", "mkg": "kgf m", "mkp": "kgf m",
    "kgm": "kgf m", "kgfm": "kgf m", "kg*m": "kgf m", "kgf*m": "kgf m", "kpm": "kgf m", "квт": "kW", "bhp": "hp", "whp": "hp", "horsepower": "hp", "cv": "PS", "ch": "PS", "pk": "PS",
    "metrichp": "PS", "hk": "PS", "л.с": "PS", "лс": "PS", "kmh": "km/h", "kph": "km/h", "kmph": "km/h", "mi/h": "mph", "-": "1", "--": "1", "–": "1", "none": "1", "ratio": "1",
    "lambda": "1", "afr": "1", "a/f": "1", "phi": "1", ":1": "1", "/1": "1", "[]": "1", "()": "1", "λ": "1", "#": "1", "count": "1", "n/a": "1",
}  # fmt: skip
_KNOWN: Final = {name.lower(): name for name in _UNITS if name not in ("K", "1", "V", "W", "Pa")} | {
    "k": "K", "v": "V", "w": "W", "pa": "Pa", "1": "1", "mpa": "MPa", "nm": "N m",
}  # fmt: skip
COUNTS: Final = listed(
    """counts count raw adc digits cnt cnts bits lsb bit dig inkr inkremente pulses rohwert rohwerte dn"""
)
TEXTS: Final = listed("""text txt string str""")
CLOCKS: Final = listed(
    """m:s h:m:s mm:ss hh:mm:ss mm:ss.s mm:ss.sss hh:mm:ss.s hh:mm:ss.sss min:sec min:s m:ss h:mm:ss mm:ss.ss h:m
    hms time_of_day"""
)
_BOTH = re.compile(
    r"(?i)\b(?P<up>psi|bar|kpa)\b\s*(?:or|/|and|,|&|;|oder|ou|o)?\s*(?:-|neg\.?|minus|vac\.?)?\s*\(?(?P<down>in\.?\s?hg|mm\s?hg|cm\s?hg|\"hg)"
)
_REFERENCE = re.compile(r"(?i)(?<![a-z])(gauge|gage|rel(?:ativ[eo]?)?\.?|abs(?:olut[eo]?)?\.?|absolu|ue|g|a|r)$")


class Unit(NamedTuple):
    """A unit as written: name for reports, dimension, spelling in the registry, gauge or absolute, second unit below zero."""

    name: str
    dimension: str
    registry: str
    reference: str = ""
    below: str = ""


@lru_cache(maxsize=4096)
def read_unit(text: str) -> Unit | None:
    """The unit ``text`` spells, or None. '' is no unit; brackets, blanks and case do not matter."""
    written = unicodedata.normalize("NFC", text).strip().strip("[](){}<>").strip()
    if not written:
        return None
    both = _BOTH.search(written)
    if both:
        up = _KNOWN[both["up"].lower()]
        down = "mmHg" if "mm" in both["down"].lower() else "inHg"
        return Unit(f"{up} above 0, {down} below 0", "pressure", _UNITS[up][1], "gauge", down)
    if written.lower() in COUNTS:
        return Unit("counts", "counts", "")
    if written == "KM":  # Polish metric horsepower; in small letters it would be a distance
        return Unit("PS", *_UNITS["PS"])
    if written.lower() in TEXTS:
        return Unit("text", "text", "")
    if written.lower() in CLOCKS:
        return Unit("h:m:s" if "h" in written.lower() else "m:s", "time", "clock")
    found = _lookup(written)
    if found:
        return found
    tail = _REFERENCE.search(written)
    if tail and tail.start():
        base = _lookup(written[: tail.start()].strip(" _-,.(["))
        if base and base.dimension == "pressure":
            return base._replace(reference="absolute" if tail[1].lower()[0] == "a" else "gauge")
    head = re.match(r"(?i)(abs|rel|gauge)\.?\s+(?=\S)", written)
    if head:
        base = _lookup(written[head.end() :])
        if base and base.dimension == "pressure":
            return base._replace(reference="absolute" if head[1].lower() == "abs" else "gauge")
    return None


def _lookup(written: str) -> Unit | None:
    key = (
        written.lower()
        .replace("²", "2")
        .replace("â°", "°")
        .replace("·", "*")
        .replace("×", "x")
        .replace("µ", "u")
        .replace("μ", "u")
    )
    key = "".join(c for c in unicodedata.normalize("NFD", key) if not unicodedata.combining(c) or c == "\u030a")
    tight = re.sub(r"[\s_]", "", key)
    name = _KNOWN.get(key) or _SPELLINGS.get(key) or _KNOWN.get(tight) or _SPELLINGS.get(tight)
    if name is None and tight.endswith("."):
        name = _KNOWN.get(tight[:-1]) or _SPELLINGS.get(tight[:-1])
    if name is None:
        return None
    dimension, registry = _UNITS[name]
    reference = {"psig": "gauge", "psia": "absolute", "kpag": "gauge", "kpaa": "absolute", "kpaabs": "absolute",
                 "barg": "gauge", "bara": "absolute", "mbarg": "gauge", "mbara": "absolute", "ata": "absolute",
                 "atu": "gauge"}.get(tight, "")  # fmt: skip
    # Spellings of a revolution a minute stay as written, so that the user knows the column again.
    shown = written if name == "rpm" and tight not in ("rpm", "rpms") else name
    return Unit(shown, dimension, registry, reference)


@lru_cache(maxsize=256)
def conversion(registry: str, dimension: str) -> tuple[float, float]:
    """(slope, offset) with value in the wanted unit = slope * (value + offset)."""
    wanted, kind = WANTED[dimension]
    if registry == wanted or (dimension in ("ratio",)):
        return 1.0, 0.0
    if dimension == "temperature":
        zero = units.convert(units.to_si(0.0, kind, registry), kind, wanted)
        slope = 5.0 / 9.0 if registry in ("degF", "degR") else 1.0
        return slope, -32.0 if registry == "degF" else zero / slope
    return units.convert(units.to_si(1.0, kind, registry), kind, wanted), 0.0


class Guess(NamedTuple):
    """A guessed unit, the words for it, and whether the range really decides."""

    unit: str
    why: str
    sure: bool


# Unit -> range the largest value of a channel shows in a pull with it; tried in this order.
_TYPICAL: Final[dict[str, tuple[tuple[str, float, float], ...]]] = {
    "head_temp": (("degC", 20, 300), ("degF", 300, 600), ("K", 600, 700)),
    "exhaust_temp": (("degC", 20, 1080), ("degF", 1080, 2100)),
    "oil_temp": (("degC", 20, 165), ("degF", 165, 330), ("K", 330, 440)),
    "water_temp": (("degC", 20, 125), ("degF", 125, 270), ("K", 270, 400)),
    "air_temp": (("degC", -20, 55), ("degF", 55, 140), ("K", 240, 330)),
    "charge_temp": (("degC", -10, 180), ("degF", 180, 400)),
    "boost_gauge": (("bar", 0.02, 3.3), ("psi", 3.3, 48), ("kPa", 48, 400), ("mbar", 400, 4000)),
    "manifold_abs": (("bar", 0.2, 5.0), ("psi", 5, 60), ("kPa", 60, 500), ("mbar", 500, 5000)),
    "barometer": (("bar", 0.6, 1.1), ("psi", 9, 16), ("inHg", 20, 33), ("kPa", 60, 110), ("mmHg", 450, 800), ("mbar", 800, 1100)),
    "oil_pressure": (("bar", 0.3, 12), ("psi", 12, 150), ("kPa", 150, 1200)),
    "fuel_pressure": (("bar", 0.1, 5.5), ("psi", 5.5, 100), ("kPa", 100, 900)),
    "exhaust_pressure": (("bar", 0.02, 5.0), ("psi", 5, 80), ("kPa", 80, 600), ("mbar", 600, 6000)),
    "throttle": (("1", 0.2, 1.05), ("V", 1.05, 5.2), ("%", 5.2, 110), ("counts", 110, 1e9)),
    "load": (("1", 0.2, 1.2), ("%", 5, 300)),
    "engine_speed": (("x1000 rpm", 0.5, 20), ("rev/s", 20, 300), ("rpm", 300, 20000)),
    "roller_speed": (("rpm", 20, 5000),),
    "turbo_speed": (("x1000 rpm", 5, 400), ("rpm", 1000, 400000)),
    "battery_voltage": (("V", 5, 60), ("mV", 5000, 60000)),
    "pump_voltage": (("V", 5, 60), ("mV", 5000, 60000)),
    "spark_advance": (("deg", -30, 70),),
}  # fmt: skip
# No pressure lies further below outside air than one atmosphere (30 with inches of mercury written below zero).
_VACUUM: Final = {"bar": -1.06, "psi": -30.5, "kPa": -106.0, "mbar": -1060.0}
# Where the guess is settled by the size alone, the words for why the first rival is out.
_MELTED: Final = {"head_temp": ("degC", "would have melted")}


def guess_unit(role: str, low: float, high: float, hint: str = "") -> Guess | None:
    """The unit in which values ``low..high`` make sense for ``role``; ``hint`` is the system of the file's other columns."""
    family = re.sub(r"_\d+$", "", role)
    options = _TYPICAL.get(family)
    if options is None:
        return None
    top = max(abs(low), abs(high)) if family != "spark_advance" else high
    ruled_out = False
    for unit, least, most in options:
        if low < _VACUUM.get(unit, -math.inf):
            ruled_out = ruled_out or least <= top
            continue
        if (least <= top or ruled_out) and top <= most:
            if hint and ROLES[family] == "temperature" and hint != unit and _hint_fits(family, hint, top):
                return Guess(hint, f"the other temperatures are in {hint}", False)
            melted = _MELTED.get(family)
            if melted and unit != melted[0]:
                return Guess(unit, f"{low:g}-{high:g} {melted[0]} {melted[1]}", True)
            return Guess(unit, f"{low:g} to {high:g}", unit not in ("degC",) or top < 60)
    return None


def _hint_fits(family: str, hint: str, top: float) -> bool:
    limits = {"head_temp": (100, 600), "exhaust_temp": (400, 2100), "oil_temp": (90, 330), "water_temp": (90, 270),
              "air_temp": (20, 140), "charge_temp": (40, 400)}  # fmt: skip
    if hint != "degF":
        return False
    least, most = limits.get(family, (0, 0))
    return least <= top <= most


# What a channel in the wanted unit can show at all; outside it a stated unit is doubtful and 9999 is no reading.
POSSIBLE: Final[dict[str, tuple[float, float]]] = {
    "engine_speed": (0, 25000), "throttle": (-15, 130), "load": (-10, 400), "boost_gauge": (-105, 600),
    "manifold_abs": (5, 700), "barometer": (50, 112), "lambda": (0.3, 10), "afr": (3, 40), "fuel_pressure": (-60, 25000),
    "air_temp": (-45, 90), "charge_temp": (-45, 300), "head_temp": (-45, 420), "exhaust_temp": (-45, 1250),
    "oil_temp": (-45, 220), "oil_pressure": (-40, 1600), "water_temp": (-45, 180), "exhaust_pressure": (-60, 1000),
    "battery_voltage": (0, 60), "pump_voltage": (0, 60), "spark_advance": (-60, 80), "turbo_speed": (0, 450000),
    "crankcase_pressure": (-60, 200), "roller_speed": (0, 8000), "power": (-500, 3000), "torque": (-1000, 4000),
    "roller_torque": (-20000, 40000), "fuel_flow": (-1, 1500), "equivalence_ratio": (0, 4), "gear": (-2, 12),
}  # fmt: skip


def possible(role: str) -> tuple[float, float] | None:
    """Limits of what ``role`` can show in its wanted unit, or None where nobody can tell."""
    return POSSIBLE.get(re.sub(r"_\d+$", "", role))


def dimension_of(role: str) -> str:
    """Dimension of a role, 'head_temp_3' included."""
    return ROLES.get(re.sub(r"_\d+$", "", role), "text")


def wanted_unit(role: str) -> str:
    """Unit a role is handed on in."""
    dimension = dimension_of(role)
    return "text" if dimension == "text" else WANTED[dimension][0]
