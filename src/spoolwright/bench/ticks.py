"""Readings as numbered ticks against their band: a small drawing for the table and a larger one for the phone."""

from __future__ import annotations

from html import escape

from spoolwright.book.by_cylinder import Row

_APART = 10.0  # px between the numbers over the ticks


def drawing(row: Row, width: int = 176, chosen: int = 0) -> str:
    """The row's readings; what lies beyond the drawing is an arrow at its end, never a tick in a wrong place."""
    values = [one.value for one in row.quantities]
    low, high = (None if end is None else end.value for end in (row.low, row.high))
    start, end = _reach(values, low, high)

    def x(value: float) -> float:
        return 8.0 + (value - start) / (end - start) * (width - 16.0)

    out = [f'<path d="M2,26H{width - 2}" stroke="var(--rule2)"/>']
    if low is not None or high is not None:
        left, right = x(start if low is None else low), x(end if high is None else high)
        out.append(
            f'<rect x="{left:.1f}" y="16" width="{right - left:.1f}" height="10" fill="var(--sound)" opacity=".14"/>'
        )
        for one in (row.low, row.high):
            if one is not None:
                at = x(one.value)
                out.append(f'<path d="M{at:.1f},15V29" stroke="var(--sound)" stroke-width="1.5"/>')
                text = escape(one.text.partition(" ")[0])
                out.append(f'<text class="tk" x="{at:.1f}" y="40" text-anchor="middle">{text}</text>')
    out += _numbers(row, [x(one) for one in values], width, chosen)
    head = f'<svg class="svgtext" width="{width}" height="44" role="img" aria-label="{escape(_words(row))}">'
    return f"{head}{''.join(out)}</svg>"


def _reach(values: list[float], low: float | None, high: float | None) -> tuple[float, float]:
    """What the drawing spans: the band and half of it on both sides, or the readings themselves."""
    if low is not None and high is not None and high > low:
        room = 0.5 * (high - low)
        return low - room, high + room
    ends = [*values, *(one for one in (low, high) if one is not None)]
    first, last = min(ends), max(ends)
    room = 0.5 * (last - first) or 0.01 * abs(first) or 1.0
    return first - room, last + room


def _numbers(row: Row, at: list[float], width: int, chosen: int) -> list[str]:
    out = []
    free = -1e9
    for n in sorted(range(len(at)), key=lambda one: at[one]):
        inside = 4.0 <= at[n] <= width - 4.0
        column = n + 1
        look = next((one.verdict for one in row.about(column) if one.verdict in ("stop", "watch")), "ink")
        place = min(max(at[n], 8.0), width - 8.0)
        label = max(place, free + _APART)
        free = label
        colour = f"var(--{look})"
        if inside:
            out.append(f'<path d="M{place:.1f},17V30" stroke="{colour}" stroke-width="2"/>')
            out.append(f'<path d="M{place:.1f},17L{label:.1f},13" stroke="{colour}" stroke-width=".75"/>')
        else:
            way = 1 if at[n] > place else -1
            out.append(f'<path d="M{place - 4 * way:.1f},21l{8 * way},5l{-8 * way},5z" fill="{colour}"/>')
        if len(at) > 1:
            weight = "700" if column == chosen else "400"
            style = f"fill:{colour};font-weight:{weight}"
            out.append(f'<text x="{label:.1f}" y="11" text-anchor="middle" style="{style}">{column}</text>')
    return out


def _words(row: Row) -> str:
    band = " to ".join(one.text for one in (row.low, row.high) if one is not None)
    said = ", ".join(f"{n} {one.text}" for n, one in enumerate(row.quantities, start=1))
    return f"{row.name}: {said}" + (f"; band {band}" if band else "; no band given")
