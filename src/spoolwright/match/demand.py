"""What the engine wants of a turbocharger: air over speed at a boost, from the cycle engine at held states.

At a few speeds the engine is run at three held states (wanted charge pressure with exhaust at it and half above it, and
a lower charge pressure), once at a warmer charge; between and around them the surfaces of ``boost.balance`` carry on.
So no candidate needs an engine run of its own.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from math import log, nan, pi

import numpy as np

from spoolwright.boost import balance as b
from spoolwright.boost.rows import Floats
from spoolwright.engine.assemble import Model, assemble
from spoolwright.engine.charge import mixture_at, site
from spoolwright.engine.gas_path import Held
from spoolwright.engine.imposed import held_point
from spoolwright.engine.pull import Point
from spoolwright.engine.run import Cycle
from spoolwright.engine.sparks import spark_of
from spoolwright.errors import NoConvergence, SpoolwrightError
from spoolwright.sheet import Sheet

BACK = (1.0, 1.5)  # exhaust over charge pressure at which the engine is run
LOWER = 0.4  # of the wanted boost, the lower charge pressure
WARMER = 25.0  # K
# Columns of the mean pressure's surface: bmep = B0 + B1 (p2/p_ref - 1) + B2 (p3/p2 - x_ref) + B3 (T2 - T_ref), Pa
N_BMEP = 4
BY_AREA = [b.Q_PULSE_FLOW, b.Q_PULSE_POWER]  # pulse factors that follow the turbine's area
FACTORS = (0.5, 2.5)  # pulse factors outside belong to a point that stands near nothing
AREA_SPAN = 2.5  # of the turbine's area, either way, as far as their trend is followed


class Cancelled(SpoolwrightError):
    """The user stopped it."""


@dataclass(frozen=True)
class Demand:
    """The engine's demand; n = speed.

    rpm (n,); rows (n, N_DEMAND) of ``boost.balance``; bmep (n, N_BMEP); points are the engine runs it rests on, by
    speed and state. p2 [Pa] is the wanted charge pressure, T_ref [K] the charge temperature the runs were made at.
    """

    rpm: Floats
    rows: Floats
    bmep: Floats
    points: list[list[Point]]
    model: Model
    p2: float
    T_ref: float
    pulses: int = 0  # boosted points that set it right for pulses and pipes; 0: held states alone
    pulse_area: float = nan  # m2 of turbine, all entries, the rows' pulse factors belong to
    pulse_slopes: Floats = field(default_factory=lambda: np.zeros((0, 2)))  # (n, BY_AREA): d ln factor / d ln area

    @property
    def runs(self) -> int:
        """How many engine points it took."""
        return sum(len(each) for each in self.points)

    def at(self, rpm: Floats) -> Demand:
        """The same at other speeds [rpm] inside, monotone cubic between the runs."""
        from scipy.interpolate import PchipInterpolator

        if len(self.rpm) == 1:
            index = np.zeros(len(rpm), dtype=int)
            slopes = self.pulse_slopes[index] if len(self.pulse_slopes) else self.pulse_slopes
            return replace(self, rpm=rpm, rows=self.rows[index], bmep=self.bmep[index], pulse_slopes=slopes)
        rows, bmep = (np.ascontiguousarray(PchipInterpolator(self.rpm, each)(rpm)) for each in (self.rows, self.bmep))
        slopes = self.pulse_slopes
        if len(slopes):
            slopes = np.array([np.interp(rpm, self.rpm, each) for each in slopes.T]).T
        return replace(self, rpm=rpm, rows=rows, bmep=bmep, pulse_slopes=slopes)

    def for_turbine(self, area: float) -> Demand:
        """The same with the pulse factors of a turbine of another area [m2]; without slopes it stays as it is."""
        if not len(self.pulse_slopes):
            return self
        rows = self.rows.copy()
        bigger = log(min(max(area / self.pulse_area, 1.0 / AREA_SPAN), AREA_SPAN))
        factors = rows[:, BY_AREA] * np.exp(self.pulse_slopes * bigger)
        rows[:, BY_AREA] = np.clip(factors, *FACTORS)
        return replace(self, rows=rows)

    def mean_pressure(self, p2: Floats | float, T2: Floats | float, p3: Floats | float) -> Floats:
        """Brake mean effective pressure [Pa] (n,) for charge p2 [Pa], T2 [K] and exhaust p3 [Pa]."""
        c, q = self.bmep, self.rows
        bmep = c[:, 0] + c[:, 1] * (p2 / q[:, b.Q_P_REF] - 1.0) + c[:, 2] * (p3 / p2 - q[:, b.Q_X_REF])
        return np.asarray(bmep + c[:, 3] * (T2 - q[:, b.Q_T_REF]))

    def torque(self, p2: Floats, T2: Floats, p3: Floats) -> Floats:
        """Brake torque [N m] at the demand's speeds for charge p2 [Pa], T2 [K] and exhaust p3 [Pa], each (n,)."""
        return np.asarray(self.mean_pressure(p2, T2, p3) * self.model.swept / (4.0 * pi))


def measure(
    sheet: Sheet,
    speeds_rpm: Sequence[float],
    p2: float,
    T2: float,
    *,
    workers: int | None = None,
    progress: Callable[[int, int], None] = lambda done, all: None,
    cancelled: Callable[[], bool] = lambda: False,
) -> Demand:
    """Run the engine for its demand around charge p2 [Pa], T2 [K] at these speeds [rpm].

    progress is called with the runs done and all. Raises NoConvergence naming the speed where a run does not settle,
    Cancelled where ``cancelled`` said so.
    """
    speeds = sorted(speeds_rpm)
    outside = site(sheet).p
    low = outside + LOWER * (p2 - outside)
    states = [Held(p2, T2, BACK[0] * p2), Held(p2, T2, BACK[1] * p2), Held(low, T2, BACK[0] * low)]
    warm = Held(p2, T2 + WARMER, BACK[0] * p2)
    middle = len(speeds) // 2
    plan = [states + ([warm] if k == middle else []) for k in range(len(speeds))]
    ready = _models(sheet, speeds, plan)
    count = sum(map(len, plan))
    points: list[list[Point]] = [[] for _ in speeds]
    done = 0

    def chain(indices: list[int], neighbour: Cycle | None) -> None:
        nonlocal done
        for k in indices:
            for held in plan[k]:
                if cancelled():
                    return
                model = ready[_lam(sheet, speeds[k], held.p_charge)]
                spark = spark_of(sheet, outside)
                point = held_point(model, speeds[k], held, spark, neighbour, cancelled)
                if point.trouble and not cancelled():
                    raise NoConvergence(f"the engine at {speeds[k]:.0f} rpm: {point.trouble}")
                points[k].append(point)
                neighbour = point.cycle
                done += 1
                progress(done, count)

    chain([0], None)  # compiles before threads start
    workers = min(workers or os.cpu_count() or 1, max(len(speeds) - 1, 1))
    chunks = [list(map(int, part)) for part in np.array_split(np.arange(1, len(speeds)), workers)]
    with ThreadPoolExecutor(max_workers=workers) as pool:
        for job in [pool.submit(chain, part, points[0][0].cycle) for part in chunks if part and points[0]]:
            job.result()
    if cancelled():
        raise Cancelled("cancelled before the engine's demand was known; nothing was ranked")
    model = ready[_lam(sheet, speeds[middle], p2)]
    fuel = [1.0 / (p[0].columns["lambda"] * model.engine.gas.air_fuel_stoichiometric) for p in points if p]
    rows, bmep = _surfaces(points, states, warm, middle, np.array(fuel))
    return Demand(np.array(speeds), rows, bmep, points, model, p2, T2)


def _lam(sheet: Sheet, rpm: float, p2: float) -> float:
    """Lambda in steps of a hundredth, so that a mixture table does not ask for a model at every state."""
    return round(mixture_at(sheet, rpm * pi / 30.0, p2), 2)


def _models(sheet: Sheet, speeds: list[float], plan: list[list[Held]]) -> dict[float, Model]:
    made: dict[float, Model] = {}
    for rpm, states in zip(speeds, plan, strict=True):
        for held in states:
            lam = _lam(sheet, rpm, held.p_charge)
            if lam not in made:
                made[lam] = assemble(sheet, lam, held)
    return made


def _surfaces(
    points: list[list[Point]], states: list[Held], warm: Held, middle: int, fuel: Floats
) -> tuple[Floats, Floats]:
    """Rows of the demand and of the mean pressure from the runs, exact at the runs themselves."""
    at, _, low = states
    rows, bmep = np.zeros((len(points), b.N_DEMAND)), np.zeros((len(points), N_BMEP))
    per_x = BACK[1] - BACK[0]
    rows[:, [b.Q_P_REF, b.Q_X_REF, b.Q_T_REF]] = at.p_charge, BACK[0], at.T_charge
    rows[:, b.Q_FUEL] = fuel
    rows[:, [b.Q_PULSE_FLOW, b.Q_PULSE_POWER, b.Q_PULSE_GATE]] = 1.0
    by_warmth = _column(points[middle], "air_flow_kg_s"), _column(points[middle], "turbine_inlet_temperature_K")
    warmed = (warm.T_charge - at.T_charge, log(warm.T_charge / at.T_charge))
    for k, each in enumerate(points):
        air, T3, mean = (_column(each, n) for n in ("air_flow_kg_s", "turbine_inlet_temperature_K", "bmep_kPa"))
        p = low.p_charge / at.p_charge
        rows[k, b.Q_FLOW] = log(air[0])
        rows[k, b.Q_BACK] = log(air[1] / air[0]) / per_x
        rows[k, b.Q_PRESSURE] = log(air[2] / air[0]) / log(p)
        rows[k, b.Q_T3], rows[k, b.Q_T3_BACK] = T3[0], (T3[1] - T3[0]) / per_x
        rows[k, b.Q_T3_PRESSURE] = (T3[2] - T3[0]) / (p - 1.0)
        rows[k, b.Q_WARMTH] = log(by_warmth[0][3] / by_warmth[0][0]) / warmed[1]
        rows[k, b.Q_T3_WARMTH] = (by_warmth[1][3] - by_warmth[1][0]) / warmed[0]
        bmep[k, 0], bmep[k, 2] = 1e3 * mean[0], 1e3 * (mean[1] - mean[0]) / per_x
        bmep[k, 1] = 1e3 * (mean[2] - mean[0]) / (p - 1.0)
    mean = _column(points[middle], "bmep_kPa")
    bmep[:, 3] = 1e3 * (mean[3] - mean[0]) / warmed[0]
    return rows, bmep


def _column(points: list[Point], name: str) -> Floats:
    return np.array([point.columns[name] for point in points], dtype=np.float64)
