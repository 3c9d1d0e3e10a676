"""What is typed is judged before it is saved: refused, doubted with an offer, or taken."""

from __future__ import annotations

from typing import Any

import pytest

from spoolwright.sheet import load
from spoolwright.sheet.typed import converted, judge, raw_of, text_at


def _judged(build: Any, path: str, text: str) -> Any:
    return judge(load(build.folder), build.folder, None, path, text)


@pytest.mark.parametrize(
    ("path", "text", "said"),
    [
        ("cylinders.stroke", "long", "does not begin with a number"),
        ("cylinders.stroke", "", "must be given"),
        ("cylinders.stroke", "69 kg", "kg"),
        ("cylinders.stroke", "69", "69"),
        ("wastegate.kind", "lid", "is not one of poppet, flap"),
        ("spark.advance", "24 deg", "counted from top dead centre"),
        ("site.barometer", "0.2 bar gauge", "gauge"),
        ("carburettor.needle_seat", "25 mm", "outside"),
        ("charge.compressor.map", "../../etc/passwd", "folder"),
    ],
)
def test_what_cannot_be_read_or_meant_is_refused(wren: Any, path: str, text: str, said: str) -> None:
    judged = _judged(wren, path, text)
    assert said in judged.refused
    assert judged.refused.endswith((".", "?"))


@pytest.mark.parametrize("text", ["69 mm", "2.72 in", "6,9 cm", "2716 thou", "69.0 mm ± 0.1"])
def test_any_unit_of_the_kind_is_taken(wren: Any, text: str) -> None:
    judged = _judged(wren, "cylinders.stroke", text)
    assert (judged.refused, judged.doubt) == ("", "")


def test_a_slipped_decimal_against_the_other_cylinders_is_asked_back_with_the_likely_value(wren: Any) -> None:
    judged = _judged(wren, "cylinders.deck[3]", "9.1 mm")
    assert "10 times its neighbours (0.9 mm to 0.92 mm)" in judged.doubt
    assert judged.offers == ("0.91 mm",)


def test_a_value_that_breaks_another_is_doubted_with_the_place(wren: Any) -> None:
    assert "cylinders.bore: 4 values stand for 3 cylinders" in _judged(wren, "cylinders.count", "3").doubt


def test_text_at__is_the_text_as_typed(wren: Any) -> None:
    sheet = load(wren.folder)
    assert text_at(sheet, "cylinders.deck[3]") == "0.94 mm ± 0.02"
    assert text_at(sheet, "wastegate.kind") == "poppet"
    assert text_at(sheet, "carburettor.shaft_sealed") == "true"
    assert text_at(sheet, "charge.compressor.map") == "tables/compressor.csv"
    assert text_at(sheet, "cylinders.firing_order") == "1, 2, 3, 4"
    assert text_at(sheet, "charge.cooler.volume") == ""


def test_converted__shows_the_usual_unit_only_where_another_was_typed(wren: Any) -> None:
    wren.change('stroke = "69.0 mm"', 'stroke = "2.5 in"')
    sheet = load(wren.folder)
    assert converted(sheet, "cylinders.stroke") == "63.5 mm"  # an inch is 25.4 mm exactly
    assert converted(sheet, "cylinders.rod_length") == ""


def test_raw_of__writes_flags_and_counts_as_such() -> None:
    assert raw_of("carburettor.shaft_sealed", "true") is True
    assert raw_of("cylinders.count", " 4 ") == 4
    assert raw_of("cylinders.firing_order", "1, 3, 4, 2") == [1, 3, 4, 2]
    assert raw_of("cylinders.stroke", "69 mm") == "69 mm"
