"""The record: tool and day of a measure, who signed, what is missing; kept pulls; what goes along."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from books import copied, with_run

from spoolwright.book import handover, record
from spoolwright.book import run as runs
from spoolwright.book.limits import stop_list
from spoolwright.findings.check import check
from spoolwright.sheet import load, logbook


def test_tool_and_day__come_from_the_last_entry_of_that_path(tmp_path: Path) -> None:
    folder = copied(tmp_path / "wren")
    logbook.append(folder, "measurement", "again", "B", path="cylinders.chamber[3]", tool="syringe", value="52.3 cc")
    sheet, book = load(folder), logbook.read(folder)
    measures = {one.path: one for one in record.measures(sheet, book)}
    assert measures["cylinders.chamber"].tool == "syringe"
    assert measures["cylinders.chamber"].author == "B"
    assert measures["cylinders.deck"].day == "2026-01-31"
    assert measures["cylinders.chamber"].spread == "± 0.4"
    assert [measures["cylinders.bore"].number(n) for n in range(4)] == ["86.01", "86.00", "86.02", "86.01"]
    assert measures["cylinders.dish"].alike


def test_clearances__carry_their_own_tool_where_the_log_says_none(tmp_path: Path) -> None:
    folder = copied(tmp_path / "wren")
    (folder / "logbook.jsonl").unlink()
    found = {one.name: one for one in record.clearances(load(folder), logbook.read(folder))}
    assert found["crank end play"].tool == "dial gauge"
    assert found["crank end play"].day == ""


def test_gaps__close_as_the_record_fills(tmp_path: Path) -> None:
    folder = copied(tmp_path / "wren")
    sheet = load(folder)

    def open_ones() -> set[tuple[str, str]]:
        found = record.gaps(sheet, logbook.read(folder), check(sheet), False, False)
        return {(one.kind, one.what) for one in found}

    assert ("never signed", "received") in open_ones()
    assert ("never signed", "built") not in open_ones()
    logbook.append(folder, "sign-off", "Received in good order", "C. Owner", what="received")
    assert ("never signed", "received") not in open_ones()
    (folder / "logbook.jsonl").unlink()
    kinds = {kind for kind, _ in open_ones()}
    assert {"no tool or day", "no record", "never signed", "never measured", "measured once"} <= kinds
    assert ("no record", "run-in") in open_ones()


def test_stop_list__holds_the_builders_limits_and_names_those_missing(tmp_path: Path) -> None:
    sheet = load(copied(tmp_path / "wren"))
    told = {one.what: one.when for one in stop_list(sheet)}
    assert told["head temperature"] == "above 235 degC"
    assert told["oil pressure"] == "below 2.8 bar @ 4000 rpm"
    bare = load(sheet.folder, None, ("limits.max_oil_temperature=none",))
    assert [one.missing for one in stop_list(bare) if one.what == "oil temperature"] == [True]
    plover = stop_list(load(copied(tmp_path / "plover", "plover")))
    assert not [one for one in plover if one.what == "boost"]


def test_spares__name_a_part_once(tmp_path: Path) -> None:
    found = handover.spares(load(copied(tmp_path / "wren")))
    assert [one.count for one in found if "plug" in one.what] == [4]
    assert [one.usual for one in found if "belt" in one.what] == [False]
    assert any(one.usual for one in found)


def test_missing_rate__is_told_and_not_guessed(tmp_path: Path) -> None:
    sheet = load(copied(tmp_path / "wren"), None, ("handover.exchange_rate=none",))
    answer, why = handover.tried(sheet, "cost")
    assert answer is None
    assert "give exchange_rate" in why
    assert handover.tried(load(copied(tmp_path / "plover", "plover")), "cost") == (None, "")


def test_crate__is_that_of_the_sums(tmp_path: Path) -> None:
    """Outside size by hand: 61 by 66 by 58 cm, 5 cm of room and 12 mm of board on each side, 12 cm of skids."""
    answer = handover.crate(load(copied(tmp_path / "wren")))
    assert answer is not None
    assert answer.results["outside_length"] == pytest.approx(0.61 + 2 * 0.062)
    assert answer.results["outside_height"] == pytest.approx(0.58 + 2 * 0.062 + 0.12)


# ----------------------------------------------------------------------------- kept pulls
def test_kept_pull__only_for_the_very_inputs(tmp_path: Path) -> None:
    folder = with_run(copied(tmp_path / "wren"))
    sheet = load(folder)
    found = runs.kept(folder, sheet)
    assert found is not None
    assert found.points[0]["torque_Nm"] == 150.0
    assert runs.as_pull(found, sheet).column("speed_rpm") == [2000.0, 3000.0, 4000.0, 5000.0, 6000.0]
    assert runs.kept(folder, load(folder, "hill")) is None
    assert runs.kept(folder, load(folder, None, ("spark.advance=20 deg BTDC",))) is None


@pytest.mark.parametrize("damage", [b"", b"{", b"[]", b"null", b'{"digest": 1}'])
def test_damaged_pull__is_none(tmp_path: Path, damage: bytes) -> None:
    folder = with_run(copied(tmp_path / "wren"))
    sheet = load(folder)
    (folder / "results" / runs.name_of(sheet)).write_bytes(damage)
    assert runs.kept(folder, sheet) is None


def test_pull_of_other_inputs_under_the_name__is_none(tmp_path: Path) -> None:
    folder = with_run(copied(tmp_path / "wren"))
    sheet = load(folder)
    path = folder / "results" / runs.name_of(sheet)
    report = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps(report | {"digest": "0" * 64}), encoding="utf-8")
    assert runs.kept(folder, sheet) is None
    path.write_text(json.dumps(report | {"cancelled": True}), encoding="utf-8")
    assert runs.kept(folder, sheet) is None


def test_hand_over_words__do_not_change_the_digest(tmp_path: Path) -> None:
    folder = copied(tmp_path / "wren")
    sheet = load(folder)
    text = (folder / "build.toml").read_text(encoding="utf-8")
    (folder / "build.toml").write_text(text[: text.index("[handover]")], encoding="utf-8")
    assert load(folder).digest == sheet.digest
    assert not load(folder).has("handover.goods")
    assert replace(sheet, sets=("x",)).digest == sheet.digest
