"""What a book is made from: the sheet in the reader's units, findings, predicted and measured pulls, the logbook."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from spoolwright.book import record
from spoolwright.book.in_units import Choice, printed
from spoolwright.book.run import Run
from spoolwright.charts.describe import Chart
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet
from spoolwright.sheet.logbook import Logbook


@dataclass(frozen=True)
class Build:
    """Everything the chapters draw on.

    ``sheet`` is written in the reader's units, for showing; ``typed`` is the sheet as it stands, for every sum, so that
    no rounding enters a result.

    ``charts`` are the predicted pull's, with measured pulls over them where there are any; ``run_note`` says what was
    set for the run, or in one sentence why there is none; ``pulls`` names each measured pull with what was read;
    ``files`` are the hashes of the build's files.
    """

    sheet: Sheet
    typed: Sheet
    findings: tuple[Finding, ...]
    run: Run | None
    run_note: str
    charts: tuple[Chart, ...]
    pulls: tuple[tuple[str, str], ...]
    logbook: Logbook
    choice: Choice
    files: Mapping[str, str]
    date: str

    @property
    def gaps(self) -> list[record.Gap]:
        """What the record lacks."""
        return record.gaps(self.sheet, self.logbook, self.findings, self.run is not None, bool(self.pulls))

    def say(self, text: str) -> str:
        """``text`` in the reader's units, as it is set."""
        return printed(text, self.choice)
