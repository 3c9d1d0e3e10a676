"""Starting, watching and cancelling a run; what is stale and why, and what failed."""

from __future__ import annotations

from html import escape

from spoolwright.bench.desk import Desk
from spoolwright.bench.elements import Line, box, button, html
from spoolwright.bench.runs import Run
from spoolwright.bench.shell import Answer
from spoolwright.errors import BadInput
from spoolwright.findings import changed

TOLD = 3  # changed values named in one line


class RunBar:
    """Buttons in the answer line, and a strip below it with progress, or with what is stale or failed."""

    def __init__(self, desk: Desk, answer: Answer) -> None:
        self.desk = desk
        self.turbo_off = False
        with answer.buttons:
            self.run = button("Run", lambda: self.start(), "btn pri", "r", "R")
            self.cancel = button("Cancel, keep what is done", desk.build.runs.cancel, "btn pri", "escape", "Esc")
        self.strip = box("div")
        self.speeds = ""
        self.options = box("div", "btns note runopts").style("margin-bottom:12px;gap:4px 14px")
        with self.options:
            self._options()
        self.state: tuple[object, ...] = ()

    def start(self) -> None:
        """Start a run of this page's variant."""
        try:
            self.desk.build.runs.start(self.desk.variant, self.speeds.strip() or None, self.turbo_off)
            self.trouble = ""
        except BadInput as trouble:
            self.trouble = str(trouble)
        self.desk.store.tell()

    trouble = ""

    def show(self) -> None:
        """Bring it up to date."""
        desk, under_way = self.desk, self.desk.under_way
        self.run.set_visibility(under_way is None)
        self.cancel.set_visibility(under_way is not None)
        self.options.set_visibility(under_way is None)
        sheet = desk.sheet
        self.off.set_visibility(sheet is not None and (sheet.has("charge.compressor") or sheet.has("turbine")))
        failed = desk.build.runs.failed
        done = (len(under_way.points), under_way.compiling) if under_way is not None else ()
        digest = sheet.digest if sheet is not None else ""
        state = (id(under_way), done, id(failed), id(desk.run), digest, self.trouble)
        if state == self.state:
            return
        self.state = state
        self.strip.clear()
        with self.strip:
            if under_way is not None:
                _progress(under_way)
            elif self.trouble:
                html(f'<p class="bad">{escape(self.trouble)}</p>').style("margin-bottom:12px")
            elif failed is not None and failed.variant == desk.variant:
                html(f'<p class="bad">The run failed. {escape(failed.said)}</p>').style("margin-bottom:12px")
            elif desk.stale():
                self._stale()

    def _options(self) -> None:
        """Speeds, and the turbo taken off: what the command line can, the page can. Made once: a text begun stays."""
        html('<label for="speeds">Speeds</label>', "span")
        Line("", self._of_speeds, id="speeds", placeholder="usual ones; or 2000:6000:250").style(
            "width:230px;font-size:13px;padding:2px 6px"
        )
        self.off = html('<label><input type="checkbox" class="turbo-off"> with the turbo taken off</label>', "span")
        self.off.on(
            "change",
            lambda event: setattr(self, "turbo_off", bool(event.args)),
            js_handler="(e) => emit(e.target.checked)",
        )

    def _of_speeds(self, text: str) -> None:
        self.speeds = text

    def _stale(self) -> None:
        run, sheet = self.desk.run, self.desk.sheet
        if run is None:
            return
        told = "The sheet has faults now."
        if sheet is not None:
            values = changed.values(run.asked, sheet)
            named = [
                f"{one.path} {one.before or 'nothing'}; the sheet now says {one.after or 'nothing'}"
                for one in values[:TOLD]
            ]
            rest = f"; and {len(values) - TOLD} more" if len(values) > TOLD else ""
            told = f"Stale. Run with {'; '.join(named)}{rest}."
        with box("div", "warn").style("margin-bottom:12px"):
            html(escape(told), "p")
            with box("div", "btns").style("margin-top:6px"):
                button("Run again", lambda: self.start(), "btn s pri")
                button("Undo the change", lambda: self.desk.say(self.desk.store.undo().said), "btn s")


def _progress(run: Run) -> None:
    done, wanted = len(run.points), len(run.speeds)
    share = 100.0 * done / max(wanted, 1)
    told = f"{done} of {wanted} speeds done"
    if run.compiling:
        told = "Compiling the solver: the first run on this machine, about a quarter of a minute"
    elif not done:
        told = "The first speeds are on their way"
    with box("div", "info", role="status").style("margin-bottom:12px"):
        html(escape(told), "p")
        html(f'<div class="progress" aria-hidden="true"><i style="width:{share:.0f}%"></i></div>')
