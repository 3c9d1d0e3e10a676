"""The description of a field by its path, for findings, forms and reference pages."""

from __future__ import annotations

import re

from spoolwright.errors import BadInput
from spoolwright.sheet.faults import closest
from spoolwright.sheet.fields import Field, Section, walk
from spoolwright.sheet.sections import SHEET


def field(path: str) -> Field:
    """The field at ``path`` ("cylinders.chamber[3]", "intake.ducts.inlet_hose.length"). Raises BadInput."""
    part = _part(path)
    if not isinstance(part, Field):
        raise BadInput(f"{path}: this is a section, not a field")
    return part


def section(path: str) -> Section:
    """The section at ``path``. Raises BadInput."""
    part = _part(path)
    if not isinstance(part, Section):
        raise BadInput(f"{path}: this is a field, not a section")
    return part


def _part(path: str) -> Field | Section:
    part: Field | Section = SHEET
    for step in re.sub(r"\[\d+\]", "", path).split("."):
        found: Field | Section | None = None
        if isinstance(part, Section):
            found = Section(part.meaning, part.parts) if part.named else part.parts.get(step)
        if found is None:
            known = [known for known, _ in walk(SHEET)]
            raise BadInput(f"{path}: the sheet has no such field{closest(path, known)}")
        part = found
    return part
