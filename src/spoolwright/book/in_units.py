"""The reader's units: quantities and texts of a book brought into metric or US units, or left as typed.

A quantity is converted by its kind; in a sentence or a working, numbers followed by a unit are found and converted
where they stand, with no more figures than the original carries, and at least three. Conversion itself is that of
``spoolwright.units``. Differences and absolute temperatures in K become degrees Rankine in US units: one factor serves
both, so that no sentence can be read the wrong way. Kelvin stays kelvin in metric. Chambers stay in cc in both: that is
what a burette is read in.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Final, Literal, get_args

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet
from spoolwright.units import Quantity

Choice = Literal["typed", "metric", "us"]
CHOICES: Final = get_args(Choice)

# For each kind: unit as found > unit in metric | unit in US; "=" leaves it as it is.
_TABLE: Final = """
length:
   in > mm | =; thou > mm | in; 0.01mm > mm | in; mm > = | in; cm > mm | in; um > = | in;
distance:
   ft > m | =; mi > km | =; yd > m | ft; m > = | ft; km > = | mi;
area:
   in2 > mm2 | =; ft2 > m2 | =; mm2 > = | in2; cm2 > mm2 | in2; m2 > = | ft2;
volume:
   in3 > cc | =; ft3 > m3 | =; gal > L | =; ukgal > L | gal; qt > L | =; pint > L | =; floz > cc | =; cc > = | =;
   cm3 > cc | cc; mL > cc | cc; L > = | qt; m3 > = | ft3;
mass:
   lb > kg | =; oz > g | =; g > = | oz; kg > = | lb; mg > = | oz;
pressure_difference:
   psi > kPa | =; bar > kPa | psi; mbar > kPa | psi; hPa > kPa | psi; kPa > = | psi; Pa > kPa | psi;
   at > kPa | psi; atm > kPa | psi; torr > kPa | psi; inHg > kPa | psi; inHg60F > kPa | psi; mmHg > kPa | psi;
   inH2O > kPa | psi; mmH2O > kPa | psi;
stress:
   MPa > = | ksi; GPa > = | Mpsi; ksi > MPa | =; Mpsi > GPa | =;
temperature:
   degC > = | degF; degF > degC | =; degR > K | =; K > = | degR;
volume_flow:
   cfm > L/s | =; gal/h > L/h | =; gph > L/h | gal/h; gal/min > L/min | =; m3/s > = | cfm; m3/h > = | cfm;
   L/s > = | cfm; L/min > = | gal/h; L/h > = | gal/h; cc/min > = | gal/h; cc/s > = | gal/h;
mass_flow:
   lb/min > kg/s | =; lb/h > kg/h | =; pph > kg/h | lb/h; kg/s > = | lb/min; kg/h > = | lb/h; g/s > = | lb/min;
   g/min > = | lb/h; kg/min > kg/s | lb/min;
torque:
   lbf ft > N m | =; lbf in > N m | lbf ft; kgf m > N m | lbf ft; N m > = | lbf ft; N mm > N m | lbf ft;
power:
   hp > kW | =; PS > kW | hp; kW > = | hp;
force:
   lbf > N | =; kgf > N | lbf; N > = | lbf; kN > = | lbf;
stiffness:
   lbf/in > N/mm | =; N/mm > = | lbf/in; kN/mm > = | lbf/in; N/m > N/mm | lbf/in;
speed:
   mph > m/s | ft/s; ft/s > m/s | =; ft/min > m/s | ft/s; km/h > = | mph; m/s > = | ft/s;
density:
   kg/m3 > = | lb/ft3; kg/L > = | lb/gal; g/cc > kg/L | lb/gal; lb/ft3 > kg/m3 | =; lb/gal > kg/L | =;
inertia:
   kg m2 > = | lb ft2; kg cm2 > = | lb in2; g cm2 > kg cm2 | lb in2; lb ft2 > kg m2 | =; lb in2 > kg cm2 | =;
fuel_consumption:
   g/kWh > = | lb/(hp h); lb/(hp h) > g/kWh | =;
angle_per_pressure:
   deg/psi > deg/kPa | =; deg/bar > deg/kPa | deg/psi; deg/kPa > = | deg/psi;
energy_per_mass:
   MJ/kg > = | Btu/lb; kJ/kg > = | Btu/lb; Btu/lb > kJ/kg | =;
volume_per_mass:
   cm3/kg > = | in3/lb; L/kg > cm3/kg | in3/lb; in3/lb > cm3/kg | =;
expansion:
   1/K > = | 1/degF; 1e-6/K > 1/K | 1/degF; 1/degF > 1/K | =;
"""


def _read_table(text: str) -> dict[str, tuple[str, str, str]]:
    """Unit as found: (kind to convert by, unit in metric, unit in US); "" leaves it as it is."""
    wanted: dict[str, tuple[str, str, str]] = {}
    kind = ""
    for line in text.strip().splitlines():
        if not line.startswith(" "):
            kind = line.rstrip(":")
            continue
        for item in filter(str.strip, line.split(";")):
            unit, _, targets = item.strip().partition(" > ")
            metric, us = ("" if t.strip() == "=" else t.strip() for t in targets.split("|"))
            wanted[unit] = (kind, metric, us)
    return wanted


_WANTED: Final = _read_table(_TABLE)
_NUMBER = r"[-−]?\d+(?:\.\d+)?(?:e[-+]?\d+)?"
_SET: Final = {"°C": "degC", "°F": "degF"}  # as a sentence may have them set already
_ALL_UNITS = "|".join(re.escape(unit) for unit in sorted([*_WANTED, *_SET], key=len, reverse=True) if unit != "at")
# "45 in the morning" is no length: after "in" only a mark or one of few words may follow.
_AFTER_IN = (
    r"(?=\s*(?:$|[);,.:@±*/+\-(\]])|\s(?:is|to|and|against|above|below|at|over|may|of the bore|intake|exhaust|side)\b)"
)
_FOUND = re.compile(
    rf"(?<![\w.^/])(?P<numbers>{_NUMBER}(?:(?:\s*(?:±|to|and|;|,|\.\.)\s*){_NUMBER})*) ?\s?"
    rf"(?P<unit>{_ALL_UNITS})(?![\w/°²³^])(?(unit)(?P<spread>\s*±\s*{_NUMBER}(?![\w.]*\s*%))?)"
)
_ONE_NUMBER = re.compile(_NUMBER)


def wanted(unit: str, choice: Choice) -> tuple[str, str] | None:
    """Kind and unit into which ``unit`` goes for this choice; None where it stays."""
    if choice == "typed" or unit not in _WANTED:
        return None
    kind, metric, us = _WANTED[unit]
    target = metric if choice == "metric" else us
    return (kind, target) if target else None


def _figures(value: float, old: str, step: float) -> str:
    """``value`` with decimals so that its step is no finer than needed for ``step``, three figures at least."""
    if value == 0.0:
        return "0"
    size = math.floor(math.log10(abs(value)))
    if not -5 <= size < 7 or "e" in old:
        return f"{value:.3g}"
    places = max(math.ceil(-math.log10(step) - 1e-9), 2 - size, 0)
    return f"{value:.{places}f}"


def _step(number: str) -> float:
    """The last place of a written number."""
    body, _, power = number.lower().partition("e")
    return 10.0 ** (-len(body.partition(".")[2]) + (int(power) if power else 0))


def _turned(number: str, kind: str, unit: str, target: str, difference: bool = False) -> str:
    value = float(number.replace("−", "-"))
    factor = units.convert(units.to_si(1.0, kind, unit), kind, target) - units.convert(
        units.to_si(0.0, kind, unit), kind, target
    )
    new = factor * value if difference else units.convert(units.to_si(value, kind, unit), kind, target)
    return _figures(new, number, abs(factor) * _step(number))


def text_in(text: str, choice: Choice) -> str:
    """``text`` with every number that has a unit in the reader's units."""
    if choice == "typed":
        return text

    def turn(found: re.Match[str]) -> str:
        unit = _SET.get(found["unit"], found["unit"])
        to = wanted(unit, choice)
        if to is None:
            return found[0]
        if found["unit"] == "in" and not re.match(_AFTER_IN, found.string[found.end("unit") :]):
            return found[0]
        kind, target = to
        numbers = _ONE_NUMBER.sub(lambda one: _turned(one[0], kind, unit, target), found["numbers"])
        spread = found["spread"] or ""
        if spread:
            spread = _ONE_NUMBER.sub(lambda one: _turned(one[0], kind, unit, target, True), spread)
        return f"{numbers} {target}{spread}"

    return _FOUND.sub(turn, text)


def _kind_target(quantity: Quantity, choice: Choice) -> tuple[str, str] | None:
    """Kind and unit for a quantity whose kind is known."""
    to = wanted(quantity.unit, choice)
    if quantity.kind == "temperature_difference":
        target = {"metric": "K", "us": "degF"}.get(choice, "")
        return None if not target or quantity.unit == target else (quantity.kind, target)
    if to is None:
        return None
    return (quantity.kind if quantity.kind in units.KINDS else to[0]), to[1]


def quantity_in(quantity: Quantity, choice: Choice) -> Quantity:
    """The same value as a quantity written in the reader's units, with spread and condition."""
    conditions = tuple(quantity_in(one, choice) for one in quantity.condition)
    to = _kind_target(quantity, choice)
    unit = to[1] if to else quantity.unit
    if to is None and conditions == quantity.condition:
        return quantity
    if to is None:
        head = quantity.text.partition("@")[0].strip()
        return replace(quantity, text=_with(head, conditions), condition=conditions)
    kind = to[0]
    try:
        number = units.convert(quantity.value, kind, unit)
    except (BadInput, KeyError):
        return quantity
    factor = abs(number / quantity.number) if quantity.number and quantity.kind != "temperature" else 1.0
    if quantity.kind == "temperature":
        factor = 1.8 if unit in ("degF", "degR") else 1 / 1.8
    written = re.search(_NUMBER, quantity.text)
    step = _step(written[0]) if written else 10.0 ** (math.floor(math.log10(abs(quantity.number or 1.0))) - 3)
    shown = _figures(number, written[0] if written else "", factor * step) + f" {unit}"
    shown += _spread(quantity, kind, unit, factor * step)
    if quantity.reference in ("gauge", "absolute"):
        shown += f" {quantity.reference}"
    return replace(quantity, text=_with(shown, conditions), unit=unit, number=number, condition=conditions)


def _spread(quantity: Quantity, kind: str, unit: str, step: float) -> str:
    if not (quantity.minus or quantity.plus):
        return ""
    ends = [
        abs(units.convert(quantity.value + d, kind, unit) - units.convert(quantity.value, kind, unit))
        for d in (quantity.plus, -quantity.minus)
    ]
    plus, minus = (_small(end, step) for end in ends)
    return f" ± {plus}" if plus == minus else f" +{plus}/-{minus}"


def _small(value: float, step: float) -> str:
    places = max(math.ceil(-math.log10(step) - 1e-9), 0) if step > 0.0 else 3
    return f"{value:.{places}f}" if float(f"{value:.{places}f}") else f"{value:.1g}"


def _with(shown: str, conditions: tuple[Quantity, ...]) -> str:
    return " @ ".join([shown, *(one.text for one in conditions)])


def sheet_in(sheet: Sheet, choice: Choice) -> Sheet:
    """The sheet with every quantity written in the reader's units; its values, and so its digest, are the same."""
    if choice == "typed":
        return sheet
    entries = {
        path: replace(entry, quantities=tuple(quantity_in(q, choice) for q in entry.quantities))
        for path, entry in sheet.entries.items()
    }
    return replace(sheet, entries=entries)


def spelled(sheet: Sheet) -> Sheet:
    """The sheet with units in the program's own spelling ("5 lbs" as "5 lb"), so that :func:`text_in` knows them."""
    entries = {
        path: replace(entry, quantities=tuple(_spelled(q) for q in entry.quantities))
        for path, entry in sheet.entries.items()
    }
    return replace(sheet, entries=entries)


def _spelled(quantity: Quantity) -> Quantity:
    if quantity.unit in _WANTED and f" {quantity.unit}" not in quantity.text and quantity.kind != "mixture":
        step = 1e-6 * abs(quantity.number or 1.0)
        text = f"{quantity.number!r} {quantity.unit}" + _spread(quantity, quantity.kind, quantity.unit, step)
        text += f" {quantity.reference}" if quantity.reference in ("gauge", "absolute") else ""
        return replace(quantity, text=_with(text, quantity.condition))
    return quantity


# ----------------------------------------------------------------------------- how units are printed
_PRINTED: Final = (
    (re.compile(r"(?<=\d)\s?degC\b"), "\u00a0°C"),
    (re.compile(r"(?<=\d)\s?degF\b"), "\u00a0°F"),
    (re.compile(r"(?<=\d)\s?degR\b"), "\u00a0°R"),
    (re.compile(r"\bdegC\b"), "°C"),
    (re.compile(r"\bdegF\b"), "°F"),
    (re.compile(r"\bdegR\b"), "°R"),
    (re.compile(r"(?<=\d) deg (?=[BA][TB]DC)"), "° "),
    (re.compile(r"(?<=\d) deg\b(?!/)"), "°"),
    (re.compile(r"\b(mm|cm|in|ft|m)2\b"), r"\1²"),
    (re.compile(r"\b(mm|cm|in|ft|m)3\b"), r"\1³"),
    (re.compile(r"\bkg m2\b"), "kg m²"),
    (re.compile(r"\bus\b(?<=\d us)"), "µs"),
    (re.compile(r"(?<=\d )1\b(?= @)"), ""),
    (re.compile(r"\bohm\b"), "Ω"),
    (re.compile(r"(?<=\d )um\b"), "µm"),
)
_GAP = re.compile(
    r"(?<=\d) (?=(?:mm|cm|m|km|thou|ft|cc|L|kg|g|lb|oz|N|kN|kPa|bar|psi|MPa|GPa|K|%|rpm|kW|hp|W|s|ms|µs|min|h|V|kV|"
    r"A|mH|Ω|pF|mJ|Pa|cSt|gal|qt|ksi|lbf|lambda|inHg|cfm)\b|in(?:[);,. ±]|$)(?! [a-z]))"
)
_MINUS = re.compile(r"(?<![\w.\d)\]])-(?=\d)")


def printed(text: str, choice: Choice = "typed") -> str:
    """``text`` in the reader's units and as it is set: °C, m², true minus, unit kept with its number."""
    told = text_in(text, choice)
    for pattern, by in _PRINTED:
        told = pattern.sub(by, told)
    return _MINUS.sub("−", _GAP.sub("\u00a0", told))


def printer(choice: Choice) -> Callable[[str], str]:
    """:func:`printed` for one choice."""
    return lambda text: printed(text, choice)
