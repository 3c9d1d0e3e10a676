"""Reading a quantity: text with a unit, a spread and a condition, against the kind that is wanted."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Final

from spoolwright.constants import STANDARD_ATMOSPHERE
from spoolwright.errors import BadInput
from spoolwright.units.expressions import expression
from spoolwright.units.faults import example_of, unknown_unit, without_unit
from spoolwright.units.numbers import HEAD, NUMBER, PLAIN_SIGNS, read_number
from spoolwright.units.tables import KINDS, TEMPERATURE_NAMES, TEMPERATURES, UNITS, Kind

_REFERENCES: Final = ("BTDC", "ATDC", "BBDC", "ABDC")


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


_SPREAD = re.compile(
    rf"(?:±|\+\s*/\s*-|\+-)\s*(?P<both>{NUMBER})|\+\s*(?P<plus>{NUMBER})\s*/\s*-\s*(?P<minus>{NUMBER})"
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
        raise BadInput(f"{text!r} is not a quantity; write text with a unit, for example {example_of(want)}")
    if isinstance(text, (int, float)):
        if not want.bare:
            raise BadInput(without_unit(str(text), want))
        if not math.isfinite(text):
            raise BadInput(f"{text} is not a number that can be used")
        return Quantity(kind, float(text), str(text), want.usual if want.usual == "1" else "1", float(text))
    written = text.strip()
    if not written:
        raise BadInput(f"nothing is written; write for example {example_of(want)}")
    if len(written) > 200:
        raise BadInput(f"{len(written)} characters are too many for one value; write for example {example_of(want)}")
    body, *conditions = [part.strip() for part in written.split("@")]
    if kind == "money":
        return _money(written, body)
    if kind == "mixture":
        return _mixture(written, body, conditions, stoichiometric)
    body, minus_text, plus_text, share = _take_spread(body)
    head = HEAD.match(body)
    if head is None:
        raise BadInput(f'"{written}" does not begin with a number; write for example {example_of(want)}')
    number = read_number(head["number"])
    unit_text = head["rest"].strip()
    unit_text, reference = _take_reference(unit_text, kind)
    if re.match(r"^[:].*", unit_text):
        return _ratio(written, number, unit_text, want)
    if want.name == "ratio" and unit_text.lower() in ("afr", "to 1"):  # an air-fuel ratio where only the ratio counts
        unit_text = "1"
    if not unit_text:
        if not want.bare:
            raise BadInput(without_unit(written, want))
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
    head = HEAD.match(text.strip())
    if head is None:
        raise BadInput(f'"{text}" does not begin with a number; write for example "1.5 inHg" or "20 degC"')
    unit = head["rest"].strip()
    for kind in ("temperature", *KINDS):
        want = KINDS[kind]
        if want.bare or kind in ("money", "mixture"):
            continue
        if kind == "temperature" and unit.lower() not in TEMPERATURE_NAMES:
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
    text = re.sub(r"\s*\bper\s+", "/", unit.translate(PLAIN_SIGNS).strip())
    text = "1" + text if text.startswith("/") else text
    if kind == "temperature":
        name = TEMPERATURE_NAMES.get(text.lower())
        if name is None:
            raise BadInput(unknown_unit(unit, want))
        factor, offset = TEMPERATURES[name]
        return name, factor, offset
    if kind == "temperature_difference":
        name = TEMPERATURE_NAMES.get(text.lower())
        if name is not None:
            return {"degR": "degF"}.get(name, name), TEMPERATURES[name][0], 0.0
    if text.lower() in ("scfm", "standard cfm", "std cfm"):
        return _standard_flow(kind, conditions or [])
    if kind in ("expansion", "heat_capacity", "conductivity", "heat_transfer"):
        text = re.sub(r"(?i)(?:deg|°)\s*c\b|(?<=[/( ])c\b", "K", text)
        text = re.sub(r"(?i)(?:deg|°)\s*f\b|(?<=[/( ])f\b", "Rdiff", text)
    if kind == "inertia" and text in ("kgm2", "kg-m2"):
        text = "kg m2"
    if kind == "length" and text == "nm":
        return "nm", 1e-9, 0.0
    found = expression("N m" if kind == "torque" and text == "nm" else text)
    if found is None:
        raise BadInput(unknown_unit(unit, want))
    factor, dims = found
    if dims != want.dims:
        raise BadInput(f'"{unit}" is not a unit of {want.name.replace("_", " ")}; use one of {", ".join(want.units)}')
    return _canonical(text, factor, want), factor, 0.0


def _canonical(text: str, factor: float, want: Kind) -> str:
    for name in want.units:
        known = expression(name)
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
        unit_before = HEAD.match(before)
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
        raise BadInput(
            f'"{written}" is a ratio, not {want.name.replace("_", " ")}; write for example {example_of(want)}'
        )
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
    match = re.fullmatch(rf"(?P<a>[A-Za-z€£¥$]*)\s*(?P<n>{NUMBER})\s*(?P<b>[A-Za-z€£¥$]*)", body)
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
        rf"(?i)(?P<a>lambda|phi|λ|φ|afr)?\s*(?P<n>{NUMBER})\s*(?P<one>:\s*1)?\s*(?P<b>lambda|phi|λ|φ|afr)?",
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
            f'"{written}" does not say what it is; write "{number:g} lambda", "{number:g} phi" or '
            f'"{number:g} AFR @ 14.7"'
        )
    minus, plus = _spread(minus_text, plus_text, share, number, slope)
    return Quantity("mixture", value, written, unit, number, minus, plus, (), conditions[0] if conditions else "")


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
