"""Steps that the compressor, turbine and cooler sums share: efficiencies, pressure ratios, heats."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from spoolwright.constants import CP_AIR, GAMMA_AIR
from spoolwright.sums.alternatives import together
from spoolwright.sums.registry import Input

COMPRESSOR_EFFICIENCY = Input("share", "isentropic efficiency of the compressor", "45 %", "85 %")
GAMMA_COLD = Input("number", "ratio of heats of the air", "1.3", "1.41", f"{GAMMA_AIR}")
CP = Input("heat_capacity", "heat capacity of the air", "980 J/(kg K)", "1100 J/(kg K)", f"{CP_AIR:.3f} J/(kg K)")
RATIO = Input("ratio", "compressor pressure ratio, absolute", "1.02", "5", "")
PRESSURE_IN = Input("pressure_absolute", "absolute pressure at the inlet; with the outlet's", "50 kPa", "110 kPa", "")
PRESSURE_OUT = Input(
    "pressure_absolute", "absolute pressure at the outlet; instead of the ratio", "60 kPa", "500 kPa", ""
)
RATIO_INPUTS = {"pressure_ratio": RATIO, "inlet_pressure": PRESSURE_IN, "outlet_pressure": PRESSURE_OUT}

GAMMA_HOT = Input("number", "ratio of heats of the exhaust gas", "1.26", "1.4", "1.33")
CP_HOT = Input("heat_capacity", "heat capacity of the exhaust gas", "1050 J/(kg K)", "1350 J/(kg K)", "1150 J/(kg K)")
HOT_INLET = Input("temperature", "gas before the turbine", "200 degC", "1100 degC")
GAS_FLOW = Input("mass_flow", "exhaust gas flow", "0.001 kg/s", "3 kg/s")
TURBINE_EFFICIENCY = Input("share", "isentropic efficiency of the turbine", "40 %", "85 %")
MECHANICAL = Input("share", "mechanical efficiency of the shaft", "85 %", "100 %", "97 %")


def checked_efficiency(value: float) -> float:
    """``value`` where it is a possible efficiency; raises ValueError otherwise."""
    if not 0.0 < value <= 1.0:
        raise ValueError(f"an efficiency of {100.0 * value:g} % is not possible; write for example 72 %")
    return value


class PressureRatio(NamedTuple):
    """A compressor's pressure ratio [1], or the absolute pressures [Pa] before and behind it."""

    pressure_ratio: float | None
    inlet_pressure: float | None = None
    outlet_pressure: float | None = None

    def value(self) -> float:
        """Pressure ratio [1], outlet over inlet. Raises ValueError when it is stated twice or not at all."""
        if together(inlet_pressure=self.inlet_pressure, outlet_pressure=self.outlet_pressure):
            if self.pressure_ratio is not None:
                raise ValueError("pressure_ratio and the two pressures say the same thing; give only one of them")
            assert self.inlet_pressure is not None
            assert self.outlet_pressure is not None
            return self.outlet_pressure / self.inlet_pressure
        if self.pressure_ratio is None:
            raise ValueError("give pressure_ratio, or inlet_pressure and outlet_pressure")
        if self.pressure_ratio <= 0.0:
            raise ValueError("a pressure ratio is above zero")
        return self.pressure_ratio


def outlet_on_a_gauge(given: Mapping[str, Any]) -> list[str]:
    """A question where the outlet pressure hardly exceeds the inlet's, as a boost gauge's figure would."""
    before, behind = given["inlet_pressure"], given["outlet_pressure"]
    if before is None or behind is None or not before <= behind < 1.15 * before:
        return []
    return [
        f"outlet_pressure is only {(behind - before) / 1e3:.1f} kPa above the inlet's: was it read on a boost gauge? "
        "then add the barometer"
    ]


def temperature_factor(ratio: float, gamma: float) -> float:
    """Ideal temperature ratio of a pressure ratio: ratio^((gamma - 1)/gamma)."""
    if gamma <= 1.0:
        raise ValueError("the ratio of heats must be above 1")
    return float(ratio ** ((gamma - 1.0) / gamma))
