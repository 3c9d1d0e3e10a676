"""Units at the edge: every unit against a general-purpose library, and the small parser around them."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spoolwright import units
from spoolwright.errors import BadInput

# How Pint 0.24 ff. spells each of our units. Where it has no such unit, an expression of its base units.
PINT_NAMES = {
    "thou": "inch/1000", "0.01mm": "1e-5 m", "mi": "mile", "cc": "cm^3", "L": "liter", "mL": "milliliter", "dL": "deciliter",
    "in3": "inch^3", "ft3": "foot^3", "in2": "inch^2", "ft2": "foot^2", "m2": "m^2", "mm2": "mm^2", "cm2": "cm^2", "m3": "m^3",
    "cm3": "cm^3", "mm3": "mm^3", "gal": "gallon", "ukgal": "imperial_gallon", "qt": "quart", "pint": "US_pint",
    "floz": "US_fluid_ounce", "t": "metric_ton", "lb": "pound", "oz": "ounce", "us": "microsecond", "Rdiff": "delta_degF",
    "F_farad": "farad", "uF": "microfarad", "nF": "nanofarad", "pF": "picofarad", "uH": "microhenry", "um": "micrometer",
    "turn": "360 degree", "arcmin": "arcminute", "lbf": "pound_force", "kgf": "kilogram_force", "hPa": "hectopascal",
    "ksi": "ksi", "Mpsi": "1e6 psi", "inHg": "inHg", "inHg60F": "3376.85 pascal", "mmHg": "mmHg", "inH2O": "249.08891 pascal",
    "mmH2O": "9.80665 pascal", "torr": "torr", "at": "kilogram_force/cm^2", "Btu": "Btu_it", "kcal": "4186.8 joule",
    "cal": "4.1868 joule", "hp": "horsepower", "PS": "metric_horsepower", "cfm": "foot^3/minute", "gph": "gallon/hour",
    "gpm": "gallon/minute", "lpm": "liter/minute", "lph": "liter/hour", "pph": "pound/hour", "rpm": "revolution/minute",
    "krpm": "1000 revolution/minute", "rev/s": "revolution/second", "rad/s": "radian/second", "Hz": "1/second",
    "kHz": "1000/second", "mph": "mile/hour", "kn": "knot", "gn": "standard_gravity", "cP": "centipoise", "cSt": "centistokes",
    "1": "dimensionless", "%": "0.01 dimensionless", "ppm": "1e-6 dimensionless", "in": "inch", "h": "hour", "min": "minute",
    "deg": "degree", "A": "ampere", "V": "volt", "H": "henry", "mH": "millihenry", "Wh": "watt_hour", "kWh": "kilowatt_hour",
    "K": "kelvin", "mohm": "milliohm", "kohm": "kiloohm", "at ": "technical_atmosphere",
}  # fmt: skip


@pytest.fixture(scope="module")
def library() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize("name", sorted(units.UNITS))
def test_factor__agrees_with_pint(name: str, library: pint.UnitRegistry) -> None:
    ours, dims = units.UNITS[name]
    theirs = library.Quantity(1, library.parse_units("")) * library(PINT_NAMES.get(name, name))
    if dims[5]:  # our base unit of angle is the degree
        assert theirs.to("degree").magnitude == pytest.approx(ours, rel=1e-12)
        return
    # The registered mercury column of Pint is the same conventional one; 2e-6 is the digits kept by SP 811.
    assert theirs.to_base_units().magnitude == pytest.approx(ours, rel=2e-6)
    assert math.isclose(theirs.to_base_units().magnitude, ours, rel_tol=1e-9) or name in ("inHg", "mmHg")


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("92.5 mm", "length", 0.0925),
        ("92,5mm", "length", 0.0925),
        ("45 thou", "length", 45 * 0.0254e-3),
        ("5/16 in", "length", 0.3125 * 0.0254),
        ("1 1/4 in", "length", 1.25 * 0.0254),
        ('3.642"', "length", 3.642 * 0.0254),
        (".072 in", "length", 0.072 * 0.0254),
        ("56.5 ccm", "volume", 56.5e-6),
        ("-10 inHg", "pressure_gauge", -33863.89),
        ("10 inHg vac", "pressure_gauge", -33863.89),
        ("12 psig", "pressure_gauge", 12 * 6894.757293168),
        ("0.8 kg/cm2", "pressure_gauge", 0.8 * 98066.5),
        ("29 psia", "pressure_absolute", 29 * 6894.757293168),
        ("27.4 inHg", "pressure_absolute", 27.4 * 3386.389),
        ("145 F", "temperature", 335.9278),
        ("-40 degF", "temperature", 233.15),
        ("545 R", "temperature", 545 / 1.8),
        ("18 degF", "temperature_difference", 10.0),
        ("0.58 lb/hp-hr", "fuel_consumption", 0.58 * 0.45359237 / (745.69987158 * 3600)),
        ("25 lb-ft", "torque", 25 * 1.3558179483),
        ("3 kgm", "torque", 3 * 9.80665),
        ("100 PS", "power", 73549.875),
        ("7000 rpm", "rotational_speed", 7000 * math.pi / 30),
        ("30 US gal/h", "volume_flow", 30 * 3.785411784e-3 / 3600),
        ("31.5 lb/min", "mass_flow", 31.5 * 0.45359237 / 60),
        ("500 scfm @ 1.2 kg/m3", "mass_flow", 500 * 0.3048**3 / 60 * 1.2),
        ("8.6:1", "ratio", 8.6),
        ("8.6", "ratio", 8.6),
        ("94 %", "share", 0.94),
        ("12.5 AFR @ 14.7", "mixture", 12.5 / 14.7),
        ("1.25 phi", "mixture", 0.8),
        ("λ 0.85", "mixture", 0.85),
        ("11.5e-6 per K", "expansion", 11.5e-6),
        ("1.1 deg/psi", "angle_per_pressure", 1.1 / 6894.757293168),
        ("12.345,6 mm", "length", 12.3456),
        ("6.2 lb/gal", "density", 6.2 * 0.45359237 / 3.785411784e-3),
    ],
)
def test_read__what_builders_write(text: str, kind: str, expected: float) -> None:
    assert units.read(text, kind).value == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    [
        ("3.642", "length", '"3.642 mm"'),
        (92.5, "length", "has no unit"),
        ("1,350 cfm", "volume_flow", "could be 1350 or 1.350"),
        ("29 psia", "pressure_gauge", "take the barometer off"),
        ("12 psig", "pressure_absolute", "add the day's barometer"),
        ("1 psi gauge", "pressure_difference", "neither gauge nor absolute"),
        ("500 scfm", "volume_flow", "mass in disguise"),
        ("500 scfm", "mass_flow", "needs the air it counts"),
        ("12.5 AFR", "mixture", "without its fuel"),
        ("0.85", "mixture", '"0.85 lambda"'),
        ("1:9.5", "ratio", '"9.5:1"'),
        ("$95", "money", "several currencies"),
        ("95", "money", "no currency"),
        ("25 N m", "energy", None),
        ("25 mm", "volume", "is not a unit of volume"),
        ("25 mmm", "length", 'did you mean "mm"?'),
        ("-5 K", "temperature", "below absolute zero"),
        ("nan mm", "length", "does not begin with a number"),
        ("1e999 mm", "length", "beyond any number"),
        ("", "length", "nothing is written"),
        (None, "length", "not a quantity"),
        (True, "length", "not a quantity"),
        ("3 cc ± 0.1 mm", "volume", "another unit than the value"),
        ("1/0 in", "length", "divides by zero"),
    ],
)
def test_read__faults_say_how_to_mend(text: object, kind: str, words: str | None) -> None:
    if words is None:  # torque and energy share a dimension; the kind tells them apart, N m reads as J
        assert units.read(text, kind).value == 25.0
        return
    with pytest.raises(BadInput) as fault:
        units.read(text, kind)
    assert words in str(fault.value)


def test_read__spread_and_condition() -> None:
    chamber = units.read("52.1 cc ± 0.3", "volume")
    assert (chamber.minus, chamber.plus) == pytest.approx((0.3e-6, 0.3e-6))
    assert units.read("52.1 ± 0.3 cc", "volume").plus == pytest.approx(0.3e-6)
    assert units.read("52.1 cc +/- 1 %", "volume").plus == pytest.approx(0.521e-6)
    bore = units.read("87.00 mm +0.01/-0", "length")
    assert (bore.minus, bore.plus) == pytest.approx((0.0, 1e-5))
    flow = units.read("500 cfm @ 1.5 inHg", "volume_flow")
    assert flow.condition[0].value == pytest.approx(1.5 * 3386.389)
    journal = units.read("0.051 mm @ 20 degC", "length")
    assert (journal.condition[0].kind, journal.condition[0].value) == ("temperature", pytest.approx(293.15))
    assert units.read("14 deg BTDC", "event_angle").reference == "BTDC"


def test_text__is_kept_as_typed() -> None:
    assert units.read(" 45 thou ", "length").text == "45 thou"
    assert units.read("92,50 mm", "length").text == "92,50 mm"


@pytest.mark.parametrize("kind", [k for k in units.KINDS if k not in ("money", "mixture")])
def test_show__reads_back(kind: str) -> None:
    for unit in units.KINDS[kind].units:
        text = units.show(units.to_si(12.34, kind, unit), kind, unit, digits=12)
        if kind == "temperature" and unit in ("K", "degR"):
            assert units.read(text, kind).value == pytest.approx(units.to_si(12.34, kind, unit))
        assert units.read(text, kind).value == pytest.approx(units.to_si(12.34, kind, unit), rel=1e-9)


def test_likely_slips__names_the_unit_that_fits() -> None:
    assert units.likely_slips(units.read("3.642 mm", "length"), 0.03, 0.16)[0].startswith("3.642 in (92.51 mm)")
    assert units.likely_slips(units.read("45 mm", "length"), -3e-3, 6e-3)[0].startswith("45 thou (1.143 mm)")
    assert "other sign" in units.likely_slips(units.read("-9 N", "force"), 1, 20)[0]
    assert "decimal point" in units.likely_slips(units.read("925 mm", "length"), 0.03, 0.16)[0]


PIECES = st.lists(
    st.sampled_from(
        ["1", "92.5", "-3", "1,350", "1e9", "±", "+/-", "@", ":", "/", "mm", "psi", "inHg", "cfm", "scfm", "AFR", "lambda", " ", "%",
         "°", "N m", "kg/m3", "(", ")", "^", "EUR", "$", "BTDC", "abs", "g", "1/0", "e", "\u00a0", "²", "½", "٣"]
    ),
    max_size=8,
).map("".join)  # fmt: skip


@settings(max_examples=4000, deadline=None)
@given(text=st.one_of(PIECES, st.text(max_size=30)), kind=st.sampled_from(sorted(units.KINDS)))
def test_read__any_text_is_a_value_or_a_fault(text: str, kind: str) -> None:
    quantity, said = None, ""
    try:
        quantity = units.read(text, kind)
    except BadInput as fault:
        said = str(fault)
    assert (quantity is None) == bool(said)
    assert len(said) < 700
    if quantity is not None:
        assert math.isfinite(quantity.value)
        assert quantity.minus >= 0
        assert quantity.plus >= 0


@given(number=st.floats(-1e6, 1e6, allow_nan=False), unit=st.sampled_from(units.KINDS["length"].units))
def test_convert__undoes_to_si(number: float, unit: str) -> None:
    assert units.convert(units.to_si(number, "length", unit), "length", unit) == pytest.approx(
        number, rel=1e-12, abs=1e-12
    )
