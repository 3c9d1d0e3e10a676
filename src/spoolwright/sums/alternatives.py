"""Inputs that a builder states in one of several ways: exactly one of them is to be given."""

from __future__ import annotations

from typing import Any


def one_of(**given: Any) -> str:
    """The name of the only input that is not None. Raises ValueError when none or several are given."""
    names = [name for name, value in given.items() if value is not None]
    if len(names) == 1:
        return names[0]
    choice = " or ".join(given)
    if not names:
        raise ValueError(f"give {choice}")
    raise ValueError(f"{' and '.join(names)} say the same thing; give only one of {choice}")


def together(**given: Any) -> bool:
    """Whether all of these inputs are given. Raises ValueError when only some of them are."""
    missing = [name for name, value in given.items() if value is None]
    if missing and len(missing) < len(given):
        there = [name for name in given if name not in missing]
        raise ValueError(f"{' and '.join(there)} needs {' and '.join(missing)} beside it")
    return not missing
