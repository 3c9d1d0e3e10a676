"""Set-up for all tests: how hypothesis searches."""

from __future__ import annotations

import os

from hypothesis import settings

# No deadline: the machine may be busy. In CI the same examples every time, so that a red run is a red change.
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "desk")
