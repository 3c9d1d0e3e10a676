"""Unit expressions such as ``W/(m2 K)`` or ``lb/(hp h)``: factor to SI and dimensions."""

from __future__ import annotations

import math
import re
from functools import lru_cache

from spoolwright.units.numbers import PLAIN_SIGNS
from spoolwright.units.tables import ONE, SPELLINGS, UNITS, Dims

_TOKEN = re.compile(
    r"\s*(?:(?P<op>[*/()])|(?P<num>\d+(?:\.\d+)?(?:[eE][+-]?\d+)?(?![A-Za-z]))|(?P<name>[A-Za-zµ°Ω%\"'_]+)(?:\^?(?P<pow>-?\d+))?)"
)


def _named(name: str) -> tuple[float, Dims] | None:
    if name in UNITS and name not in ("F_farad", "Rdiff"):
        return UNITS[name]
    if name == "Rdiff":
        return UNITS["Rdiff"]
    spelled = SPELLINGS.get(name.lower())
    if spelled is not None and spelled != name:
        if spelled in UNITS:
            return UNITS[spelled]
        return expression(spelled)
    # "mpa" can only be MPa, but "mw" or "mn" could be milli or mega: those keep their case.
    alike = {k for k in UNITS if k.lower() == name.lower() and (k[0] == name[0] or k[0] != "M" or k in ("MPa", "Mpsi"))}
    if len(alike) == 1:
        return UNITS[alike.pop()]
    return None


def _combine(a: tuple[float, Dims], b: tuple[float, Dims], sign: int) -> tuple[float, Dims]:
    dims = tuple(x + sign * y for x, y in zip(a[1], b[1], strict=True))
    return a[0] * b[0] ** sign, dims  # type: ignore[return-value]


@lru_cache(maxsize=2048)
def expression(text: str) -> tuple[float, Dims] | None:
    """Factor to SI and dimensions of a unit expression such as ``W/(m2 K)``; None when not understood."""
    text = text.translate(PLAIN_SIGNS).strip()
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
    total: tuple[float, Dims] = (1.0, ONE)
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
            factor = (number, ONE)
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
