"""Texts and quantities in the reader's units, against factors of NIST SP 811; what is no quantity stays as it is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from books import copied
from hypothesis import given
from hypothesis import strategies as st

from spoolwright import units
from spoolwright.book.in_units import printed, quantity_in, sheet_in, text_in
from spoolwright.book.make import Options, gather
from spoolwright.book.sheet_one import ratio_row
from spoolwright.sheet import demo_folder, load

# NIST SP 811 (2008), appendix B.8: value, unit, wanted by the reader, factor or formula worked by hand.
TURNED = [
    ("0.9 to 0.94 mm over 4 cylinders", "us", [0.9 / 25.4, 0.94 / 25.4], "in"),
    ("0.42 in (wren", "metric", [0.42 * 25.4], "mm"),
    ("36 thou;", "metric", [36 * 0.0254], "mm"),
    ("1.23 bar is above", "us", [1.23e5 / 6894.757], "psi"),
    ("5.5 psi", "metric", [5.5 * 6.894757], "kPa"),
    ("3.0 inHg", "metric", [3.0 * 3.386389], "kPa"),
    ("235 degC", "us", [235 * 1.8 + 32], "degF"),
    ("985 °C at 6000 rpm", "us", [985 * 1.8 + 32], "degF"),
    ("450 degF", "metric", [(450 - 32) / 1.8], "degC"),
    ("450 K", "us", [450 * 1.8], "degR"),
    ("40 N m", "us", [40 / 1.355818], "lbf ft"),
    ("73.5 kW at", "us", [73.5e3 / 745.6999], "hp"),
    ("230 cfm @", "metric", [230 * 0.4719474], "L/s"),
    ("9.0 N/mm", "us", [9.0e3 / 175.1268], "lbf/in"),
    ("265 N;", "us", [265 / 4.448222], "lbf"),
    ("318 g", "us", [318 / 28.34952], "oz"),
    ("2.1e-5 kg m2", "us", [2.1e-5 / 0.04214011], "lb ft2"),
    ("0.5 deg/psi", "metric", [0.5 / 6.894757], "deg/kPa"),
    ("16.2 ft/s", "metric", [16.2 * 0.3048], "m/s"),
]


@pytest.mark.parametrize(("text", "choice", "want", "unit"), TURNED)
def test_numbers_with_a_unit__are_turned_where_they_stand(text: str, choice, want: list[float], unit: str) -> None:  # type: ignore[no-untyped-def]
    told = text_in(text, choice)
    numbers = [float(n) for n in re.findall(r"[-\d.]+(?:e-?\d+)?", told.split(f" {unit}")[0])]
    assert f" {unit}" in told
    for got, wanted in zip(numbers, want, strict=True):
        assert got == pytest.approx(wanted, rel=5e-3)  # three figures at least are shown


@pytest.mark.parametrize(
    "text",
    ["7.514:1 in cylinder 2", "1 in cylinder 3", "5 at once", "build.toml:443", "cylinders 1, 2 and 4", "52.1 cc ± 2 %",
     "0.5 lambda", "6000 rpm", "24 deg BTDC", "12 A, 13.2 V, 3.8 mH", "ISO 1585", "20W-50 mineral", "#3 g_x"],
)  # fmt: skip
def test_what_is_no_length_or_weight__stays(text: str) -> None:
    assert text_in(text, "us") == text
    assert text_in(text, "metric") == text


def test_as_typed__nothing_changes_but_how_units_are_set() -> None:
    assert text_in("0.42 in; 36 thou; 12 psi; 350 degF", "typed") == "0.42 in; 36 thou; 12 psi; 350 degF"
    assert printed("350 degF, 12 mm2, -3 degC, 24 deg BTDC, 90 deg") == "350\u00a0°F, 12 mm², −3\u00a0°C, 24° BTDC, 90°"


@given(st.text(max_size=200))
def test_any_text__is_taken(text: str) -> None:
    for choice in ("typed", "metric", "us"):
        printed(text, choice)


@pytest.mark.parametrize("name", ["wren", "heron", "plover"])
@pytest.mark.parametrize("choice", ["metric", "us"])
def test_every_value_of_a_sheet__reads_back_as_itself(name: str, choice) -> None:  # type: ignore[no-untyped-def]
    """What is written in other units is within half of its own last place of the value, and the digest is the same."""
    sheet = load(demo_folder(name))
    told = sheet_in(sheet, choice)
    assert told.digest == sheet.digest
    for path, entry in told.entries.items():
        if path.startswith("handover") and entry.field.kind == "money":
            continue
        for q, old in zip(entry.quantities, sheet.entries[path].quantities, strict=True):
            if q.text == old.text:
                continue
            kind = "temperature" if q.kind == "temperature_difference" and "degR" in q.text else q.kind
            again = units.parse(q.text, kind)
            last = 10.0 ** -len(re.match(r"-?\d+\.?(\d*)", q.text)[1])  # type: ignore[index]
            if "e" not in q.text.split(" ")[0]:
                step = abs(units.to_si(again.number + 0.51 * last, q.kind, q.unit) - again.value)
                assert abs(again.value - old.value) <= step, (path, old.text, q.text)
            else:
                assert again.value == pytest.approx(old.value, rel=6e-3), (path, old.text, q.text)
            assert again.plus == pytest.approx(old.plus, rel=0.35, abs=1e-12), (path, old.text, q.text)


@pytest.mark.parametrize("name", ["wren", "heron", "plover"])
def test_findings_and_cost__are_the_same_numbers_in_every_unit(tmp_path: Path, name: str) -> None:
    """The reader's units are for showing: no rounded value enters a sum."""
    folder = copied(tmp_path / name, name)
    plain = gather(folder, Options(run=False)).findings
    for choice in ("metric", "us"):
        build = gather(folder, Options(run=False, units=choice))  # type: ignore[arg-type]
        assert [(f.subject, f.verdict, f.value, f.limit) for f in build.findings] == [
            (f.subject, f.verdict, f.value, f.limit) for f in plain
        ]
        assert ratio_row(build.typed) == ratio_row(gather(folder, Options(run=False)).typed)


def test_units_in_odd_spelling__are_turned_too(tmp_path: Path) -> None:
    folder = copied(tmp_path / "wren")
    sheet = folder / "build.toml"
    text = sheet.read_text(encoding="utf-8")
    text = text.replace('max_boost = "0.70 bar"', 'max_boost = "10,5 lbf/in2"', 1)
    text = text.replace('stroke = "69.0 mm"', "stroke = '2.7165\"'", 1)
    sheet.write_text(text, encoding="utf-8")
    build = gather(folder, Options(run=False, units="metric"))
    hose = next(f for f in build.findings if f.subject == "boost hose off")
    assert "72.4\u00a0kPa" in build.say(hose.sentence)
    told = " ".join(build.say(f.working) for f in build.findings)
    assert '2.7165"' not in told
    assert "stroke = 68.999\u00a0mm" in told


def test_spread_and_condition__go_along() -> None:
    told = quantity_in(units.read("52.10 mm ± 0.05", "length"), "us")
    assert told.text == "2.0512 in ± 0.0020"
    flow = quantity_in(units.read("230 cfm @ 3.0 inHg", "volume_flow"), "metric")
    assert flow.text == "108.5 L/s @ 10.2 kPa"
