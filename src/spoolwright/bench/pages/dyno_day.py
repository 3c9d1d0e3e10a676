"""Dyno day: what did the pulls show, where do they differ from the prediction, why, and what next?"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from html import escape
from typing import Any

from nicegui import ui
from nicegui.element import Element

from spoolwright.bench.chart import PlotChart
from spoolwright.bench.desk import Desk, Page
from spoolwright.bench.dyno_panels import Causes, CorrectedAlone, PlanOfSession, StopList
from spoolwright.bench.elements import Line, box, button, html, panel, scroll
from spoolwright.bench.import_report import Confirmed, ImportReport
from spoolwright.bench.logs import Judged, Logs, Seen
from spoolwright.bench.shell import Answer, pick
from spoolwright.bench.upload import MB, Upload
from spoolwright.bench.words import number, rpm, told, with_unit
from spoolwright.charts import of_dyno
from spoolwright.dyno.measured import Measured
from spoolwright.dyno.plan import plan
from spoolwright.dyno.told import day, tops
from spoolwright.errors import SpoolwrightError
from spoolwright.sheet import logbook

QUESTION = "What did the pull show, where does it differ from the prediction, why, and what next?"
EMPTY = "No log yet. Read one: it is shown as it was read before anything is kept."
LARGEST = 20 * MB


class DynoDay:
    """The page; its parts show the log in hand, the pulls chosen of it, and what they say."""

    def __init__(self, desk: Desk, answer: Answer) -> None:
        self.desk, self.answer = desk, answer
        self.logs = Logs(desk.folder)
        self.seen: Seen | None = None
        self.chosen: frozenset[int] = frozenset()
        self.judged: Judged | None = None
        self.name = ""
        self.drawn = ""
        self.planned: tuple[str, int] | None = None
        self.turn = 0  # of what was asked for last; what comes later of an earlier asking is dropped
        self.listed: Seen | None = None
        self.rows: dict[int, Element] = {}
        with answer.buttons:
            Upload("Read a log", self._dropped, ".csv,.txt,.log,.tsv,.dat", LARGEST, "", primary=True)
        with box("div", "cols dyno").style("grid-template-columns:minmax(0,272fr) minmax(0,741fr) minmax(0,347fr)"):
            with box("div", "in-sight", tabindex="0", role="region", aria_label="Stop list, always in sight"):
                self.stops = StopList()
            with box("div"):
                self._observed_panel()
                self.causes = Causes()
                self.report = ImportReport(self._confirm, self._state)
            with box("div"):
                self._pulls_panel()
                self.plan = PlanOfSession(desk, lambda: self.name)
                self.corrected = CorrectedAlone()
        answer.say(EMPTY)

    def _observed_panel(self) -> None:
        made, self.observed_side = panel("Observed", classes="spine")
        with made:
            self.observed = box("div").style("padding:8px 8px 10px")
        self.charts: list[PlotChart] = []

    def _pulls_panel(self) -> None:
        made, self.pulls_side = panel("Pulls", "")
        with made, box("div", "bd"):
            self.kept_pick = box("div", "btns")
            self.pulls = box("div").style("margin-top:8px")
            with box("div", "btns").style("margin-top:10px"):
                html('<label for="keeper">Your name, for the logbook</label>', "span", "l")
                Line("", self._named, "small", at_once=True, id="keeper", maxlength="80", autocomplete="name").style(
                    "width:150px"
                )
                self.keep_button = button("Keep with the build", self._keep, "btn s pri")
            self.trouble = html("", "p", "bad")
            self.trouble.set_visibility(False)

    # ------------------------------------------------------------------ what happens
    def _named(self, name: str) -> None:
        self.name = name

    async def begin(self) -> None:
        """Show the last kept log, if there is one."""
        self._plan()
        names = await asyncio.to_thread(self.logs.kept)
        if names:
            await self._take(lambda: self.logs.read(names[0]), "", self._refuse)
        else:
            self._show()

    def _plan(self) -> None:
        """Stop list and plan, again after an edit or a signature."""
        sheet = self.desk.sheet
        if sheet is None:
            return
        state = (sheet.digest, len(logbook.read(self.desk.folder).entries))
        if state != self.planned:
            self.planned = state
            made = plan(sheet, folder=self.desk.folder)
            self.stops.show(made)
            self.plan.show(made)

    async def _dropped(self, name: str, data: bytes) -> None:
        await self._use(lambda: self.logs.drop(name, data))

    def _open(self, name: str) -> None:
        self._later(lambda: self.logs.read(name))

    def _confirm(self, columns: Confirmed) -> None:
        if self.seen is not None:
            name = self.seen.path.name
            self._later(
                lambda: self.logs.read(name, columns), "The columns are remembered beside the log.", self.report.refuse
            )

    def _state(self, rig: dict[str, str], air: dict[str, str]) -> None:
        if self.seen is not None:
            seen = self.seen
            self._later(lambda: self.logs.state(seen, rig, air), "Remembered beside the log.", self.report.refuse)

    def _keep(self) -> None:
        if self.seen is not None:
            seen, name = self.seen, self.name
            self._later(lambda: self.logs.keep(seen, name), "The log is kept with the build and in its logbook.")

    def _refuse(self, said: str) -> None:
        self.trouble.content = escape(said)
        self.trouble.set_visibility(True)

    def _later(self, work: Callable[[], Seen], said: str = "", refuse: Callable[[str], None] | None = None) -> None:
        ui.timer(0.01, lambda: self._take(work, said, refuse or self._refuse), once=True)

    async def _take(self, work: Callable[[], Seen], said: str, refuse: Callable[[str], None]) -> None:
        try:
            await self._use(work)
        except SpoolwrightError as trouble:
            refuse(str(trouble))
            self.desk.say(str(trouble))
            return
        if said:
            self.desk.say(said)

    async def _use(self, work: Callable[[], Seen]) -> None:
        """Take the log that ``work`` reads, unless another was asked for meanwhile. Raises what reading it raises."""
        self.turn += 1
        turn = self.turn
        seen = await asyncio.to_thread(work)
        if turn != self.turn:
            return
        self.trouble.set_visibility(False)
        self.seen = seen
        self.chosen = frozenset(one.number for one in seen.pulls)
        self.report.show(seen)
        await self._judge()

    async def _judge(self) -> None:
        seen, sheet, chosen = self.seen, self.desk.sheet, self.chosen
        self.drawn = sheet.digest if sheet is not None else ""
        judged = None
        if seen is not None and sheet is not None:
            judged = await asyncio.to_thread(self.logs.judge, seen, chosen, sheet)
        if seen is self.seen and chosen == self.chosen:
            self.judged = judged
            self._show()

    def changed(self) -> None:
        """After an edit or the end of a run: plan, prediction and limits may be others."""
        self._plan()
        sheet = self.desk.sheet
        now = "" if sheet is None else sheet.digest
        waits = self.judged is not None and self.judged.against is None and self.desk.under_way is None
        if now != self.drawn or (waits and self.desk.run is not None):
            self.drawn = now
            ui.timer(0.01, self._judge, once=True)

    def _choose(self, number_: int, on: bool) -> None:
        self.chosen = self.chosen | {number_} if on else self.chosen - {number_}
        if number_ in self.rows:
            self.rows[number_].classes(add="" if on else "struck", remove="struck" if on else "")
        ui.timer(0.01, self._judge, once=True)

    # ------------------------------------------------------------------ what is shown
    def _show(self) -> None:
        seen, judged = self.seen, self.judged
        self.answer.say(_sentence(seen, judged))
        self._pulls(seen)
        self._observed(seen, judged)
        shown = judged.pulls if judged is not None else ()
        self.corrected.show(max(shown, key=lambda one: tops(one).power) if shown else None)
        self.causes.show(judged.diagnosis if judged is not None else None)
        if seen is None:
            self.report.show(None)

    def _pulls(self, seen: Seen | None) -> None:
        names = self.logs.kept()
        options = {name: name for name in names}
        if seen is not None and seen.fresh:
            options = {seen.path.name: f"{seen.path.name}, not kept yet"} | options
        self.keep_button.set_visibility(seen is not None and seen.fresh)
        self.pulls_side.content = f"{len(names)} log{'s' if len(names) != 1 else ''} kept"
        self.kept_pick.clear()
        with self.kept_pick:
            if options:
                html("Log", "span", "u")
                pick("Log", options, seen.path.name if seen is not None else "", self._open)
        if seen is self.listed and seen is not None:
            return
        self.listed, self.rows = seen, {}
        self.pulls.clear()
        with self.pulls:
            if seen is None:
                html("No pull is kept with this build.", "p", "note")
                return
            if not seen.pulls:
                html(escape(seen.trouble or "No pull of this log tells a torque."), "p", "warn")
                return
            with scroll("Pulls"), box("table", "t", aria_label="Pulls of this log"):
                html('<th class="w">pull</th><th>N m</th><th>at</th><th>kW</th><th>at</th>', "tr")
                for one in seen.pulls:
                    self._pull(one)
            html(
                escape(told(f"{seen.pulls[0].method}; {seen.pulls[0].place}, {seen.pulls[0].corrected_by}.")),
                "p",
                "note",
            )

    def _pull(self, one: Measured) -> None:
        top = tops(one)
        self.rows[one.number] = box("tr")
        with self.rows[one.number]:
            with box("td", "w"):
                tick = html(f'<label><input type="checkbox" checked> {one.number}</label>', "span")
                tick.on(
                    "change",
                    lambda event: self._choose(one.number, bool(event.args)),
                    js_handler="(e) => emit(e.target.checked)",
                )
            for text in (number(top.torque), number(top.torque_rpm), number(top.power, 1), number(top.power_rpm)):
                html(text, "td")

    def _observed(self, seen: Seen | None, judged: Judged | None) -> None:
        """The curves; drawn in place where the same ones stand there, so that what was zoomed stays."""
        drawn = [] if judged is None or not judged.pulls else [of_dyno.observed(judged.pulls, judged.against)]
        if judged is not None and judged.against is not None:
            drawn.append(of_dyno.difference(judged.against))
        self.observed_side.content = escape(told(day(judged.pulls[0]))) if judged is not None and drawn else ""
        if len(drawn) != len(self.charts) or not drawn:
            self.observed.clear()
            with self.observed:
                self.charts = [PlotChart(one, size="" if n else "tall") for n, one in enumerate(drawn)]
                if not drawn:
                    html("no pull yet" if seen is None else "no pull to draw", "p", "note empty-plot")
                self.said = html("", "div", "note")
        for made, one in zip(self.charts, drawn, strict=True):
            made.show(one)
        self.said.content = "" if judged is None else _beside(judged)


def _beside(judged: Judged) -> str:
    """What is said under the curves, or why nothing is held against them."""
    if judged.against is None:
        return f'<p class="warn">{escape(judged.why_not)}</p>' if judged.why_not else ""
    return "".join(f"<p>{escape(told(_title(one)))}.</p>" for one in judged.against.sentences[1:])


def _title(text: str) -> str:
    return text[:1].upper() + text[1:]


def _sentence(seen: Seen | None, judged: Judged | None) -> str:
    if seen is None:
        return EMPTY
    if judged is None or not judged.pulls:
        return f"{seen.log.file.name}: {seen.trouble or 'no pull is chosen.'}".replace("**", "")
    pulls = judged.pulls
    each = [tops(one) for one in pulls]
    torque, power = max(each, key=lambda one: one.torque), max(each, key=lambda one: one.power)
    many = "One pull" if len(pulls) == 1 else f"{len(pulls)} pulls"
    said = (
        f"{many}: **{with_unit(torque.torque, 'N m')}** at {rpm(torque.torque_rpm)} and "
        f"**{with_unit(power.power, 'kW', 1)}** at {rpm(power.power_rpm)} observed"
    )
    if judged.against is not None:
        said += f"; {told(judged.against.sentences[0])}"
    worst = judged.diagnosis.suspicions[0] if judged.diagnosis and judged.diagnosis.suspicions else None
    return f"{said}. " + (f"Look first: **{worst.name}**." if worst else "Nothing beyond the usual in the channels.")


def make(desk: Desk, answer: Answer) -> Any:
    """Build the page."""
    page = DynoDay(desk, answer)
    ui.timer(0.01, page.begin, once=True)
    desk.on_change(page.changed)


PAGE = Page("dyno-day", "Dyno day", QUESTION, make)
