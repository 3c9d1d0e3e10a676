"""Which column is what: by its name, by its unit, by the range of its values, in that order of trust.

The name is cut into words; words name a subject and a quantity (:mod:`words`), the unit adds the quantity where the name
leaves it out. What nobody can tell keeps role None and says so.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from spoolwright.dyno.readers.quantities import NUMBERED, ROLES, Unit, dimension_of, guess_unit, read_unit
from spoolwright.dyno.readers.words import STEMS, WORDS, listed

# (subject, quantity) -> role; the first that fits in this order is taken. '' as quantity: the subject alone is enough.
_RULES: Final[tuple[tuple[str, str, str], ...]] = (
    ("turbine", "temp", "exhaust_temp"), ("turbine", "pressure", "exhaust_pressure"), ("turbine", "speed", "turbo_speed"),
    ("roller", "torque", "roller_torque"), ("roller", "speed", "roller_speed"), ("roller", "", "roller_speed"),
    ("crankcase", "pressure", "crankcase_pressure"), ("crankcase", "", "crankcase_pressure"),
    ("pump", "voltage", "pump_voltage"), ("battery", "voltage", "battery_voltage"), ("battery", "", "battery_voltage"),
    ("backpressure", "", "exhaust_pressure"),
    ("backpressure", "pressure", "exhaust_pressure"), ("oil", "pressure", "oil_pressure"), ("oil", "temp", "oil_temp"),
    ("water", "temp", "water_temp"), ("head", "temp", "head_temp"), ("exhaust", "pressure", "exhaust_pressure"),
    ("exhaust", "temp", "exhaust_temp"),
    ("oil", "temp", "oil_temp"), ("cylinder", "temp", "head_temp"), ("fuel", "pressure", "fuel_pressure"), ("fuel", "flow", "fuel_flow"),
    ("fuel", "mass_flow", "fuel_flow"), ("fuel", "volume_flow", "fuel_flow"), ("charge", "temp", "charge_temp"),
    ("ambient", "pressure", "barometer"), ("ambient", "temp", "air_temp"), ("turbo", "speed", "turbo_speed"),
    ("boost", "temp", "charge_temp"), ("manifold", "temp", "charge_temp"), ("turbo", "temp", "charge_temp"),
    ("intake", "temp", "intake_temp"), ("boost", "pressure", "boost_gauge"), ("boost", "", "boost_gauge"),
    ("charge", "pressure", "boost_gauge"), ("manifold", "pressure", "manifold_abs"), ("intake", "pressure", "manifold_abs"),
    ("turbo", "pressure", "boost_gauge"), ("manifold", "", "manifold_abs"), ("air", "pressure", "barometer"),
    ("air", "temp", "air_temp"), ("throttle", "share", "throttle"), ("throttle", "position", "throttle"),
    ("throttle", "voltage", "throttle"), ("spark", "angle", "spark_advance"), ("throttle", "", "throttle"),
    ("spark", "", "spark_advance"), ("engine", "torque", "torque"), ("engine", "power", "power"),
    ("engine", "load", "load"), ("engine", "speed", "engine_speed"), ("charge", "share", "load"), ("charge", "load", "load"),
    ("", "load", "load"), ("water", "", "water_temp"), ("head", "", "head_temp"), ("exhaust", "", "exhaust_temp"),
    ("intake", "", "intake_temp"), ("charge", "", "charge_temp"), ("", "torque", "torque"), ("", "power", "power"),
)  # fmt: skip
_DIMENSION_QUANTITY: Final = {"speed": "speed", "pressure": "pressure", "temperature": "temp", "voltage": "voltage",
                              "torque": "torque", "power": "power", "mass_flow": "mass_flow", "volume_flow": "volume_flow",
                              "share": "share", "angle": "angle"}  # fmt: skip
_BRACKETS = re.compile(r"[\[({<]([^\[\](){}<>]*)[\])}>]")
_TAIL_UNITS: Final = listed(
    """kpa psi psig psia bar mbar hpa rpm krpm degc degf °c °f c f % v mv volts volt ms s sec nm lbft ftlb kw hp ps
    deg inhg mmhg kg/h g/s lb/h 1/min u/min tr/min min-1 kpag kpaa bara barg ° inh2o mph km/h kmh celsius
    fahrenheit l/h l/min cc/min x1000 pct percent lb/hr kg/hr us min h k kgf/cm2 counts raw adc"""
)


@dataclass(slots=True)
class Evidence:
    """What is known of a column before its role: name, unit text, numbers in it (low, high, first quarter's median), text share."""

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
    text = re.sub(r"(?i)\b(o2|co2|h2o)\b", lambda m: {"o2": " wideband "}.get(m[0].lower(), " gas "), text)
    text = re.sub(r"(?<=[A-Za-z])(?=\d)|(?<=\d)(?=[A-Za-z])", " ", text)
    return re.sub(r"[^a-z0-9]+", " ", text.lower()).strip()


@lru_cache(maxsize=4096)
def split_unit(name: str) -> tuple[str, str]:
    """(name without its unit, unit text). Brackets first, then a unit as last word after a blank, slash, comma, underscore."""
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
        if re.sub(r"[\s_.]", "", text.lower()) in _TAIL_UNITS or re.fullmatch(
            r"(?i)(kpa|psi|m?bar)\s?(abs|rel|g|a|gauge)\.?", text
        ):
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
        # Compounds: the quantity may hide inside a stem of the subject ("oltemp", "luftdruck").
        if "temp" in token:
            found["q"].add("temp")
        if re.search(r"druck|press|tryck", token):
            found["q"].add("pressure")
        for stem, meaning in STEMS:
            if stem in token:
                found[meaning[0]].add(meaning[2:])
    return frozenset(found["s"]), frozenset(found["q"]), frozenset(found["r"]), frozenset(found["x"])


def _number(name: str) -> int | None:
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
            if dimension in ("voltage", "temperature", "pressure") or not evidence.numeric:
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
    if "time" in roles and not subjects and not (quantities - {"temp"}):
        if evidence.numeric or evidence.clock or evidence.dated:
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
    if "speed" in quantities and not subjects - {"engine"} and dimension in ("", "speed"):
        if (
            dimension == "speed"
            or re.search(r"(?i)\b(r\.?p\.?m|n|nmot|n_mot|tr|giri|regime|revs?|tach|tours|vueltas|upm)", plain(bare))
            or "engine" in subjects
            or re.search(r"drehzahl|toerental|varvtal|obroty|regime|revoluc|rotacao", plain(bare))
        ):
            return "engine_speed", "its name"
    if "oil" in subjects and not quantities:
        return "oil", "its name"
    if "voltage" in quantities and not subjects and 6.0 <= evidence.high <= 16.5 and dimension in ("", "voltage"):
        return "battery_voltage", "its name and 6 to 16.5 V"
    return None, "nothing in its name tells"


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


def understand(columns: list[Evidence]) -> list[Meaning]:
    """Role, unit and guess of each column, doubled names and rivals settled."""
    meanings = []
    for column in columns:
        bare, in_name = split_unit(column.name)
        text = column.unit_text or in_name
        unit = read_unit(text) if text else None
        if column.unit_text and unit is None and in_name:
            unit = read_unit(in_name)
        if unit and unit.dimension == "ratio" and unit.name == "1" and in_name and column.unit_text:
            unit = read_unit(in_name) or unit
        lone = read_unit(bare) if not text else None
        role, reason = name_role(bare or column.name, unit, column)
        if role is None and unit is not None and not column.unit_text and bare:
            role, reason = name_role(column.name, unit, column)
        if (
            lone
            and role
            and lone.dimension == dimension_of(role)
            and lone.dimension in ("speed", "power", "torque", "voltage")
        ):
            unit = lone
        scale = re.search(
            r"(?i)x\s?1000\b|\*\s?1000\b|/\s?1000\b|\b1000\s?/\s?min", column.name + " " + column.unit_text
        )
        if scale and role in ("engine_speed", "turbo_speed", "roller_speed"):
            unit = read_unit("x1000 rpm")
        meaning = Meaning(role, unit, reason, bare, _number(bare))
        if text and unit is None:
            meaning.question = f'what is the unit "{text.strip()}"?'
        meanings.append(meaning)
    _settle(columns, meanings)
    return meanings


def _settle(columns: list[Evidence], meanings: list[Meaning]) -> None:
    _settle_clock(columns, meanings)
    roles = {m.role for m in meanings}
    hint = next((m.unit.name for m in meanings if m.unit and m.unit.name in ("degF",)), "")
    for column, meaning in zip(columns, meanings, strict=True):
        if meaning.role == "oil":
            by_range = "oil_temp" if column.high > 12 and "oil_pressure" in roles else None
            meaning.role, meaning.reason = (
                by_range,
                "oil, and a pressure of it is there already" if by_range else "oil, but what of it?",
            )
        if meaning.role == "intake_temp":
            _settle_intake(columns, meanings, meaning, roles)
        if meaning.role in ("boost_gauge", "manifold_abs"):
            _settle_gauge(column, meaning)
    for column, meaning in zip(columns, meanings, strict=True):
        if (
            meaning.role == "load"
            and "throttle" not in roles
            and column.flat_top >= 0.25
            and 99.0 <= column.high <= 101.0
        ):
            meaning.role = "throttle"
            meaning.reason = "load in its name, but it jumps to 100 and stays there as a throttle does"
    _settle_numbers(meanings)
    _settle_rivals(columns, meanings)
    for column, meaning in zip(columns, meanings, strict=True):
        _settle_unit(column, meaning, hint)


def _settle_clock(columns: list[Evidence], meanings: list[Meaning]) -> None:
    clocks = [i for i, m in enumerate(meanings) if m.role == "time"]
    if not clocks:
        for i, (column, meaning) in enumerate(zip(columns, meanings, strict=True)):
            named = meaning.role is not None or meaning.reason.startswith(("a wanted", "no channel"))
            timelike = column.clock or column.dated or (meaning.unit is not None and meaning.unit.dimension == "time")
            if (not named and (timelike or (column.rising and i == 0))) or (meaning.role == "date" and column.clock):
                meaning.role, meaning.reason = (
                    "time",
                    "it rises from row to row" if column.rising else "it is written as a time",
                )
                return
        for column, meaning in zip(columns, meanings, strict=True):
            if meaning.role == "date" and column.dated:
                meaning.role, meaning.reason = "time", "a date with a time of day"
                return
        return

    # Several clocks: the one that rises steadily and has the finest unit written; the others have no role.
    def rank(i: int) -> tuple[int, int, int]:
        unit = meanings[i].unit
        return (int(columns[i].rising), int(bool(unit and unit.dimension == "time") or columns[i].numeric), -i)

    best = max(clocks, key=rank)
    for i in clocks:
        if i != best:
            meanings[i].role, meanings[i].reason = None, f'a second clock beside "{columns[best].name}"'
    for i, meaning in enumerate(meanings):
        if meaning.role == "date" and columns[i].numeric and not columns[i].dated:
            meaning.role, meaning.reason = None, "a date, but in no notation known here"


def _settle_intake(columns: list[Evidence], meanings: list[Meaning], meaning: Meaning, roles: set[str | None]) -> None:
    column = columns[meanings.index(meaning)]
    celsius = column.high if not (meaning.unit and meaning.unit.name == "degF") else (column.high - 32) / 1.8
    rise = column.high - column.start
    if "charge_temp" in roles:
        meaning.role, meaning.reason = "air_temp", "intake air; the charge temperature has its own column"
    elif "air_temp" in roles or celsius > 55 or rise > 8:
        meaning.role, meaning.reason = "charge_temp", "intake air that grows hot as boost rises"
    else:
        meaning.role, meaning.reason = "air_temp", "intake air that stays near outside temperature"


def _settle_gauge(column: Evidence, meaning: Meaning) -> None:
    """Gauge or absolute: what is written beside the unit, else where the channel starts."""
    words = plain(meaning.bare + " " + column.name).split()
    reference = meaning.unit.reference if meaning.unit else ""
    if not reference and {"abs", "absolute", "absolut", "absolu", "assoluta", "absoluta", "abs."} & set(words):
        reference = "absolute"
    if not reference and {"gauge", "rel", "relativ", "relative", "relatif", "relativa"} & set(words):
        reference = "gauge"
    if reference:
        role = "manifold_abs" if reference == "absolute" else "boost_gauge"
        if role != meaning.role:
            meaning.role, meaning.reason = role, f"written as {reference}"
        return
    if meaning.unit and meaning.unit.dimension == "pressure" and not meaning.unit.below:
        from spoolwright.dyno.readers.quantities import conversion

        slope, _ = conversion(meaning.unit.registry, "pressure")
        low, high = column.low * slope, column.high * slope
        if meaning.role == "boost_gauge" and low > 55.0 and 80.0 < column.start * slope < 115.0:
            meaning.role, meaning.reason = "manifold_abs", "it starts at the day's barometer, so it is absolute"
        elif meaning.role == "manifold_abs" and (low < -1.0 or (low < 8.0 and high > 15.0)):
            meaning.role, meaning.reason = "boost_gauge", "it starts near zero, so it is above outside air"
    elif meaning.unit is None:
        # Without a unit: one atmosphere in some unit at the start, and never near zero.
        starts_at_one = any(
            a <= column.start <= b for a, b in ((0.85, 1.05), (12.5, 15.2), (27, 31.5), (85, 105), (850, 1050))
        )
        if (
            meaning.role == "boost_gauge"
            and column.low > 0.3 * column.start > 0
            and starts_at_one
            and 1.3 * column.start < column.high < 5.0 * column.start
        ):
            meaning.role, meaning.reason = "manifold_abs", "it starts at one atmosphere, so it is absolute"
        elif meaning.role == "manifold_abs" and column.low < 0.05 * max(column.high, 1e-9):
            meaning.role, meaning.reason = "boost_gauge", "it starts at zero, so it is above outside air"


def _settle_numbers(meanings: list[Meaning]) -> None:
    """Heads and exhaust ports by number: as written, else in the order of the file."""
    for family in NUMBERED:
        members = [m for m in meanings if m.role == family]
        given = [m.number for m in members]
        if None in given or len(set(given)) != len(given):
            taken: set[int] = set()
            for m in members:
                wish = (
                    m.number if m.number is not None and m.number not in taken and given.count(m.number) == 1 else None
                )
                m.number = wish
                if wish is not None:
                    taken.add(wish)
            free = iter(n for n in range(1, len(members) + 20) if n not in taken)
            for m in members:
                if m.number is None:
                    m.number = next(free)
                    m.notes.append("numbered in the order of the file")
        for m in members:
            m.role = f"{family}_{m.number}"


def _settle_rivals(columns: list[Evidence], meanings: list[Meaning]) -> None:
    """One column a role: a column with numbers before an empty one, one with a unit before one without, else the first."""
    seen: dict[str, int] = {}
    for i, meaning in enumerate(meanings):
        role = meaning.role
        if role is None:
            continue
        if role not in seen:
            seen[role] = i
            continue
        first = seen[role]
        better = (not columns[i].empty, meaning.unit is not None) > (
            not columns[first].empty,
            meanings[first].unit is not None,
        )
        loser = meanings[first] if better else meaning
        keeper = columns[i] if better else columns[first]
        loser.role, loser.reason = None, f'a second {role.replace("_", " ")} beside "{keeper.name}"'
        if better:
            seen[role] = i


def _settle_unit(column: Evidence, meaning: Meaning, hint: str) -> None:
    role = meaning.role
    if role is None or dimension_of(role) in ("text", "time"):
        return
    dimension = dimension_of(role)
    unit = meaning.unit
    if role == "boost_gauge" and unit and unit.name == "psi" and column.low < -14.7:
        meaning.unit = read_unit("psi or -inHg")
        meaning.notes.append("below -14.7 psi is no pressure, so inches of mercury stand below zero")
    if unit is None and dimension == "ratio":
        meaning.unit = read_unit("1")
        return
    if unit is None and role == "spark_advance":
        meaning.unit, meaning.guessed, meaning.guess_why = read_unit("deg"), "deg", "spark is given in degrees"
        return
    if unit is None and column.numeric and not column.empty:
        guess = guess_unit(role, column.low, column.high, hint)
        if guess is None:
            meaning.question = meaning.question or f"in which unit is {role.replace('_', ' ')}?"
            return
        if (
            role == "boost_gauge"
            and guess.unit == "psi"
            and (column.low < -14.7 or re.search(r"(?i)vac", column.name))
            and column.low < 0
        ):
            meaning.unit, meaning.guessed = read_unit("psi or -inHg"), "psi above 0, inHg below 0"
        else:
            meaning.unit, meaning.guessed = read_unit(guess.unit), guess.unit
        meaning.guess_why = guess.why
        meaning.question = f'is "{column.name}" in {meaning.guessed}?'
        # A channel named after its unit ("rpm") has one.
        if role == "engine_speed" and guess.unit == "rpm":
            meaning.question = ""
            if "rpm" in plain(column.name).split():
                meaning.guessed = meaning.guess_why = ""
    elif (
        unit is not None
        and unit.dimension == "speed"
        and unit.name == "rpm"
        and role == "engine_speed"
        and 0.5 < column.high < 20
    ):
        meaning.unit = read_unit("x1000 rpm")
        meaning.guessed, meaning.guess_why = "x1000 rpm", f"{column.low:g} to {column.high:g} is no engine speed in rpm"
        meaning.question = f'is "{column.name}" in thousands of rpm?'
