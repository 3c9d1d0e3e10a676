"""The one description of the sheet, section by section in the order of the gas and then of the heat."""

from __future__ import annotations

from typing import Final

from spoolwright.sheet.fields import Section, choice, may, must
from spoolwright.sheet.sections.air import CHARGE, INTAKE, SITE
from spoolwright.sheet.sections.calibration import CALIBRATION
from spoolwright.sheet.sections.drive import DRIVE
from spoolwright.sheet.sections.engine import CYLINDERS, VALVES
from spoolwright.sheet.sections.exhaust import EXHAUST, TURBINE, WASTEGATE
from spoolwright.sheet.sections.fuel import CARBURETTOR, FUEL, INJECTION
from spoolwright.sheet.sections.handover import HANDOVER
from spoolwright.sheet.sections.heat import COOLING, OIL
from spoolwright.sheet.sections.spark import SPARK
from spoolwright.sheet.sections.strength import LIMITS, STRENGTH

SCHEMA_NAME: Final = "spoolwright build"
SCHEMA_VERSION: Final = 2

SHEET: Final = Section(
    "the build sheet",
    {
        "schema": must("text", "name and version of this layout; first in the file", f"{SCHEMA_NAME} {SCHEMA_VERSION}", remark=True),
        "name": must("text", "name of the build", "wren", remark=True),
        "note": may("text", "what it is, in a sentence or two", "Cyclekart engine, spring rebuild", remark=True),
        "invented": may("flag", "true where the data are made up, as in the demo builds", "true", remark=True),
        "use": choice("what the engine is for", "road", "sprint", "hill_climb", "circuit", "bench", need="may"),
        "site": SITE,
        "fuel": FUEL,
        "cylinders": CYLINDERS,
        "valves": VALVES,
        "intake": INTAKE,
        "charge": CHARGE,
        "carburettor": CARBURETTOR,
        "injection": INJECTION,
        "exhaust": EXHAUST,
        "turbine": TURBINE,
        "wastegate": WASTEGATE,
        "spark": SPARK,
        "cooling": COOLING,
        "oil": OIL,
        "strength": STRENGTH,
        "limits": LIMITS,
        "drive": DRIVE,
        "calibration": CALIBRATION,
        "handover": HANDOVER,
    },
)  # fmt: skip
