"""Roles and units of all columns together: what one name leaves open, the other columns and the numbers settle.

Several clocks, two columns for one role, numbers of heads, gauge or absolute, a missing unit.
"""

from __future__ import annotations

import re

from spoolwright.dyno.readers.names import Evidence, Meaning, cylinder_number, name_role, plain, split_unit, words_of
from spoolwright.dyno.readers.quantities import NUMBERED, conversion, dimension_of, guess_unit, read_unit


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
        words_only = not (column.numeric or column.empty or column.clock or column.dated)
        if role is not None and words_only and dimension_of(role) != "text":
            role, reason = None, f"named like {role}, but its cells are words"
        meaning = Meaning(role, unit, reason, bare, cylinder_number(bare))
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
    hint = hint or _system_of_guesses(columns, meanings)
    for column, meaning in zip(columns, meanings, strict=True):
        _settle_unit(column, meaning, hint)
        _ask(column, meaning)


def _system_of_guesses(columns: list[Evidence], meanings: list[Meaning]) -> str:
    """ "degF" where some temperature without a unit can be nothing else: a file seldom mixes two scales."""
    for column, meaning in zip(columns, meanings, strict=True):
        if meaning.role and not meaning.unit and column.numeric and dimension_of(meaning.role) == "temperature":
            guess = guess_unit(meaning.role, column.low, column.high)
            if guess is not None and guess.unit == "degF":
                return "degF"
    return ""


def _ask(column: Evidence, meaning: Meaning) -> None:
    """Questions on what a name and a unit leave open although they give a role."""
    if meaning.role == "boost_gauge" and meaning.unit and meaning.unit.dimension == "pressure" and not meaning.question:
        slope, _ = conversion(meaning.unit.registry, "pressure")
        if column.low * slope > 30.0 and not meaning.unit.reference:
            meaning.question = f'does "{column.name}" count from outside air, or from vacuum? it never falls near zero'
    if meaning.role in ("torque", "power") and "corrected" in words_of(column.name)[3] and not meaning.question:
        meaning.question = f'by which code was "{column.name}" corrected? (dyno reduce --corrected-by)'


def _settle_clock(columns: list[Evidence], meanings: list[Meaning]) -> None:
    clocks = [i for i, m in enumerate(meanings) if m.role == "time"]
    if not clocks:
        for i, (column, meaning) in enumerate(zip(columns, meanings, strict=True)):
            named = meaning.role is not None or meaning.reason.startswith(("a wanted", "no channel"))
            in_time = column.numeric and meaning.unit is not None and meaning.unit.dimension == "time"
            timelike = column.clock or column.dated or in_time
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
    """One column a role: one with numbers before an empty one, an observed one before a corrected one, one with a unit
    before one without, else the first."""
    seen: dict[str, int] = {}
    for i, meaning in enumerate(meanings):
        role = meaning.role
        if role is None:
            continue
        if role not in seen:
            seen[role] = i
            continue
        first = seen[role]
        better = _claim(columns[i], meaning) > _claim(columns[first], meanings[first])
        loser = meanings[first] if better else meaning
        keeper = columns[i] if better else columns[first]
        loser.role, loser.reason = None, f'a second {role.replace("_", " ")} beside "{keeper.name}"'
        if better:
            seen[role] = i


def _claim(column: Evidence, meaning: Meaning) -> tuple[bool, bool, bool]:
    """How good a claim to its role a column has."""
    return not column.empty, "corrected" not in words_of(column.name)[3], meaning.unit is not None


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
