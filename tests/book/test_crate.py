"""A crate opens elsewhere as it was packed, with the same checks; what was changed or could do harm stays shut."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import stat
import struct
import subprocess
import sys
import time
import warnings
import zipfile
from pathlib import Path

import pytest
from crates import build, files, rewritten

from spoolwright.crate import manifest as lists
from spoolwright.crate.pack import pack
from spoolwright.crate.unpack import look, unpack
from spoolwright.errors import BadInput
from spoolwright.findings.check import check, report
from spoolwright.sheet import SheetFaults, load

MANIFEST = "crate.json"


@pytest.fixture
def wren(tmp_path: Path) -> Path:
    return build(tmp_path / "wren")


@pytest.fixture
def crate(wren: Path, tmp_path: Path) -> Path:
    return pack(wren, tmp_path / "wren.crate.zip").file


def test_round_trip__same_files_same_checks(wren: Path, crate: Path, tmp_path: Path) -> None:
    opened = unpack(crate, tmp_path / "elsewhere")
    assert files(tmp_path / "elsewhere") == files(wren)
    assert opened.differences == ()
    for variant in (None, "hill", "lane", "leaky"):
        there, here = load(tmp_path / "elsewhere", variant), load(wren, variant)
        assert report(there, check(there)) == report(here, check(here))
        told = opened.manifest.checks[variant or ""]
        assert told["digest"] == here.digest
        assert sum(told["verdicts"].values()) == len(check(here))


def test_list__holds_the_hash_of_every_file_by_an_outside_program(crate: Path, tmp_path: Path) -> None:
    """The hashes are those that the system's own sha256sum computes from what the system's own unzip takes out."""
    subprocess.run([sys.executable, "-m", "zipfile", "-e", str(crate), str(tmp_path / "out")], check=True)
    told = json.loads((tmp_path / "out" / MANIFEST).read_text(encoding="utf-8"))["files"]
    for name, held in told.items():
        path = tmp_path / "out" / name
        by_system = subprocess.run(["sha256sum", str(path)], capture_output=True, text=True, check=True).stdout
        assert by_system.split()[0].lstrip("\\") == held["sha256"], name
        assert path.stat().st_size == held["size"]


def test_same_build__same_crate(wren: Path, crate: Path, tmp_path: Path) -> None:
    again = pack(wren, tmp_path / "again.zip")
    assert again.file.read_bytes() == crate.read_bytes()
    assert again.manifest.hash == hashlib.sha256(again.manifest.bytes()).hexdigest() == look(crate).manifest.hash


def test_hidden_files_and_leavings__stay_out_and_are_told(wren: Path, tmp_path: Path) -> None:
    (wren / ".build.toml.x.new").write_bytes(b"half")
    packed = pack(wren, tmp_path / "c.zip")
    assert packed.left_out == (".build.toml.x.new",)
    assert not [name for name in packed.manifest.files if name.startswith(".")]


def test_usual_place__is_beside_the_build_and_never_over_a_file(wren: Path) -> None:
    assert pack(wren).file == wren.parent / "wren.crate.zip"
    before = (wren.parent / "wren.crate.zip").read_bytes()
    with pytest.raises(BadInput, match="a file is there already"):
        pack(wren)
    assert (wren.parent / "wren.crate.zip").read_bytes() == before


def test_links__are_not_packed(wren: Path, tmp_path: Path) -> None:
    (wren / "photos" / "key.txt").symlink_to("/etc/hostname")
    with pytest.raises(BadInput, match=r"photos/key.txt: a link does not go into a crate"):
        pack(wren, tmp_path / "c.zip")
    assert not (tmp_path / "c.zip").exists()


def test_sheet_with_faults__is_not_packed(wren: Path, tmp_path: Path) -> None:
    sheet = wren / "build.toml"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace('"69.0 mm"', '"69.0 kg"'), encoding="utf-8")
    with pytest.raises(SheetFaults, match="stroke"):
        pack(wren, tmp_path / "c.zip")
    assert not (tmp_path / "c.zip").exists()


# ----------------------------------------------------------------------------- tampering
def test_tampering__is_told_file_by_file_and_opens_nothing(crate: Path, tmp_path: Path) -> None:
    def change(held: dict[str, bytes]) -> None:
        held["build.toml"] = held["build.toml"].replace(b"0.70 bar", b"1.70 bar")
        held["logbook.jsonl"] = held["logbook.jsonl"].replace(b"52.3 cc", b"52.4 cc")
        del held["tables/fan.csv"]
        held["pulls/another.csv"] = b"time,rpm\n"

    bad = rewritten(crate, tmp_path / "bad.zip", change)
    told = {one.file: one.what for one in look(bad).troubles}
    assert told == {
        "build.toml": "it was changed (its hash is another)",
        "logbook.jsonl": "it was changed (its hash is another)",
        "tables/fan.csv": "it is missing",
        "pulls/another.csv": "it is not on the list of the crate",
    }
    with pytest.raises(BadInput) as raised:
        unpack(bad, tmp_path / "opened")
    assert len(str(raised.value).splitlines()) == 5
    assert not (tmp_path / "opened").exists()
    assert not list(tmp_path.glob(".opened*"))


def test_every_flipped_byte__is_noticed(crate: Path, tmp_path: Path) -> None:
    """Bytes all over the archive, one at a time: a crate that still opens holds what it held."""
    whole = crate.read_bytes()
    want = {name: held.sha256 for name, held in look(crate).manifest.files.items()}
    bad = tmp_path / "bad.zip"
    noticed = 0
    for at in range(7, len(whole), max(len(whole) // 150, 1)):
        bad.write_bytes(whole[:at] + bytes([whole[at] ^ 0x41]) + whole[at + 1 :])
        try:
            seen = look(bad)
        except BadInput:
            noticed += 1
            continue
        if seen.troubles:
            noticed += 1
        else:  # a byte that says nothing of content: a date, a version
            assert {name: held.sha256 for name, held in seen.manifest.files.items()} == want
    assert noticed > 100


def test_list_changed_with_the_file__is_told_by_the_crates_own_hash(crate: Path, tmp_path: Path) -> None:
    def change(held: dict[str, bytes]) -> None:
        held["build.toml"] = held["build.toml"].replace(b"0.70 bar", b"1.70 bar")
        told = json.loads(held[MANIFEST])
        told["files"]["build.toml"] = {
            "size": len(held["build.toml"]),
            "sha256": hashlib.sha256(held["build.toml"]).hexdigest(),
        }
        held[MANIFEST] = json.dumps(told).encode()

    bad = rewritten(crate, tmp_path / "bad.zip", change)
    assert look(bad).troubles == ()
    assert look(bad).manifest.hash != look(crate).manifest.hash
    assert unpack(bad, tmp_path / "opened").differences  # and the checks say something else than when it was packed


# ----------------------------------------------------------------------------- what could do harm
ESCAPES = [
    "../outside.txt", "a/../../outside.txt", "/tmp/outside.txt", "C:/outside.txt", "..\\outside.txt", "a\\b.txt",
    "./x.txt", "a//b.txt", "nul.txt", "tables/con", "x\x00y", "new\nline", "trailing. ", "", "a/", "x" * 300,
]  # fmt: skip


@pytest.mark.parametrize("name", ESCAPES)
def test_names_that_lead_out__are_refused(crate: Path, tmp_path: Path, name: str) -> None:
    bad = tmp_path / "in" / "bad.zip"
    bad.parent.mkdir()
    with zipfile.ZipFile(crate) as old, zipfile.ZipFile(bad, "w") as new:
        told = json.loads(old.read(MANIFEST))
        told["files"][name] = {"size": 1, "sha256": hashlib.sha256(b"x").hexdigest()}
        new.writestr(MANIFEST, json.dumps(told))
        for held in old.namelist():
            if held != MANIFEST:
                new.writestr(held, old.read(held))
        if name and "\x00" not in name:
            new.writestr(name, b"x")
    with pytest.raises(BadInput):
        unpack(bad, tmp_path / "in" / "opened")
    assert not list(tmp_path.rglob("outside.txt"))
    assert not (tmp_path / "in" / "opened").exists()


def test_links_in_a_crate__are_refused(crate: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.zip"
    bad.write_bytes(crate.read_bytes())
    with zipfile.ZipFile(bad, "a") as archive:
        info = zipfile.ZipInfo("photos/link.jpg")
        info.create_system = 3
        info.external_attr = (stat.S_IFLNK | 0o777) << 16
        archive.writestr(info, "/etc/passwd")
    with pytest.raises(BadInput, match="it is a link"):
        unpack(bad, tmp_path / "opened")


def test_one_name_twice__is_refused(crate: Path, tmp_path: Path) -> None:
    for name in ("build.toml", "BUILD.toml"):
        bad = tmp_path / f"bad-{name}.zip"
        bad.write_bytes(crate.read_bytes())
        with zipfile.ZipFile(bad, "a") as archive, warnings.catch_warnings(action="ignore"):
            archive.writestr(name, "name = 'other'")
        with pytest.raises(BadInput, match="stands in it twice"):
            unpack(bad, tmp_path / "opened")


@pytest.mark.parametrize(
    ("names", "word"),
    [
        (("photos/caf\u00e9.jpg", "photos/cafe\u0301.jpg"), "stands in it twice"),
        (("photos/stra\u00dfe.jpg", "photos/STRASSE.jpg"), "stands in it twice"),
        (("photos/a.jpg/b.jpg", "photos/A.jpg"), "a file has the name of its folder"),
    ],
)
def test_names_other_systems_take_as_one__are_refused(
    crate: Path, tmp_path: Path, names: tuple[str, str], word: str
) -> None:
    """Accents apart from their letters, a sharp s against two, a file where another one's folder stands."""
    bad = tmp_path / "bad.zip"
    bad.write_bytes(crate.read_bytes())
    with zipfile.ZipFile(bad, "a") as archive:
        for name in names:
            archive.writestr(name, "x")
    with pytest.raises(BadInput, match=word):
        unpack(bad, tmp_path / "opened")
    assert not (tmp_path / "opened").exists()


def test_bombs__are_refused_before_anything_is_read(crate: Path, tmp_path: Path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    bomb = tmp_path / "bomb.zip"
    bomb.write_bytes(crate.read_bytes())
    with zipfile.ZipFile(bomb, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("pulls/zeros.csv", b"\0" * 30_000_000)
    with pytest.raises(BadInput, match="as a bomb does"):
        unpack(bomb, tmp_path / "opened")
    monkeypatch.setattr(lists, "LARGEST_CRATE", 10_000)
    with pytest.raises(BadInput, match="opened it would fill"):
        unpack(crate, tmp_path / "opened")
    monkeypatch.setattr(lists, "MOST_FILES", 3)
    with pytest.raises(BadInput, match="files are too many"):
        unpack(crate, tmp_path / "opened")


def test_sizes_that_lie__stop_at_what_the_list_says(crate: Path, tmp_path: Path) -> None:
    """A header that says 10 bytes where more come: what is read never passes the list."""
    data = bytearray(crate.read_bytes())
    with zipfile.ZipFile(crate) as archive:
        info = archive.getinfo("photos/chamber 3.jpg")
    at = data.index(b"PK\x01\x02" + b"", 0)
    while data[at + 46 : at + 46 + len(info.filename)] != info.filename.encode():
        at = data.index(b"PK\x01\x02", at + 4)
    data[at + 24 : at + 28] = struct.pack("<I", 10)
    bad = tmp_path / "bad.zip"
    bad.write_bytes(data)
    told = {one.file for one in look(bad).troubles}
    assert told == {"photos/chamber 3.jpg"}


def test_well_packing_file__is_stored_and_opens(wren: Path, tmp_path: Path) -> None:
    (wren / "pulls" / "flat.csv").write_bytes(b"0.00,0.00\n" * 400_000)
    made = pack(wren, tmp_path / "c.zip")
    assert unpack(made.file, tmp_path / "opened").differences == ()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "no crate, or it was cut short"),
        (b"PK\x03\x04" + b"\0" * 40, "no crate, or it was cut short"),
        (os.urandom(5000), "no crate, or it was cut short"),
    ],
)
def test_other_files__are_told_in_one_sentence(tmp_path: Path, data: bytes, said: str) -> None:
    (tmp_path / "x.zip").write_bytes(data)
    with pytest.raises(BadInput, match=said):
        look(tmp_path / "x.zip")


@pytest.mark.parametrize(
    "told",
    ["", "[]", "{}", '{"schema": "spoolwright crate 1"}', '{"schema": "spoolwright crate 9", "files": {}}', "[" * 9999],
)
def test_lists_that_are_none__are_told_in_one_sentence(tmp_path: Path, told: str) -> None:
    with zipfile.ZipFile(tmp_path / "x.zip", "w") as archive:
        archive.writestr(MANIFEST, told)
    with pytest.raises(BadInput, match=r"crate\.json: "):
        look(tmp_path / "x.zip")


def test_cut_short__nothing_is_opened(crate: Path, tmp_path: Path) -> None:
    whole = crate.read_bytes()
    for share in (0.1, 0.5, 0.9, 0.999):
        (tmp_path / "cut.zip").write_bytes(whole[: int(len(whole) * share)])
        with pytest.raises(BadInput):
            unpack(tmp_path / "cut.zip", tmp_path / "opened")
        assert not (tmp_path / "opened").exists()


def test_opening__never_into_a_folder_that_holds_something(crate: Path, tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    unpack(crate, tmp_path / "there")  # empty: taken
    with pytest.raises(BadInput, match="a crate opens into a new folder"):
        unpack(crate, tmp_path / "there")


@pytest.mark.slow
@pytest.mark.parametrize("job", ["pack", "unpack"])
def test_killed_half_way__all_or_nothing(tmp_path: Path, job: str) -> None:
    """Killed at many moments, the target is there whole or not at all."""
    wren = build(tmp_path / "wren")
    (wren / "pulls" / "long.bin").write_bytes(os.urandom(60_000_000))
    made = tmp_path / "made.zip"
    if job == "unpack":
        pack(wren, made)
    into = tmp_path / "out"
    what = f"pack(Path({str(wren)!r}), Path({str(made)!r}))"
    if job == "unpack":
        what = f"unpack(Path({str(made)!r}), Path({str(into)!r}))"
    code = (
        "from pathlib import Path\n"
        "from spoolwright.crate.pack import pack\nfrom spoolwright.crate.unpack import unpack\n"
        f"print(1, flush=True); {what}"
    )
    target = made if job == "pack" else into
    killed = 0
    for wait in (0.1, 0.3, 0.6, 0.9, 1.2, 1.6):
        started = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE)
        assert started.stdout is not None
        started.stdout.readline()
        time.sleep(wait)
        if started.poll() is None:
            started.send_signal(signal.SIGKILL)
            killed += 1
        started.wait()
        started.stdout.close()
        if target.exists():
            if job == "pack":
                assert look(made).troubles == ()
                made.unlink()
            else:
                assert files(target) == files(wren)
                break
    assert killed >= 2
