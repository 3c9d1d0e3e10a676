"""A chart on a page: drawn by Plotly in the browser, with one sentence, values by arrow keys, PNG, SVG and CSV."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from nicegui import ui
from nicegui.element import Element

from spoolwright.charts import on_page
from spoolwright.charts.describe import Chart

_HERE = Path(__file__).parent / "look"
# The drawing library comes with the toolkit's own chart element; naming it here makes the page offer it.
_LIBRARY = ui.plotly


class PlotChart(Element, component=_HERE / "chart.js"):
    """A described chart; ``behind`` is the same chart of another run, drawn thin under ``behind_name``."""

    def __init__(self, chart: Chart, behind: Chart | None = None, behind_name: str = "", size: str = "") -> None:
        super().__init__()
        self.props["size"] = size
        self.show(chart, behind, behind_name)
        self.on("csv", self._csv, args=[])

    def show(self, chart: Chart, behind: Chart | None = None, behind_name: str = "") -> None:
        """Draw another chart in its place; what was zoomed stays zoomed."""
        self.chart = chart
        self.props["figure"] = on_page.figure(chart, behind, behind_name)
        self.props["title"], self.props["sentence"], self.props["name"] = chart.title, chart.sentence, chart.name
        self.props["readings"] = on_page.readings(chart)
        self.update()

    def _csv(self) -> None:
        out = io.StringIO()
        csv.writer(out).writerows(on_page.rows(self.chart))
        ui.download.content(out.getvalue(), f"{self.chart.name}.csv")
