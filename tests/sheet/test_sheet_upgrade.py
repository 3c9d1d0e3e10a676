"""Older layouts are brought up to date; newer ones are refused."""

from __future__ import annotations

import pytest

from spoolwright.errors import BadInput
from spoolwright.sheet import load
from spoolwright.sheet.sections import SCHEMA_VERSION
from spoolwright.sheet.upgrade import RENAMED, upgrade_folder


def old(wren):
    """wren as it would have been written in version 1."""
    wren.change('schema = "spoolwright build 2"', 'schema = "spoolwright build 1"   # layout')
    wren.change('rod_length = "128.0 mm"', 'conrod_length = "128.0 mm"   # rod_length by calliper')
    wren.change('altitude = "260 m"', 'elevation = "260 m"')
    (wren.folder / "variants" / "hill.toml").write_text('# hill\n[cylinders]\nconrod_length = "129 mm"\n')
    return wren


def test_every_version_has_its_step():
    assert sorted(RENAMED) == list(range(1, SCHEMA_VERSION))


def test_version_1_is_read_as_it_stands(wren):
    want = load(wren.folder).digest
    sheet = load(old(wren).folder)
    assert sheet.digest == want
    assert sheet.upgraded_from == 1
    assert load(wren.folder, "hill").value("cylinders.rod_length") == pytest.approx(0.129)


def test_version_1__faults_name_the_line_that_stands_there(wren):
    old(wren).change('conrod_length = "128.0 mm"', 'conrod_length = "128.0"')
    line = wren.line("conrod_length")
    assert wren.only_fault().startswith(f'build.toml:{line}  cylinders.rod_length: "128.0" has no unit')


def test_version_2_does_not_know_the_old_names(wren):
    wren.change('rod_length = "128.0 mm"', 'conrod_length = "128.0 mm"')
    assert "cylinders.conrod_length: not a name known here" in "\n".join(wren.faults())


def test_upgrade_writes_the_files_and_keeps_everything_else(wren):
    old(wren)
    before = wren.sheet.read_text()
    assert upgrade_folder(wren.folder) == ["build.toml", "variants/hill.toml"]
    after = wren.sheet.read_text()
    assert after == (
        before.replace("spoolwright build 1", "spoolwright build 2")
        .replace("conrod_length =", "rod_length =")
        .replace("elevation =", "altitude =")
    )
    assert "# rod_length by calliper" in after
    assert (wren.folder / "variants" / "hill.toml").read_text() == '# hill\n[cylinders]\nrod_length = "129 mm"\n'
    assert upgrade_folder(wren.folder) == []
    assert load(wren.folder).upgraded_from is None


@pytest.mark.parametrize(
    ("schema", "sentence"),
    [
        (
            'schema = "spoolwright build 3"',
            "the sheet is of version 3, this program reads up to 2; use a newer program",
        ),
        ('schema = "spoolwright build 0"', "there was no version 0"),
        ('schema = "spoolwright"', 'does not begin with its layout; write schema = "spoolwright build 2"'),
        ("schema = 2", "does not begin with its layout"),
        ("", "does not begin with its layout"),
    ],
)
def test_layouts_that_are_refused(wren, schema, sentence):
    wren.change('schema = "spoolwright build 2"', schema)
    with pytest.raises(BadInput) as caught:
        load(wren.folder)
    assert sentence in str(caught.value)
    assert str(caught.value).startswith("build.toml:")
