"""How a pull was measured: the rig and the air of the day, as the user writes them, kept beside the log.

Words with units go in and stay as typed in the small .toml beside the log (sections ``rig`` and ``air``); SI floats
come out. Nothing here has a default that moves a number: what is not stated is reported as not stated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any, Final

from spoolwright import units
from spoolwright.dyno.slopes import DEFAULT_BANDWIDTH
from spoolwright.errors import BadInput

SOURCES: Final = ("inertia", "roller load", "torque column", "power column")
STANDS_AT: Final = ("not stated", "flywheel", "wheel")
BOOST_CONTROL: Final = ("not stated", "none", "gauge", "absolute", "compensated")


@dataclass(frozen=True, slots=True)
class Rig:
    """How torque was measured. None or "not stated" where the user did not say.

    ``torque_from``: one of ``SOURCES``, "" to be chosen by the channels. ``inertia`` [kg m2] of roller and all that
    turns with it, ``inertia_spread`` its standard uncertainty as a fraction. ``ratio``: engine over roller speed
    where the log holds only one of them. ``run_down``: segment that holds the coasting roller, or "after" each pull.
    ``torque_spread``: standard uncertainty of a load cell or torque column as a fraction. ``corrected_by``: the code
    a torque or power column was corrected by already, "observed" where it was not. ``delays`` [s] by role, where known.
    ``engine_inertia`` [kg m2] at the crank: what a sweep hides of the steady torque. ``roller_diameter`` [m]: turns a
    roller's speed at its rim (km/h) into its turns.
    """

    torque_from: str = ""
    inertia: float | None = None
    inertia_spread: float = 0.0
    ratio: float | None = None
    bandwidth: float = DEFAULT_BANDWIDTH
    run_down: str = ""
    torque_spread: float = 0.0
    stands_at: str = "not stated"
    corrected_by: str = "not stated"
    fuel_density: float | None = None
    afr_stoichiometric: float | None = None
    engine_inertia: float | None = None
    roller_diameter: float | None = None
    delays: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Air:
    """Air of the day: T [K], station pressure [Pa], one way to state moisture; ``origin`` says where each came from."""

    temperature: float | None = None
    barometer: float | None = None
    humidity: float | None = None
    dew_point: float | None = None
    vapour_pressure: float | None = None
    boost_control: str = "not stated"
    origin: Mapping[str, str] = field(default_factory=dict)

    def missing(self) -> list[str]:
        """What a correction still needs, in words."""
        out = [n for n in ("temperature", "barometer") if getattr(self, n) is None]
        if self.humidity is None and self.dew_point is None and self.vapour_pressure is None:
            out.append("humidity")
        return out


# Name in the .toml and on the command line -> kind of quantity.
RIG_KINDS: Final[dict[str, str]] = {
    "inertia": "inertia",
    "ratio": "ratio",
    "bandwidth": "frequency",
    "torque_spread": "share",
    "fuel_density": "density",
    "afr_stoichiometric": "ratio",
    "engine_inertia": "inertia",
    "roller_diameter": "length",
}
AIR_KINDS: Final[dict[str, str]] = {
    "temperature": "temperature",
    "barometer": "pressure_absolute",
    "humidity": "share",
    "dew_point": "temperature",
    "vapour_pressure": "pressure_absolute",
}
_CHOICES: Final = {"torque_from": SOURCES, "stands_at": STANDS_AT, "boost_control": BOOST_CONTROL}
_POSSIBLE: Final[dict[str, tuple[float, float]]] = {
    "inertia": (1e-4, 1e5),
    "ratio": (0.02, 50.0),
    "bandwidth": (0.01, 100.0),
    "torque_spread": (0.0, 0.5),
    "fuel_density": (500.0, 1300.0),
    "afr_stoichiometric": (3.0, 40.0),
    "engine_inertia": (0.0, 100.0),
    "roller_diameter": (0.05, 5.0),
    "temperature": (220.0, 340.0),
    "barometer": (5e4, 1.12e5),
    "humidity": (0.0, 1.0),
    "dew_point": (200.0, 320.0),
    "vapour_pressure": (0.0, 1e4),
}


def read_rig(written: Mapping[str, Any]) -> Rig:
    """A rig from words ({"inertia": "85 kg m2 ± 1 %"}). Raises BadInput for an unknown name or impossible value."""
    given: dict[str, Any] = {}
    known = {f.name for f in fields(Rig)} - {"inertia_spread"}
    for name, value in written.items():
        if name not in known:
            raise BadInput(f'rig: "{name}" is not known; {", ".join(sorted(known))} are')
        if name == "delays":
            if not isinstance(value, Mapping):
                raise BadInput('rig.delays: write roles and times, for example delays = { afr = "0.35 s" }')
            given["delays"] = {role: _delay(role, text) for role, text in value.items()}
        elif name in RIG_KINDS:
            quantity = _quantity("rig", name, value, RIG_KINDS[name])
            given[name] = quantity.value
            # What a figure "may be off by" is taken as two standard uncertainties, as bands are everywhere here.
            if name == "inertia":
                given["inertia_spread"] = 0.25 * (quantity.minus + quantity.plus) / quantity.value
            if name == "torque_spread":
                given[name] = 0.5 * quantity.value
        else:
            given[name] = _word("rig", name, str(value))
    return Rig(**given)


def read_air(written: Mapping[str, Any], origin: str = "stated") -> Air:
    """The day's air from words ({"temperature": "31 degC", "humidity": "48 %"}). Raises BadInput."""
    given: dict[str, Any] = {}
    known = {f.name for f in fields(Air)} - {"origin"}
    for name, value in written.items():
        if name not in known:
            raise BadInput(f'air: "{name}" is not known; {", ".join(sorted(known))} are')
        if name in AIR_KINDS:
            given[name] = _quantity("air", name, value, AIR_KINDS[name]).value
        else:
            given[name] = _word("air", name, str(value))
    if sum(n in given for n in ("humidity", "dew_point", "vapour_pressure")) > 1:
        raise BadInput("air: give one of humidity, dew_point or vapour_pressure, not two")
    return Air(**given, origin=dict.fromkeys(given, origin))


def _quantity(section: str, name: str, value: object, kind: str) -> units.Quantity:
    try:
        quantity = units.read(value, kind)
    except BadInput as fault:
        raise BadInput(f"{section}.{name}: {fault}") from None
    low, high = _POSSIBLE[name]
    if not low <= quantity.value <= high:
        shown = f"{units.show(low, kind)} to {units.show(high, kind)}"
        raise BadInput(f'{section}.{name}: "{quantity.text}" is outside {shown}; check number and unit')
    return quantity


def _delay(role: str, text: object) -> float:
    try:
        value = units.read(text, "time").value
    except BadInput as fault:
        raise BadInput(f"rig.delays.{role}: {fault}") from None
    if not 0.0 <= value <= 5.0:
        raise BadInput(f'rig.delays.{role}: "{text}" is outside 0 s to 5 s')
    return value


def _word(section: str, name: str, value: str) -> str:
    if name == "corrected_by":
        from spoolwright.dyno.correct import find_code

        return value if value in ("not stated", "observed") else find_code(value)
    if name == "run_down":
        if value not in ("", "after") and not value.isdigit():
            raise BadInput(f'{section}.run_down: "{value}" is neither a segment number nor "after"')
        return value
    if value and value not in _CHOICES[name]:
        raise BadInput(f'{section}.{name}: "{value}" is not one of {", ".join(_CHOICES[name])}')
    return value
