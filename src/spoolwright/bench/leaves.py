"""The book as pages to leaf through, made in a thread of its own, and its files to take along."""

from __future__ import annotations

import asyncio
import base64
from dataclasses import replace
from html import escape

from nicegui import ui

from spoolwright.bench.desk import Desk
from spoolwright.bench.elements import box, button, html, panel
from spoolwright.bench.shell import pick
from spoolwright.book import make as books
from spoolwright.book import to_html, to_pdf
from spoolwright.book.build import Build
from spoolwright.book.content import Book
from spoolwright.book.make import Options
from spoolwright.book.run import RESULTS
from spoolwright.errors import SpoolwrightError

PAPER = {"a4": "A4", "letter": "Letter"}
UNITS = {"typed": "as typed", "metric": "metric", "us": "US"}


class Leaves:
    """The panel. :meth:`show` draws the book of what was gathered; another paper or units makes it anew."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.options = Options(desk.variant, run=False)
        self.book: Book | None = None
        self.pages: list[bytes] = []
        self.at = 0
        self.turn = 0
        made, self.side = panel("The book", classes="spine")
        with made, box("div", "bd"):
            with box("div", "btns").style("margin-bottom:10px"):
                html("Paper", "span", "u")
                pick("Paper", PAPER, "a4", lambda value: self._choose(paper=value))
                html("Units", "span", "u")
                pick("Units", UNITS, "typed", lambda value: self._choose(units=value))
                button("PDF", self._pdf, "btn pri", "p", "P", "Download the book as PDF")
                button("HTML", self._html, "btn", label="Download the book as one HTML file")
                button("Write into results", self._write, "btn q")
            with box("div", "btns leafing").style("margin-bottom:8px"):
                self.back = button("Before", lambda: self._leaf(-1), "btn s", "b", "B", "Page before")
                self.place = html("", "span", "note")
                self.on = button("Next", lambda: self._leaf(1), "btn s", "n", "N", "Next page")
            self.leaf = html("", "div", "leaf")

    def _choose(self, **changed: str) -> None:
        self.options = replace(self.options, **changed)  # type: ignore[arg-type]
        ui.timer(0.01, self.show, once=True)

    async def show(self) -> Build | None:
        """Gather, make and draw; what was gathered, None where the sheet has faults or another call came after."""
        self.turn += 1
        mine = self.turn
        self.side.content = "making the book"
        try:
            build, book, pages = await asyncio.to_thread(_made, self.desk, self.options)
        except SpoolwrightError as trouble:
            if mine == self.turn:
                self.side.content = ""
                self.leaf.content = f'<p class="bad">{escape(str(trouble))}</p>'
            return None
        if mine != self.turn:
            return None
        self.book, self.pages = book, pages
        self.at = min(self.at, len(pages) - 1)
        note = build.run_note or "with the kept run"
        self.side.content = f"{len(pages)} pages, {escape(note.rstrip('.'))}"
        self._draw()
        return build

    def _draw(self) -> None:
        if not self.pages:
            return
        picture = base64.b64encode(self.pages[self.at]).decode("ascii")
        told = f"Page {self.at + 1} of {len(self.pages)} of the book"
        self.leaf.content = f'<img src="data:image/png;base64,{picture}" alt="{told}">'
        self.place.content = f"page {self.at + 1} of {len(self.pages)}"
        for one, off in ((self.back, self.at == 0), (self.on, self.at + 1 == len(self.pages))):
            one.props["disabled"] = off
            one.update()

    def _leaf(self, by: int) -> None:
        at = min(max(self.at + by, 0), max(len(self.pages) - 1, 0))
        if at != self.at:
            self.at = at
            self._draw()

    async def _pdf(self) -> None:
        if self.book is not None:
            data, _ = await asyncio.to_thread(to_pdf.pdf, self.book)
            ui.download.content(data, f"{self.book.build}-book.pdf")

    async def _html(self) -> None:
        if self.book is not None:
            ui.download.content(await asyncio.to_thread(to_html.html, self.book), f"{self.book.build}-book.html")

    async def _write(self) -> None:
        if self.book is None:
            return
        try:
            done = await asyncio.to_thread(books.write, self.book, self.desk.folder / RESULTS)
        except SpoolwrightError as trouble:
            self.desk.say(str(trouble))
        else:
            self.desk.say(f"{RESULTS}/{done.pdf.name} and {RESULTS}/{done.html.name} are written.")


def _made(desk: Desk, options: Options) -> tuple[Build, Book, list[bytes]]:
    build = books.gather(desk.folder, options)
    book = books.of_build(build, options)
    return build, book, to_pdf.pictures(book, 120.0)
