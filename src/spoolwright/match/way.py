"""The gas's way of a sheet between the open and the engine as losses and heat: what the balance of a turbo needs of it.

Losses as dp = K m^2 / rho with the pipes' friction, bends and stated losses in dynamic heads, and one head wherever gas
runs out of a pipe into a volume or the open; heat of charge pipes by Dittus-Boelter (St = 0.023 Re^-0.2 Pr^-0.6) at one
flow. What a run with ducts computes is here one number a piece.
"""

from __future__ import annotations

from math import exp, pi

import numpy as np

from spoolwright.boost import balance as b
from spoolwright.boost.rows import G_COUNT, N_COOLER, Floats
from spoolwright.constants import CP_AIR, R_AIR
from spoolwright.engine.assemble import Model
from spoolwright.engine.charge_path import flange, fuel_before_compressor
from spoolwright.engine.draft import entry_area, exit_area
from spoolwright.engine.gas_path import restriction
from spoolwright.engine.pipes import pipe
from spoolwright.engine.turbo import Turbo
from spoolwright.flow.mesh import Duct
from spoolwright.sheet import Sheet

FRICTION = 0.02  # Darcy factor of drawn tube at these Reynolds numbers (Moody chart, Re 1e5)
VISCOSITY, PRANDTL = 2.1e-5, 0.71  # Pa s, -; air near 360 K
T_EXHAUST = 1100.0  # K, at which the exhaust's heat capacity is taken
SIGNALS = {
    "open_air": b.SIGNAL_OPEN_AIR,
    "compressor_outlet": b.SIGNAL_COMPRESSOR,
    "hat": b.SIGNAL_HAT,
    "plenum": b.SIGNAL_PLENUM,
}


def _loss(item: Duct) -> float:
    """K [1/m4] of a duct."""
    area = _mean_area(item)
    return float((FRICTION * item.length / (4.0 * area / pi) ** 0.5 + item.loss) / (2.0 * area**2))


def _head(area: float) -> float:
    """K [1/m4] of one dynamic head through an area [m2]."""
    return 0.5 / area**2


def _mean_area(item: Duct) -> float:
    given = item.diameters
    d = given if isinstance(given, int | float) else sum(x for _, x in given) / len(given)
    return pi / 4.0 * d**2


def _heat_share(item: Duct, flow: float) -> float:
    """Share of the way from the gas's temperature to the wall's that a duct brings it, at a flow [kg/s]."""
    d = (4.0 * _mean_area(item) / pi) ** 0.5
    stanton = 0.023 * (4.0 * flow / (pi * d * VISCOSITY)) ** -0.2 * PRANDTL**-0.6
    return 1.0 - exp(-4.0 * stanton * item.length / d)


def _together(pieces: list[tuple[float, float]]) -> tuple[float, float]:
    """Several (share, wall temperature) one after the other as one."""
    kept, pulled = 1.0, 0.0  # T behind = kept T + pulled
    for share, wall in pieces:
        kept, pulled = kept * (1.0 - share), pulled * (1.0 - share) + share * wall
    return 1.0 - kept, pulled / (1.0 - kept) if kept < 1.0 else 300.0


def _charge_pipes(sheet: Sheet) -> tuple[list[Duct], list[Duct]]:
    """Pipes before and behind the charge cooler; all behind where there is none."""
    names = list(sheet.names("charge.pipes")) if sheet.has("charge.pipes") else []
    ducts = [pipe(sheet, f"charge.pipes.{name}") for name in names]
    if not sheet.has("charge.cooler"):
        return [], ducts
    after = sheet.maybe_text("charge.cooler.after")
    cut = names.index(after) + 1 if after in names else 0
    return ducts[:cut], ducts[cut:]


def _inlet(sheet: Sheet, rho: float) -> float:
    names = sheet.names("intake.ducts") if sheet.has("intake.ducts") else ()
    ducts = [pipe(sheet, f"intake.ducts.{name}") for name in names]
    total = sum(map(_loss, ducts))
    filter_loss = sheet.maybe_quantity("intake.filter_loss")
    if filter_loss is not None and filter_loss.condition:
        total += filter_loss.value * rho / filter_loss.condition[0].value ** 2
    if fuel_before_compressor(sheet):
        return total + _device(sheet)
    opening = flange(sheet, "inlet")
    return total + _head(min(opening, exit_area(ducts[-1])) if ducts else opening)


def _charge_ends(sheet: Sheet, hot: list[Duct], cold: list[Duct]) -> tuple[float, float]:
    """K [1/m4] of what runs into the cooler, and of a hat beyond the one head its held state has lost."""
    into_cooler = 0.0
    if sheet.has("charge.cooler"):
        into_cooler = _head(exit_area(hot[-1]) if hot else flange(sheet, "outlet"))
    if not sheet.has("charge.hat"):
        return into_cooler, 0.0
    last = exit_area((cold or hot)[-1]) if cold or hot else flange(sheet, "outlet")
    return into_cooler, max(sheet.value("charge.hat.loss") - 1.0, 0.0) * _head(last)


def _device(sheet: Sheet) -> float:
    """K [1/m4] of all carburettors or throttles together."""
    count = sheet.value("carburettor.count") if sheet.has("carburettor") else 1.0
    return 0.5 / (restriction(sheet) * count) ** 2


def _tail(sheet: Sheet) -> float:
    total = 0.0
    names = sheet.names("exhaust.tail") if sheet.has("exhaust.tail") else ()
    ducts = [pipe(sheet, f"exhaust.tail.{name}") for name in names]
    ends_in_box = False
    for name, item in zip(names, ducts, strict=True):
        total += _loss(item)
        ends_in_box = sheet.has(f"exhaust.tail.{name}.silencer_volume")
        if ends_in_box:
            total += _head(exit_area(item))
    if ducts:  # a box at the very end opens through a hole of its pipe's size
        total += _head(entry_area(ducts[-1]) if ends_in_box else exit_area(ducts[-1]))
    return total / sheet.value("exhaust.tails") ** 2


def _gate_pipe(sheet: Sheet, count: float) -> float:
    """Effective area [m2] of the gates' branches by friction and bends; the dynamic head goes on into the gate."""
    if not sheet.has("wastegate.pipe"):
        return 0.0
    item = pipe(sheet, "wastegate.pipe")
    area = _mean_area(item)
    heads = FRICTION * item.length / (4.0 * area / pi) ** 0.5 + item.loss
    return count * area / float(heads**0.5) if heads > 0.0 else 0.0


def evaporation_drop(sheet: Sheet, model: Model) -> float:
    """Cooling [K] of the air by the fuel that evaporates before the compressor; 0 for a carburettor behind it."""
    if not fuel_before_compressor(sheet):
        return 0.0
    per_air = 1.0 / (model.lam * model.engine.gas.air_fuel_stoichiometric)
    return sheet.value("fuel.evaporated") * model.fuel.latent_heat * per_air / ((1.0 + per_air) * CP_AIR)


def way_of(sheet: Sheet, model: Model, turbo: Turbo, flow: float) -> Floats:
    """The ``way`` row of a sheet; flow [kg/s] is that at which the pipes' heat is taken."""
    where, duct = model.site, model.engine.gas.duct
    rho = where.p / (R_AIR * where.T)
    way = np.zeros(b.N_WAY)
    way[b.Y_P], way[b.Y_T] = where.p, where.T
    way[b.Y_T_INLET] = where.T + (sheet.maybe("intake.inlet_rise") or 0.0) - evaporation_drop(sheet, model)
    hot, cold = _charge_pipes(sheet)
    way[b.Y_INLET], way[b.Y_TAIL] = _inlet(sheet, rho), _tail(sheet)
    into_cooler, into_hat = _charge_ends(sheet, hot, cold)
    way[b.Y_HOT], way[b.Y_COLD] = sum(map(_loss, hot)) + into_cooler, sum(map(_loss, cold)) + into_hat
    for share, wall, pipes in ((b.Y_HOT_SHARE, b.Y_HOT_WALL, hot), (b.Y_COLD_SHARE, b.Y_COLD_WALL, cold)):
        way[share], way[wall] = _together([(_heat_share(d, flow), d.T_wall) for d in pipes])
    has_device = sheet.has("carburettor") or sheet.has("intake.throttle")
    way[b.Y_DEVICE] = _device(sheet) if has_device and not fuel_before_compressor(sheet) else 0.0
    way[b.Y_COOLER] = 1.0 if turbo.cooler is not None else 0.0
    way[b.Y_COOLANT] = where.T if turbo.T_coolant is None else turbo.T_coolant
    way[b.Y_R], way[b.Y_CP] = R_AIR, CP_AIR
    way[b.Y_PREMIXED] = 1.0 if fuel_before_compressor(sheet) else 0.0
    way[b.Y_R3] = float(duct.R[2])
    way[b.Y_CP3] = float(duct.R[2] + duct.a[2] + duct.b[2] * T_EXHAUST)
    way[b.Y_COUNT], way[b.Y_SHAFT] = turbo.count, turbo.shaft_efficiency
    if turbo.gate is not None:
        way[b.Y_GATE_OPEN_AIR] = 1.0 if sheet.choice("wastegate.returns_to") == "open_air" else 0.0
        way[b.Y_GATE_PIPE] = _gate_pipe(sheet, float(turbo.gate[G_COUNT]))
        way[b.Y_SIGNAL_OPEN] = SIGNALS[turbo.opening_signal]
        way[b.Y_SIGNAL_CLOSE] = SIGNALS[turbo.closing_signal]
    return way


def cooler_of(turbo: Turbo) -> Floats:
    """The cooler's row; an unused one where there is none."""
    return turbo.cooler if turbo.cooler is not None else np.ones(N_COOLER)
