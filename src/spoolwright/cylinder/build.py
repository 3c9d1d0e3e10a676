"""From numbers in SI to the cylinder arrays; every fault in one sentence.

A ``Chamber`` and a ``Burn`` per cylinder go into ``build_cylinders``; they may differ from cylinder to
cylinder (measured volumes, plug places, wall temperatures).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.flame import FlameConstants
from spoolwright.cylinder.geometry import chamber_flame_table, disc_flame_table
from spoolwright.cylinder.heat import DEFAULT_HEAT_MULTIPLIER, HEAT_MODELS
from spoolwright.cylinder.kinematics import check_crank
from spoolwright.cylinder.knock import LIMIT
from spoolwright.cylinder.rows import Cylinders
from spoolwright.errors import BadInput
from spoolwright.gas.ignition import IgnitionTable
from spoolwright.gas.model import GasModel

BURN_MODELS = {"none": r.NO_BURN, "flame": r.ENTRAINMENT, "wiebe": r.WIEBE, "instant": r.INSTANT}

LARGEST_CREVICE = 0.2  # of the clearance volume


@dataclass(frozen=True)
class Chamber:
    """Geometry and walls of one cylinder [m, m3, m2, K].

    ``clearance_volume`` is all gas at top dead centre, the ``crevice`` (top land, plug thread) in it.
    ``plug_offset`` [bore radii] from the bore axis; ``twin`` mirrors a second plug. ``roof`` (see
    ``geometry.chamber_columns``) and ``plugs`` replace the disc.
    Areas default to those of a disc.
    """

    bore: float
    stroke: float
    rod_length: float
    clearance_volume: float
    pin_offset: float = 0.0
    plug_offset: float = 0.5
    twin: bool = False
    roof: NDArray[np.float64] | None = None
    plugs: tuple[tuple[float, float], ...] = ()
    head_area: float | None = None
    piston_area: float | None = None
    T_head: float = 450.0
    T_piston: float = 470.0
    T_liner: float = 410.0
    crevice: float = 0.0

    @property
    def swept_volume(self) -> float:
        """Bore area times stroke [m3]."""
        return 0.25 * np.pi * self.bore**2 * self.stroke

    @property
    def compression_ratio(self) -> float:
        """(swept + clearance) / clearance [-]."""
        return 1.0 + self.swept_volume / self.clearance_volume


def disc_chamber(bore: float, stroke: float, rod_length: float, compression_ratio: float, **more: float) -> Chamber:
    """A disc chamber by compression ratio [-] instead of clearance volume; ``more`` as in ``Chamber``."""
    if not compression_ratio > 1.0:
        raise BadInput(f"compression_ratio: {compression_ratio:g} must be above 1; write 9.0 for 9 to 1.")
    swept = 0.25 * np.pi * bore**2 * stroke
    return Chamber(bore, stroke, rod_length, swept / (compression_ratio - 1.0), **more)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Burn:
    """How one cylinder burns, loses heat and knocks. Wiebe angles in degrees, see ``wiebe``."""

    model: str = "flame"
    flame: FlameConstants = field(default_factory=FlameConstants)
    wiebe_delay: float = 8.0
    wiebe_duration: float = 50.0
    wiebe_shape: float = 2.0
    spark: float = -25.0
    heat_model: str = "woschni"
    heat_multiplier: float = DEFAULT_HEAT_MULTIPLIER
    knock_limit: float = LIMIT
    knock_factor: float = 1.0
    step: float = 1.0
    step_burning: float = 0.5


def _check_chamber(name: str, c: Chamber) -> None:
    for what, value, high in (("bore", c.bore, 0.5), ("stroke", c.stroke, 1.0), ("rod_length", c.rod_length, 2.0)):
        if not 0.0 < value < high:
            raise BadInput(f"{name}.{what}: {1e3 * value:g} mm is outside 0..{1e3 * high:g} mm; check value and unit.")
    check_crank(0.5 * c.stroke, c.rod_length, c.pin_offset)
    if not 2.0 <= c.compression_ratio <= 25.0:
        raise BadInput(
            f"{name}.clearance_volume: {1e6 * c.clearance_volume:g} cm3 gives a compression ratio of "
            f"{c.compression_ratio:.3g}; 2 to 25 is allowed, check the measured volumes."
        )
    if not 0.0 <= c.crevice <= LARGEST_CREVICE * c.clearance_volume:
        raise BadInput(
            f"{name}.crevice: {1e6 * c.crevice:g} cm3 is more than a fifth of the clearance volume "
            f"({1e6 * c.clearance_volume:.3g} cm3) or negative; a top land and a plug thread hold 0.3 to 1.5 cm3."
        )
    for what, value in (("T_head", c.T_head), ("T_piston", c.T_piston), ("T_liner", c.T_liner)):
        if not 200.0 <= value <= 1500.0:
            raise BadInput(f"{name}.{what}: {value:g} K is outside 200..1500 K; temperatures here are in kelvin.")


def _check_burn(name: str, b: Burn) -> None:
    if b.model not in BURN_MODELS:
        raise BadInput(f"{name}.model: {b.model!r} is unknown; choose one of {', '.join(BURN_MODELS)}.")
    if b.heat_model not in HEAT_MODELS:
        raise BadInput(f"{name}.heat_model: {b.heat_model!r} is unknown; choose one of {', '.join(HEAT_MODELS)}.")
    for what, value, low, high in (
        ("heat_multiplier", b.heat_multiplier, 0.0, 5.0),
        ("knock_factor", b.knock_factor, 0.05, 20.0),
        ("knock_limit", b.knock_limit, 0.05, 5.0),
        ("wiebe_duration", b.wiebe_duration, 1.0, 200.0),
        ("wiebe_delay", b.wiebe_delay, 0.0, 100.0),
        ("wiebe_shape", b.wiebe_shape, 0.1, 10.0),
        ("spark", b.spark, -180.0, 180.0),
        ("step", b.step, 0.01, 5.0),
        ("step_burning", b.step_burning, 0.01, 5.0),
        ("flame.c_u", b.flame.c_u, 0.05, 20.0),
        ("flame.c_tau", b.flame.c_tau, 0.01, 100.0),
        ("flame.seed_share", b.flame.seed_share, 1e-6, 0.05),
        ("flame.length_share", b.flame.length_share, 0.01, 2.0),
        ("flame.burn_factor", b.flame.burn_factor, 0.05, 20.0),
    ):
        if not low <= value <= high:
            raise BadInput(f"{name}.{what}: {value:g} is outside {low:g}..{high:g}; check value and unit.")


def design_row(chamber: Chamber, burn: Burn, table: int, air_fuel_stoichiometric: float) -> NDArray[np.float64]:
    """Row of Cylinders.design for one cylinder; ``table`` is its flame table's number."""
    d = np.zeros(r.N_DESIGN)
    bore_area = 0.25 * np.pi * chamber.bore**2
    d[r.BORE], d[r.CRANK_RADIUS], d[r.ROD] = chamber.bore, 0.5 * chamber.stroke, chamber.rod_length
    d[r.OFFSET], d[r.CLEARANCE] = chamber.pin_offset, chamber.clearance_volume - chamber.crevice
    d[r.CREVICE] = chamber.crevice
    d[r.HEAD_AREA] = chamber.head_area or bore_area
    d[r.PISTON_AREA] = chamber.piston_area or bore_area
    d[r.FLAME_TABLE], d[r.N_PLUGS] = table, 1
    if chamber.roof is not None:
        from spoolwright.cylinder.geometry import chamber_columns

        columns = chamber_columns(chamber.roof)
        d[r.HEAD_VOLUME] = float(columns[:, 2] @ columns[:, 3]) * (0.5 * chamber.bore) ** 3
        if chamber.head_area is None:
            d[r.HEAD_AREA] = float(columns[:, 4].sum()) * (0.5 * chamber.bore) ** 2
        d[r.N_PLUGS] = len(chamber.plugs)
    elif chamber.twin:
        d[r.N_PLUGS] = 2
    d[r.T_HEAD], d[r.T_PISTON], d[r.T_LINER] = chamber.T_head, chamber.T_piston, chamber.T_liner
    d[r.HEAT_MODEL], d[r.HEAT_MULTIPLIER] = HEAT_MODELS[burn.heat_model], burn.heat_multiplier
    d[r.BURN_MODEL] = BURN_MODELS[burn.model]
    d[r.C_U], d[r.C_TAU], d[r.SEED_SHARE], d[r.LENGTH_SHARE], d[r.BURN_FACTOR] = burn.flame
    d[r.WIEBE_DELAY], d[r.WIEBE_DURATION], d[r.WIEBE_SHAPE] = burn.wiebe_delay, burn.wiebe_duration, burn.wiebe_shape
    d[r.SPARK], d[r.KNOCK_LIMIT], d[r.KNOCK_FACTOR] = burn.spark, burn.knock_limit, burn.knock_factor
    d[r.STEP], d[r.STEP_BURNING] = burn.step, burn.step_burning
    d[r.AIR_FUEL_STOICHIOMETRIC] = air_fuel_stoichiometric
    return d


def _flame_table(chamber: Chamber) -> NDArray[np.float64]:
    if chamber.roof is not None:
        roof = np.asarray(chamber.roof, float)
        return _roof_table(roof.tobytes(), roof.shape, chamber.plugs)
    return disc_flame_table(chamber.plug_offset, chamber.twin)


@lru_cache(maxsize=64)  # half a second each; the same chambers return at every mixture of a pull
def _roof_table(heights: bytes, shape: tuple[int, ...], plugs: tuple[tuple[float, float], ...]) -> NDArray[np.float64]:
    return chamber_flame_table(np.frombuffer(heights).reshape(shape), list(plugs))


def _same_table(a: Chamber, b: Chamber) -> bool:
    if a.roof is None and b.roof is None:
        return (a.plug_offset, a.twin) == (b.plug_offset, b.twin)
    return a.roof is not None and b.roof is not None and np.array_equal(a.roof, b.roof) and a.plugs == b.plugs


def build_cylinders(
    chambers: list[Chamber],
    burns: list[Burn],
    gas: GasModel,
    velocity: NDArray[np.float64],
    delay: IgnitionTable,
) -> Cylinders:
    """The cylinder arrays, states still empty (``steps.set_one_zone`` fills them).

    velocity : rows of ``burning_velocity``; delay : table of ``gas.ignition``

    Raises
    ------
    BadInput : a length, temperature, constant or model name that cannot be.
    """
    if not chambers or len(chambers) != len(burns):
        raise BadInput(f"cylinders: found {len(chambers)} chambers and {len(burns)} burn settings; give one each.")
    shapes: list[Chamber] = []
    number = []
    for i, (chamber, burn) in enumerate(zip(chambers, burns, strict=True)):
        _check_chamber(f"cylinders[{i + 1}]", chamber)
        _check_burn(f"cylinders[{i + 1}].burn", burn)
        same = [j for j, other in enumerate(shapes) if _same_table(chamber, other)]
        number.append(same[0] if same else len(shapes))
        if not same:
            shapes.append(chamber)
    n = len(chambers)
    afr = gas.air_fuel_stoichiometric
    rows = [design_row(c, b, t, afr) for c, b, t in zip(chambers, burns, number, strict=True)]
    return Cylinders(
        design=np.array(rows),
        state=np.zeros((n, r.N_STATE)),
        charge_c=np.zeros((n, 2, 7)),
        charge_R=np.zeros(n),
        slices=np.zeros((n, *gas.table.values.shape[1:])),
        flame=np.array([_flame_table(c) for c in shapes]),
        velocity=np.ascontiguousarray(velocity, float),
        species=gas.species,
        table=gas.table,
        delay=delay,
    )
