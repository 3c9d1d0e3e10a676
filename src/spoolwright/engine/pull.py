"""A pull: the engine's steady points over speed, side by side on all cores, each started from its neighbour."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from math import pi
from typing import Any

import numpy as np

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.friction import chen_flynn
from spoolwright.cylinder.knock import knock_band
from spoolwright.engine.assemble import Model
from spoolwright.engine.boost_columns import boost_columns
from spoolwright.engine.columns import COLUMNS
from spoolwright.engine.march import reverse_flow
from spoolwright.engine.mixtures import Mixtures
from spoolwright.engine.parts import A_MASS, S_ENTHALPY, S_MASS, S_P, TIME, V_CYLINDER, V_INTAKE, Engine, Tally
from spoolwright.engine.run import Cycle, continue_from, own_copy, run_point, start
from spoolwright.engine.sparks import Spark, spark_of
from spoolwright.engine.speeds import check_speeds
from spoolwright.engine.steady import steady
from spoolwright.engine.turbo import Turbo
from spoolwright.errors import NoConvergence
from spoolwright.gas.duct import T_from_sensible
from spoolwright.sheet import Sheet

SURGE_LOOK = 0.02  # share of the cycle on the surge side from which the worst point is run with its gas's inertia
COMPILE_SPEED = 300.0  # rad/s
MOST_MIXTURES = 4  # runs of one speed until mixture and boost agree


@dataclass
class Point:
    """One speed: its columns by name, the last cycle, and what went wrong where it did."""

    columns: dict[str, Any]
    cycle: Cycle | None = None
    trouble: str = ""
    per_cylinder: dict[str, list[float]] = field(default_factory=dict)
    per_turbo: dict[str, list[float]] = field(default_factory=dict)


@dataclass
class Pull:
    """The points of a pull in order of speed, with what they rest on; ``asked`` are the speeds [rpm] wanted."""

    build: str
    variant: str | None
    digest: str
    points: list[Point]
    assumed: tuple[tuple[str, str, str], ...]
    model: Model
    asked: tuple[float, ...] = ()

    def column(self, name: str) -> list[Any]:
        """One column over the points."""
        return [point.columns[name] for point in self.points]


def pull(
    sheet: Sheet,
    speeds_rpm: Sequence[float],
    *,
    workers: int | None = None,
    ready: Callable[[], None] = lambda: None,
    progress: Callable[[Point], None] = lambda _: None,
    cancelled: Callable[[], bool] = lambda: False,
    trace_rows: int = 0,
    machines: Turbo | None = None,
) -> Pull:
    """Run the sheet's engine at these speeds [rpm], with ``machines`` in place of its own turbocharger where given.

    ready is called when the sheet has been found to make an engine, before the kernels are compiled or loaded.
    progress is called with each point as it is done, from the thread that did it. A point that fails or does not
    settle is kept, with its trouble said. cancelled is asked after each cycle; points not done by then are left
    out. Raises BadInput for a sheet that makes no engine.
    """
    check_speeds(speeds_rpm)
    speeds = sorted(speeds_rpm)
    mixtures = Mixtures(sheet, machines)
    model = mixtures.first(speeds[0])
    spark = spark_of(sheet, model.site.p)
    for n in speeds:
        mixtures.first(n)
    ready()
    _compile(model)
    count = min(workers or os.cpu_count() or 1, len(speeds))
    points: dict[int, Point] = {}

    def chain(indices: list[int]) -> None:
        neighbour: Cycle | None = None
        for i in indices:
            if cancelled():
                return
            point = point_at(mixtures, speeds[i], spark, neighbour, cancelled, trace_rows)
            if cancelled() and not point.columns["converged"]:
                return
            point.columns["speed_rpm"] = speeds[i]
            points[i], neighbour = point, point.cycle or neighbour
            progress(point)

    chunks = [list(map(int, part)) for part in np.array_split(np.arange(len(speeds)), count)]
    with ThreadPoolExecutor(max_workers=count) as pool:
        for job in [pool.submit(chain, chunk) for chunk in chunks if chunk]:
            job.result()
    done = [points[i] for i in sorted(points)]
    if not cancelled():
        _look_for_surge(done)
    return Pull(sheet.name, sheet.variant, sheet.digest, done, model.assumed, model, tuple(speeds))


def _look_for_surge(points: list[Point]) -> None:
    """Run the point that is longest on the surge side once more, its gas free to swing; the others keep their share."""

    def longest(point: Point) -> float:
        return max(point.per_turbo.get("surge_side_time") or [point.columns["surge_side_time"] or 0.0])

    worst = max(points, key=longest, default=None)
    if worst is None or worst.cycle is None or longest(worst) <= SURGE_LOOK:
        return
    backwards = reverse_flow(worst.cycle.engine, worst.cycle.omega)
    worst.columns["reverse_flow_time"] = backwards[0]
    if worst.per_turbo:
        worst.per_turbo["reverse_flow_time"] = backwards


def _compile(model: Model) -> None:
    """Compile once, before threads start; whether that one cycle finds its gas is of no matter."""
    engine = own_copy(model.engine)
    boost = steady(model, engine, COMPILE_SPEED)
    p, T = (model.site.p, model.site.T) if boost is None else boost.begin(engine)
    start(engine, p, T, 1.0 / model.lam)
    with suppress(NoConvergence):
        run_point(engine, COMPILE_SPEED, most_cycles=1, settle=None if boost is None else boost.settle)


def point_at(
    mixtures: Mixtures,
    rpm: float,
    spark: Spark,
    neighbour: Cycle | None,
    cancelled: Callable[[], bool],
    trace_rows: int,
) -> Point:
    """One speed; run again from where it stands while the manifold pressure it finds asks for another mixture."""
    model = mixtures.first(rpm)
    for _ in range(MOST_MIXTURES):
        point = tried(model, rpm, spark, neighbour, cancelled, trace_rows)
        if point.cycle is None or cancelled():
            break
        wanted = mixtures.at(rpm, 1e3 * point.columns["manifold_pressure_kPa"], model)
        if wanted is model:
            break
        model, neighbour = wanted, point.cycle
    return point


def tried(
    model: Model, rpm: float, spark: Spark, neighbour: Cycle | None, cancelled: Callable[[], bool], trace_rows: int
) -> Point:
    """One speed at one mixture; a run that fails from a neighbour's state is begun anew from rest."""
    omega = rpm * pi / 30.0
    try:
        return _run(model, omega, spark, neighbour, cancelled, trace_rows)
    except NoConvergence as trouble:
        if neighbour is not None:  # a neighbour's state can be the wrong start; try once from rest
            try:
                return _run(model, omega, spark, None, cancelled, trace_rows)
            except NoConvergence:
                pass
        return _no_result(model, rpm, str(trouble))


def _no_result(model: Model, rpm: float, trouble: str) -> Point:
    columns = dict.fromkeys(COLUMNS, None) | {"speed_rpm": rpm, "lambda": model.lam, "converged": False}
    return Point(columns, None, trouble)


def _run(
    model: Model, omega: float, spark: Spark, neighbour: Cycle | None, cancelled: Callable[[], bool], trace_rows: int
) -> Point:
    engine = own_copy(model.engine)
    boost = steady(model, engine, omega)
    p, T = model.site.p, model.site.T
    if neighbour is None:
        if boost is not None:
            p, T = boost.begin(engine)
        start(engine, p, T, 1.0 / model.lam)
    else:
        continue_from(engine, neighbour.engine)
        if boost is not None:
            boost.go_on(engine, neighbour, omega)
        p = float(neighbour.tally.end[model.intake_ends, S_P].mean() / neighbour.tally.numbers[TIME])
    timing = spark.begin(engine, omega, None if neighbour is None else neighbour.engine, model.intake_ends, p)

    def settle(engine: Engine, tally: Tally, n: int) -> bool:
        timed = timing.settle(engine, tally, n)
        return (boost is None or boost.settle(engine, tally, n)) and timed

    cycle = run_point(engine, omega, settle=settle, cancelled=cancelled, trace_rows=trace_rows)
    if cycle.cycles == 0:  # cancelled before the first
        return _no_result(model, omega * 30.0 / pi, "cancelled")
    trouble = ""
    if not cycle.converged and not cancelled():
        last = ", ".join(f"{name} {value:.1e}" for name, value in cycle.residuals.items())
        trouble = f"did not settle in {cycle.cycles} cycles; last relative changes: {last}"
    columns, each = columns_of(model, cycle, timing.best)
    turbos: dict[str, list[float]] = {}
    if boost is not None and boost.readings is not None:
        boosted, turbos = boost_columns(model, cycle, boost.readings, 1e3 * columns["manifold_pressure_kPa"])
        columns |= boosted
        if boost.overspeeds:
            columns["converged"] = False
        if not columns["converged"] and boost.why():
            trouble = f"{trouble}; {boost.why()}" if trouble else boost.why()
    return Point(columns, cycle, trouble, each, turbos)


def _port_temperature(model: Model, cycle: Cycle, ends: list[int], burned: float) -> float:
    """Enthalpy-mean gas temperature [K] at these duct ends."""
    duct = model.engine.gas.duct
    mass, enthalpy = (float(np.abs(cycle.tally.end[ends, column].sum())) for column in (S_MASS, S_ENTHALPY))
    share = (1.0 - burned) / (1.0 + model.lam * model.engine.gas.air_fuel_stoichiometric)
    y = np.array([1.0 - burned - share, share, burned])
    R, a, b = (float(y @ row) for row in (duct.R, duct.a, duct.b))
    # h = (a + R) T + b T^2 / 2 has the same form as the sensible energy.
    return float(T_from_sensible(a + R, b, enthalpy / max(mass, 1e-12)))


def mean_pressures(model: Model, engine: Engine, tally: Tally, omega: float) -> tuple[float, float]:
    """Indicated and friction mean effective pressure [Pa] of the cycle just run, accessories in the second."""
    imep = float(engine.cylinders.state[:, r.WORK].sum()) / model.swept
    fmep = float(chen_flynn(model.friction, float(tally.burned[:, r.P_MAX].mean()), model.stroke * omega / pi))
    return imep, fmep + model.accessory_power(omega) / (omega / (4.0 * pi) * model.swept)


def columns_of(model: Model, cycle: Cycle, best_spark: float | None) -> tuple[dict[str, Any], dict[str, list[float]]]:
    """The columns of a point and its numbers by cylinder, from its last cycle; boost columns stay None."""
    engine, tally, omega = cycle.engine, cycle.tally, cycle.omega
    # Work and heat are sums over the cycle; what the burn left is read from each cylinder's last whole burn.
    state, closed, record = engine.cylinders.state, tally.closed, tally.burned
    per_second = omega / (4.0 * pi)
    piston_speed = model.stroke * omega / pi
    imep, fmep = mean_pressures(model, engine, tally, omega)
    bmep = imep - fmep
    power = bmep * model.swept * per_second
    air = -float(tally.ambient[model.inlet, A_MASS]) * per_second
    fuel = float(tally.fuel[:, 0].sum()) * per_second
    rho = model.site.p / (float(engine.gas.duct.R[0]) * model.site.T)
    exhaust_ends = [2 * d for d in model.exhaust_ports]
    primary_ends = [2 * d + 1 for d, span in enumerate(model.spans) if span.name.startswith("exhaust.primaries")]
    time = float(tally.numbers[TIME])
    worst = int(np.argmax(record[:, r.KNOCK_85]))
    band = knock_band(float(record[worst, r.KNOCK_85]))
    heat = float(state[:, [r.Q_HEAD, r.Q_PISTON, r.Q_LINER]].sum()) * per_second
    columns = dict.fromkeys(COLUMNS, None) | {
        "speed_rpm": omega * 30.0 / pi,
        "torque_Nm": bmep * model.swept / (4.0 * pi),
        "power_kW": power / 1e3,
        "bmep_kPa": bmep / 1e3,
        "imep_kPa": imep / 1e3,
        "fmep_kPa": fmep / 1e3,
        "volumetric_efficiency": air / (rho * model.swept * per_second),
        "air_flow_kg_s": air,
        "fuel_flow_kg_s": fuel,
        "fuel_consumption_g_kWh": fuel / power * 3.6e9 if power > 0.0 else None,
        "lambda": model.lam,
        "residual": float(closed[:, r.Y_RESIDUAL].mean()),
        "manifold_pressure_kPa": float(tally.end[model.intake_ends, S_P].mean()) / time / 1e3,
        "manifold_temperature_K": _port_temperature(model, cycle, model.intake_ends, 0.0),
        "exhaust_pressure_kPa": float(tally.end[exhaust_ends, S_P].mean()) / time / 1e3,
        "exhaust_temperature_K": _port_temperature(model, cycle, exhaust_ends, 1.0),
        "primary_temperature_K": _port_temperature(model, cycle, primary_ends, 1.0),
        "spark_deg_btdc": -float(engine.cylinders.design[:, r.SPARK].mean()),
        "best_torque_spark_deg_btdc": best_spark,
        "mfb50_deg": _reached(record[:, r.ANGLE_50]),
        "burn_10_90_deg": _reached(record[:, r.ANGLE_90], record[:, r.ANGLE_10]),
        "peak_pressure_MPa": float(record[:, r.P_MAX].max()) / 1e6,
        "peak_pressure_deg": float(record[int(np.argmax(record[:, r.P_MAX])), r.ANGLE_P_MAX]),
        "knock_integral": band.integral,
        "knock_limit_low": band.low,
        "knock_limit_high": band.high,
        "wall_heat_kW": heat / 1e3,
        "head_temperature_K": float(engine.cylinders.design[:, r.T_HEAD].max()),
        "piston_speed_m_s": piston_speed,
        "cycles": cycle.cycles,
        "converged": cycle.converged,
        "mass_closure": float(abs(cycle.mass_closure)),
        "energy_closure": float(abs(cycle.energy_closure)),
    }
    intake = engine.valves.rows[:, V_INTAKE] == 1
    trapped = np.zeros(len(state))
    np.add.at(trapped, engine.valves.rows[intake, V_CYLINDER], tally.valve_mass[intake])
    each = {
        "imep_kPa": (state[:, r.WORK] / model.swept * len(state) / 1e3).tolist(),
        "charge_kg": trapped.tolist(),
        "residual": closed[:, r.Y_RESIDUAL].tolist(),
        "peak_pressure_MPa": (record[:, r.P_MAX] / 1e6).tolist(),
        "mfb50_deg": record[:, r.ANGLE_50].tolist(),
        "knock_integral": record[:, r.KNOCK_85].tolist(),
    }
    return columns, each


def _reached(angle: Any, less: Any = 0.0) -> float | None:
    """Mean over the cylinders, None where one did not get there."""
    bad = np.any(np.asarray(angle) >= r.NEVER) or np.any(np.asarray(less) >= r.NEVER)
    return None if bad else float(np.mean(angle - less))
