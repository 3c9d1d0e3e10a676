"""The engine between held states: the same engine as in the open, and what pressure on either side does to it."""

from __future__ import annotations

import pytest
from builds import FOUR, SINGLE, changed, sheet_of

from spoolwright.engine.imposed import Held, held_model, held_point, held_run
from spoolwright.engine.pull import Point, pull
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet, demo_folder, load

P, T = 101.325e3, 293.15

# No inlet pipe and no tail: the four breathes from its throttle and blows out behind its collector, whose pipe is so
# long that what a pulse draws back (cold air in the open, hot gas where a turbine would stand) stays near its end.
BARE = changed(
    FOUR, intake__ducts=None, intake__mouth=None, exhaust__tail=None, exhaust__collectors__main__length="1490 mm"
)
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def bare() -> Sheet:
    return sheet_of(BARE)


@pytest.fixture(scope="module")
def points(bare: Sheet) -> dict[tuple[float, float, float], Point]:
    model, spark = held_model(bare, 3500.0, Held(P, T, P))
    made: dict[tuple[float, float, float], Point] = {}
    neighbour = None
    for held in (Held(P, T, P), Held(2 * P, T, 2 * P), Held(P, T, 1.6 * P), Held(P, 1.21 * T, P)):
        point = held_point(model, 3500.0, held, spark, neighbour)
        made[held.p_charge / P, held.T_charge / T, held.p_turbine / P] = point
        neighbour = point.cycle
    return made


def test_held_at_outside_air__is_the_engine_in_the_open(
    bare: Sheet, points: dict[tuple[float, float, float], Point]
) -> None:
    """Only the end correction of the exhaust's mouth is left out: within 0.3 %."""
    free, held = pull(bare, [3500.0]).points[0].columns, points[1.0, 1.0, 1.0].columns
    for name in ("torque_Nm", "air_flow_kg_s", "volumetric_efficiency", "peak_pressure_MPa"):
        assert held[name] == pytest.approx(free[name], rel=3e-3), name


def test_closure__mass_and_energy(points: dict[tuple[float, float, float], Point]) -> None:
    for point in points.values():
        assert point.trouble == ""
        assert point.columns["mass_closure"] < 1e-12
        assert point.columns["energy_closure"] < 1e-12


def test_both_pressures_doubled__doubles_the_flow(points: dict[tuple[float, float, float], Point]) -> None:
    """Pressures are alike, so flow goes with density; what is left is heat: denser charge is warmed less by the walls
    (a cooling of a few kelvin, 1 to 3 % of flow)."""
    ratio = points[2.0, 1.0, 2.0].columns["air_flow_kg_s"] / points[1.0, 1.0, 1.0].columns["air_flow_kg_s"]
    assert 2.0 < ratio < 2.08


def test_exhaust_pressure__costs_flow_and_leaves_residual(points: dict[tuple[float, float, float], Point]) -> None:
    """Burned gas left in the clearance is compressed with p3/p2; without overlap flow then falls by about
    ((p3/p2)^(1/gamma) - 1)/(r - 1) of itself (ideal cycle, gamma 1.3, r 9.0): 5.4 % here. Real valves add to it."""
    free, choked = points[1.0, 1.0, 1.0].columns, points[1.0, 1.0, 1.6].columns
    lost = 1.0 - choked["air_flow_kg_s"] / free["air_flow_kg_s"]
    assert 0.03 < lost < 0.12
    assert choked["residual"] > 1.2 * free["residual"]
    assert free["torque_Nm"] - choked["torque_Nm"] > 0.6 * P * 1.858e-3 / 12.566  # pumping alone: dp V / 4 pi


def test_charge_temperature__flow_falls_slower_than_density(points: dict[tuple[float, float, float], Point]) -> None:
    """Flow goes with T^-0.5 (orifice) to T^-1 (density without heat from the walls)."""
    ratio = points[1.0, 1.21, 1.0].columns["air_flow_kg_s"] / points[1.0, 1.0, 1.0].columns["air_flow_kg_s"]
    assert 1.21**-1.0 < ratio < 1.21**-0.5


def test_turbine_temperature__lies_between_wall_and_port(points: dict[tuple[float, float, float], Point]) -> None:
    for point in points.values():
        assert 750.0 < point.columns["turbine_inlet_temperature_K"] < point.columns["exhaust_temperature_K"]


def test_carburettor__before_the_compressor_is_no_loss_behind_it() -> None:
    """The demo build with its turbo, its carburettor moved to the other side: fuel is in the charge either way, only
    behind the compressor does the carburettor take pressure."""
    held = Held(1.5 * P, 330.0, 1.5 * P)
    behind = held_run(load(demo_folder("wren")), [3500.0], held)[0].columns
    moved = ("carburettor.position=before_compressor", "carburettor.bowl_reference=venturi_inlet")
    before = held_run(load(demo_folder("wren"), None, moved), [3500.0], held)[0].columns
    assert before["manifold_pressure_kPa"] - behind["manifold_pressure_kPa"] > 0.5  # kPa
    share = behind["fuel_flow_kg_s"] / behind["air_flow_kg_s"]
    # Air is counted at the filter, fuel at the carburettor: while the long path still fills, a settled cycle's
    # last changes (2e-4 a cycle over some twenty) stand between them.
    assert before["fuel_flow_kg_s"] / before["air_flow_kg_s"] == pytest.approx(share, rel=4e-3)


@pytest.mark.parametrize(
    ("held", "word"),
    [
        (Held(50.0, 300.0, 1e5), "charge pressure of 0.05 kPa"),
        (Held(1e5, 300.0, 2e6), "turbine inlet pressure of 2000 kPa"),
        (Held(1e5, 60.0, 1e5), "temperature of 60 K"),
    ],
)
def test_impossible_states__one_sentence(held: Held, word: str) -> None:
    with pytest.raises(BadInput, match=word):
        held_model(sheet_of(SINGLE), 3000.0, held)
