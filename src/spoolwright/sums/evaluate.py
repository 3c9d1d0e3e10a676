"""Do one sum: read what the user wrote, question the implausible, compute, show the working.

Data flows text -> :class:`Quantity` (``reading``) -> SI floats -> the sum's function -> :class:`Answer`. What is
implausible is questioned (``doubts``); where inputs carry a spread, each result gets a band (``bands``).
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sums.bands import Band, spread_bands
from spoolwright.sums.doubts import implausible
from spoolwright.sums.reading import example_of, plain_value, read_input, read_one
from spoolwright.sums.registry import Sum, all_sums
from spoolwright.sums.working import show_working, with_band, written
from spoolwright.units import KINDS, Quantity


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
            read[key] = read_input(key, spec, value)
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
            faults.append(f"{key} is missing: {spec.meaning}; write for example {example_of(spec)}")
        elif spec.default == "":
            read[key] = None
        else:
            read[key] = read_input(key, spec, spec.default)
            assumed.append(f"{key} = {spec.default}")
    if faults:
        raise BadInput("\n".join(faults))
    read = {key: read[key] for key in which.inputs}
    answer = compute(which, read, tuple(assumed), filled or {})
    return replace(answer, questions=(*answer.questions, *unused)) if unused else answer


def _unknown_input(which: Sum, key: str) -> str:
    near = difflib.get_close_matches(key, which.inputs, n=1, cutoff=0.5)
    hint = f'; did you mean "{near[0]}"?' if near else ""
    return f'{which.name} has no input "{key}"{hint} Its inputs: {", ".join(which.inputs)}'


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
                stated = read_one(target, which.inputs[target], condition.text)
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
    plain = {key: plain_value(value) for key, value in read.items()}
    questions = [q for key, spec in which.inputs.items() for q in implausible(key, spec, read.get(key))]
    try:
        results = _call(which, plain)
    except BadInput as fault:  # what is out of its usual range is the likely reason
        raise BadInput("\n".join([str(fault), *questions])) from None
    if which.question is not None:
        questions += which.question(plain, results)
    bands = spread_bands(partial(_call, which), read, results)
    working = show_working(which, read, results, filled)
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
