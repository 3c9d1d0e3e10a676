"""Machines of a sheet: the demo builds, maps in other units and reference states, sizes without a map, bad input."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from spoolwright.boost.compressor import compressor_head
from spoolwright.boost.gate import gate_lift
from spoolwright.boost.rows import G_PRELOAD, T_AREA
from spoolwright.constants import CP_AIR, R_AIR
from spoolwright.engine.map_picture import map_of
from spoolwright.engine.turbo import Turbo, turbo
from spoolwright.errors import BadInput
from spoolwright.sheet import demo_folder, load

Row = list[str]
Edit = Callable[[int, Row], Row]


@pytest.fixture
def build(tmp_path: Path) -> Path:
    """A copy of the demo build with one turbocharger."""
    return Path(shutil.copytree(demo_folder("wren"), tmp_path / "wren"))


def rewrite(build: Path, table: str, edit: Edit, head: str | None = None) -> None:
    """Change the rows of a table; ``edit`` gets the row's number from 0 and its cells."""
    file = build / "tables" / table
    lines = [line for line in file.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    rows = [edit(n, line.split(",")) for n, line in enumerate(lines[1:])]
    body = [",".join(row) for row in rows if row]
    file.write_text("\n".join([head or lines[0], *body]) + "\n", encoding="utf-8")


def machines(build: Path, *sets: str) -> Turbo:
    made = turbo(load(build, sets=list(sets)))
    assert made is not None
    return made


def refused(build: Path, *sets: str) -> str:
    with pytest.raises(BadInput) as trouble:
        machines(build, *sets)
    return str(trouble.value)


def cell(column: int, change: Callable[[float], float], where: Callable[[int], bool] = lambda n: True) -> Edit:
    def edit(n: int, row: Row) -> Row:
        if where(n):
            row[column] = repr(change(float(row[column])))
        return row

    return edit


# ------------------------------------------------------------------------------ what a sheet gives
@pytest.mark.parametrize("name", ["wren", "heron"])
def test_turbo__demo_maps_fit_within_a_per_cent(name: str) -> None:
    made = turbo(load(demo_folder(name)))
    assert made is not None
    assert made.compressor_fit is not None
    assert made.turbine_error is not None
    assert not made.is_estimated
    assert made.compressor_fit.error.head_most < 0.01
    assert made.compressor_fit.error.work_most < 0.01
    assert made.turbine_error.flow_rms < 0.01
    assert made.turbine_error.efficiency_rms < 0.01
    assert made.questions == ()


def test_turbo__none_without_one() -> None:
    assert turbo(load(demo_folder("plover"))) is None
    assert map_of(load(demo_folder("plover"))) is None


def test_turbo__twin_entry_shares_the_map() -> None:
    sheet = load(demo_folder("heron"))
    made = turbo(sheet)
    assert made is not None
    assert made.turbine.shape[0] == 2
    assert made.turbine[0, T_AREA] == made.turbine[1, T_AREA]


def test_turbo__gate_of_the_demo_balances_its_spring() -> None:
    """62.0 mm free, 47.5 mm fitted at 9 N/mm: 130.5 N over 55 mm is 54.9 kPa with no exhaust pressure."""
    made = turbo(load(demo_folder("wren")))
    assert made is not None
    assert made.gate is not None
    assert made.gate[G_PRELOAD] == pytest.approx(130.5)
    crack = 130.5 / (np.pi / 4.0 * 0.055**2)
    out = 98e3
    assert gate_lift(made.gate, out + 0.999 * crack, out, out, out, out) == 0.0
    assert gate_lift(made.gate, out + 1.001 * crack, out, out, out, out) > 0.0


def test_map__same_wheel_in_other_units_and_reference_state(build: Path) -> None:
    """kg/s at 298.15 K, 100 kPa against lb/min at 288.15 K, 101.325 kPa."""
    plain = machines(build)
    root = np.sqrt(288.15 / 298.15)
    flow = 1.01325 / root / (0.45359237 / 60.0)

    def edit(n: int, row: Row) -> Row:
        return [f"{float(row[0]) * root:.9g}", f"{float(row[1]) * flow:.9g}", row[2], row[3]]

    rewrite(build, "compressor.csv", edit, "speed [rpm],flow [lb/min],pressure_ratio,efficiency")
    sets = ("charge.compressor.map_temperature=288.15 K", "charge.compressor.map_pressure=101.325 kPa")
    other = machines(build, *sets)
    for omega, mdot in ((10000.0, 0.05), (16000.0, 0.11)):
        one, two = (compressor_head(*m.compressor, omega, mdot, 97e3, 300.0, R_AIR, CP_AIR) for m in (plain, other))
        assert one == pytest.approx(two, rel=2e-5)


def test_map__wrong_reference_state_moves_the_flow(build: Path) -> None:
    """The same figures read at 288.15 K, 101.325 kPa in place of 298.15 K, 100 kPa are another wheel."""
    right = machines(build)
    wrong = machines(build, "charge.compressor.map_temperature=288.15 K", "charge.compressor.map_pressure=101.325 kPa")
    assert right.compressor_fit is not None
    assert wrong.compressor_fit is not None
    # phi = m R T/(p D^2 U): at the figures as printed it goes with T/p.
    ratio = wrong.compressor_fit.lines.phi_choke[-1] / right.compressor_fit.lines.phi_choke[-1]
    assert ratio == pytest.approx(288.15 / 298.15 / 1.01325, rel=1e-3)


def test_map__unusual_reference_state_is_questioned(build: Path) -> None:
    made = machines(build, "charge.compressor.map_temperature=290 K")
    assert len(made.questions) == 1
    assert "290 K and 100 kPa, is none that maps are usually printed at" in made.questions[0]


def test_map__flow_too_large_for_the_wheel_is_questioned(build: Path) -> None:
    """Every flow larger by four tenths stays inside what a wheel can do, but not what this one usually passes."""
    rewrite(build, "compressor.csv", cell(1, lambda flow: 1.4 * flow))
    made = machines(build)
    assert len(made.questions) == 1
    assert "times the flow that usually chokes a wheel of these diameters" in made.questions[0]


def test_map__efficiency_no_small_wheel_has_is_questioned(build: Path) -> None:
    rewrite(build, "compressor.csv", cell(3, lambda eta: 1.15 * eta))
    told = machines(build).questions
    assert any("better than wheels of this size are measured" in one for one in told)


def test_map__work_that_no_slip_leaves_is_questioned(build: Path) -> None:
    """Speeds a quarter too high, as of a smaller wheel's map: inside what is possible, but it shows in the work."""
    rewrite(build, "compressor.csv", cell(0, lambda speed: 1.25 * speed))
    told = machines(build, "charge.compressor.speed_limit=260000 rpm").questions
    assert any("blades give 0.55 to 0.95" in one for one in told)


def test_map__pounds_per_minute_under_kilograms_per_second(build: Path) -> None:
    rewrite(build, "compressor.csv", cell(1, lambda flow: flow * 60.0 / 0.45359237))
    assert "it would fit pounds per minute under a head of kilograms per second" in refused(build)


def test_estimate__from_sizes_is_marked(build: Path) -> None:
    sets = ("charge.compressor.map=none", "turbine.map=none", 'turbine.peak_efficiency="68 %"')
    made = machines(build, *sets)
    assert made.is_estimated
    assert {path for path, _, _ in made.assumed} >= {"charge.compressor.map", "turbine.map"}
    picture = map_of(load(build, sets=list(sets)))
    assert picture is not None
    assert picture.estimated
    assert picture.measured is None
    assert picture.error is None


def test_passage__assumed_where_not_measured(build: Path) -> None:
    made = machines(build, "charge.compressor.passage_length=none", "charge.compressor.passage_area=none")
    assert {path for path, _, _ in made.assumed} >= {
        "charge.compressor.passage_length",
        "charge.compressor.passage_area",
    }


def test_picture__lines_run_through_the_table() -> None:
    picture = map_of(load(demo_folder("wren")))
    assert picture is not None
    assert picture.measured is not None
    assert not picture.estimated
    assert len(picture.lines) == 8
    for line in picture.lines:
        rows = picture.measured[np.abs(picture.measured[:, 0] - line.speed_rpm) < 1.0]
        inside = rows[:, 1] <= line.flow[-1]
        assert np.interp(rows[inside, 1], line.flow, line.pressure_ratio) == pytest.approx(rows[inside, 2], rel=5e-3)
        away = rows[
            : inside.sum() - 1
        ]  # at the last point before choke a straight line between two drawn ones is coarse
        assert np.interp(away[:, 1], line.flow, line.efficiency) == pytest.approx(away[:, 3], abs=0.01)
    assert np.all(np.diff(picture.surge, axis=0) > 0.0)
    assert np.all(np.diff(picture.choke, axis=0) > 0.0)
    assert np.all(picture.choke[:, 0] > picture.surge[:, 0])


# ------------------------------------------------------------------------------ bad input
def test_bad__crossing_lines(build: Path) -> None:
    rewrite(build, "compressor.csv", cell(2, lambda v: 1.0 + 0.5 * (v - 1.0), lambda n: 24 <= n < 32))
    text = refused(build)
    assert "the lines of 92600 rpm and 108700 rpm cross" in text
    assert "a faster line lies above everywhere" in text
    assert text.startswith("tables/compressor.csv:")


def test_bad__efficiency_mixed(build: Path) -> None:
    rewrite(build, "compressor.csv", cell(3, lambda v: 100.0 * v, lambda n: n == 12))
    text = refused(build)
    assert "percent and fraction are mixed" in text
    assert text.startswith("tables/compressor.csv:14  efficiency: 70 stands among")


def test_bad__efficiency_in_percent_without_unit(build: Path) -> None:
    rewrite(build, "compressor.csv", cell(3, lambda v: 100.0 * v))
    assert 'percent without its unit; head the column "efficiency [%]"' in refused(build)


def test_bad__fractions_under_a_percent_head(build: Path) -> None:
    head = "speed [rpm],flow [kg/s],pressure_ratio,efficiency [%]"
    rewrite(build, "compressor.csv", lambda n, row: row, head)
    assert "fractions have no unit" in refused(build)


def test_bad__one_fraction_under_a_percent_head(build: Path) -> None:
    head = "speed [rpm],flow [kg/s],pressure_ratio,efficiency [%]"
    rewrite(build, "compressor.csv", cell(3, lambda v: 100.0 * v, lambda n: n != 5), head)
    text = refused(build)
    assert text.startswith("tables/compressor.csv:7  efficiency: 0.629 % stands beside 73.7 %")


def test_bad__efficiency_nobody_reaches(build: Path) -> None:
    rewrite(build, "compressor.csv", cell(3, lambda v: 1.3 * v))
    assert "better than any machine of this size (at most 88 %)" in refused(build)


def test_bad__flow_in_an_unknown_unit(build: Path) -> None:
    rewrite(build, "compressor.csv", lambda n, row: row, "speed [rpm],flow [slugs/s],pressure_ratio,efficiency")
    with pytest.raises(BadInput, match=r"slugs/s"):
        load(build)


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (60.0, "it would fit flow per minute under a head per second"),
        (1.0 / 60.0, "it would fit flow per second under a head per minute"),
        (2.2046, "it would fit pounds under a head of kilograms"),
    ],
)
def test_bad__flow_under_the_wrong_unit(build: Path, factor: float, words: str) -> None:
    rewrite(build, "compressor.csv", cell(1, lambda v: factor * v))
    assert words in refused(build)


def test_bad__more_flow_than_the_inlet_passes(build: Path) -> None:
    text = refused(build, 'charge.compressor.wheel_inlet="25 mm"')
    assert "more than an inlet of 25 mm (charge.compressor.wheel_inlet) passes at the speed of sound" in text


def test_bad__speed_in_the_wrong_unit(build: Path) -> None:
    rewrite(build, "compressor.csv", cell(0, lambda v: v / 60.0))
    text = refused(build)
    assert "is a tip speed of" in text
    assert "check the unit of speed" in text


def test_bad__line_that_rises_again(build: Path) -> None:
    rewrite(build, "compressor.csv", cell(2, lambda v: 1.6, lambda n: n == 29))
    text = refused(build)
    assert text.startswith("tables/compressor.csv:31  pressure_ratio: on the line of 108700 rpm it climbs again to 1.6")


def test_bad__line_upside_down(build: Path) -> None:
    def edit(n: int, row: Row) -> Row:
        return [row[0], row[1], repr(1.1 + 0.01 * (n % 8) + 0.1 * (n // 8)), row[3]]

    rewrite(build, "compressor.csv", edit)
    assert "a line falls towards choke: are two columns swapped?" in refused(build)


def test_bad__ratio_below_one(build: Path) -> None:
    rewrite(build, "compressor.csv", cell(2, lambda v: v - 0.05, lambda n: n == 7))
    assert "0.97 is no gain (line of 55600 rpm)" in refused(build)


def test_bad__too_few_points_and_lines(build: Path) -> None:
    rewrite(build, "compressor.csv", lambda n, row: row if n % 8 < 3 and n < 16 else [])
    text = refused(build)
    assert "2 speed lines are too few" in text
    assert text.count("3 points on the line of") == 2


def test_bad__missing_reference_state(build: Path) -> None:
    with pytest.raises(BadInput, match="a map means nothing without the state it is corrected to"):
        load(build, sets=["charge.compressor.map_temperature=none"])


def test_bad__head_no_wheel_gives(build: Path) -> None:
    text = refused(build, 'charge.compressor.wheel_outlet="75 mm"', 'charge.compressor.wheel_inlet="56 mm"')
    assert "of the tip speed squared" in text or "flow coefficient" in text


def test_bad__turbine_flow_beyond_its_throat(build: Path) -> None:
    text = refused(build, 'turbine.throat_area="250 mm2"', 'turbine.area_over_radius="0.22 in"')
    assert "needs an opening of" in text
    assert "the throat (turbine.throat_area) is 250 mm2" in text


def test_bad__throat_larger_than_the_wheel(build: Path) -> None:
    text = refused(build, 'turbine.throat_area="4800 mm2"')
    assert "turbine.throat_area: 4800 mm2 is more than the whole wheel, 1963 mm2" in text


def test_bad__throat_against_housing(build: Path) -> None:
    text = refused(build, 'turbine.area_over_radius="3 in"')
    assert "puts the throat's centre 15.1 mm from the shaft" in text


def test_bad__turbine_flow_falls(build: Path) -> None:
    rewrite(build, "turbine.csv", cell(2, lambda v: 0.5 * v, lambda n: n == 10))
    text = refused(build)
    assert text.startswith("tables/turbine.csv:12  flow: it falls to 0.0265 kg/s on the line of 76400 rpm")


def test_bad__turbine_ratio_upside_down(build: Path) -> None:
    rewrite(build, "turbine.csv", cell(1, lambda v: v - 0.2, lambda n: n == 0))
    assert "0.87 is no expansion" in refused(build)


def test_bad__turbine_speed_unit(build: Path) -> None:
    rewrite(build, "turbine.csv", cell(0, lambda v: 9.55 * v))
    assert "the blades move at" in refused(build)


def test_bad__spring_of_zero(build: Path) -> None:
    sets = ("wastegate.spring_free_length=none", "wastegate.spring_installed_length=none", 'wastegate.preload="0 N"')
    assert "a preload of 0 N holds no boost at all" in refused(build, *sets)
