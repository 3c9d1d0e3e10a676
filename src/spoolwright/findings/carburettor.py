"""Findings of a carburettor under boost: bowl reference, float, shaft seal."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright.findings.asking import PRACTICE, Given, ask, told
from spoolwright.findings.judging import missing
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet

BOWL = "A bowl left at outside air gets no fuel under boost: the engine leans out at once."
FIRE = (
    "Mixture under pressure that leaks past a hot turbine burns. Leak-test with air before fuel; extinguisher at hand."
)


def _blown(sheet: Sheet) -> bool:
    return sheet.has("carburettor") and sheet.choice("carburettor.position") == "after_compressor"


def bowl(sheet: Sheet) -> Iterator[Finding]:
    """The pressure above the fuel in the bowl against that in the hat."""
    if not _blown(sheet):
        return
    if not sheet.has("carburettor.bowl_reference"):
        yield missing(
            "bowl reference", "What pressure the bowl sees is not given.", "carburettor.bowl_reference", caution=BOWL
        )
        return
    reference, where = sheet.choice("carburettor.bowl_reference"), "carburettor.bowl_reference"
    if reference == "open_air":
        boost = sheet.quantity("limits.max_boost")
        yield Finding(
            "bowl reference",
            "stop",
            f"The bowl sees open air while the hat holds up to {boost.text}: fuel is pushed back.",
            where,
            "pressure_difference",
            -boost.value,
            f"-{boost.text}",
            0.0,
            "0",
            -1.0,
            resting_on="fuel flows from the higher pressure",
            caution=BOWL,
            change_first="Reference the bowl to the hat.",
        )
    elif reference == "manifold":
        depression = sheet.quantity("carburettor.rated_flow").condition[0]
        answer = ask(
            sheet,
            "bowl_reference",
            error=Given(f"-{depression.text}", "the drop across the carburettor at its rating"),
            depression=Given(f"{2.0 * depression.value:g} Pa", f"pull of the venturi, twice that: {PRACTICE}"),
        )
        yield Finding(
            "bowl reference",
            "watch",
            "The bowl sees the manifold below the throttle, lower than the hat by the carburettor's "
            f"own drop: about {told(answer, 'mixture_factor', 3)} times as lean at full flow.",
            where,
            "number",
            answer.results["mixture_factor"],
            told(answer, "mixture_factor", 3),
            working=answer.working,
            sum=answer.sum.name,
            resting_on=PRACTICE,
            caution=BOWL,
            change_first="Reference the bowl to the hat.",
        )
    else:
        yield Finding(
            "bowl reference", "sound", f"The bowl sees the {reference.replace('_', ' ')}, as the jets do.", where
        )


def hollow_float(sheet: Sheet) -> Iterator[Finding]:
    """What the float is made of; boost crushes hollow ones."""
    if not _blown(sheet):
        return
    where = "carburettor.float"
    if not sheet.has(where):
        yield missing(
            "float", "What the float is made of is not given; boost crushes hollow ones.", where, caution=BOWL
        )
    elif sheet.choice(where) == "hollow":
        yield Finding(
            "float",
            "watch",
            f"It is hollow: boost of {sheet.quantity('limits.max_boost').text} may crush it, and a crushed "
            "float sinks and floods.",
            where,
            resting_on=PRACTICE,
            caution=FIRE,
            change_first="A solid or foam float.",
        )
    else:
        yield Finding("float", "sound", f"It is {sheet.choice(where)}; boost does not crush it.", where)


def shaft(sheet: Sheet) -> Iterator[Finding]:
    """Whether the throttle shaft is sealed against boost."""
    if not _blown(sheet):
        return
    where = "carburettor.shaft_sealed"
    if not sheet.has(where):
        yield missing("throttle shaft", "Whether it is sealed against boost is not given.", where, caution=FIRE)
    elif not sheet.flag(where, False):
        yield Finding(
            "throttle shaft",
            "watch",
            "It is not sealed: mixture leaks out along it under boost.",
            where,
            resting_on=PRACTICE,
            caution=FIRE,
            change_first="Seal it or lead hat pressure to it.",
        )
    else:
        yield Finding("throttle shaft", "sound", "It is sealed against boost.", where)


JUDGES = {"bowl reference": bowl, "float": hollow_float, "throttle shaft": shaft}
