"""Dyno day: reading logs, reducing pulls, correcting, comparing, calibrating.

``read_log`` is the door for a log as it came; everything behind it works on a :class:`Log`.
"""

from __future__ import annotations

from spoolwright.dyno.log import Log
from spoolwright.dyno.readers.reading import read_log

__all__ = ["Log", "read_log"]
