"""A chart on a page: drawn by Plotly in the browser, with one sentence, values by arrow keys, PNG, SVG and CSV."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

from nicegui import ui
from nicegui.element import Element

from spoolwright.charts import map_on_page, of_map, on_page
from spoolwright.charts.describe import Chart
from spoolwright.charts.of_map import MapChart

_HERE = Path(__file__).parent / "look"
# The drawing library comes with the toolkit's own chart element; naming it here makes the page offer it.
_LIBRARY = ui.plotly


class Plot(Element, component=_HERE / "chart.js"):
    """A figure with its title, sentence, readings and rows."""

    def __init__(self, size: str = "") -> None:
        super().__init__()
        self.props["size"] = size
        self.rows: list[list[str]] = []
        self.on("csv", self._csv, args=[])

    def put(
        self,
        figure: dict[str, Any],
        name: str,
        title: str,
        sentence: str,
        readings: dict[str, Any],
        rows: list[list[str]],
    ) -> None:
        """Draw this in its place; what was zoomed stays zoomed."""
        self.rows = rows
        self.props["figure"], self.props["readings"] = figure, readings
        self.props["title"], self.props["sentence"], self.props["name"] = title, sentence, name
        self.update()

    def _csv(self) -> None:
        out = io.StringIO()
        csv.writer(out).writerows(self.rows)
        ui.download.content(out.getvalue(), f"{self.props['name']}.csv")


class PlotChart(Plot):
    """A described chart; ``behind`` is the same chart of another run, drawn thin under ``behind_name``."""

    def __init__(self, chart: Chart, behind: Chart | None = None, behind_name: str = "", size: str = "") -> None:
        super().__init__(size)
        self.show(chart, behind, behind_name)

    def show(self, chart: Chart, behind: Chart | None = None, behind_name: str = "") -> None:
        """Draw another chart in its place."""
        drawn = on_page.figure(chart, behind, behind_name)
        self.put(drawn, chart.name, chart.title, chart.sentence, on_page.readings(chart), on_page.rows(chart))


class PlotMap(Plot):
    """A compressor map with operating lines."""

    def show(self, chart: MapChart) -> None:
        """Draw another map in its place."""
        drawn, told = map_on_page.figure(chart), map_on_page.readings(chart)
        self.put(drawn, chart.name, chart.title, chart.sentence, told, of_map.rows(chart))
