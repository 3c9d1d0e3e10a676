"""Waves in exhaust pipes: quarter-wave length and frequency, primary length for a pulse that comes back in time."""

from __future__ import annotations

import math
from typing import NamedTuple

from spoolwright.sums.air_orifices import GAS_CONSTANT
from spoolwright.sums.air_weather import sound_speed
from spoolwright.sums.alternatives import one_of
from spoolwright.sums.exhaust_losses import GAMMA
from spoolwright.sums.measures import SPEED
from spoolwright.sums.registry import Input, Output, register

GAS_INPUTS = {
    "temperature": Input("temperature", "mean gas temperature in the pipe", "-20 degC", "1000 degC", ""),
    "sound_speed": Input("speed", "speed of sound; instead of the temperature", "300 m/s", "750 m/s", ""),
    "gamma": GAMMA,
    "gas_constant": GAS_CONSTANT,
}
SOUND_USED = Output("speed", "m/s", "speed of sound")
END_CORRECTION = {"none": 0.0, "plain": 0.6133, "flanged": 0.8217}


class GasInPipe(NamedTuple):
    """The gas in a pipe: its mean temperature [K] with what gas it is, or its speed of sound [m/s]."""

    temperature: float | None
    sound_speed: float | None
    gamma: float
    gas_constant: float

    def sound(self) -> float:
        """Speed of sound [m/s]. Raises ValueError when it is stated twice or not at all."""
        if one_of(temperature=self.temperature, sound_speed=self.sound_speed) == "sound_speed":
            assert self.sound_speed is not None
            return self.sound_speed
        assert self.temperature is not None
        return float(sound_speed(self.temperature, self.gamma, self.gas_constant)["sound_speed"])


@register(
    "exhaust",
    "Quarter wave: length or frequency of a pipe closed at one end",
    inputs={
        "frequency": Input("frequency", "frequency", "10 Hz", "3 kHz", ""),
        "length": Input("length", "length of the pipe; instead", "20 mm", "5 m", ""),
        **GAS_INPUTS,
        "bore": Input("length", "bore, for the end correction", "5 mm", "150 mm", ""),
        "end": Input("choice", "open end", default="none", choices=("none", "plain", "flanged")),
        "harmonic": Input("count", "odd harmonic: 1, 3, 5", "1", "9", "1"),
    },
    outputs={
        "length_found": Output("length", "mm", "length of the pipe", ("in",)),
        "frequency_found": Output("frequency", "Hz", "frequency"),
        "effective_length": Output("length", "mm", "with the end correction"),
        "sound_speed_used": SOUND_USED,
    },
    formula="""
    frequency_found = harmonic * sound_speed_used / (4 * effective_length)
    effective_length = length_found + end correction * bore / 2
    """,
    source="acoustics of pipes; end corrections 0.6133 (plain) and 0.8217 (flanged) of the radius, long waves, "
    "from memory",
    example='--frequency "264 Hz" --sound-speed "350 m/s"',
)
def quarter_wave(
    frequency: float | None, length: float | None, gas: GasInPipe, bore: float | None, end: str, harmonic: float
) -> dict[str, float]:
    """Length [m] and frequency [1/s] of a quarter-wave pipe."""
    sound = gas.sound()
    if end != "none" and bore is None:
        raise ValueError("an end correction needs the bore beside it")
    if harmonic % 2 != 1:
        raise ValueError("a pipe closed at one end has odd harmonics only: 1, 3, 5")
    extra = END_CORRECTION[end] * 0.5 * (bore or 0.0)
    if one_of(frequency=frequency, length=length) == "frequency":
        assert frequency is not None
        if frequency <= 0.0:
            raise ValueError("the frequency must be above zero")
        effective = harmonic * sound / (4.0 * frequency)
    else:
        assert length is not None
        effective = length + extra
    if effective <= extra:
        raise ValueError("the end correction is longer than the whole pipe")
    return {
        "length_found": effective - extra,
        "frequency_found": harmonic * sound / (4.0 * effective),
        "effective_length": effective,
        "sound_speed_used": sound,
    }


@register(
    "exhaust",
    "Pulse tuning: pipe length for a wave that comes back at the right crank angle",
    inputs={
        "engine_speed": SPEED,
        "degrees": Input("angle", "crank degrees from the pulse leaving to its return", "40 deg", "360 deg", ""),
        "length": Input("length", "length of the pipe; instead", "50 mm", "4 m", ""),
        **GAS_INPUTS,
        "trips": Input("count", "trips there and back before it is used", "1", "6", "1"),
    },
    outputs={
        "length_found": Output("length", "mm", "length from valve to the change of area", ("in",)),
        "degrees_found": Output("angle", "deg", "crank degrees there and back"),
        "sound_speed_used": SOUND_USED,
    },
    formula="""
    length_found = sound_speed_used * degrees_found / (2 * trips * engine speed in degrees a second)
    """,
    source="wave travel at the speed of sound; standard textbook relation",
    validity="gas speed and wave amplitude left out: real waves travel up to a tenth faster; for a turbo layout the "
    "pulse goes to the turbine instead",
    example='--engine-speed "6500 rpm" --degrees "120 deg" --temperature "650 degC"',
)
def pulse_length(
    engine_speed: float, degrees: float | None, length: float | None, gas: GasInPipe, trips: float
) -> dict[str, float]:
    """Pipe length [m] or crank angle [deg] of a returning wave."""
    sound = gas.sound()
    if engine_speed <= 0.0:
        raise ValueError("the engine speed must be above zero")
    per_second = engine_speed * 180.0 / math.pi
    if one_of(degrees=degrees, length=length) == "degrees":
        assert degrees is not None
        length = sound * degrees / per_second / (2.0 * trips)
    assert length is not None
    return {
        "length_found": length,
        "degrees_found": 2.0 * trips * length / sound * per_second,
        "sound_speed_used": sound,
    }
