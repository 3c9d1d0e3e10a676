"""The one description of the fields: whole, consistent, and behind page and template."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib

import pytest

from spoolwright import units
from spoolwright.errors import BadInput
from spoolwright.sheet import field, load, lookup, reference, template
from spoolwright.sheet.demo import DEMOS, demo_folder
from spoolwright.sheet.fields import Field, Section, walk
from spoolwright.sheet.sections import SHEET

FIELDS = [(path, part) for path, part in walk(SHEET) if isinstance(part, Field)]


def samples(spec: Field) -> list[str]:
    return re.findall(r'"([^"]+)"', spec.example) if spec.example.startswith("[") else [spec.example]


@pytest.mark.parametrize(
    ("path", "spec"), [(p, f) for p, f in FIELDS if f.numeric], ids=lambda x: x if isinstance(x, str) else ""
)
def test_example_is_read_and_plausible(path, spec):
    low, high = spec.possible_si
    assert low < high
    for text in samples(spec):
        quantity = units.read(text, spec.kind)
        assert low <= quantity.value <= high
        if spec.condition:
            assert len(quantity.condition) == 1
        if spec.plausible_si and spec.need != "assumed":
            assert spec.plausible_si[0] <= quantity.value <= spec.plausible_si[1]
    if spec.plausible_si:
        assert low <= spec.plausible_si[0] < spec.plausible_si[1] <= high


def test_every_field_says_what_it_is():
    for path, spec in FIELDS:
        assert spec.meaning.strip(), path
        assert spec.example.strip(), path
        assert not spec.meaning.endswith("."), path
        assert (spec.kind == "choice") == bool(spec.choices), path
        assert (spec.kind == "table") == bool(spec.columns), path
        if spec.need == "assumed":
            assert spec.reason, path
            assert spec.assumed, path
        name = path.rpartition(".")[2]
        assert re.fullmatch(r"[a-z][a-z0-9_]*", name), path
        if spec.numeric and spec.kind not in ("number", "count", "event_angle", "ratio", "share"):
            assert spec.plausible or spec.possible or spec.kind == "temperature", path


def test_safety_values_are_never_assumed():
    with pytest.raises(ValueError, match="never assumed"):
        Field("length", "x", "assumed", "1 mm", safety=True, assumed="1 mm", reason="because")
    assert not [p for p, f in FIELDS if f.safety and f.need == "assumed"]
    for path in ("limits.max_speed", "limits.max_head_temperature", "limits.max_knock_integral", "cylinders.deck"):
        assert field(path).safety, path
        assert field(path).need == "must", path


def test_lookup_by_path():
    assert field("cylinders.chamber[3]").kind == "volume"
    assert field("intake.ducts.any_name.length").kind == "length"
    assert isinstance(lookup.section("intake.ducts"), Section)
    with pytest.raises(BadInput, match=r'did you mean "cylinders\.bore"'):
        field("cylinders.boer")
    with pytest.raises(BadInput, match="a section, not a field"):
        field("cylinders")


def test_reference_page_names_every_field_and_section():
    page = reference.page()
    rows = page.splitlines()
    for path, part in walk(SHEET):
        name = path.rpartition(".")[2]
        if isinstance(part, Field):
            assert any(row.startswith(f"| `{name}` | {part.meaning}") for row in rows), path
        elif not part.named:
            assert f"[{path}]" in page, path
    assert "assumed 50 %: a middling day" in page
    assert page == reference.page()


def test_template_is_toml__as_it_stands_and_with_every_mark_taken_away(tmp_path):
    text = template.text("my build")
    tree = tomllib.loads(text)
    assert next(iter(tree)) == "schema"
    assert tree["name"] == "my build"
    everything = tomllib.loads(re.sub(r"(?m)^#: ", "", text))
    for path, part in walk(SHEET):
        if isinstance(part, Field) and "<name>" not in path:
            node = everything
            for step in path.split("."):
                node = node[step]


def test_template_asks_only_what_must_be_decided(tmp_path):
    from spoolwright.sheet import SheetFaults

    template.new(tmp_path / "mine")
    with pytest.raises(SheetFaults) as caught:
        load(tmp_path / "mine")
    assert not caught.value.unchecked  # every field that stands there is good
    assert {f.path for f in caught.value.faults} == {
        "carburettor", "site.barometer", "fuel.grade", "fuel.mixture", "valves.intake.lift_table",
        "valves.exhaust.lift_table", "spark.advance",
    }  # fmt: skip
    with pytest.raises(BadInput, match="a build is there already"):
        template.new(tmp_path / "mine")


def test_template_like_a_demo(tmp_path):
    template.new(tmp_path / "mine", like="heron")
    assert load(tmp_path / "mine").digest == load(demo_folder("heron")).digest
    with pytest.raises(BadInput, match='did you mean "heron"'):
        template.new(tmp_path / "other", like="hern")


@pytest.mark.parametrize("name", DEMOS)
def test_demo__loads_and_is_marked_invented(name):
    folder = demo_folder(name)
    sheet = load(folder)
    assert sheet.name == name
    assert sheet.flag("invented", False)
    for path in folder.rglob("*"):
        if path.suffix in (".toml", ".csv"):
            first = path.read_text().splitlines()[0].lower()
            assert first.startswith("#"), path
            assert "invented" in first, path
    used = {e.content.file for e in sheet.entries.values() if e.field.kind == "table"}
    assert used == {p.relative_to(folder).as_posix() for p in folder.glob("tables/*.csv")}
    for path, entry in sheet.entries.items():
        if entry.field.plausible_si:
            low, high = entry.field.plausible_si
            for quantity in entry.quantities:
                assert low <= quantity.value <= high, (path, quantity.text)


def test_demo__only_the_three(tmp_path):
    with pytest.raises(BadInput, match="they are wren, heron, plover"):
        demo_folder("../examples")


def test_reading_imports_no_heavy_library():
    code = (
        "import sys; from spoolwright.sheet import load; from spoolwright.sheet.demo import demo_folder\n"
        "load(demo_folder('wren'), 'hill'); print(*sorted({m.partition('.')[0] for m in sys.modules}))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    heavy = {
        "numpy",
        "numba",
        "cantera",
        "scipy",
        "polars",
        "pydantic",
        "matplotlib",
        "tomlkit",
        "pint",
        "rich",
        "typer",
    }
    assert heavy.isdisjoint(out.stdout.split())
