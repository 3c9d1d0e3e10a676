"""Clean big files take the quick path; anything unclean in them sends them the careful way, with the same result."""

from __future__ import annotations

import pytest
from dyno_messers import header, line, style

from spoolwright.dyno.readers import fast
from spoolwright.dyno.readers.reading import read_bytes

ROWS = 4000


def long_log(unit_row: str = "below", end: str = "\n", preamble: str = "") -> list[str]:
    s = style(unit_row=unit_row)
    rows = [
        [
            f"{i / 100:.2f}",
            str(2600 + i % 4000),
            f"{i % 850 / 10}",
            f"{0.8 + i % 100 / 1000:.3f}",
            "92.5",
            f"{150 + i % 77 / 10}",
            f"{160 + i % 55 / 10}",
        ]
        for i in range(ROWS)
    ]
    return [*([preamble] if preamble else []), *(line(r, s) for r in [*header(s), *rows])]


@pytest.fixture(autouse=True)
def _small_counts_as_big(monkeypatch):
    monkeypatch.setattr(fast, "WORTH_IT", 50_000)


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("unit_row", ["below", "brackets", "none"])
@pytest.mark.parametrize("preamble", ["", "Date: 2031-03-14"])
def test_clean_log_takes_the_quick_path_with_the_same_result(end, unit_row, preamble, monkeypatch):
    data = (end.join(long_log(unit_row, end, preamble)) + end).encode()
    quick = read_bytes(data, "long.csv")
    assert quick.dialect.fast
    monkeypatch.setattr(fast, "WORTH_IT", 10**12)
    careful = read_bytes(data, "long.csv")
    assert not careful.dialect.fast
    assert quick.table.equals(careful.table)
    assert quick.sha256 == careful.sha256
    assert [c.role for c in quick.columns] == [c.role for c in careful.columns]
    assert quick.segments == careful.segments
    assert quick.flag_names == careful.flag_names
    assert (quick.row_lines == careful.row_lines).all()
    assert quick.dialect.line_ends == careful.dialect.line_ends
    assert [(r.line, r.what) for r in quick.repairs] == [(r.line, r.what) for r in careful.repairs]


DIRT = {
    "word": lambda x: [*x[:2500], x[2500].replace("92.5", "OFF"), *x[2501:]],
    "empty cell": lambda x: [*x[:2500], x[2500].replace("92.5", ""), *x[2501:]],
    "nan": lambda x: [*x[:2500], x[2500].replace("92.5", "nan"), *x[2501:]],
    "infinity": lambda x: [*x[:2500], x[2500].replace("92.5", "inf"), *x[2501:]],
    "short line": lambda x: [*x[:2500], x[2500].rsplit(",", 1)[0], *x[2501:]],
    "long line": lambda x: [*x[:2500], x[2500] + ",7", *x[2501:]],
    "blank line": lambda x: [*x[:2500], "", *x[2500:]],
    "remark": lambda x: [*x[:2500], "// knock?", *x[2500:]],
    "header again": lambda x: [*x[:2500], x[0], x[1], *x[2500:]],
    "footer": lambda x: [*x, "END"],
    "carriage return": lambda x: [*x[:2500], x[2500] + "\r" + x[2501], *x[2502:]],
    "underscore": lambda x: [*x[:2500], x[2500].replace("92.5", "92_5"), *x[2501:]],
    "trailing sign": lambda x: [*x[:2500], x[2500].replace("92.5", "92.5-"), *x[2501:]],
    "other decimal sign": lambda x: [*x[:2500], x[2500].replace("92.5", '"92,5"'), *x[2501:]],
    "quotes": lambda x: [*x[:2500], x[2500].replace("92.5", '"92.5"'), *x[2501:]],
}


@pytest.mark.parametrize("kind", DIRT)
def test_dirt_in_the_middle_is_found(kind):
    data = ("\n".join(DIRT[kind](long_log())) + "\n").encode()
    log = read_bytes(data, "long.csv")
    assert not log.dialect.fast
    assert log.rows in (ROWS, ROWS - 1)
    assert log.table["time"].is_sorted()


def test_code_for_missing_is_found_on_the_quick_path_too():
    lines = long_log()
    lines[2500] = lines[2500].replace("92.5", "-9999")
    log = read_bytes(("\n".join(lines) + "\n").encode(), "long.csv")
    assert log.dialect.fast
    assert log.table["oil_temp"][2498] is None
    assert log.missing_cells == 1
    assert [(r.line, r.column, r.before) for r in log.repairs if r.what == "no value"] == [(2501, "Oil Temp", "-9999")]
