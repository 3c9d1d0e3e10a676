"""From a sheet to the engine's arrays: geometry, gas path, valves, fuel, spark, turbo machines.

With states held at the machines' places the engine between them is assembled.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from spoolwright.cylinder.build import Burn
from spoolwright.cylinder.discharge import Bench, Discharge, assumed_discharge, discharge_from_bench
from spoolwright.cylinder.flame import FlameConstants
from spoolwright.cylinder.friction import ChenFlynn
from spoolwright.cylinder.heat import DEFAULT_HEAT_MULTIPLIER
from spoolwright.cylinder.lift import Lift, lift_from_events, lift_from_table
from spoolwright.cylinder.valves import ValveAreas, effective_areas
from spoolwright.engine.boosting import machines_of
from spoolwright.engine.calibration import calibration
from spoolwright.engine.chambers import Assumptions, chambers
from spoolwright.engine.charge import Site, fuel_enthalpy, fuel_of, octane, site, velocity_rows
from spoolwright.engine.charge_path import charge_assumptions
from spoolwright.engine.draft import Draft
from spoolwright.engine.gas_path import Air, Held, build_exhaust, build_intake
from spoolwright.engine.layout import Layout, Mixer, Valve, build_engine
from spoolwright.engine.machinery import AtNode, Machinery, Place
from spoolwright.engine.parts import Engine
from spoolwright.engine.turbo import Turbo, turbo
from spoolwright.errors import BadInput
from spoolwright.flow.build import End, Link, Node, Side
from spoolwright.flow.mesh import Span
from spoolwright.flow.rows import CYLINDER
from spoolwright.gas.fuels import Fuel
from spoolwright.gas.ignition import ignition_table
from spoolwright.gas.model import gas_model
from spoolwright.sheet import Sheet

T_EXHAUST_START = 900.0  # K, first state of exhaust gas; forgotten after a few cycles


@dataclass(frozen=True)
class Model:
    """A sheet's engine, ready to run at one mixture, and what the columns need of the sheet."""

    engine: Engine
    spans: list[Span]
    site: Site
    fuel: Fuel
    lam: float
    swept: float  # m3, all cylinders
    stroke: float  # m
    friction: ChenFlynn
    accessories: tuple[tuple[float, float, float], ...]  # power [W], speed [rad/s], exponent
    intake_ports: list[int]  # ducts
    exhaust_ports: list[int]
    inlet: int  # node of outside air
    outlet: int
    octane_band: float
    assumed: tuple[tuple[str, str, str], ...]
    turbo: Turbo | None = None
    machinery: Machinery = field(default_factory=Machinery)

    @property
    def intake_ends(self) -> list[int]:
        """Duct ends at the intake valves: their mean pressure is the manifold's."""
        return [2 * d + 1 for d in self.intake_ports]

    def accessory_power(self, omega: float) -> float:
        """Power [W] the crank gives to what it drives at omega [rad/s]."""
        return sum((power * (omega / at) ** exponent for power, at, exponent in self.accessories), 0.0)


def phases(sheet: Sheet) -> list[float]:
    """Crank angle [deg] of each cylinder's firing top centre after that of the first to fire."""
    order = [n - 1 for n in sheet.numbers("cylinders.firing_order")]
    given = sheet.values("cylinders.firing_intervals") if sheet.has("cylinders.firing_intervals") else None
    intervals = given if given is not None else (720.0 / len(order),) * len(order)
    after = [0.0] * len(order)
    angle = 0.0
    for cylinder, step in zip(order, intervals, strict=True):
        after[cylinder] = angle
        angle += step
    return after


def _lift(sheet: Sheet, side: str, valve: int) -> Lift:
    path = f"valves.{side}"
    diameter = sheet.value(f"{path}.head_diameter")
    lash = sheet.values(f"{path}.lash")[valve]
    ratio = 1.0
    if sheet.has(f"{path}.lift_measured_at") and sheet.choice(f"{path}.lift_measured_at") == "cam":
        ratio = sheet.value(f"{path}.rocker_ratio")
    table = sheet.maybe_table(f"{path}.lift_table")
    if table is not None:
        # Table angles count from the gas exchange top centre, half a cycle from firing.
        angle = np.array(table.columns["angle"]) + 360.0
        return lift_from_table(path, angle, ratio * np.array(table.columns["lift"]), diameter, lash)
    missing = [n for n in ("opens", "closes", "max_lift") if not sheet.has(f"{path}.{n}")]
    if missing:
        raise BadInput(f"{path}: give a lift_table, or opens, closes and max_lift ({missing[0]} is missing)")
    check = sheet.maybe(f"{path}.check_lift") or 0.0
    opens, closes, full = (sheet.values(f"{path}.{n}")[valve] for n in ("opens", "closes", "max_lift"))
    # Full lift and events are as read with the lash taken off; the cam itself lifts that much more.
    return lift_from_events(path, opens, closes, ratio * full + lash, diameter, lash, ratio * check + lash)


def _discharge(sheet: Sheet, side: str, assumptions: Assumptions) -> Discharge:
    path = f"valves.{side}"
    table = sheet.maybe_table(f"{path}.flow_table")
    if table is None:
        assumptions.take(f"{path}.flow_table", "plain street port", "no flow bench; worth 10 % of flow either way")
        return assumed_discharge(side)
    depression = table.conditions["flow"].value
    lift = table.columns["lift"]
    back = table.columns.get("flow_back")
    reverse = None
    if back is not None:
        where = table.conditions.get("flow_back", table.conditions["flow"])
        reverse = Bench(lift, back, where.value)
    T_bench = sheet.maybe(f"{path}.flow_bench_temperature") or 293.15
    forward = Bench(lift, table.columns["flow"], depression)
    return discharge_from_bench(path, sheet.value(f"{path}.head_diameter"), forward, reverse, T=T_bench)


def _areas(sheet: Sheet, side: str, assumptions: Assumptions) -> list[ValveAreas]:
    """Effective areas of each cylinder's valves on one side, all valves of a cylinder together."""
    count = int(sheet.value(f"valves.{side}.count"))
    discharge = _discharge(sheet, side, assumptions)
    diameter = sheet.value(f"valves.{side}.head_diameter")
    flow = calibration(sheet).flow
    made = []
    for k in range(sheet.cylinder_count):
        each = [
            effective_areas(f"valves.{side}", _lift(sheet, side, k * count + j), discharge, diameter)
            for j in range(count)
        ]
        forward = flow * np.sum([a.forward for a in each], axis=0)
        made.append(ValveAreas(forward, flow * np.sum([a.reverse for a in each], axis=0)))
    return made


def _hang(draft: Draft, place: Place, side: Side, cylinder: int) -> tuple[int, Side] | int:
    """Where a valve hangs: the duct end at ``place``, now meeting the cylinder, or a new link from a shared port."""
    if isinstance(place, AtNode):
        draft.links.append(Link(place.node, cylinder, 0.0))
        return len(draft.links) - 1
    ends = draft.stops if side == "stop" else draft.starts
    ends[place.duct] = End(cylinder, 0.0, 0.0)
    return place.duct, side


def turbo_off(sheet: Sheet) -> tuple[str, ...]:
    """The ``--set`` texts that take the turbocharger off a sheet and lead its exhaust straight to the tail."""
    sets = [f"{part}=none" for part in ("charge", "turbine", "wastegate") if sheet.has(part)]
    if sheet.has("carburettor"):
        sets += ["carburettor.position=unboosted", "carburettor.bowl_reference=open_air"]
        if sheet.has("carburettor.power_valve_reference"):
            sets.append("carburettor.power_valve_reference=manifold")
    if sheet.has("fuel.supply.reference") and sheet.choice("fuel.supply.reference") == "hat":
        sets.append("fuel.supply.reference=open_air")
    for name in sheet.names("exhaust.collectors") if sheet.has("exhaust.collectors") else ():
        if sheet.text(f"exhaust.collectors.{name}.leads_to").startswith("turbine"):
            sets.append(f"exhaust.collectors.{name}.leads_to=tail")
    return tuple(sets)


def assemble(
    sheet: Sheet, lam: float, held: Held | None = None, opening: float = 1.0, machines: Turbo | None = None
) -> Model:
    """The engine of ``sheet`` at mixture ``lam`` (lambda), between the open and the open.

    With ``held`` it reaches from the carburettor or throttle, fed at the held charge state, to the turbine's place at
    the held pressure; compressor, charge pipes, cooler, turbine, gate and tail are left out, whatever the sheet has.
    ``machines`` stand in place of the sheet's own, on its pipes.
    ``opening`` is a share of the throttle's or carburettor's area as the sheet has it opened.

    Raises
    ------
    BadInput : its parts do not make an engine.
    """
    assumptions = Assumptions()
    where, fuel = site(sheet), fuel_of(sheet)
    gas = gas_model(fuel, where.air, 1.0 / lam)
    air = Air(where.p, where.T)
    draft = Draft()
    for k in range(sheet.cylinder_count):
        draft.node(Node(f"cylinder {k + 1}", CYLINDER, air.p, T_EXHAUST_START, yb=1.0))
    fuel_per_air = 1.0 / (lam * gas.air_fuel_stoichiometric)
    intake = build_intake(sheet, draft, air, held, fuel_per_air, opening)
    exhaust, outlet = build_exhaust(sheet, draft, air, T_EXHAUST_START, held)
    draft.machinery.stations["open_air"] = outlet
    boost = None if held is not None else machines or turbo(sheet)
    valves = []
    for side in ("intake", "exhaust"):
        for k, areas in enumerate(_areas(sheet, side, assumptions)):
            if side == "intake":
                place = _hang(draft, intake.ports[k], "stop", k)
                valves.append(Valve(k, True, place, areas.forward, areas.reverse))
            else:
                place = _hang(draft, exhaust[k][1], "start", k)
                valves.append(Valve(k, False, place, areas.reverse, areas.forward))
    evaporated = sheet.value("fuel.evaporated")
    enthalpy = fuel_enthalpy(gas.duct, fuel, sheet.value("fuel.temperature"), evaporated)
    made = chambers(sheet, assumptions)
    fitted = calibration(sheet)
    burn = Burn(
        spark=-(sheet.maybe("spark.advance") or 25.0),
        flame=FlameConstants(burn_factor=fitted.burn),
        heat_multiplier=DEFAULT_HEAT_MULTIPLIER * fitted.wall_heat,
    )
    layout = Layout(
        chambers=made,
        burns=[burn] * len(made),
        phases=phases(sheet),
        ducts=list(zip(draft.ducts, draft.starts, draft.stops, strict=True)),
        nodes=draft.nodes,
        valves=valves,
        mixers=[Mixer(node, fuel_per_air, enthalpy) for node in intake.mixers],
        joins=draft.joins,
        links=draft.links,
        machines=None if boost is None else machines_of(boost, draft.machinery, air.p, air.T),
    )
    number = octane(fuel)
    engine, spans = build_engine(layout, gas, velocity_rows(fuel), ignition_table(number.value))
    return Model(
        engine=engine,
        spans=spans,
        site=where,
        fuel=fuel,
        lam=lam,
        swept=sum(c.swept_volume for c in made),
        stroke=sheet.value("cylinders.stroke"),
        friction=_friction(sheet),
        accessories=_accessories(sheet),
        intake_ports=intake.places,
        exhaust_ports=sorted({port for port, _ in exhaust.values()}),
        inlet=intake.inlet,
        outlet=outlet,
        octane_band=number.band,
        assumed=tuple((a.path, a.text, a.reason) for a in sheet.assumed)
        + tuple(assumptions.rows)
        + (() if boost is None else boost.assumed + charge_assumptions(sheet)),
        turbo=boost,
        machinery=draft.machinery,
    )


def _friction(sheet: Sheet) -> ChenFlynn:
    path = "cylinders.friction"
    given = ChenFlynn()
    if sheet.has(f"{path}.constant"):
        per_speed = sheet.value(f"{path}.speed_part") / 10.0  # the sheet states both parts at 10 m/s
        per_square = sheet.value(f"{path}.speed_squared_part") / 100.0
        given = ChenFlynn(
            sheet.value(f"{path}.constant"), sheet.value(f"{path}.peak_pressure_part"), per_speed, per_square
        )
    return ChenFlynn(*(calibration(sheet).friction * part for part in given))


def _accessories(sheet: Sheet) -> tuple[tuple[float, float, float], ...]:
    rows = []
    if sheet.has("drive.accessories"):
        for name in sheet.names("drive.accessories"):
            power = sheet.quantity(f"drive.accessories.{name}.power")
            exponent = sheet.value(f"drive.accessories.{name}.exponent")
            rows.append((power.value, power.condition[0].value, exponent + 1.0))
    return tuple(rows)
