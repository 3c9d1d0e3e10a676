"""Hand over: what does the record lack, what goes along, what does it cost, and the book and crate themselves."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import Sequence
from html import escape
from pathlib import Path

from nicegui import ui

from spoolwright.bench.desk import Desk, Page
from spoolwright.bench.elements import Line, box, button, html, panel, scroll
from spoolwright.bench.finding import working
from spoolwright.bench.leaves import Leaves
from spoolwright.bench.shell import Answer
from spoolwright.bench.upload import MB, Upload
from spoolwright.bench.words import told
from spoolwright.book import handover, record
from spoolwright.book.build import Build
from spoolwright.crate import pack, unpack
from spoolwright.errors import BadInput, SpoolwrightError
from spoolwright.sheet import Sheet, logbook

QUESTION = "What does the record lack, what goes along and at what cost, and is the engine set up again from the book?"
LARGEST_CRATE = 60 * MB
COST = (
    "goods_paid",
    "freight_paid",
    "insurance_amount",
    "customs_value",
    "duty",
    "tax_base_amount",
    "tax",
    "fees_total",
    "landed_cost",
)
CRATE = ("outside_length", "outside_width", "outside_height", "volume", "gross_weight")


class HandOver:
    """The page; everything is drawn again from what the book gathers."""

    def __init__(self, desk: Desk, answer: Answer) -> None:
        self.desk, self.answer = desk, answer
        self.digest = ""
        with box("div", "cols").style("grid-template-columns:minmax(0,480fr) minmax(0,896fr)"):
            with box("div"):
                made, self.gaps_side = panel("Gaps", "gravest first")
                with made:
                    self.gaps = box("div")
                self.signing = Signing(desk, self.again)
                made, self.cost_side = panel("Landed cost")
                with made:
                    self.cost = box("div", "bd")
                made, _ = panel("Crate", "size and weight")
                with made:
                    self.crate = box("div", "bd")
            with box("div"):
                self.leaves = Leaves(desk)
        with box("div", "cols").style("grid-template-columns:repeat(3,minmax(0,1fr))"):
            with box("div"):
                made, _ = panel("Packing list", "tick as it goes in")
                with made:
                    self.packing = box("div", "bd")
            with box("div"):
                made, _ = panel("First service and spares", "* usual, not said in the sheet")
                with made:
                    self.service = box("div", "bd")
            with box("div"):
                _crate_file(desk)
        answer.say("The record is being read.")

    async def show(self) -> None:
        """Gather and draw."""
        sheet = self.desk.sheet
        self.digest = sheet.digest if sheet is not None else ""
        build = await self.leaves.show()
        if build is None:
            return
        self.answer.say(_sentence(build))
        self._gaps(build.gaps)
        self.signing.show(build)
        self._cost(build.typed)
        self._crate(build.typed)
        self._lists(build.typed)

    def again(self) -> None:
        """Draw again soon."""
        ui.timer(0.01, self.show, once=True)

    def changed(self) -> None:
        """After an edit or a run: again where the sheet is another."""
        sheet = self.desk.sheet
        if sheet is not None and sheet.digest != self.digest:
            self.again()

    def _gaps(self, gaps: Sequence[record.Gap]) -> None:
        self.gaps_side.content = f"{len(gaps)} open, gravest first" if gaps else "none"
        self.gaps.clear()
        with self.gaps:
            if not gaps:
                html("Nothing is missing that the book asks for.", "p", "note").style("padding:12px 14px")
            for gap in gaps:
                html(
                    f'<span class="v tag none">{escape(gap.kind)}</span> <b>{escape(gap.what)}</b>'
                    f'<span class="said">{escape(told(gap.fill))}</span>',
                    "p",
                    "gap",
                )

    def _cost(self, sheet: Sheet) -> None:
        answer, trouble = handover.tried(sheet, "cost")
        self.cost.clear()
        with self.cost:
            if answer is None:
                html(escape(trouble or "No price is given (handover.goods)."), "p", "note")
                self.cost_side.content = ""
                return
            self.cost_side.content = "rates as given"
            rows = [(name.replace("_", " "), answer.shown(name)) for name in COST if name in answer.results]
            _facts("Landed cost", rows, last=True)
            with box("details"):
                html("how it comes about", "summary", "link note")
                html(working(answer.working), "div", "wk").style("margin-left:0")

    def _crate(self, sheet: Sheet) -> None:
        answer, trouble = handover.tried(sheet, "crate")
        self.crate.clear()
        with self.crate:
            if answer is None:
                html(
                    escape(trouble or "Size and weight of the engine are not given (handover.length, …)."), "p", "note"
                )
                return
            rows = [(name.replace("_", " "), answer.shown(name)) for name in CRATE]
            weight, _ = handover.tried(sheet, "freight_weight")
            if weight is not None:
                rows.append(("chargeable weight", weight.shown("chargeable_weight")))
            _facts("Crate", rows)
            html(escape(handover.LIFT), "p", "warn").style("margin-top:8px")

    def _lists(self, sheet: Sheet) -> None:
        self.packing.clear()
        with self.packing:
            html(
                "".join(
                    f'<li><label><input type="checkbox"> {_what(one)}</label></li>' for one in handover.packing(sheet)
                ),
                "ul",
                "ticks",
            )
        self.service.clear()
        with self.service, scroll("First service and spares"):
            rows = "".join(
                f'<tr><td class="w">{escape(one.after)}{"*" if one.usual else ""}</td>'
                f'<td class="w">{escape(one.work)}</td></tr>'
                for one in handover.service(sheet)
            )
            rows += "".join(
                f'<tr><td class="w">{_what(one)}</td><td class="w">{escape(one.why)}</td></tr>'
                for one in handover.spares(sheet)
            )
            html(
                '<caption class="unseen">First service, then spares</caption>'
                f'<tr><th class="w">after; spare</th><th class="w">work; why</th></tr>{rows}',
                "table",
                "t",
            )


class Signing:
    """Who built, checked and received it; signing appends to the logbook."""

    def __init__(self, desk: Desk, signed: object) -> None:
        self.desk, self.signed = desk, signed
        self.name = ""
        made, _ = panel("Signed", "into the logbook")
        with made, box("div", "bd"):
            with box("div", "btns"):
                html('<label for="signer">Your name</label>', "span", "l")
                Line("", self._named, "search", at_once=True, id="signer", maxlength="80", autocomplete="name").style(
                    "width:210px;font-size:13px;padding:3px 6px"
                )
            self.trouble = html("", "p", "bad")
            self.trouble.set_visibility(False)
            self.rows = box("div").style("margin-top:8px")

    def _named(self, name: str) -> None:
        self.name = name

    def show(self, build: Build) -> None:
        """Who signed for what."""
        self.rows.clear()
        with self.rows:
            for what, entry in record.signatures(build.logbook).items():
                with box("div", "signrow"):
                    if entry is None:
                        html(f"<b>{what}</b> <span class='u'>nobody yet</span>", "span")
                        button(f"Sign: {what}", lambda what=what: self._sign(what), "btn s")  # type: ignore[misc]
                    else:
                        when = entry.time[:16].replace("T", " ")
                        html(f"<b>{what}</b> {escape(entry.author)}, {escape(when)}", "span")

    def _sign(self, what: str) -> None:
        try:
            if not self.name.strip():
                raise BadInput("Write your name first: a signature without a name says nothing.")
            sheet = self.desk.sheet
            words = f"{what[:1].upper()}{what[1:]}, sheet {sheet.digest[:12] if sheet is not None else 'with faults'}"
            logbook.append(self.desk.folder, "sign-off", words, self.name, what=what)
        except BadInput as trouble:
            self.trouble.content = escape(str(trouble))
            self.trouble.set_visibility(True)
            return
        self.trouble.set_visibility(False)
        self.desk.say(f"Signed for {what} by {self.name.strip()}; it stands in the logbook.")
        self.signed()  # type: ignore[operator]


def _crate_file(desk: Desk) -> None:
    """Pack the build into one file, and look into one that came."""
    made, _ = panel("Crate as a file", "the build with hashes of every file")
    with made, box("div", "bd"):
        said = html("", "div")

        async def packed() -> None:
            try:
                name, data, hashed, files = await asyncio.to_thread(_pack, desk.folder)
            except SpoolwrightError as trouble:
                said.content = f'<p class="bad">{escape(str(trouble))}</p>'
                return
            ui.download.content(data, name)
            said.content = (
                f'<p class="info">{escape(name)}: {files} files. Its hash, to be told by another way: '
                f'<span class="mono">{hashed}</span></p>'
            )

        async def seen(name: str, data: bytes) -> str | None:
            said.content = await asyncio.to_thread(_look, name, data)
            return None

        with box("div", "btns").style("margin-top:8px"):
            button("Pack and download", packed, "btn")
            Upload("Look into a crate", seen, ".zip", LARGEST_CRATE, "nothing is opened or written")


def _pack(folder: Path) -> tuple[str, bytes, str, int]:
    name = pack.usual_name(folder).name
    with tempfile.TemporaryDirectory() as beside:
        done = pack.pack(folder, Path(beside) / name)
        return name, done.file.read_bytes(), done.manifest.hash, len(done.manifest.files)


def _look(name: str, data: bytes) -> str:
    with tempfile.TemporaryDirectory() as beside:
        file = Path(beside) / "came.crate.zip"
        file.write_bytes(data)
        try:
            seen = unpack.look(file)
        except BadInput as trouble:
            raise BadInput(str(trouble).replace(str(file), name)) from None
    manifest = seen.manifest
    told_of = (
        f"<p><b>{escape(manifest.build)}</b>, {len(manifest.files)} files, packed by version "
        f'{escape(manifest.version)}. Hash <span class="mono">{manifest.hash}</span></p>'
    )
    if not seen.troubles:
        return f'<div class="info">{told_of}<p>Whole and unchanged.</p></div>'
    wrong = "".join(f"<li>{escape(str(one))}</li>" for one in seen.troubles)
    return f'<div class="bad">{told_of}<p>Not as it was packed:</p><ul>{wrong}</ul></div>'


def _facts(label: str, rows: Sequence[tuple[str, str]], last: bool = False) -> None:
    cells = "".join(
        f'<tr><td class="w">{escape(name)}</td><td>{"<b>" if last and n + 1 == len(rows) else ""}'
        f"{escape(told(value))}{'</b>' if last and n + 1 == len(rows) else ''}</td></tr>"
        for n, (name, value) in enumerate(rows)
    )
    with scroll(label):
        html(f'<caption class="unseen">{escape(label)}</caption>{cells}', "table", "t")


def _what(item: handover.Item) -> str:
    return f"{item.count} × {escape(item.what)}{'*' if item.usual else ''}"


def _sentence(build: Build) -> str:
    gaps = build.gaps
    missing = [who for who, entry in record.signatures(build.logbook).items() if entry is None]
    unsigned = f" Not signed: {', '.join(missing)}." if missing else " Signed by all three."
    if not gaps:
        return f"**Nothing is missing** that the book asks for.{unsigned}"
    first, many = gaps[0], f"{len(gaps)} gap{'s' if len(gaps) > 1 else ''}"
    return f"**{many}** open, the gravest: {first.kind}, **{first.what}**.{unsigned}"


def make(desk: Desk, answer: Answer) -> None:
    """Build the page."""
    page = HandOver(desk, answer)
    page.again()
    desk.on_change(page.changed)


PAGE = Page("hand-over", "Hand over", QUESTION, make)
