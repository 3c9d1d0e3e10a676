"""What one open page works on: the build's store and runs, the variant it looks at, and how it is told of changes."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote, urlencode

from nicegui import ui

from spoolwright.bench.jobs import Job
from spoolwright.bench.runs import Run, Runs
from spoolwright.bench.store import Loaded, Store
from spoolwright.sheet import Sheet

if TYPE_CHECKING:
    from nicegui import Client

    from spoolwright.bench.shell import Answer


@dataclass(frozen=True)
class Opened:
    """A build the server has open: store, runs and other slow work by name and variant, shared by every page on it."""

    name: str
    store: Store
    runs: Runs
    jobs: dict[tuple[str, str | None], Job] = field(default_factory=dict)


_OPEN: dict[Path, Opened] = {}


def opened(name: str, folder: Path) -> Opened:
    """The build in ``folder``, opened once for all pages."""
    if folder not in _OPEN:
        store = Store(folder)
        _OPEN[folder] = Opened(name, store, Runs(folder, store.tell))
    return _OPEN[folder]


@dataclass
class Desk:
    """One page of one browser tab."""

    build: Opened
    client: Client
    page: str
    variant: str | None = None
    against: str | None = None  # a variant's name, "last run", or None
    speed: float | None = None
    refreshers: list[Callable[[], None]] = field(default_factory=list)

    @property
    def store(self) -> Store:
        return self.build.store

    @property
    def folder(self) -> Path:
        """The build's folder."""
        return self.build.store.folder

    @property
    def loaded(self) -> Loaded:
        """The sheet as it stands now, with this page's variant over it."""
        return self.store.loaded(self.variant)

    @property
    def sheet(self) -> Sheet | None:
        """The sheet; None where it has faults."""
        return self.loaded.sheet

    @property
    def run(self) -> Run | None:
        """The last run of this variant that has results."""
        return self.build.runs.last.get(self.variant)

    @property
    def under_way(self) -> Run | None:
        """The run under way, whichever variant's."""
        return self.build.runs.under_way

    def stale(self) -> bool:
        """Whether the sheet says something else than the last run rests on."""
        run, now = self.run, self.sheet
        return run is not None and (now is None or now.digest != run.asked.digest)

    def address(self, page: str | None = None, **changes: str | None) -> str:
        """The address of a page of this build, with this variant and what it is held against."""
        query = {"variant": self.variant, "against": self.against} | changes
        kept = {key: value for key, value in query.items() if value}
        tail = f"?{urlencode(kept)}" if kept else ""
        return f"/{quote(self.build.name)}/{page or self.page}{tail}"

    def on_change(self, refresh: Callable[[], None]) -> None:
        """Call ``refresh`` inside this page after every change of sheet or run."""
        self.refreshers.append(refresh)

    def forget(self, refresh: Callable[[], None]) -> None:
        """Call ``refresh`` no more: what it kept up to date is gone."""
        if refresh in self.refreshers:
            self.refreshers.remove(refresh)

    def refresh(self) -> None:
        """Bring everything on the page up to date."""
        with self.client:
            for one in list(self.refreshers):
                one()

    def say(self, text: str) -> None:
        """A sentence in the page's own line for news, read out to those who hear the page."""
        self.news(text)

    news: Callable[[str], None] = lambda _: None

    def open(self, address: str) -> None:
        """Go to another page."""
        ui.navigate.to(address)


Maker = Callable[[Desk, "Answer"], Awaitable[None] | None]


@dataclass(frozen=True)
class Page:
    """One phase of the job: its key in the address, its name, the question it answers, and what makes it."""

    key: str
    title: str
    question: str
    make: Maker
