"""The charge side of a turbocharged gas path: compressor inlet, outlet, charge pipes, cooler, hat.

Two equal compressors stand side by side between one inlet and one outlet; the pipes named in the sheet carry
the air of both. Volumes stand on both sides of the wheel: the gas in the compressor's own passage.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt
from typing import Literal

from spoolwright.engine.draft import Draft, exit_area
from spoolwright.engine.machinery import AtNode, AtStop, CompressorAt, CoolerAt, Place
from spoolwright.engine.pipes import pipe
from spoolwright.engine.turbo import PASSAGE_AREA, PASSAGE_LENGTH
from spoolwright.flow.build import Node
from spoolwright.flow.rows import VOLUME
from spoolwright.sheet import Sheet

FLANGE = {
    "inlet": 0.9,
    "outlet": 0.75,
}  # bore over the wheel's outlet where not measured; usual proportions, from memory
INLET_SHARE = 0.35  # of the passage's gas that stands before the wheel


@dataclass(frozen=True)
class Charged:
    """Where the charge waits before its throttle, and where fuel joined before the compressor."""

    place: Place
    mixers: list[int]


def fuel_before_compressor(sheet: Sheet) -> bool:
    """Whether the carburettor stands on the compressor's inlet."""
    return sheet.has("carburettor") and sheet.choice("carburettor.position") == "before_compressor"


def passage(sheet: Sheet) -> tuple[float, float]:
    """Length [m] and mean area [m2] of the gas passage of one compressor."""
    wheel = sheet.value("charge.compressor.wheel_outlet")
    length = sheet.maybe("charge.compressor.passage_length")
    area = sheet.maybe("charge.compressor.passage_area")
    return (
        PASSAGE_LENGTH * wheel if length is None else length,
        PASSAGE_AREA * pi / 4.0 * wheel**2 if area is None else area,
    )


def flange(sheet: Sheet, side: Literal["inlet", "outlet"]) -> float:
    """Area [m2] of the flange openings of all compressors on one side."""
    bore = sheet.maybe(f"charge.compressor.{side}_diameter")
    if bore is None:
        bore = FLANGE[side] * sheet.value("charge.compressor.wheel_outlet")
    return int(sheet.value("charge.turbos")) * pi / 4.0 * bore**2


def build_charge(sheet: Sheet, draft: Draft, upstream: Place, throttle: float | None, p: float, T: float) -> Charged:
    """Add compressor and charge pipes behind ``upstream``; outside air p [Pa], T [K].

    throttle : effective area [m2] of a carburettor that stands before the compressor, else None.
    """
    turbos = int(sheet.value("charge.turbos"))
    length, area = passage(sheet)
    gas = turbos * length * area
    inlet = draft.node(Node("compressor inlet", VOLUME, p, T, volume=INLET_SHARE * gas))
    outlet = draft.node(Node("compressor outlet", VOLUME, p, T, volume=(1.0 - INLET_SHARE) * gas))
    mixers = []
    opening = flange(sheet, "inlet")
    if throttle is not None:
        opening = min(opening, throttle)
        mixers.append(inlet)
    draft.enter(upstream, inlet, opening)
    draft.machinery.compressors += [CompressorAt(inlet, outlet)] * turbos
    draft.machinery.stations |= {"compressor_inlet": inlet, "compressor_outlet": outlet}
    place: Place = AtNode(outlet)
    outlet_area = flange(sheet, "outlet")
    after = sheet.maybe_text("charge.cooler.after") if sheet.has("charge.cooler") else None
    if sheet.has("charge.cooler") and after is None:
        place = _cooler(sheet, draft, place, outlet_area, p, T)
    for name in sheet.names("charge.pipes") if sheet.has("charge.pipes") else ():
        place = draft.follow(place, pipe(sheet, f"charge.pipes.{name}"))
        if name == after:
            place = _cooler(sheet, draft, place, outlet_area, p, T)
    draft.machinery.charge, draft.machinery.drawn_through = place, bool(mixers)
    if sheet.has("charge.hat"):
        place = _hat(sheet, draft, place, outlet_area, p, T)
    return Charged(place, mixers)


def _cooler(sheet: Sheet, draft: Draft, place: Place, flange: float, p: float, T: float) -> Place:
    """Two end boxes of half the cooler's volume; the core between them is a machine."""
    half = 0.5 * sheet.value("charge.cooler.volume")
    hot = draft.node(Node("before the cooler", VOLUME, p, T, volume=half))
    cold = draft.node(Node("behind the cooler", VOLUME, p, T, volume=half))
    draft.enter(place, hot, flange if isinstance(place, AtNode) else None)
    draft.machinery.coolers.append(CoolerAt(hot, cold))
    return AtNode(cold)


def _hat(sheet: Sheet, draft: Draft, place: Place, flange: float, p: float, T: float) -> Place:
    """The hat. A pipe that opens into it loses one dynamic head; more heads make the opening narrower."""
    heads = max(sheet.value("charge.hat.loss"), 1.0)
    hat = draft.node(Node("hat", VOLUME, p, T, volume=sheet.value("charge.hat.volume")))
    draft.machinery.stations["hat"] = hat
    if isinstance(place, AtStop):
        stop = exit_area(draft.ducts[place.duct])
        return draft.enter(place, hat, stop / sqrt(heads))
    return draft.enter(place, hat, flange / sqrt(heads))


def charge_assumptions(sheet: Sheet) -> tuple[tuple[str, str, str], ...]:
    """What the charge path takes otherwise than written."""
    if not sheet.has("charge.hat") or sheet.value("charge.hat.loss") >= 1.0:
        return ()
    return (("charge.hat.loss", "1", "what flows into a box comes to rest there: less than one head is not lost"),)
