"""Materials by name: words that may stand for a value in the inputs of sums.

Thermal expansion is the mean near room temperature; it grows by some 5 to 10 % up to 200 degC, so a maker's
figure for the real range wins. Elastic moduli are good to about 3 %, cast iron to about 15 %.

Sources: W. D. Callister and D. G. Rethwisch, Fundamentals of Materials Science and Engineering, 3rd ed. (2007),
appendix B (densities B.1, moduli B.2, Poisson's ratio B.3, expansion B.6). Entries marked "memory" are from
memory of makers' sheets and not checked against one.
"""

from __future__ import annotations

from typing import Final

EXPANSION: Final[dict[str, str]] = {
    "steel": "11.7e-6 1/K",  # plain carbon steel 1020
    "alloy steel": "12.3e-6 1/K",  # 4340
    "stainless steel": "17.2e-6 1/K",  # 304, austenitic
    "cast iron": "11.4e-6 1/K",  # grey, G3000
    "ductile iron": "11.2e-6 1/K",  # 60-40-18
    "cast aluminium": "21.5e-6 1/K",  # 356.0
    "wrought aluminium": "23.6e-6 1/K",  # 6061
    "piston alloy 4032": "19.4e-6 1/K",  # memory: forged, 12 % silicon
    "piston alloy 2618": "22.3e-6 1/K",  # memory: forged, no silicon
    "magnesium": "26.0e-6 1/K",  # AZ91D
    "titanium": "8.6e-6 1/K",  # Ti-6Al-4V
    "bronze": "18.0e-6 1/K",  # C93200 bearing bronze
    "brass": "20.5e-6 1/K",  # C36000
}

MODULUS: Final[dict[str, str]] = {
    "steel": "207 GPa",
    "cast iron": "110 GPa",  # middle of the range printed for grey iron
    "ductile iron": "169 GPa",
    "aluminium": "71 GPa",
    "magnesium": "45 GPa",
    "titanium": "114 GPa",
    "bronze": "100 GPa",  # C93200
}

POISSON: Final[dict[str, str]] = {
    "steel": "0.30",
    "cast iron": "0.26",
    "aluminium": "0.33",
    "magnesium": "0.35",
    "titanium": "0.34",
    "bronze": "0.34",
}

DENSITY: Final[dict[str, str]] = {
    "steel": "7850 kg/m3",
    "cast iron": "7300 kg/m3",
    "aluminium": "2700 kg/m3",
    "magnesium": "1810 kg/m3",
    "titanium": "4430 kg/m3",
    "bronze": "8930 kg/m3",
}

EXPANSION_SOURCE: Final = (
    "expansion of named metals: Callister and Rethwisch (2007), table B.6; the maker's figure wins"
)
