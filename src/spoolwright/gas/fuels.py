"""Fuels: pump grades, alcohols, race blends and mixtures by volume.

A fuel is one mean molecule (atoms of C, H, O, N) with the figures a person can buy it by: heating
value, density, latent heat, octane numbers. Air-fuel ratio follows from the atoms. In the gas it is
a pseudo-species: its vapour's heat capacity is that of a named surrogate per kilogram, its formation
enthalpy is set from the heating value so that burning releases exactly what was stated.

Limits: one boiling point (no distillation curve); mixtures are ideal by mass; octane numbers of
mixtures are an estimate (see ``blend``); water in pump ethanol is left out.

Plain float functions without compiled code or arrays: the sums and the solver share them.

Sources: [AFDC] US Department of Energy, Alternative Fuels Data Center, fuel properties table;
[NASA] enthalpies of formation of NASA TM-4513; [CoolProp] CoolProp 8, PropsSI; [FAQ] the public
gasoline FAQ, property table; "memory" means written from memory and not checked.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from spoolwright.errors import BadInput
from spoolwright.gas.air import DRY_AIR, HumidAir
from spoolwright.gas.species import SPECIES, T_DATUM, molar_enthalpy, molar_mass

FlameFamily = Literal["gasoline", "isooctane", "methanol", "ethanol"]
FLAME_FAMILIES: Final[tuple[FlameFamily, ...]] = ("gasoline", "isooctane", "methanol", "ethanol")

# Gasoline vapour's heat capacity: surrogate A of Gauthier, Davidson, Hanson, Combust. Flame 139
# (2004) 300: 63 / 20 / 17 % of iso-octane, toluene, n-heptane by liquid volume (memory); by mass
# with the densities below.
GASOLINE_VAPOUR: Final = (("isooctane", 0.6008), ("toluene", 0.2389), ("heptane", 0.1603))


@dataclass(frozen=True)
class Fuel:
    """A liquid fuel as one mean molecule.

    C, H, O, N : atoms per mean molecule [-]
    lhv : lower heating value of the liquid at 25 degC [J/kg]
    latent_heat : heat of vaporisation at 25 degC [J/kg]
    density : liquid at 15 degC [kg/m3]
    ron, mon : research and motor octane number; None where not known
    flame_family : which laminar burning velocity correlation stands for it
    vapour : mass fractions of the species whose heat capacity stands for the vapour
    alcohol : mass fraction of alcohols
    source : where the figures come from
    """

    name: str
    C: float
    H: float
    O: float  # noqa: E741 - the element
    lhv: float
    latent_heat: float
    density: float
    ron: float | None
    mon: float | None
    flame_family: FlameFamily
    vapour: tuple[tuple[str, float], ...]
    source: str
    alcohol: float = 0.0
    N: float = 0.0

    @property
    def atoms(self) -> dict[str, float]:
        """Atoms per mean molecule by element."""
        return {"C": self.C, "H": self.H, "O": self.O, "N": self.N}

    @property
    def M(self) -> float:
        """Molar mass of the mean molecule [kg/kmol]."""
        return molar_mass(self.atoms)

    @property
    def lhv_vapour(self) -> float:
        """Lower heating value of the vapour at 25 degC [J/kg]."""
        return self.lhv + self.latent_heat

    @property
    def oxygen_demand(self) -> float:
        """Molecules of O2 that burn one mean molecule: C + H/4 - O/2."""
        return self.C + 0.25 * self.H - 0.5 * self.O

    @property
    def formation_enthalpy(self) -> float:
        """Enthalpy of the vapour at 298.15 K [J/kg], elements being zero.

        From h_f = lhv_vapour + h of the products CO2, H2O (vapour) and N2 at 298.15 K.
        """
        products = self.C * molar_enthalpy("CO2", T_DATUM) + 0.5 * self.H * molar_enthalpy("H2O", T_DATUM)
        products += 0.5 * self.N * molar_enthalpy("N2", T_DATUM) - self.oxygen_demand * molar_enthalpy("O2", T_DATUM)
        return self.lhv_vapour + products / self.M

    @property
    def sensitivity(self) -> float | None:
        """RON - MON, None where one is unknown."""
        return None if self.ron is None or self.mon is None else self.ron - self.mon


def stoichiometric_ratio(fuel: Fuel, air: HumidAir = DRY_AIR) -> float:
    """Mass of ``air`` (moisture included) that just burns unit mass of ``fuel``, by atom balance [-]."""
    oxygen = dict(air.mole_fractions)["O2"]
    return fuel.oxygen_demand / oxygen * air.M / fuel.M


def _pure(name: str, lhv_vapour: float, latent_heat: float, density: float, **figures: object) -> Fuel:
    atoms = SPECIES[name].atoms
    family = figures.pop("flame_family")
    return Fuel(
        name=name,
        C=atoms["C"],
        H=atoms["H"],
        O=atoms.get("O", 0.0),
        lhv=lhv_vapour - latent_heat,
        latent_heat=latent_heat,
        density=density,
        vapour=((name, 1.0),),
        flame_family=family,  # type: ignore[arg-type]
        **figures,  # type: ignore[arg-type]
    )


# Heating values of the pure vapours are [NASA] (44.650, 44.921, 40.938, 21.104, 27.731 MJ/kg);
# latent heats at 25 degC and densities at 15 degC [CoolProp], iso-octane's [FAQ] and memory.
ISOOCTANE: Final = _pure(
    "isooctane", 44.650e6, 308e3, 695.9, ron=100.0, mon=100.0, flame_family="isooctane",
    source="[NASA] heating value, [FAQ] latent heat, memory: density; octane by definition",
)  # fmt: skip
HEPTANE: Final = _pure(
    "heptane", 44.921e6, 365.1e3, 688.0, ron=0.0, mon=0.0, flame_family="gasoline",
    source="[NASA] heating value, [CoolProp] latent heat and density; octane by definition",
)  # fmt: skip
TOLUENE: Final = _pure(
    "toluene", 40.938e6, 412.9e3, 871.5, ron=118.0, mon=103.5, flame_family="gasoline",
    source="[NASA] heating value, [CoolProp] latent heat and density; octane numbers memory",
)  # fmt: skip
METHANOL: Final = _pure(
    "methanol", 21.104e6, 1169e3, 795.7, ron=108.7, mon=88.6, flame_family="methanol", alcohol=1.0,
    source="[NASA] heating value, [CoolProp] latent heat and density; octane numbers memory",
)  # fmt: skip
ETHANOL: Final = _pure(
    "ethanol", 27.731e6, 920.7e3, 793.7, ron=108.6, mon=89.7, flame_family="ethanol", alcohol=1.0,
    source="[NASA] heating value, [CoolProp] latent heat and density; octane numbers memory",
)  # fmt: skip


def petrol(name: str, ron: float, mon: float, density: float = 745.0) -> Fuel:
    """Alcohol-free petrol of the given octane numbers.

    C7.5 H14.025 (H/C 1.87, M 104.2 within [AFDC] 100..105), heating value 43.44 MJ/kg and latent
    heat 349 kJ/kg [AFDC]; density 745 kg/m3, the middle of EN 228 (720..775). H/C: memory.
    """
    return Fuel(
        name=name, C=7.5, H=14.025, O=0.0, lhv=43.44e6, latent_heat=349e3, density=density,
        ron=ron, mon=mon, flame_family="gasoline", vapour=GASOLINE_VAPOUR,
        source="[AFDC] heating value, latent heat; H/C 1.87 memory; density middle of EN 228",
    )  # fmt: skip


def blend(
    name: str,
    parts: tuple[Fuel, ...] | list[Fuel],
    volume_fractions: tuple[float, ...] | list[float],
    *,
    ron: float | None = None,
    mon: float | None = None,
) -> Fuel:
    """Mixture of ``parts`` by liquid volume at 15 degC (fractions sum to 1); volumes simply add.

    Heating value, latent heat and vapour heat capacity go by mass, atoms by mole. Octane numbers not
    given are estimated linear in mole fraction with the neat numbers (Anderson, Kramer, Mueller,
    Wallington, Energy & Fuels 24 (2010) 6576, memory: within about 2 numbers for alcohols in
    petrol); they stay unknown if any part's is. The flame family is the alcohol's once alcohols
    are more than half of the mass (assumed), else that of the largest part by mass.
    Raises BadInput for negative fractions or a wrong sum.
    """
    _check_fractions(name, parts, volume_fractions)
    mass = [fraction * part.density for part, fraction in zip(parts, volume_fractions, strict=True)]
    return _mix(name, parts, mass, sum(mass), ron, mon)


def blend_by_mass(
    name: str,
    parts: tuple[Fuel, ...] | list[Fuel],
    mass_fractions: tuple[float, ...] | list[float],
    *,
    ron: float | None = None,
    mon: float | None = None,
) -> Fuel:
    """As ``blend``, with fractions by mass."""
    _check_fractions(name, parts, mass_fractions)
    volume = sum(y / part.density for part, y in zip(parts, mass_fractions, strict=True))
    return _mix(name, parts, list(mass_fractions), 1.0 / volume, ron, mon)


def _check_fractions(
    name: str, parts: tuple[Fuel, ...] | list[Fuel], fractions: tuple[float, ...] | list[float]
) -> None:
    if len(parts) != len(fractions) or not parts:
        raise BadInput(f'fuel blend "{name}": {len(parts)} fuels but {len(fractions)} fractions; give one for each')
    if any(not 0.0 <= fraction <= 1.0 for fraction in fractions) or abs(sum(fractions) - 1.0) > 1e-6:
        raise BadInput(
            f'fuel blend "{name}": fractions {", ".join(f"{f:g}" for f in fractions)} must lie in 0..1 and sum to 1'
        )


def _mix(
    name: str,
    parts: tuple[Fuel, ...] | list[Fuel],
    mass: list[float],
    density: float,
    ron: float | None,
    mon: float | None,
) -> Fuel:
    total = sum(mass)
    by_mass = [(part, m / total) for part, m in zip(parts, mass, strict=True)]
    moles = sum(y / part.M for part, y in by_mass)
    by_mole = [(part, y / part.M / moles) for part, y in by_mass]
    atoms = {element: sum(x * part.atoms[element] for part, x in by_mole) for element in "CHON"}
    vapour: dict[str, float] = {}
    for part, y in by_mass:
        for species, share in part.vapour:
            vapour[species] = vapour.get(species, 0.0) + y * share
    return Fuel(
        name=name,
        C=atoms["C"],
        H=atoms["H"],
        O=atoms["O"],
        N=atoms["N"],
        lhv=sum(y * part.lhv for part, y in by_mass),
        latent_heat=sum(y * part.latent_heat for part, y in by_mass),
        density=density,
        ron=ron if ron is not None else _molar_octane([(part.ron, x) for part, x in by_mole]),
        mon=mon if mon is not None else _molar_octane([(part.mon, x) for part, x in by_mole]),
        flame_family=_family(by_mass),
        vapour=tuple(vapour.items()),
        alcohol=sum(y * part.alcohol for part, y in by_mass),
        source="mixture of " + ", ".join(f"{100 * y:.1f} % {part.name}" for part, y in by_mass) + " by mass",
    )


def _molar_octane(numbers: list[tuple[float | None, float]]) -> float | None:
    total = 0.0
    for number, x in numbers:
        if x > 0.0 and number is None:
            return None
        total += x * (number or 0.0)
    return total


def _family(by_mass: list[tuple[Fuel, float]]) -> FlameFamily:
    if sum(y * part.alcohol for part, y in by_mass) > 0.5:
        return max(by_mass, key=lambda item: item[1] * item[0].alcohol)[0].flame_family
    return max(by_mass, key=lambda item: item[1] * (1.0 - item[0].alcohol))[0].flame_family


def octane_by_volume(numbers: list[float], volume_fractions: list[float]) -> float:
    """Octane number of a mixture, linear by volume with blending octane numbers the user gives.

    The refiner's rule; it holds only near the share at which the blending numbers were measured.
    """
    return sum(number * v for number, v in zip(numbers, volume_fractions, strict=True))


def ethanol_blend(name: str, ethanol_volume: float, base: Fuel, **octane: float | None) -> Fuel:
    """``ethanol_volume`` (0..1, by liquid volume) of ethanol in ``base``; ron=, mon= if known."""
    return blend(name, (ETHANOL, base), (ethanol_volume, 1.0 - ethanol_volume), **octane)


def custom(
    name: str,
    *,
    hydrogen_to_carbon: float,
    oxygen_to_carbon: float = 0.0,
    molar_mass_mean: float,
    lhv: float,
    latent_heat: float,
    density: float,
    ron: float | None = None,
    mon: float | None = None,
    flame_family: FlameFamily = "gasoline",
    alcohol: float = 0.0,
) -> Fuel:
    """A fuel by the user's own figures (SI); the vapour's heat capacity is gasoline's or the alcohol's.

    molar_mass_mean [kg/kmol] 16..250; lhv of the liquid [J/kg] 5e6..60e6; latent_heat [J/kg]
    0..2e6; density [kg/m3] 500..1300. Raises BadInput outside these.
    """
    _within(name, "hydrogen to carbon ratio", hydrogen_to_carbon, 0.5, 4.0)
    _within(name, "oxygen to carbon ratio", oxygen_to_carbon, 0.0, 2.0)
    _within(name, "molar mass in kg/kmol", molar_mass_mean, 16.0, 250.0)
    _within(name, "lower heating value in J/kg", lhv, 5e6, 60e6)
    _within(name, "latent heat in J/kg", latent_heat, 0.0, 2e6)
    _within(name, "density in kg/m3", density, 500.0, 1300.0)
    _within(name, "alcohol mass fraction", alcohol, 0.0, 1.0)
    if flame_family not in FLAME_FAMILIES:
        raise BadInput(
            f'fuel "{name}": flame family "{flame_family}" is not known; choose one of {", ".join(FLAME_FAMILIES)}'
        )
    unit = {"C": 1.0, "H": hydrogen_to_carbon, "O": oxygen_to_carbon}
    carbon = molar_mass_mean / molar_mass(unit)
    fuel = Fuel(
        name=name, C=carbon, H=carbon * hydrogen_to_carbon, O=carbon * oxygen_to_carbon, lhv=lhv,
        latent_heat=latent_heat, density=density, ron=ron, mon=mon, flame_family=flame_family,
        vapour=GASOLINE_VAPOUR if flame_family == "gasoline" else ((flame_family, 1.0),),
        alcohol=alcohol, source="the user's own figures",
    )  # fmt: skip
    if fuel.oxygen_demand <= 0.0:
        raise BadInput(f'fuel "{name}": it has more oxygen than it can burn; check the oxygen to carbon ratio')
    return fuel


def _within(name: str, what: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise BadInput(f'fuel "{name}": {what} {value:g} is outside {low:g}..{high:g}; check value and unit')


class KnockNumber(NamedTuple):
    """Octane number for the ignition delay, and how far it may be off either way."""

    value: float
    band: float


def knock_number(fuel: Fuel, K: float = 0.0) -> KnockNumber:
    """Octane index RON - K (RON - MON) with its band.

    K is near 0 in modern engines and negative under boost, near 1 in the motor test (Kalghatgi, SAE
    2001-01-3584, memory). Band: 1 number for hydrocarbons (grades are sold as a minimum; common
    practice, no source), growing to 5 for pure alcohols, whose ignition the delay correlation was
    not fitted to. Raises BadInput where an octane number is missing.
    """
    if fuel.ron is None or fuel.mon is None:
        raise BadInput(f'fuel "{fuel.name}": knock needs RON and MON; write both with the fuel')
    return KnockNumber(fuel.ron - K * (fuel.ron - fuel.mon), 1.0 + 4.0 * min(1.0, fuel.alcohol))


def _registry() -> dict[str, Fuel]:
    """The grades by the name a sheet uses.

    RON and MON of 91, 95 and 98 grades: EN 228 minima (91/81 regular, 95/85, 98/88 as sold). The
    (R+M)/2 grades: RON and MON split 8 to 10 apart, common practice, no source. Grades with
    ethanol carry the number of the finished fuel, as the pump does.
    """
    base = petrol("petrol base", 91.0, 82.0)
    grades = [
        petrol("petrol 91 RON", 91.0, 81.0),
        petrol("petrol 95 RON", 95.0, 85.0),
        petrol("petrol 98 RON", 98.0, 88.0),
        petrol("petrol 87 (R+M)/2", 91.0, 83.0),
        petrol("petrol 91 (R+M)/2", 95.5, 86.5),
        petrol("petrol 93 (R+M)/2", 98.0, 88.0),
        ethanol_blend("E10", 0.10, base, ron=95.0, mon=85.0),
        ethanol_blend("E10 87 (R+M)/2", 0.10, base, ron=91.5, mon=82.5),
        ethanol_blend("E85", 0.85, base),
        ethanol_blend("E85 winter", 0.70, base),
        ETHANOL,
        METHANOL,
        TOLUENE,
        ISOOCTANE,
        HEPTANE,
    ]
    return {grade.name: grade for grade in grades}


GRADES: Final[dict[str, Fuel]] = _registry()


def grade(name: str) -> Fuel:
    """The registered fuel of that name. Raises BadInput with the closest name."""
    if name in GRADES:
        return GRADES[name]
    from difflib import get_close_matches

    close = get_close_matches(name, GRADES, n=1, cutoff=0.3)
    hint = f' (did you mean "{close[0]}"?)' if close else ""
    raise BadInput(f'fuel "{name}" is not known{hint}; known are {", ".join(GRADES)}, or give your own figures')
