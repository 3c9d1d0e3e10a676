"""``spoolwright pull`` and ``demo`` as their user meets them; what runs the engine is slow: it compiles first."""

from __future__ import annotations

import csv
import json
import os
import shutil
import signal
from functools import partial
from pathlib import Path

import polars
import pytest

from spoolwright.engine.columns import COLUMNS
from spoolwright.sheet.demo import demo_folder

WREN, PLOVER = (str(demo_folder(name)) for name in ("wren", "plover"))


# ----------------------------------------------------------------------------- refused before anything runs
@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((PLOVER, "--rpm", "0"), "speed 0 rpm is outside 300 to 20000 rpm"),
        ((PLOVER, "--rpm", "100000"), "speed 100000 rpm is outside"),
        ((PLOVER, "--rpm", "6000:2000:500"), "it runs backwards"),
        ((PLOVER, "--rpm", "2000:6000:0"), "the step is 0"),
        ((PLOVER, "--rpm", "3000", "--trace", "3000"), "--trace needs a folder"),
        ((PLOVER, "--charts", "c", "--trace", "0"), "speed 0 rpm is outside"),
        ((PLOVER, "--chart-format", "bmp"), '--chart-format "bmp" is not one of png, svg, pdf'),
        ((PLOVER, "--csv", "nowhere/pull.csv"), "there is no folder nowhere"),
        ((PLOVER, "--parquet", "."), "a folder stands there"),
        ((PLOVER, "--turbo-off"), "plover has no turbocharger"),
        ((WREN, "--variant", "hll"), "hill"),
        ((WREN, "--against", "hll"), "hill"),
        ((WREN, "--variant", "hill", "--against", "hill"), "that is the run itself; name another variant"),
        ((WREN, "--against", "sheet"), "that is the run itself; name another variant, or sheet for none"),
    ],
)
def test_pull__refuses_in_one_sentence(run, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    done = run("pull", *words)
    assert done.code == 2
    assert said in done.err
    assert len(done.err.splitlines()) == 1
    assert done.out == ""


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("cylinders.bore=0 mm", 'cylinders.bore: "0 mm" is outside 5 mm..500 mm'),
        ("valves.intake.max_lift=45 mm", "a lift of 45 mm is larger than the valve"),
        ("intake.runners.length=-260 mm", 'intake.runners.length: "-260 mm" is outside 1 mm..30000 mm'),
        ("valves.intake.closes=175 deg ABDC", 'valves.intake.closes: "175 deg ABDC" is outside'),
        ("valves.intake.closes=6 deg BTDC", "is counted from bottom dead centre here"),
        ("limits.max_speed=0 rpm", 'limits.max_speed: "0 rpm" is outside'),
        ("spark.timing=locked;spark.advance=none", "spark.advance"),
        ("fuel.mixture=none", "fuel.mixture: nothing says it"),
    ],
)
def test_pull__refuses_a_sheet_that_is_no_engine(run, value: str, said: str) -> None:  # type: ignore[no-untyped-def]
    sets = [word for one in value.split(";") for word in ("--set", one)]
    done = run("pull", PLOVER, "--rpm", "3000", *sets)
    assert done.code == 2
    assert said in done.err
    faults = [line for line in done.err.splitlines() if not line.startswith("Checks across fields")]
    assert len(faults) == 1


def _never_shut(text: str) -> str:
    return "\n".join(text.rstrip().splitlines()[:-20]) + "\n"


@pytest.mark.parametrize(
    ("demo", "table", "old", "new", "said"),
    [
        ("wren", "intake_lift", "20,2.853\n25,3.313", "25,3.313\n20,2.853", "it falls back here; rows must rise"),
        ("wren", "intake_lift", "0,1.254", "0,", '"" is not a number'),
        ("wren", "intake_lift", "20,2.853\n25,3.313\n30,3.786\n35,4.266\n40,4.747\n45,5.", "45,5.", "a hole of 30 deg"),
        ("wren", "intake_lift", "", "", "the valve would never close"),
        ("plover", "intake_flow", "flow [cfm @ 28 inH2O]", "flow [L/min @ 28 inH2O]", "check unit and depression"),
        ("plover", "intake_flow", "flow [cfm @ 28 inH2O]", "flow [m3/s @ 28 inH2O]", "check unit, depression"),
        ("plover", "intake_flow", "flow [cfm @ 28 inH2O]", "flow [kg @ 28 inH2O]", "is not a unit of volume flow"),
    ],
)  # fmt: skip
def test_pull__refuses_a_table_that_is_no_measurement(  # type: ignore[no-untyped-def]
    run, tmp_path: Path, demo: str, table: str, old: str, new: str, said: str
) -> None:
    build = tmp_path / demo
    shutil.copytree(demo_folder(demo), build)
    file = build / "tables" / f"{table}.csv"
    text = file.read_text(encoding="utf-8")
    changed = text.replace(old, new) if old else _never_shut(text)
    assert changed != text
    file.write_text(changed, encoding="utf-8")
    done = run("pull", str(build), "--rpm", "3000", *(["--turbo-off"] if demo == "wren" else []))
    assert done.code == 2
    assert said in done.err
    faults = [line for line in done.err.splitlines() if not line.startswith("Checks across fields")]
    assert len(faults) == 1
    assert "Traceback" not in done.err


# ----------------------------------------------------------------------------- with the engine
@pytest.mark.slow
def test_pull__prints_table_findings_and_what_it_assumed(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    done = run("pull", PLOVER, "--rpm", "3000,4000")
    assert done.code == 0
    lines = done.out.splitlines()
    assert lines[0] == "plover"
    assert any(line.split()[:1] == ["3000"] for line in lines)
    assert "knock begins between 0.50 and 0.70" in done.out or "in which knock begins" in " ".join(done.out.split())
    assert "Assumed: " in done.out
    assert "cylinders.walls.head" in done.out
    assert "--working lists them all" in done.out
    assert all(len(line) <= 110 for line in lines)
    assert "\x1b[" not in done.out


@pytest.mark.slow
def test_pull_all_and_working__show_every_column_and_every_assumption(run) -> None:  # type: ignore[no-untyped-def]
    done = run("pull", PLOVER, "--rpm", "3000", "--all", "--working")
    for name in ("fuel consumption", "burn 10 90", "mass closure", "residual"):
        assert name in done.out
    assert "model: Livengood and Wu's integral" in " ".join(done.out.split())
    assert "valves.intake.seat_angle" in done.out


@pytest.mark.slow
def test_files__hold_what_the_json_says(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    table, arrow, charts = tmp_path / "pull.csv", tmp_path / "pull.parquet", tmp_path / "charts"
    done = run(
        "pull", PLOVER, "--rpm", "3000:4000:1000", "--csv", str(table), "--parquet", str(arrow),
        "--charts", str(charts), "--trace", "3000", "--chart-format", "svg", "--json",
    )  # fmt: skip
    assert done.code == 0
    data = json.loads(done.out)
    assert [point["speed_rpm"] for point in data["points"]] == [3000.0, 4000.0]
    assert data["cancelled"] is False
    rows = polars.read_parquet(arrow)
    assert rows.columns == list(COLUMNS)
    with table.open(newline="", encoding="utf-8") as file:
        written = list(csv.DictReader(file))
    for n, point in enumerate(data["points"]):
        for name in COLUMNS:
            assert rows[name][n] == point[name], name
        assert float(written[n]["torque_Nm"]) == point["torque_Nm"]
        assert written[n]["turbo_speed_rpm"] == ""
        # What a reader may count on, by the definitions: P = T w, bmep V = 4 pi T.
        omega = point["speed_rpm"] * 3.141592653589793 / 30.0
        assert point["power_kW"] == pytest.approx(point["torque_Nm"] * omega / 1e3, rel=1e-12)
        volume = 3.141592653589793 / 4.0 * 0.086**2 * 0.086
        assert point["bmep_kPa"] * 1e3 * volume == pytest.approx(4 * 3.141592653589793 * point["torque_Nm"], rel=1e-9)
    names = {file.name for file in charts.iterdir()}
    assert {"torque-power.svg", "knock-integral.svg", "pressure-angle-3000-rpm.svg", "cycle-3000-rpm.csv"} <= names
    cycle = polars.read_csv(charts / "cycle-3000-rpm.csv")
    peak = cycle["cylinder_1_pressure_Pa"].max() / 1e6  # type: ignore[operator]
    assert peak == pytest.approx(data["points"][0]["peak_pressure_MPa"], rel=0.01)


@pytest.mark.slow
def test_against__runs_both_and_tells_them_side_by_side(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    build = tmp_path / "wren"
    shutil.copytree(demo_folder("wren"), build)
    words = ("pull", str(build), "--variant", "hill", "--against", "lane", "--rpm", "3500")
    done = run(*words, "--json")
    assert done.code == 0
    told = json.loads(done.out)
    other = told["against"]
    assert (told["variant"], other["variant"]) == ("hill", "lane")
    (row,) = other["side_by_side"]
    for name in ("torque_Nm", "power_kW", "boost_kPa", "knock_integral"):
        here, there = told["points"][0][name], other["points"][0][name]
        assert row[name] == {"against": there, "this": here, "difference": here - there}
    assert row["boost_kPa"]["difference"] > 10.0  # hill has the harder spring
    assert "wastegate.spring_rate" in [one["path"] for one in other["changed"]]
    shown = run(*words)
    assert "Held against lane" in shown.out
    assert f"{row['boost_kPa']['difference']:+.1f}" in shown.out
    assert all(len(line) <= 110 for line in shown.out.splitlines())


@pytest.mark.slow
def test_strict__tells_a_stop_by_its_status(run) -> None:  # type: ignore[no-untyped-def]
    words = ("pull", PLOVER, "--rpm", "3000", "--set", "limits.max_exhaust_temperature=500 degC")
    assert run(*words).code == 0
    done = run(*words, "--strict")
    assert done.code == 1
    assert "■ stop" in done.out


@pytest.mark.slow
def test_speed_that_does_not_settle__is_told_marked_and_gives_three(run, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    from spoolwright.engine import pull as pulling

    monkeypatch.setattr(pulling, "run_point", partial(pulling.run_point, most_cycles=2))
    done = run("pull", PLOVER, "--rpm", "3000", "--strict")
    assert done.code == 3
    assert "* 3000" in done.out
    assert "did not settle: these numbers are no results" in done.out
    assert "Did not settle in 2 cycles; last relative changes: trapped mass" in " ".join(done.out.split())


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="signals differ")
def test_interrupt__keeps_what_is_done_and_says_how_much(run, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    from spoolwright import terminal_pull

    def interrupt(progress: object, point: object) -> None:
        os.kill(os.getpid(), signal.SIGINT)

    monkeypatch.setattr(terminal_pull.Progress, "done", interrupt)
    before = signal.getsignal(signal.SIGINT)
    done = run("pull", PLOVER, "--rpm", "3000:6000:250", "--workers", "1")
    assert done.code == 130
    told = next(line for line in done.out.splitlines() if line.startswith("Cancelled: "))
    count = int(told.split()[1])
    assert 1 <= count < 13
    assert told == f"Cancelled: {count} of 13 speeds done."
    assert "3000 " in done.out
    assert signal.getsignal(signal.SIGINT) is before


@pytest.mark.slow
def test_demo__runs_wren_with_its_turbo(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    made = tmp_path / "wren"
    done = run("demo", str(made))
    assert done.code == 0
    results = {file.name for file in (made / "results").iterdir()}
    assert {"pull.csv", "torque-power.png", "knock-integral.png", "pressure-volume-4000-rpm.png"} <= results
    with (made / "results" / "pull.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert all(row["converged"] == "true" for row in rows)
    # The spring lets 55 kPa come about; exhaust on the valve opens it earlier; pipe and carburettor take some.
    boost = {float(row["speed_rpm"]): float(row["boost_kPa"]) for row in rows}
    assert 5.0 < boost[2000.0] < 30.0  # the turbo is still coming
    assert all(30.0 < value < 55.0 for speed, value in boost.items() if speed > 2500.0)
    assert all(float(row["shaft_closure"]) < 2e-3 for row in rows)
    # The run is kept with the build, and the book is made of it.
    assert {"book.pdf", "book.html"} <= results
    assert any(name.startswith("pull-sheet-") for name in results)
