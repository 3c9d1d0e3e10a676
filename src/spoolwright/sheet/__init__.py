"""The build sheet: what a builder measured and chosen, read from ``build.toml`` and its tables.

``load`` gives a :class:`Sheet` or all faults at once; paths and their meaning stand in ``sections``.
"""

from spoolwright.sheet.demo import demo_folder
from spoolwright.sheet.faults import Fault, NotGiven, SheetFaults
from spoolwright.sheet.fields import Field, Section
from spoolwright.sheet.loading import load
from spoolwright.sheet.lookup import field
from spoolwright.sheet.model import Assumed, Sheet
from spoolwright.sheet.tables import Table

__all__ = [
    "Assumed",
    "Fault",
    "Field",
    "NotGiven",
    "Section",
    "Sheet",
    "SheetFaults",
    "Table",
    "demo_folder",
    "field",
    "load",
]
