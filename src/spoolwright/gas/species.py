"""Thermodynamic polynomials of the pure ideal gases that air, fuel vapour and burned gas are made of.

Each species has its atoms and two sets of seven coefficients, one up to 1000 K and one above:
cp/R = a0 + a1 T + a2 T^2 + a3 T^3 + a4 T^4, h/(R T) = a0 + a1 T/2 + ... + a5/T,
s0/R = a0 ln T + a1 T + ... + a6. Enthalpies count from the elements at 298.15 K.

Source: B. J. McBride, S. Gordon, M. A. Reno, Coefficients for calculating thermodynamic and
transport properties of individual species, NASA TM-4513 (1993), as distributed in the data file
nasa_gas.yaml of Cantera 3.2 (a test compares every number). Valid 200 to 6000 K by the file's own
ranges. Argon has one range there; it is written twice.

No array library here: the sums use these numbers and must start at once.
"""

from __future__ import annotations

from math import log
from typing import Final, NamedTuple

from spoolwright.constants import GAS_CONSTANT

T_MIDDLE: Final = 1000.0  # K, where the two sets meet
T_DATUM: Final = 298.15  # K, elements have zero enthalpy here

# Conventional atomic weights of the same data file, kg/kmol.
ATOMIC_WEIGHTS: Final = {"C": 12.011, "H": 1.008, "O": 15.999, "N": 14.007, "AR": 39.95}


class Species(NamedTuple):
    """One ideal gas: atoms per molecule and the coefficients below and above 1000 K."""

    atoms: dict[str, float]
    low: tuple[float, ...]
    high: tuple[float, ...]


# fmt: off
SPECIES: Final = {
    "N2": Species(
        {"N": 2.0},
        (3.53100528, -0.000123660987, -5.02999437e-07, 2.43530612e-09,
         -1.40881235e-12, -1046.97628, 2.96747468),
        (2.95257626, 0.00139690057, -4.92631691e-07, 7.86010367e-11,
         -4.60755321e-15, -923.948645, 5.87189252),
    ),
    "O2": Species(
        {"O": 2.0},
        (3.78245636, -0.00299673415, 9.847302e-06, -9.68129508e-09,
         3.24372836e-12, -1063.94356, 3.65767573),
        (3.66096083, 0.000656365523, -1.41149485e-07, 2.05797658e-11,
         -1.29913248e-15, -1215.97725, 3.41536184),
    ),
    "AR": Species(
        {"AR": 1.0},
        (2.5, 0.0, 0.0, 0.0,
         0.0, -745.375, 4.37967491),
        (2.5, 0.0, 0.0, 0.0,
         0.0, -745.375, 4.37967491),
    ),
    "CO2": Species(
        {"C": 1.0, "O": 2.0},
        (2.35677352, 0.00898459677, -7.12356269e-06, 2.45919022e-09,
         -1.43699548e-13, -48371.9697, 9.90105222),
        (4.63659493, 0.00274131991, -9.95828531e-07, 1.60373011e-10,
         -9.16103468e-15, -49024.9341, -1.93534855),
    ),
    "H2O": Species(
        {"H": 2.0, "O": 1.0},
        (4.19864056, -0.0020364341, 6.52040211e-06, -5.48797062e-09,
         1.77197817e-12, -30293.7267, -0.849032208),
        (2.67703787, 0.00297318329, -7.7376969e-07, 9.44336689e-11,
         -4.26900959e-15, -29885.8938, 6.88255571),
    ),
    "CO": Species(
        {"C": 1.0, "O": 1.0},
        (3.57953347, -0.00061035368, 1.01681433e-06, 9.07005884e-10,
         -9.04424499e-13, -14344.086, 3.50840928),
        (3.04848583, 0.00135172818, -4.85794075e-07, 7.88536486e-11,
         -4.69807489e-15, -14266.1171, 6.0170979),
    ),
    "H2": Species(
        {"H": 2.0},
        (2.34433112, 0.00798052075, -1.9478151e-05, 2.01572094e-08,
         -7.37611761e-12, -917.935173, 0.683010238),
        (2.93286579, 0.000826607967, -1.46402335e-07, 1.54100359e-11,
         -6.88804432e-16, -813.065597, -1.02432887),
    ),
    "OH": Species(
        {"H": 1.0, "O": 1.0},
        (3.99201543, -0.00240131752, 4.61793841e-06, -3.88113333e-09,
         1.3641147e-12, 3615.08056, -0.103925458),
        (2.83864607, 0.00110725586, -2.93914978e-07, 4.20524247e-11,
         -2.42169092e-15, 3943.95852, 5.84452662),
    ),
    "H": Species(
        {"H": 1.0},
        (2.5, 0.0, 0.0, 0.0,
         0.0, 25473.6599, -0.446682853),
        (2.50000286, -5.65334214e-09, 3.63251723e-12, -9.1994972e-16,
         7.95260746e-20, 25473.6589, -0.446698494),
    ),
    "O": Species(
        {"O": 1.0},
        (3.1682671, -0.00327931884, 6.64306396e-06, -6.12806624e-09,
         2.11265971e-12, 29122.2592, 2.05193346),
        (2.54363697, -2.73162486e-05, -4.1902952e-09, 4.95481845e-12,
         -4.79553694e-16, 29226.012, 4.92229457),
    ),
    "NO": Species(
        {"N": 1.0, "O": 1.0},
        (4.21859896, -0.00463988124, 1.10443049e-05, -9.34055507e-09,
         2.80554874e-12, 9845.09964, 2.28061001),
        (3.26071234, 0.00119101135, -4.29122646e-07, 6.94481463e-11,
         -4.03295681e-15, 9921.43132, 6.36900518),
    ),
    "N": Species(
        {"N": 1.0},
        (2.5, 0.0, 0.0, 0.0,
         0.0, 56104.6378, 4.19390932),
        (2.41594293, 0.0001748906, -1.19023667e-07, 3.02262387e-11,
         -2.0360979e-15, 56133.7748, 4.64960986),
    ),
    "isooctane": Species(
        {"C": 8.0, "H": 18.0},
        (0.815737338, 0.0732643959, 1.78300688e-05, -6.9358962e-08,
         3.21629382e-11, -30477.2862, 24.1509994),
        (15.9899273, 0.055318479, -1.95267072e-05, 3.11779172e-09,
         -1.85312577e-13, -35875.7973, -60.1161414),
    ),
    "heptane": Species(
        {"C": 7.0, "H": 16.0},
        (11.1532484, -0.00949415433, 0.000195571181, -2.4975252e-07,
         9.84873213e-11, -26771.1735, -15.909611),
        (18.5354704, 0.0391420468, -1.38030268e-05, 2.22403874e-09,
         -1.3345258e-13, -31950.0783, -70.190284),
    ),
    "toluene": Species(
        {"C": 7.0, "H": 8.0},
        (1.611914, 0.0211188902, 8.53221453e-05, -1.32566876e-07,
         5.59406109e-11, 4096.51976, 20.2973614),
        (12.939475, 0.0266921558, -9.68420108e-06, 1.5739214e-09,
         -9.46670482e-14, -677.035769, -46.7255302),
    ),
    "methanol": Species(
        {"C": 1.0, "H": 4.0, "O": 1.0},
        (5.71539582, -0.0152309129, 6.52441155e-05, -7.10806889e-08,
         2.61352698e-11, -25642.7656, -1.50409823),
        (3.60134486, 0.0102430954, -3.59985517e-06, 5.72505986e-10,
         -3.3911764e-14, -25997.191, 4.70512253),
    ),
    "ethanol": Species(
        {"C": 2.0, "H": 6.0, "O": 1.0},
        (4.85868178, -0.0037400674, 6.95550267e-05, -8.86541147e-08,
         3.5168443e-11, -29996.1309, 4.80192294),
        (6.5628977, 0.0152034264, -5.38922247e-06, 8.62150224e-10,
         -5.12824683e-14, -31525.7984, -9.47557644),
    ),
}
# fmt: on


def molar_mass(atoms: dict[str, float]) -> float:
    """Molar mass [kg/kmol] of ``atoms`` per molecule (symbols C, H, O, N, AR)."""
    return sum(ATOMIC_WEIGHTS[element] * count for element, count in atoms.items())


def coefficients(name: str, T: float) -> tuple[float, ...]:
    """The seven coefficients of species ``name`` that hold at T [K]."""
    species = SPECIES[name]
    return species.low if T <= T_MIDDLE else species.high


def molar_cp(name: str, T: float) -> float:
    """Heat capacity at constant pressure [J/(kmol K)] of species ``name`` at T [K]."""
    a = coefficients(name, T)
    return GAS_CONSTANT * (a[0] + T * (a[1] + T * (a[2] + T * (a[3] + T * a[4]))))


def molar_enthalpy(name: str, T: float) -> float:
    """Enthalpy [J/kmol] of species ``name`` at T [K], elements at 298.15 K being zero."""
    a = coefficients(name, T)
    series = a[0] + T * (a[1] / 2 + T * (a[2] / 3 + T * (a[3] / 4 + T * a[4] / 5)))
    return GAS_CONSTANT * (T * series + a[5])


def molar_entropy(name: str, T: float) -> float:
    """Entropy [J/(kmol K)] of species ``name`` at T [K] and one bar."""
    a = coefficients(name, T)
    series = T * (a[1] + T * (a[2] / 2 + T * (a[3] / 3 + T * a[4] / 4)))
    return GAS_CONSTANT * (a[0] * log(T) + series + a[6])
