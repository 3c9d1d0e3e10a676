"""Steady points of a turbocharged engine: speed held in the cycle, set between cycles by the surrogate.

After each cycle the surrogate (surrogate.py) is told the cycle's means, finds where the machines balance, and speed,
gate forces and core temperatures are set; charge and exhaust are rescaled to the pressures it found. The real inertia
would need tens to hundreds of cycles for the same point. A gate moves with its lag within the cycle: held still it
would miss how its ripple goes with the pulses (0.2 % of shaft speed on a vee that fires unevenly).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from spoolwright.boost.cooler import cooler_core_temperature, cooler_effectiveness
from spoolwright.boost.gate import lift_at_force
from spoolwright.boost.rows import G_DIAPHRAGM, G_PRELOAD
from spoolwright.engine.boosting import hold
from spoolwright.engine.machinery import Machinery
from spoolwright.engine.parts import (
    CS_COOLANT,
    CS_CORE,
    GS_FORCE,
    GS_LIFT,
    H_FLOW,
    H_SPEED_SQUARED,
    O_P,
    O_T,
    Z_MASS,
    Z_T_IN,
    Engine,
    Floats,
    Tally,
)
from spoolwright.engine.readings import Readings, read
from spoolwright.engine.rescale import Region, region, rescale
from spoolwright.engine.surrogate import BALANCED, MOST_TIP_SPEED, OVERSPEED, Balance, Means, balance, most_speed
from spoolwright.flow.rows import N_CP, N_P, N_R, N_T

if TYPE_CHECKING:
    from spoolwright.engine.assemble import Model
    from spoolwright.engine.run import Cycle

POWER_ERROR, POWER_ERROR_SHUT, MASS_ERROR, FORCE_ERROR = 2e-3, 5e-4, 2e-3, 1e-3
CAREFUL_CYCLES, CAREFUL, FREE = 2, 0.25, 0.5  # bounds on the rise of charge pressure a cycle
SURGE_TRIM_FROM, TRIM_GAINS = 0.02, (0.0005, 0.1)  # share of the cycle on the surge side; gains of the trim
UNDAMPED_CYCLES, LEAST_STEP = 5, 0.15
STALLED = 0.15  # share of the guessed flow below which the compressor's state says nothing
FILLING, START_RATIO, T_EXHAUST, START_EXHAUST = 0.85, 1.4, 1050.0, 1.25  # guesses before the first cycle


@dataclass
class Steady:
    """The machines of one point while its cycles settle."""

    machinery: Machinery
    displaced: float  # m3/s that the engine sweeps in its intake strokes
    charge: Region
    cooled: Region
    exhaust: Region
    readings: Readings | None = None
    force: Floats = field(default_factory=lambda: np.zeros(0))  # (g,) N, as the cycle began
    share: Floats | None = None  # of the flow by turbo, as the balance of each shaft wants it
    status: int = BALANCED
    cycles_on_bound: int = 0
    stalls: int = 0
    step: float = 1.0  # share of what the surrogate asks for that is taken
    error: Floats | None = None  # (t,) of the power balance a cycle ago
    gain: Floats | float = 0.008  # (t,) of the trim of speed by flow near surge
    missed: Floats | None = None  # (t,) log of flow wanted over flow drawn a cycle ago

    def settle(self, engine: Engine, tally: Tally, n: int) -> bool:
        """After cycle n: read it and set what the next one holds; whether everything balances."""
        r = self.readings = read(engine, tally, self.machinery)
        q = r.means
        if q.m_drawn < STALLED * FILLING * self.displaced * q.p2 / (q.R1 * q.T_charge):
            self.stalls += 1
            most = np.array([most_speed(engine.machines, t) for t in range(len(r.omega))])
            engine.machines.shaft[:, H_SPEED_SQUARED] = np.minimum(1.15 * r.omega, most) ** 2
            return False
        content = self._content(engine, r)
        self._share_out(r)
        self._damp(r, n)
        if r.surge_time.max() > SURGE_TRIM_FROM:
            self._trim(q)
        width = CAREFUL if n <= CAREFUL_CYCLES else FREE
        found = balance(engine.machines, q, 1.0 - 0.6 * width, 1.0 + width)
        self.status = found.status
        self.cycles_on_bound = 0 if found.status == BALANCED else self.cycles_on_bound + 1
        self._set(engine, q, found, tally)
        return content or (found.status == OVERSPEED and self.cycles_on_bound > 2)

    @property
    def overspeeds(self) -> bool:
        """Whether the shaft was held below the speed that the powers ask for."""
        return self.status == OVERSPEED and self.cycles_on_bound > 1

    def why(self) -> str:
        """What keeps the machines from a balance; empty where nothing is known."""
        if self.overspeeds:
            return (
                f"overspeed: the shaft wants to pass {MOST_TIP_SPEED:.0f} m/s at the wheel's tip, beyond any wheel; "
                "it was held there, so turbine and compressor power do not balance"
            )
        surging = 0.0 if self.readings is None else float(self.readings.surge_time.max())
        if surging > SURGE_TRIM_FROM:
            return (
                f"the compressor works on the surge side of its line for {100.0 * surging:.0f} % of the cycle, "
                "where the charge swings"
            )
        if self.stalls > 3:
            return f"the compressor was stalled in {self.stalls} cycles: its flow is far below its surge line"
        return ""

    def _content(self, engine: Engine, r: Readings) -> bool:
        power = POWER_ERROR if (r.lift > 0.0).any() else POWER_ERROR_SHUT
        q = r.means
        return bool(
            np.abs(r.power_error).max() < power
            and abs(q.m_drawn / q.m - 1.0) < MASS_ERROR
            and abs(q.m_exhaust / (q.m * q.exhaust_per_charge) - 1.0) < MASS_ERROR
            and self._force_drift(engine, q) < FORCE_ERROR
        )

    def _force_drift(self, engine: Engine, q: Means) -> float:
        """Change of the gates' forces over the cycle, as charge pressure over p2; the worst gate."""
        gates = engine.machines.gate
        if not len(gates):
            return 0.0
        drift = np.abs(engine.machines.gate_state[:, GS_FORCE] - self.force)
        return float((drift / gates[:, G_DIAPHRAGM]).max()) / q.p2

    def _damp(self, r: Readings, n: int) -> None:
        """Shorten the steps of a point that swings about its balance, lengthen them again where it does not."""
        error, before = r.power_error, self.error
        if n > UNDAMPED_CYCLES and before is not None:
            swings = ((error * before < 0.0) & (np.abs(error) > 0.3 * np.abs(before))).any()
            self.step = max(0.6 * self.step, LEAST_STEP) if swings else min(1.1 * self.step, 1.0)
        self.error = error

    def _trim(self, q: Means) -> None:
        """Trim the speed each compressor is given by what its flow misses.

        Where the map is flat the mean flow of a pulsating charge hangs on the shaft speed by the limiter's slope and
        the pulses, which the map at mean states does not show. The gain grows while the error keeps its sign.
        """
        drawn = np.maximum(q.share_drawn * q.m_drawn, 0.2 * q.share * q.m)
        missed = np.log(np.clip(q.share * q.m / drawn, 0.2, 5.0))
        if self.missed is not None:
            flips = missed * self.missed < 0.0
            self.gain = np.clip(np.where(flips, 0.5, 1.3) * self.gain, *TRIM_GAINS)
        self.missed = missed
        q.trim = np.exp(np.clip(self.gain * missed, -0.02, 0.02))

    def _share_out(self, r: Readings) -> None:
        """Shafts of a pair balance each by itself: the one with power to spare takes more of the flow.

        The share wanted is kept from cycle to cycle. The measured one is not taken: where the map is flat it swings by
        a third for 1 % of speed, and near surge one of two equal compressors would be left without flow for ever.
        """
        q = r.means
        if len(q.share) == 1:
            return
        share = np.full(len(q.share), 1.0 / len(q.share)) if self.share is None else self.share
        spare = np.clip((1.0 + r.power_error) / (1.0 + r.power_error).mean(), 0.8, 1.25)
        share = np.clip(share * np.sqrt(spare), 0.5 / len(share), 2.0 / len(share))
        self.share = q.share = share / share.sum()

    def _set(self, engine: Engine, q: Means, found: Balance, tally: Tally | None) -> None:
        x, step = engine.machines, self.step if tally is not None else 1.0
        x.shaft[:, H_SPEED_SQUARED] *= (np.square(found.omega) / x.shaft[:, H_SPEED_SQUARED]) ** step
        x.shaft[:, H_FLOW] = q.share * found.m
        x.gate_state[:, GS_FORCE] += step * (np.array(found.force) - q.force)
        x.gate_state[:, GS_LIFT] = [lift_at_force(x.gate[g], row[GS_FORCE]) for g, row in enumerate(x.gate_state)]
        self.force = x.gate_state[:, GS_FORCE].copy()
        p_ratio = (found.p2 / q.p2) ** step
        rescale(engine, self.charge, p_ratio, (found.T2 / q.T2) ** step)
        rescale(engine, self.cooled, p_ratio, (found.T_charge / q.T_charge) ** step)
        rescale(engine, self.exhaust, found.p3_ratio**step, 1.0)
        for c, row in enumerate(x.cooler_state):
            m, T_in = found.m, found.T2
            if tally is not None:
                T_in = float(tally.cooling[c, Z_T_IN] / max(tally.cooling[c, Z_MASS], 1e-9)) * found.T2 / q.T2
            row[CS_CORE] = cooler_core_temperature(x.cooler[c], m, T_in, row[CS_COOLANT])

    def go_on(self, engine: Engine, neighbour: Cycle, omega: float) -> None:
        """Begin from a neighbour's state, its machines and pressures moved to where crank speed omega [rad/s] asks.

        The engine's flow goes with its speed; all else is the neighbour's means and measured factors.
        """
        hold(engine.machines)
        self.force = engine.machines.gate_state[:, GS_FORCE].copy()
        q = read(neighbour.engine, neighbour.tally, self.machinery).means
        q.m *= omega / neighbour.omega
        found = balance(engine.machines, q, 1.0 - 0.6 * CAREFUL, 1.0 + CAREFUL)
        if found.status == BALANCED:
            self._set(engine, q, found, neighbour.tally)

    def begin(self, engine: Engine) -> tuple[float, float]:
        """Set a state the machines agree on before the first cycle; charge pressure [Pa] and temperature [K]."""
        q = first_means(engine, self.machinery, self.displaced)
        hold(engine.machines)
        engine.machines.gate_state[:, GS_FORCE] = 0.0
        found = balance(engine.machines, q, 0.72, 2.0)
        p, T = (float(engine.net.nodes[self.machinery.compressors[0].outlet, c]) for c in (N_P, N_T))
        rescale(engine, self.charge, q.p2 / p, q.T2 / T)
        rescale(engine, self.cooled, q.p2 / p, q.T_charge / T)
        rescale(engine, self.exhaust, float(q.p3[0]) / float(engine.machines.outside[O_P]), 1.0)
        self._set(engine, q, found, None)
        return found.p2, found.T_charge


def steady(model: Model, engine: Engine, omega: float) -> Steady | None:
    """The machines of a point at crank speed omega [rad/s]; None for an engine without a turbo."""
    places = model.machinery
    if not places.compressors:
        return None
    cold = [c.cold for c in places.coolers]
    return Steady(
        machinery=places,
        displaced=model.swept * omega / (4.0 * pi),
        charge=region(engine, [places.compressors[0].outlet]),
        cooled=region(engine, cold),
        exhaust=region(engine, [e.volute for e in places.entries]),
    )


def first_means(engine: Engine, machinery: Machinery, displaced: float) -> Means:
    """Guessed means before the first cycle: outside air, a middling boost, a full-load exhaust."""
    x, nodes = engine.machines, engine.net.nodes
    p, T = float(x.outside[O_P]), float(x.outside[O_T])
    inlet = machinery.compressors[0].inlet
    R, cp = float(nodes[inlet, N_R]), float(nodes[inlet, N_CP])
    p2 = START_RATIO * p
    if len(x.gate):  # the gate lets little more than its spring's pressure come about
        p2 = min(max(p + float(x.gate[0, G_PRELOAD] / x.gate[0, G_DIAPHRAGM]), 1.1 * p), 3.0 * p)
    T2 = T * (1.0 + ((p2 / p) ** (R / cp) - 1.0) / 0.65)
    T_charge, passed = T2, 1.0
    for cooler, state in zip(x.cooler, x.cooler_state, strict=True):
        effectiveness = cooler_effectiveness(cooler, FILLING * displaced * p2 / (R * T))
        T_charge -= effectiveness * (T_charge - state[CS_COOLANT])
        passed *= 1.0 - effectiveness
    turbos, entries, ways = len(x.shaft), len(x.entry_at), len(x.way_at)
    volute, before = x.entry_at[:, 1], x.way_at[:, 3]
    follows = [bool(len(x.gate)) and int(x.gate_signal[0, side]) != machinery.stations["open_air"] for side in (0, 1)]
    p3 = START_EXHAUST * p2
    return Means(
        m=FILLING * displaced * p2 / (R * T_charge),
        m_drawn=FILLING * displaced * p2 / (R * T_charge),
        m_exhaust=1.07 * FILLING * displaced * p2 / (R * T_charge),
        exhaust_per_charge=1.07,
        p1=0.98 * p,
        T1=T,
        R1=R,
        cp1=cp,
        p2=p2,
        T2=T2,
        T_charge=T_charge,
        passed=passed,
        p_open=np.full(len(x.gate), p2 if follows[0] else p),
        p_close=np.full(len(x.gate), p2 if follows[1] else p),
        open_follows=follows[0],
        close_follows=follows[1],
        share=np.full(turbos, 1.0 / turbos),
        share_drawn=np.full(turbos, 1.0 / turbos),
        trim=np.ones(turbos),
        p3=np.full(entries, p3),
        T3=np.full(entries, T_EXHAUST),
        R3=nodes[volute, N_R],
        cp3=nodes[volute, N_CP],
        p4=np.full(entries, 1.04 * p),
        p_before=np.full(ways, p3),
        p_behind=np.full(ways, 1.02 * p),
        T_before=np.full(ways, T_EXHAUST),
        R_before=nodes[before, N_R],
        cp_before=nodes[before, N_CP],
        lift_offset=np.zeros(len(x.gate)),
        force=np.zeros(len(x.gate)),
        k_flow=np.ones(entries),
        k_power=np.ones(entries),
        k_gate=np.ones(ways),
        k_head=np.ones(turbos),
        k_work=np.ones(turbos),
    )
