"""Every registered sum is described truly: what it takes and gives, ranges, example, source."""

from __future__ import annotations

import inspect
import re
import shlex
from typing import Any, NamedTuple

import pytest

from spoolwright import units
from spoolwright.cli import _inputs
from spoolwright.errors import BadInput
from spoolwright.sums import evaluate
from spoolwright.sums.doubts import implausible
from spoolwright.sums.registry import TOPICS, Input, Sum, _groups, all_sums, register

SUMS = all_sums()
WITHOUT_RANGE = ("choice", "curve", "money", "text", "exchange_rate", "number", "price_per_mass")


@pytest.fixture(params=SUMS.values(), ids=list(SUMS))
def one(request: pytest.FixtureRequest) -> Sum:
    return request.param


def test_arguments__are_the_inputs(one: Sum) -> None:
    """A parameter that is a NamedTuple takes the inputs named like its fields."""
    parameters = inspect.signature(one.function, eval_str=True).parameters.values()
    names = [name for p in parameters for name in getattr(p.annotation, "_fields", (p.name,))]
    assert set(names) == set(one.inputs)


def test_description__is_complete(one: Sum) -> None:
    assert one.topic in TOPICS
    assert one.title.strip() == one.title
    assert one.title
    assert len(one.source) > 5
    assert one.formula
    assert inspect.getdoc(one.function), "the function has no docstring"
    assert one.outputs


def test_inputs__have_meaning_range_and_readable_defaults(one: Sum) -> None:
    for key, spec in one.inputs.items():
        assert spec.meaning, key
        if spec.kind in WITHOUT_RANGE:
            continue
        assert spec.low, f"{key} has no low"
        assert spec.high, f"{key} has no high"
        low, high = (units.read(text, spec.kind).value for text in (spec.low, spec.high))
        assert low < high, key
        if spec.default:
            default = units.read(spec.named.get(spec.default, spec.default), spec.kind).value
            assert low <= default <= high, f"{key}: the default is implausible by its own range"
        for word, text in spec.named.items():
            assert low <= units.read(text, spec.kind).value <= high, f"{key}: {word}"
        if spec.condition:
            assert spec.condition in one.inputs
        if spec.part:
            assert spec.kind == "share"
            assert 0.0 <= low < high <= 1.0, f"{key}: a part of a whole lies between 0 and 100 %"
        if spec.reference:
            assert spec.reference in ("BTDC", "ATDC", "BBDC", "ABDC")
            assert spec.kind in ("angle", "event_angle")


def test_choices__are_given_and_hold_the_default(one: Sum) -> None:
    for key, spec in one.inputs.items():
        if spec.kind == "choice":
            assert len(spec.choices) >= 2, key
            assert spec.default in (None, "", *spec.choices), key


def test_outputs__units_belong_to_their_kind(one: Sum) -> None:
    for key, out in one.outputs.items():
        assert out.meaning, key
        if out.kind == "money":
            continue
        for unit in (out.unit, *out.also):
            units.to_si(1.0, out.kind, unit)


def test_example__is_plausible_and_gives_every_output(one: Sum) -> None:
    assert one.example, "no example"
    answer = evaluate.evaluate(one.name, _inputs(shlex.split(one.example)))
    assert set(answer.results) == set(one.outputs), "the keys returned are not the outputs"
    doubted = [q for key, spec in one.inputs.items() for q in implausible(key, spec, answer.inputs[key])]
    assert doubted == [], "the example lies outside the sum's own plausible range"
    assert answer.working
    shown = evaluate.as_json(answer)
    assert set(shown["results"]) == set(one.outputs)


def test_formula__names_what_exists(one: Sum) -> None:
    """What is computed on the left of a line is an output, an input, or a short symbol explained by "with"."""
    for line in one.formula:
        left, equals, _ = line.partition("=")
        if not equals or line.startswith("with "):
            continue
        name = left.strip()
        if re.fullmatch(r"[a-z][a-z_0-9]{3,}", name):
            assert name in one.outputs or name in one.inputs, f"{name!r} in {line!r} is neither output nor input"


def test_describe__is_plain_data(one: Sum) -> None:
    import json

    json.dumps(evaluate.describe(one), allow_nan=False)


def test_every_topic__has_sums() -> None:
    assert {s.topic for s in SUMS.values()} == set(TOPICS)


def test_register__refuses_an_unknown_topic() -> None:
    with pytest.raises(ValueError, match="unknown topic"):
        register("no such topic", "title", inputs={}, outputs={}, formula="", source="")


def test_register__refuses_a_second_sum_of_the_same_name() -> None:
    def swept_volume() -> dict[str, Any]:
        return {}

    with pytest.raises(ValueError, match="registered twice"):
        register("blueprint", "title", inputs={}, outputs={}, formula="", source="")(swept_volume)


def test_register__hands_inputs_that_go_together_over_as_one() -> None:
    class Pair(NamedTuple):
        second: float
        first: float

    def keep(pair: Pair, third: float) -> dict[str, Any]:
        return {"seen": (pair, third)}

    keep.__annotations__["pair"] = Pair  # a class of this test is not found by its name
    one = Sum("keep", "air", "title", keep, {}, {}, (), "source", groups=_groups(keep))
    assert one.do({"first": 1.0, "second": 2.0, "third": 3.0}) == {"seen": (Pair(second=2.0, first=1.0), 3.0)}


def test_input__refuses_an_unknown_kind() -> None:
    with pytest.raises(ValueError, match="unknown kind"):
        Input("no such kind", "meaning")


def test_find__names_the_closest() -> None:
    with pytest.raises(BadInput, match="compression_ratio"):
        evaluate.find("compresion ratio")
    assert evaluate.find("Compression-Ratio").name == "compression_ratio"
