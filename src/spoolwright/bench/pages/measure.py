"""Measure: is what I have in spec, per cylinder, and what compression ratio do I really have?"""

from __future__ import annotations

from html import escape
from itertools import groupby
from typing import Any

from spoolwright.bench import finding as finding_rows
from spoolwright.bench import marks, ticks
from spoolwright.bench.desk import Desk, Page
from spoolwright.bench.elements import box, button, html, panel, scroll
from spoolwright.bench.field import Field
from spoolwright.bench.note_taken import NoteTaken
from spoolwright.bench.shell import Answer, counted, pick
from spoolwright.bench.words import told
from spoolwright.book import by_cylinder
from spoolwright.book.by_cylinder import Row
from spoolwright.findings import ratio_of_cylinders
from spoolwright.findings.model import Finding, by_urgency
from spoolwright.findings.ratio_of_cylinders import Ratio
from spoolwright.sheet import logbook

QUESTION = "Is what I have in spec, per cylinder, and what compression ratio do I really have?"


class Measure:
    """The page: a table for a wide window, one value at a time for a phone; both edit the same fields."""

    def __init__(self, desk: Desk, answer: Answer) -> None:
        self.desk, self.answer = desk, answer
        self.rows: list[Row] = []
        self.ratios: list[Ratio] = []
        self.cells: dict[str, tuple[Any, Any]] = {}
        self.state: tuple[Any, ...] = ()
        self.laid_out: tuple[Any, ...] = ()
        self.cylinder, self.at = 1, 0
        self.shown_cylinder = 0
        with box("div", "cols").style("grid-template-columns:minmax(0,944fr) minmax(0,432fr)"):
            with box("div"):
                with box("div", "wide-only"):
                    made, side = panel("As measured", classes="spine")
                    side.content = (
                        "<span>units as typed</span><span><kbd>Tab</kbd> next cylinder</span>"
                        "<span><kbd>Enter</kbd> takes</span>"
                    )
                    with made, scroll("As measured"):
                        self.table = box("table", "t measures", aria_label="As measured")
                with box("div", "phone-only"):
                    self.phone = box("section", "pn one", aria_label="One value")
                self.notes = NoteTaken(desk)
            with box("div"):
                made, self.ratio_side = panel("Compression ratio")
                with made:
                    self.ratio_heads = html("", "div", "ratios")
                    self.ratio_work = box("div", "bd")
                made, self.open_side = panel("Settle before first start")
                with made:
                    self.open_rows = box("div")

    def show(self) -> None:
        """Bring the page up to date; what stands in a field while it is typed is left alone."""
        sheet = self.desk.sheet
        if sheet is None:
            return
        book = logbook.read(self.desk.folder)
        state = (sheet.digest, len(book.entries))
        if state == self.state:
            return
        self.state = state
        findings = self.desk.store.findings(self.desk.variant)
        self.rows = by_cylinder.rows(sheet, book, findings)
        self.ratios = ratio_of_cylinders.ratios_of(sheet, findings)
        layout = tuple((row.path, len(row.quantities)) for row in self.rows)
        if layout != self.laid_out:
            self.laid_out = layout
            self._lay_out(sheet.cylinder_count)
            self.notes.offer({row.path: row.name for row in self.rows})
            self._phone()
        for row in self.rows:
            drawn, verdict = self.cells[row.path]
            drawn.content, verdict.content = ticks.drawing(row), _verdict(row)
        self._phone_show()
        self._ratio()
        self._open(counted(self.desk, "measure"))
        self.answer.say(self._sentence())

    def _sentence(self) -> str:
        said = ratio_of_cylinders.sentence(self.ratios)
        bad = by_urgency([one for row in self.rows for one in row.findings if one.verdict in ("stop", "watch")])
        if not bad:
            return f"{said} No measure is out of its band."
        first = bad[0]
        return f"{said} **{first.subject[:1].upper()}{first.subject[1:]}:** {told(first.sentence.split('. ')[0])}"

    # ------------------------------------------------------------------ the table
    def _lay_out(self, cylinders: int) -> None:
        self.table.clear()
        self.cells = {}
        columns = max([cylinders, *(len(row.quantities) for row in self.rows)])
        with self.table:
            with box("thead"), box("tr"):
                for name in (
                    "measure",
                    *(f"cyl. {n}" for n in range(1, columns + 1)),
                    "target band, readings",
                    "verdict",
                ):
                    html(name, "th", "w")
            with box("tbody"):
                for group, rows in groupby(self.rows, key=lambda row: row.group):
                    with box("tr", "group"):
                        html(escape(group), "th", "w").props(f"colspan={columns + 3} scope=colgroup")
                    for row in rows:
                        self._table_row(row, columns)

    def _table_row(self, row: Row, columns: int) -> None:
        with box("tr"):
            head = f'<strong>{escape(_title(row.name))}</strong><span class="l">{escape(told(row.how))}</span>'
            html(head, "th", "w").props("scope=row")
            for n in range(1, columns + 1):
                with box("td", "w"):
                    if n <= len(row.quantities):
                        label = f"{_title(row.name)}, {row.of} {n}" if len(row.quantities) > 1 else _title(row.name)
                        Field(self.desk, row.place(n), label, "cell")
            self.cells[row.path] = html("", "td", "w band"), html("", "td", "w")

    # ------------------------------------------------------------------ the phone
    def _phone(self) -> None:
        self.phone.clear()
        self.at = min(self.at, max(len(self.rows) - 1, 0))
        if not self.rows:
            return
        with self.phone:
            count = self.desk.sheet.cylinder_count if self.desk.sheet is not None else 1
            self.tabs = []
            if count > 1:
                with box("div", "tabs", role="group", aria_label="Cylinder"):
                    for n in range(1, count + 1):
                        self.tabs.append(button(str(n), lambda n=n: self._to(n, self.at), "tab"))  # type: ignore[misc]
            with box("div", "bd"):
                self.which = box("div", "pickrow")
                self.one_head = html("")
                self.one_field = box("div")
                self.one_ticks = html("")
                self.one_verdict = html("")
                self.one_ratio = html("", "div", "ratio-line")
            with box("div", "steps-bar"):
                self.before = button("", lambda: self._to(self.cylinder, self.at - 1), "step", label="Value before")
                self.after = button("", lambda: self._to(self.cylinder, self.at + 1), "step next", label="Next value")
        self.shown_cylinder = 0
        self._fill_one()

    def _to(self, cylinder: int, at: int) -> None:
        if not self.rows:
            return
        self.cylinder, self.at = cylinder, at % len(self.rows)
        self._fill_one()
        self._phone_show()

    def _fill_one(self) -> None:
        """Another value in the one field."""
        row = self.rows[self.at]
        n = min(self.cylinder, len(row.quantities))
        names = {str(at): _title(one.name) for at, one in enumerate(self.rows)}
        self.which.clear()
        with self.which:
            pick("Measure", names, str(self.at), lambda value: self._to(self.cylinder, int(value)))
        for made, by, arrow in ((self.before, -1, "&lsaquo; {}"), (self.after, 1, "{} &rsaquo;")):
            name = _title(self.rows[(self.at + by) % len(self.rows)].name)
            made.clear()
            with made:
                html(arrow.format(escape(name)), "span")
            made.props["aria-label"] = f"{'Next value' if by > 0 else 'Value before'}: {name}"
        self.one_field.clear()
        with self.one_field:
            Field(self.desk, row.place(n), f"{_title(row.name)}, {row.of} {n}", "big")

    def _phone_show(self) -> None:
        if not self.rows:
            return
        row = self.rows[self.at]
        n = min(self.cylinder, len(row.quantities))
        self.one_head.content = (
            f'<h2>{escape(_title(row.name))}, {row.of} {n}</h2><p class="note">{escape(row.meaning)}. '
            f"{escape(told(row.how))}</p>"
        )
        self.one_ticks.content = ticks.drawing(row, 340, n)
        self.one_verdict.content = _verdict(row, n)
        mine = next((one for one in self.ratios if one.cylinder == self.cylinder), None)
        self.one_ratio.content = "" if mine is None else _ratio_line(mine)
        for n_tab, tab in enumerate(self.tabs, start=1):
            tab.props["aria-pressed"] = "true" if n_tab == self.cylinder else "false"
            tab.update()

    # ------------------------------------------------------------------ beside it
    def _ratio(self) -> None:
        sheet = self.desk.sheet
        assert sheet is not None
        ends = [sheet.maybe_quantity(f"limits.{end}_ratio") for end in ("min", "max")]
        band = " to ".join(one.text for one in ends if one is not None)
        self.ratio_side.content = f"yours: {escape(band)}" if band else "no limits given"
        self.ratio_heads.content = "".join(_ratio_head(one, len(self.ratios) > 1) for one in self.ratios)
        self.ratio_work.clear()
        with self.ratio_work:
            ruling = next((one for one in self.ratios if one.highest), None)
            if ruling is None:
                html("Not computed yet: bore, stroke, chamber, dish and deck are needed.", "p", "note")
            else:
                html(f"Cylinder {ruling.cylinder}, which has the highest ratio", "p", "note")
                html(finding_rows.working(ruling.working), "div", "wk").style("margin:4px 0 0 0")

    def _open(self, findings: list[Finding]) -> None:
        waiting = [one for one in findings if one.verdict != "sound"]
        self.open_side.content = f"{len(waiting)} open" if waiting else "nothing open"
        self.open_rows.clear()
        with self.open_rows:
            if waiting:
                finding_rows.rows(waiting)
            else:
                html("Nothing is open on this sheet.", "p", "note").style("padding:12px 14px")


def _ratio_head(one: Ratio, among: bool) -> str:
    value, _, near = one.shown.partition(" ")
    beside = f"{near}, highest" if one.highest and among else near
    look = ' class="sel"' if one.highest and among else ""
    tag = marks.tag(one.verdict) if one.verdict else ""
    return (
        f'<div{look}><span class="l">cyl. {one.cylinder}</span><b>{value}</b><span>{escape(beside)}</span>{tag}</div>'
    )


def _ratio_line(one: Ratio) -> str:
    tag = marks.tag(one.verdict) if one.verdict else ""
    return f"<span>Ratio, cylinder {one.cylinder}</span><b>{escape(one.shown)}</b>{tag}"


def _title(name: str) -> str:
    return name[:1].upper() + name[1:]


def _verdict(row: Row, column: int = 0) -> str:
    """The worst judgement on the row (or one column of it) in sign and word, and what is behind it."""
    about = row.about(column) if column else row.findings
    spread = f"spread {row.spread}" if row.spread else ""
    if not about:
        return f'<span class="note">{escape(spread or "no limit given")}</span>'
    worst = about[0]
    behind = spread if worst.verdict == "sound" else told(f"{worst.subject}: {worst.sentence.split('. ')[0]}")
    return f'{marks.tag(worst.verdict)}<span class="said">{escape(behind)}</span>'


def make(desk: Desk, answer: Answer) -> None:
    """Build the page."""
    page = Measure(desk, answer)
    page.show()
    desk.on_change(page.show)


PAGE = Page("measure", "Measure", QUESTION, make)
