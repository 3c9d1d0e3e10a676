"""Three hundred engines drawn at random: each settles or says why not, none loses its gas.

Coarse cells and few cycles: the point is that nothing breaks, not the torque.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from math import isfinite
from typing import Any

import numpy as np
import pytest
from builds import SINGLE, Doc, chamber_for_ratio, changed, sheet_of

from spoolwright.cylinder import rows as r
from spoolwright.engine import pipes, run
from spoolwright.engine.pull import Point, pull
from spoolwright.flow.rows import JUNCTION, N_P, N_T, PRE, RHO, VOLUME

pytestmark = pytest.mark.slow
BUILDS, BATCHES = 300, 6
COARSE = 0.08  # m
FEW = 40  # cycles
LOOSE = 2e-3  # change from cycle to cycle that counts as settled here
FUELS = ("petrol 98 RON", "E85", "methanol")
ORDERS = {1: [1], 2: [1, 2], 3: [1, 3, 2], 4: [1, 3, 4, 2], 5: [1, 2, 4, 5, 3], 6: [1, 5, 3, 6, 2, 4]}


def drawn(seed: int) -> tuple[Doc, float]:
    """A build and a speed [rpm], drawn wide but such that a sheet accepts it."""
    rng = np.random.default_rng(seed)

    def between(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    def maybe(share: float) -> bool:
        return bool(rng.random() < share)

    def mm(x: float) -> str:
        return f"{x:.3f} mm"

    n = int(rng.integers(1, 7))
    bore = between(48.0, 112.0)
    stroke = bore * between(0.55, 1.25)
    inlet, outlet = bore * between(0.36, 0.47), bore * between(0.30, 0.39)
    runner = inlet * between(0.75, 1.2)
    header = outlet * between(0.95, 1.5)
    cylinders = {
        **SINGLE["cylinders"],
        "layout": "line" if n > 1 else "single",
        "count": n,
        "firing_order": ORDERS[n],
        "bore": mm(bore),
        "stroke": mm(stroke),
        "rod_length": mm(stroke * between(1.45, 2.1)),
        "pin_offset": mm(between(-1.0, 1.0)),
        "chamber": chamber_for_ratio(bore, stroke, between(6.0, 13.0), 1.8),
        "crevice": f"{0.005 * bore:.3f} cc",  # a land 6 mm high with a gap of 0.27 mm
        "plugs": {"a": {"across": mm(between(-0.38, 0.38) * bore)}},
    }
    if maybe(0.2):
        cylinders["plugs"] = {"a": {"across": mm(0.25 * bore)}, "b": {"across": mm(-0.25 * bore)}}
    if n % 2 == 0 and maybe(0.3):  # not evenly spaced
        gap = between(0.6, 1.4) * 720.0 / n
        cylinders["firing_intervals"] = [f"{gap} deg", f"{1440.0 / n - gap} deg"] * (n // 2)
    valves: dict[str, Any] = {
        "intake": {
            **SINGLE["valves"]["intake"],
            "head_diameter": mm(inlet),
            "throat_diameter": mm(0.87 * inlet),
            "opens": f"{between(-20.0, 40.0)} deg BTDC",
            "closes": f"{between(5.0, 80.0)} deg ABDC",
            "max_lift": mm(inlet * between(0.16, 0.33)),
        },
        "exhaust": {
            **SINGLE["valves"]["exhaust"],
            "head_diameter": mm(outlet),
            "throat_diameter": mm(0.87 * outlet),
            "opens": f"{between(20.0, 80.0)} deg BBDC",
            "closes": f"{between(-20.0, 40.0)} deg ATDC",
            "max_lift": mm(outlet * between(0.16, 0.33)),
        },
    }
    plenum, carburettor = n > 1 and maybe(0.6), maybe(0.45)
    each = not plenum or maybe(0.2)
    pairs = [[k, k + 1] for k in range(1, n, 2)]
    intake: dict[str, Any] = {
        "mouth": str(rng.choice(["plain", "flanged", "bell"])),
        "runners": {"length": mm(between(60.0, 700.0)), "diameter": mm(runner), "bends": f"{between(0.0, 180.0)} deg"},
        "ports": {"length": mm(between(50.0, 140.0)), "diameter": mm(runner), "diameter_end": mm(0.87 * inlet)},
    }
    if plenum:
        intake["plenums"] = {"main": {"volume": f"{between(0.4, 5.0)} L"}}
    if maybe(0.7) or (n > 1 and not plenum):
        intake["ducts"] = {"inlet": {"length": mm(between(60.0, 900.0)), "diameter": mm(between(0.7, 1.3) * bore)}}
    if pairs and maybe(0.25):
        intake["siamese"] = pairs
    fuel: dict[str, Any] = {"fuel": {"grade": str(rng.choice(FUELS)), "mixture": f"{between(0.7, 1.25)} lambda"}}
    fuel["fuel"]["evaporated"] = f"{between(5.0, 60.0)} %"
    opening = f"{between(25.0, 100.0)} %"
    if carburettor:
        fuel["injection"] = None
        fuel["carburettor"] = {
            "serves": "each_runner" if each else "plenum",
            "position": "unboosted",
            "rated_flow": f"{between(60.0, 300.0) * bore / 85.0} cfm @ 1.5 inHg",
            "throttle_diameter": mm(runner),
            "venturi_diameter": mm(0.8 * runner),
            "bowl_volume": "50 cc",
            "bowl_reference": "open_air",
            "needle_seat": "2.0 mm",
            "float": "solid",
            "opening": opening,
        }
    else:
        size = runner if each else between(0.5, 0.9) * bore
        place = "each_runner" if each else "before_plenum"
        intake["throttle"] = {"diameter": mm(size), "shaft_diameter": "7 mm", "place": place, "opening": opening}
        fuel["injection"] = {**SINGLE["injection"], "position": str(rng.choice(["port", "runner"]))}
    exhaust: dict[str, Any] = {
        "ports": {"length": mm(between(40.0, 120.0)), "diameter": mm(0.87 * outlet), "diameter_end": mm(header)},
        "primaries": {"length": mm(between(100.0, 1100.0)), "diameter": mm(header)},
    }
    if pairs and n % 2 == 0 and maybe(0.2):
        exhaust["siamese"] = pairs
    if n > 1 and maybe(0.75):
        cut = int(rng.integers(1, n))
        sets = [list(range(1, n + 1))] if maybe(0.5) else [list(range(1, cut + 1)), list(range(cut + 1, n + 1))]
        if "siamese" in exhaust:
            sets = [list(range(1, n + 1))]
        exhaust["collectors"] = {
            f"c{i}": {
                "cylinders": some,
                "leads_to": "tail",
                "length": mm(between(50.0, 300.0)),
                "diameter": mm(between(1.0, 1.6) * header),
                **({"volume": f"{between(0.1, 2.0)} L"} if maybe(0.3) else {}),
            }
            for i, some in enumerate(sets)
        }
    if maybe(0.8):
        tail = {"length": mm(between(100.0, 2000.0)), "diameter": mm(between(1.0, 1.8) * header)}
        exhaust["tail"] = {"pipe": tail | ({"silencer_volume": f"{between(1.0, 20.0)} L"} if maybe(0.5) else {})}
    doc = changed(SINGLE, cylinders=cylinders, valves=valves, intake=intake, exhaust=exhaust, **fuel)
    doc["spark"]["advance"] = f"{between(0.0, 45.0)} deg BTDC"
    doc["site"] = {
        "barometer": f"{between(65.0, 104.0)} kPa",
        "temperature": f"{between(-10.0, 42.0)} degC",
        "humidity": "0 %",  # one air for all, so that the burned-gas tables are made once for each fuel
    }
    doc["limits"]["max_speed"] = "19000 rpm"
    speed = between(2.0, 25.0) * 30.0 / (1e-3 * stroke)
    return doc, min(max(speed, 500.0), 16000.0)


def check(point: Point) -> str:
    """What is wrong with a point; empty where all holds."""
    faults = []
    for name, value in point.columns.items():
        if isinstance(value, float) and not isfinite(value):
            faults.append(f"{name} is {value}")
    if not point.columns["converged"] and len(point.trouble) < 20:
        faults.append("not settled and no reason given")
    cycle = point.cycle
    if cycle is None:
        return "; ".join(faults)
    if point.columns["mass_closure"] > 1e-6 or point.columns["energy_closure"] > 1e-6:
        faults.append(f"closures {point.columns['mass_closure']:.1e} {point.columns['energy_closure']:.1e}")
    net, state, closed = cycle.engine.net, cycle.engine.cylinders.state, cycle.tally.closed
    real = np.flatnonzero(net.geometry[0] > 0.0)
    inner = real[np.isfinite(net.W[RHO, real])]
    if len(inner) < len(real) or net.W[RHO, inner].min() <= 0.0 or net.W[PRE, inner].min() <= 0.0:
        faults.append("a duct cell without gas")
    boxes = net.nodes[np.isin(net.kind, (VOLUME, JUNCTION))]
    if boxes.size and boxes[:, [N_P, N_T]].min() <= 0.0:
        faults.append("a volume without gas")
    if state[:, [r.P, r.T_UNBURNED, r.MASS]].min() <= 0.0 or not np.isfinite(state).all():
        faults.append("a cylinder without gas")
    shares = closed[:, [r.Y_AIR, r.Y_FUEL, r.Y_RESIDUAL]]
    if shares.min() < 0.0 or shares.max() > 1.0:
        faults.append(f"shares {shares}")
    return "; ".join(faults)


@pytest.mark.parametrize("batch", range(BATCHES))
def test_random_builds(batch: int, monkeypatch: pytest.MonkeyPatch) -> None:
    whole, words = pipes.pipe.__defaults__, run.run_point.__kwdefaults__
    assert whole is not None
    assert words is not None
    monkeypatch.setattr(pipes.pipe, "__defaults__", (*whole[:-1], COARSE))
    monkeypatch.setitem(words, "most_cycles", FEW)
    monkeypatch.setitem(words, "tolerance", LOOSE)
    per_batch = BUILDS // BATCHES

    def one(seed: int) -> tuple[bool, str]:
        doc, speed = drawn(seed)
        point = pull(sheet_of(doc), [speed], workers=1).points[0]
        fault = check(point)
        return bool(point.columns["converged"]), fault and f"{seed} at {speed:.0f} rpm: {fault}"

    with ThreadPoolExecutor(2) as pool:
        found = list(pool.map(one, range(batch * per_batch, (batch + 1) * per_batch)))
    bad = [fault for _, fault in found if fault]
    settled = sum(ok for ok, _ in found)
    assert not bad, "\n".join(bad)
    assert settled > 0.7 * per_batch  # most do settle, so the checks above were not on rubble
