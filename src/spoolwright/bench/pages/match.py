"""Match: which compressor, turbine, spring, carburettor, pump and fan sealing fit this engine and its use?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from spoolwright import units
from spoolwright.bench import finding as finding_rows
from spoolwright.bench import marks, match_tables
from spoolwright.bench.chart import PlotChart, PlotMap
from spoolwright.bench.desk import Desk, Page
from spoolwright.bench.elements import Line, box, button, html, panel, scroll
from spoolwright.bench.jobs import Job
from spoolwright.bench.picking import Picking
from spoolwright.bench.shell import Answer, counted
from spoolwright.bench.words import number, told
from spoolwright.charts import of_map, of_match
from spoolwright.charts.of_map import MapChart, Operating
from spoolwright.engine.map_picture import map_of
from spoolwright.errors import BadInput
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet

QUESTION = "Which compressor, turbine, spring, carburettor, pump and fan sealing fit this engine and its use?"
TOP = 10  # candidates shown
FORCES = ("wastegate cracks", "wastegate fully open")  # judgements whose working is the balance of forces on the gate
NO_TURBO = "This build has no turbocharger: write [charge] and [turbine] into its sheet to match one."


@dataclass(frozen=True)
class Question:
    """A question of the trade: where its panel stands, and which judgements answer it."""

    words: str
    place: str
    speaks: tuple[str, ...]


QUESTIONS = (
    Question("Which compressor?", "map", ("charge.compressor",)),
    Question("Which turbine housing?", "candidates", ("turbine",)),
    Question("Which gate spring?", "spring", ("wastegate.spring", "wastegate.preload", "wastegate.diaphragm")),
    Question("What if the hose comes off?", "sheet", ("wastegate.exhaust_pushes",)),
    Question("Carburettor big enough?", "sheet", ("carburettor",)),
    Question("Does the fuel supply hold?", "sheet", ("fuel", "injection")),
    Question("Enough cooling air?", "sheet", ("cooling",)),
)


class Match:
    """The page; a match is kept with the build and shown stale when the sheet says something else."""

    def __init__(self, desk: Desk, answer: Answer) -> None:
        self.desk, self.answer = desk, answer
        self.chosen = 0
        self.trouble = ""
        self.texts = {"boost": "", "by": ""}
        with answer.buttons:
            self.go = button("Rank candidates", self.start, "btn pri", "r", "R")
            self.stop = button("Cancel", self._cancel, "btn pri", "escape", "Esc")
        self.strip = box("div")
        self._wishes()
        self.asks = html("", "nav", "asks")
        self.asks.props["aria-label"] = "Questions"
        with box("div", "cols").style("grid-template-columns:minmax(0,640fr) minmax(0,736fr)"):
            with box("div"):
                self._map_panel()
            with box("div"):
                self._candidates_panel()
                made, _ = panel("Map off a picture", "click-to-table")
                with made:
                    self.picking = Picking(desk)
        self._spring_panel()
        self._sheet_panel()
        self.state: tuple[Any, ...] = ()

    # ------------------------------------------------------------------ panels
    def _wishes(self) -> None:
        """What a candidate is asked for. Made once: a text begun stays."""
        with box("div", "btns note runopts").style("margin-bottom:12px;gap:4px 14px"):
            for name, label, hint in (
                ("boost", "Boost wanted", "the spring's label"),
                ("by", "held by", "half of top speed"),
            ):
                html(f'<label for="ask-{name}">{label}</label>', "span")
                Line(
                    "",
                    lambda text, name=name: self.texts.update({name: text.strip()[:40]}),  # type: ignore[misc]
                    id=f"ask-{name}",
                    placeholder=hint,
                ).style("width:150px;font-size:13px;padding:2px 6px")

    def _map_panel(self) -> None:
        made, self.map_side = panel("Which compressor?")
        made.props["id"] = "map"
        with made, box("div").style("padding:8px"):
            self.plot = PlotMap("tall")
            self.no_map = html("", "p", "note")

    def _candidates_panel(self) -> None:
        made, self.candidates_side = panel("Candidates", "best first: the widest of the tightest margins")
        made.props["id"] = "candidates"
        with made:
            self.candidates = box("div", "bd")

    def _spring_panel(self) -> None:
        made, self.spring_side = panel("Which gate spring?")
        made.props["id"] = "spring"
        with made:
            self.spring = box("div", "bd")

    def _sheet_panel(self) -> None:
        made, _ = panel("What the sheet says of the parts", "no run needed")
        made.props["id"] = "sheet"
        with made:
            self.sheet_rows = box("div")

    # ------------------------------------------------------------------ work
    @property
    def job(self) -> Job | None:
        """The match of this page's variant."""
        return self.desk.build.jobs.get(("match", self.desk.variant))

    def start(self) -> None:
        """Rank candidates for the sheet as it stands."""
        sheet = self.desk.sheet
        self.trouble = ""
        try:
            asked = self._asked(sheet)
        except BadInput as trouble:
            self.trouble = str(trouble)
            self.show()
            return
        assert sheet is not None
        job = Job("match", sheet.digest, self.desk.store.tell)
        self.desk.build.jobs[("match", self.desk.variant)] = job
        self.chosen = 0
        job.start(lambda one: _match(one, sheet, asked))
        self.desk.store.tell()

    def _asked(self, sheet: Sheet | None) -> Any:
        from spoolwright.match.job import Asked

        if sheet is None or not sheet.has("charge.compressor"):
            raise BadInput(NO_TURBO)
        boost = units.read(self.texts["boost"], "pressure_gauge").value if self.texts["boost"] else None
        by = units.read(self.texts["by"], "rotational_speed") if self.texts["by"] else None
        own = sheet.folder / "candidates"
        folder = own if any(own.glob("*.toml")) else None
        return Asked(boost, (), None if by is None else units.convert(by.value, "rotational_speed", "rpm"), folder)

    def _cancel(self) -> None:
        if self.job is not None:
            self.job.cancel()

    # ------------------------------------------------------------------ showing
    def show(self) -> None:
        """Bring the page up to date."""
        job, sheet = self.job, self.desk.sheet
        running = job is not None and job.state == "running"
        self.go.set_visibility(not running)
        self.stop.set_visibility(running)
        run = self.desk.run
        words = (job.words, job.share, job.state) if job is not None else ()
        state = (id(job), words, sheet.digest if sheet else "", id(run), self.chosen, self.trouble)
        if state == self.state:
            return
        before, self.state = self.state, state
        self._strip(job)
        if running and before[:1] == state[:1]:
            return
        self._answer(job)
        self._asks(job)
        self._map(job)
        self._candidates(job)
        self._springs(job)
        self._of_sheet()

    def _strip(self, job: Job | None) -> None:
        self.strip.clear()
        with self.strip:
            if job is not None and job.state == "running":
                with box("div", "info", role="status").style("margin-bottom:12px"):
                    html(escape(job.words or "Reading the sheet"), "p")
                    html(f'<div class="progress" aria-hidden="true"><i style="width:{100 * job.share:.0f}%"></i></div>')
            elif self.trouble or (job is not None and job.trouble):
                html(f'<p class="bad">{escape(self.trouble or job.trouble)}</p>').style("margin-bottom:12px")  # type: ignore[union-attr]
            elif job is not None and self.desk.sheet is not None and job.rests_on != self.desk.sheet.digest:
                html('<p class="warn">Stale: the sheet was changed since this match. Rank again.</p>').style(
                    "margin-bottom:12px"
                )

    def _answer(self, job: Job | None) -> None:
        if job is None or job.result is None:
            self.answer.say(
                "Not ranked yet. The engine is run for its demand, then compressors and turbines are compared."
            )
            return
        report = job.result[1]
        best = report["candidates"][0]
        if best["threshold_rpm"] is None:
            self.answer.say(
                f"No candidate holds the boost wanted; nearest is **{told(best['name'])}**: {best['tightest']}."
            )
            return
        left = {one["name"]: f"{100 * one['value']:.0f} %" for one in best["margins"] if one["value"] is not None}
        holds = f"holds {report['wish']['boost_kPa']:.0f} kPa from {number(best['threshold_rpm'])} rpm"
        self.answer.say(
            f"**{told(best['name'])}** {holds}, {left.get('surge', 'no margin')} from surge, "
            f"{left.get('choke', 'no margin')} from choke. Tightest: **{best['tightest']}**."
        )

    def _asks(self, job: Job | None) -> None:
        findings = counted(self.desk, "match") + (self.desk.run.findings if self.desk.run else [])
        best = job.result[1]["candidates"][0] if job is not None and job.result is not None else None
        self.asks.content = "".join(_ask(question, findings, best) for question in QUESTIONS)

    def _map(self, job: Job | None) -> None:
        chart = self._chart(job)
        self.plot.set_visibility(chart is not None)
        self.no_map.content = "" if chart is not None else escape(NO_TURBO)
        if chart is not None:
            self.plot.show(chart)
            self.map_side.content = (
                "estimated from sizes" if chart.estimated else f"as measured, {escape(chart.reference)}"
            )

    def _chart(self, job: Job | None) -> MapChart | None:
        """The chosen candidate's map; before a match the build's own, with the last run on it."""
        if job is not None and job.result is not None:
            match, report = job.result
            name = report["candidates"][self.chosen]["name"]
            ranked = next(one for one in match.ranked if one.candidate.name == name)
            return of_match.candidate_map(match, ranked)
        sheet, run = self.desk.sheet, self.desk.run
        picture = map_of(sheet) if sheet is not None else None
        if picture is None:
            return None
        lines: list[Operating] = []
        margins: tuple[of_map.Margin, ...] = ()
        if run is not None and run.pull is not None:
            line = of_map.operating_line(run.pull)
            lines = [line] if line.points else []
            margins = of_map.margins_of(run.pull)
        return of_map.map_chart(picture, lines, margins)

    def _candidates(self, job: Job | None) -> None:
        self.candidates.clear()
        with self.candidates:
            if job is None or job.result is None:
                html(
                    "Rank candidates to see which fits; your own files in candidates/ are tried as well.",
                    "p",
                    "note",
                )
                return
            report = job.result[1]
            with scroll("Candidates"):
                rows = html(match_tables.candidates(report["candidates"], self.chosen))
            rows.on(
                "change",
                lambda event: self._choose(int(event.args)),
                js_handler="(e) => emit(Number(e.target.value))",
            )
            wish = report["wish"]
            html(
                f"Wanted: {wish['boost_kPa']:.0f} kPa ({escape(wish['boost_from'])}), "
                f"held by {number(wish['held_by_rpm'])} rpm. "
                f"{report['candidates_tried']} tried; scaled ones are sizes to look for, no part like them need exist.",
                "p",
                "note",
            ).style("margin-top:8px")

    def _choose(self, n: int) -> None:
        self.chosen = n
        self._map(self.job)

    def _springs(self, job: Job | None) -> None:
        self.spring.clear()
        with self.spring:
            if job is None or job.result is None:
                html("A match says what each spring holds with the best candidate.", "p", "note")
            else:
                self._spring_body(job.result[1])
            self._force()

    def _spring_body(self, report: dict[str, Any]) -> None:
        if report["spring_trouble"]:
            html(escape(f"{report['spring_trouble'][:1].upper()}{report['spring_trouble'][1:]}."), "p", "warn")
        if not report["springs"]:
            return
        sheet = self.desk.sheet
        most = sheet.maybe("limits.max_boost") if sheet is not None else None
        limit = None if most is None else units.convert(most, "pressure_gauge", "kPa")
        with box("div", "cols").style("grid-template-columns:minmax(0,1.2fr) minmax(0,1fr) minmax(0,1fr)"):
            with box("div"):
                with scroll("Springs"):
                    html(match_tables.springs(report["springs"]))
                html("The label leaves out what exhaust pushes on the valve, so the gate opens earlier.", "p", "note")
            PlotChart(of_match.springs(report["springs"], report["wish"]["boost_kPa"], limit))
            if report["gate"] is not None:
                PlotChart(of_match.gate_need(report["gate"]["points"]))

    def _force(self) -> None:
        """The balance of forces on the gate, with this build's numbers."""
        findings = (self.desk.run.findings if self.desk.run else []) + self.desk.store.findings(self.desk.variant)
        about = [f for f in findings if f.working and f.where.startswith("wastegate")]
        one = next((f for f in about if f.subject in FORCES), None)
        if one is None:
            return
        with box("div").style("margin-top:10px;max-width:760px"):
            subject = escape(one.subject[:1].upper() + one.subject[1:])
            html(f"<b>{subject}</b> {marks.tag(one.verdict)} {escape(told(one.sentence))}", "p")
            html(finding_rows.working(one.working), "div", "wk").style("margin:6px 0 0 0")

    def _of_sheet(self) -> None:
        self.sheet_rows.clear()
        with self.sheet_rows:
            finding_rows.rows(counted(self.desk, "match"))


def _match(job: Job, sheet: Sheet, asked: Any) -> Any:
    """In the job's thread: the match and its report."""
    from spoolwright.engine.compiling import is_compiled
    from spoolwright.match.job import match
    from spoolwright.match.report import report

    def ready() -> None:
        words = "The engine is run for its demand"
        job.say(
            words if is_compiled() else "Compiling the solver: the first run on this machine, a minute or so",
            0.0,
        )

    def progress(done: int, count: int) -> None:
        job.say(f"{done} of {count} runs of the engine done", done / max(count, 1))

    found = match(sheet, asked, ready=ready, progress=progress, cancelled=job.stop.is_set)
    return found, report(found, TOP)


def _ask(question: Question, findings: Sequence[Finding], best: dict[str, Any] | None) -> str:
    own = [one for one in findings if any(one.where.startswith(path) for path in question.speaks)]
    said, verdict = "", None
    if question.place == "map" and best is not None:
        said, verdict = told(best["name"]), best["verdict"]
    elif question.place == "candidates" and best is not None:
        said, verdict = told(units.show(best["turbine_area_m2"], "area", "mm2", 3)), best["verdict"]
    elif own:
        worst = min(own, key=lambda one: ("stop", "watch", "not measured", "sound").index(one.verdict))
        said, verdict = told(worst.shown) or worst.subject, worst.verdict
    tag = marks.tag(match_tables.verdict_of(verdict)) if verdict else '<span class="note">not judged</span>'
    words = f'<span class="q">{escape(question.words)}</span><b>{escape(said)}&nbsp;</b>'
    return f'<a href="#{question.place}">{words}{tag}</a>'


def make(desk: Desk, answer: Answer) -> None:
    """Build the page."""
    page = Match(desk, answer)
    page.show()
    desk.on_change(page.show)


PAGE = Page("match", "Match", QUESTION, make)
