"""The pages of the bench in the order of the job: one file a page, each with its own ``PAGE``."""

from __future__ import annotations

from spoolwright.bench.desk import Page
from spoolwright.bench.pages import dyno_day, hand_over, match, measure, predict, scratch

PAGES: tuple[Page, ...] = (measure.PAGE, predict.PAGE, match.PAGE, dyno_day.PAGE, hand_over.PAGE, scratch.PAGE)
