"""Spark search, friction, accessories, knock band, scaling of a measured burn, refusals of the builder."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cylinder_setup import CLOSING, OPENING, chamber, cylinders, gas, omega
from scipy.optimize import brentq, minimize_scalar

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.build import Burn, Chamber, build_cylinders, disc_chamber
from spoolwright.cylinder.burning_velocity import burning_velocity, laminar_burning_velocity
from spoolwright.cylinder.closed import trap
from spoolwright.cylinder.flame import FlameConstants
from spoolwright.cylinder.friction import ChenFlynn, accessory_power, chen_flynn, power_curve
from spoolwright.cylinder.knock import knock_band
from spoolwright.cylinder.search import Trapped, best_torque_spark, knock_limited_spark, spark_search
from spoolwright.cylinder.wiebe import BurnPoint, Wiebe, scaled_burn
from spoolwright.errors import BadInput, OutsideRange
from spoolwright.gas.ignition import ignition_table


def trapped(
    p: float = 1.5e5, rpm: float = 2500.0, octane: float = 95.0, phi: float = 1.18, T: float = 385.0
) -> Trapped:
    c = cylinders(octane=octane)
    trap(c, 0, CLOSING, p, T, phi, 0.05)
    return Trapped(c, 0, OPENING, omega(rpm))


@pytest.mark.parametrize(("p", "rpm"), [(1.0e5, 1500.0), (1.5e5, 2500.0), (1.9e5, 6500.0), (0.5e5, 3000.0)])
@pytest.mark.parametrize("guess", [-45.0, -25.0, 0.0])
def test_best_torque__against_golden_section(p: float, rpm: float, guess: float) -> None:
    t = trapped(p, rpm)
    found = best_torque_spark(t, guess)
    exact = minimize_scalar(lambda a: -t.run(a).work, bounds=(-70.0, 10.0), method="bounded", options={"xatol": 0.01})
    assert found.cycle.work > -exact.fun * (1.0 - 1e-5)
    assert abs(found.spark - exact.x) < 0.5
    assert found.cycles <= 11
    if guess == -25.0:
        assert found.cycles <= 8
    assert found.held_by == "torque"


def test_knock_limit__against_bisection() -> None:
    t = trapped(1.5e5, 1500.0)
    best = best_torque_spark(t)
    assert best.cycle.knock > 0.6
    limited = knock_limited_spark(t, best, 0.6)
    exact = brentq(lambda a: t.run(a).knock - 0.6, best.spark, 30.0, xtol=1e-4)
    assert limited.spark == pytest.approx(exact, abs=0.02)
    assert limited.cycles <= 8
    assert limited.held_by == "knock"
    assert limited.spark > best.spark
    assert limited.cycle.work < best.cycle.work


def test_knock_limit__free_engine_keeps_best_torque() -> None:
    t = trapped(0.8e5, 4000.0, octane=105.0)
    best = best_torque_spark(t)
    assert spark_search(t, 0.6).spark == pytest.approx(best.spark)
    assert spark_search(t, 0.6).held_by == "torque"


def test_knock_limit__hopeless_fuel_says_so() -> None:
    t = trapped(3.0e5, 1000.0, octane=70.0)
    found = spark_search(t, 0.3)
    assert found.held_by in ("knock", "range")
    assert found.spark > 20.0


def test_knock_limit__octane_requirement_over_ratio() -> None:
    """Public table of octane requirement over compression ratio (full throttle, carburetted engines).

    With limits of 0.5 and 0.7 the numbers this model asks for at 1500 rev/min take the table's between them,
    4 % as stated there. With the published limit of 1 they would lie 13 % below it.
    """
    from pathlib import Path

    text = (Path(__file__).parents[1] / "published" / "data" / "cylinder_knock.csv").read_text()
    for ratio, name in ((7.0, "W42"), (8.0, "W43"), (9.0, "W44"), (10.0, "W45")):
        line = next(x for x in text.splitlines() if x.startswith(name))
        published = float(line.split("compression ratio ")[1].split(",")[1])
        c = cylinders([chamber(ratio)], octane=95.0)
        trap(c, 0, CLOSING, 1.0e5, 355.0, 1.1, 0.06)
        integral = best_torque_spark(Trapped(c, 0, OPENING, omega(1500.0))).cycle.knock
        low, high = (95.0 * (integral / limit) ** (1.0 / 3.402) for limit in (0.7, 0.5))
        assert low < 1.04 * published, (ratio, low, published)
        assert high > 0.96 * published, (ratio, high, published)
        assert 95.0 * integral ** (1.0 / 3.402) < 0.96 * published


def test_peak_pressure_angle_at_best_torque() -> None:
    """10 to 15 degrees after top dead centre, 12.5 within 30 % (encyclopaedia article, row W52).

    Known bias of the model: below 2500 rev/min the peak comes later (19 degrees at 1500 rev/min).
    """
    for rpm in (2500.0, 4500.0, 6500.0):
        angle = best_torque_spark(trapped(1.05e5, rpm, phi=1.11, T=355.0)).cycle.angle_p_max
        assert abs(angle / 12.5 - 1.0) < 0.3, (rpm, angle)


def test_knock_band__three_verdicts() -> None:
    assert [knock_band(x).verdict for x in (0.3, 0.55, 0.9)] == ["free", "doubtful", "knocks"]
    assert knock_band(0.4).margin == pytest.approx((0.1, 0.3))


def test_friction__terms() -> None:
    c = ChenFlynn()
    assert chen_flynn(c, 0.0, 0.0) == pytest.approx(0.4e5)
    assert chen_flynn(c, 60e5, 0.0) - chen_flynn(c, 0.0, 0.0) == pytest.approx(0.3e5)
    steps = np.diff([chen_flynn(c, 0.0, v) for v in (0.0, 5.0, 10.0)], 2)
    assert steps[0] == pytest.approx(2.0 * 0.0009e5 * 25.0)


def test_accessory__between_points_and_refusals() -> None:
    fan = power_curve("fan", [100.0, 300.0, 500.0], [50.0, 900.0, 4000.0])
    assert accessory_power("fan", fan, 200.0) == pytest.approx(475.0)
    with pytest.raises(OutsideRange, match="add points"):
        accessory_power("fan", fan, 600.0)
    with pytest.raises(BadInput, match="rise"):
        power_curve("fan", [100.0, 100.0], [1.0, 2.0])
    with pytest.raises(BadInput, match="negative"):
        power_curve("fan", [100.0, 200.0], [1.0, -2.0])


def test_scaled_burn__reference_returns_itself_and_trends() -> None:
    point = BurnPoint(300.0, 12e5, 620.0, 0.9, 0.06)
    burn = Wiebe(8.0, 50.0, 2.0)
    assert scaled_burn(burn, point, point) == pytest.approx(burn)
    assert scaled_burn(burn, point, point._replace(p_60=24e5)).duration < 45.0
    assert scaled_burn(burn, point, point._replace(T_60=680.0)).delay < 8.0
    assert scaled_burn(burn, point, point._replace(lam=1.2)).duration > 55.0
    assert scaled_burn(burn, point, point._replace(residual=0.2)).duration > 55.0
    assert 50.0 < scaled_burn(burn, point, point._replace(omega=600.0)).duration < 60.0


def test_burning_velocity__blend_lies_between_and_unknown_refused() -> None:
    state = (1.05, 650.0, 20e5, 0.05)
    petrol, ethanol = (laminar_burning_velocity(burning_velocity({n: 1.0}), *state) for n in ("gasoline", "ethanol"))
    half = laminar_burning_velocity(burning_velocity({"gasoline": 2.0, "ethanol": 2.0}), *state)
    assert half == pytest.approx(0.5 * (petrol + ethanol))
    with pytest.raises(BadInput, match="no data for 'hydrogen'"):
        burning_velocity({"hydrogen": 1.0})
    with pytest.raises(BadInput, match="must not all be 0"):
        burning_velocity({"gasoline": 0.0})


def test_builder__shares_flame_tables_between_equal_chambers() -> None:
    c = cylinders([chamber(), chamber(9.0), chamber(plug_offset=0.2)])
    assert c.flame.shape[0] == 2
    assert list(c.design[:, r.FLAME_TABLE]) == [0.0, 0.0, 1.0]


def test_builder__measured_chamber_runs() -> None:
    x = np.linspace(-1.0, 1.0, 33)
    roof = np.repeat((0.15 * (1.0 + x))[:, None], 33, axis=1)
    shape = replace(chamber(), roof=roof, plugs=((0.5, 0.0),))
    c = cylinders([shape])
    assert c.design[0, r.HEAD_VOLUME] == pytest.approx(0.15 * np.pi * 0.0435**3, rel=1e-3)
    trap(c, 0, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
    wedge = best_torque_spark(Trapped(c, 0, OPENING, omega(2500.0)))
    trap(d := cylinders(), 0, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
    disc = best_torque_spark(Trapped(d, 0, OPENING, omega(2500.0)))
    # the plug at the deep side of the wedge has more front to work with
    assert wedge.spark > disc.spark
    assert wedge.cycle.burned == 1.0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bore": 0.0}, r"cylinders\[1\].bore: 0 mm"),
        ({"bore": 87.0}, "check value and unit"),
        ({"stroke": -0.075}, "stroke"),
        ({"rod_length": 0.030}, "too short"),
        ({"clearance_volume": 52.1}, "compression ratio"),
        ({"T_head": 180.0}, "kelvin"),
        ({"plug_offset": 1.5}, "inside the bore"),
    ],
)
def test_builder__bad_chamber(change: dict[str, float], words: str) -> None:
    bad = replace(chamber(), **change)  # type: ignore[arg-type]
    with pytest.raises(BadInput, match=words):
        build_cylinders([bad], [Burn()], gas(), burning_velocity({"gasoline": 1.0}), ignition_table(95.0))


@pytest.mark.parametrize(
    ("burn", "words"),
    [
        (Burn(model="laminar"), "choose one of none, flame, wiebe, instant"),
        (Burn(heat_model="nusselt"), "choose one of woschni, hohenberg, annand"),
        (Burn(heat_multiplier=-1.0), "heat_multiplier"),
        (Burn(flame=FlameConstants(seed_share=0.5)), "seed_share"),
        (Burn(spark=float("nan")), "spark"),
    ],
)
def test_builder__bad_burn(burn: Burn, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        build_cylinders([chamber()], [burn], gas(), burning_velocity({"gasoline": 1.0}), ignition_table(95.0))


def test_builder__counts_and_ratio() -> None:
    with pytest.raises(BadInput, match="one each"):
        build_cylinders([chamber()], [], gas(), burning_velocity({"gasoline": 1.0}), ignition_table(95.0))
    with pytest.raises(BadInput, match="above 1"):
        disc_chamber(0.087, 0.075, 0.12, 0.9)
    assert isinstance(chamber(), Chamber)
    assert chamber(9.3).compression_ratio == pytest.approx(9.3)
