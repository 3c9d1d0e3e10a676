"""Predict: what torque, power, boost, temperature and knock margin over speed, and which part gives up first?"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

from spoolwright.bench import finding as finding_rows
from spoolwright.bench import marks
from spoolwright.bench.changed import Changed, other_run
from spoolwright.bench.chart import PlotChart
from spoolwright.bench.desk import Desk, Page
from spoolwright.bench.elements import box, button, html, panel
from spoolwright.bench.gas_path import GasPath
from spoolwright.bench.run_bar import RunBar
from spoolwright.bench.runs import Run
from spoolwright.bench.shell import Answer, pick
from spoolwright.bench.words import rpm, told, with_unit
from spoolwright.charts import gas_path as described
from spoolwright.charts import of_boost, of_column, of_pull
from spoolwright.charts.describe import Chart
from spoolwright.findings.model import Finding, by_urgency

QUESTION = "What torque, power, boost, temperature and knock margin over speed, and which part gives up first?"
EMPTY = "No run yet. Press Run: the engine is computed at full load over its speeds."
ASSUMED = 8  # shown before the rest is folded


class Predict:
    """The page; parts are drawn again only when the run they show is another one."""

    def __init__(self, desk: Desk, answer: Answer) -> None:
        self.desk, self.answer = desk, answer
        self.bar = RunBar(desk, answer)
        self.path = GasPath(desk)
        with box("div", "cols").style("grid-template-columns:minmax(0,972fr) minmax(0,404fr)"):
            with box("div"):
                self.curves_panel, self.curves_side = panel("Over speed")
                with self.curves_panel:
                    self.curves = box("div", "curves faded")
                    self.more = box("div", "note").style("padding:0 14px 10px")
                with box("div", "cols").style("grid-template-columns:minmax(0,1fr) minmax(0,1fr)"):
                    with box("div"):
                        self.changed = Changed(desk)
                    with box("div"):
                        self.rests_panel, self.rests_side = panel("What this rests on")
                        with self.rests_panel:
                            self.rests = box("div", "bd")
            with box("div"):
                made, self.found_side = panel("Findings", "tightest first")
                with made:
                    self.found = box("div")
                    html(
                        '<span class="u"><kbd>j</kbd> <kbd>k</kbd> move, <kbd>Enter</kbd> opens</span>', "p", "note"
                    ).style("padding:8px 14px;border-top:1px solid var(--rule);text-align:right")
        self.drawn: tuple[Any, ...] = ()
        self.charts: dict[str, PlotChart] = {}
        self.column: str | None = None
        self.curves_state: tuple[Any, ...] = ()
        self.laid_out: tuple[Any, ...] = ()

    def show(self) -> None:
        """Bring the page up to date."""
        run, under_way, desk = self.desk.run, self.desk.under_way, self.desk
        shown = under_way if under_way is not None and under_way.variant == desk.variant else run
        self.bar.show()
        stale = desk.stale() and under_way is None
        for made in (self.curves_panel, self.path.panel):
            made.classes(add="stale" if stale else "", remove="" if stale else "stale")
        self._curves(shown, run)
        now = (id(run), desk.sheet.digest if desk.sheet else "", id(other_run(desk)[0]))
        if now == self.drawn:
            return
        self.drawn = now
        self._answer(run)
        sheet_findings = desk.store.findings(desk.variant)
        sheet = run.sheet if run is not None else desk.sheet
        columns = described.stations(sheet) if sheet is not None else []
        listed = _listed(run, sheet_findings, columns)
        letters = marks.letters(len(listed))
        run_findings = run.findings if run is not None else []
        self.path.show_run(run, [*run_findings, *sheet_findings], letters, listed)
        self._findings(listed)
        self.changed.show(run)
        self._rests(run)

    def _answer(self, run: Run | None) -> None:
        if run is None or run.pull is None:
            self.answer.say(EMPTY)
            return
        self.answer.say(_sentence(run))

    def _curves(self, shown: Run | None, last: Run | None) -> None:
        """The charts of the run under way or the last one; another run thin behind."""
        behind, name = other_run(self.desk)
        if shown is not None and shown.pull is None:
            behind, name = last, "last run"
        charts = _charts(shown, self.column)
        thin = {one.name: one for one in _charts(behind, self.column)}
        if shown is None or not charts:
            self._no_curves(shown)
            return
        state = (id(shown), len(shown.points), id(behind), self.column)
        if self.curves_state == state:
            return
        self.curves_state = state
        other = f", thin: {name}" if thin else ""
        self.curves_side.content = f"predicted, full load{escape(other)}"
        layout = (shown.pull is not None, *(one.name for one in charts))
        if layout != self.laid_out:
            self.laid_out = layout
            self._lay_out(shown, charts)
        for chart in charts:
            self.charts[chart.name].show(chart, thin.get(chart.name), name)

    def _no_curves(self, shown: Run | None) -> None:
        state = ("none", shown is None)
        if self.curves_state == state:
            return
        self.curves_state = state
        self.charts, self.laid_out = {}, ()
        self.curves.clear()
        with self.curves:
            html(
                '<p class="note" style="padding:60px 0;text-align:center;grid-column:1/-1;background:var(--well)">'
                f"{'no run yet' if shown is None else 'the first speeds are on their way'}</p>"
            ).style("grid-column:1/-1")

    def _lay_out(self, shown: Run, charts: Sequence[Chart]) -> None:
        self.curves.clear()
        self.charts = {}
        with self.curves:
            for chart in charts:
                self.charts[chart.name] = PlotChart(chart)
        self.more.clear()
        if shown.pull is not None:
            names = of_column.filled(shown.pull)
            options = {"": "choose a column"} | {one: one.replace("_", " ") for one in names}
            with self.more:
                html("Also draw", "span", "u").style("padding-right:8px")
                pick("Also draw a column", options, self.column or "", self._choose)

    def _choose(self, name: str) -> None:
        self.column = name or None
        self.curves_state = ()
        self._curves(self.desk.run, self.desk.run)

    def _findings(self, listed: Sequence[Finding]) -> None:
        self.found.clear()
        with self.found:
            if listed:
                finding_rows.rows(listed, self.path.light)
            else:
                html("What a run says against your limits stands here.", "p", "note").style("padding:12px 14px")

    def _rests(self, run: Run | None) -> None:
        """What was assumed: the run's own list, or the sheet's."""
        sheet = self.desk.sheet
        rows = run.pull.assumed if run is not None and run.pull is not None else ()
        if not rows and sheet is not None:
            rows = tuple((one.path, one.text, one.reason) for one in sheet.assumed)
        self.rests_side.content = f"{len(rows)} assumed"
        self.rests.clear()
        with self.rests:
            html(_assumed(rows[:ASSUMED]), "div", "scroll")
            if len(rows) > ASSUMED:
                rest = html(_assumed(rows[ASSUMED:]), "div", "scroll")
                rest.set_visibility(False)
                more = button(f"{len(rows) - ASSUMED} more", lambda: _swap(more, rest), "link note")


def _swap(gone: Any, come: Any) -> None:
    gone.set_visibility(False)
    come.set_visibility(True)


def _assumed(rows: Sequence[tuple[str, str, str]]) -> str:
    cells = "".join(
        f'<tr><td class="w">{escape(path.replace("_", " ").replace(".", ", "))}</td>'
        f'<td><span class="as">{escape(text)}</span></td><td class="w">{escape(reason)}</td></tr>'
        for path, text, reason in rows
    )
    return f'<table class="t" aria-label="Assumed values">{cells}</table>'


def _charts(run: Run | None, column: str | None) -> list[Chart]:
    if run is None:
        return []
    pull = run.so_far
    charts = of_pull.charts(pull, run.sheet)
    charts[1:1] = of_boost.charts(pull, run.sheet)
    if column is not None and charts and column in of_column.filled(pull):
        charts.append(of_column.column_chart(pull, column))
    return charts


def _sentence(run: Run) -> str:
    """The answer: most torque, most power, what gives up first."""
    assert run.pull is not None
    points = [point for point in run.pull.points if point.columns["converged"]]
    if not points:
        return "No speed settled; see the findings."
    strong = max(points, key=lambda one: one.columns["torque_Nm"]).columns
    fast = max(points, key=lambda one: one.columns["power_kW"]).columns
    said = (
        f"**{with_unit(strong['torque_Nm'], 'N m')}** at {rpm(strong['speed_rpm'])} and "
        f"**{with_unit(fast['power_kW'], 'kW')}** at {rpm(fast['speed_rpm'])}"
    )
    if run.turbo_off:
        said += ", with the turbo taken off"
    first = next((one for one in by_urgency(list(run.findings)) if one.verdict in ("stop", "watch")), None)
    if first is None:
        return f"{said}. Nothing gives up within this pull."
    return f"{said}. First to give up: **{first.subject}**, {told(first.sentence.split('. ')[0].rstrip('.'))}."


def _listed(run: Run | None, of_sheet: Sequence[Finding], columns: Sequence[described.Station]) -> list[Finding]:
    """The run's findings, and what is open on the sheet along the gas path."""
    mine = list(run.findings) if run is not None else []
    open_ones = [one for one in of_sheet if one.verdict != "sound" and any(described.judged(c, [one]) for c in columns)]
    return by_urgency([*mine, *(one for one in open_ones if one.subject not in {m.subject for m in mine})])


def make(desk: Desk, answer: Answer) -> None:
    """Build the page."""
    page = Predict(desk, answer)
    page.show()
    desk.on_change(page.show)


PAGE = Page("predict", "Predict", QUESTION, make)
