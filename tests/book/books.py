"""Set-up for tests of the book: demo builds copied, a predicted pull kept with one without running the engine."""

from __future__ import annotations

import io
import shutil
from pathlib import Path
from typing import Any

import pypdf

from spoolwright import __version__
from spoolwright.book import run as runs
from spoolwright.book.content import Book
from spoolwright.book.make import Options, book
from spoolwright.engine.columns import COLUMNS
from spoolwright.sheet import demo_folder, load

DATE = "2026-03-21"


def copied(folder: Path, name: str = "wren") -> Path:
    """A copy of a demo build without results."""
    shutil.copytree(demo_folder(name), folder)
    return folder


def with_run(folder: Path, variant: str | None = None) -> Path:
    """Keep a made-up pull of the sheet: smooth numbers, no claim on any engine."""
    sheet = load(folder, variant)
    points: list[dict[str, Any]] = []
    for n, speed in enumerate((2000.0, 3000.0, 4000.0, 5000.0, 6000.0)):
        point: dict[str, Any] = dict.fromkeys(COLUMNS)
        point |= {
            "speed_rpm": speed, "torque_Nm": 150.0 - 5.0 * n, "power_kW": (150.0 - 5.0 * n) * speed * 3.14159 / 30e3,
            "volumetric_efficiency": 0.9 + 0.01 * n, "air_flow_kg_s": 0.02 * (n + 1), "lambda": 0.8,
            "spark_deg_btdc": 22.0, "peak_pressure_MPa": 6.0, "knock_integral": 0.4, "knock_limit_low": 0.5,
            "knock_limit_high": 0.7, "primary_temperature_K": 1100.0, "exhaust_temperature_K": 1200.0,
            "converged": True, "trouble": "", "cylinders": {},
        }  # fmt: skip
        points.append(point)
    report = {
        "build": sheet.name, "variant": variant, "set": [], "digest": sheet.digest, "program_version": __version__,
        "cancelled": False, "assumed": [], "points": points, "findings": [],
    }  # fmt: skip
    runs.keep(folder, sheet, report)
    return folder


def made(folder: Path, **options: Any) -> Book:
    """The book without running the engine."""
    return book(folder, Options(run=False, date=DATE, **options))


def pages(data: bytes) -> list[str]:
    """The text of each page, marks of places to break taken out."""
    return [page.extract_text().replace("\u200b", "") for page in pypdf.PdfReader(io.BytesIO(data)).pages]
