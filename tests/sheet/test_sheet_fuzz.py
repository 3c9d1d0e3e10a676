"""Whatever stands in a sheet, a setting or a table: a sheet or faults come back, never a traceback.

More than 20,000 mutations in all: of bytes, of values, of structure, of settings, of tables.
"""

from __future__ import annotations

import json
import math
import random
import re
import tomllib
from pathlib import Path

# ruff: noqa: E501 - the lists of nasty things read better wide
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet, files
from spoolwright.sheet.claims import Claim, Claims, Source
from spoolwright.sheet.demo import demo_folder
from spoolwright.sheet.faults import Fault
from spoolwright.sheet.fields import Field, walk
from spoolwright.sheet.loading import read_texts
from spoolwright.sheet.reading import Reader, _value
from spoolwright.sheet.sections import SHEET
from spoolwright.sheet.tables import parse

FOLDER = demo_folder("plover")
TEXT = (FOLDER / "build.toml").read_text()
BOOSTED = demo_folder("wren")
BOOSTED_TEXT = (BOOSTED / "build.toml").read_text()
FIELDS = {path: part for path, part in walk(SHEET) if isinstance(part, Field)}

NASTY = [
    "", " ", "0", "-0", "1", "-1", "1e308", "1e400", "-1e400", "nan", "inf", "-inf", "NaN mm", "inf mm", "1/0 in", "0/0",
    "86", "86 mm", "86,0 mm", "8.6.0 mm", "1,350 mm", "86 mm ± ", "86 mm ± -3", "86 mm ± 1e400", "+0.1/-0", "86 +0.1/-0 mm",
    "86 mm @", "@ 3 bar", "1 bar @ 1 bar @ 1 bar", "5 kPa @ 0 kg/s", "5 kPa @ -1 kg/s", "5 kPa @ nan kg/s", "350 cfm @ 1 furlong",
    "1:0", "0:1", "1:1e-320", "9.5:1", "1:9.5", "12.5 AFR", "12.5 AFR @ 0", "0 lambda", "1e-320 phi", "-273.16 degC", "-1 K",
    "9" * 400, "9" * 5000, "٣ mm", "８６ mm", "86 mm\u0000", "86\u2028mm", "💥", "mm", "mm 86", "--86 mm", "86 mm/mm", "86 (mm",
    "86 mm)", "86 mm^99", "86 mm^-2", "1 1/2 in", "1/2/3 in", "50 % rh", "true", "none", "null", "[1]", "{}", "1_000 mm", "0x10 mm",
    "28 deg BTDC", "-400 deg BTDC", "1e300 deg BTDC", "28 BTDC", "28 deg ABDC BTDC", "../../etc/passwd", "tables", "tables/",
    "tables/none.csv", "tables/pump.csv", "a" * 10_000, "\u202e86 mm", "EUR 5", "5 EUR", "3 scfm", "3 scfm @ 0 degC", "1e5 psi vac",
]  # fmt: skip
RAW = [
    "1", "0", "-1", "1.5", "1e400", "nan", "-inf", "true", "false", "1979-05-27", "07:32:00", "1979-05-27T07:32:00Z", "[]", "[[]]",
    "[[[]]]", "[1]", "[0]", "[17]", "[1, 1]", "[true]", '["a"]', '[["a", "b"], 1]', "[[1, 2], [2, 3]]", "{}", "{ a = 1 }",
    '{ 1 = "1 mm" }', '{ others = "1 mm" }', '{ others = [1], 1 = {} }', '{ 1 = { 1 = "1 mm" } }', '{ 1 = { 1 = { 1 = 1 } } }',
    '{ 0 = "1 mm" }', '{ 99999 = "1 mm" }', '{ "١" = "1 mm" }', '{ 1 = ["1 mm"] }', "9" * 300, "0x" + "f" * 300, '"""\n"""', "''",
    "[" + '"1 mm",' * 70 + "]", "[[],[1]]", '[["1 mm"]]', "12345678901234567890",
]  # fmt: skip


def outcome(
    text: str, sets: tuple[str, ...] = (), overlays: tuple[tuple[str, str], ...] = (), folder: Path = FOLDER
) -> Sheet | BadInput:
    """What reading gives; anything but a sheet or BadInput is raised on and fails the test."""
    try:
        sheet = read_texts(folder, text, overlays, sets)
    except BadInput as faults:
        sentence = str(faults)
        assert sentence.strip()
        assert all(len(row) < 1500 for row in sentence.splitlines())
        assert "Traceback" not in sentence
        return faults
    assert all(math.isfinite(v) for entry in sheet.entries.values() for v in entry.si)
    assert len(sheet.digest) == 64
    return sheet


def mutated_bytes(rng: random.Random) -> bytes:
    data = bytearray(TEXT.encode())
    for _ in range(rng.choice((1, 1, 1, 2, 3, 10, 100))):
        at = rng.randrange(len(data))
        kind = rng.randrange(5)
        if kind == 0:
            data[at] = rng.randrange(256)
        elif kind == 1:
            del data[at : at + rng.choice((1, 2, 20, 500))]
        elif kind == 2:
            data[at:at] = bytes(rng.randrange(256) for _ in range(rng.choice((1, 3, 30))))
        elif kind == 3:
            data[at:at] = data[at : at + rng.choice((1, 10, 200))]
        else:
            data[at:at] = rng.choice(
                [b'"', b"'", b"\n", b"[", b"]", b"{", b"}", b"=", b".", b",", b"#", b"\\", b'"""', b"\xe2\x88", b"\0"]
            )
        if not data:
            break
    return bytes(data)


def mutated_value(rng: random.Random, base: str = TEXT) -> str:
    rows = base.split("\n")
    keyed = [n for n, row in enumerate(rows) if re.match(r"\w+ = ", row) and not row.startswith("schema")]
    for _ in range(rng.choice((1, 1, 2, 5))):
        at = rng.choice(keyed)
        key = rows[at].split(" = ")[0]
        if rng.random() < 0.6:
            value = json.dumps(rng.choice(NASTY), ensure_ascii=False)
        elif rng.random() < 0.7:
            value = rng.choice(RAW)
        else:
            value = json.dumps(rng.choice(list(FIELDS.values())).example)
        rows[at] = f"{key} = {value}"
    return "\n".join(rows)


def mutated_structure(rng: random.Random, base: str = TEXT) -> str:
    rows = base.split("\n")
    names = [path.rpartition(".")[2] for path in FIELDS]
    for _ in range(rng.choice((1, 1, 2, 4))):
        at = rng.randrange(1, len(rows))
        kind = rng.randrange(7)
        if kind == 0:
            del rows[at]
        elif kind == 1:
            rows.insert(at, rng.choice(rows))
        elif kind == 2:
            path = rng.choice(list(FIELDS)).replace("<name>", "x")
            rows.insert(at, f"[{path}]" if rng.random() < 0.4 else f"{path} = {rng.choice(RAW)}")
        elif kind == 3:
            rows.insert(at, f"{rng.choice(names)} = {json.dumps(rng.choice(NASTY), ensure_ascii=False)}")
        elif kind == 4:
            other = rng.randrange(1, len(rows))
            rows[at], rows[other] = rows[other], rows[at]
        elif kind == 5:
            rows[at] = re.sub(r"\w", lambda m: rng.choice("abxyz_") if rng.random() < 0.2 else m[0], rows[at])
        else:
            rows[at] = rows[at].replace("[", "[[").replace("]", "]]")
    return "\n".join(rows)


@pytest.mark.slow
def test_bytes():
    rng = random.Random(11)
    good = 0
    for _ in range(5000):
        try:
            text = files.decode(mutated_bytes(rng), "build.toml")
        except BadInput:
            continue
        good += isinstance(outcome(text), Sheet)
    assert good > 50  # a changed remark or digit is still a sheet: the mutations are not all of one kind


@pytest.mark.slow
@pytest.mark.parametrize(("mutated", "seed"), [(mutated_value, 12), (mutated_structure, 13)])
def test_values_and_structure(mutated, seed):
    rng = random.Random(seed)
    seen = {type(outcome(mutated(rng))) for _ in range(3000)}
    assert Sheet in seen
    assert len(seen) > 1


@pytest.mark.slow
def test_values_and_structure_of_a_boosted_build():
    rng = random.Random(17)
    seen = {type(outcome(mutate(rng, BOOSTED_TEXT), folder=BOOSTED))
            for _ in range(800) for mutate in (mutated_value, mutated_structure)}  # fmt: skip
    assert Sheet in seen
    assert len(seen) > 1


@pytest.mark.slow
def test_settings_and_overlays():
    rng = random.Random(14)
    paths = [path.replace("<name>", "main") for path in FIELDS]
    for _ in range(2500):
        path = rng.choice(paths) + rng.choice(("", "", "", "[1]", "[2]", "[1][1]", "[0]", "[9999]", ".x", "."))
        value = rng.choice(NASTY + RAW)
        if rng.random() < 0.5:
            outcome(TEXT, sets=(f"{path}={value}",))
        else:
            outcome(
                TEXT,
                overlays=(("variants/x.toml", mutated_structure(rng) if rng.random() < 0.3 else f"{path} = {value}"),),
            )


@pytest.mark.slow
def test_tables():
    rng = random.Random(15)
    tables = [(FIELDS["valves.intake.flow_table"], (FOLDER / "tables" / "intake_flow.csv").read_text())]
    wren = demo_folder("wren") / "tables"
    tables.append((FIELDS["charge.compressor.map"], (wren / "compressor.csv").read_text()))
    tables.append((FIELDS["cooling.fan.curve"], (wren / "fan.csv").read_text()))
    good = 0
    for _ in range(4000):
        spec, text = rng.choice(tables)
        chars = list(text)
        for _ in range(rng.choice((1, 2, 5, 40))):
            at = rng.randrange(len(chars))
            chars[at] = rng.choice(
                [
                    "",
                    "\n",
                    ",",
                    ";",
                    "\t",
                    '"',
                    "-",
                    "e",
                    ".",
                    "nan",
                    "[",
                    "]",
                    "@",
                    "1e999",
                    "9" * 500,
                    "\0",
                    "é",
                    "\r",
                    chars[at] * 2,
                ]
            )
        faults: list[Fault] = []
        table = parse("".join(chars), "tables/x.csv", spec, faults)
        assert (table is None) == bool(faults)
        if table is not None:
            good += 1
            assert all(math.isfinite(x) for column in table.columns.values() for x in column)
    assert good > 50


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=40), st.sampled_from([path for path, spec in FIELDS.items() if "<name>" not in path]))
def test_any_text_as_any_value(text, path):
    outcome(TEXT, overlays=(("variants/x.toml", f"{path} = {json.dumps(text)}"),))


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=60))
def test_any_text_as_setting(text):
    outcome(TEXT, sets=(text,))


@pytest.mark.slow
def test_every_nasty_value_in_every_field():
    """Each nasty value read as each quantity of the sheet: some 25,000 readings."""
    count = 0
    for spec in FIELDS.values():
        for value in NASTY if spec.numeric else ():
            count += 1
            try:
                quantity, si = _value(value, spec)
            except BadInput:
                continue
            low, high = spec.possible_si
            assert low <= quantity.value <= high
            assert math.isfinite(si)
    assert count > 20_000


def test_every_raw_value_in_every_field():
    """What TOML can hold (numbers, dates, lists, tables) in each field, whatever it takes."""
    values = [tomllib.loads(f"v = {raw}")["v"] for raw in RAW]
    for path, spec in FIELDS.items():
        for value in values:
            reader = Reader(Claims(), FOLDER)
            reader._counts = {"cylinders.count": 1, path.rpartition(".")[0] + ".count": 1}
            reader.claims.by_path[path] = Claim(value, Source("build.toml"), ())
            reader._field(spec, path, Claim(None, Source("build.toml"), ()))
            assert (path in reader.entries) != bool(reader.faults), (path, value)


@pytest.mark.slow
def test_nasty_values_in_each_kind_and_shape_of_field():
    rng = random.Random(16)
    shapes = {(spec.kind, spec.per, bool(spec.condition), spec.event): path for path, spec in FIELDS.items()}
    for path in shapes.values():
        for value in rng.sample(NASTY + RAW, 16):
            outcome(TEXT, sets=(f"{path.replace('<name>', 'main')}={value}",))
