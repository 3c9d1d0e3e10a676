"""The job "correct": observed first, then what a code makes of it, with its day, its window and its working.

Factors come from the sum ``power_correction``; here it is decided what applies to a measured pull. With boost held
to an absolute pressure the pressure part never applies unseen; with boost seen in the log and nothing stated about
how it is held, no corrected figure is given at all.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from spoolwright.dyno.rig import Air
from spoolwright.errors import BadInput
from spoolwright.sums.dyno import CODES, DayAir, factors
from spoolwright.sums.evaluate import Answer, evaluate

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from spoolwright.dyno.measured import Measured

PRESSURE_PARTS: Final = ("by boost control", "applied", "left out")
_ALIASES: Final = {
    "sae": "SAE J1349 2004", "saej1349": "SAE J1349 2004", "j1349": "SAE J1349 2004", "sae1990": "SAE J1349 1990",
    "sae2004": "SAE J1349 2004", "iso": "ISO 1585", "unr85": "ISO 1585", "ecer85": "ISO 1585", "din": "DIN 70020",
    "jis": "JIS D 1001", "std": "SAE J607", "j607": "SAE J607", "stp": "SAE J607", "j1995": "SAE J1995",
}  # fmt: skip
BOOSTED: Final = 8.0  # kPa above outside air that tells of boost


def find_code(text: str) -> str:
    """The code meant by ``text`` ("std", "din 70020"). Raises BadInput with the closest ones."""
    plain = {re.sub(r"[^a-z0-9]", "", name.lower()): name for name in CODES} | _ALIASES
    key = re.sub(r"[^a-z0-9]", "", text.lower())
    if key in plain:
        return plain[key]
    near = [plain[k] for k in get_close_matches(key, plain, n=2, cutoff=0.6)]
    hint = f"; did you mean {' or '.join(dict.fromkeys(near))}?" if near else ""
    raise BadInput(f'"{text}" is no correction code known here{hint}; {", ".join(CODES)} are')


@dataclass(frozen=True, slots=True)
class Corrected:
    """A pull by one code. ``factor`` None where none is applied unseen; then ``questions`` say what to state.

    ``whole`` and ``temperature_part``: the code's own factor and its temperature part alone. Reference day in Pa, K.
    ``torque`` [N m], ``power`` [W] over the pull's samples, at the pull's own place; None without a factor.
    """

    pull: str
    code: str
    note: str
    place: str
    reference_pressure: float
    reference_temperature: float
    dry: bool
    window: tuple[float, float]
    dry_pressure: float
    whole: float
    temperature_part: float
    factor: float | None
    within: bool
    boost_control: str
    pressure_part: str
    questions: tuple[str, ...]
    working: str
    source: str
    torque: NDArray[np.float64] | None
    power: NDArray[np.float64] | None


def factor_of(code: str, air: Air) -> float:
    """The code's whole factor for this air. Raises BadInput where the air is not fully known."""
    _complete(air)
    assert air.temperature is not None
    assert air.barometer is not None
    day = DayAir(air.temperature, air.barometer, air.humidity, air.dew_point, air.vapour_pressure, None)
    return factors(CODES[code], air.barometer, day.dry_pressure(), air.temperature)[0]


def _complete(air: Air, name: str = "correction") -> None:
    missing = air.missing()
    if missing:
        examples = {"temperature": '--air "temperature=24 degC"', "barometer": '--air "barometer=98.2 kPa"',
                    "humidity": '--air "humidity=48 %"'}  # fmt: skip
        raise BadInput(
            f"{name}: the air's {' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} not known; state "
            f"{' '.join(examples[m] for m in missing)} (station pressure, air at the intake)"
        )


def correct(pull: Measured, code: str, pressure_part: str = "by boost control") -> Corrected:
    """``pull`` by ``code`` ("SAE J1349 2004", "std", ...). Raises BadInput for unknown air or code.

    ``pressure_part``: "by boost control", "applied" or "left out"; the user's choice where boost is held absolute.
    """
    name = find_code(code)
    if pressure_part not in PRESSURE_PARTS:
        raise BadInput(f'"{pressure_part}" is not one of {", ".join(PRESSURE_PARTS)}')
    if pull.corrected_by not in ("observed", "not stated"):
        raise BadInput(
            f"{pull.name}: its torque was corrected by {pull.corrected_by} already and the air of the day is not fully "
            "known, so the observed figure is not either; state the air"
        )
    _complete(pull.air, pull.name)
    answer = _evaluate(pull, name, pressure_part)
    got = answer.results
    questions = list(answer.questions)
    factor: float | None = got["factor"]
    boost = _boost_seen(pull)
    if pull.air.boost_control in ("not stated", "none") and boost is not None and pressure_part == "by boost control":
        said = "how it is held is not stated" if pull.air.boost_control == "not stated" else "none was stated"
        questions.insert(
            0,
            f"the log shows {boost:.0f} kPa of boost and {said}: no factor is applied unseen; state --boost-control "
            f"gauge, "
            "absolute or compensated, or choose --pressure-part applied or left-out",
        )
        factor = None
    if pull.corrected_by == "not stated":
        questions.append(
            "whether the log's torque is observed is not stated: a figure corrected twice flatters; say --corrected-by"
        )
    code_ = CODES[name]
    return Corrected(
        pull=pull.name,
        code=name,
        note=code_.note,
        place=pull.place,
        reference_pressure=code_.p,
        reference_temperature=code_.T,
        dry=code_.dry,
        window=code_.window,
        dry_pressure=got["dry_pressure"],
        whole=got["code_factor"],
        temperature_part=got["temperature_factor"],
        factor=factor,
        within=bool(got["within_window"]),
        boost_control=pull.air.boost_control,
        pressure_part=pressure_part,
        questions=tuple(questions),
        working=answer.working,
        source=answer.sum.source,
        torque=None if factor is None else pull.torque * factor,
        power=None if factor is None else pull.power * factor,
    )


def correct_each(pull: Measured, codes: Sequence[str] = (), pressure_part: str = "by boost control") -> list[Corrected]:
    """``pull`` by each of ``codes``; by every one known where none is named."""
    return [correct(pull, code, pressure_part) for code in (codes or tuple(CODES))]


def _evaluate(pull: Measured, code: str, pressure_part: str) -> Answer:
    air = pull.air
    given: dict[str, Any] = {
        "observed_power": f"{pull.peak_power()[0]!r} W",
        "observed_torque": f"{pull.peak_torque()[0]!r} N m",
        "standard": code,
        "air_temperature": f"{air.temperature!r} K",
        "barometer": f"{air.barometer!r} Pa",
        "boost_control": air.boost_control,
        "pressure_part": pressure_part,
    }
    for name, unit in (("humidity", "1"), ("dew_point", "K"), ("vapour_pressure", "Pa")):
        value = getattr(air, name)
        if value is not None:
            given[name] = f"{value!r} {unit}"
    return evaluate("power_correction", given)


def _boost_seen(pull: Measured) -> float | None:
    """Highest boost [kPa gauge] the log shows; None where it shows none."""
    if "boost_gauge" in pull.channels:
        boost = pull.channels["boost_gauge"]
    elif "manifold_abs" in pull.channels and pull.air.barometer is not None:
        boost = pull.channels["manifold_abs"] - pull.air.barometer / 1e3
    else:
        return None
    if not np.isfinite(boost).any():
        return None
    top = float(np.nanmax(boost))
    return top if top > BOOSTED else None
