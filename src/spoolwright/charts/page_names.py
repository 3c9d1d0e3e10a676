"""Where names stand in a chart on a page: places along each line are tried, the one that covers least is taken.

The page may stretch a chart, so a place is a point of the line with an offset in pixels; crowding is judged at a
nominal size.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

Side = Literal["left", "right"]
Numbers = Sequence[float | None]
Boxed = tuple[float, float, float, float]  # x0, y0, x1, y1 in px, y upwards
Taken = tuple[float, float, str, float, float, bool]  # words at a point: x, y, side, width and shift [px], under it

LETTER = 6.3  # px, mean width of a letter at size 12
HIGH = 14.0  # px of a line of text
SHARES = (0.97, 0.85, 0.72, 0.6, 0.48, 0.36, 0.24, 0.12, 0.03)


@dataclass(frozen=True)
class Room:
    """The plot's size in px as names are placed."""

    width: float
    height: float


@dataclass(frozen=True)
class Label:
    """A name to place: beside a line, or above or below a level."""

    text: str
    where: Literal["line", "above", "below"]
    x: Sequence[float]
    y: Numbers
    side: Side
    colour: str
    bold: bool = False


@dataclass(frozen=True)
class Spot:
    """Where a name stands: a point in data, which end of the text meets it, and the offset in px."""

    label: Label
    x: float
    y: float
    ha: str
    va: str
    dx: float
    dy: float


def place_names(
    labels: Sequence[Label],
    crowd: Sequence[tuple[Sequence[float], Numbers, Side]],
    across: tuple[float, float],
    ranges: Mapping[str, tuple[float, float]],
    room: Room,
    taken: Sequence[Taken] = (),
) -> list[Spot]:
    """A spot for each label, in order; ``crowd`` are the lines not to cover, ``taken`` words that stand already."""

    def px(x: float, y: float, side: str) -> tuple[float, float]:
        low, high = ranges[side]
        return (
            (x - across[0]) / ((across[1] - across[0]) or 1.0) * room.width,
            (y - low) / ((high - low) or 1.0) * room.height,
        )

    points = [
        p for x, y, side in crowd for p in _dense([px(a, b, side) for a, b in zip(x, y, strict=True) if b is not None])
    ]
    boxes: list[Boxed] = []
    for x, y, side, width, shift, under in taken:
        a, b = px(x, y, side)
        foot = b - 8 - HIGH if under else b + 5
        boxes.append((a + shift - width / 2, foot, a + shift + width / 2, foot + HIGH))
    spots = []
    for label in labels:
        tried = []
        for rank, (x, y, ha, va, dx, dy) in enumerate(_candidates(label)):
            box = _box(px(x, y, label.side), ha, va, dx, dy, len(label.text) * LETTER)
            tried.append(
                (_covered(box, points, boxes, room) + 0.05 * rank, rank, box, Spot(label, x, y, ha, va, dx, dy))
            )
        if tried:
            _, _, box, spot = min(tried, key=lambda one: one[:2])
            boxes.append(box)
            spots.append(spot)
    return spots


def _candidates(label: Label) -> list[tuple[float, float, str, str, float, float]]:
    known = [(x, y) for x, y in zip(label.x, label.y, strict=True) if y is not None]
    if not known:
        return []
    if label.where != "line":
        (x0, y), (x1, _) = known[0], known[-1]
        va, dy = ("bottom", 3.0) if label.where == "above" else ("top", -3.0)
        return [(x0 + share * (x1 - x0), y, "left", va, 0.0, dy) for share in (0.01, 0.2, 0.4, 0.55, 0.7)]
    out = []
    for share in SHARES:
        at = share * (len(known) - 1)
        n = min(int(at), len(known) - 2) if len(known) > 1 else 0
        rest = at - n if len(known) > 1 else 0.0
        (x0, y0), (x1, y1) = known[n], known[min(n + 1, len(known) - 1)]
        x, y = x0 + rest * (x1 - x0), y0 + rest * (y1 - y0)
        for away in (5.0, 13.0):
            for va, sign in (("bottom", 1.0), ("top", -1.0)):
                out += [(x, y, ha, va, 0.0, sign * away) for ha in ("center", "right", "left")]
    return out


def _dense(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The line as points some 6 px apart."""
    out = list(points[:1])
    for (x0, y0), (x1, y1) in pairwise(points):
        steps = max(int((abs(x1 - x0) + abs(y1 - y0)) / 6.0), 1)
        out += [(x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps) for i in range(1, steps + 1)]
    return out


def _box(at: tuple[float, float], ha: str, va: str, dx: float, dy: float, width: float) -> Boxed:
    x0 = at[0] + dx - {"left": 0.0, "center": 0.5, "right": 1.0}[ha] * width
    y0 = at[1] + dy - (HIGH if va == "top" else 0.0)
    return x0, y0, x0 + width, y0 + HIGH


def _covered(box: Boxed, points: Sequence[tuple[float, float]], boxes: Sequence[Boxed], room: Room) -> float:
    x0, y0, x1, y1 = box
    cost = 0.0
    if x0 < 0.0 or x1 > room.width or y0 < 0.0 or y1 > room.height + 4.0:
        cost += 100.0
    cost += sum(x0 - 2 < x < x1 + 2 and y0 - 1 < y < y1 + 1 for x, y in points)
    cost += sum(40.0 for a0, b0, a1, b1 in boxes if x0 < a1 and a0 < x1 and y0 < b1 and b0 < y1)
    return cost
