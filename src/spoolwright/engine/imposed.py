"""The engine at imposed states: no machines, but a charge held before carburettor or throttle and a pressure held
where the turbine would stand.

For matching (the engine's demand at a boost no part has been chosen for yet) and for checks against engines of which
only the manifold pressure is known. Pulses end at the held places: no wave comes back from a turbine, and the charge
does not swing. A turbine answers pulses with about 0.5 % (above 3500 rpm) to 5 % (at 2000 rpm) more power and less
flow than its map at mean pressures; that is left to the run with machines.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import pi
from typing import Any

import numpy as np

from spoolwright.engine.assemble import Model, assemble
from spoolwright.engine.charge import mixture_at
from spoolwright.engine.gas_path import Held
from spoolwright.engine.parts import A_BURNED, A_ENTHALPY, A_FUEL, A_MASS, Engine, Floats, Tally
from spoolwright.engine.pull import Point, columns_of
from spoolwright.engine.run import Cycle, continue_from, own_copy, run_point, start
from spoolwright.engine.sparks import Spark, spark_of
from spoolwright.errors import BadInput
from spoolwright.flow.build import set_node
from spoolwright.flow.rows import N_T
from spoolwright.gas.duct import T_from_sensible
from spoolwright.sheet import Sheet

__all__ = ["Held", "check_held", "held_model", "held_point", "held_run"]

LEAST_P, MOST_P = 20e3, 800e3  # Pa
LEAST_T, MOST_T = 220.0, 500.0  # K
T_GUESS = 1000.0  # K, exhaust gas before anything is known of it


def check_held(held: Held) -> None:
    """Refuse states that no engine meets. Raises BadInput with one sentence."""
    for name, value in (("charge", held.p_charge), ("turbine inlet", held.p_turbine)):
        if not LEAST_P <= value <= MOST_P:
            raise BadInput(
                f"the held {name} pressure of {value / 1e3:.4g} kPa is outside {LEAST_P / 1e3:.0f} to "
                f"{MOST_P / 1e3:.0f} kPa; give it absolute"
            )
    if not LEAST_T <= held.T_charge <= MOST_T:
        raise BadInput(
            f"the held charge temperature of {held.T_charge:.4g} K is outside {LEAST_T:.0f} to {MOST_T:.0f} K; give it "
            "in kelvin"
        )


def held_model(sheet: Sheet, rpm: float, held: Held) -> tuple[Model, Spark]:
    """The engine at one speed's mixture, and what sets its spark at that manifold pressure. Raises BadInput."""
    check_held(held)
    lam = mixture_at(sheet, rpm * pi / 30.0, held.p_charge)
    model = assemble(sheet, lam, held)
    return model, spark_of(sheet, model.site.p)


def held_point(
    model: Model,
    rpm: float,
    held: Held,
    spark: Spark,
    neighbour: Cycle | None = None,
    cancelled: Callable[[], bool] = lambda: False,
) -> Point:
    """One steady point at a speed [rpm] and a held state, which may differ from the one ``model`` was assembled with.

    Volumetric efficiency is counted on outside air, as in a pull; the air counted is what the charge gives. Raises
    NoConvergence where a kernel fails; a point that does not settle says so in ``trouble``.
    """
    check_held(held)
    omega = rpm * pi / 30.0
    engine = own_copy(model.engine)
    if neighbour is None:
        start(engine, held.p_charge, held.T_charge, 1.0 / model.lam)
    else:
        continue_from(engine, neighbour.engine)
    premixed = len(engine.mixers.node) == 0  # fuel joined before the compressor
    yf = 1.0 / (1.0 + model.lam * engine.gas.air_fuel_stoichiometric) if premixed else 0.0
    set_node(engine.net, model.inlet, held.p_charge, held.T_charge, yf=yf)
    before = None if neighbour is None else neighbour.engine
    timing = spark.begin(engine, omega, before, model.intake_ends, held.p_charge)
    T_last = T_GUESS if neighbour is None else float(neighbour.engine.net.nodes[model.outlet, N_T])
    set_node(engine.net, model.outlet, held.p_turbine, T_last, yb=1.0)

    def settle(engine: Engine, tally: Tally, n: int) -> bool:
        """What a pulse draws back from the turbine's place is as hot as what left."""
        nonlocal T_last
        T_now = _temperature_out(engine, tally.ambient[model.outlet])
        at_rest, T_last = abs(T_now - T_last) < 1.0, T_now
        set_node(engine.net, model.outlet, held.p_turbine, T_now, yb=1.0)
        return timing.settle(engine, tally, n) and at_rest

    cycle = run_point(engine, omega, settle=settle, cancelled=cancelled)
    columns, each = columns_of(model, cycle, timing.best)
    if premixed:
        passed = cycle.tally.ambient[model.inlet] * omega / (4.0 * pi)
        _count_mixture(columns, -float(passed[A_MASS] - passed[A_FUEL]), -float(passed[A_FUEL]))
    columns["speed_rpm"] = rpm
    columns["turbine_inlet_pressure_kPa"] = held.p_turbine / 1e3
    columns["turbine_inlet_temperature_K"] = _temperature_out(engine, cycle.tally.ambient[model.outlet])
    trouble = "" if cycle.converged else f"did not settle in {cycle.cycles} cycles"
    return Point(columns, cycle, trouble, each)


def _count_mixture(columns: dict[str, Any], air: float, fuel: float) -> None:
    """Put right what the columns count where fuel comes with the charge: air and fuel [kg/s]."""
    columns["volumetric_efficiency"] *= air / columns["air_flow_kg_s"]
    power = columns["power_kW"]
    columns["fuel_consumption_g_kWh"] = fuel / power * 3.6e6 if power > 0.0 else None
    columns["air_flow_kg_s"], columns["fuel_flow_kg_s"] = air, fuel


def _temperature_out(engine: Engine, passed: Floats) -> float:
    """Enthalpy-mean temperature [K] of the gas that left in a cycle (a row of Tally.ambient), its motion included."""
    duct = engine.gas.duct
    mass, fuel, burned = float(passed[A_MASS]), float(passed[A_FUEL]), float(passed[A_BURNED])
    if mass <= 0.0:
        return T_GUESS
    parts = np.array([mass - fuel - burned, fuel, burned])
    sensible = float(passed[A_ENTHALPY] - parts @ duct.e0) / mass
    R, a, b = (float(parts @ row) / mass for row in (duct.R, duct.a, duct.b))
    # h = (a + R) T + b T^2 / 2 has the same form as the sensible energy.
    return float(np.clip(T_from_sensible(a + R, b, sensible), 300.0, 2000.0))


def held_run(sheet: Sheet, speeds_rpm: Sequence[float], held: Held) -> list[Point]:
    """The engine of ``sheet`` at these speeds [rpm], one after the other, all at one held state."""
    points: list[Point] = []
    neighbour: Cycle | None = None
    models: dict[float, tuple[Model, Spark]] = {}
    for rpm in speeds_rpm:
        lam = mixture_at(sheet, rpm * pi / 30.0, held.p_charge)
        if lam not in models:
            models[lam] = held_model(sheet, rpm, held)
        points.append(held_point(models[lam][0], rpm, held, models[lam][1], neighbour))
        neighbour = points[-1].cycle
    return points
