"""The registry of sums: what each one takes, gives, rests on, and where people slip.

A sum is one plain function of SI floats that returns a dict of SI floats, registered with a
description of its inputs and outputs. The registry serves the command line, the scratch pad, the
reference pages and the workings inside findings; there is one implementation of each formula.

Inputs that always go together (the seven ways to state a tyre, the size of an engine) may reach the
function as one argument: a parameter annotated with a NamedTuple takes the inputs named like its fields.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any, get_type_hints

from spoolwright.units import KINDS

# One module a topic; the order is that of the job.
TOPICS: dict[str, str] = {
    "blueprint": "measured parts: volumes, ratio, squish, gaps, clearances, bolts",
    "valves": "valve-to-piston approach, spring and seat force",
    "motion": "piston speed, acceleration, loads, torque and power",
    "air": "air, demand, density, pressures, reference states",
    "boost": "compressor, turbine, charge cooler, wastegate",
    "carburettor": "flow, jets, bowl, needle and seat",
    "fuel": "stoichiometry, mixture, pump, regulator, injectors",
    "spark": "timing, retard, dwell, coil, plug voltage",
    "dyno": "atmospheric corrections, inertia torque, power",
    "cooling": "fan, shroud, fins, cooling air",
    "oil": "restrictor, drain, bearing",
    "exhaust": "pipes, Mach number, temperatures",
    "strength": "discs, rings, joints, bearings",
    "road": "gears, strip",
    "handover": "landed cost, freight weight",
}


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a sum.

    ``kind`` is a key of ``units.KINDS``, or "choice" (one word of ``choices``), or "text" (read by the
    sum itself), or "curve" (pairs; ``curve`` names the kinds of the two columns). ``low`` and ``high``
    bound the plausible (not the possible) as text with units; outside them the input is questioned.
    ``default`` is text as a user would write it; None means the input must be given, "" that it may be
    left out. ``many`` takes one or more values. ``sheet`` is where a build holds it (see ``spoolwright.sums.fill``).

    ``reference`` is the sense of an angle ("ABDC"): the opposite sense on the same dead centre turns the
    sign, another dead centre is a fault. ``condition`` is the input that a condition behind "@" fills
    ("0.051 mm @ 28 degC"). ``named`` holds words that stand for a value ("cast iron"). ``part`` marks a share of a
    whole: less than 0 % or more than 100 % of it is not possible and refused.
    """

    kind: str
    meaning: str
    low: str = ""
    high: str = ""
    default: str | None = None
    unit: str = ""
    many: bool = False
    choices: tuple[str, ...] = ()
    curve: tuple[str, str] = ("", "")
    sheet: str = ""
    reference: str = ""
    condition: str = ""
    named: Mapping[str, str] = field(default_factory=dict)
    part: bool = False

    def __post_init__(self) -> None:
        if self.kind not in KINDS and self.kind not in ("choice", "curve", "text"):
            raise ValueError(f"unknown kind {self.kind!r}")


@dataclass(frozen=True, slots=True)
class Output:
    """One output of a sum: kind, the unit it is shown in first, what it means."""

    kind: str
    unit: str
    meaning: str
    also: tuple[str, ...] = ()  # further units worth showing

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"unknown kind {self.kind!r}")


Question = Callable[[Mapping[str, Any], Mapping[str, Any]], Sequence[str]]


@dataclass(frozen=True, slots=True)
class Sum:
    """One registered sum; ``formula`` lines read "output = expression in input names".

    ``groups`` holds the NamedTuple of each parameter of the function that takes several inputs together.
    """

    name: str
    topic: str
    title: str
    function: Callable[..., dict[str, Any]]
    inputs: Mapping[str, Input]
    outputs: Mapping[str, Output]
    formula: tuple[str, ...]
    source: str
    validity: str = ""
    slips: tuple[str, ...] = ()
    question: Question | None = None
    caution: str = ""
    example: str = ""
    groups: Mapping[str, type[Any]] = field(default_factory=dict)

    def do(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """What the function gives for SI ``values`` by input name; raises what the function raises."""
        grouped = {name for group in self.groups.values() for name in group._fields}
        together = {key: group(*(values[name] for name in group._fields)) for key, group in self.groups.items()}
        return self.function(**together, **{key: value for key, value in values.items() if key not in grouped})


_SUMS: dict[str, Sum] = {}
_LOADED = False


def register(
    topic: str,
    title: str,
    *,
    inputs: Mapping[str, Input],
    outputs: Mapping[str, Output],
    formula: str,
    source: str,
    validity: str = "",
    slips: tuple[str, ...] = (),
    question: Question | None = None,
    caution: str = "",
    example: str = "",
) -> Callable[[Callable[..., dict[str, Any]]], Callable[..., dict[str, Any]]]:
    """Register the decorated function as the sum of its own name.

    ``question(inputs, results)`` may return further questions in words, from SI values.
    ``example`` is what a user would type after the sum's name on the command line.
    """
    if topic not in TOPICS:
        raise ValueError(f"unknown topic {topic!r}")

    def keep(function: Callable[..., dict[str, Any]]) -> Callable[..., dict[str, Any]]:
        name = function.__name__
        if name in _SUMS:
            raise ValueError(f"sum {name!r} is registered twice")
        lines = tuple(line.strip() for line in formula.strip().splitlines() if line.strip())
        _SUMS[name] = Sum(
            name,
            topic,
            title,
            function,
            inputs,
            outputs,
            lines,
            source,
            validity,
            slips,
            question,
            caution,
            example,
            _groups(function),
        )
        return function

    return keep


def _groups(function: Callable[..., Any]) -> dict[str, type[Any]]:
    """The parameters of ``function`` that are annotated with a NamedTuple, with its class."""
    return {name: kind for name, kind in get_type_hints(function).items() if hasattr(kind, "_fields")}


def all_sums() -> dict[str, Sum]:
    """Every sum by name, in the order of the topics; by the alphabet within one, whatever was imported first."""
    global _LOADED
    if not _LOADED:
        for topic in TOPICS:
            import_module(f"spoolwright.sums.{topic}")
        _LOADED = True
    order = list(TOPICS)
    return dict(sorted(_SUMS.items(), key=lambda item: (order.index(item[1].topic), item[0])))
