"""Do one sum: read what the user wrote, question the implausible, compute, show the working.

Data flows text -> :class:`Quantity` -> SI floats -> the sum's function -> :class:`Answer`.
Where inputs carry a spread, each result gets a band: contributions of the inputs (and of each value of
a list or curve) one at a time, combined root-sum-square (first order; valid while the spreads are small).
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sums.registry import Input, Output, Sum, all_sums
from spoolwright.units import KINDS, Quantity

Curve = tuple[tuple[Quantity, Quantity], ...]
Read = Quantity | tuple[Quantity, ...] | tuple[str, ...] | Curve | str
Band = tuple[float, float]  # how far a result may lie below and above, SI


@dataclass(frozen=True, slots=True)
class Answer:
    """What a sum gave. ``inputs`` as read, ``results`` in SI, ``bands`` in SI: a pair, or a list of them for a list."""

    sum: Sum
    inputs: Mapping[str, Any]
    assumed: tuple[str, ...]
    results: Mapping[str, Any]
    bands: Mapping[str, Band | list[Band]]
    questions: tuple[str, ...]
    working: str
    filled: Mapping[str, str] = field(default_factory=dict)

    def shown(self, name: str, digits: int = 4) -> str:
        """The result ``name`` as text in its first unit, with its band."""
        out, value, band = self.sum.outputs[name], self.results[name], self.bands.get(name)
        if isinstance(value, (list, tuple)) and out.kind != "money":
            bands = band if isinstance(band, list) else [(0.0, 0.0)] * len(value)
            return ", ".join(with_band(v, b, out, digits) for v, b in zip(value, bands, strict=True))
        return with_band(value, band if isinstance(band, tuple) else (0.0, 0.0), out, digits)

    def also(self, name: str) -> str:
        """The result ``name`` in its further units; empty where it has none."""
        out, value = self.sum.outputs[name], self.results[name]
        return ", ".join(units.show(value, out.kind, unit) for unit in out.also) if isinstance(value, float) else ""


def find(name: str) -> Sum:
    """The sum called ``name``; raises BadInput with the closest names."""
    known = all_sums()
    key = name.strip().lower().replace("-", "_").replace(" ", "_")
    if key in known:
        return known[key]
    near = difflib.get_close_matches(key, known, n=3, cutoff=0.5)
    near += [n for n in known if key and key in n and n not in near][:3]
    words = [word for word in key.split("_") if len(word) > 3]
    told = {n: sum(word in s.title.lower() for word in words) for n, s in known.items() if n not in near}
    near += sorted((n for n in told if told[n]), key=lambda n: -told[n])[:3]
    hint = f"; did you mean {', '.join(near)}?" if near else ";"
    raise BadInput(f'there is no sum called "{name}"{hint} `spoolwright sum` lists them all')


def evaluate(name: str, given: Mapping[str, Any], filled: Mapping[str, str] | None = None) -> Answer:
    """Do the sum ``name`` with the inputs ``given`` as text (or a list of texts).

    Parameters
    ----------
    name : str
        The sum's name.
    given : mapping of str to str, number, Quantity or list of these
        As the user wrote them.
    filled : mapping of str to str, optional
        For inputs taken from a build: where they came from, shown beside the value.

    Raises
    ------
    BadInput
        All faults of the inputs in one message, a line each.
    """
    which = find(name)
    faults = [_unknown_input(which, key) for key in given if key not in which.inputs]
    read: dict[str, Any] = {}
    missing = []
    for key, spec in which.inputs.items():
        value = given.get(key)
        if value is None or value == "" or value == [] or value == ():
            missing.append(key)
            continue
        try:
            read[key] = _read(key, spec, value)
        except BadInput as fault:
            faults.append(str(fault))
    said, trouble, unused = _conditions(which, read)
    faults += trouble
    read |= said
    assumed = []
    for key in missing:
        spec = which.inputs[key]
        if key in said:
            continue
        if spec.default is None:
            faults.append(f"{key} is missing: {spec.meaning}; write for example {_example(spec)}")
        elif spec.default == "":
            read[key] = None
        else:
            read[key] = _read(key, spec, spec.default)
            assumed.append(f"{key} = {spec.default}")
    if faults:
        raise BadInput("\n".join(faults))
    read = {key: read[key] for key in which.inputs}
    answer = compute(which, read, tuple(assumed), filled or {})
    return replace(answer, questions=(*answer.questions, *unused)) if unused else answer


def _conditions(which: Sum, read: Mapping[str, Any]) -> tuple[dict[str, Any], list[str], list[str]]:
    """Inputs filled by a condition behind "@", faults, and questions on conditions no input takes."""
    said: dict[str, Any] = {}
    faults, unused = [], []
    for key, value in read.items():
        if not isinstance(value, Quantity) or value.unit == "scfm":  # there the condition belongs to the unit
            continue
        target = which.inputs[key].condition
        for condition in value.condition:
            if not target:
                unused.append(f'{key}: "@ {condition.text}" in "{value.text}" is not used by this sum')
                continue
            try:
                stated = _one(target, which.inputs[target], condition.text)
            except BadInput as fault:
                faults.append(f"{key}: {fault}")
                continue
            if target in read and not math.isclose(read[target].value, stated.value, rel_tol=1e-9):
                faults.append(
                    f'{key} says "@ {condition.text}" but {target} is "{read[target].text}"; keep one of them'
                )
            said[target] = stated
    return said, faults, unused


def compute(which: Sum, read: Mapping[str, Any], assumed: tuple[str, ...], filled: Mapping[str, str]) -> Answer:
    """The answer for inputs that are read already."""
    plain = {key: _plain(value) for key, value in read.items()}
    questions = [q for key, spec in which.inputs.items() for q in _implausible(key, spec, read.get(key))]
    try:
        results = _call(which, plain)
    except BadInput as fault:  # what is out of its usual range is the likely reason
        raise BadInput("\n".join([str(fault), *questions])) from None
    if which.question is not None:
        questions += which.question(plain, results)
    bands = _bands(which, read, plain, results)
    working = _working(which, read, results, filled)
    return Answer(which, read, assumed, results, bands, tuple(questions), working, filled)


def _look_at(which: Sum) -> str:
    return f"`spoolwright sum {which.name} --explain` shows each input and its plausible range"


def _call(which: Sum, plain: Mapping[str, Any]) -> dict[str, Any]:
    try:
        results = which.do(plain)
    except (ZeroDivisionError, OverflowError, ValueError) as trouble:
        look = _look_at(which)
        if isinstance(trouble, ValueError) and not str(trouble).startswith("math "):  # the sum's own words
            raise BadInput(f"{which.name}: {trouble}; {look}") from None
        raise BadInput(f"{which.name}: these inputs have no answer ({trouble}); {look}") from None
    except TypeError as trouble:
        if "complex" not in str(trouble):
            raise
        raise BadInput(f"{which.name}: these inputs have no real answer; {_look_at(which)}") from None
    for key, value in results.items():
        for one in value if isinstance(value, (list, tuple)) else (value,):
            if one is None or isinstance(one, str):  # a currency code beside its amount
                continue
            if isinstance(one, complex) or not math.isfinite(one):
                raise BadInput(f"{which.name}: these inputs give no finite {key}; check units and signs")
    return results


# ----------------------------------------------------------------------------- reading
def _read(key: str, spec: Input, value: Any) -> Any:
    if spec.kind == "choice":
        return _choice(key, spec, str(value))
    if spec.kind == "curve":
        return _curve(key, spec, value)
    if spec.kind == "text":
        return tuple(str(item) for item in _split(value)) if spec.many else str(value).strip()
    if spec.many:
        items = _split(value)
        return tuple(_one(f"{key}[{n}]", spec, item) for n, item in enumerate(items, start=1))
    if isinstance(value, (list, tuple)):
        raise BadInput(f"{key} takes one value, {len(value)} were given")
    return _one(key, spec, value)


def _one(key: str, spec: Input, value: Any) -> Quantity:
    if isinstance(value, Quantity) and value.kind != spec.kind:
        value = value.text
    if isinstance(value, Quantity):
        return _in_sense(key, spec, value)
    word = value.strip().lower() if isinstance(value, str) else ""
    if word in spec.named:
        return replace(units.read(spec.named[word], spec.kind), text=f"{word} ({spec.named[word]})")
    try:
        return _in_sense(key, spec, units.read(value, spec.kind))
    except BadInput as fault:
        if spec.kind == "exchange_rate":
            raise BadInput(
                f'{key}: "{value}" is not a bare number; write for example "0.858": {spec.meaning}'
            ) from None
        raise BadInput(f"{key}: {fault}{_known_words(spec, word)}{_fitting_units(spec, value)}") from None


def _known_words(spec: Input, word: str) -> str:
    if not spec.named:
        return ""
    near = difflib.get_close_matches(word, spec.named, n=1)
    return f'; did you mean "{near[0]}"?' if near else f"; or one of: {', '.join(spec.named)}"


def _in_sense(key: str, spec: Input, angle: Quantity) -> Quantity:
    """``angle`` as written, in the sense the input counts in; "12 deg BBDC" is -12 deg ABDC.

    The value follows from what was written: a sheet counts its events from firing top dead centre.
    """
    if not spec.reference or not angle.reference:
        return angle
    if angle.reference[1:] != spec.reference[1:]:
        raise BadInput(f'"{angle.text}" is needed against the other dead centre; write it in degrees {spec.reference}')
    plain = units.to_si(angle.number, angle.kind, angle.unit)
    if angle.reference == spec.reference:
        return replace(angle, value=plain)
    return replace(angle, value=-plain, minus=angle.plus, plus=angle.minus)


def _fitting_units(spec: Input, value: Any) -> str:
    """For a bare number: which units would make it plausible."""
    low, high = _range(spec)
    try:
        number = units.read_number(str(value))
    except BadInput:
        return ""
    if low is None or high is None or KINDS[spec.kind].bare or spec.kind in ("mixture", "money"):
        return ""  # their readers say themselves what a number may mean
    usual = KINDS[spec.kind].usual
    fitting = [
        f"{units.significant(number)} {unit} ({units.show(units.to_si(number, spec.kind, unit), spec.kind, usual)})"
        for unit in KINDS[spec.kind].units
        if low <= units.to_si(number, spec.kind, unit) <= high
    ]
    if not fitting:
        return f"; no unit makes it plausible as {spec.meaning}"
    shown = f"{units.significant(number)} {usual}"
    not_possible = "" if fitting[0].startswith(f"{shown} (") else f"; {shown} is not plausible here"
    return f"{not_possible}; {', '.join(fitting[:2])} would fit"


_BETWEEN = re.compile(r"\s*(?:;|,\s|\n|\band\b)\s*")  # a comma without blank behind it may be a decimal sign
_PLAIN_NUMBER = re.compile(r"\s*[-+]?[\d.,/ ]+(?:[eE][-+]?\d+)?\s*")
_UNITLESS = re.compile(_PLAIN_NUMBER.pattern + r"(?:[±+][-+±/\d.,\s]*)?")  # with its spread, where it has one


def _split(value: Any) -> list[Any]:
    if isinstance(value, (list, tuple)):
        parts = [part for item in value for part in (_split(item) if isinstance(item, str) else [item])]
    elif isinstance(value, str):
        parts = [part.strip() for part in _BETWEEN.split(value) if part.strip()]
    else:
        return [value]
    # "55.8; 56.9; 57.4 cc": one unit behind the last value serves all.
    if len(parts) > 1 and isinstance(parts[-1], str):
        number = _PLAIN_NUMBER.match(parts[-1])
        tail = re.search(r"[A-Za-zµ°%\"'].*$", parts[-1][number.end() :]) if number else None
        if tail:
            parts = [f"{p} {tail[0]}" if isinstance(p, str) and _UNITLESS.fullmatch(p) else p for p in parts]
    return parts


def _choice(key: str, spec: Input, text: str) -> str:
    lowered = {c.lower(): c for c in spec.choices}
    word = text.strip().lower()
    word = spec.named.get(word, word).lower()
    if word in lowered:
        return lowered[word]
    near = difflib.get_close_matches(word, lowered, n=1)
    hint = f' (did you mean "{lowered[near[0]]}"?)' if near else ""
    raise BadInput(f'{key}: "{text}" is not one of {", ".join(spec.choices)}{hint}')


def _curve(key: str, spec: Input, value: Any) -> Curve:
    items = _split(value)
    points = []
    for n, item in enumerate(items, start=1):
        pair = item if isinstance(item, (list, tuple)) else re.split(r"\s*(?::|->|=)\s*", str(item), maxsplit=1)
        if len(pair) != 2:
            raise BadInput(
                f'{key}[{n}]: "{item}" is not a pair; write for example "10 psi: 54 gal/h; 20 psi: 43 gal/h"'
            )
        try:
            points.append((units.read(pair[0], spec.curve[0]), units.read(pair[1], spec.curve[1])))
        except BadInput as fault:
            raise BadInput(f"{key}[{n}]: {fault}") from None
    if len(points) < 2:
        raise BadInput(f"{key} needs at least two points, {len(points)} given")
    for before, after in pairwise(points):
        if after[0].value <= before[0].value:
            raise BadInput(f'{key}: the first column must rise; "{after[0].text}" comes after "{before[0].text}"')
    return tuple(points)


def _plain(value: Any) -> Any:
    if isinstance(value, Quantity):
        return (value.value, value.unit) if value.kind == "money" else value.value
    if isinstance(value, tuple):
        return [_plain(v) if isinstance(v, (Quantity, str)) else (v[0].value, v[1].value) for v in value]
    return value


# ----------------------------------------------------------------------------- questions
def _range(spec: Input) -> tuple[float | None, float | None]:
    low = units.parse(spec.low, spec.kind).value if spec.low else None
    high = units.parse(spec.high, spec.kind).value if spec.high else None
    return low, high


def _implausible(key: str, spec: Input, value: Any) -> list[str]:
    if value is None or spec.kind in ("choice", "curve", "money", "text"):
        return []
    if isinstance(value, tuple):
        labelled = [(f"{key}[{n}]", q) for n, q in enumerate(value, start=1)]
        questions = [q for label, one in labelled for q in _implausible(label, spec, one)]
        return questions + odd_ones(key, value)
    low, high = _range(spec)
    below, above = low is not None and value.value < low, high is not None and value.value > high
    if not (below or above):
        return []
    slips = units.likely_slips(value, -math.inf if low is None else low, math.inf if high is None else high)
    reason = "; ".join(slips) if slips else "check the value and its unit"
    bound = f"below {spec.low}" if below else f"above {spec.high}"
    return [f'{key}: "{value.text}" is {bound}, the usual limit for {spec.meaning}; {reason}?']


def odd_ones(key: str, values: Sequence[Quantity]) -> list[str]:
    """A likely slip of the decimal point in a row of like measurements."""
    if len(values) < 3:
        return []
    questions = []
    for n, one in enumerate(values, start=1):
        others = sorted(q.value for m, q in enumerate(values, start=1) if m != n)
        middle = others[len(others) // 2]
        if middle == 0 or one.value == 0 or others[0] <= 0:
            continue
        # Both middles of an even number must agree, or one slip would accuse the sound values.
        ratios = [abs(one.value / q) for q in (middle, others[(len(others) - 1) // 2])]
        if any(all(abs(math.log10(ratio) - shift) < 0.15 for ratio in ratios) for shift in (-2, -1, 1, 2)):
            questions.append(
                f'{key}[{n}]: "{one.text}" against about {units.show(middle, one.kind, _unit(one))}: decimal point?'
            )
    return questions


def _unit(quantity: Quantity) -> str | None:
    return quantity.unit if quantity.unit not in ("scfm", "AFR") else None


# ----------------------------------------------------------------------------- bands
def _varied(read: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Each input with a spread at both ends of it, as (name, plain value with one number moved)."""
    for key, value in read.items():
        if isinstance(value, Quantity):
            yield from ((key, end) for end in _ends(value))
        elif isinstance(value, tuple):
            plain = _plain(value)
            for n, one in enumerate(value):
                if isinstance(one, str):
                    continue
                if isinstance(one, Quantity):
                    moved: list[Any] = list(_ends(one))
                else:
                    moved = [(end, plain[n][1]) for end in _ends(one[0])] + [(plain[n][0], e) for e in _ends(one[1])]
                for new in moved:
                    yield key, [*plain[:n], new, *plain[n + 1 :]]


def _ends(quantity: Quantity) -> tuple[float, ...]:
    if quantity.kind == "money" or (quantity.minus == 0.0 and quantity.plus == 0.0):
        return ()
    return quantity.value - quantity.minus, quantity.value + quantity.plus


def _bands(
    which: Sum, read: Mapping[str, Any], plain: Mapping[str, Any], results: Mapping[str, Any]
) -> dict[str, Band | list[Band]]:
    squares: dict[str, list[list[float]]] = {}
    for key, changed in _varied(read):
        try:
            moved = _call(which, {**plain, key: changed})
        except BadInput as fault:
            raise BadInput(f"{key}: at the end of its spread there is no answer: {fault}") from None
        for name, new in moved.items():
            before, after = _numbers(results[name]), _numbers(new)
            if len(before) != len(after):
                continue
            pairs = squares.setdefault(name, [[0.0, 0.0] for _ in before])
            for pair, old, now in zip(pairs, before, after, strict=True):
                pair[0 if now < old else 1] += (now - old) ** 2
    roots = {name: [(math.sqrt(low), math.sqrt(high)) for low, high in pairs] for name, pairs in squares.items()}
    return {n: pairs if isinstance(results[n], list) else pairs[0] for n, pairs in roots.items() if pairs}


def _numbers(value: Any) -> list[float]:
    if isinstance(value, list):
        return value if all(isinstance(v, float) for v in value) else []
    return [value] if isinstance(value, float) else []


# ----------------------------------------------------------------------------- working
def with_band(value: Any, band: Band, out: Output, digits: int = 4) -> str:
    """``value`` in the output's unit with what it may be off by."""
    text = _shown(value, out.kind, out.unit, digits)
    if max(band) <= 0.0 or not isinstance(value, float):
        return text
    slope = units.to_si(1.0, out.kind, out.unit) - units.to_si(0.0, out.kind, out.unit)
    low, high = (units.significant(abs(b / slope), 2) for b in band)
    return f"{text} ± {low}" if low == high else f"{text} +{high}/-{low}"


def _shown(value: Any, kind: str, unit: str, digits: int = 4) -> str:
    if value is None:
        return "none"
    if kind == "money" and isinstance(value, tuple):
        # Cents for sums, four digits for what a small unit costs.
        return f"{value[0]:.2f} {value[1]}" if abs(value[0]) >= 1.0 or value[0] == 0.0 else f"{value[0]:.4g} {value[1]}"
    if isinstance(value, (list, tuple)):
        return ", ".join(_shown(v, kind, unit, digits) for v in value)
    return units.show(value, kind, unit, digits)


def written(value: Any) -> str:
    """An input as the user wrote it."""
    if isinstance(value, tuple):
        return "; ".join(str(v) if isinstance(v, (Quantity, str)) else f"{v[0].text}: {v[1].text}" for v in value)
    return "not given" if value is None else str(value)


_LONG = 8  # points of a curve that are shown in full


def _brief(value: Any) -> str:
    """:func:`written`, with a long curve cut to its ends."""
    if isinstance(value, tuple) and len(value) > _LONG and not isinstance(value[0], (Quantity, str)):
        return f"{len(value)} points from {written(value[:1])} to {written(value[-1:])}"
    return written(value)


def _working(which: Sum, read: Mapping[str, Any], results: Mapping[str, Any], filled: Mapping[str, str]) -> str:
    texts = {key: _brief(value) for key, value in read.items()}
    shown = {key: _shown(value, which.outputs[key].kind, which.outputs[key].unit) for key, value in results.items()}
    names = {
        **{
            k: t
            for k, t in texts.items()
            if ";" not in t and not t.startswith("not given") and " points from " not in t
        },
        **shown,
    }
    lines = ["with " + ", ".join(f"{k} = {t}" + (f" ({filled[k]})" if k in filled else "") for k, t in texts.items())]
    for line in which.formula:
        left, equals, right = line.partition("=")
        lines.append(line)
        if equals:
            numbers = re.sub(r"[A-Za-z_][A-Za-z_0-9]*", lambda m: f"({names[m[0]]})" if m[0] in names else m[0], right)
            target = left.strip()
            if numbers != right:
                lines.append(f"  ={numbers}")
            if target in shown:
                lines.append(f"  = {shown[target]}")
    listed = {line.partition("=")[0].strip() for line in which.formula}
    lines += [f"{key} = {text}" for key, text in shown.items() if key not in listed]
    return "\n".join(lines)


def _unknown_input(which: Sum, key: str) -> str:
    near = difflib.get_close_matches(key, which.inputs, n=1, cutoff=0.5)
    hint = f'; did you mean "{near[0]}"?' if near else ""
    return f'{which.name} has no input "{key}"{hint} Its inputs: {", ".join(which.inputs)}'


def _example(spec: Input) -> str:
    if spec.kind == "choice":
        return f'"{spec.choices[0]}"'
    if spec.kind == "curve":
        return '"10 psi: 54 gal/h; 20 psi: 43 gal/h"'
    if spec.kind == "text":
        return f'"{spec.unit}"'
    return f'"{spec.low}"' if spec.low else f'"1.0 {KINDS[spec.kind].usual}"'


def as_json(answer: Answer) -> dict[str, Any]:
    """The answer as plain data with SI values: the JSON of ``spoolwright sum``."""

    def result(name: str, value: Any) -> dict[str, Any]:
        out = answer.sum.outputs[name]
        entry: dict[str, Any] = {"value": value, "unit": KINDS[out.kind].si, "shown": answer.shown(name, 6)}
        if out.kind == "money" and value is not None:
            entry |= {"value": value[0], "unit": value[1]}
        if name in answer.bands:
            band = answer.bands[name]
            entry["band"] = [list(b) for b in band] if isinstance(band, list) else list(band)
        return entry

    return {
        "sum": answer.sum.name,
        "inputs": {key: written(value) for key, value in answer.inputs.items()},
        "assumed": list(answer.assumed),
        "results": {name: result(name, value) for name, value in answer.results.items()},
        "working": answer.working,
        "source": answer.sum.source,
        "validity": answer.sum.validity,
        "questions": list(answer.questions),
        "caution": answer.sum.caution,
    }


def describe(which: Sum) -> dict[str, Any]:
    """A sum's inputs, outputs, formula and source as plain data."""
    inputs = {
        key: {
            "kind": spec.kind,
            "meaning": spec.meaning,
            "low": spec.low,
            "high": spec.high,
            "default": spec.default,
            "many": spec.many,
            "choices": list(spec.choices),
            "named": dict(spec.named),
            "sheet": spec.sheet,
        }
        for key, spec in which.inputs.items()
    }
    outputs = {k: {"kind": o.kind, "unit": KINDS[o.kind].si, "meaning": o.meaning} for k, o in which.outputs.items()}
    return {
        "sum": which.name,
        "topic": which.topic,
        "title": which.title,
        "inputs": inputs,
        "outputs": outputs,
        "formula": list(which.formula),
        "source": which.source,
        "validity": which.validity,
        "slips": list(which.slips),
        "example": which.example,
    }
