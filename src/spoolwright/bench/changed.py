"""What changed: this run against the last one, another variant, or the sheet as it stands without a variant."""

from __future__ import annotations

from html import escape

from spoolwright.bench.desk import Desk
from spoolwright.bench.elements import box, html, panel
from spoolwright.bench.runs import Run
from spoolwright.bench.words import number
from spoolwright.findings import changed

MOST = 14  # values shown
BAR = 44  # px for a change of a half


def other_run(desk: Desk) -> tuple[Run | None, str]:
    """The run this page holds its own against, and what it is called."""
    runs = desk.build.runs
    if desk.against is None:
        return runs.before.get(desk.variant), "last run"
    if desk.against == "sheet":
        return runs.last.get(None), "the sheet"
    return runs.last.get(desk.against), desk.against


class Changed:
    """The panel; ``show`` after each run."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        made, self.side = panel("What changed")
        with made:
            self.body = box("div", "bd")

    def show(self, run: Run | None) -> None:
        """This run against the other."""
        other, name = other_run(self.desk)
        self.body.clear()
        self.side.content = f"{escape(name)} to this"
        with self.body:
            if run is None or run.pull is None:
                html("No run yet.", "p", "note")
            elif other is None or other.pull is None:
                told = "Run again after a change, and this says what it gave."
                if self.desk.against:
                    told = f"{name} has not been run yet: choose it under Variant and run it."
                html(escape(told), "p", "note")
            else:
                html(_table(other, run, name))


def _table(other: Run, run: Run, name: str) -> str:
    assert other.pull is not None
    assert run.pull is not None
    here = run.variant or "now"
    head = f'<th>{{}}</th><th>{escape(name)}</th><th>{escape(here)}</th><th>change</th><th class="w">relative</th>'
    values = changed.values(other.sheet, run.sheet)
    rows = f"<tr>{head.format('you changed')}</tr>"
    for one in values[:MOST]:
        rows += (
            f'<tr><td class="w">{escape(one.path.replace("_", " "))}</td><td>{escape(one.before or "none")}</td>'
            f"<td><b>{escape(one.after or 'none')}</b></td><td></td><td></td></tr>"
        )
    if len(values) > MOST:
        rows += f'<tr><td class="w" colspan="5">and {len(values) - MOST} more</td></tr>'
    if not values:
        rows += '<tr><td class="w" colspan="5">Nothing that a result depends on.</td></tr>'
    rows += f"<tr>{head.format('which gave')}</tr>"
    for result in changed.results(other.pull, run.pull):
        unit = f", {result.unit}" if result.unit not in ("1", "") else ""
        label = f"{result.name} at {number(result.speed_rpm)}{unit}"
        change = number(result.after - result.before, result.digits)
        sign = "+" if result.after > result.before else ""
        cells = [number(result.before, result.digits), f"<b>{number(result.after, result.digits)}</b>"]
        cells += [sign + change, _bar(result.share)]
        name_cell = f'<td class="w">{escape(label[:1].upper() + label[1:])}</td>'
        rows += f"<tr>{name_cell}{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>"
    return f'<div class="scroll"><table class="t" aria-label="What changed">{rows}</table></div>'


def _bar(share: float | None) -> str:
    if share is None:
        return ""
    length = min(abs(share) / 0.5, 1.0) * BAR
    x = BAR + 2 if share >= 0 else BAR + 2 - length
    return (
        f'<svg width="{2 * BAR + 4}" height="12" aria-hidden="true"><path d="M{BAR + 2},0V12" stroke="var(--ink)"/>'
        f'<rect x="{x:.1f}" y="3" width="{length:.1f}" height="6" fill="var(--ink)"/></svg>'
    )
