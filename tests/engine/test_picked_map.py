"""A map clicked off a picture gives back the map that the picture was made from."""

from __future__ import annotations

from math import cos, radians, sin
from pathlib import Path

import pytest

from spoolwright.engine.picked_map import Axes, Mark, Picked, Pixel, rows, save, text
from spoolwright.errors import BadInput
from spoolwright.sheet import load, template

READING = 0.5  # px, as well as a click can be read


def _drawn(flow: float, ratio: float, turned: float = 7.0) -> Pixel:
    """Where a flow and a ratio stand in a picture that was scanned a little askew."""
    x, y = 100.0 + 8000.0 * flow, 900.0 - 500.0 * (ratio - 1.0)
    a = radians(turned)
    return x * cos(a) - y * sin(a), x * sin(a) + y * cos(a)


def _axes() -> Axes:
    flow = (Mark(_drawn(0.0, 1.0), 0.0), Mark(_drawn(0.12, 1.0), 0.12))
    return Axes(flow, (Mark(_drawn(0.0, 1.2), 1.2), Mark(_drawn(0.0, 2.4), 2.4)))


def _picked() -> Picked:
    """Two lines and two islands: efficiency falls in proportion to the distance from the middle, by a cone."""
    lines = {
        60000.0: [_drawn(0.02, 1.30), _drawn(0.04, 1.28), _drawn(0.06, 1.20)],
        90000.0: [_drawn(0.03, 1.70), _drawn(0.05, 1.66), _drawn(0.08, 1.50)],
    }
    ring = [(cos(radians(k)), sin(radians(k))) for k in range(0, 360, 15)]
    islands = {
        0.60: [_drawn(0.05 + 0.06 * c, 1.5 + 0.6 * s) for c, s in ring],
        0.70: [_drawn(0.05 + 0.03 * c, 1.5 + 0.3 * s) for c, s in ring],
    }
    return Picked(_axes(), "kg/s", lines, islands)


def test_rows__give_back_flow_and_ratio_from_an_askew_picture() -> None:
    found = rows(_picked())
    assert [(round(r.flow, 6), round(r.ratio, 6)) for r in found if r.speed_rpm == 60000.0] == [
        (0.02, 1.30), (0.04, 1.28), (0.06, 1.20),
    ]  # fmt: skip


def test_a_click_misread_by_half_a_pixel__moves_the_flow_by_no_more() -> None:
    axes = _axes()
    x, y = _drawn(0.05, 1.6)
    flow, ratio = axes.data((x + READING, y))
    assert abs(flow - 0.05) <= READING / 8000.0
    assert abs(ratio - 1.6) <= READING / 500.0


def test_pixel__is_the_way_back() -> None:
    axes = _axes()
    for flow, ratio in ((0.01, 1.1), (0.1, 2.2)):
        assert axes.pixel(flow, ratio) == pytest.approx(_drawn(flow, ratio), abs=1e-9)
        assert axes.data(axes.pixel(flow, ratio)) == pytest.approx((flow, ratio), rel=1e-12)


def test_efficiency__is_linear_between_islands() -> None:
    """On the cone 0.70 at distance 1, 0.60 at distance 2 (in half-axes of the inner island)."""
    picked = _picked()
    picked.lines = {
        60000.0: [_drawn(0.05 - 0.045, 1.5), _drawn(0.05 + 0.045, 1.5)],
        90000.0: [_drawn(0.05, 1.5), _drawn(0.05, 1.95)],
    }
    found = rows(picked)
    # 24-sided islands lie inside their circles by 1 - cos(7.5 deg) = 0.9 % of the radius at most.
    assert [r.efficiency for r in found] == pytest.approx([0.65, 0.65, 0.70, 0.65], abs=0.002)
    assert not any(r.outside for r in found)


def test_points_outside_the_islands__are_counted_in_the_table() -> None:
    picked = _picked()
    picked.lines[90000.0].append(_drawn(0.118, 1.05))
    assert [r.outside for r in rows(picked)].count(True) == 1
    assert "# 1 of 7 points lie outside the clicked islands" in text(picked, "a test")


def test_saved_table__is_read_by_the_sheet(tmp_path: Path) -> None:
    build = template.new(tmp_path / "mine", like="wren")
    name = save(build, "clicked", _picked(), "a test")
    table = load(build, sets=[f"charge.compressor.map={name}"]).table("charge.compressor.map")
    assert table.columns["flow"] == pytest.approx((0.02, 0.04, 0.06, 0.03, 0.05, 0.08), rel=1e-4)
    with pytest.raises(BadInput, match="was not clicked"):
        save(build, "compressor", _picked(), "a test")
    for bad in ("../compressor", "a/b", "", "x.csv"):
        with pytest.raises(BadInput, match="no name for a table"):
            save(build, bad, _picked(), "a test")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"lines": {}}, "at least two speed lines"),
        ({"islands": {}}, "no island"),
        ({"flow_unit": "furlong"}, "no unit of a mass flow"),
        ({"lines": {1e5: [(1.0, 1.0)], 6e4: [(2.0, 2.0), (3.0, 3.0)]}}, "rpm"),
    ],
)
def test_what_is_missing__is_told(change: dict[str, object], said: str) -> None:
    picked = _picked()
    for name, value in change.items():
        setattr(picked, name, value)
    with pytest.raises(BadInput, match=said):
        rows(picked)


def test_axes_that_say_nothing__are_refused() -> None:
    a, b = Mark((0.0, 0.0), 0.0), Mark((100.0, 0.0), 1.0)
    with pytest.raises(BadInput, match="too close"):
        Axes((a, Mark((1.0, 1.0), 1.0)), (a, Mark((0.0, 100.0), 2.0)))
    with pytest.raises(BadInput, match="different values"):
        Axes((a, Mark((100.0, 0.0), 0.0)), (a, Mark((0.0, 100.0), 2.0)))
    with pytest.raises(BadInput, match="same way"):
        Axes((a, b), (a, Mark((200.0, 0.0), 2.0)))
