"""What a row of data looks like in this file: how many cells, which of them are numbers, where they stand."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from spoolwright.dyno.readers.cells import DEVICE_WORDS, is_missing, is_value, unwrap
from spoolwright.dyno.readers.delimiter import BLANKS, cut


@dataclass(slots=True)
class Pattern:
    """``lead`` and ``second``: the first two columns that always hold a value. ``soft`` ones hold text or nothing.

    ``spans``: where each column stands in a line of fixed width.
    """

    delimiter: str
    width: int
    lead: int = 0
    second: int = 1
    numeric: list[int] = field(default_factory=list)
    soft: set[int] = field(default_factory=set)
    spans: list[tuple[int, int]] = field(default_factory=list)

    def learn(self, sample: Sequence[str]) -> bool:
        """Which columns hold values; False where no column does."""
        rows = [cells for line in sample if len(cells := cut(line, self.delimiter)) == self.width]
        rows = [r for r in rows if sum(map(is_value, r)) >= 0.4 * sum(bool(c.strip()) for c in r) > 0]
        if not rows:
            return False
        self.numeric, self.soft = [], set()
        for i in range(self.width):
            filled = [r[i] for r in rows if not is_missing(r[i])]
            good = sum(map(is_value, filled))
            if filled and good >= 0.5 * len(filled):
                self.numeric.append(i)
            else:
                self.soft.add(i)
        strong = [i for i in self.numeric if sum(is_value(r[i]) for r in rows) >= 0.8 * len(rows)]
        if not strong:
            return False
        self.lead = strong[0]
        self.second = strong[1] if len(strong) > 1 else strong[0]
        if self.delimiter == BLANKS:
            self._learn_spans(sample)
        return True

    def _learn_spans(self, sample: Sequence[str]) -> None:
        spans: list[tuple[int, int]] = []
        for line in sample:
            found = [m.span() for m in re.finditer(r"\S+", line)]
            if len(found) == self.width and is_value(line[found[self.lead][0] : found[self.lead][1]]):
                spans = (
                    [(min(a, c), max(b, d)) for (a, b), (c, d) in zip(spans, found, strict=True)] if spans else found
                )
        apart = all(a[1] <= b[0] for a, b in itertools.pairwise(spans))
        self.spans = spans if spans and apart else []

    def cells(self, line: str) -> list[str]:
        cells = cut(line, self.delimiter)
        if self.delimiter == "|" and len(cells) < self.width and '"' not in line:
            # A bar at both ends is a frame, or an empty first cell with a separator at the end.
            unframed = line.strip().split("|")
            return unframed if len(unframed) in (self.width, self.width + 1) else cells
        if self.delimiter == BLANKS and self.spans and 1 < len(cells) < self.width:
            placed = [""] * self.width
            for m in re.finditer(r"\S+", line):
                overlap = [min(m.end(), b) - max(m.start(), a) for a, b in self.spans]
                best = max(range(self.width), key=lambda i: overlap[i])
                if overlap[best] <= 0 or placed[best]:
                    return cells
                placed[best] = m[0]
            return placed
        return cells

    def is_row(self, cells: Sequence[str], full: bool) -> bool:
        """Whether cells are a sample. ``full``: above the first row only complete ones count."""
        if len(cells) < 2 or len(cells) <= self.lead:
            return False
        filled = [cells[i] for i in self.numeric if i < len(cells) and cells[i].strip()]
        values = sum(map(is_value, filled))
        lead = cells[self.lead]
        if not is_value(lead):
            gone = is_missing(lead) or unwrap(lead).lower() in DEVICE_WORDS
            return gone and values >= 0.5 * len(self.numeric) and values >= 2
        if full:
            return len(cells) >= 0.7 * self.width and values >= max(1, 0.5 * len(filled))
        if len(cells) >= 0.7 * self.width:
            return values > 1 or len(filled) <= 1 or values >= 0.5 * len(filled)
        return values == len(filled)
