"""A clean boosted pull, and the same with one fault of the trade's table put into its channels."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from spoolwright.dyno.measured import RPM, Measured
from spoolwright.dyno.rig import Air

STEP = 0.04


def clean(seed: int = 0, seconds: float = 9.0) -> Measured:
    """A turbo engine pulls from 2200 to 6200 rpm: boost comes in at 3000, everything behaves."""
    rng = np.random.default_rng(seed)
    t = np.arange(0.0, seconds, STEP)
    n = t.size
    u = t / seconds
    rpm = 2200.0 + 4000.0 * u
    boost = 60.0 / (1.0 + np.exp(-(rpm - 3000.0) / 170.0))
    torque = 120.0 + 1.1 * boost - 15.0 * np.maximum(u - 0.6, 0.0) ** 2
    heads = {f"head_temp_{k}": 150.0 + 4.0 * k * (k == 2) + 18.0 * u + rng.normal(0, 0.25, n) for k in range(1, 5)}
    channels = {
        "engine_speed": rpm + rng.normal(0.0, 3.0, n),
        "boost_gauge": boost + rng.normal(0.0, 0.35, n),
        "lambda": 0.95 - 0.13 * boost / 60.0 + rng.normal(0.0, 0.004, n),
        "fuel_pressure": 45.0 + boost + rng.normal(0.0, 0.8, n),
        "pump_voltage": 13.4 - 0.1 * u + rng.normal(0.0, 0.03, n),
        "exhaust_temp_1": 640.0 + 160.0 * u + rng.normal(0.0, 1.0, n),
        "exhaust_temp_2": 632.0 + 160.0 * u + rng.normal(0.0, 1.0, n),
        "exhaust_pressure": 1.5 * boost + 4.0 + rng.normal(0.0, 1.0, n),
        "oil_temp": 92.0 + 2.0 * u + rng.normal(0.0, 0.1, n),
        "oil_pressure": 330.0 + 90.0 * u + rng.normal(0.0, 2.0, n),
        "air_temp": 22.0 + 1.0 * u + rng.normal(0.0, 0.1, n),
        "crankcase_pressure": 0.4 + 0.4 * boost / 60.0 + rng.normal(0.0, 0.05, n),
        "knock": 1.0 + 0.5 * u + rng.normal(0.0, 0.05, n),
        "battery_voltage": 13.8 - 0.1 * u + rng.normal(0.0, 0.03, n),
        **heads,
    }
    return Measured(
        file="made.csv", sha256="", number=1, segment=0, lines=(2, n + 1), time=t, w=rpm * RPM,
        wheel=torque, flywheel=None, unplaced=None, noise=np.full(n, 0.8), scale=0.0,
        acceleration=np.full(n, 4000.0 / seconds * RPM), method="made up", bandwidth=1.0, ratio=4.0, slip_found=False,
        channels=channels, air=Air(295.0, 98.2e3, 0.5),
    )  # fmt: skip


def changed(pull: Measured, **channels: np.ndarray) -> Measured:
    """The pull with these channels in place of its own."""
    return replace(pull, channels={**pull.channels, **channels})


def late(pull: Measured, begin: float = 0.6) -> np.ndarray:
    """0 up to ``begin`` of the pull, then rising to 1 at its end."""
    u = (pull.time - pull.time[0]) / (pull.time[-1] - pull.time[0])
    return np.clip((u - begin) / (1.0 - begin), 0.0, 1.0)


def pump_short(p: Measured) -> Measured:
    """Pressure over boost falls by a third, and the mixture leans with it."""
    c = p.channels
    return changed(p, fuel_pressure=c["fuel_pressure"] - 15.0 * late(p), **{"lambda": c["lambda"] + 0.09 * late(p)})


def voltage_down(p: Measured) -> Measured:
    """As a short pump, because its volts fall."""
    made = pump_short(p)
    return changed(made, pump_voltage=made.channels["pump_voltage"] - 1.6 * late(p))


def bowl_out_of_step(p: Measured) -> Measured:
    """Lean late, fuel pressure over boost steady."""
    return changed(p, **{"lambda": p.channels["lambda"] + 0.10 * late(p)})


def creeping(p: Measured) -> Measured:
    """Boost rises on with speed."""
    return changed(
        p,
        boost_gauge=p.channels["boost_gauge"] + 22.0 * late(p, 0.35),
        fuel_pressure=p.channels["fuel_pressure"] + 22.0 * late(p, 0.35),
    )


def spiking(p: Measured) -> Measured:
    """Boost overshoots by 20 kPa for about half a second."""
    hump = 22.0 * np.exp(-(((p.time - 3.2) / 0.35) ** 2))
    return changed(p, boost_gauge=p.channels["boost_gauge"] + hump, fuel_pressure=p.channels["fuel_pressure"] + hump)


def surging(p: Measured) -> Measured:
    """Boost beats eight times a second while the compressor works at little flow."""
    where = np.exp(-(((p.time - 3.4) / 0.7) ** 2))
    beat = 6.0 * where * np.sin(2.0 * np.pi * 8.0 * p.time)
    return changed(p, boost_gauge=p.channels["boost_gauge"] + beat)


def misfiring(p: Measured) -> Measured:
    """Speed jerks on boost and the mixture reads lean in bursts."""
    rng = np.random.default_rng(5)
    on = p.channels["boost_gauge"] > 40.0
    hits = on & (rng.random(p.time.size) < 0.35)
    speed = p.channels["engine_speed"] - np.where(hits, rng.uniform(25.0, 60.0, p.time.size), 0.0)
    bursts = p.channels["lambda"] + np.where(hits, rng.uniform(0.05, 0.15, p.time.size), 0.0)
    return changed(p, engine_speed=speed, **{"lambda": bursts})


def hot_head(p: Measured) -> Measured:
    """Head 3 runs away from its neighbours."""
    return changed(p, head_temp_3=p.channels["head_temp_3"] + 38.0 * late(p, 0.2))


def fan_slips(p: Measured) -> Measured:
    """All heads climb faster from the middle of the pull on, oil behind them."""
    heads = {r: x + 20.0 * late(p, 0.5) for r, x in p.channels.items() if r.startswith("head_temp")}
    return changed(p, oil_temp=p.channels["oil_temp"] + 3.0 * late(p, 0.5), **heads)


def knocking(p: Measured) -> Measured:
    """The knock channel jumps a few times near full boost."""
    x = p.channels["knock"].copy()
    x[[150, 151, 160, 161, 175]] += 3.0
    return changed(p, knock=x)


def ring_going(p: Measured) -> Measured:
    """Crankcase pressure jumps late in the pull."""
    return changed(p, crankcase_pressure=p.channels["crankcase_pressure"] + 4.0 * (late(p, 0.75) > 0.2))


def pickup_dry(p: Measured) -> Measured:
    """Oil pressure falls while speed rises."""
    return changed(p, oil_pressure=p.channels["oil_pressure"] - 170.0 * late(p, 0.55))


def hose_off(p: Measured) -> Measured:
    """Boost is gone at once."""
    gone = 1.0 / (1.0 + np.exp(-(p.time - 6.0) / 0.06))
    return changed(
        p,
        boost_gauge=p.channels["boost_gauge"] * (1.0 - 0.8 * gone),
        fuel_pressure=p.channels["fuel_pressure"] - 0.8 * gone * p.channels["boost_gauge"],
    )


def choked_drive(p: Measured) -> Measured:
    """Exhaust pressure three times boost."""
    return changed(p, exhaust_pressure=3.0 * p.channels["boost_gauge"] + 5.0)


def regulator_steep(p: Measured) -> Measured:
    """Fuel pressure rises more than boost, the mixture drowns."""
    b = p.channels["boost_gauge"]
    return changed(p, fuel_pressure=45.0 + 1.3 * b, **{"lambda": 0.93 - 0.28 * b / 60.0})


FAULTS = {
    "fuel pressure over boost falls": pump_short,
    "lean late in the pull": bowl_out_of_step,
    "boost creep": creeping,
    "boost spike": spiking,
    "compressor surge": surging,
    "misfire under boost": misfiring,
    "one head hot": hot_head,
    "heads climb together": fan_slips,
    "knock": knocking,
    "crankcase pressure rises": ring_going,
    "oil pressure falls with speed": pickup_dry,
    "boost lost": hose_off,
    "drive pressure high": choked_drive,
    "rich on boost": regulator_steep,
}
