"""Saving: changed values only, whole or not at all, never over somebody else's change."""

from __future__ import annotations

import difflib
import os
import random
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest

from spoolwright.errors import BadInput, SaveConflict
from spoolwright.sheet import load, saving
from spoolwright.sheet.saving import open_document, save


def rows_changed(before: str, after: str) -> list[str]:
    rows = difflib.unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0)
    return [row for row in rows if row[0] in "+-" and not row.startswith(("+++", "---"))]


def test_one_value__one_line_changes_and_its_comment_stays(wren):
    before = wren.sheet.read_text()
    document = save(open_document(wren.folder), {"fuel.mixture": "0.79 lambda"})
    after = wren.sheet.read_text()
    assert after == document.text
    assert rows_changed(before, after) == [
        '-mixture = "0.75 lambda"          # rich: the charge has no cooler, the heads are air-cooled',
        '+mixture = "0.79 lambda"          # rich: the charge has no cooler, the heads are air-cooled',
    ]
    assert load(wren.folder).value("fuel.mixture") == 0.79


def test_nothing_changed__the_file_is_not_touched(wren):
    stamp = wren.sheet.stat().st_mtime_ns
    document = open_document(wren.folder)
    assert save(document, {"fuel.mixture": "0.75 lambda"}).hash == document.hash
    assert wren.sheet.stat().st_mtime_ns == stamp


def test_every_kind_of_change(wren):
    changes = {
        "cylinders.chamber[2]": "51.9 cc",
        "cylinders.dish[3]": "4.2 cc",
        "cylinders.firing_order": [1, 3, 2, 4],
        "fuel.supply.return_line": False,
        "charge.blow_off.diameter": None,
        "spark.advance": "25 deg BTDC",
        "oil.cooler_flow": "10 L/min",
        "limits.min_ratio": None,
        "drive.accessories.pump.power": "0.2 kW @ 5000 rpm",
        "valves.intake.spring_seat_force": "270 N",
        "cylinders.walls.head": "215 degC",
    }
    before = wren.sheet.read_text()
    save(open_document(wren.folder), changes)
    after = wren.sheet.read_text()
    tree = tomllib.loads(after)
    assert tree["cylinders"]["chamber"][1] == "51.9 cc"
    assert tree["cylinders"]["dish"] == {"others": "4.0 cc ± 0.2", "3": "4.2 cc"}
    assert tree["cylinders"]["firing_order"] == [1, 3, 2, 4]
    assert tree["fuel"]["supply"]["return_line"] is False
    assert "diameter" not in tree["charge"]["blow_off"]
    assert tree["drive"]["accessories"]["pump"] == {"power": "0.2 kW @ 5000 rpm"}
    assert tree["cylinders"]["walls"]["head"] == "215 degC"
    lost = {row.partition("#")[2] for row in before.splitlines()} - {
        row.partition("#")[2] for row in after.splitlines()
    }
    assert lost == set()
    order = [key for key in tomllib.loads(before) if key in tree]
    assert [key for key in tree if key in order] == order


def test_unknown_path_is_refused_and_nothing_written(wren):
    before = wren.sheet.read_bytes()
    document = open_document(wren.folder)
    with pytest.raises(
        BadInput, match=r'cylinders\.strok: the sheet has no such field \(did you mean "cylinders\.stroke"\?\)'
    ):
        save(document, {"fuel.mixture": "0.7 lambda", "cylinders.strok": "70 mm"})
    with pytest.raises(BadInput, match="9 is no place of a list of 4"):
        save(document, {"cylinders.chamber[9]": "50 cc"})
    assert wren.sheet.read_bytes() == before


def test_conflict__the_difference_is_shown_and_nothing_written(wren):
    mine = open_document(wren.folder)
    save(open_document(wren.folder), {"spark.advance": "21 deg BTDC"})
    theirs = wren.sheet.read_bytes()
    with pytest.raises(SaveConflict, match="nothing was written") as caught:
        save(mine, {"fuel.mixture": "0.79 lambda"})
    assert wren.sheet.read_bytes() == theirs
    assert '-advance = "24 deg BTDC"' in caught.value.difference
    assert '+advance = "21 deg BTDC"' in caught.value.difference
    again = open_document(wren.folder)
    save(again, {"fuel.mixture": "0.79 lambda"})
    sheet = load(wren.folder)
    assert (sheet.value("spark.advance"), sheet.value("fuel.mixture")) == (21.0, 0.79)


def test_conflict__file_gone(wren):
    mine = open_document(wren.folder)
    wren.sheet.unlink()
    with pytest.raises(SaveConflict):
        save(mine, {"fuel.mixture": "0.79 lambda"})
    assert not wren.sheet.exists()


def test_two_who_save_in_turn__second_save_follows_the_first_document(wren):
    document = open_document(wren.folder)
    for advance in range(10, 20):
        document = save(document, {"spark.advance": f"{advance} deg BTDC"})
    assert load(wren.folder).value("spark.advance") == 19.0


def test_variant_file_is_saved_likewise(wren):
    save(open_document(wren.folder, "variants/hill.toml"), {"spark.advance": "20 deg BTDC"})
    assert load(wren.folder, "hill").value("spark.advance") == 20.0
    assert load(wren.folder).value("spark.advance") == 24.0
    with pytest.raises(BadInput, match="does not lie in the build's folder"):
        open_document(wren.folder, "../other.toml")


def test_windows_line_ends_and_byte_order_mark_stay(plover):
    data = b"\xef\xbb\xbf" + plover.sheet.read_text().replace("\n", "\r\n").encode()
    plover.sheet.write_bytes(data)
    save(open_document(plover.folder), {"cylinders.stroke": "85.0 mm"})
    after = plover.sheet.read_bytes()
    assert after == data.replace(b'stroke = "86.0 mm"', b'stroke = "85.0 mm"')


def test_permissions_stay(plover):
    plover.sheet.chmod(0o600)
    save(open_document(plover.folder), {"cylinders.stroke": "85.0 mm"})
    assert plover.sheet.stat().st_mode & 0o777 == 0o600


def test_failing_disk__old_file_whole_and_nothing_left_beside(plover, monkeypatch):
    before = plover.sheet.read_bytes()
    document = open_document(plover.folder)

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(saving.os, "fsync", full)
    with pytest.raises(BadInput, match="it cannot be written \\(No space left on device\\)"):
        save(document, {"cylinders.stroke": "85.0 mm"})
    assert plover.sheet.read_bytes() == before
    assert [p.name for p in plover.folder.iterdir() if p.name.startswith(".")] == []


# Forks a saver for each line it reads and names its process; the saver saves old and new in turn for ever.
_SAVERS = """
import os, sys
from pathlib import Path
from spoolwright.sheet.saving import replace_file
folder = Path(sys.argv[1])
old, new = (folder / "old").read_bytes(), (folder / "new").read_bytes()
for _ in sys.stdin:
    child = os.fork()
    if child == 0:
        while True:
            replace_file(folder / "build.toml", new, old)
            replace_file(folder / "build.toml", old, new)
    print(child, flush=True)
    os.waitpid(child, 0)
    print("gone", flush=True)
"""


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="needs SIGKILL")
def test_killed_at_any_moment__old_or_new_whole(plover):
    """200 savers killed at random moments of their saving; what stands there is always the old or the new whole."""
    rng = random.Random(7)
    old = plover.sheet.read_bytes()
    new = old.replace(b'stroke = "86.0 mm"', b'stroke = "85.0 mm"') + b"# longer\n" * 4000
    (plover.folder / "old").write_bytes(old)
    (plover.folder / "new").write_bytes(new)
    seen, left = set(), 0
    with subprocess.Popen(
        [sys.executable, "-c", _SAVERS, str(plover.folder)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as savers:
        assert savers.stdin is not None
        assert savers.stdout is not None
        for _ in range(200):
            plover.sheet.write_bytes(old)
            savers.stdin.write(b"save\n")
            savers.stdin.flush()
            saver = int(savers.stdout.readline())
            time.sleep(rng.uniform(0.0, 0.02))
            os.kill(saver, signal.SIGKILL)
            assert savers.stdout.readline() == b"gone\n"
            now = plover.sheet.read_bytes()
            assert now in (old, new)
            seen.add(now)
            left += len(saving.sweep(plover.folder))
    assert seen == {old, new}  # else the kills did not fall into the saving at all
    assert left > 0  # some fell between writing beside and renaming
    assert load(plover.folder).name == "plover"


def test_sweep_removes_only_what_saves_left(plover):
    (plover.folder / ".build.toml.abc123_x.new").write_text("half")
    (plover.folder / ".keep").write_text("mine")
    assert saving.sweep(plover.folder) == [".build.toml.abc123_x.new"]
    assert sorted(p.name for p in Path(plover.folder).glob(".*")) == [".keep"]
