"""Tables: units in the head, SI inside, every trouble with file and line."""

from __future__ import annotations

# ruff: noqa: E501 - one table and one sentence a line
import pytest

from spoolwright.sheet import load
from spoolwright.sheet.faults import Fault
from spoolwright.sheet.lookup import field
from spoolwright.sheet.tables import parse


def read(text: str, path: str = "valves.intake.flow_table"):
    faults: list[Fault] = []
    return parse(text, "tables/x.csv", field(path), faults), [str(f) for f in faults]


def test_comma_semicolon_tab_and_decimal_comma_say_the_same():
    want = read("lift [mm],flow [L/s @ 10 inH2O]\n1.5,10.25\n3,20\n")[0].columns
    assert want["lift"] == pytest.approx((1.5e-3, 3e-3))
    assert want["flow"] == pytest.approx((10.25e-3, 20e-3))
    for text in (
        "lift [mm];flow [L/s @ 10 inH2O]\n1,5;10,25\n3;20\n",
        "lift [mm]\tflow [L/s @ 10 inH2O]\r\n1,5\t10.25\r\n3\t20\r\n",
        "# remark\n\nLift [mm] ; Flow [L/s @ 10 inH2O] ;\n1,5;10,25;\n3;20;\n".replace(" ;\n", "\n", 1),
        '"lift [mm]","flow [L/s @ 10 inH2O]"\n"1.5","10.25"\n"3","20"\n',
    ):
        table, faults = read(text)
        assert faults == []
        assert table.columns == want


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "the table is empty"),
        ("# only a remark\n", "the table is empty"),
        ("lift [mm],flow [cfm @ 28 inH2O]\n", "tables/x.csv:1  the table has a head but no rows"),
        ("lift,flow [cfm @ 28 inH2O]\n1,2\n2,3\n", 'tables/x.csv:1  lift: no unit is named; write for example "lift [mm]"'),
        ("lift [mm],flow [cfm]\n1,2\n2,3\n", "flow: the head does not say at what pressure difference"),
        ("lift [mm],flow [cfm @ 28 degC]\n1,2\n2,3\n", '"28 degC" is not a pressure difference above zero'),
        ("lift [mm],flow [psi @ 28 inH2O]\n1,2\n2,3\n", '"psi" is not a unit of volume flow'),
        ("lift [mm],flwo [cfm @ 28 inH2O]\n1,2\n", 'is not known here (did you mean "flow"?)'),
        ("lift [mm]\n1\n2\n", 'column "flow [m3/s]" is missing'),
        ("lift [mm],flow_back [cfm @ 28 inH2O]\n1,2\n2,3\n", 'column "flow [m3/s]" is missing'),
        ("lift [mm],lift [mm],flow [cfm @ 28 inH2O]\n1,1,2\n", "stands twice; keep one"),
        ("lift [mm],flow [cfm @ 28 inH2O]\n1,2\n2,x\n", 'tables/x.csv:3  flow: "x" is not a number'),
        ("lift [mm],flow [cfm @ 28 inH2O]\n1,2\n2,\n", '"" is not a number'),
        ("lift [mm],flow [cfm @ 28 inH2O]\n1,2\n2,nan\n", '"nan" is not a number'),
        ("lift [mm],flow [cfm @ 28 inH2O]\n1,2\n2,1e999\n", "is not a number"),
        ("lift [mm],flow [cfm @ 28 inH2O]\n1,2\n2,-3\n", '"-3" is below zero; check the sign'),
        ("lift [mm],flow [cfm @ 28 inH2O]\n1,5,10,2\n", "4 cells stand under 2 columns; a decimal comma needs semicolons"),
        ("lift [mm],flow [cfm @ 28 inH2O]\n2,5\n1,6\n", "tables/x.csv:3  lift: it falls back here"),
        ("lift [mm],flow [cfm @ 28 inH2O]\n2,5\n2,6\n", "lift: it stands twice here"),
        ("lift [mm],flow [cfm @ 28 inH2O]\n2,5\n", "one row is no curve"),
    ],
)  # fmt: skip
def test_faults(text, sentence):
    table, faults = read(text)
    assert table is None
    assert sentence in "\n".join(faults)


MAP_HEAD = "speed [rpm],flow [kg/s],pressure_ratio,efficiency [%]\n"


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ("60000,0.02,1.2,70\n60000,0.03,1.1,60\n", "one line is no map"),
        ("60000,0.02,1.2,70\n60000,0.03,1.1,60\n80000,0.04,1.4,70\n", "a line of one point is no line"),
        ("60000,0.02,1.2,70\n80000,0.03,1.4,60\n60000,0.04,1.1,70\n", "rows of this line stand apart"),
        ("60000,0.03,1.2,70\n60000,0.02,1.1,60\n80000,0.02,1.4,70\n80000,0.03,1.3,70\n", "within one speed"),
    ],
)
def test_faults_of_a_map(rows, sentence):
    table, faults = read(MAP_HEAD + rows, "charge.compressor.map")
    assert table is None
    assert sentence in "\n".join(faults)


def test_map__percent_and_unit_of_the_head_count():
    table, faults = read(
        "speed [krpm],flow [lb/min],pressure_ratio,efficiency [%]\n60,2,1.2,70\n60,3,1.1,60\n80,3,1.4,70\n80,4,1.3,65\n",
        "charge.compressor.map",
    )
    assert faults == []
    assert table.columns["efficiency"] == pytest.approx((0.70, 0.60, 0.70, 0.65))
    assert table.columns["flow"][0] == pytest.approx(2 * 0.45359237 / 60)
    assert table.columns["speed"][0] == pytest.approx(6283.185, rel=1e-6)


def test_lift_table_with_a_hole_and_in_the_wrong_unit(wren):
    table = wren.folder / "tables" / "intake_lift.csv"
    rows = table.read_text().splitlines()
    text = "\n".join(rows)
    table.write_text("\n".join(rows[:20] + rows[28:]))
    assert "a hole of 45 deg is in it" in wren.only_fault()
    table.write_text(text.replace("lift [mm]", "lift [cm]"))
    assert "is larger than the valve; check the unit" in wren.only_fault()
    table.write_text("\n".join(rows[:30]))
    assert "it neither begins nor ends near zero lift; the valve would never close" in wren.only_fault()


def test_flow_bench_in_the_wrong_unit(wren):
    table = wren.folder / "tables" / "intake_flow.csv"
    text = table.read_text()
    table.write_text(text.replace("cfm @ 28 inH2O", "L/s @ 28 inH2O"))
    assert "times what an ideal throat would pass; check unit, depression and throat" in "\n".join(wren.faults())
    table.write_text(text.replace("cfm @ 28 inH2O", "L/h @ 28 inH2O"))
    assert "of what an ideal throat would pass; check unit and depression" in "\n".join(wren.faults())
    table.write_text(text.replace("lift [mm]", "lift [in]"))
    assert "is larger than the valve; check the unit" in wren.only_fault()


@pytest.mark.parametrize("name", ["../secret.csv", "/etc/passwd", "tables/../../x.csv", "~/x.csv", "C:\\x.csv"])
def test_table_outside_the_folder_is_refused(plover, name):
    (plover.folder.parent / "secret.csv").write_text("lift [mm],flow [cfm @ 28 inH2O]\n1,10\n2,20\n")
    text = plover.sheet.read_text().replace('"tables/intake_flow.csv"', f"'{name}'")
    plover.sheet.write_text(text)
    assert "a table lies in the build's folder" in plover.only_fault()


def test_table_by_a_link_out_of_the_folder_is_refused(plover, tmp_path):
    outside = tmp_path / "outside.csv"
    outside.write_text("lift [mm],flow [cfm @ 28 inH2O]\n1,10\n2,20\n")
    table = plover.folder / "tables" / "intake_flow.csv"
    table.unlink()
    table.symlink_to(outside)
    assert "a table lies in the build's folder" in plover.only_fault()


def test_table_missing_names_the_line_of_the_sheet(plover):
    (plover.folder / "tables" / "intake_flow.csv").unlink()
    line = plover.line('flow_table = "tables/intake_flow.csv"')
    fault = plover.only_fault()
    assert fault.startswith(f"build.toml:{line}  valves.intake.flow_table")
    assert "there is no such file" in fault
    (plover.folder / "tables" / "intake_flow.csv").write_bytes(b"lift [mm]\n\xff\n")
    assert plover.only_fault().startswith("tables/intake_flow.csv:2  this is not UTF-8 text")


def test_table_changes_reach_the_sheet(plover):
    before = load(plover.folder).table("valves.intake.flow_table").columns["flow"][0]
    path = plover.folder / "tables" / "intake_flow.csv"
    path.write_text(path.read_text().replace("cfm @ 28", "cfm @ 25"))
    after = load(plover.folder).table("valves.intake.flow_table")
    assert after.columns["flow"][0] == before
    assert after.conditions["flow"].value == pytest.approx(25 * 249.08891)
