"""The cut section of the gas path: each station drawn from its own diameters, all to one scale."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from spoolwright.bench.svg import circle, path, rect, text
from spoolwright.charts.gas_path import Shape, Station

WALL = 2.6  # px


@dataclass(frozen=True)
class Place:
    """Where a station is drawn: left edge, width, the axis' height, px for a millimetre."""

    x: float
    width: float
    mid: float
    scale: float

    @property
    def end(self) -> float:
        """Right edge."""
        return self.x + self.width


def cut(
    columns: Sequence[Station],
    width: float,
    left: float,
    mid: float,
    top: float,
    foot: float,
    notes: Mapping[str, str],
) -> list[str]:
    """SVG of all stations, pipes meeting at the columns' edges."""
    largest = max((max(one.outline) for one in columns), default=1.0)
    scale = min(0.85, (foot - top - 60.0) / largest)
    out = []
    edges = _edges(columns)
    for n, one in enumerate(columns):
        place = Place(left + n * width, width, mid, scale)
        out.append(_DRAW.get(one.shape, _pipe)(one, place, edges[n], edges[n + 1]))
    end = left + len(columns) * width
    out.append(path("ctr", "M", left, mid, "H", end))
    out += _arrows(columns, width, left, mid)
    out += _shaft(columns, width, left, mid, top, notes.get("shaft", ""))
    out += _gate(columns, width, left, mid, scale, foot, notes.get("gate", ""))
    return out


def _edges(columns: Sequence[Station]) -> list[float]:
    """Diameter [mm] at each edge between columns: that of the pipe that meets it."""
    solid: tuple[Shape, ...] = ("box", "cooler", "cylinder", "compressor", "turbine")
    edges = []
    for n in range(len(columns) + 1):
        before = columns[n - 1] if n else None
        after = columns[n] if n < len(columns) else None
        given = None
        if before is not None and before.shape not in solid:
            given = before.outline[1] if before.shape not in ("carburettor", "hat") else before.outline[0]
        elif after is not None and after.shape not in solid:
            given = after.outline[0]
        edges.append(given if given is not None else 36.0)
    return edges


def _gas(one: Station) -> str:
    if one.side == "exhaust":
        return "var(--gas3)" if one.key == "tail" else "var(--gas2)"
    return "var(--gas1)" if one.mixture else "var(--gas0)"


def _tube(points: Sequence[tuple[float, float]], mid: float, gas: str) -> str:
    """A body of revolution cut open: gas between the walls, a wall line above and below. points: (x, half height)."""
    out = ""
    for way in (-1, 1):
        wall = _steps((x, mid + way * h) for x, h in points)
        outer = _steps((x, mid + way * (h + WALL)) for x, h in reversed(points))
        out += path("", "M", *wall, *outer, "Z", fill="var(--metal-bg)")
        out += path("thk", "M", *wall) + path("thin", "M", *outer)
    upper = _steps((x, mid - h) for x, h in points)
    lower = _steps((x, mid + h) for x, h in reversed(points))
    return path("", "M", *upper, *lower, "Z", fill=gas) + out


def _steps(points: Iterable[tuple[float, float]]) -> list[float]:
    return [number for point in points for number in point]


def _half(mm: float, place: Place) -> float:
    return max(0.5 * mm * place.scale, 4.0)


def _pipe(one: Station, place: Place, before: float, after: float) -> str:
    h0, h1 = (_half(mm, place) for mm in one.outline)
    points = [(place.x, _half(before, place)), (place.x + 0.12 * place.width, h0), (place.end - 1, h1), (place.end, h1)]
    if one.key in ("runners", "primaries"):
        return _siblings(place, max(h0, h1)) + _tube(points, place.mid, _gas(one))
    return _tube(points, place.mid, _gas(one))


def _siblings(place: Place, half: float) -> str:
    """The pipes beside the one that is drawn, as chain lines."""
    out = ""
    x0, x1, middle = place.x + 0.1 * place.width, place.end - 0.1 * place.width, place.x + place.width / 2
    for way in (-1, 1):
        y, bend = place.mid + way * (half + 15), way * 7
        out += path("ctr", "M", x0, y - bend, "Q", middle, y + bend, x1, y - bend)
    return out


def _mouth(one: Station, place: Place, before: float, after: float) -> str:
    h0, h1 = (_half(mm, place) for mm in one.outline)
    x, w = place.x, place.width
    points = [(x + 6, h0 + 11), (x + 0.12 * w, h0 + 3), (x + 0.2 * w, h0), (place.end, h1)]
    return _tube(points, place.mid, _gas(one))


def _carburettor(one: Station, place: Place, before: float, after: float) -> str:
    x, w, mid = place.x, place.width, place.mid
    bore, venturi = (_half(mm, place) for mm in one.outline)
    hat = _half(before, place)
    room = max(bore * 1.7, hat + 8) if one.shape == "hat" else bore
    points = [(x, hat), (x + 0.07 * w, hat), (x + 0.1 * w, room), (x + 0.36 * w, room), (x + 0.42 * w, bore)]
    points += [(x + 0.56 * w, venturi), (x + 0.7 * w, bore), (place.end, bore)]
    plate = path("med", "M", x + 0.84 * w, mid - bore + 2, "L", x + 0.87 * w, mid + bore - 2)
    left, y, wide = x + 0.46 * w, mid + room + 14, 0.3 * w
    bowl = path("med", "M", left, y, "h", wide, "v", 18.0, "h", -wide, "z") + rect(
        left + 1, y + 7, wide - 2, 10, "var(--gas1)"
    )
    return _tube(points, mid, _gas(one)) + plate + bowl + path("thin", "M", x + 0.56 * w, mid, "V", y + 10)


def _throttle(one: Station, place: Place, before: float, after: float) -> str:
    h = _half(one.outline[0], place)
    x, w, mid = place.x, place.width, place.mid
    points = [(x, _half(before, place)), (x + 0.15 * w, h), (place.end, h)]
    plate = path("med", "M", x + 0.36 * w, mid, "H", x + 0.64 * w)
    return _tube(points, mid, _gas(one)) + plate + circle(x + w / 2, mid, 3.2, class_="med", fill="var(--sheet)")


def _box(one: Station, place: Place, before: float, after: float) -> str:
    half = max(_half(one.outline[0], place), _half(before, place) + 6, _half(after, place) + 6)
    h0, h1 = _half(before, place), _half(after, place)
    side = min(2 * half, 0.76 * place.width)
    x0, x1 = place.x + (place.width - side) / 2, place.x + (place.width + side) / 2
    points = [(place.x, h0), (x0, h0), (x0, half), (x1, half), (x1, h1), (place.end, h1)]
    return _tube(points, place.mid, _gas(one))


def _cooler(one: Station, place: Place, before: float, after: float) -> str:
    body = _box(one, place, before, after)
    half = max(_half(one.outline[0], place), 14.0) - 3
    fins = [
        path("thin", "M", place.x + share * place.width, place.mid - half, "v", 2 * half)
        for share in (0.3, 0.36, 0.42, 0.48, 0.54, 0.6, 0.66, 0.72)
    ]
    return body + "".join(fins)


def _wheel(x0: float, h0: float, x1: float, h1: float, mid: float) -> str:
    """A wheel cut open: a trapezoid, hatched."""
    shape = ("M", x0, mid - h0, "L", x1, mid - h1, "V", mid + h1, "L", x0, mid + h0, "Z")
    return path("", *shape, fill="var(--metal-bg)") + path("med", *shape, fill="url(#h45)")


def _compressor(one: Station, place: Place, before: float, after: float) -> str:
    inducer, exducer = (_half(mm, place) for mm in one.outline)
    x, w, mid = place.x, place.width, place.mid
    pipe = [(x, _half(before, place)), (x + 0.3 * w, inducer + 2), (x + 0.34 * w, inducer + 2)]
    scroll = [(x + 0.34 * w, inducer + 2), (x + 0.46 * w, exducer + 9), (x + 0.6 * w, exducer + 9)]
    out = [(x + 0.6 * w, _half(after, place)), (place.end, _half(after, place))]
    wheel = _wheel(x + 0.34 * w, inducer, x + 0.52 * w, exducer, mid)
    return _tube([*pipe, *scroll, *out], mid, _gas(one)) + wheel


def _turbine(one: Station, place: Place, before: float, after: float) -> str:
    inlet, outlet = (_half(mm, place) for mm in one.outline)
    x, w, mid = place.x, place.width, place.mid
    points = [(x, _half(before, place)), (x + 0.36 * w, _half(before, place)), (x + 0.36 * w, inlet + 9)]
    points += [(x + 0.52 * w, inlet + 9), (x + 0.64 * w, outlet + 2), (place.end, _half(after, place))]
    return _tube(points, mid, _gas(one)) + _wheel(x + 0.46 * w, inlet, x + 0.64 * w, outlet, mid)


def _port(one: Station, place: Place, before: float, after: float) -> str:
    h0, h1 = (_half(mm, place) for mm in one.outline)
    x, w, mid = place.x, place.width, place.mid
    points = [(x, _half(before, place)), (x + 0.1 * w, h0), (x + 0.85 * w, h1), (place.end, h1 + 4)]
    stem = path("med", "M", x + 0.5 * w, mid, "H", place.end - 3)
    head = ("M", place.end - 9, mid, "L", place.end + 1, mid - h1 - 2, "v", 2 * h1 + 4, "Z")
    return _tube(points, mid, _gas(one)) + stem + path("med", *head, fill="var(--metal-bg)")


def _cylinder(one: Station, place: Place, before: float, after: float) -> str:
    x, w, mid = place.x, place.width, place.mid
    half = min(0.5 * one.outline[0] * place.scale, 0.42 * w)
    centre = x + w / 2
    left, right = centre - half, centre + half
    crown, foot = mid + 14, mid + 62
    h0, h1 = _half(before, place), _half(after, place)
    necks = rect(x, mid - h0, left - x + 1, 2 * h0, "var(--gas1)")
    necks += rect(right - 1, mid - h1, place.end - right + 1, 2 * h1, "var(--gas2)")
    roof = ("V", mid - 16, "L", centre, mid - 28, "L", right, mid - 16, "V")
    chamber = path("", "M", left, crown, *roof, crown, "Z", fill="var(--gas2)")
    chamber += path("thk", "M", left, foot, *roof, foot)
    body = ("M", left + 2, crown, "H", right - 2, "v", 26.0, "H", left + 2, "z")
    piston = path("med", *body, fill="var(--metal-bg)") + path("med", *body, fill="url(#h45)")
    for ring in (6, 10):
        piston += path("thin", "M", left + 2, crown + ring, "H", right - 2)
    for way in (-1, 1):
        piston += path("med", "M", centre + 5 * way, crown + 26, "L", centre + 2 * way, foot + 8)
    return necks + chamber + piston


def _arrows(columns: Sequence[Station], width: float, left: float, mid: float) -> list[str]:
    out = []
    for n, one in enumerate(columns):
        if one.shape in ("pipe", "mouth", "port"):
            x = left + (n + (0.5 if one.shape != "port" else 0.2)) * width
            out.append(path("med", "M", x - 12, mid, "h", 22.0, marker_end="url(#ar)"))
    return out


def _at(columns: Sequence[Station], key: str) -> int | None:
    return next((n for n, one in enumerate(columns) if one.key == key), None)


def _shaft(columns: Sequence[Station], width: float, left: float, mid: float, top: float, words: str) -> list[str]:
    a, b = _at(columns, "compressor"), _at(columns, "turbine")
    if a is None or b is None:
        return []
    x0, x1 = left + (a + 0.44) * width, left + (b + 0.55) * width
    y = top - 8
    return [
        path("chain", "M", x0, mid - 20, "V", y, "H", x1, "V", mid - 20),
        text("lt halo", (x0 + x1) / 2, y - 5, words or "one shaft", "middle"),
    ]


def _gate(
    columns: Sequence[Station], width: float, left: float, mid: float, scale: float, foot: float, words: str
) -> list[str]:
    n = _at(columns, "turbine")
    if n is None:
        return []
    x0, x1 = left + (n + 0.12) * width, left + (n + 0.86) * width
    y = foot - 12
    before, valve = mid + 14, (x0 + x1) / 2
    return [
        path("med", "M", x0, before, "V", y, "H", x1, "V", before),
        path("med", "M", valve - 9, y - 8, "h", 18.0, "v", 16.0, "h", -18.0, "z", fill="var(--sheet)"),
        path("med", "M", valve - 5, y + 4, "l", 4.0, -8.0, "l", 3.0, 8.0, "l", 3.0, -8.0),
        text("lt", x0 - 4, y - 12, words or "gate", "end"),
    ]


_DRAW = {
    "mouth": _mouth,
    "pipe": _pipe,
    "compressor": _compressor,
    "cooler": _cooler,
    "carburettor": _carburettor,
    "hat": _carburettor,
    "throttle": _throttle,
    "box": _box,
    "port": _port,
    "cylinder": _cylinder,
    "turbine": _turbine,
}
