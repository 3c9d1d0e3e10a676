"""Slow work of an opened build in a thread of its own: progress, cancel, result or trouble, and who is told."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from threading import Event
from typing import Any, Literal

from spoolwright.errors import SpoolwrightError

_LOG = logging.getLogger(__name__)

State = Literal["running", "done", "failed"]


@dataclass
class Job:
    """One piece of work: ``rests_on`` is the digest of the sheet it was begun with, ``result`` what it gave."""

    name: str
    rests_on: str
    tell: Callable[[], None]
    state: State = "running"
    words: str = ""
    share: float = 0.0
    result: Any = None
    trouble: str = ""
    began: datetime = field(default_factory=datetime.now)
    seconds: float = 0.0
    stop: Event = field(default_factory=Event)
    _loop: asyncio.AbstractEventLoop | None = None
    _task: asyncio.Task[None] | None = None

    def say(self, words: str, share: float) -> None:
        """From the work's own thread: what is being done, and which share of it is."""
        self.words, self.share = words, share
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self.tell)

    def cancel(self) -> None:
        """Ask the work to end."""
        self.stop.set()

    def start(self, work: Callable[[Job], Any]) -> Job:
        """Begin ``work`` with this job."""
        self._loop = asyncio.get_running_loop()
        self._task = asyncio.create_task(self._go(work))
        return self

    async def _go(self, work: Callable[[Job], Any]) -> None:
        try:
            self.result = await asyncio.to_thread(work, self)
            self.state = "done"
        except SpoolwrightError as trouble:
            self.state, self.trouble = "failed", str(trouble)
        except Exception as trouble:
            self.state = "failed"
            self.trouble = (
                f"The program itself failed ({type(trouble).__name__}); this is a fault of it, not of your sheet."
            )
            _LOG.exception("%s failed", self.name)
        finally:
            self.seconds = (datetime.now() - self.began).total_seconds()
            self.tell()
