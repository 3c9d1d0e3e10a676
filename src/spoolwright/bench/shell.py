"""The frame of every page: title block, phases with what is open, the question and its answer, keys, search, news."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from html import escape

from nicegui import ui
from nicegui.element import Element

from spoolwright.bench import marks, overlays
from spoolwright.bench.desk import Desk, Page
from spoolwright.bench.elements import box, button, html, panel
from spoolwright.bench.field import Field
from spoolwright.bench.words import rich
from spoolwright.errors import BadInput
from spoolwright.findings.model import Finding

# Which phase a judgement of the sheet belongs to, by the section it rests on; all others belong to Measure.
MATCHED = ("charge", "turbine", "wastegate", "carburettor", "injection", "fuel", "cooling")
FAULTS = 12  # shown at most


def frame(desk: Desk, page: Page, pages: Iterable[Page]) -> Answer:
    """Build everything around a page's own content; gives the answer line."""
    html('<a class="skip" href="#content">To the content</a>')
    with box("div", "wrap"):
        _title_block(desk)
        _phases(desk, page, list(pages))
        answer = Answer(page.question)
        _news(desk)
        content = box("main", id="content")
    overlays.search(desk)
    overlays.keys(theme_pick)
    answer.content = content
    return answer


class Answer:
    """The question of the phase, its answer in one sentence, and the buttons beside it."""

    def __init__(self, question: str) -> None:
        self.content: Element
        with box("div", "ans"):
            with box("div"):
                html(escape(question), "div", "q")
                self._line = html("", "h1")
            self.buttons = box("div", "btns")

    def say(self, text: str) -> None:
        """The answer; ``**`` makes bold."""
        self._line.content = rich(text)


def phase_of(finding: Finding) -> str:
    """The page on which a judgement of the sheet is counted."""
    return "match" if finding.where.split(".")[0] in MATCHED else "measure"


def counted(desk: Desk, key: str) -> list[Finding]:
    """What a phase counts: the run's findings for Predict, the sheet's for Measure and Match."""
    if key == "predict":
        return [] if desk.run is None else desk.run.findings
    if key in ("measure", "match"):
        return [one for one in desk.store.findings(desk.variant) if phase_of(one) == key]
    return []


def _title_block(desk: Desk) -> None:
    with box("header", "tb"):
        html(f'<a class="mark" href="/" aria-label="spoolwright, all builds">{marks.MARK}<span>spoolwright</span></a>')
        with box("div", "buildbox"):
            html("Build", "span", "l")
            build = html("", "div", "row")
        with box("div", "variantbox"):
            html("Variant", "span", "l")
            with box("div", "row"):
                _variant_pick(desk)
                html("against", "span", "u")
                _against_pick(desk)
        with box("div", "air"):
            html("Day’s air", "span", "l")
            air = html("", "div", "row")
        with box("div", "runbox"):
            html("Run", "span", "l")
            run = html("", "div", "row")
        with box("div", "sheetbox"):
            html("Sheet", "span", "l")
            sheet = html("", "div", "row")

    def show() -> None:
        build.content = f'<b>{escape(_name(desk))}</b><span class="u cut">{escape(_described(desk))}</span>'
        air.content = _air(desk)
        run.content = run_state(desk)
        saved = f"saved {desk.store.saved_at:%H:%M}" if desk.store.saved_at else "as on disk"
        now = desk.sheet
        assumed = "has faults" if now is None else f"{len(now.assumed)} assumed"
        sheet.content = f'<span>{saved}</span><span class="u">{assumed}</span>'

    show()
    desk.on_change(show)


def _name(desk: Desk) -> str:
    return desk.build.name if desk.sheet is None else desk.sheet.name


def _described(desk: Desk) -> str:
    sheet = desk.sheet
    if sheet is None:
        return "cannot be read yet"
    layout = sheet.choice("cylinders.layout").replace("_", " ") if sheet.has("cylinders.layout") else ""
    medium = f"{sheet.choice('cooling.medium')}-cooled" if sheet.has("cooling.medium") else ""
    turbos = f"{sheet.quantity('charge.turbos').text} turbo" if sheet.has("charge.turbos") else ""
    count = f"{sheet.cylinder_count} cylinder{'s' if sheet.cylinder_count > 1 else ''}"
    return ", ".join(one for one in (f"{medium} {layout}".strip(), count, turbos) if one)


def _air(desk: Desk) -> str:
    sheet = desk.sheet
    if sheet is None:
        return '<span class="u">not read</span>'
    said = [sheet.maybe_quantity(f"site.{name}") for name in ("barometer", "temperature", "humidity")]
    return "".join(_quantity(one.text) for one in said if one is not None)


def _quantity(text: str) -> str:
    figure, _, unit = text.partition(" ")
    unit = {"degC": "°C", "degF": "°F"}.get(unit, unit)
    return f'<span class="num"><b>{escape(figure)}</b> <span class="u">{escape(unit)}</span></span>'


def run_state(desk: Desk) -> str:
    """The state of the run in sign and words."""
    under_way, run = desk.under_way, desk.run
    if under_way is not None:
        done, wanted = len(under_way.points), len(under_way.speeds)
        return f'<span class="v">running</span><span class="u">{done} of {wanted} speeds</span>'
    if run is None:
        return marks.tag("not measured", word="no run yet")
    told = f"{len(run.points)} of {len(run.speeds)} speeds, {run.seconds:.0f} s, {run.began:%H:%M}"
    if desk.stale():
        return f'{marks.tag("watch", word="stale")}<span class="u">{told}</span>'
    return f'{marks.tag("sound", word="up to date")}<span class="u">{told}</span>'


def pick(
    label: str, options: dict[str, str], value: str, changed: Callable[[str], None], classes: str = "pick"
) -> Element:
    """A native choice that calls ``changed`` with the value picked."""
    made = ui.html("", sanitize=False, tag="span")
    rows = "".join(
        f'<option value="{escape(key, quote=True)}"{" selected" if key == value else ""}>{escape(text)}</option>'
        for key, text in options.items()
    )
    made.content = f'<select class="{classes}" aria-label="{escape(label, quote=True)}">{rows}</select>'
    made.on("change", lambda event: changed(str(event.args)), js_handler="(e) => emit(e.target.value)")
    return made


def _variant_pick(desk: Desk) -> None:
    options = {"": "sheet"} | {name: name for name in desk.store.variants()}
    pick("Variant", options, desk.variant or "", lambda value: desk.open(desk.address(variant=value or None)))


def _against_pick(desk: Desk) -> None:
    options = {"": "last run", "sheet": "sheet"} | {name: name for name in desk.store.variants()}
    pick(
        "Against",
        options,
        desk.against or "",
        lambda value: desk.open(desk.address(against=value or None)),
        "pick q",
    )


def _phases(desk: Desk, page: Page, pages: list[Page]) -> None:
    with box("nav", "ph", aria_label="Phases"):
        links = html("").style("display:contents")
        with box("div", "tail"):
            undo = button("Undo", lambda: _told(desk, desk.store.undo().said), "", "undo", "Ctrl Z")
            redo = button("Redo", lambda: _told(desk, desk.store.redo().said), "", "redo")
            html(
                '<button type="button" data-open="find">Find <kbd>/</kbd></button>'
                '<button type="button" data-open="keys" style="margin-left:14px">Keys <kbd>?</kbd></button>',
                "span",
            )
            theme_pick()
    with box("nav", "phone-nav", aria_label="Phases, short"):
        names = {one.key: one.title for one in pages}
        pick("Phase", names, page.key, lambda key: desk.open(desk.address(key)))
        html(
            '<button type="button" data-open="find" aria-label="Find a value">Find</button>'
            '<button type="button" data-open="keys" aria-label="Undo, look and keys">More</button>',
            "span",
        )

    def show() -> None:
        links.content = "".join(_link(desk, one, one.key == page.key) for one in pages)
        for made, edits in ((undo, desk.store.done), (redo, desk.store.undone)):
            made.props["disabled"] = not edits
            made.props["title"] = edits[-1].path if edits else ""
            made.update()

    show()
    desk.on_change(show)


def _link(desk: Desk, page: Page, here: bool) -> str:
    address = escape(desk.address(page.key), quote=True)
    current = ' aria-current="page"' if here else ""
    return f'<a href="{address}"{current}>{escape(page.title)}{marks.counts(counted(desk, page.key))}</a>'


def theme_pick() -> None:
    """Light, dark or as the system; kept in the browser."""
    html(
        '<select class="pick q" aria-label="Light or dark" onchange="bench.theme(this.value)">'
        '<option value="auto">As the system</option><option value="light">Light</option>'
        '<option value="dark">Dark</option></select>',
        "span",
        "theme",
    )
    ui.run_javascript('document.querySelectorAll(".theme select").forEach((one) => one.value = bench.themeChoice())')


def faults(desk: Desk) -> None:
    """What stands instead of a page while the sheet cannot be read: every fault, with the value to mend right there."""
    made, _ = panel("This sheet cannot be read yet", f"{len(desk.loaded.faults)} to mend", "red")
    with made, box("div", "bd"):
        for fault in desk.loaded.faults[:FAULTS]:
            html(f'<p class="bad" style="margin-top:8px">{escape(str(fault))}</p>')
            if fault.path:
                try:
                    Field(desk, fault.path, fault.path, "line")
                except BadInput:
                    continue

    def show() -> None:
        if desk.sheet is not None:
            desk.open(desk.address())

    desk.on_change(show)


def _told(desk: Desk, text: str) -> None:
    desk.say(text or "Done; saved.")


def _news(desk: Desk) -> None:
    line = html("", "div", "note")
    line.props["role"] = "status"
    line.style("min-height:0")

    def say(text: str) -> None:
        line.content = escape(text)

    desk.news = say
