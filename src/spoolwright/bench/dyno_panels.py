"""The panels of dyno day beside its curves: stop list and plan, figures corrected, ranked causes."""

from __future__ import annotations

from collections.abc import Callable
from html import escape

from spoolwright.bench import marks
from spoolwright.bench.chart import PlotChart
from spoolwright.bench.desk import Desk
from spoolwright.bench.elements import box, button, html, panel
from spoolwright.bench.finding import working
from spoolwright.bench.shell import pick
from spoolwright.bench.words import number, told, with_unit
from spoolwright.charts import of_dyno
from spoolwright.dyno import plan as plans
from spoolwright.dyno.causes import Diagnosis, Suspicion
from spoolwright.dyno.correct import Corrected, correct
from spoolwright.dyno.measured import Measured
from spoolwright.dyno.told import corrected_power, evidence, tops
from spoolwright.errors import BadInput
from spoolwright.sums.dyno import CODES

CAUSES = 6  # shown before the rest is folded


class StopList:
    """The stop list with its red head."""

    def __init__(self) -> None:
        made, _ = panel("Stop list", "lift off at once", "red")
        with made:
            self.stops = box("div", "stops")

    def show(self, made: plans.Plan) -> None:
        """The stops of this plan."""
        self.stops.clear()
        with self.stops:
            for stop in (one for one in made.stops if one.limit):
                html(
                    f"<span>{escape(_upper(stop.what))}<small>{escape(stop.act)}</small></span>"
                    f"<b>{escape(told(stop.limit))}</b>",
                    "p",
                )
            for lacking in made.missing:
                html(f"<span>{escape(_upper(lacking))}</span>{marks.tag('not measured')}", "p")
            signs = "".join(
                f"<li><b>{escape(_upper(stop.what))}</b>: {escape(stop.act)}</li>"
                for stop in made.stops
                if not stop.limit
            )
            html(signs, "ul", "note signs")
            html(escape(made.cautions[0]), "p", "note")


class PlanOfSession:
    """The steps of the session, the next one open with its signature."""

    def __init__(self, desk: Desk, name: Callable[[], str]) -> None:
        self.desk, self.name = desk, name
        made, self.side = panel("Plan")
        made.props["id"] = "plan"
        with made, box("div", "bd"):
            self.trouble = html("", "p", "bad")
            self.trouble.set_visibility(False)
            self.steps = box("div")

    def show(self, made: plans.Plan) -> None:
        """The steps of this plan."""
        done = sum(bool(one.signed) for one in made.steps)
        self.side.content = f"{done} of {len(made.steps)} done"
        self.steps.clear()
        with self.steps:
            for step in made.steps:
                if step.number == made.next:
                    self._step(made, step)
            with box("details"):
                html("all steps", "summary", "link note").style("margin-top:6px")
                for step in made.steps:
                    if step.number != made.next:
                        self._step(made, step)

    def _step(self, made: plans.Plan, step: plans.Step) -> None:
        is_next = step.number == made.next
        with box("details", "step next" if is_next else "step", **({"open": "open"} if is_next else {})):
            mark = marks.sign("sound") if step.signed else ""
            tag = ' <span class="u">next</span>' if is_next else ""
            html(f"{mark}<span>{step.number}&ensp;{escape(told(step.title))}{tag}</span>", "summary")
            lines = "".join(f"<li>{escape(told(one))}</li>" for one in step.do)
            html(lines, "ul", "note")
            if step.write_down:
                html(f"<b>Write down</b> {escape(told('; '.join(step.write_down)))}", "p", "note")
            if step.go_on:
                html(f"<b>Go on when</b> {escape(told(step.go_on))}", "p", "note")
            if step.signed:
                html(f"Signed: {escape(step.signed)}", "p", "note")
            elif is_next:
                button("Sign it off", lambda: self._sign(made, step.number), "btn s")

    def _sign(self, made: plans.Plan, number: int) -> None:
        try:
            if not self.name().strip():
                raise BadInput("Write your name first, under Pulls.")
            plans.sign_off(self.desk.folder, made, number, self.name())
        except BadInput as trouble:
            self.trouble.content = escape(str(trouble))
            self.trouble.set_visibility(True)
            return
        self.trouble.set_visibility(False)
        self.desk.say(f"Step {number} is signed off in the logbook.")
        self.desk.store.tell()


class CorrectedAlone:
    """One pull by one code, apart from everything else."""

    def __init__(self) -> None:
        self.code = "ISO 1585"
        self.pull: Measured | None = None
        made, _ = panel("Corrected", "for other days only", "apart")
        with made, box("div", "bd"):
            with box("div", "btns"):
                html("Code", "span", "u")
                pick("Correction code", {one: one for one in CODES}, self.code, self._choose)
            self.body = box("div").style("margin-top:8px")

    def _choose(self, code: str) -> None:
        self.code = code
        self.show(self.pull)

    def show(self, pull: Measured | None) -> None:
        """Correct this pull."""
        self.pull = pull
        self.body.clear()
        with self.body:
            if pull is None:
                html("No pull with a torque.", "p", "note")
                return
            try:
                row = correct(pull, self.code)
            except BadInput as trouble:
                html(escape(str(trouble)), "p", "warn")
                return
            self._figures(pull, row)

    def _figures(self, pull: Measured, row: Corrected) -> None:
        factor = "none applied" if row.factor is None else f"× {number(row.factor, 3)}"
        power = corrected_power(pull, row)
        after = "" if power is None else with_unit(power, "kW", 1)
        html(
            f'<div><span class="l">observed</span><b>{with_unit(tops(pull).power, "kW", 1)}</b></div>'
            f'<div><span class="l">factor</span><b>{factor}</b></div>'
            + (f'<div><span class="l">corrected</span><b>{after}</b></div>' if after else ""),
            "div",
            "figures",
        )
        html(f"{escape(pull.name)}. {escape(row.note)}", "p", "note")
        for question in row.questions:
            html(escape(told(_upper(question))) + ".", "p", "warn").style("margin-top:8px")
        if not row.within:
            low, high = row.window
            html(f"Outside the code’s own window, {low:g} to {high:g}.", "p", "warn").style("margin-top:8px")
        html("Compare with the prediction under Observed, never here.", "p", "note").style("margin-top:8px")
        if row.torque is not None:
            PlotChart(of_dyno.corrected(pull, row))
        with box("details"):
            html("how it comes about", "summary", "link note")
            html(working(row.working), "div", "wk").style("margin-left:0")


class Causes:
    """What the pulls tell of faults, ranked, with evidence for and against and the next check."""

    def __init__(self) -> None:
        made, self.side = panel("What the pulls tell", "ranked by how far beyond the usual")
        with made:
            self.body = box("div")

    def show(self, found: Diagnosis | None) -> None:
        """Show this diagnosis."""
        self.body.clear()
        with self.body:
            if found is None:
                html("Nothing to look at yet.", "p", "note").style("padding:12px 14px")
                return
            if not found.suspicions:
                html(f"{marks.tag('sound')} Nothing beyond the usual in these pulls.", "p").style("padding:12px 14px")
            for n, one in enumerate(_grouped(found.suspicions)[:CAUSES], start=1):
                _cause(n, *one)
            for sensor in found.sensors:
                html(f"<b>{escape(sensor.name)}</b> {escape(told(sensor.seen))}. {escape(sensor.check)}", "p", "cause")
            if found.not_looked_at:
                html(f"Not looked at: {escape('; '.join(found.not_looked_at))}.", "p", "note").style(
                    "padding:10px 14px"
                )


def _grouped(found: tuple[Suspicion, ...]) -> list[tuple[Suspicion, list[str]]]:
    """The same suspicion of several pulls is one, the strongest, with the pulls it shows in."""
    rows: dict[str, tuple[Suspicion, list[str]]] = {}
    for one in found:
        rows.setdefault(one.name, (one, []))[1].append(one.pull)
    return list(rows.values())


def _cause(place: int, one: Suspicion, pulls: list[str]) -> None:
    stop = f" {marks.tag('stop')}" if one.stop else ""
    seen = "".join(f"<tr><th>for</th><td>{escape(told(evidence(e)))}</td></tr>" for e in one.evidence[:4])
    against = "".join(f'<tr class="against"><th>against</th><td>{escape(told(a))}</td></tr>' for a in one.against)
    causes = "".join(f"<li>{escape(told(c))}</li>" for c in one.causes)
    caution = f'<p class="warn">{escape(told(one.caution))}</p>' if one.caution else ""
    share = round(100 * min(max(one.strength, 0.0), 1.0))
    html(
        f'<span class="bal">{place}</span><div><b>{escape(one.name)}</b>{stop}'
        f'<span class="u"> in {escape(", ".join(sorted(pulls)))}</span><p>{escape(told(one.seen))}</p>'
        f'<table class="ev" aria-label="Evidence">{seen}{against}</table>'
        f'<p class="note">First things first:</p><ol class="note">{causes}</ol>'
        f'<p class="check"><b>Next check</b> {escape(told(one.check))}</p>{caution}</div>'
        f'<span class="strength" role="img" aria-label="strength {share} of 100"><i style="width:{share}%"></i></span>',
        "div",
        "cause",
    )


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
