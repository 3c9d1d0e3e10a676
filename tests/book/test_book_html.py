"""The book as one HTML file: nothing fetched, nothing run, the same content as the printed one."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

from books import copied, made, with_run
from test_book_pdf import HOSTILE, hostile

from spoolwright.book.content import words
from spoolwright.book.to_html import html

VOID = {"meta", "img", "br", "link", "hr", "input"}


class Page(HTMLParser):
    """Tags with their attributes, text, and whether every tag is closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def test_page__is_one_file_without_outside_reference(tmp_path: Path) -> None:
    page = Page(html(made(with_run(copied(tmp_path / "wren")))))
    for tag, attrs in page.tags:
        assert tag not in ("script", "link", "iframe", "object", "embed", "base", "form"), tag
        for name, value in attrs.items():
            assert not name.startswith("on"), (tag, name)
            if name in ("src", "href", "srcset", "poster", "action", "data"):
                assert value is not None
                assert value.startswith(("#", "data:image/svg+xml;base64,")), (tag, value[:60])
    style = "".join(page.text[:40])
    assert "url(" not in style
    assert "@import" not in style
    policy = next(a["content"] for t, a in page.tags if t == "meta" and a.get("http-equiv"))
    assert policy is not None
    assert policy.startswith("default-src 'none'")


def test_page__says_all_that_the_book_says(tmp_path: Path) -> None:
    book = made(with_run(copied(tmp_path / "wren")))
    page = Page(html(book))
    together = re.sub(r"\s+", " ", " ".join(page.text))
    alts = {attrs.get("alt") for tag, attrs in page.tags if tag == "img"}
    for chapter in book.chapters:
        for text in words(chapter.blocks):
            plain = re.sub(r"\s+", " ", text).strip()
            assert plain in together or text in alts, (chapter.title, text[:80])
    assert len(alts) >= 7


def test_links__lead_to_chapters_and_every_picture_has_words(tmp_path: Path) -> None:
    page = Page(html(made(with_run(copied(tmp_path / "plover", "plover")))))
    ids = {attrs["id"] for _, attrs in page.tags if "id" in attrs}
    links = {(attrs["href"] or "")[1:] for tag, attrs in page.tags if tag == "a"}
    assert links <= ids
    assert len(links) == 12
    assert all(attrs.get("alt") for tag, attrs in page.tags if tag == "img")


def test_hostile_words__are_text_and_nothing_else(tmp_path: Path) -> None:
    page = Page(html(made(hostile(tmp_path / "bad"))))
    together = "".join(page.text)
    assert "<script>alert(1)</script>" in together
    assert "<svg onload=1>" in together
    assert not [tag for tag, _ in page.tags if tag in ("script", "svg", "b")]
    assert [a for t, a in page.tags if t == "img" and a.get("src") == "x"] == []
    assert "#panic" in HOSTILE
