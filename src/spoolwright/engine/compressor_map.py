"""Compressor map of a sheet: read, questioned, put into lines.

All faults of a map are told at once. The bounds are those no wheel of this kind passes; inside them a map is questioned
where its choke flow, work or efficiency is unusual for its wheel. A usual but wrong reference state moves the flow by 3
to 7 %: no check of one map can tell that, so a reference state that is none maps are printed at is questioned.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import pi, sqrt

import numpy as np

from spoolwright import units
from spoolwright.boost.compressor_estimate import choke_coefficient
from spoolwright.boost.compressor_fit import LEAST_POINTS, CompressorFit, MapLine, Reference
from spoolwright.constants import GAMMA_AIR, R_AIR
from spoolwright.engine.map_faults import efficiency_faults, fault, first_row, refuse, rpm
from spoolwright.sheet import Sheet
from spoolwright.sheet.faults import Fault
from spoolwright.sheet.tables import Table

LEAST_LINES = 3
TIP_MACH = (0.15, 2.0)  # of a measured line
CHOKE_COEFFICIENT = (0.04, 0.25)  # flow over rho D^2 U at the end of a line; radial wheels
PEAK_HEAD = (0.35, 0.85)  # greatest head over U^2
WORK = (0.3, 1.1)  # work over U^2 in the middle of a line: slip holds it below one
SONIC = (2.0 / (GAMMA_AIR + 1.0)) ** ((GAMMA_AIR + 1.0) / (2.0 * (GAMMA_AIR - 1.0)))  # choked flow over rho01 a01 A
LEAST_SWALLOWED = 0.2  # of the sonic flow through the wheel's inlet, at the end of the fastest line
# Reference states (K, Pa) maps are printed at; common practice, no source.
USUAL_REFERENCES = (
    (298.15, 100e3),
    (288.15, 101.325e3),
    (293.15, 101.325e3),
    (293.15, 98.1e3),
    (298.15, 101.325e3),
    (302.78, 96.17e3),  # 545 degR, 28.4 inHg
)
USUAL_WORK = (0.55, 0.95)  # slip of ten to fourteen blades (Stanitz) less what their backsweep takes, with some room
USUAL_BEST = 0.82  # efficiency; wheels of this size reach 0.70 to 0.80, common practice, no source
CHOKE_ROOM = 1.3  # measured over estimated choke flow, either way; the estimate itself is good to about a tenth
READING = 0.01  # of the pressure gain, what a point read off a picture may stand out


def compressor_map(sheet: Sheet) -> tuple[list[MapLine], Reference]:
    """Lines of the compressor's map by rising speed, and its reference state. Raises SheetFaults with all faults."""
    at = "charge.compressor"
    table = sheet.table(f"{at}.map")
    refuse(efficiency_faults(table))
    reference = Reference(sheet.value(f"{at}.map_temperature"), sheet.value(f"{at}.map_pressure"))
    lines = [
        MapLine(speed, *(np.array(rest[name]) for name in ("flow", "pressure_ratio", "efficiency")))
        for speed, rest in sorted(table.lines("speed").items())
    ]
    refuse(_counted(table, lines))
    refuse(_shapes(table, lines))
    refuse(_crossing(table, lines))
    diameter, inlet = sheet.value(f"{at}.wheel_outlet"), sheet.maybe(f"{at}.wheel_inlet")
    refuse(_scales(table, lines, diameter, reference))
    refuse(_swallowed(table, lines, inlet, reference))
    return lines, reference


def question_fit(table: Table, fit: CompressorFit) -> None:
    """Raises SheetFaults where no wheel could have the head or the work the fit found."""
    peak = float(np.median(fit.lines.psi_peak))
    work = float(np.median(fit.lines.work[:, 4:7]))
    mend = "check the unit of speed, charge.compressor.wheel_outlet and map_temperature"
    faults = []
    if not PEAK_HEAD[0] <= peak <= PEAK_HEAD[1]:
        text = (
            f"the lines' pressure gain is worth {peak:.2f} of the tip speed squared, {PEAK_HEAD[0]} to {PEAK_HEAD[1]}"
        )
        faults.append(fault(table, None, "pressure_ratio", f"{text} is possible; {mend}"))
    elif not WORK[0] <= work <= WORK[1]:
        text = f"gain over efficiency asks for work of {work:.2f} of the tip speed squared, {WORK[0]} to {WORK[1]}"
        faults.append(fault(table, None, "efficiency", f"{text} is possible; check the efficiencies, or {mend}"))
    refuse(faults)


def doubts(fit: CompressorFit, diameter: float, inlet: float | None, best: float) -> tuple[str, ...]:
    """Sentences on what is unusual in a map for a wheel of this diameter and inlet [m]; best: greatest efficiency."""
    told = []
    work = float(np.median(fit.lines.work[:, 4:7]))
    if not USUAL_WORK[0] <= work <= USUAL_WORK[1]:
        told.append(
            f"Pressure gain over efficiency asks for work of {work:.2f} of the tip speed squared; blades give "
            f"{USUAL_WORK[0]} to {USUAL_WORK[1]}. Check the efficiencies, the unit of speed and the wheel's outlet."
        )
    if best > USUAL_BEST:
        told.append(
            f"{100 * best:.0f} % is better than wheels of this size are measured ({100 * USUAL_BEST:.0f} % at most); "
            "it may be the wheel alone, or counted from other temperatures."
        )
    if inlet is not None:
        passed = float(np.median(fit.lines.phi_choke / choke_coefficient(inlet, diameter, fit.lines.M)))
        if not 1.0 / CHOKE_ROOM <= passed <= CHOKE_ROOM:
            told.append(
                f"The lines end at {passed:.2f} times the flow that usually chokes a wheel of these diameters. Check "
                "the unit of flow, the reference state and charge.compressor.wheel_inlet."
            )
    return tuple(told)


def unusual_reference(reference: Reference) -> str:
    """A sentence where the reference state is none that maps are printed at, else an empty one."""
    for T, p in USUAL_REFERENCES:
        if abs(reference.T - T) < 0.6 and abs(reference.p - p) < 0.006 * p:
            return ""
    T, p = min(USUAL_REFERENCES, key=lambda s: abs(s[0] / reference.T - 1.0) + abs(s[1] / reference.p - 1.0))
    # True flow from a corrected one goes with p_ref / sqrt(T_ref).
    flow = p / reference.p * sqrt(reference.T / T) - 1.0
    return (
        f"The map's reference state, {_state(reference)}, is none that maps are usually printed at. With the nearest "
        f"one, {_state(Reference(T, p))}, every flow would be {100 * flow:+.1f} %. Read it off the map again."
    )


def _state(reference: Reference) -> str:
    T = units.show(reference.T, "temperature", "K", 5)
    return f"{T} and {units.show(reference.p, 'pressure_absolute', 'kPa', 5)}"


def _counted(table: Table, lines: list[MapLine]) -> Iterator[Fault]:
    if len(lines) < LEAST_LINES:
        text = f"{len(lines)} speed lines are too few; give at least {LEAST_LINES} (eight are usual)"
        yield fault(table, None, "speed", text)
    for line in lines:
        if len(line.flow) < LEAST_POINTS:
            text = (
                f"{len(line.flow)} points on the line of {rpm(line.speed)}; give {LEAST_POINTS} or more, surge to choke"
            )
            yield fault(table, first_row(table, line.speed), "speed", text)


def _shapes(table: Table, lines: list[MapLine]) -> Iterator[Fault]:
    for line in lines:
        ratio, row, name = line.pressure_ratio, first_row(table, line.speed), rpm(line.speed)
        low, peak = int(np.argmin(ratio)), int(np.argmax(ratio))
        slack = READING * (ratio[peak] - 1.0)
        if ratio[low] <= 1.0:
            text = f"{ratio[low]:g} is no gain (line of {name}); ratios are absolute and above 1, leave such points out"
            yield fault(table, row + low, "pressure_ratio", text)
        elif peak == len(ratio) - 1:
            text = f"it rises all along the line of {name}; a line falls towards choke: are two columns swapped?"
            yield fault(table, row, "pressure_ratio", text)
        elif np.any(up := np.diff(ratio[peak:]) > slack):
            bad = peak + int(np.argmax(up)) + 1
            text = (
                f"on the line of {name} it climbs again to {ratio[bad]:g} with more flow; behind its peak a line falls"
            )
            yield fault(table, row + bad, "pressure_ratio", f"{text}, correct this point")


def _crossing(table: Table, lines: list[MapLine]) -> Iterator[Fault]:
    for slow, fast in pairwise(lines):
        names = f"the lines of {rpm(slow.speed)} and {rpm(fast.speed)}"
        inside = (slow.flow >= fast.flow[0]) & (slow.flow <= fast.flow[-1])
        above = np.interp(slow.flow, fast.flow, fast.pressure_ratio)
        crossed = inside & (above <= slow.pressure_ratio)
        if np.any(crossed):
            k = int(np.argmax(crossed))
            text = (
                f"{names} cross: at {slow.flow[k]:.4g} kg/s the faster gives {above[k]:.3f}, the slower "
                f"{slow.pressure_ratio[k]:.3f}; a faster line lies above everywhere, correct points or speeds"
            )
            yield fault(table, first_row(table, slow.speed) + k, "pressure_ratio", text)
        elif fast.flow[-1] <= slow.flow[-1]:
            last = first_row(table, fast.speed) + len(fast.flow) - 1
            text = f"{names} end at {slow.flow[-1]:.4g} and {fast.flow[-1]:.4g} kg/s; the faster one reaches further"
            yield fault(table, last, "flow", f"{text}, correct points or speeds")


def _scales(table: Table, lines: list[MapLine], diameter: float, reference: Reference) -> Iterator[Fault]:
    sound = sqrt(GAMMA_AIR * R_AIR * reference.T)
    U = np.array([0.5 * line.speed * diameter for line in lines])
    low, high = TIP_MACH[0] * sound, TIP_MACH[1] * sound
    wheel = units.show(diameter, "length", "mm", 3)
    if U[0] < low or U[-1] > high:
        k = 0 if U[0] < low else len(lines) - 1
        text = (
            f"{rpm(lines[k].speed)} with a wheel of {wheel} is a tip speed of {U[k]:.0f} m/s, lines lie between "
            f"{low:.0f} and {high:.0f} m/s; check the unit of speed and charge.compressor.wheel_outlet"
        )
        yield fault(table, first_row(table, lines[k].speed), "speed", text)
        return
    density = reference.p / (R_AIR * reference.T)
    phi = float(np.median([line.flow[-1] / (density * diameter**2 * u) for line, u in zip(lines, U, strict=True)]))
    low, high = CHOKE_COEFFICIENT
    if not low <= phi <= high:
        text = f"the lines end at a flow coefficient of {phi:.3g}, {low} to {high} is possible{_guess(phi)}"
        yield fault(table, None, "flow", f"{text}; check the unit of flow and charge.compressor.wheel_outlet ({wheel})")


def _guess(phi: float) -> str:
    """Which mistake of unit would explain a flow coefficient of a line's end."""
    for factor, words in (
        (60.0, "flow per minute under a head per second"),
        (1.0 / 60.0, "flow per second under a head per minute"),
        (1.0 / 0.45359237, "pounds under a head of kilograms"),
        (0.45359237, "kilograms under a head of pounds"),
        (60.0 / 0.45359237, "pounds per minute under a head of kilograms per second"),
        (0.45359237 / 60.0, "kilograms per second under a head of pounds per minute"),
    ):
        if 0.08 <= phi / factor <= 0.16:
            return f" (it would fit {words})"
    return ""


def _swallowed(table: Table, lines: list[MapLine], inlet: float | None, reference: Reference) -> Iterator[Fault]:
    if inlet is None:
        return
    sonic = SONIC * reference.p * sqrt(GAMMA_AIR / (R_AIR * reference.T)) * pi / 4.0 * inlet**2
    k = int(np.argmax([line.flow[-1] for line in lines]))
    most = float(lines[k].flow[-1])
    if LEAST_SWALLOWED * sonic <= most <= sonic:
        return
    word = "more than" if most > sonic else "less than a fifth of what"
    text = (
        f"{most:.4g} kg/s at {_state(reference)} is {word} an inlet of {units.show(inlet, 'length', 'mm', 3)} "
        f"(charge.compressor.wheel_inlet) passes at the speed of sound, {sonic:.4g} kg/s; check the unit of flow, "
        "the reference state and the wheel"
    )
    yield fault(table, first_row(table, lines[k].speed) + len(lines[k].flow) - 1, "flow", text)
