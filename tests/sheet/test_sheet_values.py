"""Values of a sheet: SI, as typed, by cylinder and valve, assumed, angles, digest."""

from __future__ import annotations

import math

import pytest

from spoolwright.errors import BadInput
from spoolwright.sheet import NotGiven, field, load
from spoolwright.sheet.demo import demo_folder


@pytest.fixture(scope="module")
def wren():
    return load(demo_folder("wren"))


def test_value_is_si_and_quantity_keeps_the_text(wren):
    assert wren.value("cylinders.stroke") == 0.069
    assert wren.quantity("cylinders.stroke").text == "69.0 mm"
    assert wren.value("carburettor.rated_flow") == pytest.approx(230 * 0.3048**3 / 60, rel=1e-12)
    (depression,) = wren.quantity("carburettor.rated_flow").condition
    assert depression.value == pytest.approx(3.0 * 3386.389)
    assert wren.value("fuel.mixture") == 0.75


def test_values_by_cylinder(wren):
    assert wren.values("cylinders.bore") == pytest.approx((0.08601, 0.08600, 0.08602, 0.08601))
    assert wren.value("cylinders.bore[3]") == pytest.approx(0.08602)
    assert wren.values("cylinders.dish") == pytest.approx((4e-6,) * 4)
    assert wren.quantities("cylinders.chamber")[1].text == "51.8 cc ± 0.4"
    assert wren.quantities("cylinders.chamber")[1].plus == pytest.approx(0.4e-6)
    with pytest.raises(BadInput, match=r"cylinders\.bore: 4 values stand there.*cylinders\.bore\[1\]"):
        wren.value("cylinders.bore")
    with pytest.raises(BadInput, match="no single one answers"):
        wren.value("cylinders.bore[5]")


def test_values_by_cylinder__table_with_others(heron):
    heron.change('deck = "0.05 mm ± 0.02"', 'deck = { others = "0.05 mm", 3 = "2 thou" }')
    sheet = load(heron.folder)
    assert sheet.values("cylinders.deck") == pytest.approx((0.05e-3, 0.05e-3, 0.0508e-3, 0.05e-3))


def test_values_by_valve(heron):
    heron.change('lash = "0.20 mm"', 'lash = ["0.20 mm", ["0.20 mm", "0.22 mm"], "0.21 mm", "0.20 mm"]')
    sheet = load(heron.folder)
    want = [0.20, 0.20, 0.20, 0.22, 0.21, 0.21, 0.20, 0.20]
    assert sheet.values("valves.intake.lash") == pytest.approx([x * 1e-3 for x in want])
    assert sheet.value("valves.intake.lash[2][2]") == pytest.approx(0.22e-3)
    assert sheet.value("valves.intake.lash[3]") == pytest.approx(0.21e-3)
    with pytest.raises(BadInput):
        sheet.value("valves.intake.lash[2]")


def test_lists_as_written(wren):
    assert wren.values("drive.gears") == (3.20, 1.95, 1.36, 1.00)
    assert len(wren.values("strength.clearances.main_bearing.measured")) == 3
    assert wren.values("strength.clearances.crank_end_play.measured") == pytest.approx((0.14e-3,))
    assert wren.numbers("cylinders.firing_order") == (1, 2, 3, 4)
    assert wren.groups("cylinders.banks") == ((1, 2), (3, 4))


def test_event_angles_count_from_firing_top_dead_centre():
    sheet = load(demo_folder("plover"))
    assert sheet.value("valves.intake.opens") == -366.0
    assert sheet.value("valves.intake.closes") == -134.0
    assert sheet.value("valves.exhaust.opens") == 132.0
    assert sheet.value("valves.exhaust.closes") == 366.0
    assert sheet.value("spark.advance") == 28.0


def test_advance__after_top_dead_centre_is_negative(plover):
    plover.change('advance = "28 deg BTDC"', 'advance = "3 deg ATDC"')
    assert load(plover.folder).value("spark.advance") == -3.0


def test_named_pieces_keep_the_order_of_the_gas(wren):
    assert wren.names("exhaust.tail") == ("down_pipe", "silencer")
    assert wren.value("exhaust.tail.silencer.length") == pytest.approx(0.3)
    assert wren.names("injection") == ()
    assert not wren.has("injection")
    assert wren.has("charge.hat")


def test_missing_and_optional(wren):
    assert wren.maybe("charge.cooler.loss") is None
    assert wren.maybe("spark.boost_retard") == pytest.approx(0.5 / 6894.757293, rel=1e-6)
    with pytest.raises(NotGiven, match=r"charge\.cooler\.loss: the sheet of wren does not give it"):
        wren.value("charge.cooler.loss")
    with pytest.raises(NotGiven, match=r'did you mean "cylinders\.stroke"'):
        wren.value("cylinders.stroek")
    with pytest.raises(BadInput, match="not a quantity"):
        wren.value("fuel.grade")


def test_assumed__listed_with_reason_and_never_a_safety_value(wren):
    by_path = {a.path: a for a in wren.assumed}
    assert by_path["wastegate.lag"].text == "20 ms"
    assert by_path["wastegate.lag"].reason
    assert wren.is_assumed("wastegate.lag")
    assert wren.value("wastegate.lag") == pytest.approx(0.020)
    assert not any(field(path).safety for path in by_path)
    assert not wren.is_assumed("turbine.heat_loss")  # written, though it equals what would be assumed


def test_assumed__friction_is_listed_though_its_section_is_not_written(wren):
    assert not any(row.startswith("[cylinders.friction]") for row in (demo_folder("wren") / "build.toml").open())
    assert wren.is_assumed("cylinders.friction.constant")
    assert wren.value("cylinders.friction.constant") == pytest.approx(40e3)


def test_where_names_file_and_line(wren):
    rows = (demo_folder("wren") / "build.toml").read_text().splitlines()
    file, line = wren.where("cylinders.stroke").split(":")
    assert file == "build.toml"
    assert rows[int(line) - 1].startswith("stroke")
    assert wren.where("wastegate.lag") == "assumed"


def test_table_in_si(wren):
    table = wren.table("valves.intake.flow_table")
    assert table.columns["lift"][:2] == pytest.approx((1e-3, 2e-3))
    assert table.columns["flow"][0] == pytest.approx(17.4 * 0.3048**3 / 60, rel=1e-9)
    assert table.conditions["flow"].value == pytest.approx(28 * 249.08891)
    lines = wren.table("charge.compressor.map").lines("speed")
    assert len(lines) == 8
    assert next(iter(lines)) == pytest.approx(55600 * math.pi / 30)
    assert {len(one["flow"]) for one in lines.values()} == {8}


def test_digest__follows_values_not_words(plover):
    first = load(plover.folder).digest
    plover.change('stroke = "86.0 mm"', 'stroke = "8.60 cm"   # the same')
    plover.change('note = "Naturally', 'note = "A naturally')
    assert load(plover.folder).digest == first
    plover.change('stroke = "8.60 cm"', 'stroke = "8.61 cm"')
    assert load(plover.folder).digest != first


def test_digest__follows_spread_table_and_order(plover):
    first = load(plover.folder).digest
    plover.change("48.5 cc ± 0.3", "48.5 cc ± 0.4")
    second = load(plover.folder).digest
    table = plover.folder / "tables" / "intake_flow.csv"
    table.write_text(table.read_text().replace("1.0,", "1.1,", 1))
    third = load(plover.folder).digest
    assert len({first, second, third}) == 3
    assert load(demo_folder("wren")).digest != load(demo_folder("wren"), "hill").digest


def test_digest__two_pipes_swapped_is_another_build():
    from spoolwright.sheet.loading import read_texts

    wren_folder = demo_folder("wren")
    text = (wren_folder / "build.toml").read_text()
    down, silencer, rest = text.partition("[exhaust.tail.down_pipe]")[2].partition("[exhaust.tail.silencer]")
    silencer, turbine, rest = rest.partition("[turbine]")
    head = text.partition("[exhaust.tail.down_pipe]")[0]
    swapped = f"{head}[exhaust.tail.silencer]{silencer}[exhaust.tail.down_pipe]{down}{turbine}{rest}"
    a, b = read_texts(wren_folder, text), read_texts(wren_folder, swapped)
    assert b.names("exhaust.tail") == ("silencer", "down_pipe")
    assert a.digest != b.digest
