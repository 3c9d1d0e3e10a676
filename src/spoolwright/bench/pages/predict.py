"""Predict: what torque, power, boost, temperature and knock margin over speed, and which part gives up first."""

from __future__ import annotations

from spoolwright.bench import finding as finding_rows
from spoolwright.bench.chart import PlotChart
from spoolwright.bench.desk import Desk, Page
from spoolwright.bench.elements import box, button, panel
from spoolwright.bench.field import Field
from spoolwright.bench.runs import Run
from spoolwright.bench.shell import Answer
from spoolwright.charts import of_pull
from spoolwright.errors import BadInput


def make(desk: Desk, answer: Answer) -> None:
    with answer.buttons:
        button("Run", lambda: start(desk), "btn pri", "r", "R")
    with box("div", "cols").style("grid-template-columns:minmax(0,972fr) minmax(0,404fr)"):
        left, right = box("div"), box("div")
    with left:
        made, _ = panel("Over speed")
        with made:
            curves = box("div", "curves")
        made, _ = panel("Fields")
        with made, box("div", "bd"):
            Field(desk, "cylinders.stroke", "stroke", "dim")
            Field(desk, "cylinders.deck[3]", "deck, cyl. 3", "line")
            Field(desk, "wastegate.kind", "kind", "line")
    with right:
        made, _ = panel("Findings", "tightest first")
        with made:
            found = box("div")
    state: dict[str, Run | None] = {"run": None}

    def show() -> None:
        run = desk.run
        if run is None or state["run"] is run:
            return
        state["run"] = run
        curves.clear()
        found.clear()
        with curves:
            for chart in of_pull.charts(run.so_far, run.sheet):
                PlotChart(chart)
        with found:
            finding_rows.rows(run.findings)

    show()
    desk.on_change(show)


def start(desk: Desk) -> None:
    try:
        desk.build.runs.start(desk.variant, None, True)
    except BadInput as trouble:
        desk.say(str(trouble))
    desk.store.tell()


PAGE = Page(
    "predict",
    "Predict",
    "What torque, power, boost, temperature and knock margin over speed, and which part gives up first?",
    make,
)
