"""The stop list: what ends a run at once. The build's own limits first, one it lacks named as missing, then signs.

One source for the session plan, the phone and the build book. The signs are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from spoolwright.dyno.limits import LIMITS, limits_of
from spoolwright.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Stop:
    """One line. ``watched`` with the ``side`` of ``limit`` (as typed in the sheet) that stops; a sign has no limit.

    ``missing``: the sheet gives no limit where it should.
    """

    watched: str
    side: str
    limit: str
    act: str
    path: str = ""
    missing: bool = False

    @property
    def what(self) -> str:
        """What is watched with the side that stops, before the limit."""
        return f"{self.watched} {self.side}".strip()


_ACT: Final[Mapping[str, str]] = {
    "engine_speed": "lift",
    "head_temp": "lift, idle down with the fan on; the pull is over",
    "exhaust_temp": "lift; do not finish the pull",
    "oil_temp": "lift, cool down before the next",
    "oil_pressure": "lift and switch off at once",
    "charge_temp": "lift; cool down before the next",
    "boost_gauge": "lift; find the cause before another pull",
    "lambda": "lift at once",
}
_OF_BOOST: Final = ("boost_gauge", "charge_temp")


def boosted(sheet: Sheet) -> bool:
    """Whether the build has a compressor or a turbine."""
    return sheet.has("charge.compressor") or sheet.has("turbine")


def stop_list(sheet: Sheet) -> tuple[Stop, ...]:
    """Limits of the sheet and those it lacks, then the signs by ear and eye."""
    return (*_limits(sheet), *_fuel(sheet), *_signs(sheet))


def _limits(sheet: Sheet) -> list[Stop]:
    given = {one.path: one for one in limits_of(sheet)}
    found = []
    for name, role, _, _, above, meaning in LIMITS:
        if role in _OF_BOOST and not boosted(sheet):
            continue
        path = f"limits.{name}"
        side = "leaner than" if role == "lambda" else "above" if above else "below"
        text = given[path].text if path in given else ""
        found.append(Stop(meaning, side, text, _ACT[role], path, path not in given))
    return found


def _fuel(sheet: Sheet) -> list[Stop]:
    if not boosted(sheet):
        return []
    if sheet.has("fuel.supply.base_pressure"):
        base = sheet.quantity("fuel.supply.base_pressure").text
        return [Stop("fuel pressure over boost", "falling below", base, "lift at once", "fuel.supply.base_pressure")]
    return [Stop("fuel pressure over boost falls by a tenth", "", "", "lift at once")]


def _signs(sheet: Sheet) -> list[Stop]:
    signs = [
        (
            "knock heard, or the knock channel leaves its background",
            "lift at once; no repeat before fuel, timing and mixture are looked at",
        ),
        ("mixture leans away from what is meant under load", "lift at once"),
        ("crankcase pressure jumps, blue smoke, oil mist", "off; leak-down"),
        ("a hiss at a head or a barrel joint", "off; torque and seat when cold"),
        ("misfire on load", "lift; fix the spark before the mixture is trusted"),
        ("smell or sight of fuel, fire", "off, pump off, everyone out of the line of the roller"),
    ]
    if boosted(sheet):
        signs.insert(2, ("hot whistle, black smoke, boost gone", "lift and switch off"))
    return [Stop(what, "", "", act) for what, act in signs]
