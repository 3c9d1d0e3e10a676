"""Each kind of finding: sound as the demo stands, and the verdict it flips to when the sheet is changed."""

from __future__ import annotations

import pytest
from judged import found, judged

from spoolwright.findings.check import JUDGES

NO = "none"  # takes an optional value out of the sheet

# subject, build, values set, verdict, words of the sentence
CASES = [
    ("compression ratio", "wren", [], "sound", "7.44 to 7.514:1 over 4 cylinders; allowed 7.2:1 to 7.7:1"),
    ("compression ratio, cylinder 3", "wren", ['cylinders.chamber=["52.1 cc", "51.8 cc", "48 cc", "52 cc"]'], "stop",
     "is above your limit of 7.7:1"),
    ("compression ratio, cylinder 3", "wren", ['cylinders.chamber=["52.1 cc", "51.8 cc", "60 cc", "52 cc"]'], "stop",
     "is below your limit of 7.2:1"),
    ("compression ratio, cylinder 2", "wren", ['cylinders.chamber=["52 cc", "50.6 cc ± 1", "52 cc", "52 cc"]'], "watch",
     "may lie above your limit of 7.7:1"),
    ("compression ratio", "wren", ["limits.max_ratio=none", "limits.min_ratio=none"], "not measured",
     "limits.max_ratio is not given"),
    ("ratio spread", "wren", [], "sound", "allowed at most 0.12"),
    ("ratio spread", "wren", ["limits.max_ratio_spread=0.05"], "stop", "above your limit of 0.05"),
    ("ratio spread", "wren", ["limits.max_ratio_spread=none", 'cylinders.chamber=["52 cc", "51 cc", "54 cc", "52 cc"]'],
     "watch", "above the usual 0.2"),
    ("ratio aimed at", "wren", [], "sound", "7.514:1 in cylinder 2 against 7.5:1 aimed at"),
    ("ratio aimed at", "wren", ["cylinders.ratio_wanted=7.9:1"], "watch", "0.39 off"),
    ("squish, cold", "wren", [], "sound", "0.9 to 0.94 mm over 4 cylinders"),
    ("squish, cold, cylinders 1, 2, 3 and 4", "wren", ["cylinders.deck=0.7 mm"], "stop", "below your limit of 0.85 mm"),
    ("squish, cold, cylinder 2", "wren", ['cylinders.deck=["0.92 mm", "0.86 mm ± 0.03", "0.9 mm", "0.9 mm"]'], "watch",
     "may lie below"),
    ("squish, cold, cylinders 1, 2, 3 and 4", "wren", ["cylinders.deck=1.5 mm"],
     "watch", "above your limit of 1.30 mm"),
    ("squish, cold, cylinders 1, 2, 3 and 4", "wren", ["cylinders.deck=-0.1 mm", "limits.min_squish=none"], "stop",
     "-0.1 mm is below the limit of 0 mm"),
    ("squish, cold, cylinders 1, 2, 3 and 4", "wren", ["cylinders.deck=0.7 mm", "limits.min_squish=none"], "watch",
     "below the usual 0.9 mm"),
    ("top ring gap", "wren", [], "sound", "0.4 to 0.42 mm over 4 cylinders; allowed 0.36 mm to 0.52 mm"),
    ("top ring gap, cylinder 2", "wren", ['strength.rings.top.gap=["0.40 mm", "0.31 mm", "0.40 mm", "0.41 mm"]'],
     "stop",
     "0.31 mm is below your limit of 0.36 mm"),
    ("second ring gap, cylinder 4", "wren", ['strength.rings.second.gap=["0.46 mm", "0.45 mm", "0.47 mm", "0.66 mm"]'],
     "stop", "0.66 mm is above your limit of 0.60 mm"),
    ("top ring gap", "plover", ["strength.rings.top.low=none", "strength.rings.top.gap_factor=none"], "not measured",
     "Nothing says how small the gap may be"),
    ("top ring gap", "plover", ["strength.rings.top.low=none", "strength.rings.top.gap_factor=0.0050"], "stop",
     "0.38 mm is below your limit of 0.43 mm"),
    ("ring gaps", "plover", ["strength.rings=none"], "not measured", "No ring gap is on the sheet"),
    ("ring gaps, hot", "wren", [], "not measured", "needs the barrel's metal"),
    ("top ring gap, hot", "wren", ["strength.clearances.piston_to_bore.hole_expansion=11e-6 1/K"], "sound",
     "at least 0 mm"),
    ("top ring gap, hot", "wren", ["strength.clearances.piston_to_bore.hole_expansion=11e-6 1/K",
     "strength.rings.top.gap=0.12 mm"], "stop", "below the limit of 0 mm"),
    ("main bearing clearance", "wren", [], "sound", "0.055 to 0.058 mm over 3 readings; allowed 0.045 mm to 0.075 mm"),
    ("main bearing clearance, reading 2", "wren",
     ['strength.clearances.main_bearing.measured=["0.056 mm", "0.041 mm", "0.055 mm"]'], "stop", "below your limit"),
    ("rod bearing clearance, reading 4", "wren",
     ['strength.clearances.rod_bearing.measured=["0.050 mm", "0.052 mm", "0.049 mm", "2.8 thou"]'], "stop",
     "above your limit of 0.065 mm"),
    ("main bearing clearance, hot", "wren", [], "sound", "at least 0 mm"),
    ("main bearing clearance, hot", "wren", ["strength.clearances.main_bearing.shaft_running=300 degC"], "stop",
     "below the limit of 0 mm"),
    ("clearances, hot", "wren", [], "not measured", "rod bearing, piston to bore give hole_expansion"),
    ("how clearances were measured", "heron", [], "not measured", "main bearing: measured_at"),
    ("intake valve to piston", "wren", [], "sound", "over 4 valves; allowed at least 1.8 mm"),
    ("intake valve to piston, cylinder 3", "wren", ['valves.intake.drop=["10.9 mm", "11 mm", "2.9 mm", "10.9 mm"]'],
     "stop", "below your limit of 1.8 mm"),
    ("exhaust valve to piston, cylinders 1, 2, 3 and 4", "wren", ["valves.exhaust.drop=1.2 mm"], "stop",
     "below the limit of 0 mm"),
    ("intake valve to piston, cam moved", "wren", ["valves.intake.drop=3.6 mm"], "watch", "below your limit of 1.8 mm"),
    ("exhaust valve to piston, cylinders 1, 2, 3 and 4", "wren",
     ["valves.exhaust.drop=3.9 mm", "limits.min_exhaust_to_piston=none"], "watch", "below the usual 2.5 mm"),
    ("valve to piston", "plover", [], "not measured", "valves.intake.lift_table"),
    ("intake valve seat force under boost", "wren", [], "sound", "at least 50 %"),
    ("intake valve seat force under boost", "wren", ["valves.intake.spring_seat_force=110 N"], "watch", "usual 50 %"),
    ("intake valve seat force under boost", "wren", ["valves.intake.spring_seat_force=60 N"],
     "stop", "below the limit"),
    ("exhaust valve seat force under boost", "wren", ["valves.exhaust.spring_seat_force=none"],
     "not measured", "Boost"),
    ("intake valve float", "wren", [], "sound", "allowed at least 6000 rpm"),
    ("intake valve float", "wren", ["limits.max_speed=6400 rpm"], "watch", "close to your limit of 6400 rpm"),
    ("intake valve float", "wren", ["valves.intake.moving_mass=220 g"], "stop", "below your limit of 6000 rpm"),
    ("valve float", "plover", [], "not measured", "valves.intake.spring_rate"),
    ("mean piston speed", "wren", [], "sound", "13.8 m/s; allowed at most 15 m/s"),
    ("mean piston speed", "wren", ["limits.max_speed=7000 rpm"], "stop", "16.1 m/s is above your limit of 15 m/s"),
    ("mean piston speed", "wren", ["limits.max_piston_speed=none", "limits.max_speed=9800 rpm"], "watch", "the usual"),
    ("rod bolts", "wren", [], "sound", "usual at least 1.5"),
    ("rod bolts", "wren", ["limits.max_speed=10500 rpm"], "watch", "the usual 1.5"),
    ("rod bolts", "wren", ["limits.max_speed=12000 rpm"], "stop", "below the limit of 1"),
    ("rod bolts", "plover", [], "not measured", "strength.rod_bolts with stretch, torque or preload"),
    ("rod bolt stress", "wren", ["strength.rod_bolts.stretch=0.24 mm"], "watch", "above the usual 90 %"),
    ("rod bolt stress", "wren", ["strength.rod_bolts.stretch=0.28 mm"], "stop", "above the limit of 100 %"),
    ("head studs", "wren", [], "sound", "allowed at least 1.4"),
    ("head studs", "wren", ["strength.studs.torque=28 N m"], "stop", "below your limit of 1.4"),
    ("head studs", "wren", ["strength.studs.torque=28 N m", "limits.joint_safety=none"],
     "watch", "below the usual 1.3"),
    ("head studs", "wren", ["strength.studs.torque=15 N m", "limits.joint_safety=none"], "stop", "limit of 1"),
    ("head studs", "plover", [], "not measured", "strength.studs with stretch, torque or preload"),
    ("head studs, hot", "wren", [], "sound", "usual at most 90 %"),
    ("head studs, hot", "wren", ["strength.studs.clamped_expansion=24e-6 1/K", "strength.studs.yield_strength=500 MPa"],
     "watch", "above the usual 90 %"),
    ("head studs, hot", "wren", ["strength.studs.clamped_stiffness=none"], "not measured", "clamped_stiffness"),
    ("wastegate cracks", "wren", [], "sound", "With the spring alone 0.549 bar"),
    ("wastegate cracks", "wren", ["limits.max_boost=0.35 bar"], "stop", "above your limit of 0.35 bar"),
    ("wastegate", "wren", ["wastegate.opening_signal=open_air"], "stop", "boost never opens it"),
    ("wastegate", "wren", ["wastegate=none"], "watch", "no wastegate"),
    ("wastegate fully open", "wren", [], "sound", "The spring adds 0.21 bar"),
    ("boost hose off", "wren", [], "watch", "Nothing on this sheet stops it"),
    ("boost hose off", "wren", ["wastegate.exhaust_pushes=neither"], "watch", "the gate never opens"),
    ("hat", "wren", [], "sound", "Tested pressure"),
    ("hat", "wren", ["charge.hat.bursting_pressure=1.2 bar"], "watch", "below the usual 1.4 bar"),
    ("hat", "wren", ["charge.hat.bursting_pressure=0.6 bar"], "stop", "below the limit of 0.70 bar"),
    ("hat", "wren", ["charge.hat.bursting_pressure=none"], "not measured", "tested"),
    ("relief valve", "wren", ["charge.blow_off=none"], "watch", "surges"),
    ("bowl reference", "wren", [], "sound", "The bowl sees the hat"),
    ("bowl reference", "wren", ["carburettor.bowl_reference=open_air"], "stop", "fuel is pushed back"),
    ("bowl reference", "wren", ["carburettor.bowl_reference=manifold"], "watch", "times as lean"),
    ("float", "wren", [], "sound", "foam"),
    ("float", "wren", ["carburettor.float=hollow"], "watch", "It is hollow"),
    ("throttle shaft", "wren", [], "sound", "sealed"),
    ("throttle shaft", "wren", ["carburettor.shaft_sealed=false"], "watch", "not sealed"),
    ("throttle shaft", "wren", ["carburettor.shaft_sealed=none"], "not measured", "not given"),
    ("mixture at full load", "wren", [], "sound", "allowed at most 0.86 lambda"),
    ("mixture at full load", "wren", ["fuel.mixture=0.90 lambda"], "stop", "above your limit of 0.86 lambda"),
    ("mixture at full load", "heron", [], "sound", "allowed at most"),
    ("mixture at full load", "heron", ["limits.leanest_mixture=0.75 lambda"],
     "stop", "above your limit of 0.75 lambda"),
    ("mixture at full load", "wren", ["limits.leanest_mixture=none"], "not measured", "is not given"),
    ("fuel regulator", "wren", ["fuel.supply.reference=open_air"], "stop", "referenced to open air"),
    ("fuel regulator", "heron", ["fuel.supply.reference=open_air"], "watch", "referenced to open air"),
    ("fuel regulator", "wren", ["fuel.supply.reference=manifold"], "watch", "below the throttle"),
    ("fuel supply", "wren", ["fuel.supply=none"], "not measured", "[fuel.supply]"),
    ("fuel pump margin", "wren", [], "sound", "usual at least 20 %"),
    ("fuel pump margin", "wren", ["fuel.supply.supply_voltage=7 V"], "watch", "below the usual 20 %"),
    ("fuel pump margin", "heron", ["limits.max_speed=12000 rpm", "fuel.supply.supply_voltage=10 V"], "stop",
     "below the limit of 0 %"),
    ("fuel pump", "wren", ["fuel.supply.pump_curve=none"], "not measured", "Its flow against pressure"),
    ("needle and seat margin", "wren", [], "sound", "usual at least 20 %"),
    ("needle and seat margin", "wren", ["carburettor.needle_seat=1.7 mm"], "watch", "below the usual 20 %"),
    ("needle and seat margin", "wren", ["carburettor.needle_seat=1.2 mm"], "stop", "below the limit of 0 %"),
    ("injector duty", "heron", [], "sound", "allowed at most 85 %"),
    ("injector duty", "heron", ["injection.rated_flow=760 cc/min @ 3 bar"], "watch", "above your limit of 85 %"),
    ("injector duty", "heron", ["injection.rated_flow=500 cc/min @ 3 bar"], "stop", "above your limit of 85 %"),
    ("timing drift", "wren", [], "sound", "1.35 deg; usual at most 2 deg"),
    ("timing drift", "wren", ["spark.latency=90 us"], "watch", "2.7 deg is above the usual 2 deg"),
    ("spark scatter", "wren", [], "sound", "0.22 deg"),
    ("spark scatter", "wren", ["spark.scatter.gear=3 deg"], "watch", "above the usual 2 deg"),
    ("spark scatter", "plover", [], "not measured", "[spark.scatter]"),
    ("boost retard", "wren", [], "sound", "20.4 deg before top dead centre is left"),
    ("boost retard", "wren", ["spark.boost_retard=none"], "watch", "nothing is taken out"),
    ("coil at top speed", "wren", [], "sound", "3.2 ms"),
    ("coil at top speed", "wren", ["spark.coil.arrangement=single"], "sound", "3.9 ms"),
    ("coil at top speed", "wren", ["spark.coil.arrangement=single", "limits.max_speed=7500 rpm"],
     "watch", "usual 3.2 ms"),
    ("coil at top speed", "plover", [], "not measured", "[spark.coil]"),
    ("coil current", "wren", [], "watch", "above your limit of 7.5 A"),
    ("coil current", "wren", ["spark.coil.dwell=2.5 ms"], "sound", "at most 7.5 A"),
    ("plug voltage margin", "wren", [], "sound", "14.6 kV needed across 0.60 mm"),
    ("plug voltage margin", "wren", ["spark.coil.peak_voltage=17 kV"], "watch", "below the usual 30 %"),
    ("plug voltage margin", "plover", [], "not measured", "highest voltage"),
    ("fan burst", "wren", [], "sound", "allowed at least 3"),
    ("fan burst", "wren", ["cooling.fan.weld_factor=50 %"], "stop", "below your limit of 3"),
    ("fan burst", "wren", ["cooling.fan.weld_factor=50 %", "limits.fan_safety=none"], "watch", "below the usual 3"),
    ("fan burst at 20 % over-speed", "wren", ["cooling.fan.weld_factor=20 %", "limits.fan_safety=none"], "stop",
     "below the limit of 1"),
    ("fan burst", "wren", ["cooling.fan.weld_factor=none"], "not measured", "weld_factor"),
    ("oil pressure, hot", "wren", [], "sound", "3.6 bar; allowed at least 2.8 bar"),
    ("oil pressure, hot", "wren", ["oil.pressure_hot=2.2 bar @ 4000 rpm"], "stop", "below your limit of 2.8 bar"),
    ("oil pressure, hot", "wren", ["oil.pressure_hot=none"], "not measured", "was not measured"),
    ("oil temperature", "wren", [], "sound", "112 degC; allowed at most 130 degC"),
    ("oil temperature", "wren", ["oil.temperature=138 degC"], "stop", "above your limit of 130 degC"),
    ("oil temperature", "wren", ["oil.temperature=125 degC", "limits.max_oil_temperature=none"], "watch", "usual 120"),
    ("turbo drain", "wren", [], "sound", "usual at least 2"),
    ("turbo drain", "wren", ["oil.drain_diameter=10 mm"], "watch", "below the usual 2"),
    ("turbo drain", "wren", ["oil.drain_drop=none"], "not measured", "oil.drain_drop"),
    ("measured once", "wren", [], "not measured", "for all 4 cylinders: dish"),
    ("limits not set", "plover", [], "not measured", "leanest_mixture"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("subject", "build", "sets", "verdict", "words"),
    CASES,
    ids=[f"{c[1]} {c[0]} {c[3]} {n}" for n, c in enumerate(CASES)],
)
def test_verdict(subject: str, build: str, sets: list[str], verdict: str, words: str) -> None:
    one = found(subject, build, *sets)
    assert one.verdict == verdict, one.sentence
    assert words in one.sentence


@pytest.mark.parametrize("build", ["wren", "heron", "plover"])
def test_nothing_fails_to_be_judged(build: str) -> None:
    assert [one for one in judged(build) if "Cannot be judged" in one.sentence] == []


@pytest.mark.parametrize("build", ["wren", "heron", "plover"])
def test_demo_as_it_stands__has_no_stop(build: str) -> None:
    assert [one.sentence for one in judged(build) if one.verdict == "stop"] == []


def test_oil_pressure_at_another_speed__is_not_compared() -> None:
    every = [one for one in judged("wren", "oil.pressure_hot=3.6 bar @ 5000 rpm") if one.subject == "oil pressure, hot"]
    assert {one.verdict for one in every} == {"not measured", "sound"}


def test_every_subject_is_tested() -> None:
    """A judgement without a case here is one nobody has seen flip."""
    subjects = {case[0] for case in CASES} | {"likely slip", "unusual value"}
    named = {"ring gaps", "clearances", "valve to piston", "valve seat force under boost", "valve float", "wastegate"}
    for subject in JUDGES:
        assert subject in named or any(one.startswith(subject) for one in subjects), subject
