"""What a diagnosis is made of: suspicions with evidence, what speaks against, and the next check. Plain data."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Kind = Literal["engine", "sensor", "dyno"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing seen: when [s], at which engine speed [rpm], the channel, its value with unit, in words."""

    words: str
    time: float | None = None
    speed_rpm: float | None = None
    role: str = ""
    value: float | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Suspicion:
    """One finding of the diagnosis. ``strength`` 0..1: how far the seen goes beyond the usual; it ranks.

    ``causes`` first things first, ``check`` what to do next, ``against`` what does not fit, ``stop`` where running
    on may break the engine.
    """

    name: str
    kind: Kind
    pull: str
    seen: str
    strength: float
    evidence: tuple[Evidence, ...]
    causes: tuple[str, ...]
    check: str
    against: tuple[str, ...] = ()
    stop: bool = False
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """All suspicions, worst first; what could not be looked at for want of a channel; dead sensors apart."""

    suspicions: tuple[Suspicion, ...]
    sensors: tuple[Suspicion, ...]
    not_looked_at: tuple[str, ...] = field(default_factory=tuple)

    def by_name(self) -> list[tuple[Suspicion, list[str]]]:
        """Each suspicion once, where it is strongest, with all pulls it shows in; worst first."""
        rows: dict[str, tuple[Suspicion, list[str]]] = {}
        for one in self.suspicions:
            rows.setdefault(one.name, (one, []))[1].append(one.pull)
        return list(rows.values())
