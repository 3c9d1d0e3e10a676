"""How the bench writes numbers and texts: narrow space between thousands, true minus, bold by ``**``."""

from __future__ import annotations

import re
from html import escape

THIN, FIXED, MINUS = "\u202f", "\u00a0", "\u2212"


def number(value: float, digits: int = 0) -> str:
    """A number with ``digits`` places, grouped, with a true minus."""
    return f"{value:,.{digits}f}".replace(",", THIN).replace("-", MINUS)


def with_unit(value: float, unit: str, digits: int = 0) -> str:
    """A number and its unit, not to be parted."""
    if unit in ("", "1"):
        return number(value, digits)
    return f"{number(value, digits)}{FIXED}{unit.replace(' ', FIXED)}"


def rpm(value: float) -> str:
    """An engine speed."""
    return with_unit(value, "rpm")


def rich(text: str) -> str:
    """Escaped HTML of a text in which ``**`` makes bold."""
    return re.sub(r"\*\*(.+?)\*\*", r"<b>\1</b>", escape(text))


def told(text: str) -> str:
    """A sentence of the program as a page shows it: degrees by their sign, squares raised."""
    shown = text.replace(" degC", f"{FIXED}°C").replace(" degF", f"{FIXED}°F")
    return shown.replace(" mm2", f"{FIXED}mm²").replace(" m3", f"{FIXED}m³")
