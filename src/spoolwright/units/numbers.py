"""Numbers as a builder writes them, and back: decimal signs, thousands, fractions, significant digits."""

from __future__ import annotations

import math
import re

from spoolwright.errors import BadInput

# Signs that look alike or come from a word processor, as plain ones.
PLAIN_SIGNS = str.maketrans(
    {
        "²": "2",
        "³": "3",
        "−": "-",
        "–": "-",
        "·": " ",
        "⋅": " ",
        "×": " ",
        "μ": "µ",
        "∕": "/",
        "\u00a0": " ",
        "\u202f": " ",
    }
)
NUMBER = r"[+-]?(?:\d+(?:[.,]\d+)*|[.,]\d+)(?:[eE][+-]?\d+)?"
FRACTION = r"[+-]?(?:\d+[ -])?\d+/\d+"
HEAD = re.compile(rf"\s*(?P<number>{FRACTION}(?![\d.,])|{NUMBER})\s*(?P<rest>.*)$", re.DOTALL)


def read_number(text: str) -> float:
    """The number in ``text``: point or comma decimals, inch fractions ("1 1/4"), exponents.

    Raises BadInput where a comma could mean thousands as well as decimals ("1,350").
    """
    text = text.strip().translate(PLAIN_SIGNS)
    if "/" in text:
        if not re.fullmatch(FRACTION, text):
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
