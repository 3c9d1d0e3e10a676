"""Which column is what: by its name, by its unit, by the range of its values, in that order of trust.

The name is cut into words; words name a subject and a quantity (:mod:`words`), the unit adds the quantity where the
name leaves it out. What nobody can tell keeps role None and says so.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from spoolwright.dyno.readers.quantities import ROLES, Unit, read_unit
from spoolwright.dyno.readers.scripts import to_english
from spoolwright.dyno.readers.words import STEMS, WORDS, listed

# (subject, quantity) -> role; the first that fits in this order is taken. '' as quantity: the subject alone is enough.
_RULES: Final[tuple[tuple[str, str, str], ...]] = (
    ("turbine", "temp", "exhaust_temp"), ("turbine", "pressure", "exhaust_pressure"),
    ("turbine", "speed", "turbo_speed"), ("roller", "torque", "roller_torque"), ("roller", "speed", "roller_speed"),
    ("roller", "", "roller_speed"), ("crankcase", "pressure", "crankcase_pressure"),
    ("crankcase", "", "crankcase_pressure"), ("pump", "voltage", "pump_voltage"),
    ("battery", "voltage", "battery_voltage"), ("battery", "", "battery_voltage"),
    ("backpressure", "", "exhaust_pressure"), ("backpressure", "pressure", "exhaust_pressure"),
    ("drive", "pressure", "exhaust_pressure"),
    ("oil", "pressure", "oil_pressure"), ("oil", "temp", "oil_temp"), ("water", "temp", "water_temp"),
    ("head", "temp", "head_temp"), ("exhaust", "pressure", "exhaust_pressure"), ("exhaust", "temp", "exhaust_temp"),
    ("oil", "temp", "oil_temp"), ("cylinder", "temp", "head_temp"), ("fuel", "pressure", "fuel_pressure"),
    ("fuel", "flow", "fuel_flow"), ("fuel", "mass_flow", "fuel_flow"), ("fuel", "volume_flow", "fuel_flow"),
    ("charge", "temp", "charge_temp"), ("ambient", "pressure", "barometer"), ("ambient", "temp", "air_temp"),
    ("turbo", "speed", "turbo_speed"), ("boost", "temp", "charge_temp"), ("manifold", "temp", "charge_temp"),
    ("turbo", "temp", "charge_temp"), ("intake", "temp", "intake_temp"), ("boost", "pressure", "boost_gauge"),
    ("boost", "", "boost_gauge"), ("charge", "pressure", "boost_gauge"), ("manifold", "pressure", "manifold_abs"),
    ("intake", "pressure", "manifold_abs"), ("turbo", "pressure", "boost_gauge"), ("manifold", "", "manifold_abs"),
    ("air", "pressure", "barometer"), ("air", "temp", "air_temp"), ("throttle", "share", "throttle"),
    ("throttle", "position", "throttle"), ("throttle", "voltage", "throttle"), ("spark", "angle", "spark_advance"),
    ("throttle", "", "throttle"), ("spark", "", "spark_advance"), ("engine", "torque", "torque"),
    ("engine", "power", "power"), ("engine", "load", "load"), ("engine", "speed", "engine_speed"),
    ("charge", "share", "load"), ("charge", "load", "load"), ("", "load", "load"), ("water", "", "water_temp"),
    ("head", "", "head_temp"), ("exhaust", "", "exhaust_temp"), ("intake", "", "intake_temp"),
    ("charge", "", "charge_temp"), ("", "torque", "torque"), ("", "power", "power"),
)  # fmt: skip
_DIMENSION_QUANTITY: Final = {
    "speed": "speed",
    "pressure": "pressure",
    "temperature": "temp",
    "voltage": "voltage",
    "torque": "torque",
    "power": "power",
    "mass_flow": "mass_flow",
    "volume_flow": "volume_flow",
    "share": "share",
    "angle": "angle",
}
_BRACKETS = re.compile(r"[\[({<]([^\[\](){}<>]*)[\])}>]")
_TAIL_UNITS: Final = listed(
    """kpa psi psig psia bar mbar hpa rpm krpm degc degf °c °f c f % v mv volts volt ms s sec nm lbft ftlb kw hp ps
    deg inhg mmhg kg/h g/s lb/h 1/min u/min tr/min min-1 kpag kpaa bara barg ° inh2o mph km/h kmh celsius
    fahrenheit l/h l/min cc/min x1000 pct percent lb/hr kg/hr us min h k kgf/cm2 counts raw adc"""
)

_SPELLED_OUT: Final = ("pressure", "temperature", "torque", "power", "mass_flow", "volume_flow", "road_speed")


@dataclass(slots=True)
class Evidence:
    """What is known of a column before its role: name, unit text, and the numbers in it (``start``: first rows)."""

    name: str
    unit_text: str
    numeric: bool
    low: float = 0.0
    high: float = 0.0
    start: float = 0.0
    whole: bool = False
    clock: bool = False
    dated: bool = False
    rising: bool = False
    empty: bool = False
    flat_top: float = 0.0


@dataclass(slots=True)
class Meaning:
    """The role of a column and why; ``unit`` as read from the name, the units row or the cells."""

    role: str | None
    unit: Unit | None
    reason: str
    bare: str = ""
    number: int | None = None
    guessed: str = ""
    guess_why: str = ""
    question: str = ""
    scaled: float = 1.0
    notes: list[str] = field(default_factory=list)


def plain(text: str) -> str:
    """Lower case, without accents and Greek letters, words apart."""
    text = to_english(text)
    text = (
        text.replace("λ", " lambda ")
        .replace("Λ", " lambda ")
        .replace("φ", " phi ")
        .replace("Φ", " phi ")
        .replace("ϕ", " phi ")
    )
    text = (
        text.replace("ß", "ss")
        .replace("ø", "o")
        .replace("Ø", "O")
        .replace("æ", "ae")
        .replace("ł", "l")
        .replace("Ł", "L")
    )
    text = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)
    text = re.sub(r"(?i)\ba\s?/\s?f\b", " afr ", text)
    text = re.sub(r"(?i)\b(o2|co2|h2o)\b", lambda m: {"o2": " wideband "}.get(m[0].lower(), " emission "), text)
    text = re.sub(r"(?<=[A-Za-z])(?=\d)|(?<=\d)(?=[A-Za-z])", " ", text)
    return re.sub(r"[^a-z0-9]+", " ", text.lower()).strip()


@lru_cache(maxsize=4096)
def split_unit(name: str) -> tuple[str, str]:
    """(name without its unit, unit text): a unit in brackets, else as last word, else glued on in capitals."""
    if re.fullmatch(r"(?i)\s*a\s?/\s?f\s*", name):
        return name.strip(), ""
    for match in reversed(list(_BRACKETS.finditer(name))):
        inside = match[1].strip()
        if read_unit(inside) is not None and not inside.isdigit():
            bare = (name[: match.start()] + " " + name[match.end() :]).strip(" _-:,/")
            return bare, inside
    tail = re.search(
        r"(?i)(?:[\s_,:;]|(?<=[A-Za-z\d])\s*/|\s-\s?)\s*((?:x\s?1000|°\s?[CF]|[A-Za-z%°µ\"][\w/%°^*²-]*|1/min|%|°)(?:\s?(?:abs|rel|g|a|gauge))?\.?)\s*$",
        name,
    )
    if tail and tail.start():
        text = tail[1]
        if _ends_as_unit(text):
            bare = name[: tail.start()].strip(" _-:,/")
            single = text.lower() in ("c", "f", "k", "v", "s", "h", "min", "us")
            if bare and (not single or len(bare) > 1) and not (text.lower() == "rpm" and not plain(bare)):
                return bare, text
    # Glued on in capitals of its own: "BoostKPa", "MAPkPa", "OilTempC".
    glued = re.search(
        r"(?<=[a-z])(K[Pp]a|PSI|Psi|Bar|MBar|RPM|Rpm|DegC|DegF|C|F|V|Nm|Kmh)$|(?<=[A-Za-z])(kPa|mbar|mBar)$", name
    )
    if glued and glued.start() > 1:
        return name[: glued.start()].strip(" _-:,/"), glued[0]
    return name.strip(), ""


def _ends_as_unit(text: str) -> bool:
    """Whether the last word of a name is a unit rather than a part of the name ("time", "at", "rev")."""
    if re.sub(r"[\s_.]", "", text.lower()) in _TAIL_UNITS:
        return True
    unit = read_unit(text)
    return unit is not None and len(text) > 2 and unit.dimension in _SPELLED_OUT


@lru_cache(maxsize=4096)
def words_of(name: str) -> tuple[frozenset[str], frozenset[str], frozenset[str], frozenset[str]]:
    """Subjects, quantities, roles and blockers the words of ``name`` speak for."""
    found: dict[str, set[str]] = {"s": set(), "q": set(), "r": set(), "x": set()}
    tokens = plain(name).split()
    for token in tokens:
        meaning = WORDS.get(token)
        if meaning:
            found[meaning[0]].add(meaning[2:])
            if token == "t":
                found["q"].add("temp")
            continue
        # A letter of a formula before its index: "Toil", "pamb".
        index = WORDS.get(token[1:], "") if token[0] in "tp" and len(token) > 3 else ""
        if index.startswith("s:") and token not in ("tech", "plader"):
            found["s"].add(index[2:])
            found["q"].add("temp" if token[0] == "t" else "pressure")
            continue
        # Compounds: the quantity may hide inside a stem of the subject ("oltemp", "luftdruck").
        if "temp" in token:
            found["q"].add("temp")
        if re.search(r"druck|press|tryck", token):
            found["q"].add("pressure")
        for stem, meaning in STEMS:
            if stem in token:
                found[meaning[0]].add(meaning[2:])
    return frozenset(found["s"]), frozenset(found["q"]), frozenset(found["r"]), frozenset(found["x"])


def cylinder_number(name: str) -> int | None:
    """The cylinder a name speaks of (1 to 16), or None."""
    text = re.sub(r"(?i)x\s?1000|1000|\bo2\b", " ", name)
    found = re.findall(r"(?<!\d)(\d{1,2})(?!\d)", text)
    return int(found[-1]) if found and 0 < int(found[-1]) <= 16 else None


def name_role(bare: str, unit: Unit | None, evidence: Evidence) -> tuple[str | None, str]:
    """Role by name (and unit), with the reason; 'intake_temp' is an answer the other columns must settle."""
    subjects, quantities, roles, blockers = words_of(bare)
    dimension = unit.dimension if unit else ""
    if unit and dimension in _DIMENSION_QUANTITY:
        stated = _DIMENSION_QUANTITY[dimension]
        quantities = frozenset({q for q in quantities if q in ("position", "load", "flow")} | {stated})
    if "set" in blockers:
        return None, "a wanted value, not a measured one"
    if "other" in blockers and not (
        subjects & {"oil"} and "gear" not in roles and not re.search(r"(?i)getriebe|trans|gearbox|diff", bare)
    ):
        return None, "no channel of this list"
    if {"air", "fuel"} <= subjects and not quantities - {"speed"}:
        return "afr", "air and fuel in its name"
    for role in ("afr", "lambda", "equivalence_ratio", "mixture"):
        if role in roles:
            if dimension in ("voltage", "temperature", "pressure", "share") or not evidence.numeric:
                continue
            return _mixture(role, unit, evidence)
    if dimension == "counts":
        dimension = ""
    for role in ("barometer", "gear", "marker", "remark", "date", "knock"):
        if role in roles and not (role in ("marker", "gear") and subjects - {"engine"}):
            if role == "barometer" and dimension not in ("", "pressure"):
                continue
            if role == "remark" and evidence.numeric:
                continue
            if role == "date" and evidence.numeric and not evidence.dated:
                continue
            return role, "its name"
    written = evidence.numeric or evidence.clock or evidence.dated
    if "time" in roles and not subjects and not (quantities - {"temp"}) and written:
        return "time", "its name"
    if "time" in roles and dimension == "time" and evidence.numeric:
        return "time", "its name and unit"
    for subject, quantity, role in _RULES:
        if subject and subject not in subjects:
            continue
        if not subject and subjects - {"engine", "roller"}:
            continue
        if quantity and quantity not in quantities:
            continue
        if not quantity and (quantities - {"position"}) and subject:
            continue
        if dimension and not _fits(role, dimension):
            continue
        return role, "its name" if not unit else "its name and unit"
    if (
        "speed" in quantities
        and not subjects - {"engine"}
        and dimension in ("", "speed")
        and (
            dimension == "speed"
            or re.search(r"\b(rpm|nmot|tr|giri|regime|revs?|tach|tours|vueltas|upm)|^n\b", plain(bare))
            or "engine" in subjects
            or re.search(r"drehzahl|toerental|varvtal|obroty|regime|revoluc|rotacao", plain(bare))
        )
    ):
        return "engine_speed", "its name"
    if "oil" in subjects and not quantities:
        return "oil", "its name"
    if "voltage" in quantities and not subjects and 6.0 <= evidence.high <= 16.5 and dimension in ("", "voltage"):
        return "battery_voltage", "its name and 6 to 16.5 V"
    return None, "nothing in its name tells"


def role_by_name(name: str, unit_text: str = "") -> str | None:
    """Role by the name alone, where no numbers can be asked yet."""
    bare, in_name = split_unit(name)
    return name_role(bare, read_unit(in_name or unit_text), Evidence(name, in_name, True, 0.8, 15.0, 0.9))[0]


def _mixture(role: str, unit: Unit | None, evidence: Evidence) -> tuple[str | None, str]:
    """Lambda, air-fuel ratio or equivalence ratio: the size of the numbers has the last word over the name."""
    top = evidence.start if evidence.start else evidence.high
    if role == "equivalence_ratio":
        return role, "its name"
    if 5.0 <= evidence.low <= 30.0 and evidence.high <= 40.0:
        return "afr", "its name" if role == "afr" else "the size of its numbers"
    if 0.4 <= top <= 2.5:
        return "lambda", "its name" if role == "lambda" else "the size of its numbers"
    if role == "mixture":
        return None, "a mixture sensor, but neither lambda nor an air-fuel ratio by its numbers"
    return role, "its name"


def _fits(role: str, dimension: str) -> bool:
    if role == "intake_temp":
        return dimension == "temperature"
    if role == "oil":
        return dimension in ("temperature", "pressure")
    wanted = ROLES.get(role, "")
    if dimension in ("counts", "text"):
        return True
    if role in ("throttle", "load"):
        return dimension in ("share", "voltage", "angle", "ratio")
    if role == "fuel_flow":
        return dimension in ("mass_flow", "volume_flow")
    if role == "roller_speed":
        return dimension in ("speed", "road_speed")
    if role == "spark_advance":
        return dimension == "angle"
    return wanted == dimension or wanted in ("text", "ratio")
