"""Charts on paper: files of each format, names that stand inside the frame and on nothing else."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.image import imread
from pulls import point, pull_of, sheet_of

from spoolwright.charts import paper
from spoolwright.charts.describe import Chart
from spoolwright.charts.look import COLOUR
from spoolwright.charts.of_pull import charts
from spoolwright.errors import BadInput


@pytest.fixture(scope="module")
def made() -> list[Chart]:
    sheet = sheet_of()
    speeds = (2000, 3000, 4000, 5000, 6000)
    points = [
        point(n, torque_Nm=120.0 - 0.006 * (n - 3500) ** 2 / 1e3, power_kW=25.0 + 5e-3 * (n - 2000)) for n in speeds
    ]
    return charts(pull_of(sheet, *points), sheet)


@pytest.mark.parametrize(("kind", "begins"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF")])
def test_draw__writes_the_format_of_the_ending(made: list[Chart], tmp_path: Path, kind: str, begins: bytes) -> None:
    file = paper.draw(made[0], tmp_path / f"chart.{kind}")
    assert file.read_bytes().startswith(begins)


def test_same_chart__gives_the_same_file(made: list[Chart], tmp_path: Path) -> None:
    for kind in paper.FORMATS:
        first = paper.draw(made[0], tmp_path / f"a.{kind}").read_bytes()
        assert first == paper.draw(made[0], tmp_path / f"b.{kind}").read_bytes(), kind


def test_svg__carries_title_sentence_and_every_name_as_text(made: list[Chart], tmp_path: Path) -> None:
    for chart in made:
        text = paper.draw(chart, tmp_path / "chart.svg").read_text(encoding="utf-8")
        for words in (chart.title, *(one.name for one in (*chart.series, *chart.limits, *chart.bands))):
            assert words in text, (chart.name, words)


def test_png__is_drawn_in_ink_on_white(made: list[Chart], tmp_path: Path) -> None:
    picture = imread(paper.draw(made[0], tmp_path / "chart.png"))
    assert picture.shape[:2] == (int(COLOUR.size[1] * paper.DPI), int(COLOUR.size[0] * paper.DPI))
    assert np.all(picture[0, 0, :3] == 1.0)
    assert (picture[..., :3].min(axis=2) < 0.3).sum() > 2000


def test_names__stand_inside_the_frame_and_not_on_each_other(made: list[Chart]) -> None:
    for chart in made:
        figure = paper._figure(chart, COLOUR)
        frame = figure.axes[0].get_window_extent()
        names = {one.name for one in (*chart.series, *chart.limits, *chart.bands, *chart.marks)}
        texts = [text for text in figure.texts if text.get_text() in names]
        assert len(texts) == len(names), chart.name
        boxes = [text.get_window_extent() for text in texts]
        for n, box in enumerate(boxes):
            assert frame.x0 <= box.x0, chart.name
            assert box.x1 <= frame.x1, chart.name
            assert frame.y0 <= box.y0, chart.name
            assert box.y1 <= frame.y1, chart.name
            for other in boxes[:n]:
                assert not box.overlaps(other), chart.name


def test_unknown_ending_or_place__is_one_sentence(made: list[Chart], tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r'png, svg, pdf, not as "bmp"'):
        paper.draw(made[0], tmp_path / "chart.bmp")
    with pytest.raises(BadInput, match="cannot be written there"):
        paper.draw(made[0], tmp_path / "nowhere" / "chart.png")
    (tmp_path / "file").write_text("")
    with pytest.raises(BadInput, match="cannot be written there"):
        paper.draw_all(made[:1], tmp_path / "file" / "inside")


def test_gap_in_a_line__leaves_it_drawn_on_both_sides(made: list[Chart], tmp_path: Path) -> None:
    chart = made[0]
    line = replace(chart.series[0], y=(*chart.series[0].y[:2], None, *chart.series[0].y[3:]))
    assert paper.draw(replace(chart, series=(line, *chart.series[1:])), tmp_path / "chart.png").exists()


def test_svg_in_ink_alone__is_black_on_nothing_and_keeps_every_name(made: list[Chart]) -> None:
    for chart in made:
        text = paper.svg(chart, 84.0, 60.0)
        colours = set(re.findall(r"(?:stroke|fill): (#[0-9a-f]{6})", text.lower()))
        assert all(c[1:3] == c[3:5] == c[5:7] for c in colours), (chart.name, colours)
        for one in (*chart.series, *chart.limits, *chart.bands):
            assert one.name in text, (chart.name, one.name)
        assert chart.title not in re.sub(r"<metadata>.*?</metadata>|<title>.*?</title>", "", text, flags=re.DOTALL)
