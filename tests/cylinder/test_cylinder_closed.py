"""The closed cycle: energy, limits, marks inside steps, robustness, trends."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cylinder_setup import CLOSING, OPENING, chamber, cylinders, fuel_energy, gas, omega, run

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.build import Burn, design_row
from spoolwright.cylinder.closed import N_TRACE, NO_TRACE, TRACE, closed_cycle, trap
from spoolwright.cylinder.flame import FlameConstants
from spoolwright.cylinder.search import Trapped, best_torque_spark
from spoolwright.cylinder.wiebe import A_COMPLETE
from spoolwright.errors import OutsideRange
from spoolwright.gas.ignition import table_from_delays

COLUMN = {name: i for i, name in enumerate(TRACE)}


@pytest.mark.parametrize("model", ["flame", "wiebe", "instant", "none"])
@pytest.mark.parametrize("heat_model", ["woschni", "hohenberg", "annand"])
def test_energy__closes_to_round_off(model: str, heat_model: str) -> None:
    c = cylinders(model=model, heat_model=heat_model)
    cycle = run(c, 3000.0, -25.0)
    assert cycle.status == r.OK
    assert abs(cycle.closure) < 1e-10 * fuel_energy(c)
    assert cycle.heat > 0.0


def test_energy__stored_and_solved_state_agree_at_every_degree() -> None:
    """The gas law and the first law with nothing but the trace: p V work by trapezoid, heat as tallied."""
    c = cylinders(step=0.25, step_burning=0.25)
    trap(c, 0, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
    start = c.state[0, r.ENERGY]
    trace = np.zeros((961, N_TRACE))
    closed_cycle(c, 0, OPENING, omega(3000.0), -25.0, trace)
    work = np.trapezoid(trace[:, COLUMN["p"]], trace[:, COLUMN["V"]])
    heat = trace[-1, COLUMN["heat"]]
    energy = fuel_energy(c)
    # the trace cannot show the pressure jump of the seed at the spark, 1e-6 of the fuel's energy here
    assert abs(start - work - heat - c.state[0, r.ENERGY]) < 3e-6 * energy


def test_burn__all_marks_in_order_and_inside() -> None:
    c = cylinders()
    cycle = run(c, 3000.0, -25.0)
    marks = (-25.0, cycle.angle_02, cycle.angle_10, cycle.angle_50, cycle.angle_90, OPENING)
    assert list(marks) == sorted(marks)
    assert cycle.burned == 1.0
    assert cycle.angle_50 < cycle.angle_p_max < cycle.angle_90


def test_step_size__converges() -> None:
    """Against a tenth of the step: imep 2e-4, 50 % point 0.1 deg, peak pressure 2e-3, knock 2e-3."""
    coarse, fine = (run(cylinders(step=a, step_burning=b), 3000.0, -25.0) for a, b in ((1.0, 0.5), (0.1, 0.05)))
    assert coarse.work == pytest.approx(fine.work, rel=2e-4)
    assert coarse.angle_50 == pytest.approx(fine.angle_50, abs=0.1)
    assert coarse.p_max == pytest.approx(fine.p_max, rel=2e-3)
    assert coarse.angle_p_max == pytest.approx(fine.angle_p_max, abs=0.15)
    assert coarse.knock == pytest.approx(fine.knock, rel=2e-3)


def test_peak_pressure__does_not_see_where_the_steps_fall() -> None:
    """Shifting the spark by parts of a step moves the peak smoothly: second differences stay small."""
    c = cylinders()
    peaks = np.array([run(c, 3000.0, -25.0 + 0.1 * i).p_max for i in range(11)])
    assert np.abs(np.diff(peaks, 2)).max() < 1e-3 * peaks[0]
    assert np.all(np.diff(peaks) < 0.0)


def test_wiebe__burns_on_its_curve() -> None:
    c = cylinders(model="wiebe", wiebe_delay=5.0, wiebe_duration=60.0, wiebe_shape=1.5)
    cycle = run(c, 3000.0, -25.0)
    for mark, share in ((cycle.angle_10, 0.1), (cycle.angle_50, 0.5), (cycle.angle_90, 0.9)):
        expected = -20.0 + 60.0 * (-np.log1p(-share) / A_COMPLETE) ** (1.0 / 2.5)
        assert mark == pytest.approx(expected, abs=0.05)


def test_instant__all_burned_at_the_spark() -> None:
    c = cylinders(model="instant")
    cycle = run(c, 3000.0, 0.0)
    assert cycle.burned == 1.0
    assert 0.0 <= cycle.angle_p_max < 1.0


def test_no_fuel__never_burns() -> None:
    cycle = run(cylinders(), 3000.0, -25.0, phi=0.0, residual=0.0)
    assert cycle.burned == 0.0
    assert cycle.knock == 0.0
    assert cycle.angle_50 == r.NEVER
    assert cycle.work < 0.0


def test_late_spark__leaves_gas_unburned() -> None:
    cycle = run(cylinders(), 6000.0, 60.0)
    assert cycle.status == r.OK
    assert 0.0 < cycle.burned < 1.0


def test_trap__outside_the_tables() -> None:
    with pytest.raises(OutsideRange, match="equivalence ratio"):
        trap(cylinders(), 0, CLOSING, 1e5, 350.0, 3.0)


def test_knock__constant_delay_gives_time_over_delay() -> None:
    """With the same delay everywhere the integral is elapsed time over that delay."""
    tau = 4e-3
    c = cylinders()
    c = c._replace(delay=table_from_delays([1e5, 300e5], [300.0, 2000.0], [1.0], [0.0], np.full((2, 2, 1, 1), tau)))
    c.design[0, r.KNOCK_LIMIT] = 0.5
    trap(c, 0, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
    rpm = 3000.0
    per_degree = 1.0 / (6.0 * rpm)
    trace = np.zeros((2401, N_TRACE))
    cycle = closed_cycle(c, 0, OPENING, omega(rpm), -25.0, trace)
    # counting begins where the core passes 500 K; half a step of doubt at the first one
    theta_85 = np.interp(0.85, trace[:, COLUMN["burned"]], trace[:, COLUMN["theta"]])
    begin = theta_85 - cycle.knock * tau / per_degree
    hot = trace[:, COLUMN["T_unburned"]] > 500.0
    first = trace[np.argmax(hot), COLUMN["theta"]]
    assert begin == pytest.approx(first, abs=1.5)
    half = cycle.knock_angle
    assert half == pytest.approx(theta_85 - (cycle.knock - 0.5) * tau / per_degree, abs=0.05)
    assert cycle.knock_unburned == pytest.approx(
        1.0 - np.interp(half, trace[:, COLUMN["theta"]], trace[:, COLUMN["burned"]]), abs=0.01
    )


@pytest.mark.slow
def test_random_cycles__no_failure_and_closed_energy() -> None:
    """1000 engines drawn wide: converged, finite, positive, first law to 1e-10 of the fuel energy."""
    rng = np.random.default_rng(20240611)
    shapes = [chamber(), chamber(plug_offset=0.0), chamber(plug_offset=0.8), chamber(plug_offset=0.4, twin=True)]
    c = cylinders(shapes)
    afr = gas().air_fuel_stoichiometric
    worst = 0.0
    for i in range(1000):
        bore = rng.uniform(0.04, 0.13)
        stroke = bore * rng.uniform(0.6, 1.4)
        ratio = rng.uniform(6.0, 14.0)
        shape = replace(
            shapes[0],
            bore=bore,
            stroke=stroke,
            rod_length=stroke * rng.uniform(1.4, 2.2),
            clearance_volume=0.25 * np.pi * bore**2 * stroke / (ratio - 1.0),
            pin_offset=rng.uniform(-0.01, 0.01) * bore,
            T_head=rng.uniform(350.0, 700.0),
        )
        flame = FlameConstants(rng.uniform(0.5, 4.0), rng.uniform(1.0, 10.0), 10.0 ** rng.uniform(-5.0, -2.5))
        burn = Burn(
            model=str(rng.choice(["flame", "flame", "flame", "wiebe", "instant"])),
            flame=flame,
            heat_model=str(rng.choice(["woschni", "hohenberg", "annand"])),
            heat_multiplier=rng.uniform(0.0, 2.5),
            wiebe_duration=rng.uniform(10.0, 120.0),
            step=rng.uniform(0.25, 2.0),
            step_burning=rng.uniform(0.1, 1.5),
        )
        c.design[0] = design_row(shape, burn, int(rng.integers(4)), afr)
        trap(
            c, 0, rng.uniform(-160.0, -90.0), 1e5 * rng.uniform(0.2, 3.5), rng.uniform(280.0, 480.0),
            rng.uniform(0.55, 1.75), rng.uniform(0.0, 0.4),
        )  # fmt: skip
        energy = fuel_energy(c)
        cycle = closed_cycle(
            c, 0, rng.uniform(100.0, 160.0), omega(rng.uniform(400.0, 10000.0)), rng.uniform(-80.0, 40.0), NO_TRACE
        )
        assert cycle.status == r.OK, i
        assert np.all(np.isfinite(cycle)), (i, cycle)
        assert np.all(np.isfinite(c.state[0])), i
        assert cycle.p_max > 0.0, (i, cycle)
        assert cycle.p_end > 0.0, (i, cycle)
        assert 0.0 <= cycle.burned <= 1.0, (i, cycle)
        assert 150.0 < cycle.T_end < 3500.0, (i, cycle)
        worst = max(worst, abs(cycle.closure) / energy)
    assert worst < 1e-10


# ---------------------------------------------------------------- trends


def best(c: object, rpm: float = 2500.0, **state: float) -> tuple[float, float, float]:
    """Best-torque spark, its work, and degrees from spark to 50 % burned."""
    values = {"p": 1.05e5, "T": 355.0, "phi": 1.1, "residual": 0.06} | state
    trap(c, 0, CLOSING, **values)  # type: ignore[arg-type]
    found = best_torque_spark(Trapped(c, 0, OPENING, omega(rpm)))  # type: ignore[arg-type]
    return found.spark, found.cycle.work, found.cycle.angle_50 - found.spark


def test_trend__lean_mixture_wants_earlier_spark() -> None:
    assert best(cylinders(), phi=0.9)[0] < best(cylinders(), phi=1.1)[0] - 2.0


def test_trend__residual_wants_earlier_spark() -> None:
    assert best(cylinders(), residual=0.16)[0] < best(cylinders(), residual=0.06)[0] - 3.0


def test_trend__two_plugs_want_later_spark() -> None:
    one, two = (best(cylinders([chamber(plug_offset=0.5, twin=twin)])) for twin in (False, True))
    assert two[0] > one[0] + 3.0
    assert two[1] > one[1]
    assert two[2] < 0.85 * one[2]


def test_trend__central_plug_burns_faster() -> None:
    spans = [best(cylinders([chamber(plug_offset=e)]))[2] for e in (0.0, 0.5, 0.8)]
    assert spans == sorted(spans)


def test_trend__faster_burn_wants_later_spark() -> None:
    slow, fast = (best(cylinders(flame=FlameConstants(burn_factor=x)))[0] for x in (1.0, 1.1))
    assert 1.5 < fast - slow < 4.0


def test_trend__speed_wants_earlier_spark_and_stretches_the_burn_little() -> None:
    slow, fast = (best(cylinders(), rpm) for rpm in (1500.0, 6000.0))
    assert fast[0] < slow[0] - 10.0
    assert 1.0 < fast[2] / slow[2] < 2.0  # degrees; in seconds the burn becomes more than twice as fast


def test_trend__ratio_raises_efficiency_and_knock() -> None:
    results = []
    for ratio in (7.0, 8.5, 10.0):
        c = cylinders([chamber(ratio)])
        trap(c, 0, CLOSING, 1.05e5, 355.0, 1.1, 0.06)
        energy = fuel_energy(c)
        found = best_torque_spark(Trapped(c, 0, OPENING, omega(2500.0)))
        results.append((found.cycle.work / energy, found.cycle.knock))
    work, knock = zip(*results, strict=True)
    assert list(work) == sorted(work)
    assert list(knock) == sorted(knock)
    assert knock[2] > 1.3 * knock[0]


def test_trend__knock_with_boost_heat_and_octane() -> None:
    base = run(cylinders(), 2500.0, -20.0, p=1.5e5).knock
    assert run(cylinders(), 2500.0, -20.0, p=1.9e5).knock > 1.2 * base
    assert run(cylinders(), 2500.0, -20.0, p=1.5e5, T=375.0).knock > 1.1 * base
    assert run(cylinders(octane=105.0), 2500.0, -20.0, p=1.5e5).knock < 0.85 * base
    assert run(cylinders(), 2500.0, -15.0, p=1.5e5).knock < base


def test_trend__heat_share_falls_with_speed() -> None:
    shares = []
    for rpm in (1500.0, 3500.0, 6000.0):
        c = cylinders()
        cycle = run(c, rpm, -28.0)
        shares.append(cycle.heat / fuel_energy(c))
    assert shares == sorted(shares, reverse=True)
    assert 0.05 < shares[2] < shares[0] < 0.25
