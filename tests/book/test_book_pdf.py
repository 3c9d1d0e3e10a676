"""The printed book: title block on every page, nothing outside the frame, one set of units, no text read as markup."""

from __future__ import annotations

import io
import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pytest
from books import DATE, copied, made, pages, with_run

from spoolwright import __version__
from spoolwright.book import run as runs
from spoolwright.book.content import words
from spoolwright.book.make import write_after_pull
from spoolwright.book.to_pdf import pdf, pictures
from spoolwright.sheet import load, logbook

MM = 72.0 / 25.4
PAPER = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", ["wren", "plover"])
def test_every_page__has_its_title_block(tmp_path: Path, name: str, paper: str) -> None:
    folder = with_run(copied(tmp_path / name, name))
    data, count = pdf(made(folder, paper=paper))
    told = pages(data)
    assert len(told) == count
    digest = load(folder).digest[:12]
    titles = {"as built and as set", "Gaps", "measures", "Settings", "Curves", "Limits", "Findings", "log", "Packing"}
    for number, text in enumerate(told, 1):
        for label in ("build", "variant", "sheet of the book", "title", "date", "inputs' hash", "spoolwright", "units"):
            assert label in text, (number, label)
        for value in (digest, DATE, __version__, f"{number} of {count}", name):
            assert value in text, (number, value)
    together = " ".join(told)
    assert all(title in together for title in titles)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("units", ["typed", "us"])
def test_no_text__outside_the_frame(tmp_path: Path, paper: str, units: str) -> None:
    folder = with_run(copied(tmp_path / "wren"))
    data, _ = pdf(made(folder, paper=paper, units=units))
    width, height = (side * MM for side in PAPER[paper])
    for number, page in enumerate(pypdf.PdfReader(io.BytesIO(data)).pages, 1):
        assert math.isclose(float(page.mediabox.width), width, abs_tol=0.05)
        assert math.isclose(float(page.mediabox.height), height, abs_tol=0.05)
        outside = [found for found in _words(page) if not _in_frame(*found[:3], width, height)]
        zones = {text.strip() for *_, text in outside}
        assert zones <= set("12345678ABCDEFGH"), (number, outside[:5])


def _words(page: Any) -> list[tuple[float, float, float, str]]:
    """Left end, height over the lower edge, right end (reckoned narrow), text of each piece."""
    found: list[tuple[float, float, float, str]] = []

    def visit(text: str, cm: Any, tm: Any, font: Any, size: float) -> None:
        if text.strip():
            x = cm[0] * tm[4] + cm[2] * tm[5] + cm[4]
            y = cm[1] * tm[4] + cm[3] * tm[5] + cm[5]
            height = abs(size * tm[3] * cm[3]) or abs(size * tm[0] * cm[0])
            # A letter of the book's serif is at least 0.30 of its size wide on the mean of a line.
            found.append((x, y, x + 0.30 * height * len(text.strip()), text))

    page.extract_text(visitor_text=visit)
    return found


def _in_frame(x: float, y: float, right: float, width: float, height: float) -> bool:
    return x >= 17.0 * MM and right <= width - 8.0 * MM and 8.0 * MM <= y <= height - 9.0 * MM


def test_same_build__same_bytes(tmp_path: Path) -> None:
    folder = with_run(copied(tmp_path / "plover", "plover"))
    assert pdf(made(folder)) == pdf(made(folder))


def test_fonts__are_in_the_file_and_not_the_systems(tmp_path: Path) -> None:
    data, _ = pdf(made(with_run(copied(tmp_path / "plover", "plover"))))
    names = set()
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        for font in page["/Resources"]["/Font"].values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            descriptor = inner["/FontDescriptor"].get_object()
            assert {"/FontFile2", "/FontFile3"} & set(descriptor), font
            names.add(str(inner["/BaseFont"]).partition("+")[2].partition("-")[0])
    assert names <= {"LibertinusSerif", "DejaVuSansMono", "NewCMMath", "NewCM10"}, names


# ----------------------------------------------------------------------------- hostile text
HOSTILE = (
    '#panic("x") *bold* _it_ $x^2$ `raw` @ref <label> = head #import "/etc/passwd" \\\\ \\u0000 '
    '#read(\\"/etc/passwd\\") //comment /*c*/ [x] {y} <script>alert(1)</script> <img src=x onerror=y> &amp; \\u202e'
)


def hostile(folder: Path) -> Path:
    """plover with hostile words wherever words may stand."""
    copied(folder, "plover")
    sheet = folder / "build.toml"
    text = sheet.read_text(encoding="utf-8")
    said = HOSTILE.replace('"', '\\"').replace('\\\\"', '\\"').replace("\\u0000 ", "")
    text = re.sub(r"(?m)^name = .*$", "name = '<b>#x</b> $y$ */'", text, count=1)
    text = re.sub(r"(?m)^note = .*$", "", text)
    text = text.replace("name = '<b>", f'note = "{said}"\nname = \'<b>', 1)
    text += f'\n[handover.spares.x]\npart = "{said}"\ncount = 1\nwhy = "{"W" * 300}"\n'
    sheet.write_text(text, encoding="utf-8")
    logbook.append(folder, "note", HOSTILE + "\n\x07" + "x" * 4000, "#eval(1)", more={"a": ["<i>", "*b*"]})
    logbook.append(folder, "change", "</td></table>", "<svg onload=1>", what="*", **{"from": "#f", "to": "$t$"})
    (folder / "pulls").mkdir()
    (folder / "pulls" / "a#b*c_<x>.csv").write_text("no log\n", encoding="utf-8")
    return folder


def test_hostile_words__are_set_as_they_stand(tmp_path: Path) -> None:
    book = made(hostile(tmp_path / "bad"))
    data, _ = pdf(book)
    told = re.sub(r"\s+", "", " ".join(pages(data)))
    for piece in ('#panic("x")', "*bold*", "_it_", "$x^2$", "`raw`", "@ref", "<label>", "//comment", "<b>#x</b>$y$*/",
                  "<script>alert(1)</script>", "#eval(1)", "#f", "$t$"):  # fmt: skip
        assert piece in told, piece
    assert "root:" not in told  # nothing of the system was read
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        width, height = float(page.mediabox.width), float(page.mediabox.height)
        for x, y, right, text in _words(page):
            if text.strip() not in set("12345678ABCDEFGH"):
                assert _in_frame(x, y, right, width, height), text[:60]


# ----------------------------------------------------------------------------- units
METRIC = (
    r"mm²?|cm[²³]?|m[²³]?|km|L|kg|g|kPa|Pa|bar|mbar|MPa|GPa|°C|N|kN|N m|kW|L/min|L/h|L/s|m³/s|kg/s|kg/h|m/s|km/h|"
    r"N/mm|kN/mm|kg m²|kg/m³|kJ/kg|MJ/kg|g/kWh"
)
US = (
    r"in[²³]?|thou|ft[²³]?|mi|lb|oz|psi|ksi|Mpsi|inHg|inH2O|°F|°R|lbf|lbf ft|hp|cfm|gal/h|qt|gal|lb/min|lb/h|ft/s|mph|"
    r"lbf/in|lb ft²|lb/ft³|Btu/lb|lb/\(hp h\)"
)


def _found(texts: list[str], wanted: str) -> list[str]:
    pattern = re.compile(rf"(?<![\w.:])\d(?:[\d.]*\d)?[\u00a0 ](?:{wanted})(?![\w/²³°])")
    return [f"{m[0]} in: {text[:90]}" for text in texts for m in pattern.finditer(text)]


@pytest.mark.parametrize("name", ["wren", "heron", "plover"])
@pytest.mark.parametrize(("units", "other"), [("metric", US), ("us", METRIC)])
def test_units__are_one_set_all_through(tmp_path: Path, name: str, units: str, other: str) -> None:
    """Everything but what the builder wrote in words and the log, which stands as written."""
    folder = with_run(copied(tmp_path / name, name))
    book = made(folder, units=units)
    own_words = ("Run-in and log",)
    texts = [text for chapter in book.chapters if chapter.title not in own_words for text in words(chapter.blocks)]
    own = {str(e.content) for e in load(folder).entries.values() if e.field.kind == "text"}
    own |= {str(entry.details.get("tool")) for entry in logbook.read(folder).entries}
    strange = _found([text for text in texts if text not in own], other)
    assert not strange, strange[:12]
    assert len(_found(texts, US if units == "us" else METRIC)) > 100


def test_as_typed__stays_as_typed(tmp_path: Path) -> None:
    texts = [t for c in made(with_run(copied(tmp_path / "wren"))).chapters for t in words(c.blocks)]
    together = " ".join(texts).replace("\u00a0", " ")
    for typed in (
        "5.5 psi",
        "0.70 bar",
        "0.92 in",
        "230 cfm @ 3.0 inHg",
        "235 °C",
        "2.8 bar @ 4000 rpm",
        "0.5 deg/psi",
    ):
        assert typed in together, typed


# ----------------------------------------------------------------------------- what is missing is named
def test_missing_parts__are_named_as_gaps(tmp_path: Path) -> None:
    folder = copied(tmp_path / "plover", "plover")
    book = made(folder)
    told = {chapter.title: words(chapter.blocks) for chapter in book.chapters}
    gaps = " ".join(told["Gaps and assumptions"])
    for what in ("run-in", "changes", "predicted curves", "measured curves", "spares", "built", "checked", "received"):
        assert what in gaps, what
    assert "No price is given (handover.goods)." in told["Packing and cost"]
    assert any("none was run" in text for text in told["Curves"])
    assert "Nothing is signed." in told["Run-in and log"]


def test_what_is_there__is_no_gap(tmp_path: Path) -> None:
    book = made(with_run(copied(tmp_path / "wren")))
    gaps = next(words(c.blocks) for c in book.chapters if c.title.startswith("Gaps"))
    for what in ("predicted curves", "run-in", "spares", "first service", "built"):
        assert what not in gaps, what
    assert "received" in gaps


def test_wrens_cost__is_that_of_the_sum(tmp_path: Path) -> None:
    """Landed cost by hand: 4850 EUR and 310 EUR freight at 0.858, 1.2 % insurance, 3 % duty, 20 % tax, 95 GBP."""
    cif = (4850 + 310) * 0.858 * 1.012
    total = cif * 1.03 * 1.20 + 95.0
    texts = [t for c in made(copied(tmp_path / "wren")).chapters for t in words(c.blocks)]
    assert f"{total:.2f} GBP" in texts


def test_pictures__one_a_sheet_in_black_on_white(tmp_path: Path) -> None:
    from PIL import Image

    book = made(with_run(copied(tmp_path / "plover", "plover")), paper="letter")
    shown = [Image.open(io.BytesIO(data)) for data in pictures(book, 60.0)]
    assert len(shown) == pdf(book)[1]
    for picture in shown:
        assert picture.size == pytest.approx((215.9 / 25.4 * 60, 279.4 / 25.4 * 60), abs=1.0)
        colours = np.asarray(picture.convert("RGB")).astype(int)
        assert np.ptp(colours, axis=2).max() <= 2  # black alone: no colour anywhere
        assert 0.005 < (colours.min(axis=2) < 200).mean() < 0.5


@pytest.mark.slow
def test_first_sheet__is_one_page(tmp_path: Path) -> None:
    for name in ("wren", "heron", "plover"):
        folder = with_run(copied(tmp_path / name, name))
        for paper in ("a4", "letter"):
            told = pages(pdf(made(folder, paper=paper))[0])
            assert "received by, date" in told[0], (name, paper)
            assert "Gaps and assumptions" in told[1], (name, paper)


def test_book_after_a_pull__is_written_from_it(tmp_path: Path) -> None:
    folder = with_run(copied(tmp_path / "wren"))
    sheet = load(folder)
    kept = folder / "results" / runs.name_of(sheet)
    report = json.loads(kept.read_text(encoding="utf-8"))
    kept.unlink()
    written = write_after_pull(folder, sheet, report)
    assert written.pdf == folder / "results" / "book.pdf"
    assert kept.is_file()
    assert "Most torque 150" in " ".join(pages(written.pdf.read_bytes())).replace("\u00a0", " ")
