"""The few kinds of trouble the program reports, all under one base.

Each message is one sentence that says where, what was found, what is allowed and how to mend it.
Kernels return integer codes; the caller that knows the operating point raises one of these.
"""

from __future__ import annotations


class SpoolwrightError(Exception):
    """Base of every error a user may see as one sentence."""


class BadInput(SpoolwrightError):
    """Something the user wrote cannot be used: a value, a unit, a name, a file."""


class OutsideRange(SpoolwrightError):
    """A map or a correlation was asked for a state it does not cover."""


class NoConvergence(SpoolwrightError):
    """An iteration hit its cap; ``residuals`` holds the last ones by name."""

    def __init__(self, message: str, residuals: dict[str, float] | None = None) -> None:
        super().__init__(message)
        self.residuals = residuals or {}


class BadLog(SpoolwrightError):
    """A dyno log or data file that cannot be read as one."""


class SaveConflict(SpoolwrightError):
    """A file changed on disk since it was read; ``difference`` shows how."""

    def __init__(self, message: str, difference: str = "") -> None:
        super().__init__(message)
        self.difference = difference
