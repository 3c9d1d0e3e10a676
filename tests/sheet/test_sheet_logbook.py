"""The logbook: added to, never rewritten; a damaged line is reported."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import UTC, datetime

import pytest

from spoolwright.errors import BadInput
from spoolwright.sheet import logbook


def test_entries_come_back_in_order(tmp_path):
    at = datetime(2024, 5, 4, 16, 20, tzinfo=UTC)
    logbook.append(
        tmp_path, "measurement", "Chamber 3 by burette", "A. Maker", at=at, path="cylinders.chamber[3]", value="52.3 cc"
    )
    logbook.append(tmp_path, "change", "Main jet 1.50 to 1.55 mm, lean at 4500 rpm", "A. Maker")
    book = logbook.read(tmp_path)
    assert book.faults == ()
    assert [e.kind for e in book.entries] == ["measurement", "change"]
    first = book.entries[0]
    assert (first.time, first.author) == ("2024-05-04T16:20:00+00:00", "A. Maker")
    assert first.details == {"path": "cylinders.chamber[3]", "value": "52.3 cc"}
    assert datetime.fromisoformat(book.entries[1].time).tzinfo is not None


def test_no_logbook_is_an_empty_one(tmp_path):
    assert logbook.read(tmp_path) == logbook.Logbook((), ())


def test_damaged_last_line__reported_and_the_next_entry_is_whole(tmp_path):
    logbook.append(tmp_path, "note", "first", "A")
    logbook.append(tmp_path, "note", "second", "A")
    path = tmp_path / logbook.LOGBOOK_FILE
    whole = path.read_bytes()
    path.write_bytes(whole[:-12])
    book = logbook.read(tmp_path)
    assert [e.text for e in book.entries] == ["first"]
    assert str(book.faults[0]).startswith("logbook.jsonl:2  this last line was cut short")
    logbook.append(tmp_path, "note", "third", "A")
    book = logbook.read(tmp_path)
    assert [e.text for e in book.entries] == ["first", "third"]
    assert "this line is not an entry" in str(book.faults[0])
    assert path.read_bytes().startswith(whole[:-12])  # nothing that stood there was touched


@pytest.mark.parametrize(
    "row",
    [b"[1]", b"{}", b"null", b'{"time": 1, "author": "a", "kind": "note", "text": "x"}', b"\xff\xfe", b"[" * 5000],
)
def test_lines_that_are_no_entries(tmp_path, row):
    logbook.append(tmp_path, "note", "first", "A")
    with (tmp_path / logbook.LOGBOOK_FILE).open("ab") as file:
        file.write(row + b"\n")
    book = logbook.read(tmp_path)
    assert len(book.entries) == 1
    assert book.faults[0].line == 2


def test_refused_entries(tmp_path):
    with pytest.raises(BadInput, match=r'"chnage" is not a kind of entry \(did you mean "change"\?\)'):
        logbook.append(tmp_path, "chnage", "x", "A")
    with pytest.raises(BadInput, match="an entry needs its words and its author"):
        logbook.append(tmp_path, "note", " ", "A")
    with pytest.raises(BadInput, match="needs its offset from UTC"):
        logbook.append(tmp_path, "note", "x", "A", at=datetime(2024, 5, 4))
    with pytest.raises(BadInput, match="text, numbers, lists and tables only"):
        logbook.append(tmp_path, "note", "x", "A", value=object())
    with pytest.raises(BadInput, match="cannot be written"):
        logbook.append(tmp_path / "nowhere", "note", "x", "A")
    assert not (tmp_path / logbook.LOGBOOK_FILE).exists()


def test_line_breaks_in_the_words_stay_one_line(tmp_path):
    logbook.append(tmp_path, "note", "one\ntwo\u2028three", "A")
    rows = (tmp_path / logbook.LOGBOOK_FILE).read_bytes().split(b"\n")
    assert len(rows) == 2
    assert json.loads(rows[0])["text"] == "one\ntwo\u2028three"
    assert logbook.read(tmp_path).entries[0].text == "one\ntwo\u2028three"


def test_several_who_write_at_once__no_entry_is_lost_or_torn(tmp_path):
    code = (
        "import sys; from spoolwright.sheet import logbook\n"
        "for i in range(25): logbook.append(sys.argv[1], 'note', f'{sys.argv[2]} {i} ' + 'x' * 3000, 'A')"
    )
    writers = [subprocess.Popen([sys.executable, "-c", code, str(tmp_path), name]) for name in "abc"]
    assert [w.wait() for w in writers] == [0, 0, 0]
    book = logbook.read(tmp_path)
    assert book.faults == ()
    assert sorted(e.text.split(" x")[0] for e in book.entries) == sorted(f"{n} {i}" for n in "abc" for i in range(25))
