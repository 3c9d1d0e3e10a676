"""Is the carburettor large enough for the demand: what it sees at the speed of most volume, by the sum of the trade."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spoolwright.boost import balance as b
from spoolwright.boost import operating_line as o
from spoolwright.boost.rows import Floats
from spoolwright.constants import R_AIR, RHO_STANDARD_DAY
from spoolwright.engine.charge_path import fuel_before_compressor
from spoolwright.match.rank import Verdict
from spoolwright.sheet import Sheet
from spoolwright.sums.carburettor import carburettor_flow

DROP_WATCH = 0.05  # of the pressure before it: about 5 % of the torque; common practice, no source


@dataclass(frozen=True)
class CarburettorNeed:
    """At ``rpm``: volume through each [m3/s], its drop [Pa], share of the rating, rating for the rated drop [m3/s].

    density [kg/m3] of the air it meets; share_lost: drop over the pressure before it.
    """

    rpm: float
    volume_flow: float
    density: float
    drop: float
    share_of_rating: float
    rating_needed: float
    rated: float
    share_lost: float
    verdict: Verdict


def carburettor_need(sheet: Sheet, rpm: Floats, line: Floats, way: Floats) -> CarburettorNeed | None:
    """The carburettor on a candidate's line; None for an injected engine."""
    if not sheet.has("carburettor"):
        return None
    rated = sheet.quantity("carburettor.rated_flow")
    if fuel_before_compressor(sheet):
        pressure, warmth = np.full(len(rpm), way[b.Y_P]), np.full(len(rpm), way[b.Y_T_INLET])
    else:
        pressure, warmth = line[:, o.L_P2], line[:, o.L_T2]
    n = int(np.nanargmax(line[:, o.L_AIR] * R_AIR * warmth / pressure))
    seen = carburettor_flow(
        mass_flow=float(line[n, o.L_AIR]),
        hat_boost=None,
        hat_pressure=float(pressure[n]),
        barometer=None,
        altitude=None,
        hat_temperature=float(warmth[n]),
        rated_flow=rated.value,
        rated_depression=rated.condition[0].value,
        rated_density=RHO_STANDARD_DAY,
        carburettors=sheet.value("carburettor.count"),
    )
    lost = seen["drop"] / float(pressure[n])
    return CarburettorNeed(
        float(rpm[n]),
        seen["volume_flow"],
        seen["density"],
        seen["drop"],
        seen["share_of_rating"],
        seen["rating_for_same_drop"],
        rated.value,
        lost,
        "sound" if lost < DROP_WATCH else "watch",
    )
