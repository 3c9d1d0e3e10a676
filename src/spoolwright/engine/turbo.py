"""The machines of a sheet: compressor, turbine, wastegate, cooler, blow-off valve as the rows the boost kernels read.

What the sheet does not give and a machine needs is assumed and listed; a map or a size that cannot be right is refused
in one sentence.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from spoolwright import units
from spoolwright.boost.build import blow_off_row, cooler_row, effectiveness_over_flow, gate_row
from spoolwright.boost.compressor_estimate import estimate_compressor
from spoolwright.boost.compressor_fit import CompressorFit, Reference, fit_compressor
from spoolwright.boost.compressor_table import Compressor, tabulate
from spoolwright.boost.rows import T_HEAT_LOSS, Floats
from spoolwright.boost.turbine_fit import OUTLET_SHARE, TurbineError, entries, estimate_turbine, fit_turbine
from spoolwright.constants import GAMMA_AIR, R_AIR
from spoolwright.engine.compressor_map import compressor_map, doubts, question_fit, unusual_reference
from spoolwright.engine.turbine_map import refuse_sizes, turbine_map
from spoolwright.errors import BadInput
from spoolwright.sheet import Sheet
from spoolwright.sums.boost_springs import spring_preload

T_COLDEST = 233.15  # K, inlet air at which the table of the compressor must still reach the speed limit
# Gas passage through wheel and housing where not measured, in wheels: usual proportions of small machines, from memory.
PASSAGE_LENGTH, PASSAGE_AREA = 6.3, 0.35
# Charge the cooler's loss is taken to have been measured with: 1.8 bar absolute, 320 K.
LOSS_DENSITY = 1.8e5 / (R_AIR * 320.0)
ESTIMATE_REFERENCE = Reference(298.15, 100e3)  # state an estimated map is shown at
UNKNOWN_HEAT_CAPACITY = 3500.0  # J/K; about 4 kg of aluminium


@dataclass(frozen=True)
class Turbo:
    """Machines of one turbocharger; ``count`` of them stand side by side.

    turbine : float array (entries, N_TURBINE); gate, cooler, blow_off : rows, None where the sheet has none.
    Signals are named as the sheet names them: compressor_outlet, hat, plenum, open_air.
    """

    count: int
    compressor: Compressor
    reference: Reference  # of the compressor's map; for the corrected flow that is shown
    turbine: Floats
    inertia: float  # kg m2
    shaft_efficiency: float
    speed_limit: float  # rad/s
    gate: Floats | None
    opening_signal: str
    closing_signal: str
    cooler: Floats | None
    T_coolant: float | None  # K; outside air where None
    blow_off: Floats | None
    compressor_fit: CompressorFit | None  # None: estimated from sizes
    turbine_error: TurbineError | None  # None: estimated from sizes
    assumed: tuple[tuple[str, str, str], ...]
    questions: tuple[str, ...] = ()  # what looks unusual in the maps, in words

    @property
    def is_estimated(self) -> bool:
        """Whether compressor or turbine come from sizes instead of a map."""
        return self.compressor_fit is None or self.turbine_error is None


def turbo(sheet: Sheet) -> Turbo | None:
    """Machines of the sheet; None without a turbocharger. Raises BadInput for a map or part that cannot be right."""
    if not sheet.has("charge"):
        return None
    assumed: list[tuple[str, str, str]] = []
    compressor, reference, fit = _compressor(sheet, assumed)
    turbine, error = _turbine(sheet, assumed)
    has_gate = sheet.has("wastegate")
    return Turbo(
        count=int(sheet.value("charge.turbos")),
        compressor=compressor,
        reference=reference,
        turbine=turbine,
        inertia=sheet.value("charge.shaft_inertia"),
        shaft_efficiency=sheet.value("charge.shaft_efficiency"),
        speed_limit=sheet.value("charge.compressor.speed_limit"),
        gate=_gate(sheet) if has_gate else None,
        opening_signal=sheet.choice("wastegate.opening_signal") if has_gate else "open_air",
        closing_signal=sheet.choice("wastegate.closing_signal") if has_gate else "open_air",
        cooler=_cooler(sheet, assumed) if sheet.has("charge.cooler") else None,
        T_coolant=sheet.maybe("charge.cooler.coolant_temperature"),
        blow_off=_blow_off(sheet, assumed) if sheet.has("charge.blow_off") else None,
        compressor_fit=fit,
        turbine_error=error,
        assumed=tuple(assumed),
        questions=_questions(sheet, reference, fit),
    )


def _questions(sheet: Sheet, reference: Reference, fit: CompressorFit | None) -> tuple[str, ...]:
    """What is unusual in the compressor's map; nothing of an estimated one."""
    if fit is None:
        return ()
    at = "charge.compressor"
    best = max(sheet.table(f"{at}.map").columns["efficiency"])
    told = (
        unusual_reference(reference),
        *doubts(fit, sheet.value(f"{at}.wheel_outlet"), sheet.maybe(f"{at}.wheel_inlet"), best),
    )
    return tuple(one for one in told if one)


def _compressor(
    sheet: Sheet, assumed: list[tuple[str, str, str]]
) -> tuple[Compressor, Reference, CompressorFit | None]:
    at = "charge.compressor"
    diameter, limit = sheet.value(f"{at}.wheel_outlet"), sheet.value(f"{at}.speed_limit")
    fit = None
    if sheet.has(f"{at}.map"):
        measured, reference = compressor_map(sheet)
        fit = fit_compressor(measured, diameter, reference)
        question_fit(sheet.table(f"{at}.map"), fit)
        lines = fit.lines
    else:
        reference = ESTIMATE_REFERENCE
        lines = estimate_compressor(sheet.value(f"{at}.wheel_inlet"), diameter)
        assumed.append((f"{at}.map", "estimated from the wheel's diameters", "no map; not checked against any map"))
    M_most = 0.5 * limit * diameter / sqrt(GAMMA_AIR * R_AIR * T_COLDEST)
    return tabulate(lines, diameter, limit, _passage(sheet, diameter, assumed), M_most), reference, fit


def _passage(sheet: Sheet, diameter: float, assumed: list[tuple[str, str, str]]) -> float:
    """Area over length [m] of the gas passage."""
    at = "charge.compressor"
    length, area = sheet.maybe(f"{at}.passage_length"), sheet.maybe(f"{at}.passage_area")
    if length is None:
        length = PASSAGE_LENGTH * diameter
        assumed.append((f"{at}.passage_length", f"{length:.2f} m", "usual proportion to the wheel; not measured"))
    if area is None:
        area = PASSAGE_AREA * pi / 4.0 * diameter**2
        assumed.append((f"{at}.passage_area", f"{1e6 * area:.0f} mm2", "usual proportion to the wheel; not measured"))
    return area / length


def _turbine(sheet: Sheet, assumed: list[tuple[str, str, str]]) -> tuple[Floats, TurbineError | None]:
    refuse_sizes(sheet)
    inlet, error = sheet.value("turbine.wheel_inlet"), None
    if sheet.has("turbine.map"):
        points, reference = turbine_map(sheet)
        fit = fit_turbine(points, inlet, reference)
        row, error = fit.row, fit.error
    else:
        outlet = sheet.maybe("turbine.wheel_outlet")
        if outlet is None:
            outlet = OUTLET_SHARE * inlet
            assumed.append(("turbine.wheel_outlet", f"{1e3 * outlet:.1f} mm", "usual proportion; not measured"))
        throat, best = sheet.value("turbine.throat_area"), sheet.value("turbine.best_speed_ratio")
        row = estimate_turbine(inlet, outlet, throat, sheet.value("turbine.peak_efficiency"), best)
        assumed.append(("turbine.map", "estimated from throat and wheel", "no map; not checked against any map"))
    rows = entries(row, int(sheet.value("turbine.entries")))
    rows[:, T_HEAT_LOSS] = sheet.value("turbine.heat_loss")
    return rows, error


def _gate(sheet: Sheet) -> Floats:
    at = "wastegate"
    rate = sheet.value(f"{at}.spring_rate")
    preload = sheet.maybe(f"{at}.preload")
    if preload is None:
        free, installed = (sheet.value(f"{at}.spring_{x}_length") for x in ("free", "installed"))
        preload = spring_preload(rate, free, installed, 0.0)["preload"]
    if preload <= 0.0 or rate <= 0.0:
        shown = units.show(preload, "force", "N", 3)
        raise BadInput(
            f"wastegate: a preload of {shown} holds no boost at all; give the spring's force with the valve shut, "
            'for example preload = "150 N", or its free and installed lengths'
        )
    lever = 1.0
    if sheet.has(f"{at}.lever_valve"):
        lever = sheet.value(f"{at}.lever_valve") / sheet.value(f"{at}.lever_diaphragm")
    return gate_row(
        diaphragm_diameter=sheet.value(f"{at}.diaphragm_diameter"),
        valve_diameter=sheet.value(f"{at}.valve_diameter"),
        port_diameter=sheet.value(f"{at}.port_diameter"),
        preload=preload,
        rate=rate,
        max_lift=sheet.value(f"{at}.max_lift"),
        exhaust_pushes=sheet.choice(f"{at}.exhaust_pushes"),
        lever=lever,
        discharge=sheet.value(f"{at}.discharge_coefficient"),
        count=int(sheet.value(f"{at}.count")),
        bleed=sheet.value(f"{at}.bleed"),
        lag=sheet.value(f"{at}.lag"),
    )


def _cooler(sheet: Sheet, assumed: list[tuple[str, str, str]]) -> Floats:
    at = "charge.cooler"
    loss = sheet.quantity(f"{at}.loss")
    loss_flow = loss.condition[0].value
    table = sheet.maybe_table(f"{at}.effectiveness_table")
    if table is not None:
        flow, effectiveness = np.array(table.columns["flow"]), np.array(table.columns["effectiveness"])
    else:
        flow, effectiveness = effectiveness_over_flow(sheet.value(f"{at}.effectiveness"), loss_flow)
        text = f"{100 * sheet.value(f'{at}.effectiveness'):.0f} % at {loss_flow:.3g} kg/s"
        assumed.append((f"{at}.effectiveness", text, "stated for full load: taken at the flow of the loss"))
    mass = sheet.maybe(f"{at}.core_mass")
    heat_capacity = UNKNOWN_HEAT_CAPACITY
    if mass is None:
        assumed.append((f"{at}.core_mass", "4 kg", "a small core; decides only how long a cold one helps"))
    else:
        heat_capacity = mass * sheet.value(f"{at}.core_heat_capacity")
    assumed.append((f"{at}.loss", "at 1.8 bar absolute and 47 degC", "the density of its test is not stated"))
    return cooler_row(flow, effectiveness, loss.value, loss_flow, LOSS_DENSITY, heat_capacity)


def _blow_off(sheet: Sheet, assumed: list[tuple[str, str, str]]) -> Floats:
    at = "charge.blow_off"
    assumed.append((f"{at}.diameter", "discharge coefficient 0.6", "bent branch; common practice, no source"))
    return blow_off_row(sheet.value(f"{at}.opens_at"), sheet.value(f"{at}.diameter"))
