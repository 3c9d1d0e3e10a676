"""Physical constants and reference states: value, unit, source. A constant stands once, here.

SI base units. Kernels may import this module.
"""

from __future__ import annotations

from typing import Final

GAS_CONSTANT: Final = 8314.46261815324  # J/(kmol K); exact, SI Brochure 9th ed. (2019): k * N_A
STANDARD_GRAVITY: Final = 9.80665  # m/s2; exact, 3rd CGPM (1901)
STANDARD_ATMOSPHERE: Final = 101325.0  # Pa; exact, 10th CGPM (1954)
ZERO_CELSIUS: Final = 273.15  # K; exact, SI Brochure 9th ed.
STEFAN_BOLTZMANN: Final = 5.670374419e-8  # W/(m2 K4); CODATA 2018

# Cold air for sums. R = 8314.46 / 28.9654 = 287.05 J/(kg K) for dry air (ISO 2533:1975, table 1);
# the ratio of heats of cold air as ISO 2533:1975, table 1.
R_AIR: Final = 287.05287  # J/(kg K)
GAMMA_AIR: Final = 1.4
CP_AIR: Final = GAMMA_AIR * R_AIR / (GAMMA_AIR - 1.0)  # J/(kg K), 1004.685

# The sea-level standard day (ISO 2533:1975).
T_STANDARD_DAY: Final = 288.15  # K
RHO_STANDARD_DAY: Final = 1.225  # kg/m3

# Dry air by mole: N2, O2, Ar, CO2 (ISO 2533:1975 rounded to four species).
AIR_MOLE_FRACTIONS: Final = (("N2", 0.78084), ("O2", 0.209476), ("AR", 0.009365), ("CO2", 0.000319))

# Water
M_WATER: Final = 18.01528  # kg/kmol; IUPAC atomic weights 2021
M_DRY_AIR: Final = 28.9654  # kg/kmol; ISO 2533:1975 composition as above
