"""A compressor map off a picture: upload, two clicks an axis, speed lines, islands, and a redraw over the picture."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from html import escape
from pathlib import Path

from nicegui import app
from nicegui.element import Element
from starlette.responses import Response

from spoolwright import units
from spoolwright.bench.desk import Desk
from spoolwright.bench.elements import Line, box, button, html
from spoolwright.bench.upload import MB, Upload
from spoolwright.engine.map_picture import map_of
from spoolwright.engine.picked_map import Axes, Mark, Picked, Pixel, save
from spoolwright.errors import BadInput, SpoolwrightError
from spoolwright.sheet import load
from spoolwright.sheet.pictures import Picture, read

_HERE = Path(__file__).parent / "look"
_ROUTE = "/bench-picture/{key}"
_KEPT: dict[str, bytes] = {}  # pictures of open pages
_AXES = ("flow 1", "flow 2", "ratio 1", "ratio 2")
STEPS = (
    ("flow 1", "flow axis, first mark"),
    ("flow 2", "flow axis, second mark"),
    ("ratio 1", "ratio axis, first mark"),
    ("ratio 2", "ratio axis, second mark"),
    ("line", "a speed line"),
    ("island", "an island of efficiency"),
)


def add_route() -> None:
    """Where the browser gets the picture it clicks on."""
    app.add_api_route(_ROUTE, _send, methods=["GET"], include_in_schema=False)


def _send(key: str) -> Response:
    data = _KEPT.get(key)
    return Response(status_code=404) if data is None else Response(data, media_type="image/png")


class Picker(Element, component=_HERE / "picker.js"):
    """The picture; ``placed`` is told each click in the picture's pixels."""

    def __init__(self, picture: Picture, placed: Callable[[Pixel], None]) -> None:
        super().__init__()
        self.key = secrets.token_urlsafe(12)
        _KEPT[self.key] = picture.data
        for name, value in {
            "src": _ROUTE.format(key=self.key),
            "width": picture.width,
            "height": picture.height,
        }.items():
            self.props[name] = value
        self.draw([], [])
        self.props["active"] = True
        self.on("place", lambda event: placed((float(event.args["x"]), float(event.args["y"]))))

    def draw(self, lines: list[dict[str, object]], dots: list[dict[str, object]]) -> None:
        """Draw this over it."""
        self.props["lines"], self.props["dots"] = lines, dots
        self.update()

    def _handle_delete(self) -> None:
        _KEPT.pop(self.key, None)
        super()._handle_delete()


class Picking:
    """The panel's body: everything clicked so far, and the steps beside the picture."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.body = box("div", "bd")
        self.marks: dict[str, Pixel] = {}
        self.lines: dict[str, list[Pixel]] = {}
        self.islands: dict[str, list[Pixel]] = {}
        self.order: list[tuple[str, str]] = []  # what the last clicks added, for taking them back
        self.redrawn: list[list[Pixel]] = []
        self.step = "flow 1"
        self.texts = {"flow 1": "0", "flow 2": "0.10", "ratio 1": "1", "ratio 2": "2", "unit": "kg/s"}
        self.texts |= {"line": "60000", "island": "70 %", "name": "clicked"}
        self.source = ""
        self._begin()

    def _begin(self) -> None:
        self.body.clear()
        with self.body:
            html(
                "A printed map, photographed or saved from a data sheet, becomes a table: two clicks on each axis, "
                "then the points of each speed line and of the islands of efficiency.",
                "p",
                "note",
            ).style("margin-bottom:8px")
            Upload(
                "Add a map picture",
                self._take,
                accept="image/png,image/jpeg,image/webp",
                most=20 * MB,
                hint="PNG, JPEG, WebP",
            )

    def _take(self, name: str, data: bytes) -> None:
        picture = read(name, data)
        self.source = name
        self.body.clear()
        with self.body, box("div", "cols").style("grid-template-columns:minmax(0,2fr) minmax(0,1fr)"):
            self.picker = Picker(picture, self.place)
            self.side = box("div", "steps")
        self._side()

    def _side(self) -> None:
        self.side.clear()
        with self.side:
            self._steps()
            self._by_number()
            self._finish()

    def _text(self, name: str, label: str) -> None:
        with box("label"):
            html(escape(label), "span")
            Line(self.texts[name], lambda text: self._typed(name, text), "", data_name=name)

    def _typed(self, name: str, text: str) -> None:
        self.texts[name] = text.strip()[:60]
        self._draw()

    def _steps(self) -> None:
        with box("fieldset"):
            html("What the next clicks mean", "legend")
            for key, words in STEPS:
                with box("div").style("margin:3px 0"):
                    done = " ✓" if key in self.marks else ""
                    chosen = " checked" if key == self.step else ""
                    radio = html(
                        f'<label><input type="radio" name="step" value="{key}"{chosen}> {escape(words)}{done}</label>',
                        "span",
                    )
                    radio.on(
                        "change", lambda event: self._choose(str(event.args)), js_handler="(e) => emit(e.target.value)"
                    )
                    self._text(key, "rpm" if key == "line" else "value")
            self._text("unit", "unit of flow")
        points = sum(len(one) for one in self.lines.values())
        html(
            f"{len(self.lines)} speed lines with {points} points, {len(self.islands)} islands. For the next line or "
            "island change its value, then click on.",
            "p",
            "note",
        )

    def _choose(self, step: str) -> None:
        self.step = step

    def _by_number(self) -> None:
        with box("div", "btns"):
            button("Take back the last click", self.take_back, "btn s")
            with box("label"):
                html("By number: flow, ratio", "span")
                Line("", self._numbered, "", placeholder="0.05 1.8", data_name="number")

    def _numbered(self, text: str) -> None:
        """A point of the present line or island given by its numbers, for those who do not click."""
        try:
            flow, ratio = (units.read_number(part) for part in text.replace(";", " ").split())
            self.place(self._axes().pixel(flow, ratio))
        except (BadInput, ValueError) as trouble:
            self.desk.say(f"Two numbers are needed, flow and ratio, once the axes are clicked ({trouble}).")

    def _finish(self) -> None:
        with box("fieldset"):
            html("Into the build", "legend")
            self._text("name", "table's name")
            with box("div", "btns").style("margin-top:6px"):
                button("Save and draw it over the picture", self.save, "btn s pri")
            self.said = html("", "p", "note")
            self.said.props["role"] = "status"

    def place(self, pixel: Pixel) -> None:
        """A click, for what is being clicked."""
        if self.step in _AXES:
            self.marks[self.step] = pixel
            self.order.append(("mark", self.step))
            at = _AXES.index(self.step) + 1
            self.step = _AXES[at] if at < len(_AXES) else "line"
        else:
            kept = self.lines if self.step == "line" else self.islands
            kept.setdefault(self.texts[self.step], []).append(pixel)
            self.order.append((self.step, self.texts[self.step]))
        self.redrawn = []
        self._draw()
        self._side()

    def take_back(self) -> None:
        """Forget the last click."""
        if not self.order:
            return
        kind, name = self.order.pop()
        if kind == "mark":
            self.marks.pop(name, None)
            self.step = name
        else:
            kept = self.lines if kind == "line" else self.islands
            kept[name].pop()
            if not kept[name]:
                del kept[name]
        self._draw()
        self._side()

    def _draw(self) -> None:
        dots: list[dict[str, object]] = [
            {"x": x, "y": y, "look": "axis", "words": f"{'flow' if 'flow' in name else 'ratio'} {self.texts[name]}"}
            for name, (x, y) in self.marks.items()
        ]
        for kept, look, unit in ((self.lines, "line", " rpm"), (self.islands, "island", "")):
            for name, pixels in kept.items():
                dots += [
                    {"x": x, "y": y, "look": look, "words": f"{name}{unit}" if n == 0 else ""}
                    for n, (x, y) in enumerate(pixels)
                ]
        lines: list[dict[str, object]] = [{"points": pixels, "look": "line"} for pixels in self.lines.values()]
        lines += [{"points": [*pixels, pixels[0]], "look": "island"} for pixels in self.islands.values()]
        lines += [{"points": pixels, "look": "redrawn"} for pixels in self.redrawn]
        self.picker.draw(lines, dots)

    def _axes(self) -> Axes:
        missing = [name for name in _AXES if name not in self.marks]
        if missing:
            raise BadInput(f"the {missing[0]} mark of the axes is not clicked yet")
        flow1, flow2, ratio1, ratio2 = (Mark(self.marks[n], units.read_number(self.texts[n])) for n in _AXES)
        return Axes((flow1, flow2), (ratio1, ratio2))

    def picked(self) -> Picked:
        """Everything clicked, read. Raises BadInput for what is missing or is no number."""
        lines = {units.read_number(name.removesuffix("rpm")): pixels for name, pixels in self.lines.items()}
        islands = {units.read(name, "share").value: pixels for name, pixels in self.islands.items()}
        return Picked(self._axes(), self.texts["unit"], lines, islands)

    def save(self) -> None:
        """Write the table, and draw over the picture what the program makes of it."""
        try:
            picked = self.picked()
            name = save(self.desk.folder, self.texts["name"], picked, self.source)
            self.redrawn = self._as_read(name, picked)
        except SpoolwrightError as trouble:
            self.said.content = f'<span class="c-stop">{escape(str(trouble))}</span>'
            return
        self.said.content = (
            f"Saved as {escape(name)}; dashed: the lines as the program reads them. Where they leave the print, "
            f"click again. To run with it, set charge.compressor.map to {escape(name)} and its reference air beside it."
        )
        self._draw()

    def _as_read(self, name: str, picked: Picked) -> list[list[Pixel]]:
        """The fitted speed lines in the picture's pixels."""
        sheet = load(self.desk.folder, self.desk.variant, (f"charge.compressor.map={name}",))
        drawn = map_of(sheet)
        if drawn is None:
            return []
        return [
            [
                picked.axes.pixel(units.convert(float(flow), "mass_flow", picked.flow_unit), float(ratio))
                for flow, ratio in zip(line.flow, line.pressure_ratio, strict=True)
            ]
            for line in drawn.lines
        ]
