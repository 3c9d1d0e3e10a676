"""What is no log gets one clear sentence, quickly and in bounded memory."""

from __future__ import annotations

import gzip
import io
import os
import resource
import subprocess
import sys
import zipfile

import pytest

from spoolwright.dyno import read_log
from spoolwright.errors import BadInput, BadLog


def sentence(path) -> str:
    with pytest.raises(BadLog) as caught:
        read_log(path)
    text = str(caught.value)
    assert text.startswith(str(path))
    assert "\n" not in text
    assert len(text) < 400
    return text


def test_missing_file(tmp_path):
    assert "no such file" in sentence(tmp_path / "nothing.csv")


def test_folder(tmp_path):
    assert "folder" in sentence(tmp_path)


@pytest.mark.parametrize("data", [b"", b"\n\n\n", b"\xef\xbb\xbf", b"\xff\xfe", b"   \r\n \r\n"])
def test_empty(tmp_path, data):
    path = tmp_path / "empty.csv"
    path.write_bytes(data)
    assert "empty" in sentence(path)


def test_binary(tmp_path):
    path = tmp_path / "noise.csv"
    path.write_bytes(bytes(range(256)) * 400)
    assert "binary" in sentence(path)


@pytest.mark.parametrize("mark", [b"\x89PNG\r\n\x1a\n", b"%PDF-1.7", b"PAR1", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"])
def test_other_kinds_of_file(tmp_path, mark):
    path = tmp_path / "other.csv"
    path.write_bytes(mark + b"0" * 1000)
    assert "export the log as text" in sentence(path)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("<html><table><tr><td>Time</td></tr></table></html>", "HTML"),
        ('<?xml version="1.0"?>\n<log><s t="0" rpm="2500"/></log>', "XML"),
        ('[{"Time": 0.0, "RPM": 2500}, {"Time": 0.1, "RPM": 2510}]', "JSON"),
        ('{\n "time": [0.0, 0.1],\n "rpm": [2500, 2510]\n}', "JSON"),
    ],
)
def test_markup(tmp_path, text, what):
    path = tmp_path / "page.csv"
    path.write_text(text)
    assert what in sentence(path)


def test_names_in_brackets_are_no_markup(tmp_path):
    path = tmp_path / "brackets.csv"
    path.write_text("<Time>,<RPM>\n" + "".join(f"{i / 10},{2500 + i}\n" for i in range(30)))
    assert read_log(path).rows == 30
    path.write_text("[Time],[RPM]\n" + "".join(f"{i / 10},{2500 + i}\n" for i in range(30)))
    assert read_log(path).rows == 30


def test_zip_bomb_is_never_opened(tmp_path):
    path = tmp_path / "bomb.csv"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("log.csv", b"0" * 200_000_000)
    assert path.stat().st_size < 1_000_000
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert "zip archive" in sentence(path)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50_000  # kB


def test_gzip_bomb_is_never_opened(tmp_path):
    path = tmp_path / "bomb.csv"
    path.write_bytes(gzip.compress(b"0,1\n" * 10_000_000))
    assert "gzip" in sentence(path)


def test_two_gigabytes_in_bounded_memory(tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as stream:
        stream.write(b"t,rpm\n0,1\n")
        stream.truncate(2 * 10**9)  # a hole, takes no room on the disk
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert "2.0 GB" in sentence(path)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50_000  # kB


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_pipe(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    assert "pipe" in sentence(tmp_path / "pipe.csv")


@pytest.mark.parametrize(
    "text",
    [
        "Dear Sir,\nthe engine runs well.\nYours\n",
        "just one word\n",
        "a,b,c\nd,e,f\n",
        "1\n2\n3\n",
        "{" + '"a": [' * 2000,
        "x" * 3_000_000,
        "a;" * 10_000 + "\n" + "1;" * 10_000 + "\n",
    ],
)
def test_text_that_is_no_log(tmp_path, text):
    path = tmp_path / "letter.csv"
    path.write_text(text)
    sentence(path)


def test_wrong_confirmation_is_one_sentence(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("t,rpm,CHT\n" + "".join(f"{i / 10},{2600 + i},{150 + i}\n" for i in range(20)))
    for confirmed, word in (
        ({"no such": "afr"}, "no column"),
        ({9: "afr"}, "no column 9"),
        ({"CHT": "head temperature"}, "no role"),
        ({"CHT": "head_temp_1 [furlong]"}, "no unit"),
        ({"CHT": "head_temp_1 [psi]"}, "no unit of"),
    ):
        with pytest.raises(BadInput, match=word):
            read_log(path, confirmed=confirmed)
    assert not (tmp_path / "a.csv.toml").exists()


def test_module_is_light_to_import():
    code = (
        "import sys, spoolwright.dyno; sys.exit(any(m in sys.modules for m in ('polars', 'numba', 'scipy', 'cantera')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
    assert io  # the standard library alone
