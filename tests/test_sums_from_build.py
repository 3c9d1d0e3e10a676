"""Sums filled from a build: every place a sum names is in the sheet, and what is filled is what stands there."""

from __future__ import annotations

import pytest

from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet, load
from spoolwright.sheet.demo import DEMOS, demo_folder
from spoolwright.sheet.lookup import field
from spoolwright.sums.evaluate import evaluate, find
from spoolwright.sums.fill import fill, paths
from spoolwright.sums.registry import all_sums

NAMED = [(s.name, key, spec) for s in all_sums().values() for key, spec in s.inputs.items() if spec.sheet]


@pytest.fixture(scope="module")
def wren() -> Sheet:
    return load(demo_folder("wren"))


@pytest.mark.parametrize(("name", "key", "spec"), NAMED, ids=[f"{n}.{k}" for n, k, _ in NAMED])
def test_every_place_a_sum_names__is_in_the_sheet(name: str, key: str, spec) -> None:  # type: ignore[no-untyped-def]
    for path in paths(spec.sheet):
        described = field(path)  # raises BadInput for a place that is not there
        if spec.kind == "curve":
            columns = spec.sheet.partition(":")[2].split(" ")[0].split(",")
            kinds = {described.columns[column].kind for column in columns}
            # A pump's pressure is a difference in a sum whatever the table calls it; angles and lengths agree.
            assert {k.split("_")[0] for k in kinds} == {k.split("_")[0] for k in spec.curve}


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize("name", list(all_sums()))
def test_filling__gives_values_the_sum_can_read_or_one_sentence(demo: str, name: str) -> None:
    sheet = load(demo_folder(demo))
    values, filled = fill(find(name), sheet, {}, cylinder=1)
    assert set(values) == set(filled)
    assert all(origin.startswith(f"{demo}, ") for origin in filled.values())
    try:
        evaluate(name, values, filled)
    except BadInput as trouble:
        # What is filled must be readable: only what is not on the sheet may be asked for.
        for line in str(trouble).splitlines():
            key = line.partition(" is missing")[0].partition(":")[0]
            assert key not in values or key == name or "is not one of" in line, line
            assert "say the same thing" not in line, line
            assert "beside it" not in line, line


def test_values__are_as_typed_with_their_line(wren: Sheet) -> None:
    values, filled = fill(find("compression_ratio"), wren, {}, cylinder=3)
    assert values["chamber"] == "52.3 cc ± 0.4"
    assert filled["chamber"] == f"wren, {wren.where('cylinders.chamber')}"


def test_what_is_given__is_not_filled(wren: Sheet) -> None:
    values, _ = fill(find("compression_ratio"), wren, {"chamber": "50 cc"}, cylinder=1)
    assert "chamber" not in values


def test_what_the_sheet_lacks__stays_open() -> None:
    plover = load(demo_folder("plover"))
    values, _ = fill(find("wastegate_crack"), plover, {})
    assert values == {}


def test_several_values_for_one_input__must_be_chosen(wren: Sheet) -> None:
    with pytest.raises(BadInput, match=r"several values .*say which with --cylinder"):
        fill(find("compression_ratio"), wren, {})
    with pytest.raises(BadInput, match="cylinders 1 to 4"):
        fill(find("compression_ratio"), wren, {}, cylinder=7)


def test_a_row_for_an_input_that_takes_many__is_filled_whole(wren: Sheet) -> None:
    values, _ = fill(find("compression_ratio_of_cylinders"), wren, {})
    assert values["chamber"] == ["52.1 cc ± 0.4", "51.8 cc ± 0.4", "52.3 cc ± 0.4", "52.0 cc ± 0.4"]
    assert values["dish"] == "4.0 cc ± 0.2"


def test_fields_together__are_added(wren: Sheet) -> None:
    values, filled = fill(find("inertia_load"), wren, {}, cylinder=1)
    assert values["reciprocating_mass"] == "568 g"  # 318 piston, 92 pin, 158 small end
    assert filled["reciprocating_mass"].count("build.toml:") == 3


def test_fields_times_each_other() -> None:
    values, _ = fill(find("injector_duty"), load(demo_folder("heron")), {})
    assert values["injectors"] == "4"


def test_altitude__only_where_no_barometer_stands(wren: Sheet) -> None:
    values, _ = fill(find("absolute_pressure"), wren, {})
    assert values == {"barometer": "98.2 kPa"}
    high = load(demo_folder("wren"), sets=["site.barometer=none"])
    assert fill(find("absolute_pressure"), high, {})[0] == {"altitude": "260 m"}


def test_spring_rate__only_with_its_lengths(wren: Sheet) -> None:
    assert "spring_rate" in fill(find("wastegate_crack"), wren, {})[0]
    heron = fill(find("wastegate_crack"), load(demo_folder("heron")), {})[0]
    assert "spring_rate" not in heron
    assert heron["preload"] == "190 N"


def test_curve__comes_from_the_table(wren: Sheet) -> None:
    values, filled = fill(find("pump_under_boost"), wren, {})
    assert values["curve"][1] == ("50 kPa", "2.066667 L/min")  # 124 L/h
    assert filled["curve"].endswith(wren.where("fuel.supply.pump_curve"))


def test_exhaust_valve__is_filled_from_the_exhaust_side(wren: Sheet) -> None:
    assert fill(find("valve_to_piston"), wren, {}, 1)[0]["drop"] == "10.9 mm"
    assert fill(find("valve_to_piston"), wren, {"valve": "exhaust"}, 1)[0]["drop"] == "10.6 mm"


def test_word_of_the_sheet__stands_for_that_of_the_sum(wren: Sheet) -> None:
    answer = evaluate("dwell_share", fill(find("dwell_share"), wren, {})[0])
    assert answer.inputs["arrangement"] == "wasted spark"


def test_assumed_value__is_called_assumed() -> None:
    plover = load(demo_folder("plover"))
    _, filled = fill(find("timing_latency"), plover, {})
    assert filled["latency"] == "plover, spark.latency assumed"
