"""The gas path of a build as a cut section: stations in equal columns, diameters to one scale, balloons on what is set.

Drawn as SVG in ink alone, in millimetres of the printed sheet. Lines: 0.1 leaders and hatching, 0.18 centre and
dimension lines, 0.3 outlines, 0.37 the outer edge of the cylinder.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from spoolwright.book.content import Figure
from spoolwright.book.in_units import printed
from spoolwright.charts.gas_path import Station, stations
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet

WIDTH, TOP, TALL, ROW = 178.0, 4.4, 26.0, 3.3  # mm: the whole drawing; above it room for balloons; the section
FONT = "Libertinus Serif, Times New Roman, serif"
THIN, FINE, LINE, EDGE = 0.1, 0.18, 0.3, 0.37
WALL = 0.9  # mm on paper, not to scale
TEXT = 2.75
LEGIBLE = 12  # letters of a value that stand in one line; what it was measured at goes below


def gas_path(sheet: Sheet, findings: Sequence[Finding] = ()) -> Figure:
    """The gas path of this build, with name and main dimensions below each station.

    A finding that is not sound hangs as a balloon over the station it speaks of; its number counts ``findings`` from 1.
    """
    parts = stations(sheet)
    column = WIDTH / len(parts)
    pipes = [max(one.outline) for one in parts if one.shape not in ("box", "cooler", "cylinder")]
    scale = 0.5 * TALL / max(pipes)  # paper mm for each mm of diameter; boxes and coolers are cut to fit
    drawn = [_style()]
    rows = max(sum(1 + len(_value(sheet, path)) for path, _ in _numeric(sheet, one)) for one in parts)
    heads = max(len(_lines(one.title)) for one in parts)
    height = TOP + TALL + 2.0 + ROW * (rows + heads)
    middle = TOP + TALL / 2.0
    drawn.append(_line(0, middle, WIDTH, middle, FINE, "5 1 1 1"))
    for at, one in enumerate(parts):
        left = at * column
        drawn += _section(parts, at, left, column, middle, scale)
        drawn += _words(sheet, one, left, column, TOP + TALL + 1.0, heads)
        drawn += _balloons(one, findings, left + column / 2.0, middle)
        drawn.append(_line(left, TOP + TALL + 1.5, left, height, THIN))
    drawn.append(_line(WIDTH, TOP + TALL + 1.5, WIDTH, height, THIN))
    body = "\n".join(drawn)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{height:.2f}mm" '
        f'viewBox="-1 0 {WIDTH + 2:.2f} {height:.2f}">\n{body}\n</svg>'
    )
    names = ", ".join(one.title.lower() for one in parts)
    return Figure("gas-path", "Gas path", svg, WIDTH, height, f"Cut section along the gas: {names}.")


def _style() -> str:
    return (
        "<defs><pattern id='cut' width='1.1' height='1.1' patternUnits='userSpaceOnUse' patternTransform='rotate(45)'>"
        f"<line x1='0' y1='0' x2='0' y2='1.1' stroke='black' stroke-width='{THIN * 2}'/></pattern></defs>"
    )


def _line(x0: float, y0: float, x1: float, y1: float, width: float, dash: str = "") -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x0:.2f}" y1="{y0:.2f}" x2="{x1:.2f}" y2="{y1:.2f}" stroke="black" stroke-width="{width}"{dashes}/>'
    )


def _shape(points: Sequence[tuple[float, float]], fill: str, width: float, closed: bool = True) -> str:
    path = "M" + " L".join(f"{x:.2f} {y:.2f}" for x, y in points) + (" Z" if closed else "")
    return f'<path d="{path}" fill="{fill}" stroke="black" stroke-width="{width}" stroke-linejoin="round"/>'


def numbers(one: Station, findings: Sequence[Finding]) -> list[int]:
    """Which findings that are not sound speak of this station, counted from 1."""
    return [
        n
        for n, finding in enumerate(findings, 1)
        if finding.verdict in ("stop", "watch") and finding.where.startswith(one.speaks)
    ]


def _balloons(one: Station, findings: Sequence[Finding], x: float, middle: float) -> Iterator[str]:
    """Numbered balloons above a station, the first with a leader into it."""
    told = numbers(one, findings)[:3]
    for at, n in enumerate(told):
        cx = x + 4.4 * (at - (len(told) - 1) / 2.0)
        if at == 0:
            yield _line(cx, 4.3, x, middle - 1.2, THIN)
        yield f'<circle cx="{cx:.2f}" cy="2.2" r="2" fill="white" stroke="black" stroke-width="{FINE}"/>'
        yield _text(cx, 3.15, str(n))


def _wall(x0: float, r0: float, x1: float, r1: float, middle: float) -> Iterator[str]:
    """Both walls of a round piece, cut: hatched, with their outlines."""
    for sign in (-1.0, 1.0):
        inner = [(x0, middle + sign * r0), (x1, middle + sign * r1)]
        outer = [(x1, middle + sign * (r1 + WALL)), (x0, middle + sign * (r0 + WALL))]
        yield _shape([*inner, *outer], "url(#cut)", LINE)


def _section(parts: Sequence[Station], at: int, left: float, wide: float, middle: float, scale: float) -> list[str]:
    """What stands in one column."""
    one = parts[at]
    r0, r1 = (0.5 * scale * d for d in one.outline)
    x0, x1 = left, left + wide
    if one.shape == "cylinder":
        return _cylinder(left, wide, middle, scale * one.outline[0])
    drawn = []
    if one.shape == "box":
        inset = 0.12 * wide
        before, after = _neighbour(parts, at - 1, 1, scale, r0), _neighbour(parts, at + 1, 0, scale, r0)
        tall = min(max(r0, before + 1.0, after + 1.0), 0.44 * TALL)
        drawn += [*_wall(x0, before, x0 + inset, before, middle), *_wall(x1 - inset, after, x1, after, middle)]
        drawn += _wall(x0 + inset, tall, x1 - inset, tall, middle)
        for x, r in ((x0 + inset, before), (x1 - inset, after)):
            for sign in (-1.0, 1.0):
                drawn.append(_line(x, middle + sign * r, x, middle + sign * (tall + WALL), LINE))
        return drawn
    if one.shape == "mouth":
        flare = min(0.22 * wide, 4.0)
        drawn += _wall(x0 + 1.0, r0 * 1.25, x0 + 1.0 + flare, r0, middle)
        drawn += _wall(x0 + 1.0 + flare, r0, x1, r1, middle)
        drawn.append(_arrow(x0 + 0.45 * wide, middle, 0.3 * wide))
        return drawn
    if one.shape == "cooler":
        r0 = r1 = min(r0, 0.44 * TALL)
    drawn += _wall(x0, r0, x1, r1, middle)
    if one.shape in ("compressor", "turbine"):
        drawn += _wheel(one.shape, x0, wide, middle, min(r0, r1))
    elif one.shape in ("carburettor", "hat"):
        drawn += _venturi(x0, wide, middle, min(r0, r1))
        if one.shape == "hat":
            drawn += _hat(x0, wide, middle, max(r0, r1))
    elif one.shape == "throttle":
        drawn.append(_line(x0 + 0.42 * wide, middle - 0.9 * r0, x0 + 0.58 * wide, middle + 0.9 * r0, EDGE))
    elif one.shape == "cooler":
        for n in range(1, 8):
            x = x0 + wide * n / 8.0
            drawn.append(_line(x, middle - r0, x, middle + r0, FINE))
    elif one.shape == "port":
        drawn += _valve(x0 + 0.7 * wide, middle, min(r0, r1))
    else:
        drawn.append(_arrow(x0 + 0.35 * wide, middle, 0.3 * wide))
    return drawn


def _neighbour(parts: Sequence[Station], at: int, end: int, scale: float, otherwise: float) -> float:
    if 0 <= at < len(parts) and parts[at].shape not in ("cylinder", "box"):
        return 0.5 * scale * parts[at].outline[end]
    return 0.6 * otherwise


def _arrow(x: float, y: float, long: float) -> str:
    head = f"M{x + long:.2f} {y:.2f} l-1.6 -0.55 v1.1 Z"
    return _line(x, y, x + long, y, LINE) + f'<path d="{head}" fill="black"/>'


def _wheel(kind: str, x0: float, wide: float, middle: float, r: float) -> Iterator[str]:
    """A wheel: wide where gas leaves (compressor) or enters (turbine), on its shaft."""
    a, b = x0 + 0.3 * wide, x0 + 0.7 * wide
    small, large = 0.35 * r, 0.92 * r
    first, last = (small, large) if kind == "compressor" else (large, small)
    yield _shape([(a, middle - first), (b, middle - last), (b, middle + last), (a, middle + first)], "white", LINE)
    for n in range(1, 5):
        x = a + (b - a) * n / 5.0
        y = first + (last - first) * n / 5.0
        yield _line(x, middle - y, x, middle + y, FINE)
    yield _line(x0 + 0.1 * wide, middle, x0 + 0.9 * wide, middle, EDGE)


def _venturi(x0: float, wide: float, middle: float, r: float) -> Iterator[str]:
    for sign in (-1.0, 1.0):
        a, b, c = x0 + 0.2 * wide, x0 + 0.45 * wide, x0 + 0.7 * wide
        yield _shape([(a, middle + sign * r), (b, middle + sign * 0.62 * r), (c, middle + sign * r)], "url(#cut)", LINE)
    x = x0 + 0.84 * wide
    yield _line(x - 0.05 * wide, middle - 0.9 * r, x + 0.05 * wide, middle + 0.9 * r, EDGE)


def _hat(x0: float, wide: float, middle: float, r: float) -> Iterator[str]:
    """The cover under boost around a carburettor."""
    for sign in (-1.0, 1.0):
        a, b, tall = x0 + 0.06 * wide, x0 + 0.62 * wide, middle + sign * (r + 3.0)
        near = middle + sign * (r + WALL)
        yield _shape([(a, near), (a, tall), (b, tall), (b, near)], "none", LINE, closed=False)


def _valve(x: float, middle: float, r: float) -> Iterator[str]:
    yield _shape(
        [(x, middle - r), (x + 1.2, middle - 0.8 * r), (x + 1.2, middle + 0.8 * r), (x, middle + r)], "white", LINE
    )
    yield _line(x + 1.2, middle, x + 7.0, middle, LINE)


def _cylinder(left: float, wide: float, middle: float, bore: float) -> list[str]:
    """A cylinder across the path: head above, piston below, bore to the scale of the pipes."""
    half = min(0.5 * bore, 0.42 * wide)
    x0, x1 = left + wide / 2 - half, left + wide / 2 + half
    top, low = middle - 0.36 * TALL, middle + 0.46 * TALL
    crown = middle + 0.06 * TALL
    drawn = [
        _shape([(x0 - 1.3, top), (x0, top), (x0, low), (x0 - 1.3, low)], "url(#cut)", EDGE),
        _shape([(x1, top), (x1 + 1.3, top), (x1 + 1.3, low), (x1, low)], "url(#cut)", EDGE),
        _shape([(x0 - 1.3, top - 2.4), (x1 + 1.3, top - 2.4), (x1 + 1.3, top), (x0 - 1.3, top)], "url(#cut)", EDGE),
        _shape([(x0 + 0.25, crown), (x1 - 0.25, crown), (x1 - 0.25, low - 2), (x0 + 0.25, low - 2)], "white", LINE),
    ]
    drawn += [_line(x0 + 0.25, crown + 1.1 * n, x1 - 0.25, crown + 1.1 * n, FINE) for n in (1, 2)]
    pin = (left + wide / 2, crown + 4.6)
    drawn.append(
        f'<circle cx="{pin[0]:.2f}" cy="{pin[1]:.2f}" r="1.1" fill="white" stroke="black" stroke-width="{LINE}"/>'
    )
    return drawn


def _words(sheet: Sheet, one: Station, left: float, wide: float, top: float, heads: int) -> Iterator[str]:
    """Name of a station and its dimensions, set under its column."""
    x, y = left + wide / 2.0, top
    for n, words in enumerate(_lines(one.title)):
        yield _text(x, y + ROW * (n + 1), words, "italic")
    y += ROW * heads
    for path, label in _numeric(sheet, one):
        y += ROW
        yield _text(x, y, label, small=True)
        for line in _value(sheet, path):
            y += ROW
            yield _text(x, y, line)


def _value(sheet: Sheet, path: str) -> list[str]:
    """A dimension as it is set: what a long one was measured at stands below it."""
    value = printed(sheet.quantity(path).text)
    number, at, condition = value.partition(" @ ")
    return [number, f"@ {condition}"] if at and len(value) > LEGIBLE else [value]


def _numeric(sheet: Sheet, one: Station) -> list[tuple[str, str]]:
    """The station's dimensions; a table or a name is no dimension."""
    return [(path, label) for path, label in one.fields if sheet.entries[path.partition("[")[0]].field.numeric]


def _lines(title: str) -> list[str]:
    """A station's name in lower case, on two lines where it has two parts or two long words."""
    words = title[:1].lower() + title[1:]
    if ", " in words:
        return words.split(", ", 1)
    return words.split(" ", 1) if len(words) > 11 and " " in words else [words]


def _text(x: float, y: float, words: str, style: str = "normal", small: bool = False) -> str:
    size = TEXT * (0.86 if small else 1.0)
    fit = 15.4 / (0.5 * size * max(len(words), 1))  # a long word is set smaller rather than into its neighbour
    size *= min(1.0, fit)
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-family="{FONT}" font-size="{size:.2f}" font-style="{style}" '
        f'text-anchor="middle">{escape(words, quote=True)}</text>'
    )
