"""The gas path on the Predict page: slider, stations with verdicts, the picture, and the values edited in place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from pathlib import Path

from nicegui.element import Element

from spoolwright.bench import marks, strip
from spoolwright.bench.desk import Desk
from spoolwright.bench.elements import box, html, panel
from spoolwright.bench.field import Field
from spoolwright.bench.runs import Run
from spoolwright.charts import gas_path as described
from spoolwright.charts.gas_path import Along, Station
from spoolwright.findings.model import ORDER, Finding, Verdict

_HERE = Path(__file__).parent / "look"
LEAP = 500.0  # rpm; a step with Shift


class SpeedBar(Element, component=_HERE / "speed.js"):
    """The slider over the speeds of a run, with its named marks; ``turned`` is told when a narrow screen turns wide."""

    def __init__(self, moved: Callable[[float], None], turned: Callable[[], None]) -> None:
        super().__init__()
        self.turned = turned
        self.show([], 0.0, [])
        self.on("speed", lambda event: moved(float(event.args)))
        self.narrow: bool | None = None
        self.on("narrow", lambda event: self._turned(bool(event.args)))

    def _turned(self, narrow: bool) -> None:
        self.narrow = narrow
        self.turned()

    def show(self, speeds: Sequence[float], value: float, named: Sequence[described.Mark]) -> None:
        """Other speeds, the one chosen, other marks."""
        low, high = (speeds[0], speeds[-1]) if len(speeds) > 1 else (1000.0, 6000.0)
        step = (high - low) / max(len(speeds) - 1, 1)
        self.props["speeds"], self.props["value"] = list(speeds), value
        self.props["low"], self.props["high"] = low, high
        self.props["leap"] = max(round(LEAP / step), 1) if step else 1
        self.props["marks"] = [
            {"name": one.name, "rpm": one.speed_rpm, "look": marks.LOOKS[one.verdict] if one.verdict else ""}
            for one in named
        ]
        self.update()


class GasPath:
    """The panel; ``show_run`` after a run, ``show_speed`` with the slider, ``light`` with an opened finding."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.columns: list[Station] = []
        self.paths: dict[float, Along] = {}
        self.held: strip.Scales | None = None
        self.balloons: list[strip.Balloon] = []
        self.lit: int | None = None
        key = (
            '<span class="key"><span class="m">measured</span><span class="as">assumed</span></span>'
            "<span>diameters to scale, lengths not</span><span><kbd>←</kbd> <kbd>→</kbd> speed</span>"
        )
        made, self.side = panel("Gas path", key, "spine")
        self.panel = made
        with made:
            self.bar = SpeedBar(self._moved, lambda: self.show_speed(self.desk.speed or 0.0))
            with box("div", "path-scroll", tabindex="0", role="region", aria_label="Gas path"):
                self.wide = box("div", "path-in")
            self.down = box("div", "down")

    def _moved(self, rpm: float) -> None:
        self.desk.speed = rpm
        self.show_speed(rpm)

    def build(self, columns: list[Station]) -> None:
        """Columns for these stations, anew."""
        self.columns = columns
        self.wide.clear()
        self.down.clear()
        self.wide.style(f"--n:{len(columns)}")
        with self.wide:
            with box("div", "path-grid"):
                box("div")
                self.heads = [html("", "div", "st") for _ in columns]
                box("div")
            self.figure = html("")
            with box("div", "path-grid"):
                html("Edit<br>here", "div", "l").style("padding:22px 4px 0 14px;line-height:1.2")
                self.cells = []
                for one in columns:
                    cell = box("div", "dcol")
                    self.cells.append(cell)
                    with cell:
                        for path, label in one.fields:
                            Field(self.desk, path, label, "dim")
        with self.down:
            self.rows = [_Row(self.desk, n, one) for n, one in enumerate(columns)]

    def show_run(
        self, run: Run | None, findings: Sequence[Finding], letters: Sequence[str], listed: Sequence[Finding]
    ) -> None:
        """A run's readings and verdicts; None: the path without a run."""
        sheet = run.sheet if run is not None else self.desk.sheet
        if sheet is None:
            return
        columns = described.stations(sheet)
        if columns != self.columns:
            self.build(columns)
        self.paths, self.held = {}, None
        speeds: list[float] = []
        named: list[described.Mark] = []
        if run is not None and run.pull is not None:
            found = [described.at(run.pull, point, sheet, columns) for point in run.pull.points]
            self.paths = {one.speed_rpm: one for one in found if one is not None}
            self.held = strip.scales(list(self.paths.values())) if self.paths else None
            speeds, named = sorted(self.paths), described.marks(run.pull)
        self.findings = findings
        self.balloons = _balloons(columns, letters, listed)
        self._heads()
        speed = self._nearest(speeds, named)
        self.bar.show(speeds, speed, named)
        self.show_speed(speed)

    def _nearest(self, speeds: Sequence[float], named: Sequence[described.Mark]) -> float:
        """The speed chosen before where it is there, else that of most torque."""
        if not speeds:
            return 0.0
        wanted = self.desk.speed or next((one.speed_rpm for one in named if one.name == "most torque"), speeds[0])
        return min(speeds, key=lambda one: abs(one - wanted))

    def _heads(self) -> None:
        for n, (one, head) in enumerate(zip(self.columns, self.heads, strict=True)):
            verdict = _worst(described.judged(one, self.findings))
            said = marks.tag(verdict) if verdict else ""
            head.content = (
                f'<div class="nm"><span>{n + 1}</span>{escape(one.title)}</div><span class="vd">{said}</span>'
            )
            self.rows[n].head(verdict)

    def show_speed(self, rpm: float) -> None:
        """The picture at this speed."""
        self.desk.speed = rpm or self.desk.speed
        path = self.paths.get(rpm)
        if self.bar.narrow is not True:
            self.figure.content = strip.picture(self.columns, path, self.held, self.balloons, self.lit)
        if self.bar.narrow is not False:
            for row in self.rows:
                row.show(path, self.held, self.columns)

    def light(self, finding: Finding | None) -> None:
        """Light the column a finding speaks of."""
        self.lit = None
        if finding is not None:
            self.lit = next((n for n, one in enumerate(self.columns) if described.judged(one, [finding])), None)
        for n, (head, cell) in enumerate(zip(self.heads, self.cells, strict=True)):
            for each in (head, cell):
                each.classes(add="lit" if n == self.lit else "", remove="" if n == self.lit else "lit")
        self.show_speed(self.desk.speed or 0.0)


class _Row:
    """One station of the path that runs downwards on a phone; opened, its values can be edited."""

    def __init__(self, desk: Desk, n: int, station: Station) -> None:
        self.desk, self.n, self.station = desk, n, station
        self.verdict: Verdict | None = None
        self.made = box("div", "dn")
        with self.made:
            self.button = box("button", "", type="button", aria_expanded="false")
            with self.button:
                self.text = html("", "span").style("display:contents")
            self.more = box("div", "more")
            self.more.set_visibility(False)
        self.button.on("click", lambda _: self._turn(), args=[])

    def _turn(self) -> None:
        opened = not self.more.visible
        if opened and not self.more.default_slot.children:
            with self.more:
                for path, label in self.station.fields:
                    Field(self.desk, path, label, "line")
        self.more.set_visibility(opened)
        self.button.props["aria-expanded"] = "true" if opened else "false"
        self.button.update()
        self.made.classes(add="open" if opened else "", remove="" if opened else "open")

    def head(self, verdict: Verdict | None) -> None:
        """Another verdict."""
        self.verdict = verdict

    def show(self, path: Along | None, held: strip.Scales | None, columns: Sequence[Station]) -> None:
        """Values at the speed chosen."""
        said = marks.tag(self.verdict) if self.verdict else ""
        name = f'<span class="nm"><span>{self.n + 1}</span>{escape(self.station.title)}</span><br>{said}'
        self.text.content = (
            f"{strip.standing(self.n, columns, path, held)}<span>{name}</span><span></span>"
            f'<span class="val">{_values(self.n, self.station, path)}</span>'
        )


def _values(n: int, station: Station, path: Along | None) -> str:
    if path is None:
        return ""
    if station.side == "cylinder":
        return "<br>".join(escape(one) for one in path.cylinder[:2])
    mine = [one for one in path.labels if n <= one.x < n + 1]
    p = next((one.text for one in mine if one.quantity == "p"), "")
    T = next((one.text for one in mine if one.quantity == "T"), "")
    return f"<b>{p}</b> kPa<i>{T} °C</i>" if p else ""


def _worst(findings: Sequence[Finding]) -> Verdict | None:
    return min((one.verdict for one in findings), key=ORDER.index, default=None)


def _balloons(columns: Sequence[Station], letters: Sequence[str], listed: Sequence[Finding]) -> list[strip.Balloon]:
    """Balloons for what is open, one after the other along the path."""
    found = []
    for letter, finding in zip(letters, listed, strict=True):
        if finding.verdict == "sound":
            continue
        at = next((n for n, one in enumerate(columns) if described.judged(one, [finding])), None)
        if at is not None:
            found.append(strip.Balloon(letter, finding.verdict, at))
    return found
