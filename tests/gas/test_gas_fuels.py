"""Fuels: conservation in blends, octane estimates, ranges, and that the sums can import them alone."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spoolwright.errors import BadInput
from spoolwright.gas.air import DRY_AIR, humid_air
from spoolwright.gas.fuels import (
    ETHANOL,
    GRADES,
    ISOOCTANE,
    METHANOL,
    TOLUENE,
    Fuel,
    blend,
    blend_by_mass,
    custom,
    ethanol_blend,
    grade,
    knock_number,
    octane_by_volume,
    stoichiometric_ratio,
)
from spoolwright.gas.polynomials import enthalpy, of_fuel_vapour, of_mixture
from spoolwright.gas.species import SPECIES, T_DATUM, molar_mass

FOUR = (grade("petrol 95 RON"), ETHANOL, METHANOL, TOLUENE)


def shares(n: int) -> st.SearchStrategy[tuple[float, ...]]:
    return st.lists(st.floats(0.01, 1.0), min_size=n, max_size=n).map(lambda x: tuple(v / sum(x) for v in x))


@given(fractions=shares(4))
def test_blend__conserves_mass_atoms_volume_and_heat(fractions: tuple[float, ...]) -> None:
    mixed = blend("mixed", FOUR, fractions)
    mass = [v * part.density for v, part in zip(fractions, FOUR, strict=True)]
    assert mixed.density == pytest.approx(sum(mass), rel=1e-12)
    y = [m / sum(mass) for m in mass]
    for element in "CHO":
        per_mass = sum(yi * part.atoms[element] / part.M for yi, part in zip(y, FOUR, strict=True))
        assert mixed.atoms[element] / mixed.M == pytest.approx(per_mass, rel=1e-12)
    for figure in ("lhv", "latent_heat", "lhv_vapour", "alcohol", "formation_enthalpy"):
        by_mass = sum(yi * getattr(part, figure) for yi, part in zip(y, FOUR, strict=True))
        assert getattr(mixed, figure) == pytest.approx(by_mass, rel=1e-9, abs=1e-6)
    air_needed = sum(yi * stoichiometric_ratio(part) for yi, part in zip(y, FOUR, strict=True))
    assert stoichiometric_ratio(mixed) == pytest.approx(air_needed, rel=1e-12)


@given(fractions=shares(3))
def test_blend__by_mass_and_by_volume_agree(fractions: tuple[float, ...]) -> None:
    parts = FOUR[:3]
    mass = [v * part.density for v, part in zip(fractions, parts, strict=True)]
    one, two = blend("a", parts, fractions), blend_by_mass("a", parts, [m / sum(mass) for m in mass])
    assert (one.C, one.H, one.O, one.lhv, one.density) == pytest.approx((two.C, two.H, two.O, two.lhv, two.density))
    assert one.ron == pytest.approx(two.ron)


def test_blend__of_one_fuel_is_that_fuel() -> None:
    for fuel in GRADES.values():
        again = blend(fuel.name, (fuel, fuel), (0.3, 0.7))
        assert (again.M, again.lhv, again.latent_heat) == pytest.approx((fuel.M, fuel.lhv, fuel.latent_heat))
        assert (again.ron, again.mon, again.flame_family) == (
            pytest.approx(fuel.ron), pytest.approx(fuel.mon), fuel.flame_family,
        )  # fmt: skip


@pytest.mark.parametrize("fuel", GRADES.values(), ids=lambda fuel: fuel.name)
@pytest.mark.parametrize("air", [DRY_AIR, humid_air(308.15, 95e3, 0.9)], ids=["dry", "moist"])
def test_heating_value__comes_back_from_the_enthalpies(fuel: Fuel, air) -> None:  # type: ignore[no-untyped-def]
    """h(reactants) - h(products) at 298.15 K = the stated heating value of the vapour."""
    moles = fuel.oxygen_demand / dict(air.mole_fractions)["O2"]
    burned = {name: moles * x for name, x in air.mole_fractions}
    reactants = dict(burned)
    burned["O2"] -= fuel.oxygen_demand
    burned["CO2"] += fuel.C
    burned["H2O"] += 0.5 * fuel.H
    total = {
        side: sum(n * molar_mass(SPECIES[name].atoms) for name, n in moles.items())
        for side, moles in (("air", reactants), ("burned", burned))
    }
    assert total["burned"] == pytest.approx(total["air"] + fuel.M, rel=1e-12)
    h_air = enthalpy(of_mixture(reactants.items())[0][0], T_DATUM)
    h_burned = enthalpy(of_mixture(burned.items())[0][0], T_DATUM)
    h_fuel = enthalpy(of_fuel_vapour(fuel)[0][0], T_DATUM)
    released = (total["air"] * h_air + fuel.M * h_fuel - total["burned"] * h_burned) / fuel.M
    assert released == pytest.approx(fuel.lhv_vapour, rel=1e-9)


def test_octane__estimates_of_ethanol_in_petrol() -> None:
    """Trade experience: 10 % ethanol lifts 91 RON by 3 to 4.5, E85 stands near 105 to 109 (no source)."""
    base = grade("petrol 87 (R+M)/2")
    ten = ethanol_blend("ten", 0.10, base)
    assert ten.ron is not None
    assert base.ron is not None
    assert 3.0 <= ten.ron - base.ron <= 4.5
    assert grade("E85").ron == pytest.approx(107.0, abs=2.0)


def test_octane__stated_number_wins_and_unknown_stays_unknown() -> None:
    assert ethanol_blend("x", 0.1, FOUR[0], ron=97.0).ron == 97.0
    unknown = custom("own", hydrogen_to_carbon=1.9, molar_mass_mean=100.0, lhv=43e6, latent_heat=3e5, density=740.0)
    assert blend("y", (unknown, ETHANOL), (0.5, 0.5)).ron is None
    with pytest.raises(BadInput, match="knock needs RON and MON"):
        knock_number(unknown)


def test_octane__by_volume_with_given_blending_numbers() -> None:
    assert octane_by_volume([91.0, 129.0], [0.9, 0.1]) == pytest.approx(94.8)


def test_knock_number__index_and_band() -> None:
    assert knock_number(ISOOCTANE, K=0.7) == (100.0, 1.0)
    assert knock_number(TOLUENE, K=-0.5).value == pytest.approx(118.0 + 0.5 * 14.5)
    assert knock_number(ETHANOL).band == 5.0


def test_flame_family__follows_the_larger_share() -> None:
    assert grade("E10").flame_family == "gasoline"
    assert grade("E85").flame_family == "ethanol"
    assert blend("m", (METHANOL, ETHANOL, FOUR[0]), (0.5, 0.3, 0.2)).flame_family == "methanol"


def test_formation_enthalpy__nitromethane_burns_on_its_own_nitrogen() -> None:
    """A fuel with nitrogen: C H3 N O2, demand 0.75 O2; N leaves as N2, whose enthalpy is zero."""
    nitro = Fuel(
        name="nitromethane", C=1.0, H=3.0, O=2.0, N=1.0, lhv=10.5e6, latent_heat=0.56e6, density=1139.0,
        ron=None, mon=None, flame_family="methanol", vapour=(("methanol", 1.0),), source="memory",
    )  # fmt: skip
    assert nitro.oxygen_demand == 0.75
    assert stoichiometric_ratio(nitro) == pytest.approx(1.7, abs=0.02)  # trade value 1.7:1
    liquid = (nitro.formation_enthalpy - nitro.latent_heat) * nitro.M
    assert liquid == pytest.approx(-113e6, abs=4e6)  # -113 kJ/mol (memory); 10.5 MJ/kg is known to 0.05


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: grade("petrol 95"), 'did you mean "petrol 95 RON"'),
        (lambda: blend("b", (ETHANOL, ISOOCTANE), (85.0, 15.0)), "sum to 1"),
        (lambda: blend("b", (ETHANOL,), (0.5, 0.5)), "1 fuels but 2 fractions"),
        (lambda: blend("b", (ETHANOL, ISOOCTANE), (1.5, -0.5)), "must lie in"),
        (
            lambda: custom(
                "c", hydrogen_to_carbon=1.9, molar_mass_mean=100.0, lhv=43.4, latent_heat=3e5, density=740.0
            ),
            "check value and unit",
        ),
        (
            lambda: custom(
                "c", hydrogen_to_carbon=0.5, oxygen_to_carbon=1.9, molar_mass_mean=50.0, lhv=5e6, latent_heat=0.0,
                density=900.0, flame_family="petrol",
            ),
            "choose one of gasoline",
        ),
        (
            lambda: custom(
                "c", hydrogen_to_carbon=0.5, oxygen_to_carbon=2.0, molar_mass_mean=50.0, lhv=5e6, latent_heat=0.0,
                density=900.0, alcohol=2.0,
            ),
            "alcohol",
        ),
    ],
)  # fmt: skip
def test_bad_input__one_sentence(call, sentence: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadInput, match=sentence):
        call()


def test_fuels_and_air__need_neither_compiler_nor_library() -> None:
    """The sums import these two; the terminal must answer at once."""
    program = (
        "import sys, spoolwright.gas.fuels, spoolwright.gas.air;"
        "print([m for m in ('numba', 'cantera', 'numpy', 'scipy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
