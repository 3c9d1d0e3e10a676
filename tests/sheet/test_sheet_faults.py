"""What a builder can get wrong: each is one clear sentence with file and line, all at once."""

from __future__ import annotations

import pytest

from spoolwright.errors import BadInput
from spoolwright.sheet import SheetFaults, load


def test_fault__place_path_written_allowed_and_hint(plover):
    line = plover.line('stroke = "86.0 mm"')
    plover.change('stroke = "86.0 mm"', 'stroke = "8600 mm"')
    fault = plover.only_fault()
    assert fault.startswith(f'build.toml:{line}  cylinders.stroke: "8600 mm" is outside 5 mm..1000 mm')
    assert 'write for example "69.0 mm"' in fault
    assert "(86 mm) fits" in fault  # hundredths of a millimetre, as likely as not


def test_faults__all_at_once_in_order_of_lines(wren):
    wren.change('stroke = "69.0 mm"', 'strok = "69.0 mm"')
    wren.change('rod_length = "128.0 mm"', 'rod_length = "128.0"')
    wren.change('gap = "0.60 mm"', 'gap = "0.60 tho"')
    wren.change('vents_to = "open_air"', 'vents_to = "outside"')
    faults = wren.faults()
    lines = [int(f.split(":")[1].split(" ")[0]) for f in faults]
    assert lines == sorted(lines)
    text = "\n".join(faults)
    assert 'cylinders.strok: not a name known here (did you mean "stroke"?)' in text
    assert "cylinders.stroke: it is missing and must be given (piston stroke)" in text
    assert '"128.0" has no unit; write "128.0 mm"' in text
    assert '"tho" is not a unit known here (did you mean "thou"?)' in text
    assert '"outside" is not one of open_air, compressor_inlet' in text
    assert len(faults) == 5
    with pytest.raises(SheetFaults, match=r"Checks across fields run once these are mended\.$") as caught:
        load(wren.folder)
    assert caught.value.unchecked


CHAMBERS = 'chamber = ["52.1 cc ± 0.4", "51.8 cc ± 0.4", "52.3 cc ± 0.4", "52.0 cc ± 0.4"]'


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('bore = "86.0 mm"', "bore = 86.0", '"86.0" has no unit; write "86.0 mm", "86.0 in", "86.0 thou"'),
        ('max_speed = "7000 rpm"', 'max_speed = "0 rpm"', '"0 rpm" is outside 200 rpm..30000 rpm'),
        ('max_speed = "7000 rpm"', 'max_speed = "100000 rpm"', '"100000 rpm" is outside 200 rpm..30000 rpm'),
        ('max_lift = "10.0 mm"', 'max_lift = "41 mm"', "a lift of 41 mm is larger than the valve"),
        (
            'closes = "46 deg ABDC"',
            'closes = "46 deg ATDC"',
            '"46 deg ATDC" is counted from bottom dead centre here; write for example "50 deg ABDC"',
        ),
        (
            'barometer = "101.325 kPa"',
            'barometer = "14.7 psi gauge"',
            "a gauge pressure stands where absolute pressure is needed",
        ),
        (
            "[spark.plug]\n",
            '[spark.plug]\nstroke = "86 mm"\n',
            "spark.plug.stroke: not a name known here (it belongs to cylinders)",
        ),
        (
            "[exhaust.tail.tail_pipe]",
            "[[exhaust.tail]]",
            "give each piece a name and write [exhaust.tail.down_pipe]",
        ),
    ],
)
def test_one_fault_of_a_plain_engine(plover, old, new, sentence):
    plover.change(old, new)
    assert sentence in plover.only_fault()


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (
            '"230 cfm @ 3.0 inHg"',
            '"230 cfm"',
            '"230 cfm" does not say at what pressure difference; write for example "350 cfm @ 1.5 inHg"',
        ),
        ('"230 cfm @ 3.0 inHg"', '"230 cfm @ 20 degC"', "does not say at what pressure difference"),
        (
            CHAMBERS,
            'chamber = ["52.1 cc", "51.8 cc", "52.3 cc"]',
            "3 values stand for 4 cylinders; give one for each, or one for all",
        ),
        (
            CHAMBERS,
            'chamber = [\n  "52.1 cc",\n  "51.8 cc",\n  "52.3 mm",\n  "52.0 cc",\n]',
            'cylinders.chamber[3]: "mm" is not a unit of volume',
        ),
        (
            'dish = "4.0 cc ± 0.2"',
            'dish = { others = "4.0 cc", 5 = "4.1 cc" }',
            "cylinders.dish[5]: there is no such place; it has 4",
        ),
        (
            'dish = "4.0 cc ± 0.2"',
            'dish = { 1 = "4.0 cc", 2 = "4.1 cc" }',
            "cylinders.dish[3]: no value is given for it; add it, or others = for all the rest",
        ),
        ("[charge.hat]", "[charge.hatt]", 'charge.hatt: not a name known here (did you mean "hat"?)'),
    ],
)
def test_one_fault_of_a_boosted_engine(wren, old, new, sentence):
    wren.change(old, new)
    assert sentence in wren.only_fault()


def test_fault__bore_of_zero_and_pipe_of_negative_length(plover):
    plover.change('bore = "86.0 mm"', 'bore = "0 mm"')
    plover.change('length = "260 mm"', 'length = "-260 mm"')
    text = "\n".join(plover.faults())
    assert 'cylinders.bore: "0 mm" is outside 5 mm..500 mm' in text
    assert 'intake.runners.length: "-260 mm" is outside 1 mm..' in text
    assert "with the other sign" in text


def test_fault__cam_that_never_closes(plover):
    plover.change('closes = "46 deg ABDC"', 'closes = "-85 deg ABDC"')
    plover.change('opens = "6 deg BTDC"', 'opens = "-88 deg BTDC"')
    assert "the intake valve would be open for 7 deg; check the events" in plover.only_fault()


def test_fault__section_missing_and_misspelt(plover):
    plover.change("[limits]", "[limts]")
    text = "\n".join(plover.faults())
    assert 'limts: not a name known here (did you mean "limits"?)' in text
    assert "limits: this section is missing" in text


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('dish = "0 cc"', 'dish = "-60 cc"', "cylinder 1 keeps no volume at top dead centre"),
        ('rod_length = "146.0 mm"', 'rod_length = "43.0 mm"', "a rod of 43 mm cannot turn a crank of 43 mm radius"),
        ('gasket_bore = "87.0 mm"', 'gasket_bore = "85.0 mm"', "the gasket would stand in the cylinder"),
        ('across = "8 mm"', 'across = "48 mm"', "outside the bore"),
        ('throat_diameter = "35.0 mm"', 'throat_diameter = "41.0 mm"', "nothing would seal"),
        ('check_lift = "1.0 mm"\nmax_lift = "9.5 mm"', 'check_lift = "1.0 mm"', "it is needed with the events"),
        ('grade = "petrol 95 RON"', 'grade = "petrol 95 ROM"', 'did you mean "petrol 95 RON"?'),
        ('mixture = "0.90 lambda"', 'mixture = "0.90 lambda"\nmixture_table = "tables/mixture.csv"', "is no such file"),
        ("firing_order = [1]", "firing_order = [2]", "must name each of the 1 cylinders once"),
        ('layout = "single"', 'layout = "vee"', "vee with 1 cylinders does not go together"),
        ('barometer = "101.325 kPa"\n', "", "neither barometer nor altitude is given"),
        ('coolant_temperature = "85 degC"\n', "", "a water-cooled engine needs its coolant temperature"),
        ('timing = "searched"', 'timing = "table"', "timing is table; give advance_table"),
        ('low = "0.34 mm"', 'low = "0.54 mm"', "it is below low; they are swapped"),
        ('chamber_shape = "disc"', 'chamber_shape = "wedge"', "a wedge needs the angle of its roof"),
    ],
)  # fmt: skip
def test_contradictions_of_a_plain_engine(plover, old, new, sentence):
    plover.change(old, new)
    assert sentence in "\n".join(plover.faults())


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('bowl_reference = "hat"', 'bowl_reference = "hat"\nshaft_seald = true', "did you mean"),
        ('position = "after_compressor"', 'position = "unboosted"', "unboosted with a compressor does not go together"),
        ('map_pressure = "100 kPa"\n', "", "a map means nothing without the state it is corrected to"),
        ('wheel_inlet = "39.9 mm"', 'wheel_inlet = "61.5 mm"', "they are swapped"),
        ('leads_to = "turbine"', 'leads_to = "main"', "it leads round in a ring"),
        ('leads_to = "turbine"', 'leads_to = "turbine_entry_2"', "is no place it can lead to"),
        ('leads_to = "turbine"', 'leads_to = "tail"', "nothing leads to turbine"),
        ('cylinders = [1, 2, 3, 4]\nleads_to', 'cylinders = [1, 2, 3]\nleads_to', "cylinders [4] join no collector"),
        ('spring_installed_length = "47.5 mm"', 'spring_installed_length = "67.5 mm"', "longer fitted than free"),
        ('spring_free_length = "62.0 mm"', 'preload = "120 N"', "free and installed length go together"),
        ('takes_from = "main"', 'takes_from = "mian"', 'did you mean "main"?'),
        ('max_boost = "0.70 bar"\n', "", "a boosted engine needs its highest boost; it is never assumed"),
        ('air_shares = ["26 %", "24 %", "26 %", "24 %"]', 'air_shares = "26 %"', "the shares sum to 104 %"),
        ('"270 deg", "180 deg", "90 deg"]', '"180 deg", "180 deg", "90 deg"]', "4 are needed that sum to 720 deg"),
        ('bank_angle = "90 deg"\n', "", "a vee needs the angle between its banks"),
        ('torque_factor = "0.16"\n', "", "a torque tells the clamp load only with its factor"),
        ('venturi_diameter = "29 mm"', 'venturi_diameter = "39 mm"', "they are swapped"),
        ('torque = "40 N m"', 'torque = "40 N m"\npreload = "20 kN"', "preload and torque are both given; keep one"),
    ],
)  # fmt: skip
def test_contradictions_of_a_boosted_engine(wren, old, new, sentence):
    wren.change(old, new)
    assert sentence in "\n".join(wren.faults())


def test_no_check_across_fields_while_a_field_is_bad(wren):
    wren.change('max_boost = "0.70 bar"\n', "")
    wren.change('gap = "0.60 mm"', 'gap = "0.60"')
    (fault,) = wren.faults()
    assert "gap" in fault


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b'name = "x', r"build.toml:1  this line is not TOML"),
        (b"[a]\n[a]\n", r"build.toml:2  this line is not TOML"),
        (b"a = 1\na = 2\n", r"build.toml:2  .*; this name stands here for the second time"),
        (
            b"bore = 86 mm\n",
            r'build.toml:1  this line is not TOML .*; a quantity is text in quotes, for example "86.0 mm"',
        ),
        (b"# one\nx = \xff\xfe", r"build.toml:2  this is not UTF-8 text"),
        (b"x = " + b"[" * 3000, r"too deeply|not TOML"),
        (b"x = " + b"9" * 6000, r"build.toml"),
        (b"", r"the sheet does not begin with its layout"),
        (b'schema = "another thing 2"', r"the sheet does not begin with its layout"),
        (b"#" * 5_000_000, r"5000000 bytes are too many"),
        (b"\x00\x01", r"not TOML"),
    ],
)
def test_files_that_are_no_sheet(tmp_path, data, sentence):
    (tmp_path / "build.toml").write_bytes(data)
    with pytest.raises(BadInput, match=sentence) as caught:
        load(tmp_path)
    assert len(str(caught.value)) < 500


def test_folder_missing_and_file_a_folder(tmp_path):
    with pytest.raises(BadInput, match="there is no such folder"):
        load(tmp_path / "nowhere")
    with pytest.raises(BadInput, match=r"build\.toml: there is no such file"):
        load(tmp_path)
    (tmp_path / "build.toml").mkdir()
    with pytest.raises(BadInput, match="this is a folder, not a file"):
        load(tmp_path)


def test_byte_order_mark_and_windows_line_ends(plover):
    text = plover.sheet.read_text()
    want = load(plover.folder).digest
    plover.sheet.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert load(plover.folder).digest == want
    plover.sheet.write_bytes(text.replace("\n", "\r\n").replace('stroke = "86.0 mm"', 'stroke = "86.0"').encode())
    line = [n for n, row in enumerate(text.splitlines(), 1) if row.startswith("stroke")]
    assert plover.only_fault().startswith(f"build.toml:{line[0]}  cylinders.stroke")
