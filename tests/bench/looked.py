"""What browser tests ask of every page: nothing serious for an accessibility checker, nothing wider than the window."""

from __future__ import annotations

from typing import Any

SERIOUS = ("serious", "critical")


def troubles(page: Any) -> list[str]:
    """What the accessibility checker calls serious or critical, with the place."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response["violations"]
    return [
        f"{one['id']}: {node['html'][:160]} ({node.get('failureSummary', '')[:200]})"
        for one in found
        if one["impact"] in SERIOUS
        for node in one["nodes"][:4]
    ]


def too_wide(page: Any) -> int:
    """Pixels by which the page is wider than its window."""
    return int(page.evaluate("document.documentElement.scrollWidth - window.innerWidth"))
