"""Tables of a match: candidates and springs, from the match's own report."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

from spoolwright import units
from spoolwright.bench import marks
from spoolwright.bench.words import number, told
from spoolwright.findings.model import Verdict


def verdict_of(word: str) -> Verdict:
    """The match's word for a verdict as one of ours."""
    verdicts: dict[str, Verdict] = {"stop": "stop", "watch": "watch", "not measured": "not measured"}
    return verdicts.get(word, "sound")


def _percent(value: float | None) -> str:
    return "" if value is None else number(100.0 * value)


def candidates(found: Sequence[dict[str, Any]], chosen: int) -> str:
    """Candidates, best first, each to be chosen."""
    rows = ""
    for n, one in enumerate(found):
        margins = {m["name"]: m["value"] for m in one["margins"]}
        area = units.show(one["turbine_area_m2"], "area", "mm2", 3).removesuffix(" mm2")
        cells = [area, _percent(margins.get("surge")), _percent(margins.get("choke")), _percent(one["efficiency"])]
        cells += ["never" if one["threshold_rpm"] is None else number(one["threshold_rpm"])]
        cells += ["" if one["drive_pressure_ratio"] is None else number(one["drive_pressure_ratio"], 2)]
        checked = " checked" if n == chosen else ""
        radio = f'<input type="radio" name="candidate" value="{n}"{checked}>'
        label = f"<label>{radio} {escape(told(one['name']))}</label>"
        tight = f'{marks.tag(verdict_of(one["verdict"]))}<br><span class="note">{escape(one["tightest"])}</span>'
        filled = "".join(f"<td>{cell}</td>" for cell in (label, *cells))
        rows += f'<tr>{filled}<td class="w">{tight}</td></tr>'
    heads = ("turbine<br>mm²", "surge<br>%", "choke<br>%", "mean<br>eff. %", "holds<br>from rpm", "drive /<br>boost")
    head = f'<tr><th>compressor</th>{"".join(f"<th>{one}</th>" for one in heads)}<th class="w">tightest limit</th></tr>'
    return f'<table class="t" aria-label="Candidates" style="min-width:620px">{head}{rows}</table>'


def springs(found: Sequence[dict[str, Any]]) -> str:
    """What each spring holds; its label is struck through."""
    rows = ""
    for one in found:
        points = one["points"]
        wanted = " <b>made for it</b>" if one["made_for_wish"] else ""
        opens = "never" if one["gate_opens_rpm"] is None else number(one["gate_opens_rpm"])
        most = max(point["boost_kPa"] for point in points)
        end = "no" if one["gate_at_stop_rpm"] is None else f"from {number(one['gate_at_stop_rpm'])}"
        look = ' class="sel"' if one["made_for_wish"] else ""
        cells = [f"{number(one['preload_N'])} N{wanted}", f"<s>{number(one['label_kPa'])}</s>", opens, number(most)]
        cells += [number(points[-1]["boost_kPa"]), number(one["boost_rise_kPa"], 1), end]
        rows += f"<tr{look}>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>"
    heads = (
        "seat force",
        "on its<br>label kPa",
        "gate opens<br>rpm",
        "most<br>kPa",
        "at top<br>kPa",
        "creep<br>kPa",
        "at its stop",
    )
    head = f"<tr>{''.join(f'<th>{one}</th>' for one in heads)}</tr>"
    return f'<table class="t" aria-label="Springs">{head}{rows}</table>'
