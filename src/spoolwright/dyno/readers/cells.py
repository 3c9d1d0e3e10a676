"""One cell: a number in any notation, a word for missing, or text.

Decimal and thousands signs are told per column from a sample, because spreadsheets mix them. A sign whose groups of
three could be either ("2,595") follows the rest of the file.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Final, NamedTuple

from spoolwright.dyno.readers.words import listed

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Spellings of "no value" that programs write. Device words (OFF, ERR) are not here: they are text in a number column.
NO_VALUE: Final = listed(
    """nan -nan +nan nan(ind) -nan(ind) nan(snan) qnan snan nanq nans 1.#qnan -1.#qnan 1.#snan 1.#ind -1.#ind
    1.#nan 1.#inf -1.#inf 1.#j -1.#j inf +inf -inf infinity +infinity -infinity ∞ -∞ +∞ n/a na n.a. n.a #n/a #na
    #nv #n/v null (null) <null> none nil - -- --- ---- ----- – — * ** *** **** ? ?? ??? . .. ... #div/0! #value!
    #ref! #num! #name? #null! #wert! #valeur! #valor! #valore! #bezug! missing void empty <empty> blank \\n \\n.
    n.d. nd n/d k.a. s/d s/o leer vide vuoto vacio nul undef undefined not_available notavailable <na> nat ####
    ##### ###### _ __ x.x -.- --.- ---.- --.-- -.-- na(nan) nan.0"""
)
DEVICE_WORDS: Final = listed(
    """off on err error err. fehler erreur errore fail fault open short low high lo hi lo. hi. over under ovr ovl
    ovfl ol o.l. o/r u/r oor over-range overrange underrange overflow sat init warm warmup warm-up heat heating
    cal calib wait no none sensor disc disconnected unplugged oc sc o.c. aus ein defekt defect hs apagado spento
    eteint invalid inv bad noconn nosig timeout ---.- stale"""
)
SENTINELS: Final = frozenset(
    (-9999.0, -999.0, -99999.0, -999999.0, -9999.9, -999.9, -999.99, -9999.99, -32768.0, -32767.0, -2147483648.0)
)
HUGE: Final = 1e20

_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?")
_GROUPED = re.compile(r"\d{1,3}([,.'’´\u00a0\u202f\u2009 ])\d{3}(?:\1\d{3})*")
_BODY = re.compile(
    r"(?P<open>\()?\s*(?P<sign>[+\-−–])?\s*(?P<number>[\d.,'’´\u00a0\u202f\u2009 ]*\d[.,]?)(?P<exp>[eEdD][+-]?\d{1,3})?"
    r"\s*(?P<behind>[+\-−–])?(?P<close>\))?\s*(?P<unit>[^\d\s.,+\-()][^\d]{0,11}[\d²³]?)?"
)
_CLOCK = re.compile(r"\d{1,4}:\d{1,2}(?:[:.,]\d+)*(?:\s?[AaPp]\.?\s?[Mm]\.?)?")
_DATE = re.compile(
    r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}"
    r"(?:[T ,]+\d{1,2}:\d{1,2}(?:[:.,]\d+)*(?:\s?[AaPp][Mm])?\s?(?:Z|UTC|[+-]\d{2}:?\d{2})?)?"
)


class Signs(NamedTuple):
    """Decimal sign and thousands sign of a column; ``sure`` where the cells themselves prove the decimal sign."""

    decimal: str
    thousands: str | None
    sure: bool


PLAIN_SIGNS: Final = Signs(".", None, False)


class Parsed(NamedTuple):
    """``value`` is nan unless the cell is a number. ``what``: number, thousands, sign, unit, missing, word, text."""

    value: float
    what: str
    unit: str = ""


MISSING: Final = Parsed(math.nan, "missing")


def is_missing(cell: str) -> bool:
    """True for an empty cell or a program's spelling of no value."""
    return not cell or cell.strip().strip("\"'").strip().lower() in NO_VALUE or not cell.strip()


@lru_cache(maxsize=1 << 16)
def is_value(cell: str) -> bool:
    """True where the cell looks like a number, a time or a date in some notation (lenient, for telling rows apart)."""
    if _PLAIN.fullmatch(cell):
        return True
    cell = unwrap(cell)
    if not cell or len(cell) > 40 or not any(c.isdigit() for c in cell):
        return False
    if _PLAIN.fullmatch(cell) or _CLOCK.fullmatch(cell) or _DATE.fullmatch(cell):
        return True
    match = _BODY.fullmatch(cell)
    if match is None or bool(match["open"]) != bool(match["close"]):
        return False
    number = match["number"]
    if number[-1] in ",." and not match["exp"] and number[-1] == ",":
        return False
    if any(c in number for c in " \u00a0\u202f\u2009'’´") and not _GROUPED.match(number):
        return False
    return _shape(number) and _unit_like(match["unit"])


def _unit_like(unit: str | None) -> bool:
    return not unit or (len(unit) <= 6 and not any(c in unit for c in ",;|\t:=\ufffd"))


def _shape(number: str) -> bool:
    """Whether points and commas in ``number`` can be one decimal sign and groups of three."""
    marks = [c for c in number if c in ".,"]
    if len(marks) <= 1:
        return True
    if len(set(marks)) == 1:
        return bool(_GROUPED.fullmatch(number))
    return marks.count(marks[-1]) == 1 and len(set(marks[:-1])) == 1


def unwrap(cell: str) -> str:
    """The cell without blanks, outer quotes and the equals sign spreadsheets add to keep text."""
    cell = cell.strip()
    if cell.startswith('="') and cell.endswith('"'):
        cell = cell[2:-1]
    if len(cell) >= 2 and cell[0] in "\"'" and cell[-1] == cell[0]:
        cell = cell[1:-1]
    return cell.strip().lstrip("'") if cell[:1] == "'" else cell.strip()


def column_signs(cells: Sequence[str]) -> Signs | None:
    """Decimal and thousands signs a column's cells speak for; None where nothing tells."""
    votes = {".": 0, ",": 0}
    grouped: dict[str, int] = {}
    bare = bare_long = 0
    for cell in cells:
        if _PLAIN.fullmatch(cell):
            lead, point, rest = cell.lstrip("+-").partition(".")
            if not point:
                bare += 1
                bare_long += len(lead) > 3
                continue
            if len(rest) != 3 or len(lead) > 3 or lead[:1] in ("0", ""):
                votes["."] += 1
                continue
        body = _BODY.fullmatch(unwrap(cell))
        if body is None or ":" in cell:
            continue
        number = body["number"].strip()
        marks = [c for c in number if not c.isdigit()]
        if not marks:
            bare += 1
            bare_long += len(number) > 3
        elif len(set(marks)) >= 2:
            if marks[-1] in votes and marks.count(marks[-1]) == 1:
                votes[marks[-1]] += 1
                grouped[marks[0]] = grouped.get(marks[0], 0) + 1
        elif _GROUPED.fullmatch(number) and not number.startswith("0"):
            grouped[marks[0]] = grouped.get(marks[0], 0) + (1 if len(marks) == 1 else 100)
        elif len(marks) == 1 and marks[0] in votes:
            votes[marks[0]] += 1
    decimal = "," if votes[","] > votes["."] else "." if votes["."] else ""
    thousands = max(grouped, key=lambda m: grouped[m]) if grouped else None
    if decimal:
        return Signs(decimal, thousands if thousands != decimal else None, True)
    if thousands is None:
        return None
    # Only groups of three: "900" beside "1,000", several groups, or an odd sign prove thousands.
    proven = thousands not in ".," or grouped[thousands] >= 100 or (bare and not bare_long and bare >= 2)
    return Signs("", thousands, bool(proven))


def settle_signs(
    columns: Sequence[Signs | None], delimiter: str, ungrouped: bool = False, speed_mark: str = ""
) -> tuple[list[Signs], str, str | None]:
    """Signs of each column and of the file, from what the columns speak for.

    ``ungrouped``: whole numbers of four digits or more stand in the file without a mark, so a lone mark before three
    digits is a decimal sign. ``speed_mark``: the mark in speeds, which count whole turns: where nothing
    else tells, it is the one of thousands.
    """
    votes = {".": 0, ",": 0}
    for signs in columns:
        if signs and signs.decimal:
            votes[signs.decimal] += 1
        elif signs and signs.sure and signs.thousands in (".", ","):
            votes["," if signs.thousands == "." else "."] += 1
    if votes[","] != votes["."]:
        decimal = "," if votes[","] > votes["."] else "."
    elif votes["."] == 0 and speed_mark in (".", ","):
        decimal = "," if speed_mark == "." else "."
    elif votes["."] == 0 and (delimiter == ";" or ungrouped) and any(s and s.thousands == "," for s in columns):
        decimal = ","
    else:
        decimal = "."
    settled = []
    for signs in columns:
        if signs is None:
            settled.append(Signs(decimal, None, False))
        elif signs.decimal:
            settled.append(signs)
        elif signs.sure or signs.thousands != decimal:
            other = "." if signs.thousands == "," else "," if signs.thousands == "." else decimal
            settled.append(Signs(other, signs.thousands, signs.sure))
        else:
            settled.append(Signs(decimal, None, False))
    thousands = next((s.thousands for s in settled if s.thousands), None)
    return settled, decimal, thousands


def parse(cell: str, signs: Signs) -> Parsed:
    """Value of a cell that is not plain; says what had to be done to read it."""
    text = unwrap(cell)
    low = text.lower()
    if not text or low in NO_VALUE:
        return MISSING
    match = _BODY.fullmatch(text)
    if match is None:
        return Parsed(math.nan, "word" if low in DEVICE_WORDS else "text")
    if bool(match["open"]) != bool(match["close"]) or (match["sign"] and match["behind"]):
        return Parsed(math.nan, "text")
    number, what = match["number"].strip(), "number"
    for mark in {c for c in number if not c.isdigit()}:
        if mark == signs.decimal:
            if number.count(mark) > 1:
                if not _GROUPED.fullmatch(number):
                    return Parsed(math.nan, "text")
                number, what = number.replace(mark, ""), "thousands"
            continue
        whole = number.split(signs.decimal)[0] if signs.decimal in number else number
        if mark in ".," and mark != signs.thousands and not _GROUPED.fullmatch(whole):
            if number.count(mark) == 1 and signs.decimal not in number:
                number, what = number.replace(mark, signs.decimal), "decimal"
                continue
            return Parsed(math.nan, "text")
        if not _GROUPED.fullmatch(whole):
            return Parsed(math.nan, "text")
        number, what = number.replace(mark, ""), "thousands"
    exponent = (match["exp"] or "").replace("d", "e").replace("D", "e")
    try:
        value = float(number.replace(signs.decimal, ".") + exponent)
    except ValueError:
        return Parsed(math.nan, "text")
    unit = (match["unit"] or "").strip()
    if match["open"] or match["behind"] in ("-", "−", "–"):
        return Parsed(-value, "sign", unit)
    if match["sign"] in ("-", "−", "–"):
        value = -value
    if unit:
        if len(unit) > 8 or not _unit_like(unit):
            return Parsed(math.nan, "text")
        return Parsed(value, "unit", unit)
    return Parsed(value, what)


def floats(cells: Sequence[str], decimal: str) -> tuple[NDArray[np.float64], list[int], list[int]]:
    """Values of a column's cells (nan where none), the places that are not plain finite numbers, the empty places."""
    import numpy as np

    source = cells
    if decimal == ",":
        source = [c.replace(",", ".") if "." not in c else "x" for c in cells]
    empty = [at for at, cell in enumerate(cells) if not cell or cell.isspace()]
    try:
        values = np.array([float(c) if c else math.nan for c in source] if empty else list(map(float, source)))
    except ValueError:
        pass
    else:
        # float() also takes "1_0" and "nan"; both must be looked at.
        if np.isfinite(values).sum() == values.size - len(empty) and "_" not in "".join(source):
            return values, [], empty
    values = np.full(len(source), np.nan)
    odd = []
    for at, cell in enumerate(source):
        cell = cell.strip()
        if not cell:
            continue
        if _PLAIN.fullmatch(cell):
            value = float(cell)
            if math.isfinite(value):
                values[at] = value
                continue
        odd.append(at)
    return values, odd, empty
