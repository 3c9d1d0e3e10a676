"""The one registry of result columns: name, unit, meaning. Tables, JSON, charts and docs take it from here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Part = Literal["engine", "boost"]
_UNIT_IN_NAME = ("_deg_btdc", "_deg", "_rpm", "_Nm", "_kW", "_kPa", "_MPa", "_kg_s", "_g_kWh", "_m_s", "_K")


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a pull; ``digits`` places are shown. Boost columns are null without a turbo."""

    name: str
    unit: str
    meaning: str
    digits: int = 1
    part: Part = "engine"

    @property
    def title(self) -> str:
        """The name in words, without its unit."""
        end = next((suffix for suffix in _UNIT_IN_NAME if self.name.endswith(suffix)), "")
        return self.name.removesuffix(end).replace("_", " ")


COLUMNS: dict[str, Column] = {
    c.name: c
    for c in (
        Column("speed_rpm", "rpm", "engine speed", 0),
        Column("torque_Nm", "N m", "brake torque, observed in the stated air"),
        Column("power_kW", "kW", "brake power"),
        Column("bmep_kPa", "kPa", "brake mean effective pressure", 0),
        Column("imep_kPa", "kPa", "indicated mean effective pressure over the whole cycle", 0),
        Column("fmep_kPa", "kPa", "friction mean effective pressure, accessories included", 0),
        Column("volumetric_efficiency", "1", "air drawn over swept volume filled with site air", 3),
        Column("air_flow_kg_s", "kg/s", "air drawn from outside", 4),
        Column("fuel_flow_kg_s", "kg/s", "fuel", 5),
        Column("fuel_consumption_g_kWh", "g/kWh", "fuel per brake work", 0),
        Column("lambda", "1", "air over the air that burns all fuel", 3),
        Column("residual", "1", "burned gas left in the charge, by mass", 3),
        Column("manifold_pressure_kPa", "kPa", "mean absolute pressure at the intake ports", 1),
        Column("manifold_temperature_K", "K", "mean gas temperature at the intake ports", 1),
        Column("exhaust_pressure_kPa", "kPa", "mean absolute pressure at the exhaust ports", 1),
        Column("exhaust_temperature_K", "K", "enthalpy-mean gas temperature at the exhaust valves", 0),
        Column("primary_temperature_K", "K", "enthalpy-mean gas temperature at the end of the exhaust primaries", 0),
        Column("spark_deg_btdc", "deg", "spark before top dead centre", 1),
        Column(
            "best_torque_spark_deg_btdc", "deg", "spark of best torque on the same charge; null where not searched", 1
        ),
        Column("mfb50_deg", "deg", "angle after top dead centre with half the charge burned", 1),
        Column("burn_10_90_deg", "deg", "angle from 10 to 90 % burned", 1),
        Column("peak_pressure_MPa", "MPa", "highest cylinder pressure of the mean cycle", 2),
        Column("peak_pressure_deg", "deg", "angle of it after top dead centre", 1),
        Column("knock_integral", "1", "share of the ignition delay run at 85 % burned, worst cylinder", 2),
        Column("knock_limit_low", "1", "integral below which no knock is expected", 2),
        Column("knock_limit_high", "1", "integral above which knock is expected", 2),
        Column("wall_heat_kW", "kW", "heat from the gas to head, piston and liner", 1),
        Column("head_temperature_K", "K", "gas-side head wall", 0),
        Column("piston_speed_m_s", "m/s", "mean piston speed", 1),
        Column("boost_kPa", "kPa", "mean manifold pressure over outside air", 1, "boost"),
        Column("pressure_ratio", "1", "compressor outlet over inlet, mean pressures", 2, "boost"),
        Column("corrected_flow_kg_s", "kg/s", "compressor flow at its map's reference state", 4, "boost"),
        Column("compressor_efficiency", "1", "isentropic work of the mean pressures over the work taken", 3, "boost"),
        Column("compressor_outlet_temperature_K", "K", "enthalpy mean behind the compressor", 1, "boost"),
        Column("charge_temperature_K", "K", "charge into hat, throttle or plenum, before fuel joins there", 1, "boost"),
        Column(
            "cooler_effectiveness",
            "1",
            "share of the way from charge to coolant temperature; null without a cooler",
            3,
            "boost",
        ),
        Column("compressor_power_kW", "kW", "power given to the gas", 2, "boost"),
        Column("turbo_speed_rpm", "rpm", "shaft speed", 0, "boost"),
        Column("tip_speed_m_s", "m/s", "compressor wheel's tip", 0, "boost"),
        Column("surge_margin", "1", "flow less the surge line's at the same pressure ratio, over flow", 3, "boost"),
        Column(
            "surge_side_time", "1", "share of the cycle the compressor works on the surge side of its line", 3, "boost"
        ),
        Column(
            "reverse_flow_time",
            "1",
            "share of the time gas runs backwards, its inertia counted; at the speed longest on the surge side alone",
            3,
            "boost",
        ),
        Column(
            "choke_margin", "1", "flow at which the wheel gives no more pressure, less the flow, over flow", 3, "boost"
        ),
        Column("turbine_inlet_pressure_kPa", "kPa", "mean absolute, in the volute", 1, "boost"),
        Column("turbine_inlet_temperature_K", "K", "flow-weighted, in the volute", 0, "boost"),
        Column("expansion_ratio", "1", "turbine inlet over outlet, mean pressures", 2, "boost"),
        Column("drive_pressure_ratio", "1", "turbine inlet gauge over compressor outlet gauge pressure", 2, "boost"),
        Column("turbine_power_kW", "kW", "power at the turbine wheel, bearing loss still in it", 2, "boost"),
        Column(
            "turbine_efficiency", "1", "power at the wheel over the ideal of each instant, total to static", 3, "boost"
        ),
        Column("blade_speed_ratio", "1", "blade speed over spouting speed of the mean ideal work", 2, "boost"),
        Column("wastegate_opening", "1", "share of its lift", 2, "boost"),
        Column("wastegate_flow_share", "1", "share of the exhaust gas that passes the turbine by", 3, "boost"),
        Column(
            "shaft_closure", "1", "what turbine power less bearing loss misses of compressor power, over it", 5, "boost"
        ),
        Column("cycles", "1", "cycles run until converged", 0),
        Column("converged", "", "whether trapped mass, work and mean state settled", 0),
        Column("mass_closure", "1", "mass that is unaccounted over the mass that passed", 6),
        Column("energy_closure", "1", "energy that is unaccounted over the fuel's energy", 6),
    )
}
