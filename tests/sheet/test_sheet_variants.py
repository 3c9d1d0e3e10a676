"""Variants and settings lie over the sheet; they hold only what differs."""

from __future__ import annotations

import pytest

from spoolwright.errors import BadInput
from spoolwright.sheet import load
from spoolwright.sheet.demo import demo_folder


def test_variant_changes_what_it_names_and_nothing_else():
    base, hill = load(demo_folder("wren")), load(demo_folder("wren"), "hill")
    differ = {p for p in base.entries if base.entries[p].content != hill.entries[p].content
              or base.entries[p].si != hill.entries[p].si}  # fmt: skip
    assert differ == {
        "note", "fuel.mixture", "fuel.supply.base_pressure", "wastegate.spring_rate",
        "wastegate.spring_free_length", "spark.advance", "limits.max_boost", "limits.max_cylinder_pressure",
        "limits.full_load_time",
    }  # fmt: skip
    assert hill.where("wastegate.spring_rate").startswith("variants/hill.toml:")
    assert hill.variants == ("hill", "lane", "leaky")


def test_variant__unknown_name_and_unknown_path(wren):
    with pytest.raises(
        BadInput, match=r'variant "hil" is not there \(did you mean "hill"\?\); wren has hill, lane, leaky'
    ):
        load(wren.folder, "hil")
    (wren.folder / "variants" / "odd.toml").write_text('[wastegate]\nspring_rat = "3 N/mm"\n')
    fault = wren.only_fault(variant="odd")
    assert fault.startswith(
        'variants/odd.toml:2  wastegate.spring_rat: not a name known here (did you mean "spring_rate"?)'
    )


def test_variant__value_out_of_range_names_the_variants_line(wren):
    (wren.folder / "variants" / "odd.toml").write_text('# x\n\n[cylinders]\nstroke = "69 in"\n')
    assert wren.only_fault(variant="odd").startswith('variants/odd.toml:4  cylinders.stroke: "69 in" is outside')


def test_variant__one_element_of_a_list(wren):
    (wren.folder / "variants" / "odd.toml").write_text('[cylinders]\nchamber = { 3 = "51.0 cc" }\ndish.2 = "5 cc"\n')
    sheet = load(wren.folder, "odd")
    assert sheet.values("cylinders.chamber") == pytest.approx((52.1e-6, 51.8e-6, 51.0e-6, 52.0e-6))
    assert sheet.values("cylinders.dish") == pytest.approx((4e-6, 5e-6, 4e-6, 4e-6))


def test_variant__without_boost(wren):
    (wren.folder / "variants" / "open.toml").write_text(
        'charge = "none"\nturbine = "none"\nwastegate = "none"\n[carburettor]\nposition = "unboosted"\n'
        'bowl_reference = "venturi_inlet"\n[fuel.supply]\nreference = "open_air"\n'
        '[exhaust.collectors.main]\nleads_to = "tail"\n'
    )
    sheet = load(wren.folder, "open")
    assert not sheet.has("charge")
    assert not sheet.has("charge.compressor.map")
    assert sheet.names("charge.pipes") == ()


def test_setting__quantity_element_choice_list_and_none(wren):
    sheet = load(
        wren.folder,
        "hill",
        (
            "cylinders.stroke=70 mm",
            "cylinders.chamber[2]=50 cc",
            'spark.advance="20 deg BTDC"',
            "charge.blow_off=none",
            "spark.boost_retard=none",
            "cylinders.firing_order=[1, 3, 2, 4]",
            "fuel.supply.return_line=false",
            "exhaust.tail.silencer.loss=2.5",
        ),
    )
    assert sheet.value("cylinders.stroke") == pytest.approx(0.070)
    assert sheet.value("cylinders.chamber[2]") == pytest.approx(50e-6)
    assert sheet.value("cylinders.chamber[1]") == pytest.approx(52.1e-6)
    assert sheet.value("spark.advance") == 20.0
    assert not sheet.has("charge.blow_off")
    assert not sheet.has("spark.boost_retard")
    assert sheet.numbers("cylinders.firing_order") == (1, 3, 2, 4)
    assert sheet.flag("fuel.supply.return_line", True) is False
    assert sheet.value("exhaust.tail.silencer.loss") == 2.5
    assert sheet.where("cylinders.stroke") == "--set"
    assert sheet.value("wastegate.spring_rate") == pytest.approx(16000.0)  # the variant's


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("cylinders.stroke", "is not a setting; write path=value"),
        ("=3", "is not a setting"),
        ("cylinders.stroek=70 mm", 'cylinders.stroek: not a name known here (did you mean "stroke"?)'),
        ("cylinders..stroke=70 mm", "is not a path"),
        ("cylinders.stroke=70", '"70" has no unit'),
        ("cylinders.chamber[9]=50 cc", "cylinders.chamber[9]: there is no such place; it has 4"),
        ("cylinders=none", '"none" stands where a section belongs'),
        ("cylinders.stroke=none", "it is missing and must be given"),
        ("cylinders.stroke[1]=70 mm", "is not a quantity"),
        ("a.b.c.d.e.f.g.h.i.j.k.l=1", "too many parts"),
        ("cylinders.firing_order=[1, 2", "is not a list of cylinder numbers"),
        ("strength.clearances.new.measured[1]=0.05 mm", "there is no list yet in which to set one place"),
        ("spark.timing=loked", 'is not one of locked, table, searched (did you mean "locked"?)'),
        ("intake.ducts.inlet hose.length=3 mm", "is not a path"),
    ],
)
def test_setting__faults(wren, text, sentence):
    faults = wren.faults(sets=(text,))
    assert sentence in "\n".join(faults)
    assert any(f.startswith("--set") or "must be given" in f for f in faults), faults
